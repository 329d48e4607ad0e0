"""What is said above and below the rows of a tool or a hole: touch-off, sizes, oil, locks, looks.

Against the part, the shop and the rows themselves. Imports the part, the shop, the tables and
`reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from millprep.base.findings import Finding
from millprep.model.kinds import TRUE_DONE
from millprep.model.part import Hole, Part
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said
from millprep.reference.materials import material_named
from millprep.witness.boring import check_boring
from millprep.witness.faces import AXIS, HIGH, LOW
from millprep.witness.points import check_points, check_rim, is_by_rim
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, Run, SetUp, ruled
from millprep.witness.sizes import check_sizes, is_finish
from millprep.witness.slips import check_reads, is_from_face, reads_due

_TOUCHED = {
    "counterbore": "edges",
    "end mill": "end",
    "reamer": "end",
    "tap": "end",
    "boring head": "boring tool",
}
_OPENING = ("MOVED", "TOUCH", "SIZES", "LIPS", "POINT", "TURNED", "OIL", "SCRAP", "LOCK", "BORING")
_SNATCHING = {"brass", "gunmetal", "phosphor bronze", "acrylic"}  # common practice
_TOOLS = ("tool", "tool-by-hand")


BREAKS_MM = 0.3  # the least wall that a tool leaves standing (common practice)
BREAKS_DIAMETERS = 0.2  # or this much of the diameter (common practice)
_DRILLS = ("pilot drill", "drill")


def check_beside_rows(one: SetUp) -> Iterator[Finding]:
    """Tool by tool, or hole by hole: each sentence belongs to the rows of its tool or hole."""
    runs = _by_hole(one) if one.is_by_hole else one.runs()
    begins = ("hole",) if one.is_by_hole else _TOOLS
    beside: list[list[Said]] = []
    for said in one.page.whole.said:
        if said.slug in begins:
            beside.append([])
        elif said.group in _OPENING and beside:
            beside[-1].append(said)
        elif said.group in _OPENING:
            yield one.wrong(f"{said.text} is said of nothing", said)
    if len(beside) != len(runs):
        yield one.wrong(f"{len(beside)} openings for {len(runs)} tools or holes")
        return
    for run, opening in zip(runs, beside, strict=True):
        yield from _check_moved_here(one, run, _of(opening, "MOVED"))
        yield from _check_touch(one, run, _of(opening, "TOUCH"))
        yield from check_sizes(one, run, _of(opening, "SIZES"))
        yield from _check_lips(one, run, _of(opening, "LIPS"))
        yield from _check_hand(one, run, _of(opening, "TURNED"))
        yield from check_points(one, run, _of(opening, "POINT"))
        yield from _check_run_back(one, run, _of(opening, "OIL"))
        yield from check_scrap(one, run, _of(opening, "SCRAP"))
        yield from _check_lock(one, run, _of(opening, "LOCK"))
        yield from check_boring(one, run, _of(opening, "BORING"))
    yield from _check_each_tool(one)
    if not one.is_by_hole:
        for tool, run in zip(one.all(*_TOOLS), runs, strict=False):
            yield from _check_touched_by_name(one, tool, run)
    yield from _check_looks(one, runs)
    yield from _check_reads(one, runs)


def _by_hole(one: SetUp) -> list[Run]:
    return [list(run) for _, run in groupby(one.rows, key=lambda row: row.hole)]


def _of(beside: Sequence[Said], group: str) -> list[Said]:
    return [each for each in beside if each.group == group]


def _check_moved_here(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """The head moves before a step of this tool, or at this hole."""
    for said in told:
        if said.count("moved_step") not in [row.step for row in run]:
            yield one.wrong(f"{said.text} That step is not here", said)


def _touched(one: SetUp) -> dict[str, str | None]:
    """On what a tool is touched off: a rim falls away to both sides of its highest line."""
    face, axis = one.printed.setup.face, one.printed.part.stock.axis
    return {"touch_face": face.upper(), "along": "axis" if axis not in (None, AXIS[face]) else None}


def _check_each_tool(one: SetUp) -> Iterator[Finding]:
    """Once a setup, how tools are touched off; on paper once for all that do it alike. Hole by hole
    it stands below the list of them."""
    is_of_all = one.is_folded and not one.is_alone
    told, right = one.all("each-tool", "each-tool-up"), {**_touched(one), "sets": one.sets}
    along = right["along"]
    is_news = one.is_news(lambda page: not page.is_by_hole and _touched(page)["along"] == along)
    due = [] if one.is_by_hole or not is_news else ["each-tool-up" if is_of_all else "each-tool"]
    if [said.slug for said in told] != due:
        yield one.wrong(f"{len(told)} sentences of how each tool is touched off")
    for said in told:
        yield from one.says(said, {n: value for n, value in right.items() if n in said.slots})


def _check_touch(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """What is touched off otherwise than all others, by its kind: by its nose, or, where nobody
    knows that, by the rim of a hole, and so hole by hole too; a boring tool, turned by hand."""
    rims = [row for row in run if is_by_rim(one, row)]
    tool = run[0].tool
    has_nose = tool.kind == "countersink" and tool.tip_flat_mm > 0
    due = len(rims) if rims else int(has_nose or tool.kind == "boring head")
    due = min(due, 1) if not one.is_by_hole else len(rims)
    if len(told) != due:
        yield one.wrong(f"{tool.kind} is touched off {len(told)} times")
        return
    if rims:
        for row, said in zip(rims, told, strict=False):
            yield from check_rim(one, row, said)
        return
    for said in told:
        nose, hand = {"nose_mm": tool.tip_flat_mm}, {"touch": tool.kind.replace("head", "tool")}
        if said.slug != ("touch-off-nose" if has_nose else "touch-off"):
            yield one.wrong(f"{said.text}: said of a {tool.kind}", said)
        else:
            yield from one.says(said, nose if has_nose else hand)


def _check_touched_by_name(one: SetUp, tool: Said, run: Run) -> Iterator[Finding]:
    """What JSON has of it at each tool, and of the lubricant."""
    material = material_named(one.printed.part.material)
    oil = None if material is None else material.lubricant or None
    yield from one.named(tool, oil=oil)
    if any(is_by_rim(one, row) for row in run):
        return
    printed, touched = run[0].tool, _touched(one)
    face = one.printed.setup.face
    right: dict[str, object] = {**touched, "touch_face": face, "sets": one.sets, "touch_at": 0}
    right["touch_off"] = "rim" if touched["along"] else face
    if not (printed.kind == "countersink" and printed.tip_flat_mm > 0):
        right["touch"] = _TOUCHED.get(printed.kind, "tip")
    yield from one.named(tool, **right)


def _check_lips(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """A drill that opens out a smaller hole of this setup, in what would draw it in."""
    material = material_named(one.printed.part.material)
    is_due = (
        material is not None
        and material.name in _SNATCHING
        and any(row.operation == "drill" and _is_drilled_before(one, row) for row in run)
    )
    if len(told) != is_due:
        yield one.wrong(f"{len(told)} sentences of the lips of {run[0].tool.kind}")
    for said in told:
        yield from one.named(said, say=["lips-dulled"])


def _check_hand(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """How a reamer for the hand is turned, and of no other."""
    if len(told) != any(row.operation == "ream" and row.tool.is_hand for row in run):
        yield one.wrong(f"{len(told)} sentences of how {run[0].tool.kind} is turned by hand")
    for said in told:
        yield from one.named(said, say=["hand-reamed"])


def _is_drilled_before(one: SetUp, row: PrintedRow) -> bool:
    return any(
        other.hole == row.hole and other.step < row.step and other.tool.kind == "drill"
        for other in one.rows
    )


def _check_run_back(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """How a tap is turned back, where not beside its turns, and a reamer withdrawn."""
    is_told = len({(row.z_mm, row.turns) for row in run}) == 1
    slugs = {"tap": "turn-back" if not is_told else "", "ream": "withdraw"}
    due = "" if one.is_by_hole else slugs.get(run[0].operation, "")
    if [said.slug for said in told] != ([due] if due else []):
        words = "; ".join(said.text for said in told)
        yield one.wrong(f"{words or 'nothing'} said of running back for {run[0].operation}")


def _check_lock(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Holes that get their true size here are reamed or bored with X and Y locked."""
    true = [row for row in run if is_finish(one, row) and row.operation in TRUE_DONE]
    names = list(dict.fromkeys(row.hole for row in true))
    if len(told) != bool(names):
        yield one.wrong(f"{len(told)} sentences of LOCK for {len(names)} holes")
        return
    one_or_more = {"lock_hole": names[0]} if len(names) == 1 else {"lock_count": len(names)}
    for said in told:
        yield from one.says(said, {"lock_done": TRUE_DONE[true[0].operation], **one_or_more})


