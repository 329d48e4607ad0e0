"""How far holes may be off their places so that every screw or pin goes in: the worst case.

Zones are diameters [mm]: a zone of 0.4 lets the axis lie 0.2 off any way. H is the least hole, F
the greatest screw or pin. Pure sums that import nothing.
Source: ASME Y14.5, appendix with formulas for positional tolerancing, floating and fixed fasteners.
"""

from __future__ import annotations

import math


def floating_zone_mm(hole_least_mm: float, screw_greatest_mm: float) -> float:
    """T = H - F, for each part on its own, where the screw passes them all.

    Below 0 the screw does not pass at all.
    """
    return hole_least_mm - screw_greatest_mm


def fixed_zones_mm(
    hole_least_mm: float, screw_greatest_mm: float, share: float = 0.5
) -> tuple[float, float]:
    """(T1, T2) with T1 + T2 = H - F: of the clear hole and of the thread or pin that is fixed.

    share : of the whole that the clear hole gets. The fixed one's zone has to hold over the
    thickness of the clear part that stands on it (a projected zone), since a thread that leans
    carries the screw off. Where it does not, see `leaning_fixed_zone_mm`.
    """
    whole_mm = hole_least_mm - screw_greatest_mm
    return share * whole_mm, (1 - share) * whole_mm


def leaning_fixed_zone_mm(
    hole_least_mm: float, screw_greatest_mm: float, thread_mm: float, stands_out_mm: float
) -> float:
    """T, alike for clear hole and thread, where the thread's zone is not projected.

    From H = F + T1 + T2 (1 + 2 P / D): within its zone a thread of depth D (`thread_mm`) may lean,
    and at the height P (`stands_out_mm`) of the clear part the screw is off by that much more.
    """
    return (hole_least_mm - screw_greatest_mm) / (2 + 2 * stands_out_mm / thread_mm)


def bonus_mm(hole_actual_mm: float, hole_least_mm: float) -> float:
    """What a hole above its least adds to its zone, where the drawing says MMC (a ringed M)."""
    return max(hole_actual_mm - hole_least_mm, 0.0)


def zone_of_square_mm(plus_or_minus_mm: float) -> float:
    """The zone round a place that is within +/- a along both axes: through its corners."""
    return 2 * math.sqrt(2) * plus_or_minus_mm
