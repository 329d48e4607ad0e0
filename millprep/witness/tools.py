"""The second witness for tools lists: each tool against the holes that want it and the drawer.

Imports the part, the shop, the tables and `reading`; never what planned the tools.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import count, pairwise
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Part
from millprep.model.shop import Cabinet, Shop
from millprep.model.tools import Cutter, Tap
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.lines import ReadRow, ReadSheet
from millprep.reading.pages.printed import PrintedTool, UnreadableSheet, tool_of
from millprep.reading.pages.slots import Said, names_by_letters
from millprep.witness.asked import advice_due, check_sound_words, complaint, same_words, unreadable
from millprep.witness.expected import Expected, expected_holes
from millprep.witness.leavings import (
    DIAMETER_TOLERANCE_MM,
    SPOT_OVER_SIZE_MM,
    beyond_mm,
    leavings_of,
)
from millprep.witness.rows import KINDS_FOR
from millprep.witness.speeds import Cut, right_rpm
from millprep.witness.stand_ins import percent_faults, stand_in_faults

_STARTS = ("spot drill", "pilot drill")
_SLOWEST_SHARE, _FASTEST_SHARE = 0.5, 1.15  # of a tool's ideal speed (common practice)
_TAP_ROOM_PITCHES = 8.0  # below a blind thread, for the tap's lead and its chips, at the most
_REAM_ROOM_MM = 3.0  # below a blind reamed hole, for lead and chips, at the most
_LEAST_SPOT_SHARE = 0.5  # of the hole, where a smaller drill comes next
_DEPTH_DIGIT_MM = 0.051  # depths are told to a tenth


@frozen
class _Pulled:
    """A tool of the list, understood."""

    row: ReadRow
    number: int
    tool: PrintedTool
    words: str
    is_missing: bool
    operations: tuple[str, ...]
    setups: tuple[int, ...]
    holes: tuple[str, ...]
    deepest_mm: float
    depth_digit_mm: float

    @property
    def said(self) -> Said:
        return self.row.said


@frozen
class _Job:
    """The part as each face of the list sees it. faces : by number of the setup"""

    part: Part
    shop: Shop
    faces: Mapping[int, str]
    seen: Mapping[int, Mapping[str, Expected]]


def check_tools(
    data: bytes,
    form: SheetForm,
    part: Part,
    shop: Shop,
    faces: Mapping[int, str],
    *,
    is_whole: bool,
    file: str,
) -> list[Finding]:
    """How a finished tools list differs from its part; empty when they agree.

    faces    : that are worked, by number of the setup
    is_whole : whether these are all
    """
    complain = complaint(file)
    try:
        names = names_by_letters(hole=[hole.name for hole in part.holes])
        sheet = read_sheet(data, "tools", form, names, table="tools")
        pulled = [_pulled(row, form) for page in sheet.pages for row in page.whole.rows]
    except UnreadableSheet as fault:
        return [unreadable("the list", fault, file)]
    seen = {
        number: {one.hole.name: one for one in expected_holes(part, face)}
        for number, face in faces.items()
    }
    job = _Job(part, shop, faces, seen)
    faults = [*_numbers(shop, pulled, is_whole), *_needs(job, pulled)]
    for one in pulled:
        faults += _tool(job, one, form)
    if form != "csv":
        faults += _around(job, sheet, pulled)
        faults += [*_belt(job, sheet, pulled)]
    found = [complain(words, said) for words, said in faults]
    if form != "csv":
        found += check_sound_words(sheet.pages[0].whole, complain)
    return found


Fault = tuple[str, Said]


def _pulled(row: ReadRow, form: SheetForm) -> _Pulled:
    """Raises UnreadableSheet."""
    said = row.said
    use, missing = said, said.slots.get("in_drawer") == "no"
    if form != "csv":
        uses = [one for one in row.below if one.slug == "tool-use"]
        if len(uses) != 1:
            raise UnreadableSheet(f"{said['tool']}: {len(uses)} sentences of its use", row.line)
        (use,) = uses
        missing = any(one.slug == "tool-missing" for one in row.below)
        if "in_drawer" in said.slots and (said["in_drawer"] == "no") != missing:
            raise UnreadableSheet(f"{said['tool']}: in_drawer is {said['in_drawer']}", row.line)
    depth = use.figure("deepest_mm")
    is_text = isinstance(use["holes"], list)
    operations, setups, holes = (
        use[name] if is_text else str(use[name]).split("; " if name != "setups" else " ")
        for name in ("operations", "setups", "holes")
    )
    tool = tool_of(said["tool"])
    if said.slots.get("diameter_mm") is not None:
        told = float(said["diameter_mm"])
        if abs(told - tool.diameter_mm) > DIAMETER_TOLERANCE_MM or said.slots.get(
            "kind", tool.kind
        ) not in (None, tool.kind):
            raise UnreadableSheet(f"{said['tool']}: diameter_mm is {told:g}", row.line)
    return _Pulled(
        row,
        int(said["tool_number"]),
        tool,
        said["tool"],
        missing,
        tuple(operations),
        tuple(map(int, setups)),
        tuple(holes),
        depth.mm,
        max(depth.half_digit_mm * 1.02, 1e-6),
    )


def _numbers(shop: Shop, pulled: Sequence[_Pulled], is_whole: bool) -> Iterator[Fault]:
    """Each tool stands there once; those that the control's table does not have take the numbers
    that it leaves free, in order."""
    given = {tool.number for tool in shop.tools}
    free = (number for number in count(1) if number not in given)
    numbers = [one.number for one in pulled]
    for place, one in enumerate(pulled, 1):
        is_due = one.number in given or not is_whole or one.number == next(free)
        if numbers.count(one.number) > 1 or not is_due:
            yield f"tool {one.number} is the {place}. of the list", one.said
    for words, times in Counter(one.words for one in pulled).items():
        if times > 1:
            yield f"{words} stands there {times} times", pulled[0].said


def _needs(job: _Job, pulled: Sequence[_Pulled]) -> Iterator[Fault]:
    """Every operation that a hole needs has its tool."""
    if not pulled:
        return
    for number, seen in job.seen.items():
        for name, expected in seen.items():
            for operation in sorted(expected.names):
                ways = {operation, "spotface"} if operation == "counterbore" else {operation}
                if not any(
                    ways & {*one.operations} and name in one.holes and number in one.setups
                    for one in pulled
                ):
                    yield f"no tool for {name} in setup {number}: {operation}", pulled[0].said


def _tool(job: _Job, one: _Pulled, form: SheetForm) -> Iterator[Fault]:
    """A tool: in the drawer or marked, for the operations and holes that want such a one."""
    known = _in_drawer(job.shop.cabinet, one)
    if one.is_missing == (known is not None):
        lies = "is" if known is not None else "is not"
        yield f"{one.words} {lies} in the drawer", one.said
    cuts = {
        (operation, name, number)
        for number, seen in job.seen.items()
        for name in one.holes
        for operation in one.operations
        if name in seen and _is_wanted(operation, seen[name])
    }
    for operation in one.operations:
        if one.tool.kind not in KINDS_FOR.get(operation, ()):
            yield f"{operation} with {one.words}", one.said
        if not any(operation == other for other, _, _ in cuts):
            yield f"none of its holes wants {operation}", one.said
    for name in one.holes:
        mine = [cut for cut in cuts if cut[1] == name and cut[2] in one.setups]
        if not mine:
            yield f"{name} does not want {one.words}", one.said
        elif not any(_is_of_size(one, cut[0], job.seen[cut[2]][name]) for cut in mine):
            yield f"{one.words} is of no use to {name}", one.said
    if len({*one.holes}) != len(one.holes) or not {*one.setups} <= {cut[2] for cut in cuts}:
        yield f"{one.words} is used in other setups, or names a hole again", one.said
    for use in one.row.below:
        if use.slug == "tool-use" and (use["_word"] == "setups") != (len(one.setups) > 1):
            yield f"{use.text}: {use['_word']}", use
    spans = [
        [_depth_mm(one, cut[0], job.seen[cut[2]][name]) for cut in cuts if cut[1] == name]
        for name in {cut[1] for cut in cuts}
    ]
    if spans:
        least = max(min(span[0] for span in of_hole) for of_hole in spans)
        most = max(span[1] for of_hole in spans for span in of_hole)
        slack = max(one.depth_digit_mm, _DEPTH_DIGIT_MM if form != "csv" else 1e-3)
        if not least - slack <= one.deepest_mm <= most + slack:
            yield f"{one.words} reaches {least:.1f} to {most:.1f} mm", one.said
    if form != "csv":
        yield from stand_in_faults(job.part, job.shop.cabinet, one.row, one.tool, one.holes)
        drilled = one.holes if "drill" in one.operations else ()
        yield from percent_faults(job.part, one.row, one.tool, drilled)


def _in_drawer(cabinet: Cabinet, one: _Pulled) -> Cutter | None:
    """The tool of the drawer that the line describes."""
    if one.tool.kind == "boring head":
        return Cutter(one.words, one.tool.diameter_mm)  # the shop says elsewhere that it has one
    return next((tool for tool in all_of(cabinet) if _is_told(tool, one)), None)


def all_of(cabinet: Cabinet) -> Iterator[Cutter]:
    """Everything in the drawer."""
    for tools in (
        cabinet.drills, cabinet.reamers, cabinet.taps, cabinet.spot_drills, cabinet.countersinks,
        cabinet.counterbores, cabinet.end_mills,
    ):  # fmt: skip
        yield from tools


def _is_told(tool: Cutter, one: _Pulled) -> bool:
    """Whether the line tells this tool: by its name and by each figure."""
    shown, told = one.tool, tool.told
    words = one.words.removeprefix(f"{shown.kind} ").split(", ")[0]
    if tool.kind != shown.kind or words != tool.words:
        return False
    lead = told.get("lead")
    pairs = [
        (tool.diameter_mm, shown.diameter_mm, 0.0006),
        (told.get("point"), shown.point_angle_deg, 0.01),
        (told.get("flat", 0.0), shown.tip_flat_mm, 0.001),
        (told.get("pitch"), shown.pitch_mm, 0.0001),
        (lead, shown.lead, 0.001),
    ]
    is_left = isinstance(tool, Tap) and tool.is_left_hand
    return is_left == shown.is_left_hand and all(
        a is b or (a is not None and b is not None and abs(a - b) <= slack) for a, b, slack in pairs
    )


def _is_wanted(operation: str, expected: Expected) -> bool:
    if operation in _STARTS:
        return expected.is_drilled
    return operation in expected.names or (
        operation == "spotface" and "counterbore" in expected.names
    )


def _is_of_size(one: _Pulled, operation: str, expected: Expected) -> bool:
    """Whether the hole wants a tool of that size for the operation."""
    hole, size = expected.hole, one.tool.diameter_mm
    if operation == "spot drill":
        return True
    if operation == "pilot drill":
        return size < hole.diameter_mm
    if operation == "tap":
        thread = hole.thread
        return (
            thread is not None
            and abs(size - thread.major_mm) <= DIAMETER_TOLERANCE_MM
            and one.tool.pitch_mm is not None
            and abs(one.tool.pitch_mm - thread.pitch_mm) < 1e-3
            and one.tool.is_left_hand == thread.is_left_hand
        )
    wanted = [
        need.diameter_mm for need in expected.needs if need.name in (operation, "counterbore")
    ]
    if operation == "countersink":
        return any(size >= one - DIAMETER_TOLERANCE_MM for one in wanted) or bool(expected.needs)
    if operation != "drill" or hole.kind.is_as_drilled:
        wanted.append(hole.diameter_mm)
    if any(abs(size - width) <= DIAMETER_TOLERANCE_MM for width in wanted):
        return True
    if operation == "drill" and hole.drills_words:
        return True  # the part file names them, whatever they are good for
    before = leavings_of(hole).before
    most = before(hole)[1] if before is not None else hole.diameter_mm
    return operation == "drill" and size <= most + DIAMETER_TOLERANCE_MM


def _depth_mm(one: _Pulled, operation: str, expected: Expected) -> tuple[float, float]:
    """Least and most that the tool's end goes down for it."""
    tool, hole = one.tool, expected.hole
    if operation in ("spot drill", "countersink"):
        half = math.tan(math.radians((tool.point_angle_deg or 90.0) / 2))
        deepest = (tool.diameter_mm - tool.tip_flat_mm) / 2 / half
        sunk = [n.diameter_mm for n in expected.needs if n.name == "countersink"]
        if operation == "countersink" and sunk:
            return 0.0, min((max(sunk) - tool.tip_flat_mm) / 2 / half, deepest)
        return 0.0, deepest
    if operation in ("counterbore", "spotface"):
        depths = [need.depth_mm for need in expected.needs if need.name == "counterbore"]
        return min(depths), max(depths)
    if expected.run_out is not None and operation != "pilot drill":
        return hole.depth_mm, expected.run_out.far_mm
    widest = max(tool.diameter_mm, hole.diameter_mm)  # a pilot goes as deep as what follows it
    point = widest / 2 / math.tan(math.radians((tool.point_angle_deg or 118.0) / 2))
    lead = (tool.lead or 0.0) * (tool.pitch_mm or 1.0)
    whole = expected.thickness_mm if hole.is_through else hole.depth_mm
    opened = [n.depth_mm for n in expected.needs if n.name == "drill"]
    if operation in ("drill", "pilot drill"):
        least = min([whole / 2 if hole.from_both_ends else whole, *opened])
        room = max(1.0, 0.1 * widest, hole.breakthrough_mm or 0.0) + point
        if hole.thread is not None:
            room += _TAP_ROOM_PITCHES * hole.thread.pitch_mm
        elif not hole.kind.is_as_drilled:
            room += _REAM_ROOM_MM
        least -= leavings_of(hole).stock_mm or 0.0
        return least, max(whole, hole.drill_depth_mm or 0.0) + room
    return whole, whole + lead + beyond_mm(hole) + 2.0