def _check_looks(one: SetUp, runs: Sequence[Run]) -> Iterator[Finding]:
    """After the first rows at a hole: what is looked at before another tool comes to it."""
    due: list[tuple[Run, int | None]] = []
    looked_at: set[str] = set()
    for run, follows in zip(runs, (*runs[1:], None), strict=True):
        if run[0].hole not in looked_at and not one.is_by_hole:
            if not looked_at and _is_told_by_figures(one, run):
                looked_at |= {row.hole for row in run}
                continue
            due.append((run, follows[0].line if follows else None))
            looked_at |= {row.hole for row in run}
    told = one.all("look-face", "look-apart")
    if len(told) != len(due):
        yield one.wrong(f"{len(told)} sentences of CHECK, not {len(due)}")
        return
    for said, (run, until) in zip(told, due, strict=True):
        is_above = said.line and run[-1].line and said.line < run[-1].line
        if is_above or (said.line and until and said.line > until):
            yield one.wrong(f"{said.text} stands beside other rows", said)
        yield from _check_look(one, run, said)


def _is_told_by_figures(one: SetUp, run: Run) -> bool:
    """Of holes in one place paper has no more than the table of figures to check."""
    places = {one.printed.places.get(row.hole) for row in run}
    has_table = any(row.table == "check" for row in one.page.whole.rows)
    return one.is_folded and has_table and len(places) == 1


