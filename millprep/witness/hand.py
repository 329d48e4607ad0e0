"""Which way three holes or three faces go round, against the part: by this side's own sums.

Imports the part and `reading`.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from millprep.model.part import Part
from millprep.reading.pages.printed import Hand

Floats = NDArray[np.float64]

_OUTWARD = {
    "left": (-1.0, 0.0, 0.0), "right": (1.0, 0.0, 0.0), "front": (0.0, -1.0, 0.0),
    "back": (0.0, 1.0, 0.0), "bottom": (0.0, 0.0, -1.0), "top": (0.0, 0.0, 1.0),
}  # fmt: skip


def what_is_wrong_with(hand: Hand, part: Part) -> str | None:
    """In words; None when the part agrees."""
    if hand.face is None:
        return _faces(hand, part)
    outward = np.array(_OUTWARD[hand.face])
    found = [
        [
            np.array(hole.centre_mm)
            for hole in part.holes
            if hole.face == hand.face and _plain(hole.name) == _plain(name)
        ]
        for name in hand.names
    ]
    turns = {
        bool(np.cross(second - first, third - first) @ outward < 0)
        for first, second, third in product(*found)
    }
    if turns == {hand.is_clockwise}:
        return None
    return f"{', '.join(hand.names)} do not go round as HAND says"


def _faces(hand: Hand, part: Part) -> str | None:
    counts = tuple(sum(hole.face == name for hole in part.holes) for name in hand.names)
    if counts != hand.counts:
        return f"{', '.join(hand.names)} do not have as many holes as HAND says"
    first, second, third = (np.array(_OUTWARD[name]) for name in hand.names)
    triple = float(np.cross(first, second) @ third)
    if triple == 0.0 or (triple < 0) != hand.is_clockwise:
        return f"{', '.join(hand.names)} do not go round as HAND says"
    return None


def _plain(words: str) -> str:
    """Names are broken over lines, so blanks do not count."""
    return words.replace(" ", "")
