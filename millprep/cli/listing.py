"""`millprep listing PART`: plan, check, lay out, read back, then hand over."""

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
from millprep.sheets.listing import Sheet, make_sheet

if TYPE_CHECKING:
    from millprep.reading.pages import SheetForm


FORMATS = ("text", "json", "csv", "html", "pdf")


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, order: str,
    only: str | None, from_step: int | None, data_format: str | None, output: Path | None,
    force: bool, given: Askew | None = None,
) -> int:  # fmt: skip
    """0 when the listing was handed over, 1 when a stop kept it back."""
    wanted = chosen_format(data_format, output, FORMATS)
    refuse_at_terminal(wanted, output)
    chosen_word("--order", order, ORDERS)
    prepared = prepare(part_path, shop, order, given)
    number = wanted_setup(setup, prepared.setup_numbers)
    findings = [*prepared.findings, *letters_to_tell(prepared.part, wanted)]
    if exit_status(findings):
        return kept_back(findings, wanted, "listing")
    shown_units = chosen_units(units, prepared.part.units)
    sheet = make_sheet(prepared.plan, shown_units, prepared.findings, number)
    text = rendered(sheet, wanted)
    findings += _disagreements(text, wanted, prepared, number, str(output or "the listing"))
    if exit_status(findings):
        return kept_back(findings, wanted, "listing")
    if only is not None or from_step is not None:
        part_of = rendered(excerpt_of(sheet, only, from_step), wanted)
        check_rows(_rows(part_of, wanted), _rows(text, wanted))
        text = part_of
    what = sheet_mark("listing", wanted, prepared.part.name, number)
    return hand_over(text, findings, wanted, output, force=force, what=what)


def rendered(sheet: Sheet, wanted: str) -> str | bytes:
    """The sheet in a format."""
    from millprep.writers.listing_data import listing_csv, listing_json
    from millprep.writers.listing_text import listing_text

    if wanted == "json":
        return json_text(listing_json(sheet))
    if wanted == "html":
        from millprep.writers.listing_html import listing_html

        return listing_html(sheet)
    if wanted == "pdf":
        from millprep.writers.listing_pdf import listing_pdf

        return listing_pdf(sheet)
    return listing_csv(sheet) if wanted == "csv" else listing_text(sheet)


def _disagreements(
    text: str | bytes, wanted: str, prepared: Prepared, number: int | None, file: str
) -> list[Finding]:
    """What the second witness finds when it reads the finished bytes."""
    from millprep.witness.listing import check_listing

    plan = prepared.plan
    faces = [
        setup_plan.setup.face
        for setup_plan in plan.setups
        if number is not None and setup_plan.setup.number == number
    ]
    data, part = as_bytes(text), part_as_shown(prepared.part, wanted)
    return check_listing(
        data, cast("SheetForm", wanted), part, prepared.shop.readout, file=file,
        setup_numbers_expected=len(plan.setups), faces=faces or None,
        skews={one.setup.face: one.skew_deg for one in plan.setups},
        dials=prepared.shop.dials, finder=prepared.shop.finder,
    )  # fmt: skip


def _rows(text: str | bytes, wanted: str) -> set[str]:
    """Every row of figures in a listing."""
    if isinstance(text, bytes):
        return pdf_rows(text)
    if wanted == "json":
        return json_rows(text)
    if wanted == "html":
        return html_rows(text)
    return {*text.splitlines()} if wanted == "csv" else text_rows(text.splitlines())
