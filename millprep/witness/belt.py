"""What a tools list says of the belt: which step each tool runs on, in each setup.

Imports the part, the tables and `reading`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from millprep.model.part import Hole
from millprep.reading.pages.slots import Said
from millprep.witness.compared import Due, Fault, Report, once
from millprep.witness.expected import Expected
from millprep.witness.leavings import SPOT_OVER_SIZE_MM
from millprep.witness.pulled import Job, Pulled, is_wanted
from millprep.witness.speeds import COARSE_RPM, Cut, right_rpm

_SLOWEST_SHARE, _FASTEST_SHARE = 0.5, 1.15  # of a tool's ideal speed (common practice)
_LEAST_SPOT_SHARE = 0.5  # of the hole, where a smaller drill comes next


def belt_faults(job: Job, report: Report, pulled: Sequence[Pulled]) -> Iterator[Fault]:
    """Each tool under power runs on one step in each setup, as fast as it may."""
    steps, is_due = report.whole.all("belt-step"), bool(job.shop.mill.speeds_rpm)
    speeds = [float(step["rpm"]) for step in steps]
    changes = sum(a != b for a, b in pairwise(speeds))
    cost = once(is_due, changes=changes, changes_at_best=lambda told: int(told) >= changes)
    tools = {one.number: one for one in pulled}
    due: dict[str, Sequence[Due]] = {"belt": once(is_due), "belt-sooner | belt-same": cost}
    yield from report.sentences(due | {"belt-step": [_step(job, one) for one in steps]})
    under_power = [one for one in pulled if one.tool.kind != "tap" and not one.tool.is_hand]
    wanted = Counter((n, one.number) for one in under_power for n in one.setups if is_due)
    told = Counter((step.count("setup"), int(number)) for step in steps for number in step["tools"])
    setups = [step.count("setup") for step in steps]
    if told != wanted or setups != sorted(setups):
        yield "BELT does not have every tool of each setup once, in order", report.title
    for step in steps:
        yield from _speed_faults(job, step, tools)
    if report.sheet.whole and is_due:
        belts = report.sheet.whole.get("belts") or {}
        named = [
            (int(one["setup"]), float(one["rpm"]), [*map(int, one["tools"])])
            for one in belts.get("steps", [])
        ]
        tools_of = ([*map(int, step["tools"])] for step in steps)
        if named != [*zip(setups, speeds, tools_of, strict=True)]:
            yield "belts says another thing than BELT", report.title


def _step(job: Job, step: Said) -> Due:
    """A step that the mill has; those that no step suits are some of its tools."""
    return {
        "_word": "tools" if len(step["tools"]) > 1 else "tool",
        "rpm": lambda told: float(told) in job.shop.mill.speeds_rpm,
        "outside": lambda told: {*(told or ())} <= {*step["tools"]},
    }


def _speed_faults(job: Job, step: Said, tools: Mapping[int, Pulled]) -> Iterator[Fault]:
    rpm, outside = float(step["rpm"]), {int(one) for one in step["outside"] or ()}
    for number in map(int, step["tools"]):
        if number not in tools:
            continue
        least, most = _ideal_rpm(job, tools[number], step.count("setup"))
        surely = least - COARSE_RPM  # a right speed is told in tens
        may = _SLOWEST_SHARE * surely <= rpm <= _FASTEST_SHARE * most
        must = _SLOWEST_SHARE * most <= rpm <= _FASTEST_SHARE * surely
        if (number in outside and must) or (number not in outside and not may):
            span = f"{_SLOWEST_SHARE * least:.0f} to {_FASTEST_SHARE * most:.0f} are right"
            yield f"tool {number} at {rpm:g} rev/min, and {span}", step


def _ideal_rpm(job: Job, one: Pulled, number: int) -> tuple[float, float]:
    """Between which the speed lies that is right for the tool on a mill of any speed."""
    wanted = [
        (operation, expected)
        for operation in one.operations
        for name, expected in job.seen.get(number, {}).items()
        if name in one.holes and is_wanted(operation, expected)
    ]
    wide = [_cut(one, operation, expected, expected.mouth_mm) for operation, expected in wanted]
    narrow = [
        _cut(one, operation, expected, _narrowest_spot_mm(one, expected.hole))
        for operation, expected in wanted
    ]
    return right_rpm(job.part, wide)[0], right_rpm(job.part, narrow)[1]


def _narrowest_spot_mm(one: Pulled, hole: Hole) -> float:
    """Less what it is over the hole: no wider than it opens at the depth that the list tells, in a
    thin part half way through, in a blind hole before the drill's point begins."""
    half = math.tan(math.radians((one.tool.point_angle_deg or 90.0) / 2))
    before_point_mm = math.inf if hole.is_through else hole.depth_mm - hole.diameter_mm / 2
    deep_mm = min(one.deepest_mm, hole.depth_mm / 2, before_point_mm)
    told_mm = one.tool.tip_flat_mm + 2 * max(deep_mm, 0.1) * half
    return min(told_mm - SPOT_OVER_SIZE_MM, _LEAST_SPOT_SHARE * hole.diameter_mm)


def _cut(one: Pulled, operation: str, expected: Expected, spotted_mm: float) -> Cut:
    cone = None
    if operation == "countersink":
        sunk = [need.diameter_mm for need in expected.needs if need.name == "countersink"]
        cone = max(sunk, default=None)
    elif operation == "spot drill":
        cone = min(one.tool.diameter_mm, spotted_mm + SPOT_OVER_SIZE_MM)
    return Cut(operation, one.tool.diameter_mm, cone)
