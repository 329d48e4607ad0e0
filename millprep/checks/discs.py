"""A hole from the rim of a disc: the slope that it starts on, and the bore that it comes to.

Rules of one hole, like those of `faults`. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding, words
from millprep.base.units import Length
from millprep.checks.faults import MEETING_MM, SLACK_MM, found
from millprep.checks.gaps import TOUCHING_MM, Solid, gap_mm
from millprep.checks.solids import Placed
from millprep.checks.space import least_wall_mm
from millprep.model.part import Part, Stock

STEEPEST_START_DEG = 5.0  # of a face that a drill starts on without wandering (common practice)
STEEPEST_BREAK_DEG = 30.0
"""Of the wall of a bore where a drill, led by its own hole, still breaks in straight (ours)."""


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
        yield from _into_side_of_bore(part.stock, placed)
        return
    left, solid = min(
        ((gap_mm(solid, bore), solid) for solid in placed.solids), key=lambda pair: pair[0]
    )
    least = least_wall_mm(2 * min(solid.radius_mm, wide))
    if left <= TOUCHING_MM:
        yield found(
            "warning",
            "tip-through",
            words("hole {0}: only the point of its drill breaks into the bore"),
            (hole,),
            least - left,
            about="bore",
        )
    elif left < least - SLACK_MM:
        yield found(
            "warning",
            "thin-wall",
            words(
                "hole {0}: {left} is left to the bore (wanted {least})",
                left=Length(left),
                least=Length(least),
            ),
            (hole,),
            least - left,
            'write allow = ["thin wall"]',
            about="bore",
        )


def _into_side_of_bore(stock: Stock, placed: Placed) -> Iterator[Finding]:
    """A hole that opens into the bore of the disc does so near the middle of it."""
    hole, wide = placed.hole, (stock.bore_mm or 0.0) / 2
    aside = 3 - placed.axis - (stock.axis or 0)
    off = abs(hole.centre_mm[aside] - stock.size_mm[aside] / 2)
    if off > wide + SLACK_MM:
        cut = wide + hole.diameter_mm / 2 - off
        least = least_wall_mm(2 * min(hole.diameter_mm / 2, wide))
        yield found(
            "stop",
            "over-edge",
            words(
                "hole {0}: it passes the middle of the bore {off} aside and cuts {cut} into its "
                "side",
                off=Length(off),
                cut=Length(max(cut, 0)),
            ),
            (hole,),
            least + cut,
            about="bore",
        )
        return
    slope = math.degrees(math.asin(min(off / wide, 1.0)))
    if slope > STEEPEST_BREAK_DEG + 1e-6 and hole.diameter_mm <= 2 * wide:
        most = wide * math.sin(math.radians(STEEPEST_BREAK_DEG))
        yield found(
            "warning",
            "drilled-on-slope",
            words(
                "hole {0} breaks into the bore {off} beside its middle, where its wall slopes "
                "{slope} degrees",
                off=Length(off),
                slope=f"{slope:.0f}",
            ),
            (hole,),
            off - most,
            "plug the bore before it",
            about="bore",
        )


def slope_of_rim(part: Part, placed: Placed) -> Iterator[Finding]:
    """A drill that starts on the round rim beside the middle wanders down the slope."""
    stock, hole = part.stock, placed.hole
    if stock.axis is None or stock.axis == placed.axis:
        return
    radius = stock.size_mm[placed.axis] / 2
    off = abs(hole.centre_mm[3 - placed.axis - stock.axis] - radius)
    slope = math.degrees(math.asin(min(off / radius, 1.0)))
    if slope > STEEPEST_START_DEG + 1e-6:
        most = radius * math.sin(math.radians(STEEPEST_START_DEG))
        yield found(
            "warning",
            "drilled-on-slope",
            words(
                "hole {0} starts {off} beside the middle of the rim, where it slopes {slope} "
                "degrees",
                off=Length(off),
                slope=f"{slope:.0f}",
            ),
            (hole,),
            off - most,
            "mill a flat there first",
            about="rim",
        )
