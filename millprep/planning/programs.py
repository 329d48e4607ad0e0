"""What a program does of a plan: which operations, in how many files, and how high for a change.

The tip of the tool that is in goes so high that the longest can be taken out and the longest put in
with room to spare; where lengths are not known, far over everything. Imports layers 0 to 3 and
planning's data.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import replace
from millprep.model.tools import BoringHead, Reamer
from millprep.planning.head import PickUp, heights_of, moves_before
from millprep.planning.helical import round_of
from millprep.planning.plan import Operation, Plan, SetupPlan
from millprep.planning.program_travel import beyond_travel, offset_length_mm
from millprep.reference.materials import material_named
from millprep.setting.fixtures import fixtures_of

OVER_LONGEST_MM = 20.0  # under the longest tool (common practice)
OVER_UNKNOWN_MM = 60.0  # where lengths are not known (common practice)


APPROACH_MM = 1.0  # how far short of a hole, or three times the backlash (common practice)


def approach_mm(plan: Plan) -> tuple[float, float]:
    """How far on the minus side of a hole a program stops first, so that every hole is come up to
    from there; 0 along an axis whose backlash is not felt."""
    x, y = (max(APPROACH_MM, 3 * each) if each else 0.0 for each in plan.shop.control.loose_mm)
    return x, y


def why_by_hand(operation: Operation, plan: Plan) -> str | None:
    """Why the control leaves this operation to the hand; None when it does it."""
    control, material = plan.shop.control, material_named(plan.part.material)
    if isinstance(operation.tool, Reamer) and operation.tool.is_hand:
        return "a hand reamer is never turned by the spindle"
    if operation.name != "tap" or control.tapping == "by hand at the hole":
        return None
    if control.tapping == "none":
        return "the control does not tap"
    if operation.hole.thread is not None and operation.hole.thread.is_left_hand:
        return "left hand thread"
    if control.tapping != "reversing head" and "G84" not in control.cycles:
        return "the control has no tapping cycle G84"
    most = control.tap_speed_rpm
    if material is not None:
        most = min(most, material.most_tap_rpm(operation.tool.diameter_mm))
    if operation.feed_mm_per_min > plan.shop.mill.max_feed_mm_per_min:
        return "the mill does not feed so fast"
    return "the spindle does not turn slowly enough" if operation.rpm > most else None


def is_tapped_by_hand(operation: Operation, plan: Plan) -> bool:
    """Whether the program stops over the hole, and the hand taps it there."""
    return operation.name == "tap" and plan.shop.control.tapping == "by hand at the hole"


def head_moves(plan: Plan, setup_plan: SetupPlan) -> dict[int, PickUp]:
    """As `moves_before`, where the spindle drives what the control does."""
    driven = tuple(
        replace(one, by_hand=why_by_hand(one, plan) is not None) for one in setup_plan.operations
    )
    heights = heights_of(replace(setup_plan, operations=driven), plan.part, plan.shop)
    return moves_before(driven, heights)


def is_file_a_tool(plan: Plan, setup_plan: SetupPlan) -> bool:
    """Whether each tool needs a file of its own: what a stop between them would be for, the control
    cannot do in one."""
    control = plan.shop.control
    if control.tool_change == "files":
        return True
    is_zeroed = control.axes == "xyz" and not control.length_offset
    is_asked = is_zeroed or bool(head_moves(plan, setup_plan))
    return control.zero_in_stop is False and is_asked


def no_program(plan: Plan) -> tuple[str, str] | None:
    """(why, what to do) where no sound program can be written; None where one can."""
    control = plan.shop.control
    is_zeroed = control.axes == "xyz" and not control.length_offset
    if control.tool_change == "stop" and is_zeroed and control.zero_in_stop is None:
        return (
            "nobody has said whether a tool can be jogged and zeroed during a stop (M0)",
            "try it with no tool in: M0, jog, set Z0, go on; then write [control] "
            "zero_in_stop = true or false",
        )
    if (lacking := _lacking_code(plan)) is not None:
        return lacking
    if (rounded := _rounded_away(plan)) is not None:
        return (
            f"with the decimals that the control takes {rounded} may lie outside its tolerance",
            "drill it from the listing",
        )
    if (bored := _bored_in_one(plan)) is not None:
        return (
            f"the boring head cannot be stopped and enter {bored} again between passes",
            "bore it from the listing, or give [drawer] boring_head stops = true if it can",
        )
    short_mm = approach_mm(plan)
    return next(filter(None, (beyond_travel(plan, one, short_mm) for one in plan.setups)), None)


def _lacking_code(plan: Plan) -> tuple[str, str] | None:
    """A code that no program for this part can do without, where `codes` lists others only."""
    control = plan.shop.control
    needed = {
        "G1",
        *({"G0"} if control.axes == "xyz" else ()),
        *(one.setup.request.work_offset for one in plan.setups),
    }
    if control.has("G54"):
        needed.discard("G54")
    elif not any(control.has(f"G{n}") for n in range(55, 60)):
        needed.discard("G54")  # the one system there is goes without saying
    if control.length_offset:
        needed.add("G43")
    if control.tool_change == "M6":
        needed.add("M6")
    is_stopped = control.tool_change != "M6" or not control.length_offset
    if is_stopped or control.spindle != "driven" or any(head_moves(plan, o) for o in plan.setups):
        needed.add("M0")
    if control.spindle != "by hand":
        needed |= {"M3", "M5"}
    if control.coolant != "none":
        needed |= {control.coolant, "M9"}
    missing = sorted(code for code in needed if not control.has(code))
    if not (control.has("M30") or control.has("M2")):
        missing.append("M30")
    if not missing:
        return None
    return (
        f"the control is listed without {', '.join(missing)}",
        "if it has them, list them under [control] codes; else drill from the listing",
    )


def _rounded_away(plan: Plan) -> str | None:
    """A hole whose tolerance is finer than the last digit of the program's lengths."""
    control, part = plan.shop.control, plan.part
    step_mm = control.step_mm(control.units or part.units)
    for hole in part.holes:
        given = (hole.tolerance_mm, part.general_tolerance_mm)
        zone_mm = math.inf if hole.position_mm is None else hole.position_mm / 2
        least_mm = min([zone_mm, *(each for each in given if each is not None)][:2])
        if least_mm < step_mm:
            return hole.name
    return None


