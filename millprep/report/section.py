"""Sections through what is left: hatched, to scale, with how deep each step has gone.

                 A-A  column screw 1
        ////|  |////----- counterbore 10, 5.5 deep      seen from the front: X to the right
        /////||/////
        /////\\/////----- drill 5.5, tip 12.652 deep

Draws with any pen. Imports `section`, `views`, `labels`, `paper` and the canvas.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.canvas.hatch import hatched
from millprep.canvas.pen import Pen, Place
from millprep.canvas.recording import RecordingPen
from millprep.canvas.spread import spread
from millprep.reading.made import MadeOperation
from millprep.reading.simulate.path import Floats
from millprep.reading.simulate.section import Section, section_of
from millprep.reading.simulate.solid import TOUCH_MM, bottom_at, top_at
from millprep.report.drawn import scale_words
from millprep.report.labels import SMALL_MM, draw_marks
from millprep.report.made import milled_name
from millprep.report.paper import (
    EDGE_MM,
    GAP_MM,
    HEAD_MM,
    LETTERS_MM,
    PAGE_MM,
    draw_head,
    fitting,
    shortened,
)
from millprep.report.views import HoleAt, Scaled, Shown, Spots, View, Window

Room = tuple[float, float, float, float]
"""Left, low, width, height."""
A_SHEET = 4
_SIDE = View("section", "section", 0, 2)
_WORDS_MM, _LINE_MM, _HATCH_MM = 52.0, 3.6, 2.0
_WALLS, _WALL_MM, _ABOUT_MM = 0.8, 2.0, 15.0  # of a hole, beside it, over its width; of a place
_BELOW, _BELOW_MM = 0.25, 2.0
_STEP_MM = 0.05  # on paper
_ZIGZAG_MM, _THICK_MM, _ARROW_MM = 1.5, 2.5, 3.0
_LIMIT = 1e-6


def letter_of(number: int) -> str:
    """A, B ... without I and O; then AA."""
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    return letters[number % len(letters)] * (1 + number // len(letters))


def draw_sections(pen: Pen, shown: Shown, first: int, places: Spots) -> None:
    """A sheet of up to `A_SHEET` of them, from a number on."""
    draw_head(
        pen, f"SECTIONS   {shown.title}", "seen from the front; depths from the top of the stock"
    )
    wide = (PAGE_MM[0] - 2 * EDGE_MM - GAP_MM) / 2
    high = (PAGE_MM[1] - 2 * EDGE_MM - HEAD_MM - GAP_MM) / 2
    for number in range(min(A_SHEET, len(shown.sections) - first)):
        left = EDGE_MM + (number % 2) * (wide + GAP_MM)
        low = EDGE_MM + (1 - number // 2) * (high + GAP_MM)
        draw_section(pen, shown, first + number, (left, low, wide, high), places)


def section_height_mm(shown: Shown, number: int, room: tuple[float, float]) -> float:
    """How high a section gets in a room so wide and so high, where it need not be to scale."""
    window = _window(shown, shown.sections[number])
    wide, high = _free(*room)
    return min(high, wide * window.size(2) / window.size(0)) + room[1] - high


def _free(wide: float, high: float) -> tuple[float, float]:
    """What the drawing itself may take of a room."""
    return wide - _WORDS_MM - 2 * _ZIGZAG_MM, high - 4 * LETTERS_MM - 5


def draw_section(
    pen: Pen, shown: Shown, number: int, room: Room, places: Spots, *, is_to_scale: bool = True
) -> None:
    """One section in its room, its words at the right."""
    one = shown.sections[number]
    window = _window(shown, one)
    left, low, wide, high = room
    sizes = [*zip((window.size(0), window.size(2)), _free(wide, high), strict=True)]
    scale = fitting(*sizes) if is_to_scale else min(free / size for size, free in sizes)
    corner = left + _ZIGZAG_MM, low + high - 4 * LETTERS_MM - scale * window.size(2)
    field = Scaled(_SIDE, window, corner, scale)
    assert shown.scene is not None
    assert shown.record is not None
    cut = section_of(
        shown.scene,
        shown.record,
        shown.sideways,
        one.y_mm,
        (window.low[0], window.high[0]),
        max(_STEP_MM / scale, _LIMIT),
    )
    letter = letter_of(number)
    top = low + high - LETTERS_MM
    pen.text(
        (left, top), shortened(f"{letter}-{letter}  {one.words}", wide, LETTERS_MM), LETTERS_MM
    )
    pen.text(
        (left, top - 2 * SMALL_MM), _worth(shown, cut, scale if is_to_scale else None), SMALL_MM
    )
    drawn = RecordingPen()
    _draw_cut(drawn, cut, field)
    _draw_axis(drawn, field, one)
    _draw_threads(drawn, field, cut, one)
    _draw_depths(drawn, shown, field, one, left + wide)
    drawn.replay(pen)
    draw_marks(pen, field, drawn, [*_on_axis(places, one)])


def draw_cutting_line(pen: Pen, shown: Shown, plan: Scaled, number: int) -> None:
    """Where a section is cut in the plan: thick at its ends, with arrows the way one looks there
    and its letter (ISO 128-3, from memory)."""
    window, y = _window(shown, shown.sections[number]), shown.sections[number].y_mm
    start, end = (plan.at(x, y) for x in (window.low[0], window.high[0]))
    pen.line(start, end, "centre")
    for (x, at), way in ((start, -1), (end, 1)):
        pen.line((x, at), (x + way * _THICK_MM, at), "edge")
        tip = x + way * _THICK_MM
        pen.line((tip, at - _ARROW_MM), (tip, at), "thin")
        for aside in (-0.25, 0.25):
            pen.line((tip + aside * _ARROW_MM, at - _ARROW_MM / 2), (tip, at), "thin")
        letter = letter_of(number)
        pen.text((tip, at - _ARROW_MM - LETTERS_MM - 0.5), letter, LETTERS_MM, "middle")


def _worth(shown: Shown, cut: Section, scale: float | None) -> str:
    words = "" if scale is None else scale_words(scale).removesuffix("mm")
    off = figure_of(max(cut.error_mm, 0.001), shown.units)
    is_milled = any(len(one) for one in shown.sideways)
    return words + shown.units + (f"; milled walls within {off}" if is_milled else "")


def _window(shown: Shown, one: HoleAt) -> Window:
    """The hole and some of the walls beside it; all of the stock's height where it is not much."""
    assert shown.scene is not None
    stock = shown.scene.stock
    half, deepest = _ABOUT_MM, stock.low_mm[2]
    if one.hole is not None:
        radius = max(
            [(op.cone_mm or op.diameter_mm or 0.0) / 2 for op in one.hole.operations], default=0.0
        )
        half = radius * (1 + 2 * _WALLS) + _WALL_MM
        below = max(_BELOW * (stock.high_mm[2] - one.hole.bottom_mm), _BELOW_MM)
        deepest = max(deepest, one.hole.bottom_mm - below)
    low = max(one.x_mm - half, stock.low_mm[0] - _WALL_MM)
    high = min(one.x_mm + half, stock.high_mm[0] + _WALL_MM)
    return Window((low, one.y_mm, deepest), (high, one.y_mm, stock.high_mm[2]))


