"""What a sheet for the mill says around its rows: tools, speeds, counts, heads, what was assumed.

Against the part, the shop and the rows themselves, by this side's own sums. Imports the part, the
shop and `reading`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import Any

from millprep.base.findings import Finding
from millprep.model.shop import Cabinet, Shop
from millprep.model.tools import Cutter, Tap
from millprep.reading.pages.printed import (
    USUAL_OPERATIONS,
    PrintedRow,
    PrintedTool,
    length_mm,
    tool_of,
)
from millprep.reading.pages.slots import Said
from millprep.reading.pages.steps import ToolSaid, tools_said
from millprep.witness.compared import any_case
from millprep.witness.judge import full_reach_mm
from millprep.witness.leavings import DIAMETER_TOLERANCE_MM
from millprep.witness.printed import SLACK_MM, Printed
from millprep.witness.quill import check_long
from millprep.witness.rows import made_operation
from millprep.witness.set_up import Run, SetUp
from millprep.witness.speeds import Cut, speed_faults
from millprep.witness.stand_ins import in_drawer

SAME_ROW_MM = 0.01  # closer than any dial is set
_ANGLE_SLACK_DEG = 0.01
HALF_SECONDS_DIGIT = 0.0501
_SAME = 1e-5  # what six printed digits leave


_TURNS_SLACK = 1e-6


def check_speeds(body: SetUp, *, is_fed: bool) -> Iterator[Finding]:
    """Each tool runs at a speed and is fed as the tables and the mill have it.

    is_fed : whether the form tells feeds; where a hand is on the lever no sheet does
    """
    printed, rows = body.printed, body.rows
    for number in dict.fromkeys(row.tool_number for row in rows):
        here = [row for row in rows if row.tool_number == number]
        cuts = [_cut(printed, body.shop, row) for row in here]
        told = {(row.rpm, row.feed_mm_per_min, row.by_hand): row for row in reversed(here)}
        for (rpm, feed, by_hand), row in told.items():
            faults = speed_faults(body.shop, printed.part, cuts, rpm, feed, by_hand, is_fed=is_fed)
            for kind, words in faults:
                remedy = "the sheet does not agree with table and mill; please report it"
                yield printed.stop(kind, f"tool {number}: {words}", remedy, row)


def _cut(printed: Printed, shop: Shop, row: PrintedRow) -> Cut:
    made = made_operation(row, printed.z_sign * row.z_mm, printed.file)
    full = full_reach_mm(made)
    owned = _owned(shop.cabinet, row.tool)
    return Cut(
        row.operation,
        row.tool.diameter_mm,
        made.cone_mm,
        None if full is None else -full,
        any(tool.is_carbide for tool in owned),
        row.tool.is_hand,
    )


def _owned(cabinet: Cabinet, tool: PrintedTool) -> list[Cutter]:
    """The tools of the drawer that a tool line can mean."""
    return [one for one in in_drawer(cabinet, tool.kind) if _is_alike(one, tool)]


def _is_alike(owned: Cutter, tool: PrintedTool) -> bool:
    if abs(owned.diameter_mm - tool.diameter_mm) > DIAMETER_TOLERANCE_MM:
        return False
    told, lead = owned.told, owned.told.get("lead")
    pairs = [
        (told.get("point"), tool.point_angle_deg, _ANGLE_SLACK_DEG),
        (told.get("pitch"), tool.pitch_mm, DIAMETER_TOLERANCE_MM),
        (lead, tool.lead, DIAMETER_TOLERANCE_MM),
    ]
    is_thread_so = not isinstance(owned, Tap) or (
        (owned.words, owned.is_left_hand) == (tool.thread, tool.is_left_hand)
    )
    return is_thread_so and all(
        one is other if one is None or other is None else abs(one - other) <= slack
        for one, other, slack in pairs
    )


def check_body(body: SetUp, order: str | None = None) -> Iterator[Finding]:
    """Every sentence of the tools, the holes, the heads of the tables, and DONE."""
    tools = tools_said(body.page)
    runs = body.runs()
    if order is not None and body.is_by_hole != (order == "hole"):
        yield body.wrong(f"it is not in the order by {order}")
    if body.is_by_hole:
        yield from _check_list_of_tools(body, tools)
        yield from _check_holes(body)
    elif [tool.number for tool in tools] != [run[0].tool_number for run in runs]:
        yield body.wrong("the tools are not those of the steps, in their order")
    else:
        for index, (tool, run) in enumerate(zip(tools, runs, strict=True), 1):
            yield from _check_tool(body, tool, run)
            yield from check_shared(body, tool, run)
            holes = len({row.hole for row in run})
            number = None if tool.number == index else str(tool.number)
            is_told = holes > 1 or not body.is_folded or tool.said.has("operation")
            counts = {
                "hole_count": holes if is_told else None,
                "change": index,
                "change_count": len(runs),
            }
            due = {name: one and str(one) for name, one in counts.items()} | {"number": number}
            yield from body.says(tool.said, due)
            yield from _check_rows_words(body, tool, run, order)
    yield from _check_heads(body)
    yield from _check_done(body)


def _check_list_of_tools(body: SetUp, tools: Sequence[ToolSaid]) -> Iterator[Finding]:
    """Hole by hole: each tool once, told how it is touched off."""
    numbers = [*dict.fromkeys(row.tool_number for row in body.rows)]
    if [tool.number for tool in tools] != numbers:
        yield body.wrong("the tools are not those of the steps, in their order")
        return
    for tool in tools:
        run = [row for row in body.rows if row.tool_number == tool.number]
        yield from _check_tool(body, tool, run)
    touched = body.page.whole.all("every-change", "every-change-dial")
    if len(touched) != 1:
        yield body.wrong("it is not told how tools are touched off")
    for said in body.page.whole.all("every-change"):
        yield from body.says(said, {"face": any_case(body.printed.setup.face), "set_to": "0"})


def _check_tool(body: SetUp, tool: ToolSaid, run: Sequence[PrintedRow]) -> Iterator[Finding]:
    """Its name, and whether it is at hand."""
    where, named = f"tool {tool.number}", tool.tool
    if any(row.tool != named for row in run):
        yield body.wrong(f"{where} is another tool in its rows", tool.said)
    says_not = [one for one in tool.more if one.slug == "drawer"]
    head = body.shop.cabinet.boring_head
    is_owned = bool(_owned(body.shop.cabinet, named))
    if named.kind == "boring head":
        is_owned = head is not None and head.reaches(named.diameter_mm)
    long = [said for said in tool.more if said.slug == "tool-long"]
    yield from check_long(body, _owned(body.shop.cabinet, named), run, long)
    if len(says_not) != (not is_owned) and not body.is_by_hole:
        yield body.wrong(f"{where} is {'' if is_owned else 'not '}in the drawer", tool.said)
    if tool.said.named is not None:
        yield from _check_entry(body, tool, run, tool.said.named, is_owned=is_owned)


def _check_entry(
    body: SetUp, tool: ToolSaid, run: Sequence[PrintedRow], entry: Any, *, is_owned: bool
) -> Iterator[Finding]:
    """What JSON has of a tool by name: its line, its speed, and the time that its first depth
    takes."""
    where, first = f"tool {tool.number}", run[0]
    right = {"by_hand": tool.by_hand, "in_drawer": is_owned, "tool": str(tool.number)}
    for name, one in right.items():
        if entry.get(name) != one:
            yield body.wrong(f"{where}: {name} is {entry.get(name)} by name, not {one}", tool.said)
    if tool_of(str(entry.get("name"))) != first.tool:
        yield body.wrong(f"{where} is called {entry.get('name')} by name", tool.said)
    figures = (entry.get("rpm"), entry.get("feed_mm_per_min"))
    if not all(map(_is_same, figures, (first.rpm, first.feed_mm_per_min))):
        yield body.wrong(f"{where}: its rows have another speed or feed", tool.said)
    if tool.by_hand:
        return
    depth_mm, seconds = (float(entry.get(name, "nan")) for name in ("depth_mm", "seconds"))
    exact_mm = -body.printed.z_sign * first.z_mm
    if not abs(depth_mm - exact_mm) <= body.printed.half_count_mm:
        yield body.wrong(f"{where} goes {exact_mm:.3f} mm deep, not {depth_mm:g}", tool.said)
    feed = first.feed_mm_per_min or math.nan
    if not abs(60 * depth_mm / feed - seconds) <= HALF_SECONDS_DIGIT:
        yield body.wrong(f"{feed:g} mm a minute is not {depth_mm:g} mm in {seconds:g} s", tool.said)


def _is_same(told: Any, right: float | None) -> bool:
    if told is None or right is None:
        return told is right
    return abs(float(told) - right) <= _SAME * max(1.0, abs(right))


def _check_rows_words(
    body: SetUp, tool: ToolSaid, run: Sequence[PrintedRow], order: str | None
) -> Iterator[Finding]:
    """ROWS: which axis stands still, how often it is set, and before which steps the other goes
    back: from the printed places."""
    said = [one for one in tool.more if one.group == "ROWS"]
    if order is not None and len(said) != (order == "row" and len(run) > 1):
        yield body.wrong(f"tool {tool.number} has {len(said)} sentences of ROWS", tool.said)
    for one in said:
        locked, worked = (_AXIS.index(one[name]) for name in ("locked", "worked"))
        places = [body.printed.places.get(row.hole, (0.0, 0.0)) for row in run]
        settings = 1 + sum(abs(a[locked] - b[locked]) > SAME_ROW_MM for a, b in pairwise(places))
        way = 1 if body.printed.middle[worked] >= -SAME_ROW_MM / 2 else -1
        back = [
            str(row.step)
            for row, (a, b) in zip(run[1:], pairwise(places), strict=True)
            if way * (b[worked] - a[worked]) < -SAME_ROW_MM
        ]
        told = one.slots.get("return_steps") or []
        axes = [one["set"], one.slots.get("goes_back")]
        right = [_AXIS[locked], _AXIS[worked] if back else None]
        counts = [one["settings"], one.slots.get("returns")]
        is_so = axes == right and counts == [str(settings), str(len(back)) if back else None]
        if locked == worked or told != back or not is_so:
            yield body.wrong(f"{one.text}: {settings} settings; it goes back before {back}", one)


_AXIS = "XY"


def _check_holes(body: SetUp) -> Iterator[Finding]:
    """Hole by hole: the names and the places are those of the rows."""
    places = ("go-to", "go-to-dial")
    said = [one for one in body.page.whole.said if one.slug in ("hole", *places)]
    runs = [next(run) for _, run in groupby(body.rows, key=lambda row: row.hole)]
    told = [
        (one["hole"], two)
        for one, two in pairwise(said)
        if one.slug == "hole" and two.slug in places
    ]
    if [name for name, _ in told] != [row.hole for row in runs] or len(said) != 2 * len(runs):
        yield body.wrong("the holes are not those of the steps, in their order")
        return
    for (name, place), row in zip(told, runs, strict=True):
        if place.slug != "go-to":
            continue
        off = max(abs(place.mm("x") - row.x_mm), abs(place.mm("y") - row.y_mm))
        if off > SLACK_MM:
            yield body.wrong(f"{name}: X and Y above its steps are not theirs", place)


def _check_heads(body: SetUp) -> Iterator[Finding]:
    """The heads have the sheet's unit, and the depth is the quill's or a readout's."""
    unit = "mm" if body.printed.setup.units == "mm" else "in"
    depth = "down" if body.shop.readout.axes == "xyz" else "quill"
    right = {"x_unit": unit, "y_unit": unit, "depth": depth}
    heads = {row.head.line: row.head for row in body.page.whole.rows if row.head is not None}
    for head in heads.values():
        for name, one in right.items():
            if head.slots.get(name, one) != one:
                yield body.wrong(f"{name} is {head[name]} above a table, not {one}", head)


