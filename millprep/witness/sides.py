"""SCRAP against the part: which sides are so near that they have to be backed.

Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.findings import Finding
from millprep.model.part import Hole, Part
from millprep.reading.pages.slots import Said
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, Run, SetUp, part_axis

BREAKS_MM = 0.3  # the least wall that a tool leaves standing (common practice)
BREAKS_DIAMETERS = 0.2  # or this much of the diameter (common practice)
_FACES = ("left", "right"), ("front", "back"), ("bottom", "top")
_DRILLS = ("pilot drill", "drill")


def check_scrap(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Each such side of a hole that is cut here is told, with the wall that is left."""
    cut = [row for row in run if row.operation not in ("spot drill", "tap")]
    due: dict[tuple[str, str], float] = {}
    for name in dict.fromkeys(row.hole for row in cut):
        hole = one.hole_here(name)
        if hole is not None and hole.face == one.printed.setup.face:
            thin = _thin_walls(one.printed.part, hole)
            due |= {(side, name): wall for side, wall in thin.items()}
    for said in told:
        side = said.face("thin_face") if said.has("thin_face") else str(said["thin_round"])
        holes = said["thin_holes"]
        walls = [due.pop((side, hole), math.inf) for hole in holes]
        if any(abs(wall - said.mm("thin_mm")) > HALF_SIZE_DIGIT_MM for wall in walls):
            yield one.wrong(f"{said.text} So near is none of these", said)
        is_drilled = any(row.operation in _DRILLS for row in cut)
        if said.slots.get("thin_pecks") != ("short" if is_drilled else None):
            yield one.wrong(f"{said.text} That is no way to peck there", said)
    for side, name in due:
        yield one.wrong(
            f"{name} comes so near {side} that it has to be backed, and nothing says so"
        )


def _thin_walls(part: Part, hole: Hole) -> dict[str, float]:
    """Side to wall [mm]: of what the part file allows."""
    if not {"thin wall", "thin-wall"} & set(hole.allow):
        return {}
    wide = max(_widths_mm(hole))
    least = min(BREAKS_MM, BREAKS_DIAMETERS * wide)
    walls = {side: at - wide / 2 for side, at in _sides(part, hole)}
    return {side: max(wall, 0.0) for side, wall in walls.items() if -1e-6 < wall < least - 1e-6}


def _widths_mm(hole: Hole) -> Iterator[float]:
    yield hole.diameter_mm
    yield from (one.diameter_mm for one in hole.opened)
    for mouth in (hole.mouth, hole.far):
        for recess in (mouth.counterbore, mouth.spotface, mouth.countersink):
            if recess is not None:
                yield recess.diameter_mm


def _sides(part: Part, hole: Hole) -> Iterator[tuple[str, float]]:
    """How far the hole's axis is from each side of the blank."""
    stock, axis = part.stock, part_axis(hole.face)
    across = [each for each in range(3) if each != axis]
    if stock.axis == axis:
        out = math.hypot(*(hole.centre_mm[each] - stock.size_mm[each] / 2 for each in across))
        yield "rim", stock.size_mm[across[0]] / 2 - out
        if stock.bore_mm is not None and out > stock.bore_mm / 2:
            yield "bore", out - stock.bore_mm / 2
        return
    for each in across:
        at, size = hole.centre_mm[each], stock.size_mm[each]
        if stock.axis is not None and each != stock.axis:
            yield "rim", min(at, size - at)
        else:
            low, high = _FACES[each]
            yield low, at
            yield high, size - at
