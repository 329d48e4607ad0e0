"""A sheet as a terminal shows it: a plan of each setup in characters, above its first step.

Nothing of it is in a file or goes into a pipe; the sheet below it is the one that was read back.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from millprep.proven.preparation import Prepared

_SETUP = re.compile(r"\bsetup (\d+) of \d+: ", re.ASCII)
_RULE = re.compile(r"-{40,}")


def with_plans(text: str, prepared: Prepared, columns: int) -> str:
    """The text of a listing or dial sheet with its plans; as it is where there are few columns."""
    return "".join(_lines(text, _plans(prepared, columns)))


def _plans(prepared: Prepared, columns: int) -> dict[int, list[str]]:
    """The lines of each setup's plan."""
    from millprep.sheets.figures import Figures
    from millprep.sheets.view import steps_by_hole, view_of
    from millprep.writers.plan_text import plan_lines

    part, plan = prepared.part, prepared.plan
    figures = Figures(part.units, plan.shop.readout)
    return {
        one.setup.number: plan_lines(
            view_of(part, one.setup, one.square, figures), steps_by_hole(one.operations), columns
        )
        for one in plan.setups
    }


def _lines(text: str, plans: dict[int, list[str]]) -> Iterator[str]:
    """A plan stands before the second rule of its page: below setting up, above the first tool."""
    number, rules = 0, 0
    for line in text.splitlines(keepends=True):
        begins = _SETUP.search(line)
        if begins is not None and (rules != 1 or not number):
            number, rules = int(begins[1]), 0
        elif _RULE.match(line):
            rules += 1
            if rules == 2:
                yield from (f"{one}\n" for one in plans.pop(number, ()))
        yield line
