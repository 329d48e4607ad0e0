"""ISO 286 limits against an independent table and the standard's formulas; fits for a purpose."""

from __future__ import annotations

import math
from itertools import pairwise

import pressfit
import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.base.findings import WordError
from millprep.lookup import lookup
from millprep.reference.fits import (
    HOLE_CLASSES,
    SHAFT_CLASSES,
    hole_limits_um,
    recommended_fits,
    shaft_limits_um,
    sources,
)
from millprep.reference.tables import load_table

SIZES_MM = [
    0.5, 1, 3, 3.01, 6, 6.35, 10, 12.7, 18, 24, 25.4, 30, 38, 50, 60, 65, 80, 100, 120, 135, 150,
    170, 180, 190, 210, 250,
]  # fmt: skip
BY_PRESSFIT = [  # it has grades 5 to 11 of c to u, without j, r and t
    each
    for each in SHAFT_CLASSES
    if 5 <= int(each.lstrip("cdefghjkmnprstu")) <= 11 and each.rstrip("0123456789") not in "jrt"
]


@pytest.mark.parametrize("grade", range(5, 12))
def test_h_holes_agree_with_pressfit(grade: int) -> None:
    for size_mm in SIZES_MM:
        fit = pressfit.fit(f"{size_mm} H{grade}/h6")
        assert hole_limits_um(size_mm, f"H{grade}") == (fit.hole_ei_um, fit.hole_es_um)


@pytest.mark.parametrize("fit_class", BY_PRESSFIT)
def test_shafts_agree_with_pressfit(fit_class: str) -> None:
    for size_mm in SIZES_MM:
        fit = pressfit.fit(f"{size_mm} H7/{fit_class}")
        assert shaft_limits_um(size_mm, fit_class) == (fit.shaft_ei_um, fit.shaft_es_um)


def _mean_mm(up_to_mm: float) -> float:
    """Geometric mean of the step of sizes that ends there; of 1 and 3 for the first."""
    ends = [1, 3, 6, 10, 18, 30, 50, 80, 120, 180, 250]
    return math.sqrt(ends[ends.index(int(up_to_mm)) - 1] * up_to_mm)


@pytest.mark.parametrize(
    ("grade", "units"),
    [(6, 10), (7, 16), (8, 25), (9, 40), (10, 64), (11, 100), (12, 160), (13, 250), (14, 400)],
)
def test_grades_follow_the_tolerance_unit(grade: int, units: int) -> None:
    """ISO 286-1, annex: i = 0.45 D^(1/3) + 0.001 D um; each grade so many i, then rounded."""
    for row in load_table("fits-grades").rows:
        mean_mm = _mean_mm(float(row["up_to_mm"]))
        share = 0.09 if row["up_to_mm"] > 3 else 0.16  # the first step is rounded up freely
        exact_um = units * (0.45 * mean_mm ** (1 / 3) + 0.001 * mean_mm)
        assert float(row[f"IT{grade}"]) == pytest.approx(exact_um, rel=share, abs=0.75)


def test_grades_rise_and_repeat_tenfold() -> None:
    """ISO 286-1: from IT6 on every fifth grade is ten times as wide."""
    for row in load_table("fits-grades").rows:
        widths = [float(row[f"IT{grade}"]) for grade in range(3, 15)]
        assert all(a <= b for a, b in pairwise(widths)) and widths[0] < widths[-1]
        for grade in range(7, 10):
            assert float(row[f"IT{grade + 5}"]) == pytest.approx(
                10 * float(row[f"IT{grade}"]), rel=0.05
            )


def test_r_lies_between_p_and_s_and_t_follows_its_formula() -> None:
    """ISO 286-1: r = sqrt(p s); t = IT7 + 0.63 D, D the mean of the step; both rounded."""
    steps = load_table("fits-deviations-steps").rows
    for below, row in pairwise(({"up_to_mm": 1}, *steps)):
        size_mm = float(row["up_to_mm"])
        p_um = shaft_limits_um(size_mm, "p6")[0]
        assert float(row["r"]) == pytest.approx(math.sqrt(p_um * float(row["s"])), abs=2)
        if row["t"] == "":
            assert size_mm <= 24
            continue
        mean_mm = math.sqrt(float(below["up_to_mm"]) * size_mm)
        exact_um = hole_limits_um(size_mm, "H7")[1] + 0.63 * mean_mm
        assert float(row["t"]) == pytest.approx(exact_um, abs=1.3 if size_mm > 30 else 4)


@pytest.mark.parametrize("fit_class", ["J6", "J7", "J8"])
def test_j_holes_lie_on_both_sides_more_above(fit_class: str) -> None:
    for size_mm in SIZES_MM:
        lower_um, upper_um = hole_limits_um(size_mm, fit_class)
        assert lower_um < 0 < upper_um
        assert -lower_um <= 1.5 * upper_um + 1


