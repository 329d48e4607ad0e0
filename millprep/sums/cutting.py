"""Depths, pecks, speeds and feeds: the sums of the trade as pure functions.

        |<-- d -->|
     ---+         +---   face, Z0
        |         |  ^
        |         |  | depth to the full diameter (what a drawing gives)
        |         |  v
         \\       /   ^
           \\   /     | point = d/2 / tan(angle/2): 0.300 d at 118 degrees
             v       v  tip: where the drill's Z goes

All lengths mm, speeds rev/min, feeds mm/min. Imports layers 0 to 2.
"""

from __future__ import annotations

import math

from millprep.model.shop import Control, Mill
from millprep.reference.materials import Material, drill_feed_mm_per_rev

LEAST_BREAKTHROUGH_MM = 1.0  # or a tenth of the drill (common practice, 0.04 in)
BREAKTHROUGH_SHARE = 0.1
BELT_TOLERANCE = 1.15  # highest step up to this much over the ideal speed (common practice)
CRUMB_SHARE = 0.2  # of a peck: a smaller last bite goes with the one before
SMALL_PECK_SHARE = 0.5
SPOT_SPEED_CAP_RPM = 3000.0  # common practice
TAP_SPEED_CAP_RPM = Control().tap_speed_rpm  # where no shop file says another
REAM_FEED_SHARE = 2.5  # two to three times the drill's feed
SPOT_FEED_SHARE = 0.5
MILL_FEED_SHARE = 0.25  # of a drill's feed a turn, for each tooth of an end mill

# Deep holes: share of speed and feed left from this many diameters on. A published guide for
# high-speed steel drills: 3 d -10/-10 %, 4 d -20/-10, 5 d -30/-20, 6 d -35/-20.
_DEEP = ((6.0, 0.65, 0.8), (5.0, 0.7, 0.8), (4.0, 0.8, 0.9), (3.0, 0.9, 0.9))


def point_length_mm(diameter_mm: float, point_angle_deg: float) -> float:
    """Length of a drill's point: half the diameter over the tangent of half the angle."""
    return diameter_mm / 2 / math.tan(math.radians(point_angle_deg / 2))


def cone_depth_mm(cone_mm: float, angle_deg: float, tip_flat_mm: float = 0.0) -> float:
    """How deep a spot drill or countersink goes for a cone of that diameter at the face."""
    return (cone_mm - tip_flat_mm) / 2 / math.tan(math.radians(angle_deg / 2))


def cone_at_depth_mm(depth_mm: float, angle_deg: float, tip_flat_mm: float = 0.0) -> float:
    """The inverse of `cone_depth_mm`."""
    return tip_flat_mm + 2 * depth_mm * math.tan(math.radians(angle_deg / 2))


def breakthrough_mm(diameter_mm: float) -> float:
    """How far the full diameter of a drill goes beyond the far face."""
    return max(LEAST_BREAKTHROUGH_MM, BREAKTHROUGH_SHARE * diameter_mm)


def ideal_rpm(surface_m_per_min: float, diameter_mm: float) -> float:
    """n = 1000 V / (pi d)."""
    return 1000 * surface_m_per_min / (math.pi * diameter_mm)


def nearest_speed_rpm(ideal: float, mill: Mill, most_rpm: float = math.inf) -> float:
    """The speed to set: the highest step up to 1.15 of the ideal, else the slowest there is."""
    ideal = min(ideal, most_rpm)
    if mill.speed_range_rpm is not None:
        low, high = mill.speed_range_rpm
        return float(min(max(math.floor(ideal / 10) * 10, low), high))
    highest = min(ideal * BELT_TOLERANCE, most_rpm)
    allowed = [speed for speed in mill.speeds_rpm if speed <= highest]
    return max(allowed) if allowed else mill.slowest_rpm


def deep_shares(depth_mm: float, diameter_mm: float) -> tuple[float, float]:
    """(speed, feed) share left at this depth."""
    ratio = depth_mm / diameter_mm
    for least, speed, feed in _DEEP:
        if ratio >= least:
            return speed, feed
    return 1.0, 1.0


def drilling_speed(
    diameter_mm: float, depth_mm: float, material: Material, mill: Mill
) -> tuple[float, float]:
    """(rpm, feed) of a drill of high-speed steel at that depth."""
    speed_share, feed_share = deep_shares(depth_mm, diameter_mm)
    rpm = nearest_speed_rpm(ideal_rpm(material.drill_m_per_min * speed_share, diameter_mm), mill)
    per_rev = drill_feed_mm_per_rev(diameter_mm) * material.feed_factor * feed_share
    return rpm, _whole_feed(rpm * per_rev, mill)


