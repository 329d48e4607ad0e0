"""What could stand in for a tool that the drawer lacks, best first, each with its consequence.

Nothing is chosen here: the person reads what a substitute costs and decides. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.model.shop import Cabinet
from millprep.model.tools import (
    BoringHead,
    Counterbore,
    Countersink,
    Cutter,
    Drill,
    EndMill,
    Reamer,
    SpotDrill,
    Tap,
)
from millprep.planning.pull_list import Pulled
from millprep.reference.clearance import GRADES, Clearance
from millprep.reference.drills import oversize_mm
from millprep.reference.materials import ream_stock_mm
from millprep.reference.threads import Thread, thread_named
from millprep.sizes.screw_words import clearances_meant

MOST_SHOWN = 3
THREAD_PERCENT = (40.0, 100.0)  # of full thread by D - 1.299 P, beyond which none is offered
BEST_THREAD_PERCENT = 65.0  # 60 to 70 in home workshops (common practice)
NEAR_SHARE = 0.08  # a plain hole's stand-in is no farther off than this share of its size
REAMER_NEAR_MM = 0.1
WIDER_RECESS_SHARE = 0.25
THREAD_NEAR_SHARE = 0.2
LEAST_BORED_MM = 8.0  # a boring bar smaller than that is seldom at hand (common practice)


@frozen
class StandIn:
    """A tool of the drawer that could be used instead, and what comes of it."""

    tool: Cutter
    consequence: str


Found = Iterator[tuple[float, StandIn]]
"""With a figure of merit: the least is the best."""


def stand_ins(pulled: Pulled, part: Part, cabinet: Cabinet) -> tuple[StandIn, ...]:
    """The nearest substitutes for a tool, best first; empty for one that the drawer has."""
    if pulled.in_drawer:
        return ()
    holes = [hole for hole in part.holes if hole.name in pulled.holes]
    ranked = sorted(_found(pulled.tool, holes, cabinet), key=lambda pair: pair[0])
    return tuple(one for _, one in ranked[:MOST_SHOWN])


def _found(missing: Cutter, holes: Sequence[Hole], cabinet: Cabinet) -> Found:
    match missing:
        case Drill():
            yield from _for_drill(missing, holes, cabinet)
        case Reamer():
            yield from _for_reamer(missing, holes, cabinet)
        case Tap():
            yield from _for_tap(missing, cabinet)
        case Countersink():
            yield from _for_countersink(missing, cabinet)
        case SpotDrill():
            yield from _for_spot_drill(missing, cabinet)
        case Counterbore() | EndMill():
            yield from _for_recess(missing, cabinet)


def _for_drill(missing: Cutter, holes: Sequence[Hole], cabinet: Cabinet) -> Found:
    """By what the drill is for: the hole first asked for decides."""
    hole = holes[0] if holes else None
    if hole is not None and hole.thread is not None and missing.diameter_mm < hole.diameter_mm:
        yield from _tap_drills(hole.thread, cabinet.drills)
    elif hole is not None and hole.kind.is_reamed and missing.diameter_mm < hole.diameter_mm:
        yield from _ream_drills(hole, cabinet.drills)
    else:
        clearance = _clearance_of(hole) if hole is not None else None
        if clearance is not None and hole is not None and _is_same(missing, hole):
            yield from _clear_drills(clearance, hole, cabinet.drills)
        else:
            yield from _plain_drills(missing, hole, cabinet.drills)


def _is_same(tool: Cutter, hole: Hole) -> bool:
    return abs(tool.diameter_mm - hole.diameter_mm) < 1e-6


def _tap_drills(thread: Thread, drills: Iterable[Cutter]) -> Found:
    low, high = THREAD_PERCENT
    for drill in drills:
        percent = thread.percent_thread(drill.diameter_mm)
        if low <= percent <= high and drill.diameter_mm >= thread.basic_minor_mm:
            left = thread.percent_thread(drill.diameter_mm + oversize_mm(drill.diameter_mm))
            own = thread.percent_thread(drill.diameter_mm, "full form")
            yield (
                abs(percent - BEST_THREAD_PERCENT),
                StandIn(
                    drill,
                    f"{percent:.0f} % of full thread by 1.299 P, {own:.0f} % of its own form; "
                    f"about {left:.0f} % by 1.299 P after the drill's usual oversize",
                ),
            )


def _ream_drills(hole: Hole, drills: Iterable[Cutter]) -> Found:
    least, most = ream_stock_mm(hole.diameter_mm)
    for drill in drills:
        cut = drill.diameter_mm + oversize_mm(drill.diameter_mm)
        left = hole.diameter_mm - cut
        if 0.02 <= left <= 3 * most:
            verdict = (
                "too little: it rubs"
                if left < least / 2
                else ("much: ream in two goes" if left > 1.5 * most else "good")
            )
            yield (
                max(least - left, left - most, 0.0),
                StandIn(
                    drill,
                    f"cuts about {cut:.2f} mm and leaves the reamer {left:.2f} mm ({verdict}; "
                    f"{least:.2f} to {most:.2f} is usual)",
                ),
            )


def _clearance_of(hole: Hole) -> Clearance | None:
    """The screw's clearance holes, where the hole is made to clear one that is known."""
    if not hole.screw:
        return None
    found = clearances_meant(hole.screw)
    return next(
        (
            one
            for one in found
            if any(abs(one.hole(g)[1] - hole.diameter_mm) < 1e-6 for g in GRADES)
        ),
        None,
    )


