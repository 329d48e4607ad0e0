"""Drill series, the nearest drills, lengths and oversize."""

from __future__ import annotations

import subprocess
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.lookup import lookup
from millprep.lookup.bought import centre_drills
from millprep.reference.cutters import usual_nose_mm, usual_noses_mm
from millprep.reference.drills import (
    DRILL_SERIES,
    DrillSeries,
    drill_length_mm,
    drill_named,
    drilled_limits_mm,
    drills,
    hole_mm,
    nearest_drills,
    oversize_mm,
    series_of,
)
from millprep.reference.fits import hole_limits_um
from millprep.reference.tables import inches_to_mm, load_table

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
        "metric 0.05": ["5.05 mm", "5.15 mm"],
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
        (1.0, 12, 34),
        (3.0, 33, 61),
        (3.1, 36, 65),
        (5.0, 52, 86),
        (6.0, 57, 93),
        (6.1, 63, 101),
        (10.0, 87, 133),
        (13.0, 101, 151),
    ],
)
def test_jobber_lengths(diameter_mm: float, flute_mm: float, length_mm: float) -> None:
    assert drill_length_mm("jobber", "flute", diameter_mm) == flute_mm
    assert drill_length_mm("jobber", "overall", diameter_mm) == length_mm


def test_no_jobber_lengths_above_the_table() -> None:
    assert drill_length_mm("jobber", "flute", 25) is None


@pytest.mark.parametrize(
    ("inches", "thou"),
    [  # from memory of Machinery's Handbook, oversize of drilled holes, mean
        (1 / 16, 1.5),
        (1 / 8, 3),
        (1 / 4, 4),
        (1 / 2, 5),
        (3 / 4, 5),
        (1, 7),
        (1.5, 7),
        (3 / 8, 4.5),
    ],
)
def test_drilled_oversize(inches: float, thou: float) -> None:
    assert oversize_mm(inches * 25.4) == pytest.approx(thou * 0.0254)


def test_every_twentieth_of_a_millimetre_to_13_is_listed_once() -> None:
    """Metric sets in steps of 0.05 (common practice); ISO 235 itself has them below 3 mm."""
    sizes = [drill.diameter_mm for drill in (*drills("metric"), *drills("metric 0.05"))]
    assert len(set(sizes)) == len(sizes)
    assert {twentieths / 20 for twentieths in range(6, 261)} <= set(sizes)


@pytest.mark.parametrize(
    ("diameter_mm", "flute_mm", "length_mm"),
    [  # from memory of ISO 235 (DIN 1897), stub series; each row holds its own end
        (1.0, 6, 26),
        (2.0, 12, 38),
        (3.0, 16, 46),
        (5.0, 26, 62),
        (6.0, 28, 66),
        (6.1, 31, 70),
        (8.0, 37, 79),
        (10.0, 43, 89),
        (12.0, 51, 102),
    ],
)
def test_stub_lengths(diameter_mm: float, flute_mm: float, length_mm: float) -> None:
    assert drill_length_mm("stub", "flute", diameter_mm) == flute_mm
    assert drill_length_mm("stub", "overall", diameter_mm) == length_mm


@pytest.mark.parametrize("kind", ["jobber", "stub"])
def test_lengths_rise_with_the_diameter(kind: str) -> None:
    rows = load_table(f"drills-{kind}-lengths").rows
    assert all(
        a["flute_mm"] <= b["flute_mm"] and a["overall_mm"] <= b["overall_mm"]
        for a, b in pairwise(rows)
    )


@pytest.mark.parametrize("row", load_table("drills-stub-lengths").rows, ids=str)
def test_a_stub_drill_is_shorter_than_a_jobber_drill(row: dict[str, float]) -> None:
    size_mm = float(row["up_to_mm"])
    flute_mm, length_mm = (
        drill_length_mm("jobber", "flute", size_mm),
        drill_length_mm("jobber", "overall", size_mm),
    )
    assert flute_mm is not None and row["flute_mm"] < flute_mm
    assert length_mm is not None and row["overall_mm"] <= length_mm


@pytest.mark.parametrize(
    ("inches", "over_in"), [(0.125, 0.004), (0.25, 0.005), (0.5, 0.006), (0.75, 0.008), (1, 0.01)]
)
def test_what_a_drilled_hole_may_measure(inches: float, over_in: float) -> None:
    """AND10387 (from memory): over by size, under by 0.001 in; the mean oversize lies inside."""
    limits_mm = drilled_limits_mm(inches * 25.4)
    assert limits_mm is not None
    assert limits_mm[0] == pytest.approx((inches - 0.001) * 25.4)
    assert limits_mm[1] == pytest.approx((inches + over_in) * 25.4)
    assert oversize_mm(inches * 25.4) < over_in * 25.4
    assert drilled_limits_mm(25.5) is None


def of_standard(begins: str) -> list[tuple[float, float]]:
    """Pips and bodies [mm] of the centre drills whose names begin so."""
    found = [each for each in centre_drills() if each["designation"].startswith(begins)]
    return [(each["pip_mm"], each["body_mm"]) for each in found]


@pytest.mark.parametrize("standard", ["centre drill A", "centre drill No.", "centre drill BS"])
def test_centre_drills_rise_and_have_a_pip_smaller_than_the_body(standard: str) -> None:
    listed = of_standard(standard)
    assert len(listed) > 5
    assert all(a[0] < b[0] and a[1] <= b[1] for a, b in pairwise(listed))
    assert all(pip_mm < 0.6 * body_mm for pip_mm, body_mm in listed)


def test_a_drilled_hole_comes_out_inside_the_grade_it_is_said_to() -> None:
    """Mean oversize of the handbook's test against IT12 of ISO 286-1, 3 to 25 mm."""
    assert "IT12" in load_table("holes-expected").rows[3]["grade"]
    for diameter_mm in range(3, 26):
        assert 1000 * oversize_mm(diameter_mm) < hole_limits_um(diameter_mm, "H12")[1]


def test_one_number_is_two_centre_drills() -> None:
    """No. 2 has a pip of 5/64 in by ASME B94.11M, 1/16 in by BS 328-2 (both from memory)."""
    (american,), (british,) = lookup("centre drill No. 2"), lookup("centre drill BS2")
    assert american["pip_mm"] == pytest.approx(inches_to_mm(5) / 64)
    assert british["pip_mm"] == pytest.approx(inches_to_mm(1) / 16)


def test_metric_centre_drills_are_preferred_numbers() -> None:
    """ISO 866: pips follow the R10 series 1, 1.25, 1.6, 2, 2.5, 3.15, 4, 5, 6.3, 8, 10."""
    for count, (pip_mm, _) in enumerate(of_standard("centre drill A")):
        assert pip_mm == pytest.approx(0.5 * 10 ** (count / 10), rel=0.02) or pip_mm > 5


def test_noses_of_countersinks_rise_with_the_diameter() -> None:
    """DIN 335 form C: 6.3 has 1.5, 10.4 has 2.5, 16.5 has 3.2 (from memory)."""
    noses = usual_noses_mm(90.0)
    assert (noses[6.3], noses[10.4], noses[16.5]) == (1.5, 2.5, 3.2)
    shares = [nose / size for size, nose in noses.items()]
    assert list(noses.values()) == sorted(noses.values())
    assert max(shares) < 1 / 3 and min(shares) > 1 / 8
    assert usual_nose_mm(12.4, 90.0) == 2.8
    assert usual_nose_mm(12.4, 82.0) is usual_nose_mm(12.7, 90.0) is None
