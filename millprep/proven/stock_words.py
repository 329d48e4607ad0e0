"""Stock and zero in words, for a dry run without a part; a stock given in the wrong unit.

What follows from the unit is found out by running the programs on the same stock in the other one:
what is gone then has no other cause, and is one finding, with the option to write.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from millprep.base.bounds import LARGEST_STOCK_MM
from millprep.base.findings import Finding, WordError, has_stop, stopped, words
from millprep.base.records import frozen, replace
from millprep.base.units import Units, read_length, shown

if TYPE_CHECKING:
    from millprep.model.scene import Scene


_ROUND = re.compile(r"\s*(?:dia(?:meter)?|Ø)\s*(?P<size>[^x×]+?)\s*[x×]\s*(?P<length>[^x×]+)", re.I)
_APART = re.compile(r"\s*[,x×]\s*", re.I)
_UNIT = re.compile(r"\s*(?:(?P<mm>mm)|inch(?:es)?|ins?|\"|″|'')\.?\s*$", re.I)
_WORD: dict[Units, str] = {"mm": "mm", "inch": "in"}
STOCK_REMEDY = 'write --stock 60,25,20, --stock "4.35 x 2.35 x 0.157 in" or --stock "dia 40 x 6"'
_ZERO_WORDS = (("left", "right", "centre"), ("front", "back", "centre"), ("top", "bottom"))


@frozen
class Stock:
    """The size of a blank as --stock gives it.

    figures : of a block three, of a disc two, as they were written; units : of each
    """

    given: str
    figures: tuple[str, ...]
    units: tuple[Units, ...]
    is_round: bool

    @property
    def sizes_mm(self) -> list[float]:
        """Of X, Y and Z. Raises WordError."""
        sizes = [_size_mm(*one, self.given) for one in zip(self.figures, self.units, strict=True)]
        return [sizes[0], *sizes] if self.is_round else sizes

    @property
    def words(self) -> str:
        """The size with its unit: "4.35 x 2.35 x 0.157 in"."""
        each = [
            figure if unit == self.units[-1] else f"{figure} {_WORD[unit]}"
            for figure, unit in zip(self.figures, self.units, strict=True)
        ]
        return f"{'dia ' * self.is_round}{' x '.join(each)} {_WORD[self.units[-1]]}"

    @property
    def otherwise(self) -> Stock:
        """The same figures in the other unit."""
        others: tuple[Units, ...] = tuple("mm" if one == "inch" else "inch" for one in self.units)
        return replace(self, units=others)


def read_stock(stock: str, units: Units) -> Stock:
    """A size in words; plain figures are in `units`, a unit behind the last is that of all.

    stock : "60,25,20", "4.35 x 2.35 x 0.157 in" or "dia 40 x 6". Raises MillprepError or WordError.
    """
    match = _ROUND.fullmatch(stock)
    words = list(match.groups()) if match is not None else _APART.split(stock.strip())
    if match is None and len(words) != 3:
        raise stopped("unknown-word", f"--stock {shown(stock)} is not a size", STOCK_REMEDY)
    named = [_UNIT.search(word) for word in words]
    if not all(named) and any(named[:-1]):
        message = f"--stock {shown(stock)}: some sizes have a unit, and some have none"
        raise stopped("unknown-word", message, "give each its unit, or all of them one at the end")
    each: list[Units] = [units if one is None else "mm" if one["mm"] else "inch" for one in named]
    read = Stock(
        stock,
        tuple(_UNIT.sub("", word).strip() for word in words),
        tuple(each if all(named) else each[-1:] * len(words)),
        match is not None,
    )
    assert read.sizes_mm  # what is no length is refused here
    return read


def _usual_zero(stock: Stock) -> str:
    return "centre,centre,top" if stock.is_round else "left,front,top"


def ground_words(stock: Stock, zero: str | None) -> str:
    """What a dry run without a part stands on."""
    return f"stock {stock.words}, zero on {zero or _usual_zero(stock)}"


def scene_of(stock: Stock, zero: str | None) -> Scene:
    """The scene that --stock and --zero describe. Raises MillprepError.

    zero : a face name or "centre" for X, Y and Z
    """
    from millprep.model.scene import Box, Disc, Scene

    zeros = _zero_words(zero, _usual_zero(stock))
    spans = [_span(size, word) for size, word in zip(stock.sizes_mm, zeros, strict=True)]
    low = (spans[0][0], spans[1][0], spans[2][0])
    high = (spans[0][1], spans[1][1], spans[2][1])
    blank = Disc(low, high, 2) if stock.is_round else Box(low, high)
    return Scene(blank, safe_height_mm=high[2] + 10.0)


def _size_mm(figure: str, units: Units, stock: str) -> float:
    try:
        size = float(read_length(figure, units))
    except WordError as error:
        raise WordError(f"--stock {shown(stock)}: {error.message}", STOCK_REMEDY) from error
    if size <= 0:
        raise WordError(f"--stock {shown(stock)}: a size is more than 0", STOCK_REMEDY)
    if size > LARGEST_STOCK_MM:
        raise WordError(
            f"--stock {shown(stock)}: {size:g} mm is beyond any mill",
            f"at most {LARGEST_STOCK_MM:,} mm",
        )
    return size


def _zero_words(zero: str | None, usual: str) -> list[str]:
    """A word for each of X, Y, Z."""
    words = [word.strip().lower() for word in (zero or usual).split(",")]
    fits = len(words) == 3 and all(
        word in accepted for word, accepted in zip(words, _ZERO_WORDS, strict=True)
    )
    if not fits:
        accepted = "; ".join(
            f"{letter}: {', '.join(known)}"
            for letter, known in zip("XYZ", _ZERO_WORDS, strict=True)
        )
        raise stopped(
            "unknown-word",
            f"--zero {shown(zero or '')} does not name the three faces that carry zero",
            f"write --zero left,front,top ({accepted})",
        )
    return words


def _span(size_mm: float, word: str) -> tuple[float, float]:
    """Where stock of that size lies along an axis whose zero is on the face named."""
    if word == "centre":
        return -size_mm / 2, size_mm / 2
    return (-size_mm, 0.0) if word in ("right", "back", "top") else (0.0, size_mm)


SUSPECT = "units-suspect"


def one_cause(
    findings: Sequence[Finding], option: str, again: Callable[[], Sequence[Finding]]
) -> list[Finding]:
    """The findings, those that come of the wrong unit as one.

    option : that gives the stock in the other unit; again : what is found on that
    """
    suspected = [one for one in findings if one.kind == SUSPECT]
    there = again() if suspected else ()
    if not suspected or any(one.kind == SUSPECT for one in there):
        return list(findings)
    known = {_place(one) for one in there}
    rest = [one for one in findings if one.kind != SUSPECT and _place(one) not in known]
    kinds = ", ".join(f"{kind} {n}" for kind, n in Counter(one.kind for one in rest).items())
    follows = f"; {len(rest)} more {{follow}} from it ({kinds})" if rest else ""
    first = replace(
        suspected[0],
        severity="stop" if has_stop(rest) else "warning",
        said=words(
            f"{{said}}{follows}",
            said=suspected[0].said,
            follow="findings follow" if len(rest) > 1 else "finding follows",
        ),
        advice=words(
            "if the stock is what you gave, but in the other unit, write {option}; else {advice}",
            option=option,
            advice=suspected[0].advice,
        ),
    )
    return [first, *(one for one in findings if one.kind != SUSPECT and _place(one) in known)]


def _place(one: Finding) -> tuple[object, ...]:
    return one.severity, one.kind, one.file, one.line


def unit_first(findings: Sequence[Finding]) -> list[Finding]:
    """A wrong unit before all else: nothing below it means what it says."""
    return sorted(findings, key=lambda one: one.kind != SUSPECT)
