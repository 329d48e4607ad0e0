"""What witnesses compare with: slots against what is right, faces, limits, a way past a place."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from millprep.model.part import FACES
from millprep.model.shop import Dial
from millprep.reading.pages.slots import Said
from millprep.witness.compared import Question, Within, any_case, is_so, near, once
from millprep.witness.faces import AXIS, FAR, HIGH, LOOKS, LOW, face_mm, from_face_mm
from millprep.witness.judged import decided, worst
from millprep.witness.set_up import is_same, ruled
from millprep.witness.wheel import Wheel

HALF_MM = 0.0005


def said(units: Any = "mm", **slots: Any) -> Said:
    return Said("some", "SOME", slots, "some words", units)


@pytest.mark.parametrize(
    ("slots", "right", "answer"),
    [
        ({"a": "x"}, True, True),
        ({}, True, False),
        ({"a": None}, False, True),
        ({"a": "x"}, False, False),
        ({"a": "x"}, {"x", "y"}, True),
        ({"a": "z"}, {"x", "y"}, False),
        ({}, {None, "y"}, True),
        ({"a": None}, None, True),
        ({"a": "x"}, None, False),
        ({"a": "0"}, None, False),
        ({}, "x", False),
        ({"a": "two words"}, "two  words", True),  # a line may be broken at any blank
        ({"a": "two words"}, "two word", False),
        ({"a": "3"}, 3, True),
        ({"a": "3"}, 4, False),
        ({"a": ["x", "y"]}, ["x", "y"], True),
        ({"a": ["x", "y"]}, ("x", "y"), True),
        ({"a": ["y", "x"]}, ["x", "y"], False),
        ({"a": "12.0004"}, 12.0, True),
        ({"a": "11.9996"}, 12.0, True),
        ({"a": "12.0006"}, 12.0, False),
        ({"a": "11.9994"}, 12.0, False),
        ({"a": "12", "a_mm": "12.000001"}, 12.0, True),
        ({"a": "12", "a_mm": "12.000003"}, 12.0, False),
        ({"a": "12", "a_mm": "11.999997"}, 12.0, False),
        ({"a": "1.5 in"}, 38.1, True),
        ({"a": "2"}, Within(2.0, 3.0), True),
        ({"a": "3"}, Within(2.0, 3.0), True),
        ({"a": "1.999"}, Within(2.0, 3.0), False),
        ({"a": "3.001"}, Within(2.0, 3.0), False),
        ({"a": "90"}, near(90.0, 0.0, is_plain=True), True),
        ({"a": "91"}, near(90.0, 0.5, is_plain=True), False),
        ({"a": "TOP"}, any_case("top"), True),
        ({"a": "the centre"}, any_case("centre"), True),
        ({"a": "TOP"}, any_case("left"), False),
        ({}, any_case("top"), False),
        ({"a": "7"}, Question("odd", lambda told: int(told) % 2 == 1), True),
        ({"a": "8"}, Question("odd", lambda told: int(told) % 2 == 1), False),
        ({}, Question("anything", lambda told: True), False),
    ],
)
def test_a_slot_is_held_against_what_is_right(
    slots: Mapping[str, Any], right: Any, answer: bool
) -> None:
    assert is_so(said(**slots), "a", right, HALF_MM) is answer


def test_figures_of_a_sheet_in_inches_are_read_in_inches() -> None:
    assert is_so(said("inch", a="1.5"), "a", 38.1, HALF_MM)
    assert not is_so(said("mm", a="1.5"), "a", 38.1, HALF_MM)
    assert is_so(said("inch", a="1.5"), "a", near(1.5, 0.0, is_plain=True), HALF_MM)


def test_a_sentence_is_due_or_none() -> None:
    assert once("yes", a=1) == [{"a": 1}]
    assert once("", a=1) == []


def test_faces_lie_as_part_axes_have_them() -> None:
    """x left to right, y front to back, z bottom to top."""
    assert set(LOOKS) == set(FACES)
    assert (LOW, HIGH) == (("left", "front", "bottom"), ("right", "back", "top"))
    for axis, (low, high) in enumerate(zip(LOW, HIGH, strict=True)):
        assert (AXIS[low], AXIS[high], FAR[low], FAR[high]) == (axis, axis, high, low)
        assert LOOKS[low] == tuple(-1.0 if n == axis else 0.0 for n in range(3))
        assert LOOKS[high] == tuple(1.0 if n == axis else 0.0 for n in range(3))


def test_a_place_lies_so_far_from_each_face() -> None:
    size, at = (80.0, 50.0, 20.0), (30.0, 10.0, 21.0)
    ends = {"left": 0.0, "right": 80.0, "front": 0.0, "back": 50.0, "bottom": 0.0, "top": 20.0}
    away = {"left": 30.0, "right": 50.0, "front": 10.0, "back": 40.0, "bottom": 21.0, "top": -1.0}
    assert {face: face_mm(face, size) for face in FACES} == ends
    assert {face: from_face_mm(at, face, size) for face in FACES} == away


@pytest.mark.parametrize(
    ("value", "off", "least", "greatest", "verdict"),
    [
        (5.0, 0.0, 4.9, 5.1, "in"),
        (5.1, 0.0, 4.9, 5.1, "in"),
        (5.1, 0.02, None, 5.1, "not decidable"),
        (5.07, 0.02, 4.9, 5.1, "in"),
        (5.08, 0.02, 4.9, 5.1, "in"),
        (5.0801, 0.02, 4.9, 5.1, "not decidable"),
        (5.13, 0.02, 4.9, 5.1, "out"),
        (4.91, 0.02, 4.9, 5.1, "not decidable"),
        (4.93, 0.02, 4.9, 5.1, "in"),
        (4.87, 0.02, 4.9, 5.1, "out"),
        (4.87, 0.02, None, 5.1, "in"),
    ],
)
def test_in_and_out_are_said_only_where_there_is_no_doubt(
    value: float, off: float, least: float | None, greatest: float, verdict: str
) -> None:
    assert decided(value, off, least, greatest) == verdict


def test_the_worst_of_verdicts_counts() -> None:
    order = ["not measured", "in", "not decidable", "beyond usual", "out"]
    assert worst([]) == "not measured"
    for number, one in enumerate(order):
        assert worst(order[: number + 1]) == one


def test_a_handle_goes_half_a_turn_past_or_three_times_the_backlash() -> None:
    """A whole division more at the most, and what rounding up to it adds."""
    dial = Dial(
        lead_mm=2.0, divisions=100, clockwise="+", numbers_rise="clockwise", backlash_mm=0.1
    )
    wheel = Wheel("x", dial, 1, 1)
    assert wheel.least_past_mm == 1.0
    loose = Dial(
        lead_mm=2.0, divisions=100, clockwise="+", numbers_rise="clockwise", backlash_mm=0.5
    )
    assert Wheel("x", loose, 1, 1).least_past_mm == 1.5
    told = {past: wheel.is_past_enough(past) for past in (0.985, 0.995, 1.0, 1.025, 1.035, 1.5)}
    assert told == {0.985: False, 0.995: True, 1.0: True, 1.025: True, 1.035: False, 1.5: False}


def test_values_of_json_are_the_right_ones_to_what_they_are_written_to() -> None:
    assert is_same("1.00009", 1.0)
    assert not is_same("1.00011", 1.0)
    assert is_same(["1", "2"], (1, 2))
    assert not is_same(["1"], (1, 2))
    assert is_same({"a": "1", "b": "x"}, {"a": 1})
    assert not is_same({"b": "x"}, {"a": 1})
    assert not is_same("x", 1.0)
    assert not is_same("1", True)


def test_a_rule_shows_decimals_or_sixty_fourths() -> None:
    assert (ruled("12.5 mm").mm, ruled("12.5 mm").half_digit_mm) == (12.5, 0.05)
    inches = ruled("1 3/8 in")
    assert inches.mm == pytest.approx(34.925)
    assert inches.half_digit_mm == pytest.approx(25.4 / 128)
