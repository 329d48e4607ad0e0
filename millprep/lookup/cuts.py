"""Speed, feed and pecks of one operation in one material: "drill 6 mm mild steel 40 deep".

The ideal, and beside it what the shop's mill is set to, by the same sums as a plan's. Imports
layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.lookup.bag import Bag, Thing, length_mm
from millprep.lookup.readings import SPEED_FORMULA, Reading, figures, reading, rounded
from millprep.lookup.things import drills_of
from millprep.reference.drills import Drill, DrillSeries
from millprep.reference.fits import HOLE_CLASSES, hole_limits_um
from millprep.reference.materials import Material, drill_feed_mm_per_rev, ream_stock_mm
from millprep.reference.tables import load_table
from millprep.reference.threads import Thread
from millprep.sums.cutting import (
    REAM_FEED_SHARE,
    SPOT_FEED_SHARE,
    SPOT_SPEED_CAP_RPM,
    TAP_SPEED_CAP_RPM,
    deep_shares,
    drilling_speed,
    first_peck_mm,
    ideal_rpm,
    peck_depths_mm,
    reaming_speed,
    recessing_speed,
    spotting_speed,
    tapping_speed,
)
from millprep.sums.reaming import best_before_reamer, bought_before_reamer

if TYPE_CHECKING:
    from millprep.model.shop import Mill, Shop

LARGEST_CUT_MM = 50.0  # beyond any twist drill for these machines
MOST_DEEP_MM = 1000.0
OPERATIONS = ("spot drill", "counterbore", "countersink", "spotface", "bore", "drill")
Planned = Callable[["Mill"], tuple[float, float]]
_SHARES = {"drill": ("drill", 1.0), "spot drill": ("drill", SPOT_FEED_SHARE)}
_SHARES["ream"] = ("ream", REAM_FEED_SHARE)
"""Whose cutting speed, and the share of a drill's feed; else those of a countersink."""
_PLANNED = {"spot drill": spotting_speed, "ream": reaming_speed}
_ROWS = {"speed": "speed", "feed": "feed", "pecks": "first peck", "oil": "lubricant"}


def _asked(bag: Bag, row: str) -> Reading:
    return {"asked": next((own for kind, own in _ROWS.items() if bag.has(kind)), row)}


def cut_asked(bag: Bag) -> list[Reading]:
    """One cut in a material, a drill's where no operation is named.

    Of two sizes the second is the depth. "1 in brass" is an inch, and may be a millimetre in brass.
    """
    operation = next((each for each in OPERATIONS if bag.has(each)), "drill")
    material, is_carbide = bag.value("material"), bag.has("carbide")
    depth_mm = _depth_mm(bag)
    drills = drills_of(bag)[:1]
    words = bag.all("size")[0].words.casefold()
    if words.endswith(" in") and "." not in words and "/" not in words:
        millimetres = Thing(frozenset({"number", "size", "whole"}), words.split()[0], words)
        drills += drills_of(Bag((millimetres,), bag.units))[:1]
        drills = [each for each in drills if each.diameter_mm <= LARGEST_CUT_MM]
    return [
        cut_reading(operation, drill, material, depth_mm, is_carbide, bag.shop)
        | _asked(bag, "speed")
        for drill in drills
    ]


def material_wanted(bag: Bag) -> list[Reading]:
    """WordError: no cut is made in nothing."""
    what = next((each.words for each in bag.things if "size" not in each.kinds), "speed")
    size = bag.all("size")[0].words
    if not drills_of(bag):
        raise WordError(f"{shown(size)} is not a drill size", 'ask as "drill 6 mm brass"')
    raise WordError(f"{what} at {size}: in which material?", f'ask as "{what} {size} brass"')


