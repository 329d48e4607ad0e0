"""What was read of a plan: holes, outline, what was taken as what, and what was not understood."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Generic, TypeVar

from millprep.base.bounds import MOST_FAULTS
from millprep.base.findings import Finding, MillprepError
from millprep.base.plain_text import clean
from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH, Units
from millprep.infiles.told import Told

SAME_MM = 0.01
"""What a plan's own rounding may put apart: nearer than this is the same."""
_DECIMALS = 6

Place = tuple[float, float]
T = TypeVar("T")


@frozen
class PlanHole:
    """One hole. Places and sizes [mm], in the plan's own axes: x to the right, y up.

    where   : on the plan, for a person: "line 7", "circle 2F on layer holes"
    keys    : what it is, as keys and values of TOML; without a kind where the plan gives no size
    asks    : what has to be filled in, a comment each
    written : x and y as the plan has them, as TOML in the file's units; None where worked out
    diameter_mm, widest_mm : of the hole and of its widest recess; 0 where nothing is known
    """

    x_mm: float
    y_mm: float
    where: str
    keys: tuple[tuple[str, str], ...] = ()
    asks: tuple[str, ...] = ()
    name: str = ""
    written: tuple[str, str] | None = None
    diameter_mm: float = 0.0
    widest_mm: float = 0.0

    @property
    def place(self) -> Place:
        return self.x_mm, self.y_mm


@frozen
class Outline:
    """The largest closed line of a plan, or a blank that was given [mm].

    words : what it is on the plan; is_box : whether it is no more than its box, or its circle
    """

    low_mm: Place
    high_mm: Place
    is_round: bool = False
    is_box: bool = True
    words: str = ""
    thickness_mm: float | None = None

    @property
    def size_mm(self) -> Place:
        return self.high_mm[0] - self.low_mm[0], self.high_mm[1] - self.low_mm[1]


@frozen
class Plan:
    """A plan, read.

    faults : what was not understood, a warning each
    total  : how many things there were that could be a hole; noun : what they are called
    taken  : what was taken as what, a sentence each; texts : the words that stand on a drawing
    """

    path: str
    units: Units
    holes: tuple[PlanHole, ...]
    faults: Told
    total: int
    noun: str
    read: int
    outline: Outline | None = None
    is_drawing: bool = False
    taken: tuple[str, ...] = ()
    texts: tuple[str, ...] = ()


def refuse_little(path: str, faults: Told, read: int, total: int, noun: str) -> None:
    """Raises MillprepError where less than half of a plan was understood, with what was not."""
    if read and 2 * read >= total:
        return
    told = [replace(one, severity="stop") for one in faults.in_file_order()]
    if (more := len(told) - MOST_FAULTS) > 0:
        many = Finding("stop", "many-findings", f"{more} more are not told", file=path)
        told = [*told[:MOST_FAULTS], many]
    what = f"{read} of {total} {noun} read: that is too little to make a part file of"
    remedy = (
        "see what is wrong with each" if told else "a plan has a line, or a circle, for each hole"
    )
    raise MillprepError(Finding("stop", "unreadable-file", what, remedy, path), *told)


def figure(value_mm: float, units: Units, decimals: int = _DECIMALS) -> str:
    """A length worked out, as TOML in the file's units."""
    value = value_mm / float(MM_PER_INCH) if units == "inch" else value_mm
    words = f"{value:.{decimals}f}"
    return "0" if float(words) == 0 else words.rstrip("0").rstrip(".") if "." in words else words


def exact_figure(value_mm: Fraction, units: Units) -> str:
    """A length that was read, as TOML in the file's units."""
    return figure(float(value_mm), units)


def quoted(words: str) -> str:
    """Words as a TOML string."""
    return json.dumps(clean(words), ensure_ascii=False)


class Near(Generic[T]):
    """Things by their places, so that what lies within SAME_MM of a place is found at once."""

    def __init__(self, pairs: Iterable[tuple[Place, T]] = ()) -> None:
        self._cells: dict[tuple[int, int], list[tuple[Place, T]]] = {}
        for place, thing in pairs:
            self.add(place, thing)

    def add(self, place: Place, thing: T) -> None:
        self._cells.setdefault(self._cell(place), []).append((place, thing))

    def at(self, place: Place) -> Iterator[T]:
        """What lies there, in the order it came in within a cell."""
        i, j = self._cell(place)
        for cell in ((i + di, j + dj) for di in (-1, 0, 1) for dj in (-1, 0, 1)):
            for other, thing in self._cells.get(cell, ()):
                if math.dist(place, other) <= SAME_MM:
                    yield thing

    def first(self, place: Place) -> T | None:
        return next(self.at(place), None)

    @staticmethod
    def _cell(place: Place) -> tuple[int, int]:
        return math.floor(place[0] / SAME_MM), math.floor(place[1] / SAME_MM)
