"""Room for taps at the bottom of blind holes. Layers 0 to 3, planning."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, stop
from millprep.checks.registry import Job, at_hole, check, check_of_setup, offering
from millprep.model.tools import Reamer, Tap
from millprep.planning.depths import Reach, lead_mm, least_floor_mm, runs_out
from millprep.planning.openings import opening_of
from millprep.planning.plan import SetupPlan

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