def _around(job: _Job, sheet: ReadSheet, pulled: Sequence[_Pulled]) -> Iterator[Fault]:
    """Title, what to mind, and count."""
    page = sheet.pages[0]
    title, missing = page.title, sum(one.is_missing for one in pulled)
    mind = advice_due(job.part, advice=False)
    minded = [one["advice"] for one in page.whole.all("mind")]
    if len(minded) != bool(mind) or (minded and not same_words(minded[0], mind)):
        yield f"what to mind is {mind or 'nothing'}", title
    if title["part"] not in (job.part.name, job.part.name.upper()):
        yield f'the part is called "{title["part"]}"', title
    if title["part_mark"] != job.part.mark:
        yield f"the part mark is {title['part_mark']}", title
    counts = page.whole.all("tools-all", "tools-missing")
    if len(counts) != 1:
        yield f"{len(counts)} counts", title
    for said in counts:
        told = said.count("missing_count") if "missing_count" in said.slots else 0
        if (said.count("tool_count"), told) != (len(pulled), missing):
            yield f"{said.text}: there are {len(pulled)}, {missing} of them missing", said
    if sheet.whole:
        lacks = [one.words for one in pulled if one.is_missing]
        if [str(one) for one in sheet.whole.get("missing", [])] != lacks:
            yield f"missing is {sheet.whole.get('missing')}", title


