"""What the findings of a part with faults take, and what their cures take on top.

The findings alone, then the findings with the nearest change that cures each, by turns in one run;
best of five. Parts of patterns made at random, one after the other until there are enough faults.

Run: python tests/benchmarks/bench_cures.py
"""

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))  # parts made at random are those of the tests
from jobs import part_of, shop_of
from test_cures import STOCK, any_hole, text_of

from millprep.checks import run_checks, told_once, with_cures
from millprep.planning import Plan, make_plan

RUNS = 5
TABLES = (2, 4, 8, 16)


def crowded(tables: int) -> Plan:
    """A block with so many [[hole]] tables, most of them in each other's way."""
    rng = random.Random(tables)
    return make_plan(
        part_of(text_of([any_hole(rng, number) for number in range(tables)]), STOCK), shop_of()
    )


def best_s(*works: Callable[[], object]) -> list[float]:
    """Seconds of CPU of each, best of a few runs by turns."""
    taken: list[list[float]] = [[] for _ in works]
    for _ in range(RUNS):
        for work, seconds in zip(works, taken, strict=True):
            start = time.process_time()
            work()
            seconds.append(time.process_time() - start)
    return [min(seconds) for seconds in taken]


def main() -> None:
    print("tables holes findings   alone [ms]   with cures [ms]   ratio")
    for tables in TABLES:
        plan = crowded(tables)
        found = told_once(plan.part, with_cures(plan, run_checks(plan)))
        alone, cured = best_s(
            lambda plan=plan: told_once(plan.part, run_checks(plan)),  # type: ignore[misc]  # bound
            lambda plan=plan: told_once(plan.part, with_cures(plan, run_checks(plan))),  # type: ignore[misc]  # bound
        )
        print(
            f"{tables:6} {len(plan.part.holes):5} {len(found):8} {alone * 1000:12.1f} "
            f"{cured * 1000:17.1f} {cured / alone:7.1f}"
        )


if __name__ == "__main__":
    main()
