"""What sideways cuts remove: the height that is left, square by square.

Coarse on purpose. A hole-making program seldom mills; when it does, a rapid in the room it has
made must not count as a crash. Wherever the tool stands, the squares wholly under it are cut down
to its tip:

        . . # # # . .        the same squares about the one that holds the axis, so that a place
        . # # # # # .        is one number and a cut is one running minimum; a rapid looks at
        . # # + # # .        the inner ones of these, which its way has covered whatever squares
        . # # # # # .        its own places fall into
        . . # # # . .

Nothing is cut before somebody asks.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from functools import lru_cache

import numpy as np

from millprep.base.records import frozen
from millprep.model.scene import Solid
from millprep.reading.moves import path_mm
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, places_at
from millprep.reading.simulate.solid import depth_inside, top_at
from millprep.reference.shared_rules import TOUCH_MM

LEAST_SQUARE_MM = 0.1
MOST_SQUARES = 1_000_000
MOST_CUTS = 150e6  # squares times places: what a few seconds bear
MOST_STEPS = 100_000  # of one rapid
_SQUARES_A_RADIUS = (16.0, 4.0)  # if the way is short, and in any case
_DIAGONAL = 1.4143  # half of one for the axis in its square, half of one for the square at the rim
_INNER = 1.5  # squares that a rapid looks away from the rim
_PLACES_A_BLOCK = 20_000
_MOST_STAMPS = 4_000_000


@frozen
class _Block:
    """Places of a stretch of moves, in their order: move, square, tip and radius of each."""

    owner: Ints
    square: Ints
    tip: Floats
    radius: Floats


class Milled:
    """The height left over the stock, kept from program to program."""

    def __init__(self, stock: Solid, way_mm: Floats, radius_mm: Floats) -> None:
        """way_mm, radius_mm : (M,) of the first program's sideways cuts; the longer they are, the
        coarser the squares"""
        low, high = np.array(stock.low_mm), np.array(stock.high_mm)
        size = high[:2] - low[:2]
        least = max(float(radius_mm.min()), LEAST_SQUARE_MM)
        borne = float(np.pi * (way_mm * radius_mm**2).sum() / MOST_CUTS) ** (1 / 3)
        fine, coarse = (max(LEAST_SQUARE_MM, least / count) for count in _SQUARES_A_RADIUS)
        square = min(max(fine, borne), coarse)
        self.square_mm = max(square, float(np.sqrt(size.prod() / MOST_SQUARES)))
        self._count = np.maximum(1, np.ceil(size / self.square_mm).astype(int))
        self._low = low[:2]
        self._rim = 0
        self._height = self._blank(stock)
        self._path: Path | None = None
        self._blocks: Iterator[_Block] = iter(())
        self._block: _Block | None = None
        self._rapids: list[int] = []
        self._clear: list[int] = []

    def _blank(self, stock: Solid) -> Floats:
        x, y = (
            low + (np.arange(count) + 0.5) * self.square_mm
            for low, count in zip(self._low, self._count, strict=True)
        )
        places = np.array([grid.ravel() for grid in np.meshgrid(x, y, indexing="ij")])
        is_stock = depth_inside(stock, places) > -self.square_mm
        height = np.where(is_stock, top_at(stock, places), -np.inf)
        return np.asarray(height.reshape(tuple(self._count)))

    def _widen(self, radius_mm: float) -> None:
        """Room around the stock, so that no tool over it reaches beyond the squares."""
        rim = 2 * int(np.ceil(radius_mm / self.square_mm)) + 2
        if rim > self._rim:
            more = rim - self._rim
            self._height = np.pad(self._height, more, constant_values=-np.inf)
            self._rim = rim

    def __deepcopy__(self, memo: dict[int, object]) -> Milled:
        """As the program leaves it, all of it cut."""
        self.cut_until(None)
        other = copy(self)
        other._height, other._path, other._blocks = self._height.copy(), None, iter(())
        other._rapids, other._clear = [], [*self._clear]
        return other

    def begin(self, path: Path, cutting: Flags, rapids: Ints) -> None:
        """The next program: `cutting` (N,) are the moves that mill, `rapids` those to look at."""
        self.cut_until(None)
        self._widen(max(form.radius_mm for form in path.forms))
        rows = np.flatnonzero(cutting)
        known = ~np.isnan((path.start + path.end)[:, rows]).any(axis=0)
        self._path = path
        self._blocks, self._block = self._places(path, rows[known]), None
        self._rapids, self._clear = rapids[::-1].tolist(), []

    def _places(self, path: Path, rows: Ints) -> Iterator[_Block]:
        """Where the tool stands, a square apart, a block at a time."""
        length = path_mm(path.moves)[rows]
        counts = np.ceil(length / self.square_mm).astype(np.int64) + 1
        block = (np.cumsum(counts) - 1) // _PLACES_A_BLOCK
        ends = np.flatnonzero(np.diff(block)) + 1
        for some, many in zip(np.split(rows, ends), np.split(counts, ends), strict=True):
            owner = np.repeat(some, many)
            nth = np.arange(owner.size) - np.repeat(np.cumsum(many) - many, many)
            places = places_at(path, owner, nth / np.maximum(np.repeat(many, many) - 1, 1))
            square, near = self._squares(places, path.radius[owner])
            yield _Block(owner[near], square[near], places[2, near], path.radius[owner][near])

    def _squares(self, places: Floats, radius: Floats) -> tuple[Ints, Flags]:
        """((P,) number of the square that holds each axis, whether the tool is near the stock)."""
        at = np.floor((places[:2] - self._low[:, None]) / self.square_mm)
        reach = np.ceil(radius / self.square_mm)
        near = ((at >= -reach) & (at < self._count[:, None] + reach)).all(axis=0)
        column, row = np.where(near, at, 0).astype(np.int64) + self._rim
        return column * self._height.shape[1] + row, near

    def clear_rapids(self) -> list[int]:
        """Of the rapids to look at those that go only where sideways cuts were before them."""
        if self._rapids:
            self.cut_until(self._rapids[0] + 1)
        return self._clear

    def cut_until(self, move: int | None) -> None:
        """Takes away what the moves before this one have milled; all of them for None."""
        if self._path is None:
            return
        while self._rapids and (move is None or self._rapids[-1] < move):
            row = self._rapids.pop()
            self._cut(row)
            if self._is_clear(self._path, row):
                self._clear.append(row)
        self._cut(move)

    def _cut(self, move: int | None) -> None:
        while True:
            if self._block is None:
                self._block = next(self._blocks, None)
            block = self._block
            if block is None:
                return
            size = block.owner.size
            count = size if move is None else int(np.searchsorted(block.owner, move))
            if count:
                self._stamp(block, count)
            if count < size:
                rest = slice(count, None)
                self._block = _Block(
                    block.owner[rest], block.square[rest], block.tip[rest], block.radius[rest]
                )
                return
            self._block = None

    def _stamp(self, block: _Block, count: int) -> None:
        radii = block.radius[:count]
        flat = self._height.reshape(-1)
        for radius in [radii[0]] if (radii == radii[0]).all() else np.unique(radii):
            around = self._around(float(radius), 0.0)
            own = np.flatnonzero(radii == radius)
            for part in np.array_split(own, max(1, own.size * around.size // _MOST_STAMPS)):
                squares = block.square[part][:, None] + around
                tips = np.broadcast_to(block.tip[part][:, None], squares.shape)
                np.minimum.at(flat, squares.ravel(), tips.ravel())

    def _around(self, radius_mm: float, inwards: float) -> Ints:
        """Numbers to add to a square's for those wholly under a tool whose axis is in it."""
        squares = radius_mm / self.square_mm - _DIAGONAL - inwards
        return _around(round(max(squares, 0.0), 6), self._height.shape[1])

    def highest_under(self, x_mm: float, y_mm: float, radius_mm: float) -> float:
        """The highest square wholly under a tool at that place; -inf where there is none."""
        place = np.array([[x_mm], [y_mm], [0.0]])
        return float(self._highest(place, radius_mm)[0])

    def _highest(self, places: Floats, radius_mm: float) -> Floats:
        square, near = self._squares(places, np.full(places.shape[1], radius_mm))
        highest = np.full(places.shape[1], -np.inf)
        around = self._around(radius_mm, _INNER)
        own = np.flatnonzero(near)
        for part in np.array_split(own, max(1, own.size * around.size // _MOST_STAMPS)):
            squares = square[part][:, None] + around
            highest[part] = self._height.reshape(-1)[squares].max(axis=1)
        return highest

    def _is_clear(self, path: Path, row: int) -> bool:
        """Whether a sideways rapid goes only where sideways cuts have been before."""
        start, end = path.start[:, row], path.end[:, row]
        count = int(np.hypot(*(end - start)[:2]) / self.square_mm) + 2
        if count > MOST_STEPS:
            return False
        places = start[:, None] + (end - start)[:, None] * np.linspace(0, 1, count)
        highest = self._highest(places, float(path.radius[row]))
        return bool((highest <= places[2] + TOUCH_MM).all())


@lru_cache(maxsize=64)
def _around(squares: float, width: int) -> Ints:
    span = np.arange(-int(squares), int(squares) + 1)
    column, row = (grid.ravel() for grid in np.meshgrid(span, span, indexing="ij"))
    under = column**2 + row**2 <= squares**2
    return np.asarray((column * width + row)[under])