def _bored_in_one(plan: Plan) -> str | None:
    """A hole that would be bored by a head that cannot stop between its passes."""
    for one in (each for setup_plan in plan.setups for each in setup_plan.operations):
        if isinstance(one.tool, BoringHead) and not one.tool.stops:
            milled = round_of(one.hole, plan.shop, plan.part.units)
            if milled is None or milled.is_left:
                return one.hole.name
    return None


def is_machine_top(plan: Plan, setup_plan: SetupPlan) -> bool:
    """Whether the spindle goes to the machine's home: the shop says where that is and where the
    work lies under it, the control has tool lengths, and no height of change was given."""
    control = plan.shop.control
    is_known = control.is_home_known and setup_plan.setup.request.work_offset in control.offsets_mm
    is_known = is_known and control.has("G53")
    return is_known and control.length_offset and plan.shop.mill.change_height_mm is None


def change_height_mm(plan: Plan, setup_plan: SetupPlan, run: Sequence[Operation]) -> float:
    """Z of the tip of the tool that is in when it is changed; in a proving run higher by its
    height, as far as the travel allows.

    run : what the tool has done; where nothing is known of the ends of Z, its travel counts from
        the lowest of it
    """
    given = plan.shop.mill.change_height_mm
    tools = {one.tool for one in setup_plan.operations}
    lengths = [offset_length_mm(plan, tool) for tool in tools]
    here = offset_length_mm(plan, run[0].tool)
    if given is not None:
        over = given
    elif all(lengths):
        over = OVER_LONGEST_MM + max(lengths) - here
    else:
        over = OVER_UNKNOWN_MM
    fixtures = fixtures_of(plan.shop, setup_plan.setup, setup_plan.holding)
    highest = max([0.0, *(fixture.high_mm[2] for fixture in fixtures)])
    raised_mm = setup_plan.scope.raised_mm
    wanted = min(highest + over + raised_mm, _top_of_travel_mm(plan, setup_plan, run))
    return max(wanted, setup_plan.setup.safe_height_mm + raised_mm)


def _top_of_travel_mm(plan: Plan, setup_plan: SetupPlan, run: Sequence[Operation]) -> float:
    control, (low, high) = plan.shop.control, plan.shop.mill.travel_mm[2]
    origin = control.offsets_mm.get(setup_plan.setup.request.work_offset)
    here = offset_length_mm(plan, run[0].tool)
    if origin is not None and control.length_offset and here:
        return high - origin[2] - here
    lowest_mm = 0.0 if setup_plan.scope.is_proving else min(one.z_mm for one in run)
    return lowest_mm + high - low
