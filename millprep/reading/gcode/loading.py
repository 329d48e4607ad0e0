"""Pieces that are put in one after another: what a stop says of the next one is done.

    LOAD PIECE 2 OF 3, WIPE THE STOP

Each is as the first was, and lies where that lay; in stock axes they stand beside each other, so
far apart that none is in another's way, and none is taken for another. Imports `state`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from millprep.reading.gcode.state import State

_LOAD = re.compile(r"\bLOAD PIECE (\d{1,4})\b")


def hear_load(state: State, comments: Iterable[str]) -> bool:
    """The piece that a stop asks for is in; False where it asks for none."""
    for comment in comments:
        if (match := _LOAD.search(" ".join(comment.upper().split()))) is not None:
            state.piece = int(match[1])
            state.refresh()
            return True
    return False
