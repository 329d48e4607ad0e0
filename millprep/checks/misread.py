"""Which one figure, or two, read otherwise, make every dimension close.

Each figure that places an end of a dimension is tried in turn: the file is read again with it
larger, which tells how the dimensions follow it, and from that what it would have to be. No pattern
needs sums of its own for this. Slips of reading are those of proof-reading and of the workshop
(common practice): figures swapped or taken for one like them, a figure or the decimal point lost,
the other unit, the neighbouring fraction of an inch, a radius for a diameter, a sign.
Imports layers 0 to 3.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise

from millprep.base.records import frozen
from millprep.base.units import MM_PER_INCH, Units
from millprep.infiles.restated import Restated
from millprep.infiles.wording import key_words
from millprep.model.part import Dimension, StatedLength

_MM = float(MM_PER_INCH)
_ALIKE = ("17", "38", "56", "06", "68", "08", "35", "49", "69", "27")
"""Figures that are taken for one another in print or by hand (common practice)."""
_FRACTIONS = (64, 32, 16)
_DECIMAL = re.compile(r"(?P<sign>[+-]?)(?P<figures>\d+(?:\.\d+)?)\s*(?P<unit>\D*)")


@frozen
class Slip:
    """What a figure may have been: the length [mm], as it would be written, and the slip."""

    length_mm: float
    text: str
    why: str


def slips(text: str, units: Units, length_mm: float) -> list[Slip]:
    """Everything that a figure, misread once, may stand for: the likelier kinds first.

    text : as written, in `units`; length_mm : as read
    """
    found = _DECIMAL.fullmatch(text)
    of_figures = list(_of_figures(found, units)) if found is not None else []
    all_of_them = [*of_figures, *_of_value(units, length_mm, found is None)]
    return list({round(slip.length_mm, 6): slip for slip in reversed(all_of_them)}.values())[::-1]


def _of_figures(found: re.Match[str], units: Units) -> Iterator[Slip]:
    """Slips of the figures as they are written."""
    scale = _MM if units == "inch" else 1.0

    def slip(figures: str, why: str) -> Slip:
        words = f"{found['sign']}{_tidy(figures)}"
        unit = found["unit"].strip()
        return Slip(float(words) * scale, f'"{words} {unit}"' if unit else words, why)

    figures = found["figures"]
    other: Units = "mm" if units == "inch" else "inch"
    length = float(found["sign"] + figures) * (_MM if other == "inch" else 1.0)
    words = f'"{found["sign"]}{figures} {"in" if other == "inch" else "mm"}"'
    yield Slip(length, words, "the other unit")
    for swapped in _swapped(figures):
        yield slip(swapped, "two figures swapped")
    for moved in _moved_point(figures):
        yield slip(moved, "the decimal point one place off")
    for place, figure in enumerate(figures):
        for pair in _ALIKE:
            if figure in pair:
                like = pair.replace(figure, "")
                why = f"{_article(figure)} {figure} for {_article(like)} {like}"
                yield slip(figures[:place] + like + figures[place + 1 :], why)
    for place in range(len(figures)):
        shorter = figures[:place] + figures[place + 1 :]
        if figures[place] != "." and shorter.strip("."):
            yield slip(shorter, "a figure too many")
    for place in range(len(figures) + 1):
        for figure in "0123456789":
            yield slip(figures[:place] + figure + figures[place:], "a figure lost")


def _of_value(units: Units, length_mm: float, is_fraction: bool) -> Iterator[Slip]:
    """Slips of the value: fractions next to it, half and double, the sign."""

    def slip(length: float, why: str) -> Slip:
        words = _fraction_words(length) if is_fraction else _written(length, units)
        return Slip(length, words, why)

    yield slip(-length_mm, "the sign")
    yield slip(length_mm / 2, "a diameter for a radius")
    yield slip(length_mm * 2, "a radius for a diameter")
    in_64ths = length_mm / _MM * 64
    if is_fraction or units == "inch" or abs(in_64ths - round(in_64ths)) < 0.02:
        for parts in _FRACTIONS:
            for sign in (1, -1):
                yield slip(length_mm + sign * _MM / parts, f"1/{parts} in beside it")


def _article(figure: str) -> str:
    return "an" if figure == "8" else "a"


def _swapped(figures: str) -> Iterator[str]:
    """Neighbouring figures exchanged, across the point too."""
    places = [place for place, figure in enumerate(figures) if figure != "."]
    for one, other in pairwise(places):
        if figures[one] != figures[other]:
            written = list(figures)
            written[one], written[other] = figures[other], figures[one]
            yield "".join(written)


def _moved_point(figures: str) -> Iterator[str]:
    whole, _, rest = figures.partition(".")
    yield f"{whole}{rest[:1] or '0'}.{rest[1:]}"
    yield f"{whole[:-1]}.{whole[-1]}{rest}"


def _tidy(figures: str) -> str:
    whole, point, rest = figures.partition(".")
    return f"{whole.lstrip('0') or '0'}{point if rest else ''}{rest}"


def _fraction_words(length_mm: float) -> str:
    """As a drawing has it, 1 1/8 in; halves of 64ths too."""
    inches = Fraction(length_mm / _MM).limit_denominator(128)
    whole, rest = divmod(abs(inches), 1)
    words = " ".join(str(each) for each in (whole, rest) if each) or "0"
    return f'"{"-" if inches < 0 else ""}{words} in"'


def _written(length_mm: float, units: Units) -> str:
    value = length_mm / _MM if units == "inch" else length_mm
    return f"{value:.4f}".rstrip("0").rstrip(".")


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
