"""The sheets of a drawing: a setup's views, and what of its table finds no room beside them."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import frozen
from millprep.canvas.paper import Paper
from millprep.canvas.pen import Pen
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.writers.drawing.foot import Foot, foot_of
from millprep.writers.drawing.frame import GAP_MM, Frame, Purpose, frame_for, usable_paper
from millprep.writers.drawing.page import draw, draw_table_page
from millprep.writers.drawing.table import Table, drill_pages, table_pages
from millprep.writers.drawing.tiles import MOST_TILES, TileSheet, tiles_of


@frozen
class FaceSheet:
    """The sheet of one setup's views."""

    setup: DrawnSetup
    frame: Frame

    def draw(self, sheet: Drawing, pen: Pen, number: str) -> None:
        draw(sheet, self.setup, pen, self.frame, number)


@frozen
class TableSheet:
    """A sheet of the table alone."""

    setup: DrawnSetup
    paper: Paper
    foot: Foot
    table: Table

    def draw(self, sheet: Drawing, pen: Pen, number: str) -> None:
        draw_table_page(sheet, pen, self.paper, self.foot, self.table, number)


Sheet = FaceSheet | TableSheet | TileSheet


def sheets_of(sheet: Drawing, setup: DrawnSetup, purpose: Purpose) -> Iterator[Sheet]:
    """All sheets of a setup, in their order. Raises MillprepError for a template too large."""
    frame = frame_for(sheet, setup, purpose)
    paper = usable_paper(purpose)
    if frame is not None:
        yield FaceSheet(setup, frame)
        table = frame.table
    else:
        tiles = tiles_of(sheet, setup, purpose, paper)
        if tiles is None:
            raise MillprepError(_too_large(setup))
        yield from tiles
        table = tiles[0].table
    if table is None:
        yield from _tables(sheet, setup, purpose, paper)


def _tables(
    sheet: Drawing, setup: DrawnSetup, purpose: Purpose, paper: Paper
) -> Iterator[TableSheet]:
    foot = foot_of(sheet, setup, paper.across_mm)
    width = paper.across_mm - 2 * GAP_MM
    high = paper.top_mm - paper.foot_mm - foot.height_mm - 2 * GAP_MM
    if purpose.is_template:
        tables = drill_pages(setup, width, high)
    else:
        tables = table_pages(sheet, setup, width, high)
    for table in tables:
        yield TableSheet(setup, paper, foot, table)


def _too_large(setup: DrawnSetup) -> Finding:
    view = setup.view
    size = " x ".join(f"{b - a:g}" for a, b in zip(view.low_mm, view.high_mm, strict=True))
    return Finding(
        "stop",
        "not-true-scale",
        f"setup {setup.number}: {size} mm at full size takes more than {MOST_TILES} sheets",
        "mark it out with the listing, or leave --template out",
    )
