"""A hole from the rim of a disc: the slope that it starts on, and the bore that it comes to.

Rules of one hole, like those of `faults`. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding, Saying, stop, warning
from millprep.checks.faults import MEETING_MM, SLACK_MM, found
from millprep.checks.gaps import TOUCHING_MM, Solid, gap_mm
from millprep.checks.solids import Placed
from millprep.checks.space import least_wall_mm
from millprep.model.part import Hole, Part
from millprep.planning.face_order import STEEPEST_BREAK_DEG

STEEPEST_START_DEG = 5.0  # of a face that a drill starts on without wandering (common practice)


_TIP_IN_BORE = warning("tip-through", "hole {0}: only the point of its drill breaks into the bore")
_WALL_TO_BORE = warning(
    "thin-wall",
    "hole {0}: wall to the bore {left_mm:bare}, should be {least_mm}",
    'write allow = ["thin wall"]',
)
_BESIDE_BORE = stop(
    "over-edge",
    "hole {0}: it misses the middle of the bore by {off_mm} and cuts {cut_mm} into its side",
)
_SLOPE_OF_BORE = warning(
    "drilled-on-slope",
    "hole {0} breaks into the bore {off_mm} off its middle, where its wall slopes {slope} degrees",
    "plug the bore before it",
)
_SLOPE_OF_RIM = warning(
    "drilled-on-slope",
    "hole {0} starts {off_mm} off the middle of the rim, where it slopes {slope} degrees",
    "mill a flat there first",
)


def bore_of_disc(part: Part, placed: Placed) -> Iterator[Finding]:
    """A hole from the rim against the bore of the disc: it opens into it, or keeps a wall."""
    stock, hole = part.stock, placed.hole
    if stock.axis is None or stock.bore_mm is None or stock.axis == placed.axis:
        return
    middle = [size / 2 for size in stock.size_mm]
    wide = stock.bore_mm / 2
    bore = Solid(
        stock.axis, (middle[0], middle[1], middle[2]), 0.0, stock.size_mm[stock.axis], wide, wide
    )
    if min(gap_mm(solid, bore) for solid in placed.full) <= MEETING_MM:
        aside = 3 - placed.axis - stock.axis
        yield from _into_side_of_bore(hole, abs(hole.centre_mm[aside] - middle[aside]), wide)
        return
    left, solid = min(
        ((gap_mm(solid, bore), solid) for solid in placed.solids), key=lambda pair: pair[0]
    )
    least = least_wall_mm(2 * min(solid.radius_mm, wide))
    lacking = least - left
    if left <= TOUCHING_MM:
        yield found(_TIP_IN_BORE, lacking, "bore", hole)
    elif lacking > SLACK_MM:
        yield found(_WALL_TO_BORE, lacking, "bore", hole, left_mm=left, least_mm=least)


def _into_side_of_bore(hole: Hole, off: float, wide: float) -> Iterator[Finding]:
    """A hole that opens into the bore of the disc does so near the middle of it.

    off : of its axis beside that middle; wide : the bore's radius
    """
    if off > wide + SLACK_MM:
        cut = wide + hole.diameter_mm / 2 - off
        least = least_wall_mm(2 * min(hole.diameter_mm / 2, wide))
        cut_mm = max(cut, 0)
        yield found(_BESIDE_BORE, least + cut, "bore", hole, off_mm=off, cut_mm=cut_mm)
    elif hole.diameter_mm <= 2 * wide:
        yield from _on_slope(_SLOPE_OF_BORE, "bore", hole, off, wide, STEEPEST_BREAK_DEG)


def slope_of_rim(part: Part, placed: Placed) -> Iterator[Finding]:
    """A drill that starts on the round rim beside the middle wanders down the slope."""
    stock, hole = part.stock, placed.hole
    if stock.axis is None or stock.axis == placed.axis:
        return
    radius = stock.size_mm[placed.axis] / 2
    off = abs(hole.centre_mm[3 - placed.axis - stock.axis] - radius)
    yield from _on_slope(_SLOPE_OF_RIM, "rim", hole, off, radius, STEEPEST_START_DEG)


def _on_slope(
    saying: Saying, about: str, hole: Hole, off: float, radius: float, steepest_deg: float
) -> Iterator[Finding]:
    """A drill that meets a round wall so far beside its middle that it slopes too steeply."""
    slope = math.degrees(math.asin(min(off / radius, 1.0)))
    if slope > steepest_deg + 1e-6:
        most = radius * math.sin(math.radians(steepest_deg))
        yield found(saying, off - most, about, hole, off_mm=off, slope=f"{slope:.0f}")