def _check_look(one: SetUp, run: Run, said: Said) -> Iterator[Finding]:
    """How many there are, and one distance: to the farthest, or of one alone to a face."""
    places = [place for row in run if (place := one.printed.places.get(row.hole))]
    first, distance = one.printed.places.get(said["hole"]), ruled(said["apart"])
    what = "spot" if run[0].operation == "spot drill" else "hole"
    is_so = said.count("count") == len(run) and said["what"] == what
    is_so &= first is not None and said["hole"] == run[0].hole
    is_so &= said["apart"].endswith(_unit(one))
    exact = farthest = max((math.dist(places[0], place) for place in places), default=math.nan)
    if first is not None and said.slug == "look-apart":
        other = one.printed.places.get(said["other"])
        is_so &= other in places
        exact = math.nan if other is None else math.dist(first, other)
        is_so &= abs(exact - farthest) <= SLACK_MM
    elif first is not None:
        upright = one.printed.upright.get(said.face("face"))
        ends = [abs(first[0] - one.printed.upright[face].at_mm) for face in one.along(0)]
        is_so &= farthest <= SLACK_MM and upright is not None and upright.axis == 0
        exact = abs(first[0] - upright.at_mm) if upright is not None else math.nan
        is_so &= exact <= min(ends) + SLACK_MM
    if not is_so or not abs(exact - distance.mm) <= distance.half_digit_mm + SLACK_MM:
        yield one.wrong(f"{said.text}: {len(run)} rows above it, {exact:.3f} mm", said)


def _unit(one: SetUp) -> str:
    return " mm" if one.printed.setup.units == "mm" else " in"


