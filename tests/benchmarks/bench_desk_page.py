"""From a figure changed on a part's page to the picture and the findings that come of it.

In a process that is warm, asked as the page asks: the change, then drawing and margin; best of
five, in CPU time, beside the goal. Singles with a table each, the worst for a page.

Run: PYTHONPATH=.:tests:tests/benchmarks python tests/benchmarks/bench_desk_page.py
"""

from __future__ import annotations

import tempfile
import time
from itertools import pairwise
from pathlib import Path

from asking import Asking
from desk import plate

RUNS = 5
GOALS_MS = {50: 300, 1_000: 1_500}


def timed_ms(asking: Asking, address: str, run: int) -> list[float]:
    """Of the change, its picture and its findings."""
    typed = {"line": "h4", "typed": {"at#0": f"{31.5 + run / 100}"}, "before": {}}
    marks = [time.process_time()]
    assert not asking.post(f"{address}/figure", typed).json["say"]
    for rest in ("/board", "/red-pencil"):
        marks.append(time.process_time())
        assert asking.get(f"{address}{rest}").status == 200
    marks.append(time.process_time())
    return [1000 * (after - before) for before, after in pairwise(marks)]


def main() -> None:
    print(" holes   page   change  picture  findings      all    goal   [ms]")
    for count, goal in GOALS_MS.items():
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name) / "sheets"
            folder.mkdir()
            path = folder / "plate.toml"
            path.write_text(plate(count, False, 0))
            with Asking(folder) as asking:
                address = f"/sheet/{asking.desk.files.of(path)}"
                asking.get(address)
                start = time.process_time()
                assert asking.get(address).status == 200
                page = 1000 * (time.process_time() - start)
                best = min((timed_ms(asking, address, run) for run in range(RUNS + 1)), key=sum)
                parts = "".join(f"{one:9.0f}" for one in best)
                print(f"{count:6}{page:7.0f}{parts}{sum(best):10.0f}{goal:8}", flush=True)


if __name__ == "__main__":
    main()
