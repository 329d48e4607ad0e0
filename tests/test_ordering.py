"""The way round: nearest neighbour from the grid of cells against the plain greedy search."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millprep.planning.cells import nearest_neighbour_route


def greedy(points: np.ndarray) -> list[int]:
    """Always to the nearest left, the first written of those as near; no cleverness."""
    left = list(range(points.shape[1]))
    here = min(left, key=lambda i: (float(np.hypot(*points[:, i])), i))
    route = [here]
    left.remove(here)
    while left:
        away = {i: float(((points[:, i] - points[:, here]) ** 2).sum()) for i in left}
        here = min(left, key=lambda i: (away[i], i))
        route.append(here)
        left.remove(here)
    return route


@st.composite
def points(draw: st.DrawFn) -> np.ndarray:
    # Whole numbers make many ties; a few far clusters make holes farther than the cells searched.
    count = draw(st.integers(1, 60))
    xs = draw(st.lists(st.integers(-30, 30), min_size=count, max_size=count))
    ys = draw(st.lists(st.integers(-30, 30), min_size=count, max_size=count))
    far = draw(st.lists(st.sampled_from([0, 0, 500, -700]), min_size=count, max_size=count))
    return np.array([np.add(xs, far), ys], dtype=float)


@settings(max_examples=150, deadline=None)
@given(points())
def test_route_is_the_greedy_route(places: np.ndarray) -> None:
    assert nearest_neighbour_route(places) == greedy(places)


@pytest.mark.parametrize("seed", range(5))
def test_route_on_scattered_points(seed: int) -> None:
    places = np.random.default_rng(seed).uniform(-50, 50, (2, 300))
    assert nearest_neighbour_route(places) == greedy(places)


def test_each_place_once_of_ten_thousand() -> None:
    places = np.random.default_rng(1).uniform(0, 500, (2, 10_000))
    assert sorted(nearest_neighbour_route(places)) == list(range(10_000))


def test_row_is_walked_along_from_the_zero() -> None:
    places = np.array([[50.0, 10.0, 40.0, 20.0, 30.0], [5.0] * 5])
    assert nearest_neighbour_route(places) == [1, 3, 4, 2, 0]


def test_no_points_and_one() -> None:
    assert nearest_neighbour_route(np.empty((2, 0))) == []
    assert nearest_neighbour_route(np.array([[3.0], [4.0]])) == [0]
