"""Runs as many mutated files as wanted: python tests/long/fuzz.py 5000 [SEED [FIRST]].

Prints each fault with what brings it back, and ends with exit status 1 where there was one. With
`--keep SEED NUMBER` the files of one case are written into the current folder.
"""

from __future__ import annotations

import random
import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent.parent)]

from mutants import case_of, faults_of  # noqa: E402  # the folder is entered above


def main(count: str, seed: str = "", first: str = "0") -> int:
    seed = seed or f"{random.SystemRandom().randrange(10**9)}"
    print(f"MILLPREP_SEED={seed}, cases {first} to {int(first) + int(count) - 1}", flush=True)
    found = 0
    for fault in faults_of(seed, int(first), int(count)):
        found += 1
        print(f"\n---- {fault}", flush=True)
    print(f"{count} cases, {found} faults")
    return 1 if found else 0


def keep(seed: str, number: str) -> int:
    case = case_of(seed, int(number))
    for name, data in case.files.items():
        Path(name).write_bytes(data)
    print(case)
    return 0


if __name__ == "__main__":
    _, *given = sys.argv
    sys.exit(keep(*given[1:]) if given[:1] == ["--keep"] else main(*given))
