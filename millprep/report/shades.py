"""What is left of the stock as shades of grey: from above, and isometric from the right.

Each shade is that of the slope of the surface, with the light from above: a wall is darker than any
floor, the more so the more it is turned away. Nothing is told by a colour. The isometric picture is
made from the front to the back, column by column: what stands higher than all before it is seen.
Imports numpy, `left` and the canvas.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from millprep.base.records import frozen
from millprep.canvas.dots import Dots
from millprep.canvas.isometric import ACROSS, UP
from millprep.model.scene import Drilled
from millprep.reading.simulate.left import Floats, Left, across_room

Greys = np.typing.NDArray[np.uint8]
Light = tuple[float, float, float]
FROM_AWAY: Light = (-0.42, 0.42, 0.8)
FROM_YOU: Light = (-0.35, -0.55, 0.76)  # of two walls seen from the right one is lit
_DARKEST, _SPAN = 70.0, 175.0
_STEEP, _UPRIGHT = 2.0, 8.0
_ROUND = 3  # squares about a wall that say which way it looks: by its own a round would have steps
_HAIR = 1e-9
_LEVEL_DOTS = 2  # more at a place than a level surface comes to
_MOUTH = 0.45  # how much darker the inside of a hole is than the wall that it opens in


def greys_of(left: Left, light: Light) -> tuple[Greys, Greys]:
    """(columns, rows) the shade of each square's surface, and of a wall that stands there."""
    height = np.where(np.isfinite(left.height), left.height, left.bottom)
    rises = [_rise(height, axis) / left.square_mm for axis in (0, 1)]
    about = [_mean_about(one) for one in rises]
    long = np.maximum(np.hypot(*about), _HAIR) / _UPRIGHT
    wall = _lit(about[0] / long, about[1] / long, light)
    return np.where(np.hypot(*rises) > _STEEP, wall, _lit(rises[0], rises[1], light)), wall


def _lit(x: Floats, y: Floats, light: Light) -> Greys:
    """The shade of a surface that rises so much along X and Y."""
    towards = (light[2] - light[0] * x - light[1] * y) / np.sqrt(1 + x**2 + y**2)
    return np.asarray(_DARKEST + _SPAN * np.clip(towards, 0, 1)).astype(np.uint8)


def _rise(height: Floats, axis: int) -> Floats:
    """From each square to the next, on the average of both sides."""
    if height.shape[axis] == 1:
        return np.zeros_like(height)
    return np.asarray(np.gradient(height, axis=axis))


def _mean_about(values: Floats) -> Floats:
    """Means of the squares about each, times their number."""
    for axis in (0, 1):
        ends = [(0, 0), (0, 0)]
        ends[axis] = (_ROUND + 1, _ROUND)
        sums = np.cumsum(np.pad(values, ends), axis=axis)
        wide, size = 2 * _ROUND + 1, values.shape[axis]
        values = np.take(sums, range(wide, wide + size), axis) - np.take(sums, range(size), axis)
    return values


def plan_of(left: Left, squares: int = 1) -> Dots:
    """What is left, from above: a dot for so many squares each way, the darkest of them."""
    greys, _ = greys_of(left, FROM_AWAY)
    is_there = np.isfinite(left.height)
    spare = [-n % squares for n in greys.shape]
    ends = [(0, n) for n in spare]
    columns, rows = ((n + more) // squares for n, more in zip(greys.shape, spare, strict=True))
    blocks = columns, squares, rows, squares
    greys = np.where(is_there, greys, 255)
    greys = np.pad(greys, ends, constant_values=255).reshape(blocks).min(axis=(1, 3))
    is_there = np.logical_or.reduce(np.pad(is_there, ends).reshape(blocks), axis=(1, 3))
    return _dots(greys, is_there)


def _dots(greys: Greys, is_there: np.typing.NDArray[np.bool_]) -> Dots:
    """Of (columns, rows) from the lower left corner."""
    pairs = np.stack([greys, np.where(is_there, 255, 0).astype(np.uint8)], axis=-1)
    across, down = greys.shape
    return Dots(across, down, pairs.transpose(1, 0, 2)[::-1].tobytes())


@frozen
class Seen:
    """An isometric picture: its dots, and the corners of what they cover [mm, at full size]."""

    dots: Dots
    low: tuple[float, float]
    high: tuple[float, float]


def isometric_of(left: Left, across: Sequence[Drilled], dot_mm: float) -> Seen:
    """What is left as `Isometric` from the right sees it at full size, a dot `dot_mm` wide.

    across : holes that open in the sides
    """
    columns, rows = (n * left.square_mm for n in left.height.shape)
    (x0, y0), lowest = left.low_mm, float(left.bottom.min())
    low = ACROSS * (x0 + y0), UP * (y0 - x0 - columns) + lowest
    high_mm = float(np.max(left.height, initial=lowest))
    high = low[0] + ACROSS * (columns + rows), UP * (y0 + rows - x0) + high_mm
    wide, tall = (max(1, int(np.ceil((b - a) / dot_mm))) for a, b in zip(low, high, strict=True))
    side = (low[0] + (np.arange(wide) + 0.5) * dot_mm) / ACROSS  # x + y
    shade, wall = greys_of(left, FROM_YOU)
    greys = np.zeros((wide, tall), dtype=np.uint8)
    is_there = np.zeros((wide, tall), dtype=bool)
    seen_to, column = np.zeros(wide), np.arange(wide)
    for depth in np.arange(y0 - x0 - columns, y0 + rows - x0, dot_mm):  # y - x, from the front
        x, y = (side - depth) / 2, (side + depth) / 2
        i, j = (
            np.floor((at - one) / left.square_mm).astype(int)
            for at, one in zip((x, y), (x0, y0), strict=True)
        )
        inside = (i >= 0) & (j >= 0) & (i < left.height.shape[0]) & (j < left.height.shape[1])
        i, j, here = i[inside], j[inside], column[inside]
        top = left.height[i, j]
        stands = np.isfinite(top)
        i, j, here, top = i[stands], j[stands], here[stands], top[stands]
        up, foot = ((UP * depth + z - low[1]) / dot_mm for z in (top, left.bottom[i, j]))
        first = np.ceil(np.maximum(seen_to[here], foot) - 0.5).astype(int)
        count = np.maximum(0, np.ceil(up - 0.5).astype(int) - first)
        seen_to[here] = np.maximum(seen_to[here], up)
        owner = np.repeat(np.arange(here.size), count)
        nth = np.arange(owner.size) - np.repeat(np.cumsum(count) - count, count)
        dot = first[owner] + nth
        square = i[owner], j[owner]
        grey = np.where(count[owner] > _LEVEL_DOTS, wall[square], shade[square]).astype(float)
        for room in across:
            below, above = across_room(room, x[here[owner]], y[here[owner]])
            z = (dot + 0.5) * dot_mm + low[1] - UP * depth
            grey[(z > below) & (z < above)] *= _MOUTH
        greys[here[owner], dot] = grey
        is_there[here[owner], dot] = True
    return Seen(_dots(greys, is_there), low, (low[0] + wide * dot_mm, low[1] + tall * dot_mm))
