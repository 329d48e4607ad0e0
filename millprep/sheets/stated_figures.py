"""The figures that a part file states, in drawing order: each as typed, in words, and between what.

Where a length begins is found from where its hole came to lie, so that it is drawn from the edge,
centre line or hole that the file counts from. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Literal

from millprep.base.records import frozen, replace
from millprep.infiles.points import AXIS_OF_NAME
from millprep.model.part import (
    AXIS_FACES,
    FACE_AXIS,
    HIGH_FACES,
    OPPOSITE,
    Dimension,
    Face,
    Hole,
    Part,
    Point,
    StatedLength,
    plane_axes,
)
from millprep.sheets.drawn_patterns import circle_through
from millprep.sheets.elevations import line_of

_SAME_MM = 1e-3
Kind = Literal["along", "straight", "diameter", "size"]
Path = tuple[str | int, ...]

END_WORDS: dict[str, str] = {
    "left": "left end", "right": "right end", "front": "front", "back": "back",
    "bottom": "bottom", "top": "top", "centre": "centre line",
}  # fmt: skip
SIZE_WORDS: dict[str, str] = {
    "drill": "drill", "tap": "tap", "ream": "ream", "clear": "clear", "bore": "bore",
    "diameter": "diameter", "radius": "radius", "chord": "from hole to hole", "depth": "deep",
    "drill_depth": "drilled to", "pitch": "pitch", "counterbore": "counterbore",
    "countersink": "countersink", "spotface": "spotface", "opened": "opened out",
    "far": "on the other end", "tolerance": "may be off by", "position": "within a circle of",
    "breakthrough": "drilled past the far side by", "peck": "clear chips after",
    "limits": "limits of size", "drills": "drills in turn", "circle": "pitch circle",
    "arc": "pitch circle", "polar": "at a distance", "general_tolerance": "holes may be off by",
    "pattern_from": "the holes of another piece", "middle": "middle", "length": "thickness",
}  # fmt: skip
BLANK_WORDS = ("left to right", "front to back", "bottom to top")
_PLACING = ("at", "circle", "arc", "row", "grid", "corners", "chain", "polar", "pattern_from")


@frozen
class StatedFigure:
    """One figure of a part file.

    line   : the [[hole]] or [[dimension]] that it stands in, from 0; None at the top of the file
    key    : dotted, inside that table ("at.left", "size.0"); words : "pivot, from the left end"
    text   : as typed; face : of the view that shows it
    kind   : of a length drawn along a part axis, straight between two points, of a circle (its
             middle, and a point on it), or of a size that no arrow shows
    along  : part axis; start, end : in part axes [mm]; starts_at : one of `END_WORDS`, "hole", or
             "" where both ends are alike
    """

    table: str
    line: int | None
    key: str
    words: str
    text: str
    face: Face | None = None
    kind: Kind = "size"
    along: int | None = None
    start: Point | None = None
    end: Point | None = None
    starts_at: str = ""


@frozen
class _Arrow:
    """What a figure says, and between what it is drawn."""

    words: str
    kind: Kind = "size"
    along: int | None = None
    start: Point | None = None
    end: Point | None = None
    starts_at: str = ""


@frozen
class _Line:
    """A [[hole]] table: what is measured in it."""

    part: Part
    members: tuple[Hole, ...]

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


def stated_figures(part: Part) -> tuple[StatedFigure, ...]:
    """Every length that the file states, in drawing order: the blank, then line by line where it
    lies before what it is, then what else the plan says."""
    holes: dict[int, list[Hole]] = {}
    for hole in part.holes:
        if not hole.file:
            holes.setdefault(line_of(hole), []).append(hole)
    lines = {number: _Line(part, tuple(members)) for number, members in holes.items()}
    found = [one for stated in part.stated for one in _figures(part, lines, stated)]
    order = ("part", "stock", "hole", "dimension")
    return tuple(
        sorted(
            found,
            key=lambda one: (
                order.index(one.table),
                one.line or 0,
                one.key.partition(".")[0] not in _PLACING,
            ),
        )
    )


def _figures(part: Part, lines: dict[int, _Line], one: StatedLength) -> Iterator[StatedFigure]:
    table, *rest = one.path
    index = rest[0] if rest else None
    if table == "general_tolerance":
        yield StatedFigure("part", None, table, SIZE_WORDS[table], one.text)
    elif table == "stock":
        yield from _of_blank(part, one, tuple(rest))
    elif table == "hole" and isinstance(index, int) and index in lines:
        line, path = lines[index], tuple(rest[1:])
        arrow = _PLACED.get(str(path[0]), _size)(line, one, path)
        arrow = replace(arrow, words=f"{line.members[0].group}{arrow.words}")
        yield _figure("hole", index, path, one, line.face, arrow)
    elif table == "dimension" and isinstance(index, int):
        for given in part.dimensions:
            if given.key == f"dimension[{index + 1}]":
                face, arrow = _between(part, given, str(rest[1]))
                yield _figure("dimension", index, tuple(rest[1:]), one, face, arrow)


def _figure(
    table: str, line: int | None, path: Path, one: StatedLength, face: Face | None, arrow: _Arrow
) -> StatedFigure:
    return StatedFigure(
        table,
        line,
        ".".join(map(str, path)),
        arrow.words,
        one.text,
        face,
        arrow.kind,
        arrow.along,
        arrow.start,
        arrow.end,
        arrow.starts_at,
    )


# the blank


_ROUND_END: tuple[Face, Face, Face] = ("right", "back", "top")  # of a disc along x, y, z


def _of_blank(part: Part, one: StatedLength, path: Path) -> Iterator[StatedFigure]:
    stock, is_measured, key = part.stock, path[0] == "measured", path[-1]
    said = ", as it really measures" if is_measured else ""
    if isinstance(key, int) or key in "xyz":
        axis = key if isinstance(key, int) else "xyz".index(key)
        words = BLANK_WORDS[axis] + said
    elif stock.axis is not None and key in ("diameter", "length", "bore"):
        across = plane_axes(_ROUND_END[stock.axis])[0]
        axis = stock.axis if key == "length" else across
        words = f"{SIZE_WORDS[key]}{said}"
    else:
        return
    face: Face = "top" if axis == 1 else "front"
    x, y, z = stock.size_mm
    if key == "bore":
        assert stock.axis is not None
        arrow = _Arrow(words, "diameter", None, (x / 2, y / 2, z / 2))
        yield _figure("stock", None, path, one, _ROUND_END[stock.axis], arrow)
    elif is_measured:
        yield _figure("stock", None, path, one, face, _Arrow(words))
    else:
        start = 0.0, 0.0, 0.0
        end = _moved(start, axis, stock.size_mm[axis])
        yield _figure("stock", None, path, one, face, _Arrow(words, "along", axis, start, end))


# where holes lie


def _at(line: _Line, one: StatedLength, path: Path) -> _Arrow:
    if line.is_single:
        return _coordinate(line, one, path[1:], line.place(1))
    number = int(path[1]) + 1
    return _coordinate(line, one, path[2:], line.place(number), f" {number}")


def _chain(line: _Line, one: StatedLength, path: Path) -> _Arrow:
    number = int(path[1]) + 1
    if number == 1:
        return _coordinate(line, one, path[2:], line.place(1), " 1")
    axis = plane_axes(line.face)[int(path[2])]
    start, end = line.place(number - 1), line.place(number)
    return _step(f" {number}, from the one before", axis, start, end)


def _row(line: _Line, one: StatedLength, path: Path) -> _Arrow:
    if path[1] == "start":
        return _coordinate(line, one, path[2:], line.place(1), " 1")
    if path[1] == "end":
        last = max(line.members, key=lambda hole: hole.member or 0)
        return _coordinate(line, one, path[2:], last.centre_mm, ", the last")
    axis = plane_axes(line.face)[int(path[2])]
    for start, end in _pairs(line, axis, one.length_mm, is_grid=path[0] == "grid"):
        return _step(f", one to the next {BLANK_WORDS[axis]}", axis, start, end)
    return _Arrow(f", one to the next {BLANK_WORDS[axis]}")


def _pairs(
    line: _Line, axis: int, length_mm: float, *, is_grid: bool
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


def _step(words: str, axis: int, start: Point | None, end: Point | None) -> _Arrow:
    if start is None or end is None:
        return _Arrow(words)
    return _Arrow(words, "along", axis, start, end)


def _corners(line: _Line, one: StatedLength, path: Path) -> _Arrow:
    axis = plane_axes(line.face)[int(path[-1]) if isinstance(path[-1], int) else 0]
    place, size = line.place(1), line.part.stock.size_mm[axis]
    low, high = AXIS_FACES[axis]
    if place is None:
        return _Arrow(", in from the edges")
    edge, at_mm = (low, 0.0) if place[axis] < size / 2 else (high, size)
    words = f" 1, in from the {END_WORDS[edge]}"
    return _Arrow(words, "along", axis, _moved(place, axis, at_mm), place, edge)


def _round(line: _Line, one: StatedLength, path: Path) -> _Arrow:
    if path[1] == "centre":
        return _coordinate(line, one, path[2:], line.middle, ", its middle")
    first = line.members[0].centre_mm
    if path[1] == "chord":
        return _straight(f", {SIZE_WORDS['chord']}", line.place(1), line.place(2))
    words = f", {SIZE_WORDS[str(path[0])]}, {SIZE_WORDS[str(path[1])]}"
    if line.middle is None:
        return _Arrow(words)
    kind: Kind = "diameter" if path[1] == "diameter" else "straight"
    return _Arrow(words, kind, None, line.middle, first)


def _polar(line: _Line, one: StatedLength, path: Path) -> _Arrow:
    end = line.members[0].centre_mm
    a, b = plane_axes(line.face)
    for hole in line.part.holes:
        start = hole.centre_mm
        if FACE_AXIS[hole.face] == FACE_AXIS[line.face]:
            apart = ((end[a] - start[a]) ** 2 + (end[b] - start[b]) ** 2) ** 0.5
            if abs(apart - one.length_mm) < _SAME_MM:
                return _Arrow(f", from {hole.name}", "straight", None, start, end, "hole")
    return _Arrow(f", {SIZE_WORDS['polar']}")


def _straight(words: str, start: Point | None, end: Point | None) -> _Arrow:
    if start is None or end is None:
        return _Arrow(words)
    return _Arrow(words, "straight", None, start, end)


def _coordinate(
    line: _Line, one: StatedLength, tail: Path, place: Point | None, who: str = ""
) -> _Arrow:
    """One distance of a point, from whatever it is counted from."""
    name = tail[-1] if isinstance(tail[-1], str) else None
    axis = plane_axes(line.face)[int(tail[0])] if name is None else AXIS_OF_NAME[name]
    if place is None:
        return _Arrow(f"{who}, {BLANK_WORDS[axis]}")
    starts_at, start = _origin(line.part, line.face, axis, name, one.length_mm, place)
    is_nought = abs(one.length_mm) < _SAME_MM
    if starts_at in END_WORDS:
        words = f"{'on' if is_nought else 'from'} the {END_WORDS[starts_at]}"
    else:
        words = f"{BLANK_WORDS[axis]}{f' from {starts_at}' if starts_at else ''}"
        starts_at = "hole"
    return _Arrow(f"{who}, {words}", "along", axis, start, place, starts_at)


def _origin(
    part: Part, face: Face, axis: int, name: str | None, length_mm: float, place: Point
) -> tuple[str, Point]:
    """What a coordinate is counted from: an end, "centre", or the name of a hole; and the point
    there, beside the place. In an opposite hand sides have changed, and are found by the length."""
    named = "centre" if name is not None and name.startswith("centre") else name
    asked = named or part.datum[axis]
    tries = [asked, *([OPPOSITE[asked]] if named in OPPOSITE else [])]  # type: ignore[index]
    for end in tries:
        at_mm = _end_at(part, axis, end)
        way = place[axis] - at_mm
        signed = -way if end in HIGH_FACES else way
        is_turned = part.is_opposite_hand and end == "centre"
        if abs(signed - length_mm) < _SAME_MM or (is_turned and abs(signed + length_mm) < _SAME_MM):
            return end, _moved(place, axis, at_mm)
    sense = -1.0 if part.datum[axis] in HIGH_FACES else 1.0
    for way in (sense, -sense):
        at_mm = place[axis] - way * length_mm
        at_hand = [
            hole
            for hole in part.holes
            if FACE_AXIS[hole.face] == FACE_AXIS[face]
            and abs(hole.centre_mm[axis] - at_mm) < _SAME_MM
        ]
        if at_hand:
            nearest = min(at_hand, key=lambda hole: math.dist(hole.centre_mm, place))
            return nearest.name, nearest.centre_mm
    return "", _moved(place, axis, place[axis] - sense * length_mm)


def _end_at(part: Part, axis: int, end: str) -> float:
    size = part.stock.size_mm[axis]
    return size / 2 if end == "centre" else size if end in HIGH_FACES else 0.0


def _moved(place: Point, axis: int, at_mm: float) -> Point:
    moved = list(place)
    moved[axis] = at_mm
    return moved[0], moved[1], moved[2]


# what else there is


def _size(line: _Line, one: StatedLength, path: Path) -> _Arrow:
    words = [SIZE_WORDS.get(str(key), "") for key in path if isinstance(key, str)]
    return _Arrow(", ".join(["", *filter(None, words)]))


def _between(part: Part, given: Dimension, key: str) -> tuple[Face | None, _Arrow]:
    """A dimension of the plan between two things that are placed by others."""
    ends = [_thing(part, name) for name in given.between]
    words = " to ".join(_end_words(name) for name in given.between)
    faces = [face for face, _ in ends if face is not None]
    face: Face = faces[0] if faces else "top"
    if key != "is":
        return face, _Arrow(f"{words}, {SIZE_WORDS.get(key, key)}")
    (_, start), (_, end) = ends
    if (start is None and end is None) or given.along is None:
        return face, _straight(words, start, end)
    assert given.along is not None
    if start is None:
        assert end is not None
        start = _moved(end, given.along, end[given.along] - given.placed_mm)
    elif end is None:
        end = _moved(start, given.along, start[given.along] + given.placed_mm)
    return face, _Arrow(words, "along", given.along, start, end)


def _end_words(name: str) -> str:
    return END_WORDS.get("centre" if name.startswith("centre_") else name, name)


def _thing(part: Part, name: str) -> tuple[Face | None, Point | None]:
    """The face and the place of a hole or the middle of a pattern; None of a face."""
    holes = [hole for hole in part.holes if name in (hole.name, hole.group)]
    if not holes:
        return None, None
    x, y, z = (sum(hole.centre_mm[axis] for hole in holes) / len(holes) for axis in range(3))
    return holes[0].face, (x, y, z)


_PLACED: dict[str, Callable[[_Line, StatedLength, Path], _Arrow]] = {
    "at": _at, "chain": _chain, "row": _row, "grid": _row, "corners": _corners,
    "circle": _round, "arc": _round, "polar": _polar,
}  # fmt: skip
