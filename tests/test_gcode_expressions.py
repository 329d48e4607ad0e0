"""Parameters, expressions and functions, against the results that NISTIR 6556 prints."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.gcode.arithmetic import FUNCTIONS, Environment
from millprep.reading.gcode.expressions import Values
from millprep.reading.gcode.recognise import recognise
from millprep.reading.moves import ProgramRun

START = "G21 G90 G17 G54 G98 F100.\n"
AS_PRINTED = 0.00005  # appendix C.2 gives four decimals


def run(text: str, **control: object) -> ProgramRun:
    described = Control(**{"offsets_mm": {"G54": (0.0, 0.0, 0.0)}, **control})  # type: ignore[arg-type]
    return read_program(text.encode(), described, file="a.nc")


def value(text: str, parameters: dict[int, float] | None = None) -> float:
    """The value of an X word."""
    line = recognise(f"X {text}", 1, Environment({**(parameters or {})}))
    return line.words["X"].value


@pytest.mark.parametrize(
    ("section", "text", "result"),
    [
        ("3.3.2.3", "[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5),
        ("3.3.2.3", "[2 ** 3 ** 2]", 64),
        ("C.2", "ATAN[1.7321]/[1.0]", 60.0007),
        ("C.2", "ACOS[0.707107]", 45.0000),
        ("C.2", "ROUND[-0.499]", 0),
        ("C.2", "ROUND[-0.5001]", -1),
        ("C.2", "FIX[-0.499]", -1),
        ("C.2", "FUP[-0.5001]", 0),
        ("C.2", "FUP[2.444]", 3),
        ("C.2", "EXP[2.3026]", 10.0001),
        ("C.2", "LN[10.0]", 2.3026),
        ("C.2", "[15 MOD 4.0]", 3),
        ("C.2", "[1 + 2 * 3 - 4 / 5]", 6.2),
        ("C.2", "[2 + ASIN[1/2.1+-0.345] / [ATAN[FIX[4.4] * 2.1 * SQRT[16.8]] /[-18]]**2]", 2.0005),
        ("3.3.2.4", "FIX[2.8]", 2),
        ("3.3.2.4", "FIX[-2.8]", -3),
        ("3.3.2.4", "FUP[2.8]", 3),
        ("3.3.2.4", "FUP[-2.8]", -2),
        ("grammar: the sign is the number's", "[-2**2]", 4),
        ("grammar: the sign is the number's", "[1 --3]", 4),
        ("angles in degrees", "SIN[30]", 0.5),
        ("angles in degrees", "COS[60]", 0.5),
        ("angles in degrees", "TAN[45]", 1),
        ("angles in degrees", "ASIN[.5]", 30),
        ("full circle", "ATAN[-1]/[-1]", -135),
        ("logic", "[5 AND -2]", 1),
        ("logic", "[0 OR 0]", 0),
        ("logic", "[3 XOR 4]", 0),
        ("never negative, from memory of the interpreter", "[-7 MOD 3]", 2),
        ("half away from zero, from memory of the interpreter", "ROUND[2.5]", 3),
        ("case", "abs[-3]", 3),
    ],
)
def test_results_printed_in_the_report(section: str, text: str, result: float) -> None:
    assert value(text) == pytest.approx(result, abs=AS_PRINTED)


def test_the_parameter_sign_binds_tightest() -> None:
    """NISTIR 6556, section 3.3.2.2."""
    kept = {1: 10.0, 2: 1.0, 3: 7.0}
    assert value("[#1+2]", kept) == 12.0
    assert value("#[1+2]", kept) == 7.0
    assert value("##2", kept) == 10.0


def test_settings_count_from_the_next_line_on() -> None:
    """NISTIR 6556, section 3.3.3: with #3 at 15, `#3=6 G1 X#3` goes to 15, and #3 is 6 then."""
    found = run(START + "#3=15\n#3=6 G1 X#3\nX#3\nM2\n")
    assert found.moves.end[0].tolist() == [15.0, 6.0]
    assert found.is_complete


def test_of_two_settings_the_last_counts() -> None:
    """NISTIR 6556, section 3.3.5."""
    assert run(START + "#3=15 #3=6\nG1 X#3\nM2\n").moves.end[0].tolist() == [6.0]


def test_settings_work_with_old_values() -> None:
    found = run(START + "#1=2 #2=3\n#1=#2 #2=#1\nG0 X#1 Y#2 Z[#1*#2]\nM2\n")
    assert found.moves.end[:, 0].tolist() == [3.0, 2.0, 6.0]


def test_values_stand_behind_any_letter() -> None:
    found = run("#1=17 #2=90\nG[20+1] G#2 G#1 G54 F[10*10]\nN5 G[3-2] X[1/4] M[2]\n")
    assert found.is_complete
    assert found.moves.end[0].tolist() == [0.25]
    assert found.moves.feed.tolist() == [100.0]


def test_a_function_may_follow_a_letter_that_makes_a_word_with_it() -> None:
    """`I FIX[2.5]` is no IF."""
    line = recognise("G2 X0 Y4 I FIX[2.5] J2", 1)
    assert {letter: word.value for letter, word in line.words.items()} == {
        "X": 0.0,
        "Y": 4.0,
        "I": 2.0,
        "J": 2.0,
    }


def test_a_sign_before_a_parameter_is_not_ignored() -> None:
    found = run(START + "#1=2\nG0 X-#1 Y-[1+2] Z[3*-#1]\nM2\n")
    assert found.moves.end[:, 0].tolist() == [-2.0, -3.0, -6.0]


def test_the_controls_own_parameters_are_read() -> None:
    """NISTIR 6556, section 3.2.1, in the units in force."""
    control = {
        "offsets_mm": {"G54": (1.0, 2.0, 3.0), "G55": (25.4, 0.0, 50.8)},
        "home_mm": (7.0, 8.0, 9.0),
        "home_2_mm": (4.0, 5.0, 6.0),
        "strict": True,
    }
    text = "G21 G90 G17 G55 F9.\nG92 X1. Y2. Z3.\nG92.2\n"
    found = run(
        text + "G0 X#5220 Y#5161 Z#5183\nX#5222 Y#5381 Z#5213\nG20\nX#5241 Z#5243\nM2\n", **control
    )
    assert found.is_complete
    begin = (-25.4, 0.0, -50.8)  # reading of machine 0, 0, 0 in G55
    assert_allclose(
        found.moves.end.T, [[2.0, 7.0, 6.0], [2.0, 0.0, begin[2] - 3.0], [25.4, 0.0, 50.8]]
    )


def test_every_function_is_covered() -> None:
    """NISTIR 6556, section 3.3.2.4."""
    named = "ABS ACOS ASIN ATAN COS EXP FIX FUP LN ROUND SIN SQRT TAN"
    assert " ".join(sorted({*FUNCTIONS, "ATAN"})) == named


numbers = st.integers(-99, 99).map(str)
operators = st.sampled_from(["+", "-", "*"])
sums = st.recursive(
    numbers,
    lambda inner: st.lists(st.tuples(inner, operators), min_size=1, max_size=3).flatmap(
        lambda parts: inner.map(lambda last: "[" + "".join(a + o for a, o in parts) + last + "]")
    ),
    max_leaves=12,
)


@given(sums)
def test_sums_and_products_are_those_of_python(text: str) -> None:
    """Of + - * and brackets; a sign that follows an operator is the number's in both."""
    result, end = Values(text, Environment()).value(0)
    assert end == len(text)
    expected = eval(text.replace("[", "(").replace("]", ")"))  # only digits, + - * and brackets
    assert math.isclose(result, expected)
