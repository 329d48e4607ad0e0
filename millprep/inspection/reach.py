"""Holes that the readings of a sheet do not place, for nothing in the shop reads so far.

Imports layers 0 to 3 and numpy.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from millprep.base.findings import Finding
from millprep.base.plain_text import some
from millprep.inspection import Inspection
from millprep.inspection.checks import Check
from millprep.inspection.views import FaceView
from millprep.model.readings import EDGE_KINDS, PAIR_KINDS
from millprep.setting.holding import faces_along

_SAME_MM = 1e-6
Reading = tuple[str | None, tuple[float, float]]
"""The other hole, or None of an edge; and the direction of the reading."""


def unreached_findings(inspection: Inspection) -> list[Finding]:
    """A warning for each face of a block with holes whose X or Y no reading of the sheet tells."""
    return [
        Finding(
            "warning",
            "not-measured",
            f"{view.setup.face.upper()}: the readings of this sheet do not place {some(names)}: "
            "no instrument of the shop reads so far",
            "find them on the readout, and give hole,x,y; or take a longer calliper",
            file=inspection.part.path or None,
            holes=tuple(names),
            setup=view.setup.number,
        )
        for view in inspection.views
        if not view.is_round and (names := _unplaced(view, inspection.checks))
    ]


def _unplaced(view: FaceView, checks: tuple[Check, ...]) -> list[str]:
    """Holes without two readings that cross, from edges or from holes that are placed."""
    readings: dict[str, list[Reading]] = {hole.name: [] for hole in view.holes}
    for check in checks:
        if check.setup == view.setup.number and check.is_place:
            for hole, reading in _both_ways(view, check):
                readings[hole].append(reading)
    placed: set[str | None] = {None}
    waiting = list(readings)
    while waiting:
        left = [hole for hole in waiting if not _cross(readings[hole], placed)]
        if len(left) == len(waiting):
            return left
        placed |= set(waiting) - set(left)
        waiting = left
    return []


def _both_ways(view: FaceView, check: Check) -> Iterator[tuple[str, Reading]]:
    if check.kind in EDGE_KINDS:
        is_along_x = check.to.lower() in faces_along(view.setup, 0)
        yield check.hole, (None, (1.0, 0.0) if is_along_x else (0.0, 1.0))
    elif check.kind in PAIR_KINDS:
        way = view.places_mm[:, view.index[check.hole]] - view.places_mm[:, view.index[check.to]]
        yield check.hole, (check.to, (float(way[0]), float(way[1])))
        yield check.to, (check.hole, (float(way[0]), float(way[1])))


def _cross(readings: list[Reading], placed: set[str | None]) -> bool:
    told = [way for other, way in readings if other in placed]
    return any(abs(a[0] * b[1] - a[1] * b[0]) > _SAME_MM for a, b in combinations(told, 2))
