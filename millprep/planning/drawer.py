"""Choosing from the drawer: which tool does it, and whether the cabinet has it.

Sizes that the drawing asks for are used whether or not the cabinet has them, and marked; sizes that
are millprep's choice (pilots, tap drills, drills before a reamer) come from the cabinet when it has
anything that will do. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction
from typing import TypeVar

from millprep.base.records import frozen, replace
from millprep.base.units import MM_PER_INCH
from millprep.model.part import Countersink, Hole, Recess, widened_mm
from millprep.model.shop import Cabinet
from millprep.model.tools import (
    PLUG_LEAD_THREADS,
    SPOT_TIP_FLAT_MM,
    Counterbore,
    Cutter,
    Drill,
    PointedTool,
    Reamer,
    SpotDrill,
    Tap,
)
from millprep.model.tools import Countersink as CountersinkCutter
from millprep.reference.cutters import usual_noses_mm, wanted_point
from millprep.reference.drills import DrillSeries, drill_length_mm, drills
from millprep.reference.materials import Material
from millprep.reference.shared_rules import (
    SHORT_THREAD_DIAMETERS,
    HoleBefore,
    before_reamer,
    before_tap,
)
from millprep.reference.threads import Thread, is_other_form
from millprep.sums.cutting import cone_at_depth_mm
from millprep.sums.reaming import NEAR_MM as SAME_SIZE_MM
from millprep.sums.reaming import best_before_reamer, bought_before_reamer, is_bought

SMALLEST_MADE_MM = 0.1  # of a twist drill (common practice)
BOTTOMING_LEAD_THREADS = 1.5  # 1 to 2 threads
POINT_ANGLE_DEG = 118.0

AnyCutter = TypeVar("AnyCutter", bound=Cutter)


@frozen
class Choice:
    """A tool and whether the cabinet has it."""

    tool: Cutter
    in_drawer: bool


def nearest(tools: Sequence[AnyCutter], diameter_mm: float) -> AnyCutter | None:
    return min(tools, key=lambda tool: abs(tool.diameter_mm - diameter_mm), default=None)


def _same(tools: Sequence[Cutter], diameter_mm: float) -> Cutter | None:
    tool = nearest(tools, diameter_mm)
    if tool is not None and abs(tool.diameter_mm - diameter_mm) <= SAME_SIZE_MM:
        return tool
    return None


def pointed_for(cabinet: Cabinet, material: Material) -> Cabinet:
    """The drawer without the drills that another of their size beats by its point."""
    wanted = wanted_point(material)

    def off_deg(drill: Drill) -> float:
        if wanted is None:
            return abs(drill.angle_deg - POINT_ANGLE_DEG)
        return 0.0 if wanted.suits(drill.angle_deg) else abs(drill.angle_deg - wanted.grind_deg)

    least: dict[float, float] = {}
    for drill in cabinet.drills:
        size_mm = drill.diameter_mm
        least[size_mm] = min(off_deg(drill), least.get(size_mm, math.inf))
    kept = tuple(one for one in cabinet.drills if off_deg(one) == least[one.diameter_mm])
    return replace(cabinet, drills=kept)


def drill_asked(cabinet: Cabinet, diameter_mm: float, words: str) -> Choice:
    """The drill of exactly this size; made up as a jobber drill when the cabinet lacks it."""
    tool = _same(cabinet.drills, diameter_mm)
    if tool is not None:
        return Choice(tool, True)
    made_up = Drill(
        words,
        diameter_mm,
        point_angle_deg=POINT_ANGLE_DEG,
        flute_mm=drill_length_mm("jobber", "flute", diameter_mm),
    )
    return Choice(made_up, False)


def tap_drill(cabinet: Cabinet, hole: Hole, material: Material | None = None) -> Choice:
    """The cabinet's drill nearest the standard's tap drill, larger if two are as near."""
    thread = _thread(hole)
    exact = _same(cabinet.drills, thread.tap_drill_mm)
    if exact is not None:
        return Choice(exact, True)
    before = hole_before_tap(hole)
    fitting = [tool for tool in cabinet.drills if before.is_usual(tool.diameter_mm)]
    if not fitting:
        return drill_asked(cabinet, thread.tap_drill_mm, thread.tap_drill)
    best = min(
        fitting,
        key=lambda tool: (round(abs(tool.diameter_mm - thread.tap_drill_mm), 3), -tool.diameter_mm),
    )
    return Choice(best, True)


def hole_before_tap(hole: Hole) -> HoleBefore:
    """The hole before its tap; a short thread, or one of a class, wants more of its height."""
    thread = _thread(hole)
    engaged_mm = hole.depth_mm - widened_mm(hole.mouth, hole.opened) - widened_mm(hole.far, ())
    is_short = engaged_mm < SHORT_THREAD_DIAMETERS * thread.major_mm - SAME_SIZE_MM
    is_strict = is_short or thread.is_classed
    return before_tap(thread.major_mm, thread.pitch_mm, thread, is_strict)


def ream_drill(cabinet: Cabinet, hole: Hole, material: Material | None = None) -> Choice:
    """The drill whose stock for the reamer comes nearest to the table's, the larger of two.

    Where the drawer has none that will do, the one to buy, of a size that is made. 6 mm gives 5.8,
    in aluminium 5.7. Source of the stock: a training note on undersizes for reaming.
    """
    size_mm, is_hand = hole.diameter_mm, is_reamed_by_hand(cabinet, hole)
    owned = {tool.diameter_mm: tool for tool in reversed(cabinet.drills)}
    best_mm = best_before_reamer(list(owned), size_mm, material, is_hand)
    if best_mm is not None:
        return Choice(owned[best_mm], True)
    for series in _bought(cabinet):
        if made := bought_before_reamer(series, size_mm, material, is_hand):
            return drill_asked(cabinet, made.diameter_mm, made.designation)
    before = before_reamer(size_mm, material, is_hand)
    wanted_mm = max(before.usual_least_mm, SMALLEST_MADE_MM)
    return drill_asked(cabinet, wanted_mm, f"{wanted_mm:.2f} mm")


def _bought(cabinet: Cabinet) -> tuple[tuple[DrillSeries, ...], ...]:
    """The series that a shop buys, first those of its own units: of most drills in its drawer."""
    inch = sum(not tool.words.endswith(" mm") for tool in cabinet.drills)
    metric: tuple[DrillSeries, ...] = ("metric",)
    return (
        (("fraction", "number", "letter"), metric) if 2 * inch > len(cabinet.drills) else (metric,)
    )


def largest_drill_under(cabinet: Cabinet, diameter_mm: float) -> Choice | None:
    """The cabinet's largest drill up to a diameter; None when every one is larger."""
    sizes = [tool.diameter_mm for tool in cabinet.drills]
    index = bisect_right(sizes, diameter_mm)
    return Choice(cabinet.drills[index - 1], True) if index else None


