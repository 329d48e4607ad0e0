"""Changes of tool: where the tool stands at one, what room it leaves, and how the work goes on.

A change is looked at where the spindle stands. The first tool of a file is no change, nor is one
beside the stock that meets nothing.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Finding, Value
from millprep.model.scene import Box, Disc, Scene, blanks_of
from millprep.reading.moves import FirstMove, ToolChange
from millprep.reading.simulate import slips
from millprep.reading.simulate.contact import bodies, deepest
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, filled
from millprep.reading.simulate.form import Form, form_of
from millprep.reading.simulate.path import Floats, Path
from millprep.reading.simulate.record import SAME_AXIS_MM, Cut, free_tip
from millprep.reading.simulate.solid import depth_inside, top_at
from millprep.reference.shared_rules import TOUCH_MM

ROOM_MM = 20.0  # under the tip where lengths are unknown (the least that is usual, common practice)
CLEARANCE_MM = 2.0  # over what it would meet, in remedies (1 to 2 mm, common practice)


def change_faults(dry: DryRun) -> Iterator[Found]:
    """What is wrong with the changes of a program and with the first moves after them."""
    if dry.control.axes == "xy":  # the quill is worked by hand: no Z is the program's
        return
    for index, change in enumerate(dry.run.changes):
        # The first tool of a file is no change, nor is what was touched off before it has cut: it
        # only stands there as low as it was touched off.
        is_tool_new = index == 0 or change.by == "touch off"
        if change.row == 0 or (is_tool_new and not dry.path.is_feed[: change.row].any()):
            if change.by != "T" and (change.row >= dry.run.blind_moves or dry.is_height_told):
                yield from _after_touch_off(dry, change)
            continue
        is_same = change.by == "touch off" or 0 < change.number == change.before
        if dry.scene is not None and not is_same:
            yield from _where_it_stands(dry, dry.scene, change)
        if not is_same and _runs_on_first_zero(dry, change):
            yield _found(change, slips.SECOND_TOOL, tool=_name(change), asked=change.asked_line)
        else:
            yield from _after_touch_off(dry, change)


def _runs_on_first_zero(dry: DryRun, change: ToolChange) -> bool:
    control = dry.control
    is_one_a_file = control.tool_change == "files" or control.zero_in_stop is False
    puts_in = change.number > 0 or change.by == "M0"
    return puts_in and is_one_a_file and not control.length_offset


def _name(change: ToolChange) -> str:
    return f"T{change.number}" if change.number else "another tool"


def _found(change: ToolChange, template: Finding, **figures: Value) -> Found:
    finding = filled(template, change.line, **figures)
    return Found(change.row, finding, run=(change.row, template.kind))


def _where_it_stands(dry: DryRun, scene: Scene, change: ToolChange) -> Iterator[Found]:
    """The tool in the work, the new one in it, or too little room; at most one of them."""
    path, control = dry.path, dry.control
    place = path.end[:, change.row - 1]
    if np.isnan(place).any() or (change.by == "M6" and control.change_goes_up):
        return
    room, below = _room(scene, place, float(path.radius[change.row - 1]))
    tools = [dry.run.tools.get(number) for number in (change.before, change.number)]
    old, new = (0.0 if tool is None else tool.length_mm for tool in tools)
    if room < -TOUCH_MM:
        yield _found(change, slips.CHANGED_IN_WORK, depth_mm=-room, below=below)
    elif old and new:
        yield from _new_tool(dry, scene, change, place + np.array([0.0, 0.0, old - new]))
    elif control.length_offset or _runs_on_first_zero(dry, change):
        return
    elif room <= ROOM_MM - TOUCH_MM:
        figures = {"room_mm": max(room, 0.0), "least_mm": ROOM_MM}
        yield _found(change, slips.LITTLE_ROOM, below=below, tool=_name(change), **figures)


def _room(scene: Scene, place: Floats, radius_mm: float) -> tuple[float, str]:
    """How far the tip stands over what is highest under the tool, and what that is."""
    rooms = [(np.inf, "")]
    for solid, name in _solids(scene):
        if float(depth_inside(solid, place[:2, None])[0]) > TOUCH_MM - radius_mm:
            top = float(top_at(solid, place[:2, None])[0])
            rooms.append((float(place[2]) - top, name))
    return min(rooms)


def _solids(scene: Scene) -> Iterator[tuple[Box | Disc, str]]:
    for blank in blanks_of(scene.stock):
        yield blank, "the stock"
    for fixture in scene.fixtures:
        yield fixture, fixture.name


def _new_tool(dry: DryRun, scene: Scene, change: ToolChange, place: Floats) -> Iterator[Found]:
    """The new tool with its tip at the place: in something, or in a hole that is drilled there."""
    form = form_of(dry.run.tools.get(change.number))
    tip = place[:, None]
    for body in bodies([form]):
        for solid, name in _solids(scene):
            depth = float(deepest(body, np.zeros(1, dtype=np.int64), solid, tip, tip)[0][0])
            if not depth > TOUCH_MM:
                continue
            is_tip = body.slip is slips.HITS_FIXTURE
            is_in_hole = (
                is_tip and name == "the stock" and _is_hole(dry, scene, change, place, form)
            )
            figures = {"depth_mm": depth, "higher_mm": depth + CLEARANCE_MM}
            template = slips.NEW_TOOL_IN_HOLE if is_in_hole else slips.NEW_TOOL_IN_WORK
            what = "the tool" if is_tip else "its holder"
            yield _found(change, template, tool=_name(change), body=what, name=name, **figures)
            return


def _is_hole(dry: DryRun, scene: Scene, change: ToolChange, place: Floats, form: Form) -> bool:
    """Whether this program has drilled room for the tool's tip there before the change."""
    path, strokes = dry.path, dry.strokes
    top = float(top_at(scene.stock, place[:2, None])[0])
    before = (path.first < change.row) & (strokes.low < top)
    before &= np.hypot(strokes.x - place[0], strokes.y - place[1]) < SAME_AXIS_MM
    room = []
    for number in np.flatnonzero(before).tolist():
        drill = path.forms[path.form[path.first[number]]]
        low = float(strokes.low[number])
        room.append(Cut(drill.radius_mm, low, drill.flat_mm, drill.slope))
    return float(place[2]) > free_tip(room, form, top) - TOUCH_MM


