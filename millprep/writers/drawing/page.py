"""The whole page: view, table, title block, and the bars that tell what the printer did."""

from __future__ import annotations

from collections.abc import Sequence

from millprep.canvas.lettering import printable, room_mm
from millprep.canvas.pen import STYLES, Pen
from millprep.canvas.spread import Labels
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.writers.drawing.face import (
    draw_holes,
    draw_letters,
    draw_others,
    draw_outline,
    draw_sides,
    draw_zero_lines,
)
from millprep.writers.drawing.frame import BAR_MM, MARGIN_MM, TEXT_MM, TITLE_MM, Frame
from millprep.writers.drawing.notes import notes_of
from millprep.writers.drawing.running import draw_running

_NAME_HEIGHTS_MM = (5.0, 3.5, 2.5)
_LINE_HEIGHTS_MM = (2.5, 1.8)
_SMALL_MM = 1.8
_RIGHT_MM = BAR_MM + 10.0  # of the title block, for the bar and the words on it


def draw(sheet: Drawing, setup: DrawnSetup, pen: Pen, frame: Frame) -> None:
    """The page with the pen given, in a frame of `frame_for` or `model_frame`."""
    labels = Labels(frame.view_box)
    draw_outline(frame, pen, labels)
    draw_zero_lines(frame, setup, pen, labels)
    if not frame.purpose.is_template:
        draw_others(frame, pen, labels)
    draw_holes(frame, pen, labels)
    draw_running(frame, pen, labels)
    draw_sides(frame, pen, labels)
    left_out = draw_letters(frame, pen, labels)
    if frame.table is not None:
        frame.table.draw(pen, frame.table_at)
    _draw_title(sheet, setup, frame, left_out, pen)
    if not frame.is_model:
        _draw_bars(frame, pen)


def _draw_title(
    sheet: Drawing, setup: DrawnSetup, frame: Frame, left_out: Sequence[str], pen: Pen
) -> None:
    low, high = MARGIN_MM, MARGIN_MM + TITLE_MM
    left, right = MARGIN_MM, frame.paper.width_mm - MARGIN_MM
    if not frame.is_model:
        pen.outline([(left, low), (right, low), (right, high), (left, high)], "edge")
    room = right - left - 5 - (0 if frame.is_model else _RIGHT_MM)
    words, height = fitted(sheet.part, room, _NAME_HEIGHTS_MM)
    pen.text((left + 3, high - 7), words, height)
    for index, line in enumerate(_title_lines(sheet, setup)):
        words, height = fitted(line, room, _LINE_HEIGHTS_MM)
        pen.text((left + 3, high - 12 - 4.6 * index), words, height)
    lines = notes_of(setup, frame, left_out)
    if frame.is_model:
        for index, line in enumerate(lines):
            pen.text((left + 3, low - 4.6 * index), line, TEXT_MM)
        return
    pen.text((right - 3, high - 6), _scale(frame), 3.5, "right")
    for index, line in enumerate(lines):
        words, height = fitted(line, _RIGHT_MM - 4, _LINE_HEIGHTS_MM)
        pen.text((right - 3, high - 10.5 - 3.6 * index), words, height, "right")


def _title_lines(sheet: Drawing, setup: DrawnSetup) -> list[str]:
    drawing = f"drawing {sheet.drawing}, " if sheet.drawing else ""
    places = f"; places {sheet.general_tolerance} unless given"
    zero = f"zero: X on {setup.zero_x.upper()}, Y on {setup.zero_y.upper()}"
    hand = f"; {setup.view.hand}" if setup.view.hand else ""
    return [
        f"setup {setup.number} of {sheet.setup_count}: {setup.lies}",
        f"{zero}, Z on {setup.face.upper()}{hand}",
        f"{sheet.stock}{places if sheet.general_tolerance else ''}",
        f"{drawing}figures in {sheet.units}, part mark {sheet.mark}",
    ]


def _scale(frame: Frame) -> str:
    what = "template, 1:1" if frame.purpose.is_template else f"scale 1:{frame.paper.reduction}"
    return f"{what} on {frame.paper.name}"


def fitted(words: str, room: float, heights_mm: Sequence[float]) -> tuple[str, float]:
    """The words in the largest height that fits, shortened at the end when none does."""
    plain = printable(words)
    for height in heights_mm:
        if room_mm(plain, height) <= room:
            return plain, height
    smallest = heights_mm[-1]
    while plain and room_mm(f"{plain}...", smallest) > room:
        plain = plain[:-1]
    return f"{plain.rstrip()}...", smallest


def _draw_bars(frame: Frame, pen: Pen) -> None:
    """A bar of 100 mm along each axis, measured over the strokes at its ends."""
    inside = STYLES["thin"].width_mm / 2
    right = frame.paper.width_mm - MARGIN_MM - 4
    left, y = right - BAR_MM, MARGIN_MM + 4.0
    pen.line((left, y), (right, y), "edge")
    for x in (left + inside, left + BAR_MM / 2, right - inside):
        pen.line((x, y - 1.5), (x, y + 1.5), "thin")
    pen.text((left + BAR_MM / 4, y + 1.5), "100 mm along X, over its ends", _SMALL_MM, "middle")
    x, low = MARGIN_MM + 2.0, MARGIN_MM + TITLE_MM + 4
    pen.line((x, low), (x, low + BAR_MM), "edge")
    for y in (low + inside, low + BAR_MM / 2, low + BAR_MM - inside):
        pen.line((x - 1.5, y), (x + 1.5, y), "thin")
    pen.text(
        (x + 3.6, low + BAR_MM / 4), "100 mm along Y, over its ends", _SMALL_MM, "middle", 90.0
    )