def drill_to_buy(cabinet: Cabinet, most_mm: float) -> Choice:
    """The largest that is made up to a diameter, of the series that the shop buys."""
    made = [
        drill
        for series in _bought(cabinet)[0]
        for drill in drills(series)
        if drill.diameter_mm <= most_mm + SAME_SIZE_MM and is_bought(drill)
    ]
    best = max(made, key=lambda one: one.diameter_mm, default=None)
    if best is None:
        return drill_asked(cabinet, SMALLEST_MADE_MM, f"{SMALLEST_MADE_MM} mm")
    return drill_asked(cabinet, best.diameter_mm, best.designation)


def spot_drill(cabinet: Cabinet, cone_mm: float) -> Choice:
    """The smallest spot drill that cuts a cone this wide, else the widest there is."""
    for tool in cabinet.spot_drills:
        if tool.diameter_mm >= cone_mm:
            return Choice(tool, True)
    if cabinet.spot_drills:
        return Choice(cabinet.spot_drills[-1], True)
    return Choice(
        SpotDrill("10 mm", 10.0, point_angle_deg=90.0, tip_flat_mm=SPOT_TIP_FLAT_MM), False
    )


def widest_cone_mm(tool: Cutter, depth_mm: float) -> float:
    """The widest cone a spot drill can cut no deeper than `depth_mm`."""
    assert isinstance(tool, PointedTool)  # nothing else cuts a cone
    by_depth = cone_at_depth_mm(depth_mm, tool.angle_deg, tool.tip_flat_mm)
    return min(by_depth, tool.diameter_mm)


def reamers(cabinet: Cabinet, hole: Hole) -> list[Choice]:
    """The reamers on size, a machine reamer first; one made up when the cabinet has none."""
    owned = [
        tool for tool in cabinet.reamers if abs(tool.diameter_mm - hole.diameter_mm) <= SAME_SIZE_MM
    ]
    if not owned:
        return [Choice(Reamer(hole.words, hole.diameter_mm), False)]
    return [Choice(tool, True) for tool in sorted(owned, key=lambda tool: tool.is_hand)]


