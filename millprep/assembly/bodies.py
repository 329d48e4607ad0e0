"""What stands in an assembly, blanks and fasteners as boxes and cylinders; what of it is bought.

Assembly axes. A member is its blank, less its holes. A fastener is cylinders on the line of its
hole; what of it lies inside its own members can meet nothing but other fasteners, so that what
stands out of them is kept apart, as `pieces`. Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from itertools import takewhile

import numpy as np

from millprep.assembly.frames import Floats, mouth_at, recess_mm
from millprep.assembly.links import entered_by
from millprep.assembly.placing import Lay
from millprep.assembly.screws import Screwed, nut_mouth, washer_mm
from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, Member, PinJoint, Place, ScrewJoint
from millprep.model.part import FACE_AXIS, OPPOSITE, Face, Hole
from millprep.reference.heads import nut_for, washer_for
from millprep.setting.setups import outward
from millprep.sums.convex import Shape, boxes, cylinder

_OPEN_MM = 1.0  # so far a hole is free of metal beyond its open end
_SHORTEST_MM = 0.01  # of what stands out


@frozen
class Body:
    """One thing in its place.

    what   : "member", "screw" (its shank; of a stud the whole), "head", "nut", "washer", "pin"
    name   : of the member or of the joint; hole : of a fastener, in the first of its members
    of     : the members that it belongs to; group : of members that hang together
    shape  : the whole; pieces : what stands out of its own members
    hollows : the holes of a member
    """

    what: str
    name: str
    hole: str
    of: frozenset[str]
    group: int
    shape: Shape
    pieces: tuple[Shape, ...]
    hollows: tuple[Shape, ...] = ()

    @property
    def is_member(self) -> bool:
        return self.what == "member"

    @cached_property
    def _hollow_boxes(self) -> tuple[Floats, Floats]:
        return boxes(self.hollows)

    def hollows_at(self, shapes: Sequence[Shape]) -> list[Shape]:
        """Those of its holes that shapes come near."""
        if not self.hollows or not shapes:
            return []
        (lows, highs), (low, high) = self._hollow_boxes, boxes(shapes)
        near = (lows <= high.max(axis=0)) & (low.min(axis=0) <= highs)
        return [self.hollows[number] for number in np.flatnonzero(near.all(axis=1)).tolist()]


@frozen
class _Line:
    """A hole's line: a point of it, the way along it, and where its members begin and end on it."""

    start_mm: Floats
    way: Floats
    filled_mm: tuple[tuple[float, float], ...]

    def at(self, low_mm: float, high_mm: float, radius_mm: float) -> Shape:
        return cylinder(self.start_mm, self.way, low_mm, high_mm, radius_mm)

    def pieces(self, low_mm: float, high_mm: float, radius_mm: float) -> tuple[Shape, ...]:
        """What of a cylinder on the line no member of it fills."""
        left = [(low_mm, high_mm)]
        for start, end in self.filled_mm:
            left = [
                (max(a, c), min(b, d))
                for a, b in left
                for c, d in ((-np.inf, start), (end, np.inf))
                if min(b, d) - max(a, c) > _SHORTEST_MM
            ]
        return tuple(self.at(a, b, radius_mm) for a, b in left)


