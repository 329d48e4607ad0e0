"""The order of the operations of one setup: by tool or by hole. Imports layers 0 to 3."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from millprep.planning.plan import Operation
from millprep.planning.route import nearest_neighbour_route

ORDERS = ("tool", "hole")

# Every tool once: no hole needs a tool of a later rank before one of an earlier. All drilling comes
# before any reaming, so that no drill breaks into a finished bore.
_RANK = {
    "spot drill": 0, "pilot drill": 1, "drill": 1, "bore": 2, "spotface": 3, "counterbore": 3,
    "countersink": 4, "ream": 5, "tap": 6,
}  # fmt: skip


def in_order(by_hole: Sequence[Sequence[Operation]], order: str) -> tuple[Operation, ...]:
    """The operations sorted; `by_hole` has one sequence a hole, each in its own order."""
    return _by_hole(by_hole) if order == "hole" else _by_tool(by_hole)


def _places(operations: Sequence[Operation]) -> list[int]:
    points = np.array([[o.x_mm for o in operations], [o.y_mm for o in operations]])
    return nearest_neighbour_route(points)


def _by_hole(by_hole: Sequence[Sequence[Operation]]) -> tuple[Operation, ...]:
    """Everything at one position before moving: the way to keep a reamed pivot true."""
    worked = [operations for operations in by_hole if operations]
    if not worked:
        return ()
    route = _places([operations[0] for operations in worked])
    return tuple(operation for index in route for operation in worked[index])


def _by_tool(by_hole: Sequence[Sequence[Operation]]) -> tuple[Operation, ...]:
    """Fewest tool changes: each tool once, its holes by the nearest neighbour."""
    groups: dict[tuple[float, float, object], list[Operation]] = {}
    for operations in by_hole:
        for operation in operations:
            tool = operation.tool
            # the larger recess first: a counterbore inside a spotface must not be wiped out
            size = tool.diameter_mm or 0.0
            size = -size if operation.name in ("spotface", "counterbore") else size
            groups.setdefault((_RANK[operation.name], size, tool), []).append(operation)
    keys = sorted(groups, key=lambda key: (key[0], key[1], str(key[2])))
    return tuple(groups[key][index] for key in keys for index in _places(groups[key]))
