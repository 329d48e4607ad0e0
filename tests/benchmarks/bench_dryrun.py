"""The dry run alone: a million milling moves, and 10,000 holes by four tools, on a block.

Reading is measured by itself (`bench_reading.py`). Peak memory is of a process of its own.
Run: python tests/benchmarks/bench_dryrun.py
"""

import resource
import subprocess
import sys
import time

import numpy as np

from millprep.model.scene import Box, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Drill, EndMill, SpotDrill
from millprep.reading.gcode import read_program
from millprep.reading.simulate import simulate

CASES = {"milling": (100_000, 1_000_000), "holes": (1_000, 10_000)}
TARGETS = {"milling": (60.0, 1000.0), "holes": (3.0, 1000.0)}  # seconds, MB
HEAD = "G21 G17 G90 G94 G40 G49 G80\nG54\n"
TOOLS = (
    SpotDrill("4 mm", 4.0, point_angle_deg=90.0, number=1),
    Drill("2 mm", 2.0, point_angle_deg=118.0, number=2),
    Drill("2.5 mm", 2.5, point_angle_deg=118.0, number=3),
    EndMill("3 mm", 3.0, number=4),
    EndMill("8 mm", 8.0, reach_mm=30.0, holder_diameter_mm=30.0, number=5),
)
SCENE = Scene(
    Box((0.0, 0.0, -20.0), (510.0, 510.0, 0.0)),
    (Box((-100.0, 510.0, -60.0), (100.0, 522.0, -12.0), "the fixed jaw"),),
)
MILL = Mill(
    ((0.0, 600.0), (0.0, 600.0), (-280.0, 0.0)),
    speed_range_rpm=(60.0, 3000.0),
    acceleration_mm_per_s2=200.0,
)


def milling(count: int) -> str:
    """A walk by chance over the block, always in it."""
    chance = np.random.default_rng(1)
    x = 250 + 240 * np.sin(np.cumsum(chance.normal(0, 0.002, count)))
    y = 250 + 240 * np.sin(np.cumsum(chance.normal(0, 0.002, count)))
    z = -chance.uniform(0, 3, count)
    rows = "\n".join(f"G1 X{a:.3f} Y{b:.3f} Z{c:.3f}" for a, b, c in zip(x, y, z, strict=True))
    return f"T5 M6\nG43 H5\nS1500 M3\nG0 Z5.\nF200.\n{rows}\n"


def holes(count: int) -> str:
    """Spotted, drilled with pecks, opened and counterbored, 5 mm apart."""
    lines = []
    for tool, z, words in ((1, -2, ""), (2, -12, "Q1.6 "), (3, -12, "Q1.6 "), (4, -3, "")):
        cycle = "G83" if words else "G81"
        lines += [f"T{tool} M6", f"G43 H{tool}", "S900 M3", "G0 Z25."]
        lines.append(f"G98 {cycle} X5. Y5. Z{z}. R2. {words}F60.")
        lines += [f"X{5 + 5 * (n % 100)}. Y{5 + 5 * (n // 100)}." for n in range(1, count)]
        lines += ["G80", "G0 Z25. M5"]
    return "\n".join(lines) + "\n"


def measure(case: str, count: int) -> None:
    text = HEAD + {"milling": milling, "holes": holes}[case](count) + "G0 Z25. M5\nM30\n"
    run = read_program(text.encode(), Control(), file="bench.nc", tools=TOOLS)
    start = time.perf_counter()
    simulate(run, SCENE, MILL, Control(), file="bench.nc")
    seconds = time.perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(len(run.moves), seconds, peak)


def main() -> None:
    if len(sys.argv) > 1:
        measure(sys.argv[1], int(sys.argv[2]))
        return
    for case, counts in CASES.items():
        for count in counts:
            done = subprocess.run(
                [sys.executable, __file__, case, str(count)],
                capture_output=True,
                text=True,
                check=True,
            )
            moves, seconds, peak = done.stdout.split()
            print(
                f"{case:8} {count:9,}: {int(moves):9,} moves in {float(seconds):6.2f} s, "
                f"{float(peak):5.0f} MB"
            )
        most_s, most_mb = TARGETS[case]
        print(f"{'':8} target: {most_s:g} s, {most_mb:g} MB")


if __name__ == "__main__":
    main()
