"""Pilots: a thin drill first, so that the web of a thick one has nothing to push through.

As few as will do for a whole part, and rather a drill that is wanted anyway. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.model.shop import Cabinet
from millprep.model.tools import Cutter, Drill
from millprep.planning.depths import Reach, drill_reach
from millprep.planning.drawer import nearest

ALWAYS_FROM_MM = 12.7  # 1/2 in: the thrust of the web is too much for a light mill (course text)
WEB_SHARE, WEB_SHARES = 0.25, (0.2, 0.4)  # just over the chisel edge: 0.2 to 0.3 (common practice)
MOST_SHARE = 0.6  # of the drill, beyond which its lips alone are left to guide it
LEAST_PILOT_MM = 2.5  # thinner ones wander and break in a deep hole (common practice)
THIN_SHEET_SHARE = 0.5  # of the drill: a thinner sheet is no guide to it (common practice)
NEAR_EQUAL_MM = 0.2  # two drills so alike are not worth a change of tools
ABOVE_TIP_MM = 0.5  # that a pilot's tip stays above the last drill's in a blind hole


@frozen
class Piloted:
    """A hole that wants a pilot: its last drill, and how deep that goes."""

    drill_mm: float
    reach: Reach


def wants_pilot(hole: Hole, drill_mm: float, cabinet: Cabinet) -> bool:
    """Whether the drill is thick enough, and what it goes into too."""
    is_thin = hole.is_through and hole.depth_mm < THIN_SHEET_SHARE * drill_mm
    return drill_mm >= min(cabinet.pilot_from_mm, ALWAYS_FROM_MM) and not is_thin


def pilot_reach(hole: Hole, tool: Cutter, last: Reach) -> Reach:
    """Just through by its own point; in a blind hole its tip stays above the last drill's."""
    point = drill_reach(tool, 0.0).tip_mm
    if hole.is_through and not hole.from_both_ends:
        return drill_reach(tool, hole.depth_mm)
    return Reach(last.tip_mm - ABOVE_TIP_MM - point, last.tip_mm - ABOVE_TIP_MM)


def pilots_for(
    cabinet: Cabinet, piloted: Iterable[Piloted], used: Collection[float]
) -> Mapping[float, Drill]:
    """The pilot of each drill that wants one and can have it, by the drill's diameter.

    used : diameters of the drills that the part wants anyway. The deepest hole chooses first, so
        that its pilot is long enough for the others.
    """
    deepest: dict[float, float] = {}
    for one in piloted:
        deepest[one.drill_mm] = max(deepest.get(one.drill_mm, 0.0), one.reach.tip_mm)
    chosen: dict[float, Drill] = {}
    for drill_mm, tip_mm in sorted(deepest.items(), key=lambda one: -one[1]):
        wanted_mm = max(WEB_SHARE * drill_mm, LEAST_PILOT_MM)
        fitting = [tool for tool in cabinet.drills if _fits(tool, drill_mm, tip_mm)]
        low_mm, high_mm = (share * drill_mm for share in WEB_SHARES)
        as_thick = [tool for tool in fitting if low_mm <= tool.diameter_mm <= high_mm]
        pilots = [tool for tool in as_thick if tool in chosen.values()]
        at_hand = [tool for tool in as_thick if tool.diameter_mm in used]
        best = nearest(pilots or at_hand or fitting, wanted_mm)
        if best is not None:
            known = [t for t in fitting if t in chosen.values() or t.diameter_mm in used]
            near = [t for t in known if abs(t.diameter_mm - best.diameter_mm) < NEAR_EQUAL_MM]
            chosen[drill_mm] = nearest(near, best.diameter_mm) or best
    return chosen


def _fits(tool: Drill, drill_mm: float, tip_mm: float) -> bool:
    is_long = tool.flute_mm is None or tool.flute_mm >= tip_mm + tool.diameter_mm
    is_thin = LEAST_PILOT_MM <= tool.diameter_mm <= MOST_SHARE * drill_mm
    return is_long and is_thin and drill_reach(tool, 0.0).tip_mm < tip_mm - ABOVE_TIP_MM
