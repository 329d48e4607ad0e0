"""Excerpts of a sheet: the steps of one hole, or from a step on, each a row that was witnessed."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from millprep.base.findings import stopped
from millprep.base.plain_text import json_text
from millprep.base.records import replace

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.planning import Operation, Plan
    from millprep.reading.pages.printed import PrintedRow
    from millprep.sheets.listing import Keeps
    from millprep.sheets.setup_sheet import Sheet

_BACK = "first back past it to"  # an excerpt may have to go back where the whole sheet has not


def keeps_of(plan: Plan, number: int | None, only: str | None, from_step: int | None) -> Keeps:
    """Which steps are asked for. Raises MillprepError where there are none."""
    setups = [one for one in plan.setups if number in (None, one.setup.number)]
    names = dict.fromkeys(one.hole.name for setup in setups for one in setup.operations)

    def is_named(name: str) -> bool:
        return only is None or name == only or name.startswith(f"{only} ")

    def keeps(step: int, operation: Operation) -> bool:
        return is_named(operation.hole.name) and (from_step is None or step >= from_step)

    if any(keeps(*one) for setup in setups for one in enumerate(setup.operations, 1)):
        return keeps
    if only is not None and not any(map(is_named, names)):
        near = get_close_matches(only, names, 3, 0.5) or [*names][:8]
        what, remedy = f'no hole "{only}"', f"nearest: {', '.join(near)}"
    else:
        last = max(len(setup.operations) for setup in setups)
        what, remedy = f"no step {from_step} or later", f"steps: 1 to {last}"
    raise stopped("unknown-word", what, remedy)


def steps_of(data: bytes, form: Any, part: Part) -> set[tuple[int, PrintedRow]]:
    """Every step of a listing, read back, with the number of its setup."""
    from millprep.reading.pages.forms import read_sheet
    from millprep.reading.pages.slots import names_by_letters
    from millprep.reading.pages.steps import setup_of

    names = names_by_letters(hole=[hole.name for hole in part.holes])
    sheet = read_sheet(data, "listing", form, names, table="steps", pages="setup")
    setups = [setup_of(page, sheet.units) for page in sheet.pages]
    return {(setup.number, replace(row, line=None)) for setup in setups for row in setup.rows}


def excerpt_of(sheet: Sheet, only: str | None, from_step: int | None) -> Sheet:
    """The excerpt. Raises MillprepError where it has no steps."""
    from millprep.sheets.setup_sheet import filtered, is_named

    part_of = filtered(sheet, only, from_step)
    if part_of.setups:
        return part_of
    steps = [step for setup in sheet.setups for step in setup.steps]
    if only is not None and all(not is_named(step, only) for step in steps):
        names = list(dict.fromkeys(step.hole for step in steps))
        near = get_close_matches(only, names, 3, 0.5) or names[:8]
        what, remedy = f'no hole "{only}"', f"nearest: {', '.join(near)}"
    else:
        what, remedy = f"no step {from_step} or later", f"steps: 1 to {max(s.step for s in steps)}"
    raise stopped("unknown-word", what, remedy)


def check_rows(rows: set[Any], whole: set[Any]) -> None:
    """A row that is not one of the witnessed sheet's is a bug."""
    if not rows or not rows <= whole:
        raise AssertionError("an excerpt differs from its sheet")


def rows_of(text: str | bytes, form: str) -> set[str]:
    """Every row of figures in a listing or a dial sheet, but for where it goes back first."""
    if isinstance(text, bytes):
        return _pdf_rows(text)
    if form == "text":
        return _text_rows(text.splitlines())
    return {"json": _json_rows, "html": _html_rows, "csv": _csv_rows}[form](text)


def _csv_rows(text: str) -> set[str]:
    import csv

    rows = csv.DictReader(text.splitlines())
    return {str({k: v for k, v in row.items() if "_back_" not in k}) for row in rows}


def _text_rows(lines: Iterable[str]) -> set[str]:
    """Every row of a text sheet with what hangs on it, blanks folded."""
    rows: list[str] = []
    is_row = False
    for line in lines:
        if line.startswith("[ ]"):
            rows.append(" ".join(line.split()))
        elif line.startswith(" " * 10) and is_row and _BACK not in line:
            rows[-1] += " " + " ".join(line.split())
        is_row = line.startswith("[ ]") or (is_row and line.startswith(" " * 10))
    return {*rows}


def _json_rows(text: str) -> set[str]:
    """Every step of a json sheet."""
    steps = [step for setup in json.loads(text)["setups"] for step in setup["steps"]]
    for step in steps:
        for axis in ("x", "y"):
            if isinstance(step[axis], dict):
                step[axis]["back_off"] = None
    return {json_text(step) for step in steps}


def _html_rows(text: str) -> set[str]:
    """Every step of a page to print."""
    rows = re.findall(r'<tbody data-read="step">.*?</tbody>', text, re.DOTALL)
    return {
        " ".join(
            re.sub(
                r'<tr>(?:(?!</tr>).)*data-field="[xy]_back".*?</tr>', "", row, flags=re.DOTALL
            ).split()
        )
        for row in rows
    }


def _pdf_rows(data: bytes) -> set[str]:
    """Every row of pages to print."""
    from millprep.reading.pages.pdf import pdf_setups

    return _text_rows(line for setup in pdf_setups(data) for _, line in setup)
