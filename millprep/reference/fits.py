"""ISO 286 limits of holes and shafts, to 250 mm. Imports the standard library and layer 0.

Holes D to H mirror the shafts of the same letter. Holes J S are even about the size. K, M, N and P
are the shafts' mirror raised by the difference of two grades (ISO 286-1, 4.3.2.2): K, M, N as far
as IT8, P as far as IT7.
"""

from __future__ import annotations

import re

from millprep.errors import WordError
from millprep.reference.tables import Row, Source, load_table

HOLE_CLASSES = (
    "H5", "H6", "H7", "H8", "H9", "H10", "H11", "D9", "D10", "E8", "E9", "F6", "F7", "F8", "F9",
    "G6", "G7", "JS6", "JS7", "JS8", "JS9", "K6", "K7", "K8", "M6", "M7", "M8", "N6", "N7", "N8",
    "N9", "P6", "P7", "P8", "P9",
)  # fmt: skip
SHAFT_CLASSES = (
    "h5", "h6", "h7", "h8", "h9", "h10", "h11", "d9", "d10", "e8", "e9", "f6", "f7", "f8", "f9",
    "g5", "g6", "g7", "js6", "js7", "k5", "k6", "k7", "m5", "m6", "m7", "n6", "n7", "p6", "p7",
)  # fmt: skip
LARGEST_MM = 250.0


def sources(fit_class: str) -> tuple[Source, ...]:
    """Where the limits of a class come from."""
    grades, deviations = load_table("fits-grades").source, load_table("fits-deviations").source
    return (grades,) if fit_class[:1] in "Hh" else (grades, deviations)


def hole_limits_um(size_mm: float, fit_class: str) -> tuple[float, float]:
    """Lower and upper deviation [um] of a hole of that size and class ("H7").

    Raises WordError for a class outside HOLE_CLASSES or a size outside 0 to 250 mm.
    """
    letter, grade = _split(fit_class, HOLE_CLASSES, "hole")
    limits, grades = _rows(size_mm)
    width = float(grades[f"IT{grade}"])
    if letter == "JS":
        return -width / 2, width / 2
    shaft_um = float(limits[letter.lower()])
    if letter in "DEFGH":
        return 0.0 - shaft_um, width - shaft_um
    upper_um = _raised(size_mm, letter, grade, 0.0 - shaft_um, grades)
    return upper_um - width, upper_um


def _raised(size_mm: float, letter: str, grade: int, mirrored_um: float, grades: Row) -> float:
    """Upper deviation of K, M, N or P: the shaft's mirrored, raised in the fine grades."""
    if letter == "N" and grade > 8:
        return 0.0 if size_mm > 3 else mirrored_um
    if size_mm <= 3 or grade > (7 if letter == "P" else 8):
        return mirrored_um
    return mirrored_um + float(grades[f"IT{grade}"]) - float(grades[f"IT{grade - 1}"])


def shaft_limits_um(size_mm: float, fit_class: str) -> tuple[float, float]:
    """Lower and upper deviation [um] of a shaft of that size and class ("h6").

    Raises WordError for a class outside SHAFT_CLASSES or a size outside 0 to 250 mm.
    """
    letter, grade = _split(fit_class, SHAFT_CLASSES, "shaft")
    limits, grades = _rows(size_mm)
    width = float(grades[f"IT{grade}"])
    if letter == "js":
        return -width / 2, width / 2
    deviation_um = float(limits[letter])
    if letter in "defgh":
        return deviation_um - width, deviation_um
    return deviation_um, deviation_um + width


def _split(fit_class: str, accepted: tuple[str, ...], what: str) -> tuple[str, int]:
    match = re.fullmatch(r"([A-Za-z]+)([0-9]+)", fit_class)
    if match is None or fit_class not in accepted:
        raise WordError(
            f'"{fit_class[:20]}" is not a {what} class in the table',
            "write one of " + ", ".join(accepted),
        )
    return match[1], int(match[2])


def _rows(size_mm: float) -> tuple[Row, Row]:
    """The rows of deviations and of grades for a size; each holds up to and including its own."""
    if not 0 < size_mm <= LARGEST_MM:
        raise WordError(
            f"{size_mm:g} mm is outside the table of fits",
            f"fits are listed for sizes above 0 and up to {LARGEST_MM:g} mm",
        )
    tables = (load_table("fits-deviations"), load_table("fits-grades"))
    first, second = (
        next(row for row in table.rows if size_mm <= float(row["up_to_mm"])) for table in tables
    )
    return first, second
