"""A stock given in the wrong unit: what comes of it as one finding, with the option to write.

What follows from the unit is found out by running the programs on the same stock in the other one:
what is gone then has no other cause. Imports the findings only.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence

from millprep.base.findings import Finding, has_stop, words
from millprep.base.records import replace

SUSPECT = "units-suspect"


def one_cause(
    findings: Sequence[Finding], option: str, again: Callable[[], Sequence[Finding]]
) -> list[Finding]:
    """The findings, those that come of the wrong unit as one.

    option : that gives the stock in the other unit; again : what is found on that
    """
    suspected = [one for one in findings if one.kind == SUSPECT]
    there = again() if suspected else ()
    if not suspected or any(one.kind == SUSPECT for one in there):
        return list(findings)
    known = {_place(one) for one in there}
    rest = [one for one in findings if one.kind != SUSPECT and _place(one) not in known]
    kinds = ", ".join(f"{kind} {n}" for kind, n in Counter(one.kind for one in rest).items())
    follows = f"; {len(rest)} more {{follow}} from it ({kinds})" if rest else ""
    first = replace(
        suspected[0],
        severity="stop" if has_stop(rest) else "warning",
        said=words(
            f"{{said}}{follows}",
            said=suspected[0].said,
            follow="findings follow" if len(rest) > 1 else "finding follows",
        ),
        advice=words(
            "if the stock is what you gave, but in the other unit, write {option}; else {advice}",
            option=option,
            advice=suspected[0].advice,
        ),
    )
    return [first, *(one for one in findings if one.kind != SUSPECT and _place(one) in known)]


def _place(one: Finding) -> tuple[object, ...]:
    return one.severity, one.kind, one.file, one.line


def unit_first(findings: Sequence[Finding]) -> list[Finding]:
    """A wrong unit before all else: nothing below it means what it says."""
    return sorted(findings, key=lambda one: one.kind != SUSPECT)
