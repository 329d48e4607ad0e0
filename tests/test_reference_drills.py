"""Drill series, the nearest drills, lengths and oversize."""

from __future__ import annotations

import subprocess
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.reference.drills import (
    DRILL_SERIES,
    DrillSeries,
    drill_named,
    drills,
    hole_mm,
    jobber_flute_mm,
    jobber_length_mm,
    nearest_drills,
    oversize_mm,
    series_of,
)

# From memory of ASME B94.11M-1993, Table 1; those that tables cut to three decimals get wrong
# among them.
NUMBER_AND_LETTER_IN = {
    "#1": 0.2280, "#3": 0.2130, "#5": 0.2055, "#7": 0.2010, "#10": 0.1935, "#18": 0.1695,
    "#21": 0.1590, "#25": 0.1495, "#28": 0.1405, "#29": 0.1360, "#36": 0.1065, "#43": 0.0890,
    "#50": 0.0700, "#53": 0.0595, "#60": 0.0400, "#69": 0.0292, "#80": 0.0135,
    "letter A": 0.234, "letter E": 0.250, "letter F": 0.257, "letter I": 0.272,
    "letter Q": 0.332, "letter U": 0.368, "letter Z": 0.413,
}  # fmt: skip


@pytest.mark.parametrize(("words", "inches"), NUMBER_AND_LETTER_IN.items())
def test_number_and_letter_drills(words: str, inches: float) -> None:
    drill = drill_named(words)
    assert drill is not None
    assert drill.diameter_in == inches
    assert drill.diameter_mm == pytest.approx(inches * 25.4, abs=1e-9)


@pytest.mark.needs("units")
def test_number_and_letter_drills_agree_with_the_units_program() -> None:
    """Debian's units has the letters and most whole numbers; it interpolates between the others."""
    between = {21, 37, 47, 49, 50, 58, 59, 60, 61, 62, 63, 64, 67, 72, 77}
    for drill in [*drills("number"), *drills("letter")]:
        name = drill.designation.removeprefix("#").removeprefix("letter ")
        if name.isdigit() and int(name) in between:
            continue
        asked = f"drillgauge({name})" if name.isdigit() else f"drill{name}"
        command = ["units", "--terse", "--output-format", "%.6f", asked, "in"]
        answer = subprocess.run(command, capture_output=True, text=True, check=True)
        assert float(answer.stdout) == pytest.approx(drill.diameter_in, abs=1e-6)


@pytest.mark.parametrize(("series", "count"), [("number", 80), ("letter", 26), ("fraction", 64)])
def test_series_are_complete(series: DrillSeries, count: int) -> None:
    assert len(drills(series)) == count


@pytest.mark.parametrize("series", DRILL_SERIES)
def test_a_series_rises_without_a_repeat_and_names_itself(series: DrillSeries) -> None:
    listed = drills(series)
    assert all(a.diameter_mm < b.diameter_mm for a, b in pairwise(listed))
    for drill in listed:
        assert series_of(drill.designation) == series == drill.series
        assert drill_named(drill.designation) is drill
        assert drill.diameter_in == pytest.approx(drill.diameter_mm / 25.4)


def test_designations_have_one_style_a_series() -> None:
    assert [drill_named(words) is not None for words in ("5 mm", "5.1 mm", "1/4 in")] == [True] * 3
    assert [drill_named(words) for words in ("5.0 mm", "2/8 in", "#07", "F")] == [None] * 4


def test_holes_above_an_inch_are_named_by_their_fraction() -> None:
    assert hole_mm("1 5/32 in") == pytest.approx(29.36875)


def test_the_drills_nearest_to_a_size() -> None:
    near = nearest_drills(0.201 * 25.4)
    names = {series: [d.designation if d else None for d in pair] for series, pair in near.items()}
    assert names == {
        "metric": ["5.1 mm", "5.2 mm"],
        "fraction": ["3/16 in", "13/64 in"],
        "number": ["#7", "#7"],
        "letter": [None, "letter A"],
    }


@given(st.floats(0.01, 40))
def test_nearest_drills_enclose_the_size(diameter_mm: float) -> None:
    for below, above in nearest_drills(diameter_mm).values():
        assert below is None or below.diameter_mm <= diameter_mm + 1e-6
        assert above is None or above.diameter_mm >= diameter_mm - 1e-6
        assert below or above


@pytest.mark.parametrize(
    ("diameter_mm", "flute_mm", "length_mm"),
    [  # from memory of ISO 235 (DIN 338), jobber series; each row holds its own end
        (1.0, 12, 34), (3.0, 33, 61), (3.1, 36, 65), (5.0, 52, 86), (6.0, 57, 93), (6.1, 63, 101),
        (10.0, 87, 133), (13.0, 101, 151),
    ],
)  # fmt: skip
def test_jobber_lengths(diameter_mm: float, flute_mm: float, length_mm: float) -> None:
    assert jobber_flute_mm(diameter_mm) == flute_mm
    assert jobber_length_mm(diameter_mm) == length_mm


def test_no_jobber_lengths_above_the_table() -> None:
    assert jobber_flute_mm(25) is None


@pytest.mark.parametrize(
    ("inches", "thou"),
    [  # from memory of Machinery's Handbook, oversize of drilled holes, mean
        (1 / 16, 1.5), (1 / 8, 3), (1 / 4, 4), (1 / 2, 5), (3 / 4, 5), (1, 7), (1.5, 7),
        (3 / 8, 4.5),
    ],
)  # fmt: skip
def test_drilled_oversize(inches: float, thou: float) -> None:
    assert oversize_mm(inches * 25.4) == pytest.approx(thou * 0.0254)
