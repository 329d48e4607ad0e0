"""Row by row: one axis locked, the other worked one way only, as dials want it.

Every time the working axis goes back to begin a row, backlash can get into its dial: such returns
are counted, and rows along X or along Y taken by which has fewer settings and returns. Imports
layers 0 to 3.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.setting.setups import Setup

Floats = NDArray[np.float64]

SAME_ROW_MM = 0.01  # closer than any dial is set
AXES = "XY"


@frozen
class Rows:
    """Points in rows.

    order    : numbers of the points, as they are visited
    locked   : 0 when X is locked and Y worked, 1 when Y is locked and X worked
    settings : how often the locked axis is set; returns : places in `order` before which the
               working axis goes back
    """

    order: tuple[int, ...]
    locked: int
    settings: int
    returns: tuple[int, ...]


def ways_of(setup: Setup) -> tuple[int, int]:
    """1 or -1 for X and Y: the way from zero into the part; up where zero is in its middle."""
    x, y = (
        1 if setup.high_mm[axis] >= -setup.low_mm[axis] - SAME_ROW_MM else -1 for axis in (0, 1)
    )
    return x, y


def in_rows(points_mm: Floats, ways: tuple[int, int] = (1, 1)) -> Rows:
    """Points (2, N) in rows along X or along Y, whichever is less to set.

    ways : the way in which X and Y are worked, 1 or -1 each
    """
    along_x, along_y = _in_rows(points_mm, 1, ways), _in_rows(points_mm, 0, ways)
    return min(along_x, along_y, key=lambda rows: _cost(rows, points_mm))


def _cost(rows: Rows, points_mm: Floats) -> tuple[int, float]:
    """Settings and returns first; then how far the handle of the working axis is wound."""
    worked = points_mm[1 - rows.locked, list(rows.order)]
    return rows.settings + len(rows.returns), round(float(np.abs(np.diff(worked)).sum()), 6)


def _in_rows(points_mm: Floats, locked: int, ways: tuple[int, int]) -> Rows:
    """The locked axis goes its way from row to row, the other its way along each row."""
    set_at, worked = points_mm[locked] * ways[locked], points_mm[1 - locked] * ways[1 - locked]
    rows: list[list[int]] = []
    start = 0.0
    for index in np.argsort(set_at, kind="stable").tolist():
        if not rows or set_at[index] > start + SAME_ROW_MM:
            rows.append([])
            start = float(set_at[index])
        rows[-1].append(index)
    for row in rows:
        row.sort(key=lambda index: float(worked[index]))
    order = tuple(index for row in rows for index in row)
    returns = tuple(
        place
        for place, (before, here) in enumerate(pairwise(order), 1)
        if worked[here] < worked[before] - SAME_ROW_MM
    )
    return Rows(order, locked, len(rows), returns)
