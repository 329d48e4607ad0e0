"""The order of the operations of one setup: by tool, by hole or by row.

Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from millprep.model.shop import Shop
from millprep.model.tools import Cutter
from millprep.planning.head import fewest_moves
from millprep.planning.making import MAKING
from millprep.planning.plan import Operation
from millprep.planning.route import Distance, short_route
from millprep.planning.rows import in_rows, ways_of
from millprep.setting.setups import Setup

Floats = NDArray[np.float64]

ORDERS = ("tool", "hole", "row")
MACHINE_ORDER = "machine"
"""By tool, on the shortest ways that can be found: for a program, where moves cost time only."""
_DETOUR_MM = 1e5  # longer than any way round

# Every tool once: no hole needs a tool of a later rank before one of an earlier. All drilling comes
# before any reaming, so that no drill breaks into a finished bore.
_RANK = {
    "spot drill": 0, "pilot drill": 1, "drill": 1, "bore": 2, "spotface": 3, "counterbore": 3,
    "countersink": 4, "ream": 5, "tap": 6,
}  # fmt: skip

_FINISHES = {_RANK[row.operation] for row in MAKING.values()} - {_RANK["drill"]}
_Key = tuple[int, float, Cutter]


def in_order(
    by_hole: Sequence[Sequence[Operation]],
    order: str,
    setup: Setup | None = None,
    shop: Shop | None = None,
) -> tuple[Operation, ...]:
    """The operations sorted; `by_hole` has one sequence a hole, each in its own order.

    shop : for a head that loses X and Y when it moves
    """
    ways = _Ways(order == "row", order == MACHINE_ORDER, setup)
    return _by_hole(by_hole, ways) if order == "hole" else _by_tool(by_hole, ways, shop)


@dataclass
class _Ways:
    """The ways round the holes of each tool; many tools go round the same holes."""

    is_in_rows: bool
    is_for_machine: bool
    setup: Setup | None
    known: dict[bytes, list[int]] = field(default_factory=dict)

    def places(self, operations: Sequence[Operation]) -> list[int]:
        points = np.array([[o.x_mm for o in operations], [o.y_mm for o in operations]])
        key = points.tobytes()
        if key not in self.known:
            if self.is_in_rows:
                ways = ways_of(self.setup) if self.setup is not None else (1, 1)
                self.known[key] = list(in_rows(points, ways).order)
            else:
                widest = max(o.tool.diameter_mm for o in operations)
                self.known[key] = short_route(
                    points, self._detour(points, widest), with_trials=self.is_for_machine
                )
        return self.known[key]

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
    groups: dict[_Key, list[Operation]] = {}
    for operations in by_hole:
        for operation in operations:
            tool = operation.tool
            # the larger recess first: a counterbore inside a spotface must not be wiped out
            size = tool.diameter_mm
            size = -size if operation.name in ("spotface", "counterbore") else size
            groups.setdefault((_RANK[operation.name], size, tool), []).append(operation)
    keys = sorted(groups, key=lambda key: (key[0], key[1], str(key[2])))
    if shop is not None:
        after = _after(keys, groups)
        keys = [keys[n] for n in fewest_moves([groups[key] for key in keys], after, shop)]
    return tuple(one for key in keys for one in _round(groups[key], ways))


def _round(work: Sequence[Operation], ways: _Ways) -> Iterator[Operation]:
    """The work of one tool, hole after hole; at one hole its passes follow each other."""
    at_hole: dict[str, list[Operation]] = {}
    for operation in work:
        at_hole.setdefault(operation.hole.name, []).append(operation)
    runs = list(at_hole.values())
    for index in ways.places([run[0] for run in runs]):
        yield from runs[index]


def _after(
    keys: Sequence[_Key], groups: Mapping[_Key, Sequence[Operation]]
) -> list[frozenset[int]]:
    """For each tool's work the numbers of what has to come before it, whatever the order.

    The work at one hole keeps its order. All is spotted first, so that it can be looked at; and no
    cutter may break into a hole that is finished.
    """
    holes = [{one.hole.name for one in groups[key]} for key in keys]

    def comes_first(one: int, other: int) -> bool:
        is_spot, is_finish = keys[one][0] == 0, keys[other][0] in _FINISHES
        return is_spot or is_finish or bool(holes[one] & holes[other])

    return [
        frozenset(one for one in range(other) if comes_first(one, other))
        for other in range(len(keys))
    ]
