"""Lengths in words, exact, and rounding: once, half away from zero.

Inside the project lengths are millimetres; 1 in = 25.4 mm exactly (international yard and pound
agreement, 1959). Words are read to a `Fraction` so that 1/3 of an inch file's tenths survive until
the one place that prints them.
"""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Literal

from millprep.base.bounds import LONGEST_MM
from millprep.base.findings import WordError
from millprep.base.plain_text import clean
from millprep.base.records import frozen

Units = Literal["mm", "inch"]

MM_PER_INCH = Fraction(254, 10)
DIAMETER = "\N{LATIN CAPITAL LETTER O WITH STROKE}"
"""The sign of a diameter: typefaces have this letter, and hardly any the sign U+2300 itself."""
_SNAP_DECIMALS = 9  # figures closer than this to a tie are the tie: binary fractions hide it
_LONGEST_WORD = 60

_VULGAR = {
    "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6", "⅚": "5/6",
}  # fmt: skip

_LENGTH = r"""(?xi)
    (?P<sign>[+-]?)\s*
    (?: (?P<whole>\d+)(?:\s+|-)(?P<top>\d+)\s*/\s*(?P<bottom>\d+)   # 1 1/8 or 1-1/8
      | (?P<top2>\d+)\s*/\s*(?P<bottom2>\d+)                              # 3/8
      | (?P<decimal>\d+(?:\.\d+)?|\.\d+)                                  # 9, 9.5, .5
    )
    \s*(?P<unit>mm|inch|inches|ins?|"|″|'')?\.?
"""

ACCEPTED_LENGTHS = 'write 12.7, "12.7 mm", "1/2 in", "1 1/8 in" or "0.375 in"'


def plain_fractions(text: str) -> str:
    """The text with "½" as " 1/2" and the typographer's minus and slash as plain ones."""
    for sign, words in _VULGAR.items():
        if sign in text:
            text = re.sub(rf"(?<=\d)\s*{sign}", f" {words}", text).replace(sign, words)
    return text.replace("−", "-").replace("⁄", "/")


def read_length(value: object, units: Units) -> Fraction:
    """A length as a drawing writes it, in millimetres, exactly.

    value : int, float or words; plain numbers and bare decimals are in `units`
    Raises WordError for anything else, with what would be accepted.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise WordError(f"{shown(value)} is not a length", ACCEPTED_LENGTHS)
    if isinstance(value, int | float):
        if isinstance(value, float) and not math.isfinite(value):
            raise WordError(f"{value} is not a length", ACCEPTED_LENGTHS)
        # repr keeps the figure as written: 0.1 is a tenth, not the nearest binary fraction
        number = Fraction(value if isinstance(value, int) else repr(float(value)))
        length_mm = number * MM_PER_INCH if units == "inch" else number
    else:
        length_mm = _read_words(value, units)
    if abs(length_mm) > LONGEST_MM:
        raise WordError(f"{shown(value)} is beyond any workshop", ACCEPTED_LENGTHS)
    return length_mm


def _read_words(text: str, units: Units) -> Fraction:
    words = plain_fractions(text.strip()) if len(text) <= _LONGEST_WORD else ""
    match = re.fullmatch(_LENGTH, words)
    if match is None:
        remedy = ACCEPTED_LENGTHS
        if re.fullmatch(r"[+-]?\d+,\d+[^.,]*", words):
            remedy = f'write the decimal with a point: "{words.replace(",", ".")}"'
        raise WordError(f"{shown(text)} is not a length", remedy)
    is_fraction = match["decimal"] is None
    number = _fraction(text, match) if is_fraction else Fraction("0" + match["decimal"])
    if match["sign"] == "-":
        number = -number
    unit = (match["unit"] or "").lower()
    if is_fraction and not unit and units == "mm":
        raise WordError(f"{shown(text)} is a bare fraction in a mm file", f'write "{words} in"')
    if unit == "mm" or (not unit and units == "mm"):
        return number
    return number * MM_PER_INCH


def _fraction(text: str, match: re.Match[str]) -> Fraction:
    top, bottom = int(match["top"] or match["top2"]), int(match["bottom"] or match["bottom2"])
    if bottom == 0:
        raise WordError(f"{shown(text)} divides by zero", ACCEPTED_LENGTHS)
    if match["whole"] is not None and top >= bottom:
        raise WordError(
            f"{shown(text)} has a fraction of one or more after a whole number",
            "write the sum as one number",
        )
    return int(match["whole"] or 0) + Fraction(top, bottom)


def shown(value: object) -> str:
    """A value as quoted in a message: short, on one line."""
    if isinstance(value, str):
        text = f'"{value[: _LONGEST_WORD + 1]}"'
    elif isinstance(value, bool):
        text = str(value).lower()
    else:
        try:
            text = repr(value)
        except ValueError:  # Python refuses to print whole numbers of thousands of digits
            text = "a number too long to print"
    text = clean(text[: _LONGEST_WORD + 2])
    return text if len(text) <= _LONGEST_WORD else text[: _LONGEST_WORD - 3] + "..."


def round_to(value_mm: float | Fraction, step: Decimal) -> Decimal:
    """The multiple of `step` nearest to the value, half away from zero, never minus zero.

    Both in the same unit. Binary fractions within 1e-9 of a tie count as the tie.
    """
    exact = (
        Decimal(value_mm.numerator) / Decimal(value_mm.denominator)
        if isinstance(value_mm, Fraction)
        else Decimal(repr(float(value_mm)))
    )
    counts = round(exact / step, _SNAP_DECIMALS).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    result = counts * step
    return result if result else abs(result)


def format_length(value_mm: float | Fraction, step: Decimal, units: Units = "mm") -> str:
    """The value as a readout with that step shows it: `step` is in `units`, so are the decimals."""
    value: float | Fraction = value_mm
    if units == "inch":
        value = value_mm / MM_PER_INCH if isinstance(value_mm, Fraction) else value_mm / 25.4
    exponent = step.normalize().as_tuple().exponent
    decimals = max(0, -exponent) if isinstance(exponent, int) else 0
    return f"{round_to(value, step):.{decimals}f}"


@frozen
class Length:
    """A length in a sentence of the units that it is shown in."""

    mm: float
    units: Units

    def __format__(self, how: str) -> str:
        """how : decimals in mm, one more in inches, 2 where nothing is said; or "exact" for as many
        as it takes, "2g" for two figures; with "+" before them for a sign, "bare" behind them for
        the figure alone, where its unit stands beside it"""
        is_inch = self.units == "inch"
        value = in_units(self.mm, self.units)
        sign, places = how[: how.startswith("+")], how.removesuffix("bare").strip("+ ")
        if places.endswith("g"):
            figure = f"{Decimal(f'{value:.{places}}'):f}"
        elif places == "exact":
            figure = f"{round(value, 4) + 0.0:g}" if is_inch else f"{value:g}"
        else:
            figure = f"{value:{sign}z.{int(places or 2) + is_inch}f}"
        return figure if how.endswith("bare") else f"{figure} {'in' if is_inch else 'mm'}"


def in_units(value_mm: float, units: Units) -> float:
    """Millimetres in the unit asked for."""
    return value_mm / 25.4 if units == "inch" else value_mm


def surface_speed(m_per_min: float, units: Units) -> str:
    """A cutting speed as a chart in those units has it."""
    value = m_per_min / 0.3048 if units == "inch" else m_per_min
    return f"{value:{'.0f' if value >= 10 else '.2g'}} {'ft' if units == 'inch' else 'm'}/min"
