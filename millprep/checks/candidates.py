"""The changes to a part that may cure a fault: a hole or a pattern moved or spread, another depth.

A candidate is a way to change the part with one figure in it; `cures` finds the least figure that
will do. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Literal

from millprep.base.findings import Cure, Words, words
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH, Units
from millprep.checks.gaps import Point
from millprep.model.part import AXIS_FACES, FACE_AXIS, Hole, Part, plane_axes

_PATTERNS = ("circle", "arc", "row", "grid", "corners", "pattern_from")
_FIXED = ("corners", "pattern_from")  # lie where the face, or another part, puts them
MOST_MEMBERS = 40
"""Of a pattern that is spread: what moves is compared with all that it may come near to."""
_SAME_MM = 1e-6


@frozen
class Candidate:
    """A change by an amount [mm], and how it is said.

    ways_mm  : how far each hole moves for 1 mm of the amount; none for a depth
    figure_mm: the figure of the part file that changes; 0 where a move itself is told
    sign     : whether that figure grows or shrinks
    figure   : its key in the part file; empty where it has none of its own
    said     : with {figure_mm} for what it becomes, and {who} for the holes that are moved
    """

    kind: Literal["move", "pattern", "depth"]
    holes: tuple[Hole, ...]
    said: Words
    ways_mm: tuple[Point, ...] = ()
    figure_mm: float = 0.0
    sign: int = 1
    figure: str = ""

    def cure(self, amount_mm: float) -> Cure:
        names = tuple(hole.name for hole in self.holes)
        if self.kind != "depth":
            moves = tuple(_times(way, amount_mm) for way in self.ways_mm)
            figure_mm = self.figure_mm + self.sign * amount_mm
            return Cure(self.kind, names, moves, figure=self.figure, figure_mm=figure_mm)
        hole = self.holes[0]
        change = self.sign * amount_mm
        drilled = hole.drill_depth_mm
        return Cure(
            "depth",
            names,
            depth_mm=hole.depth_mm + change,
            drill_depth_mm=None if drilled is None else drilled + change,
        )

    def only(self, holes: tuple[Hole, ...]) -> Candidate:
        """The same change at those of the holes."""
        ways = self.ways_mm or (None,) * len(self.holes)
        kept = [(hole, way) for hole, way in zip(self.holes, ways, strict=True) if hole in holes]
        return replace(
            self,
            holes=tuple(hole for hole, _ in kept),
            ways_mm=tuple(way for _, way in kept if way is not None),
        )

    def rounded_mm(self, amount_mm: float, step_mm: float) -> float:
        """The amount with the told figure rounded away from what it was: never less."""
        figure = (self.figure_mm + self.sign * amount_mm) / step_mm
        outward = math.ceil(figure - 1e-4) if self.sign > 0 else math.floor(figure + 1e-4)
        return abs(outward * step_mm - self.figure_mm)

    def told(self, amount_mm: float) -> Words:
        """The change in words, with its figure."""
        change = self.sign * amount_mm
        said = self.said.and_also("", figure_mm=self.figure_mm + change)
        drilled = self.holes[0].drill_depth_mm
        if self.kind == "depth" and drilled is not None:
            said = said.and_also(" and a drill_depth of {drilled_mm}", drilled_mm=drilled + change)
        return said


TOLD_MM: dict[Units, float] = {"mm": 0.01, "inch": float(MM_PER_INCH) / 1000}
"""Step of the figures that are told."""


def _times(way: Point, amount: float) -> Point:
    x, y, z = (amount * step for step in way)
    return x, y, z


def along_axis(axis: int, step: float) -> Point:
    """A vector along one part axis."""
    way = [0.0, 0.0, 0.0]
    way[axis] = step
    return way[0], way[1], way[2]


def unit_of(part: Part, hole: Hole) -> tuple[Hole, ...]:
    """The holes that one statement of the part file places: a pattern as a whole, or one hole."""
    if hole.placed_by not in _PATTERNS or hole.member is None:
        return (hole,)
    return tuple(other for other in part.holes if other.group == hole.group)


def shifts(part: Part, unit: tuple[Hole, ...]) -> Iterator[Candidate]:
    """The unit as a whole, towards each side of its face; on a disc also in and out."""
    first = unit[0]
    if first.placed_by in _FIXED:
        return
    kind: Literal["move", "pattern"] = "move" if len(unit) == 1 else "pattern"
    move = words("move {who} {figure_mm}")
    if kind == "pattern":
        move = words('move "{group}" (all {count}) {figure_mm}', group=first.group, count=len(unit))
    for axis in plane_axes(first.face):
        for side, step in zip(AXIS_FACES[axis], (-1.0, 1.0), strict=True):
            said = move.and_also(" towards {side}", side=side.upper())
            yield Candidate(kind, unit, said, (along_axis(axis, step),) * len(unit))
    if len(unit) == 1 and part.stock.axis == FACE_AXIS[first.face]:
        way = _outwards(first, [size / 2 for size in part.stock.size_mm])
        if way is not None:
            yield Candidate("move", unit, move.and_also(" outwards"), (way,))
            yield Candidate("move", unit, move.and_also(" inwards"), (_times(way, -1.0),))


def _outwards(hole: Hole, middle: list[float]) -> Point | None:
    off = [0.0, 0.0, 0.0]
    for axis in plane_axes(hole.face):
        off[axis] = hole.centre_mm[axis] - middle[axis]
    length = math.hypot(*off)
    return (off[0] / length, off[1] / length, off[2] / length) if length > _SAME_MM else None


def spreads(part: Part, unit: tuple[Hole, ...]) -> Iterator[Candidate]:
    """The figure of a pattern that its members' distances hang on, larger and smaller."""
    if not 2 <= len(unit) <= MOST_MEMBERS:
        return
    makers = {"circle": _circle, "arc": _circle, "row": _row, "grid": _grid, "corners": _corners}
    maker = makers.get(unit[0].placed_by)
    if maker is None:
        return
    for key, said, figure, ways in maker(part, unit):
        if figure <= _SAME_MM:
            continue
        for sign, bound in ((1, "or more"), (-1, "or less")):
            yield Candidate(
                "pattern",
                unit,
                said.and_also("", group=unit[0].group, bound=bound),
                tuple(_times(way, sign) for way in ways),
                figure,
                sign,
                key,
            )


