"""Sideways cuts of a program, and the rooms that they take: what is milled, as far as it goes.

Setup axes, millimetres. What the dry run, its report and the witness all speak of. Imports numpy.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Words, words
from millprep.base.records import frozen

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
TOUCH_MM = 0.01  # rooms nearer than this are one
MOST_OPEN = 50  # rooms that a further cut may belong to


@frozen
class SidewaysCuts:
    """Straight pieces of the moves that cut sideways, in their order; arrays `(N,)`.

    line, tool : of the move that a piece belongs to
    start, end : (3, N) of the tool's tip
    radius     : of the tool, 0 when unknown; flat : of its end at the tip
    slope      : rise of the tool's end per radius outside the flat, 0 of a flat-ended tool
    """

    line: Ints
    tool: Ints
    start: Floats
    end: Floats
    radius: Floats
    flat: Floats
    slope: Floats

    def __len__(self) -> int:
        return int(self.line.size)

    def radius_at(self, z_mm: float) -> Floats:
        """(N,) how wide the tool is at that height when a piece is at its lowest; never below 0."""
        above = z_mm - np.minimum(self.start[2], self.end[2])
        with np.errstate(divide="ignore", invalid="ignore"):
            cone = np.where(self.slope > 0, self.flat + above / self.slope, self.radius)
        return np.clip(cone, 0.0, self.radius)


@frozen
class MilledRoom:
    """Cuts of one tool that follow each other and touch: the box around what they take.

    low_mm, high_mm : its corners; line, last_line : the first and the last of its `count` lines
    """

    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    tool: int
    line: int
    last_line: int
    count: int = 1

    def words(self) -> Words:
        """ "X 0.000 to 20.000, Y 12.000 to 18.000, down to Z-8.000"."""
        (x, y, z), (far_x, far_y, _) = self.low_mm, self.high_mm
        return words(
            "X {x_mm:3bare} to {far_x_mm:3bare}, Y {y_mm:3bare} to {far_y_mm:3bare}, "
            "down to Z{z_mm:3bare}",
            x_mm=x,
            far_x_mm=far_x,
            y_mm=y,
            far_y_mm=far_y,
            z_mm=z + 0.0,
        )


def rooms_of(
    cuts: SidewaysCuts, which: Flags, low_mm: Floats, high_mm: Floats, top_mm: float
) -> list[MilledRoom]:
    """The rooms that the pieces `which` (N,) take in the box from `low_mm` to `high_mm` (3,)."""
    wide = cuts.radius_at(top_mm)
    low = np.minimum(cuts.start, cuts.end)
    high = np.maximum(cuts.start, cuts.end)
    low[:2] -= wide
    high[:2] += wide
    high[2] = top_mm
    low, high = np.maximum(low, low_mm[:, None]), np.minimum(high, high_mm[:, None])
    rooms: list[_Open] = []
    for box in _boxes(cuts, np.flatnonzero(which), low, high):
        touched = next((room for room in rooms[: -MOST_OPEN - 1 : -1] if room.touches(box)), None)
        if touched is None:
            rooms.append(box)
        else:
            touched.take_in(box)
    return [room.closed() for room in rooms]


@dataclass(slots=True)
class _Open:
    """A room while it grows."""

    low: list[float]
    high: list[float]
    tool: int
    line: int
    last_line: int
    count: int = 1

    def touches(self, other: _Open) -> bool:
        low, high = self.low, self.high
        return (
            low[0] <= other.high[0] + TOUCH_MM
            and other.low[0] <= high[0] + TOUCH_MM
            and low[1] <= other.high[1] + TOUCH_MM
            and other.low[1] <= high[1] + TOUCH_MM
            and self.tool == other.tool
        )

    def take_in(self, other: _Open) -> None:
        self.low = list(map(min, self.low, other.low))
        self.high = list(map(max, self.high, other.high))
        self.line, self.last_line = min(self.line, other.line), max(self.last_line, other.line)
        self.count += 1

    def closed(self) -> MilledRoom:
        (x, y, z), (far_x, far_y, far_z) = self.low, self.high
        return MilledRoom(
            (x, y, z), (far_x, far_y, far_z), self.tool, self.line, self.last_line, self.count
        )


def _boxes(cuts: SidewaysCuts, rows: Ints, low: Floats, high: Floats) -> Iterator[_Open]:
    """A box for each run of pieces of one line and tool."""
    if not rows.size:
        return
    line, tool = cuts.line[rows], cuts.tool[rows]
    first = np.flatnonzero(np.concatenate([[True], (np.diff(line) != 0) | (np.diff(tool) != 0)]))
    lows = np.minimum.reduceat(low[:, rows], first, axis=1).T.tolist()
    highs = np.maximum.reduceat(high[:, rows], first, axis=1).T.tolist()
    for one in zip(lows, highs, tool[first].tolist(), line[first].tolist(), strict=True):
        yield _Open(*one, one[3])
