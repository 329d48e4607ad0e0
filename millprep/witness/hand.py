"""Which way three holes or three faces go round, against the part: by this side's own sums.

Imports the part and `reading`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import permutations, product
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.reading.pages.sheet import ReadSection
from millprep.reading.pages.slots import Said
from millprep.witness.asked import Complain
from millprep.witness.faces import LOOKS

Floats = NDArray[np.float64]

_ALIKE_MM = 0.05  # places closer than this may be one to hand and eye (common practice)


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
    whole: ReadSection,
    part: Part,
    faces: Iterable[str],
    complain: Complain,
    named: Mapping[str, Any] | None = None,
) -> Iterator[Finding]:
    """The sentences of HAND: one at least for faces that have holes, unless the part is its own
    mirror image; and what they say is so.

    faces : that have holes; of one alone, seen from above, the holes need not name it
    named : what JSON has of the page
    """
    told, faces = [one for one in whole.said if one.group == "HAND"], [*faces]
    if not faces if told else faces and not is_own_mirror(part):
        yield complain(f"HAND has {len(told)} sentences", told[0] if told else whole.said[0])
    if named is not None and faces and not told and named.get("hand") != {"hands": "no"}:
        yield complain(f"the hand is {named.get('hand')} by name", whole.said[0])
    for said in told:
        hand = _hand(said, faces)
        if hand is not None and (words := what_is_wrong_with(hand, part)):
            yield complain(words, said)
        turns, other = said.slots.get("turns"), (said.named or {}).get("other")
        if other is not None and {turns, other} != {"clockwise", "anticlockwise"}:
            yield complain(f"both hands run {turns}", said)


def _hand(said: Said, faces: Sequence[str]) -> Hand | None:
    is_clockwise = said.slots.get("turns") == "clockwise"
    if said.slug in ("hand-by-holes", "hand-from-above") and faces:
        first, second, third = said["holes"]
        face = said.face("face") if said.has("face") else faces[0]
        return Hand(face, (first, second, third), is_clockwise)
    if said.slug == "hand-by-faces":
        told = said.parts("faces")
        first, second, third = (one.face("face") for one in told)
        counts = tuple(one.count("count") for one in told)
        return Hand(None, (first, second, third), is_clockwise, (counts[0], counts[1], counts[2]))
    return None


def is_own_mirror(part: Part) -> bool:
    """Whether some looking glass that lays the blank on itself lays every hole on one like it."""
    size, axis = np.array(part.stock.size_mm), part.stock.axis
    alike: dict[tuple[object, ...], list[Floats]] = defaultdict(list)
    for hole in part.holes:
        look, ends = _seen(hole, size)
        alike[look].append(ends)
    groups = {look: np.array(ends) for look, ends in alike.items()}
    glasses = _of_block(size) if axis is None else _of_disc([*groups.values()], axis)
    return any(
        all(_is_laid(ends, glass, look[-1] == look[-2]) for look, ends in groups.items())
        for glass in glasses
    )


def _seen(hole: Hole, size: Floats) -> tuple[tuple[object, ...], Floats]:
    """What is the same on both hands, and (2, 3) where it begins and ends, from the middle; which
    end comes first is told by what is cut round it, which comes last in the first."""
    start = np.array(hole.centre_mm) - size / 2
    ends = [start, start - np.array(LOOKS[hole.face]) * hole.depth_mm]
    mouths = [repr(hole.mouth), repr(hole.far if hole.is_through else None)]
    if mouths != sorted(mouths):
        ends, mouths = ends[::-1], mouths[::-1]
    thread, opened = hole.thread, [(one.diameter_mm, one.depth_mm) for one in hole.opened]
    cut = None if thread is None else (thread.pitch_mm, thread.form, thread.is_left_hand)
    same = (hole.kind, round(hole.diameter_mm, 3), *opened, cut, hole.limits_um, *mouths)
    return same, np.array(ends)


def _is_laid(ends: Floats, glass: Floats, is_even: bool) -> bool:
    """Whether holes that look the same, (N, 2, 3), lie behind the glass as they lie before it;
    is_even : whether their ends look the same."""
    behind, ways = ends @ glass.T, (ends, ends[:, ::-1]) if is_even else (ends,)
    apart = [np.abs(behind[:, None] - each[None]).max(axis=(2, 3)) for each in ways]
    return bool((np.min(apart, axis=0).min(axis=1) <= _ALIKE_MM).all())


def _of_block(size: Floats) -> Iterator[Floats]:
    for order in permutations(range(3)):
        for signs in product((1.0, -1.0), repeat=3):
            glass = np.diag(signs)[:, order]
            fits = np.allclose(np.abs(glass) @ size, size, atol=_ALIKE_MM)
            if fits and np.linalg.det(glass) < 0:
                yield glass


def _of_disc(groups: Sequence[Floats], axis: int) -> Iterator[Floats]:
    """One hole of the fewest off the axis comes to lie on each of them: behind a glass that holds
    the axis, or one square to it."""
    square = [other for other in range(3) if other != axis]
    flat = [ends.reshape(-1, 3)[:, square] for ends in groups]
    off = [at[np.hypot(*at.T) > _ALIKE_MM] for at in flat]
    few = min((at for at in off if len(at)), key=len, default=np.array([[1.0, 0.0]]))
    angles = np.arctan2(few[:, 1], few[:, 0])
    for angle, is_held in product(angles, (True, False)):
        turn = angles[0] + angle if is_held else angle - angles[0]
        c, s = np.cos(turn), np.sin(turn)
        glass = np.zeros((3, 3))
        glass[np.ix_(square, square)] = [[c, s], [s, -c]] if is_held else [[c, -s], [s, c]]
        glass[axis, axis] = 1.0 if is_held else -1.0
        yield glass


def what_is_wrong_with(hand: Hand, part: Part) -> str | None:
    """In words; None when the part agrees."""
    if hand.face is None:
        return _faces(hand, part)
    outward = np.array(LOOKS[hand.face])
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
    return f"{', '.join(hand.names)} do not run as HAND says"


def _faces(hand: Hand, part: Part) -> str | None:
    counts = tuple(sum(hole.face == name for hole in part.holes) for name in hand.names)
    if counts != hand.counts:
        return f"{', '.join(hand.names)} do not have as many holes as HAND says"
    first, second, third = (np.array(LOOKS[name]) for name in hand.names)
    triple = float(np.cross(first, second) @ third)
    if triple == 0.0 or (triple < 0) != hand.is_clockwise:
        return f"{', '.join(hand.names)} do not run as HAND says"
    return None


def _plain(words: str) -> str:
    """Names are broken over lines, so blanks do not count."""
    return words.replace(" ", "")
