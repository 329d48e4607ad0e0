"""What may be measured of a part, by this side's own geometry: true distances, zones, sizes.

Over pins, M = C + (d1 + d2) / 2 and the like, from centres and faces in the part's own axes; what
may be read follows from the zones along the direction of the reading. Imports the part, the shop
and the tables.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from functools import cached_property

from millprep.base.records import frozen
from millprep.model.part import Hole, Mouth, Part
from millprep.model.shop import Instrument, Shop
from millprep.model.tools import Cutter
from millprep.reference.drills import drilled_limits_mm, oversize_mm
from millprep.reference.fits import hole_limits_um
from millprep.witness.faces import AXIS, face_mm

_USUAL = ((6.0, 0.1), (30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8), (2000.0, 1.2))
"""Up to a length, plus or minus [mm]. Source: ISO 2768-1, class m."""
COARSE_SHARE = 0.25  # of the tolerance (common practice)
IN_FULL_MM = 1.2e-4  # figures of CSV in either unit, with the pins of theirs
KINDS = {
    "edge-to-pin": "edge to pin",
    "edge-to-hole": "edge to hole",
    "rim-to-hole": "rim to hole",
    "rim-to-pin": "rim to pin",
}
ON_PINS = ("over pins", "between pins")
_LEAST_JAWS_MM = 5.0  # inner jaws do not go into smaller holes (common practice)
_PIN_STEP_MM = 0.5  # one that is thinner than that is no pin for its hole
Span = tuple[float, float]
Right = tuple[float, float, float, float, float]
"""Expected, least, greatest; what the pins shake; the width of the narrower zone [mm]."""


@frozen
class Length:
    """What is measured. kind : in the words of the sheet; to : another hole, a face, or "";
    pins : that stand in the holes; face : from which"""

    kind: str
    hole: str
    to: str
    pins: tuple[float, ...]
    face: str

    @property
    def is_place(self) -> bool:
        return self.kind in (*ON_PINS, *KINDS.values())


@frozen
class Drawn:
    """A part as drawn, and what measures it."""

    part: Part
    shop: Shop

    @cached_property
    def holes(self) -> Mapping[str, Hole]:
        return {hole.name: hole for hole in self.part.holes}

    @cached_property
    def pins(self) -> Mapping[str, float]:
        tools: tuple[Cutter, ...] = (*self.shop.instruments.pins, *self.shop.cabinet.drills)
        return {tool.words: tool.diameter_mm for tool in tools}

    def nearest_pin_mm(self, told_mm: float) -> float:
        """The pin that a figure in either unit tells."""
        return min(self.pins.values(), key=lambda size: abs(size - told_mm), default=math.nan)

    def face_mm(self, face: str) -> float:
        return face_mm(face, self.part.stock.size_mm)

    def usual_mm(self, length_mm: float) -> float:
        return next((off for up_to, off in _USUAL if abs(length_mm) <= up_to), _USUAL[-1][1])

    def zone(self, hole: Hole) -> tuple[float, bool]:
        """(half, is round) of where the centre may lie [mm]."""
        if hole.position_mm is not None:
            return hole.position_mm / 2, True
        own = hole.tolerance_mm
        given = own if own is not None else self.part.general_tolerance_mm
        if given is not None:
            return given, False
        away = []
        for axis in {0, 1, 2} - {AXIS[hole.face]}:
            datum, size = self.part.datum[axis], self.part.stock.size_mm[axis]
            at = size / 2 if datum == "centre" else self.face_mm(str(datum))
            away.append(abs(hole.centre_mm[axis] - at))
        return self.usual_mm(max(away)), False

    def reach_mm(self, hole: Hole, along: Sequence[float]) -> float:
        """How far its centre may go along a direction of length 1."""
        half, is_round = self.zone(hole)
        return half if is_round else half * sum(map(abs, along))


def least_and_expected_mm(hole: Hole) -> Span:
    """The hole that a pin goes into: at its least, and as it is expected."""
    size = hole.diameter_mm
    if hole.thread is not None:
        drill = hole.thread.tap_drill_mm
        return drill, drill + oversize_mm(drill)
    if hole.limits_um is not None:
        return size + hole.limits_um[0] / 1000, size + hole.limits_um[1] / 1000
    if hole.kind.is_true:
        return size, size + hole_limits_um(size, "H7")[1] / 1000
    return size, size + oversize_mm(size)


def instrument_of(shop: Shop, name: str) -> Instrument | None:
    """Of the shop, by its name."""
    tools = shop.instruments
    known = {
        "calliper": tools.calliper,
        "micrometer": tools.micrometer,
        "bore gauge": tools.bore_gauge,
    }
    return known.get(name)


def measured_by(shop: Shop, kind: str, right: Right) -> tuple[str, bool]:
    """By what, and whether the mean of two readings counts, which takes the shake of pins out."""
    length, _, _, shake, finest = right
    if kind == "between pins":
        return "calliper", True
    if kind in ("edge to hole", "rim to hole"):
        return "calliper", False
    tools, enough = shop.instruments, COARSE_SHARE * finest + 1e-6
    named = (("calliper", tools.calliper), ("micrometer", tools.micrometer))
    able = [(name, one.uncertainty_mm) for name, one in named if length <= one.largest_mm + 1e-6]
    for name, off in able:
        if off <= enough:
            return name, off + shake > enough
    name, off = min(able, key=lambda pair: pair[1], default=("none", 0.0))
    return name, shake > COARSE_SHARE * off


def sized_by(shop: Shop, kind: str, hole: Hole) -> str:
    """By jaws and rod of the calliper, but for bores that are too small or too close for them."""
    tools, size = shop.instruments, hole.diameter_mm
    if kind != "size":
        return "calliper"
    width = 0.0 if hole.limits_um is None else (hole.limits_um[1] - hole.limits_um[0]) / 1000
    off = tools.calliper.uncertainty_mm
    is_fine = hole.limits_um is None or off <= COARSE_SHARE * width + 1e-6
    if is_fine and _LEAST_JAWS_MM - 1e-6 <= size <= tools.calliper.largest_mm:
        return "calliper"
    return "bore gauge" if size <= tools.bore_gauge.largest_mm else "calliper"


def place_of(drawn: Drawn, what: Length, hole: Hole) -> Right | None:
    """Of a reading that says where a hole is."""
    ends, pins = [hole], what.pins
    if what.kind in ON_PINS:
        other = drawn.holes.get(what.to)
        if other is None or other is hole or other.face != hole.face:
            return None
        ends.append(other)
    is_wall = what.kind in ("edge to hole", "rim to hole")
    if is_wall:
        least, expected = least_and_expected_mm(hole)
        pins = ((least + expected) / 2,)
        shake = expected - least
    else:
        if len(pins) != len(ends) or not all(map(_goes_in, pins, ends)):
            return None
        wide = [least_and_expected_mm(one)[1] for one in ends]
        shake = sum(a - b for a, b in zip(wide, pins, strict=True))
    found = _distance(drawn, what, ends)
    if found is None:
        return None
    distance, along = found
    added = sum(pins) / 2 * (-1 if is_wall or what.kind == "between pins" else 1)
    reaches = [drawn.reach_mm(one, along) for one in ends]
    half, reading = sum(reaches), distance + added
    return reading, reading - half, reading + half, shake / 2, 2 * min(reaches)


def _goes_in(pin_mm: float, hole: Hole) -> bool:
    least, _ = least_and_expected_mm(hole)
    return least - _PIN_STEP_MM - IN_FULL_MM <= pin_mm <= least + IN_FULL_MM


def _distance(
    drawn: Drawn, what: Length, ends: Sequence[Hole]
) -> tuple[float, tuple[float, ...]] | None:
    """How far apart, and in which direction of the face's two axes."""
    hole = ends[0]
    axes = [axis for axis in range(3) if axis != AXIS[hole.face]]
    here = [hole.centre_mm[axis] for axis in axes]
    if len(ends) > 1:
        there = [ends[1].centre_mm[axis] for axis in axes]
    elif what.kind.startswith("rim"):
        if drawn.part.stock.axis != AXIS[hole.face]:
            return None
        there = [drawn.part.stock.size_mm[axis] / 2 for axis in axes]
    else:
        face = what.to.lower()
        if face not in AXIS or AXIS[face] not in axes:
            return None
        along = tuple(1.0 if axis == AXIS[face] else 0.0 for axis in axes)
        return abs(hole.centre_mm[AXIS[face]] - drawn.face_mm(face)), along
    way = [a - b for a, b in zip(here, there, strict=True)]
    apart = math.hypot(*way)
    if apart < 1e-9:
        return None
    unit = tuple(one / apart for one in way)
    if what.kind.startswith("rim"):
        return drawn.part.stock.size_mm[axes[0]] / 2 - apart, unit
    return apart, unit