def _draw_cut(pen: Pen, cut: Section, field: Scaled) -> None:
    """Outlines, hatching, and the ends where the stock goes on."""
    lowest = field.window.low[2]
    bottom = min((low for solid in cut.solid for low, _ in solid), default=lowest)

    def at(corner: Place) -> Place:
        return field.at(corner[0], max(corner[1], lowest))

    for area in cut.areas():
        for start, end in hatched([*_thinned([at(one) for one in area])], _HATCH_MM):
            pen.line(start, end, "thin")
    for edge in cut.edges():
        corners = [*_thinned([at(one) for one in edge])]
        for start, end in pairwise(corners):
            if not start[1] == end[1] == field.low[1] or lowest <= bottom:
                pen.line(start, end, "edge")
    for x, solid in ((cut.x[0], cut.solid[0]), (cut.x[-1], cut.solid[-1])):
        for bottom, top in solid:
            if top > lowest:
                _break(pen, field.at(float(x), max(bottom, lowest)), field.at(float(x), top))
    for left, right in _goes_on_below(cut, lowest):
        _break(pen, field.at(left, lowest), field.at(right, lowest))


def _goes_on_below(cut: Section, lowest: float) -> Iterator[tuple[float, float]]:
    """From where to where something solid goes on below a height."""
    is_so = [any(low < lowest - _LIMIT < high for low, high in solid) for solid in cut.solid]
    turns = np.flatnonzero(np.diff([False, *is_so, False]))
    for first, last in zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True):
        yield float(cut.x[first]), float(cut.x[last - 1])