@pytest.mark.parametrize(
    ("size_mm", "fit_class", "limits_um"),
    [  # from memory of ISO 286-2, tables of holes
        (2, "K7", (-10, 0)),
        (5, "K7", (-9, 3)),
        (8, "K7", (-10, 5)),
        (12, "K7", (-12, 6)),
        (25, "K7", (-15, 6)),
        (2, "M7", (-12, -2)),
        (5, "M7", (-12, 0)),
        (8, "M7", (-15, 0)),
        (12, "M7", (-18, 0)),
        (2, "N7", (-14, -4)),
        (5, "N7", (-16, -4)),
        (8, "N7", (-19, -4)),
        (12, "N7", (-23, -5)),
        (25, "N7", (-28, -7)),
        (2, "P7", (-16, -6)),
        (5, "P7", (-20, -8)),
        (8, "P7", (-24, -9)),
        (12, "P7", (-29, -11)),
        (25, "P7", (-35, -14)),
        (2, "N9", (-29, -4)),
        (5, "N9", (-30, 0)),
        (12, "P9", (-61, -18)),
        (5, "F7", (10, 22)),
        (8, "F8", (13, 35)),
        (5, "G6", (4, 12)),
        (12, "G7", (6, 24)),
        (8, "D10", (40, 98)),
        (12, "E9", (32, 75)),
        (100, "E8", (72, 126)),
        (5, "JS7", (-6, 6)),
        (25, "JS9", (-26, 26)),
        (25, "R7", (-41, -20)),
        (60, "R7", (-60, -30)),
        (25, "S7", (-48, -27)),
        (100, "S7", (-93, -58)),
        (8, "J7", (-7, 8)),
        (5, "H12", (0, 120)),
        (8, "H3", (0, 2.5)),
    ],
)
def test_other_holes(size_mm: float, fit_class: str, limits_um: tuple[float, float]) -> None:
    assert hole_limits_um(size_mm, fit_class) == limits_um


@given(st.floats(0.001, 250), st.sampled_from(HOLE_CLASSES))
def test_a_hole_is_as_wide_as_its_grade_and_the_shafts_mirror(
    size_mm: float, fit_class: str
) -> None:
    lower_um, upper_um = hole_limits_um(size_mm, fit_class)
    grade = fit_class.lstrip("ABCDEFGHJKLMNPRS")
    assert upper_um - lower_um == hole_limits_um(size_mm, "H" + grade)[1]
    mirror = fit_class.lower()
    if fit_class[0] in "DEFGH" and mirror in SHAFT_CLASSES:
        assert shaft_limits_um(size_mm, mirror) == (-upper_um, -lower_um)


@pytest.mark.parametrize("fit_class", ["", "H", "H15", "h7", "Z7", "7H", "H7 ", "HH7", "K9", "J9"])
def test_an_unknown_class_is_refused_with_those_accepted(fit_class: str) -> None:
    with pytest.raises(WordError) as refusal:
        hole_limits_um(6, fit_class)
    assert "is not a hole class in the table" in refusal.value.message
    assert "H3 to H14" in refusal.value.remedy


@pytest.mark.parametrize("size_mm", [0, -1, 250.1, 1e9, float("nan"), float("inf")])
def test_a_size_outside_the_table_is_refused(size_mm: float) -> None:
    with pytest.raises(WordError, match="outside the table of fits"):
        hole_limits_um(size_mm, "H7")


def test_limits_cite_the_tables_they_come_from() -> None:
    assert [each.title for each in sources("H7")] == ["ISO 286-1"]
    assert len(sources("G7")) == 2
    assert "finer steps" in sources("s6")[1].table


def test_t_is_not_defined_for_small_sizes() -> None:
    with pytest.raises(WordError, match="not defined at 20 mm"):
        shaft_limits_um(20, "t6")


# --- fits for a purpose ---------------------------------------------------------------------------


@pytest.mark.parametrize("purpose", ["locate", "pivot", "press", "slide"])
def test_recommended_fits_do_what_they_say(purpose: str) -> None:
    """Common practice: a pivot and a slide have room at every size, a press by p, s or P has none
    to speak of; the least is 1 um, from the grades themselves."""
    fits = recommended_fits(purpose)
    assert any("H" in fit.hole for fit in fits) and any("h" in fit.shaft for fit in fits)
    for fit in fits:
        for size_mm in (3, 6, 10, 16, 25):
            hole, shaft = hole_limits_um(size_mm, fit.hole), shaft_limits_um(size_mm, fit.shaft)
            least_um, most_um = hole[0] - shaft[1], hole[1] - shaft[0]
            if purpose in ("pivot", "slide"):
                assert least_um >= (-2 if fit.shaft == "m6" else 0) and most_um > 0
            if purpose == "press" and fit.shaft != "m6":
                assert least_um < 0 and most_um <= 4
            if purpose == "locate":
                assert least_um <= 0 < most_um
    assert recommended_fits("dance") == ()


def test_dowel_pins() -> None:
    """ISO 2338 (from memory): 6 mm, chamfer 1.2, 12 to 60 long."""
    (pin,) = lookup("dowel 6 mm")
    assert (pin["chamfer_mm"], pin["shortest_mm"], pin["longest_mm"]) == (1.2, 12, 60)
    for small, large in pairwise(load_table("pins-dowel").rows):
        assert small["chamfer_mm"] < large["chamfer_mm"]
        assert small["longest_mm"] < large["longest_mm"]
