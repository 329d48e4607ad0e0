"""A million lines of G1 dry-run from start to report, beside pygcode's Machine, and their memory.

    python tests/benchmarks/bench_start_to_report.py

Each is a process of its own, by turns, and counted by CPU time, which hardly depends on what else
the machine is doing. pygcode reads 10,000 of the lines; its start and its parsing of nothing are
not counted against it.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import bench_dryrun
import bench_reading

ROOT = Path(__file__).parent.parent.parent
LINES = 1_000_000
TIMES = 3
COMMAND = "from millprep.cli import main; main()"


def run(*words: str) -> tuple[float, float]:
    """(CPU time [s], peak memory [MB]) of a dry run."""
    process = subprocess.Popen(
        [sys.executable, "-c", COMMAND, "dryrun", *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=ROOT,
    )
    _, status, used = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        sys.exit(f"status {status}: {words}")
    return used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def cpu_of(work: Callable[[], object]) -> float:
    """CPU time that it takes once [s]."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def main() -> None:
    warnings.simplefilter("ignore")  # pygcode's regular expressions warn on newer Pythons
    theirs = bench_reading.reading_by_pygcode(bench_reading.PYGCODE_LINES)
    with tempfile.TemporaryDirectory() as folder:
        feeds, older, milled = (str(Path(folder, f"{name}.nc")) for name in "abc")
        text = bench_reading.straight(LINES)
        Path(feeds).write_bytes(text)
        Path(older).write_bytes(text.replace(b"X12.", b"X13."))
        head = bench_dryrun.HEAD + "(TOOL 5 END MILL 8.000 MM)\n"
        Path(milled).write_text(head + bench_dryrun.milling(LINES) + "G0 Z25. M5\nM30\n")
        ours, pygcode = [], []
        for _ in range(TIMES):
            ours.append(run(feeds))
            pygcode.append(cpu_of(theirs) / bench_reading.PYGCODE_LINES)
        seconds, megabytes = min(ours)
        print(f"millprep dryrun, {LINES:,} lines of G1   {1e6 * seconds / LINES:8.2f} us a line")
        print(f"pygcode Machine, 10,000 of them        {1e6 * min(pygcode):8.2f} us a line")
        print(f"pygcode / millprep                     {min(pygcode) * LINES / seconds:8.1f}  (50)")
        print(f"peak memory                            {megabytes:8.0f} MB (at most 450)")
        for name, words, most in (
            ("two such programs compared", (feeds, "--against", older), 800),
            ("milling moves on a block", (milled, "--stock", "510,510,20"), 800),
        ):
            seconds, megabytes = run(*words)
            print(f"{name:<32}{seconds:8.2f} s{megabytes:8.0f} MB (at most {most})")


if __name__ == "__main__":
    main()
