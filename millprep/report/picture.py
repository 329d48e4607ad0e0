"""The picture of a dry run, to scale: sheets of A4, the three views, then what is left.

Draws with any pen. Imports `views`, `drawn`, `left` and the canvas.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path

from millprep.canvas.corrected import MovedPen
from millprep.canvas.pen import Pen, Style, Tinter
from millprep.canvas.sign import SIGN_MM, draw_sign
from millprep.report.drawn import (
    BACKING,
    CAPTION_MM,
    FEED,
    FIXTURE,
    RAPID,
    STOCK,
    draw_view,
    letter_of,
    scale_words,
)
from millprep.report.labels import SMALL_MM
from millprep.report.left import draw_left
from millprep.report.paper import EDGE_MM, GAP_MM, HEAD_MM, PAGE_MM, draw_head, fitting, shortened
from millprep.report.section import A_SHEET, draw_sections
from millprep.report.tables import file_words
from millprep.report.views import VIEWS, Scaled, Shown, Window, spots_of, window_of

KEY_WIDTH_MM = 62.0
MOST_IN_KEY = 24
Sheet = Callable[[Tinter], None]


def sheets_of(shown: Shown) -> Iterator[Sheet]:
    """What draws each sheet of `PAGE_MM`."""
    yield partial(draw, shown=shown)
    if shown.scene is not None and shown.record is not None:
        yield partial(draw_left, shown=shown)
        places = spots_of(shown, shown.paths()) if shown.sections else []
        for first in range(0, len(shown.sections), A_SHEET):
            yield partial(draw_sections, shown=shown, first=first, places=places)


def draw(pen: Pen, shown: Shown) -> None:
    """The three views on a sheet."""
    paths = shown.paths()
    window = window_of(shown, paths)
    fields = _fields(window)
    draw_head(pen, f"DRY RUN   {shown.title}", scale_words(fields[0].scale))
    places = spots_of(shown, paths)
    drawn = [draw_view(pen, shown, paths, field, places) for field in fields]
    _draw_key(pen, shown, all(drawn))
    right, middle = PAGE_MM[0] - EDGE_MM, EDGE_MM + SIGN_MM[1] / 2
    draw_sign(pen, (right - SIGN_MM[0] / 2, middle), is_first=False)
    words = "third angle: plan above, right-hand end at the right"
    pen.text((right - SIGN_MM[0] - 2, middle - SMALL_MM / 2), words, SMALL_MM, "right")


def _fields(window: Window) -> list[Scaled]:
    """The three views at the largest scale that fits."""
    width, depth, height = (window.size(axis) for axis in range(3))
    room_x = PAGE_MM[0] - 2 * EDGE_MM - KEY_WIDTH_MM - 2 * GAP_MM
    room_y = PAGE_MM[1] - 2 * EDGE_MM - HEAD_MM - GAP_MM - 2 * CAPTION_MM
    scale = fitting((width + depth, room_x), (depth + height, room_y))
    above = (EDGE_MM, PAGE_MM[1] - EDGE_MM - HEAD_MM - scale * depth)
    low = above[1] - CAPTION_MM - GAP_MM - scale * height
    corners = (above, (EDGE_MM, low), (EDGE_MM + scale * width + GAP_MM, low))
    return [
        Scaled(view, window, corner, scale) for view, corner in zip(VIEWS, corners, strict=True)
    ]


def _draw_key(pen: Pen, shown: Shown, is_all: bool) -> None:
    """Lines, letters of the fixtures and numbers of the findings, in words."""
    left = PAGE_MM[0] - EDGE_MM - KEY_WIDTH_MM
    y = PAGE_MM[1] - EDGE_MM - HEAD_MM
    kinds: list[tuple[Style, str]] = [(FEED, "feed"), (RAPID, "rapid")]
    if shown.scene is not None:
        kinds += [(STOCK, "stock")]
        kinds += [(FIXTURE, "keep clear")] if shown.scene.fixtures else []
        kinds += [(BACKING, "backing")] if shown.scene.backing else []
    for style, words in kinds:
        pen.line((left, y + SMALL_MM / 2), (left + 16, y + SMALL_MM / 2), style)
        pen.text((left + 19, y), words, SMALL_MM)
        y -= 2 * SMALL_MM
    if not is_all:
        pen.text((left, y), "not all of the moves are drawn", SMALL_MM)
        y -= 2 * SMALL_MM
    rows = _fixture_rows(shown) + _finding_rows(shown)
    for mark, words in rows[:MOST_IN_KEY]:
        y -= 2 * SMALL_MM
        pen.text((left, y), mark, SMALL_MM)
        pen.text((left + 7, y), shortened(words, KEY_WIDTH_MM - 7, SMALL_MM), SMALL_MM)
    if len(rows) > MOST_IN_KEY:
        pen.text((left, y - 2 * SMALL_MM), f"and {len(rows) - MOST_IN_KEY} more", SMALL_MM)


def _fixture_rows(shown: Shown) -> list[tuple[str, str]]:
    fixtures = shown.scene.fixtures if shown.scene is not None else ()
    return [(letter_of(number), box.name) for number, box in enumerate(fixtures)]


def _finding_rows(shown: Shown) -> list[tuple[str, str]]:
    rows = []
    files = {file for file, _ in shown.runs}
    for number, finding in enumerate(shown.findings, 1):
        file = f" {Path(finding.file or '').name}" * bool(file_words(finding, files))
        line = f" line {finding.line}" if finding.line is not None else ""
        colon = ":" * bool(file or line)
        words = finding.kind.replace("-", " ")
        rows.append((str(number), f"{finding.severity}{file}{line}{colon} {words}"))
    return rows


def svg(shown: Shown) -> str:
    """The picture as SVG, its sheets below each other."""
    from millprep.canvas.svg import SvgPen

    sheets = [*sheets_of(shown)]
    pen = SvgPen(PAGE_MM[0], len(sheets) * PAGE_MM[1], title=f"Dry run: {shown.title}")
    _draw_sheets(pen, sheets)
    return pen.document()


def png(shown: Shown) -> bytes:
    """The picture as PNG, its sheets below each other."""
    from millprep.canvas.png import PngPen

    sheets = [*sheets_of(shown)]
    pen = PngPen(PAGE_MM[0], len(sheets) * PAGE_MM[1], title=f"Dry run: {shown.title}")
    _draw_sheets(pen, sheets)
    return pen.document()


def pdf(shown: Shown) -> bytes:
    """The picture as PDF, a page a sheet."""
    from millprep.canvas.pdf import PdfPen

    first, *others = sheets_of(shown)
    pen = PdfPen(*PAGE_MM, title=f"Dry run: {shown.title}")
    first(pen)
    for sheet in others:
        pen.turn_over()
        sheet(pen)
    return pen.document()


def _draw_sheets(pen: Tinter, sheets: Sequence[Sheet]) -> None:
    for place, sheet in enumerate(reversed(sheets)):
        sheet(MovedPen(pen, corner=(0.0, place * PAGE_MM[1])))


PICTURES: dict[str, Callable[[Shown], str | bytes]] = {".svg": svg, ".png": png, ".pdf": pdf}
"""What writes a picture, by the ending of its file."""