def _depth_mm(bag: Bag) -> float | None:
    if bag.has("depth"):
        depth_mm = length_mm(bag.value("depth"), bag.units)
    elif len(bag.all("size")) > 1:
        depth_mm = bag.mm("size", 1)
    else:
        return None
    if not 0 < depth_mm <= MOST_DEEP_MM:
        raise WordError(
            f"no hole is {depth_mm:g} mm deep", 'write it as "drill 6 mm brass 40 deep"'
        )
    return depth_mm


def tapping_asked(bag: Bag) -> list[Reading]:
    """Tapping in a material."""
    material = bag.value("material")
    found = [tapping_reading(each, material, bag.shop) for each in bag.value("thread")[0]]
    return [each | _asked(bag, "speed") for each in found]


def reaming_asked(bag: Bag) -> list[Reading]:
    """A reamer: the drill before it, from the drawer where there is one, then stock and limits."""
    material = bag.value("material")
    classes = bag.value("class", ["H7"])
    return [
        reaming_reading(drill, material, classes[0], bag) | _asked(bag, "drill first")
        for drill in drills_of(bag)[:1]
    ]


def reaming_reading(drill: Drill, material: Material | None, fit: str, bag: Bag) -> Reading:
    """A reamer of that size; speeds only where the material is known.

    in_drawer : whether the drill is from the drawer; None where no drawer is known
    """
    size_mm = drill.diameter_mm
    before, is_owned = _before_reamer(drill, material, bag)
    stock_mm = ream_stock_mm(size_mm, material)
    limits_um = hole_limits_um(size_mm, fit) if fit in HOLE_CLASSES else None
    given: Reading = {
        "drill": before[0] if before else None,
        "drill_mm": rounded(before[1]) if before else None,
        "in_drawer": is_owned,
        "drawer_of": bag.shop().name if bag.shop is not None else "cabinet's",
        "stock_mm": list(stock_mm),
        "class": fit if limits_um else None,
        "limits_um": list(limits_um) if limits_um else None,
    }
    if material is not None:
        return cut_reading("ream", drill, material, shop=bag.shop) | given
    return reading(
        "cut",
        load_table("ream-stock").source,
        operation="ream",
        tool="high speed steel",
        **figures(drill, "designation", "diameter_mm", "diameter_in"),
        material=None,
        rpm=None,
        **given,
    )


def _before_reamer(
    reamer: Drill, material: Material | None, bag: Bag
) -> tuple[tuple[str, float] | None, bool | None]:
    """The drill before a reamer, by the rule of a plan; whether it is in the drawer."""
    size_mm, owned = reamer.diameter_mm, bag.drawer
    if bag.shop is not None:
        owned = [(each.words, each.diameter_mm) for each in bag.shop().cabinet.drills]
    best_mm = best_before_reamer([each for _, each in owned or ()], size_mm, material)
    if best_mm is not None:
        return next(each for each in owned or () if each[1] == best_mm), True
    series: tuple[DrillSeries, ...] = ("fraction", "number", "letter")
    is_metric = reamer.series.startswith("metric")
    found = bought_before_reamer(("metric",) if is_metric else series, size_mm, material)
    is_owned = None if owned is None else False
    return ((found.designation, found.diameter_mm) if found else None), is_owned


def cut_reading(
    operation: str,
    drill: Drill,
    material: Material,
    depth_mm: float | None = None,
    is_carbide: bool = False,
    shop: Callable[[], Shop] | None = None,
) -> Reading:
    """Ideal speed and feed of a tool of that diameter in a material, and the shop's own step."""
    diameter_mm, is_drill = drill.diameter_mm, operation == "drill"
    kind, feed_share = _SHARES.get(operation, ("countersink", SPOT_FEED_SHARE))
    speed = _carbide(operation, material) if is_carbide else getattr(material, f"{kind}_m_per_min")
    shares = deep_shares(depth_mm, diameter_mm) if is_drill and depth_mm else (1.0, 1.0)
    rpm = ideal_rpm(speed * shares[0], diameter_mm)
    if operation == "spot drill":
        rpm = min(rpm, SPOT_SPEED_CAP_RPM)
    feed = drill_feed_mm_per_rev(diameter_mm) * material.feed_factor * feed_share * shares[1]

    def planned_on(mill: Mill) -> tuple[float, float]:
        if is_drill:
            return drilling_speed(diameter_mm, depth_mm or 0.0, material, mill)
        return _PLANNED.get(operation, recessing_speed)(diameter_mm, material, mill)

    return _cut(
        material,
        (speed * shares[0], rpm, feed),
        operation=operation,
        tool="solid carbide" if is_carbide else "high speed steel",
        **figures(drill, "designation", "diameter_mm", "diameter_in"),
        depth_mm=depth_mm,
        deep_speed_share=shares[0],
        deep_feed_share=shares[1],
        **_set(None if is_carbide else shop, planned_on),
        **_pecks(diameter_mm, depth_mm, material, is_drill),
        stock_mm=None,
    )


