"""The drawing of a setup as the bytes of a file: which pen for which ending, and its mark."""

from __future__ import annotations

from collections.abc import Callable

from millprep.base.findings import Finding, MillprepError
from millprep.base.outfile import sealed, sheet_mark
from millprep.canvas.pen import Pen
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.writers.drawing import Frame, Purpose, draw, frame_for, model_frame


def drawn(sheet: Drawing, setup: DrawnSetup, ending: str, purpose: Purpose | None = None) -> bytes:
    """The drawing of one setup, as the bytes of a file with that ending."""
    for_what = purpose or Purpose()
    if ending == ".dxf":
        return _modelled(sheet, setup, for_what)
    frame = frame_for(sheet, setup, for_what)
    if for_what.is_template and frame.paper.reduction > 1:
        view = setup.view
        size = " x ".join(
            f"{high - low:g}" for low, high in zip(view.low_mm, view.high_mm, strict=True)
        )
        raise MillprepError(
            Finding(
                "stop",
                "not-true-scale",
                f"setup {setup.number}: no sheet of paper takes {size} mm at full size",
                "mark it out with the listing, or leave --template out",
            )
        )
    return _printed(sheet, setup, ending, frame)


def _modelled(sheet: Drawing, setup: DrawnSetup, purpose: Purpose) -> bytes:
    from millprep.canvas.dxf import DxfPen

    frame = model_frame(sheet, setup, purpose)
    pen = DxfPen(frame.at(0.0, 0.0))
    draw(sheet, setup, pen, frame)
    return sealed(pen.document(), sheet_mark("drawing", "dxf", sheet.part, setup.number))


def _printed(sheet: Drawing, setup: DrawnSetup, ending: str, frame: Frame) -> bytes:
    from millprep.canvas.corrected import CorrectedPen

    width, height = frame.paper_size_mm
    title = f"{sheet.part}, {setup.face.upper()} up"
    pen, document = _paper_pen(ending, width, height, title)
    factors = frame.purpose.factors
    if factors == (1.0, 1.0):
        draw(sheet, setup, pen, frame)
    else:
        x, y = (
            (size - f * usable) / 2
            for size, f, usable in zip(
                (width, height), factors, (frame.paper.width_mm, frame.paper.height_mm), strict=True
            )
        )
        draw(sheet, setup, CorrectedPen(pen, factors, (x, y)), frame)
    return sealed(document(), sheet_mark("drawing", ending[1:], sheet.part, setup.number))


def _paper_pen(
    ending: str, width: float, height: float, title: str
) -> tuple[Pen, Callable[[], str | bytes]]:
    """A pen for a sheet of that size [mm], and what gives its file."""
    if ending == ".pdf":
        from millprep.canvas.pdf import PdfPen

        pdf = PdfPen(width, height, title)
        return pdf, pdf.document
    if ending == ".png":
        from millprep.canvas.png import PngPen

        png = PngPen(width, height, title)
        return png, png.document
    from millprep.canvas.svg import SvgPen

    svg = SvgPen(width, height, title)
    return svg, svg.document
