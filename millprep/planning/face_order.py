"""Which setup comes when: what is done too early for the work of another.

Across setups the order is theirs; inside one all drilling comes before any reaming. Imports layers
0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from millprep.model.part import FACE_AXIS, OPPOSITE, Face, Hole, Mouth

STEEPEST_BREAK_DEG = 30.0
"""Of the wall of a bore where a drill, led by its own hole, still breaks in straight (ours)."""
Visit = tuple[Face, Collection[str]]
"""A face that is up, and the names of the holes that are worked while it is."""
Turn = Mapping[tuple[str, Face], int]
"""Number of the setup in which a hole of that name is worked from that face."""


def turn_of(visits: Sequence[Visit]) -> Turn:
    """When each hole is worked, setups counted from 1."""
    numbered = enumerate(visits, 1)
    return {(name, face): number for number, (face, names) in numbered for name in names}


def finished_early(holes: Sequence[Hole], visits: Sequence[Visit]) -> list[Hole]:
    """The bores that have their size before another hole is drilled into them."""
    turn = turn_of(visits)
    return [bore for bore, other in meetings(holes) if is_finished_early(bore, other, turn)]


def best_orders(
    holes: Sequence[Hole], orders: Iterable[Sequence[Visit]]
) -> tuple[tuple[int, int], list[int]]:
    """What speaks against the best of the orders of setups, and their numbers, from 0.

    The heavier first: setups before the one whose bores locate the rest; holes that are made, or
    met, too early.
    """
    pairs = dict.fromkeys(meetings(holes))
    bores = [hole for hole in holes if hole.kind.is_true]
    recessed = [hole for hole in holes if hole.far != Mouth()]
    costs = []
    for visits in orders:
        turn = turn_of(visits)
        too_early = [
            *(is_finished_early(bore, other, turn) for bore, other in pairs),
            *(slope_met_deg(bore, other, turn) is not None for bore, other in pairs),
            *(is_recessed_early(hole, turn) for hole in recessed),
        ]
        late, _ = late_locating(bores, pairs, turn)
        costs.append((max(late - 1, 0), sum(too_early)))
    least = min(costs)
    return least, [number for number, cost in enumerate(costs) if cost == least]


def meetings(holes: Sequence[Hole]) -> Iterator[tuple[Hole, Hole]]:
    """Pairs of which one names the other, both ways round."""
    by_name: dict[str, list[Hole]] = {}
    for hole in holes:
        by_name.setdefault(hole.name, []).append(hole)
        if hole.group != hole.name:
            by_name.setdefault(hole.group, []).append(hole)
    for hole in holes:
        named = (*hole.meets, *((hole.goes_into,) if hole.goes_into else ()))
        for other in (found for name in dict.fromkeys(named) for found in by_name.get(name, ())):
            yield hole, other
            yield other, hole


def finished_in(hole: Hole, turn: Turn) -> int:
    """The setup that gives a hole its size: the later one, where it is worked from both ends."""
    if not hole.from_both_ends:
        return turn[hole.name, hole.face]
    return max(turn[hole.name, face] for face in hole.worked_from)


def late_locating(
    bores: Sequence[Hole], met: Iterable[tuple[Hole, Hole]], turn: Turn
) -> tuple[int, Hole | None]:
    """The first setup that finishes bores, and one of them; they locate the rest.

    met : pairs of `meetings`. Nothing is late where another hole runs into one of those bores: it
    is finished after that one.
    """
    first = min((finished_in(hole, turn) for hole in bores), default=0)
    here = [hole for hole in bores if finished_in(hole, turn) == first]
    names = {one.name for pair in met for one in pair}
    if not here or any(hole.name in names or hole.meets for hole in here):
        return 0, None
    return first, here[0]


def is_finished_early(bore: Hole, other: Hole, turn: Turn) -> bool:
    """Whether a bore has its size before the other hole is drilled into it."""
    return bore.kind.is_true and finished_in(bore, turn) < finished_in(other, turn)


def slope_met_deg(bore: Hole, other: Hole, turn: Turn) -> float | None:
    """How steep the wall is where the other hole is drilled into the side of an earlier one.

    None where it runs true: drilled first, near the axis, or wider than the bore.
    """
    axes = {FACE_AXIS[bore.face], FACE_AXIS[other.face]}
    if turn[bore.name, bore.face] >= turn[other.name, other.face] or len(axes) == 1:
        return None
    aside = 3 - sum(axes)
    off, radius = abs(bore.centre_mm[aside] - other.centre_mm[aside]), bore.diameter_mm / 2
    slope = math.degrees(math.asin(min(off / radius, 1.0)))
    is_in_reach = off < radius + other.diameter_mm / 2
    is_steep = slope > STEEPEST_BREAK_DEG and other.diameter_mm <= bore.diameter_mm
    return slope if is_steep and is_in_reach else None


def is_recessed_early(hole: Hole, turn: Turn) -> bool:
    """Whether the far end is recessed before there is a hole to lead the cutter."""
    is_recessed = hole.far != Mouth()
    return is_recessed and turn[hole.name, OPPOSITE[hole.face]] < turn[hole.name, hole.face]