Spread = tuple[str, Words, float, tuple[Point, ...]]
"""(key of the figure, what to do, figure [mm], how each member moves where it grows by 1 mm)."""


def _circle(part: Part, unit: tuple[Hole, ...]) -> Iterator[Spread]:
    centre = _centre_of(unit)
    if centre is None:
        return
    ways = tuple(_outwards(hole, centre) for hole in unit)
    a, b = plane_axes(unit[0].face)
    at = unit[0].centre_mm
    diameter = 2 * math.hypot(at[a] - centre[a], at[b] - centre[b])
    yield (
        "diameter",
        words('make the circle of "{group}" {figure_mm} {bound} in diameter'),
        diameter,
        tuple(_times(way, 0.5) for way in ways if way is not None),
    )


def _centre_of(unit: tuple[Hole, ...]) -> list[float] | None:
    """The middle of the circle through three members as far apart as may be."""
    if len(unit) < 3:
        return None
    a, b = plane_axes(unit[0].face)
    picked = [unit[len(unit) * third // 3] for third in range(3)]
    (x1, y1), (x2, y2), (x3, y3) = ((hole.centre_mm[a], hole.centre_mm[b]) for hole in picked)
    twice = 2 * (x1 * (y2 - y3) + x2 * (y3 - y1) + x3 * (y1 - y2))
    if abs(twice) < _SAME_MM:
        return None
    squares = (x1 * x1 + y1 * y1, x2 * x2 + y2 * y2, x3 * x3 + y3 * y3)
    centre = [0.0, 0.0, 0.0]
    for axis, steps in ((a, (y2 - y3, y3 - y1, y1 - y2)), (b, (x3 - x2, x1 - x3, x2 - x1))):
        centre[axis] = sum(at * step for at, step in zip(squares, steps, strict=True)) / twice
    return centre


def _row(part: Part, unit: tuple[Hole, ...]) -> Iterator[Spread]:
    first, last = unit[0], unit[-1]
    steps = (last.member or 0) - (first.member or 0)
    x, y, z = ((to - at) / steps for at, to in zip(first.centre_mm, last.centre_mm, strict=True))
    step = math.hypot(x, y, z)
    if step <= _SAME_MM:
        return
    ways = tuple(
        _times((x / step, y / step, z / step), (hole.member or 0) - (first.member or 0))
        for hole in unit
    )
    yield "step", words('space "{group}" {figure_mm} {bound} apart'), step, ways


def _grid(part: Part, unit: tuple[Hole, ...]) -> Iterator[Spread]:
    for axis in plane_axes(unit[0].face):
        places = sorted({round(hole.centre_mm[axis], 6) for hole in unit})
        step = min((high - low for low, high in pairwise(places)), default=0.0)
        if step <= _SAME_MM:
            continue
        first = unit[0].centre_mm[axis]
        ways = tuple(along_axis(axis, (hole.centre_mm[axis] - first) / step) for hole in unit)
        said = words('space "{group}" {figure_mm} {bound} apart along {axis}', axis="xyz"[axis])
        yield f"step.{'xyz'[axis]}", said, step, ways


_INSET = 'give "{group}" an inset of {figure_mm} {bound}'


def _corners(part: Part, unit: tuple[Hole, ...]) -> Iterator[Spread]:
    axes = plane_axes(unit[0].face)
    insets = [min(hole.centre_mm[axis] for hole in unit) for axis in axes]
    if abs(insets[0] - insets[1]) < _SAME_MM:
        yield "inset", words(_INSET), insets[0], _inwards(part, unit, axes)
    for axis, inset in zip(axes, insets, strict=True):
        said = words(_INSET + " along {axis}", axis="xyz"[axis])
        yield f"inset.{'xyz'[axis]}", said, inset, _inwards(part, unit, (axis,))


def _inwards(part: Part, unit: tuple[Hole, ...], axes: tuple[int, ...]) -> tuple[Point, ...]:
    def way(hole: Hole, axis: int) -> float:
        is_low = hole.centre_mm[axis] < part.stock.size_mm[axis] / 2
        return (1.0 if is_low else -1.0) if axis in axes else 0.0

    return tuple((way(hole, 0), way(hole, 1), way(hole, 2)) for hole in unit)


def depths(part: Part, hole: Hole) -> Iterator[Candidate]:
    """A blind hole, with its pattern, less deep or deeper; not one that ends in another."""
    members = tuple(other for other in part.holes if other.group == hole.group)
    if hole.is_through or hole.goes_into or len(members) > MOST_MEMBERS:
        return
    name = hole.name if len(members) == 1 else hole.group
    for sign, bound in ((-1, "less"), (1, "more")):
        yield Candidate(
            "depth",
            members,
            words('give "{name}" a depth of {figure_mm} or {bound}', name=name, bound=bound),
            figure_mm=hole.depth_mm,
            sign=sign,
        )
