"""`millprep dials PART`: the listing in turns and divisions, read back before it is handed over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

from millprep.cli.common import (
    chosen_format,
    chosen_units,
    chosen_word,
    exit_status,
    hand_over,
    json_text,
    kept_back,
)
from millprep.cli.preparation import Prepared, prepare, wanted_setup
from millprep.errors import Finding
from millprep.planning import ORDERS
from millprep.sheet import make_sheet
from millprep.sheet_dials import DialSheet, make_dial_sheet, refuse_without_dials

if TYPE_CHECKING:
    from millprep.reading.sheets.dials import DialForm


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, order: str,
    data_format: str | None, output: Path | None, force: bool,
) -> int:  # fmt: skip
    """0 when the sheet was handed over, 1 when a stop kept it back."""
    wanted = chosen_format(data_format, output, ("text", "json", "csv"))
    chosen_word("--order", order, ORDERS)
    prepared = prepare(part_path, shop, order)
    refuse_without_dials(prepared.shop)
    number = wanted_setup(setup, prepared.setup_numbers)
    findings = list(prepared.findings)
    if exit_status(findings):
        return kept_back(findings, wanted, "dial sheet")
    shown_units = chosen_units(units, prepared.part.units)
    dials = make_dial_sheet(prepared.plan, make_sheet(prepared.plan, shown_units, findings, number))
    findings = list(dials.findings)
    text = rendered(dials, wanted)
    findings += _disagreements(text, wanted, prepared, number, str(output or "the dial sheet"))
    if exit_status(findings):
        return kept_back(findings, wanted, "dial sheet")
    return hand_over(text, findings, wanted, output, force=force)


def rendered(dials: DialSheet, wanted: str) -> str:
    """The sheet in a format."""
    from millprep.writers.dials_data import dials_csv, dials_json
    from millprep.writers.dials_text import dials_text

    if wanted == "json":
        return json_text(dials_json(dials))
    return dials_csv(dials) if wanted == "csv" else dials_text(dials)


def _disagreements(
    text: str, wanted: str, prepared: Prepared, number: int | None, file: str
) -> list[Finding]:
    """What the second witness finds when it reads the finished bytes."""
    from millprep.witness.dials import check_dials

    setups = [each.setup for each in prepared.plan.setups]
    faces = [setup.face for setup in setups if number in (None, setup.number)]
    return check_dials(
        text.encode(), cast("DialForm", wanted), prepared.part, prepared.shop, file=file,
        setup_numbers_expected=len(setups), faces=None if number is None else faces,
    )  # fmt: skip
