"""What a tool meets on its way down: obstacles, jaws, packing, table; and its holder or chuck.

        |     |      chuck or holder: from `reach` above the tip up
        |_   _|
          | |        the tool, round about its axis
          \\ /        its point: where d is the distance from the axis, rise = (d - flat) * slope
           v

Each tool goes straight down at its hole, and crosses the part at the safe height. Arrays over the
operations of a setup. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding, Words, words
from millprep.base.records import frozen
from millprep.base.units import Length
from millprep.checks.registry import Job, check
from millprep.model.part import Hole, ObstacleRequest, widened_mm
from millprep.model.scene import Box
from millprep.model.tools import Cutter, PointedTool, Tool
from millprep.planning import tool_words
from millprep.planning.depths import lead_mm
from millprep.planning.plan import Operation, SetupPlan
from millprep.reference.shared_rules import BELOW_UNDERSIDE_MM, SPINDLE_RADIUS_MM, TOUCH_MM
from millprep.setting.fixtures import fixtures_of, is_underside_known
from millprep.setting.holding import is_disc_on_end
from millprep.setting.setups import SAFE_OVER_HIGHEST_MM, Setup
from millprep.sums import cutting

Floats = NDArray[np.float64]
CHUCK_RADIUS_MM = 25.0  # of a keyed drill chuck for 13 mm (common practice)
_DRILLING = ("pilot drill", "drill")
_MOST_NAMED = 4


@frozen
class Descents:
    """The operations of a setup and where their tools end, (N,) each [mm].

    radius, flat, slope : of the tool's end; drills and spot drills have a point, others are flat
    """

    operations: tuple[Operation, ...]
    x: Floats
    y: Floats
    z: Floats
    radius: Floats
    flat: Floats
    slope: Floats

    def away(self, box: Box) -> Floats:
        """Distance of each axis from the box seen from above; 0 over it."""
        x = np.maximum(box.low_mm[0] - self.x, self.x - box.high_mm[0])
        y = np.maximum(box.low_mm[1] - self.y, self.y - box.high_mm[1])
        return np.hypot(np.maximum(x, 0.0), np.maximum(y, 0.0))

    def depths(self, box: Box) -> Floats:
        """How far each tool ends below the top of the box, within it; 0 where it stays clear."""
        away = self.away(box)
        rise = self.slope * np.maximum(away - self.flat, 0.0)
        depth = box.high_mm[2] - self.z - rise
        return np.where((away < self.radius - TOUCH_MM) & (depth > TOUCH_MM), depth, 0.0)


def _descents(setup_plan: SetupPlan) -> Descents:
    operations = setup_plan.square
    rows = [(one.x_mm, one.y_mm, one.z_mm, *_end_of(one.tool)) for one in operations]
    x, y, z, radius, flat, slope = np.array(rows).reshape(-1, 6).T
    return Descents(operations, x, y, z, radius, flat, slope)


def _end_of(tool: Cutter) -> tuple[float, float, float]:
    radius = tool.diameter_mm / 2
    if not isinstance(tool, PointedTool) or tool.angle_deg >= 180:
        return radius, radius, 0.0
    slope = 1 / math.tan(math.radians(tool.angle_deg / 2))
    return radius, min(tool.tip_flat_mm / 2, radius), slope


@check
def tool_meets_something(job: Job) -> Iterator[Finding]:
    """No tool ends in what holds the part, in what that stands on, or in an obstacle."""
    for setup_plan in job.plan.setups:
        setup, holding = setup_plan.setup, setup_plan.holding
        descents = _descents(setup_plan)
        obstacles = setup.request.obstacles
        boxes = fixtures_of(job.plan.shop, setup, holding)
        for obstacle, box in zip(obstacles, boxes, strict=False):
            yield from _obstacle_in_the_way(job, setup, descents, obstacle, box)
        for box in boxes[len(obstacles) :]:
            if box.name != "a parallel":  # told of the parallel itself
                yield from _into_holding(job, setup, descents, box)
        if not is_underside_known(setup, holding):
            yield from _far_below(job, setup, descents)


def _obstacle_in_the_way(
    job: Job, setup: Setup, descents: Descents, obstacle: ObstacleRequest, box: Box
) -> Iterator[Finding]:
    met = np.flatnonzero(descents.depths(box))
    if met.size:
        holes = tuple(dict.fromkeys(descents.operations[row].hole for row in met))
        names = [f'"{hole.name}"' for hole in holes]
        more = f" and {len(names) - _MOST_NAMED} more" if len(names) > _MOST_NAMED else ""
        worst = descents.operations[int(met[np.argmax(descents.radius[met])])]
        yield job.setup_finding(
            setup,
            "stop",
            "hits-fixture",
            words(
                '"{obstacle}", up to Z {top}, is in the way of {holes}: {tool} comes down on it',
                obstacle=obstacle.name,
                top=Length(box.high_mm[2], None, is_bare=True),
                holes=", ".join(names[:_MOST_NAMED]) + more,
                tool=tool_words(worst.tool),
            ),
            _way_out(job, descents, met, box),
            *holes,
            line=obstacle.line,
        )


def _way_out(job: Job, descents: Descents, met: NDArray[np.intp], box: Box) -> str:
    """Where the obstacle would have to end or begin to be clear of all that it is in the way of."""
    ways = []
    radius = descents.radius[met]
    for axis, (letter, at) in enumerate((("X", descents.x[met]), ("Y", descents.y[met]))):
        low, high = float((at - radius).min()), float((at + radius).max())
        if low > box.low_mm[axis]:
            ways.append(f"end at {letter} {job.at_most(low)} {job.unit} or before it")
        if high < box.high_mm[axis]:
            ways.append(f"begin at {letter} {job.at_least(high)} {job.unit} or beyond it")
    if not ways:
        return "move it, or clamp otherwise for these holes"
    return f"let it {', or '.join(ways)}"


def _into_holding(job: Job, setup: Setup, descents: Descents, box: Box) -> Iterator[Finding]:
    """A tool that ends in a jaw, or in the bed or table under the packing."""
    depths = descents.depths(box)
    for row, deep in _worst_of_each_hole(descents, depths):
        operation, request = descents.operations[row], setup.request
        if "jaw" in box.name and not _is_over_edge_meant(operation.hole):
            continue  # the edge that it goes over, or the jaws that stand too high, are told
        ways, key = [], "backing" if request.backing_mm else "parallels"
        if "jaw" in box.name:
            ways, key = ["let the jaws hold less, or move the hole in"], "vice"
        elif request.backing_mm:
            ways.append(f"give backing = {job.at_least(request.backing_mm + deep)} or more")
        elif request.parallel_height_mm is not None:
            tall = job.at_least(request.parallel_height_mm + deep)
            ways.append(f"give parallels {tall} {job.unit} high or more")
        ways += _less_breakthrough(job, operation, deep)
        yield job.setup_finding(
            setup,
            "stop",
            "hits-fixture",
            words(
                "hole {0}: {tool} goes {deep} into {box}{under}",
                tool=tool_words(operation.tool),
                deep=Length(deep),
                box=box.name,
                under=_under(setup) if "jaw" not in box.name else "",
            ),
            ", or ".join(ways),
            operation.hole,
            line=operation.hole.lines.get("breakthrough", request.lines.get(key, request.line)),
        )


def _is_over_edge_meant(hole: Hole) -> bool:
    return any(word.replace("-", " ") == "over edge" for word in hole.allow)


def _under(setup: Setup) -> str | Words:
    if setup.request.backing_mm:
        return words(" under {thick} of backing", thick=Length(setup.request.backing_mm, None))
    height_mm = setup.request.parallel_height_mm
    if height_mm is None:
        return ""
    return words(" under parallels {height} high", height=Length(height_mm, None))


def _less_breakthrough(job: Job, operation: Operation, deep_mm: float) -> list[str]:
    """A breakthrough that stops short by that much, where a drill has one to give."""
    hole = operation.hole
    if operation.name not in _DRILLING or not hole.is_through or hole.from_both_ends:
        return []
    beyond = hole.breakthrough_mm
    if beyond is None:
        beyond = cutting.breakthrough_mm(operation.tool.diameter_mm)
    less = job.at_most(beyond - deep_mm)
    return [f"breakthrough = {less} or less"] if float(less) >= 0 else []


def _worst_of_each_hole(descents: Descents, depths: Floats) -> Iterator[tuple[int, float]]:
    """(row, depth) of the tool that goes deepest at each hole, of several the last."""
    worst: dict[str, int] = {}
    for row in np.flatnonzero(depths).tolist():
        name = descents.operations[row].hole.name
        if name not in worst or depths[row] > depths[worst[name]] - TOUCH_MM:
            worst[name] = row
    for row in worst.values():
        yield row, float(depths[row])


def _far_below(job: Job, setup: Setup, descents: Descents) -> Iterator[Finding]:
    """Farther below the part than anyone leaves free there, and nothing said of what is below."""
    lead = (descents.radius - descents.flat) * descents.slope
    lead += [lead_mm(one.tool) for one in descents.operations]
    beyond = _underside(job, setup, descents) - descents.z - lead - BELOW_UNDERSIDE_MM
    for row, deep in _worst_of_each_hole(descents, np.where(beyond > TOUCH_MM, beyond, 0.0)):
        operation = descents.operations[row]
        below = setup.low_mm[2] - float(descents.z[row])
        ways = ["describe backing or parallels in [[setup]]"]
        ways += _less_breakthrough(job, operation, deep)
        yield job.setup_finding(
            setup,
            "stop",
            "below-underside",
            words(
                "hole {0}: {tool} goes {below} below the part, and nothing says what lies there",
                tool=tool_words(operation.tool),
                below=Length(below),
            ),
            ", or ".join(ways[::-1]),
            operation.hole,
            line=operation.hole.lines.get("breakthrough", operation.hole.line),
        )


def _underside(job: Job, setup: Setup, descents: Descents) -> Floats:
    """(N,) height of the part's underside at each hole: a disc on its rim rises to both sides."""
    low, high = setup.low_mm, setup.high_mm
    underside = np.full(descents.z.shape, low[2])
    axis = job.plan.part.stock.axis
    if axis is None or is_disc_on_end(job.plan.part, setup):
        return underside
    across = 1 if abs(setup.rotation[0, axis]) > 0.5 else 0
    at = (descents.x, descents.y)[across]
    radius = (high[across] - low[across]) / 2
    aside = np.minimum(np.abs(at - (low[across] + high[across]) / 2), radius)
    return np.asarray((low[2] + high[2]) / 2 - np.sqrt(radius**2 - aside**2))