def _clear_drills(clearance: Clearance, hole: Hole, drills: Iterable[Cutter]) -> Found:
    screw_mm = clearance.thread.major_mm
    for drill in drills:
        room, off = drill.diameter_mm - screw_mm, abs(drill.diameter_mm - hole.diameter_mm)
        if room > 0.0 and off <= NEAR_SHARE * hole.diameter_mm:
            grade = _grade_words(drill.diameter_mm, clearance)
            yield (
                off,
                StandIn(
                    drill, f"leaves {room:.2f} mm round {clearance.thread.designation}, {grade}"
                ),
            )


def _grade_words(diameter_mm: float, clearance: Clearance) -> str:
    sizes = {
        "close": clearance.close_mm,
        "normal": clearance.normal_mm,
        "loose": clearance.loose_mm,
    }
    if diameter_mm < clearance.close_mm - 1e-6:
        return f"tighter than close ({clearance.close_mm:g}): the holes must agree well"
    if diameter_mm > clearance.loose_mm + 1e-6:
        return f"looser than loose ({clearance.loose_mm:g}): put a washer under the head"
    named = [grade for grade, size in sizes.items() if abs(size - diameter_mm) < 1e-6]
    if named:
        return f"the {named[0]} hole"
    low, high = ("close", "normal") if diameter_mm < clearance.normal_mm else ("normal", "loose")
    return f"between {low} ({sizes[low]:g}) and {high} ({sizes[high]:g})"


def _plain_drills(missing: Cutter, hole: Hole | None, drills: Iterable[Cutter]) -> Found:
    """The nearest; where the hole has limits, whether what the drill usually cuts is within."""
    for drill in drills:
        off = drill.diameter_mm - missing.diameter_mm
        if abs(off) > NEAR_SHARE * missing.diameter_mm:
            continue
        words = f"{abs(off):.2f} mm {'over' if off > 0 else 'under'} on diameter"
        if hole is not None and hole.limits_um is not None and _is_same(missing, hole):
            cut = off + oversize_mm(drill.diameter_mm)
            low, high = (limit / 1000 for limit in hole.limits_um)
            where = "within" if low <= cut <= high else "outside"
            words += f"; cuts about {hole.diameter_mm + cut:.2f} mm, {where} the limits given"
        yield abs(off), StandIn(drill, words)


