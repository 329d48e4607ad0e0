"""Drills in words: lengths, numbers, letters, "Ø6" and "dia 6"."""

from __future__ import annotations

import re
from fractions import Fraction

from millprep.base.findings import WordError
from millprep.base.units import ACCEPTED_LENGTHS, MM_PER_INCH, Units, read_length, shown
from millprep.reference.drills import (
    SAME_SIZE_MM,
    Drill,
    DrillSeries,
    drill_named,
    drills,
    fraction_words,
    metric_words,
)
from millprep.reference.tables import Source
from millprep.sizes.thread_words import read_thread
from millprep.sizes.words import plain

SMALLEST_MM, LARGEST_MM = Fraction(1, 10), Fraction(500)
ACCEPTED_DRILLS = 'write 5, "5 mm", "1/4 in", "#7", "letter F" or "dia 6"'
_AS_GIVEN = Source("the size as given", "", "", "not a listed drill", "read", "")

_METRIC_SERIES: tuple[DrillSeries, ...] = ("metric", "metric 0.05")
_INCH_SERIES: tuple[DrillSeries, ...] = ("fraction", "number", "letter")
_NUMBER_DRILL = r"(?:#|no\b\.?|number\b)\s*(\d{1,4})"
_LETTER_DRILL = r"letter\s*([a-z])"
_DIAMETER = r"(?:ø|⌀|dia(?:meter|\.)?)\s*(?=[\d.])|\s+dia(?:meter|\.)?$"


def read_drill(value: object, units: Units) -> Drill:
    """The drill, reamer or bore size that was written; plain numbers are in `units`.

    A listed size where there is one in the kind of unit given, else the size itself under a
    designation that reads back the same. Raises WordError.
    """
    if not isinstance(value, str):
        return _drill_of_length(value, units, units == "inch", False, as_written=value)
    text = plain(value, "a drill size", ACCEPTED_DRILLS)
    if match := re.fullmatch(_NUMBER_DRILL, text):
        return _listed(f"#{int(match[1])}", value, 'number drills run from "#1" to "#80"')
    if match := re.fullmatch(_LETTER_DRILL, text):
        return _listed(f"letter {match[1].upper()}", value, ACCEPTED_DRILLS)
    length = re.sub(_DIAMETER, "", text)
    if re.fullmatch(r"[a-z]", length):
        raise WordError(
            f"{shown(value)} is not a drill size",
            f'for the letter drill write "letter {text.upper()}"',
        )
    is_metric = "mm" in length or (units == "mm" and not re.search(r"in|[\"″']", length))
    return _drill_of_length(length, units, not is_metric, "/" in length, as_written=value)


def _no_drill(value: object, error: WordError) -> WordError:
    """The refusal of a length, with what a thread's name was probably meant for."""
    try:
        thread = read_thread(value)
    except WordError:
        remedy = ACCEPTED_DRILLS if error.remedy == ACCEPTED_LENGTHS else error.remedy
        if error.message.endswith("is not a length"):
            return WordError(f"{shown(value)} is not a drill size", remedy)
        return WordError(error.message, remedy)
    return WordError(
        f"{shown(value)} is a thread, not a drill size",
        f'its tapping drill is "{thread.tap_drill}"; or write tap = or clear = "{thread.name}"',
    )


def _listed(designation: str, value: str, remedy: str) -> Drill:
    drill = drill_named(designation)
    if drill is None:
        raise WordError(f"{shown(value)} is not a drill size", remedy)
    return drill


def _drill_of_length(
    value: object, units: Units, is_inch: bool, is_fraction: bool, as_written: object
) -> Drill:
    try:
        exact_mm = read_length(value, units)
    except WordError as error:
        raise _no_drill(as_written, error) from None
    if not SMALLEST_MM <= exact_mm <= LARGEST_MM:
        raise WordError(
            f"{shown(as_written)} is not a drill size",
            f"sizes run from {float(SMALLEST_MM):g} to {float(LARGEST_MM):g} mm",
        )
    diameter_mm = float(exact_mm)
    kinds = _INCH_SERIES if is_inch else _METRIC_SERIES
    for series in kinds[:1] if is_fraction else kinds:
        for drill in drills(series):
            if abs(drill.diameter_mm - diameter_mm) < SAME_SIZE_MM:
                return drill
    exact_in = exact_mm / MM_PER_INCH
    if not is_inch:
        words = metric_words(exact_mm)
    elif is_fraction:
        words = fraction_words(exact_in)
    else:
        words = f"{float(exact_in):.5f}".rstrip("0").rstrip(".") + " in"
    return Drill(words, diameter_mm, diameter_mm / 25.4, kinds[0], _AS_GIVEN)
