"""What is said above and below the rows of a tool or a hole: touch-off, sizes, oil, locks, looks.

Against the part, the shop and the rows themselves. Imports the part, the shop, the tables and
`reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from millprep.base.findings import Finding
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said
from millprep.reference.materials import material_named
from millprep.witness.asked import same_words
from millprep.witness.boring import check_boring
from millprep.witness.leavings import leavings_of
from millprep.witness.noses import check_rim, is_by_rim
from millprep.witness.points import check_points
from millprep.witness.printed import SLACK_MM
from millprep.witness.rows import cone_mm
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, Run, SetUp, part_axis, ruled
from millprep.witness.sides import check_scrap
from millprep.witness.slips import check_reads, reads_due

_TOUCHED = {
    "counterbore": "edges",
    "end mill": "end",
    "reamer": "end",
    "tap": "end",
    "boring head": "boring tool",
}
_DONE = {"ream": "reamed", "bore": "bored"}
_OIL = {"tap": "oil-tap", "ream": "oil-ream"}
_MOST_NAMES = 3  # more are told by the first and a count
_OPENING = ("MOVED", "TOUCH", "SIZES", "LIPS", "POINT", "TURNED", "OIL", "SCRAP", "LOCK", "BORING")
_SNATCHING = {"brass", "gunmetal", "phosphor bronze", "acrylic"}  # common practice
_TOOL = "TOOL {tool:count}"
_CONE_COUNTS = 4  # half counts of depth that the width of a cone up to 120 degrees takes


def check_beside_rows(one: SetUp) -> Iterator[Finding]:
    """Tool by tool, or hole by hole: each sentence belongs to the rows of its tool or hole."""
    runs = _by_hole(one) if one.is_by_hole else one.runs()
    begins = "hole" if one.is_by_hole else _TOOL
    beside: list[list[Said]] = []
    for said in one.page.whole.said:
        if said.slug == begins:
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
        yield from _check_sizes(one, run, _of(opening, "SIZES"))
        yield from _check_lips(one, run, _of(opening, "LIPS"))
        yield from _check_hand(one, run, _of(opening, "TURNED"))
        yield from check_points(one, run, _of(opening, "POINT"))
        yield from _check_oil(one, run, _of(opening, "OIL"))
        yield from check_scrap(one, run, _of(opening, "SCRAP"))
        yield from _check_lock(one, run, _of(opening, "LOCK"))
        yield from check_boring(one, run, _of(opening, "BORING"))
    yield from _check_looks(one, runs)
    yield from _check_reads(one, runs[0] if runs else [])


def _by_hole(one: SetUp) -> list[Run]:
    return [list(run) for _, run in groupby(one.rows, key=lambda row: row.hole)]


def _of(beside: Sequence[Said], group: str) -> list[Said]:
    return [each for each in beside if each.group == group]


def _check_moved_here(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """The head moves before a step of this tool, or at this hole."""
    for said in told:
        if said.count("moved_step") not in [row.step for row in run]:
            yield one.wrong(f"{said.text} That step is not here", said)


def _check_touch(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Each tool once, by its kind, on the face that is up; a rim falls away to both sides. Where
    the nose of a countersink is not known, by the rim of a hole, and so hole by hole too."""
    rims = [row for row in run if is_by_rim(one, row)]
    due = len(rims) if one.is_by_hole else 1
    if len(told) != due:
        yield one.wrong(f"{run[0].tool.kind} is touched off {len(told)} times")
        return
    if rims:
        for row, said in zip(rims, told, strict=False):
            yield from check_rim(one, row, said)
        return
    face, axis = one.printed.setup.face, one.printed.part.stock.axis
    is_rim = axis not in (None, part_axis(face))
    tool = run[0].tool
    has_nose = tool.kind == "countersink" and tool.tip_flat_mm > 0
    right = {
        "touch": None if has_nose else _TOUCHED.get(tool.kind, "tip"),
        "touch_face": face.upper(),
        "along": "axis" if is_rim else None,
        "sets": "Z" if one.shop.readout.axes == "xyz" else "quill",
        "touch_at": "0",
    }
    for said in told:
        if said.slug != ("touch-off-nose" if has_nose else "touch-off"):
            yield one.wrong(f"{said.text}: said of a {tool.kind}", said)
            continue
        yield from one.named(said, touch_off="rim" if is_rim else face)
        if has_nose and abs(said.mm("nose_mm") - tool.tip_flat_mm) > HALF_SIZE_DIGIT_MM:
            yield one.wrong(f"{said.text}: the nose is {tool.tip_flat_mm:g} mm across", said)
        for name, value in right.items():
            if said.slots.get(name) != value:
                yield one.wrong(f"{said.text}: {name} is {said.slots.get(name)}, not {value}", said)


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


