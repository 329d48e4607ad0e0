"""Which moves go over the stock sideways, below its top or along it, and what they cut.

Imports numpy, `path`, `solid` and the scene.
"""

from __future__ import annotations

import numpy as np

from millprep.model.scene import Box, Disc, Scene, blanks_of
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, chords, in_blocks
from millprep.reading.simulate.solid import depth_inside, is_round_upright, lowest_over, top_at
from millprep.reference.shared_rules import TOUCH_MM


def lowest_sideways(path: Path, scene: Scene | None) -> Floats:
    """(N,) lowest tip of each sideways move over the stock and below its highest, nan of others."""
    low = np.full(len(path.moves), np.inf)
    if scene is not None:
        top = scene.stock.high_mm[2] - TOUCH_MM
        rows = np.flatnonzero((path.stroke < 0) & (path.low[2] < top))
        rows = _without_level(path, scene, rows, low)
        for block in in_blocks(path, rows):
            owner, start, end = chords(path, block)
            lowest = lowest_over(scene.stock, start, end, path.radius[owner] - TOUCH_MM)
            over = ~np.isnan(lowest)
            np.minimum.at(low, owner[over], lowest[over])
    low[~np.isfinite(low)] = np.nan
    return low


def below_top(path: Path, scene: Scene | None, low: Floats) -> Flags:
    """(N,) whether a sideways move of that lowest tip is below the top of the stock."""
    if scene is None:
        return np.zeros(len(path.moves), dtype=bool)
    top = np.minimum(scene.stock.high_mm[2], _highest_on_the_way(path, scene))
    return np.asarray(low < top - TOUCH_MM)


def _highest_on_the_way(path: Path, scene: Scene) -> Floats:
    """(N,) the highest of the stock that comes under the tool: a lying disc falls away."""
    stock = scene.stock
    if not isinstance(stock, Disc) or stock.axis == 2:
        return np.full(len(path.moves), stock.high_mm[2])
    across = 1 if stock.axis == 0 else 0
    middle = (stock.low_mm[across] + stock.high_mm[across]) / 2
    nearest = np.clip(middle, path.low[across] - path.radius, path.high[across] + path.radius)
    return top_at(stock, np.stack([nearest, nearest]))


def _without_level(path: Path, scene: Scene, rows: Ints, low: Floats) -> Ints:
    """Level moves that end over the stock need no looking at their way: `low` is filled in."""
    is_level = path.low[2, rows] == path.high[2, rows]
    over = depth_inside(scene.stock, path.end[:2, rows]) > -path.radius[rows] + TOUCH_MM
    done = is_level & over
    low[rows[done]] = path.low[2, rows[done]]
    return np.asarray(rows[~done])


def on_the_face(path: Path, scene: Scene) -> Flags:
    """(N,) sideways rapids with the tip at the height of the top, over the stock."""
    stock, is_on = scene.stock, np.zeros(len(path.moves), dtype=bool)
    if not all(isinstance(one, Box) or is_round_upright(one) for one in blanks_of(stock)):
        return is_on
    is_level = np.abs(path.low[2] - stock.high_mm[2]) <= TOUCH_MM
    is_level &= path.end[2] <= path.start[2] + TOUCH_MM  # a rise is leaving the face
    rows = np.flatnonzero(path.is_rapid & (path.stroke < 0) & is_level)
    flat = path.each(lambda form: form.flat_mm)[rows]
    start, end = path.start.take(rows, axis=1), path.end.take(rows, axis=1)
    lowest = lowest_over(stock, start, end, flat - TOUCH_MM)
    is_on[rows] = lowest <= stock.high_mm[2] + TOUCH_MM
    return is_on
