"""Figures that look like the other unit: a fraction of an inch in a mm file, a round metric size in
an inch file. Imports layers 0 to 3.

Many figures lie near some 64th of an inch, so nearness alone says nothing. What is told has to be
the other unit's figure to the last decimal written, and not be a common figure of its own unit. A
length that names its unit ("6.35 mm") is never asked about: that is how to answer.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from decimal import ROUND_HALF_DOWN, ROUND_HALF_UP, Decimal
from fractions import Fraction

from millprep.base.findings import Finding, Severity
from millprep.base.records import frozen
from millprep.base.units import MM_PER_INCH
from millprep.checks.registry import Job, check_of_part
from millprep.infiles.wording import key_words
from millprep.model.part import Hole, Part, StatedLength

_NOT_OF_THE_DRAWING = frozenset(
    {"tolerance", "position", "limits", "general_tolerance", "measured", "setup", "peck",
     "breakthrough", "pitch"}
)  # fmt: skip
"""Keys whose figures are no dimensions, or are small enough to be near anything."""
_SIZE_KEYS = ("drill", "ream", "bore", "diameter", "radius")
_LEAST_SIZE_MM = 1  # a hole less wide is rare; as a fraction of an inch it is an everyday size
_FINEST_OF_DECIMALS = {3: 8, 4: 16, 5: 32, 6: 64}
"""0.125 is an eighth, 0.0625 a sixteenth: a fraction with just its own decimals is meant as one."""
_NEAR_64TH = 0.02  # two decimals of a millimetre are 0.0126 of a 64th off at most
_NEAR_HALF = 0.03  # three decimals of an inch are 0.0254 of half a millimetre off at most
_SHARE = 3  # a converted drawing shows it in at least every third of such figures
_LEAST_ALIKE = 2
_MOST_CONVERTED = 4
_MM = float(MM_PER_INCH)


@frozen
class SecondReading:
    """A second reading of a figure.

    words     : of the second reading ("1/4 in"); exact : in the file's unit, "" if just the same
    is_likely : so exact that once is enough; else only where many figures of the file are so
    is_misread   : the figure is read wrong, if it is so; else only rounded
    """

    words: str
    exact: str
    is_likely: bool
    is_misread: bool = False


@check_of_part
def other_unit(job: Job) -> Iterator[Finding]:
    """Every figure without a unit of its own is one of the file's unit, by its looks."""
    part = job.plan.part
    longest = max(part.stock.nominal_mm)
    figures = [each for each in part.stated if _is_asked(each)]
    readings = {
        each.path: reading
        for each in figures
        if (reading := second_reading(each, longest)) is not None
    }
    if not readings:
        return
    counts = Counter(_decimals(each.text) for each in figures)
    alike = Counter(_decimals(each.text) for each in figures if each.path in readings)
    told: dict[tuple[str, str], list[StatedLength]] = {}
    for figure in figures:
        reading = readings.get(figure.path)
        if reading is None:
            continue
        decimals = _decimals(figure.text)
        is_usual = alike[decimals] >= _LEAST_ALIKE and alike[decimals] * _SHARE >= counts[decimals]
        if reading.is_likely or is_usual:
            told.setdefault((figure.text, _holder(figure)), []).append(figure)
    holes: dict[str, list[Hole]] = {}
    for hole in part.holes:
        holes.setdefault(hole.key, []).append(hole)
    converted = 0
    for group in told.values():
        reading = readings[group[0].path]
        converted += not reading.is_misread
        if reading.is_misread or converted <= _MOST_CONVERTED:
            yield _finding(part, group, reading, holes.get(_holder(group[0]), []))
    if converted > _MOST_CONVERTED:
        yield _more(part, converted - _MOST_CONVERTED)


def second_reading(figure: StatedLength, longest_mm: float) -> SecondReading | None:
    """The second reading of a figure, where it has one; nothing is longer than the blank."""
    if not _is_near_other(figure) and abs(figure.length_mm) <= longest_mm:
        return None
    value = abs(Decimal(figure.text))
    if figure.units == "mm":
        return _inch_figure(figure, value, longest_mm) or _inch_size(value)
    if figure.path[0] != "stock" and abs(figure.length_mm) > longest_mm >= value:
        words = f"{figure.text.lstrip('+-')} mm"
        return SecondReading(
            f"{words} ({_plain(Fraction(value) / MM_PER_INCH)} in)", "", True, True
        )
    return _mm_size(value)


def _is_near_other(figure: StatedLength) -> bool:
    """Whether a figure is worth the exact sums, which most are not and there may be many."""
    mm = figure.length_mm
    if not mm:
        return False
    if figure.units == "inch":
        return abs(mm * 2 - round(mm * 2)) < _NEAR_HALF
    in_64ths = mm / _MM * 64
    return abs(in_64ths - round(in_64ths)) < _NEAR_64TH or (mm * 64).is_integer()


def _inch_figure(figure: StatedLength, value: Decimal, longest_mm: float) -> SecondReading | None:
    """A mm file's 0.375, or a drill of 0.5: the figure itself is inches."""
    parts = _in_64ths(value)
    if parts is None or parts * MM_PER_INCH > longest_mm:
        return None
    is_size = figure.path[-1] in _SIZE_KEYS and value < _LEAST_SIZE_MM
    least = _FINEST_OF_DECIMALS.get(_decimals(figure.text), 1)
    if not is_size and (parts.denominator < 8 or parts.denominator > least):
        return None
    words = f"{inch_words(parts)} ({_plain(parts * MM_PER_INCH)} mm)"
    return SecondReading(words, "", is_likely=True, is_misread=True)