def _break(pen: Pen, start: Place, end: Place) -> None:
    """Where more follows: a thin line with a zigzag in its middle (ISO 128-2, from memory)."""
    length = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    if length < 3 * _ZIGZAG_MM:
        pen.line(start, end, "thin")
        return
    way = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    bends = [
        (length / 2 + along * _ZIGZAG_MM, aside * _ZIGZAG_MM)
        for along, aside in ((-0.5, 0.0), (-0.25, -0.7), (0.25, 0.7), (0.5, 0.0))
    ]
    corners = [
        start,
        *(
            (start[0] + along * way[0] - aside * way[1], start[1] + along * way[1] + aside * way[0])
            for along, aside in bends
        ),
        end,
    ]
    for one, other in pairwise(corners):
        pen.line(one, other, "thin")


def _thinned(corners: Sequence[Place]) -> Iterator[Place]:
    """Those at which a line turns."""
    before: Place | None = None
    for at, corner in enumerate(corners):
        after = corners[at + 1] if at + 1 < len(corners) else None
        if before is not None and after is not None:
            turn = (corner[0] - before[0]) * (after[1] - before[1]) - (corner[1] - before[1]) * (
                after[0] - before[0]
            )
            if abs(turn) <= _LIMIT * max(1.0, abs(after[0] - before[0])):
                continue
        yield corner
        before = corner


def _draw_axis(pen: Pen, field: Scaled, one: HoleAt) -> None:
    if one.hole is not None:
        x = field.at(one.x_mm, 0.0)[0]
        pen.line((x, field.high[1] + 2), (x, field.low[1] - 2), "centre")


def _draw_threads(pen: Pen, field: Scaled, cut: Section, one: HoleAt) -> None:
    """A thin line outside the core, and one across where the full thread ends (ISO 6410-1)."""
    for op in one.hole.operations if one.hole is not None else ():
        if op.name != "tap" or op.diameter_mm is None:
            continue
        end = max(op.full_mm if op.full_mm is not None else op.tip_mm, field.window.low[2])
        for side in (-1, 1):
            x = one.x_mm + side * op.diameter_mm / 2
            if not field.window.low[0] <= x <= field.window.high[0]:
                continue
            at = int(np.searchsorted(cut.x, x).clip(0, cut.x.size - 1))
            top = max((high for _, high in cut.solid[at]), default=end)
            if top > end:
                pen.line(field.at(x, top), field.at(x, end), "thin")
        pen.line(
            field.at(one.x_mm - op.diameter_mm / 2, end),
            field.at(one.x_mm + op.diameter_mm / 2, end),
            "thin",
        )


@frozen
class _Depth:
    """What is said at a height."""

    z_mm: float
    words: str


