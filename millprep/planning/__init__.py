"""Planning: from a part and a shop to every operation in its order. Imports layers 0 to 3."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding, note
from millprep.base.plain_text import some
from millprep.base.records import replace
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.model.tools import Countersink, Cutter, Drill, Reamer, SpotDrill, Tap, Tool
from millprep.planning.depths import least_floor_mm
from millprep.planning.drawer import BOTTOMING_LEAD_THREADS, pointed_for
from millprep.planning.making import SPOT_OVER_SIZE_MM
from millprep.planning.openings import opening_of
from millprep.planning.operations import HolePlanner
from millprep.planning.ordering import (
    DIAL_ORDER,
    MACHINE_ORDER,
    ORDERS,
    in_order,
    with_best_lengths,
)
from millprep.planning.plan import Assumed, Operation, Plan, SetupPlan, at_angle
from millprep.reference.materials import material_named
from millprep.reference.shared_rules import CHUCK_RADIUS_MM
from millprep.setting.setups import Setup, idle_faces, setups_of
from millprep.setting.skew import Skew
from millprep.setting.strap_places import Tools
from millprep.setting.straps import clamps_of, held_by
from millprep.setting.way_round import way_round
from millprep.setting.zeroing import zeros_of
from millprep.sums import cutting

SAME_END_MM = 0.01  # what a lens shows of a tool's tip

__all__ = [
    "DIAL_ORDER",
    "MACHINE_ORDER",
    "ORDERS",
    "Operation",
    "Plan",
    "SetupPlan",
    "coming_down",
    "make_plan",
]


def make_plan(part: Part, shop: Shop, order: str = "tool", skew: Skew | None = None) -> Plan:
    """The plan of a part on a shop's tools, in the order "tool", "hole" or "row".

    skew : how far the part lies askew in one of its setups; the others are square
    Raises MillprepError when the part's setups contradict each other.
    """
    setups = setups_of(part)
    order = "hole" if part.layers and part.carrying is None else order
    material = material_named(part.material)
    if material is None:
        raise KeyError(f"material {part.material!r} is in no table")
    at_hand = replace(shop, cabinet=pointed_for(shop.cabinet, material))
    planner = HolePlanner(part, at_hand, material, setups, order == MACHINE_ORDER)
    plans = tuple(
        _askew(_plan_setup(planner, part, order, setup, setups[:before]), skew)
        for before, setup in enumerate(setups)
    )
    operations = [operation for plan in plans for operation in plan.operations]
    numbers = _tool_numbers(shop, operations)
    findings = (*_findings(part, operations), *_differing_tools(shop, numbers))
    return Plan(part, shop, plans, numbers, findings, _assumed(part, operations), order)


def _plan_setup(
    planner: HolePlanner, part: Part, order: str, setup: Setup, earlier: Sequence[Setup]
) -> SetupPlan:
    shop = planner.shop
    chosen = [list(planner.operations(hole, setup)) for hole in part.holes]
    by_hole = with_best_lengths(chosen, shop)
    tools = coming_down(shop, [one for operations in by_hole for one in operations])
    lowest_mm = min([*tools.z, *(one.low_mm[2] for one in setup.proud)], default=0.0)
    holding = held_by(part, shop, setup, max(-lowest_mm - setup.height_mm, 0.0), tools)
    holding = replace(holding, way_round=way_round(part, setup, earlier))
    setup = replace(setup, clamps=clamps_of(shop, setup, holding))  # the clear height is over them
    # the bores of a stack are finished one by one, in the order that it has them
    in_turn = tuple(one for hole in by_hole for one in hole)
    operations = _one_speed_a_tool(
        in_turn if order == "hole" and part.layers else in_order(by_hole, order, setup, shop)
    )
    return SetupPlan(setup, operations, holding, zeros_of(part, shop, setup, holding, earlier))


def coming_down(shop: Shop, operations: Sequence[Operation]) -> Tools:
    """Tools, and what holds them: by the control's table, or a chuck above the flutes."""
    table = {_likeness(tool): tool for tool in shop.tools}
    rows = []
    for one in operations:
        held = table.get(_likeness(one.tool))
        above, radius = one.tool.flute_mm, CHUCK_RADIUS_MM
        if held is not None and held.reach_mm is not None and held.holder_diameter_mm is not None:
            above, radius = held.reach_mm, held.holder_diameter_mm / 2
        ends_mm = one.z_mm + (math.inf if above is None else above)
        wide, beside = one.tool.diameter_mm / 2 + one.beside_mm, radius + one.beside_mm
        rows.append((one.x_mm, one.y_mm, wide, one.z_mm, beside, ends_mm))
    return Tools(*np.array(rows).reshape(-1, 6).T)


def _askew(plan: SetupPlan, skew: Skew | None) -> SetupPlan:
    """X and Y turned with a part that is askew in this setup."""
    if skew is None or skew.setup_number != plan.setup.number:
        return plan
    operations = tuple(at_angle(one, skew.angle_deg) for one in plan.operations)
    return replace(plan, operations=operations, skew_deg=skew.angle_deg)


def _one_speed_a_tool(operations: tuple[Operation, ...]) -> tuple[Operation, ...]:
    """The belt is set once for a tool: the slowest speed and feed that any of its steps wants. An
    end mill that goes round elsewhere is fed there by what a tooth takes at that speed."""
    slowest: dict[Cutter, tuple[float, float]] = {}
    for one in operations:
        feed = math.inf if one.helix is not None else one.feed_mm_per_min
        rpm, least = slowest.get(one.tool, (one.rpm, feed))
        slowest[one.tool] = min(rpm, one.rpm), min(least, feed)

    def at_speed(one: Operation) -> Operation:
        rpm, feed = slowest[one.tool]
        feed = one.feed_mm_per_min * rpm / one.rpm if one.helix is not None else feed
        return replace(one, rpm=rpm, feed_mm_per_min=feed)

    return tuple(map(at_speed, operations))


