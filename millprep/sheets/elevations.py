"""The part by its own faces, as a plan shows it: which are drawn, where each stands, what is seen.

A place on a view is (to the right, up) in millimetres from the lower left corner of the face, as
one looks square at it. Imports layers 0 to 3 and its neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from millprep.base.records import frozen
from millprep.infiles.points import VIEW
from millprep.model.part import (
    AXIS_FACES,
    FACE_AXIS,
    FACES,
    HIGH_FACES,
    OPPOSITE,
    Face,
    Hole,
    Part,
    Point,
    Stock,
)
from millprep.model.shop import Projection
from millprep.sheets.sights import sections_of
from millprep.sheets.view import letter_of, rings_of

Place = tuple[float, float]
Ink = Literal["edge", "thin", "thread", "hidden", "ghost", "centre"]
Seen = Literal["open", "through", "ghost", "aside"]

TITLES: dict[Face, str] = {
    "front": "front elevation",
    "top": "plan",
    "left": "left-hand end",
    "right": "right-hand end",
    "back": "back elevation",
    "bottom": "from below (rolled over towards you)",
}
_STANDS: dict[Projection, dict[Face, tuple[int, int]]] = {  # (row, column); ISO 128-30, from memory
    "first": {
        "bottom": (1, 2),
        "right": (2, 1),
        "front": (2, 2),
        "left": (2, 3),
        "back": (2, 4),
        "top": (3, 2),
    },
    "third": {
        "top": (1, 2),
        "left": (2, 1),
        "front": (2, 2),
        "right": (2, 3),
        "back": (2, 4),
        "bottom": (3, 2),
    },
}
_AT_THE_RIGHT: dict[Projection, Face] = {"first": "left", "third": "right"}


@frozen
class Line:
    """A straight line of a hole, from its centre [mm right, mm up]."""

    start: Place
    end: Place
    ink: Ink


@frozen
class Shape:
    """What is drawn of a hole, from its centre: circles (radius [mm], ink), and lines."""

    rings: tuple[tuple[float, Ink], ...] = ()
    lines: tuple[Line, ...] = ()


@frozen
class HoleOnView:
    """A hole as a view shows it.

    line : its table in the file, from 0, of an opposite hand in the original's; is_own : in its own
    letter : of that table
    seen : it opens on this face, comes through to it, is blind from behind, or lies across
    """

    name: str
    group: str
    line: int
    letter: str
    at: Place
    radius_mm: float
    seen: Seen
    shape: Shape
    is_own: bool = False


@frozen
class Elevation:
    """One view: the face looked at, its size [mm right, mm up], where it stands on the sheet.

    edges : the faces at its left, below, right and above; axes : part axes to the right and up
    is_round, bore_mm : of a disc seen on its end; bore_lines : of one seen from its side
    """

    face: Face
    title: str
    row: int
    column: int
    size_mm: Place
    stock: Stock
    edges: tuple[Face, Face, Face, Face]
    is_round: bool
    bore_mm: float | None
    bore_lines: tuple[Line, ...]
    holes: tuple[HoleOnView, ...]

    @property
    def axes(self) -> tuple[int, int]:
        (right, _), (up, _) = VIEW[self.face]
        return right, up


def elevations_of(part: Part, projection: Projection = "first") -> tuple[Elevation, ...]:
    """The views of a part, each with its row and column on the sheet, from 1, by rows."""
    stands = _STANDS[projection]
    faces = sorted(faces_shown(part, projection), key=lambda face: stands[face])
    rows = sorted({stands[face][0] for face in faces})
    columns = sorted({stands[face][1] for face in faces})
    return tuple(
        _elevation(part, face, rows.index(row) + 1, columns.index(column) + 1)
        for face in faces
        for row, column in (stands[face],)
    )


def faces_shown(part: Part, projection: Projection) -> set[Face]:
    """Those that have holes, and what the usual views ask for: of a disc its end and one side."""
    worked = {face for hole in part.holes for face in hole.worked_from}
    axis = part.stock.axis
    usual: tuple[Face, ...]
    if axis is None:
        has_end = not worked.isdisjoint(("left", "right"))
        usual = ("front", "top") if has_end else ("front", "top", _AT_THE_RIGHT[projection])
    elif axis == 0:
        has_end = not worked.isdisjoint(("left", "right"))
        usual = ("front",) if has_end else ("front", _AT_THE_RIGHT[projection])
    else:
        usual = ("front", "top")
    return {face for face in FACES if face in worked or face in usual}


def on_view(face: Face, stock: Stock, point: Point) -> Place:
    """Where a point in part axes comes on the view of a face."""
    (right, right_sign), (up, up_sign) = VIEW[face]
    return (
        point[right] if right_sign > 0 else stock.size_mm[right] - point[right],
        point[up] if up_sign > 0 else stock.size_mm[up] - point[up],
    )


def edges_of(face: Face) -> tuple[Face, Face, Face, Face]:
    """The faces at the left of a view, below it, at its right and above it."""
    low: list[Face] = []
    high: list[Face] = []
    for axis, sign in VIEW[face]:
        first, last = AXIS_FACES[axis][:: 1 if sign > 0 else -1]
        low.append(first)
        high.append(last)
    return low[0], low[1], high[0], high[1]


def line_of(hole: Hole) -> int:
    """Its [[hole]] table, from 0, in the file where it is written; -1 where no file says it."""
    number = hole.key.partition("[")[2].partition("]")[0]
    return int(number) - 1 if number.isdigit() else -1


def letters_of(part: Part) -> dict[str, str]:
    """A letter for each line of the hole schedule, by the name of the hole or pattern: by the order
    of the file, and after them those of an opposite hand's own."""
    lines = [line_of(hole) for hole in part.holes if not hole.file]
    own_from = max(lines, default=-1) + 1
    return {
        hole.group: letter_of(line_of(hole) + (own_from if hole.file else 0)) for hole in part.holes
    }


