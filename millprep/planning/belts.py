"""The belt: fewest changes of pulley step along the tools of a setup, and what they cost.

A tool of high-speed steel may run from half its ideal speed to 1.15 of it: running slow costs time
only, running faster burns its corners (common practice). Tools that follow each other share a step
while there is one that suits them all; taken as far as it goes each time, no order of steps needs
fewer changes. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from millprep.base.records import frozen, replace
from millprep.model.shop import Mill
from millprep.model.tools import Cutter
from millprep.planning import make_plan
from millprep.planning.plan import Operation, Plan

SLOWEST_SHARE = 0.5
FASTEST_SHARE = 1.15
_HAIR_RPM = 1e-6
_ANY_SPEED_RPM = (10.0, 1_000_000.0)


@frozen
class BeltStep:
    """One setting of the belt, and the numbers of the tools that run on it.

    outside : numbers of those that it suits badly, for no step of the mill suits them
    """

    setup: int
    rpm: float
    tools: tuple[int, ...]
    outside: tuple[int, ...] = ()


@frozen
class Belts:
    """The settings in order, changes between them, changes with each tool's own best step.

    longer_s : how much longer the cutting takes than with each tool's own best step
    """

    steps: tuple[BeltStep, ...]
    changes: int
    changes_at_best: int
    longer_s: float


def belts_of(plan: Plan, setup_number: int | None = None) -> Belts | None:
    """The belt's settings for a plan; None for a mill whose speed needs no belt."""
    speeds = plan.shop.mill.speeds_rpm
    if not speeds:
        return None
    ideal = _ideal_rpm(plan)
    steps: list[BeltStep] = []
    best: list[float] = []
    longer = 0.0
    for setup_plan in plan.setups:
        if setup_number is not None and setup_plan.setup.number != setup_number:
            continue
        under_power = [o for o in setup_plan.operations if not o.by_hand]
        own = {o.tool: o.rpm for o in reversed(under_power)}
        tools = list(dict.fromkeys(o.tool for o in under_power))
        suits = {tool: rpm / FASTEST_SHARE for tool, rpm in own.items() if rpm > min(speeds)}
        wanted_by = [
            (tool, max(ideal[setup_plan.setup.number, tool], suits.get(tool, 0.0)))
            for tool in tools  # ideals are whole tens; an own step suits, unless it is the slowest
        ]
        for rpm, run in _runs(wanted_by, speeds):
            numbers = tuple(plan.tool_numbers[tool] for tool, _ in run)
            outside = tuple(
                plan.tool_numbers[tool] for tool, wanted in run if not _suits(rpm, wanted)
            )
            steps.append(BeltStep(setup_plan.setup.number, rpm, numbers, outside))
            running = {tool for tool, _ in run}
            longer += sum(_longer_s(o, rpm) for o in under_power if o.tool in running)
        best += [own[tool] for tool in tools]
    return Belts(tuple(steps), _changes([s.rpm for s in steps]), _changes(best), longer)


def _ideal_rpm(plan: Plan) -> dict[tuple[int, Cutter], float]:
    """What each tool would run at on a mill of any speed, by setup."""
    mill: Mill = replace(plan.shop.mill, speeds_rpm=(), speed_range_rpm=_ANY_SPEED_RPM)
    anywhere = make_plan(plan.part, replace(plan.shop, mill=mill), plan.order)
    return {
        (setup_plan.setup.number, operation.tool): operation.rpm
        for setup_plan in anywhere.setups
        for operation in setup_plan.operations
    }


def _suits(rpm: float, ideal: float) -> bool:
    return SLOWEST_SHARE * ideal <= rpm <= FASTEST_SHARE * ideal + _HAIR_RPM


def _allowed(ideal: float, speeds: Sequence[float]) -> set[float]:
    """The steps within a tool's bounds; where there is none, the nearest below, else the lowest."""
    suiting = {rpm for rpm in speeds if _suits(rpm, ideal)}
    if suiting:
        return suiting
    below = [rpm for rpm in speeds if rpm <= ideal * FASTEST_SHARE]
    return {max(below) if below else min(speeds)}


def _runs(
    wanted: Sequence[tuple[Cutter, float]], speeds: Sequence[float]
) -> list[tuple[float, list[tuple[Cutter, float]]]]:
    """Tools in order, in runs that share a step; of those they share, the fastest."""
    runs: list[tuple[float, list[tuple[Cutter, float]]]] = []
    shared: set[float] = set()
    for tool, ideal in wanted:
        common = shared & _allowed(ideal, speeds)
        if runs and common:
            shared = common
            runs[-1] = (max(shared), [*runs[-1][1], (tool, ideal)])
        else:
            shared = _allowed(ideal, speeds)
            runs.append((max(shared), [(tool, ideal)]))
    return runs


def _longer_s(operation: Operation, rpm: float) -> float:
    """At the same feed a turn the time goes as the speed."""
    cutting_s = -60 * operation.z_mm / operation.feed_mm_per_min
    return cutting_s * (operation.rpm / rpm - 1)


def _changes(speeds: Sequence[float]) -> int:
    return sum(before != after for before, after in pairwise(speeds))
