"""Labels keep their distance and their order, and stay as near as can be to where they belong."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from millprep.canvas.spread import Labels, spread

places = st.lists(st.floats(-50, 50), min_size=1, max_size=12).map(sorted)
distances = st.floats(0.5, 5)


@given(places, distances)
def test_order_and_distance_are_kept(wanted: list[float], apart: float) -> None:
    found = spread(wanted, apart)
    assert len(found) == len(wanted)
    assert all(b - a >= apart - 1e-9 for a, b in pairwise(found))


@given(places, distances)
def test_what_has_room_stays(wanted: list[float], apart: float) -> None:
    if all(b - a >= apart for a, b in pairwise(wanted)):
        assert spread(wanted, apart) == pytest.approx(wanted)


def off(found: list[float], wanted: list[float]) -> float:
    return float(sum((a - b) ** 2 for a, b in zip(found, wanted, strict=True)))


@settings(max_examples=40)
@given(st.lists(st.floats(-20, 20), min_size=2, max_size=6).map(sorted), distances, st.booleans())
def test_no_other_places_are_nearer(wanted: list[float], apart: float, is_bounded: bool) -> None:
    """Against scipy's general solver (SLSQP) for the same squares under the same conditions."""
    half = (len(wanted) - 1) * apart / 2 + 3.0
    low, high = (-half, half) if is_bounded else (-math.inf, math.inf)
    found = spread(wanted, apart, low, high)
    conditions = [
        {"type": "ineq", "fun": lambda x, i=i: x[i + 1] - x[i] - apart}
        for i in range(len(wanted) - 1)
    ]
    start = [(i - (len(wanted) - 1) / 2) * apart for i in range(len(wanted))]
    solved = minimize(
        lambda x: off(list(x), wanted),
        start,
        method="SLSQP",
        bounds=[(low, high)] * len(wanted),
        constraints=conditions,
        options={"maxiter": 500, "ftol": 1e-12},
    )
    assert (
        off(found, wanted) <= solved.fun * (1 + 1e-5) + 1e-4
    )  # it keeps conditions to a millionth
    assert low - 1e-9 <= found[0] and found[-1] <= high + 1e-9
    assert all(b - a >= apart - 1e-9 for a, b in pairwise(found))


@given(st.lists(st.tuples(st.floats(0, 60), st.floats(0, 60)), max_size=30))
def test_labels_lie_clear_of_each_other_and_of_the_circles(
    centres: list[tuple[float, float]],
) -> None:
    labels = Labels((-20.0, -20.0, 80.0, 80.0))
    for x, y in centres:
        labels.block_hole((x - 1, y - 1, x + 1, y + 1))
    boxes = [(x - 1, y - 1, x + 1, y + 1) for x, y in centres]
    solid = len(boxes)
    for centre in centres:
        found = labels.near(centre, 1.0, 4.0, 2.5, 15.0)
        if found is not None:
            (x, y), _ = found
            boxes.append((x, y, x + 4.0, y + 2.5))
    for i, a in enumerate(boxes[solid:], solid):
        assert a[0] >= -20 and a[1] >= -20 and a[2] <= 80 and a[3] <= 80
        for b in boxes[:i]:
            assert not (a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])


def test_a_label_far_off_gets_a_leader_that_crosses_no_words() -> None:
    labels = Labels()
    labels.block((-6.0, -6.0, 6.0, 6.0))  # nothing may stand close by
    labels.block_words((6.0, -12.0, 25.0, 12.0))
    found = labels.near((0.0, 0.0), 1.0, 4.0, 2.5, 15.0)
    assert found is not None
    (x, _), end = found
    assert end is not None
    assert x < 6.0


def test_where_all_is_full_there_is_no_label() -> None:
    labels = Labels()
    labels.block((-50.0, -50.0, 50.0, 50.0))
    assert labels.near((0.0, 0.0), 1.0, 4.0, 2.5, 15.0) is None


def test_a_leader_of_no_choice_may_cross_a_hole() -> None:
    labels = Labels()
    for angle in np.linspace(0, 2 * math.pi, 60):
        x, y = 3 * math.cos(angle), 3 * math.sin(angle)
        labels.block_hole((x - 0.5, y - 0.5, x + 0.5, y + 0.5))
    assert labels.near((0.0, 0.0), 1.0, 4.0, 2.5, 15.0) is None
    assert labels.near((0.0, 0.0), 1.0, 4.0, 2.5, 15.0, must=True) is not None
