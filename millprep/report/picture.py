"""The picture of a dry run, to scale: three views, line kinds told apart by their dashes.

Draws with any pen. Imports `views` and the canvas.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from millprep.canvas import Pen
from millprep.canvas.lettering import room_mm
from millprep.canvas.pen import Place, Style, circle
from millprep.errors import Finding
from millprep.reading.simulate.path import Floats, Path
from millprep.report.views import (
    VIEWS,
    Mark,
    Shown,
    View,
    Window,
    lines_of,
    marks_of,
    outline_of,
    places_of,
    window_of,
)

PAGE_MM = (297.0, 210.0)  # A4 on its long side (ISO 216)
SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)  # ISO 5455
EDGE_MM, HEAD_MM, GAP_MM, CAPTION_MM = 10.0, 12.0, 8.0, 5.0
LETTERS_MM, SMALL_MM = 2.5, 1.8  # ISO 3098-1
KEY_WIDTH_MM = 62.0
MARK_MM = 3.0
MOST_IN_KEY = 24
STEP_MM = 0.05  # what paper can show
SHORT_MM, SHORT_DASH_MM = 9.0, 1.5

STOCK: Style = "edge"
RAPID: Style = "hidden"
FEED: Style = "thin"
FIXTURE: Style = "centre"
HOLE: Style = "thin"
BACKING: Style = "mark"


@dataclass(frozen=True, slots=True)
class _Field:
    """Where a view lies on the page: its low corner, and the paper a millimetre takes."""

    view: View
    window: Window
    corner: Place
    scale: float

    def at(self, across_mm: float, up_mm: float) -> Place:
        return (
            self.corner[0] + (across_mm - self.window.low[self.view.across]) * self.scale,
            self.corner[1] + (up_mm - self.window.low[self.view.up]) * self.scale,
        )


def draw(pen: Pen, shown: Shown) -> None:
    """The whole picture on a page of `PAGE_MM`."""
    paths = shown.paths()
    window = window_of(shown, paths)
    fields = _fields(window)
    scale = fields[0].scale
    ratio = f"{scale:g} : 1" if scale >= 1 else f"1 : {1 / scale:g}"
    top = PAGE_MM[1] - EDGE_MM
    title = _short(f"DRY RUN   {shown.title}", PAGE_MM[0] - 2 * EDGE_MM - 40, LETTERS_MM)
    pen.text((EDGE_MM, top - LETTERS_MM), title, LETTERS_MM)
    pen.text((PAGE_MM[0] - EDGE_MM, top - LETTERS_MM), f"scale {ratio}, mm", LETTERS_MM, "right")
    places = places_of(shown, paths)
    drawn = [_draw_view(pen, shown, paths, field, places) for field in fields]
    _draw_key(pen, shown, all(drawn))


def _fields(window: Window) -> list[_Field]:
    """The three views at the largest scale that fits."""
    width, depth, height = (window.size(axis) for axis in range(3))
    room_x = PAGE_MM[0] - 2 * EDGE_MM - KEY_WIDTH_MM - 2 * GAP_MM
    room_y = PAGE_MM[1] - 2 * EDGE_MM - HEAD_MM - GAP_MM - 2 * CAPTION_MM
    scale = next(
        (one for one in SCALES if one * (width + depth) <= room_x
         and one * (depth + height) <= room_y),
        min(room_x / (width + depth), room_y / (depth + height)),
    )  # fmt: skip
    above = (EDGE_MM, PAGE_MM[1] - EDGE_MM - HEAD_MM - scale * depth)
    low = above[1] - CAPTION_MM - GAP_MM - scale * height
    corners = (above, (EDGE_MM, low), (EDGE_MM + scale * width + GAP_MM, low))
    return [
        _Field(view, window, corner, scale) for view, corner in zip(VIEWS, corners, strict=True)
    ]


def _draw_view(
    pen: Pen, shown: Shown, paths: Sequence[Path], field: _Field, places: Sequence[Floats | None]
) -> bool:
    """One view; whether all of its lines are drawn."""
    view, window = field.view, field.window
    scene = shown.scene
    if scene is not None:
        for box in scene.backing:
            _outline(pen, field, box, BACKING)
        taken: set[tuple[int, int]] = set()
        for number, box in enumerate(scene.fixtures):
            _outline(pen, field, box, FIXTURE)
            _letter(pen, field, box, _letter_of(number), taken)
        _outline(pen, field, scene.stock, STOCK)
    rapids, feeds, is_all = lines_of(paths, view, window, STEP_MM / field.scale)
    for x1, y1, x2, y2 in rapids.T.tolist():
        _rapid(pen, field.at(x1, y1), field.at(x2, y2))
    for x1, y1, x2, y2 in feeds.T.tolist():
        pen.line(field.at(x1, y1), field.at(x2, y2), FEED)
    if view.name == "above":
        for hole in shown.holes:
            if hole.diameter_mm:
                middle = field.at(hole.x_mm, hole.y_mm)
                circle(pen, middle, hole.diameter_mm / 2 * field.scale, HOLE)
    _marks(pen, marks_of(places, view, window, MARK_MM / field.scale), field)
    caption = field.corner[0], field.corner[1] - CAPTION_MM + 1
    pen.text(caption, view.words, SMALL_MM)
    return is_all


def _rapid(pen: Pen, start: Place, end: Place) -> None:
    """A broken line, and one too short for its dashes in dashes of its own."""
    length = math.dist(start, end)
    if length >= SHORT_MM:
        pen.line(start, end, RAPID)
        return
    count = max(2, round(length / SHORT_DASH_MM))
    for number in range(count):
        one, two = ((number + share) / count for share in (0.2, 0.8))
        (x1, y1), (x2, y2) = start, end
        pen.line(
            (x1 + one * (x2 - x1), y1 + one * (y2 - y1)),
            (x1 + two * (x2 - x1), y1 + two * (y2 - y1)),
            FEED,
        )


def _outline(pen: Pen, field: _Field, solid: object, style: Style) -> None:
    kind, figures = outline_of(solid, field.view, field.window)  # type: ignore[arg-type]
    if kind == "circle":
        circle(pen, field.at(figures[0], figures[1]), figures[2] * field.scale, style)
        return
    low, high = field.at(figures[0], figures[1]), field.at(figures[2], figures[3])
    if high[0] > low[0] and high[1] > low[1]:
        pen.outline([low, (high[0], low[1]), high, (low[0], high[1])], style)


def _letter_of(number: int) -> str:
    return chr(ord("A") + number % 26)


def _letter(pen: Pen, field: _Field, box: object, letter: str, taken: set[tuple[int, int]]) -> None:
    """The letter of a fixture in its low left corner, of a thin one beside it."""
    _, figures = outline_of(box, field.view, field.window)  # type: ignore[arg-type]
    low, high = field.at(figures[0], figures[1]), field.at(figures[2], figures[3])
    has_room = high[0] - low[0] > 1.3 * SMALL_MM and high[1] - low[1] > 1.5 * SMALL_MM
    x, y = (low[0] if has_room else high[0]) + 0.6, low[1] + 0.6
    cell = (round(x / SMALL_MM), round(y / SMALL_MM))
    if cell not in taken:
        taken.add(cell)
        pen.text((x, y), letter, SMALL_MM)


def _marks(pen: Pen, marks: Sequence[Mark], field: _Field) -> None:
    """A dot at each finding with its number in a frame; those of one place in one frame."""
    for mark in marks:
        x, y = field.at(mark.across_mm, mark.up_mm)
        width = room_mm(mark.words, SMALL_MM) + SMALL_MM
        left, low = x + MARK_MM / 2, y + MARK_MM / 2
        high = low + 2 * SMALL_MM
        pen.spot((x, y), 0.5)
        pen.line((x, y), (left, low), "thin")
        corners = [(left, low), (left + width, low), (left + width, high), (left, high)]
        pen.outline(corners, "thin")
        pen.text((left + width / 2, low + SMALL_MM / 2), mark.words, SMALL_MM, "middle")


def _draw_key(pen: Pen, shown: Shown, is_all: bool) -> None:
    """Lines, letters of the fixtures and numbers of the findings, in words."""
    left = PAGE_MM[0] - EDGE_MM - KEY_WIDTH_MM
    y = PAGE_MM[1] - EDGE_MM - HEAD_MM
    kinds: list[tuple[Style, str]] = [(FEED, "feed"), (RAPID, "rapid")]
    if shown.scene is not None:
        kinds += [(STOCK, "stock")]
        kinds += [(FIXTURE, "not to be touched")] if shown.scene.fixtures else []
        kinds += [(BACKING, "backing")] if shown.scene.backing else []
    for style, words in kinds:
        pen.line((left, y + SMALL_MM / 2), (left + 16, y + SMALL_MM / 2), style)
        pen.text((left + 19, y), words, SMALL_MM)
        y -= 2 * SMALL_MM
    if not is_all:
        pen.text((left, y), "not all of the moves are drawn", SMALL_MM)
        y -= 2 * SMALL_MM
    rows = _fixture_rows(shown) + _finding_rows(shown.findings)
    for mark, words in rows[:MOST_IN_KEY]:
        y -= 2 * SMALL_MM
        pen.text((left, y), mark, SMALL_MM)
        pen.text((left + 7, y), _short(words, KEY_WIDTH_MM - 7, SMALL_MM), SMALL_MM)
    if len(rows) > MOST_IN_KEY:
        pen.text((left, y - 2 * SMALL_MM), f"and {len(rows) - MOST_IN_KEY} more", SMALL_MM)


def _fixture_rows(shown: Shown) -> list[tuple[str, str]]:
    fixtures = shown.scene.fixtures if shown.scene is not None else ()
    return [(_letter_of(number), box.name) for number, box in enumerate(fixtures)]


def _finding_rows(findings: Sequence[Finding]) -> list[tuple[str, str]]:
    rows = []
    for number, finding in enumerate(findings, 1):
        line = f" line {finding.line}:" if finding.line is not None else ""
        words = finding.kind.replace("-", " ")
        rows.append((str(number), f"{finding.severity}{line} {words}"))
    return rows


def _short(words: str, room: float, height_mm: float) -> str:
    """The words, cut to the room there is."""
    while len(words) > 1 and room_mm(words, height_mm) > room:
        words = words[:-4].rstrip() + "..." if not words.endswith("...") else words[:-5] + "..."
    return words


def svg(shown: Shown) -> str:
    """The picture as SVG."""
    from millprep.canvas import SvgPen

    pen = SvgPen(*PAGE_MM, title=f"Dry run: {shown.title}")
    draw(pen, shown)
    return pen.document()


def png(shown: Shown) -> bytes:
    """The picture as PNG."""
    from millprep.canvas.png import PngPen

    pen = PngPen(*PAGE_MM, title=f"Dry run: {shown.title}")
    draw(pen, shown)
    return pen.document()


PICTURES: dict[str, Callable[[Shown], str | bytes]] = {".svg": svg, ".png": png}
"""What writes a picture, by the ending of its file."""
