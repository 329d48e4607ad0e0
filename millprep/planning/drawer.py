"""Choosing from the drawer: which tool does it, and whether the cabinet has it.

Sizes that the drawing asks for are used whether or not the cabinet has them, and marked; sizes that
are millprep's choice (pilots, tap drills, drills before a reamer) come from the cabinet when it has
anything that will do. Imports layers 0 to 3.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from millprep.base.records import frozen
from millprep.model.part import Countersink, Hole, Recess
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
from millprep.reference.cutters import usual_noses_mm
from millprep.reference.drills import drill_length_mm, oversize_mm
from millprep.reference.materials import ream_stock_mm
from millprep.reference.threads import Thread, is_other_form
from millprep.sums.cutting import cone_at_depth_mm

SAME_SIZE_MM = 0.0026  # a drill is the drill asked for within a tenth of a thousandth of an inch
PILOT_ABOVE_MM = 8.0  # light mills pilot from 6 to 8 mm (common practice)
HALF_SIZE_PILOT_ABOVE_MM = 12.7  # from 1/2 in about half size (course text on hole operations)
PILOT_SHARE = 0.3  # just over the chisel edge: 0.2 to 0.3 of the diameter
MOST_PILOT_SHARE = 0.6
LEAST_PILOT_MM = 2.5
REAM_STOCK_TOLERANCE_MM = 0.02  # of an expected oversize that is itself known to 0.05
TAP_DRILL_PERCENT = (50.0, 80.0)  # of full thread by D - 1.299 P, that a drawer's drill may give
BOTTOMING_LEAD_THREADS = 1.5  # 1 to 2 threads
POINT_ANGLE_DEG = 118.0


@frozen
class Choice:
    """A tool and whether the cabinet has it."""

    tool: Cutter
    in_drawer: bool


def _nearest(tools: Sequence[Cutter], diameter_mm: float) -> Cutter | None:
    return min(tools, key=lambda tool: abs(tool.diameter_mm - diameter_mm), default=None)


def _same(tools: Sequence[Cutter], diameter_mm: float) -> Cutter | None:
    tool = _nearest(tools, diameter_mm)
    if tool is not None and abs(tool.diameter_mm - diameter_mm) <= SAME_SIZE_MM:
        return tool
    return None


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


def tap_drill(cabinet: Cabinet, hole: Hole) -> Choice:
    """The cabinet's drill nearest the standard's tap drill, larger if two are as near."""
    thread = _thread(hole)
    low, high = TAP_DRILL_PERCENT
    fitting = [
        tool
        for tool in cabinet.drills
        if low <= thread.percent_thread(tool.diameter_mm) <= high
        and thread.basic_minor_mm <= tool.diameter_mm + 0.05
    ]
    exact = _same(cabinet.drills, thread.tap_drill_mm)
    if exact is not None:
        return Choice(exact, True)
    if not fitting:
        return drill_asked(cabinet, thread.tap_drill_mm, thread.tap_drill)
    best = min(
        fitting,
        key=lambda tool: (round(abs(tool.diameter_mm - thread.tap_drill_mm), 3), -tool.diameter_mm),
    )
    return Choice(best, True)


def ream_drill(cabinet: Cabinet, hole: Hole) -> Choice:
    """The largest drill that still leaves the reamer its stock after the drill's own oversize.

    reamer - stock - expected oversize (stock by diameter: a training note on undersizes for
    reaming; oversize: the handbook's test of drilled holes). 1/4 in gives 6.0 mm.
    """
    reamer_mm = hole.diameter_mm
    stock_mm = ream_stock_mm(reamer_mm)[0]
    for tool in reversed(cabinet.drills):
        diameter = tool.diameter_mm
        if diameter < reamer_mm * 0.8:
            break
        if diameter + oversize_mm(diameter) <= reamer_mm - stock_mm + REAM_STOCK_TOLERANCE_MM:
            return Choice(tool, True)
    ideal = round(reamer_mm - stock_mm - oversize_mm(reamer_mm), 1)
    return drill_asked(cabinet, ideal, f"{ideal:.1f} mm")


def largest_drill_under(cabinet: Cabinet, diameter_mm: float) -> Choice | None:
    """The cabinet's largest drill up to a diameter; None when every one is larger."""
    sizes = [tool.diameter_mm for tool in cabinet.drills]
    index = bisect_right(sizes, diameter_mm)
    return Choice(cabinet.drills[index - 1], True) if index else None


def pilot_drill(cabinet: Cabinet, diameter_mm: float, tip_mm: float) -> Choice | None:
    """The pilot for a drill of this size that goes this deep, if it wants one.

    The cabinet's nearest to the share wanted among those long enough, none over 0.6 of the drill.
    """
    if diameter_mm <= PILOT_ABOVE_MM:
        return None
    share = 0.5 if diameter_mm > HALF_SIZE_PILOT_ABOVE_MM else PILOT_SHARE
    reaching = [
        tool
        for tool in cabinet.drills
        if tool.diameter_mm <= MOST_PILOT_SHARE * diameter_mm
        and (tool.flute_mm is None or tool.flute_mm >= tip_mm + tool.diameter_mm)
    ]
    tool = _nearest(reaching, max(diameter_mm * share, LEAST_PILOT_MM))
    return Choice(tool, True) if tool is not None else None


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
    """The reamer on size, which there always is: made up when the cabinet lacks it."""
    tool = _same(cabinet.reamers, hole.diameter_mm)
    if tool is not None:
        return [Choice(tool, True)]
    made_up = Reamer(hole.words, hole.diameter_mm)
    return [Choice(made_up, False)]


def _thread(hole: Hole) -> Thread:
    assert hole.thread is not None  # nobody taps another
    return hole.thread


def taps(cabinet: Cabinet, hole: Hole) -> list[Choice]:
    """The taps for a thread, longest lead up to a plug tap's first, then the bottoming tap.

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
    return Choice(Counterbore(f"{asked.diameter_mm:g} mm", asked.diameter_mm), False)
