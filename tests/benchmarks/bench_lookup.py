"""How long `millprep lookup M6` takes, against bare Python and against importing typer.

Run it by hand: python tests/benchmarks/bench_lookup.py. Best of five, wall time in milliseconds.
"""

import subprocess
import sys
import time

RUNS = 5
CASES = {
    "bare Python start-up": "pass",
    "import typer": "import typer",
    "lookup M6 as a call": "from millprep.lookup import lookup; lookup('M6')",
    "lookup M6 as a page": "from millprep.cli.lookup import lookup; lookup(['M6'])",
    "millprep lookup M6": "from millprep.cli import main; main(['lookup', 'M6'])",
}


def best_ms(code: str) -> float:
    """The shortest of some runs in a fresh interpreter [ms]."""
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=True)
        times.append(time.perf_counter() - start)
    return 1000 * min(times)


def main() -> None:
    figures = {name: best_ms(code) for name, code in CASES.items()}
    bare = figures["bare Python start-up"]
    for name, ms in figures.items():
        print(f"{name:<24}{ms:8.0f} ms{ms / bare:8.1f} x bare Python")


if __name__ == "__main__":
    main()
