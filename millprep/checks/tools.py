"""Whether the tools reach and have room, and run at a fit speed. Layers 0 to 3, planning."""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding, stop, warning
from millprep.base.records import replace
from millprep.checks.registry import Job, at_hole, check, check_of_setup, offering
from millprep.model.part import OPPOSITE, Hole
from millprep.model.tools import Countersink, Cutter, Drill, EndMill, Reamer, Tap
from millprep.planning import tool_words
from millprep.planning.depths import Reach, last_drill_reach, lead_mm, least_floor_mm, runs_out
from millprep.planning.drawer import wide_enough
from millprep.planning.openings import opening_of
from millprep.planning.plan import Operation, SetupPlan
from millprep.reference.fits import hole_limits_um
from millprep.reference.materials import COUNTERSINK_SHARE, REAM_SHARE, material_named

_TAP_BOTTOMS = stop(
    "tap-bottoms",
    "hole {0}: drilled {drilled_mm} deep; for {depth_mm} of full thread the tap goes to {end_mm}",
    "drill {deep_mm} deep, or ask for {thread_mm} of thread",
)


_TAP_MEETS_FAR_WALL = stop(
    "tap-bottoms",
    "hole {0}: with a lead of {lead_mm} the tap comes to the far wall of {1} before its thread is "
    "whole at the near one",
    "cut it with a tap of {most_mm} of lead or less, or make {0} smaller",
)


_HAND_REAMER_BLIND = stop(
    "hand-reamer-blind",
    "hole {0}: the taper of a hand reamer is {lead_mm:1} long: for {depth_mm:1} of full size the "
    "drill would have to go {drilled_mm:1} deep, in {there_mm:1}",
    "write a machine reamer of the size into the drawer, or ream it right through",
)


