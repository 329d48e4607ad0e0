"""Taps and reamers follow a hole: is it there, is it their size, is it deep enough?

Imports `form`, `record` and the rules that are common with the checks.
"""

from __future__ import annotations

import math

from millprep.base.findings import Severity
from millprep.reading.made import OPERATION_OF_CYCLE
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.record import Cut, width_at
from millprep.reference.shared_rules import HoleBefore, before_reamer, before_tap

DEPTH_ROOM_MM = 0.01
_JUST_INSIDE_MM = 0.01

SIZE_SLACK_MM = 0.001  # tool lines give three decimals

Fault = tuple[str, str, str, Severity]


def follow_fault(
    form: Form, cycle: int, room: list[Cut], low_mm: float, underside_mm: float
) -> Fault | None:
    """(kind, message, remedy, severity) of what is wrong with the hole that a tool follows."""
    name = {"tap": "tap", "reamer": "reamer"}.get(form.kind or "")
    if form.kind is None:
        name = {"tap": "tap", "ream": "reamer"}.get(OPERATION_OF_CYCLE.get(cycle, ""))
    if name is None:
        return None
    deep = [cut for cut in room if not cut.is_spot]
    if all(cut.is_across for cut in deep):
        return (
            "nothing-to-follow",
            f"the {name} goes into material that no drill has opened",
            "drill the hole first; see that the program runs the drill before it",
            "stop",
        )
    if form.diameter_mm is None or any(cut.radius_mm == 0 for cut in deep):
        return None
    size = _narrowest(deep, max(low_mm + form.lead_mm, underside_mm))
    end = width_at(deep, max(low_mm, underside_mm) + _JUST_INSIDE_MM)
    wrong = _wrong_size(form, name, size) if size > 0 else None
    return wrong or _too_shallow(name, size, end, low_mm, deep)


def _narrowest(deep: list[Cut], low_mm: float) -> float:
    """Least width from a height up: recesses at either end do not count, a floor between is 0."""
    heights = [low_mm + _JUST_INSIDE_MM]
    heights += [cut.tip_mm - _JUST_INSIDE_MM for cut in deep if cut.tip_mm > heights[0]]
    heights += [cut.upper_mm + _JUST_INSIDE_MM for cut in deep if low_mm < cut.upper_mm < math.inf]
    return min(width_at(deep, height) for height in heights)


def _wrong_size(form: Form, name: str, hole_mm: float) -> Fault | None:
    assert form.diameter_mm is not None
    size = form.diameter_mm
    if name == "tap":
        if form.pitch_mm is None:
            return None
        before = before_tap(size, form.pitch_mm)
        what = f"tap {size:g} x {form.pitch_mm:g} mm"
    else:
        before = before_reamer(size)
        what = f"reamer {size:.3f} mm"
    severity = _severity(before, hole_mm)
    if severity is None:
        return None
    return (
        "hole-wrong-for-tool",
        f"the {what} enters a hole of {hole_mm:.3f} mm",
        f"drill it between {before.usual_least_mm:.2f} and {before.usual_most_mm:.2f} mm first",
        severity,
    )


def _severity(before: HoleBefore, hole_mm: float) -> Severity | None:
    slack = SIZE_SLACK_MM
    if not before.least_mm - slack <= hole_mm <= before.most_mm + slack:
        return "stop"
    is_usual = before.usual_least_mm - slack <= hole_mm <= before.usual_most_mm + slack
    return None if is_usual else "warning"


def _too_shallow(
    name: str, size_mm: float, end_mm: float, low_mm: float, deep: list[Cut]
) -> Fault | None:
    if size_mm > 0 and end_mm >= size_mm - 2 * DEPTH_ROOM_MM:
        return None
    reach = min(cut.surface(cut.radius_mm) for cut in deep)
    return (
        "hole-too-shallow-for-tool",
        f"the {name} goes down to Z{low_mm:.3f}; the hole has its full size to Z{reach:.3f}",
        "drill deeper, or stop the " + name + " above the drill's full diameter",
        "stop",
    )
