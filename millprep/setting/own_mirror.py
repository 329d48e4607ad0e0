"""Whether a part has a hand at all: whether its mirror image is the part itself, turned.

A block can be laid on itself in a few ways only, half of them with a looking glass; the part has no
hand when one of these lays every hole on a hole like it. For a disc the looking glass holds its
axis. Imports numpy, `part` and `hands`.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from itertools import permutations, product
from typing import TypeAlias

import numpy as np

from millprep.model.part import FACE_AXIS, HIGH_FACES, Hole, Mouth, Part, Point
from millprep.setting.hands import is_own_mirror_image

SAME_MM = 0.02
"""Places closer than this are one to hand and eye (common practice)."""

End: TypeAlias = tuple[Point, Mouth | None]  # where a hole ends, and what is cut round it there
Axes: TypeAlias = tuple[tuple[int, int, int], tuple[int, int, int]]  # axis taken, and its sign


def has_no_hand(part: Part) -> bool:
    """Whether a part and its opposite hand are one part.

    Holes are alike when kind, size, depth and mouths are; what is drilled through from either side
    counts as the same hole.
    """
    if part.stock.axis is not None:
        return _has_glass_through_axis(part, part.stock.axis)
    looks = [(_look(hole), _ends(part, hole)) for hole in part.holes]
    there = {(look, _cells(ends, _AS_IT_LIES)) for look, ends in looks}
    return any(
        all((look, _cells(ends, axes)) in there for look, ends in looks)
        for axes in _looking_glasses(part.stock.size_mm)
    )


def _has_glass_through_axis(part: Part, axis: int) -> bool:
    """Whether a disc is its own mirror image in a plane that holds its axis."""
    across = [other for other in range(3) if other != axis]
    middle = [part.stock.size_mm[other] / 2 for other in across]
    points = [middle, *([hole.centre_mm[other] for other in across] for hole in part.holes)]
    kinds = ["the axis", *(_on_disc(hole, axis) for hole in part.holes)]
    return is_own_mirror_image(np.array(points).T, kinds, SAME_MM)


def _on_disc(hole: Hole, axis: int) -> Hashable:
    """What tells a hole of a disc from others, but for its place as one looks along the axis."""
    is_on_end = FACE_AXIS[hole.face] == axis
    where = hole.face if is_on_end else round(hole.centre_mm[axis], 2)
    return where, _look(hole), hole.is_through or round(hole.depth_mm, 2), hole.mouth, hole.far


_AS_IT_LIES: Axes = ((0, 1, 2), (1, 1, 1))


def _looking_glasses(size_mm: Point) -> Iterator[Axes]:
    """Ways to lay a block on itself that turn a right hand into a left one."""
    for axes, signs in product(permutations(range(3)), product((1, -1), repeat=3)):
        swaps = sum(axes[i] > axes[j] for i in range(3) for j in range(i + 1, 3))
        is_glass = (swaps % 2 == 0) != (signs[0] * signs[1] * signs[2] > 0)
        if is_glass and all(abs(size_mm[axes[i]] - size_mm[i]) <= SAME_MM for i in range(3)):
            yield (axes[0], axes[1], axes[2]), (signs[0], signs[1], signs[2])


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


def _cells(ends: tuple[End, End], axes: Axes) -> frozenset[tuple[object, ...]]:
    """Both ends as they lie after the axes are taken otherwise, to within `SAME_MM`."""
    taken, signs = axes
    return frozenset(
        (*(round(round(signs[i] * at[taken[i]] / SAME_MM, 4)) for i in range(3)), mouth)
        for at, mouth in ends
    )
