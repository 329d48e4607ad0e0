"""How long the way round the holes is beside an outside solver's, and how long it takes to find.

Random holes on a plate of 200 mm. The outside solver (fast-tsp, of the package registry) is given
two seconds; the ratio of the lengths is what counts. Above 500 holes only the time is shown, with
the way's length beside that of the nearest neighbour. The best of three runs each, by turns.

Run: python tests/benchmarks/bench_route.py
"""

import time
from collections.abc import Sequence

import fast_tsp
import numpy as np

from millprep.planning.route import nearest_neighbour_route, short_route

COUNTS = (10, 20, 50, 100, 200, 350, 500)
LARGE = (1_000, 2_000, 5_000, 10_000)
SEEDS = 3
TARGET = 1.03


def route_length_mm(places: np.ndarray, route: Sequence[int]) -> float:
    """Of the way through points (2, N) in that order, first to last."""
    steps = np.diff(places[:, list(route)], axis=1)
    return float(np.hypot(steps[0], steps[1]).sum())


def outside_length_mm(places: np.ndarray) -> float:
    """Of the way the outside solver finds; a place that costs nothing to reach opens its ring."""
    count = places.shape[1]
    away = np.zeros((count + 1, count + 1), dtype=int)
    apart = np.hypot(places[0][:, None] - places[0], places[1][:, None] - places[1])
    away[:count, :count] = (apart * 100).round()
    tour = fast_tsp.find_tour(away, duration_seconds=2.0)
    at = tour.index(count)
    return route_length_mm(places, [*tour[at + 1 :], *tour[:at]])


def best_of_three(places: np.ndarray) -> tuple[list[int], float]:
    taken = []
    route: list[int] = []
    for _ in range(3):
        start = time.process_time()
        route = short_route(places)
        taken.append(time.process_time() - start)
    return route, min(taken)


def main() -> None:
    worst = 0.0
    for count in COUNTS:
        ratios, seconds = [], 0.0
        for seed in range(SEEDS):
            places = np.random.default_rng(seed).uniform(0, 200, (2, count))
            route, taken = best_of_three(places)
            ratios.append(route_length_mm(places, route) / outside_length_mm(places))
            seconds = max(seconds, taken)
        worst = max(worst, *ratios)
        shown = ", ".join(f"{ratio:.4f}" for ratio in ratios)
        print(f"{count:6} holes: ratio to the outside solver {shown}; {seconds:.2f} s of CPU")
    for count in LARGE:
        places = np.random.default_rng(1).uniform(0, 500, (2, count))
        route, taken = best_of_three(places)
        greedy = route_length_mm(places, nearest_neighbour_route(places))
        share = route_length_mm(places, route) / greedy
        print(f"{count:6} holes: {share:.3f} of the nearest neighbour's way; {taken:.2f} s of CPU")
    print(f"worst ratio up to {COUNTS[-1]} holes {worst:.4f}; target {TARGET} or less")


if __name__ == "__main__":
    main()
