"""Whether a program stays within the travel of the mill, and where tools are changed on the part.

Where the shop file lists the origin of the work system both ends are known, in Z with the length of
the tool too; where it does not, only how far the axis goes. Imports layers 0 to 3, planning's data.
"""

from __future__ import annotations

import math

import numpy as np

from millprep.base.units import Length
from millprep.model.scene import Disc
from millprep.model.tools import Cutter
from millprep.planning.plan import Operation, Plan, SetupPlan
from millprep.setting.fixtures import clamped_scene

_SLACK_MM = 1e-6
_PLACES = 41  # of the net, along either side
Reason = tuple[str, str]
"""(why, what to do)"""


def beyond_travel(
    plan: Plan, setup_plan: SetupPlan, short_mm: tuple[float, float] = (0.0, 0.0)
) -> Reason | None:
    """Why the mill cannot run the program of a setup; None where nothing is known against it.

    short_mm : how far on the minus side of each hole it stops first
    """
    across = (_beyond_across(plan, setup_plan, axis, short_mm) for axis in (0, 1))
    is_driven = plan.shop.control.axes == "xyz"
    height = _beyond_height(plan, setup_plan) if is_driven else None
    return next(filter(None, (*across, height)), None)


def most_raised_mm(plan: Plan, setup_plan: SetupPlan) -> float:
    """How far above the part the program can be run; tools are touched off on the part all the
    same."""
    control, (low, high) = plan.shop.control, plan.shop.mill.travel_mm[2]
    safe_mm = setup_plan.setup.safe_height_mm
    origin = control.offsets_mm.get(setup_plan.setup.request.work_offset)
    tops = [high - low]
    for tool in {one.tool for one in setup_plan.operations}:
        long_mm = offset_length_mm(plan, tool)
        if origin is not None and control.length_offset and long_mm:
            tops.append(high - origin[2] - long_mm)
    return min(tops) - safe_mm


def offset_length_mm(plan: Plan, tool: Cutter) -> float:
    """What the control's table says of a tool; 0 where it says nothing."""
    number = plan.tool_numbers[tool]
    return next((each.length_mm for each in plan.shop.tools if each.number == number), 0.0)


def _beyond_across(
    plan: Plan, setup_plan: SetupPlan, axis: int, short_mm: tuple[float, float]
) -> Reason | None:
    letter, number = "XY"[axis], setup_plan.setup.number
    place, (low, high) = plan.shop.mill.change_place_mm, plan.shop.mill.travel_mm[axis]
    offset = setup_plan.setup.request.work_offset
    origin = plan.shop.control.offsets_mm.get(offset)
    steps = [((one.x_mm, one.y_mm)[axis], one.beside_mm) for one in setup_plan.operations]
    worked = [at + side * beside for at, beside in steps for side in (-1, 1)]
    worked.append(min(at for at, _ in steps) - short_mm[axis])
    if origin is not None:
        ends = [at + origin[axis] for at in (min(worked), max(worked))]
        beyond = max(low - ends[0], ends[1] - high)
        if beyond > _SLACK_MM:
            return (
                f"{offset} lies so that {letter} of setup {number} goes "
                f"{Length(beyond, plan.part.units):1} beyond its travel",
                f"clamp the work elsewhere, and list where {offset} is then",
            )
    if place is not None:
        if origin is not None:
            is_beyond = not low <= place[axis] + origin[axis] <= high
        else:
            reach = (*worked, place[axis])
            is_beyond = max(reach) - min(reach) > high - low + _SLACK_MM
        if is_beyond:
            return (
                f"change_place lies beyond the travel of {letter} in setup {number}",
                "give a place nearer, or leave it out: changes are made over the work then",
            )
    return None


def _beyond_height(plan: Plan, setup_plan: SetupPlan) -> Reason | None:
    control, (low, high) = plan.shop.control, plan.shop.mill.travel_mm[2]
    number, safe_mm = setup_plan.setup.number, setup_plan.setup.safe_height_mm
    origin = control.offsets_mm.get(setup_plan.setup.request.work_offset)

    def lacking_mm(one: Operation) -> float:
        lacking = safe_mm - one.z_mm - (high - low)
        long_mm = offset_length_mm(plan, one.tool)
        if origin is None or not control.length_offset or not long_mm:
            return lacking
        up, down = (at + origin[2] + long_mm for at in (safe_mm, one.z_mm))
        return max(lacking, up - high, low - down)

    worst = max(setup_plan.operations, key=lacking_mm)
    if (lacking := lacking_mm(worst)) <= _SLACK_MM:
        return None
    return (
        f"between the clear height and {worst.hole.name} in setup {number} Z would have to move "
        f"{Length(lacking, plan.part.units):1} more than it can",
        "take lower clamps, or drill it from the listing",
    )


def clear_place_mm(plan: Plan, setup_plan: SetupPlan) -> tuple[float, float]:
    """(X, Y) in setup axes, whole millimetres where that still is clear of everything."""
    scene = clamped_scene(plan.part, plan.shop, setup_plan.setup, setup_plan.holding)
    stock = scene.stock
    (x0, y0, _), (x1, y1, top) = stock.low_mm, stock.high_mm
    xs, ys = np.meshgrid(np.linspace(x0, x1, _PLACES), np.linspace(y0, y1, _PLACES))
    room = np.minimum(np.minimum(xs - x0, x1 - xs), np.minimum(ys - y0, y1 - ys))
    if isinstance(stock, Disc) and stock.axis == 2:
        middle = np.hypot(xs - (x0 + x1) / 2, ys - (y0 + y1) / 2)
        room = (x1 - x0) / 2 - middle
        if stock.bore_mm:
            room = np.minimum(room, middle - stock.bore_mm / 2)
    holes = [(one.x_mm, one.y_mm, one.tool.diameter_mm / 2) for one in setup_plan.whole]
    holes += [
        (room.start_mm[0], room.start_mm[1], room.diameter_mm / 2)
        for room in scene.drilled
        if math.dist(room.start_mm[:2], room.end_mm[:2]) < room.diameter_mm
    ]
    for x, y, radius in set(holes):
        room = np.minimum(room, np.hypot(xs - x, ys - y) - radius)
    for one in scene.fixtures:
        if one.high_mm[2] > top:
            outside = [
                np.maximum(np.maximum(low - at, at - high), 0.0)
                for at, low, high in zip((xs, ys), one.low_mm[:2], one.high_mm[:2], strict=True)
            ]
            room = np.minimum(room, np.hypot(*outside))
    best = int(np.argmax(room))
    x, y = float(xs.flat[best]), float(ys.flat[best])
    return (round(x), round(y)) if room.flat[best] > 1.0 else (x, y)
