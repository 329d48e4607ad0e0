"""Between what a figure of a hole's place is drawn, found from where the hole came to lie: from
the edge, centre line or hole that the file counts from. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Literal

from millprep.base.records import frozen
from millprep.infiles.points import AXIS_OF_NAME
from millprep.model.kinds import HOLE_KINDS
from millprep.model.part import (
    AXIS_FACES,
    FACE_AXIS,
    HIGH_FACES,
    OPPOSITE,
    Face,
    Hole,
    Part,
    Point,
    StatedLength,
    plane_axes,
)
from millprep.sheets.drawn_patterns import circle_through

_SAME_MM = 1e-3
Kind = Literal["along", "straight", "diameter", "size"]
Path = tuple[str | int, ...]

END_WORDS: dict[str, str] = {
    "left": "left end", "right": "right end", "front": "front", "back": "back",
    "bottom": "bottom", "top": "top", "centre": "centre line",
}  # fmt: skip
SIZE_WORDS: dict[str, str] = {
    **{word: word for word in HOLE_KINDS},
    "diameter": "diameter", "radius": "radius", "chord": "from hole to hole", "depth": "deep",
    "drill_depth": "drilled to", "pitch": "pitch", "counterbore": "counterbore",
    "countersink": "countersink", "spotface": "spotface", "opened": "opened out",
    "far": "on the other end", "tolerance": "may be off by", "position": "within a circle of",
    "breakthrough": "drilled past the far side by", "peck": "clear chips after",
    "limits": "limits of size", "drills": "drills in turn", "circle": "pitch circle",
    "arc": "pitch circle", "polar": "at a distance", "general_tolerance": "holes may be off by",
    "pattern_from": "the holes of another piece", "middle": "middle", "length": "thickness",
    "clearance": "clearance", "count": "how many", "start": "first at, in degrees",
    "end": "last at, in degrees", "row": "in a line", "grid": "in rows",
    "columns": "how many in a row", "rows": "how many rows", "angle": "angle, in degrees",
    "turned": "turned by, in degrees",
    "into": "down into", "fit": "fit", "pin": "pin", "skip": "left out, no.",
}  # fmt: skip
BLANK_WORDS = ("left to right", "front to back", "bottom to top")


@frozen
class Arrow:
    """What a figure says, and between what it is drawn."""

    words: str
    kind: Kind = "size"
    along: int | None = None
    start: Point | None = None
    end: Point | None = None
    starts_at: str = ""


@frozen
class HoleLine:
    """A [[hole]] table: what is measured in it.

    base : the hole that it counts from, where that is known
    """

    part: Part
    members: tuple[Hole, ...]
    base: str = ""

    @property
    def face(self) -> Face:
        return self.members[0].face

    @property
    def is_single(self) -> bool:
        return self.members[0].member is None

    def place(self, number: int) -> Point | None:
        """Of a member; None of one that is left out."""
        found = (hole.centre_mm for hole in self.members if (hole.member or 1) == number)
        return next(found, None)

    @property
    def middle(self) -> Point | None:
        """Of the circle that its members lie on."""
        a, b = plane_axes(self.face)
        places = [(hole.centre_mm[a], hole.centre_mm[b]) for hole in self.members]
        found = circle_through(places)
        if found is not None:
            (x, y), _ = found
        elif len(places) == 2:
            x, y = ((places[0][axis] + places[1][axis]) / 2 for axis in (0, 1))
        else:
            return None
        middle = list(self.members[0].centre_mm)
        middle[a], middle[b] = x, y
        return middle[0], middle[1], middle[2]


def arrow_of(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    """What a length of a hole's table says, after its name, and between what it is drawn.

    path : inside the table
    """
    return _PLACED.get(str(path[0]), sized)(line, one, path)


def _at(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    if line.is_single:
        return _coordinate(line, one, path[1:], line.place(1))
    number = int(path[1]) + 1
    return _coordinate(line, one, path[2:], line.place(number), f" {number}")


def _chain(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    number = int(path[1]) + 1
    if number == 1:
        return _coordinate(line, one, path[2:], line.place(1), " 1")
    axis = plane_axes(line.face)[int(path[2])]
    start, end = line.place(number - 1), line.place(number)
    return _step(f" {number}, from the one before", axis, start, end)


def _row(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    if path[1] == "start":
        return _coordinate(line, one, path[2:], line.place(1), " 1")
    if path[1] == "end":
        last = max(line.members, key=lambda hole: hole.member or 0)
        return _coordinate(line, one, path[2:], last.centre_mm, ", the last")
    axis = plane_axes(line.face)[int(path[2])]
    for start, end in _pairs(line, axis, one.length_mm, is_grid=path[0] == "grid"):
        return _step(f", one to the next {BLANK_WORDS[axis]}", axis, start, end)
    return Arrow(f", one to the next {BLANK_WORDS[axis]}")


def _pairs(
    line: HoleLine, axis: int, length_mm: float, *, is_grid: bool
) -> Iterator[tuple[Point, Point]]:
    """Members a step apart: of a row the next, of a grid one straight beside the other."""
    first = line.members[0]
    for other in line.members[1:]:
        way = [b - a for a, b in zip(first.centre_mm, other.centre_mm, strict=True)]
        is_step = abs(abs(way[axis]) - abs(length_mm)) < _SAME_MM
        is_next = (other.member or 0) - (first.member or 0) == 1
        is_straight = all(abs(way[one]) < _SAME_MM for one in range(3) if one != axis)
        if is_step and (is_straight if is_grid else is_next):
            yield first.centre_mm, other.centre_mm


def _step(words: str, axis: int, start: Point | None, end: Point | None) -> Arrow:
    if start is None or end is None:
        return Arrow(words)
    return Arrow(words, "along", axis, start, end)


def _corners(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    axis = plane_axes(line.face)[int(path[-1]) if isinstance(path[-1], int) else 0]
    place, size = line.place(1), line.part.stock.size_mm[axis]
    low, high = AXIS_FACES[axis]
    if place is None:
        return Arrow(", in from the edges")
    edge, at_mm = (low, 0.0) if place[axis] < size / 2 else (high, size)
    words = f" 1, in from the {END_WORDS[edge]}"
    return Arrow(words, "along", axis, moved(place, axis, at_mm), place, edge)


def _round(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    if path[1] == "centre":
        return _coordinate(line, one, path[2:], line.middle, ", its middle")
    first = line.members[0].centre_mm
    if path[1] == "chord":
        return straight(f", {SIZE_WORDS['chord']}", line.place(1), line.place(2))
    words = f", {SIZE_WORDS[str(path[0])]}, {SIZE_WORDS[str(path[1])]}"
    if line.middle is None:
        return Arrow(words)
    kind: Kind = "diameter" if path[1] == "diameter" else "straight"
    return Arrow(words, kind, None, line.middle, first)


def _polar(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    end = line.members[0].centre_mm
    a, b = plane_axes(line.face)
    for hole in line.part.holes:
        start = hole.centre_mm
        if FACE_AXIS[hole.face] == FACE_AXIS[line.face]:
            apart = ((end[a] - start[a]) ** 2 + (end[b] - start[b]) ** 2) ** 0.5
            if abs(apart - one.length_mm) < _SAME_MM:
                return Arrow(f", from {hole.name}", "straight", None, start, end, "hole")
    return Arrow(f", {SIZE_WORDS['polar']}")


def straight(words: str, start: Point | None, end: Point | None) -> Arrow:
    if start is None or end is None:
        return Arrow(words)
    return Arrow(words, "straight", None, start, end)


def _coordinate(
    line: HoleLine, one: StatedLength, tail: Path, place: Point | None, who: str = ""
) -> Arrow:
    """One distance of a point, from whatever it is counted from."""
    name = tail[-1] if isinstance(tail[-1], str) else None
    axis = plane_axes(line.face)[int(tail[0])] if name is None else AXIS_OF_NAME[name]
    if place is None:
        return Arrow(f"{who}, {BLANK_WORDS[axis]}")
    starts_at, start = _origin(line, axis, name, one.length_mm, place)
    is_nought = abs(one.length_mm) < _SAME_MM
    if starts_at in END_WORDS:
        words = f"{'on' if is_nought else 'from'} the {END_WORDS[starts_at]}"
    else:
        words = f"{BLANK_WORDS[axis]}{f' from {starts_at}' if starts_at else ''}"
        starts_at = "hole"
    return Arrow(f"{who}, {words}", "along", axis, start, place, starts_at)


def _origin(
    line: HoleLine, axis: int, name: str | None, length_mm: float, place: Point
) -> tuple[str, Point]:
    """What a coordinate is counted from: an end, "centre", or the name of a hole; and the point
    there, beside the place. In an opposite hand sides have changed, and are found by the length."""
    part = line.part
    named = "centre" if name is not None and name.startswith("centre") else name
    asked = named or part.datum[axis]
    tries: list[str] = [] if line.base and named is None else [asked]
    if named in OPPOSITE:
        tries.append(OPPOSITE[named])
    for end in tries:
        at_mm = end_at_mm(part, axis, end)
        way = place[axis] - at_mm
        signed = -way if end in HIGH_FACES else way
        is_turned = part.is_opposite_hand and end == "centre"
        if abs(signed - length_mm) < _SAME_MM or (is_turned and abs(signed + length_mm) < _SAME_MM):
            return end, moved(place, axis, at_mm)
    sense = -1.0 if part.datum[axis] in HIGH_FACES else 1.0
    for way in (sense, -sense):
        at_mm = place[axis] - way * length_mm
        at_hand = [
            hole
            for hole in part.holes
            if FACE_AXIS[hole.face] == FACE_AXIS[line.face]
            and (not line.base or line.base.casefold() == hole.name.casefold())
            and abs(hole.centre_mm[axis] - at_mm) < _SAME_MM
        ]
        if at_hand:
            nearest = min(at_hand, key=lambda hole: math.dist(hole.centre_mm, place))
            return nearest.name, nearest.centre_mm
    return "", moved(place, axis, place[axis] - sense * length_mm)


def end_at_mm(part: Part, axis: int, end: str) -> float:
    size = part.stock.size_mm[axis]
    return size / 2 if end == "centre" else size if end in HIGH_FACES else 0.0


def moved(place: Point, axis: int, at_mm: float) -> Point:
    moved = list(place)
    moved[axis] = at_mm
    return moved[0], moved[1], moved[2]


def sized(line: HoleLine, one: StatedLength, path: Path) -> Arrow:
    return Arrow(size_words(path))


def size_words(path: Sequence[str | int]) -> str:
    words = [SIZE_WORDS.get(str(key), "") for key in path if isinstance(key, str)]
    return ", ".join(["", *filter(None, words)])


_PLACED: dict[str, Callable[[HoleLine, StatedLength, Path], Arrow]] = {
    "at": _at, "chain": _chain, "row": _row, "grid": _row, "corners": _corners,
    "circle": _round, "arc": _round, "polar": _polar,
}  # fmt: skip
