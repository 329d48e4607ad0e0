"""What `check` passes is handed over: a long run over parts with slips. `python FILE COUNT SEED`.

Prints each part that check passes without a stop and that a sheet or the program refuses.
"""

import random
import re
import sys
import tempfile
from pathlib import Path

from jobs import millprep
from mistakes import Case, random_case

SHEETS = ("listing", "dials", "markout", "bench", "program")
_ENDINGS = {"bench": ".html", "program": ".nc", "markout": ".txt"}
_NOT_TO_BE_HAD = re.compile(r"no program is written for a control that moves X and Y only")


def refused(case: Case, folder: Path) -> list[str]:
    """ "SHEET: what it said" of every sheet that a part without a stop does not get."""
    part, shop = folder / "part.toml", folder / "shop.toml"
    part.write_text(case.part, encoding="utf-8")
    shop.write_text(case.shop, encoding="utf-8")
    named = case.shop if "[" not in case.shop else str(shop)
    checked = millprep("check", str(part), "--shop", named)
    if checked.status:
        return []
    out = []
    for sheet in SHEETS:
        words = [sheet, str(part), "--shop", named]
        if sheet in _ENDINGS:
            words += ["-o", str(folder / f"sheet{_ENDINGS[sheet]}"), "--force"]
        ran = millprep(*words)
        if ran.status and not _NOT_TO_BE_HAD.search(ran.err):
            out.append(f"{sheet}: {ran.err}")
    return out


def main() -> None:
    count, seed = (int(word) for word in (*sys.argv[1:3], *("300", "1")[len(sys.argv) - 1 :]))
    passed = 0
    for number in range(seed, seed + count):
        case = random_case(random.Random(number))
        with tempfile.TemporaryDirectory() as folder:
            found = refused(case, Path(folder))
            passed += not found
        for words in found:
            print(f"seed {number}\n{case.part}\n{case.shop}\n{words}\n{'-' * 70}")
    print(f"{count} parts from seed {seed}: {passed} as they should be")


if __name__ == "__main__":
    main()
