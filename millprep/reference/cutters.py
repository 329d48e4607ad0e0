"""What cutters leave to custom: points of drills, noses of countersinks, cuts of a boring head.

Imports the standard library and layer 0.
"""

from __future__ import annotations

from functools import cache

from millprep.base.records import frozen
from millprep.reference.materials import Material
from millprep.reference.tables import load_table

_SAME_MM = 0.05  # a countersink is of a listed size within this; listed ones lie 0.3 apart


@cache
def usual_noses_mm(angle_deg: float) -> dict[float, float]:
    """Across the nose by the size of the countersink, ascending; empty where no table has any.

    Source: DIN 335 form C, from memory, 90 degrees only.
    """
    rows = load_table("countersinks-noses").rows if abs(angle_deg - 90.0) <= 0.5 else ()
    return {float(row["diameter_mm"]): float(row["nose_mm"]) for row in rows}


def usual_nose_mm(diameter_mm: float, angle_deg: float) -> float | None:
    """Across the nose of a countersink of that size; None where no table has it."""
    for size_mm, nose_mm in usual_noses_mm(angle_deg).items():
        if abs(size_mm - diameter_mm) <= _SAME_MM:
            return nose_mm
    return None


def boring_cuts_mm(material: Material) -> tuple[float, float]:
    """Off the diameter at one pass of a boring head: at the most, and in each of the last two.

    Source: common practice on a light mill.
    """
    for row in load_table("boring-cuts").rows:
        if row["group"] == material.group:
            return float(row["most_off_mm"]), float(row["last_off_mm"])
    raise KeyError(f"no cuts of a boring head for the group {material.group!r}")


@frozen
class WantedPoint:
    """Angles of a drill's point that a material wants [degrees], and which of them to grind."""

    least_deg: float
    most_deg: float
    grind_deg: float

    def suits(self, angle_deg: float) -> bool:
        return self.least_deg <= angle_deg <= self.most_deg


@cache
def wanted_point(material: Material) -> WantedPoint | None:
    """None where the usual point will do. Source: common practice."""
    for row in load_table("drill-points").rows:
        if row["name"] == material.name:
            return WantedPoint(
                *(float(row[each]) for each in ("least_deg", "most_deg", "grind_deg"))
            )
    return None
