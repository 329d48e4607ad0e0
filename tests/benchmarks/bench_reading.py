"""How fast programs are read: side by side with pygcode's Machine, and by length.

    python tests/benchmarks/bench_reading.py

Prints the time a line and the ratios, best of five, and the peak memory of a million lines.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
import warnings
from collections.abc import Callable

from millprep.model.shop import Control
from millprep.reading.gcode import read_program

START = ["G21 G90 G17 G54 G94", "S1000 M3", "G0 X0. Y0. Z5.", "G1 Z-1. F300."]
CONTROL = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})
PYGCODE_LINES = 10_000
TIMES = 5


def straight(lines: int) -> bytes:
    """A program of feed moves."""
    pick = random.Random(1)
    x, y, z = ([f"{pick.uniform(-99, 99):.3f}" for _ in range(1000)] for _ in range(3))
    body = (f"G1 X{x[i % 997]} Y{y[i % 991]} Z{z[i % 983]}" for i in range(lines))
    return "\n".join([*START, *body, "M30", ""]).encode()


def arcs(lines: int) -> bytes:
    """A program of arcs by centre, half circles to and fro."""
    body = (
        f"G{2 + i % 2} X{10 - 10 * (i % 2)}.000 Y0.000 I{5 - 10 * (i % 2)}.000 J0.000"
        for i in range(lines)
    )
    return "\n".join([*START, *body, "M30", ""]).encode()


def mixed(lines: int) -> bytes:
    """A contour: three feed moves and an arc, over and over."""
    body = ["G1 X10.000 Y0.000", "X10.000 Y5.000", "G3 X5.000 Y10.000 I-5.000 J0.000", "G1 X0.000"]
    return "\n".join([*START, *body * (lines // 4), "M30", ""]).encode()


def timed(work: Callable[[], object]) -> float:
    """Seconds that it takes once."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def reading(lines: int, program: Callable[[int], bytes] = straight) -> Callable[[], object]:
    """Reads a program of so many lines."""
    data = program(lines)
    return lambda: read_program(data, CONTROL, file="a.nc")


def reading_by_pygcode(lines: int) -> Callable[[], object]:
    """Reads the same program with pygcode's parser and Machine."""
    from pygcode import Line, Machine

    texts = straight(lines).decode().splitlines()

    def work() -> None:
        machine = Machine()
        for text in texts:
            machine.process_block(Line(text).block)

    return work


def peak_mb(lines: int) -> float:
    """Peak memory of a process that reads so many lines, the program's text included."""
    code = (
        "import resource, sys; sys.path.insert(0, 'tests/benchmarks'); import bench_reading as b; "
        f"b.read_program(b.straight({lines}), b.CONTROL, file='a.nc'); "
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)"
    )
    return float(subprocess.check_output([sys.executable, "-c", code], text=True))


def main() -> None:
    works = {  # name -> (lines, work); one after the other, five times round: loads change
        "pygcode Machine, 10,000 lines of G1": (PYGCODE_LINES, reading_by_pygcode(PYGCODE_LINES)),
        "millprep, 100,000 lines of G1": (100_000, reading(100_000)),
        "millprep, 1,000,000 lines of G1": (1_000_000, reading(1_000_000)),
        "millprep, 100,000 lines of arcs": (100_000, reading(100_000, arcs)),
        "millprep, 100,000 lines, a contour": (100_000, reading(100_000, mixed)),
    }
    best = dict.fromkeys(works, float("inf"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # pygcode's regular expressions warn on newer Pythons
        for _ in range(TIMES):
            for name, (lines, work) in works.items():
                best[name] = min(best[name], 1e6 * timed(work) / lines)
    for name, figure in best.items():
        print(f"{name:<42}{figure:8.2f} us a line")
    theirs, short, long, *_ = best.values()
    print(f"{'pygcode / millprep':<42}{theirs / long:8.0f}  (at least 50)")
    print(f"{'1,000,000 lines / 100,000 lines':<42}{10 * long / short:8.1f}  (at most 12)")
    print(f"{'peak memory of 1,000,000 lines':<42}{peak_mb(1_000_000):8.0f} MB (at most 600)")


if __name__ == "__main__":
    main()