@frozen
class Standing:
    """An assembly with the lay of its members."""

    assembly: Assembly
    lays: Mapping[str, Lay]

    def bodies(self, screws: Sequence[Screwed]) -> list[Body]:
        """All that stands there: members, then fasteners in the order of the file."""
        found = [self._member(member) for member in self.assembly.members]
        rows = {row.joint.name: row for row in screws}
        for joint in self.assembly.joints:
            if isinstance(joint, PinJoint):
                found += self._pins(joint)
            else:
                found += self.screw(rows[joint.name])
        return found

    @cached_property
    def turn_right_round(self) -> frozenset[str]:
        """Members that run on a pin, with nothing said of how far."""
        pins = (one for one in self.assembly.joints if isinstance(one, PinJoint))
        free = (pin for pin in pins if pin.swing_deg is None)
        return frozenset(p.member for pin in free for how, p in pin.held if how == "pivot")

    def _member(self, member: Member) -> Body:
        lay, stock = self.lays[member.name], member.part.stock
        half = np.array(stock.size_mm) / 2
        order = [0, 1, 2] if stock.axis is None else [n for n in range(3) if n != stock.axis]
        order += [] if stock.axis is None else [stock.axis]
        centre = lay.pose.placed(half[:, None])[:, 0]
        shape = Shape(centre, lay.pose.rotation.T[order], half[order], stock.axis is not None)
        hollows = [
            self._hollow(member, hole, face, low, high, wide)
            for hole in member.part.holes
            for face, low, high, wide in _cuts(hole)
        ]
        if stock.bore_mm is not None:
            along = float(half[order[2]]) + _OPEN_MM
            hollows.append(cylinder(centre, shape.axes[2], -along, along, stock.bore_mm / 2))
        of = frozenset([member.name])
        return Body("member", member.name, "", of, lay.group, shape, (shape,), tuple(hollows))

    def _hollow(
        self, member: Member, hole: Hole, face: Face, low: float, high: float, wide: float
    ) -> Shape:
        """From so deep to so deep below a face."""
        start, inwards = self._mouth(member.name, hole, face)
        return cylinder(start, inwards, low, high, wide / 2)

    def _mouth(self, name: str, hole: Hole, face: Face) -> tuple[Floats, Floats]:
        """Where the line of a hole meets a face of its member, and the way into it."""
        place = np.array(hole.centre_mm)
        stock = self.assembly.member(name).part.stock
        place[FACE_AXIS[face]] = stock.face_at_mm(face)
        pose = self.lays[name].pose
        inwards: Floats = -pose.rotation @ outward(face)
        return pose.placed(place[:, None])[:, 0], inwards

    def _filled(self, place: Place, start: Floats, way: Floats) -> tuple[float, float]:
        """From where to where a member of a place reaches along a line."""
        hole = place.holes[0]
        ends = [
            float((self._mouth(place.member, hole, face)[0] - start) @ way)
            for face in (hole.face, OPPOSITE[hole.face])
        ]
        return min(ends), max(ends)

    def _line(self, joint: ScrewJoint | PinJoint, place: Place, hole: Hole, face: Face) -> _Line:
        start, way = self._mouth(place.member, hole, face)
        solid = [one for one in joint.places if not one.is_loose]
        return _Line(start, way, tuple(self._filled(one, start, way) for one in solid))

    def screw(self, row: Screwed) -> Iterator[Body]:
        """Each screw or stud of a joint, its head and nuts."""
        joint = row.joint
        solid = [place for place in joint.places if not place.is_loose]
        of, group = frozenset(place.member for place in solid), self.lays[solid[0].member].group
        entry = entered_by(joint, solid[0])
        for hole in solid[0].holes:
            line = self._line(joint, solid[0], hole, entry)
            for what, low, high, wide in self._parts(row, line, entry):
                pieces = line.pieces(low, high, wide / 2)
                shape = line.at(low, high, wide / 2)
                yield Body(what, joint.name, hole.name, of, group, shape, pieces)

    def _parts(
        self, row: Screwed, line: _Line, entry: Face
    ) -> Iterator[tuple[str, float, float, float]]:
        """(what, from, to, diameter) along the line, from the face by which the screw enters."""
        joint, figures = row.joint, row.figures
        solid = [place for place in joint.places if not place.is_loose]
        recess = recess_mm(mouth_at(solid[0].holes[0], entry))
        washers = joint.washers * washer_mm(joint)
        last = line.filled_mm[-1][1] - recess_mm(nut_mouth(joint, solid[-1]))
        last += sum(place.loose_mm or 0.0 for place in takewhile(_is_loose, joint.places[::-1]))
        major = joint.thread.major_mm
        if figures is None:
            loose = sum(place.loose_mm or 0.0 for place in takewhile(_is_loose, joint.places))
            seat = -loose if loose else recess
            nut = _nut(joint, seat - washers, -1)
            yield nut
            start = nut[1] - row.ends_mm
            yield "screw", start, start + joint.length_mm, major
        else:
            under = figures.screw.washer_mm - recess
            head = figures.screw.head
            is_sunk = figures.screw.is_countersunk
            if is_sunk:
                under = figures.head_mm or 0.0
            yield "screw", -under, joint.length_mm - under, major
            if head is not None:
                high = -under + (head.head_height_mm if is_sunk else 0.0)
                yield "head", high - head.head_height_mm, high, head.head_diameter_mm
            seat = washers - under
        washer = washer_for(joint.thread)
        if joint.washers and washer is not None:
            yield "washer", seat - washers, seat, washer.outside_mm
        if joint.into is None:
            under_nut = joint.nut_washers * washer_mm(joint)
            if under_nut and washer is not None:
                yield "washer", last, last + under_nut, washer.outside_mm
            yield _nut(joint, last + under_nut, 1)

    def _pins(self, joint: PinJoint) -> Iterator[Body]:
        """Each pin of a joint."""
        first = joint.places[0]
        of, group = frozenset(one.member for one in joint.places), self.lays[first.member].group
        for hole in first.holes:
            line = self._line(joint, first, hole, hole.face)
            low, high = self._pin_ends_mm(joint, line)
            radius = joint.diameter_mm / 2
            shape, pieces = line.at(low, high, radius), line.pieces(low, high, radius)
            yield Body("pin", joint.name, hole.name, of, group, shape, pieces)

    def _pin_ends_mm(self, joint: PinJoint, line: _Line) -> tuple[float, float]:
        """From where to where a pin reaches along its line: as far as its holes do, or as long as
        the file says, from the bottom of a blind hole or the outer end of the first."""
        ends: list[float] = []
        for place, filled in zip(joint.places, line.filled_mm, strict=True):
            hole = place.holes[0]
            start, inwards = self._mouth(place.member, hole, hole.face)
            mouth = float((start - line.start_mm) @ line.way)
            deep = mouth + hole.depth_mm * float(np.sign(inwards @ line.way))
            ends += filled if hole.is_through else (mouth, deep)
        low, high = min(ends), max(ends)
        if joint.length_mm is None:
            return low, high
        first, last = (joint.places[index].holes[0] for index in (0, -1))
        is_on = sum(line.filled_mm[-1]) >= sum(line.filled_mm[0])
        if is_on == (first.is_through and not last.is_through):
            return high - joint.length_mm, high
        return low, low + joint.length_mm


