"""A face with its holes as it is measured: places in setup axes, edges, and what the datum gives.

Imports layers 0 to 3 and numpy.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.inspection.limits import Zone, zone_of
from millprep.model.part import FACE_AXIS, Face, Hole, Part
from millprep.setting.holding import faces_along
from millprep.setting.setups import Setup, setups_of

Floats = NDArray[np.float64]
_SAME_MM = 1e-6


@frozen
class FaceView:
    """One face, its own holes on it.

    holes     : those drilled from this face, in the order of the file
    places_mm : (2, N) where their centres are, setup X and Y, as drawn
    edges     : for each axis (0, 1) the faces that a calliper measures from: the datum face, or
                both sides of a centre line
    centre_mm, radius_mm : of a disc that lies on this face or its opposite; radius 0 of a block
    """

    setup: Setup
    holes: tuple[Hole, ...]
    zones: tuple[Zone, ...]
    places_mm: Floats
    edges: tuple[tuple[Face, ...], tuple[Face, ...]]
    centre_mm: tuple[float, float]
    radius_mm: float

    @cached_property
    def index(self) -> dict[str, int]:
        return {hole.name: number for number, hole in enumerate(self.holes)}

    @property
    def is_round(self) -> bool:
        return self.radius_mm > 0

    def axis_of(self, face: Face) -> int:
        """The setup axis (0 or 1) that runs from a face that stands upright."""
        return 0 if face in faces_along(self.setup, 0) else 1

    def edge_mm(self, face: Face) -> tuple[float, float]:
        """Where a face stands along its axis, and which way the part lies from it (1 or -1)."""
        axis = self.axis_of(face)
        low, _ = faces_along(self.setup, axis)
        return (self.setup.low_mm[axis], 1.0) if face == low else (self.setup.high_mm[axis], -1.0)

    def is_in_the_middle(self, number: int) -> bool:
        """Whether a hole lies on the axis of the disc."""
        return bool(np.hypot(*(self.places_mm[:, number] - self.centre_mm)) < _SAME_MM)


def views_of(part: Part) -> tuple[FaceView, ...]:
    """A view for each setup, those without holes of their own too, in the order of the setups."""
    return tuple(_view(part, setup) for setup in setups_of(part))


def _view(part: Part, setup: Setup) -> FaceView:
    holes = tuple(hole for hole in part.holes if hole.face == setup.face and setup.works(hole))
    centres = np.array([hole.centre_mm for hole in holes], dtype=float).reshape(-1, 3).T
    stock = part.stock
    is_round = stock.axis is not None and stock.axis == FACE_AXIS[setup.face]
    across = [(setup.low_mm[axis] + setup.high_mm[axis]) / 2 for axis in (0, 1)]
    return FaceView(
        setup,
        holes,
        tuple(zone_of(part, hole) for hole in holes),
        setup.from_part(centres)[:2],
        (_edges(part, setup, 0), _edges(part, setup, 1)),
        (across[0], across[1]),
        (setup.high_mm[0] - setup.low_mm[0]) / 2 if is_round else 0.0,
    )


def _edges(part: Part, setup: Setup, axis: int) -> tuple[Face, ...]:
    low, high = faces_along(setup, axis)
    datum = part.datum[FACE_AXIS[low]]
    return (low, high) if datum == "centre" else tuple(f for f in (low, high) if f == datum)