def _check_reads(one: SetUp, runs: Sequence[Run]) -> Iterator[Finding]:
    """At the first rows of a setup: what slips at zeroing would make of their places."""
    told = [row for row in one.page.whole.rows if row.table == "check"]
    measures, run = one.all("measure"), runs[0] if runs else []
    rows = run[:1] if one.is_by_hole else run
    due: Mapping[str, bool] = reads_due(one, rows) if rows else {}
    axes = [_axis_of(one, row.said) for row in told]
    for axis in {*due, *axes}:
        if axes.count(axis) != due.get(axis, False):
            yield one.wrong(f"{axes.count(axis)} rows of CHECK along {axis}")
    for row in told:
        yield from check_reads(one, row, {each.hole for each in rows})
        named = row.said.slots.get("axis", _axis_of(one, row.said))
        if named != (_axis_of(one, row.said) if is_from_face(row.said) else named or None):
            yield one.wrong(f"{row.said['to']}: the axis is {named} by name", row.said)
    first = told[0].said.line if told else None
    if first and run and not one.is_by_hole and first < (rows[-1].line or 0):
        yield one.wrong("the figures to check stand beside other rows", told[0].said)
    if len(measures) != (one.is_by_hole and any(due.values())):
        yield one.wrong(f"{len(measures)} sentences of MEASURE")
    for said in measures:
        yield from one.says(said, {"measure_step": rows[0].step if rows else None})


def _axis_of(one: SetUp, said: Said) -> str:
    if not is_from_face(said):
        return "both"
    upright = one.printed.upright.get(said.face("from"))
    return "neither" if upright is None else "xy"[upright.axis]


def check_scrap(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Each such side of a hole that is cut here is told, with the wall that is left."""
    cut = [row for row in run if row.operation not in ("spot drill", "tap")]
    due: dict[tuple[str, str], float] = {}
    for name in dict.fromkeys(row.hole for row in cut):
        hole = one.hole_here(name)
        if hole is not None and hole.face == one.printed.setup.face:
            thin = _thin_walls(one.printed.part, hole)
            due |= {(side, name): wall for side, wall in thin.items()}
    for said in told:
        side = said.face("thin_face") if said.has("thin_face") else str(said["thin_round"])
        holes = said["thin_holes"]
        walls = [due.pop((side, hole), math.inf) for hole in holes]
        if any(abs(wall - said.mm("thin_mm")) > HALF_SIZE_DIGIT_MM for wall in walls):
            yield one.wrong(f"{said.text} So near is none of these", said)
        is_drilled = any(row.operation in _DRILLS for row in cut)
        if said.slots.get("thin_pecks") != ("short" if is_drilled else None):
            yield one.wrong(f"{said.text} That is no way to peck there", said)
    for side, name in due:
        yield one.wrong(
            f"{name} comes so near {side} that it has to be backed, and nothing says so"
        )


def _thin_walls(part: Part, hole: Hole) -> dict[str, float]:
    """Side to wall [mm]: of what the part file allows."""
    if not {"thin wall", "thin-wall"} & set(hole.allow):
        return {}
    wide = max(_widths_mm(hole))
    least = min(BREAKS_MM, BREAKS_DIAMETERS * wide)
    walls = {side: at - wide / 2 for side, at in _sides(part, hole)}
    return {side: max(wall, 0.0) for side, wall in walls.items() if -1e-6 < wall < least - 1e-6}


def _widths_mm(hole: Hole) -> Iterator[float]:
    yield hole.diameter_mm
    yield from (one.diameter_mm for one in hole.opened)
    for mouth in (hole.mouth, hole.far):
        for recess in (mouth.counterbore, mouth.spotface, mouth.countersink):
            if recess is not None:
                yield recess.diameter_mm


def _sides(part: Part, hole: Hole) -> Iterator[tuple[str, float]]:
    """How far the hole's axis is from each side of the blank."""
    stock, axis = part.stock, AXIS[hole.face]
    across = [each for each in range(3) if each != axis]
    if stock.axis == axis:
        out = math.hypot(*(hole.centre_mm[each] - stock.size_mm[each] / 2 for each in across))
        yield "rim", stock.size_mm[across[0]] / 2 - out
        if stock.bore_mm is not None and out > stock.bore_mm / 2:
            yield "bore", out - stock.bore_mm / 2
        return
    for each in across:
        at, size = hole.centre_mm[each], stock.size_mm[each]
        if stock.axis is not None and each != stock.axis:
            yield "rim", min(at, size - at)
        else:
            yield LOW[each], at
            yield HIGH[each], size - at
