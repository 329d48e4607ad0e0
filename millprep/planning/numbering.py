"""The order of the holes of one tool: in rows, patterns in their numbering, or as dials want it.

Whoever counts along does a pattern in its numbering; where that costs a tenth more travel and over,
the short way wins. Travel counts from zero over the first hole to the last. On dials every place is
come up to from one side: an axis that goes back has to go past and come up again, and of two orders
the one with fewer such returns is better. In rows one axis is locked and the other worked one way
only; they run along X or Y, whichever has fewer settings and returns. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise, permutations

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.setting.setups import Setup

SAME_ROW_MM = 0.01  # closer than any dial is set
AXES = "XY"


@frozen
class Rows:
    """Points in rows.

    order    : numbers of the points, as they are visited
    locked   : 0 when X is locked and Y worked, 1 when Y is locked and X worked
    settings : how often the locked axis is set; returns : places in `order` before which the
               working axis goes back
    """

    order: tuple[int, ...]
    locked: int
    settings: int
    returns: tuple[int, ...]


def ways_of(setup: Setup) -> tuple[int, int]:
    """1 or -1 for X and Y: the way from zero into the part; up where zero is in its middle."""
    x, y = (
        1 if setup.high_mm[axis] >= -setup.low_mm[axis] - SAME_ROW_MM else -1 for axis in (0, 1)
    )
    return x, y


def in_rows(points_mm: Floats, ways: tuple[int, int] = (1, 1)) -> Rows:
    """Points (2, N) in rows along X or along Y, whichever is less to set.

    ways : the way in which X and Y are worked, 1 or -1 each
    """
    along_x, along_y = _in_rows(points_mm, 1, ways), _in_rows(points_mm, 0, ways)
    return min(along_x, along_y, key=lambda rows: _cost(rows, points_mm))


def _cost(rows: Rows, points_mm: Floats) -> tuple[int, float]:
    """Settings and returns first; then how far the handle of the working axis is wound."""
    worked = points_mm[1 - rows.locked, list(rows.order)]
    return rows.settings + len(rows.returns), round(float(np.abs(np.diff(worked)).sum()), 6)


def _in_rows(points_mm: Floats, locked: int, ways: tuple[int, int]) -> Rows:
    """The locked axis goes its way from row to row, the other its way along each row."""
    set_at, worked = points_mm[locked] * ways[locked], points_mm[1 - locked] * ways[1 - locked]
    rows: list[list[int]] = []
    start = 0.0
    for index in np.argsort(set_at, kind="stable").tolist():
        if not rows or set_at[index] > start + SAME_ROW_MM:
            rows.append([])
            start = float(set_at[index])
        rows[-1].append(index)
    for row in rows:
        row.sort(key=lambda index: float(worked[index]))
    order = tuple(index for row in rows for index in row)
    returns = tuple(
        place
        for place, (before, here) in enumerate(pairwise(order), 1)
        if worked[here] < worked[before] - SAME_ROW_MM
    )
    return Rows(order, locked, len(rows), returns)


Floats = NDArray[np.float64]

MOST_TRAVEL = 1.1  # times the short way, that a pattern in its numbering may cost
_ALL_ORDERS_UP_TO = 6  # blocks; 720 orders
_MOST_BLOCKS = 40  # beyond them the short way is taken as it is
_SAME_MM = 0.01  # of travel: nothing to choose between
_GAIN = 1e-7  # less is rounding
_TRUE_MM = 0.05  # what a reamed or bored hole is to keep where nothing is said

Block = tuple[int, ...]


def in_numbering(points_mm: Floats, holes: Sequence[Hole], short: Sequence[int]) -> list[int]:
    """Places (2, N) with as many patterns in their numbering as a tenth more travel allows.

    short : the short way round them, which is taken where no numbering is cheap enough
    """
    most_mm = MOST_TRAVEL * min(travel_mm(points_mm, short), travel_mm(points_mm, short[::-1]))
    kept = patterns_of(holes)
    while kept:
        blocks = _blocks(kept, short)
        if len(blocks) > _MOST_BLOCKS:
            break
        found = _joined(points_mm, holes, blocks)
        if travel_mm(points_mm, found) <= most_mm:
            return found
        kept.remove(max(kept, key=lambda block: _length_mm(points_mm, block) / len(block)))
    return list(short)


def patterns_of(holes: Sequence[Hole]) -> list[Block]:
    """Numbers of the holes of each pattern, in its numbering."""
    found: dict[str, list[int]] = {}
    for index, hole in enumerate(holes):
        if hole.member is not None:
            found.setdefault(hole.group, []).append(index)
    return [
        tuple(sorted(block, key=lambda index: holes[index].member or 0))
        for block in found.values()
        if len(block) > 1
    ]


def travel_mm(points_mm: Floats, order: Sequence[int]) -> float:
    """From zero over the first place to the last."""
    return math.hypot(*points_mm[:, order[0]]) + _length_mm(points_mm, order)


def _length_mm(points_mm: Floats, order: Sequence[int]) -> float:
    return float(np.hypot(*np.diff(points_mm[:, list(order)])).sum())


def _blocks(kept: Sequence[Block], short: Sequence[int]) -> list[Block]:
    """What is done in one go, in the order in which the short way first comes to it."""
    of = {index: block for block in kept for index in block}
    return list(dict.fromkeys(of.get(index, (index,)) for index in short))


def _joined(points_mm: Floats, holes: Sequence[Hole], blocks: Sequence[Block]) -> list[int]:
    """The blocks in the order of least travel; of two as good the one that soonest comes to what
    most likely scraps the part. Of many blocks a short order, not surely the shortest."""
    starts = points_mm[:, [block[0] for block in blocks]]
    ends = points_mm[:, [block[-1] for block in blocks]]
    away = np.hypot(*(ends[:, :, None] - starts[:, None, :]))
    between, count = _Between(away, np.hypot(*starts)), len(blocks)
    orders = (
        list(permutations(range(count)))
        if count <= _ALL_ORDERS_UP_TO
        else [between.improved(list(range(count))), between.improved(between.nearest())]
    )
    least = min(map(between.cost, orders)) + _SAME_MM
    fair = [order for order in orders if between.cost(order) <= least]
    joined = [[index for number in order for index in blocks[number]] for order in fair]
    return min(joined, key=lambda order: [_keeps_mm(holes[index]) for index in order])


class _Between:
    """What it costs to go from the end of one block to the start of another, and from zero."""

    def __init__(self, away: Floats, from_zero: Floats) -> None:
        self.away: list[list[float]] = away.tolist()
        self.from_zero: list[float] = from_zero.tolist()

    def cost(self, order: Sequence[int]) -> float:
        """Between the blocks only."""
        steps = pairwise(order)
        return self.from_zero[order[0]] + sum(self.away[one][other] for one, other in steps)

    def nearest(self) -> list[int]:
        """Always to the nearest left."""
        left = set(range(len(self.away)))
        order = [min(left, key=self.from_zero.__getitem__)]
        left.remove(order[0])
        while left:
            order.append(min(left, key=self.away[order[-1]].__getitem__))
            left.remove(order[-1])
        return order

    def improved(self, order: list[int]) -> list[int]:
        """One block after another put where it costs least, until nothing helps."""
        best = self.cost(order)
        is_better = True
        while is_better:
            is_better = False
            for block in list(order):
                rest = [each for each in order if each != block]
                tries = [[*rest[:at], block, *rest[at:]] for at in range(len(order))]
                shortest = min(tries, key=self.cost)
                if self.cost(shortest) < best - _GAIN:
                    order, best, is_better = shortest, self.cost(shortest), True
        return order


def _keeps_mm(hole: Hole) -> float:
    """How close the hole's place is to be kept: the closest is the soonest spoilt."""
    own = [hole.tolerance_mm, None if hole.position_mm is None else hole.position_mm / 2]
    own += [_TRUE_MM] if hole.kind.is_true else []
    return min((each for each in own if each is not None), default=math.inf)


