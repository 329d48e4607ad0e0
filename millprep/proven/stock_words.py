"""Stock and zero in words, for a dry run without a part."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from millprep.base.bounds import LARGEST_STOCK_MM
from millprep.base.findings import WordError, stopped
from millprep.base.units import Units, read_length, shown

if TYPE_CHECKING:
    from millprep.model.scene import Scene

_ROUND = re.compile(r"\s*(?:dia(?:meter)?|Ø)\s*(?P<size>[^x×]+?)\s*[x×]\s*(?P<length>[^x×]+)", re.I)
STOCK_REMEDY = 'write --stock 60,25,20 or --stock "dia 40 x 6"'
_ZERO_WORDS = (("left", "right", "centre"), ("front", "back", "centre"), ("top", "bottom"))


def stock_words(stock: str, zero: str | None) -> str:
    return f"stock {stock}, zero on {zero or _usual_zero(stock)}"


def _usual_zero(stock: str) -> str:
    return "centre,centre,top" if _ROUND.fullmatch(stock) else "left,front,top"


def scene_of_words(stock: str, zero: str | None, units: Units) -> Scene:
    """The scene that --stock and --zero describe. Raises MillprepError or WordError.

    stock : "60,25,20" or "dia 40 x 6"; zero : a face name or "centre" for X, Y and Z
    """
    from millprep.model.scene import Box, Disc, Scene

    match = _ROUND.fullmatch(stock)
    if match is not None:
        across, height = (_positive(match[key], units, stock) for key in ("size", "length"))
        sizes = [across, across, height]
    else:
        words = stock.split(",")
        if len(words) != 3:
            raise stopped("unknown-word", f"--stock {shown(stock)} is not a size", STOCK_REMEDY)
        sizes = [_positive(word, units, stock) for word in words]
    spans = [_span(size, word) for size, word in zip(sizes, _zero_words(zero, stock), strict=True)]
    low = (spans[0][0], spans[1][0], spans[2][0])
    high = (spans[0][1], spans[1][1], spans[2][1])
    blank = Box(low, high) if match is None else Disc(low, high, 2)
    return Scene(blank, safe_height_mm=high[2] + 10.0)


def _positive(word: str, units: Units, stock: str) -> float:
    try:
        size = float(read_length(word.strip(), units))
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


def _zero_words(zero: str | None, stock: str) -> list[str]:
    """A word for each of X, Y, Z."""
    words = [word.strip().lower() for word in (zero or _usual_zero(stock)).split(",")]
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
