"""How long `millprep lookup M6` takes, as a share of importing typer alone.

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
    **{
        f"millprep lookup {words}": f"from millprep.cli import main; main(['lookup', '{words}'])"
        for words in ("M6", "clearance 1/4", "6 holes on 50 pcd", "25 H7/g6", "speed brass 8mm")
    },
}
"""The last reads a shop for its speeds, and may take as long as a listing."""


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
    for name, ms in figures.items():
        print(f"{name:<36}{ms:8.0f} ms{ms / figures['import typer']:8.2f} x import typer")


if __name__ == "__main__":
    main()
