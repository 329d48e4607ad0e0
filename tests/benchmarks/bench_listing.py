"""Wall time of a listing beside the bare imports it cannot do without; best of eleven, by turns.

Both find their bytecode compiled, as they do where the package is installed. CPU time stands
beside, because it hardly depends on what else the machine is doing.

Run: python tests/benchmarks/bench_listing.py [PART]
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent
RUNS = 11
TARGET = 1.7
IMPORTS = "import numpy, typer; from pydantic import BaseModel"
LISTING = "from millprep.cli import main; main()"


def seconds(bytecode: str, *arguments: str) -> tuple[float, float]:
    """(wall, CPU) of a process."""
    environment = {**os.environ, "PYTHONPYCACHEPREFIX": bytecode}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-c", *arguments],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    _, status, used = os.wait4(process.pid, 0)
    if status != 0:
        sys.exit(f"status {os.waitstatus_to_exitcode(status)}: {arguments}")
    return time.perf_counter() - start, used.ru_utime + used.ru_stime


def main() -> None:
    part = sys.argv[1] if len(sys.argv) > 1 else str(sorted((ROOT / "parts").glob("*.toml"))[0])
    commands = {"bare imports": (IMPORTS,), "listing": (LISTING, "listing", part)}
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in commands}
    with tempfile.TemporaryDirectory() as bytecode:
        for run in range(RUNS + 1):  # by turns, so that a busy moment falls on both
            for name, arguments in commands.items():
                both = seconds(bytecode, *arguments)
                if run > 0:  # the first one compiles
                    taken[name].append(both)
    best = {
        name: [min(column) for column in zip(*runs, strict=True)] for name, runs in taken.items()
    }
    for name, (wall, cpu) in best.items():
        runs = ", ".join(f"{each[0]:.3f}" for each in taken[name])
        print(f"{name:14}{wall:.3f} s, CPU {cpu:.3f} s   (all: {runs})")
    wall, cpu = (best["listing"][n] / best["bare imports"][n] for n in (0, 1))
    print(f"ratio {wall:.2f}, of CPU {cpu:.2f}; target {TARGET:.1f} or less; {part}")


if __name__ == "__main__":
    main()