def _for_reamer(missing: Cutter, holes: Sequence[Hole], cabinet: Cabinet) -> Found:
    upper = next((h.limits_um[1] / 1000 for h in holes if h.limits_um is not None), None)
    lower = next((h.limits_um[0] / 1000 for h in holes if h.limits_um is not None), None)
    for reamer in cabinet.reamers:
        off = reamer.diameter_mm - missing.diameter_mm
        if abs(off) <= REAMER_NEAR_MM:
            outside = upper is not None and lower is not None and not lower <= off <= upper
            yield (
                abs(off),
                StandIn(
                    reamer,
                    f"{abs(off):.3f} mm {'over' if off > 0 else 'under'} on diameter"
                    + (", outside the limits of the fit: fit the pin to it" if outside else ""),
                ),
            )
    if missing.diameter_mm >= LEAST_BORED_MM:
        head = BoringHead(missing.words, missing.diameter_mm)
        yield REAMER_NEAR_MM, StandIn(head, "bored to size, measured with the pin that goes in")
    for drill in cabinet.drills:
        cut = drill.diameter_mm + oversize_mm(drill.diameter_mm) - missing.diameter_mm
        if abs(cut) <= REAMER_NEAR_MM:
            side = "over" if cut > 0 else "under"
            words = f"cuts about {abs(cut):.2f} mm {side}, and not round enough for a fit"
            yield REAMER_NEAR_MM + abs(cut), StandIn(drill, words)


def _for_tap(missing: Tap, cabinet: Cabinet) -> Found:
    """No tap cuts another thread: what can change is the screw."""
    seen: set[str] = set()
    for tap in cabinet.taps:
        off = tap.diameter_mm - missing.diameter_mm
        if tap.words in seen or abs(off) > THREAD_NEAR_SHARE * missing.diameter_mm:
            continue
        if tap.is_left_hand != missing.is_left_hand:
            continue
        seen.add(tap.words)
        yield (
            abs(off),
            StandIn(
                tap,
                f"another thread: the screw becomes {tap.words}, {abs(off):.2f} mm "
                f"{'thicker' if off > 0 else 'thinner'}, pitch {tap.pitch_mm:.3g} for "
                f"{missing.pitch_mm:.3g} mm{_flanks(tap, missing)}; change the mating hole too",
            ),
        )


def _flanks(tap: Tap, missing: Tap) -> str:
    """Of what form the other thread is; nothing where it is the same."""
    cuts, wanted = thread_named(tap.words), thread_named(missing.words)
    if cuts is None or wanted is None or cuts.form == wanted.form:
        return ""
    return f", flanks at {cuts.form.words}, instead of {wanted.form.words}"


def _for_countersink(missing: Countersink, cabinet: Cabinet) -> Found:
    wanted = missing.angle_deg
    for tool in (*cabinet.countersinks, *cabinet.spot_drills):
        angle = tool.angle_deg
        short = missing.diameter_mm - tool.diameter_mm
        if abs(angle - wanted) < 0.5:
            if short > 0:
                yield 1 + short, StandIn(tool, f"opens {short:.1f} mm less than is wanted")
            else:
                yield 0.0, StandIn(tool, f"the same cone of {angle:g} deg")
        elif short <= 0:
            where = "on its rim" if angle > wanted else "at the foot of its cone"
            yield (
                10 + abs(angle - wanted),
                StandIn(tool, f"{angle:g} deg for {wanted:g}: the head bears {where} only"),
            )


def _for_recess(missing: Cutter, cabinet: Cabinet) -> Found:
    for tool in (*cabinet.counterbores, *cabinet.end_mills):
        wider = tool.diameter_mm - missing.diameter_mm
        if 0 < wider <= WIDER_RECESS_SHARE * missing.diameter_mm:
            yield wider, StandIn(tool, f"{wider:.1f} mm wider: look at the wall that is left")
        elif isinstance(tool, EndMill) and -0.5 * missing.diameter_mm <= wider < 0:
            yield (
                missing.diameter_mm - wider,
                StandIn(tool, f"milled round in a circle, {-wider / 2:.2f} mm off the centre"),
            )


def _for_spot_drill(missing: SpotDrill, cabinet: Cabinet) -> Found:
    for tool in cabinet.countersinks:
        angle = tool.angle_deg
        if angle <= 90.5:
            yield (
                abs(tool.diameter_mm - missing.diameter_mm),
                StandIn(tool, "a countersink with a sharp point starts a drill; feed gently"),
            )
