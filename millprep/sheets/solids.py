"""Solids that a picture is made of: prisms in setup axes. Imports layers 0 to 2."""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import frozen
from millprep.model.scene import Point

_CORNERS = 48  # of what stands for a circle


@frozen
class Solid:
    """A prism: the corners of one end, and the way to the other; is_round: they lie on a circle.

    says : what is written on it; "" where its name says nothing that a person wants
    """

    name: str
    end_mm: tuple[Point, ...]
    along_mm: Point
    is_round: bool = False
    says: str = ""

    @property
    def corners_mm(self) -> tuple[Point, ...]:
        """Of both ends."""
        dx, dy, dz = self.along_mm
        return (*self.end_mm, *((x + dx, y + dy, z + dz) for x, y, z in self.end_mm))

    @property
    def low_mm(self) -> Point:
        x, y, z = zip(*self.corners_mm, strict=True)
        return min(x), min(y), min(z)

    @property
    def high_mm(self) -> Point:
        x, y, z = zip(*self.corners_mm, strict=True)
        return max(x), max(y), max(z)


def block(name: str, low_mm: Point, high_mm: Point, says: str = "") -> Solid:
    """A box between two corners."""
    (x0, y0, z0), (x1, y1, z1) = low_mm, high_mm
    end = ((x0, y0, z0), (x1, y0, z0), (x1, y1, z0), (x0, y1, z0))
    return Solid(name, end, (0.0, 0.0, z1 - z0), says=says)


def rod(name: str, low_mm: Point, high_mm: Point, axis: int, says: str = "") -> Solid:
    """A cylinder that fills the box between two corners, along a setup axis (0 to 2)."""
    across = [one for one in range(3) if one != axis]
    middle = [(low + high) / 2 for low, high in zip(low_mm, high_mm, strict=True)]
    radius = (high_mm[across[0]] - low_mm[across[0]]) / 2
    end = []
    for index in range(_CORNERS):
        turn = 2 * math.pi * index / _CORNERS
        corner = [*middle]
        corner[axis] = low_mm[axis]
        corner[across[0]] += radius * math.cos(turn)
        corner[across[1]] += radius * math.sin(turn)
        end.append((corner[0], corner[1], corner[2]))
    along = [0.0, 0.0, 0.0]
    along[axis] = high_mm[axis] - low_mm[axis]
    return Solid(name, tuple(end), (along[0], along[1], along[2]), is_round=True, says=says)


def upright(
    name: str, plan_mm: Sequence[tuple[float, float]], low_mm: float, high_mm: float, says: str = ""
) -> Solid:
    """A prism that stands on the outline of its plan."""
    end = tuple((x, y, low_mm) for x, y in plan_mm)
    return Solid(name, end, (0.0, 0.0, high_mm - low_mm), says=says)
