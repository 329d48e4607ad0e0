"""The picture of a dry run, to scale: three views, line kinds told apart by their dashes.

Draws with any pen. Imports `views`, `labels` and the canvas.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from millprep.base.findings import Finding
from millprep.canvas.lettering import room_mm
from millprep.canvas.pen import Pen, Place, Style, circle
from millprep.canvas.recording import RecordingPen
from millprep.reading.simulate.path import Floats, Path
from millprep.report.labels import SMALL_MM, Room, draw_letters, draw_marks
from millprep.report.views import (
    VIEWS,
    Scaled,
    Shown,
    Window,
    lines_of,
    outline_of,
    places_of,
    window_of,
)

PAGE_MM = (297.0, 210.0)  # A4 on its long side (ISO 216)
SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)  # ISO 5455
EDGE_MM, HEAD_MM, GAP_MM, CAPTION_MM = 10.0, 12.0, 8.0, 5.0
LETTERS_MM = 2.5  # ISO 3098-1
KEY_WIDTH_MM = 62.0
MOST_IN_KEY = 24
STEP_MM = 0.05  # what paper can show
SHORT_MM, SHORT_DASH_MM = 9.0, 1.5

STOCK: Style = "edge"
RAPID: Style = "hidden"
FEED: Style = "thin"
FIXTURE: Style = "centre"
HOLE: Style = "thin"
BACKING: Style = "adjacent"


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


def _fields(window: Window) -> list[Scaled]:
    """The three views at the largest scale that fits."""
    width, depth, height = (window.size(axis) for axis in range(3))
    room_x = PAGE_MM[0] - 2 * EDGE_MM - KEY_WIDTH_MM - 2 * GAP_MM
    room_y = PAGE_MM[1] - 2 * EDGE_MM - HEAD_MM - GAP_MM - 2 * CAPTION_MM
    scale = next(
        (
            one
            for one in SCALES
            if one * (width + depth) <= room_x and one * (depth + height) <= room_y
        ),
        min(room_x / (width + depth), room_y / (depth + height)),
    )
    above = (EDGE_MM, PAGE_MM[1] - EDGE_MM - HEAD_MM - scale * depth)
    low = above[1] - CAPTION_MM - GAP_MM - scale * height
    corners = (above, (EDGE_MM, low), (EDGE_MM + scale * width + GAP_MM, low))
    return [
        Scaled(view, window, corner, scale) for view, corner in zip(VIEWS, corners, strict=True)
    ]


def _draw_view(
    pen: Pen, shown: Shown, paths: Sequence[Path], field: Scaled, places: Sequence[Floats | None]
) -> bool:
    """One view; whether all of its lines are drawn."""
    drawn = RecordingPen()
    is_all = _draw_lines(drawn, shown, paths, field)
    caption = field.low[0], field.low[1] - CAPTION_MM + 1
    drawn.text(caption, field.view.words, SMALL_MM)
    room = Room(field, drawn)
    for letters, low, high in _lettered(shown, field):
        draw_letters(drawn, room, letters, low, high)
    drawn.replay(pen)
    draw_marks(pen, field, drawn, places)
    return is_all


def _lettered(shown: Shown, field: Scaled) -> list[tuple[str, Place, Place]]:
    """(letters, low and high corner) of the fixtures in view; one that hides another shares."""
    seen: dict[tuple[Place, Place], list[str]] = {}
    for number, box in enumerate(shown.scene.fixtures if shown.scene is not None else ()):
        _, ends = outline_of(box, field.view, field.window)
        low, high = field.at(ends[0], ends[1]), field.at(ends[2], ends[3])
        if low[0] < high[0] and low[1] < high[1]:
            seen.setdefault((low, high), []).append(_letter_of(number))
    return [(", ".join(letters), low, high) for (low, high), letters in seen.items()]


def _draw_lines(pen: Pen, shown: Shown, paths: Sequence[Path], field: Scaled) -> bool:
    """What stands there, the ways of the tool and, from above, the holes; whether all ways are."""
    scene = shown.scene
    if scene is not None:
        for box in scene.backing:
            _outline(pen, field, box, BACKING)
        for box in scene.fixtures:
            _outline(pen, field, box, FIXTURE)
        _outline(pen, field, scene.stock, STOCK)
    rapids, feeds, is_all = lines_of(paths, field.view, field.window, STEP_MM / field.scale)
    for x1, y1, x2, y2 in rapids.T.tolist():
        _rapid(pen, field.at(x1, y1), field.at(x2, y2))
    for x1, y1, x2, y2 in feeds.T.tolist():
        pen.line(field.at(x1, y1), field.at(x2, y2), FEED)
    if field.view.name == "above":
        for hole in shown.holes:
            if hole.diameter_mm:
                middle = field.at(hole.x_mm, hole.y_mm)
                circle(pen, middle, hole.diameter_mm / 2 * field.scale, HOLE)
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


def _outline(pen: Pen, field: Scaled, solid: object, style: Style) -> None:
    kind, figures = outline_of(solid, field.view, field.window)  # type: ignore[arg-type]
    if kind == "circle":
        circle(pen, field.at(figures[0], figures[1]), figures[2] * field.scale, style)
        return
    low, high = field.at(figures[0], figures[1]), field.at(figures[2], figures[3])
    if high[0] > low[0] and high[1] > low[1]:
        pen.outline([low, (high[0], low[1]), high, (low[0], high[1])], style)


def _letter_of(number: int) -> str:
    return chr(ord("A") + number % 26)


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
    from millprep.canvas.svg import SvgPen

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
