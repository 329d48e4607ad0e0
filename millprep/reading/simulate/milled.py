"""What sideways cuts remove: the height that is left, square by square.

Coarse on purpose. A hole-making program seldom mills; when it does, a rapid in the room it has
made must not count as a crash. Squares wholly under the tool are cut down to its tip; a tool is
clear where all squares wholly under it are. Nothing is cut before somebody asks. Imports numpy,
`measure`, `path` and the scene.
"""

from __future__ import annotations

import numpy as np

from millprep.reading.measure import path_mm
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, places_at
from millprep.reading.simulate.solid import TOUCH_MM, depth_inside, top_at
from millprep.scene import Box, Disc

SQUARE_MM = 0.5
LEAST_SQUARE_MM = 0.1
MOST_SQUARES = 1_000_000
_SQUARES_A_RADIUS = 6.0
_HALF_DIAGONAL = 0.7072  # of a square of side 1
_MOST_STAMPS = 2_000_000  # squares looked at in one go
_MOST_PLACES = 20_000


class Milled:
    """The height left over the stock, kept from program to program."""

    def __init__(self, stock: Box | Disc, smallest_mm: float) -> None:
        """smallest_mm : radius of the smallest tool that mills"""
        low, high = np.array(stock.low_mm), np.array(stock.high_mm)
        size = high[:2] - low[:2]
        fine = min(SQUARE_MM, max(LEAST_SQUARE_MM, smallest_mm / _SQUARES_A_RADIUS))
        self._square = max(fine, float(np.sqrt(size.prod() / MOST_SQUARES)))
        self._shape = np.maximum(1, np.ceil(size / self._square).astype(int))
        self._low = low[:2]
        # one row and column more, into which everything beside the stock falls
        self._height = np.full(tuple(self._shape + 1), -np.inf)
        self._height[:-1, :-1] = self._blank(stock)
        self._path: Path | None = None
        self._rows = np.zeros(0, dtype=np.int64)
        self._counts = self._rows
        self._done = 0
        self._rapids: list[int] = []
        self._clear: list[int] = []

    def _blank(self, stock: Box | Disc) -> Floats:
        x, y = (
            low + (np.arange(count) + 0.5) * self._square
            for low, count in zip(self._low, self._shape, strict=True)
        )
        places = np.array([grid.ravel() for grid in np.meshgrid(x, y, indexing="ij")])
        is_stock = depth_inside(stock, places) > -_HALF_DIAGONAL * self._square
        height = np.where(is_stock, top_at(stock, places), -np.inf)
        return np.asarray(height.reshape(tuple(self._shape)))

    @property
    def square_mm(self) -> float:
        return self._square

    def begin(self, path: Path, cutting: Flags, rapids: Ints) -> None:
        """The next program: `cutting` (N,) are the moves that mill, `rapids` those to look at."""
        self.cut_until(None)
        self._path, self._rows, self._done = path, np.flatnonzero(cutting), 0
        known = ~np.isnan((path.start + path.end)[:, self._rows]).any(axis=0)
        self._rows = self._rows[known]
        length = path_mm(path.moves)[self._rows]
        self._counts = np.ceil(2 * length / self._square).astype(np.int64) + 1
        self._rapids, self._clear = rapids[::-1].tolist(), []

    def clear_rapids(self) -> list[int]:
        """Of the rapids to look at those that go only where sideways cuts were before them."""
        if self._rapids:
            self.cut_until(self._rapids[0] + 1)
        return self._clear

    def cut_until(self, move: int | None) -> None:
        """Takes away what the moves before this one have milled; all of them for None."""
        if self._path is None:
            return
        while self._rapids and (move is None or self._rapids[-1] < move):
            row = self._rapids.pop()
            self._cut_rows(self._path, row)
            start, end = self._path.start[:, row], self._path.end[:, row]
            if self._is_clear(start, end, float(self._path.radius[row])):
                self._clear.append(row)
        self._cut_rows(self._path, move)

    def _cut_rows(self, path: Path, move: int | None) -> None:
        last = self._rows.size if move is None else int(np.searchsorted(self._rows, move))
        todo = slice(self._done, last)
        self._done = max(self._done, last)
        rows, counts = self._rows[todo], self._counts[todo]
        if not rows.size:
            return
        block = (np.cumsum(counts) - 1) // _MOST_PLACES
        ends = np.flatnonzero(np.diff(block)) + 1
        for some, many in zip(np.split(rows, ends), np.split(counts, ends), strict=True):
            self._cut(path, some, many)

    def _cut(self, path: Path, rows: Ints, counts: Ints) -> None:
        owner = np.repeat(rows, counts)
        nth = np.arange(owner.size) - np.repeat(np.cumsum(counts) - counts, counts)
        share = nth / np.maximum(np.repeat(counts, counts) - 1, 1)
        places = places_at(path, owner, share)
        inside = ~self._is_far(places, path.radius[owner])
        for radius in np.unique(path.radius[rows]).tolist():
            self._stamp(places[:, inside & (path.radius[owner] == radius)], radius)

    def _is_far(self, places: Floats, radius: Floats) -> Flags:
        high = self._low + self._shape * self._square
        beside = np.zeros(radius.size, dtype=bool)
        for axis in (0, 1):
            beside |= places[axis] < self._low[axis] - radius
            beside |= places[axis] > high[axis] + radius
        return beside

    def _under(self, places: Floats, radius: float, grow: float) -> tuple[Ints, Ints, Flags]:
        """((P, K) column and row of the squares near each place, which are under the tool)."""
        reach = int(np.ceil((radius + grow) / self._square)) + 1
        span = np.arange(-reach, reach + 1)
        step_x, step_y = (grid.ravel() for grid in np.meshgrid(span, span, indexing="ij"))
        middle = np.floor((places[:2] - self._low[:, None]) / self._square).astype(np.int64)
        column, row = middle[0][:, None] + step_x, middle[1][:, None] + step_y
        away_x = self._low[0] + (column + 0.5) * self._square - places[0][:, None]
        away_y = self._low[1] + (row + 0.5) * self._square - places[1][:, None]
        under = away_x**2 + away_y**2 <= (radius + grow) ** 2
        for index, count in ((column, self._shape[0]), (row, self._shape[1])):
            index[(index < 0) | (index >= count)] = count
        return column, row, under

    def _stamp(self, places: Floats, radius: float) -> None:
        grow = -_HALF_DIAGONAL * self._square
        if radius + grow <= 0:
            return
        for part in self._parts(places, radius):
            column, row, under = self._under(part, radius, grow)
            tip = np.broadcast_to(part[2][:, None], under.shape)
            np.minimum.at(self._height, (column[under], row[under]), tip[under])

    def _parts(self, places: Floats, radius: float) -> list[Floats]:
        """The places in stretches that fit into memory."""
        squares = (2 * (radius / self._square + 2) + 1) ** 2
        count = max(1, int(places.shape[1] * squares / _MOST_STAMPS))
        return np.array_split(places, count, axis=1) if places.shape[1] else []

    def highest_under(self, x_mm: float, y_mm: float, radius_mm: float) -> float:
        """The highest square wholly under a tool at that place; -inf where there is none."""
        return float(self._highest(np.array([[x_mm], [y_mm], [0.0]]), radius_mm)[0])

    def _highest(self, places: Floats, radius: float) -> Floats:
        grow = max(-_HALF_DIAGONAL * self._square, self._square - radius)
        column, row, under = self._under(places, radius, grow)
        heights = np.where(under, self._height[column, row], -np.inf)
        return np.asarray(heights.max(axis=1))

    def _is_clear(self, start: Floats, end: Floats, radius_mm: float) -> bool:
        """Whether a straight sideways move goes only where sideways cuts have been before."""
        count = max(2, int(np.hypot(*(end - start)[:2]) / self._square) + 2)
        if count > MOST_SQUARES:
            return False
        places = start[:, None] + (end - start)[:, None] * np.linspace(0, 1, count)
        return all(
            bool((self._highest(part, radius_mm) <= part[2] + TOUCH_MM).all())
            for part in self._parts(places, radius_mm)
        )
