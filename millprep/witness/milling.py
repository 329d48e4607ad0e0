"""What a program mills, and in which work system, against the part.

The part keeps its finished block, by the drawing, but for its holes with all that is cut round
their mouths. A sideways cut may be above that block, beside it, or wholly within a hole: the tool
is round, and so is the hole, so that a straight cut lies in it when both its ends do. Tools with a
cone may break an edge. Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from millprep.base.findings import Finding, Words, words
from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.model.scene import Box, Disc
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.milled_rooms import Flags, Floats, Ints, MilledRoom, SidewaysCuts, rooms_of
from millprep.reading.moves import RAPID, WORK_SYSTEMS, ProgramRun
from millprep.reading.simulate.solid import depth_inside, lowest_over
from millprep.witness import Lay, Zone, frame_of, from_part, wanted_of, zone_of
from millprep.witness.expected import Expected
from millprep.witness.faces import AXIS
from millprep.witness.leavings import BROKEN_EDGE_MM

SLACK_MM = 0.05  # what a dry run leaves to sizes and places that nothing else is said of
MOST_IN_A_PART_FILE = 6  # work systems: G54 to G59


@frozen
class _Round:
    """Round room that the part does not keep, open upwards: setup axes, mm."""

    x: float
    y: float
    radius: float
    bottom: float


def other_systems(run: ProgramRun, work_offset: str, file: str) -> Iterator[Finding]:
    """Feeds in another work system than the setup's."""
    moves = run.moves
    feeds = (moves.kind != RAPID) & ~np.isnan(moves.feed) & ~moves.machine_only
    for index in np.unique(moves.system[feeds]).tolist():
        system = WORK_SYSTEMS[index]
        if system == work_offset:
            continue
        lines = moves.line[feeds & (moves.system == index)]
        remedy = f"write {work_offset} in the program"
        if index < MOST_IN_A_PART_FILE:
            remedy += f', or work_offset = "{system}" in the [[setup]] of the part file'
        yield Finding(
            "stop",
            "other-work-offset",
            f"the program cuts in {system}, and the setup's zero is {work_offset}",
            f"{remedy}: whichever the work is at",
            file=file,
            line=int(lines[0]),
            last_line=int(lines[-1]) if lines[-1] != lines[0] else None,
            count=int(lines.size),
        )


def milled_away(
    part: Part, lay: Lay, cuts: SidewaysCuts, run: ProgramRun, file: str
) -> Iterator[Finding]:
    """Cuts into what the part keeps, a finding for each room that they take; those under cutter
    compensation are told elsewhere: nobody knows where they go."""
    if not len(cuts):
        return
    block = finished_block(part, lay)
    harmful = _in_block(cuts, block) & ~np.isin(cuts.line, run.lines_off_path())
    wide = cuts.radius_at(0.0)
    for room in _rounds(part, lay):
        rows = np.flatnonzero(harmful)
        harmful[rows] = ~_is_within(cuts, rows, wide[rows], room)
    low, high = np.array(block.low_mm), np.array(block.high_mm)
    for milled in rooms_of(cuts, harmful, low, high, block.high_mm[2]):
        yield _finding(milled, run, file)


def not_told_of_holes(
    of_cuts: Sequence[Finding], of_holes: Sequence[Finding], holes: Sequence[MadeHole]
) -> Iterator[Finding]:
    """What is said of sideways cuts, without what only goes round in a hole of which it is said
    that it is too wide, too deep or off."""
    told = {(one.file, one.line) for one in of_holes if one.kind in _OF_SIZE}
    rounds = [
        (hole, one)
        for hole in holes
        for one in hole.operations
        if one.milling == "circle" and (one.file, one.line) in told
    ]
    for finding in of_cuts:
        room = dict(finding.said.values).get("room") if isinstance(finding.said, Words) else None
        if finding.kind == "milled-away" and isinstance(room, Words):
            box = {name: v for name, v in room.values if isinstance(v, float)}
            if any(_goes_round(hole, one, box) for hole, one in rounds):
                continue
        yield finding


def _goes_round(hole: MadeHole, circle: MadeOperation, box: dict[str, float]) -> bool:
    """Whether a room is within what an end mill leaves that goes round."""
    reach = (circle.diameter_mm or 0.0) / 2 + SLACK_MM
    x, y = (
        middle if own is None else own
        for middle, own in ((hole.x_mm, circle.x_mm), (hole.y_mm, circle.y_mm))
    )
    is_across = x - reach <= box["x_mm"] and box["far_x_mm"] <= x + reach
    is_up = y - reach <= box["y_mm"] and box["far_y_mm"] <= y + reach
    return is_across and is_up and circle.tip_mm <= box["z_mm"] + SLACK_MM


def clear_of_block(part: Part, lay: Lay, hole: MadeHole) -> bool:
    """Whether a hole is only where an end mill went down above the finished block, or beside it."""
    if any(one.tool_kind != "end mill" for one in hole.operations):
        return False
    block = finished_block(part, lay)
    away = -float(depth_inside(block, np.array([[hole.x_mm], [hole.y_mm]]))[0])
    return all(
        away >= (one.diameter_mm or 0.0) / 2 - SLACK_MM or one.tip_mm >= block.high_mm[2] - SLACK_MM
        for one in hole.operations
    )


