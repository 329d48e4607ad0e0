"""What a desk holds in memory after 200 edits of a part through its page, and after 2,000.

It is no test: it takes some minutes. The second figure is to be at most a tenth above the first.

Run: PYTHONPATH=.:tests python tests/long/memory_of_edits.py
"""

from __future__ import annotations

import gc
import shutil
import tempfile
from pathlib import Path

from asking import Asking

EXAMPLE = Path(__file__).parents[2] / "parts" / "cylinder-cover.toml"
FIRST, LAST = 200, 2_000


def resident_kb() -> int:
    """Of this process, as the system counts it."""
    gc.collect()
    (line,) = (x for x in Path("/proc/self/status").read_text().splitlines() if "VmRSS" in x)
    return int(line.split()[1])


def edit(asking: Asking, address: str, number: int) -> None:
    """A figure changed, now and then one that does not read, and all that the page then asks."""
    typed = f"M{3 + number % 3}" if number % 7 else "1/"
    given = {"line": "h1", "typed": {"size": typed}, "before": {}}
    answer = asking.post(f"{address}/figure", given)
    assert answer.status == 200, answer.text
    for rest in ("/board", "/red-pencil", "/red-pencil/cures", "", "/papers", "/compare"):
        if rest.startswith(("/b", "/r")) or number % 20 == 0:
            assert asking.get(f"{address}{rest}").status == 200, rest


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "sheets"
        folder.mkdir()
        shutil.copy(EXAMPLE, folder)
        with Asking(folder) as asking:
            address = f"/sheet/{asking.desk.files.of(folder / EXAMPLE.name)}"
            held = {}
            for number in range(1, LAST + 1):
                edit(asking, address, number)
                if number in (FIRST, LAST // 2, LAST):
                    held[number] = resident_kb()
                    print(f"{number:6} edits {held[number] / 1000:8.1f} MB", flush=True)
            print(f"{held[LAST] / held[FIRST] - 1:+.1%} from {FIRST} to {LAST}")


if __name__ == "__main__":
    main()
