"""A drawing as the bytes of files: one PDF of all its sheets, else a file a sheet; their marks."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from millprep.base.marks import sealed, sheet_mark
from millprep.base.records import frozen
from millprep.canvas.pen import Pen
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.writers.drawing import Purpose, Sheet, draw, model_frame, sheets_of, usable_paper


@frozen
class Drawn:
    """A file: of one setup, or of all (None), and which of its sheets where it has several."""

    data: bytes
    setup: int | None = None
    sheet: int | None = None


def drawn(sheet: Drawing, ending: str, purpose: Purpose | None = None) -> list[Drawn]:
    """The drawing as files with that ending: a PDF of all setups, or a file for each sheet."""
    for_what = purpose or Purpose()
    if ending == ".dxf":
        return [Drawn(_modelled(sheet, setup, for_what), setup.number) for setup in sheet.setups]
    sheets = [(s, one) for s in sheet.setups for one in sheets_of(sheet, s, for_what)]
    numbers = [f"sheet {index} of {len(sheets)}" for index in range(1, len(sheets) + 1)]
    pages = [(one, number) for (_, one), number in zip(sheets, numbers, strict=True)]
    if ending == ".pdf":
        setup = sheet.setups[0].number if len(sheet.setups) == 1 else None
        return [Drawn(_paged(sheet, pages, for_what, setup), setup)]
    return list(_by_sheet(sheet, ending, for_what, pages))


def _by_sheet(
    sheet: Drawing, ending: str, purpose: Purpose, pages: list[tuple[Sheet, str]]
) -> Iterator[Drawn]:
    for setup in sheet.setups:
        own = [page for page in pages if page[0].setup.number == setup.number]
        for index, page in enumerate(own, 1):
            which = index if len(own) > 1 else None
            data = _printed(sheet, ending, purpose, page, which)
            yield Drawn(data, setup.number, which)


def _modelled(sheet: Drawing, setup: DrawnSetup, purpose: Purpose) -> bytes:
    from millprep.canvas.dxf import DxfPen

    frame = model_frame(sheet, setup, purpose)
    pen = DxfPen(frame.at(0.0, 0.0))
    draw(sheet, setup, pen, frame)
    return sealed(pen.document(), sheet_mark("drawing", "dxf", sheet.part, setup.number))


def _paged(
    sheet: Drawing, pages: list[tuple[Sheet, str]], purpose: Purpose, setup: int | None
) -> bytes:
    from millprep.canvas.pdf import PdfPen

    pen = PdfPen(purpose.paper.width_mm, purpose.paper.height_mm, sheet.part)
    for index, (one, number) in enumerate(pages):
        if index:
            pen.turn_over()
        one.draw(sheet, _corrected(pen, purpose), number)
    return sealed(pen.document(), sheet_mark("drawing", "pdf", sheet.part, setup))


def _printed(
    sheet: Drawing, ending: str, purpose: Purpose, page: tuple[Sheet, str], which: int | None
) -> bytes:
    one, number = page
    title = f"{sheet.part}, {one.setup.face.upper()} up"
    width, height = purpose.paper.width_mm, purpose.paper.height_mm
    pen, document = _paper_pen(ending, width, height, title)
    one.draw(sheet, _corrected(pen, purpose), number)
    what = "drawing" if which is None else f"drawing {which}"
    return sealed(document(), sheet_mark(what, ending[1:], sheet.part, one.setup.number))


def _corrected(pen: Pen, purpose: Purpose) -> Pen:
    """The pen, or one before it that stretches for the printer, from the middle of the paper."""
    from millprep.canvas.corrected import CorrectedPen

    across, up = purpose.factors
    if (across, up) == (1.0, 1.0):
        return pen
    paper, usable = purpose.paper, usable_paper(purpose)
    x = (paper.width_mm - across * usable.width_mm) / 2
    y = (paper.height_mm - up * usable.height_mm) / 2
    return CorrectedPen(pen, (across, up), (x, y))


def _paper_pen(
    ending: str, width: float, height: float, title: str
) -> tuple[Pen, Callable[[], str | bytes]]:
    """A pen for a sheet of that size [mm], and what gives its file."""
    if ending == ".png":
        from millprep.canvas.png import PngPen

        png = PngPen(width, height, title)
        return png, png.document
    from millprep.canvas.svg import SvgPen

    svg = SvgPen(width, height, title)
    return svg, svg.document
