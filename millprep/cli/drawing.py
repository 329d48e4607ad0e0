"""`millprep drawing PART -o FILE`: a page for each setup, in the format that the ending names."""

from __future__ import annotations

from pathlib import Path

from millprep.cli.common import chosen_units, exit_status, numbered_path, print_findings
from millprep.cli.preparation import prepare, wanted_setup
from millprep.errors import Finding, MillprepError
from millprep.outfile import sealed, write_files
from millprep.sheet import SetupSheet, Sheet, make_sheet

ENDINGS = (".svg",)


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, output: Path, force: bool
) -> int:
    """0 when the drawings were written, 1 when a stop kept them back."""
    if output.suffix.lower() not in ENDINGS:
        raise MillprepError(
            Finding(
                "stop", "unknown-word", f'no drawing is written as "{output.suffix}"',
                f"endings: {', '.join(ENDINGS)}", file=str(output),
            )
        )  # fmt: skip
    prepared = prepare(part_path, shop)
    number = wanted_setup(setup, prepared.setup_numbers)
    print_findings(prepared.findings)
    if exit_status(prepared.findings):
        return 1
    shown = chosen_units(units, prepared.part.units)
    sheet = make_sheet(prepared.plan, shown, prepared.findings, number)
    several = len(sheet.setups) > 1
    contents = {
        numbered_path(output, one.number if several else None, None): drawn(sheet, one)
        for one in sheet.setups
    }
    changed = set(write_files(contents, force=force))
    for path in contents:
        print(f"{path}: {'written' if path in changed else 'unchanged'}")
    return 0


def drawn(sheet: Sheet, setup: SetupSheet) -> bytes:
    """The drawing of one setup."""
    from millprep.canvas.svg import SvgPen
    from millprep.writers.drawing import draw, frame_for

    paper = frame_for(setup).paper
    pen = SvgPen(paper.width_mm, paper.height_mm, f"{sheet.part}, {setup.face.upper()} up")
    draw(sheet, setup, pen)
    return sealed(pen.document())
