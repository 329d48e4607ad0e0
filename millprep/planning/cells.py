"""Near places found by way of a grid of cells. Imports numpy only."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_HOLES_PER_CELL = 2
_RINGS = 3  # searched cell by cell; what lies farther is found by one look over all that is left


def nearest_neighbour_route(points_mm: Floats) -> list[int]:
    """Order in which to visit points (2, N): from the one nearest zero, always to the nearest left.

    Ties go to the point written first, so that a listing does not change from run to run.
    """
    count = points_mm.shape[1]
    if count == 0:
        return []
    cells = _Cells(points_mm)
    here = int(np.argmin(np.hypot(points_mm[0], points_mm[1])))
    route = [here]
    cells.remove(here)
    while len(route) < count:
        here = cells.nearest(here)
        cells.remove(here)
        route.append(here)
    return route


def neighbours_of(points_mm: Floats, most: int) -> list[list[int]]:
    """For each of the points (2, N) the numbers of those nearest to it, nearest first."""
    count = points_mm.shape[1]
    most = min(most, count - 1)
    cells = _Cells(points_mm)
    near: list[list[int]] = [[]] * count
    for key, members in cells.cells.items():
        around = np.array(cells.around(key, most + 1))
        for index in members:
            x, y = points_mm[:, around] - points_mm[:, index : index + 1]
            square = x * x + y * y
            square[around == index] = np.inf
            near[index] = around[np.lexsort((around, square))[:most]].tolist()
    return near


class _Cells:
    """Points left to visit, by grid cell."""

    def __init__(self, points_mm: Floats) -> None:
        self.x: list[float] = points_mm[0].tolist()
        self.y: list[float] = points_mm[1].tolist()
        self.points = points_mm
        self.left = np.ones(points_mm.shape[1], dtype=bool)
        spread = np.ptp(points_mm, axis=1)
        area = max(float(spread[0]), 1.0) * max(float(spread[1]), 1.0)
        self.size = math.sqrt(area * _HOLES_PER_CELL / points_mm.shape[1])
        low = points_mm.min(axis=1)
        self.column: list[int] = ((points_mm[0] - low[0]) // self.size).astype(int).tolist()
        self.row: list[int] = ((points_mm[1] - low[1]) // self.size).astype(int).tolist()
        self.cells: dict[tuple[int, int], list[int]] = {}
        for index, key in enumerate(zip(self.column, self.row, strict=True)):
            self.cells.setdefault(key, []).append(index)

    def remove(self, index: int) -> None:
        self.left[index] = False
        self.cells[self.column[index], self.row[index]].remove(index)

    def nearest(self, here: int) -> int:
        best, best_square = -1, math.inf
        for ring in range(_RINGS + 1):
            if best >= 0 and best_square <= ((ring - 1) * self.size) ** 2:
                return best
            for index in self._ring(here, ring):
                square = (self.x[index] - self.x[here]) ** 2 + (self.y[index] - self.y[here]) ** 2
                if (square, index) < (best_square, best):
                    best, best_square = index, square
        if best >= 0 and best_square <= (_RINGS * self.size) ** 2:
            return best
        return self._nearest_of_all(here)

    def around(self, key: tuple[int, int], least: int) -> list[int]:
        """At least so many points in the cells round a cell, and of one ring of cells more."""
        found: list[int] = []
        ring, rings_left = 0, 1
        while rings_left >= 0:
            found += self._ring_at(*key, ring)
            ring += 1
            rings_left -= len(found) >= least
        return found

    def _ring(self, here: int, ring: int) -> list[int]:
        return self._ring_at(self.column[here], self.row[here], ring)

    def _ring_at(self, column: int, row: int, ring: int) -> list[int]:
        found: list[int] = []
        for i in range(column - ring, column + ring + 1):
            at_side = abs(i - column) == ring
            step = 1 if at_side or ring == 0 else 2 * ring
            for j in range(row - ring, row + ring + 1, step):
                found += self.cells.get((i, j), [])
        return found

    def _nearest_of_all(self, here: int) -> int:
        left = np.flatnonzero(self.left)
        distance = np.hypot(
            self.points[0, left] - self.x[here], self.points[1, left] - self.y[here]
        )
        return int(left[int(np.argmin(distance))])