def _tool_numbers(shop: Shop, operations: Iterable[Operation]) -> dict[Cutter, int]:
    """The control's number where its table has the tool, else the lowest free one."""
    table = {_likeness(tool): tool.number for tool in shop.tools if tool.number is not None}
    used = dict.fromkeys(operation.tool for operation in operations)
    numbers = {tool: table[_likeness(tool)] for tool in used if _likeness(tool) in table}
    taken = {tool.number for tool in shop.tools} | set(numbers.values())
    free = 1
    for tool in used:
        if tool in numbers:
            continue
        while free in taken:
            free += 1
        numbers[tool] = free
        taken.add(free)
    return numbers


def _likeness(tool: Tool) -> tuple[object, ...]:
    """What makes a tool in the control's table the tool of the plan."""
    size = None if tool.diameter_mm is None else round(tool.diameter_mm, 3)
    return tool.kind, size, *tool.likeness


def _differing_tools(shop: Shop, numbers: dict[Cutter, int]) -> Iterator[Finding]:
    """Tools of the drawer that the control's table, by which a program is judged, has otherwise."""
    table = {tool.number: tool for tool in shop.tools}
    for tool, number in numbers.items():
        listed = table.get(number)
        if listed is None:
            continue
        for key, word in (("tip_flat", "flat"), ("lead", "lead")):
            ours, theirs = tool.told.get(word, 0.0), listed.told.get(word, 0.0)
            if abs(ours - theirs) > SAME_END_MM:
                message = (
                    f"{tool_words(tool)}: {key} is {ours:g} mm in the drawer and {theirs:g} mm in "
                    f"the tool table (T{number}); each goes by its own"
                )
                remedy = f"measure it, and give {key} the same in [drawer] and [[tool]]"
                yield Finding("stop", "tools-differ", message, remedy, shop.path or None)


_BOTTOMING = note(
    "bottoming-tap",
    "{hole}: takes the plug (bottoming) tap: under the second tap's lead the floor would be under "
    "{least_mm:1}",
    "start it with the second tap",
)


_SHORT_LEAD = note(
    "bottoming-tap",
    "{hole}: takes the plug (bottoming) tap: a longer lead would come to the far wall of {bore}",
    "start it with the second tap",
)


def _findings(part: Part, operations: list[Operation]) -> Iterator[Finding]:
    file = part.path or None
    for face in idle_faces(part):
        message = f"the setup with {face.upper()} up has no work and is left out"
        remedy = "the others are numbered without it"
        yield Finding("note", "idle-setup", message, remedy, file)
    missing: dict[Cutter, dict[str, None]] = {}
    for operation in operations:
        if not operation.in_drawer:
            missing.setdefault(operation.tool, {})[operation.hole.name] = None
    for tool, names in missing.items():
        holes = tuple(names)
        message = f"{tool_words(tool)} is not in the drawer"
        remedy = f"needed for {some(holes, 4)}; buy or borrow it, or change the hole"
        yield Finding("warning", "not-in-drawer", message, remedy, file, holes=holes)
    for hole in bottoming_holes(operations):
        opening = opening_of(hole, part.holes)
        if opening is None:
            least_mm = least_floor_mm(hole.diameter_mm)
            found = _BOTTOMING.of(hole.name, hole=hole.name, least_mm=least_mm)
        else:
            found = _SHORT_LEAD.of(hole.name, hole=hole.name, bore=opening.bore)
        yield replace(found, units=part.units, file=file, line=hole.line)


def bottoming_holes(operations: Iterable[Operation]) -> list[Hole]:
    """Blind tapped holes that get the bottoming tap."""
    return [
        operation.hole
        for operation in operations
        if isinstance(operation.tool, Tap)
        and not operation.hole.is_through
        and operation.tool.lead_threads <= BOTTOMING_LEAD_THREADS + 0.5
    ]


def tool_words(tool: Tool) -> str:
    """A tool as a sheet names it: "spot drill 90 deg, 10 mm", "5 mm drill", "M4 second tap"."""
    if isinstance(tool, SpotDrill | Countersink):
        return f"{tool.kind} {tool.angle_deg:g} deg, {tool.words}"
    if isinstance(tool, Tap):
        lead = tool.lead_threads
        form = "plug (bottoming)" if lead <= 2 else "second" if lead <= 5 else "taper"
        hand = " left hand" if tool.is_left_hand and "left" not in tool.words else ""
        return f"{tool.words}{hand} {form} tap"
    by_hand = "hand " if isinstance(tool, Reamer) and tool.is_hand else ""
    return f"{tool.words} {by_hand}{tool.kind}"


def _assumed(part: Part, operations: list[Operation]) -> Assumed:
    is_beyond = any(hole.is_through and hole.breakthrough_mm is None for hole in part.holes)
    is_spotted = any(operation.name == "spot drill" for operation in operations)
    return Assumed(
        cutting.LEAST_BREAKTHROUGH_MM if is_beyond else None,
        SPOT_OVER_SIZE_MM if is_spotted else None,
        tuple(sorted({o.tool.angle_deg for o in operations if isinstance(o.tool, Drill)})),
    )
