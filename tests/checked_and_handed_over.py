"""What `check` passes is handed over: a long run over parts with slips. `python FILE COUNT SEED`.

Every sheet in every form, and the program. Prints each part that check passes without a stop and of
which something is refused.
"""

import random
import sys
import tempfile
from pathlib import Path

from jobs import millprep
from mistakes import Case, random_case

from millprep.base.findings import MillprepError, has_stop
from millprep.proven.preparation import Prepared, prepare
from millprep.proven.sheets import SHEETS, prove


def refused(case: Case, folder: Path) -> list[str]:
    """ "SHEET: what it said" of every sheet, form and program that a part without a stop does not
    get."""
    part, shop = folder / "part.toml", folder / "shop.toml"
    part.write_text(case.part, encoding="utf-8")
    shop.write_text(case.shop, encoding="utf-8")
    named = case.shop if "[" not in case.shop else str(shop)
    try:
        prepared = prepare(part, named, cures=False)
    except MillprepError:
        return []
    if has_stop(prepared.findings):
        return []
    without = {sheet for finding in prepared.findings for sheet in finding.sheets}
    out = _sheets_refused(prepared, without)
    if "program" not in without:
        program = millprep("program", part, "--shop", named, "-o", folder / "out.nc", "--force")
        out += [f"program: {program.err}"] if program.status else []
    return out


def _sheets_refused(prepared: Prepared, without: set[str]) -> list[str]:
    out = []
    for sheet, kind in SHEETS.items():
        if sheet in without:
            continue
        for form in kind.forms:
            handed = prove(sheet, prepared, form)
            if handed.data is None:
                stops = [f.message for f in handed.findings if f.severity == "stop"]
                out.append(f"{sheet} as {form}: {'; '.join(stops)}")
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
