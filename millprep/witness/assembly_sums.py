"""What a screw, a pin and a pattern come to, summed anew from the holes of the parts.

Imports the model and the tables.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from millprep.base.records import frozen
from millprep.model.assembled import Assembly, PinJoint, Place, ScrewJoint, Shared, Stack
from millprep.model.part import Face, Hole, Mouth
from millprep.reference.fits import hole_limits_um, shaft_limits_um
from millprep.reference.heads import head_for, nut_for, washer_for
from millprep.reference.lengths import wanted_engagement_mm
from millprep.witness.faces import AXIS, FAR

Joined = ScrewJoint | PinJoint | Shared | Stack


@frozen
class ScrewSums:
    """Lengths in mm, by the names of the slots; None for what is not told. face : of the head."""

    plays: tuple[float, ...]
    grip: float
    engagement: float | None = None
    wanted: float | None = None
    spare: float | None = None
    end: float | None = None
    head: float | None = None
    face: str = ""


def linked(joint: Joined) -> list[tuple[Place, Place]]:
    """Holes of two members that follow each other."""
    solid = [place for place in joint.places if not place.is_loose]
    return [(one, other) for one, other in pairwise(solid) if one.member != other.member]


def narrowest_mm(hole: Hole) -> float:
    """What a screw meets: of a tapped hole its core."""
    return hole.diameter_mm if hole.thread is None else hole.thread.tap_drill_mm


def along_mm(assembly: Assembly, place: Place) -> float:
    """Of a loose piece, or of the member along its hole."""
    if place.loose_mm is not None:
        return place.loose_mm
    return assembly.member(place.member).part.stock.size_mm[AXIS[place.holes[0].face]]


def deep_mm(assembly: Assembly, place: Place) -> float:
    hole = place.holes[0]
    return along_mm(assembly, place) if hole.is_through else hole.depth_mm


def mouth_of(hole: Hole, face: str) -> Mouth:
    return hole.mouth if face == hole.face else hole.far


def recess_of_mm(mouth: Mouth) -> float:
    cut = mouth.counterbore or mouth.spotface
    return cut.depth_mm if cut is not None else 0.0


def _is_cut(hole: Hole, face: str) -> bool:
    mouth = mouth_of(hole, face)
    return mouth.countersink is not None or recess_of_mm(mouth) > 0


def seat_of(place: Place, given: Face | None = None) -> str:
    """The face that a head or nut lies on: the one that is cut for it, else that of the hole."""
    hole = place.holes[0]
    across = FAR[hole.face]
    is_far = _is_cut(hole, across) and not _is_cut(hole, hole.face)
    return given or (across if is_far else hole.face)


def _nut_seat(place: Place, is_first: bool) -> str:
    if place.face is not None or is_first:
        return FAR[seat_of(place, place.face)]
    hole = place.holes[0]
    across = FAR[hole.face]
    return hole.face if _is_cut(hole, hole.face) and not _is_cut(hole, across) else across


def screw_sums(assembly: Assembly, joint: ScrewJoint) -> ScrewSums:
    """What the screw of a joint comes to; of a stud `end` is how far it stands out of a nut."""
    washer = washer_for(joint.thread)
    plate_mm = 0.0 if washer is None else washer.thickness_mm
    solid = [place for place in joint.through if not place.is_loose]
    major_mm = joint.thread.major_mm
    plays = tuple(narrowest_mm(place.holes[0]) - major_mm for place in solid)
    whole_mm = sum(along_mm(assembly, place) for place in joint.through)
    nut = nut_for(joint.thread)
    nut_mm = (nut.height_mm or 0.0) if nut is not None else 0.0
    if joint.kind is None:
        seats = recess_of_mm(mouth_of(solid[-1].holes[0], _nut_seat(solid[-1], len(solid) == 1)))
        if not joint.through[0].is_loose:
            seats += recess_of_mm(mouth_of(solid[0].holes[0], seat_of(solid[0], solid[0].face)))
        washers_mm = (joint.washers + joint.nut_washers) * plate_mm
        out_mm = (joint.length_mm - (whole_mm - seats) - 2 * nut_mm - washers_mm) / 2
        return ScrewSums(plays, whole_mm - seats, end=out_mm)
    under_mm = joint.washers * plate_mm
    for place in joint.through:
        if not place.is_loose:
            break
        under_mm += place.loose_mm or 0.0
        whole_mm -= place.loose_mm or 0.0
    return _with_head(assembly, joint, solid, plays, whole_mm, under_mm, plate_mm, nut_mm)


def _with_head(
    assembly: Assembly,
    joint: ScrewJoint,
    solid: Sequence[Place],
    plays: tuple[float, ...],
    whole_mm: float,
    under_mm: float,
    plate_mm: float,
    nut_mm: float,
) -> ScrewSums:
    """Of a screw with a head: what lies under it, then its thread or nut."""
    into = joint.into
    first = solid[0] if solid else into
    assert first is not None
    face = seat_of(first, first.face) if solid else (first.face or first.holes[0].face)
    free_mm = 0.0
    if into is not None:
        hole, entry = into.holes[0], into.face or into.holes[0].face
        opened = hole.opened if entry == hole.face else ()
        free_mm = max([recess_of_mm(mouth_of(hole, entry)), *(one.depth_mm for one in opened)])
        if not solid:
            whole_mm = free_mm
            plays = tuple(
                [min(o.diameter_mm for o in hole.opened) - joint.thread.major_mm]
                if hole.opened
                else ()
            )
    else:
        whole_mm -= recess_of_mm(
            mouth_of(solid[-1].holes[0], _nut_seat(solid[-1], len(solid) == 1))
        )
    seat_mm = recess_of_mm(mouth_of(first.holes[0], face)) + _sunk_mm(joint, first, face, plays)
    grip_mm = whole_mm - seat_mm
    reach_mm = joint.length_mm - under_mm - grip_mm
    starts, ends, wanted, is_blind = _hold(assembly, joint, free_mm, plate_mm, nut_mm)
    head = head_for(joint.thread, joint.kind) if joint.kind is not None else None
    high = 0.0 if head is None or _is_sunk(joint) else head.head_height_mm
    return ScrewSums(
        plays,
        grip_mm,
        max(min(reach_mm, ends) - starts, 0.0),
        wanted,
        ends - reach_mm if is_blind else None,
        None if is_blind else reach_mm - ends,
        None if head is None else under_mm + high - seat_mm,
        face.upper(),
    )


def _hold(
    assembly: Assembly, joint: ScrewJoint, free_mm: float, plate_mm: float, nut_mm: float
) -> tuple[float, float, float, bool]:
    """Where nut or thread begins and ends, how much of it is wanted, and whether it is blind."""
    into = joint.into
    if into is None:
        starts = joint.nut_washers * plate_mm
        return starts, starts + nut_mm, nut_mm, False
    thread, part = into.holes[0].thread, assembly.member(into.member).part
    assert thread is not None
    starts = free_mm if joint.through else 0.0
    ends = deep_mm(assembly, into) - (0.0 if joint.through else free_mm)
    return starts, ends, wanted_engagement_mm(thread, part.material), not into.holes[0].is_through


def _is_sunk(joint: ScrewJoint) -> bool:
    return joint.kind is not None and joint.kind.endswith("countersunk")


def _sunk_mm(joint: ScrewJoint, first: Place, face: str, plays: Sequence[float]) -> float:
    """How far the top of a countersunk head lies below the mouth of its cone: cone on cone, or the
    rim of the one on the other."""
    head = head_for(joint.thread, joint.kind) if joint.kind is not None else None
    if head is None or head.angle_deg is None or not _is_sunk(joint) or not plays:
        return 0.0
    hole_mm = plays[0] + joint.thread.major_mm
    wide_mm, angle_deg = hole_mm, head.angle_deg
    cone = mouth_of(first.holes[0], face).countersink
    if cone is not None and cone.diameter_mm > hole_mm:
        wide_mm, angle_deg = cone.diameter_mm, cone.angle_deg
    own, its = (math.tan(math.radians(deg / 2)) for deg in (head.angle_deg, angle_deg))
    head_mm = head.head_diameter_mm
    if its >= own:
        return ((wide_mm - hole_mm) / its - (head_mm - hole_mm) / own) / 2
    return (wide_mm - head_mm) / 2 / (its if wide_mm > head_mm else own)


def pin_sums(joint: PinJoint, index: int) -> tuple[float, float, str, str]:
    """Least and greatest clearance [mm], both classes, and the word for such a fit."""
    _, place = joint.held[index]
    hole, measured = place.holes[0], joint.measured_holes_mm[index]
    shaft = place.pin_class or joint.pin_class
    pin = (joint.measured_mm or 0.0,) * 2
    if joint.measured_mm is None and shaft is not None:
        low, high = shaft_limits_um(joint.diameter_mm, shaft)
        pin = joint.diameter_mm + low / 1000, joint.diameter_mm + high / 1000
    limits, name = hole.limits_um, hole.fit or "limits"
    if measured is not None:
        bore, name = (measured, measured), "measured"
    else:
        if limits is None:
            limits, name = hole.kind.over_um, f"{hole.kind}ed"
        bore = hole.diameter_mm + limits[0] / 1000, hole.diameter_mm + limits[1] / 1000
    least, most = bore[0] - pin[1], bore[1] - pin[0]
    words = f"{name}/{'measured' if joint.measured_mm is not None else shaft}"
    size = joint.diameter_mm if joint.measured_mm is None else joint.measured_mm
    return least, most, words, _word(least, most, size)


def _word(least: float, most: float, size_mm: float) -> str:
    """By the mean clearance, against those of the pairs of classes that have the word."""

    def mean(bore: str, shaft: str) -> float:
        return sum((*hole_limits_um(size_mm, bore), *(-u for u in shaft_limits_um(size_mm, shaft))))

    told = (least + most) * 1000 - 1e-6
    if most <= 1e-9:
        return "press"
    if least < -1e-9:
        return "transition"
    if told > mean("H9", "d9"):
        return "loose"
    return "run" if told > (mean("G7", "h6") + mean("F7", "h6")) / 2 else "slide"


def zones_mm(assembly: Assembly, joint: ScrewJoint, pair: Sequence[Place]) -> tuple[float, float]:
    """What the drawings allow both holes (nan where one does not say), and what the screw leaves:
    diameters."""
    zones = math.fsum(_zone_mm(assembly, place) for place in pair)
    clear = [place for place in pair if place != joint.into]
    left = sum(narrowest_mm(place.holes[0]) - joint.thread.major_mm for place in clear)
    return zones, left


def _zone_mm(assembly: Assembly, place: Place) -> float:
    hole, part = place.holes[0], assembly.member(place.member).part
    square = hole.tolerance_mm if hole.tolerance_mm is not None else part.general_tolerance_mm
    if hole.position_mm is not None:
        return hole.position_mm
    return math.nan if square is None else math.hypot(2 * square, 2 * square)


def apart_mm(place: Place) -> list[float]:
    """Every distance between two of the holes, in order of size."""
    centres = [hole.centre_mm for hole in place.holes]
    return sorted(math.dist(one, other) for i, one in enumerate(centres) for other in centres[:i])


def pins_between(assembly: Assembly, names: set[str]) -> int:
    """How many pins sit tight in both of two members."""
    return sum(_tight(joint, names) for joint in assembly.joints if isinstance(joint, PinJoint))


def _tight(joint: PinJoint, names: set[str]) -> int:
    held = {p.member: len(p.holes) for how, p in joint.held if how in ("press", "slide")}
    return min(held[name] for name in names) if names <= held.keys() else 0


def joined_of(assembly: Assembly) -> Iterator[tuple[Joined, str]]:
    """All that is told of, with what stands beside its name."""
    for joint in assembly.joints:
        solid = [place for place in joint.places if not place.is_loose]
        yield joint, f"{len(solid[0].holes)} x {joint.words}"
    for shared in assembly.shared:
        yield shared, "shared pattern"
    for stack in assembly.stacks:
        yield stack, "reamed together"