def size_of(drawn: Drawn, what: Length, hole: Hole) -> Right | None:
    """Of a diameter or depth of one hole."""
    if what.kind == "size":
        return None if hole.thread is not None else (*diameter_of(drawn, hole), 0.0, 0.0)
    mouth = hole.mouth if what.face == hole.face else hole.far
    length = {
        "depth": None if hole.is_through else hole.depth_mm,
        "opened": next((o.diameter_mm for o in hole.opened if o.words == what.to), None),
        **_mouth(mouth),
    }.get(what.kind)
    if length is None:
        return None
    usual = drawn.usual_mm(length)
    return length, length - usual, length + usual, 0.0, 0.0


def _mouth(mouth: Mouth) -> dict[str, float | None]:
    recess, face, cone = mouth.counterbore, mouth.spotface, mouth.countersink
    return {
        "counterbore": None if recess is None else recess.diameter_mm,
        "counterbore depth": None if recess is None else recess.depth_mm,
        "spotface": None if face is None else face.diameter_mm,
        "countersink": None if cone is None else cone.diameter_mm,
    }


def diameter_of(drawn: Drawn, hole: Hole) -> tuple[float, float, float]:
    """Expected, least and greatest: of the drawing, as a drill leaves it, or the usual."""
    size = hole.diameter_mm
    if hole.limits_um is not None:
        low, high = (size + limit / 1000 for limit in hole.limits_um)
        return (low + high) / 2, low, high
    drilled = drilled_limits_mm(size) if hole.kind.is_as_drilled else None
    low, high = drilled or (size - drawn.usual_mm(size), size + drawn.usual_mm(size))
    return size, low, high
