"""Sideways cuts of a program, and the rooms that they take: what is milled, as far as it goes.

Setup axes, millimetres. What the dry run, its report and the witness all speak of.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Words, words
from millprep.base.records import field_names, frozen

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

    def of(self, rows: Ints) -> SidewaysCuts:
        """Some of the pieces."""
        columns = (getattr(self, name) for name in field_names(self))
        return SidewaysCuts(*(column.take(rows, axis=-1) for column in columns))

    def radius_at(self, z_mm: float) -> Floats:
        """(N,) how wide the tool is at that height when a piece is at its lowest; never below 0."""
        above = z_mm - np.minimum(self.start[2], self.end[2])
        with np.errstate(divide="ignore", invalid="ignore"):
            cone = np.where(self.slope > 0, self.flat + above / self.slope, self.radius)
        return np.clip(cone, 0.0, self.radius)


@frozen
class MilledRoom:
    """Cuts of one tool that follow each other and touch: the box around what they take.

    low_mm, high_mm : its corners, the upper at the top of the stock, nan where that is not known
    line, last_line : the first and the last of its `count` lines
    shallowest_mm   : Z that the shallowest of its sideways cuts comes down to
    width_mm        : of the narrowest of them, at the top of the stock: the cutter's; 0 unknown
    """

    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    tool: int
    line: int
    last_line: int
    count: int = 1
    shallowest_mm: float = math.nan
    width_mm: float = 0.0

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
    rooms = Rooms(low_mm, high_mm, top_mm)
    rooms.take_in(cuts.of(np.flatnonzero(which)))
    return rooms.closed()


@dataclass(slots=True, eq=False)
class Rooms:
    """Rooms while they grow, in a box from `low_mm` to `high_mm` (3,).

    top_mm : where the width of a cut is taken; nan where no stock is known
    """

    low_mm: Floats
    high_mm: Floats
    top_mm: float
    _open: list[_Open] = field(default_factory=list)

    def take_in(self, cuts: SidewaysCuts) -> None:
        """Cuts that follow those before."""
        boxes, rooms = self._boxes(cuts), self._open
        begins = np.concatenate([[0], boxes.starts])[: len(boxes)]
        ends = np.append(begins[1:], len(boxes))
        nth, ahead = 0, 1  # runs of boxes of which each touches the one before
        while nth < begins.size:
            many = boxes.touching(rooms[-1], begins[nth : nth + ahead]) if rooms else 0
            ahead = 2 * ahead if many == ahead else 1
            if many:  # the last room is asked first, and what goes on from a box goes with it
                rooms[-1].take_in(boxes.together(int(begins[nth]), int(ends[nth + many - 1])))
            else:
                _take_in_run(rooms, boxes, int(begins[nth]), int(ends[nth]))
            nth += many or 1

    def _boxes(self, cuts: SidewaysCuts) -> _Boxes:
        is_known = self.top_mm == self.top_mm
        wide = cuts.radius_at(self.top_mm) if is_known else np.where(cuts.slope, 0, cuts.radius)
        low, high = np.minimum(cuts.start, cuts.end), np.maximum(cuts.start, cuts.end)
        depth = low[2].copy()
        low[:2] -= wide
        high[:2] += wide
        high[2] = self.top_mm
        np.maximum(low, self.low_mm[:, None], out=low)
        np.minimum(high, self.high_mm[:, None], out=high)
        return _boxes(cuts, low, high, wide, depth)

    def closed(self) -> list[MilledRoom]:
        return [room.closed() for room in self._open]


def _touched(rooms: list[_Open], box: _Open) -> tuple[_Open | None, list[_Open]]:
    """The last room that a box touches, and those after it."""
    later: list[_Open] = []
    for room in rooms[: -MOST_OPEN - 1 : -1]:
        if room.touches(box):
            return room, later
        later.append(room)
    return None, later


def _take_in_run(rooms: list[_Open], boxes: _Boxes, first: int, behind: int) -> None:
    """Box after box, until one goes into the last room: then so does what goes on from it."""
    touched, later = _touched(rooms, boxes.together(first, first + 1))
    whole = boxes.together(first, behind)
    if touched is None:
        rooms.append(whole)
        return
    if not any(room.touches(whole) for room in later):
        touched.take_in(whole)
        return
    for at in range(first, behind):
        box = boxes.together(at, at + 1)
        touched, later = _touched(rooms, box)
        assert touched is not None  # the one that the box before it is in
        if not later:
            touched.take_in(boxes.together(at, behind))
            return
        touched.take_in(box)


@dataclass(slots=True, eq=False)
class _Open:
    """A room while it grows."""

    low: list[float]
    high: list[float]
    tool: int
    line: int
    last_line: int
    shallowest: float
    width: float
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
        self.line = min(self.line, other.line)
        self.last_line = max(self.last_line, other.last_line)
        self.shallowest = max(self.shallowest, other.shallowest)
        self.width = min(self.width, other.width)
        self.count += other.count

    def closed(self) -> MilledRoom:
        (x, y, z), (far_x, far_y, far_z) = self.low, self.high
        return MilledRoom(
            (x, y, z),
            (far_x, far_y, far_z),
            self.tool,
            self.line,
            self.last_line,
            self.count,
            max(self.shallowest, z),
            self.width if math.isfinite(self.width) else 0.0,
        )


@dataclass(slots=True, eq=False)
class _Boxes:
    """A box for each run of pieces of one line and tool, arrays `(M,)`, corners `(3, M)`.

    shallowest : how deep it goes sideways, -inf where it only goes down; width : then inf
    starts : those that do not touch the one before, ascending
    """

    low: Floats
    high: Floats
    tool: Ints
    line: Ints
    shallowest: Floats
    width: Floats
    starts: Ints

    def __len__(self) -> int:
        return int(self.line.size)

    def touching(self, room: _Open, some: Ints) -> int:
        """How many of those boxes, from the first on, touch a room."""
        is_near = self.tool[some] == room.tool
        for axis in (0, 1):
            is_near &= self.low[axis, some] <= room.high[axis] + TOUCH_MM
            is_near &= self.high[axis, some] >= room.low[axis] - TOUCH_MM
        return int(is_near.size if is_near.all() else is_near.argmin())

    def together(self, first: int, behind: int) -> _Open:
        """The box around some of them, of one tool."""
        some = slice(first, behind)
        low, high = self.low[:, some].min(axis=1), self.high[:, some].max(axis=1)
        line, tool = self.line[some], int(self.tool[first])
        ends = int(line.min()), int(line.max())
        shallowest, width = float(self.shallowest[some].max()), float(self.width[some].min())
        return _Open(low.tolist(), high.tolist(), tool, *ends, shallowest, width, behind - first)


def _boxes(cuts: SidewaysCuts, low: Floats, high: Floats, wide: Floats, depth: Floats) -> _Boxes:
    line, tool = cuts.line, cuts.tool
    is_sideways = (cuts.start[0] != cuts.end[0]) | (cuts.start[1] != cuts.end[1])
    shallowest = np.where(is_sideways, depth, np.inf)
    width = np.where(is_sideways, 2 * wide, np.inf)
    first = np.flatnonzero((line[1:] != line[:-1]) | (tool[1:] != tool[:-1])) + 1
    if first.size + 1 < line.size:  # not a line each
        first = np.append(0, first)
        low, high = (
            np.minimum.reduceat(low, first, axis=1),
            np.maximum.reduceat(high, first, axis=1),
        )
        shallowest = np.minimum.reduceat(shallowest, first)
        width = np.minimum.reduceat(width, first)
        line, tool = line[first], tool[first]
    shallowest[np.isinf(shallowest)] = -np.inf
    touches = tool[1:] == tool[:-1]
    for axis in (0, 1):
        touches &= low[axis, 1:] <= high[axis, :-1] + TOUCH_MM
        touches &= low[axis, :-1] <= high[axis, 1:] + TOUCH_MM
    return _Boxes(low, high, tool, line, shallowest, width, np.flatnonzero(~touches) + 1)
