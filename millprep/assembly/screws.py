"""Screws and studs in an assembly: their figures, and what is wrong with them.

The sums are in `fastening`; here holes of members become what these work with. Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import dropwhile, takewhile

from millprep.assembly.frames import mouth_at, recess_mm, thickness_mm
from millprep.assembly.links import entered_by
from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH
from millprep.model.assembled import Assembly, Place, ScrewJoint
from millprep.model.part import OPPOSITE, Face, Hole, Mouth
from millprep.reference.drills import fraction_words
from millprep.reference.heads import nut_for, washer_for
from millprep.reference.threads import Thread
from millprep.sums.fastening import (
    SAME_LENGTH_MM,
    Fastened,
    Nutted,
    Screw,
    Tapped,
    Through,
    fastened,
)

_FEWEST_PITCHES = 3
_ROUND_HEAD_MM = 0.4  # room round a head in its recess: common practice
_ANGLE_OFF_DEG = 3.0
_LEAST_SHARE = 0.5  # of the thread wanted: with less it is a stop, with more a warning


@frozen
class Screwed:
    """One joint of screws with its figures; all its screws are alike.

    grip_mm, ends_mm : of a stud, which has no `figures`: between its nuts, and how far each end
                       stands out of its nut
    """

    joint: ScrewJoint
    count: int
    figures: Fastened | None
    grip_mm: float = 0.0
    ends_mm: float = 0.0
    play_mm: tuple[float, ...] = ()


def screwed(assembly: Assembly, joint: ScrewJoint) -> Screwed:
    """The figures of a joint. Loose pieces right under the head lie in its recess, like washers."""
    count = len(next(place for place in joint.places if not place.is_loose).holes)
    if joint.kind is None:
        return _stud(assembly, joint, count)
    under_mm = joint.washers * washer_mm(joint) + sum(
        place.loose_mm or 0.0 for place in takewhile(lambda place: place.is_loose, joint.through)
    )
    screw = Screw(joint.thread, joint.length_mm, joint.kind, under_mm)
    rest = dropwhile(lambda place: place.is_loose, joint.through)
    through = [_through(assembly, joint, place) for place in rest]
    into: Tapped | Nutted
    if joint.into is None:
        nut = nut_for(joint.thread)
        assert nut is not None  # the file was refused without one
        last = next(place for place in reversed(joint.through) if not place.is_loose)
        seat = recess_mm(nut_mouth(joint, last))
        through[-1] = _thinner(through[-1], seat)
        washers = joint.nut_washers * washer_mm(joint)
        into = Nutted(joint.thread, nut.height_mm or 0.0, washers)
    else:
        own, into = _tapped(assembly, joint, joint.into)
        through = through or [own]
    figures = fastened(screw, through, into, may_come_out=joint.may_come_out)
    return Screwed(joint, count, figures, figures.grip_mm, 0.0, figures.play_mm)


def washer_mm(joint: ScrewJoint) -> float:
    """Thickness of a plain washer for the screw."""
    washer = washer_for(joint.thread)
    return 0.0 if washer is None else washer.thickness_mm


def _thinner(through: Through, by_mm: float) -> Through:
    return replace(through, thickness_mm=through.thickness_mm - by_mm) if by_mm else through


def _through(assembly: Assembly, joint: ScrewJoint, place: Place) -> Through:
    if place.loose_mm is not None:
        return Through(place.words, place.loose_mm, float("inf"))
    hole = place.holes[0]
    part = assembly.member(place.member).part
    return _passed(joint, place, thickness_mm(part, hole), clear_mm(hole))


def _passed(joint: ScrewJoint, place: Place, thick_mm: float, across_mm: float) -> Through:
    """A length that the screw passes, with what is cut round the mouth by which it enters."""
    mouth = mouth_at(place.holes[0], entered_by(joint, place))
    recess = mouth.counterbore or mouth.spotface
    wide_mm = None if recess is None else recess.diameter_mm
    return Through(place.words, thick_mm, across_mm, recess_mm(mouth), wide_mm, mouth.countersink)


def clear_mm(hole: Hole) -> float:
    """The narrowest that a screw meets in a hole: of a tapped one its core."""
    return hole.diameter_mm if hole.thread is None else hole.thread.tap_drill_mm


def _tapped(assembly: Assembly, joint: ScrewJoint, place: Place) -> tuple[Through, Tapped]:
    """The tapped hole, and the free length before its thread as a member of its own.

    The free length counts as a member only where nothing else lies above it (a pinch screw).
    """
    hole = place.holes[0]
    part = assembly.member(place.member).part
    assert hole.thread is not None
    free_mm = _free_mm(hole, entered_by(joint, place))
    opened = min((each.diameter_mm for each in hole.opened), default=float("inf"))
    own = _passed(joint, place, free_mm, opened)
    whole = thickness_mm(part, hole) if hole.is_through else hole.depth_mm
    drilled = None if hole.is_through else (hole.drill_depth_mm or hole.depth_mm)
    below = 0.0 if joint.through else free_mm
    starts = free_mm if joint.through else 0.0
    return own, Tapped(
        place.words,
        hole.thread,
        whole - below,
        None if drilled is None else drilled - below,
        part.material,
        starts,
    )


def _free_mm(hole: Hole, face: Face) -> float:
    """How deep the thread begins below the face: under a recess, under an opened length."""
    depths = [recess_mm(mouth_at(hole, face))]
    if face == hole.face:
        depths += [opened.depth_mm for opened in hole.opened]
    return max(depths)


def nut_mouth(joint: ScrewJoint, place: Place) -> Mouth:
    """What is cut round the end by which a nut's screw leaves a member."""
    return mouth_at(place.holes[0], OPPOSITE[entered_by(joint, place)])


