"""Speed, feed and pecks of one operation in one material: "drill 6 mm mild steel 40 deep".

Ideal figures; what a mill's own spindle speeds make of them is the plan's business. Imports layers
0 to 3.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from millprep.base.findings import WordError
from millprep.base.units import Units, read_length
from millprep.lookup.readings import Reading, figures, reading, rounded
from millprep.reference.drills import Drill
from millprep.reference.materials import (
    Material,
    drill_feed_mm_per_rev,
    material_named,
    ream_stock_mm,
)
from millprep.reference.threads import Thread
from millprep.sizes import hand_of, threads_meant
from millprep.sums.cutting import (
    REAM_FEED_SHARE,
    SPOT_FEED_SHARE,
    SPOT_SPEED_CAP_RPM,
    TAP_SPEED_CAP_RPM,
    deep_shares,
    first_peck_mm,
    ideal_rpm,
    peck_depths_mm,
)

LARGEST_CUT_MM = 50.0  # beyond any twist drill for these machines
_DEEP = re.compile(r"[\s,x]+(?P<depth>\S+(?:\s*(?:mm|in))?)\s*deep$|\s+deep\s+(?P<after>\S.*)$")
ReadDrill = Callable[[str], Drill | None]


def cut_readings(rest: str, operation: str, read: ReadDrill, units: Units) -> list[Reading]:
    """The one cut that the words name, or nothing where they name no size and material.

    rest  : "6 mm mild steel", "6 carbide in 6082, 30 deep", "M6 brass"
    read  : a drill size in words, None where it is none
    units : of a bare depth
    """
    rest, depth_mm = _depth(rest, units)
    plain = re.sub(r"\b(solid )?carbide\b", " ", rest)
    is_carbide, words = plain != rest, plain.split()
    for count in range(len(words) - 1, 0, -1):
        size, name = " ".join(words[:count]), " ".join(words[count:]).removeprefix("in ")
        if (material := material_named(name)) is None:
            continue
        if operation == "tap":
            found = threads_meant(hand_of(size)[0])
            if len(found) == 1:
                return [tapping_reading(found[0], material)]
            continue
        drill = read(size)
        if drill is not None and drill.diameter_mm <= LARGEST_CUT_MM:  # "6 in brass" is 6 mm
            return [cut_reading(operation, drill, material, depth_mm, is_carbide)]
    return []


def _depth(rest: str, units: Units) -> tuple[str, float | None]:
    """The words without " 40 deep", and the depth [mm]; WordError for one that is no length."""
    match = _DEEP.search(rest)
    if match is None:
        return rest, None
    depth_mm = float(read_length(match["depth"] or match["after"], units))
    if not 0 < depth_mm <= 1000:
        raise WordError(f"no hole is {depth_mm:g} mm deep", 'write the depth as "40 deep"')
    return rest[: match.start()], depth_mm


def cut_reading(
    operation: str,
    drill: Drill,
    material: Material,
    depth_mm: float | None = None,
    is_carbide: bool = False,
) -> Reading:
    """Ideal speed and feed of a tool of that diameter in a material."""
    diameter_mm = drill.diameter_mm
    speed, feed_share, extra = _how(operation, diameter_mm, material, depth_mm)
    if is_carbide:
        speed = _carbide(operation, material)
    speed_share, deep_feed_share = 1.0, 1.0
    if operation == "drill" and depth_mm is not None:
        speed_share, deep_feed_share = deep_shares(depth_mm, diameter_mm)
    rpm = ideal_rpm(speed * speed_share, diameter_mm)
    if operation == "spot drill":
        rpm = min(rpm, SPOT_SPEED_CAP_RPM)
    feed = drill_feed_mm_per_rev(diameter_mm) * material.feed_factor * feed_share * deep_feed_share
    return _cut(
        material,
        (speed * speed_share, rpm, feed),
        operation=operation,
        tool="solid carbide" if is_carbide else "high speed steel",
        **figures(drill, "designation", "diameter_mm", "diameter_in"),
        depth_mm=depth_mm,
        deep_speed_share=speed_share,
        deep_feed_share=deep_feed_share,
        **extra,
    )


def _how(
    operation: str, diameter_mm: float, material: Material, depth_mm: float | None
) -> tuple[float, float, Reading]:
    """Cutting speed, share of the drill's feed, and the fields of the operation's own."""
    extra: Reading = {"first_peck_mm": None, "pecks_mm": [], "stock_mm": None}
    if operation == "ream":
        extra["stock_mm"] = list(ream_stock_mm(diameter_mm, material))
        return material.ream_m_per_min, REAM_FEED_SHARE, extra
    if operation in ("countersink", "counterbore", "spotface"):
        return material.countersink_m_per_min, SPOT_FEED_SHARE, extra
    if operation == "spot drill":
        return material.drill_m_per_min, SPOT_FEED_SHARE, extra
    first = first_peck_mm(diameter_mm, material.first_peck_diameters)
    extra["first_peck_mm"] = round(first, 3)
    if depth_mm is not None:
        pecks = peck_depths_mm(depth_mm, diameter_mm, material.first_peck_diameters)
        extra["pecks_mm"] = [round(each, 3) for each in pecks]
    return material.drill_m_per_min, 1.0, extra


def _carbide(operation: str, material: Material) -> float:
    if operation != "drill":
        raise WordError(
            f"no carbide speed is listed to {operation}", "carbide speeds are listed for drills"
        )
    if material.carbide_m_per_min is None:
        raise WordError(
            f"no carbide speed is listed for {material.name}",
            "a sharp drill of high speed steel serves it better",
        )
    return material.carbide_m_per_min


def tapping_reading(thread: Thread, material: Material) -> Reading:
    """Speed of a machine tap in a material, capped as in a plan; its feed is the pitch, exactly."""
    speed, most_rpm = material.tap_m_per_min, TAP_SPEED_CAP_RPM
    rpm = ideal_rpm(speed, thread.major_mm)
    why = f"{most_rpm:g} rev/min at most: a light spindle must stop and turn back in time"
    return _cut(
        material,
        (speed, min(rpm, most_rpm), thread.pitch_mm),
        capped=why if rpm > most_rpm else None,
        operation="tap",
        tool="high speed steel",
        designation=thread.designation,
        diameter_mm=rounded(thread.major_mm),
        diameter_in=rounded(thread.major_mm / 25.4),
        **figures(thread, "tap_drill", "tap_drill_mm"),
    )


def _cut(material: Material, speeds: tuple[float, float, float], **given: Any) -> Reading:
    """speeds : cutting speed [m/min], rev/min and feed [mm a turn]"""
    speed, rpm, feed_mm_per_rev = speeds
    return reading(
        "cut",
        material.source,
        **given,
        material=material.name,
        speed_m_per_min=rounded(speed),
        rpm=round(rpm),
        feed_mm_per_rev=round(feed_mm_per_rev, 4),
        feed_mm_per_min=round(round(rpm) * feed_mm_per_rev, 1),
        lubricant=material.lubricant,
        advice=material.advice,
    )
