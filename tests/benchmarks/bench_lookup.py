"""How long `millprep lookup M6` takes, as a share of importing typer alone.

Run it by hand: python tests/benchmarks/bench_lookup.py. Best of eleven, CPU time in milliseconds,
with the modules compiled as an installation has them.
"""

import os
import resource
import subprocess
import sys
import tempfile

RUNS = 11
CASES = {
    "bare Python start-up": "pass",
    "import typer": "import typer",
    "lookup M6 as a call": "from millprep.lookup import lookup; lookup('M6')",
    **{
        f"millprep lookup {words}": f"from millprep.cli import main; main(['lookup', '{words}'])"
        for words in ("M6", "clearance 1/4", "6 holes on 50 pcd", "25 H7/g6", "speed brass 8mm")
    },
}
"""The last reads a shop for its speeds, and may take as long as a listing."""


def spent_ms() -> float:
    """CPU time of what was run so far [ms]."""
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return 1000 * (spent.ru_utime + spent.ru_stime)


def best_ms(code: str, compiled: str) -> float:
    """The shortest of some runs in a fresh interpreter [ms]."""
    given = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    times = []
    for _ in range(RUNS):
        before = spent_ms()
        subprocess.run(
            [sys.executable, "-c", code],
            stdout=subprocess.DEVNULL,
            check=True,
            env=given | {"PYTHONPYCACHEPREFIX": compiled},
        )
        times.append(spent_ms() - before)
    return min(times)


def main() -> None:
    with tempfile.TemporaryDirectory() as compiled:
        figures = {name: best_ms(code, compiled) for name, code in CASES.items()}
    for name, ms in figures.items():
        print(f"{name:<36}{ms:8.0f} ms{ms / figures['import typer']:8.2f} x import typer")


if __name__ == "__main__":
    main()
