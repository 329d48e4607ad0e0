"""Tapping drills for a wanted percentage of thread, from every series or from a cabinet.

The percentage is of 1.2269 P where no other convention is asked for; the one used is always named.
Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from millprep.base.findings import WordError
from millprep.lookup.readings import Reading, notes, percents, reading
from millprep.reference.drills import DRILL_SERIES, SAME_SIZE_MM, drills
from millprep.reference.limits import MinorLimits, minor_limits
from millprep.reference.threads import CONVENTIONS, Convention, Thread

DrillSize = tuple[str, float]  # designation, diameter [mm]
LEAST_PERCENT, MOST_PERCENT = 30.0, 100.0
_EACH_SIDE = 3
_ASKED = r"""
    (?:\bat\s+)? (?P<percent>\d{1,3}(?:\.\d+)?) \s* (?:%|per\ ?cent\b)
    (?:\s*(?:by\s+)? (?P<convention>1\.299|1\.2269|1\.0825|full\ form) (?:\s*p\b)? )?
    """


def percent_asked(text: str) -> tuple[str, float, Convention] | None:
    """ "m6 65%" as ("m6", 65, "1.2269"); None where no percentage is. WordError out of range."""
    is_asked = "%" in text or "cent" in text  # before the pattern is compiled
    match = re.search(_ASKED, text, re.VERBOSE) if is_asked else None
    if match is None:
        return None
    percent = float(match["percent"])
    if percent < LEAST_PERCENT and "drill" in text:
        return None  # "M8 drill 7 percent" asks what a drill of 7 mm leaves
    if not LEAST_PERCENT <= percent <= MOST_PERCENT:
        raise WordError(
            f"{percent:g} % of a thread is not tapped",
            f"ask for {LEAST_PERCENT:g} to {MOST_PERCENT:g} %, as M6 65%",
        )
    convention: Convention = "1.2269"
    for name in CONVENTIONS:
        if name == match["convention"]:
            convention = name
    rest = text[: match.start()] + " " + text[match.end() :]
    return " ".join(rest.split()).removeprefix("tap ").strip(), percent, convention


def percent_reading(
    thread: Thread, percent: float, convention: Convention, drawer: Sequence[DrillSize] | None
) -> Reading:
    """The drills on either side of the hole that leaves that percentage, the nearest first named.

    drawer : the cabinet's drills; None for every series
    """
    exact_mm = thread.drill_mm_for(percent, convention)
    near = _near(_every_drill() if drawer is None else drawer, thread, exact_mm)
    limits = minor_limits(thread)
    best = min(near, key=lambda size: abs(size[1] - exact_mm), default=None)
    lacking = "" if near else f"the drawer has no drill for it: buy {thread.tap_drill}"
    return reading(
        "tapping drills",
        thread.source,
        limits.source if limits else None,
        note=notes(
            lacking,
            "a drill cuts a little over its size, so that the thread comes out a little lower; "
            "outside its class a thread fails the gauge but still holds",
            thread.note,
        ),
        designation=thread.designation,
        percent=percent,
        convention=convention,
        convention_words=CONVENTIONS[convention],
        exact_mm=round(exact_mm, 4),
        drills_of="every series" if drawer is None else "the drawer",
        tap_drill=best[0] if best else None,
        tap_drill_mm=round(best[1], 6) if best else None,
        limits_class=limits.class_name if limits else None,
        drills=[_drill(thread, size, limits) for size in near],
    )


def _drill(thread: Thread, size: DrillSize, limits: MinorLimits | None) -> Reading:
    return {
        "designation": size[0],
        "diameter_mm": round(size[1], 6),
        "percent_thread": percents(thread, size[1]),
        "inside_limits": limits.holds(size[1]) if limits else None,
    }


def _near(sizes: Sequence[DrillSize], thread: Thread, exact_mm: float) -> list[DrillSize]:
    """The nearest few on each side, ascending; none at or below the core, none above the thread."""
    fitting = sorted(
        (size for size in sizes if thread.basic_minor_mm < size[1] < thread.major_mm),
        key=lambda size: size[1],
    )
    below = [size for size in fitting if size[1] <= exact_mm]
    above = [size for size in fitting if size[1] > exact_mm]
    return below[-_EACH_SIDE:] + above[:_EACH_SIDE]


def nearest_of(sizes: Sequence[DrillSize], diameter_mm: float) -> Reading:
    """The largest size not above a diameter and the smallest not below it."""
    by_size = sorted(sizes, key=lambda size: size[1])
    below = [size for size in by_size if size[1] <= diameter_mm + SAME_SIZE_MM]
    above = [size for size in by_size if size[1] >= diameter_mm - SAME_SIZE_MM]
    sides = {"below": below[-1:], "above": above[:1]}
    return {
        side: {"designation": found[0][0], "diameter_mm": round(found[0][1], 6)} if found else None
        for side, found in sides.items()
    }


def _every_drill() -> list[DrillSize]:
    return [
        (drill.designation, drill.diameter_mm)
        for series in DRILL_SERIES
        for drill in drills(series)
    ]