def _check_done(body: SetUp) -> Iterator[Finding]:
    rows, said = body.rows, body.page.whole.all("done")
    holes = {row.hole for row in rows}
    begun = [one for one in body.printed.part.left if one.hole in holes and not one.is_there]
    counts = {"done_count": len(holes) - len(begun), "hole_count": len(holes)}
    counts |= {"step_count": len(rows), **({"begun_count": len(begun)} if begun else {})}
    right = {name: str(count) for name, count in counts.items()}
    right |= {"_begun": "begun"} if begun else {}
    told = {name: one for name, one in said[0].slots.items() if one is not None} if said else {}
    if len(said) != 1 or told != right:
        words = said[0].text if said else "no sentence of DONE"
        yield body.wrong(f"{words}: the rows have {len(holes)} holes and {len(rows)} steps")


def check_shared(body: SetUp, tool: ToolSaid, run: Run) -> Iterator[Finding]:
    """What all steps have alike stands above them once, and is theirs; what differs is marked."""
    reaches = Counter(map(_reach, run))
    due = _due(run) if len(reaches) == 1 else None
    told = [one for one in tool.more if one.slug in ("all-to", "all-pecks", "all-turns")]
    if [one.slug for one in told] != ([due] if due else []):
        words = ", ".join(one.slug for one in told)
        yield body.wrong(f"tool {tool.number}: {words or 'nothing'} is said of all its steps")
    taps = [one for one in body.all("all-turns") if body.is_folded]
    for said in told:
        is_due = not (taps and any(page.all("all-turns") for page in body.earlier))
        is_due &= said.line == taps[0].line if taps else True
        if said.slug == "all-turns" and said.has("_back") != is_due:
            yield body.wrong(f"{said.text}: how a tap is turned back is told twice, or never", said)
        for row in run:
            if not _is_of(said, row):
                yield body.wrong(f"{said.text}: not so at step {row.step}", said)
                break
    yield from _check_operation(body, tool, run)
    yield from _check_odd(body, run, reaches)


