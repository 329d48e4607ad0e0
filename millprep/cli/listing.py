"""`millprep listing PART`: plan, check, lay out, read back, then hand over."""

from __future__ import annotations

from difflib import get_close_matches
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
from millprep.cli.preparation import Askew, Prepared, prepare, wanted_setup
from millprep.errors import Finding, MillprepError
from millprep.planning import ORDERS
from millprep.sheet import Sheet, filtered, is_named, make_sheet

if TYPE_CHECKING:
    from millprep.reading.sheets import SheetForm


def run(
    part_path: Path, shop: str, units: str | None, setup: int | None, order: str,
    only: str | None, from_step: int | None, data_format: str | None, output: Path | None,
    force: bool, given: Askew | None = None,
) -> int:  # fmt: skip
    """0 when the listing was handed over, 1 when a stop kept it back."""
    wanted = chosen_format(data_format, output, ("text", "json", "csv", "html"))
    chosen_word("--order", order, ORDERS)
    prepared = prepare(part_path, shop, order, given)
    number = wanted_setup(setup, prepared.setup_numbers)
    findings = list(prepared.findings)
    if exit_status(findings):
        return kept_back(findings, wanted, "listing")
    shown_units = chosen_units(units, prepared.part.units)
    sheet = make_sheet(prepared.plan, shown_units, findings, number)
    text = rendered(sheet, wanted)
    findings += _disagreements(text, wanted, prepared, number, str(output or "the listing"))
    if exit_status(findings):
        return kept_back(findings, wanted, "listing")
    if only is not None or from_step is not None:
        text = _excerpt(sheet, text, only, from_step, wanted)
    return hand_over(text, findings, wanted, output, force=force)


def rendered(sheet: Sheet, wanted: str) -> str:
    """The sheet in a format."""
    from millprep.writers.listing_data import listing_csv, listing_json
    from millprep.writers.listing_text import listing_text

    if wanted == "json":
        return json_text(listing_json(sheet))
    if wanted == "html":
        from millprep.writers.listing_html import listing_html

        return listing_html(sheet)
    return listing_csv(sheet) if wanted == "csv" else listing_text(sheet)


def _disagreements(
    text: str, wanted: str, prepared: Prepared, number: int | None, file: str
) -> list[Finding]:
    """What the second witness finds when it reads the finished bytes."""
    from millprep.witness.listing import check_listing

    plan = prepared.plan
    faces = [
        setup_plan.setup.face
        for setup_plan in plan.setups
        if number is not None and setup_plan.setup.number == number
    ]
    return check_listing(
        text.encode(), cast("SheetForm", wanted), prepared.part, prepared.shop.readout, file=file,
        setup_numbers_expected=len(plan.setups), faces=faces or None,
        skews={one.setup.face: one.skew_deg for one in plan.setups}, dials=prepared.shop.dials,
    )  # fmt: skip


def _excerpt(sheet: Sheet, whole: str, only: str | None, from_step: int | None, wanted: str) -> str:
    """The steps of one hole, or from a step on: each a row of the listing that was witnessed."""
    part_of = filtered(sheet, only, from_step)
    if part_of.setups:
        text = rendered(part_of, wanted)
        if not _rows(text, wanted) <= _rows(whole, wanted):
            raise AssertionError("an excerpt differs from its listing")
        return text
    steps = [step for setup in sheet.setups for step in setup.steps]
    if only is not None and all(not is_named(step, only) for step in steps):
        names = list(dict.fromkeys(step.hole for step in steps))
        near = get_close_matches(only, names, 3, 0.5) or names[:8]
        what, remedy = f'no hole "{only}"', f"nearest: {', '.join(near)}"
    else:
        what, remedy = f"no step {from_step} or later", f"steps: 1 to {max(s.step for s in steps)}"
    raise MillprepError(Finding("stop", "unknown-word", what, remedy))


def _rows(text: str, wanted: str) -> set[object]:
    """Every row of figures in a listing, its blanks folded."""
    if wanted == "json":
        import json

        return {json_text(step) for setup in json.loads(text)["setups"] for step in setup["steps"]}
    lines = (" ".join(line.split()) for line in text.splitlines())
    return {line for line in lines if wanted == "csv" or line.startswith("[ ]")}