def _finding(room: MilledRoom, run: ProgramRun, file: str) -> Finding:
    tool = run.tools.get(room.tool)
    known = tool is not None and tool.diameter_mm is not None
    what = f"the {tool.words} {tool.kind}" if tool is not None and known else "a tool"
    return Finding(
        "stop",
        "milled-away",
        words(f"{what} takes away what the part keeps: {{room}}", room=room.words()),
        "check zero and depth, or take the cut out; a part file knows holes and their recesses, no "
        "slot or pocket: a program that is to mill one is looked at with --stock",
        file=file,
        line=room.line,
        count=room.count,
        last_line=room.last_line if room.last_line != room.line else None,
    )


def finished_block(part: Part, lay: Lay) -> Box | Disc:
    """The part without its holes, by the drawing, as it lies: what is left of a larger blank."""
    size, nominal = np.array(part.stock.size_mm), np.array(part.stock.nominal_mm)
    over = np.maximum(size - nominal, 0.0)
    share = np.array([_SHARE.get(part.datum[axis], 0.0) for axis in range(3)])
    corners = from_part(lay, part, np.array([over * share, size - over * (1 - share)]).T)
    low, high = (tuple(ends.tolist()) for ends in (corners.min(axis=1), corners.max(axis=1)))
    if part.stock.axis is None:
        return Box(low, high)
    return Disc(low, high, int(np.argmax(np.abs(frame_of(lay, part)[part.stock.axis]))))


_OF_SIZE = frozenset({"wrong-diameter", "too-deep", "hole-off", "hole-extra"})
_SHARE = {"right": 1.0, "back": 1.0, "top": 1.0, "centre": 0.5}
"""How much of what a blank is too large lies before the block: its datum face is the part's."""


def _in_block(cuts: SidewaysCuts, block: Box | Disc) -> Flags:
    """(N,) the pieces that go into the block by more than the slack."""
    top = block.high_mm[2] - SLACK_MM
    wide = cuts.radius_at(top)
    margin = np.maximum(wide - np.where(cuts.slope > 0, BROKEN_EDGE_MM, SLACK_MM), 0.0)
    lowest = np.empty(len(cuts))
    lowest[:] = lowest_over(block, cuts.start, cuts.end, margin)
    with np.errstate(invalid="ignore"):
        return np.asarray((lowest < top) & ~np.isnan(lowest))


def _is_within(cuts: SidewaysCuts, rows: Ints, wide: Floats, room: _Round) -> Flags:
    """(M,) which of these pieces lie wholly within a room."""
    reach = room.radius + np.where(cuts.slope[rows] > 0, BROKEN_EDGE_MM, SLACK_MM)
    within = np.ones(rows.size, dtype=bool)
    for at in (cuts.start[:, rows], cuts.end[:, rows]):
        within &= np.hypot(at[0] - room.x, at[1] - room.y) + wide <= reach
        within &= at[2] >= room.bottom - SLACK_MM
    return within


def _rounds(part: Part, lay: Lay) -> Iterator[_Round]:
    """What holes leave free above their bottoms, from the face that is up or right through."""
    wanted, places = wanted_of(part, lay)
    for expected, (x, y) in zip(wanted, places.T.tolist(), strict=True):
        more = zone_of(expected.hole, Zone(SLACK_MM)).radius_mm
        for radius, bottom in _sizes(expected):
            yield _Round(x, y, radius + more, bottom)
    up = int(np.argmax(np.abs(frame_of(lay, part)[:, 2])))
    far = [hole for hole in part.holes if hole.is_through and _axis(hole) == up]
    ends = from_part(lay, part, np.array([hole.centre_mm for hole in far]).reshape(-1, 3).T)
    for hole, (x, y) in zip(far, ends[:2].T.tolist(), strict=True):
        yield _Round(x, y, hole.diameter_mm / 2, -math.inf)
    stock = part.stock
    if stock.bore_mm and stock.axis == up:
        middle = from_part(lay, part, np.array(stock.size_mm)[:, None] / 2)
        yield _Round(float(middle[0, 0]), float(middle[1, 0]), stock.bore_mm / 2, -math.inf)


def _axis(hole: Hole) -> int:
    return AXIS[hole.face]


def _sizes(expected: Expected) -> Iterator[tuple[float, float]]:
    """(radius, bottom) of the hole and of all that is cut round its mouth."""
    hole = expected.hole
    if expected.is_drilled:
        depth = math.inf if hole.is_through or hole.from_both_ends else hole.depth_mm
        yield hole.diameter_mm / 2, -depth
    for need in expected.needs:
        depth = need.depth_mm
        if need.angle_deg is not None:
            depth = need.diameter_mm / 2 / math.tan(math.radians(need.angle_deg / 2))
        yield need.diameter_mm / 2, -depth
