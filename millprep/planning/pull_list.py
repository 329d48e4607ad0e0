"""The tools to pull, in order of use; and what could stand in for those that the drawer lacks.

Nothing is chosen here: the person reads what a substitute costs and decides. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from millprep.base.records import anew, frozen
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
from millprep.planning.drawer import is_reamed_by_hand
from millprep.planning.plan import Operation, Plan
from millprep.reference.clearance import GRADES, Clearance
from millprep.reference.drills import oversize_mm
from millprep.reference.materials import Material, material_named, ream_stock_mm
from millprep.reference.shared_rules import before_reamer
from millprep.reference.threads import Thread, thread_named
from millprep.sizes.screw_words import clearances_meant


@frozen
class Pulled:
    """A tool of the job: where it is used, whether the cabinet has it, how deep it must reach.

    threads : that are tapped in the holes of a drill
    """

    number: int
    tool: Cutter
    in_drawer: bool
    setups: tuple[int, ...]
    holes: tuple[str, ...]
    operations: tuple[str, ...]
    deepest_mm: float
    threads: tuple[Thread, ...] = ()


def pull_list(plan: Plan, setup_number: int | None = None) -> list[Pulled]:
    """Every tool once, in the order in which it is first used."""
    uses: dict[Cutter, list[tuple[int, str, str, float, bool]]] = {}
    threads: dict[Cutter, dict[Thread, None]] = {}
    for setup_plan in plan.setups:
        number = setup_plan.setup.number
        if setup_number is not None and number != setup_number:
            continue
        for o in setup_plan.operations:
            use = (number, o.hole.name, o.name, -o.z_mm, o.in_drawer)
            uses.setdefault(o.tool, []).append(use)
            if o.hole.thread is not None and _is_before_tap(o):
                threads.setdefault(o.tool, {})[o.hole.thread] = None
    pulled = []
    for tool, of_tool in uses.items():
        setups, holes, names, depths, owned = zip(*of_tool, strict=True)
        where, at, does = (tuple(dict.fromkeys(each)) for each in (setups, holes, names))
        number = plan.tool_numbers[tool]
        tapped = tuple(threads.get(tool, ()))
        pulled.append(Pulled(number, tool, all(owned), where, at, does, max(depths), tapped))
    return pulled


def _is_before_tap(operation: Operation) -> bool:
    """A drill that leaves the thread its core; wider ones only open the mouth."""
    return operation.name == "drill" and operation.tool.diameter_mm < operation.hole.diameter_mm


MOST_SHOWN = 3
THREAD_PERCENT = (40.0, 100.0)  # of a thread of 1.2269 P, beyond which none is offered
BEST_THREAD_PERCENT = 70.0  # 60 to 80 in home workshops (common practice)
NEAR_SHARE = 0.08  # a plain hole's stand-in is no farther off than this share of its size
REAMER_NEAR_MM = 0.1
WIDER_RECESS_SHARE = 0.25
THREAD_NEAR_SHARE = 0.2
LEAST_BORED_MM = 8.0  # a boring bar smaller than that is seldom at hand (common practice)


@frozen
class StandIn:
    """A tool of the drawer that could be used instead, and what comes of it.

    says : which sentence of the tools list; figures : what stands in it, lengths in mm
    """

    tool: Cutter
    says: str
    figures: Mapping[str, Any] = anew(factory=dict)


Found = Iterator[tuple[float, StandIn]]
"""With a figure of merit: the least is the best."""


def stand_ins(pulled: Pulled, part: Part, cabinet: Cabinet) -> tuple[StandIn, ...]:
    """The nearest substitutes for a tool, best first; empty for one that the drawer has."""
    if pulled.in_drawer:
        return ()
    holes = [hole for hole in part.holes if hole.name in pulled.holes]
    material = material_named(part.material)
    ranked = sorted(_found(pulled.tool, holes, cabinet, material), key=lambda pair: pair[0])
    return tuple(one for _, one in ranked[:MOST_SHOWN])


def _found(
    missing: Cutter, holes: Sequence[Hole], cabinet: Cabinet, material: Material | None
) -> Found:
    match missing:
        case Drill():
            yield from _for_drill(missing, holes, cabinet, material)
        case Reamer():
            yield from _for_reamer(missing, holes, cabinet)
        case Tap():
            yield from _for_tap(missing, cabinet)
        case Countersink():
            yield from _for_countersink(missing, holes, cabinet)
        case SpotDrill():
            yield from _for_spot_drill(missing, cabinet)
        case Counterbore() | EndMill():
            yield from _for_recess(missing, cabinet)


def _for_drill(
    missing: Cutter, holes: Sequence[Hole], cabinet: Cabinet, material: Material | None
) -> Found:
    """By what the drill is for: the hole first asked for decides."""
    hole = holes[0] if holes else None
    if hole is not None and hole.thread is not None and missing.diameter_mm < hole.diameter_mm:
        yield from _tap_drills(hole.thread, cabinet.drills)
    elif hole is not None and hole.kind.is_reamed and missing.diameter_mm < hole.diameter_mm:
        yield from _ream_drills(hole, cabinet, material)
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
        if low <= percent <= high:
            left = thread.percent_thread(drill.diameter_mm + oversize_mm(drill.diameter_mm))
            figures = {"percent": percent, "cut_percent": left}
            yield abs(percent - BEST_THREAD_PERCENT), StandIn(drill, "instead-tap-drill", figures)


def _ream_drills(hole: Hole, cabinet: Cabinet, material: Material | None) -> Found:
    """Reamer less drill against the table, as the drill before a reamer is chosen."""
    is_hand = is_reamed_by_hand(cabinet, hole)
    before = before_reamer(hole.diameter_mm, material, is_hand)
    least, most = ream_stock_mm(hole.diameter_mm, material, is_hand)
    for drill in cabinet.drills:
        size = drill.diameter_mm
        if before.least_mm <= size and size + oversize_mm(size) <= before.most_mm:
            verdict = "too little: it rubs" if size > before.usual_most_mm else "good"
            verdict = "much: ream in two goes" if size < before.usual_least_mm else verdict
            left = hole.diameter_mm - size
            figures = {"left": left, "verdict": verdict, "least": least, "most": most}
            yield max(least - left, left - most, 0.0), StandIn(drill, "instead-ream-drill", figures)


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
    for drill in drills:
        room = drill.diameter_mm - clearance.thread.major_mm
        off = abs(drill.diameter_mm - hole.diameter_mm)
        if room > 0.0 and off <= NEAR_SHARE * hole.diameter_mm:
            says, grades = _grade(drill.diameter_mm, clearance)
            named = {"room": room, "thread": clearance.thread.designation}
            worse = NEAR_SHARE * hole.diameter_mm if says == "tight" else 0.0  # it may not go in
            yield off + worse, StandIn(drill, f"instead-{says}-drill", named | grades)


def _grade(diameter_mm: float, clearance: Clearance) -> tuple[str, dict[str, Any]]:
    """How the hole of a drill lies to those of the grades."""
    sizes = {
        "close": clearance.close_mm,
        "normal": clearance.normal_mm,
        "loose": clearance.loose_mm,
    }
    if diameter_mm < clearance.close_mm - 1e-6:
        return "tight", {"grade": "close", "hole": clearance.close_mm}
    if diameter_mm > clearance.loose_mm + 1e-6:
        return "loose", {"grade": "loose", "hole": clearance.loose_mm}
    for grade, size in sizes.items():
        if abs(size - diameter_mm) < 1e-6:
            return "clearance", {"grade": grade}
    low, high = ("close", "normal") if diameter_mm < clearance.normal_mm else ("normal", "loose")
    between = {"hole": sizes[low], "wider_grade": high, "wider_hole": sizes[high]}
    return "between", {"grade": low, **between}


def _plain_drills(missing: Cutter, hole: Hole | None, drills: Iterable[Cutter]) -> Found:
    """The nearest; where the hole has limits, whether what the drill usually cuts is within."""
    for drill in drills:
        off = drill.diameter_mm - missing.diameter_mm
        if abs(off) > NEAR_SHARE * missing.diameter_mm:
            continue
        figures: dict[str, Any] = {"off": abs(off), "way": "over" if off > 0 else "under"}
        if hole is not None and hole.limits_um is not None and _is_same(missing, hole):
            cut = off + oversize_mm(drill.diameter_mm)
            low, high = (limit / 1000 for limit in hole.limits_um)
            figures["limits"] = "within" if low <= cut <= high else "outside"
            figures["cut"] = hole.diameter_mm + cut
        yield abs(off), StandIn(drill, "instead-plain-drill", figures)


def _for_reamer(missing: Cutter, holes: Sequence[Hole], cabinet: Cabinet) -> Found:
    upper = next((h.limits_um[1] / 1000 for h in holes if h.limits_um is not None), None)
    lower = next((h.limits_um[0] / 1000 for h in holes if h.limits_um is not None), None)
    for reamer in cabinet.reamers:
        off = reamer.diameter_mm - missing.diameter_mm
        if abs(off) <= REAMER_NEAR_MM:
            outside = upper is not None and lower is not None and not lower <= off <= upper
            figures = {
                "off": abs(off),
                "way": "over" if off > 0 else "under",
                "limits": "outside" if outside else "within",
            }
            yield abs(off), StandIn(reamer, "instead-reamer", figures)
    if missing.diameter_mm >= LEAST_BORED_MM:
        head = BoringHead(missing.words, missing.diameter_mm)
        yield REAMER_NEAR_MM, StandIn(head, "instead-bored")
    for drill in cabinet.drills:
        cut = drill.diameter_mm + oversize_mm(drill.diameter_mm) - missing.diameter_mm
        if abs(cut) <= REAMER_NEAR_MM:
            way = {"off": abs(cut), "way": "over" if cut > 0 else "under"}
            yield REAMER_NEAR_MM + abs(cut), StandIn(drill, "instead-drill-for-reamer", way)


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
        figures = {
            "screw": tap.words,
            "off": abs(off),
            "way": "thicker" if off > 0 else "thinner",
            "pitch": tap.pitch_mm,
            "wanted_pitch": missing.pitch_mm,
        }
        yield abs(off), StandIn(tap, "instead-tap", figures | _flanks(tap, missing))


def _flanks(tap: Tap, missing: Tap) -> dict[str, str]:
    """Of what form the other thread is; nothing where it is the same."""
    cuts, wanted = thread_named(tap.words), thread_named(missing.words)
    if cuts is None or wanted is None or cuts.form == wanted.form:
        return {}
    return {"flanks": cuts.form.words, "wanted_flanks": wanted.form.words}


def _for_countersink(missing: Countersink, holes: Sequence[Hole], cabinet: Cabinet) -> Found:
    wanted = missing.angle_deg
    drilled = [one.thread.tap_drill_mm if one.thread else one.diameter_mm for one in holes]
    for tool in (*cabinet.countersinks, *cabinet.spot_drills):
        if tool.tip_flat_mm >= min(drilled, default=math.inf):
            continue  # its nose rests on the rim
        angle = tool.angle_deg
        short = missing.diameter_mm - tool.diameter_mm
        if abs(angle - wanted) < 0.5:
            if short > 0:
                yield 1 + short, StandIn(tool, "instead-short-cone", {"off": short})
            else:
                yield 0.0, StandIn(tool, "instead-same-cone", {"angle": angle})
        elif short <= 0:
            figures = {
                "angle": angle,
                "wanted_angle": wanted,
                "where": "on its rim" if angle > wanted else "at the foot of its cone",
            }
            yield 10 + abs(angle - wanted), StandIn(tool, "instead-other-cone", figures)


def _for_recess(missing: Cutter, cabinet: Cabinet) -> Found:
    for tool in (*cabinet.counterbores, *cabinet.end_mills):
        wider = tool.diameter_mm - missing.diameter_mm
        if 0 < wider <= WIDER_RECESS_SHARE * missing.diameter_mm:
            yield wider, StandIn(tool, "instead-wide-recess", {"off": wider})
        elif isinstance(tool, EndMill) and -0.5 * missing.diameter_mm <= wider < 0:
            milled = StandIn(tool, "instead-milled", {"off": -wider / 2})
            yield missing.diameter_mm - wider, milled


def _for_spot_drill(missing: SpotDrill, cabinet: Cabinet) -> Found:
    for tool in cabinet.countersinks:
        angle = tool.angle_deg
        if angle <= 90.5:
            off = abs(tool.diameter_mm - missing.diameter_mm)
            yield off, StandIn(tool, "instead-started")