@check_of_setup
def hand_reamer_room(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A hand reamer is of full size only beyond its long taper, which a short blind hole has no
    room for (common practice)."""
    drilled: dict[str, float] = {}
    for operation in setup_plan.operations:
        hole, tool, end = operation.hole, operation.tool, -operation.z_mm
        if operation.name == "drill":
            drilled[hole.name] = end
        if not isinstance(tool, Reamer) or not tool.is_hand or hole.is_through:
            continue
        there = job.thickness_mm(hole) if hole.drill_depth_mm is None else hole.drill_depth_mm
        least = least_floor_mm(hole.diameter_mm) if hole.drill_depth_mm is None else 0.0
        deep = drilled.get(hole.name, end) if hole.drill_depth_mm is None else end
        if deep + least > there + 1e-9:
            yield job.finding(
                _HAND_REAMER_BLIND,
                hole,
                lead_mm=tool.lead_mm,
                depth_mm=hole.depth_mm,
                drilled_mm=deep,
                there_mm=there,
            )


@check
def tap_runs_out(job: Job) -> Iterator[Finding]:
    """A tap that runs out into a bore has room for its lead before the far wall."""
    holes = {hole.name: hole for hole in job.plan.part.holes}
    for setup_plan in job.plan.setups:
        for operation in setup_plan.operations:
            hole, tool = operation.hole, operation.tool
            opening = opening_of(hole, holes.values()) if isinstance(tool, Tap) else None
            reach = Reach(operation.full_mm, -operation.z_mm)
            if opening is not None and not runs_out(reach, hole, opening):
                yield job.finding(
                    _TAP_MEETS_FAR_WALL,
                    hole,
                    holes[opening.bore],
                    lead_mm=lead_mm(tool),
                    most_mm=max(reach.tip_mm - min(hole.depth_mm, opening.near_mm), 0.0),
                )


@check_of_setup
def tap_room(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A blind tapped hole is drilled deeper than the end of its tap."""
    for operation in setup_plan.operations:
        hole, tool, end = operation.hole, operation.tool, -operation.z_mm
        if not isinstance(tool, Tap) or hole.thread is None or hole.is_through:
            continue
        drilled, pitch = hole.drill_depth_mm, hole.thread.pitch_mm
        if drilled is not None and drilled < end - 1e-9:
            found = job.finding(
                _TAP_BOTTOMS,
                hole,
                drilled_mm=drilled,
                depth_mm=hole.depth_mm,
                end_mm=end,
                deep_mm=end + pitch,
                thread_mm=max(drilled - lead_mm(tool) - pitch, 0.0),
            )
            deep = job.at_least(end + pitch)
            yield offering(found, at_hole("drill_depth", deep, changes="drawing"))


_TOO_FAST = 1.15  # the slowest speed this much over the table's is too fast, if not by far

_BEYOND_FLUTES = stop(
    "beyond-flutes",
    "hole {0}: {tool} needs {deep_mm:1 bare} of flute and has {flute_mm:exact}",
    "use a longer one{otherwise}",
)
_FLUTES_FULL = warning(
    "flutes-full",
    "hole {0}: {tool} goes {deep_mm:1 bare} deep with {flute_mm:exact} of flute: the swarf has no "
    "way out",
    "withdraw it fully at every peck, or use a longer one",
)
_SPINDLE_TOO_FAST = warning(
    "too-fast",
    "{name} with {tool} wants {ideal} rev/min, the slowest speed is {slowest}",
    "feed by hand in short bites with plenty of oil, or use another machine",
)
_NOT_REAMED = warning(
    "fit-not-reamed",
    "hole {0}: {fit} wants {low_mm:3 bare} to {high_mm:3 bare}, a reamer on size leaves "
    "{least_mm:3 bare} to {most_mm:3 bare}",
    "fit the pin to the hole, or use a reamer ground for this fit",
)


@check_of_setup
def reach(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """No tool goes deeper than its flutes; drills keep a diameter of flute for the chips."""
    for operation in setup_plan.operations:
        tool, deep = operation.tool, -operation.z_mm
        if tool.flute_mm is None or not isinstance(tool, Drill | Reamer | Tap | EndMill):
            continue
        if isinstance(tool, Reamer) and job.plan.part.layers:
            continue  # its neck follows it through a stack: `stacked` asks how far it reaches
        chip_room = tool.diameter_mm if isinstance(tool, Drill) else 0.0
        if deep > tool.flute_mm - chip_room:
            is_beyond = deep > tool.flute_mm
            otherwise = _otherwise(job, setup_plan, operation, tool.flute_mm) if is_beyond else ""
            found = job.finding(
                _BEYOND_FLUTES if is_beyond else _FLUTES_FULL,
                operation.hole,
                tool=tool_words(tool),
                deep_mm=deep,
                flute_mm=tool.flute_mm,
                otherwise=otherwise,
            )
            yield offering(found, at_hole("from_both_ends", "true")) if otherwise else found


def _otherwise(job: Job, setup_plan: SetupPlan, operation: Operation, flute_mm: float) -> str:
    """Half way from either end, where that is possible and enough."""
    hole = operation.hole
    is_halved = hole.from_both_ends or bool(job.plan.part.layers)  # a stack is not turned over
    if not hole.is_through or not isinstance(operation.tool, Drill) or is_halved:
        return ""
    if any(
        one.setup.face == OPPOSITE[hole.face] and one.setup.obstacles for one in job.plan.setups
    ):
        return ""  # a clamp may stand over its other end
    halved = replace(hole, from_both_ends=True)
    of_hole = [one.tool for one in setup_plan.operations if one.hole.name == hole.name]
    drills = [tool for tool in of_hole if isinstance(tool, Drill)]
    lengths_mm = [
        flute_mm,
        *(length for tool in drills for length in (tool.flute_mm, tool.reach_mm)),
    ]
    shortest_mm = min(length for length in lengths_mm if length is not None)
    if max(last_drill_reach(halved, tool, None).tip_mm for tool in drills) > shortest_mm:
        return ""
    return ", or drill from both ends (from_both_ends = true)"


@check
def speeds(job: Job) -> Iterator[Finding]:
    """The slowest spindle speed is not too fast for the widest tool."""
    material = material_named(job.plan.part.material)
    if material is None:
        return
    slowest = job.plan.shop.mill.slowest_rpm
    seen: dict[tuple[str, Cutter], tuple[float, Hole]] = {}
    recesses = dict.fromkeys(("countersink", "counterbore", "spotface", "bore"), COUNTERSINK_SHARE)
    drills = dict.fromkeys(("drill", "pilot drill", "spot drill"), 1.0)
    shares = {**drills, **recesses, "ream": REAM_SHARE}
    for operation in (one for setup_plan in job.plan.setups for one in setup_plan.operations):
        diameter = operation.cone_mm or operation.tool.diameter_mm
        share = shares.get(operation.name)
        if share is None or diameter <= 0:
            continue
        ideal = 1000 * material.drill_m_per_min * share / (math.pi * diameter)
        if slowest > ideal * _TOO_FAST:
            seen.setdefault((operation.name, operation.tool), (ideal, operation.hole))
    for (name, tool), (ideal, hole) in seen.items():
        yield job.finding(
            _SPINDLE_TOO_FAST,
            hole,
            name=name,
            tool=tool_words(tool),
            ideal=f"{ideal:.0f}",
            slowest=f"{slowest:g}",
        )


@check
def fits(job: Job) -> Iterator[Finding]:
    """A reamer on size leaves a hole in the upper half of H7; other fits want another reamer.

    Reamers are ground between 0.5 and 0.85 of the H7 tolerance over size (DIN 1420, from memory).
    """
    for hole in job.plan.part.holes:
        if not hole.kind.is_reamed or hole.limits_um is None:
            continue
        lower_um, upper_um = hole.limits_um
        grade_um = hole_limits_um(hole.diameter_mm, "H7")[1]
        if lower_um > 0.5 * grade_um or upper_um < 0.85 * grade_um:
            yield job.finding(
                _NOT_REAMED,
                hole,
                fit=hole.fit or "limits",
                low_mm=hole.diameter_mm + lower_um / 1000,
                high_mm=hole.diameter_mm + upper_um / 1000,
                least_mm=hole.diameter_mm,
                most_mm=hole.diameter_mm + grade_um / 1000,
            )


_NOSE_UNKNOWN = warning(
    "nose-unknown",
    "hole {0}: the nose of the {tool} is not known: a program with its Z from the tip sinks too "
    "deep by it",
    "measure across the nose and give tip_flat in [drawer] countersinks; else set its Z by the "
    "rim of a hole, as the sheets say",
)
_NOSE_TOO_WIDE = warning(
    "nose-too-wide",
    "hole {0}: the {tool} has a nose of {nose_mm:exact}, as wide as the hole ({rim_mm:exact}): it "
    "does not cut",
    "get a {other}, or measure the nose and give tip_flat",
)


@check_of_setup
def noses(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Depth counts from the nose, which cuts nothing itself."""
    for one in setup_plan.operations:
        tool, cone_mm, rim_mm = one.tool, one.cone_mm, one.rim_mm
        if not isinstance(tool, Countersink) or cone_mm is None or rim_mm is None:
            continue
        if not tool.is_nose_known:
            yield job.finding(_NOSE_UNKNOWN, one.hole, tool=tool_words(tool))
        cabinet = job.plan.shop.cabinet
        blunt = [] if one.in_drawer else wide_enough(cabinet, cone_mm, tool.angle_deg)
        for passed_over in blunt[:1]:
            yield job.finding(
                _NOSE_TOO_WIDE,
                one.hole,
                tool=tool_words(passed_over),
                nose_mm=passed_over.tip_flat_mm,
                rim_mm=rim_mm,
                other=tool_words(tool),
            )