def _elevation(part: Part, face: Face, row: int, column: int) -> Elevation:
    stock = part.stock
    (right, _), (up, _) = VIEW[face]
    size = stock.size_mm[right], stock.size_mm[up]
    is_round = stock.axis == FACE_AXIS[face]
    aside = () if is_round or stock.bore_mm is None else tuple(_bored(stock, size, right))
    return Elevation(
        face,
        TITLES[face],
        row,
        column,
        size,
        stock,
        edges_of(face),
        is_round,
        stock.bore_mm if is_round else None,
        aside,
        tuple(_holes(part, face)),
    )


def _bored(stock: Stock, size: Place, right: int) -> Iterator[Line]:
    """The bore of a disc seen from its side."""
    assert stock.bore_mm is not None
    (across, up), radius = size, stock.bore_mm / 2
    for aside in (-radius, radius):
        if stock.axis == right:
            yield Line((0.0, up / 2 + aside), (across, up / 2 + aside), "hidden")
        else:
            yield Line((across / 2 + aside, 0.0), (across / 2 + aside, up), "hidden")


def _holes(part: Part, face: Face) -> Iterator[HoleOnView]:
    """All holes; of those across whose lines would fall on each other the first of its table."""
    letters = letters_of(part)
    shapes: dict[object, Shape] = {}
    drawn: set[object] = set()
    for hole in part.holes:
        seen = _seen(hole, face)
        at = on_view(face, part.stock, hole.centre_mm)
        kind = (hole.group, hole.face, hole.depth_mm, seen)
        shape = shapes.get(kind)
        if shape is None:
            shape = shapes[kind] = _shape(hole, face, seen)
        place = (kind, round(at[0], 3), round(at[1], 3))
        if seen == "aside" and place in drawn:
            shape = Shape()
        drawn.add(place)
        yield HoleOnView(
            hole.name,
            hole.group,
            line_of(hole),
            letters[hole.group],
            at,
            hole.diameter_mm / 2,
            seen,
            shape,
            bool(hole.file),
        )


def _seen(hole: Hole, face: Face) -> Seen:
    if hole.face == face:
        return "open"
    if hole.face == OPPOSITE[face]:
        return "through" if hole.is_through else "ghost"
    return "aside"


def _shape(hole: Hole, face: Face, seen: Seen) -> Shape:
    if seen == "aside":
        return Shape(lines=tuple(_lengthwise(hole, face)))
    if seen == "ghost":
        radii = sorted({round(ring.radius_mm, 6) for ring in rings_of(hole, is_own_face=True)})
        return Shape(tuple((radius, "ghost") for radius in radii))
    rings = rings_of(hole, is_own_face=seen == "open")
    return Shape(tuple((ring.radius_mm, ring.style) for ring in rings))


def _lengthwise(hole: Hole, face: Face) -> Iterator[Line]:
    """The outline of a hole that lies across the view, from the middle of its mouth inwards."""
    inward = -1.0 if hole.face in HIGH_FACES else 1.0
    (right, right_sign), (_, up_sign) = VIEW[face]
    is_level = FACE_AXIS[hole.face] == right
    inward *= right_sign if is_level else up_sign

    def at(deep: float, aside: float) -> Place:
        return (inward * deep, aside) if is_level else (aside, inward * deep)

    deepest = 0.0
    for one in sections_of(hole):
        deepest = max(deepest, one.bottom_mm)
        for side in (-1.0, 1.0):
            start = at(one.top_mm, side * one.top_radius_mm)
            yield Line(start, at(one.bottom_mm, side * one.bottom_radius_mm), "hidden")
        if one.has_end:
            ends = (at(one.bottom_mm, side * one.bottom_radius_mm) for side in (-1.0, 1.0))
            yield Line(next(ends), next(ends), "hidden")
    yield Line(at(0.0, 0.0), at(deepest, 0.0), "centre")
