"""Room for taps at the bottom of blind holes. Layers 0 to 3, planning."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, words
from millprep.base.units import Length
from millprep.checks.registry import Job, check
from millprep.model.tools import Tap


@check
def tap_room(job: Job) -> Iterator[Finding]:
    """A blind tapped hole is drilled deeper than the end of its tap."""
    for setup_plan in job.plan.setups:
        for operation in setup_plan.operations:
            hole, tool = operation.hole, operation.tool
            if not isinstance(tool, Tap) or hole.thread is None or hole.is_through:
                continue
            if hole.drill_depth_mm is None or hole.drill_depth_mm >= -operation.z_mm - 1e-9:
                continue
            pitch = hole.thread.pitch_mm
            end = -operation.z_mm
            thread = hole.drill_depth_mm - ((tool.lead_threads or 0.0) + 1) * pitch
            yield job.finding(
                "stop",
                "tap-bottoms",
                words(
                    "hole {0}: drilled {drilled} deep, but for {depth} of full thread the tap's "
                    "end goes to {end}",
                    drilled=Length(hole.drill_depth_mm),
                    depth=Length(hole.depth_mm),
                    end=Length(end),
                ),
                words(
                    "drill {deep} deep, or ask for {thread} of thread",
                    deep=Length(end + pitch),
                    thread=Length(max(thread, 0)),
                ),
                hole,
            )
