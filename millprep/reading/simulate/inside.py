"""Which moves are made with the tool in the hole that it works on, and the first bad one a hole.

              |     |   R
        ______|_____|______ mouth: below it the tool touches the hole
              |  T  |
              |_____|       what begins or ends here is made in the hole

Imports `path`, `strokes`, `findings`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from millprep.base.findings import Severity
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.path import Flags, Path
from millprep.reading.simulate.strokes import Strokes
from millprep.reference.shared_rules import TOUCH_MM


def moves_inside(path: Path, cuts: Flags, strokes: Strokes) -> Flags:
    """(N,) upright moves and dwells of a tool in the hole that it cuts, cuts themselves included.

    Where no stock is known nobody knows the mouth: only what is done at a hole's bottom counts.
    """
    if not path.first.size:
        return np.zeros(len(path.moves), dtype=bool)
    bottom = np.where(np.isfinite(strokes.low), strokes.low + 2 * TOUCH_MM, np.nan)
    mouth = np.where(np.isinf(strokes.solid), bottom, strokes.solid)
    stroke = np.maximum(path.stroke, 0)
    works = np.zeros(path.first.size, dtype=bool)
    works[path.stroke[cuts & (path.stroke >= 0)]] = True
    with np.errstate(invalid="ignore"):
        is_low = np.fmin(path.start[2], path.end[2]) < mouth[stroke] - TOUCH_MM
    return np.asarray((path.stroke >= 0) & works[stroke] & (is_low | cuts))


def goes(path: Path) -> Flags:
    """(N,) whether a move changes the height; a way to where nobody knows does."""
    with np.errstate(invalid="ignore"):
        return np.asarray(~(np.abs(path.end[2] - path.start[2]) < TOUCH_MM))


def place(path: Path, row: int) -> str:
    x, y, _ = path.end[:, row]
    return f"X{x:.3f} Y{y:.3f}"


def strokes_of(path: Path, rows: Flags) -> Flags:
    """(N,) every move of a stroke that holds one of `rows`."""
    numbers = np.unique(path.stroke[rows & (path.stroke >= 0)])
    return np.isin(path.stroke, numbers)


def first_in_hole(path: Path, bad: Flags) -> Flags:
    """(N,) of the `bad` moves only the first of each stroke."""
    rows = np.flatnonzero(bad)
    _, first = np.unique(path.stroke[rows], return_index=True)
    firsts = np.zeros_like(bad)
    firsts[rows[first]] = True
    return firsts


def harms_by_hole(
    path: Path,
    bad: Flags,
    severity: Severity,
    kind: str,
    words: Callable[[int], tuple[str, str]],
    *,
    is_one_slip: bool = False,
) -> list[Harm]:
    """One harm a hole, at its first `bad` move; hole after hole is told once if it is one slip."""
    harms = []
    for row in np.flatnonzero(first_in_hole(path, bad)).tolist():
        number = int(path.stroke[row])
        message, remedy = words(row)
        neighbour = number if is_one_slip else None
        line, run = int(path.moves.line[row]), (kind, number)
        harms.append(Harm(row, severity, kind, line, message, remedy, run, neighbour))
    return harms