def _stud(assembly: Assembly, joint: ScrewJoint, count: int) -> Screwed:
    through = [_through(assembly, joint, place) for place in joint.through]
    holes = [place for place in joint.through if not place.is_loose]
    seats = through[0].recess_mm + recess_mm(nut_mouth(joint, holes[-1]))
    grip = sum(each.thickness_mm for each in through) - seats
    nut = nut_for(joint.thread)
    assert nut is not None  # the file was refused without one
    held = (
        grip + 2 * (nut.height_mm or 0.0) + (joint.washers + joint.nut_washers) * washer_mm(joint)
    )
    play = tuple(clear_mm(place.holes[0]) - joint.thread.major_mm for place in holes)
    return Screwed(joint, count, None, grip, (joint.length_mm - held) / 2, play)


def screw_findings(say: Say, row: Screwed) -> Iterator[Finding]:
    """What is wrong with the screws of a joint."""
    joint, figures = row.joint, row.figures
    yield from _passing(say, row)
    if figures is None:
        if row.ends_mm < joint.thread.pitch_mm:
            yield say.finding(
                "stop" if _is_half_empty(joint, row.ends_mm) else "warning",
                "nut-not-full",
                joint,
                f"the stud {ends_words(say, row.ends_mm)}",
                f"it is {say.length(joint.length_mm)} long; with one pitch out of each nut it is "
                f"{say.length(joint.length_mm + 2 * (joint.thread.pitch_mm - row.ends_mm))}",
            )
        return
    if not figures.same_thread and joint.into is not None:
        thread = joint.into.holes[0].thread
        assert thread is not None
        yield say.finding(
            "stop",
            "wrong-thread",
            joint,
            f"the screw is {joint.thread.designation}, {joint.into.words} is tapped "
            f"{thread.designation}",
            "give both one thread",
        )
        return
    yield from _holding(say, row, figures)
    yield from _heads(say, row, figures)


def _is_half_empty(joint: ScrewJoint, out_mm: float) -> bool:
    """Whether less than half of a nut is filled, by how far the end stands out of it."""
    nut = nut_for(joint.thread)
    return nut is not None and out_mm < -(1 - _LEAST_SHARE) * (nut.height_mm or 0.0)


def ends_words(say: Say, ends_mm: float) -> str:
    """Where the ends of a stud are."""
    if ends_mm < 0:
        return f"ends {say.length(-ends_mm)} inside each nut"
    return f"stands {say.length(ends_mm)} proud of each nut"


def _passing(say: Say, row: Screwed) -> Iterator[Finding]:
    joint = row.joint
    holes = [place for place in joint.through if not place.is_loose]
    for place in holes:
        if not place.holes[0].is_through:
            yield say.finding(
                "stop",
                "screw-does-not-pass",
                joint,
                f"{place.words} is not drilled through",
                'give depth = "through"',
                place.holes[0].name,
            )
    plays = [play for play in row.play_mm if play != float("inf")]
    for place, play in zip(holes, plays, strict=False):
        if play <= 0:
            hole = place.holes[0]
            yield say.finding(
                "stop",
                "screw-does-not-pass",
                joint,
                f"{joint.thread.designation} is {say.length(joint.thread.major_mm)} dia "
                f"and does not pass {place.words}, {say.length(clear_mm(hole))}",
                f'give that hole clear = "{joint.thread.designation}"',
                hole.name,
            )


def _holding(say: Say, row: Screwed, figures: Fastened) -> Iterator[Finding]:
    cure = _cure(say, figures)
    yield from _engaging(say, row.joint, figures, cure)
    if figures.comes_out_mm is not None:
        yield from _coming_out(say, row.joint, figures, figures.comes_out_mm, cure)