def depths_of(shown: Shown, one: HoleAt) -> list[_Depth]:
    """How deep each step has gone below the top of the stock there, from the shallowest."""
    assert shown.scene is not None
    at, stock = np.array([[one.x_mm], [one.y_mm]]), shown.scene.stock
    top, bottom = float(top_at(stock, at)[0]), float(bottom_at(stock, at)[0])
    steps = one.hole.operations if one.hole is not None else ()
    wide = max((op.diameter_mm or 0.0 for op in steps if op.cone_mm is None), default=0.0)
    found: dict[str, _Depth] = {}
    for op in steps:
        if op.cone_mm is not None and op.cone_mm <= wide + _LIMIT:
            continue  # a spot that the drill has taken away
        words = _step_words(op, top, bottom, shown.units)
        found.setdefault(words, _Depth(op.tip_mm if op.cone_mm is None else top, words))
    return sorted(found.values(), key=lambda depth: -depth.z_mm)


def _step_words(op: MadeOperation, top_mm: float, bottom_mm: float, units: Units) -> str:
    if op.cone_mm is not None:
        return f"{op.name}, {figure_of(op.cone_mm, units)} across"
    size = op.diameter_mm
    name = milled_name(op) + (
        f" {figure_of(size, units)}" if size is not None else ", size unknown"
    )
    name = f"tap {op.thread}" if op.thread else name
    full, tip = op.full_mm, figure_of(top_mm - op.tip_mm, units)
    if full is None or full <= op.tip_mm + TOUCH_MM:
        return f"{name}, {tip} deep" if op.tip_mm > bottom_mm + TOUCH_MM else f"{name}, through"
    if full <= bottom_mm + TOUCH_MM:
        return f"{name}, through, tip {tip}"
    return f"{name}, {figure_of(top_mm - full, units)} deep, tip {tip}"


def figure_of(value_mm: float, units: Units) -> str:
    """To a thousandth of a millimetre, or a ten-thousandth of an inch."""
    figure = f"{value_mm / 25.4:.4f}" if units == "inch" else f"{value_mm:.3f}"
    return figure.rstrip("0").rstrip(".")


def _draw_depths(pen: Pen, shown: Shown, field: Scaled, one: HoleAt, end_mm: float) -> None:
    """A line from each depth to its words, which end before that place."""
    depths = depths_of(shown, one)
    ends = [field.at(one.x_mm, max(depth.z_mm, field.window.low[2])) for depth in depths]
    right = field.high[0] + _ZIGZAG_MM
    words_mm = right + 2 * _ZIGZAG_MM
    told = [_in_lines(depth.words, end_mm - words_mm) for depth in depths]
    apart_mm = _LINE_MM * max(map(len, told), default=1)
    rows = spread([-y for _, y in ends], apart_mm, -field.high[1])
    for (x, y), row, lines in zip(ends, rows, told, strict=True):
        pen.line((x, y), (right, y), "thin")
        pen.line((right, y), (words_mm - 0.7, -row), "thin")
        for index, words in enumerate(lines):
            pen.text((words_mm, -row - SMALL_MM / 2 - index * _LINE_MM), words, SMALL_MM)


def _in_lines(words: str, room_mm: float) -> list[str]:
    """The words, broken behind a comma where they are too long for the room."""
    first, comma, rest = words.rpartition(", ")
    if shortened(words, room_mm, SMALL_MM) == words or not comma:
        return [shortened(words, room_mm, SMALL_MM)]
    return [*_in_lines(f"{first},", room_mm), shortened(rest, room_mm, SMALL_MM)]


def _on_axis(places: Spots, one: HoleAt) -> Iterator[tuple[int, Floats]]:
    """The findings of this hole."""
    reach = (one.hole.diameter_mm or 1.0) / 2 if one.hole is not None else 0.5
    for number, place in places:
        if np.hypot(place[0] - one.x_mm, place[1] - one.y_mm) <= reach:
            yield number, place
