"""Stops over holes that the hand makes: whether each names the hole that it stands over.

Place, tool and depth are compared as those of any hole. Imports the part and `reading`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.model.part import Part
from millprep.reading.moves import ProgramRun
from millprep.witness import NEAR_MM, Lay, wanted_of

_LETTERS = 25  # of a name that a stop may have cut short


def misnamed(part: Part, lay: Lay, run: ProgramRun, file: str) -> Iterator[Finding]:
    """Each stop that names another hole than the one it stands over. run : as run on the part"""
    wanted, places = wanted_of(part, lay)
    names = [_plain(one.hole.name) for one in wanted]
    columns = places.T.tolist()
    for stop in run.hole_stops:
        x, y, _ = (run.moves.start + run.moves.shift)[:, stop.row].tolist()
        near = [n for n, (a, b) in enumerate(columns) if math.hypot(a - x, b - y) < NEAR_MM]
        said = _plain(stop.hole)
        if not near or not said or any(_is_same(said, names[n]) for n in near):
            continue
        hole = wanted[near[0]].hole.name
        words = f"the stop over {hole} names {stop.hole}"
        remedy = "write the words of each stop for the hole that the table has gone to"
        yield Finding("stop", "quill-hole", words, remedy, file, stop.line, holes=(hole,))


def _is_same(said: str, name: str) -> bool:
    return said == name or (len(said) >= _LETTERS and name.startswith(said))


def _plain(name: str) -> str:
    """Letters and figures of ASCII alone, in capitals: a control shows no others."""
    bare = name.upper().encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Z0-9]", "", bare)
