"""From a changed text to its findings, as the desk has them; then their cures, one by one.

In a process that is warm, each time with another figure changed; best of five, in CPU time. A sound
plate, and one with a hole in twenty-five too near to its neighbour. Of the cures: when the first
comes, when the last, and the longest that a search went on before it asked whether anybody still
waits for it.

Run: python tests/benchmarks/desk.py
"""

from __future__ import annotations

import time
from itertools import chain, pairwise
from pathlib import Path

from millprep.proven.curing import cures_of
from millprep.proven.editing import Judged, read_text

RUNS = 5
PATH = Path("plate.toml")  # it is never written
COUNTS = {50: 10, 1_000: 40}
"""Holes, and how many of them in a row."""
GOALS_MS = {50: 200, 1_000: 1_000}
CURED_WITHIN_MS = 3_000
_FIRST_MM, _NEXT_MM = 7.5, 8.0


def plate(count: int, faulty: bool, run: int) -> str:
    """Drilled, tapped and reamed holes by turns, a table each; run : changes one figure."""
    columns = COUNTS[count]
    size = (columns * 8 + 10, count // columns * 8 + 10)
    lines = [
        'part = "Plate"\nunits = "mm"\nmaterial = "aluminium"',
        f"[stock]\nsize = [{size[0]}, {size[1]}, 10]",
        '[datum]\nx = "left"\ny = "front"',
    ]
    kinds = ("drill = 2", 'tap = "M2"', 'ream = "2 mm"')
    for number in range(count):
        row, column = divmod(number, columns)
        x, y = _FIRST_MM + column * _NEXT_MM, _FIRST_MM + row * _NEXT_MM
        if faulty and number % 25 == 11:
            x += 5.4 + number * 1e-4  # each of its own, and told by itself
        if faulty and number == 4:
            lines[-1] += "\npeck = 0.05"  # a remedy of the making: planned and checked anew
        lines.append(
            f'[[hole]]\nname = "h{number}"\n{kinds[number % 3]}\ndepth = "through"\n'
            f"at = [{x + (0.01 * run if number == 3 else 0):.4f}, {y}]"
        )
    return "\n".join(lines)


def found(count: int, faulty: bool, run: int) -> tuple[Judged, float]:
    """What is found, and how long it took [ms]."""
    text = plate(count, faulty, run)
    start = time.process_time()
    judged = read_text(text, PATH)
    return judged, 1000 * (time.process_time() - start)


def cured(judged: Judged) -> tuple[list[float], float]:
    """When each cure came, and the longest time between two questions whether to go on [ms]."""
    assert judged.prepared is not None
    start = time.process_time()
    asked = [start]

    def is_dropped() -> bool:
        asked.append(time.process_time())
        return False

    came = [time.process_time() for one in cures_of(judged.prepared, is_dropped) if one.cure]
    asked = sorted(chain(asked, came, [time.process_time()]))
    longest = max(after - before for before, after in pairwise(asked))
    return [1000 * (one - start) for one in came], 1000 * longest


def main() -> None:
    print(" holes              findings   goal      cures   first    last   goal   unasked   [ms]")
    for faulty in (False, True):
        for count in COUNTS:
            best, (judged, _) = 1e9, found(count, faulty, 0)
            for run in range(1, RUNS + 1):
                judged, taken = found(count, faulty, run)
                best = min(best, taken)
            came, longest = cured(judged)
            how = f"{len(judged.findings)} findings" if faulty else "sound"
            cures = f"{len(came):10}" + "".join(f"{came[at]:8.0f}" for at in (0, -1) if came)
            more = f"{cures}{CURED_WITHIN_MS:7}{longest:10.0f}" if came else ""
            print(f"{count:6} {how:>13}{best:10.0f}{GOALS_MS[count]:7}{more}")


if __name__ == "__main__":
    main()