def spotting_speed(cone_mm: float, material: Material, mill: Mill) -> tuple[float, float]:
    """(rpm, feed) of a spot drill, by the diameter of its cone."""
    ideal = min(ideal_rpm(material.drill_m_per_min, cone_mm), SPOT_SPEED_CAP_RPM)
    rpm = nearest_speed_rpm(ideal, mill)
    per_rev = drill_feed_mm_per_rev(cone_mm) * material.feed_factor * SPOT_FEED_SHARE
    return rpm, _whole_feed(rpm * per_rev, mill)


def reaming_speed(diameter_mm: float, material: Material, mill: Mill) -> tuple[float, float]:
    """(rpm, feed) of a machine reamer: half the speed, two to three times the feed."""
    rpm = nearest_speed_rpm(ideal_rpm(material.ream_m_per_min, diameter_mm), mill)
    per_rev = drill_feed_mm_per_rev(diameter_mm) * material.feed_factor * REAM_FEED_SHARE
    return rpm, _whole_feed(rpm * per_rev, mill)


def recessing_speed(diameter_mm: float, material: Material, mill: Mill) -> tuple[float, float]:
    """(rpm, feed) of a countersink, counterbore or boring head, by its largest diameter."""
    ideal = ideal_rpm(material.countersink_m_per_min, diameter_mm)
    rpm = nearest_speed_rpm(ideal, mill)
    per_rev = drill_feed_mm_per_rev(diameter_mm) * material.feed_factor * SPOT_FEED_SHARE
    return rpm, _whole_feed(rpm * per_rev, mill)


def milling_speed(
    diameter_mm: float, teeth: int, material: Material, mill: Mill
) -> tuple[float, float]:
    """(rpm, feed at its edge) of an end mill: as fast as a drill of its size, and a tooth takes a
    quarter of what a drill is fed a turn, 0.004 of the diameter (common practice)."""
    rpm = nearest_speed_rpm(ideal_rpm(material.drill_m_per_min, diameter_mm), mill)
    a_tooth = MILL_FEED_SHARE * drill_feed_mm_per_rev(diameter_mm) * material.feed_factor
    return rpm, _whole_feed(rpm * teeth * a_tooth, mill)


def tapping_speed(
    major_mm: float, pitch_mm: float, material: Material, mill: Mill, most_rpm: float
) -> tuple[float, float]:
    """(rpm, feed) of a tap under power: the feed is exactly speed times pitch.

    most_rpm : of the shop for a tap; what the spindle cannot turn so slowly, or the mill not
        feed so fast, is left to the hand
    """
    rpm = nearest_speed_rpm(ideal_rpm(material.tap_m_per_min, major_mm), mill, most_rpm)
    return rpm, rpm * pitch_mm


def _whole_feed(feed_mm_per_min: float, mill: Mill) -> float:
    """Feeds above 10 mm/min are given to whole millimetres, never above the mill's."""
    capped = min(feed_mm_per_min, mill.max_feed_mm_per_min)
    return float(math.floor(capped)) if capped >= 10 else round(max(capped, 0.1), 1)


def first_peck_mm(diameter_mm: float, first_peck_diameters: float) -> float:
    """By the material; a drill under 1 mm takes half a diameter (common practice)."""
    return diameter_mm * (SMALL_PECK_SHARE if diameter_mm < 1 else first_peck_diameters)


def peck_depths_mm(
    depth_mm: float, diameter_mm: float, first_peck_diameters: float
) -> tuple[float, ...]:
    """Depths of the tip after each peck, ending in `depth_mm`; empty when one go will do.

    First bite by the material, then one diameter, below five diameters half of one; a drill under
    1 mm takes half a diameter throughout (common practice). A last bite of less than a fifth of
    the step is no bite: the one before takes it along.
    """
    first = first_peck_mm(diameter_mm, first_peck_diameters)
    if depth_mm <= first * (1 + CRUMB_SHARE):
        return ()
    depths = [first]
    while True:
        deep = diameter_mm < 1 or depths[-1] >= 5 * diameter_mm - 1e-9
        step = diameter_mm * (0.5 if deep else 1.0)
        if depth_mm - depths[-1] <= step * (1 + CRUMB_SHARE):
            return (*depths, depth_mm)
        depths.append(depths[-1] + step)