def returns_in(points_mm: Floats, order: Sequence[int], ways: tuple[int, int]) -> int:
    """How often X or Y goes back against the way in which its places are come up to."""
    steps = np.diff(points_mm[:, list(order)]) * np.array(ways)[:, None]
    return int((steps < -SAME_ROW_MM).sum())


def with_fewest_returns(
    points_mm: Floats, holes: Sequence[Hole], short: Sequence[int], ways: tuple[int, int]
) -> list[int]:
    """Of the ways round places (2, N) that dials like that with the fewest returns; of two as good
    the one in its numbering, then the shorter."""
    numbered = in_numbering(points_mm, holes, short)
    rows = list(in_rows(points_mm, ways).order)
    offers = [numbered, rows, list(short), list(short[::-1]), _in_chains(points_mm, ways)]
    if len(holes) <= _MOST_BLOCKS // 2:
        offers += [_with_less_to_go_back(points_mm, order, ways) for order in offers]
    return min(
        offers,
        key=lambda order: (
            returns_in(points_mm, order, ways),
            order != numbered,
            round(travel_mm(points_mm, order), 3),
        ),
    )


def _with_less_to_go_back(
    points_mm: Floats, order: Sequence[int], ways: tuple[int, int]
) -> list[int]:
    """Place after place put where it costs the fewest returns, then the least travel."""
    steps = points_mm[:, None, :] - points_mm[:, :, None]
    back = (steps * np.array(ways)[:, None, None] < -SAME_ROW_MM).sum(axis=0)
    away, from_zero = np.hypot(*steps), np.hypot(*points_mm)
    longest_mm = float(away.sum() + from_zero.max()) + 1.0
    return _Between(back + away / longest_mm, from_zero / longest_mm).improved(list(order))


def _in_chains(points_mm: Floats, ways: tuple[int, int]) -> list[int]:
    """As few chains along which neither axis goes back as there can be (by patience: each place
    goes on the chain that ends highest and not above it), one after another."""
    x, y = points_mm * np.array(ways)[:, None]
    chains: list[list[int]] = []
    ends: list[float] = []  # of Y, ascending
    for index in np.lexsort((y, np.round(x / SAME_ROW_MM))).tolist():
        place = bisect_right(ends, y[index] + SAME_ROW_MM) - 1
        if place < 0:
            chains.insert(0, [index])
            ends.insert(0, float(y[index]))
        else:
            chains[place].append(index)
            ends[place] = max(float(y[index]), ends[place])
    order: list[int] = []
    left = sorted(chains, key=lambda chain: float(x[chain[0]]))
    while left:
        chain = left[0]
        if order and len(left) < _MOST_BLOCKS:
            last = order[-1]
            chain = min(left, key=lambda each: returns_in(points_mm, (last, each[0]), ways))
        left.remove(chain)
        order += chain
    return order
