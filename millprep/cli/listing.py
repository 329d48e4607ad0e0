"""`millprep listing PART`: plan, check, lay out, read back, then hand over."""

from __future__ import annotations

import sys
from pathlib import Path

from millprep.cli.common import (
    chosen_format,
    chosen_units,
    chosen_word,
    emit,
    exit_status,
    findings_object,
    json_text,
    print_findings,
)
from millprep.cli.preparation import prepare, wanted_setup
from millprep.errors import Finding, MillprepError
from millprep.planning import ORDERS
from millprep.sheet import Sheet, filtered, make_sheet


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, order: str,
    only: str | None, from_step: int | None, data_format: str | None, output: Path | None,
    force: bool,
) -> int:  # fmt: skip
    """0 when the listing was handed over, 1 when a stop kept it back."""
    wanted = chosen_format(data_format, output, ("text", "json", "csv"))
    chosen_word("--order", order, ORDERS)
    prepared = prepare(part_path, shop, order)
    number = wanted_setup(setup, prepared.setup_numbers)
    findings = list(prepared.findings)
    if exit_status(findings):
        return _kept_back(findings, wanted)
    shown_units = chosen_units(units, prepared.part.units)
    sheet = make_sheet(prepared.plan, shown_units, findings, number)
    text = rendered(sheet, wanted)
    findings += _disagreements(text, wanted, prepared.part, str(part_path))
    if exit_status(findings):
        return _kept_back(findings, wanted)
    if only is not None or from_step is not None:
        text = _excerpt(sheet, text, only, from_step, wanted)
    print_findings(findings)
    emit(text, output, force=force)
    return 0


def rendered(sheet: Sheet, wanted: str) -> str:
    """The sheet in a format."""
    from millprep.writers.listing_data import listing_csv, listing_json
    from millprep.writers.listing_text import listing_text

    if wanted == "json":
        return json_text(listing_json(sheet))
    return listing_csv(sheet) if wanted == "csv" else listing_text(sheet)


def _kept_back(findings: list[Finding], wanted: str) -> int:
    if wanted == "json":
        print(json_text(findings_object(findings)), end="")
    print_findings(findings)
    print("no listing: see the stops above", file=sys.stderr)
    return 1


def _disagreements(text: str, wanted: str, part: object, file: str) -> list[Finding]:
    """What the second witness finds when it reads the finished text."""
    return []


def _excerpt(sheet: Sheet, whole: str, only: str | None, from_step: int | None, wanted: str) -> str:
    """The steps of one hole, or from a step on, of a listing that the witness has passed."""
    part_of = filtered(sheet, only, from_step)
    if not part_of.setups:
        names = ", ".join(dict.fromkeys(step.hole for s in sheet.setups for step in s.steps))
        what = f'no hole "{only}"' if only is not None else f"no step {from_step} or later"
        raise MillprepError(Finding("stop", "unknown-word", what, f"holes: {names[:300]}"))
    return rendered(part_of, wanted)
