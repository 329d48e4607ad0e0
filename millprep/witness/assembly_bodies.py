"""Bodies of an assembly as the witness sees them: solids with holes, by points and by ways.

A place that lies deep in two solids, and in no hole, proves that they meet. How far two solids are
apart is looked for over ways in space: along the best of them their shadows are farthest apart.
Imports the model, the tables and its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import takewhile

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, PinJoint, ScrewJoint
from millprep.model.part import Hole
from millprep.reference.heads import head_for, nut_for
from millprep.witness.assembly_sums import along_mm, mouth_of, recess_of_mm, screw_sums, seat_of
from millprep.witness.faces import AXIS, FAR, LOOKS, face_mm

Floats = NDArray[np.float64]
Places = Mapping[str, tuple[Floats, Floats]]
"""By member (3, 3) and (3,): where it lies is turn @ (part axes) + shift."""
_HOLE_MM = 0.06  # so much wider a hole is taken, for what just goes in
_SPOTS = 9  # along each side of a box
_TURNS, _RINGS, _LEVELS = 24, 3, 25  # of places in a cylinder
_FIRST_WAYS, _NEXT_WAYS = 500, 60


@frozen
class Tube:
    """A hole: its line from `start` along `way`, from `low` to `high` [mm], and its radius."""

    start: Floats
    way: Floats
    low: float
    high: float
    radius: float


@frozen
class Lump:
    """A solid: middle (3,), own ways as columns (3, 3), half lengths along them (3,); a round one
    about its last way. at : member or joint; hole : of a fastener; of : members it belongs to."""

    at: str
    of: frozenset[str]
    middle: Floats
    ways: Floats
    half: Floats
    is_round: bool
    tubes: tuple[Tube, ...] = ()
    is_member: bool = False
    hole: str = ""

    def deep_mm(self, places: Floats) -> Floats:
        """(N,) how deep places (N, 3) lie below its surface; negative outside."""
        own = (places - self.middle) @ self.ways
        if not self.is_round:
            deep: Floats = (self.half - np.abs(own)).min(axis=1)
            return deep
        beside = self.half[0] - np.hypot(own[:, 0], own[:, 1])
        round_deep: Floats = np.minimum(beside, self.half[2] - np.abs(own[:, 2]))
        return round_deep

    def are_in_holes(self, places: Floats) -> NDArray[np.bool_]:
        found = np.zeros(len(places), dtype=bool)
        for tube in self.tubes:
            along = (places - tube.start) @ tube.way
            off = np.linalg.norm(places - tube.start - along[:, None] * tube.way, axis=1)
            found |= (off < tube.radius + _HOLE_MM) & (along > tube.low) & (along < tube.high)
        return found

    def spots(self) -> Floats:
        """(N, 3) places all over it, in its holes too."""
        own = _round_spots() if self.is_round else _box_spots()
        places: Floats = self.middle + (own * self.half) @ self.ways.T
        return places

    def reach(self, ways: Floats) -> Floats:
        """(N,) how far it reaches from its middle along ways (N, 3)."""
        along = np.abs(ways @ self.ways)
        if not self.is_round:
            flat: Floats = along @ self.half
            return flat
        up = np.minimum(along[:, 2], 1.0)
        rim: Floats = self.half[0] * np.sqrt(1 - up**2) + self.half[2] * up
        return rim

    def turned(self, start: Floats, way: Floats, degrees: float) -> Lump:
        """About a line."""
        turn = turn_about(way, degrees)
        tubes = tuple(
            replace(tube, start=start + turn @ (tube.start - start), way=turn @ tube.way)
            for tube in self.tubes
        )
        middle = start + turn @ (self.middle - start)
        return replace(self, middle=middle, ways=turn @ self.ways, tubes=tubes)


@lru_cache(maxsize=1)
def _box_spots() -> Floats:
    side = np.linspace(-1, 1, _SPOTS)
    return np.array(np.meshgrid(side, side, side)).reshape(3, -1).T


@lru_cache(maxsize=1)
def _round_spots() -> Floats:
    angles = np.arange(_TURNS) * (2 * math.pi / _TURNS)
    off, angle, level = (
        one.ravel()
        for one in np.meshgrid(
            np.linspace(1 / _RINGS, 1, _RINGS), angles, np.linspace(-1, 1, _LEVELS)
        )
    )
    return np.array([off * np.cos(angle), off * np.sin(angle), level]).T


def turn_about(way: Floats, degrees: float) -> Floats:
    """(3, 3): what lies along the way stays, what is across goes round."""
    along = np.outer(way, way)
    across = np.cross(np.eye(3), way)
    angle = math.radians(degrees)
    turn: Floats = along + math.cos(angle) * (np.eye(3) - along) - math.sin(angle) * across
    return turn


def apart_mm(one: Lump, other: Lump) -> float:
    """How far two solids are apart, or, negative, in each other: over ways all round, then round
    the best of them."""
    between = other.middle - one.middle
    crossed = np.cross(one.ways.T[:, None], other.ways.T[None]).reshape(9, 3)
    ways = np.concatenate([one.ways.T, other.ways.T, crossed, between[None], _all_round()])
    best, spread = -math.inf, 0.2
    for _ in range(6):
        long = np.linalg.norm(ways, axis=1)
        ways = ways[long > 1e-9] / long[long > 1e-9, None]
        gaps = np.abs(ways @ between) - one.reach(ways) - other.reach(ways)
        first = ways[int(np.argmax(gaps))]
        best = max(best, float(gaps.max()))
        ways = np.concatenate([first[None], first + spread * _all_round()[:_NEXT_WAYS]])
        spread /= 3
    return best


@lru_cache(maxsize=1)
def _all_round() -> Floats:
    """Ways spread evenly over a sphere, along a spiral, in no order."""
    number = np.arange(_FIRST_WAYS) + 0.5
    up = 1 - 2 * number / _FIRST_WAYS
    angle = math.pi * (1 + math.sqrt(5)) * number
    flat = np.sqrt(1 - up**2)
    ways = np.array([flat * np.cos(angle), flat * np.sin(angle), up]).T
    return ways[np.random.default_rng(1).permutation(_FIRST_WAYS)]


def lumps_of(assembly: Assembly, places: Places) -> list[Lump]:
    """Every member, then every screw, head, nut and pin."""
    found = [_blank(assembly, member.name, places) for member in assembly.members]
    for joint in assembly.joints:
        found += (
            _pins(assembly, joint, places)
            if isinstance(joint, PinJoint)
            else _screws(assembly, joint, places)
        )
    return found


def _blank(assembly: Assembly, name: str, places: Places) -> Lump:
    part, (turn, shift) = assembly.member(name).part, places[name]
    half = np.array(part.stock.size_mm) / 2
    order = [0, 1, 2]
    if part.stock.axis is not None:
        order = [(part.stock.axis + 1) % 3, (part.stock.axis + 2) % 3, part.stock.axis]
    middle = turn @ half + shift
    tubes = [tube for hole in part.holes for tube in _tubes(assembly, name, hole, places)]
    if part.stock.bore_mm is not None:
        way = turn[:, order[2]]
        tubes.append(Tube(middle, way, -math.inf, math.inf, part.stock.bore_mm / 2))
    return Lump(
        name,
        frozenset([name]),
        middle,
        turn[:, order],
        half[order],
        part.stock.axis is not None,
        tuple(tubes),
        is_member=True,
    )


def _tubes(assembly: Assembly, name: str, hole: Hole, places: Places) -> Iterator[Tube]:
    start, way = mouth(assembly, name, hole, hole.face, places)
    end = math.inf if hole.is_through else hole.depth_mm
    yield Tube(start, way, -math.inf, end, hole.diameter_mm / 2)
    for one in hole.opened:
        yield Tube(start, way, -math.inf, one.depth_mm, one.diameter_mm / 2)
    for face, cut in ((hole.face, hole.mouth), (FAR[hole.face], hole.far)):
        flat = cut.counterbore or cut.spotface
        if flat is not None:
            begins, inwards = mouth(assembly, name, hole, face, places)
            yield Tube(begins, inwards, -math.inf, flat.depth_mm, flat.diameter_mm / 2)


def mouth(
    assembly: Assembly, name: str, hole: Hole, face: str, places: Places
) -> tuple[Floats, Floats]:
    """Where a hole opens on a face, and the way into the metal there."""
    axis, (turn, shift) = AXIS[face], places[name]
    at = np.array(hole.centre_mm)
    at[axis] = face_mm(face, assembly.member(name).part.stock.size_mm)
    return turn @ at + shift, turn @ -np.array(LOOKS[face])


@frozen
class _Row:
    """A fastener's hole: its line, from the face by which it goes in, and whose it is."""

    at: str
    of: frozenset[str]
    hole: str
    line: tuple[Floats, Floats]

    def rod(self, low: float, high: float, wide: float) -> Lump:
        start, way = self.line
        side = np.cross(way, np.roll(way, 1) + np.array([0.3, 0.1, 0.7]))
        side /= np.linalg.norm(side)
        ways = np.array([side, np.cross(way, side), way]).T
        half = np.array([wide / 2, wide / 2, (high - low) / 2])
        middle = start + way * (low + high) / 2
        return Lump(self.at, self.of, middle, ways, half, is_round=True, hole=self.hole)


