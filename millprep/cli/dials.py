"""`millprep dials PART`: the listing in turns and divisions, read back before it is handed over."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

from millprep.base.findings import Finding
from millprep.base.outfile import sheet_mark
from millprep.cli.common import (
    as_bytes,
    chosen_format,
    chosen_units,
    chosen_word,
    exit_status,
    hand_over,
    json_text,
    kept_back,
    refuse_at_terminal,
)
from millprep.cli.excerpt import check_rows, excerpt_of, html_rows, json_rows, pdf_rows, text_rows
from millprep.cli.letters import letters_to_tell, part_as_shown
from millprep.cli.preparation import Askew, Prepared, prepare, wanted_setup
from millprep.planning import ORDERS
from millprep.sheets.dials import DialSheet, excerpt, make_dial_sheet, refuse_without_dials
from millprep.sheets.listing import make_sheet

if TYPE_CHECKING:
    from millprep.reading.pages.dials import DialForm


FORMATS = ("text", "json", "csv", "html", "pdf")


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, order: str,
    only: str | None, from_step: int | None, data_format: str | None, output: Path | None,
    force: bool, given: Askew | None = None,
) -> int:  # fmt: skip
    """0 when the sheet was handed over, 1 when a stop kept it back."""
    wanted = chosen_format(data_format, output, FORMATS)
    refuse_at_terminal(wanted, output)
    chosen_word("--order", order, ORDERS)
    prepared = prepare(part_path, shop, order, given)
    refuse_without_dials(prepared.shop)
    number = wanted_setup(setup, prepared.setup_numbers)
    told = letters_to_tell(prepared.part, wanted)
    findings = [*prepared.findings, *told]
    if exit_status(findings):
        return kept_back(findings, wanted, "dial sheet")
    shown_units = chosen_units(units, prepared.part.units)
    sheet = make_sheet(prepared.plan, shown_units, prepared.findings, number)
    dials = make_dial_sheet(prepared.plan, sheet)
    findings = [*dials.findings, *told]
    text = rendered(dials, wanted)
    findings += _disagreements(text, wanted, prepared, number, str(output or "the dial sheet"))
    if exit_status(findings):
        return kept_back(findings, wanted, "dial sheet")
    if only is not None or from_step is not None:
        part_of = rendered(excerpt(dials, excerpt_of(sheet, only, from_step)), wanted)
        check_rows(_rows(part_of, wanted), _rows(text, wanted))
        text = part_of
    what = sheet_mark("dials", wanted, prepared.part.name, number)
    return hand_over(text, findings, wanted, output, force=force, what=what)


def rendered(dials: DialSheet, wanted: str) -> str | bytes:
    """The sheet in a format."""
    from millprep.writers.dials_data import dials_csv, dials_json
    from millprep.writers.dials_text import dials_text

    if wanted == "json":
        return json_text(dials_json(dials))
    if wanted == "html":
        from millprep.writers.dials_html import dials_html

        return dials_html(dials)
    if wanted == "pdf":
        from millprep.writers.dials_pdf import dials_pdf

        return dials_pdf(dials)
    return dials_csv(dials) if wanted == "csv" else dials_text(dials)


def _disagreements(
    text: str | bytes, wanted: str, prepared: Prepared, number: int | None, file: str
) -> list[Finding]:
    """What the second witness finds when it reads the finished bytes."""
    from millprep.witness.dials import check_dials

    setups = prepared.plan.setups
    faces = [each.setup.face for each in setups if number in (None, each.setup.number)]
    return check_dials(
        as_bytes(text), cast("DialForm", wanted), part_as_shown(prepared.part, wanted),
        prepared.shop, file=file,
        setup_numbers_expected=len(setups), faces=None if number is None else faces,
        skews={each.setup.face: each.skew_deg for each in setups},
    )  # fmt: skip


def _rows(text: str | bytes, wanted: str) -> set[str]:
    """Every row of settings in a dial sheet, but for where it goes back first."""
    if isinstance(text, bytes):
        return pdf_rows(text)
    if wanted == "json":
        return json_rows(text)
    if wanted == "csv":
        import csv

        rows = csv.DictReader(text.splitlines())
        return {str({k: v for k, v in row.items() if "_back_" not in k}) for row in rows}
    return html_rows(text) if wanted == "html" else text_rows(text.splitlines())
