"""Seconds to judge an assembly, and of one twice as large: its members and joints grow alike.

A long base with plates in a row on it, each held by screws and two dowels; a tenth of the plates
carry a drum on a shaft. Judged, or put in order as a job, and written as JSON, read back and
witnessed; best of three.

Run: python tests/benchmarks/bench_assembly.py
"""

import sys
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

from millprep.proven.assembly import judged, report, route
from millprep.proven.handed import Handed

RUNS = 3
SIZES = (30, 60, 120)  # members; ten joints each
PLATE = """part = "Plate {number}"
units = "mm"
material = "mild steel"
[stock]
size = [60, 40, 8]
[datum]
x = "left"
y = "front"
[[hole]]
name = "screw"
clear = "M4"
grid = {{ start = [8, 8], step = [11, 24], columns = 5, rows = 2 }}
depth = "through"
"""
BASE = """part = "Base"
units = "mm"
material = "mild steel"
[stock]
size = [{long}, 40, 20]
[datum]
x = "left"
y = "front"
"""
TAPPED = """[[hole]]
name = "plate {number}"
tap = "M4"
grid = {{ start = [{x}, 8], step = [11, 24], columns = 5, rows = 2 }}
depth = 12
"""
JOINT = """[[joint]]
name = "plate {number}, {hole}"
screw = "M4 x 16 socket head"
through = "plate {number}: screw {hole}"
into = "base: plate {number} {hole}"
"""


def written(folder: Path, members: int) -> Path:
    """An assembly of so many members and ten joints each."""
    plates = range(1, members)
    base = BASE.format(long=62 * members)
    base += "".join(TAPPED.format(number=n, x=62 * (n - 1) + 8) for n in plates)
    (folder / "base.toml").write_text(base)
    text = 'assembly = "Row"\n[members]\nbase = "base.toml"\n'
    for n in plates:
        (folder / f"plate-{n}.toml").write_text(PLATE.format(number=n))
        text += f'"plate {n}" = "plate-{n}.toml"\n'
    text += "".join(JOINT.format(number=n, hole=hole) for n in plates for hole in range(1, 11))
    (folder / "row.toml").write_text(text)
    return folder / "row.toml"


def judge(path: Path) -> Handed:
    return report(judged(path), "json")


def order(path: Path) -> Handed:
    return route(path, form="json")


WORK = {"assembly": judge, "route": order}


def seconds(work: Callable[[Path], Handed], path: Path) -> float:
    start = time.perf_counter()
    handed = work(path)
    if handed.data is None:
        sys.exit("; ".join(one.message for one in handed.findings[:3]))
    return time.perf_counter() - start


def main() -> None:
    best: dict[tuple[str, int], float] = {}
    with tempfile.TemporaryDirectory() as folder:
        for members in SIZES:
            path = Path(folder) / str(members)
            path.mkdir()
            file = written(path, members)
            for name, work in WORK.items():
                best[name, members] = min(seconds(work, file) for _ in range(RUNS))
                took = f"{name} {best[name, members]:.2f} s"
                print(f"{members:4} members, {10 * (members - 1):5} joints: {took}", flush=True)
    for name in WORK:
        for one, other in pairwise(SIZES):
            ratio = best[name, other] / best[name, one]
            print(f"{name}: twice {one}: {ratio:.2f} times as long")


if __name__ == "__main__":
    main()
