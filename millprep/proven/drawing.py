"""The one way to a drawing: a page for each setup of a checked part, as the bytes of a file.

It is drawn from the sheet that the listing is written from; a drawing itself is not read back.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, MillprepError, WordError, has_stop
from millprep.base.outfile import sealed, sheet_mark
from millprep.base.units import Units, read_length
from millprep.proven.letters import letters_lost
from millprep.proven.preparation import Prepared, wanted_setup
from millprep.proven.sheets import Handed

if TYPE_CHECKING:
    from millprep.canvas.pen import Pen
    from millprep.sheets.listing import SetupSheet, Sheet
    from millprep.writers.drawing import Frame, Purpose

ENDINGS = (".svg", ".pdf", ".png", ".dxf")
MOST_CORRECTION_MM = 5.0


def drawings(
    prepared: Prepared, ending: str, *, units: Units | None = None, setup: int | None = None,
    purpose: Purpose | None = None,
) -> list[Handed]:  # fmt: skip
    """A drawing for each setup, as the bytes of files with that ending; one Handed at least.

    Raises MillprepError for what no paper takes at full size.
    """
    from millprep.sheets.listing import make_sheet

    number = wanted_setup(setup, prepared.setup_numbers)
    lost = letters_lost(prepared.part, ending, "write .svg or .dxf to keep them")
    found = (*prepared.findings, *lost)
    if has_stop(found):
        return [Handed(None, found)]
    sheet = make_sheet(prepared.plan, units or prepared.part.units, prepared.findings, number)
    return [Handed(drawn(sheet, one, ending, purpose), found, one.number) for one in sheet.setups]


def purpose_of(
    ending: str, template: bool = False, measured_bars: str | None = None, units: Units = "mm",
    file: str | None = None,
) -> Purpose:  # fmt: skip
    """What a drawing is for. Raises MillprepError for an ending or bars that cannot be."""
    if ending.lower() not in ENDINGS:
        raise _refusal(
            "unknown-word", f'no drawing is written as "{ending}"',
            f"endings: {', '.join(ENDINGS)}", file,
        )  # fmt: skip
    purpose = _purpose(template, measured_bars, units)
    if ending.lower() == ".dxf" and purpose.measured_mm is not None:
        raise _refusal(
            "unknown-word", "--measured-bars is for paper, and a .dxf file has none",
            "write .pdf, .svg or .png, or leave --measured-bars out", file,
        )  # fmt: skip
    return purpose


def _refusal(kind: str, message: str, remedy: str, file: str | None = None) -> MillprepError:
    return MillprepError(Finding("stop", kind, message, remedy, file=file))


def _purpose(template: bool, measured_bars: str | None, units: Units) -> Purpose:
    """Raises MillprepError for bars that are no two lengths near 100 mm."""
    from millprep.writers.drawing import BAR_MM, Purpose

    if measured_bars is None:
        return Purpose(template)
    words = measured_bars.split(",")
    try:
        across, up = (float(read_length(word, units)) for word in words)
    except (ValueError, WordError):
        raise _refusal(
            "bad-value", f'--measured-bars: "{measured_bars}" is not two lengths',
            "give the bar along X and the bar along Y in mm, as 99.4,99.7",
        ) from None  # fmt: skip
    for axis, length in (("X", across), ("Y", up)):
        if abs(length - BAR_MM) > MOST_CORRECTION_MM + 1e-9:
            raise _refusal(
                "not-true-scale",
                f"--measured-bars: the bar along {axis} is {length:g} mm, not near 100",
                "from 95 to 105 mm can be corrected; print again at full size, "
                'without "fit to page"',
            )  # fmt: skip
    return Purpose(template, (across, up), max(_last_place_mm(word, units) for word in words))


def _last_place_mm(word: str, units: Units) -> float:
    """What the last figure of a length stands for: 0.1 of "99.4", 1/16 in of "3 15/16 in"."""
    one = float(read_length("1" + re.sub(r"[\d\s./+-]", "", word), units))
    fraction = re.search(r"/\s*(\d+)", word)
    if fraction is not None:
        return one / int(fraction[1])
    decimals = re.search(r"\.(\d+)", word)
    return one / 10 ** len(decimals[1]) if decimals is not None else one


def drawn(sheet: Sheet, setup: SetupSheet, ending: str, purpose: Purpose | None = None) -> bytes:
    """The drawing of one setup, as the bytes of a file with that ending."""
    from millprep.writers.drawing import Purpose, frame_for

    for_what = purpose or Purpose()
    if ending == ".dxf":
        return _modelled(sheet, setup, for_what)
    frame = frame_for(sheet, setup, for_what)
    if for_what.is_template and frame.paper.reduction > 1:
        view = setup.view
        size = " x ".join(
            f"{high - low:g}" for low, high in zip(view.low_mm, view.high_mm, strict=True)
        )
        raise _refusal(
            "not-true-scale",
            f"setup {setup.number}: no sheet of paper takes {size} mm at full size",
            "mark it out with the listing, or leave --template out",
        )  # fmt: skip
    return _printed(sheet, setup, ending, frame)


def _modelled(sheet: Sheet, setup: SetupSheet, purpose: Purpose) -> bytes:
    from millprep.canvas.dxf import DxfPen
    from millprep.writers.drawing import draw, model_frame

    frame = model_frame(sheet, setup, purpose)
    pen = DxfPen(frame.at(0.0, 0.0))
    draw(sheet, setup, pen, frame)
    return sealed(pen.document(), sheet_mark("drawing", "dxf", sheet.part, setup.number))


def _printed(sheet: Sheet, setup: SetupSheet, ending: str, frame: Frame) -> bytes:
    from millprep.canvas.corrected import CorrectedPen
    from millprep.writers.drawing import draw

    width, height = frame.paper_size_mm
    title = f"{sheet.part}, {setup.face.upper()} up"
    pen, document = _paper_pen(ending, width, height, title)
    factors = frame.purpose.factors
    if factors == (1.0, 1.0):
        draw(sheet, setup, pen, frame)
    else:
        x, y = ((size - f * usable) / 2 for size, f, usable in zip(
            (width, height), factors, (frame.paper.width_mm, frame.paper.height_mm), strict=True
        ))  # fmt: skip
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
