"""What sideways cuts remove: the height that is left, square by square.

Coarse on purpose. A hole-making program seldom mills; when it does, a rapid in the room it has
made must not count as a crash. Squares wholly under the tool are cut down to its tip; a tool is
clear where all squares wholly under it are. Imports numpy, `path` and the scene.
"""

from __future__ import annotations

import numpy as np

from millprep.reading.simulate.path import Flags, Floats, Path, chords
from millprep.reading.simulate.solid import TOUCH_MM
from millprep.scene import Box, Disc

SQUARE_MM = 0.5
MOST_SQUARES = 250_000
_HALF_DIAGONAL = 0.7072  # of a square of side 1


class Milled:
    """The height left over the stock, brought up to date move by move.

    cutting : (N,) the moves that mill
    """

    def __init__(self, path: Path, cutting: Flags, stock: Box | Disc) -> None:
        low, high = np.array(stock.low_mm), np.array(stock.high_mm)
        size = high[:2] - low[:2]
        self._square = max(SQUARE_MM, float(np.sqrt(size.prod() / MOST_SQUARES)))
        shape = np.maximum(1, np.ceil(size / self._square).astype(int))
        self._low = low
        self._height = np.full(shape, high[2])
        self._x = low[0] + (np.arange(shape[0]) + 0.5) * self._square
        self._y = low[1] + (np.arange(shape[1]) + 0.5) * self._square
        self._owner, self._start, self._end = chords(path, np.flatnonzero(cutting))
        self._radius = path.radius[self._owner]
        self._done = 0

    def cut_until(self, move: int) -> None:
        """Takes away what the moves before this one have milled."""
        while self._done < self._owner.size and self._owner[self._done] < move:
            self._cut(self._done)
            self._done += 1

    def _window(self, low: Floats, high: Floats) -> tuple[slice, slice]:
        spans = []
        for axis in (0, 1):
            ends = (np.array([low[axis], high[axis]]) - self._low[axis]) / self._square
            first, last = np.clip([np.floor(ends[0]), np.ceil(ends[1])], 0, 1e9).astype(int)
            spans.append(slice(int(first), int(last)))
        return spans[0], spans[1]

    def _cut(self, piece: int) -> None:
        start, end = self._start[:, piece], self._end[:, piece]
        radius = float(self._radius[piece])
        if np.isnan(start + end).any():
            return
        window = self._window(np.minimum(start, end) - radius, np.maximum(start, end) + radius)
        x, y = self._x[window[0]][:, None], self._y[window[1]][None, :]
        run = end[:2] - start[:2]
        length = float(run @ run)
        share = np.zeros((x.shape[0], y.shape[1]))
        if length > 0:
            share = np.clip(((x - start[0]) * run[0] + (y - start[1]) * run[1]) / length, 0, 1)
        away = np.hypot(x - start[0] - share * run[0], y - start[1] - share * run[1])
        tip = start[2] + share * (end[2] - start[2])
        under = away <= radius - _HALF_DIAGONAL * self._square
        height = self._height[window]
        self._height[window] = np.where(under, np.minimum(height, tip), height)

    def highest_under(self, x_mm: float, y_mm: float, radius_mm: float) -> float:
        """The highest square wholly under a tool at that place; -inf where there is none."""
        middle = np.array([x_mm, y_mm])
        window = self._window(middle - radius_mm, middle + radius_mm)
        x, y = self._x[window[0]][:, None], self._y[window[1]][None, :]
        away = np.hypot(x - x_mm, y - y_mm)
        under = away <= max(radius_mm - _HALF_DIAGONAL * self._square, self._square)
        return float(self._height[window][under].max(initial=-np.inf))

    def is_clear(self, start: Floats, end: Floats, radius_mm: float) -> bool:
        """Whether a straight sideways move goes only where sideways cuts have been before."""
        count = max(2, int(np.hypot(*(end - start)[:2]) / self._square) + 2)
        if count > MOST_SQUARES:
            return False
        points = start[:, None] + (end - start)[:, None] * np.linspace(0, 1, count)
        return all(
            self.highest_under(x, y, radius_mm) <= z + TOUCH_MM for x, y, z in points.T.tolist()
        )
