"""Excerpts of a sheet: the steps of one hole, or from a step on, each a row that was witnessed."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from typing import TYPE_CHECKING, Any

from millprep.base.findings import stopped
from millprep.base.records import replace

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.planning import Operation, Plan
    from millprep.reading.pages.printed import PrintedRow
    from millprep.sheets.listing import Keeps


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


def steps_of(data: bytes, sheet: str, form: Any, part: Part) -> set[tuple[int, PrintedRow, str]]:
    """Every step of a sheet for the mill, read back, with the number of its setup and its cells,
    but for where an excerpt may have to go back first."""
    from millprep.reading.pages.forms import read_sheet
    from millprep.reading.pages.slots import names_by_letters
    from millprep.reading.pages.steps import setup_of

    holes = [name for one in part.holes for name in (one.name, one.group)]
    names = names_by_letters(hole=[*holes, *(one.hole for one in part.left)])
    read = read_sheet(data, sheet, form, names, table="steps", pages="setup")
    found = set()
    for page in read.pages:
        setup = setup_of(page, read.units)
        rows = [row.said.slots for row in page.whole.rows if "step" in row.said.slots]
        for step, cells in zip(setup.rows, rows, strict=True):
            found.add((setup.number, replace(step, line=None), str(_without_back(cells))))
    return found


def _without_back(cells: Mapping[str, Any]) -> dict[str, Any]:
    """The cells of a row but for where the dials go back first."""
    return {
        name: _without_back(value) if isinstance(value, Mapping) else value
        for name, value in cells.items()
        if "back" not in name and name != "said"
    }


def check_rows(rows: set[Any], whole: set[Any]) -> None:
    """A row that is not one of the witnessed sheet's is a bug."""
    if not rows or not rows <= whole:
        raise AssertionError("an excerpt differs from its sheet")
