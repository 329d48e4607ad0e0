"""The whole page: view, other views, table, frame, and the foot with its bars."""

from __future__ import annotations

from collections.abc import Sequence

from millprep.canvas.paper import Paper
from millprep.canvas.pen import Pen
from millprep.canvas.recording import RecordingPen
from millprep.canvas.spread import Labels
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.writers.drawing.face import (
    draw_holes,
    draw_letters,
    draw_others,
    draw_outline,
    draw_pitch_circles,
    draw_pitch_diameters,
    draw_sides,
    draw_zero_lines,
)
from millprep.writers.drawing.foot import (
    LINE_MM,
    Foot,
    Title,
    draw_foot,
    draw_title,
    draw_upright_bars,
)
from millprep.writers.drawing.frame import GAP_MM, Frame
from millprep.writers.drawing.notes import notes_of
from millprep.writers.drawing.running import draw_running
from millprep.writers.drawing.sight import draw_sights
from millprep.writers.drawing.table import TEXT_MM, Table

_PART_MM = 5.0


def draw(
    sheet: Drawing, setup: DrawnSetup, pen: Pen, frame: Frame, number: str = "sheet 1 of 1"
) -> None:
    """The page with the pen given, in a frame of `frame_for` or `model_frame`."""
    left_out = draw_face(setup, pen, frame)
    draw_sides(frame, pen, Labels())
    if frame.table is not None:
        frame.table.draw(pen, frame.table_at)
    notes = notes_of(setup, frame, left_out)
    if frame.is_model:
        _draw_words(sheet, frame, [*frame.foot.lines, *notes], pen)
        return
    projection = sheet.projection if frame.sights else None
    what = "template, " if frame.purpose.is_template else ""
    title = Title(f"{what}scale {frame.scale}", number, projection)
    draw_round(sheet, title, frame.paper, frame.foot, notes, pen)
    draw_upright_bars(frame.foot, frame.corner, pen)


def draw_face(setup: DrawnSetup, pen: Pen, frame: Frame) -> list[str]:
    """The views with their dimensions and letters; gives the letters that found no room."""
    labels = Labels(frame.view_box)
    draw_outline(frame, pen, labels)
    draw_zero_lines(frame, setup, pen, labels)
    if not frame.purpose.is_template:
        draw_others(frame, setup, pen, labels)
        draw_pitch_circles(frame, setup, pen, labels)
    draw_holes(frame, pen, labels)
    draw_running(frame, pen, labels)
    draw_sights(frame, pen, labels)
    draw_sides(frame, RecordingPen(), labels)
    left_out, labels = draw_letters(frame, setup, pen, labels)
    if not frame.purpose.is_template:
        draw_pitch_diameters(frame, setup, pen, labels)
    return left_out


def draw_table_page(
    sheet: Drawing, pen: Pen, paper: Paper, foot: Foot, table: Table, number: str
) -> None:
    """A sheet that has the table alone."""
    table.draw(pen, (paper.side_mm + GAP_MM, paper.top_mm - GAP_MM))
    draw_round(sheet, Title("table of holes", number, None), paper, foot, [], pen)


def draw_round(
    sheet: Drawing, title: Title, paper: Paper, foot: Foot, notes: Sequence[str], pen: Pen
) -> None:
    """The frame, so that a print that has lost an edge is seen at once, and the foot in it."""
    left, low, right, top = paper.side_mm, paper.foot_mm, paper.right_mm, paper.top_mm
    pen.outline([(left, low), (right, low), (right, top), (left, top)], "edge")
    draw_foot(foot, notes, (left, low), paper.across_mm, pen)
    draw_title(sheet, title, (left, low), paper.across_mm, pen)


def _draw_words(sheet: Drawing, frame: Frame, lines: list[str], pen: Pen) -> None:
    """What a model without paper has in place of the foot."""
    x, y = frame.corner[0] + 3, frame.corner[1] + frame.foot.height_mm
    pen.text((x, y - 7), sheet.part, _PART_MM)
    facts = [sheet.drawing, sheet.material, f"part mark {sheet.mark}", sheet.date]
    for index, line in enumerate([*lines, ", ".join(fact for fact in facts if fact)]):
        pen.text((x, y - 12 - LINE_MM * index), line, TEXT_MM)
