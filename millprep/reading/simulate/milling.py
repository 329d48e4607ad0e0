"""What is milled: which moves cut sideways, and which feeds down are the way in to such a cut.

    G1 Z-2.  X30.      a plunge: the tool stands at depth, and goes on sideways
    G1 Z-2.  G0 Z5.    a hole: down, and straight up again

What a cycle makes is a hole, and what a drill, reamer or tap makes.
"""

from __future__ import annotations

import numpy as np

from millprep.model.scene import Box, Disc, Scene, blanks_of
from millprep.reading.milled_rooms import MilledRoom, Rooms, SidewaysCuts
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, chords, in_blocks
from millprep.reading.simulate.solid import depth_inside, is_round_upright, lowest_over, top_at
from millprep.reference.shared_rules import TOUCH_MM


def plunges_of(path: Path, low: Floats, is_fed: Flags, top: Floats) -> Flags:
    """(S,) the strokes after which the tool goes on sideways at depth, fed.

    low, is_fed, top : of each stroke, as in `Strokes`; where no top is known, at depth is in the
                       lower half of the feed down
    """
    after = np.minimum(path.last + 1, len(path.moves) - 1)
    is_next = (path.last < after) & path.is_feed[after] & (path.stroke[after] < 0)
    is_next &= path.form[after] == path.form[path.last]
    began = np.full(low.size, -np.inf)
    fed = np.flatnonzero(path.is_feed & path.is_down & (path.stroke >= 0))
    np.fmax.at(began, path.stroke[fed], path.start[2, fed])
    depth = np.where(np.isnan(top), (began + low) / 2, top - TOUCH_MM)
    may = ~path.uses(lambda use: use.only_down)[path.last] & (path.moves.cycle[path.last] == 0)
    return np.asarray(is_fed & is_next & may & (path.end[2, path.last] < depth))


def enters_stock(path: Path, below: Flags) -> Flags:
    """(S,) whether the feeds that follow a stroke, up to the next rapid, go below the top."""
    count = np.concatenate([[0], np.cumsum(below & path.is_feed)])
    rapids = np.append(np.flatnonzero(path.is_rapid), len(path.moves))
    behind = rapids[np.searchsorted(rapids, path.last + 1)]
    return np.asarray(count[behind] > count[np.minimum(path.last + 1, len(path.moves))])


def mills_without_stock(path: Path) -> Flags:
    """(N,) the sideways feeds that cut where nobody knows the stock: below Z0, or lower than the
    feed down before them began, as long as no rapid comes between."""
    sideways = path.is_feed & (path.stroke < 0) & ~path.uses(lambda use: use.only_down)
    level = _fed_from(path, path.is_rapid)
    level = _fed_from(path, path.is_rapid | (path.is_feed & (path.end[2] >= level - TOUCH_MM)))
    return np.asarray(sideways & (path.low[2] < np.maximum(level, 0.0) - TOUCH_MM))


def _fed_from(path: Path, breaks: Flags) -> Floats:
    """(N,) the height where the first feed down since the last break began; -inf before it."""
    row = np.arange(len(path.moves))
    stretch = np.cumsum(breaks)
    down = np.flatnonzero(path.is_feed & path.is_down)
    begins = np.full(int(stretch[-1]) + 1 if row.size else 1, row.size)
    begins[stretch[down[::-1]]] = down[::-1]  # the first of a stretch is written last
    own = begins[stretch]
    has_begun = own <= row
    return np.where(has_begun, path.start[2, np.minimum(own, max(row.size - 1, 0))], -np.inf)


def cuts_of(path: Path, mills: Flags) -> SidewaysCuts:
    """The moves that mill, as straight pieces."""
    pieces = [chords(path, block) for block in in_blocks(path, np.flatnonzero(mills))]
    owner = np.concatenate([one[0] for one in pieces] or [np.empty(0, dtype=np.int64)])
    start, end = (
        np.concatenate([one[n] for one in pieces] or [np.empty((3, 0))], axis=1) for n in (1, 2)
    )
    return _cuts(path, owner, start, end)


def _cuts(path: Path, owner: Ints, start: Floats, end: Floats) -> SidewaysCuts:
    form = path.form[owner]
    flat, slope = np.array([(one.flat_mm, one.slope) for one in path.forms])[form].T
    line, tool = (column[owner].astype(np.int64) for column in (path.moves.line, path.moves.tool))
    return SidewaysCuts(line, tool, start, end, path.radius[owner], flat, slope)


def milled_rooms(
    path: Path, mills: Flags, strokes: Ints, scene: Scene | None
) -> tuple[MilledRoom, ...]:
    """Pockets, slots and profiles: the rooms that sideways cuts take, and the plunges into them.

    strokes : numbers of the plunges that are in the stock
    """
    into = np.isin(path.stroke, strokes) & path.is_feed & path.is_down
    rooms = Rooms(np.full(3, -np.inf), np.full(3, np.inf), np.nan)
    if scene is not None:
        stock = scene.stock
        rooms = Rooms(np.array(stock.low_mm), np.array(stock.high_mm), stock.high_mm[2])
    for block in in_blocks(path, np.flatnonzero(mills | into)):  # a long program's one by one
        rooms.take_in(_cuts(path, *chords(path, block)))
    return tuple(rooms.closed())


def lowest_sideways(path: Path, scene: Scene | None) -> Floats:
    """(N,) lowest tip of each sideways move over the stock and below its highest, nan of others."""
    low = np.full(len(path.moves), np.inf)
    if scene is not None:
        rows = np.flatnonzero((path.stroke < 0) & (path.low[2] < scene.stock.high_mm[2]))
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
