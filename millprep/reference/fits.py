"""ISO 286 limits of holes and shafts, to 250 mm. Imports the standard library and layer 0.

Holes D to H mirror the shafts of the same letter, JS are even about the size, J stand in a table of
their own. K to S are the shafts' mirror raised by the difference of two grades (ISO 286-1,
4.3.2.2): K, M, N as far as IT8, P to S as far as IT7.
"""

from __future__ import annotations

import re

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.reference.tables import Row, Source, load_table

# Letter and the grades it is listed in, least and greatest: those in use of ISO 286-2.
_HOLES = {
    "D": (7, 13), "E": (6, 10), "F": (5, 10), "G": (5, 10), "H": (3, 14), "J": (6, 8),
    "JS": (3, 14), "K": (5, 8), "M": (5, 8), "N": (5, 11), "P": (5, 10), "R": (5, 10), "S": (5, 10),
}  # fmt: skip
_SHAFTS = {
    "c": (8, 12), "d": (5, 13), "e": (5, 10), "f": (5, 10), "g": (4, 10), "h": (3, 14),
    "js": (3, 14), "j": (5, 7), "k": (4, 10), "m": (4, 9), "n": (4, 9), "p": (4, 10), "r": (4, 10),
    "s": (4, 10), "t": (5, 8), "u": (5, 9),
}  # fmt: skip
HOLE_CLASSES = tuple(f"{a}{n}" for a, (low, high) in _HOLES.items() for n in range(low, high + 1))
SHAFT_CLASSES = tuple(f"{a}{n}" for a, (low, high) in _SHAFTS.items() for n in range(low, high + 1))
ACCEPTED_HOLES = "write " + ", ".join(f"{a}{low} to {a}{high}" for a, (low, high) in _HOLES.items())
ACCEPTED_SHAFTS = "write " + ", ".join(
    f"{a}{low} to {a}{high}" for a, (low, high) in _SHAFTS.items()
)
LARGEST_MM = 250.0
_FINER_STEPS = frozenset("crstu")


@frozen
class RecommendedFit:
    """A hole and a shaft for a purpose: "locate", "pivot", "press" or "slide"."""

    purpose: str
    hole: str
    shaft: str
    what: str
    source: Source


def sources(fit_class: str) -> tuple[Source, ...]:
    """Where the limits of a class come from."""
    letter = fit_class.rstrip("0123456789")
    names = ["fits-grades"]
    if letter == "J":
        names.append("fits-holes-j")
    elif letter.lower() in _FINER_STEPS:
        names.append("fits-deviations-steps")
    elif letter.lower() not in ("h", "js"):
        names.append("fits-deviations")
    return tuple(load_table(name).source for name in names)


def hole_limits_um(size_mm: float, fit_class: str) -> tuple[float, float]:
    """Lower and upper deviation [um] of a hole of that size and class ("H7").

    Raises WordError for a class outside HOLE_CLASSES or a size outside 0 to 250 mm.
    """
    letter, grade = _split(fit_class, HOLE_CLASSES, "hole", ACCEPTED_HOLES)
    width = _width_um(size_mm, grade)
    if letter == "JS":
        return -width / 2, width / 2
    if letter == "J":
        upper_um = float(_row("fits-holes-j", size_mm)[fit_class])
    else:
        mirrored_um = 0.0 - _deviation_um(size_mm, letter.lower(), grade)
        if letter in "DEFGH":
            return mirrored_um, mirrored_um + width
        upper_um = _raised(size_mm, letter, grade, mirrored_um)
    return upper_um - width, upper_um


def _raised(size_mm: float, letter: str, grade: int, mirrored_um: float) -> float:
    """Upper deviation of K to S: the shaft's mirrored, raised in the fine grades."""
    if letter == "N" and grade > 8:
        return 0.0 if size_mm > 3 else mirrored_um
    if size_mm <= 3 or grade > (8 if letter in "KMN" else 7):
        return mirrored_um
    return mirrored_um + _width_um(size_mm, grade) - _width_um(size_mm, grade - 1)


def shaft_limits_um(size_mm: float, fit_class: str) -> tuple[float, float]:
    """Lower and upper deviation [um] of a shaft of that size and class ("h6").

    Raises WordError for a class outside SHAFT_CLASSES or a size outside 0 to 250 mm, and for t up
    to 24 mm, which the standard leaves out.
    """
    letter, grade = _split(fit_class, SHAFT_CLASSES, "shaft", ACCEPTED_SHAFTS)
    width = _width_um(size_mm, grade)
    if letter == "js":
        return -width / 2, width / 2
    if letter == "k" and not 4 <= grade <= 7:  # outside these grades k begins at the size
        return 0.0, width
    column = fit_class if letter == "j" else letter
    deviation_um = _deviation_um(size_mm, column, grade)
    if letter in "cdefgh":
        return deviation_um - width, deviation_um
    return deviation_um, deviation_um + width


def _deviation_um(size_mm: float, column: str, grade: int) -> float:
    """The fundamental deviation of a shaft; a hole K is made from k in all its grades."""
    if column == "h":
        return 0.0
    name = "fits-deviations-steps" if column in _FINER_STEPS else "fits-deviations"
    cell = _row(name, size_mm)[column]
    if cell == "":
        raise WordError(
            f"{column}{grade} is not defined at {size_mm:g} mm", f"write u{grade} or s{grade}"
        )
    return float(cell)


def _split(fit_class: str, classes: tuple[str, ...], what: str, accepted: str) -> tuple[str, int]:
    match = re.fullmatch(r"([A-Za-z]+)([0-9]+)", fit_class)
    if match is None or fit_class not in classes:
        raise WordError(f'"{fit_class[:20]}" is not a {what} class in the table', accepted)
    return match[1], int(match[2])


def _width_um(size_mm: float, grade: int) -> float:
    return float(_row("fits-grades", size_mm)[f"IT{grade}"])


def _row(name: str, size_mm: float) -> Row:
    """The row of a table for a size; each holds up to and including its own."""
    if not 0 < size_mm <= LARGEST_MM:
        raise WordError(
            f"{size_mm:g} mm is outside the table of fits",
            f"fits are listed for sizes above 0 and up to {LARGEST_MM:g} mm",
        )
    return next(row for row in load_table(name).rows if size_mm <= float(row["up_to_mm"]))


def recommended_fits(purpose: str) -> tuple[RecommendedFit, ...]:
    """The fits for a purpose, in the order of the table; empty for a word that is none."""
    table = load_table("fits-recommended")
    return tuple(
        RecommendedFit(row["purpose"], row["hole"], row["shaft"], row["what"], table.source)
        for row in table.rows
        if row["purpose"] == purpose
    )
