"""Whether parts made to their files go together: every joint judged, with its figures.

Layers 0 to 3 and planning. What comes out is `Judged`: rows of figures, and findings.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np

from millprep.assembly.bodies import Body, Bought, Standing, bought
from millprep.assembly.chances import Likely, likely, likely_findings
from millprep.assembly.clashes import Clash, clash_findings, clashes_of
from millprep.assembly.coinciding import Over, mended, overs_of
from millprep.assembly.floats import EndFloat, end_floats, float_findings, reading_findings
from millprep.assembly.leaving import each_table, following_findings
from millprep.assembly.links import Link, links_of
from millprep.assembly.matching import SAME_PLACE_MM
from millprep.assembly.meeting import meetings_of
from millprep.assembly.pairs import Handed, handed, pair_findings
from millprep.assembly.pinned import Pinned, pin_findings, pinned
from millprep.assembly.placing import Lay, edge_distance_mm, lay_all
from millprep.assembly.saying import Say
from millprep.assembly.screws import Screwed, clear_mm, screw_findings, screwed
from millprep.assembly.stacks import Stacked, stack_findings, stacked_all
from millprep.base.findings import Finding, Severity, worst_first
from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, Member, PinJoint, ScrewJoint, Shared
from millprep.model.part import FACE_AXIS
from millprep.model.shop import Shop
from millprep.sums.chance import free_play_mm

__all__ = ["Judged", "judge"]

_EDGE_MM = 0.05  # that the finger feels at a flush edge: common practice
_REMEDIES = {
    "shift": "move one of them by that, or look at the faces it counts from",
    "turn": "look at the angle one of them starts at",
    "mirror": "one is of the opposite hand: mirror it (opposite_hand_of), or change the face it is "
    "worked from",
    "size": "look at the pitch or the diameter of both",
    "nothing": "look at the single holes; pattern_from takes one pattern from the other's file",
    "": "",
}


@frozen
class Judged:
    """An assembly with all that was found out about it; findings worst first."""

    assembly: Assembly
    lays: dict[str, Lay]
    overs: tuple[Over, ...]
    screws: tuple[Screwed, ...]
    pins: tuple[Pinned, ...]
    chances: tuple[Likely, ...]
    stacks: tuple[Stacked, ...]
    pairs: tuple[Handed, ...]
    bodies: tuple[Body, ...]
    clashes: tuple[Clash, ...]
    floats: tuple[EndFloat, ...]
    bought: tuple[Bought, ...]
    findings: tuple[Finding, ...]


def judge(assembly: Assembly, shop: Shop, notes: Sequence[Finding] = ()) -> Judged:
    """Lays the members together and judges every joint, pattern, stack and pair."""
    links = links_of(assembly)
    lays = lay_all(assembly, links)
    overs = tuple(overs_of(assembly, links, lays))
    joints = assembly.joints
    screws = tuple(screwed(assembly, j) for j in joints if isinstance(j, ScrewJoint))
    standing = Standing(assembly, lays)
    bodies = standing.bodies(screws)
    floats = end_floats(standing, bodies)
    told = {pair for row in floats if row.free_mm < 0 for pair in row.pairs}
    told |= {over.members for over in overs if over.explained_by or (over.apart_mm or 0.0) < 0}
    judged = Judged(
        assembly,
        lays,
        overs,
        screws=screws,
        pins=tuple(row for j in joints if isinstance(j, PinJoint) for row in pinned(j)),
        chances=_chances(assembly, shop, overs, lays),
        stacks=stacked_all(assembly, links, lays),
        pairs=tuple(handed(assembly, pair) for pair in assembly.pairs),
        bodies=tuple(bodies),
        clashes=tuple(clashes_of(meetings_of(assembly, bodies, told))),
        floats=tuple(floats),
        bought=tuple(bought(assembly, bodies)),
        findings=(),
    )
    found = dict.fromkeys((*_findings(judged), *notes))
    return replace(judged, findings=tuple(worst_first(found)))


def _chances(
    assembly: Assembly, shop: Shop, overs: Sequence[Over], lays: dict[str, Lay]
) -> tuple[Likely, ...]:
    rows = []
    for over in overs:
        names = over.link.first.member, over.link.second.member
        by_edges = any(lays[a].on == b and lays[a].by_edges for a, b in (names, names[::-1]))
        rows.append(likely(assembly, shop, over, are_edges_held=by_edges))
    return tuple(row for row in rows if row is not None)


def _findings(judged: Judged) -> Iterator[Finding]:
    say = Say(judged.assembly)
    cures = mended(judged.assembly, judged.overs)
    for over in judged.overs:
        yield from _over_findings(say, over, cures.get(over.link.joint.name, ""))
    told: tuple[tuple[Sequence[Any], Callable[[Say, Any], Iterator[Finding]]], ...] = (
        (judged.screws, screw_findings),
        (judged.pins, pin_findings),
        (judged.chances, likely_findings),
        (judged.stacks, stack_findings),
        (judged.pairs, pair_findings),
        (judged.floats, float_findings),
        (each_table(judged.assembly), following_findings),
    )
    for rows, findings_of in told:
        for row in rows:
            yield from findings_of(say, row)
    standing = Standing(judged.assembly, judged.lays)
    for clash in judged.clashes:
        yield from clash_findings(say, standing, clash)
    yield from reading_findings(say, standing, judged.bodies)
    yield from _edge_findings(say, judged.lays)
    yield from _lay_findings(say, judged.lays, [over.link for over in judged.overs])


def _over_findings(say: Say, over: Over, cure: str) -> Iterator[Finding]:
    """Of holes that do not lie over each other, and faces that do not touch.

    cure : a change of the assembly file that was tried and does it; "" where none was found
    """
    link, joint = over.link, over.link.joint
    names = f"{link.first.words} and {link.second.words}"
    severity = _severity(over)
    if not over.are_square:
        remedy = "look at the faces that they are worked from"
        message = f"{names} do not run the same way"
        yield say.finding("stop", "patterns-differ", joint, message, remedy)
        return
    if severity is not None:
        worst, off = link.second.holes[over.worst].name, say.length(over.worst_mm, 3)
        message = f"{names} are not in line: {off} off"
        if len(link.second.holes) > 1:
            message = f"{names} do not line up: {worst} is {off} off; {over.words}"
        remedy = cure or _REMEDIES[over.explained_by]
        yield say.finding(severity, "patterns-differ", joint, message, remedy, worst)
    if over.are_turned_away or over.shut is not None:
        yield _away_finding(say, over, cure)
    elif over.apart_mm is not None and abs(over.apart_mm) > SAME_PLACE_MM:
        what = "apart" if over.apart_mm > 0 else "into each other"
        yield say.finding(
            "stop" if over.apart_mm < 0 else "warning",
            "faces-apart",
            joint,
            f"{link.first_face} of {link.first.member} and {link.second_face} of "
            f"{link.second.member} are {say.length(abs(over.apart_mm), 3)} {what}",
            "look at the sizes of the members between, or name a loose piece in through",
        )


def _away_finding(say: Say, over: Over, cure: str) -> Finding:
    """Of holes whose open ends do not meet, though they lie over each other."""
    link = over.link
    if over.shut is None:
        words = (
            f"the screw goes from {link.first_face} of {link.first.member} to {link.second_face} "
            f"of {link.second.member}, and as the members are placed these face the same way"
        )
    else:
        hole, other = over.shut.holes[0], {link.first.member, link.second.member}
        (other_name,) = other - {over.shut.member}
        words = f"{over.shut.words} is blind and opens on {hole.face}, where {other_name} is not"
    remedy = (
        "look at the face that each hole is worked from; or say by which face the screws enter, "
        '{ holes = "...", face = "bottom" }, or where the member sits, on = "...: bottom"'
    )
    return say.finding("stop", "faces-apart", link.joint, words, cure or remedy)


def _severity(over: Over) -> Severity | None:
    """A stop where what goes through no longer goes through."""
    joint, worst = over.link.joint, over.worst_mm
    if isinstance(joint, Shared):
        return "stop" if worst > joint.within_mm else None
    if worst <= SAME_PLACE_MM:
        return None
    return "stop" if worst > _play_mm(over) else "warning"


def _play_mm(over: Over) -> float:
    """How far the holes of a link may miss each other with what goes through them."""
    joint = over.link.joint
    places = (over.link.first, over.link.second)
    if isinstance(joint, ScrewJoint):
        loose = [clear_mm(place.holes[0]) for place in places if place != joint.into]
        return free_play_mm(joint.thread.major_mm, *loose)
    if isinstance(joint, PinJoint):
        clear = [
            place.holes[0].diameter_mm
            for how, place in joint.held
            if how == "clear" and place in places
        ]
        return free_play_mm(joint.diameter_mm, *clear)
    return 0.0


def _edge_findings(say: Say, lays: dict[str, Lay]) -> Iterator[Finding]:
    for member in say.assembly.members:
        if member.on is None or member.name not in lays:
            continue
        other = say.assembly.member(member.on)
        one, two = lays[member.name].pose, lays[other.name].pose
        inside = one.seen_from(two)
        for edge in member.edges:
            is_distance = edge_distance_mm(edge, member, other, inside)
            if abs(is_distance - edge.distance_mm) > _EDGE_MM and np.isfinite(is_distance):
                message = (
                    f"{member.name}: {edge.face} is {say.length(is_distance, 3)} inside "
                    f"{edge.other_face} of {other.name}, not {say.length(edge.distance_mm, 3)}"
                )
                remedy = "the holes put it there: look at the faces that they count from"
                if lays[member.name].by_edges:
                    remedy = "the edges do not agree with each other: leave one of them out"
                file, line = say.assembly.path or None, member.line
                yield Finding("warning", "edges-differ", message, remedy, file, line)


def _lay_findings(say: Say, lays: dict[str, Lay], links: Sequence[Link]) -> Iterator[Finding]:
    """What the verdict does not cover: members that hang on nothing, or turn freely."""
    first_of: dict[int, str] = {}
    for name, lay in lays.items():
        line = say.assembly.member(name).line
        file = say.assembly.path or None
        if lay.group not in first_of:
            first_of[lay.group] = name
            if lay.group > 0:
                message = (
                    f"nothing joins {name} to {first_of[0]}: it is judged with what hangs on it"
                )
                remedy = "name a joint, or where it sits: on and edges"
                yield Finding("note", "not-held", message, remedy, file, line)
        elif lay.is_free_to_turn and _turn_matters(say.assembly.member(name), lay.on, links):
            message = f"one hole holds {name} on {lay.on}: how it is turned about that hole is not "
            yield Finding("note", "not-held", f"{message}judged", "", file, line)


def _turn_matters(member: Member, on: str | None, links: Sequence[Link]) -> bool:
    """Whether a member that one hole holds is neither round about it nor there to turn."""
    held = [link for link in links if {link.first.member, link.second.member} == {member.name, on}]
    pins = [link.joint for link in held if isinstance(link.joint, PinJoint)]
    if any(how == "pivot" for pin in pins for how, _ in pin.held):
        return False
    stock = member.part.stock
    middle = [size / 2 for size in stock.size_mm]
    return stock.axis is None or any(
        FACE_AXIS[hole.face] != stock.axis
        or any(
            abs(at - mid) > SAME_PLACE_MM
            for axis, (at, mid) in enumerate(zip(hole.centre_mm, middle, strict=True))
            if axis != stock.axis
        )
        for hole in member.part.holes
    )
