"""What is left of the stock: how high its upper surface stands, square by square.

For pictures, from what the dry run keeps. Holes are true at the middle of each square, for they are
the ends of tools as they stood. Of sideways cuts the lowest tip over each square is kept, and then
the tool's end is laid about every square that holds one:

        tips                    what is left       an edge is drawn within `EDGE_SQUARES` of where
        . . . . . .             # # . . # #        the cut leaves it, a level floor at its height;
        . . 3 3 . .      ->     # . . . . #        on a ramp a floor is off by what the ramp falls
        . . . . . .             # # . . # #        in that

What stands in the way of a crash is not taken away, nor what a tool of unknown size cuts. Rooms
that do not open upwards count from when something has been cut down to them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from millprep.base.records import frozen
from millprep.model.scene import Drilled, Scene
from millprep.reading.milled_rooms import SidewaysCuts
from millprep.reading.simulate.record import Cut, Place, Record
from millprep.reading.simulate.solid import bottom_at, depth_inside, top_at

Floats = np.typing.NDArray[np.float64]
Ints = np.typing.NDArray[np.int64]
Patch = tuple[slice, slice]
Window = tuple[float, float, float, float]
EDGE_SQUARES = 1.5  # most of one for where the axis is put, and half of one for its middle
MOST_PLACES = 20_000_000  # where a tool is put, of a whole run
_PLACES_A_BLOCK = 1_000_000
_MOST_LIFTS = 30  # squares across a cone that are looked at one by one
_TO_CORNERS = 0.75  # of a block of squares from its middle: half its diagonal, and a little more
_OUTERMOST = 1 / 3  # squares: of those that hold its way the outermost make the edge
_HAIR = 1e-9


@frozen
class Left:
    """Squares of `square_mm` from a low corner on; height (columns, rows), -inf where none is left.

    bottom   : (columns, rows) height of the stock's underside
    error_mm : how far off an edge may be shown
    """

    low_mm: tuple[float, float]
    square_mm: float
    height: Floats
    bottom: Floats
    error_mm: float


def left_of(
    scene: Scene, record: Record, sideways: Sequence[SidewaysCuts], window: Window, square_mm: float
) -> Left:
    """What is left in a window (low x, low y, high x, high y).

    record, sideways : of the whole run: what the programs removed, one after another
    """
    low = np.array(window[:2])
    size = np.array(window[2:]) - low
    count = np.maximum(1, np.round(size / square_mm).astype(int))
    x, y = (at + (np.arange(n) + 0.5) * square_mm for at, n in zip(low, count, strict=True))
    places = np.array([grid.ravel() for grid in np.meshgrid(x, y, indexing="ij")])
    shape = (x.size, y.size)
    height = top_at(scene.stock, places).reshape(shape)
    bottom = bottom_at(scene.stock, places).reshape(shape)
    coarsest = 1
    for tips, patch in _tips(sideways, low, shape, square_mm, scene.stock.high_mm[2]):
        height[patch] = np.minimum(height[patch], tips.surface())
        coarsest = max(coarsest, tips.step)
    for place, cut in _in_order(record):
        _take_away(height, x, y, place, cut)
    for room in record.across:
        _open(height, x, y, room)
    outside = (depth_inside(scene.stock, places) < 0).reshape(shape)
    height[outside | (height <= bottom + _HAIR)] = -np.inf
    return Left(window[:2], square_mm, height, bottom, EDGE_SQUARES * coarsest * square_mm)


def _in_order(record: Record) -> list[tuple[Place, Cut]]:
    """What opens upwards first, then the rest from the highest."""
    every = [(place, cut) for place in record.places for cut in place.cuts]
    return sorted(every, key=lambda one: -one[1].upper_mm)


def _take_away(height: Floats, x: Floats, y: Floats, place: Place, cut: Cut) -> None:
    """Cut a tool's end out, of which the squares about its axis are looked at."""
    columns, rows = _near(x, place.x_mm, cut.radius_mm), _near(y, place.y_mm, cut.radius_mm)
    away = np.hypot(x[columns, None] - place.x_mm, y[None, rows] - place.y_mm)
    surface = cut.tip_mm + np.maximum(0.0, away - cut.flat_mm) * cut.slope
    some = height[columns, rows]
    is_in = (away <= cut.radius_mm) & (some <= cut.upper_mm + _HAIR)
    some[is_in] = np.minimum(some, surface)[is_in]


def _near(middles: Floats, at: float, reach: float) -> slice:
    first, last = np.searchsorted(middles, (at - reach, at + reach))
    return slice(int(first), int(last))


