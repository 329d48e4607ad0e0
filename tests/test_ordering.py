"""The way round the holes: nearest neighbour, the short way, and rows."""

import itertools
from collections import Counter
from collections.abc import Sequence

import fast_tsp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import RICH, RICH_STOCK, plan_of, setups_of

from millprep.planning.numbering import SAME_ROW_MM, in_rows
from millprep.planning.ordering import is_crossed
from millprep.planning.route import nearest_neighbour_route, short_route


def route_length_mm(places: np.ndarray, route: Sequence[int]) -> float:
    """Of the way through places (2, N) in that order, first to last."""
    steps = np.diff(places[:, list(route)], axis=1)
    return float(np.hypot(steps[0], steps[1]).sum())


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


@settings(max_examples=150)
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


def closed_by_nothing(points: np.ndarray) -> np.ndarray:
    """Distances in hundredths of a millimetre, with a place that costs nothing to reach."""
    count = points.shape[1]
    away = np.zeros((count + 1, count + 1), dtype=int)
    apart = np.hypot(points[0][:, None] - points[0], points[1][:, None] - points[1])
    away[:count, :count] = (apart * 100).round()
    return away


def outside_length(points: np.ndarray, seconds: float) -> float:
    """Length of the way that an outside solver finds (fast-tsp, from the package registry)."""
    count = points.shape[1]
    tour = fast_tsp.find_tour(closed_by_nothing(points), duration_seconds=seconds)
    at = tour.index(count)
    return route_length_mm(points, [*tour[at + 1 :], *tour[:at]])


@pytest.mark.parametrize("count", [10, 25, 60, 120, 250])
def test_short_route_is_within_3_percent_of_an_outside_solver(count: int) -> None:
    for seed in range(3):
        places = np.random.default_rng(seed).uniform(0, 200, (2, count))
        own = route_length_mm(places, short_route(places))
        assert own <= 1.03 * outside_length(places, 0.3), seed


@settings(max_examples=60)
@given(points())
def test_short_route_goes_to_each_place_once_and_is_no_longer_than_the_greedy(
    places: np.ndarray,
) -> None:
    route = short_route(places)
    assert sorted(route) == list(range(places.shape[1]))
    greedy_length = route_length_mm(places, nearest_neighbour_route(places))
    assert route_length_mm(places, route) <= greedy_length + 1e-6
    assert short_route(places) == route  # no chance from run to run


@pytest.mark.parametrize("seed", range(8))
def test_short_route_of_a_few_places_is_the_shortest_of_all_orders(seed: int) -> None:
    places = np.random.default_rng(seed).uniform(0, 50, (2, 7))
    shortest = min(route_length_mm(places, order) for order in itertools.permutations(range(7)))
    assert route_length_mm(places, short_route(places)) == pytest.approx(shortest)


def test_short_route_of_a_grid_goes_to_and_fro() -> None:
    """Ten by ten holes 5 mm apart: 99 steps of 5 mm, none across a diagonal."""
    x, y = np.meshgrid(np.arange(10) * 5.0, np.arange(10) * 5.0)
    places = np.array([x.ravel(), y.ravel()])
    assert route_length_mm(places, short_route(places)) == pytest.approx(99 * 5.0, rel=0.03)


def test_short_route_begins_at_the_end_nearer_to_zero() -> None:
    places = np.array([[50.0, 40.0, 30.0, 20.0], [0.0, 0.0, 0.0, 0.0]])
    assert short_route(places) == [3, 2, 1, 0]


@pytest.mark.parametrize(
    ("start", "end", "meets"),
    [
        ((0, 0), (10, 10), True),  # through the middle
        ((0, 0), (10, 0), False),  # past the lower edge
        ((5, 0), (5, 10), True),  # straight along Y
        ((0, 5), (3.9, 5), False),  # ends before it
        ((0, 9), (9, 0), True),
        ((0, 6.5), (6.5, 0), False),  # past the corner
    ],
)
def test_ways_that_meet_a_box(
    start: tuple[float, float], end: tuple[float, float], meets: bool
) -> None:
    low, high = np.array([4.0, 4.0]), np.array([6.0, 6.0])
    assert is_crossed(np.array(start), np.array(end), low, high) is meets


def test_ways_keep_clear_of_what_is_higher_than_the_tool_travels() -> None:
    """Four holes round a post: the short way across it is not taken."""
    holes = (
        '[[hole]]\nname = "a"\ndrill = 3\nat = [[10, 20], [50, 20], '
        "[30, 35], [30, 38]]\ndepth = 5\n"
        '[[setup]]\nface = "top"\nsafe_height = 12\n'
        '[[setup.obstacle]]\nname = "post"\nfrom = [25, 5, 0]\nto = [35, 30, 40]\n'
    )
    plan = plan_of(holes, "size = [60, 40, 20]")
    drilled = [o for o in plan.setups[0].operations if o.name == "drill"]
    places = np.array([[o.x_mm, o.y_mm] for o in drilled])
    low, high = np.array([25.0, 5.0]), np.array([35.0, 30.0])
    for here, there in itertools.pairwise(places):
        assert not is_crossed(here, there, low, high)


def test_rows_along_the_axis_with_fewer_settings() -> None:
    """Five holes in each of two rows along X: Y is locked and set twice, X goes back once."""
    x, y = np.meshgrid([10.0, 20.0, 30.0, 40.0, 50.0], [8.0, 32.0])
    rows = in_rows(np.array([x.ravel(), y.ravel()]))
    assert (rows.locked, rows.settings, rows.returns) == (1, 2, (5,))
    assert rows.order == tuple(range(10))
    turned = in_rows(np.array([y.ravel(), x.ravel()]))
    assert (turned.locked, turned.settings, turned.returns) == (0, 2, (5,))


def test_rows_are_worked_away_from_zero() -> None:
    """With zero at the right and the back the part lies at negative X and Y."""
    places = np.array([[-50.0, -10.0, -30.0], [-5.0, -5.0, -5.0]])
    assert in_rows(places, (-1, -1)).order == (1, 2, 0)


@settings(max_examples=60)
@given(points())
def test_rows_never_work_an_axis_backwards_unsaid(places: np.ndarray) -> None:
    rows = in_rows(places)
    assert sorted(rows.order) == list(range(places.shape[1]))
    worked = places[1 - rows.locked, list(rows.order)]
    locked = places[rows.locked, list(rows.order)]
    back = {place + 1 for place in np.flatnonzero(np.diff(worked) < -SAME_ROW_MM).tolist()}
    assert back == set(rows.returns)
    assert np.all(np.diff(locked) >= -SAME_ROW_MM)


def test_order_by_row_does_every_operation_once_and_says_its_rows() -> None:
    by_row, by_tool = (plan_of(RICH, RICH_STOCK, order=order) for order in ("row", "tool"))
    for rows, tools in zip(by_row.setups, by_tool.setups, strict=True):
        assert sorted((o.hole.name, o.name) for o in rows.operations) == sorted(
            (o.hole.name, o.name) for o in tools.operations
        )
    setup = setups_of(by_row)[0]
    said = [line for tool in setup["tools"] for line in tool["said"].get("ROWS", ())]
    runs = Counter(step["tool_number"] for step in setup["steps"])
    assert len(said) == sum(steps > 1 for steps in runs.values())
