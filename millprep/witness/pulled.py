"""A tool of a tools list beside the drawer and the holes that want it.

Imports the part, the shop and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from millprep.base.records import frozen
from millprep.model.part import Part
from millprep.model.shop import Cabinet, Shop
from millprep.model.tools import Cutter, Reamer, Tap
from millprep.reading.pages.forms import SheetForm
from millprep.reading.pages.printed import PrintedTool, UnreadableSheet, tool_of
from millprep.reading.pages.sheet import ReadRow
from millprep.reading.pages.slots import Said
from millprep.witness.expected import Expected
from millprep.witness.leavings import (
    DIAMETER_TOLERANCE_MM,
    PILOT_ABOVE_TIP_MM,
    beyond_mm,
    leavings_of,
)
from millprep.witness.stand_ins import in_drawer

_STARTS = ("spot drill", "pilot drill")
_TAP_ROOM_PITCHES = 8.0  # below a blind thread, for the tap's lead and its chips, at the most
_REAM_ROOM_MM = 2.0  # below the lead of a blind reamer, for chips, at the most


@frozen
class Pulled:
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
class Job:
    """The part as each face of the list sees it. faces : by number of the setup"""

    part: Part
    shop: Shop
    faces: Mapping[int, str]
    seen: Mapping[int, Mapping[str, Expected]]


def pulled_of(row: ReadRow, form: SheetForm) -> Pulled:
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
        told, kind = float(said["diameter_mm"]), said.slots.get("kind") or tool.kind
        if abs(told - tool.diameter_mm) > DIAMETER_TOLERANCE_MM or kind != tool.kind:
            raise UnreadableSheet(f"{said['tool']}: {kind}, diameter_mm is {told:g}", row.line)
    return Pulled(
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


def in_drawer_of(cabinet: Cabinet, one: Pulled) -> Cutter | None:
    """The tool of the drawer that the line describes."""
    if one.tool.kind == "boring head":
        head, size_mm = cabinet.boring_head, one.tool.diameter_mm
        return Cutter(one.words, size_mm) if head is not None and head.reaches(size_mm) else None
    return next((t for t in in_drawer(cabinet, one.tool.kind) if _is_told(t, one)), None)


def _is_told(tool: Cutter, one: Pulled) -> bool:
    """Whether the line tells this tool: by its name and by each figure."""
    shown, told = one.tool, tool.told
    words = one.words.removeprefix(f"{shown.kind} ").split(", ")[0]
    if words != tool.words:
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
    is_hand = isinstance(tool, Reamer) and tool.is_hand
    return (is_left, is_hand) == (shown.is_left_hand, shown.is_hand) and all(
        a is b or (a is not None and b is not None and abs(a - b) <= slack) for a, b, slack in pairs
    )


def is_wanted(operation: str, expected: Expected) -> bool:
    if operation in _STARTS and not expected.is_spot:
        return expected.is_drilled
    return operation in expected.names or (
        operation == "spotface" and "counterbore" in expected.names
    )


def is_of_size(one: Pulled, operation: str, expected: Expected) -> bool:
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


def reach_mm(
    one: Pulled, operation: str, expected: Expected, pulled: Sequence[Pulled]
) -> tuple[float, float]:
    """Least and most that the tool's end goes down for it; pulled : all the tools, of which the
    reamer has a lead."""
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
            leads = [
                other.tool.lead or 0.0
                for other in pulled
                if other.tool.kind == "reamer" and hole.name in other.holes
            ]
            room += _REAM_ROOM_MM + max(leads, default=0.0)
        least -= leavings_of(hole).stock_mm or 0.0
        least -= PILOT_ABOVE_TIP_MM if operation == "pilot drill" else 0.0
        return least, max(whole, hole.drill_depth_mm or 0.0) + room
    return whole, whole + lead + beyond_mm(hole) + 2.0