def _reach(row: PrintedRow) -> tuple[float, tuple[float, ...], float | None]:
    return row.z_mm, row.pecks_mm, row.turns


def _due(run: Run) -> str | None:
    """The sentence of what all have alike; the depth of one alone stands beside it."""
    if run[0].turns is not None:
        return "all-turns"
    if len(run) > 1:
        return "all-to"
    return "all-pecks" if run[0].pecks_mm else None


def _is_of(said: Said, row: PrintedRow) -> bool:
    slots, units = said.slots, said.units
    if said.has("z") and abs(said.mm("z") - row.z_mm) > SLACK_MM:
        return False
    if said.has("turns") and abs(float(said["turns"]) - (row.turns or 0.0)) > _TURNS_SLACK:
        return False
    if "pecks" not in slots:
        return not row.pecks_mm
    pecks = [length_mm(one, units) for one in slots["pecks"] or ()]
    return len(pecks) == len(row.pecks_mm) and all(
        abs(one - other) <= SLACK_MM for one, other in zip(pecks, row.pecks_mm, strict=True)
    )


def _check_operation(body: SetUp, tool: ToolSaid, run: Run) -> Iterator[Finding]:
    """What is done is said where it is not what the tool is for, above or beside the steps."""
    names, told = {row.operation for row in run}, tool.said.slots.get("operation")
    usual = USUAL_OPERATIONS.get(tool.tool.kind)
    due = run[0].operation if len(names) == 1 and names != {usual} else None
    if told != due:
        yield body.wrong(f"{tool.said.text}: its steps are {', '.join(sorted(names))}", tool.said)


def _check_odd(body: SetUp, run: Run, reaches: Counter[Any]) -> Iterator[Finding]:
    """Where more than half are alike, each of the others says how it differs."""
    (usual, count), *_ = reaches.most_common()
    numbers = {row.step: row for row in run}
    for read in body.page.whole.rows:
        said = read.said
        row = numbers.get(said.count("step")) if said.has("step") else None
        if row is None or "odd" not in said.slots:
            continue
        right = None
        if 2 * count > len(run) and _reach(row) != usual:
            deeper = body.printed.z_sign * (row.z_mm - usual[0]) < 0
            right = "deeper" if deeper else "shallower"
            if row.z_mm == usual[0]:
                right = "other pecks" if row.pecks_mm != usual[1] else "other turns"
        if said["odd"] != right:
            yield body.wrong(f"step {row.step} is marked {said['odd']}, not {right}", said)
