"""What the drawing allows: the zone of a hole's place, the limits of its size, and what is usual.

Where the drawing is silent, ISO 2768-1, class m, stands in, and is said. Imports layers 0 to 3.
"""

from __future__ import annotations

from math import hypot
from typing import Literal

from millprep.base.records import frozen
from millprep.model.part import FACE_AXIS, Hole, Part
from millprep.reference.drills import drilled_limits_mm

Basis = Literal["drawing", "usual"]
USUAL = "ISO 2768-1 m"
# Up to (mm), plus or minus (mm). Source: from memory of ISO 2768-1:1989, table 1, class m.
_MEDIUM = ((6.0, 0.1), (30.0, 0.2), (120.0, 0.3), (400.0, 0.5), (1000.0, 0.8), (2000.0, 1.2))
_SAME_MM = 1e-9


@frozen
class Zone:
    """Where a hole's centre may lie.

    is_round : a circle of radius half_mm; else plus or minus half_mm along both axes
    """

    half_mm: float
    is_round: bool
    basis: Basis = "drawing"

    @property
    def width_mm(self) -> float:
        """Across: the diameter of the circle, or the whole of plus and minus."""
        return 2 * self.half_mm

    def reach_mm(self, x: float, y: float) -> float:
        """How far the centre may go along a direction (x, y) of length 1."""
        return self.half_mm * (1.0 if self.is_round else abs(x) + abs(y))


@frozen
class Limits:
    """Least and greatest of a size [mm]; None where there is no limit on that side."""

    least_mm: float | None
    greatest_mm: float | None
    basis: Basis

    @property
    def width_mm(self) -> float | None:
        if self.least_mm is None or self.greatest_mm is None:
            return None
        return self.greatest_mm - self.least_mm


def usual_mm(length_mm: float) -> float:
    """Plus or minus on a length without a tolerance. Source: ISO 2768-1, class m."""
    return next((each for up_to, each in _MEDIUM if abs(length_mm) <= up_to), _MEDIUM[-1][1])


def around(length_mm: float) -> Limits:
    """The usual limits of a length without a tolerance."""
    usual = usual_mm(length_mm)
    return Limits(length_mm - usual, length_mm + usual, "usual")


def zone_of(part: Part, hole: Hole) -> Zone:
    """The zone of a hole's centre: its own, else the part's, else the usual one."""
    if hole.position_mm is not None:
        return Zone(hole.position_mm / 2, is_round=True)
    given = hole.tolerance_mm if hole.tolerance_mm is not None else part.general_tolerance_mm
    if given is not None:
        return Zone(given, is_round=False)
    in_plane = [axis for axis in range(3) if axis != FACE_AXIS[hole.face]]
    farthest = max(_from_datum_mm(part, hole, axis) for axis in in_plane)
    return Zone(usual_mm(farthest), is_round=False, basis="usual")


def _from_datum_mm(part: Part, hole: Hole, axis: int) -> float:
    datum, size = part.datum[axis], part.stock.size_mm[axis]
    at = size / 2 if datum == "centre" else part.stock.face_at_mm(datum)
    return abs(hole.centre_mm[axis] - at)


def size_limits(hole: Hole) -> Limits | None:
    """Limits of the finished diameter: the drawing's, else what a drill leaves; None for a thread.

    Source of the latter: AND10387, by way of the table of drills.
    """
    if hole.thread is not None:
        return None
    if hole.limits_um is not None:
        lower, upper = hole.limits_um
        return Limits(hole.diameter_mm + lower / 1000, hole.diameter_mm + upper / 1000, "drawing")
    if hole.kind.is_as_drilled:
        expected = drilled_limits_mm(hole.diameter_mm)
        if expected is not None:
            return Limits(expected[0], expected[1], "usual")
    return around(hole.diameter_mm)


def true_position_mm(dx_mm: float, dy_mm: float) -> float:
    """Diameter of the zone that a centre off by (dx, dy) would need.

    Source: ASME Y14.5, position: twice the distance.
    """
    return 2 * hypot(dx_mm, dy_mm)


def bonus_mm(size_mm: float, least_mm: float) -> float:
    """What a zone at maximum material gains from a hole above its least size.

    Source: ASME Y14.5, position at MMC.
    """
    return max(0.0, size_mm - least_mm)


Decision = Literal["in", "out", "beyond usual", "not decidable", "not measured"]


def decided(value_mm: float, uncertainty_mm: float, limits: Limits) -> Decision:
    """A reading against limits: in or out only where its uncertainty leaves no doubt.

    Source: ISO 14253-1: conformity is proven inside the limits less the uncertainty, and
    nonconformity outside the limits and the uncertainty.
    """
    doubts = False
    for limit, sign in ((limits.least_mm, -1.0), (limits.greatest_mm, 1.0)):
        if limit is None:
            continue
        over = sign * (value_mm - limit)
        if over > uncertainty_mm + _SAME_MM:
            return "out"
        doubts = doubts or over > -uncertainty_mm + _SAME_MM
    return "not decidable" if doubts else "in"
