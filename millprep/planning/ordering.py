"""The order of the operations of one setup: by tool, by hole or by row.

Of drills of one size and several lengths those are taken that spare a round column moves of its
head. Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import groupby
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import anew, frozen, replace
from millprep.model.part import Hole
from millprep.model.shop import Cabinet, Shop
from millprep.model.tools import Cutter, Drill
from millprep.planning.head import head_heights, is_toleranced, length_mm
from millprep.planning.head_order import Chain, fewest_moves, fewest_parted, parted_holes
from millprep.planning.making import MAKING
from millprep.planning.numbering import in_numbering, in_rows, ways_of, with_fewest_returns
from millprep.planning.plan import Operation
from millprep.planning.route import Distance, short_route
from millprep.setting.setups import Setup
from millprep.sums.reaming import NEAR_MM as SAME_SIZE_MM

Floats = NDArray[np.float64]

ORDERS = ("tool", "hole", "row")
MACHINE_ORDER = "machine"
"""By tool, on the shortest ways that can be found: for a program, where moves cost time only."""
DIAL_ORDER = "dials"
"""By tool, with the fewest returns against the backlash."""
_DETOUR_MM = 1e5  # longer than any way round

# Every tool once: no hole needs a tool of a later rank before one of an earlier. All drilling comes
# before any reaming, so that no drill breaks into a finished bore.
_RANK = {
    "spot drill": 0, "pilot drill": 1, "drill": 1, "bore": 2, "spotface": 3, "counterbore": 3,
    "countersink": 4, "ream": 5, "tap": 6,
}  # fmt: skip

_FINISHES = {_RANK[row.operation] for row in MAKING.values()} - {_RANK["drill"]}
_Key = tuple[int, float, Cutter, Chain, int]
"""(rank, size, tool, whose work it is part of, which turn of the tool)"""


def in_order(
    by_hole: Sequence[Sequence[Operation]],
    order: str,
    setup: Setup | None = None,
    shop: Shop | None = None,
) -> tuple[Operation, ...]:
    """The operations sorted; `by_hole` has one sequence a hole, each in its own order.

    shop : for a head that loses X and Y when it moves
    """
    ways = _Ways(order, setup)
    return _by_hole(by_hole, ways) if order == "hole" else _by_tool(by_hole, ways, shop)


@frozen
class _Ways:
    """The ways round the holes of each tool; many tools go round the same holes."""

    order: str
    setup: Setup | None
    known: dict[bytes, list[int]] = anew(factory=dict)

    def places(self, operations: Sequence[Operation]) -> list[int]:
        points = np.array([[o.x_mm for o in operations], [o.y_mm for o in operations]])
        key = points.tobytes()
        if key not in self.known:
            self.known[key] = self._way(points, operations)
        return self.known[key]

    def _way(self, points: Floats, operations: Sequence[Operation]) -> list[int]:
        ways = ways_of(self.setup) if self.setup is not None else (1, 1)
        if self.order == "row":
            return list(in_rows(points, ways).order)
        detour = self._detour(points, max(o.tool.diameter_mm for o in operations))
        short = short_route(points, detour, with_trials=self.order == MACHINE_ORDER)
        holes = [operation.hole for operation in operations]
        if detour is not None:  # something stands in the way: the short way goes round it
            return short
        if self.order == DIAL_ORDER:
            return with_fewest_returns(points, holes, short, ways)
        return in_numbering(points, holes, short)

    def _detour(self, points_mm: Floats, tool_mm: float) -> Distance | None:
        """Keeps ways clear of what stands higher than the tool travels; None: nothing does."""
        if self.setup is None:
            return None
        boxes = [
            (np.array(box.low_mm[:2]) - tool_mm / 2, np.array(box.high_mm[:2]) + tool_mm / 2)
            for box in self.setup.obstacles
            if box.high_mm[2] > self.setup.safe_height_mm
        ]
        if not boxes:
            return None

        def extra_mm(a: int, b: int) -> float:
            return _DETOUR_MM * sum(
                is_crossed(points_mm[:, a], points_mm[:, b], low, high) for low, high in boxes
            )

        return extra_mm


def is_crossed(start_mm: Floats, end_mm: Floats, low_mm: Floats, high_mm: Floats) -> bool:
    """Whether the straight way between two places meets a box; all (2,)."""
    along = end_mm - start_mm
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        if abs(along[axis]) < 1e-9:
            if not low_mm[axis] < start_mm[axis] < high_mm[axis]:
                return False
            continue
        ends = (np.array([low_mm[axis], high_mm[axis]]) - start_mm[axis]) / along[axis]
        enter, leave = max(enter, float(ends.min())), min(leave, float(ends.max()))
    return enter < leave


def _by_hole(by_hole: Sequence[Sequence[Operation]], ways: _Ways) -> tuple[Operation, ...]:
    """Everything at one position before moving: the way to keep a reamed pivot true."""
    worked = [operations for operations in by_hole if operations]
    if not worked:
        return ()
    route = ways.places([operations[0] for operations in worked])
    return tuple(operation for index in route for operation in worked[index])


def _by_tool(
    by_hole: Sequence[Sequence[Operation]], ways: _Ways, shop: Shop | None
) -> tuple[Operation, ...]:
    """Fewest tool changes: each tool once, its holes the short way or in rows."""
    groups = _groups(by_hole)
    keys = sorted(groups, key=_rank)
    if shop is not None:
        runs = [groups[key] for key in keys]
        keys = [keys[n] for n in fewest_moves(runs, _after(keys, groups), shop)]
        parted = parted_holes([one for key in keys for one in groups[key]], shop)
        chains = (
            {ones[0].hole.name: _chain(ones, shop) for ones in by_hole if ones} if parted else {}
        )
        if any(chains[name] for name in parted):
            keys, groups = _whole(by_hole, chains, shop, len(parted)) or (keys, groups)
    return tuple(groups[key][index] for key in keys for index in ways.places(groups[key]))


def _chain(operations: Sequence[Operation], shop: Shop) -> Chain:
    """The tools of a hole with a tolerance that one height of the head serves; () for another."""
    if not is_toleranced(operations[0].hole) or len(head_heights(operations, shop)) > 1:
        return ()
    return tuple(f"{one.name} {one.tool.words}" for one in operations)


def _groups(
    by_hole: Sequence[Sequence[Operation]], chains: Mapping[str, Chain] = MappingProxyType({})
) -> dict[_Key, list[Operation]]:
    """The work of each tool, that of each chain of tools apart. chains : of the holes, by name"""
    groups: dict[_Key, list[Operation]] = {}
    for operations in by_hole:
        for operation in operations:
            tool, chain = operation.tool, chains.get(operation.hole.name, ())
            # the larger recess first: a counterbore inside a spotface must not be wiped out
            size = tool.diameter_mm
            size = -size if operation.name in ("spotface", "counterbore") else size
            rank = _RANK[operation.name]
            if operation.helix is not None:  # after all drills, also those that are wider
                rank = max(rank, _RANK["bore"])
            key = (rank, size, tool, chain, 0)
            groups.setdefault(key, []).append(operation)
    return groups


def _rank(key: _Key) -> tuple[int, float, str, Chain]:
    return key[0], key[1], str(key[2]), key[3]


def _whole(
    by_hole: Sequence[Sequence[Operation]], chains: Mapping[str, Chain], shop: Shop, parted: int
) -> tuple[list[_Key], dict[_Key, list[Operation]]] | None:
    """The order in which fewer holes with a tolerance see the head move; None where none is."""
    groups = _groups(by_hole, chains)
    keys = sorted(groups, key=_rank)
    runs = [groups[key] for key in keys]
    order = fewest_parted(runs, _after(keys, groups), [key[3] for key in keys], shop)
    if order is None:
        return None
    found = [one for n in order for one in runs[n]]
    if len(parted_holes(found, shop)) >= parted:
        return None
    joined: dict[_Key, list[Operation]] = {}
    turns = groupby((keys[n] for n in order), key=lambda key: key[:3])
    for turn, (_, together) in enumerate(turns):
        first, *others = together
        joined[*first[:4], turn] = [one for key in (first, *others) for one in groups[key]]
    return list(joined), joined


def _after(
    keys: Sequence[_Key], groups: Mapping[_Key, Sequence[Operation]]
) -> list[frozenset[int]]:
    """For each tool's work the numbers of what has to come before it, whatever the order.

    The work at one hole keeps its order. All is spotted first, so that it can be looked at; and no
    cutter may break into a hole that is finished.
    """
    holes = [{one.hole.name: one.hole for one in groups[key]} for key in keys]

    def comes_first(one: int, other: int) -> bool:
        is_finish, is_whole = keys[other][0] in _FINISHES, bool(keys[other][3])
        if holes[one].keys() & holes[other].keys():
            return True
        if is_whole:  # made from one height; nothing but what runs into it could spoil it
            return is_finish and _meet(holes[one].values(), holes[other].values())
        return (keys[one][0] == 0 and not keys[one][3]) or is_finish

    return [
        frozenset(one for one in range(other) if comes_first(one, other))
        for other in range(len(keys))
    ]


def _meet(some: Collection[Hole], others: Collection[Hole]) -> bool:
    """Whether any of some is meant to run into any of the others."""
    names = {name for each in others for name in (each.name, each.group)}
    told = {name for one in some for name in (*one.meets, one.goes_into)}
    back = {name for each in others for name in (*each.meets, each.goes_into)}
    return bool(told & names or back & {name for one in some for name in (one.name, one.group)})


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
