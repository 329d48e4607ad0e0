"""A listing hole by hole: the tools, named once, then what is done at each hole.

Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING

from millprep.model.tools import Cutter
from millprep.planning import Operation, SetupPlan
from millprep.sheets.by_tool import tool_field
from millprep.sheets.cutter_words import boring_line, is_set_by_rim, lips_line, rim_line
from millprep.sheets.document import Column, Row, Section, Table
from millprep.sheets.steps import Run, moved_lines, square_of
from millprep.sheets.tool_heads import listed_facts, turns_of
from millprep.sheets.words import hand_line, lock_line, measure_line, scrap_lines, size_lines

if TYPE_CHECKING:
    from millprep.sheets.listing import Listing

_COLUMNS = (
    Column(4, right=True, gap=0),
    Column(16, gap=2),
    Column(8, right=True, gap=0),
    Column(14, right=True, gap=0),
    Column(gap=2),
)


def hole_blocks(sheet: Listing, setup_plan: SetupPlan, steps: Run) -> Iterator[Section]:
    """The tools, named once; then a section a hole."""
    tools: dict[Cutter, Operation] = {}
    for one in sheet.kept(steps):
        tools.setdefault(one.operation.tool, one.operation)
    named = [
        Section((tool_field(sheet, first),), key="tools", also=listed_facts(sheet.plan, first))
        for first in tools.values()
    ]
    yield Section((*named, *sheet.fields([sheet.every_change(setup_plan.setup)])))
    for _, group in groupby(steps, key=lambda one: one.operation.hole.name):
        run = list(group)
        if sheet.kept(run):
            yield _hole(sheet, setup_plan, run)


def _hole(sheet: Listing, setup_plan: SetupPlan, run: Run) -> Section:
    """What stands above the steps at a hole, and the steps."""
    plan, figures, setup = sheet.plan, sheet.figures, setup_plan.setup
    first, square = run[0], square_of(run)
    is_measured = first.number == 1 and sheet.keeps is None
    check = sheet.check(setup_plan, square[:1]) if is_measured else None
    above = (
        sheet.say("hole", hole=first.operation.hole.name),
        *sheet.go_to(sheet.kept(run)[0]),
        *moved_lines(plan.part, setup_plan, run, sheet.zero(setup_plan)),
        *(rim_line(one, plan.shop, figures) for one in square if is_set_by_rim(one)),
        *size_lines(square, figures, apart=sheet.on_cards),
        *scrap_lines(square, plan.part, setup, figures),
        lips_line(square),
        hand_line(square),
        *sheet.points(run),
        lock_line(square),
        boring_line([one for one in square if one.boring is not None]),
        measure_line(first.number) if check is not None else None,
    )
    head = sheet.say("operations head", depth=sheet.depth)
    rows: list[Row] = []
    for one in sheet.kept(run):
        turns = turns_of(one.operation)
        beside = {"operation": one.operation.name, "z": sheet.shown(one.operation.z_mm, "z")}
        beside |= {} if turns is None else {"turns": turns}
        rows.append(sheet.row("operations row", one, beside, has_pecks=True))
    table = Table("operations", head, tuple(rows), _COLUMNS, boxes=sheet.has_boxes)
    measured = () if check is None else (check,)
    return Section((Section((*sheet.fields(above), *measured), key="holes"), table, *sheet.ticks()))
