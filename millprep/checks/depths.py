"""Floors under blind holes, points that come out, room for taps. Layers 0 to 3, planning."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.checks.registry import Job, check
from millprep.errors import Finding
from millprep.planning.depths import least_floor_mm
from millprep.planning.plan import Operation


def _deepest_drills(job: Job) -> Iterator[tuple[Operation, float]]:
    """(last and deepest drilling of each blind hole, material left under its tip)."""
    deepest: dict[str, Operation] = {}
    for setup_plan in job.plan.setups:
        for operation in setup_plan.operations:
            hole = operation.hole
            if hole.is_through or operation.name not in ("drill", "bore", "counterbore", "ream"):
                continue
            if setup_plan.setup.face != hole.face:
                continue
            known = deepest.get(hole.name)
            if known is None or operation.z_mm < known.z_mm:
                deepest[hole.name] = operation
    for operation in deepest.values():
        yield operation, job.thickness_mm(operation.hole) + operation.z_mm


@check
def floors(job: Job) -> Iterator[Finding]:
    """A blind hole keeps a floor under the tip of its drill."""
    for operation, floor in _deepest_drills(job):
        hole = operation.hole
        least = least_floor_mm(operation.tool.diameter_mm or 0.0)
        thickness = job.thickness_mm(hole)
        shallower = hole.depth_mm - (least - floor)
        cure = (
            f"give a depth of {shallower:.2f} mm or less, or make the hole through"
            if shallower > 0
            else "make the hole through"
        )
        if floor <= 1e-9:
            yield job.finding(
                "stop", "tip-through",
                f'hole "{hole.name}": blind {hole.depth_mm:.2f} mm deep in {thickness:.2f} mm, but '
                f"its drill goes to {-operation.z_mm:.2f} mm and comes out",
                cure, hole,
            )  # fmt: skip
        elif floor < least - 1e-9:
            yield job.finding(
                "warning", "thin-floor",
                f'hole "{hole.name}": {floor:.2f} mm is left under the tip of its drill '
                f"(wanted {least:.2f} mm)",
                cure, hole,
            )  # fmt: skip


@check
def tap_room(job: Job) -> Iterator[Finding]:
    """A blind tapped hole is drilled deeper than the end of its tap."""
    for setup_plan in job.plan.setups:
        for operation in setup_plan.operations:
            hole, tool = operation.hole, operation.tool
            if operation.name != "tap" or hole.is_through:
                continue
            if hole.drill_depth_mm is None or hole.drill_depth_mm >= -operation.z_mm - 1e-9:
                continue
            pitch = tool.pitch_mm or 0.0
            end = -operation.z_mm
            thread = hole.drill_depth_mm - ((tool.lead_threads or 0.0) + 1) * pitch
            yield job.finding(
                "stop", "tap-bottoms",
                f'hole "{hole.name}": drilled {hole.drill_depth_mm:.2f} mm deep, but for '
                f"{hole.depth_mm:.2f} mm of full thread the tap's end goes to {end:.2f} mm",
                f"drill {end + pitch:.2f} mm deep, or ask for {max(thread, 0):.2f} mm of thread",
                hole,
            )  # fmt: skip
