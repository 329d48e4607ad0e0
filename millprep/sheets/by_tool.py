"""A listing tool by tool: what its steps share stands above them once. Imports layers 0 to 4."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import TYPE_CHECKING, Any

from millprep.base.records import replace
from millprep.planning import Operation, SetupPlan
from millprep.sheets.cutter_words import boring_line, lips_line, touch_off
from millprep.sheets.document import Column, Field, Section, Sentence, Table
from millprep.sheets.steps import Run, long_line, moved_lines, rows_sentence, square_of
from millprep.sheets.tool_heads import beside_steps, called, shared_by, tool_facts
from millprep.sheets.words import hand_line, lock_line, run_back_line, scrap_lines, size_lines

if TYPE_CHECKING:
    from millprep.sheets.listing import Listing


def tool_blocks(sheet: Listing, setup_plan: SetupPlan, steps: Run) -> Iterator[Section]:
    """A section a tool; tapping is a section of its own."""
    tools = groupby(steps, key=lambda one: (one.operation.tool, one.operation.name == "tap"))
    runs = [list(run) for _, run in tools]
    shown = [run for run in runs if sheet.kept(run)]
    columns = sheet.columns(steps, runs)
    looked_at: set[str] = set()
    for run in runs:
        look: tuple[Field | Table, ...] = ()
        if run[0].operation.hole.name not in looked_at:
            look = sheet.look(setup_plan, square_of(run), is_first=not looked_at)
            looked_at |= {one.operation.hole.name for one in run}
        if run in shown:
            change = {"change": shown.index(run) + 1, "change_count": len(shown)}
            tool = _tool(sheet, setup_plan, run, change)
            after = look if sheet.keeps is None else ()
            head = sheet.head() if run is shown[0] else None
            table = _table(sheet, run, head, columns)
            yield Section((tool, table, *sheet.ticks(), *after))


def _tool(sheet: Listing, setup_plan: SetupPlan, run: Run, change: dict[str, int]) -> Section:
    """What stands above the steps of a tool, which JSON has as one."""
    plan, first, square = sheet.plan, run[0].operation, square_of(run)
    kept, shared = sheet.kept(run), shared_by(run, sheet.figures)
    holes = len({one.operation.hole.name for one in kept})
    drawer = None if first.in_drawer else sheet.say("drawer")
    in_rows = plan.order == "row" and len(run) > 1
    above = (
        *moved_lines(plan.part, setup_plan, run, sheet.zero(setup_plan)),
        touch_off(first, plan.shop, sheet.figures),
        *sheet.shared(run),
        *size_lines(square, sheet.figures, apart=sheet.on_cards),
        lips_line(square),
        hand_line(square),
        *sheet.points(run),
        run_back_line(first, is_told=shared.is_deep),
        rows_sentence(sheet.say, setup_plan.setup, run) if in_rows else None,
        *scrap_lines(square, sheet.plan.part, setup_plan.setup, sheet.figures),
        lock_line(square),
        boring_line(square),
    )
    counts = {"operation": shared.told(first.tool), "hole_count": holes, **change}
    named = tool_field(sheet, kept[0].operation, drawer, **counts)
    facts = tool_facts(plan, kept[0].operation, setup_plan.setup)
    return Section((named, *sheet.fields(above)), key="tools", also=facts)


def tool_field(sheet: Listing, first: Operation, *more: Sentence | None, **told: Any) -> Field:
    """A tool's name and speed, what it does at how many holes; its number where that is not
    its place among the changes."""
    number = sheet.plan.tool_numbers[first.tool]
    slots = {
        "tool": number,
        "number": None if told.get("change") in (None, number) else number,
        "listed": None if "change" in told else number,
        "called": called(first.tool, sheet.units),
        **told,
    }
    if first.by_hand:
        name = sheet.say("tool-by-hand", **slots)
    else:
        name = sheet.say("tool", rpm=f"{first.rpm:g}", **slots)
    long = long_line(sheet.say, sheet.plan, first.tool, sheet.figures)
    return replace(sheet.say.field("TOOL", name, long, *more), runs_on=True)


def _table(sheet: Listing, run: Run, head: Sentence | None, columns: tuple[Column, ...]) -> Table:
    """The steps of a tool, each with what does not stand above all of them."""
    has_pecks = not shared_by(run, sheet.figures).has_pecks
    beside = beside_steps(run, sheet.figures)
    rows = (
        sheet.row(f"{sheet.steps} row", one, beside[one.number], has_pecks=has_pecks)
        for one in sheet.kept(run)
    )
    return Table(sheet.steps, head, tuple(rows), columns, boxes=sheet.has_boxes)
