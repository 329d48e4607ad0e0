"""Room for taps at the bottom of blind holes. Layers 0 to 3, planning."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, stop
from millprep.checks.registry import Job, check_of_setup
from millprep.model.tools import Tap
from millprep.planning.depths import lead_mm
from millprep.planning.plan import SetupPlan

_TAP_BOTTOMS = stop(
    "tap-bottoms",
    "hole {0}: drilled {drilled_mm} deep, but for {depth_mm} of full thread the tap's end goes to "
    "{end_mm}",
    "drill {deep_mm} deep, or ask for {thread_mm} of thread",
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
            yield job.finding(
                _TAP_BOTTOMS,
                hole,
                drilled_mm=drilled,
                depth_mm=hole.depth_mm,
                end_mm=end,
                deep_mm=end + pitch,
                thread_mm=max(drilled - lead_mm(tool) - pitch, 0.0),
            )
