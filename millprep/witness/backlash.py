"""Holes that a program comes up to from two sides, on a mill whose backlash nothing takes up.

What spots the hole and what drills it are then apart by the backlash. Imports the part and
`reading`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from millprep.base.findings import Finding
from millprep.model.part import Hole, Part
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.moves import FEED, ProgramRun
from millprep.witness import Floats, Lay, matched, wanted_of

_STILL_MM = 1e-6
_HERE_MM = 0.01


def two_sided(
    part: Part,
    lay: Lay,
    holes: Sequence[MadeHole],
    runs: Mapping[str, ProgramRun],
    loose_mm: tuple[float, float],
) -> Iterator[Finding]:
    """One warning that names every such hole of which the part file gives a tolerance or a fit.

    holes : in setup axes; loose_mm : the backlash in X and in Y, 0 where it does not tell
    """
    if not any(loose_mm):
        return
    ways = {file: _Ways(run) for file, run in runs.items()}
    wanted, places = wanted_of(part, lay)
    pairs, _, _ = matched(places, holes)
    names, lines = [], []
    for index, made in pairs:
        hole = wanted[index].hole
        met = [ways[one.file].of(one, made) for one in made.operations if one.file in ways]
        sides = [{signs[axis] for signs in met if signs[axis]} for axis in (0, 1)]
        is_so = any(loose and len(side) > 1 for loose, side in zip(loose_mm, sides, strict=True))
        if is_so and _is_toleranced(hole):
            names.append(hole.name)
            lines += [one.line for one in made.operations if one.line is not None]
    if names:
        more = f" and {len(names) - 1} more are" if len(names) > 1 else " is"
        yield Finding(
            "warning",
            "two-sided",
            f"{names[0]}{more} come up to from two sides: with the backlash there is, up to "
            f"{max(loose_mm):g} mm lies between one tool and the next",
            "go a millimetre short of each hole on the minus side first, then on to it",
            file=next(iter(runs)),
            line=min(lines, default=None),
            holes=tuple(names),
        )


def _is_toleranced(hole: Hole) -> bool:
    return any(each is not None for each in (hole.tolerance_mm, hole.position_mm, hole.fit))


class _Ways:
    """Which way each move of a program last went along X and along Y."""

    def __init__(self, run: ProgramRun) -> None:
        moves = run.moves
        self._end: Floats = moves.end + moves.shift
        self._signs = [_last_sign(moves.end[axis] - moves.start[axis]) for axis in (0, 1)]
        is_down = (moves.kind == FEED) & (moves.end[2] < moves.start[2])
        rows = np.flatnonzero(is_down)
        self._rows = rows[np.argsort(moves.line[rows], kind="stable")]
        self._lines = moves.line[self._rows]

    def of(self, operation: MadeOperation, made: MadeHole) -> tuple[int, int]:
        """The signs of the last moves before the operation; 0 where there was none."""
        x = made.x_mm if operation.x_mm is None else operation.x_mm
        y = made.y_mm if operation.y_mm is None else operation.y_mm
        low, high = np.searchsorted(self._lines, [operation.line or 0, (operation.line or 0) + 1])
        for row in self._rows[low:high].tolist():
            if np.hypot(self._end[0, row] - x, self._end[1, row] - y) < _HERE_MM:
                return int(self._signs[0][row]), int(self._signs[1][row])
        return 0, 0


def _last_sign(steps: Floats) -> Floats:
    """Of each move the sign of the last step that was not nothing, its own included."""
    signs = np.where(np.abs(steps) > _STILL_MM, np.sign(steps), 0.0)
    last = np.maximum.accumulate(np.where(signs != 0, np.arange(signs.size), -1))
    return np.where(last >= 0, signs[np.maximum(last, 0)], 0.0)
