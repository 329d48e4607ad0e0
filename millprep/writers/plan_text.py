"""The plan of a setup in characters, for a terminal: holes with the numbers of their steps.

                    BACK
         +---------------------------+
         | o 1,5               o 4,8 |      o a hole, beside it its steps
    LEFT |                           | RIGHT     + zero
         | o 2,6      o 9      o 3,7 |
         +---------------------------+
                   FRONT

Imports sheets.view.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from millprep.sheets.view import View

LEAST_WIDTH = 60
_WIDEST, _HIGHEST, _LOWEST = 60, 15, 3
_TALL = 2.0  # a character is so much higher than it is wide
_BESIDE = 8  # for the names of faces at either hand


def plan_lines(view: View, steps: Mapping[str, Sequence[int]], columns: int) -> list[str]:
    """The lines, no longer than there are columns; none where these are too few."""
    if columns < LEAST_WIDTH:
        return []
    wide, high = _size(view, min(columns, _WIDEST + 2 * _BESIDE) - 2 * _BESIDE)
    rows = _outline(view, wide, high)
    places = {mark.hole: _place(view, mark.x_mm, mark.y_mm, wide, high) for mark in view.marks}
    for x, y in places.values():
        rows[y][x] = "o"
    zero_x, zero_y = _place(view, 0.0, 0.0, wide, high)
    if rows[zero_y][zero_x] != "o":
        rows[zero_y][zero_x] = "*"
    for hole, (x, y) in places.items():
        _write(rows[y], x, steps.get(hole, ()))
    left, near, right, away = (name.upper() for name in view.sides)
    middle = high // 2
    margin = " " * _BESIDE
    lines = ["".join(row) for row in rows]
    shown = [
        f"{f'{left} ' if index == middle else '':>{_BESIDE}}{line}"
        f"{f' {right}' if index == middle else ''}".rstrip()
        for index, line in enumerate(lines)
    ]
    named = [f"{margin}{name:^{wide}}".rstrip() for name in (away, near)]
    return [named[0], *shown, f"{named[1]}   (o hole and its steps, * zero)"]


def _size(view: View, room: int) -> tuple[int, int]:
    """Columns and rows, as near to the face's own shape as there is room."""
    across, deep = (high - low for low, high in zip(view.low_mm, view.high_mm, strict=True))
    wide = float(room)
    high = wide * deep / across / _TALL
    if high > _HIGHEST:
        wide, high = wide * _HIGHEST / high, _HIGHEST
    return max(round(wide), 2 * _LOWEST), max(round(high), _LOWEST)


def _outline(view: View, wide: int, high: int) -> list[list[str]]:
    rows = [[" "] * wide for _ in range(high)]
    if not view.is_round:
        for row in (rows[0], rows[-1]):
            row[:] = ["+", *"-" * (wide - 2), "+"]
        for row in rows[1:-1]:
            row[0] = row[-1] = "|"
        return rows
    for step in range(8 * wide):
        turn = 2 * math.pi * step / (8 * wide)
        x = round((wide - 1) / 2 * (1 + math.cos(turn)))
        y = round((high - 1) / 2 * (1 + math.sin(turn)))
        rows[y][x] = "."
    return rows


def _place(view: View, x_mm: float, y_mm: float, wide: int, high: int) -> tuple[int, int]:
    """Column and row of a place; its row counts from away."""
    (x0, y0), (x1, y1) = view.low_mm, view.high_mm
    x = round((x_mm - x0) / (x1 - x0) * (wide - 1))
    y = round((y1 - y_mm) / (y1 - y0) * (high - 1))
    return min(max(x, 0), wide - 1), min(max(y, 0), high - 1)


def _write(row: list[str], at: int, steps: Sequence[int]) -> None:
    """Right of its hole or left of it: all its steps, or the first where there is no room."""
    for words in (",".join(map(str, steps)), f"{steps[0]}.." if steps else ""):
        for start in (at + 2, at + 1, at - 1 - len(words), at - len(words)):
            end = start + len(words)
            around = [i for i in range(start - 1, end + 1) if i != at]
            if start >= 1 and end < len(row) and all(row[i] == " " for i in around):
                row[start:end] = words
                return
