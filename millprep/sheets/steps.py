"""The steps of a sheet for the mill: what JSON and CSV have of each, and how they stand in rows.

Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

import numpy as np

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.part import Part
from millprep.model.tools import Cutter, Tap
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.head import PickUp, heights_of, length_mm, moves_before
from millprep.planning.making import BoringPass
from millprep.planning.numbering import AXES, in_rows, ways_of
from millprep.planning.ordering import drills_alike
from millprep.setting.own_mirror import has_no_hand
from millprep.setting.setups import Setup
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures, about
from millprep.sheets.hand_words import NO_HAND
from millprep.sheets.setting_words import head_moves_before, moved_line
from millprep.sheets.words import tool_line

_SKEW_DIGITS = 4

CSV = (
    "setup", "face", "towards_you", "zero_x", "zero_y", "units", "step", "hole", "operation",
    "tool", "tool_number", "diameter_mm", "point_angle_deg", "tip_flat_mm", "pitch_mm", "lead",
    "cone_mm", "x", "y", "z", "pecks", "turns", "pass", "bored_from", "bored_to", "dial_on", "rpm",
    "feed_mm_per_min", "by_hand", "skew_deg",
)  # fmt: skip


@frozen
class Step:
    """An operation and its number in the setup; square : where it is on the part; again : what is
    picked up before it, where the head has moved."""

    number: int
    operation: Operation
    square: Operation
    again: PickUp | None = None


Run = Sequence[Step]


def square_of(run: Run) -> list[Operation]:
    """The operations where they are on the part."""
    return [one.square for one in run]


def told_of(plan: Plan, operation: Operation) -> dict[str, Any]:
    """What JSON and CSV have of a step beside its row."""
    tool, by_hand = operation.tool, operation.by_hand
    told = tool.told
    lead = told.get("lead")
    pitch = told.get("pitch", 1.0) if isinstance(tool, Tap) else 1.0
    places = zip("xyz", (operation.x_mm, operation.y_mm, operation.z_mm), strict=True)
    return {f"{axis}_exact_mm": round(value, 6) for axis, value in places} | {
        "operation": operation.name,
        "tool": tool_line(tool),
        "tool_number": plan.tool_numbers[tool],
        "diameter_mm": tool.diameter_mm,
        "point_angle_deg": told.get("point"),
        "tip_flat_mm": told.get("flat", 0.0),
        "pitch_mm": told.get("pitch"),
        "lead": lead,
        "lead_mm": None if lead is None else round(lead * pitch, 4),
        "cone_mm": None if operation.cone_mm is None else round(operation.cone_mm, 4),
        "rpm": None if by_hand else operation.rpm,
        "feed_mm_per_min": None if by_hand else operation.feed_mm_per_min,
        "by_hand": by_hand,
        **({} if operation.boring is None else {"pass": _pass(operation.boring)}),
        **({"layers": list(operation.hole.layers)} if operation.hole.layers else {}),
    }


def _pass(one: BoringPass) -> str:
    return f"{one.number} of {one.count}"


def rows_sentence(say: Sayer, setup: Setup, run: Run) -> Sentence:
    """What to lock and where the working axis goes back, of one tool's steps in rows."""
    firsts = [
        one for one in run if one.operation.boring is None or one.operation.boring.number == 1
    ]
    points = np.array([[one.square.x_mm, one.square.y_mm] for one in firsts]).T
    rows = in_rows(points, ways_of(setup))
    locked, worked = AXES[rows.locked], AXES[1 - rows.locked]
    slots = {"locked": locked, "worked": worked, "settings": rows.settings, "set": locked}
    back = [firsts[place].number for place in rows.returns]
    if not back:
        return say("rows-one-way", **slots)
    again = {"returns": len(back), "goes_back": worked, "return_steps": back}
    return say("rows-back", **again, **slots)


def steps_of(plan: Plan, setup_plan: SetupPlan) -> list[Step]:
    """The steps of a setup, numbered from 1."""
    heights = heights_of(setup_plan, plan.part, plan.shop)
    moves = moves_before(setup_plan.operations, heights)
    pairs = zip(setup_plan.operations, setup_plan.square, strict=True)
    return [Step(number + 1, *pair, moves.get(number)) for number, pair in enumerate(pairs)]


def long_line(say: Sayer, plan: Plan, tool: Cutter, figures: Figures) -> Sentence | None:
    """Which of several drills of a size, where their lengths matter to the head."""
    is_asked = plan.shop.mill.head_moves == "loses" and plan.shop.mill.quill_travel_mm is not None
    if not (is_asked and drills_alike(plan.shop.cabinet, tool)):
        return None
    long_mm = length_mm(tool)
    return say("tool-long", long_mm=Shown(f"{figures.size(long_mm)} {figures.unit}", long_mm))


def moved_lines(
    part: Part, setup_plan: SetupPlan, run: Run, zero: Iterable[Sentence]
) -> Iterator[Sentence]:
    """Before which of the steps the head moves, and what is picked up again.

    zero : the sentences by which the sheet has found it
    """
    here = [(one.number, one.again) for one in run if one.again is not None]
    found = list(zero) if here else []
    for number, again in here:
        yield moved_line(part, setup_plan.operations, number, again, found)


def setup_facts(plan: Plan, setup_plan: SetupPlan) -> dict[str, Any]:
    """What JSON and CSV have of a setup beside its sentences."""
    setup = setup_plan.setup
    heights = heights_of(setup_plan, plan.part, plan.shop)
    return {
        "setup": setup.number,
        "towards_you": setup.towards_you,
        "left_hand": setup.left_hand,
        "zero": {"x": setup.zero_x, "y": setup.zero_y, "z": setup.face},
        "zero_x": setup.zero_x,
        "zero_y": setup.zero_y,
        "work_offset": setup.request.work_offset,
        "skew_deg": round(setup_plan.skew_deg, _SKEW_DIGITS),
        "head_moves_before_tools": head_moves_before(heights, plan.tool_numbers),
        **({"hand": NO_HAND} if has_no_hand(plan.part) else {}),
    }


def assumptions_of(plan: Plan, units: Units) -> dict[str, Any]:
    """The defaults that were used, but for what the sheet counts by."""
    assumed = plan.assumed
    points = [{"point": f"{angle:g}"} for angle in assumed.point_angles_deg]
    lengths = {"breakthrough": assumed.breakthrough_mm, "cone_over": assumed.cone_over_mm}
    told = {name: about(mm, units) for name, mm in lengths.items() if mm is not None}
    return {**told, "points": points or None}