def _belt(job: _Job, sheet: ReadSheet, pulled: Sequence[_Pulled]) -> Iterator[Fault]:
    """Each tool under power runs on one step in each setup, as fast as it may."""
    whole, title = sheet.pages[0].whole, sheet.pages[0].title
    steps, costs = whole.all("belt-step"), whole.all("belt-sooner", "belt-same")
    is_due = bool(job.shop.mill.speeds_rpm)
    if (len(whole.all("belt")), len(costs)) != (is_due, is_due) or (steps and not is_due):
        yield "BELT says not what the mill wants said", title
        return
    under_power = [one for one in pulled if one.tool.kind != "tap"]
    wanted = Counter((number, one.number) for one in under_power for number in one.setups)
    told = Counter((step.count("setup"), int(number)) for step in steps for number in step["tools"])
    if is_due and told != wanted:
        yield "BELT does not have every tool of each setup once", title
    if [step.count("setup") for step in steps] != sorted(step.count("setup") for step in steps):
        yield "BELT has the setups in no order", title
    tools = {one.number: one for one in pulled}
    for step in steps:
        yield from _belt_step(job, step, tools)
    speeds = [float(step["rpm"]) for step in steps]
    changes = sum(a != b for a, b in pairwise(speeds))
    for said in costs:
        if said.count("changes") != changes or said.count("changes_at_best") < changes:
            yield f"{said.text}: the belt is changed {changes} times", said
    if sheet.whole and is_due:
        belts: Any = sheet.whole.get("belts") or {}
        told_so = [
            (int(one["setup"]), float(one["rpm"]), [*map(int, one["tools"])])
            for one in belts.get("steps", [])
        ]
        here = [
            (step.count("setup"), float(step["rpm"]), [*map(int, step["tools"])]) for step in steps
        ]
        if told_so != here:
            yield "belts says another thing than BELT", title


