"""Where bodies meet: blanks, screws, heads, nuts and pins in one place, or all but touching.

What belongs together is left out: a screw and the members that it joins, a shape in a hole that is
wide enough for it, faces that touch because something joins them. Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from millprep.assembly.bodies import Body
from millprep.assembly.turning import (
    Heap,
    Turning,
    heaps_of,
    is_about,
    lies_within,
    swept,
    turnings_of,
)
from millprep.base.records import frozen
from millprep.model.assembled import Assembly
from millprep.sums.convex import Shape, apart_mm, boxes, outside

NEAR_MM = 0.5
TOUCH_MM = 0.05  # what patterns that line up may be off, and what is rounded from inches, together
_SLACK_MM = 0.05  # of a hollow: what is as wide as it goes in


@frozen
class Meeting:
    """Two bodies that meet, or nearly. apart_mm : negative is how far they are in each other.

    turning : the pin about which the first turns; None as the members lie
    """

    first: Body
    second: Body
    apart_mm: float
    turning: Turning | None = None

    @property
    def is_into(self) -> bool:
        return self.apart_mm < -TOUCH_MM


@frozen
class _Pair:
    """Two bodies, and the shapes of each that may meet.

    cut, others_cut : hollows, of the second in the first's shapes, and the other way round
    is_whole        : shapes that lie inside members too, of which it tells only that they meet
    """

    first: Body
    second: Body
    shapes: Sequence[Shape]
    others: Sequence[Shape]
    cut: Sequence[Shape] = ()
    others_cut: Sequence[Shape] = ()
    turning: Turning | None = None
    is_whole: bool = False


def meetings_of(
    assembly: Assembly, bodies: Sequence[Body], told: Collection[frozenset[str]]
) -> list[Meeting]:
    """Every two bodies that are in each other, or less than 0.5 mm apart with nothing to join them.

    told : pairs of members of which it is said already that they do not lie as they should
    """
    joined, heaps = _joined(assembly), heaps_of(assembly)
    found: dict[tuple[int, int], Meeting] = {}
    for pairs in (_standing(bodies), _turning(bodies, turnings_of(assembly, bodies))):
        listed = [pair for pair in pairs if pair.first.of | pair.second.of not in told]
        for pair, apart in zip(listed, _apart_mm(listed), strict=True):
            key = (id(pair.first), id(pair.second))
            if key not in found and key[::-1] not in found and _matters(pair, apart, joined, heaps):
                found[key] = Meeting(pair.first, pair.second, apart, pair.turning)
    return [*found.values()]


def _joined(assembly: Assembly) -> set[Heap]:
    """Members two by two that a joint, a shared pattern or an edge brings together."""
    tables = [*assembly.joints, *assembly.shared, *assembly.stacks]
    groups = [{place.member for place in table.places if not place.is_loose} for table in tables]
    groups += [{member.name, member.on} for member in assembly.members if member.on]
    return {frozenset((a, b)) for names in groups for a in names for b in names if a != b}


def _matters(pair: _Pair, apart: float, joined: set[Heap], heaps: dict[str, Heap]) -> bool:
    first, second = pair.first, pair.second
    if apart < -TOUCH_MM or pair.is_whole or apart >= NEAR_MM:
        return apart < -TOUCH_MM
    if not (first.is_member and second.is_member):
        return True
    if first.of | second.of in joined:
        return False
    return apart > TOUCH_MM or heaps[first.name] != heaps[second.name]


def _standing(bodies: Sequence[Body]) -> Iterator[_Pair]:
    """Bodies beside each other, as they stand."""
    for i, j in _near([body.shape for body in bodies]):
        first, second = bodies[i], bodies[j]
        if first.is_member:
            first, second = second, first
        if first.group != second.group:
            continue
        if first.is_member:
            here, there = first.pieces, second.pieces
            cut, others_cut = second.hollows_at(here), first.hollows_at(there)
            yield _Pair(first, second, here, there, cut, others_cut)
        elif second.is_member:
            if second.name not in first.of:
                cut = second.hollows_at(first.pieces)
                yield _Pair(first, second, first.pieces, second.pieces, cut)
        elif (first.name, first.hole) != (second.name, second.hole):
            yield _Pair(first, second, [first.shape], [second.shape], is_whole=True)
            yield _Pair(first, second, first.pieces, second.pieces)


def _turning(bodies: Sequence[Body], turnings: Sequence[Turning]) -> Iterator[_Pair]:
    """What turns, swept, beside what does not turn with it."""
    for turning in turnings:
        with_it = turning.members | turning.beside
        others = [body for body in bodies if not body.of & with_it]
        lows, highs = boxes([other.shape for other in others])
        for body in bodies:
            if not body.of <= turning.members:
                continue
            for piece in body.pieces:
                sweep = swept(piece, turning)
                if sweep is None:
                    continue
                hollows = [one for one in body.hollows if is_about(one, turning)]
                low, high = (ends.T for ends in boxes(sweep.shapes))
                near = (lows < high.max(axis=1) + NEAR_MM) & (low.min(axis=1) - NEAR_MM < highs)
                for index in np.flatnonzero(near.all(axis=1)).tolist():
                    other = others[index]
                    left = [p for p in other.pieces if not lies_within(p, turning, sweep.free_mm)]
                    cut = other.hollows_at(sweep.shapes)
                    if other.group == body.group:
                        yield _Pair(body, other, sweep.shapes, left, cut, hollows, turning)


def _near(shapes: Sequence[Shape]) -> Iterator[tuple[int, int]]:
    """Numbers of those the boxes around which are less than 0.5 mm apart."""
    lows, highs = boxes(shapes)
    order = np.argsort(lows[:, 0])
    starts = lows[order, 0]
    for place, index in enumerate(order):
        end = int(np.searchsorted(starts, highs[index, 0] + NEAR_MM))
        rest = order[place + 1 : end]
        near = (lows[rest] < highs[index] + NEAR_MM) & (lows[index] - NEAR_MM < highs[rest])
        for other in rest[near.all(axis=1)]:
            yield min(index, other), max(index, other)


def _apart_mm(pairs: Sequence[_Pair]) -> list[float]:
    """How far the shapes of each pair are apart; infinite where they are clear of each other.

    What lies in a hollow of the other is out of its way, whichever of the two has the hollow.
    """
    ones: list[Shape] = []
    others: list[Shape] = []
    of: list[tuple[int, int]] = []
    for number, pair in enumerate(pairs):
        ways: list[tuple[Sequence[Shape], Sequence[Shape]]]
        ways = [(_cut(pair.shapes, pair.cut), pair.others)]
        if pair.others_cut:
            ways.append((pair.shapes, _cut(pair.others, pair.others_cut)))
        for way, (here, there) in enumerate(ways):
            for one, other in _close(here, there):
                ones.append(one)
                others.append(other)
                of.append((number, way))
    least = [[np.inf] * (2 if pair.others_cut else 1) for pair in pairs]
    for (number, way), apart in zip(of, apart_mm(ones, others).tolist(), strict=True):
        least[number][way] = min(least[number][way], apart)
    return [max(each) for each in least]


def _cut(shapes: Sequence[Shape], hollows: Sequence[Shape]) -> list[Shape]:
    """What of shapes lies outside all hollows."""
    left = [*shapes]
    for hollow in hollows:
        left = [part for shape in left for part in outside(shape, hollow, _SLACK_MM)]
    return left


def _close(here: Sequence[Shape], there: Sequence[Shape]) -> Iterator[tuple[Shape, Shape]]:
    """Those the boxes around which are less than 0.5 mm apart."""
    if not here or not there:
        return
    (low, high), (lows, highs) = boxes(here), boxes(there)
    for index, one in enumerate(here):
        near = (lows < high[index] + NEAR_MM) & (low[index] - NEAR_MM < highs)
        for other in np.flatnonzero(near.all(axis=1)).tolist():
            yield one, there[other]


def apart_of(first: Body, second: Body) -> float:
    """How far a fastener is from what it does not belong to [mm], or 0.5 mm and more."""
    cut = second.hollows_at(first.pieces)
    (apart,) = _apart_mm([_Pair(first, second, first.pieces, second.pieces, cut)])
    return apart
