"""`millprep drawing PART -o FILE`: a page for each setup, in the format that the ending names."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from millprep.base.findings import Finding, MillprepError, WordError
from millprep.base.outfile import sealed, sheet_mark, write_files
from millprep.base.units import Units, read_length
from millprep.canvas.pen import Pen
from millprep.cli.common import chosen_units, exit_status, numbered_path, print_findings, state_of
from millprep.cli.letters import letters_lost
from millprep.cli.preparation import prepare, wanted_setup
from millprep.sheets.listing import SetupSheet, Sheet, make_sheet
from millprep.writers.drawing import BAR_MM, Frame, Purpose, draw, frame_for, model_frame

ENDINGS = (".svg", ".pdf", ".png", ".dxf")
MOST_CORRECTION_MM = 5.0


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, output: Path,
    template: bool, measured_bars: str | None, force: bool,
) -> int:  # fmt: skip
    """0 when the drawings were written, 1 when a stop kept them back."""
    ending = output.suffix.lower()
    if ending not in ENDINGS:
        raise _refusal(
            "unknown-word", f'no drawing is written as "{output.suffix}"',
            f"endings: {', '.join(ENDINGS)}", output,
        )  # fmt: skip
    purpose = _purpose(template, measured_bars, chosen_units(units, "mm"))
    if ending == ".dxf" and purpose.measured_mm is not None:
        raise _refusal(
            "unknown-word", "--measured-bars is for paper, and a .dxf file has none",
            "write .pdf, .svg or .png, or leave --measured-bars out", output,
        )  # fmt: skip
    prepared = prepare(part_path, shop)
    number = wanted_setup(setup, prepared.setup_numbers)
    lost = letters_lost(prepared.part, ending, "write .svg or .dxf to keep them")
    print_findings([*prepared.findings, *lost])
    if exit_status(prepared.findings):
        return 1
    shown = chosen_units(units, prepared.part.units)
    sheet = make_sheet(prepared.plan, shown, prepared.findings, number)
    several = len(sheet.setups) > 1
    contents = {
        numbered_path(output, one.number if several else None, None): drawn(
            sheet, one, ending, purpose
        )
        for one in sheet.setups
    }
    changed = set(write_files(contents, force=force))
    for path in contents:
        print(state_of(path, changed))
    return 0


def _refusal(kind: str, message: str, remedy: str, file: Path | None = None) -> MillprepError:
    return MillprepError(
        Finding("stop", kind, message, remedy, file=None if file is None else str(file))
    )


def _purpose(template: bool, measured_bars: str | None, units: Units) -> Purpose:
    """Raises MillprepError for bars that are no two lengths near 100 mm."""
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

    frame = model_frame(sheet, setup, purpose)
    pen = DxfPen(frame.at(0.0, 0.0))
    draw(sheet, setup, pen, frame)
    return sealed(pen.document(), sheet_mark("drawing", "dxf", sheet.part, setup.number))


def _printed(sheet: Sheet, setup: SetupSheet, ending: str, frame: Frame) -> bytes:
    from millprep.canvas.corrected import CorrectedPen

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
