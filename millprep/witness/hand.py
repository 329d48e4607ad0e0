"""Which way three holes or three faces go round, against the part: by this side's own sums.

Imports the part and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Part
from millprep.reading.pages.lines import ReadSection
from millprep.reading.pages.slots import Said
from millprep.witness.asked import Complain

Floats = NDArray[np.float64]

_OUTWARD = {
    "left": (-1.0, 0.0, 0.0),
    "right": (1.0, 0.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "back": (0.0, 1.0, 0.0),
    "bottom": (0.0, 0.0, -1.0),
    "top": (0.0, 0.0, 1.0),
}


@frozen
class Hand:
    """Three holes of a face, or three faces (`face` None), and which way they go round.

    counts : of holes on each of the three faces
    """

    face: str | None
    names: tuple[str, str, str]
    is_clockwise: bool
    counts: tuple[int, int, int] | None = None


def check_hands(
    whole: ReadSection, part: Part, faces: Iterable[str], complain: Complain
) -> Iterator[Finding]:
    """The sentences of HAND: one at least for faces that have holes, and what they say is so."""
    told = [one for one in whole.said if one.group == "HAND"]
    if bool(told) != bool([*faces]):
        yield complain(f"HAND has {len(told)} sentences", told[0] if told else whole.said[0])
    for said in told:
        hand = _hand(said)
        if hand is None:
            continue
        if said["turns"] == said["other"]:
            yield complain("HAND says that both hands go one way", said)
        elif words := what_is_wrong_with(hand, part):
            yield complain(words, said)


def _hand(said: Said) -> Hand | None:
    is_clockwise = said.slots.get("turns") == "clockwise"
    if said.slug == "hand-by-holes":
        first, second, third = said["holes"]
        return Hand(said.face("face"), (first, second, third), is_clockwise)
    if said.slug == "hand-by-faces":
        faces = said.parts("faces")
        first, second, third = (one.face("face") for one in faces)
        counts = tuple(one.count("count") for one in faces)
        return Hand(None, (first, second, third), is_clockwise, (counts[0], counts[1], counts[2]))
    return None


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
