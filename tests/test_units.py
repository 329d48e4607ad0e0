"""Lengths in words, exactly, and the one rounding."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.base.findings import WordError
from millprep.base.units import Units, format_length, in_units, read_length, round_to, shown

# 1 in = 25.4 mm exactly: international yard and pound agreement, 1959.
WORDS_MM = [
    ("12.7 mm", Fraction("12.7")),
    ("12.7mm", Fraction("12.7")),
    ("12.7 MM", Fraction("12.7")),
    ("1/2 in", Fraction("12.7")),
    ("1 1/8 in", Fraction("28.575")),
    ("1-1/8 in", Fraction("28.575")),
    ("1-1/8in", Fraction("28.575")),
    ("0.375in", Fraction("9.525")),
    (".375 in", Fraction("9.525")),
    ("0.375 inch", Fraction("9.525")),
    ("2 inches", Fraction("50.8")),
    ("2 ins.", Fraction("50.8")),
    ('3/8"', Fraction("9.525")),
    ("3/8 ″", Fraction("9.525")),
    ("3/8''", Fraction("9.525")),
    ("½ in", Fraction("12.7")),
    ("1½ in", Fraction("38.1")),
    ("1 ½ in", Fraction("38.1")),
    ("1⁄2 in", Fraction("12.7")),
    ("-7/8 in", Fraction("-22.225")),
    ("−7/8 in", Fraction("-22.225")),
    ("+3 mm", Fraction(3)),
    ("- 3 mm", Fraction(-3)),
    ("1/3 in", Fraction(254, 30)),
    ("5/64 in", Fraction("1.984375")),
    ("  6  ", Fraction(6)),
    ("6.", Fraction(6)),
]


@pytest.mark.parametrize(("words", "mm"), WORDS_MM)
def test_words_give_the_exact_length(words: str, mm: Fraction) -> None:
    assert read_length(words, "mm") == mm


@pytest.mark.parametrize(
    ("value", "units", "mm"),
    [
        (5, "mm", Fraction(5)),
        (0.1, "mm", Fraction(1, 10)),
        (5, "inch", Fraction(127)),
        (0.125, "inch", Fraction("3.175")),
        (-1e-7, "mm", Fraction(-1, 10_000_000)),
        ("0.5", "inch", Fraction("12.7")),
        ("3/8", "inch", Fraction("9.525")),
        ("-7/8", "inch", Fraction("-22.225")),
        ("1 1/8", "inch", Fraction("28.575")),
        ("10 mm", "inch", Fraction(10)),
    ],
)
def test_plain_numbers_and_bare_words_are_in_the_units_of_the_file(
    value: object, units: Units, mm: Fraction
) -> None:
    assert read_length(value, units) == mm


def test_a_bare_fraction_in_a_mm_file_is_refused_with_the_inch_reading() -> None:
    with pytest.raises(WordError) as refusal:
        read_length("3/8", "mm")
    assert refusal.value.message == '"3/8" is a bare fraction in a mm file'
    assert refusal.value.remedy == 'write "3/8 in"'


def test_a_decimal_comma_is_refused_with_the_point() -> None:
    with pytest.raises(WordError) as refusal:
        read_length("12,7 mm", "mm")
    assert refusal.value.remedy == 'write the decimal with a point: "12.7 mm"'


@pytest.mark.parametrize(
    "value",
    [
        "",
        " ",
        "mm",
        "five",
        "1/0 in",
        "1 9/8 in",
        "1 8/8 in",
        "1/2/3 in",
        "1 - 1/8 in",
        "5 cm",
        "5 mm 3",
        "--5",
        "½½ in",
        "1,234.5",
        "nan",
        "inf",
        "1e3",
        "0x10",
        "5" * 100,
        "9" * 59,
        10**30,
        -(10**7),
        1e300,
        float("nan"),
        float("inf"),
        True,
        None,
        [5],
        {"a": 1},
        "5\x00mm",
        "½" * 1000,
    ],
)
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_what_is_no_length_is_refused(value: object, units: Units) -> None:
    with pytest.raises(WordError) as refusal:
        read_length(value, units)
    assert refusal.value.remedy


def test_a_number_too_long_to_print_is_refused() -> None:
    with pytest.raises(WordError) as refusal:
        read_length(10**5000, "mm")
    assert refusal.value.message == "a number too long to print is beyond any workshop"
    with pytest.raises(WordError):
        read_length([10**5000], "mm")


@given(st.text(max_size=80), st.sampled_from(["mm", "inch"]))
def test_any_text_gives_a_length_or_a_refusal(text: str, units: Units) -> None:
    try:
        assert isinstance(read_length(text, units), Fraction)
    except WordError as error:
        assert error.message and "\n" not in error.message


@given(st.decimals(-39_000, 39_000, places=4), st.sampled_from(["mm", "in"]))
def test_a_decimal_survives_writing_and_reading(number: Decimal, unit: str) -> None:
    factor = Fraction(1) if unit == "mm" else Fraction(254, 10)
    assert read_length(f"{number} {unit}", "mm") == Fraction(number) * factor


@given(st.integers(0, 40), st.integers(1, 63))
def test_a_64th_survives_writing_and_reading(whole: int, top: int) -> None:
    exact = (whole + Fraction(top, 64)) * Fraction(254, 10)
    assert read_length(f"{whole} {top}/64 in", "mm") == exact


@given(st.decimals(-10_000, 10_000, places=3))
def test_what_is_printed_reads_back_the_same(number: Decimal) -> None:
    printed = format_length(float(number), Decimal("0.001"))
    assert read_length(printed, "mm") == Fraction(number)


@pytest.mark.parametrize(
    ("value", "step", "shown_as"),
    [
        (0.0005, "0.001", "0.001"),  # a tie goes away from zero, on either side
        (-0.0005, "0.001", "-0.001"),
        (1.0005, "0.001", "1.001"),  # 1.0005 lies below the tie in binary
        (2.675, "0.01", "2.68"),
        (-0.0004, "0.001", "0.000"),
        (-0.0, "0.001", "0.000"),
        (36.3646, "0.005", "36.365"),
        (9.525, "0.005", "9.525"),
        (9.5225, "0.005", "9.525"),
        (7.3, "5", "5"),
        (123456.7891, "0.001", "123456.789"),
    ],
)
def test_rounding_is_half_away_from_zero_and_never_minus_zero(
    value: float, step: str, shown_as: str
) -> None:
    assert format_length(value, Decimal(step)) == shown_as


def test_a_fraction_is_rounded_from_its_exact_value() -> None:
    third_of_an_inch = Fraction(254, 30)
    assert format_length(third_of_an_inch, Decimal("0.001")) == "8.467"
    assert format_length(third_of_an_inch, Decimal("0.0002"), "inch") == "0.3334"
    assert round_to(Fraction(1, 2000), Decimal("0.001")) == Decimal("0.001")


def test_inches_are_shown_in_counts_of_an_inch_readout() -> None:
    assert format_length(9.525, Decimal("0.0002"), "inch") == "0.3750"
    assert format_length(-25.4, Decimal("0.0005"), "inch") == "-1.0000"
    assert in_units(25.4, "inch") == 1.0
    assert in_units(25.4, "mm") == 25.4


@given(st.floats(-1e5, 1e5), st.sampled_from(["0.001", "0.005", "0.0002", "0.01", "0.02"]))
def test_rounding_is_to_the_nearest_count(value: float, step: str) -> None:
    rounded = round_to(value, Decimal(step))
    assert rounded % Decimal(step) == 0
    assert abs(float(rounded) - value) <= float(step) / 2 + 1e-9
    assert not format_length(value, Decimal(step)).startswith("-0.000000")


@given(st.one_of(st.text(), st.integers(), st.floats(), st.none(), st.lists(st.integers())))
def test_a_value_is_quoted_short_and_on_one_line(value: object) -> None:
    text = shown(value)
    assert len(text) <= 60
    assert text.isprintable()