def _inch_size(value: Decimal) -> SecondReading | None:
    """A mm file's 9.525 or 9.53: 3/8 in, converted."""
    decimals = -_exponent(value)
    if value % Decimal("0.5") == 0:
        return None
    parts = Fraction(round(Fraction(value) / MM_PER_INCH * 64), 64)
    exact = parts * MM_PER_INCH
    is_exact = exact == Fraction(value)
    if not parts or not (is_exact or (decimals > 1 and _is_rounding_of(value, exact))):
        return None
    is_likely = is_exact or decimals > 2 or parts.denominator <= 16
    return SecondReading(inch_words(parts), "" if is_exact else f"{_plain(exact)} mm", is_likely)


def _mm_size(value: Decimal) -> SecondReading | None:
    """An inch file's 0.2362: 6 mm, converted."""
    decimals = -_exponent(value)
    if decimals < 3 or _in_64ths(value) is not None or value % Decimal("0.005") == 0:
        return None
    parts = Fraction(round(Fraction(value) * 64), 64)
    if _is_rounding_of(value, parts):
        return None  # 0.172 is 11/64
    halves = round(Fraction(value) * MM_PER_INCH * 2)
    exact = Fraction(halves, 2) / MM_PER_INCH
    if not halves or not _is_rounding_of(value, exact):
        return None
    return SecondReading(f"{_plain(Fraction(halves, 2))} mm", f"{_plain(exact)} in", decimals > 3)


def _finding(
    part: Part, group: list[StatedLength], reading: SecondReading, holes: list[Hole]
) -> Finding:
    """holes : those of the table that the figures stand in"""
    figure = group[0]
    unit, other = ("in", "millimetres") if figure.units == "inch" else ("mm", "inches")
    first = reading.words.partition(" (")[0]
    severity: Severity = "note"
    if reading.is_misread:
        severity = "warning"
        sentence = f"is read as {figure.text} {unit}; as {other} it is {reading.words}"
    elif reading.exact:
        sentence = f"is read as {figure.text} {unit}; {first} is {reading.exact}"
    else:
        sentence = f"is {first} exactly"
    sign = "-" if figure.text.startswith("-") else ""
    as_read = f'"{figure.text} {unit}" if it says that'
    remedy = f'write "{sign}{first}" if the drawing says so, and {as_read}'
    return Finding(
        severity,
        "other-unit",
        f"{_where(figure, holes)} = {figure.text} {sentence}",
        remedy,
        part.original_path or part.path or None,
        figure.line,
        key_words(figure.path),
        tuple(hole.name for hole in holes),
        count=len(group),
    )


def _more(part: Part, count: int) -> Finding:
    """A drawing that was converted as a whole needs no note for each of its figures."""
    unit, word = ("inches", "inch") if part.units == "mm" else ("millimetres", "mm")
    more = f"{count} more figures look" if count > 1 else "1 more figure looks"
    said = f"{more} like {unit}, converted"
    remedy = f'if the drawing is in {unit}, write units = "{word}" and the figures as it has them'
    return Finding("note", "other-unit", said, remedy, part.original_path or part.path or None)


def _where(figure: StatedLength, holes: list[Hole]) -> str:
    """What the figure is of: 'hole 3 "pivot": ream'."""
    holder = _holder(figure)
    key = key_words(figure.path).removeprefix(holder).lstrip(".")
    if holes:
        return f'hole {int(figure.path[1]) + 1} "{holes[0].group}": {key}'
    if isinstance(figure.path[1], int):
        return f"{figure.path[0]} {figure.path[1] + 1}: {key}"
    return f"[{holder}]: {key}"


def _holder(figure: StatedLength) -> str:
    """The table that a figure stands in, as holes name theirs."""
    table, index = figure.path[:2]
    return f"{table}[{index + 1}]" if isinstance(index, int) else str(table)


def _is_asked(figure: StatedLength) -> bool:
    path = figure.path
    return (
        not figure.says_unit
        and len(path) > 1
        and path[0] not in _NOT_OF_THE_DRAWING
        and not any(key in _NOT_OF_THE_DRAWING for key in path[1:3])
    )


def _exponent(value: Decimal) -> int:
    exponent = value.as_tuple().exponent
    assert isinstance(exponent, int)  # nan and inf are refused when the file is read
    return min(exponent, 0)


def _decimals(text: str) -> int:
    return len(text.partition(".")[2])


def _in_64ths(value: Decimal) -> Fraction | None:
    """The value as a fraction, where it is one of 64ths exactly."""
    fraction = Fraction(value)
    return fraction if 64 % fraction.denominator == 0 else None


def _is_rounding_of(value: Decimal, exact: Fraction) -> bool:
    """Whether the value is the exact one rounded to as many decimals, a tie either way."""
    full = Decimal(exact.numerator) / Decimal(exact.denominator)
    step = Decimal(1).scaleb(_exponent(value))
    return any(full.quantize(step, how) == value for how in (ROUND_HALF_UP, ROUND_HALF_DOWN))


def inch_words(inches: Fraction) -> str:
    """1 1/8 in, as a drawing writes it."""
    whole, rest = divmod(inches, 1)
    words = [str(whole)] * bool(whole or not rest) + [str(rest)] * bool(rest)
    return " ".join(words) + " in"


def _plain(value: Fraction) -> str:
    return f"{float(value):.6f}".rstrip("0").rstrip(".")
