"""Fits of pins against ISO 286-2 and an outside package; position zones against worked cases."""

from __future__ import annotations

import math

import pressfit
import pytest

from millprep.base.findings import WordError
from millprep.reference.fits import hole_limits_um, recommended_fits
from millprep.sums.chance import free_play_mm, zone_of_square_mm
from millprep.sums.pins import fit_of, fits_for, hole_sizes, measured_sizes, pin_sizes, suits

UM = 0.001
SIZES_MM = [1, 2, 3, 4, 5, 6, 6.35, 8, 10, 12, 12.7, 16, 20, 25]
PAIRS = ["H7/m6", "H7/p6", "H7/s6", "H7/k6", "H7/h6", "H7/g6", "H7/f7", "H8/f7", "H8/e8", "H9/d9"]


def hole_of_class(diameter_mm: float, words: str):
    return hole_sizes(diameter_mm, hole_limits_um(diameter_mm, words), words)


def fit(diameter_mm: float, words: str):
    hole, pin = words.split("/")
    return fit_of(pin_sizes(diameter_mm, pin), hole_of_class(diameter_mm, hole))


@pytest.mark.parametrize("words", PAIRS)
def test_clearances_agree_with_an_outside_package(words: str) -> None:
    """pressfit (package registry): ISO 286 limits to 500 mm."""
    for size_mm in SIZES_MM:
        theirs = pressfit.fit(f"{size_mm} {words}")
        ours = fit(size_mm, words)
        assert ours.least_mm == pytest.approx(
            (theirs.hole_ei_um - theirs.shaft_es_um) * UM, abs=1e-9
        )
        assert ours.greatest_mm == pytest.approx(
            (theirs.hole_es_um - theirs.shaft_ei_um) * UM, abs=1e-9
        )


@pytest.mark.parametrize(
    ("diameter_mm", "words", "least_um", "greatest_um", "word"),
    [  # limits from memory of ISO 286-2, tables of H, F, G, P holes and of f, g, h, m, p shafts
        (6, "H7/m6", 0 - 12, 12 - 4, "transition"),
        (6, "H7/p6", 0 - 20, 12 - 12, "press"),
        (6, "H7/s6", 0 - 27, 12 - 19, "press"),
        (6, "P7/h6", -20 - 0, -8 + 8, "press"),
        (6, "G7/h6", 4 - 0, 16 + 8, "slide"),
        (6, "H7/h6", 0, 12 + 8, "slide"),
        (6, "H7/g6", 0 + 4, 12 + 12, "slide"),
        (6, "F7/m6", 10 - 12, 22 - 4, "transition"),
        (6, "F7/h6", 10 - 0, 22 + 8, "run"),
        (6, "H8/f7", 0 + 10, 18 + 22, "run"),
        (20, "H7/f7", 0 + 20, 21 + 41, "run"),
        (6, "H11/c11", 0 + 70, 75 + 145, "loose"),
    ],
)
def test_the_word_for_a_fit(
    diameter_mm: float, words: str, least_um: float, greatest_um: float, word: str
) -> None:
    found = fit(diameter_mm, words)
    assert found.least_mm == pytest.approx(least_um * UM, abs=1e-9)
    assert found.greatest_mm == pytest.approx(greatest_um * UM, abs=1e-9)
    assert found.word == word
    assert found.words == words


def test_looser_than_the_standards_free_running_fit_is_loose() -> None:
    """H9/d9 at 6 mm (ISO 286-2, from memory): hole 0 to 30, shaft -30 to -60: 60 um on the mean."""
    assert fit(6, "H9/d9").mean_mm == pytest.approx((15 + 45) * UM)
    assert fit(6, "H9/d9").word == "run"
    assert fit_of(measured_sizes(5.942), measured_sizes(6.0)).word == "run"
    assert fit_of(measured_sizes(5.938), measured_sizes(6.0)).word == "loose"


@pytest.mark.parametrize("purpose", ["press", "slide", "pivot"])
def test_the_recommended_fits_suit_their_purpose_and_no_other(purpose) -> None:
    """Table fits-recommended (ISO 286-1, preferred fits; common practice), all small sizes."""
    assert recommended_fits(purpose)
    for each in recommended_fits(purpose):
        for size_mm in SIZES_MM:
            found = fit(size_mm, f"{each.hole}/{each.shaft}")
            assert suits(found, purpose), (found, purpose)
            if purpose == "press":
                assert not suits(found, "slide") and not suits(found, "pivot")
            else:
                assert not suits(found, "press")
            if found.word == "run":
                assert not suits(found, "slide")


def test_the_holes_of_part_files_suit_the_pins_they_are_meant_for() -> None:
    """`pin` in a part file: H7 for an m6 dowel, G7 for an h6 pin, H8 for an f7 pin."""
    for words, purpose in (("H7/m6", "press"), ("G7/h6", "slide"), ("H8/f7", "pivot")):
        for size_mm in SIZES_MM:
            assert suits(fit(size_mm, words), purpose)
    assert suits(fit(6, "H7/g6"), "pivot")  # ASME B4.2: moves and turns freely
    assert not suits(fit(6, "H7/h6"), "pivot")
    assert not suits(fit(6, "H11/c11"), "pivot")
    assert not suits(fit(6, "G7/m6"), "slide")  # 8 um tight at the worst


def test_measured_sizes_have_one_clearance_or_what_the_instrument_leaves() -> None:
    found = fit_of(measured_sizes(5.992), measured_sizes(6.006))
    assert found.least_mm == pytest.approx(0.014) == found.greatest_mm
    assert (found.word, found.words) == ("slide", "measured/measured")
    open_ = fit_of(measured_sizes(5.998, 0.004), hole_sizes(6, (0, 12), "H7"))
    assert (open_.least_mm, open_.greatest_mm) == pytest.approx((-0.002, 0.018))
    assert open_.word == "transition"
    assert fit_of(measured_sizes(6.03), hole_of_class(6, "H7")).word == "press"


def test_a_class_that_is_none_is_refused() -> None:
    with pytest.raises(WordError, match='"q6" is not a shaft class in the table'):
        pin_sizes(6, "q6")
    assert fits_for("slide") == "F7/m6, G7/h6, H7/g6"


def test_floating_and_fixed_screws() -> None:
    """From memory of ASME Y14.5M-1994, appendix B3 and B4: 6 mm screws in holes of 6.44 leave 0.44
    to each of two parts, or to hole and thread together."""
    assert 2 * free_play_mm(6, 6.44) == pytest.approx(0.44)
    assert 2 * free_play_mm(6, 6.44, 6.44) == pytest.approx(2 * 0.44)


def test_zones_of_squares() -> None:
    """A square of +/- 0.1 has its corners on a circle of 0.28 (the usual example of Y14.5)."""
    assert round(zone_of_square_mm(0.1), 2) == 0.28
    assert zone_of_square_mm(0.1) / 2 == pytest.approx(math.hypot(0.1, 0.1))
