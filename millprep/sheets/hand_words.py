"""The turn test in words: which way three holes of a face go round, so that its hand is told.

Looked at when the holes are marked or spotted, before anything is deep. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from functools import lru_cache
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millprep.model.part import FACE_AXIS, FACES, OPPOSITE, Face, Hole, Part
from millprep.setting.hands import TurnTest, turn_test
from millprep.setting.own_mirror import has_no_hand
from millprep.setting.setups import default_towards_you, outward
from millprep.sheets.document import Sayer, Sentence

Floats = NDArray[np.float64]

_say = Sayer("hand")


NO_HAND = {"hands": "no"}
"""What JSON has of a part that is its own mirror image: no sheet speaks of its hand."""


def hand_sentence(part: Part, face: Face, *, is_up: bool = False) -> Sentence | None:
    """What tells the hand of a face with holes, or that they cannot; None where it has none.

    is_up : whether the part lies so that the face is seen from above
    """
    if has_no_hand(part) or not any(hole.face == face for hole in part.holes):
        return None
    test, needs_sizes = hand_test(part, face)
    if test is None:
        return _by_faces(part, face)
    slots: dict[str, Any] = {"holes": test.names}
    ways = _ways(test.is_clockwise)
    if needs_sizes:
        slots["sizes"] = " (look when they are drilled: their places alone are alike on both hands)"
    elif not test.is_unmistakable:
        slots["drawing"] = " (find the three by the drawing)"
    if is_up:
        also = {"face": face, "other": ways["other"]}
        return _say("hand-from-above", **slots, turns=ways["turns"], also=also)
    also = {"other": ways["other"]}
    return _say("hand-by-holes", face=face, **slots, turns=ways["turns"], also=also)


def _ways(is_clockwise: bool) -> dict[str, str]:
    turns, other = ("clockwise", "anticlockwise")[:: 1 if is_clockwise else -1]
    return {"turns": turns, "other": other}


def _by_faces(part: Part, face: Face) -> Sentence:
    """What to say where the holes of one face are their own mirror image."""
    corner = faces_of_corner(part)
    if corner is None:
        return _say("hand-by-names", face=face)
    faces, is_clockwise = corner
    counts, ways = _counts(part), _ways(is_clockwise)
    counted = [{"face": one, "count": counts[one]} for one in faces]
    also = {"other": ways["other"]}
    return _say("hand-by-faces", faces=counted, turns=ways["turns"], also=also)


def _counts(part: Part) -> Counter[Face]:
    return Counter(hole.face for hole in part.holes)


def faces_of_corner(part: Part) -> tuple[tuple[Face, Face, Face], bool] | None:
    """Three faces of a block that meet, and whether they go round clockwise seen from outside.

    They are told apart by how many holes each has; None where no three can be told apart so.
    """
    counts = _counts(part)
    if part.stock.axis is not None:
        return None
    for faces in combinations((face for face in FACES if counts[face]), 3):
        numbers = {counts[face] for face in faces}
        if len({FACE_AXIS[face] for face in faces}) == 3 and len(numbers) == 3:
            first, second, third = (outward(face) for face in faces)
            return faces, bool(np.cross(first, second) @ third < 0)
    return None


def short_hand(part: Part, face: Face, letters: Mapping[str, str]) -> str:
    """The same beside a picture, by the letters of the holes; empty where nothing can be shown."""
    if has_no_hand(part):
        return ""
    test, _ = hand_test(part, face)
    if test is not None and all(name in letters for name in test.names):
        three = ", ".join(letters[name] for name in test.names)
        return f"hand: {three} run {test.sense}"
    corner = None if test is not None else faces_of_corner(part)
    if corner is None:
        return ""
    faces, is_clockwise = corner
    names = ", ".join(one.upper() for one in faces)
    return f"hand: {names} run {'' if is_clockwise else 'anti'}clockwise at their corner"


@lru_cache(maxsize=32)
def hand_test(part: Part, face: Face) -> tuple[TurnTest | None, bool]:
    """The three holes that tell the hand of a face, and whether their sizes are needed for it.

    Spots and crosses look alike, so places come first.
    """
    holes = [hole for hole in part.holes if hole.face == face]
    if len(holes) < 3:
        return None, False
    names, points = [hole.name for hole in holes], seen_from_outside(holes, face)
    by_place = turn_test(points, names)
    if by_place is not None:
        return by_place, False
    return turn_test(points, names, [_looks(hole) for hole in holes]), True


def seen_from_outside(holes: Sequence[Hole], face: Face) -> Floats:
    """(2, N) where holes of a face lie as one looks square at it: to the right, up [mm]."""
    up = outward(OPPOSITE[default_towards_you(face)])
    right = np.cross(up, outward(face))
    centres = np.array([hole.centre_mm for hole in holes]).reshape(-1, 3).T
    return np.array([right @ centres, up @ centres])


def _looks(hole: Hole) -> Hashable:
    """What the eye tells holes apart by."""
    mouth = hole.mouth
    wide = [recess.diameter_mm for recess in (mouth.counterbore, mouth.spotface) if recess]
    if mouth.countersink is not None:
        wide.append(mouth.countersink.diameter_mm)
    wide += [opened.diameter_mm for opened in hole.opened]
    return (hole.thread is not None, round(max([hole.diameter_mm, *wide]), 1))
