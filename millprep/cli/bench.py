"""`millprep bench PART -o FILE.html`: all setups on one page, read back before it goes out."""

from __future__ import annotations

import sys
from pathlib import Path

from millprep.base.findings import Finding, MillprepError
from millprep.base.outfile import sealed, sheet_mark, write_files
from millprep.base.units import Units
from millprep.cli.common import chosen_units, chosen_word, exit_status, print_findings, state_of
from millprep.cli.preparation import Askew, Prepared, prepare, wanted_setup
from millprep.planning import ORDERS
from millprep.sheets.listing import make_sheet

ENDINGS = (".html", ".htm")


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, order: str, output: Path,
    force: bool, given: Askew | None = None,
) -> int:  # fmt: skip
    """0 when the page was written, 1 when a stop kept it back."""
    if output.suffix.lower() not in ENDINGS:
        raise MillprepError(
            Finding(
                "stop", "unknown-word", f'the bench page is not written as "{output.suffix}"',
                f"endings: {', '.join(ENDINGS)}", file=str(output),
            )
        )  # fmt: skip
    chosen_word("--order", order, ORDERS)
    prepared = prepare(part_path, shop, order, given)
    number = wanted_setup(setup, prepared.setup_numbers)
    findings = list(prepared.findings)
    shown = chosen_units(units, prepared.part.units)
    if not exit_status(findings):
        data = page(prepared, shown, number)
        findings += _disagreements(data, prepared, number, str(output))
    print_findings(findings)
    if exit_status(findings):
        print("no bench page: see the stops above", file=sys.stderr)
        return 1
    changed = write_files({output: data}, force=force)
    print(state_of(output, changed))
    return 0


def page(prepared: Prepared, units: Units, setup: int | None = None) -> bytes:
    """The finished page."""
    from millprep.writers.bench import bench_page

    mm = make_sheet(prepared.plan, "mm", prepared.findings, setup)
    inch = make_sheet(prepared.plan, "inch", prepared.findings, setup)
    what = sheet_mark("bench", "html", prepared.part.name, setup)
    return sealed(bench_page(mm, inch, units), what)


def _disagreements(data: bytes, prepared: Prepared, number: int | None, file: str) -> list[Finding]:
    """What the second witness finds in the page as it looks in mm, and as it looks in inches."""
    from millprep.reading.pages import SheetForm
    from millprep.witness.listing import check_listing

    plan = prepared.plan
    faces = [one.setup.face for one in plan.setups if one.setup.number == number]
    looks: tuple[SheetForm, ...] = ("bench mm", "bench inch")
    return [
        finding
        for look in looks
        for finding in check_listing(
            data, look, prepared.part, prepared.shop.readout, file=file,
            setup_numbers_expected=len(plan.setups), faces=faces or None,
            skews={one.setup.face: one.skew_deg for one in plan.setups},
        dials=prepared.shop.dials, finder=prepared.shop.finder,
        )
    ]  # fmt: skip
