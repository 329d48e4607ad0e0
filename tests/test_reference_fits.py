"""ISO 286 limits against an independent table, and materials, feeds and reaming stock."""

from __future__ import annotations

import pressfit
import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.errors import WordError
from millprep.reference.fits import (
    HOLE_CLASSES,
    SHAFT_CLASSES,
    hole_limits_um,
    shaft_limits_um,
    sources,
)

SIZES_MM = [0.5, 1, 3, 3.01, 6, 6.35, 10, 12.7, 18, 25.4, 30, 50, 65, 80, 120, 150, 180, 200, 250]


@pytest.mark.parametrize("size_mm", SIZES_MM)
@pytest.mark.parametrize("grade", range(5, 12))
def test_h_holes_agree_with_pressfit(size_mm: float, grade: int) -> None:
    fit = pressfit.fit(f"{size_mm} H{grade}/h6")
    assert hole_limits_um(size_mm, f"H{grade}") == (fit.hole_ei_um, fit.hole_es_um)


@pytest.mark.parametrize("size_mm", SIZES_MM)
@pytest.mark.parametrize("fit_class", SHAFT_CLASSES)
def test_shafts_agree_with_pressfit(size_mm: float, fit_class: str) -> None:
    fit = pressfit.fit(f"{size_mm} H7/{fit_class}")
    assert shaft_limits_um(size_mm, fit_class) == (fit.shaft_ei_um, fit.shaft_es_um)


@pytest.mark.parametrize(
    ("size_mm", "fit_class", "limits_um"),
    [  # from memory of ISO 286-2, tables of holes
        (2, "K7", (-10, 0)), (5, "K7", (-9, 3)), (8, "K7", (-10, 5)), (12, "K7", (-12, 6)),
        (25, "K7", (-15, 6)), (2, "M7", (-12, -2)), (5, "M7", (-12, 0)), (8, "M7", (-15, 0)),
        (12, "M7", (-18, 0)), (2, "N7", (-14, -4)), (5, "N7", (-16, -4)), (8, "N7", (-19, -4)),
        (12, "N7", (-23, -5)), (25, "N7", (-28, -7)), (2, "P7", (-16, -6)), (5, "P7", (-20, -8)),
        (8, "P7", (-24, -9)), (12, "P7", (-29, -11)), (25, "P7", (-35, -14)),
        (2, "N9", (-29, -4)), (5, "N9", (-30, 0)), (12, "P9", (-61, -18)),
        (5, "F7", (10, 22)), (8, "F8", (13, 35)), (5, "G6", (4, 12)), (12, "G7", (6, 24)),
        (8, "D10", (40, 98)), (12, "E9", (32, 75)), (100, "E8", (72, 126)),
        (5, "JS7", (-6, 6)), (25, "JS9", (-26, 26)),
    ],
)  # fmt: skip
def test_other_holes(size_mm: float, fit_class: str, limits_um: tuple[float, float]) -> None:
    assert hole_limits_um(size_mm, fit_class) == limits_um


@given(st.floats(0.001, 250), st.sampled_from(HOLE_CLASSES))
def test_a_hole_is_as_wide_as_its_grade_and_the_shafts_mirror(
    size_mm: float, fit_class: str
) -> None:
    lower_um, upper_um = hole_limits_um(size_mm, fit_class)
    grade = fit_class.lstrip("ABCDEFGHJKLMNPS")
    assert upper_um - lower_um == hole_limits_um(size_mm, "H" + grade)[1]
    mirror = fit_class.lower()
    if fit_class[0] in "DEFGH" and mirror in SHAFT_CLASSES:
        assert shaft_limits_um(size_mm, mirror) == (-upper_um, -lower_um)


@pytest.mark.parametrize("fit_class", ["", "H", "H12", "h7", "Z7", "7H", "H7 ", "HH7", "K9", "J7"])
def test_an_unknown_class_is_refused_with_those_accepted(fit_class: str) -> None:
    with pytest.raises(WordError) as refusal:
        hole_limits_um(6, fit_class)
    assert "is not a hole class in the table" in refusal.value.message
    assert "H7" in refusal.value.remedy


@pytest.mark.parametrize("size_mm", [0, -1, 250.1, 1e9, float("nan"), float("inf")])
def test_a_size_outside_the_table_is_refused(size_mm: float) -> None:
    with pytest.raises(WordError, match="outside the table of fits"):
        hole_limits_um(size_mm, "H7")


def test_limits_cite_the_tables_they_come_from() -> None:
    assert [each.title for each in sources("H7")] == ["ISO 286-1"]
    assert len(sources("G7")) == 2