@check
def safe_height_under_obstacle(job: Job) -> Iterator[Finding]:
    """At the safe height the tool crosses everything that is described."""
    for setup_plan in job.plan.setups:
        setup = setup_plan.setup
        request, safe_mm = setup.request, setup.safe_height_mm
        highest = max(request.obstacles, key=lambda one: one.high_mm[2], default=None)
        if highest is None or highest.high_mm[2] <= safe_mm + TOUCH_MM:
            continue
        top = highest.high_mm[2]
        yield job.setup_finding(
            setup,
            "stop",
            "safe-height-low",
            words(
                'the safe height of {safe} is below the top of "{obstacle}" at {top}',
                safe=Length(safe_mm, None),
                obstacle=highest.name,
                top=Length(top, None, is_bare=True),
            ),
            f"give safe_height = {job.at_least(top + SAFE_OVER_HIGHEST_MM)}, or leave it out",
            line=request.lines.get("safe_height", request.line),
        )


@check
def chuck_over_obstacle(job: Job) -> Iterator[Finding]:
    """A chuck, of which nobody says how it is, grips a drill above its flutes at the least."""
    described = {tool.number for tool in job.plan.shop.tools if _holder(tool) is not None}
    for setup_plan in job.plan.setups:
        setup = setup_plan.setup
        if not setup.request.obstacles:
            continue
        descents = _descents(setup_plan)
        tools = [one.tool for one in descents.operations]
        is_held = [job.plan.tool_numbers[tool] in described for tool in tools]
        flutes = np.array([np.inf if tool.flute_mm is None else tool.flute_mm for tool in tools])
        for obstacle in setup.request.obstacles:
            box = Box(obstacle.low_mm, obstacle.high_mm, obstacle.name)
            near = (descents.away(box) < CHUCK_RADIUS_MM) & ~np.array(is_held, dtype=bool)
            near &= descents.z + flutes < box.high_mm[2] - TOUCH_MM
            rows = np.flatnonzero(near & (descents.depths(box) == 0))
            if rows.size:
                row = int(rows[np.argmin(descents.z[rows])])
                operation = descents.operations[row]
                out = job.at_least(box.high_mm[2] - operation.z_mm)
                yield job.setup_finding(
                    setup,
                    "warning",
                    "chuck-near",
                    words(
                        'hole {0}: a chuck of {wide} may come down on "{obstacle}", {away} beside '
                        "it and up to Z {top}",
                        wide=Length(2 * CHUCK_RADIUS_MM, None),
                        obstacle=obstacle.name,
                        away=Length(float(descents.away(box)[row]), 1),
                        top=Length(box.high_mm[2], None, is_bare=True),
                    ),
                    f"let {tool_words(operation.tool)} stand {out} {job.unit} out of the chuck, or "
                    "move the obstacle",
                    operation.hole,
                    line=obstacle.line,
                )


