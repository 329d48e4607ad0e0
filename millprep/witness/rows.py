"""The rows of a listing, one by one: tool for the operation, pecks, turns, cones, names.

And the operation that a row makes, for the rules that judge programs too. Depths are of the tool's
end; the shapes of tools are this side's own. Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from millprep.base.findings import Finding
from millprep.model.part import Hole, Part
from millprep.reading.made import MadeOperation
from millprep.reading.pages.printed import PrintedRow, PrintedTool
from millprep.witness.boring import check_passes
from millprep.witness.expected import Expected
from millprep.witness.leavings import DIAMETER_TOLERANCE_MM
from millprep.witness.printed import SLACK_MM, Printed

FIRST_PECK_DIAMETERS = 3.0  # brass, cast iron, free-cutting steel; less in others (common practice)
NEXT_PECK_DIAMETERS = 1.0  # from there on, every metal (common practice)
REST_DIAMETERS = 0.5  # what the last bite may take in addition, so that no sliver is left
TURNS_DIGIT = 0.05  # turns are printed to a tenth

KINDS_FOR = {
    "spot drill": ("spot drill",), "pilot drill": ("drill",), "drill": ("drill",),
    "bore": ("boring head",), "counterbore": ("counterbore", "end mill"),
    "spotface": ("counterbore", "end mill"), "countersink": ("countersink", "spot drill"),
    "ream": ("reamer",), "tap": ("tap",),
}  # fmt: skip
_REMEDY = "the sheet does not agree with the part file; please report it"


def made_operation(row: PrintedRow, z_mm: float, file: str) -> MadeOperation:
    """What a row does to the hole; z_mm is the height of the tool's end, up positive."""
    tool = row.tool
    rise = 0.0
    if tool.point_angle_deg is not None:
        half_angle = math.radians(tool.point_angle_deg / 2)
        rise = (tool.diameter_mm - tool.tip_flat_mm) / 2 / math.tan(half_angle)
    elif tool.kind == "tap":
        rise = (tool.lead or 0.0) * (tool.pitch_mm or 0.0)
    elif tool.kind == "reamer":
        rise = tool.lead or 0.0
    is_on_the_way = row.boring is not None and row.boring.number < row.boring.count
    return MadeOperation(
        row.operation,
        tool.kind,
        row.boring.to_mm if row.boring is not None and is_on_the_way else tool.diameter_mm,
        z_mm,
        full_mm=z_mm + rise,
        cone_mm=cone_mm(tool, z_mm),
        line=row.line,
        tool_number=row.tool_number,
        pitch_mm=tool.pitch_mm,
        point_angle_deg=tool.point_angle_deg,
        file=file,
        thread=tool.thread,
        is_left_hand=tool.is_left_hand,
        by_hand=tool.is_hand,
    )


def cone_mm(tool: PrintedTool, z_mm: float) -> float | None:
    """Width at the face of what a spot drill or countersink cuts; None for other tools."""
    if tool.kind not in ("spot drill", "countersink") or tool.point_angle_deg is None:
        return None
    half_angle = math.radians(tool.point_angle_deg / 2)
    return min(tool.tip_flat_mm - 2 * z_mm * math.tan(half_angle), tool.diameter_mm)


def check_rows(
    printed: Printed,
    expected: Expected,
    rows: Sequence[PrintedRow],
    operations: Sequence[MadeOperation],
) -> Iterator[Finding]:
    """What the rows of one hole say beside place and depth."""
    for row, operation in zip(rows, operations, strict=True):
        if row.tool.kind not in KINDS_FOR[row.operation]:
            words = f"{row.operation} with a {row.tool.kind}"
            yield printed.stop("wrong-tool", words, _REMEDY, row)
        bodies = bodies_of(printed.part, expected.hole) if row.tool.kind == "drill" else []
        if len(bodies) > 1 and expected.hole.peck_mm is None:
            yield from check_pecks_anew(printed, row, bodies)
        elif row.pecks_mm:
            yield from _check_pecks(printed, expected.hole, row)
        elif row.tool.kind == "drill" and expected.hole.peck_mm is None:
            most = (FIRST_PECK_DIAMETERS + NEXT_PECK_DIAMETERS) * row.tool.diameter_mm
            if -operation.tip_mm > most:
                words = f"no pecks to {-operation.tip_mm:g} mm"
                yield printed.stop("wrong-pecks", words, _REMEDY, row)
        if row.operation == "tap" or row.turns is not None:
            yield from _check_tap(printed, expected, row, operation.tip_mm)
        if row.cone_mm is not None:
            yield from _check_cone(printed, row, operation)
    yield from _check_names(printed, expected, rows)
    yield from check_passes(printed, rows)