def _screws(assembly: Assembly, joint: ScrewJoint, places: Places) -> Iterator[Lump]:
    """Shank, head and nut of each screw, from the sums of the report; of a stud its length."""
    solid = [place for place in joint.places if not place.is_loose]
    of, first = frozenset(place.member for place in solid), solid[0]
    entry: str = first.face or first.holes[0].face
    if joint.through:
        entry = seat_of(first, first.face)
    parts = [*(_stud(assembly, joint, entry) if joint.kind is None else _shank(assembly, joint))]
    for hole in first.holes:
        line = mouth(assembly, first.member, hole, entry, places)
        row = _Row(joint.name, of, hole.name, line)
        yield from (row.rod(*part) for part in parts)


def _stud(
    assembly: Assembly, joint: ScrewJoint, entry: str
) -> Iterator[tuple[float, float, float]]:
    """It stands out as far at both ends of what it holds."""
    first = next(place for place in joint.through if not place.is_loose)
    low = recess_of_mm(mouth_of(first.holes[0], entry))
    if joint.through[0].is_loose:
        loose = takewhile(lambda place: place.is_loose, joint.through)
        low = -math.fsum(place.loose_mm or 0.0 for place in loose)
    low -= (joint.length_mm - screw_sums(assembly, joint).grip) / 2
    yield low, low + joint.length_mm, joint.thread.major_mm


