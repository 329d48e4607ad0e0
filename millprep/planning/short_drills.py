"""Drills of one size and several lengths: which of them spares a round column a move of its head.

A stub drill beside a short spot drill, a jobber drill beside a reamer. Imports layers 0 to 2 and
planning.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.records import replace
from millprep.model.shop import Cabinet, Shop
from millprep.model.tools import Cutter, Drill
from millprep.planning.head import head_heights, length_mm
from millprep.planning.head_order import parted_holes
from millprep.planning.ordering import in_order
from millprep.planning.plan import Operation
from millprep.sums.reaming import NEAR_MM as SAME_SIZE_MM

ByHole = Sequence[Sequence[Operation]]


def drills_alike(cabinet: Cabinet, tool: Cutter) -> list[Drill]:
    """The drills of the drawer that differ from a drill in nothing but their length, it included;
    none where all are as long."""
    if not isinstance(tool, Drill):
        return []
    alike = [
        one
        for one in cabinet.drills
        if abs(one.diameter_mm - tool.diameter_mm) <= SAME_SIZE_MM
        and (one.told, one.is_carbide) == (tool.told, tool.is_carbide)
    ]
    return alike if len({length_mm(one) for one in alike}) > 1 else []


def with_best_lengths(by_hole: ByHole, shop: Shop) -> ByHole:
    """The operations with such drills of each size that fewest close holes see the head move, and
    the head moves least; those that were chosen where no other does better."""
    if shop.mill.head_moves == "keeps" or shop.mill.quill_travel_mm is None:
        return by_hole
    used = dict.fromkeys(one.tool for operations in by_hole for one in operations)
    best, cost = by_hole, None
    for drill in used:
        for other in drills_alike(shop.cabinet, drill):
            tried = list(_with(best, drill, other))
            if other != drill and _reaches(tried, other):
                cost = _cost(best, shop) if cost is None else cost
                if (found := _cost(tried, shop)) < cost:
                    best, cost, drill = tried, found, other
    return best


def _with(by_hole: ByHole, drill: Cutter, other: Cutter) -> Iterator[list[Operation]]:
    for operations in by_hole:
        yield [replace(one, tool=other) if one.tool == drill else one for one in operations]


def _reaches(by_hole: ByHole, drill: Drill) -> bool:
    deepest_mm = max(-o.z_mm for ones in by_hole for o in ones if o.tool == drill)
    return drill.flute_mm is None or deepest_mm <= drill.flute_mm


def _cost(by_hole: ByHole, shop: Shop) -> tuple[int, int]:
    operations = in_order(by_hole, "tool", None, shop)
    return len(parted_holes(operations, shop)), len(head_heights(operations, shop))