def _check_pecks(printed: Printed, hole: Hole, row: PrintedRow) -> Iterator[Finding]:
    """They go down, bite by bite no more than the schedule allows, and end in Z."""
    heights = [printed.z_sign * peck for peck in row.pecks_mm]
    bites = [above - below for above, below in pairwise((0.0, *heights))]
    is_off = not printed.is_whole_counts(*row.pecks_mm)
    if is_off or abs(row.pecks_mm[-1] - row.z_mm) > SLACK_MM or min(bites) < SLACK_MM:
        words = f"pecks to {_list(row.pecks_mm)} mm do not go down to Z {row.z_mm:g}"
        yield printed.stop("wrong-pecks", words, _REMEDY, row)
        return
    if hole.peck_mm is not None:
        return
    if _are_too_deep(printed, row, bites):
        words = f"pecks to {_list(row.pecks_mm)} mm take bites that grow or are too deep"
        yield printed.stop("wrong-pecks", words, _REMEDY, row)


def _are_too_deep(printed: Printed, row: PrintedRow, bites: list[float]) -> bool:
    slack = printed.count_mm + SLACK_MM  # both ends of a bite are rounded
    diameter = row.tool.diameter_mm
    bites[-1] = max(bites[-1] - REST_DIAMETERS * diameter, 0.0)
    too_deep = bites[0] > FIRST_PECK_DIAMETERS * diameter + slack or any(
        bite > NEXT_PECK_DIAMETERS * diameter + slack for bite in bites[1:]
    )
    return too_deep or any(below > above + 2 * slack for above, below in pairwise(bites))


def bodies_of(part: Part, hole: Hole) -> list[tuple[float, float]]:
    """What a bore of a stack is cut in: how far down each begins and ends, top first."""
    here = [one for one in part.layers if one.is_scrap or one.name in hole.layers]
    spans = ((one.from_mm, one.to_mm) for one in here if one.from_mm < hole.depth_mm)
    return sorted(spans)


def check_pecks_anew(
    printed: Printed, row: PrintedRow, bodies: Sequence[tuple[float, float]]
) -> Iterator[Finding]:
    """In each body of a stack pecks begin anew, and the drill is drawn out where it ends."""
    depths = [-printed.z_sign * peck for peck in row.pecks_mm]
    starts = [*(begin for begin, _ in bodies[1:]), math.inf]
    is_off = not depths or abs(row.pecks_mm[-1] - row.z_mm) > SLACK_MM
    if is_off or not printed.is_whole_counts(*row.pecks_mm):
        words = f"pecks to {_list(row.pecks_mm)} mm do not go down to Z {row.z_mm:g}"
        yield printed.stop("wrong-pecks", words, _REMEDY, row)
        return
    for (begin, end), following in zip(bodies, starts, strict=True):
        inside = [
            one
            for one in depths
            if begin < one - printed.count_mm and one <= following + printed.count_mm
        ]
        bites = [below - above for above, below in pairwise((begin, *inside))]
        is_cleared = bool(inside) and inside[-1] > min(end, -row.z_mm) - printed.count_mm
        if not is_cleared or min(bites) < SLACK_MM or _are_too_deep(printed, row, bites):
            words = f"pecks to {_list(row.pecks_mm)} mm do not begin anew at {begin:g} mm"
            yield printed.stop("wrong-pecks", words, _REMEDY, row)