def _nut(joint: ScrewJoint, seat: float, sense: int) -> tuple[str, float, float, float]:
    """On its seat, along the line or against it."""
    nut = nut_for(joint.thread)
    assert nut is not None  # the file was refused without one
    end = seat + sense * (nut.height_mm or 0.0)
    return "nut", min(seat, end), max(seat, end), nut.across_corners_mm


def _is_loose(place: Place) -> bool:
    return place.is_loose


def _cuts(hole: Hole) -> Iterator[tuple[Face, float, float, float]]:
    """(face, from so deep, to so deep, diameter) of all that is cut at a hole; open beyond its
    mouths."""
    end = hole.depth_mm + _OPEN_MM if hole.is_through else hole.depth_mm
    yield hole.face, -_OPEN_MM, end, hole.diameter_mm
    for opened in hole.opened:
        yield hole.face, -_OPEN_MM, opened.depth_mm, opened.diameter_mm
    for face, mouth in ((hole.face, hole.mouth), (OPPOSITE[hole.face], hole.far)):
        recess = mouth.counterbore or mouth.spotface
        if recess is not None:
            yield face, -_OPEN_MM, recess.depth_mm, recess.diameter_mm


@frozen
class Bought:
    """So many of one thing.

    long_mm : of a pin; is_given : as the file gives it, else as long as its holes
    """

    what: str
    count: int
    long_mm: float | None = None
    is_given: bool = False


def bought(assembly: Assembly, bodies: Sequence[Body]) -> list[Bought]:
    """Like things as one, in the order of the file: screws and pins, then nuts and washers."""
    pins = {body.name: 2 * float(body.shape.half_mm[2]) for body in bodies if body.what == "pin"}
    first: list[Bought] = []
    then: list[Bought] = []
    for joint in assembly.joints:
        count = max(len(place.holes) for place in joint.places) * assembly.quantity
        if isinstance(joint, PinJoint):
            is_given = joint.length_mm is not None
            first.append(Bought(_pin_words(joint), count, round(pins[joint.name], 6), is_given))
        else:
            first.append(Bought(f"{joint.words}{'' if joint.kind else ' stud'}", count))
            then += _beside(joint, count)
    found: dict[tuple[str, float | None], Bought] = {}
    for one in (*first, *then):
        key = (one.what, one.long_mm)
        before = found.get(key)
        found[key] = one if before is None else replace(before, count=before.count + one.count)
    return [*found.values()]


def _pin_words(joint: PinJoint) -> str:
    """ "6 mm f7 pin (m6 in left)" """
    words = joint.words if "dowel" in joint.words else f"{joint.words} pin"
    others = [
        f"{place.pin_class} in {place.member}"
        for place in joint.places
        if place.pin_class not in (None, joint.pin_class)
    ]
    return f"{words} ({', '.join(others)})" if others else words


def _beside(joint: ScrewJoint, count: int) -> Iterator[Bought]:
    nuts = 2 if joint.kind is None else int(joint.into is None)
    washers = joint.washers + (joint.nut_washers if nuts else 0)
    if nuts:
        yield Bought(f"{joint.thread.name} nut", count * nuts)
    if washers:
        yield Bought(f"{joint.thread.name} plain washer", count * washers)
