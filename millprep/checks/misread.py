"""Which one figure, or two, read otherwise, make every dimension close.

Each figure that places an end of a dimension is tried in turn: the file is read again with it
larger, which tells how the dimensions follow it, and from that what it would have to be. No pattern
needs sums of its own for this. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from itertools import combinations

from millprep.base.records import frozen
from millprep.checks.figure_slips import slips
from millprep.infiles.restated import Restated
from millprep.infiles.wording import key_words
from millprep.model.part import Dimension, StatedLength

_CLOSE_MM = 0.02
"""Dimensions close to this where nothing else is said: sums of figures that were rounded to 0.01 mm
stay within it (common practice)."""
_MOST_ROUNDED_MM = 0.05
_STILL = 1e-6  # a dimension that follows a figure less than this does not hang on it
_MOST_OFF = 8
_MOST_FIGURES = 80  # each costs a few readings of the file
_MOST_PLACED = 40_000  # holes placed for the first of them
_DIMENSION_COSTS = 10  # to read a dimension takes as long as to place so many holes, about
_NOISE_MM = 1e-6


@frozen
class Change:
    """One figure written otherwise.

    path, line : where it stands; text : what it is there; new_text, length_mm : what would close
    why        : the slip of reading that it would be; "" if it is none
    closes     : indices of the dimensions that close with it and do not without
    """

    path: tuple[str | int, ...]
    line: int | None
    text: str
    new_text: str
    length_mm: float
    why: str
    closes: frozenset[int]

    @property
    def key(self) -> str:
        return key_words(self.path)

    @property
    def own(self) -> int | None:
        """The dimension whose own figure it is."""
        return int(self.path[1]) if self.path[0] == "dimension" else None


def allowance_mm(dimension: Dimension) -> float:
    """How far a dimension may be from the places: half of its last decimal, or its tolerance."""
    if dimension.tolerance_mm is not None:
        return max(dimension.tolerance_mm, _NOISE_MM)
    decimals = re.search(r"\.(\d+)", dimension.text)
    if decimals is None:
        return _CLOSE_MM
    half = 0.5 * 10.0 ** -len(decimals[1]) * (25.4 if _is_inch(dimension) else 1.0)
    return min(max(_CLOSE_MM, half), _MOST_ROUNDED_MM) + _NOISE_MM


def is_off(dimension: Dimension, placed_mm: float) -> bool:
    """Whether the places make a dimension another than the drawing does."""
    return abs(abs(placed_mm) - dimension.length_mm) > allowance_mm(dimension)


def fewest_changes(file: Restated, dimensions: Sequence[Dimension]) -> list[tuple[Change, ...]]:
    """The figures that make everything close once they are changed, fewest and likeliest first.

    One figure alone, whether a slip of reading explains it or not; or else two that are slips both.
    """
    now = file.distances({})
    if len(now) != len(dimensions):
        return []
    off = frozenset(i for i, each in enumerate(dimensions) if is_off(each, now[i]))
    found = list(dict.fromkeys(_changes(file, dimensions, now, off)))
    alone = sorted((each for each in found if each.closes == off), key=lambda each: not each.why)
    if alone:
        return [(change,) for change in alone]
    likely = [change for change in found if change.why]
    return [
        pair
        for pair in combinations(likely, 2)
        if pair[0].path != pair[1].path
        and pair[0].closes | pair[1].closes == off
        and _all_close(file, dimensions, pair)
    ]


def _all_close(
    file: Restated, dimensions: Sequence[Dimension], changes: tuple[Change, ...]
) -> bool:
    own = {change.own for change in changes}
    after = file.distances(
        {change.path: change.length_mm for change in changes if change.own is None}, True
    )
    return bool(after) and not any(
        is_off(each, after[i]) for i, each in enumerate(dimensions) if i not in own
    )


def _changes(
    file: Restated, dimensions: Sequence[Dimension], now: Sequence[float], off: frozenset[int]
) -> Iterator[Change]:
    """Every change of one figure that closes a dimension and opens none."""
    by_path = {stated.path: stated for stated in file.stated}
    some = sorted(off)[:_MOST_OFF]
    for index in some:
        stated = by_path.get(("dimension", index, "is"))
        if stated is not None:
            room_mm = allowance_mm(dimensions[index])
            yield _change(stated, abs(now[index]), room_mm, frozenset({index}))
    placed = file.placed + _DIMENSION_COSTS * len(dimensions)
    most = min(_MOST_FIGURES, _MOST_PLACED // (placed + 1))
    for stated in file.placing_lengths()[:most]:
        read = [file.distances({stated.path: stated.length_mm + step}) for step in (0.0, 1.0, 2.0)]
        if not all(read):
            continue
        for index in some:
            squares = [each[index] ** 2 for each in read]
            for step, room_mm in _steps(squares, dimensions[index]):
                length_mm = stated.length_mm + step
                after = file.distances({stated.path: length_mm}, must_lie_on=True)
                still = {i for i, each in enumerate(after) if is_off(dimensions[i], each)}
                if after and index not in still and still <= off:
                    yield _change(stated, length_mm, room_mm, off - still)


def _steps(squares: Sequence[float], wanted: Dimension) -> Iterator[tuple[float, float]]:
    """(how much larger a figure has to be, how near that is known) [mm] for a dimension to close.

    Places follow a figure in straight lines, so the square of a distance is a quadratic of it, and
    three squares, a millimetre apart, give that. The nearer root comes first.
    """
    here, near, far = squares
    bend, slope = (far - 2 * near + here) / 2, (4 * near - far - 3 * here) / 2
    if abs(bend) < _STILL:
        return  # this dimension does not hang on this figure
    root = math.sqrt(max(slope**2 - 4 * bend * (here - wanted.length_mm**2), 0.0))
    for step in sorted({(-slope + root) / (2 * bend), (-slope - root) / (2 * bend)}, key=abs):
        yield step, allowance_mm(wanted) / math.sqrt(bend)


def _change(
    stated: StatedLength, length_mm: float, room_mm: float, closes: frozenset[int]
) -> Change:
    """The change in words: as a slip of reading where it is one, else the figure needed."""
    value = length_mm / 25.4 if stated.units == "inch" else length_mm
    text, why = f"{value:.4f}".rstrip("0").rstrip("."), ""
    for slip in slips(stated.text, stated.units, stated.length_mm):
        if abs(slip.length_mm - length_mm) <= room_mm:
            length_mm, text, why = slip.length_mm, slip.text, slip.why
            break
    if stated.says_unit and not text.startswith('"'):
        text = f'"{text} {"in" if stated.units == "inch" else "mm"}"'
    return Change(stated.path, stated.line, stated.text, text, length_mm, why, closes)


def _is_inch(dimension: Dimension) -> bool:
    """Whether the figure is in inches: told by what it was read as."""
    number = re.match(r"\d*\.?\d*", dimension.text)
    value = float(number[0]) if number is not None and number[0].strip(".") else 0.0
    return abs(dimension.length_mm - value) > 1e-9