def _holder(tool: Tool) -> tuple[float, float] | None:
    """(tip to holder's face, holder's radius) where the tool table gives both."""
    if tool.reach_mm is None or tool.holder_diameter_mm is None:
        return None
    return tool.reach_mm, tool.holder_diameter_mm / 2


@check
def tool_of_the_table(job: Job) -> Iterator[Finding]:
    """The tool that the control's table has under that number goes as deep as the plan's."""
    table = {tool.number: tool for tool in job.plan.shop.tools}
    for setup_plan in job.plan.setups:
        boxes: tuple[Box, ...] | None = None
        for operation in setup_plan.square:
            tool = table.get(job.plan.tool_numbers[operation.tool])
            if tool is None:
                continue
            yield from _flutes(job, operation, tool)
            if boxes is None:
                boxes = fixtures_of(job.plan.shop, setup_plan.setup, setup_plan.holding)
            yield from _holder_meets(job, setup_plan.setup, operation, tool, boxes)


def _flutes(job: Job, operation: Operation, tool: Tool) -> Iterator[Finding]:
    hole = operation.hole
    wider_mm = widened_mm(hole.mouth, hole.opened) if operation.name in ("ream", "tap") else 0.0
    deep_mm = -operation.z_mm - wider_mm
    if tool.flute_mm is not None and deep_mm > tool.flute_mm + TOUCH_MM:
        yield job.finding(
            "stop",
            "deeper-than-flutes",
            words(
                "hole {0}: tool {number} of the tool table, {tool}, goes {deep} deep; its flutes "
                "are {flute} long",
                number=tool.number or 0,
                tool=tool_words(tool),
                deep=Length(deep_mm, 1),
                flute=Length(tool.flute_mm, None),
            ),
            "use a longer one, and write its flute into [[tool]] of the shop file",
            hole,
        )


