"""Twist drills: the series, the nearest of each to a size, lengths, oversize and tolerance.

Designations have one style a kind: "5.1 mm", "27/64 in", "#7", "letter F". Imports the standard
library and layer 0.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from functools import cache, lru_cache
from itertools import pairwise
from typing import Literal, get_args

from millprep.base.records import frozen
from millprep.reference.tables import Source, inches_to_mm, load_table

DrillSeries = Literal["metric", "metric 0.05", "fraction", "number", "letter"]
DRILL_SERIES: tuple[DrillSeries, ...] = get_args(DrillSeries)
SAME_SIZE_MM = 1e-6  # closer than this, two diameters are one: float noise of a conversion


@frozen
class Drill:
    """One size of twist drill; both diameters name the same size [mm, in]."""

    designation: str
    diameter_mm: float
    diameter_in: float
    series: DrillSeries
    source: Source


def metric_words(diameter: Decimal | Fraction | float) -> str:
    """The designation of a metric size: "5 mm", "5.1 mm", at most four decimals."""
    return f"{float(diameter):.4f}".rstrip("0").rstrip(".") + " mm"


def fraction_words(inches: Fraction) -> str:
    """The designation of a fractional inch size: "1/4 in", "1 1/16 in", "2 in"."""
    whole, rest = divmod(inches, 1)
    parts = [str(whole)] if whole else []
    if rest or not whole:
        parts.append(str(rest))
    return " ".join(parts) + " in"


@cache
def drills(series: DrillSeries) -> tuple[Drill, ...]:
    """Every drill of a series, ascending in diameter. KeyError for no such series."""
    return tuple(sorted(_MAKERS[series](), key=lambda drill: drill.diameter_mm))


def _metric(series: DrillSeries) -> list[Drill]:
    """Sizes in runs; "metric 0.05" are those between the tenths, which only some sets have."""
    table = load_table("drills-" + series.replace(" ", "-"))
    made = []
    for row in table.rows:
        size, step = Decimal(row["from_mm"]), Decimal(row["step_mm"])
        while size <= row["to_mm"]:
            mm = float(size)
            made.append(Drill(metric_words(size), mm, mm / 25.4, series, table.source))
            size += step
    return made


def _fraction() -> list[Drill]:
    table = load_table("drills-fraction")
    return [
        Drill(fraction_words(size), inches_to_mm(size), float(size), "fraction", table.source)
        for row in table.rows
        for count in range(row["from_64ths"], row["to_64ths"] + 1)
        for size in [Fraction(count, 64)]
    ]


def _inch(series: DrillSeries, words: str) -> list[Drill]:
    """Sizes listed one by one; their words with the table's columns in braces."""
    table = load_table(f"drills-{series}")
    sizes = [(words.format_map(row), row["diameter_in"]) for row in table.rows]
    return [Drill(w, inches_to_mm(size), float(size), series, table.source) for w, size in sizes]


_MAKERS: dict[DrillSeries, Callable[[], list[Drill]]] = {
    "metric": lambda: _metric("metric"),
    "metric 0.05": lambda: _metric("metric 0.05"),
    "fraction": _fraction,
    "number": lambda: _inch("number", "#{number}"),
    "letter": lambda: _inch("letter", "letter {letter}"),
}


def series_of(designation: str) -> DrillSeries:
    """The series that a designation belongs to by its style."""
    if designation.startswith("#"):
        return "number"
    if designation.startswith("letter "):
        return "letter"
    if designation.endswith(" in"):
        return "fraction"
    return "metric 0.05" if designation in _by_name("metric 0.05") else "metric"


@cache
def _by_name(series: DrillSeries) -> dict[str, Drill]:
    return {drill.designation: drill for drill in drills(series)}


def drill_named(designation: str) -> Drill | None:
    """The listed drill of that designation ("5 mm", "1/4 in", "#7", "letter F"), or None."""
    return _by_name(series_of(designation)).get(designation)


def hole_mm(designation: str) -> float:
    """Diameter [mm] of a drill named in a table, listed or, above an inch, by its fraction."""
    drill = drill_named(designation)
    if drill is not None:
        return drill.diameter_mm
    size, unit = designation.rsplit(" ", 1)
    whole, _, rest = size.rpartition(" ")
    number = Fraction(whole or 0) + Fraction(rest)
    return inches_to_mm(number) if unit == "in" else float(number)


def nearest_drills(diameter_mm: float) -> dict[DrillSeries, tuple[Drill | None, Drill | None]]:
    """For each series the largest drill not above the size and the smallest not below it."""
    nearest: dict[DrillSeries, tuple[Drill | None, Drill | None]] = {}
    for series in DRILL_SERIES:
        listed = drills(series)
        below = [drill for drill in listed if drill.diameter_mm <= diameter_mm + SAME_SIZE_MM]
        above = [drill for drill in listed if drill.diameter_mm >= diameter_mm - SAME_SIZE_MM]
        nearest[series] = (below[-1] if below else None, above[0] if above else None)
    return nearest


@lru_cache(maxsize=4096)  # asked for at each size of each drawer that is read
def drill_length_mm(
    make: Literal["jobber", "stub"], of: Literal["flute", "overall"], diameter_mm: float
) -> float | None:
    """Flute or overall length [mm] of a drill; None above the table. Source: ISO 235."""
    for row in load_table(f"drills-{make}-lengths").rows:
        if diameter_mm <= float(row["up_to_mm"]) + SAME_SIZE_MM:
            return float(row[f"{of}_mm"])
    return None


def oversize_mm(diameter_mm: float) -> float:
    """By how much a drilled hole is expected to come out over the drill, mean [mm].

    Straight lines between the printed sizes, from nothing at no diameter; level above 1 in.
    Source: Machinery's Handbook, oversize of drilled holes.
    """
    return interpolated(_oversizes_mm(), diameter_mm)


@cache
def _oversizes_mm() -> list[tuple[float, float]]:
    """Asked for at every hole that is reamed."""
    return [(0.0, 0.0)] + [
        (inches_to_mm(row["drill_in"]), inches_to_mm(row["mean_thou"]) / 1000)
        for row in load_table("drills-oversize").rows
    ]


def drilled_limits_mm(diameter_mm: float) -> tuple[float, float] | None:
    """Least and greatest diameter [mm] to expect of a drilled hole; None above 1 in.

    Source: AND10387.
    """
    for row in load_table("drills-tolerance").rows:
        if diameter_mm <= inches_to_mm(row["up_to_in"]) + SAME_SIZE_MM:
            under_mm, over_mm = inches_to_mm(row["under_in"]), inches_to_mm(row["over_in"])
            return diameter_mm - under_mm, diameter_mm + over_mm
    return None


def interpolated(points: list[tuple[float, float]], x: float) -> float:
    """y at x along straight lines through the points (ascending in x), level beyond both ends."""
    if x <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return points[-1][1]