def _set(shop: Callable[[], Shop] | None, planned: Planned) -> Reading:
    """The speed that a plan sets on the shop's mill, and the feed there."""
    if shop is None:
        return {"set_rpm": None, "set_feed_mm_per_min": None, "shop": None}
    rpm, feed = planned(shop().mill)
    return {"set_rpm": rounded(rpm), "set_feed_mm_per_min": round(feed, 1), "shop": shop().name}


def _pecks(
    diameter_mm: float, depth_mm: float | None, material: Material, is_drill: bool
) -> Reading:
    """The first peck of a drill, and with a depth where each ends."""
    if not is_drill:
        return {"first_peck_mm": None, "pecks_mm": []}
    first = material.first_peck_diameters
    pecks_mm = () if depth_mm is None else peck_depths_mm(depth_mm, diameter_mm, first)
    return {
        "first_peck_mm": round(first_peck_mm(diameter_mm, first), 3),
        "pecks_mm": [round(each, 3) for each in pecks_mm],
    }


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


def tapping_reading(
    thread: Thread, material: Material, shop: Callable[[], Shop] | None = None
) -> Reading:
    """Speed of a machine tap in a material, capped as in a plan; its feed is the pitch, exactly."""
    speed, major_mm, pitch_mm = material.tap_m_per_min, thread.major_mm, thread.pitch_mm
    most_rpm = TAP_SPEED_CAP_RPM if shop is None else shop().control.tap_speed_rpm
    rpm = ideal_rpm(speed, major_mm)
    why = f"{most_rpm:g} rev/min at most: a light spindle must stop and turn back in time"
    return _cut(
        material,
        (speed, min(rpm, most_rpm), pitch_mm),
        capped=why if rpm > most_rpm else None,
        operation="tap",
        tool="high speed steel",
        designation=thread.designation,
        diameter_mm=rounded(major_mm),
        diameter_in=rounded(major_mm / 25.4),
        **figures(thread, "tap_drill", "tap_drill_mm"),
        **_set(shop, lambda mill: tapping_speed(major_mm, pitch_mm, material, mill, most_rpm)),
    )


def _cut(material: Material, speeds: tuple[float, float, float], **given: Any) -> Reading:
    """speeds : cutting speed [m/min], rev/min and feed [mm a turn]"""
    speed, rpm, feed_mm_per_rev = speeds
    diameter_mm = given["diameter_mm"]
    return reading(
        "cut",
        material.source,
        sum="speed",
        given={"speed_m_per_min": rounded(speed), "diameter_mm": diameter_mm},
        result={
            "rpm": round(rpm),
            "feed_mm_per_min": round(round(rpm) * feed_mm_per_rev, 1),
            "set_rpm": given.get("set_rpm"),
        },
        formula=SPEED_FORMULA,
        **given,
        material=material.name,
        speed_m_per_min=rounded(speed),
        rpm=round(rpm),
        feed_mm_per_rev=round(feed_mm_per_rev, 4),
        feed_mm_per_min=round(round(rpm) * feed_mm_per_rev, 1),
        lubricant=material.lubricant,
        advice=material.advice,
    )