def _engaging(say: Say, joint: ScrewJoint, figures: Fastened, cure: str) -> Iterator[Finding]:
    """How much thread the screw finds, and whether it bottoms."""
    pitch = joint.thread.pitch_mm
    had, wanted = figures.engagement_mm, figures.wanted_mm
    if joint.into is not None and not figures.is_engaged:
        few = had < max(_LEAST_SHARE * wanted, _FEWEST_PITCHES * pitch)
        words = (
            f"thread engagement {say.length(had)} ({figures.engagement_diameters:.1f} D; needs "
            f"{say.length(wanted)})"
        )
        if figures.penetration_mm <= 0:
            words = "the screw never reaches its thread"
        yield say.finding("stop" if few else "warning", "short-engagement", joint, words, cure)
    if figures.room_mm is not None and figures.bottoms:
        is_hard = figures.room_mm < 0
        words = (
            f"bottoms: its thread ends {say.length(-figures.room_mm)} too early"
            if is_hard
            else f"has {say.length(figures.room_mm)} of thread left below it, less than one pitch"
        )
        yield say.finding(
            "stop" if is_hard else "warning", "screw-bottoms", joint, f"the screw {words}", cure
        )


def _coming_out(
    say: Say, joint: ScrewJoint, figures: Fastened, out: float, cure: str
) -> Iterator[Finding]:
    """Whether the screw fills its nut, and whether it comes out where it may not."""
    pitch = joint.thread.pitch_mm
    if joint.into is None and not figures.is_engaged:
        where = (
            f"stands {say.length(out)} proud of" if out >= 0 else f"ends {say.length(-out)} inside"
        )
        if figures.engagement_mm <= 0:
            where = "never reaches"
        yield say.finding(
            "stop" if _is_half_empty(joint, out) else "warning",
            "nut-not-full",
            joint,
            f"the screw {where} its nut; it needs one pitch, {say.length(pitch)}, beyond it",
            cure,
        )
    elif figures.comes_out and joint.into is not None and not joint.may_come_out:
        yield say.finding(
            "warning",
            "screw-comes-out",
            joint,
            f"the screw comes out of the far side of {joint.into.member} by {say.length(out)}",
            cure or "if it may, say may_come_out = true",
        )


def _cure(say: Say, figures: Fastened) -> str:
    if figures.cure_mm is None:
        if isinstance(figures.into, Tapped) and figures.most_mm < figures.wanted_mm:
            return (
                f"a screw of any length finds {say.length(figures.most_mm)} of thread at most: "
                "change the thread's depth, the thickness or a recess"
            )
        return "no standard length will do: change the thread's depth or a recess"
    if abs(figures.cure_mm - figures.screw.length_mm) < 1e-9:
        return ""
    return f"a screw {screw_length_words(figures.screw.thread, figures.cure_mm)} long will do"


def _wider_words(say: Say, figures: Fastened) -> str:
    head = figures.screw.head
    if head is None or abs(figures.angle_off_deg or 0.0) > _ANGLE_OFF_DEG:
        return "make the countersink wider"
    return f"make the countersink {say.length(head.head_diameter_mm)} wide"


def screw_length_words(thread: Thread, length_mm: float) -> str:
    """A length as screws of that thread are sold: "16 mm", "7/8 in"."""
    if thread.series.startswith("metric"):
        return f"{length_mm:g} mm"
    return fraction_words(Fraction(length_mm / float(MM_PER_INCH)).limit_denominator(64))


def _heads(say: Say, row: Screwed, figures: Fastened) -> Iterator[Finding]:
    joint = row.joint
    place = next((each for each in joint.through if not each.is_loose), joint.into)
    assert place is not None and joint.kind is not None
    if joint.through and joint.through[0].is_loose:
        return
    mouth = mouth_at(place.holes[0], entered_by(joint, place))
    recess, play = mouth.counterbore or mouth.spotface, figures.recess_play_mm
    sunk = joint.kind.endswith("countersunk")
    if sunk and mouth.countersink is None:
        yield say.finding(
            "warning",
            "head-proud",
            joint,
            f"countersunk heads, and {place.words} is not countersunk",
            f'give that hole countersink = "{joint.thread.name} countersunk"',
        )
        return
    if recess is not None and play is not None and play < 0:
        what = "washer" if joint.washers else "head"
        yield say.finding(
            "stop",
            "head-does-not-fit",
            joint,
            f"the {what}, {say.length(recess.diameter_mm - play)} across, does not "
            f"go into the recess of {place.words}, {say.length(recess.diameter_mm)}",
            f"make it at least {say.length(recess.diameter_mm - play + _ROUND_HEAD_MM)}",
        )
        return
    if figures.angle_off_deg is not None and abs(figures.angle_off_deg) > _ANGLE_OFF_DEG:
        yield say.finding(
            "warning",
            "head-does-not-fit",
            joint,
            f"the countersink of {place.words} is {figures.angle_off_deg:+g} degrees "
            "off the head's cone",
            "give the countersink the angle of the head",
        )
    is_meant_low = sunk or mouth.counterbore is not None
    if is_meant_low and figures.head_mm is not None and figures.head_mm > SAME_LENGTH_MM:
        yield say.finding(
            "warning",
            "head-proud",
            joint,
            f"the heads stand proud of {place.words} by {say.length(figures.head_mm)}",
            f"make the recess {say.length(figures.head_mm)} deeper"
            if not sunk
            else _wider_words(say, figures),
        )