def _shank(assembly: Assembly, joint: ScrewJoint) -> Iterator[tuple[float, float, float]]:
    head = head_for(joint.thread, joint.kind) if joint.kind is not None else None
    sums, nut = screw_sums(assembly, joint), nut_for(joint.thread)
    if head is None or joint.kind is None:
        return
    top = sums.head or 0.0
    under = top if joint.kind.endswith("countersunk") else top - head.head_height_mm
    yield -under, joint.length_mm - under, joint.thread.major_mm
    yield -top, head.head_height_mm - top, head.head_diameter_mm
    if joint.into is None and nut is not None and sums.end is not None:
        end = joint.length_mm - under - sums.end
        yield end - (nut.height_mm or 0.0), end, nut.across_corners_mm


def _pins(assembly: Assembly, joint: PinJoint, places: Places) -> Iterator[Lump]:
    of = frozenset(place.member for place in joint.places)
    first = joint.places[0]
    for hole in first.holes:
        line = mouth(assembly, first.member, hole, hole.face, places)
        low, high = pin_ends_mm(assembly, joint, line, places)
        yield _Row(joint.name, of, hole.name, line).rod(low, high, joint.diameter_mm)


def pin_ends_mm(
    assembly: Assembly, joint: PinJoint, line: tuple[Floats, Floats], places: Places
) -> tuple[float, float]:
    """From where to where a pin reaches along the line of its first hole."""
    start, way = line
    reach = []
    for place in joint.places:
        hole = place.holes[0]
        begins, inwards = mouth(assembly, place.member, hole, hole.face, places)
        deep = along_mm(assembly, place) if hole.is_through else hole.depth_mm
        reach.append(((begins - start) @ way, (begins + inwards * deep - start) @ way))
    low, high = (float(pick(pick(pair) for pair in reach)) for pick in (min, max))
    if joint.length_mm is None:
        return low, high
    opens, ends = joint.places[0].holes[0], joint.places[-1].holes[0]
    first_is_low = sum(reach[0]) <= sum(reach[-1])
    from_first = not opens.is_through or ends.is_through
    if from_first == first_is_low:
        return low, low + joint.length_mm
    return high - joint.length_mm, high
