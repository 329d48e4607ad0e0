"""The steps of one setup against its holes: names, numbers, places, depths.

Imports the part and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.reading.made import made_hole
from millprep.reading.pages.printed import PrintedRow
from millprep.witness import MOST_BREAKTHROUGH_MM
from millprep.witness.expected import Expected
from millprep.witness.judge import compare_hole
from millprep.witness.printed import OFF_COUNT, SLACK_MM, Printed
from millprep.witness.rows import check_rows, made_operation
from millprep.witness.rules import rule_differences

Floats = NDArray[np.float64]
DEPTH_TOLERANCE_MM = 0.01
_REPORT = "the sheet does not agree with the part file; please report it"
COUNT = "count from 1 without a gap"


def check_rows_of(printed: Printed) -> Iterator[Finding]:
    """One setup: numbering, names, places, then hole by hole."""
    yield from check_names(printed)
    rows = printed.setup.rows
    known = [row for row in rows if row.hole in printed.expected]
    if known:
        yield from _check_figures(printed, known)
    yield from check_holes(printed)


def check_names(printed: Printed) -> Iterator[Finding]:
    """Steps are numbered one by one, and name holes of this face."""
    rows = printed.setup.rows
    for place, row in enumerate(rows, start=1):
        if row.step != place:
            words = f"step {row.step} stands where {place} belongs"
            yield printed.stop("wrong-numbering", words, COUNT, row)
            break
    by_name: dict[str, list[PrintedRow]] = {}
    for row in rows:
        by_name.setdefault(row.hole, []).append(row)
    for name in by_name.keys() - printed.expected.keys():
        yield printed.stop(
            "hole-extra",
            f'{printed.setup.face.upper()} of the part has no hole "{name}"',
            "names are copied letter by letter; please report it",
            by_name[name][0],
        )


def check_holes(printed: Printed) -> Iterator[Finding]:
    """Every hole of the face is there, with the operations it needs, to their depths."""
    by_name: dict[str, list[PrintedRow]] = {}
    for row in printed.setup.rows:
        by_name.setdefault(row.hole, []).append(row)
    for name, expected in printed.expected.items():
        if name in by_name:
            yield from check_hole(printed, expected, by_name[name])
        else:
            yield printed.stop(
                "hole-missing",
                f"{name} has no step",
                "every hole of this face has to be made",
                holes=(name,),
            )


def _check_figures(printed: Printed, rows: Sequence[PrintedRow]) -> Iterator[Finding]:
    """X, Y and Z of all rows at once: whole counts, in place, below the face, once rounded."""
    shown = np.array([(row.x_mm, row.y_mm, row.z_mm) for row in rows]).T
    readings = shown * printed.signs[:, None]
    places = np.array([printed.on_machine(printed.places[row.hole]) for row in rows]).T
    counts = shown / printed.count_mm
    off_count = np.abs(counts - np.round(counts)).max(axis=0) > OFF_COUNT
    for index in np.flatnonzero(off_count).tolist():
        words = f"{_xyz(shown[:, index])} mm are not whole counts of {printed.count_mm:g}"
        yield printed.stop("wrong-figure", words, _REPORT, rows[index])
    off = np.abs(readings[:2] - places).max(axis=0) > printed.half_count_mm
    for index in np.flatnonzero(off).tolist():
        yield printed.stop(
            "hole-off",
            f"at {_xyz(readings[:2, index])} mm; it belongs at {_xyz(places[:, index])}",
            "check the coordinate against the part file, and that zero is on the faces named",
            rows[index],
        )
    for index in np.flatnonzero(readings[2] > -SLACK_MM).tolist():
        words = f"Z is {readings[2, index]:g} mm, not below the face"
        yield printed.stop("too-shallow", words, _REPORT, rows[index])
    if all(row.exact_mm is not None for row in rows):
        exact = np.array([row.exact_mm for row in rows]).T
        apart = np.abs(exact - readings).max(axis=0) > printed.half_count_mm
        apart |= np.abs(exact[:2] - places).max(axis=0) > SLACK_MM
        for index in np.flatnonzero(apart).tolist():
            words = f"exact {_xyz(exact[:, index])} mm for {_xyz(readings[:, index])}"
            yield printed.stop("wrong-figure", words, _REPORT, rows[index])


def _xyz(values: Floats) -> str:
    return " ".join(
        f"{axis}{value:.4f}" for axis, value in zip("XYZ", values.tolist(), strict=False)
    )


def check_hole(
    printed: Printed, expected: Expected, rows: Sequence[PrintedRow]
) -> Iterator[Finding]:
    operations = tuple(made_operation(row, printed.z_sign * row.z_mm, printed.file) for row in rows)
    yield from check_rows(printed, expected, rows, operations)
    x_mm, y_mm = printed.places[expected.hole.name]
    tolerance = DEPTH_TOLERANCE_MM + printed.half_count_mm
    yield from compare_hole(
        expected,
        made_hole(x_mm, y_mm, operations),
        tolerance,
        frozenset(),
        MOST_BREAKTHROUGH_MM,
        printed.file,
    )
    drilled = [
        replace(one, name="drill") if one.name == "pilot drill" else one for one in operations
    ]
    for kind, words, operation in rule_differences(expected, drilled, tolerance):
        row = next(row for row, one in zip(rows, drilled, strict=True) if one is operation)
        yield printed.stop(kind, words, _REPORT, row)
