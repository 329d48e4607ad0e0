"""Whether a part has a hand at all: whether its mirror image is the part itself, turned.

A part can be laid on itself in a few ways only, half of them with a looking glass; the part has no
hand when one of these lays every hole on a hole like it. A block's looking glasses are those of its
sizes. A disc's hold its axis, or lie square to it, which leaves it to be turned by any angle; which
of them may do is read off one kind of hole. Imports numpy and `part`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from functools import lru_cache
from itertools import permutations, product
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from millprep.model.part import FACE_AXIS, HIGH_FACES, Hole, Mouth, Part, Point

Floats = NDArray[np.float64]
SAME_MM = 0.02
"""Places closer than this are one to hand and eye (common practice)."""

End: TypeAlias = tuple[Point, Mouth | None]  # where a hole ends, and what is cut round it there
Seen: TypeAlias = tuple[tuple[object, ...], tuple[End, End]]  # how a hole looks, and its two ends


@lru_cache(maxsize=8)
def has_no_hand(part: Part) -> bool:
    """Whether a part and its opposite hand are one part.

    Holes are alike when kind, size, depth and mouths are; what is drilled through from either side
    counts as the same hole.
    """
    seen = [(_look(hole), _ends(part, hole)) for hole in part.holes]
    there = {(look, _cells(ends, np.eye(3))) for look, ends in seen}
    axis = part.stock.axis
    glasses = _of_block(part.stock.size_mm) if axis is None else _of_disc(seen, axis)
    return any(all((look, _cells(ends, one)) in there for look, ends in seen) for one in glasses)


def _of_block(size_mm: Point) -> Iterator[Floats]:
    """(3, 3) ways to lay a block on itself that turn a right hand into a left one."""
    sizes = np.array(size_mm)
    for glass in ways_of_hand(-1):
        if np.abs(np.abs(glass) @ sizes - sizes).max() <= SAME_MM:
            yield glass


def ways_of_hand(hand: int) -> Iterator[Floats]:
    """(3, 3) the turns of a block onto its axes, or (-1) those with a looking glass."""
    for order, signs in product(permutations(range(3)), product((1.0, -1.0), repeat=3)):
        axes = np.zeros((3, 3))
        axes[range(3), order] = signs
        if round(float(np.linalg.det(axes))) == hand:
            yield axes


def _of_disc(seen: list[Seen], axis: int) -> Iterator[Floats]:
    """The same of a disc: those that lay one hole, of the rarest kind, on another of its kind."""
    first, second = (other for other in range(3) if other != axis)
    alike: dict[object, list[complex]] = defaultdict(list)
    for look, ends in seen:
        for at, _ in ends:
            place = complex(at[first], at[second])
            if abs(place) > SAME_MM:
                alike[look, round(abs(place), 1), round(abs(at[axis]), 1)].append(place)
    for one, other in product(*[min(alike.values(), key=len, default=[1 + 0j])] * 2):
        for is_square in (True, False):  # to the axis, and turned; or it holds the axis
            way = other / one if is_square else other / one.conjugate()
            way /= abs(way)
            flip = 1.0 if is_square else -1.0
            glass = np.zeros((3, 3))
            glass[first, [first, second]] = way.real, -way.imag * flip
            glass[second, [first, second]] = way.imag, way.real * flip
            glass[axis, axis] = -flip
            yield glass


def _look(hole: Hole) -> tuple[object, ...]:
    sizes = tuple((opened.diameter_mm, opened.depth_mm) for opened in hole.opened)
    cut = hole.thread
    thread = None if cut is None else (cut.pitch_mm, cut.form, cut.is_left_hand)
    return hole.kind, round(hole.diameter_mm, 3), sizes, thread, hole.limits_um


def _ends(part: Part, hole: Hole) -> tuple[End, End]:
    """Both ends, from the middle of the block; a blind one has no mouth at all."""
    axis = FACE_AXIS[hole.face]
    inward = -1.0 if hole.face in HIGH_FACES else 1.0
    middle = [size / 2 for size in part.stock.size_mm]
    near = [at - half for at, half in zip(hole.centre_mm, middle, strict=True)]
    far = list(near)
    far[axis] += inward * hole.depth_mm
    first: Point = (near[0], near[1], near[2])
    last: Point = (far[0], far[1], far[2])
    return (first, hole.mouth), (last, hole.far if hole.is_through else None)


def _cells(ends: tuple[End, End], glass: Floats) -> frozenset[tuple[object, ...]]:
    """Both ends as they lie behind a looking glass (3, 3), to within `SAME_MM`."""
    return frozenset(
        (*(round(round(float(each) / SAME_MM, 4)) for each in glass @ at), mouth)
        for at, mouth in ends
    )