def _check_oil(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """The lubricant of the table, and what goes with a tap and a reamer."""
    material = material_named(one.printed.part.material)
    oil = "" if material is None or one.is_by_hole else material.lubricant
    slug = _OIL.get(run[0].operation, "oil")
    if [(said.slug, same_words(said["oil"], oil)) for said in told] != [(slug, True)] * bool(oil):
        words = "; ".join(said.text for said in told)
        yield one.wrong(f"{words or 'nothing'} said of oil for {run[0].operation}")


def _check_lock(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Holes that get their true size here are reamed or bored with X and Y locked."""
    true = [row for row in run if _is_finish(one, row) and row.operation in _DONE]
    names = list(dict.fromkeys(row.hole for row in true))
    if len(told) != bool(names):
        yield one.wrong(f"{len(told)} sentences of LOCK for {len(names)} holes")
        return
    for said in told:
        is_so = said["lock_done"] == _DONE[true[0].operation]
        if said.slug == "lock-at":
            is_so &= names == [said["lock_hole"]]
        else:
            is_so &= len(names) > 1 and said.count("lock_count") == len(names)
        if not is_so:
            yield one.wrong(f"{said.text} {', '.join(names)} are {true[0].operation}", said)


def _is_finish(one: SetUp, row: PrintedRow) -> bool:
    hole = one.hole_here(row.hole)
    return hole is not None and row.operation == leavings_of(hole).finish


def _check_sizes(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """Limits, widths and halves: each that is true of a row is told, with the holes it is true
    of where they are not all alike."""
    makers = {"size-limits": _limits, "size-opens": _opens, "size-half": _halves}
    true = [makers[said.slug](one, run, said) for said in told]
    for said, names in zip(told, true, strict=True):
        if not names:
            yield one.wrong(f"{said.text}: so is no hole here", said)
        elif not _names(said, names, are_told=len(told) > 1):
            yield one.wrong(f"{said.text}: so are {', '.join(names)}", said)
    covered = {(said.slug, name) for said, names in zip(told, true, strict=True) for name in names}
    due = {("size-limits", row.hole) for row in run if _limits_of(one, row)}
    due |= {("size-opens", row.hole) for row in run if _cone(one, row) is not None}
    due |= {("size-half", row.hole) for row in run if _is_half(one, row)}
    if due - covered:
        slug, name = min(due - covered)
        yield one.wrong(f"{name} has no sentence of {slug}, or a wrong one")
    if len({said.text for said in told}) != len(told):
        yield one.wrong("a size is told twice", told[0])


def _names(said: Said, names: Sequence[str], *, are_told: bool) -> bool:
    """Up to three by name, more by the first and how many more."""
    holes, hole, more = (said.slots.get(name) for name in ("holes", "hole", "more"))
    if not are_told:
        is_fit = said.slots.get("fit") is not None  # it may look like the name of a hole
        return (holes, hole, more) == (None, None, None) or (is_fit and holes is None)
    if len(names) <= _MOST_NAMES:
        return bool(holes == list(names)) and hole is None
    return holes is None and (hole, more) == (names[0], str(len(names) - 1))


def _limits_of(one: SetUp, row: PrintedRow) -> tuple[float, float, str] | None:
    """Least and greatest size and the fit of a hole that gets its size in this row."""
    hole = one.hole_here(row.hole)
    if hole is None or hole.limits_um is None or not _is_finish(one, row):
        return None
    least, most = (hole.diameter_mm + limit / 1000 for limit in hole.limits_um)
    return least, most, hole.fit or ""


def _limits(one: SetUp, run: Run, said: Said) -> list[str]:
    told = said.figure("least"), said.figure("most")
    found: dict[str, None] = {}
    for row in run:
        exact = _limits_of(one, row)
        if exact is None or (said.slots.get("fit") or "") != exact[2]:
            continue
        pairs = zip(told, exact[:2], strict=True)
        if all(abs(a.mm - b) <= a.half_digit_mm + SLACK_MM for a, b in pairs):
            found[row.hole] = None
    return list(found)


def _cone(one: SetUp, row: PrintedRow) -> float | None:
    return cone_mm(row.tool, one.printed.z_sign * row.z_mm)


def _opens(one: SetUp, run: Run, said: Said) -> list[str]:
    tolerance = _CONE_COUNTS * one.printed.half_count_mm + HALF_SIZE_DIGIT_MM + 0.005
    width = said.mm("opens_mm")
    cones = [(row.hole, cone) for row in run if (cone := _cone(one, row)) is not None]
    return list(dict.fromkeys(name for name, cone in cones if abs(cone - width) <= tolerance))


def _is_half(one: SetUp, row: PrintedRow) -> bool:
    hole = one.hole_here(row.hole)
    return hole is not None and hole.from_both_ends and row.operation == "drill"


def _halves(one: SetUp, run: Run, said: Said) -> list[str]:
    return list(dict.fromkeys(row.hole for row in run if _is_half(one, row)))


def _check_looks(one: SetUp, runs: Sequence[Run]) -> Iterator[Finding]:
    """After the first rows at a hole: what is looked at before another tool comes to it."""
    due: list[tuple[Run, int | None]] = []
    looked_at: set[str] = set()
    for run, follows in zip(runs, (*runs[1:], None), strict=True):
        if run[0].hole not in looked_at and not one.is_by_hole:
            due.append((run, follows[0].line if follows else None))
            looked_at |= {row.hole for row in run}
    told = one.all("look-face", "look-apart")
    if len(told) != len(due):
        yield one.wrong(f"{len(told)} sentences of LOOK, not {len(due)}")
        return
    for said, (run, until) in zip(told, due, strict=True):
        is_above = said.line and run[-1].line and said.line < run[-1].line
        if is_above or (said.line and until and said.line > until):
            yield one.wrong(f"{said.text} stands beside other rows", said)
        yield from _check_look(one, run, said)


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


def _check_reads(one: SetUp, run: Run) -> Iterator[Finding]:
    """At the first rows of a setup: what slips at zeroing would make of their places."""
    told, measures = one.all("reads-face", "reads-holes"), one.all("measure")
    rows = run[:1] if one.is_by_hole else run
    due: Mapping[str, bool] = reads_due(one, rows) if rows else {}
    axes = [_axis_of(one, said) for said in told]
    for axis in {*due, *axes}:
        if axes.count(axis) != due.get(axis, False):
            yield one.wrong(f"{axes.count(axis)} sentences IF IT READS along {axis}")
    for said in told:
        yield from check_reads(one, said, {row.hole for row in rows})
        yield from one.named(said, axis=None if said.slug == "reads-holes" else _axis_of(one, said))
    if len(measures) != (one.is_by_hole and any(due.values())):
        yield one.wrong(f"{len(measures)} sentences of MEASURE")
    for said in measures:
        if not rows or said.count("measure_step") != rows[0].step:
            yield one.wrong(f"nothing is to be measured: {said.text}", said)


def _axis_of(one: SetUp, said: Said) -> str:
    if said.slug == "reads-holes":
        return "both"
    upright = one.printed.upright.get(said.face("from"))
    return "neither" if upright is None else "xy"[upright.axis]
