"""Plans of 12,500 to 100,000 holes made into part files: the time for each hole stays the same.

A table of 50,000 lines is the largest that makes a part; a drawing of 100,000 circles holds two
round each centre. Best of three. Run: python tests/benchmarks/bench_plans.py
"""

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import ezdxf

from millprep.proven.plans import Wishes, part_file

RUNS = int(os.environ.get("RUNS", "3"))
TARGET_RATIO = 1.6  # of the time for a hole, the largest plan against the smallest
COUNTS = (12_500, 25_000, 50_000)
COLUMNS = 250


def table(path: Path, count: int) -> None:
    """Three sizes by turns, in no even steps."""
    lines = ["x mm;y mm;diameter;depth"]
    for number in range(count):
        row, column = divmod(number, COLUMNS)
        wobble = 0.001 * (number * 7 % 11)
        lines.append(f"{column * 6 + wobble:.3f};{row * 6};{2 + number % 3};through")
    path.write_text("\n".join(lines))


def drawing(path: Path, count: int) -> None:
    """Tapped holes: two circles round each centre."""
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    for number in range(count):
        row, column = divmod(number, COLUMNS)
        for diameter in (2.5, 3):
            space.add_circle((column * 6, row * 6), diameter / 2)
    document.saveas(path)


def seconds(path: Path) -> float:
    """The best time."""
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        part_file(path, "plate", Wishes())
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    kinds: tuple[tuple[str, Callable[[Path, int], None]], ...] = (
        ("plan.csv", table),
        ("plan.dxf", drawing),
    )
    for name, write in kinds:
        each = []
        for count in COUNTS:
            with tempfile.TemporaryDirectory() as folder:
                path = Path(folder) / name
                write(path, count)
                took = seconds(path)
            each.append(took / count)
            print(f"{name:9} {count:7,} holes {took:7.2f} s {1e6 * took / count:7.0f} us a hole")
        ratio = each[-1] / each[0]
        print(f"{name:9} the largest takes {ratio:.2f} times as long for a hole", end="")
        print(f" (at most {TARGET_RATIO})")


if __name__ == "__main__":
    main()
