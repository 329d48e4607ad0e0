"""Sideways cuts of a program, and the rooms that they take: what is milled, as far as it goes.

Setup axes, millimetres. What the dry run, its report and the witness all speak of. Imports numpy.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
TOUCH_MM = 0.01  # rooms nearer than this are one
MOST_OPEN = 50  # rooms that a further cut may belong to


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
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

    def words(self) -> str:
        """ "X 0.000 to 20.000, Y 12.000 to 18.000, down to Z-8.000"."""
        (x, y, z), (far_x, far_y, _) = self.low_mm, self.high_mm
        return f"X {x:.3f} to {far_x:.3f}, Y {y:.3f} to {far_y:.3f}, down to Z{z + 0.0:.3f}"


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
    rooms: list[MilledRoom] = []
    for room in _boxes(cuts, np.flatnonzero(which), low, high):
        _take_in(rooms, room)
    return rooms


def _boxes(cuts: SidewaysCuts, rows: Ints, low: Floats, high: Floats) -> Iterator[MilledRoom]:
    """A box for each run of pieces of one line and tool."""
    ends = np.flatnonzero((np.diff(cuts.line[rows]) != 0) | (np.diff(cuts.tool[rows]) != 0)) + 1
    for some in np.split(rows, ends):
        if some.size:
            least, most = low[:, some].min(axis=1), high[:, some].max(axis=1)
            line = int(cuts.line[some[0]])
            yield MilledRoom(_point(least), _point(most), int(cuts.tool[some[0]]), line, line)


def _point(values: Floats) -> tuple[float, float, float]:
    x, y, z = values.tolist()
    return x, y, z


def _take_in(rooms: list[MilledRoom], new: MilledRoom) -> None:
    """Adds a box to the room that it touches, or as a room of its own."""
    for number in range(len(rooms) - 1, max(-1, len(rooms) - 1 - MOST_OPEN), -1):
        room = rooms[number]
        if room.tool == new.tool and _touch(room, new):
            rooms[number] = replace(
                room,
                low_mm=_point(np.minimum(room.low_mm, new.low_mm)),
                high_mm=_point(np.maximum(room.high_mm, new.high_mm)),
                line=min(room.line, new.line),
                last_line=max(room.last_line, new.last_line),
                count=room.count + new.count,
            )
            return
    rooms.append(new)


def _touch(one: MilledRoom, other: MilledRoom) -> bool:
    return all(
        one.low_mm[axis] <= other.high_mm[axis] + TOUCH_MM
        and other.low_mm[axis] <= one.high_mm[axis] + TOUCH_MM
        for axis in (0, 1)
    )
