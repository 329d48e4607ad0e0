"""What is left between a hole and the sides of its blank, and where a tool breaks out of it.

Imports layers 0 to 2.
"""

from __future__ import annotations

import math

from millprep.base.records import frozen
from millprep.model.part import AXIS_FACES, FACE_AXIS, Face, Hole, Mouth, Stock, plane_axes

BREAKS_BELOW_MM = 0.3  # of wall (common practice)
BREAKS_BELOW_SHARE = 0.2  # of the diameter, where that is less (common practice)
_THIN_WALL = "thin-wall"


def breaking_wall_mm(diameter_mm: float) -> float:
    """Under this a wall to a side does not stand: the tool breaks out."""
    return min(BREAKS_BELOW_MM, BREAKS_BELOW_SHARE * diameter_mm)


@frozen
class ThinSide:
    """A side that a hole is meant to come near; side : FRONT ..., "the rim" or "the bore"."""

    hole: Hole
    side: str
    wall_mm: float


def thin_sides(stock: Stock, hole: Hole) -> list[ThinSide]:
    """The sides that have to be backed, where the part file allows them to be so thin."""
    if _THIN_WALL not in {kind.replace(" ", "-") for kind in hole.allow}:
        return []
    wide = _widest_mm(hole)
    return [
        ThinSide(hole, side, max(wall, 0.0))
        for side, at in sides_of(stock, hole, hole.face)
        if -1e-6 <= (wall := at - wide / 2) < breaking_wall_mm(wide) - 1e-6
    ]


def _widest_mm(hole: Hole) -> float:
    """Of the hole and its recesses; a thread by its major diameter."""

    def mouth_mm(mouth: Mouth) -> list[float]:
        recesses = (mouth.counterbore, mouth.spotface, mouth.countersink)
        return [recess.diameter_mm for recess in recesses if recess is not None]

    opened = [one.diameter_mm for one in hole.opened]
    return max(hole.diameter_mm, *opened, *mouth_mm(hole.mouth), *mouth_mm(hole.far), 0.0)


def sides_of(stock: Stock, hole: Hole, face: Face) -> list[tuple[str, float]]:
    """(name of an edge of the face, distance from it to the hole's axis) for every edge."""
    axis = FACE_AXIS[face]
    place = {at: hole.centre_mm[at] for at in plane_axes(face)}
    if stock.axis == axis:
        radius = stock.size_mm[next(iter(place))] / 2
        out = math.hypot(*(at - radius for at in place.values()))
        sides = [("the rim", radius - out)]
        if stock.bore_mm is not None and out > stock.bore_mm / 2:
            sides.append(("the bore", out - stock.bore_mm / 2))
        return sides
    sides = []
    for across, at in place.items():
        size = stock.size_mm[across]
        if stock.axis is not None and across != stock.axis:
            sides.append(("the rim", size / 2 - abs(at - size / 2)))
            continue
        low, high = AXIS_FACES[across]
        sides += [(low.upper(), at), (high.upper(), size - at)]
    return sides
