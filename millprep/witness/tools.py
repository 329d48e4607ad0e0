"""The second witness for tools lists: each tool against the holes that want it and the drawer.

Imports the part, the shop, the tables and `reading`; never what planned the tools.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, count, pairwise

from millprep.base.findings import Finding
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import Said
from millprep.witness.compared import (
    Due,
    Fault,
    Report,
    SheetReport,
    advice_due,
    names_of,
    once,
    report_findings,
)
from millprep.witness.expected import Expected, expected_holes
from millprep.witness.leavings import SPOT_OVER_SIZE_MM
from millprep.witness.pulled import (
    Job,
    Pulled,
    in_drawer_of,
    is_of_size,
    is_wanted,
    pulled_of,
    reach_mm,
)
from millprep.witness.rows import KINDS_FOR
from millprep.witness.speeds import COARSE_RPM, Cut, right_rpm
from millprep.witness.stand_ins import percent_faults, stand_in_faults

_ONE_PILOT_MM = 0.15  # nearer than this two pilots are one (common practice)
_DEPTH_DIGIT_MM = 0.051  # depths are told to a tenth


_SLOWEST_SHARE, _FASTEST_SHARE = 0.5, 1.15  # of a tool's ideal speed (common practice)
_LEAST_SPOT_SHARE = 0.5  # of the hole, where a smaller drill comes next


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

    def faults(sheet: ReadSheet) -> Iterator[Fault]:
        pulled = [pulled_of(row, form) for page in sheet.pages for row in page.whole.rows]
        seen = {
            number: {one.hole.name: one for one in expected_holes(part, face, number)}
            for number, face in faces.items()
        }
        job, report = Job(part, shop, faces, seen), SheetReport(sheet)
        yield from _numbers(shop, pulled, is_whole)
        yield from _needs(job, pulled)
        yield from _pilots(job, pulled)
        for one in pulled:
            yield from _tool(job, one, form, pulled)
        if form != "csv":
            yield from _around(job, report, pulled)
            yield from belt_faults(job, report, pulled)

    names, what = names_of(part), "the list"
    return report_findings(data, "tools", form, names, faults, table="tools", file=file, what=what)


def _numbers(shop: Shop, pulled: Sequence[Pulled], is_whole: bool) -> Iterator[Fault]:
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


def _needs(job: Job, pulled: Sequence[Pulled]) -> Iterator[Fault]:
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


def _pilots(job: Job, pulled: Sequence[Pulled]) -> Iterator[Fault]:
    """Never two changes of pilots for next to nothing, but where the part file names them."""
    named = {hole.name for hole in job.part.holes if hole.drills_words}
    alone = [
        one for one in pulled if {*one.operations} == {"pilot drill"} and not named & {*one.holes}
    ]
    for first, second in combinations(alone, 2):
        if abs(first.tool.diameter_mm - second.tool.diameter_mm) < _ONE_PILOT_MM:
            yield f"{first.words} and {second.words}: one pilot does for both", second.said


def _before_taps(job: Job, pulled: Sequence[Pulled]) -> dict[str, float]:
    """The widest drill under the thread of each tapped hole; wider ones only open its mouth."""
    major = {hole.name: hole.diameter_mm for hole in job.part.holes if hole.thread is not None}
    last: dict[str, float] = {}
    for one in pulled:
        size = one.tool.diameter_mm if one.tool.kind == "drill" else 0.0
        for name in one.holes:
            if 0 < size < major.get(name, 0.0):
                last[name] = max(last.get(name, 0.0), size)
    return last


def _tool(job: Job, one: Pulled, form: SheetForm, pulled: Sequence[Pulled]) -> Iterator[Fault]:
    """A tool of the list: in the drawer or marked, for the operations and holes that want it."""
    known = in_drawer_of(job.shop.cabinet, one)
    if one.is_missing == (known is not None):
        lies = "is" if known is not None else "is not"
        yield f"{one.words} {lies} in the drawer", one.said
    cuts = {
        (operation, name, number)
        for number, seen in job.seen.items()
        for name in one.holes
        for operation in one.operations
        if name in seen and is_wanted(operation, seen[name])
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
        elif not any(is_of_size(one, cut[0], job.seen[cut[2]][name]) for cut in mine):
            yield f"{one.words} is of no use to {name}", one.said
    if len({*one.holes}) != len(one.holes) or not {*one.setups} <= {cut[2] for cut in cuts}:
        yield f"{one.words} is used in other setups, or names a hole again", one.said
    for use in one.row.below:
        if use.slug == "tool-use" and (use["_word"] == "setups") != (len(one.setups) > 1):
            yield f"{use.text}: {use['_word']}", use
    spans = [
        [reach_mm(one, cut[0], job.seen[cut[2]][name], pulled) for cut in cuts if cut[1] == name]
        for name in {cut[1] for cut in cuts}
    ]
    if spans:
        least = max(min(span[0] for span in of_hole) for of_hole in spans)
        most = max(span[1] for of_hole in spans for span in of_hole)
        slack = max(one.depth_digit_mm, _DEPTH_DIGIT_MM if form != "csv" else 1e-3)
        if not least - slack <= one.deepest_mm <= most + slack:
            yield f"{one.words} reaches {least:.1f} to {most:.1f} mm", one.said
    if form != "csv":
        yield from _below(job, one, pulled)


def _below(job: Job, one: Pulled, pulled: Sequence[Pulled]) -> Iterator[Fault]:
    """What could be used instead, and what a drill leaves of a thread."""
    yield from stand_in_faults(job.part, job.shop.cabinet, one.row, one.tool, one.holes)
    drilled = one.holes if "drill" in one.operations else ()
    last = _before_taps(job, pulled)
    yield from percent_faults(job.part, one.row, one.tool, drilled, last)


def _around(job: Job, report: Report, pulled: Sequence[Pulled]) -> Iterator[Fault]:
    """Title, what to mind, and count."""
    lacks = [one.words for one in pulled if one.is_missing]
    name = {job.part.name, job.part.name.upper()}
    yield from report.unlike(report.title, {"part": name, "part_mark": job.part.mark})
    mind = advice_due(job.part, advice=False)
    counted = once(True, tool_count=len(pulled), missing_count=len(lacks) or None)
    yield from report.sentences(
        {"mind": once(mind, advice=mind), "tools-all | tools-missing": counted}
    )
    if report.sheet.whole and [*map(str, report.sheet.whole.get("missing", []))] != lacks:
        yield f"missing is {report.sheet.whole.get('missing')}", report.title


def belt_faults(job: Job, report: Report, pulled: Sequence[Pulled]) -> Iterator[Fault]:
    """Each tool under power runs on one step in each setup, as fast as it may."""
    steps, is_due = report.whole.all("belt-step"), bool(job.shop.mill.speeds_rpm)
    speeds = [float(step["rpm"]) for step in steps]
    changes = sum(a != b for a, b in pairwise(speeds))
    cost = once(is_due, changes=changes, changes_at_best=lambda told: int(told) >= changes)
    tools = {one.number: one for one in pulled}
    due: dict[str, Sequence[Due]] = {"belt": once(is_due), "belt-sooner | belt-same": cost}
    yield from report.sentences(due | {"belt-step": [_step(job, one) for one in steps]})
    under_power = [one for one in pulled if one.tool.kind != "tap" and not one.tool.is_hand]
    wanted = Counter((n, one.number) for one in under_power for n in one.setups if is_due)
    told = Counter((step.count("setup"), int(number)) for step in steps for number in step["tools"])
    setups = [step.count("setup") for step in steps]
    if told != wanted or setups != sorted(setups):
        yield "BELT does not have every tool of each setup once, in order", report.title
    for step in steps:
        yield from _speed_faults(job, step, tools)
    if report.sheet.whole and is_due:
        belts = report.sheet.whole.get("belts") or {}
        named = [
            (int(one["setup"]), float(one["rpm"]), [*map(int, one["tools"])])
            for one in belts.get("steps", [])
        ]
        tools_of = ([*map(int, step["tools"])] for step in steps)
        if named != [*zip(setups, speeds, tools_of, strict=True)]:
            yield "belts says another thing than BELT", report.title


def _step(job: Job, step: Said) -> Due:
    """A step that the mill has; those that no step suits are some of its tools."""
    return {
        "_word": "tools" if len(step["tools"]) > 1 else "tool",
        "rpm": lambda told: float(told) in job.shop.mill.speeds_rpm,
        "outside": lambda told: {*(told or ())} <= {*step["tools"]},
    }


def _speed_faults(job: Job, step: Said, tools: Mapping[int, Pulled]) -> Iterator[Fault]:
    rpm, outside = float(step["rpm"]), {int(one) for one in step["outside"] or ()}
    for number in map(int, step["tools"]):
        if number not in tools:
            continue
        least, most = _ideal_rpm(job, tools[number], step.count("setup"))
        surely = least - COARSE_RPM  # a right speed is told in tens
        may = _SLOWEST_SHARE * surely <= rpm <= _FASTEST_SHARE * most
        must = _SLOWEST_SHARE * most <= rpm <= _FASTEST_SHARE * surely
        if (number in outside and must) or (number not in outside and not may):
            span = f"{_SLOWEST_SHARE * least:.0f} to {_FASTEST_SHARE * most:.0f} are right"
            yield f"tool {number} at {rpm:g} rev/min, and {span}", step


def _ideal_rpm(job: Job, one: Pulled, number: int) -> tuple[float, float]:
    """Between which the speed lies that is right for the tool on a mill of any speed."""
    wanted = [
        (operation, expected)
        for operation in one.operations
        for name, expected in job.seen.get(number, {}).items()
        if name in one.holes and is_wanted(operation, expected)
    ]
    wide = [_cut(one, operation, expected, expected.mouth_mm) for operation, expected in wanted]
    narrow = [
        _cut(one, operation, expected, _narrowest_spot_mm(one, expected.hole))
        for operation, expected in wanted
    ]
    return right_rpm(job.part, wide)[0], right_rpm(job.part, narrow)[1]


def _narrowest_spot_mm(one: Pulled, hole: Hole) -> float:
    """Less what it is over the hole: no wider than it opens at the depth that the list tells, in a
    thin part half way through, in a blind hole before the drill's point begins."""
    half = math.tan(math.radians((one.tool.point_angle_deg or 90.0) / 2))
    before_point_mm = math.inf if hole.is_through else hole.depth_mm - hole.diameter_mm / 2
    deep_mm = min(one.deepest_mm, hole.depth_mm / 2, before_point_mm)
    told_mm = one.tool.tip_flat_mm + 2 * max(deep_mm, 0.1) * half
    return min(told_mm - SPOT_OVER_SIZE_MM, _LEAST_SPOT_SHARE * hole.diameter_mm)


def _cut(one: Pulled, operation: str, expected: Expected, spotted_mm: float) -> Cut:
    cone = None
    if operation == "countersink":
        sunk = [need.diameter_mm for need in expected.needs if need.name == "countersink"]
        cone = max(sunk, default=None)
    elif operation == "spot drill":
        cone = min(one.tool.diameter_mm, spotted_mm + SPOT_OVER_SIZE_MM)
    return Cut(operation, one.tool.diameter_mm, cone)
