"""The chance that screws enter: all trials at once beside a loop that solves one after the other.

The loop is a general solver (scipy, SLSQP) on the same trials, as one would write it first. Both
answers are compared; the best of three runs each, by turns; the loop on a share of the trials.

Run: python tests/benchmarks/bench_chance.py
"""

import math
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize

from millprep.sums.least_play import play_needed

COUNTS = (2, 3, 4, 6, 8, 12, 24)
TRIALS = 10_000
LOOPED = 50
RUNS = 3


def one_by_one(places: np.ndarray, misses: np.ndarray, plays: np.ndarray) -> np.ndarray:
    """The least play of each trial by sequential quadratic programming."""
    x, y = places - places.mean(axis=1, keepdims=True)
    lever = np.array([-y, x]) / np.hypot(x, y).max()
    found = []
    for missed in np.moveaxis(misses, 1, 0):

        def off(at: np.ndarray, missed: np.ndarray = missed) -> np.ndarray:
            return (missed + at[:2, None] + at[2] * lever) / plays

        def room(at: np.ndarray, off: Callable = off) -> np.ndarray:
            return at[3] - (off(at) ** 2).sum(axis=0)

        def slope(at: np.ndarray, off: Callable = off) -> np.ndarray:
            turn = (off(at) * lever / plays).sum(axis=0)
            return np.stack([*(-2 * off(at) / plays), -2 * turn, np.ones(len(plays))], axis=1)

        start = np.array([0, 0, 0, 1.01 * (off(np.zeros(3)) ** 2).sum(axis=0).max()])
        best = minimize(
            lambda at: at[3],
            start,
            jac=lambda at: np.array([0, 0, 0, 1.0]),
            method="SLSQP",
            constraints={"type": "ineq", "fun": room, "jac": slope},
            options={"ftol": 1e-12, "maxiter": 300},
        )
        found.append(math.sqrt(best.x[3]))
    return np.array(found)


def timed(work: Callable[..., np.ndarray], *args: np.ndarray) -> tuple[np.ndarray, float]:
    start = time.process_time()
    found = work(*args)
    return found, (time.process_time() - start) / len(found)


def main() -> None:
    for count in COUNTS:
        dice = np.random.default_rng(count)
        places, plays = dice.uniform(0, 60, (2, count)), dice.uniform(0.1, 0.3, count)
        misses = dice.normal(0, 0.1, (2, TRIALS, count))
        together, alone = [], []
        for _ in range(RUNS):
            ours, each = timed(play_needed, places, misses, plays)
            together.append(each)
            theirs, each = timed(one_by_one, places, misses[:, :LOOPED], plays)
            alone.append(each)
        differ = np.abs(ours[:LOOPED] / theirs - 1).max()
        print(
            f"{count:3} screws: {min(together) * 1e6:7.1f} us a trial together, "
            f"{min(alone) * 1e6:8.0f} us one by one: {min(alone) / min(together):6.0f} times; "
            f"{TRIALS} trials {min(together) * TRIALS:.2f} s; answers differ by {differ:.1e}"
        )


if __name__ == "__main__":
    main()
