"""Patterns: circle, arc, row, grid, corners and chain, as centres in part axes.

Members come in the order that a drawing would number them. The same expansion feeds every sheet, so
no witness can catch a slip in it: tests hold it to handbook coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from millprep.base.bounds import MOST_HOLES
from millprep.base.findings import WordError
from millprep.infiles.part_schema import Arc, Circle, HoleTable
from millprep.infiles.points import OnFace, PointWords
from millprep.infiles.wording import given_words
from millprep.model.part import Point

WHERE_KEYS = ("at", "circle", "arc", "row", "grid", "corners", "chain", "polar", "pattern_from")
_CORNERS = ((-1, -1), (1, -1), (1, 1), (-1, 1))  # from the lower left, anticlockwise


def centres(table: HoleTable, key: str, on_face: OnFace) -> list[Point]:
    """The members' centres (x, y, z) [mm] for the pattern that `key` of the table holds.

    Raises WordError for faces that are not at hand and for figures that contradict each other.
    """
    return _PATTERNS[key](table, on_face)


def _at(table: HoleTable, on_face: OnFace) -> list[Point]:
    assert table.at is not None
    if not table.at.is_list:
        return [on_face.point(table.at.points[0])]
    return [_member(index, words, on_face) for index, words in enumerate(table.at.points)]


def _member(index: int, words: PointWords, on_face: OnFace) -> Point:
    """A point of a list; a fault says which."""
    try:
        return on_face.point(words)
    except WordError as error:
        error.inside = (index,)
        raise


def _circle(table: HoleTable, on_face: OnFace) -> list[Point]:
    circle = table.circle
    assert circle is not None
    return _turned(circle, (-360 if circle.clockwise else 360) / circle.count, on_face)


def _arc(table: HoleTable, on_face: OnFace) -> list[Point]:
    arc = table.arc
    assert arc is not None
    if arc.start == arc.end:
        raise WordError("the arc ends where it starts", "give two angles, or use circle")
    if abs(arc.end - arc.start) >= 360:
        raise WordError("the arc is a whole turn or more", "use circle, or a smaller end angle")
    return _turned(arc, (arc.end - arc.start) / (arc.count - 1), on_face)


def _turned(pattern: Circle | Arc, step_deg: float, on_face: OnFace) -> list[Point]:
    radius, centre = _radius(pattern), _centre(pattern, on_face)
    return [
        on_face.turned(centre, radius, pattern.start + number * step_deg)
        for number in range(pattern.count)
    ]


def _row(table: HoleTable, on_face: OnFace) -> list[Point]:
    row = table.row
    assert row is not None
    start = on_face.point(row.start)
    if row.step == (0, 0):
        raise WordError("a step of 0 puts holes on top of each other", "give a step other than 0")
    if row.step is not None and row.end is None:
        return [on_face.stepped(start, row.step, number) for number in range(row.count)]
    if row.end is not None and row.step is None:
        end = on_face.point(row.end)
        if end == start:
            raise WordError("the row ends where it starts", "give two different points")
        return [_between(start, end, number / (row.count - 1)) for number in range(row.count)]
    raise WordError(
        "a row has a step or an end", "give one of the two: step = [10, 0] or end = [60, 12]"
    )


def _grid(table: HoleTable, on_face: OnFace) -> list[Point]:
    grid = table.grid
    assert grid is not None
    if grid.columns * grid.rows > MOST_HOLES:
        what = f"{grid.columns} by {grid.rows} holes are too many"
        raise WordError(what, f"a part has at most {MOST_HOLES}")
    start, (along, across) = on_face.point(grid.start), grid.step
    if (along == 0 and grid.columns > 1) or (across == 0 and grid.rows > 1):
        raise WordError("a step of 0 puts holes on top of each other", "give steps other than 0")
    return [
        on_face.stepped(start, (along * column, across * row))
        for row in range(grid.rows)
        for column in range(grid.columns)
    ]


def _corners(table: HoleTable, on_face: OnFace) -> list[Point]:
    corners = table.corners
    assert corners is not None
    return [on_face.corner(right, up, corners.inset) for right, up in _CORNERS]


def _chain(table: HoleTable, on_face: OnFace) -> list[Point]:
    first, *links = table.chain or ()
    members = [_member(0, first, on_face)]
    for index, link in enumerate(links, 1):
        if link.first.name is not None or link.second.name is not None:
            message = "a link of the chain names a face"
            raise WordError(message, "links are steps from the hole before: [20, 0]", (index,))
        steps = link.first.distance_mm, link.second.distance_mm
        members.append(on_face.stepped(members[-1], steps))
    return members


def _polar(table: HoleTable, on_face: OnFace) -> list[Point]:
    polar, origin = table.polar, on_face.origin_mm
    assert polar is not None
    if origin is None:
        raise WordError("polar needs a hole to count from", 'add from = "name of a hole"')
    return [on_face.turned(origin, polar.radius, polar.angle)]


_PATTERNS: dict[str, Callable[[HoleTable, OnFace], list[Point]]] = {
    "at": _at,
    "circle": _circle,
    "arc": _arc,
    "row": _row,
    "grid": _grid,
    "corners": _corners,
    "chain": _chain,
    "polar": _polar,
}


def _centre(pattern: Circle | Arc, on_face: OnFace) -> Point:
    if pattern.centre is not None:
        return on_face.point(pattern.centre)
    if on_face.origin_mm is not None:
        return on_face.origin_mm
    raise WordError("the centre is missing", 'give centre = [a, b], or from = "name of a hole"')


def _radius(pattern: Circle | Arc) -> float:
    given = pattern.given("diameter", "radius", "chord")
    if len(given) != 1:
        is_circle = isinstance(pattern, Circle)
        choices = "diameter, radius or chord" if is_circle else "diameter or radius"
        raise WordError(given_words(given, "its size is missing"), f"give one of {choices}")
    if pattern.diameter is not None:
        return pattern.diameter / 2
    if pattern.radius is not None:
        return pattern.radius
    assert isinstance(pattern, Circle) and pattern.chord is not None
    return pattern.chord / 2 / math.sin(math.pi / pattern.count)


def _between(start: Point, end: Point, share: float) -> Point:
    x, y, z = (a + (b - a) * share for a, b in zip(start, end, strict=True))
    return x, y, z
