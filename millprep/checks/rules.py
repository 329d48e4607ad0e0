"""The rules of `faults` and those beside it, asked of a hole, a pair, all a change touches.

Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import permutations

from millprep.checks import discs, faults, heads, meeting
from millprep.checks.faults import Fault
from millprep.checks.solids import Placed
from millprep.checks.space import Space, near_pairs

_SINGLE = (
    faults.edges, faults.floor, faults.engagement, discs.bore_of_disc, discs.slope_of_rim,
    heads.head_on_face,
)  # fmt: skip
Key = tuple[str, str, frozenset[str]]


def single_faults(space: Space, placed: Placed) -> Iterator[Fault]:
    """What is wrong with a hole in its blank."""
    for rule in _SINGLE:
        yield from rule(space.part, placed)


def pair_faults(space: Space, one: Placed, other: Placed) -> Iterator[Fault]:
    """What is wrong between two holes; where they are meant to meet, how the later starts."""
    if other.hole.name in space.meant.get(one.hole.name, ()):
        yield from meeting.slopes(one, other)
        return
    yield from faults.walls(one, other)
    yield from heads.heads(one, other)


def meant_faults(space: Space) -> Iterator[Fault]:
    """Of all pairs that are meant to meet: that they do, or that they do not.

    Of two patterns it is enough that each member meets one of the other pattern.
    """
    found = [
        fault
        for name, others in space.meant.items()
        for other in sorted(others, key=space.order)
        if space.order(name) < space.order(other)
        for fault in meeting.meetings(space.placed[name], space.placed[other])
    ]
    met = {
        (hole.name, other.group)
        for fault in found if fault.kind == "meeting"
        for hole, other in permutations(fault.holes, 2)
    }  # fmt: skip
    for fault in found:
        pairs = {(hole.name, other.group) for hole, other in permutations(fault.holes, 2)}
        if fault.kind == "meeting" or not pairs <= met:
            yield fault


def lacking_mm(space: Space, fault: Fault, changed: Mapping[str, Placed]) -> float | None:
    """How much room the same fault lacks after a change; None when it is gone."""
    placed = [changed.get(hole.name, space.placed[hole.name]) for hole in fault.holes]
    found = single_faults(space, placed[0]) if len(placed) == 1 else _of_pair(space, *placed)
    same = (each.lacking_mm for each in found if each.key == fault.key and is_serious(each))
    return max(same, default=None)


def is_serious(fault: Fault) -> bool:
    """A stop or a warning, and not meant."""
    return fault.severity != "note" and not fault.is_allowed


def _of_pair(space: Space, one: Placed, other: Placed) -> Iterator[Fault]:
    yield from pair_faults(space, one, other)
    if other.hole.name in space.meant.get(one.hole.name, ()):
        yield from meeting.meetings(one, other)


def serious_round(space: Space, changed: Mapping[str, Placed]) -> Iterator[Fault]:
    """The stops and warnings at holes that have changed, with their blank and their neighbours."""
    return filter(is_serious, _faults_round(space, changed))


def _faults_round(space: Space, changed: Mapping[str, Placed]) -> Iterator[Fault]:
    for name, placed in changed.items():
        yield from single_faults(space, placed)
        for other in space.near(placed):
            if other.hole.name not in changed:
                yield from pair_faults(space, placed, other)
        for other_name in space.meant.get(name, ()):
            other = changed.get(other_name, space.placed[other_name])
            yield from meeting.meetings(placed, other)
    for one, other in near_pairs(changed.values()):
        yield from pair_faults(space, one, other)
