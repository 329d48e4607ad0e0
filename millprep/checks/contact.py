"""What a tool meets on its way down: obstacles, jaws, packing, table.

          | |        the tool, round about its axis
          \\ /        its point: where d is the distance from the axis, rise = (d - flat) * slope
           v

Each tool goes straight down at its hole, and crosses the part at the clear height. Arrays over the
operations of a setup. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding, Offer, Words, stop, words
from millprep.base.plain_text import some
from millprep.base.records import frozen
from millprep.checks.registry import Job, at_hole, check_of_setup, in_setup, offering
from millprep.model.part import Hole, ObstacleRequest
from millprep.model.scene import Box
from millprep.model.tools import Cutter, PointedTool
from millprep.planning import tool_words
from millprep.planning.depths import lead_mm
from millprep.planning.plan import Operation, SetupPlan
from millprep.reference.shared_rules import BELOW_UNDERSIDE_MM, TOUCH_MM
from millprep.setting.fixtures import UNDER_STRAP, fixtures_of, is_underside_known
from millprep.setting.holding import Holding
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.seating import ANGLE_PLATE
from millprep.setting.setups import SAFE_OVER_HIGHEST_MM, Setup
from millprep.sums import cutting

Floats = NDArray[np.float64]
_MOST_NAMED = 4
_BELOW = ("the table", "the vice bed")
_STRAPS_PLACED = "leave straps out: they are placed clear then, if there is room"

_IN_THE_WAY = stop(
    "hits-fixture",
    '"{obstacle}", up to Z {top_mm:exact bare}, is in the way of {holes}: {tool} comes down on it',
    "{advice}",
)
_INTO_HOLDING = stop(
    "hits-fixture", "hole {0}: {tool} goes {deep_mm} into {box}{under}", "{advice}"
)
_FAR_BELOW = stop(
    "below-underside",
    "hole {0}: {tool} goes {below_mm} below the part, and nothing says what is there",
    "{advice}",
)
_SAFE_HEIGHT_LOW = stop(
    "safe-height-low",
    'the clear height of {safe_mm:exact} is below the top of "{obstacle}" at {top_mm:exact bare}',
    "give safe_height = {enough}, or leave it out",
)


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


def descents_of(setup_plan: SetupPlan) -> Descents:
    """Every operation of a setup."""
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


@check_of_setup
def tool_meets_something(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """No tool ends in what holds the part, in what that stands on, or in an obstacle."""
    setup, holding = setup_plan.setup, setup_plan.holding
    descents = descents_of(setup_plan)
    obstacles = setup.obstacles
    boxes = fixtures_of(job.plan.shop, setup, holding)
    for obstacle, box in zip(obstacles, boxes, strict=False):
        yield from _obstacle_in_the_way(job, setup, descents, obstacle, box)
    for box in boxes[len(obstacles) :]:
        if box.name != "a parallel":  # told of the parallel itself
            yield from _into_holding(job, setup, holding, descents, box)
    if not is_underside_known(setup, holding):
        yield from _far_below(job, setup, descents)


def _obstacle_in_the_way(
    job: Job, setup: Setup, descents: Descents, obstacle: ObstacleRequest, box: Box
) -> Iterator[Finding]:
    met = np.flatnonzero(descents.depths(box))
    if met.size:
        holes = tuple(dict.fromkeys(descents.operations[row].hole for row in met))
        worst = descents.operations[int(met[np.argmax(descents.radius[met])])]
        yield job.setup_finding(
            _IN_THE_WAY,
            setup,
            *holes,
            line=obstacle.line,
            obstacle=obstacle.name,
            top_mm=box.high_mm[2],
            holes=some([f'"{hole.name}"' for hole in holes], _MOST_NAMED),
            tool=tool_words(worst.tool),
            advice=_clamped_clear(job, setup, descents, box)
            if obstacle in setup.clamps
            else _way_out(job, descents, met, box),
        )


def _clamped_clear(job: Job, setup: Setup, descents: Descents, box: Box) -> str:
    """How what holds the part is got out of the way."""
    if box.name != ANGLE_PLATE:
        return _STRAPS_PLACED
    higher = job.at_least((setup.request.packing_mm or 0.0) + float(descents.depths(box).max()))
    return f"write packing = {higher} or more: the part then stands that much higher against it"


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


def _into_holding(
    job: Job, setup: Setup, holding: Holding, descents: Descents, box: Box
) -> Iterator[Finding]:
    """A tool that ends in a jaw, or in the bed or table under the packing."""
    request, is_jaw = setup.request, "jaw" in box.name
    for operation, deep in _worst_of_each_hole(descents, descents.depths(box)):
        hole = operation.hole
        if is_jaw and not _is_over_edge_meant(hole):
            continue  # the edge that it goes over, or the jaws that stand too high, are told
        ways, key = [], "backing" if request.backing_mm else "parallels"
        offers: list[Offer] = []
        if is_jaw:
            ways, key = ["let the jaws hold less, or move the hole in"], "vice"
        elif box.name.startswith(UNDER_STRAP):
            ways, key = [_STRAPS_PLACED], "straps"
            offers.append(in_setup(("straps", None)))
        elif request.backing_mm:
            backing = job.at_least(request.backing_mm + deep)
            ways.append(f"give backing = {backing} or more")
            offers.append(in_setup(("backing", backing)))
        elif holding.strapped is not None:
            ways.append(
                f"give packing = {job.at_least(holding.strapped.packing_mm + deep)} or more"
            )
            key = "packing"
        elif request.parallel_height_mm is not None:
            tall = job.at_least(request.parallel_height_mm + deep)
            ways.append(f"give parallels {tall} {job.unit} high or more")
        if not _is_finished_into(descents, hole, descents.depths(box)):
            less = _less_breakthrough(job, operation, deep)
            ways += [f"breakthrough = {figure} or less" for figure in less]
            offers += [at_hole("breakthrough", figure) for figure in less]
        found = job.setup_finding(
            _INTO_HOLDING,
            setup,
            hole,
            line=hole.lines.get("breakthrough", request.lines.get(key, request.line)),
            tool=tool_words(operation.tool),
            deep_mm=deep,
            box=box.name,
            under=_under(setup, holding) if box.name in _BELOW else "",
            advice=", or ".join(ways),
        )
        yield offering(found, *offers)


def _is_finished_into(descents: Descents, hole: Hole, depths: Floats) -> bool:
    """Whether one goes in that no breakthrough holds back: a pilot, the lead of a tap or reamer."""
    return any(
        one.hole == hole and one.name != "drill" and deep > TOUCH_MM
        for one, deep in zip(descents.operations, depths, strict=True)
    )


def _is_over_edge_meant(hole: Hole) -> bool:
    return any(word.replace("-", " ") == "over edge" for word in hole.allow)


def _under(setup: Setup, holding: Holding) -> str | Words:
    backing_mm, height_mm = setup.request.backing_mm, setup.request.parallel_height_mm
    if backing_mm:
        return words(" under {thick_mm:exact} of backing", thick_mm=backing_mm)
    if holding.strapped is not None:
        return words(" under packing of {thick_mm:exact}", thick_mm=holding.strapped.packing_mm)
    if height_mm is None:
        return ""
    return words(" under parallels {height_mm:exact} high", height_mm=height_mm)


def _less_breakthrough(job: Job, operation: Operation, deep_mm: float) -> list[str]:
    """A breakthrough that stops short by that much, where a drill has one to give."""
    hole = operation.hole
    if operation.name != "drill" or not hole.is_through or hole.from_both_ends:
        return []
    beyond = hole.breakthrough_mm
    if beyond is None:
        beyond = cutting.breakthrough_mm(operation.tool.diameter_mm)
    less = job.at_most(beyond - deep_mm)
    return [less] if float(less) >= 0 else []


def _worst_of_each_hole(descents: Descents, depths: Floats) -> Iterator[tuple[Operation, float]]:
    """(operation, depth) of the tool that goes deepest at each hole, of several the last."""
    worst: dict[str, int] = {}
    for row in np.flatnonzero(depths).tolist():
        name = descents.operations[row].hole.name
        if name not in worst or depths[row] > depths[worst[name]] - TOUCH_MM:
            worst[name] = row
    for row in worst.values():
        yield descents.operations[row], float(depths[row])


def _far_below(job: Job, setup: Setup, descents: Descents) -> Iterator[Finding]:
    """Farther below the part than anyone leaves free there, and nothing said of what is below."""
    lead = (descents.radius - descents.flat) * descents.slope
    lead += [lead_mm(one.tool) for one in descents.operations]
    beyond = _underside(job, setup, descents) - descents.z - lead - BELOW_UNDERSIDE_MM
    beyond = np.where(beyond > TOUCH_MM, beyond, 0.0)
    for operation, deep in _worst_of_each_hole(descents, beyond):
        hole = operation.hole
        less = _less_breakthrough(job, operation, deep)
        ways = [
            *(f"breakthrough = {figure} or less" for figure in less),
            "describe backing or parallels in [[setup]]",
        ]
        found = job.setup_finding(
            _FAR_BELOW,
            setup,
            hole,
            line=hole.lines.get("breakthrough", hole.line),
            tool=tool_words(operation.tool),
            below_mm=setup.low_mm[2] - operation.z_mm,
            advice=", or ".join(ways),
        )
        yield offering(found, *(at_hole("breakthrough", figure) for figure in less))


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


@check_of_setup
def safe_height_under_obstacle(job: Job, setup_plan: SetupPlan) -> Iterator[Finding]:
    """At the clear height the tool crosses everything that is described."""
    request, safe_mm = setup_plan.setup.request, setup_plan.setup.safe_height_mm
    highest = max(setup_plan.setup.obstacles, key=lambda one: one.high_mm[2], default=None)
    if highest is not None and highest.high_mm[2] > safe_mm + TOUCH_MM:
        top_mm = highest.high_mm[2]
        enough = job.at_least(top_mm + SAFE_OVER_HIGHEST_MM)
        found = job.setup_finding(
            _SAFE_HEIGHT_LOW,
            setup_plan.setup,
            line=request.lines.get("safe_height", request.line),
            safe_mm=safe_mm,
            obstacle=highest.name,
            top_mm=top_mm,
            enough=enough,
        )
        yield offering(found, in_setup(("safe_height", enough)), in_setup(("safe_height", None)))
