"""What holds a tool meets on its way down: chuck, holder and spindle, over all that stands there.

        |     |      chuck or holder: from `reach` above the tip up
        |_   _|
          | |        the tool, as `contact` has it
           v

Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding, stop, warning
from millprep.checks.contact import Descents, Floats, descents_of
from millprep.checks.registry import Job, check_of_setup
from millprep.model.part import ObstacleRequest, widened_mm
from millprep.model.scene import Box
from millprep.model.tools import Cutter, Tool
from millprep.planning import tool_words
from millprep.planning.plan import Operation, SetupPlan
from millprep.reference.shared_rules import CHUCK_RADIUS_MM, SPINDLE_RADIUS_MM, TOUCH_MM
from millprep.setting.fixtures import fixtures_of
from millprep.setting.setups import Setup

_CHUCK_NEAR = warning(
    "chuck-near",
    'hole {0}: a chuck of {wide_mm:exact} may come down on "{obstacle}", {away_mm:1} beside it and '
    "up to Z {top_mm:exact bare}",
    "set {tool} {out} {unit} out of the chuck, or move the obstacle",
)
_SPINDLE_NEAR = warning(
    "spindle-near",
    'hole "{hole}": the holder of {tool} ends at Z {end}; the spindle above it may come down on '
    '"{obstacle}", up to Z {top}',
    "see that the spindle clears it, hold the tool farther out, or move the obstacle",
)
_DEEPER_THAN_FLUTES = stop(
    "deeper-than-flutes",
    "hole {0}: tool {number} of the tool table, {tool}, needs {deep_mm:1 bare} of flute and has "
    "{flute_mm:exact}",
    "use a longer one, and write its flute into [[tool]] of the shop file",
)
_HOLDER_HITS = stop(
    "holder-hits",
    "hole {0}: the holder of tool {number}, {tool}, goes {deep_mm} into {box}",
    "hold it so that its reach is {reach} mm or more, and write that into [[tool]] of the shop "
    "file",
)


def _over_obstacles(
    setup_plan: SetupPlan, descents: Descents, radius_mm: float, ends: Floats
) -> Iterator[tuple[ObstacleRequest, NDArray[np.intp], Floats]]:
    """(obstacle, rows, distance of each axis) where something so wide comes down on an obstacle.

    ends : (N,) Z to which that goes down, round about the axis of each tool [mm]
    """
    for obstacle in setup_plan.setup.obstacles:
        box = Box(obstacle.low_mm, obstacle.high_mm, obstacle.name)
        away = descents.away(box)
        near = (away < radius_mm) & (ends < box.high_mm[2] - TOUCH_MM)
        rows = np.flatnonzero(near & (descents.depths(box) == 0))
        if rows.size:
            yield obstacle, rows, away


@check_of_setup
def chuck_over_obstacle(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """A chuck, of which nobody says how it is, grips a drill above its flutes at the least."""
    described = {tool.number for tool in job.plan.shop.tools if _holder(tool) is not None}

    def flute_mm(tool: Cutter) -> float:
        is_held = job.plan.tool_numbers[tool] in described
        return math.inf if is_held or tool.flute_mm is None else tool.flute_mm

    descents = descents_of(setup_plan)
    ends = descents.z + np.array([flute_mm(one.tool) for one in descents.operations])
    for obstacle, rows, away in _over_obstacles(setup_plan, descents, CHUCK_RADIUS_MM, ends):
        row = int(rows[np.argmin(descents.z[rows])])
        operation, top_mm = descents.operations[row], obstacle.high_mm[2]
        yield job.setup_finding(
            _CHUCK_NEAR,
            setup_plan.setup,
            operation.hole,
            line=obstacle.line,
            wide_mm=2 * CHUCK_RADIUS_MM,
            obstacle=obstacle.name,
            away_mm=float(away[row]),
            top_mm=top_mm,
            tool=tool_words(operation.tool),
            out=job.at_least(top_mm - operation.z_mm),
            unit=job.unit,
        )


def _holder(tool: Tool) -> tuple[float, float] | None:
    """(tip to holder's face, holder's radius) where the tool table gives both."""
    if tool.reach_mm is None or tool.holder_diameter_mm is None:
        return None
    return tool.reach_mm, tool.holder_diameter_mm / 2


@check_of_setup
def tool_of_the_table(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """The tool that the control's table has under that number goes as deep as the plan's."""
    table = {tool.number: tool for tool in job.plan.shop.tools}
    used = [
        (one, tool)
        for one in setup_plan.square
        if (tool := table.get(job.plan.tool_numbers[one.tool])) is not None
    ]
    setup = setup_plan.setup
    boxes = fixtures_of(job.plan.shop, setup, setup_plan.holding) if used else ()
    for operation, tool in used:
        yield from _flutes(job, operation, tool)
        yield from _holder_meets(job, setup, operation, tool, boxes)


def _flutes(job: Job, operation: Operation, tool: Tool) -> Iterator[Finding]:
    hole = operation.hole
    wider_mm = widened_mm(hole.mouth, hole.opened) if operation.name in ("ream", "tap") else 0.0
    deep_mm = -operation.z_mm - wider_mm
    if tool.flute_mm is not None and deep_mm > tool.flute_mm + TOUCH_MM:
        yield job.finding(
            _DEEPER_THAN_FLUTES,
            hole,
            number=tool.number or 0,
            tool=tool_words(tool),
            deep_mm=deep_mm,
            flute_mm=tool.flute_mm,
        )


def _holder_meets(
    job: Job, setup: Setup, operation: Operation, tool: Tool, boxes: Sequence[Box]
) -> Iterator[Finding]:
    holder = _holder(tool)
    if holder is None:
        return
    reach_mm, radius_mm = holder
    flat = np.array([radius_mm])
    places = (operation.x_mm, operation.y_mm, operation.z_mm + reach_mm)
    x, y, z = (np.array([place]) for place in places)
    body = Descents((operation,), x, y, z, flat, flat, np.zeros(1))
    for box in (*boxes, Box(setup.low_mm, setup.high_mm, "the part")):
        deep_mm = float(body.depths(box)[0])
        if deep_mm > 0:
            yield job.setup_finding(
                _HOLDER_HITS,
                setup,
                operation.hole,
                number=tool.number or 0,
                tool=tool_words(tool),
                deep_mm=deep_mm,
                box=box.name,
                reach=f"{reach_mm + deep_mm:.1f}",
            )


@check_of_setup
def spindle_over_obstacle(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """Where a holder of the tool table ends, a spindle begins of which nobody says how wide."""
    table = {tool.number: tool for tool in job.plan.shop.tools}
    descents = descents_of(setup_plan)
    numbers = (job.plan.tool_numbers[one.tool] for one in descents.operations)
    ends = descents.z + np.array([_holder_end_mm(table.get(number)) for number in numbers])
    for obstacle, rows, _ in _over_obstacles(setup_plan, descents, SPINDLE_RADIUS_MM, ends):
        row = int(rows[np.argmin(ends[rows])])
        operation = descents.operations[row]
        yield job.setup_finding(
            _SPINDLE_NEAR,
            setup_plan.setup,
            operation.hole,
            line=obstacle.line,
            hole=operation.hole.name,
            tool=tool_words(operation.tool),
            end=f"{ends[row]:.1f}",
            obstacle=obstacle.name,
            top=f"{obstacle.high_mm[2]:g}",
        )


def _holder_end_mm(tool: Tool | None) -> float:
    """From the tip up; without end where the tool table does not say."""
    if tool is None or tool.reach_mm is None or tool.holder_length_mm is None:
        return math.inf
    return tool.reach_mm + tool.holder_length_mm
