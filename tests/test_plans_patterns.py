"""Patterns found again: places that a part file's own pattern makes come back as that pattern."""

from __future__ import annotations

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from millprep.infiles.plans.patterns import Frame, patterns_in
from millprep.infiles.plans.record import Outline

BLOCK = Outline((0.0, 0.0), (80.0, 50.0))
FRAME = Frame("mm", blank=BLOCK)


def on_circle(x: float, y: float, radius: float, count: int, start: float = 0.0):
    turns = [math.radians(start + i * 360 / count) for i in range(count)]
    return [(x + radius * math.cos(t), y + radius * math.sin(t)) for t in turns]


# (what, places, line): the figures of each are worked out by hand
CASES = [
    ("row", [(10 + 12 * i, 8 + 3 * i) for i in range(4)],
     "row = { start = [10, 8], step = [12, 3], count = 4 }"),
    ("grid", [(10 + 20 * i, 10 + 15 * j) for j in range(2) for i in range(3)],
     "grid = { start = [10, 10], step = [20, 15], columns = 3, rows = 2 }"),
    ("corners", [(8, 10), (72, 10), (72, 40), (8, 40)], "corners = { inset = [8, 10] }"),
    ("even corners", [(8, 8), (72, 8), (72, 42), (8, 42)], "corners = { inset = 8 }"),
    ("circle", on_circle(40, 25, 15, 6, 30),
     "circle = { centre = [40, 25], diameter = 30, count = 6, start = 30 }"),
    ("three", on_circle(40.5, 25, 9.25, 3, 90),
     "circle = { centre = [40.5, 25], diameter = 18.5, count = 3, start = 90 }"),
]  # fmt: skip


@pytest.mark.parametrize(("what", "places", "line"), CASES, ids=[case[0] for case in CASES])
def test_a_pattern_is_found_in_any_order(what, places, line) -> None:
    shuffled = [*places]
    random.Random(7).shuffle(shuffled)
    (found,) = patterns_in(shuffled, FRAME, [], in_order=False)
    assert found.line == line
    assert sorted(found.members) == list(range(len(places)))


@pytest.mark.parametrize(("what", "places", "line"), CASES, ids=[case[0] for case in CASES])
def test_one_hole_off_by_a_fiftieth_is_no_pattern(what, places, line) -> None:
    moved = [*places]
    moved[1] = (moved[1][0] + 0.03, moved[1][1] + 0.03)
    assert all(len(p.members) < len(places) for p in patterns_in(moved, FRAME, [], in_order=False))


@given(st.floats(-0.003, 0.003), st.integers(0, 5))
def test_what_a_plan_rounds_stays_the_pattern(by: float, which: int) -> None:
    places = on_circle(40, 25, 15, 6, 30)
    places[which] = (places[which][0] + by, places[which][1] - by)
    (found,) = patterns_in(places, FRAME, [], in_order=False)
    assert "count = 6" in found.line


def test_four_round_something_are_a_circle_and_else_corners() -> None:
    places = on_circle(40, 25, 15 * math.sqrt(2), 4, 45)
    (about,) = patterns_in(places, FRAME, [(40, 25)], in_order=False)
    assert about.line.startswith("circle = { centre = [40, 25], diameter = 42.426,")
    (alone,) = patterns_in(places, FRAME, [], in_order=False)
    assert alone.line == "corners = { inset = [25, 10] }"
    (elsewhere,) = patterns_in(places, Frame("mm"), [], in_order=False)
    assert elsewhere.line.startswith("grid = ")


def test_several_patterns_of_one_size() -> None:
    """Two bolt circles about holes of another size, a row, and one alone."""
    first, second = on_circle(20, 25, 8, 4, 10), on_circle(60, 25, 8, 6)
    row = [(10 + 7 * i, 45) for i in range(5)]
    places = [*first, *second, *row, (3, 3)]
    random.Random(3).shuffle(places)
    found = patterns_in(places, FRAME, [(20, 25), (60, 25)], in_order=False)
    assert sorted(len(one.members) for one in found) == [4, 5, 6]
    members = [i for one in found for i in one.members]
    assert len(members) == len(set(members))
    assert places[next(i for i in range(len(places)) if i not in members)] == (3, 3)


def test_a_numbering_is_kept_or_there_is_no_pattern() -> None:
    places = on_circle(40, 25, 15, 6, 30)
    clockwise = [places[0], *places[:0:-1]]
    (found,) = patterns_in(clockwise, FRAME, [], in_order=True)
    assert "clockwise = true" in found.line
    places[1], places[2] = places[2], places[1]
    assert patterns_in(places, FRAME, [], in_order=True) == []


def test_inches_come_out_plain() -> None:
    places = [(25.4 * (0.5 + 0.375 * i), 12.7) for i in range(4)]
    (found,) = patterns_in(places, Frame("inch"), [], in_order=False)
    assert found.line == "row = { start = [0.5, 0.5], step = [0.375, 0], count = 4 }"