def _belt_step(job: _Job, step: Said, tools: Mapping[int, _Pulled]) -> Iterator[Fault]:
    rpm, outside = float(step["rpm"]), {int(one) for one in step["outside"] or ()}
    if (step["_word"] == "tools") != (len(step["tools"]) > 1):
        yield f"{step.text}: {step['_word']}", step
    if rpm not in job.shop.mill.speeds_rpm:
        yield f"{rpm:g} rev/min is none of the mill's speeds", step
    if not outside <= {int(one) for one in step["tools"]}:
        yield f"{step.text}: of other tools", step
    for number in map(int, step["tools"]):
        if number not in tools:
            continue
        least, most = _ideal_rpm(job, tools[number], step.count("setup"))
        may = _SLOWEST_SHARE * least <= rpm <= _FASTEST_SHARE * most
        must = _SLOWEST_SHARE * most <= rpm <= _FASTEST_SHARE * least
        if (number in outside and must) or (number not in outside and not may):
            span = f"{_SLOWEST_SHARE * least:.0f} to {_FASTEST_SHARE * most:.0f} are right"
            yield f"tool {number} at {rpm:g} rev/min, and {span}", step


def _ideal_rpm(job: _Job, one: _Pulled, number: int) -> tuple[float, float]:
    """Between which the speed lies that is right for the tool on a mill of any speed."""
    wanted = [
        (operation, expected)
        for operation in one.operations
        for name, expected in job.seen.get(number, {}).items()
        if name in one.holes and _is_wanted(operation, expected)
    ]
    wide = [_cut(one, operation, expected, expected.mouth_mm) for operation, expected in wanted]
    told = (
        _cone_told_mm(one) - SPOT_OVER_SIZE_MM
    )  # in a shallow hole or a thin part a spot is narrower than its hole
    narrow = [
        _cut(one, operation, expected, min(told, _LEAST_SPOT_SHARE * expected.hole.diameter_mm))
        for operation, expected in wanted
    ]
    return right_rpm(job.part, wide)[0], right_rpm(job.part, narrow)[1]


def _cone_told_mm(one: _Pulled) -> float:
    """How wide a pointed tool opens at the depth that the list tells."""
    half = math.tan(math.radians((one.tool.point_angle_deg or 90.0) / 2))
    return one.tool.tip_flat_mm + 2 * one.deepest_mm * half


def _cut(one: _Pulled, operation: str, expected: Expected, spotted_mm: float) -> Cut:
    cone = None
    if operation == "countersink":
        sunk = [need.diameter_mm for need in expected.needs if need.name == "countersink"]
        cone = max(sunk, default=None)
    elif operation == "spot drill":
        cone = min(one.tool.diameter_mm, spotted_mm + SPOT_OVER_SIZE_MM)
    return Cut(operation, one.tool.diameter_mm, cone)
