"""Screws as they are sold: the lengths that are made, and the thread that they should engage.

Imports the standard library and layer 0.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache

from millprep.reference.materials import material_named
from millprep.reference.tables import inches_to_mm, load_table, screw_inches
from millprep.reference.threads import Thread

LEAST_PITCHES = 3.0  # engaged, whatever the material; common practice
_SHORTEST_INCH = Fraction(1, 8)


@cache
def screw_lengths_mm(thread: Thread) -> tuple[float, ...]:
    """The lengths that a screw of that thread is made in, ascending.

    Source: ISO 888 within the range of ISO 4762; ASME B18.3 for screws measured in inches, and, by
    common practice, for BA.
    """
    if not thread.series.startswith("metric"):
        return _inch_lengths_mm()
    lengths = [float(row["length_mm"]) for row in load_table("screws-lengths-metric").rows]
    for row in load_table("screws-lengths-range").rows:
        if float(row["major_mm"]) == thread.major_mm:
            shortest_mm, longest_mm = float(row["shortest_mm"]), float(row["longest_mm"])
            return tuple(each for each in lengths if shortest_mm <= each <= longest_mm)
    return tuple(lengths)


@cache
def _inch_lengths_mm() -> tuple[float, ...]:
    """The table gives steps, each from where the one before ends."""
    inches = [_SHORTEST_INCH]
    for row in load_table("screws-lengths-inch").rows:
        up_to, step = screw_inches(row["up_to_in"]), screw_inches(row["step_in"])
        assert up_to is not None and step is not None  # the tests hold every row
        while inches[-1] < up_to:
            inches.append(inches[-1] + step)
    return tuple(inches_to_mm(each) for each in inches)


def engagement_diameters(material: str) -> float:
    """Thread to engage in diameters of the screw; of an unknown material the most of the table.

    Source: table `engagement`, common practice.
    """
    rows = load_table("engagement").rows
    found = material_named(material)
    weakest = max(float(row["diameters"]) for row in rows)
    groups = {row["group"]: float(row["diameters"]) for row in rows}
    return groups.get(found.group, weakest) if found is not None else weakest


def wanted_engagement_mm(thread: Thread, material: str) -> float:
    """Thread to engage [mm]: diameters by material, and three pitches at the least."""
    return max(engagement_diameters(material) * thread.major_mm, LEAST_PITCHES * thread.pitch_mm)
