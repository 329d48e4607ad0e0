"""Taps and reamers follow a hole: is it there, is it their size, is it deep enough?

Imports `form`, `record`, `slips` and the rules that are common with the checks.
"""

from __future__ import annotations

import math

from millprep.base.findings import Finding, Severity
from millprep.base.records import replace
from millprep.reading.simulate import slips
from millprep.reading.simulate.form import Form, use_in
from millprep.reading.simulate.record import Cut, width_at
from millprep.reference.shared_rules import HoleBefore

DEPTH_ROOM_MM = 0.01
_JUST_INSIDE_MM = 0.01

SIZE_SLACK_MM = 0.001  # tool lines give three decimals

Fault = tuple[Finding, dict[str, str | float]]
"""A finding of `slips` and its figures."""


def follow_fault(
    form: Form, cycle: int, room: list[Cut], low_mm: float, underside_mm: float
) -> Fault | None:
    """What is wrong with the hole that a tool follows."""
    use = use_in(form, cycle)
    if use.follows is None:
        return None
    tool = str(use.kind)
    deep = [cut for cut in room if not cut.is_spot]
    if all(cut.is_across for cut in deep):
        return slips.NOTHING_TO_FOLLOW, {"tool": tool}
    if form.tool.diameter_mm is None or any(cut.radius_mm == 0 for cut in deep):
        return None
    size = _narrowest(deep, max(form.full_mm(low_mm), underside_mm))
    wanted = use.follows(form)
    severity = _severity(wanted[1], size) if wanted is not None and size > 0 else None
    if wanted is not None and severity is not None:
        what, hole = wanted
        figures = {"hole": size, "least": hole.usual_least_mm, "most": hole.usual_most_mm}
        return replace(slips.HOLE_WRONG, severity=severity), {"tool": what, **figures}
    end = width_at(deep, max(low_mm, underside_mm) + _JUST_INSIDE_MM)
    if size > 0 and end >= size - 2 * DEPTH_ROOM_MM:
        return None
    reach = min(cut.surface(cut.radius_mm) for cut in deep)
    return slips.HOLE_TOO_SHALLOW, {"tool": tool, "low": low_mm, "reach": reach}


def _narrowest(deep: list[Cut], low_mm: float) -> float:
    """Least width from a height up: recesses at either end do not count, a floor between is 0."""
    heights = [low_mm + _JUST_INSIDE_MM]
    heights += [cut.tip_mm - _JUST_INSIDE_MM for cut in deep if cut.tip_mm > heights[0]]
    heights += [cut.upper_mm + _JUST_INSIDE_MM for cut in deep if low_mm < cut.upper_mm < math.inf]
    return min(width_at(deep, height) for height in heights)


def _severity(before: HoleBefore, hole_mm: float) -> Severity | None:
    slack = SIZE_SLACK_MM
    if not before.least_mm - slack <= hole_mm <= before.most_mm + slack:
        return "stop"
    is_usual = before.usual_least_mm - slack <= hole_mm <= before.usual_most_mm + slack
    return None if is_usual else "warning"
