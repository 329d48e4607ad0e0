"""Slips of reading: what a figure may have been on the drawing. Pure; imports layer 0.

The kinds are common practice of proof-reading and of the workshop: figures swapped or taken for one
like them, a figure or the decimal point lost, the other unit, the neighbouring fraction of an inch,
a radius for a diameter, a sign.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from millprep.base.records import frozen
from millprep.base.units import MM_PER_INCH, Units

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
