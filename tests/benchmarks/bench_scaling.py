"""A plate of 1,000 and of 10,000 holes: read, checked, planned, written, read back, dry-run.

Times are best of five, peak memory is of a process of its own.
Run: python tests/benchmarks/bench_scaling.py
"""

import io
import os
import resource
import subprocess
import sys
import tempfile
import time
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

RUNS = int(os.environ.get("RUNS", "5"))
TARGET_RATIO = 15.0
TARGET_MB = 500.0
COUNTS = (1_000, 10_000)
COLUMNS = 100


def plate(count: int) -> str:
    """Drilled, tapped and reamed holes by turns, 5 mm apart, each named by itself."""
    rows = count // COLUMNS
    lines = [
        'part = "Plate"',
        'units = "mm"',
        'material = "aluminium"',
        "[stock]",
        f"size = [{COLUMNS * 5 + 10}, {rows * 5 + 10}, 10]",
        '[datum]\nx = "left"\ny = "front"',
    ]
    kinds = ("drill = 2", 'tap = "M2"', 'ream = "2 mm"')
    for number in range(count):
        row, column = divmod(number, COLUMNS)
        lines.append(
            f'[[hole]]\nname = "h{number}"\n{kinds[number % 3]}\ndepth = "through"\n'
            f"at = [{7.5 + column * 5}, {7.5 + row * 5}]"
        )
    return "\n".join(lines)


def work(folder: Path, count: int) -> dict[str, float]:
    """Seconds of each command on a plate."""
    from millprep.cli import main

    part = folder / f"plate{count}.toml"
    part.write_text(plate(count))
    shop = folder / "shop.toml"  # a table that takes the plate
    shop.write_text("[mill]\ntravel = { x = [0, 2000], y = [0, 2000], z = [-280, 0] }\n")
    seconds = {}
    for command in (
        ["check", str(part)],
        ["listing", str(part)],
        ["program", str(part), "-o", str(folder / "plate.nc"), "--force"],
        ["dryrun", str(folder / "plate.nc"), "--part", str(part)],
    ):
        out, err = io.StringIO(), io.StringIO()
        start = time.perf_counter()
        try:
            with redirect_stdout(out), redirect_stderr(err):
                main([*command, "--shop", str(shop)])
        except SystemExit as end:
            if end.code:
                sys.exit(f"{command[0]}: status {end.code}\n{err.getvalue()[:2000]}")
        seconds[command[0]] = time.perf_counter() - start
    return seconds


def apart(count: int) -> tuple[dict[str, float], float]:
    """The same in a process of its own: seconds of each command, and peak memory [MB]."""
    done = subprocess.run(
        [sys.executable, __file__, str(count)], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        sys.exit(done.stderr)
    *times, peak = done.stdout.split()
    pairs = (pair.split("=") for pair in times)
    return {name: float(value) for name, value in pairs}, float(peak)


def main() -> None:
    if len(sys.argv) > 1:
        with tempfile.TemporaryDirectory() as name:
            seconds = work(Path(name), int(sys.argv[1]))
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        print(*(f"{name}={value}" for name, value in seconds.items()), peak)
        return
    best: dict[int, dict[str, float]] = {}
    peaks = dict.fromkeys(COUNTS, 0.0)
    for _ in range(RUNS):
        for count in COUNTS:
            seconds, peak = apart(count)
            seconds["all"] = sum(seconds.values())
            old = best.setdefault(count, seconds)
            best[count] = {name: min(old[name], seconds[name]) for name in seconds}
            peaks[count] = max(peaks[count], peak)
    few, many = COUNTS
    print(f"{'':10}{few:>10,}{many:>10,}   ratio")
    for name in best[few]:
        ratio = best[many][name] / best[few][name]
        print(f"{name:10}{best[few][name]:>8.2f} s{best[many][name]:>8.2f} s{ratio:>8.1f}")
    print(f"{'memory':10}{peaks[few]:>7.0f} MB{peaks[many]:>7.0f} MB")
    print(f"targets: ratio {TARGET_RATIO:.0f} or less, under {TARGET_MB:.0f} MB")


if __name__ == "__main__":
    main()