def _holder_meets(
    job: Job, setup: Setup, operation: Operation, tool: Tool, boxes: tuple[Box, ...]
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
                setup,
                "stop",
                "holder-hits",
                words(
                    "hole {0}: the holder of tool {number}, {tool}, goes {deep} into {box}",
                    number=tool.number or 0,
                    tool=tool_words(tool),
                    deep=Length(deep_mm),
                    box=box.name,
                ),
                f"hold it so that its reach is {reach_mm + deep_mm:.1f} mm or more, and write that "
                "into [[tool]] of the shop file",
                operation.hole,
            )


@check
def spindle_over_obstacle(job: Job) -> Iterator[Finding]:
    """Where a holder of the tool table ends, a spindle begins of which nobody says how wide."""
    table = {tool.number: tool for tool in job.plan.shop.tools}
    for setup_plan in job.plan.setups:
        setup = setup_plan.setup
        if not setup.request.obstacles:
            continue
        descents = _descents(setup_plan)
        numbers = (job.plan.tool_numbers[one.tool] for one in descents.operations)
        ends = descents.z + np.array([_holder_end_mm(table.get(number)) for number in numbers])
        for obstacle in setup.request.obstacles:
            box = Box(obstacle.low_mm, obstacle.high_mm, obstacle.name)
            near = (descents.away(box) < SPINDLE_RADIUS_MM) & (ends < box.high_mm[2] - TOUCH_MM)
            rows = np.flatnonzero(near & (descents.depths(box) == 0))
            if rows.size:
                row = int(rows[np.argmin(ends[rows])])
                operation = descents.operations[row]
                yield job.setup_finding(
                    setup,
                    "warning",
                    "spindle-near",
                    f'hole "{operation.hole.name}": the holder of {tool_words(operation.tool)} '
                    f"ends at Z {ends[row]:.1f}; the spindle above it may come down on "
                    f'"{obstacle.name}", up to Z {box.high_mm[2]:g}',
                    "see that the spindle clears it, hold the tool farther out, or move the "
                    "obstacle",
                    operation.hole,
                    line=obstacle.line,
                )


def _holder_end_mm(tool: Tool | None) -> float:
    """From the tip up; without end where the tool table does not say."""
    if tool is None or tool.reach_mm is None or tool.holder_length_mm is None:
        return math.inf
    return tool.reach_mm + tool.holder_length_mm
