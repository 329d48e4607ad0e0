"""Room for words: labels pushed apart along a line, and labels placed clear of what is drawn.

Imports nothing of the project.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

_CELL_MM = 6.0
_DIRECTIONS_DEG = (45, 135, 315, 225, 0, 180, 90, 270)


def spread(wanted_mm: Sequence[float], apart_mm: float) -> list[float]:
    """Places nearest to those wanted (ascending) that keep a distance, in the same order.

    Take the distance out (wanted less index times apart) and what remains may not fall: pool
    neighbours that do to their mean, then put the distance back.
    """
    runs: list[tuple[float, int]] = []  # (sum, count) of each pooled run
    for index, at in enumerate(wanted_mm):
        total, count = at - index * apart_mm, 1
        while runs and runs[-1][0] / runs[-1][1] > total / count:
            before, members = runs.pop()
            total, count = total + before, count + members
        runs.append((total, count))
    means = [total / count for total, count in runs for _ in range(count)]
    return [mean + index * apart_mm for index, mean in enumerate(means)]


class Labels:
    """Boxes already taken on the paper."""

    def __init__(self) -> None:
        self._taken: dict[tuple[int, int], list[tuple[float, float, float, float]]] = {}

    def block(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """Take a box."""
        for cell in self._cells(x1, y1, x2, y2):
            self._taken.setdefault(cell, []).append((x1, y1, x2, y2))

    def _cells(self, x1: float, y1: float, x2: float, y2: float) -> list[tuple[int, int]]:
        columns = range(math.floor(x1 / _CELL_MM), math.floor(x2 / _CELL_MM) + 1)
        rows = range(math.floor(y1 / _CELL_MM), math.floor(y2 / _CELL_MM) + 1)
        return [(i, j) for i in columns for j in rows]

    def is_free(self, x1: float, y1: float, x2: float, y2: float) -> bool:
        return not any(
            x1 < b[2] and b[0] < x2 and y1 < b[3] and b[1] < y2
            for cell in self._cells(x1, y1, x2, y2)
            for b in self._taken.get(cell, ())
        )

    def near(
        self, centre: tuple[float, float], radius: float, width: float, height: float
    ) -> tuple[float, float] | None:
        """Low left corner of a free box beside a circle, taken at once; None where all is full."""
        for reach in (radius, radius + 2.0, radius + 4.0, radius + 7.0):
            for angle in _DIRECTIONS_DEG:
                turn = math.radians(angle)
                across, up = math.cos(turn), math.sin(turn)
                x = centre[0] + reach * across + (across - 1) / 2 * width
                y = centre[1] + reach * up + (up - 1) / 2 * height
                if self.is_free(x, y, x + width, y + height):
                    self.block(x, y, x + width, y + height)
                    return x, y
        return None
