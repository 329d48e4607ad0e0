"""A short way round the holes of a tool: nearest neighbour, then improved until nothing helps.

The way is open: it begins and ends where that makes it shortest. A place that costs nothing to
reach closes it to a ring, so that one body of moves serves; every move is a few turnings-round of
a stretch of the ring:

    2-opt    a b ... c d   ->   a c ... b d          one stretch turned round
    Or-opt   a [s..t] b ... c d   ->   a b ... c [t..s] d   up to three places moved elsewhere

Both look only at the nearest neighbours of a place (G. A. Croes, 1958; I. Or, 1976). Then short
stretches are swapped by way of trial, and what does not help is taken back. Near enough linear in
the holes. Imports numpy only.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

_HOLES_PER_CELL = 2
_RINGS = 3  # searched cell by cell; what lies farther is found by one look over all that is left


def nearest_neighbour_route(points_mm: Floats) -> list[int]:
    """Order in which to visit points (2, N): from the one nearest zero, always to the nearest left.

    Ties go to the point written first, so that a listing does not change from run to run.
    """
    count = points_mm.shape[1]
    if count == 0:
        return []
    cells = _Cells(points_mm)
    here = int(np.argmin(np.hypot(points_mm[0], points_mm[1])))
    route = [here]
    cells.remove(here)
    while len(route) < count:
        here = cells.nearest(here)
        cells.remove(here)
        route.append(here)
    return route


def neighbours_of(points_mm: Floats) -> list[list[int]]:
    """For each of the points (2, N) the numbers of those nearest to it, nearest first."""
    count = points_mm.shape[1]
    most = min(_NEIGHBOURS, count - 1)
    cells = _Cells(points_mm)
    near: list[list[int]] = [[]] * count
    for key, members in cells.cells.items():
        around = np.array(cells.around(key, most + 1))
        for index in members:
            x, y = points_mm[:, around] - points_mm[:, index : index + 1]
            square = x * x + y * y
            square[around == index] = np.inf
            near[index] = around[np.lexsort((around, square))[:most]].tolist()
    return near


class _Cells:
    """Points left to visit, by grid cell."""

    def __init__(self, points_mm: Floats) -> None:
        self.x: list[float] = points_mm[0].tolist()
        self.y: list[float] = points_mm[1].tolist()
        self.points = points_mm
        self.left = np.ones(points_mm.shape[1], dtype=bool)
        spread = np.ptp(points_mm, axis=1)
        area = max(float(spread[0]), 1.0) * max(float(spread[1]), 1.0)
        self.size = math.sqrt(area * _HOLES_PER_CELL / points_mm.shape[1])
        low = points_mm.min(axis=1)
        self.column: list[int] = ((points_mm[0] - low[0]) // self.size).astype(int).tolist()
        self.row: list[int] = ((points_mm[1] - low[1]) // self.size).astype(int).tolist()
        self.cells: dict[tuple[int, int], list[int]] = {}
        for index, key in enumerate(zip(self.column, self.row, strict=True)):
            self.cells.setdefault(key, []).append(index)

    def remove(self, index: int) -> None:
        self.left[index] = False
        self.cells[self.column[index], self.row[index]].remove(index)

    def nearest(self, here: int) -> int:
        best, best_square = -1, math.inf
        for ring in range(_RINGS + 1):
            if best >= 0 and best_square <= ((ring - 1) * self.size) ** 2:
                return best
            for index in self._ring(here, ring):
                square = (self.x[index] - self.x[here]) ** 2 + (self.y[index] - self.y[here]) ** 2
                if (square, index) < (best_square, best):
                    best, best_square = index, square
        if best >= 0 and best_square <= (_RINGS * self.size) ** 2:
            return best
        return self._nearest_of_all(here)

    def around(self, key: tuple[int, int], least: int) -> list[int]:
        """At least so many points in the cells round a cell, and of one ring of cells more."""
        found: list[int] = []
        ring, rings_left = 0, 1
        while rings_left >= 0:
            found += self._ring_at(*key, ring)
            ring += 1
            rings_left -= len(found) >= least
        return found

    def _ring(self, here: int, ring: int) -> list[int]:
        return self._ring_at(self.column[here], self.row[here], ring)

    def _ring_at(self, column: int, row: int, ring: int) -> list[int]:
        found: list[int] = []
        for i in range(column - ring, column + ring + 1):
            at_side = abs(i - column) == ring
            step = 1 if at_side or ring == 0 else 2 * ring
            for j in range(row - ring, row + ring + 1, step):
                found += self.cells.get((i, j), [])
        return found

    def _nearest_of_all(self, here: int) -> int:
        left = np.flatnonzero(self.left)
        distance = np.hypot(
            self.points[0, left] - self.x[here], self.points[1, left] - self.y[here]
        )
        return int(left[int(np.argmin(distance))])


Floats = NDArray[np.float64]
Distance = Callable[[int, int], float]

_NEIGHBOURS = 8
_TRIALS_A_HOLE = 12
_MOST_TRIALS = 2000
_TRIALS_UP_TO = 500  # holes; above, the moves alone take their seconds
_LONGEST_SWAP = 10
_LONGEST_TURN = 5000  # of a large ring: keeps the work near linear
_GAIN_MM = 1e-7  # less is rounding


def short_route(
    points_mm: Floats, extra_mm: Distance | None = None, *, with_trials: bool = True
) -> list[int]:
    """Order in which to visit points (2, N), beginning at the end that is nearer to zero.

    extra_mm    : what going between two of the points costs beyond its length, for ways to avoid
    with_trials : swap stretches by way of trial too; worth its second for a machine, not for a hand
    The same points always give the same order; where nothing is shorter, nearest neighbour's.
    """
    route = nearest_neighbour_route(points_mm)
    count = len(route)
    if count < 3:
        return route
    near = neighbours_of(points_mm)
    ring = _Ring(_distances(points_mm, extra_mm), [*route, count], near)
    ring.improve(range(count))
    if with_trials and count <= _TRIALS_UP_TO:
        ring.try_swaps(min(_TRIALS_A_HOLE * count, _MOST_TRIALS))
    at = ring.place[count]
    found = ring.ring[at + 1 :] + ring.ring[:at]
    first, last = (math.hypot(*points_mm[:, end]) for end in (found[0], found[-1]))
    is_tie = abs(last - first) <= _GAIN_MM
    return found[::-1] if last < first - _GAIN_MM or (is_tie and route[0] == found[-1]) else found


class _Away(dict[int, float]):
    """How far it is from one place to each other [mm], worked out when it is first asked."""

    __slots__ = ("extra_mm", "here", "x", "y")

    def __init__(
        self, here: int, x: list[float], y: list[float], extra_mm: Distance | None
    ) -> None:
        super().__init__({len(x): 0.0})  # the place past the last costs nothing to reach
        self.here, self.x, self.y, self.extra_mm = here, x, y, extra_mm

    def __missing__(self, there: int) -> float:
        here, x, y = self.here, self.x, self.y
        away = math.hypot(x[here] - x[there], y[here] - y[there])
        if self.extra_mm is not None:
            away += self.extra_mm(here, there)
        self[there] = away
        return away


def _distances(points_mm: Floats, extra_mm: Distance | None) -> list[dict[int, float]]:
    """[from][to], by number; the last one is the place that costs nothing."""
    x, y = points_mm.tolist()
    count = len(x)
    rows: list[dict[int, float]] = [_Away(here, x, y, extra_mm) for here in range(count)]
    return [*rows, dict.fromkeys(range(count + 1), 0.0)]


class _Ring:
    """A closed way through all places, and the moves that shorten it."""

    def __init__(
        self, away: list[dict[int, float]], ring: list[int], near: Sequence[Sequence[int]]
    ) -> None:
        self.away = away
        self.ring = ring
        self.near = near
        self.count = len(ring)
        self.place = [0] * self.count
        for index, town in enumerate(ring):
            self.place[town] = index
        self.turned: list[tuple[int, int]] = []  # what was turned round since it was last emptied

    def improve(self, towns: Iterable[int]) -> float:
        """Moves round these places, and round those that a move disturbs, until none gains."""
        waiting = list(towns)
        is_waiting = set(waiting)
        gained = 0.0
        while waiting:
            town = waiting.pop()
            is_waiting.discard(town)
            while (found := self._move(town)) is not None:
                gained += found[0]
                for disturbed in found[1]:
                    if disturbed not in is_waiting and disturbed != self.count - 1:
                        is_waiting.add(disturbed)
                        waiting.append(disturbed)
        return gained

    def try_swaps(self, trials: int) -> None:
        """Swap two short stretches that follow each other, mend, and keep what is shorter."""
        from random import Random  # here, for few parts have so many holes

        chance = Random(1)  # the same holes, the same listing
        longest = min(_LONGEST_SWAP, (self.count - 2) // 2)
        if longest < 1:
            return
        for _ in range(trials):
            self.turned = []
            start = chance.randrange(self.count)
            first, second = chance.randint(1, longest), chance.randint(1, longest)
            gained = self._swap(start, first, second)
            ends = {
                self.ring[(start + step) % self.count]
                for step in (-1, 0, second - 1, second, first + second - 1, first + second)
            } - {self.count - 1}
            gained += self.improve(sorted(ends))
            if gained <= _GAIN_MM:
                for stretch in reversed(self.turned.copy()):
                    self._turn(*stretch)

    def _swap(self, start: int, first: int, second: int) -> float:
        """The stretch of `first` places from `start` and the `second` after it change places."""
        steps = (-1, 0, first - 1, first, first + second - 1, first + second)
        before, a, b, c, d, after = (self.ring[(start + step) % self.count] for step in steps)
        away = self.away
        gained = away[a][before] + away[b][c] + away[d][after]
        gained -= away[c][before] + away[d][a] + away[b][after]
        self._turn(start, start + first + second - 1)
        self._turn(start, start + second - 1)
        self._turn(start + second, start + first + second - 1)
        return gained

    def _move(self, town: int) -> tuple[float, tuple[int, ...]] | None:
        """The first move at this place that gains: what it gains, and whom it disturbed."""
        return self._two_opt(town) or self._or_opt(town)

    def _two_opt(self, a: int) -> tuple[float, tuple[int, ...]] | None:
        ring, place, away, count = self.ring, self.place, self.away, self.count
        at, from_a = place[a], away[a]
        for way in (1, -1):
            b = ring[(at + way) % count]
            old, from_b = from_a[b], away[b]
            for c in self.near[a]:
                new = from_a[c]
                if new >= old:
                    break
                d = ring[(place[c] + way) % count]
                gain = old + away[c][d] - new - from_b[d]
                if gain > _GAIN_MM:
                    first, last = (b, c) if way == 1 else (c, b)
                    if self._turn_either(place[first], place[last]):
                        return gain, (a, b, c, d)
        return None

    def _or_opt(self, town: int) -> tuple[float, tuple[int, ...]] | None:
        """Up to three places, this one at an end, to between a neighbour and the next to it."""
        ring, place, away, count = self.ring, self.place, self.away, self.count
        at, from_town = place[town], away[town]
        for way in (1, -1):
            for size in range(min(3, count - 3)):
                other = ring[(at + way * size) % count]  # the stretch runs from town to other
                before, after = ring[(at - way) % count], ring[(at + way * (size + 1)) % count]
                from_other = away[other]
                saved = from_town[before] + from_other[after] - away[before][after]
                if saved <= _GAIN_MM:
                    continue
                for c in self.near[town]:
                    new = from_town[c]
                    if new >= saved:
                        break
                    if (place[c] - at) * way % count <= size:
                        continue  # within the stretch
                    for side in (1, -1):
                        d = ring[(place[c] + side) % count]
                        if (place[d] - at) * way % count <= size:
                            continue
                        gain = saved + away[c][d] - new - from_other[d]
                        if gain > _GAIN_MM and self._carry(at, way, size, c, side):
                            return gain, (before, after, town, other, c, d)
        return None

    def _carry(self, at: int, way: int, size: int, c: int, side: int) -> bool:
        """Puts the stretch from `at` (size + 1 places that way) between c and its neighbour.

        False where what lies between is too long to be turned round.
        """
        low, high = (at, at + size) if way == 1 else (at - size, at)
        ahead, behind = (self.place[c] - high) % self.count, (low - self.place[c]) % self.count
        if ahead <= behind:  # [stretch][between] -> [between][stretch]
            between = ahead if side == 1 else ahead - 1
            first, last, start = low, high + between, low + between
            rest = (low, low + between - 1)
        else:  # [between][stretch] -> [stretch][between]
            between = behind if side == -1 else behind - 1
            first, last, start = low - between, high, low - between
            rest = (high - between + 1, high)
        if between > _LONGEST_TURN:
            return False
        self._turn(first, last)
        self._turn(*rest)
        # The stretch has come out turned round; its first town has to lie next to c.
        if (way == -1) != (side == 1):
            self._turn(start, start + size)
        return True

    def _turn_either(self, first: int, last: int) -> bool:
        """Turns the stretch round, or the rest of the ring, which comes to the same."""
        inner = (last - first) % self.count + 1
        outer = self.count - inner
        if min(inner, outer) > _LONGEST_TURN:
            return False
        if inner <= outer:
            self._turn(first, first + inner - 1)
        else:
            self._turn(last + 1, last + outer)
        return True

    def _turn(self, first: int, last: int) -> None:
        """Turns round the towns at these places; beyond the end the ring goes on at its start."""
        self.turned.append((first, last))
        count, ring, place = self.count, self.ring, self.place
        length = last - first + 1
        first %= count
        last = first + length - 1
        if last < count:
            stretch = ring[first : last + 1][::-1]
            ring[first : last + 1] = stretch
            for index, town in enumerate(stretch, first):
                place[town] = index
            return
        for step in range(length // 2):
            i, j = (first + step) % count, (last - step) % count
            ring[i], ring[j] = ring[j], ring[i]
            place[ring[i]], place[ring[j]] = i, j