def _after_touch_off(dry: DryRun, change: ToolChange) -> Iterator[Found]:
    """Moves from where a tool was touched off, which is as low as touching the part."""
    top = 0.0 if dry.scene is None else dry.scene.stock.high_mm[2]
    stated: set[str] = set()
    is_up = has_warned = False
    is_same = change.by == "touch off" and not change.number
    where = f"{'the tool' if is_same else _name(change)} was touched off at line {change.line}"
    for move in change.first_moves:
        if move.is_incremental:
            yield Found(move.first, filled(slips.STEP_FROM_NOWHERE, move.line, where=where))
            return
        low, high, is_cycle = _heights(dry.path, move)
        axes = set(move.axes)
        rises = "Z" in axes and (move.is_machine or low > top + TOUCH_MM)
        across = axes & {"X", "Y"}
        if across and not (is_up or rises or has_warned):
            has_warned = True
            yield Found(move.first, filled(slips.SIDEWAYS_FIRST, move.line, where=where))
        placed = stated | across if is_cycle else stated
        is_down = "Z" in axes and not move.is_machine and low < top - TOUCH_MM
        if is_down and not {"X", "Y"} <= placed:
            yield Found(move.first, filled(slips.DOWN_FIRST, move.line, low_mm=low, where=where))
            return
        is_up = is_up or rises or (is_cycle and high > top + TOUCH_MM)
        stated |= axes


def _heights(path: Path, move: FirstMove) -> tuple[float, float, bool]:
    """Lowest and highest end of the move's rows, and whether a cycle makes them."""
    ends = path.end[2, move.first : move.behind]
    ends = ends[~np.isnan(ends)]
    is_cycle = move.behind > move.first and int(path.moves.cycle[move.first]) > 0
    if not ends.size:
        return np.nan, np.nan, is_cycle
    return float(ends.min()), float(ends.max()), is_cycle