def is_reamed_by_hand(cabinet: Cabinet, hole: Hole) -> bool:
    """Whether the drawer has a hand reamer of the size and no machine reamer."""
    first = reamers(cabinet, hole)[0].tool
    return isinstance(first, Reamer) and first.is_hand


def _thread(hole: Hole) -> Thread:
    assert hole.thread is not None  # nobody taps another
    return hole.thread


def taps(cabinet: Cabinet, hole: Hole) -> list[Choice]:
    """The taps for a thread, longest lead up to a second tap's first, then the bottoming tap.

    A cabinet that has none of the thread gives the two usual ones, not in the drawer.
    """
    thread = _thread(hole)
    owned = [
        tool
        for tool in cabinet.taps
        if tool.pitch_mm is not None
        and abs(tool.pitch_mm - thread.pitch_mm) < 1e-6
        and abs(tool.diameter_mm - thread.major_mm) < SAME_SIZE_MM
        and tool.is_left_hand == thread.is_left_hand
        and not is_other_form(tool.words, thread)
    ]
    if owned:
        usual = [tool for tool in owned if tool.lead_threads <= 5] or owned
        return [Choice(tool, True) for tool in sorted(usual, key=lambda tool: -tool.lead_threads)]
    leads = (PLUG_LEAD_THREADS, BOTTOMING_LEAD_THREADS)
    return [Choice(_tap(thread, lead), False) for lead in leads]


def bottoming_tap(hole: Hole) -> tuple[Choice, ...]:
    """The tap to get where those of the drawer have too much lead."""
    return (Choice(_tap(_thread(hole), BOTTOMING_LEAD_THREADS), False),)


def _tap(thread: Thread, lead_threads: float) -> Tap:
    return Tap(
        thread.designation,
        thread.major_mm,
        pitch_mm=thread.pitch_mm,
        lead_threads=lead_threads,
        is_left_hand=thread.is_left_hand,
    )


def wide_enough(cabinet: Cabinet, cone_mm: float, angle_deg: float) -> list[CountersinkCutter]:
    """The cabinet's countersinks of that angle that open so wide, whatever their noses."""
    return [
        tool
        for tool in cabinet.countersinks
        if abs(tool.angle_deg - angle_deg) < 0.5 and tool.diameter_mm >= cone_mm
    ]


def countersink(cabinet: Cabinet, asked: Countersink, rim_mm: float) -> Choice:
    """The smallest that opens so wide and whose nose goes into the hole, of diameter `rim_mm`.

    Where the cabinet has none, the next size that is made, or that of the countersink itself.
    """
    for tool in wide_enough(cabinet, asked.diameter_mm, asked.angle_deg):
        if tool.tip_flat_mm < rim_mm:
            return Choice(tool, True)
    listed = usual_noses_mm(asked.angle_deg).items()
    made = [
        (size_mm, nose_mm)
        for size_mm, nose_mm in listed
        if size_mm >= asked.diameter_mm and nose_mm < rim_mm
    ]
    size_mm, nose_mm = made[0] if made else (asked.diameter_mm, 0.0)
    made_up = CountersinkCutter(
        f"{size_mm:.1f} mm",
        size_mm,
        point_angle_deg=asked.angle_deg,
        tip_flat_mm=nose_mm,
        is_nose_known=bool(made),
    )
    return Choice(made_up, False)


def recess_cutter(cabinet: Cabinet, asked: Recess) -> Choice:
    """A counterbore of that size, or an end mill that will do as well."""
    tool = _same(cabinet.counterbores, asked.diameter_mm) or _same(
        cabinet.end_mills, asked.diameter_mm
    )
    if tool is not None:
        return Choice(tool, True)
    return Choice(Counterbore(_as_sold(asked.diameter_mm), asked.diameter_mm), False)


def _as_sold(diameter_mm: float) -> str:
    """A size in millimetres, or as a fraction of an inch where it is one and no half millimetre."""
    parts = round(diameter_mm * 64 / float(MM_PER_INCH), 6)
    if parts.is_integer() and not round(diameter_mm * 2, 6).is_integer():
        whole, rest = divmod(int(parts), 64)
        return " ".join(
            filter(None, (str(whole or ""), str(Fraction(rest, 64)) if rest else "", "in"))
        )
    return f"{diameter_mm:g} mm"


LOOSE_MM = 0.1  # a punch is 0.05 to 0.1 under its hole (common practice)
_GOES_IN_MM = 1e-6


def punch_for(hole_mm: float, punches_mm: Sequence[float]) -> float | None:
    """The largest that goes in; None where none is so small."""
    fitting = [one for one in punches_mm if one <= hole_mm + _GOES_IN_MM]
    return max(fitting, default=None)
