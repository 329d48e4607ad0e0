"""Collects what the moves do wrong, merges runs of it, and keeps a report to a readable length.

Imports layer 0 and numpy.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from millprep.base.bounds import MOST_FINDINGS
from millprep.base.findings import SEVERITIES, Finding, Severity
from millprep.base.records import frozen, replace


@frozen
class Harm:
    """One thing that one move does wrong.

    move  : index of the move; `run` is the same for harms that count as one with their neighbours
            (a hole's pecks); moves that follow each other count as one in any case
    neighbour : harms whose numbers follow each other are one (hole after hole)
    last_line, count : where it already stands for `count` moves that follow each other
    """

    move: int
    severity: Severity
    kind: str
    line: int
    message: str
    remedy: str
    run: object = None
    neighbour: int | None = None
    last_line: int | None = None
    count: int = 1


def stretches(rows: NDArray[np.int64]) -> Iterator[tuple[int, int]]:
    """First and last place in `rows`, ascending, of each stretch of numbers without a gap."""
    ends = np.flatnonzero(np.diff(rows) > 1)
    firsts = np.concatenate([[0], ends + 1]) if rows.size else ends
    lasts = np.concatenate([ends, [rows.size - 1]]) if rows.size else ends
    yield from zip(firsts.tolist(), lasts.tolist(), strict=True)


def merged(harms: Iterable[Harm], file: str) -> tuple[Finding, ...]:
    """Findings in the order of the moves; one for each run of one kind on consecutive moves."""
    found: list[Finding] = []
    open_runs: dict[str, tuple[int, Harm]] = {}
    for harm in sorted(harms, key=lambda harm: harm.move):
        at, last = open_runs.get(harm.kind, (-1, None))
        if last is not None and _is_same_run(last, harm):
            first = found[at]
            last_line = max(first.last_line or 0, harm.last_line or harm.line)
            found[at] = replace(first, last_line=last_line, count=first.count + harm.count)
        else:
            at = len(found)
            found.append(_finding(harm, file))
        open_runs[harm.kind] = (at, harm)
    return capped(found, file)


def _finding(harm: Harm, file: str) -> Finding:
    last_line = harm.last_line if harm.last_line != harm.line else None
    return Finding(
        harm.severity,
        harm.kind,
        harm.message,
        harm.remedy,
        file=file,
        line=harm.line,
        last_line=last_line,
        count=harm.count,
    )


def _is_same_run(last: Harm, harm: Harm) -> bool:
    if last.severity != harm.severity:
        return False
    if harm.run is not None and last.run == harm.run:
        return True
    if harm.neighbour is not None and last.neighbour is not None:
        return harm.neighbour - last.neighbour <= 1
    return harm.move - last.move <= 1


def capped(found: list[Finding], file: str | None) -> tuple[Finding, ...]:
    """The first `MOST_FINDINGS`, worst kept, and a count by kind of the rest."""
    if len(found) <= MOST_FINDINGS:
        return tuple(found)
    by_worth = sorted(range(len(found)), key=lambda i: (SEVERITIES.index(found[i].severity), i))
    kept = sorted(by_worth[:MOST_FINDINGS])
    rest = Counter((found[i].severity, found[i].kind) for i in by_worth[MOST_FINDINGS:])
    return (
        *(found[i] for i in kept),
        *(
            Finding(severity, "many-findings", f"{count} more of {kind}", file=file, count=1)
            for (severity, kind), count in rest.items()
        ),
    )