def across_room(room: Drilled, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Lower and upper end of a lying hole's room over each place; nan where it has none."""
    (x0, y0, z), (x1, y1, _) = room.start_mm, room.end_mm
    long = math.hypot(x1 - x0, y1 - y0)
    way = ((x1 - x0) / long, (y1 - y0) / long)
    along = (x - x0) * way[0] + (y - y0) * way[1]
    aside = (y - y0) * way[0] - (x - x0) * way[1]
    with np.errstate(invalid="ignore"):
        half = np.sqrt((room.diameter_mm / 2) ** 2 - aside**2)
    half = np.where((along > -_HAIR) & (along < long + _HAIR), half, np.nan)
    return z - half, z + half


def _open(height: Floats, x: Floats, y: Floats, room: Drilled) -> None:
    low, high = across_room(room, x[:, None], y[None, :])
    is_in = (height <= high) & (height > low)
    height[is_in] = low[is_in]


@frozen
class _Tips:
    """The lowest tip of one tool over each square, a rim of `rim` squares about those wanted.

    flat, radius : in squares, of what it cuts; lift : rise of its end a square
    """

    lowest: Floats
    rim: int
    flat: float
    radius: float
    lift: float

    @property
    def step(self) -> int:
        """Of a large cone every so many squares are looked at, each for those about it."""
        return math.ceil(self.radius / _MOST_LIFTS) if self.lift else 1

    def surface(self) -> Floats:
        """(columns, rows) what such a tool leaves; inf where it has not been."""
        found = _under(self.lowest, self.flat, self.rim)
        if self.lift == 0 or self.radius <= self.flat:
            return found
        step, lowest = self.step, self.lowest
        if step > 1:
            lowest = np.full_like(lowest, np.inf)
            lowest[step:-step, step:-step] = _under(self.lowest, _TO_CORNERS * step, step)
        reach = int(self.radius)
        columns, rows = found.shape
        for i in range(-reach, reach + 1, step):
            for j in range(-reach, reach + 1, step):
                away = math.hypot(i, j)
                if self.flat < away <= self.radius:
                    some = lowest[self.rim + i :, self.rim + j :][:columns, :rows]
                    np.minimum(found, some + (away - self.flat) * self.lift, out=found)
        return found


def _under(lowest: Floats, radius: float, rim: int) -> Floats:
    """The least within `radius` squares of each square inside the rim, row beside row.

    Of a row the least of any stretch is that of two whose lengths are a power of two.
    """
    columns, rows = (size - 2 * rim for size in lowest.shape)
    found = np.full((columns, rows), np.inf)
    runs = [lowest]
    while 2 ** len(runs) <= 2 * radius + 1:
        half = 2 ** (len(runs) - 1)
        longer = runs[-1].copy()
        np.minimum(longer[:-half], runs[-1][half:], out=longer[:-half])
        runs.append(longer)
    for aside in range(-int(radius), int(radius) + 1):
        half = int(math.sqrt(radius**2 - aside**2))
        size = (2 * half + 1).bit_length() - 1
        for first in (rim - half, rim + half + 1 - 2**size):
            some = runs[size][first : first + columns, rim + aside : rim + aside + rows]
            np.minimum(found, some, out=found)
    return found


def _tips(
    sideways: Sequence[SidewaysCuts],
    low: Floats,
    shape: tuple[int, int],
    square_mm: float,
    top_mm: float,
) -> Iterator[tuple[_Tips, Patch]]:
    """Of each end of a tool that cuts sideways, where it has been; the squares that it reaches."""
    way = sum(float(np.hypot(*(one.end - one.start)[:2]).sum()) for one in sideways)
    spacing = max(square_mm / 2, way / MOST_PLACES)
    for (radius, flat, slope), runs in _by_end(sideways).items():
        deep = min(float(min(start[2].min(), end[2].min())) for start, end in runs)
        wide = min(radius, flat + (top_mm - deep) / slope) if slope else radius
        if not wide:
            continue  # nobody knows its size
        rim = math.ceil(wide / square_mm) + 1
        lowest = np.full((shape[0] + 2 * rim, shape[1] + 2 * rim), np.inf)
        for start, end in runs:
            for places in _places(start, end, spacing):
                _put(lowest, places, low - rim * square_mm, square_mm)
        cut, radius = (max(0.0, one / square_mm - _OUTERMOST) for one in (flat, wide))
        columns, rows = (_reached(lowest, axis, rim) for axis in (0, 1))
        if columns.stop > columns.start and rows.stop > rows.start:
            some = lowest[columns.start : columns.stop + 2 * rim]
            some = some[:, rows.start : rows.stop + 2 * rim]
            yield _Tips(some, rim, cut, radius, slope * square_mm), (columns, rows)


def _by_end(
    sideways: Sequence[SidewaysCuts],
) -> dict[tuple[float, float, float], list[tuple[Floats, Floats]]]:
    """(starts, ends) of the pieces that each end of a tool cuts: its radius, flat and slope."""
    found: dict[tuple[float, float, float], list[tuple[Floats, Floats]]] = {}
    for one in sideways:
        for number in np.unique(one.tool):
            own = one.tool == number
            first = int(np.argmax(own))
            end = float(one.radius[first]), float(one.flat[first]), float(one.slope[first])
            found.setdefault(end, []).append((one.start[:, own], one.end[:, own]))
    return found


def _reached(lowest: Floats, axis: int, rim: int) -> slice:
    """Of the squares inside the rim those that a tool reaches."""
    held = np.flatnonzero(np.isfinite(lowest).any(axis=1 - axis))
    if not held.size:
        return slice(0, 0)
    return slice(
        max(0, int(held[0]) - 2 * rim), min(lowest.shape[axis] - 2 * rim, int(held[-1]) + 1)
    )


def _places(start: Floats, end: Floats, spacing: float) -> Iterator[Floats]:
    """Where the tip stands along straight pieces, their ends among them, in blocks."""
    counts = np.ceil(np.hypot(*(end - start)[:2]) / spacing).astype(np.int64) + 1
    block = (np.cumsum(counts) - 1) // _PLACES_A_BLOCK
    for rows in np.split(np.arange(counts.size), np.flatnonzero(np.diff(block)) + 1):
        many = counts[rows]
        owner = np.repeat(rows, many)
        nth = np.arange(owner.size) - np.repeat(np.cumsum(many) - many, many)
        share = nth / np.maximum(np.repeat(many, many) - 1, 1)
        yield start[:, owner] + share * (end - start)[:, owner]


def _put(lowest: Floats, places: Floats, low: Floats, square_mm: float) -> None:
    """Enter tips in the squares that hold their axes."""
    at = np.floor((places[:2] - low[:, None]) / square_mm).astype(np.int64)
    inside = ((at >= 0) & (at < np.array(lowest.shape)[:, None])).all(axis=0)
    column, row = at[:, inside]
    np.minimum.at(lowest.reshape(-1), column * lowest.shape[1] + row, places[2, inside])