def _list(lengths_mm: Sequence[float]) -> str:
    return ", ".join(f"{length:g}" for length in lengths_mm)


def _check_tap(
    printed: Printed, expected: Expected, row: PrintedRow, tip_mm: float
) -> Iterator[Finding]:
    """Turns are depth by pitch, below what is wider."""
    thread, tool = expected.hole.thread, row.tool
    if row.operation != "tap" or thread is None or tool.pitch_mm is None:
        if row.operation != "tap":
            yield printed.stop("wrong-turns", f"turns for {row.operation}", _REMEDY, row)
        return
    begins_mm = max((need.depth_mm for need in expected.needs), default=0.0)
    cut_mm = -tip_mm - begins_mm
    turns = cut_mm / thread.pitch_mm
    tolerance = TURNS_DIGIT + printed.half_count_mm / thread.pitch_mm
    if row.turns is None or abs(row.turns - turns) > tolerance:
        words = f"{row.turns} turns; {cut_mm:g} mm by {thread.pitch_mm:g} make {turns:.2f}"
        yield printed.stop("wrong-turns", words, _REMEDY, row)


def _check_cone(printed: Printed, row: PrintedRow, operation: MadeOperation) -> Iterator[Finding]:
    angle = row.tool.point_angle_deg
    if operation.cone_mm is None or angle is None or row.cone_mm is None:
        yield printed.stop("wrong-figure", f"a cone for a {row.tool.kind}", _REMEDY, row)
        return
    tolerance = 2 * math.tan(math.radians(angle / 2)) * printed.half_count_mm + 0.001
    if abs(row.cone_mm - operation.cone_mm) > tolerance:
        words = f"cone {row.cone_mm:g} mm; at that depth it is {operation.cone_mm:.3f}"
        yield printed.stop("wrong-figure", words, _REMEDY, row)


def _check_names(
    printed: Printed, expected: Expected, rows: Sequence[PrintedRow]
) -> Iterator[Finding]:
    """A pilot is what a wider drill follows; a spotface is what the part calls one."""
    hole = expected.hole
    opened = [need.diameter_mm for need in expected.needs if need.name == "drill"]
    last = last_drill(expected, rows)
    for row in rows:
        if row.tool.kind == "drill":
            name = "drill" if row is last or is_one_of(row.tool, opened) else "pilot drill"
            if row.operation != name:
                words = f"{row.operation} of {row.tool.diameter_mm:g} mm is a {name}"
                yield printed.stop("wrong-tool", words, _REMEDY, row)
    spotfaces = [
        mouth.spotface.diameter_mm for mouth in (hole.mouth, hole.far) if mouth.spotface is not None
    ]
    counterbores = [
        mouth.counterbore.diameter_mm
        for mouth in (hole.mouth, hole.far)
        if mouth.counterbore is not None
    ]
    for row in rows:
        sizes = {"spotface": spotfaces, "counterbore": counterbores}.get(row.operation)
        if sizes is not None and not is_one_of(row.tool, sizes):
            words = f"the part has no {row.operation} of {row.tool.diameter_mm:g} mm"
            yield printed.stop("operation-extra", words, _REMEDY, row)


def last_drill(expected: Expected, rows: Sequence[PrintedRow]) -> PrintedRow | None:
    """The drill that the finish follows, or the finish itself; None where there is none."""
    hole = expected.hole
    opened = [need.diameter_mm for need in expected.needs if need.name == "drill"]
    drills = [row for row in rows if row.tool.kind == "drill"]
    if hole.kind.is_as_drilled:
        drills = [row for row in drills if is_one_of(row.tool, [hole.diameter_mm])]
    else:
        drills = [row for row in drills if not is_one_of(row.tool, opened)]
    return max(drills, key=lambda row: row.tool.diameter_mm, default=None)


def is_one_of(tool: PrintedTool, diameters_mm: Sequence[float]) -> bool:
    """Whether the tool has one of these diameters."""
    return any(abs(tool.diameter_mm - one) <= DIAMETER_TOLERANCE_MM for one in diameters_mm)
