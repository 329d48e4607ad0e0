"""A tapped hole that opens into a bore: drill point and tap lead run out into the opening.

Seen along the bore, of radius R, with the hole's axis e beside the bore's; depths from the face:

    face ----+---+----      near wall on the axis  c - sqrt(R^2 - e^2)
             |   |          all of a tool of radius r is out at  c - sqrt(R^2 - (e + r)^2)
           .-|   |-.        c, the bore's axis
          (  '---'  )       its corners meet the far wall at  c + sqrt(R^2 - (e + r)^2),
           '-.___.-'        its tip at  c + sqrt(R^2 - e^2)

Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from millprep.base.records import frozen
from millprep.model.part import FACE_AXIS, Hole
from millprep.model.tools import Cutter, Drill
from millprep.sums.cutting import point_length_mm

SHORT_OF_WALL_MM = 0.5  # that a drill's point stays off the far wall (common practice)
SAME_MM = 1e-6


@frozen
class Opening:
    """The bore that a hole runs out into: how deep its axis lies, how far aside, its radius."""

    bore: str
    axis_mm: float
    aside_mm: float
    radius_mm: float

    def half_mm(self, tool_radius_mm: float) -> float:
        """From the bore's axis to its wall beside a tool of that radius, along the hole."""
        return math.sqrt(max(self.radius_mm**2 - (self.aside_mm + tool_radius_mm) ** 2, 0.0))

    @property
    def near_mm(self) -> float:
        """Depth at which the hole's axis comes out."""
        return self.axis_mm - self.half_mm(0.0)

    def out_mm(self, tool_radius_mm: float) -> float:
        """Depth at which all of it is out."""
        return self.axis_mm - self.half_mm(tool_radius_mm)

    @property
    def far_mm(self) -> float:
        """Depth of the far wall on the hole's axis."""
        return self.axis_mm + self.half_mm(0.0)

    def most_mm(self, drill: Cutter) -> float:
        """How deep the full diameter of a drill may go: neither tip nor corners meet the wall."""
        radius = drill.diameter_mm / 2
        angle = drill.angle_deg if isinstance(drill, Drill) else 180.0
        corners = self.axis_mm + self.half_mm(radius)
        tip = self.far_mm - point_length_mm(drill.diameter_mm, angle)
        return min(corners, tip) - SHORT_OF_WALL_MM


def opening_of(hole: Hole, holes: Iterable[Hole]) -> Opening | None:
    """The bore into which a blind tapped hole opens by what the part says; None where none is."""
    if hole.thread is None or hole.is_through or hole.from_both_ends:
        return None
    named = {*hole.meets, hole.goes_into}
    for bore in holes:
        if bore.name in named or bore.group in hole.meets:
            opening = _opening(hole, bore)
            ends_there = opening is not None and (
                bore.name == hole.goes_into
                or opening.near_mm - SAME_MM <= hole.depth_mm <= opening.far_mm
            )
            if ends_there:
                return opening
    return None


def _opening(hole: Hole, bore: Hole) -> Opening | None:
    """Where the bore lies across the hole and is long enough."""
    along, other = FACE_AXIS[hole.face], FACE_AXIS[bore.face]
    if along == other:
        return None
    aside = abs(hole.centre_mm[3 - along - other] - bore.centre_mm[3 - along - other])
    down = abs(hole.centre_mm[other] - bore.centre_mm[other])
    if aside >= bore.diameter_mm / 2 or down + hole.diameter_mm / 2 > bore.depth_mm + SAME_MM:
        return None
    deep = abs(hole.centre_mm[along] - bore.centre_mm[along])
    return Opening(bore.name, deep, aside, bore.diameter_mm / 2)
