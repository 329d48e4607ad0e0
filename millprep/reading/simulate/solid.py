"""The blank as a solid: how high it is at a place, and which moves pass over it.

Arrays throughout: places `(2, N)`, segments from `(3, N)` to `(3, N)`, setup axes, mm.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from millprep.model.scene import Box, Disc, Pieces, Solid
from millprep.reference.shared_rules import TOUCH_MM as TOUCH_MM

Floats = NDArray[np.float64]
_STILL_MM = 1e-9


def is_round_upright(stock: Solid) -> bool:
    return isinstance(stock, Disc) and stock.axis == 2


def nearest_of(pieces: Pieces, places: Floats) -> NDArray[np.int64]:
    """(N,) index of the blank that each place lies in, or nearest to."""
    nearest: NDArray[np.int64] = np.argmax([depth_inside(o, places) for o in pieces.each], axis=0)
    return nearest


def _of_nearest(pieces: Pieces, places: Floats, of: Callable[[Solid, Floats], Floats]) -> Floats:
    nearest = nearest_of(pieces, places)[None]
    every = np.array([of(one, places) for one in pieces.each])
    return np.asarray(np.take_along_axis(every, nearest, axis=0)[0])


def top_at(stock: Solid, places: Floats) -> Floats:
    """(N,) height of the stock's upper surface; of its highest where a place lies beside it."""
    if isinstance(stock, Pieces):
        return _of_nearest(stock, places, top_at)
    return _surface(stock, places, stock.high_mm[2], 1.0)


def bottom_at(stock: Solid, places: Floats) -> Floats:
    """(N,) height of the stock's underside; of its lowest where a place lies beside it."""
    if isinstance(stock, Pieces):
        return _of_nearest(stock, places, bottom_at)
    return _surface(stock, places, stock.low_mm[2], -1.0)


def _surface(stock: Box | Disc, places: Floats, end_mm: float, sign: float) -> Floats:
    """sign : 1 of what is above the axis of a lying disc, -1 below; end_mm : its farthest"""
    if isinstance(stock, Box) or stock.axis == 2:
        return np.full(places.shape[1], end_mm)
    across = 1 if stock.axis == 0 else 0
    middle = (stock.low_mm[across] + stock.high_mm[across]) / 2
    with np.errstate(invalid="ignore"):
        half = np.sqrt(stock.radius_mm**2 - (places[across] - middle) ** 2)
    centre = (stock.low_mm[2] + stock.high_mm[2]) / 2
    return np.where(np.isnan(half), end_mm, centre + sign * half)


def depth_inside(stock: Solid, places: Floats) -> Floats:
    """(N,) how far each place lies inside the stock's outline seen from above; negative outside."""
    if isinstance(stock, Pieces):
        return np.asarray(np.max([depth_inside(one, places) for one in stock.each], axis=0))
    x, y = places
    low, high = stock.low_mm, stock.high_mm
    if is_round_upright(stock):
        assert isinstance(stock, Disc)
        middle_x, middle_y = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
        return np.asarray(stock.radius_mm - np.hypot(x - middle_x, y - middle_y))
    inside_x = np.minimum(x - low[0], high[0] - x)
    inside_y = np.minimum(y - low[1], high[1] - y)
    beside = np.hypot(np.minimum(inside_x, 0), np.minimum(inside_y, 0))
    return np.asarray(np.where(beside > 0, -beside, np.minimum(inside_x, inside_y)))


def away_from(solid: Solid, places: Floats) -> Floats:
    """(N,) distance of each place from the solid's outline seen from above; 0 over it."""
    return np.maximum(0.0, -depth_inside(solid, places))


Shares = tuple[Floats, Floats]


def shares_over(solid: Box | Disc, start: Floats, end: Floats, margin: Floats) -> Shares:
    """(N,) first and last share of each segment within `margin` of the outline seen from above.

    Only what lies over the solid or nearer than the margin counts; first > last where nothing does.
    """
    if is_round_upright(solid):
        assert isinstance(solid, Disc)
        x, y = ((solid.low_mm[axis] + solid.high_mm[axis]) / 2 for axis in (0, 1))
        return _in_circle((x, y), solid.radius_mm + margin, start, end)
    # A box with rounded corners is two boxes and four circles. It has no hollow, so that a
    # straight line is in it from the first of their beginnings to the last of their ends.
    low, high, none = solid.low_mm[:2], solid.high_mm[:2], np.zeros_like(margin)
    parts = [
        _in_box(low, high, (margin, none), start, end),
        _in_box(low, high, (none, margin), start, end),
        *(
            _in_circle((x, y), margin, start, end)
            for x in (low[0], high[0])
            for y in (low[1], high[1])
        ),
    ]
    first = np.stack([np.where(a < b, a, np.inf) for a, b in parts]).min(axis=0)
    last = np.stack([np.where(a < b, b, -np.inf) for a, b in parts]).max(axis=0)
    return first, last


def _in_box(
    low: tuple[float, ...], high: tuple[float, ...], margins: Shares, start: Floats, end: Floats
) -> Shares:
    """The slab method: the share of each segment that lies between each pair of sides."""
    first, last = np.zeros(start.shape[1]), np.ones(start.shape[1])
    for axis in (0, 1):
        run = end[axis] - start[axis]
        near, far = low[axis] - margins[axis], high[axis] + margins[axis]
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            one, two = (near - start[axis]) / run, (far - start[axis]) / run
        still = np.abs(run) < _STILL_MM
        over = (start[axis] > near) & (start[axis] < far)
        one, two = np.where(still, -np.inf, one), np.where(still, np.inf, two)
        never = still & ~over
        first = np.where(never, np.inf, np.maximum(first, np.minimum(one, two)))
        last = np.where(never, -np.inf, np.minimum(last, np.maximum(one, two)))
    return first, last


def _in_circle(middle: tuple[float, float], radius: Floats, start: Floats, end: Floats) -> Shares:
    """The share of each segment whose plan lies within a circle."""
    away = start[:2] - np.array(middle)[:, None]
    run = end[:2] - start[:2]
    a, b = (run**2).sum(axis=0), (away * run).sum(axis=0)
    c = (away**2).sum(axis=0) - radius**2
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        root = np.sqrt(b * b - a * c)
        one, two = (-b - root) / a, (-b + root) / a
    still = a < _STILL_MM**2
    one = np.where(still, np.where(c < 0, -np.inf, np.inf), one)
    two = np.where(still, np.where(c < 0, np.inf, -np.inf), two)
    first = np.where(np.isnan(one), np.inf, np.maximum(one, 0))
    last = np.where(np.isnan(two), -np.inf, np.minimum(two, 1))
    return first, last


def lowest_over(solid: Solid, start: Floats, end: Floats, margin: Floats) -> Floats:
    """(N,) lowest Z of each segment while a tool of radius `margin` is over the solid, else nan."""
    if isinstance(solid, Pieces):
        lowest = [lowest_over(one, start, end, margin) for one in solid.each]
        return np.asarray(np.fmin.reduce(lowest))
    first, last = shares_over(solid, start, end, margin)
    is_over = first < last
    first, last = np.where(is_over, first, 0), np.where(is_over, last, 0)
    rise = end[2] - start[2]
    lowest = np.minimum(start[2] + first * rise, start[2] + last * rise)
    return np.asarray(np.where(is_over, lowest, np.nan))
