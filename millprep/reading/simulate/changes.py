"""Changes of tool: where the tool stands at one, what room it leaves, and how the work goes on.

A change is looked at where the spindle stands. The first tool of a file is no change, nor is one
beside the stock that meets nothing. Imports `contact`, `path`, `record`, `strokes`, `solid`,
`findings` and the scene.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Severity
from millprep.model.scene import Box, Disc, Scene
from millprep.model.shop import Control
from millprep.reading.moves import FirstMove, ProgramRun, ToolChange
from millprep.reading.simulate.contact import bodies, deepest
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.form import Form, form_of
from millprep.reading.simulate.path import Floats, Path
from millprep.reading.simulate.record import SAME_AXIS_MM, Cut, free_tip
from millprep.reading.simulate.solid import TOUCH_MM, depth_inside, top_at
from millprep.reading.simulate.strokes import Strokes

ROOM_MM = 20.0  # under the tip where lengths are unknown (the least that is usual, common practice)
CLEARANCE_MM = 2.0  # over what it would meet, in remedies (1 to 2 mm, common practice)


def change_harms(
    path: Path, run: ProgramRun, scene: Scene | None, control: Control, strokes: Strokes
) -> list[Harm]:
    """What is wrong with the changes of a program and with the first moves after them."""
    if control.axes == "xy":  # the quill is worked by hand: no Z is the program's
        return []
    harms: list[Harm] = []
    for index, change in enumerate(run.changes):
        # The first tool of a file is no change, nor is what was touched off before it has cut.
        is_tool_new = index == 0 or change.by == "touch off"
        if change.row == 0 or (is_tool_new and not path.is_feed[: change.row].any()):
            continue
        is_same = change.by == "touch off" or 0 < change.number == change.before
        if scene is not None and not is_same:
            harms += _where_it_stands(path, run, scene, control, change, strokes)
        if not is_same and _runs_on_first_zero(control, change):
            harms.append(_split(change))
        else:
            harms += _after_touch_off(path, scene, change)
    return harms


def _runs_on_first_zero(control: Control, change: ToolChange) -> bool:
    is_one_a_file = control.tool_change == "files" or control.zero_in_stop is False
    puts_in = change.number > 0 or change.by == "M0"
    return puts_in and is_one_a_file and not control.length_offset


def _name(number: int) -> str:
    return f"T{number}" if number else "another tool"


def _harm(change: ToolChange, severity: Severity, kind: str, message: str, remedy: str) -> Harm:
    return Harm(change.row, severity, kind, change.line, message, remedy, run=(change.row, kind))


def _split(change: ToolChange) -> Harm:
    return _harm(
        change,
        "stop",
        "second-tool-on-first-zero",
        f"{_name(change.number)} is put in and cannot be zeroed here: it would run on the zero of "
        "the tool before it",
        f"split the file at line {change.asked_line}: one tool a file, each with the modes at its "
        "head, and zeroed before it is run",
    )


def _where_it_stands(
    path: Path,
    run: ProgramRun,
    scene: Scene,
    control: Control,
    change: ToolChange,
    strokes: Strokes,
) -> list[Harm]:
    """The tool in the work, the new one in it, or too little room; at most one of them."""
    place = path.end[:, change.row - 1]
    if np.isnan(place).any() or (change.by == "M6" and control.change_goes_up):
        return []
    room, below = _room(scene, place, float(path.radius[change.row - 1]))
    if room < -TOUCH_MM:
        return [
            _harm(
                change,
                "stop",
                "change-in-work",
                f"the tool is changed {-room:.3f} mm below the top of {below}",
                "raise it clear of everything before the change",
            )
        ]
    old, new = (_length_mm(run, number) for number in (change.before, change.number))
    if old and new:
        return _new_tool_harms(
            path, run, scene, change, place + np.array([0.0, 0.0, old - new]), strokes
        )
    if not control.length_offset and not _runs_on_first_zero(control, change):
        return _narrow(change, room, below)
    return []


def _length_mm(run: ProgramRun, number: int) -> float:
    tool = run.tools.get(number)
    return 0.0 if tool is None else tool.length_mm


def _room(scene: Scene, place: Floats, radius_mm: float) -> tuple[float, str]:
    """How far the tip stands over what is highest under the tool, and what that is."""
    rooms = [(np.inf, "")]
    for solid, name in _solids(scene):
        if float(depth_inside(solid, place[:2, None])[0]) > TOUCH_MM - radius_mm:
            top = float(top_at(solid, place[:2, None])[0])
            rooms.append((float(place[2]) - top, name))
    return min(rooms)


def _solids(scene: Scene) -> Iterator[tuple[Box | Disc, str]]:
    yield scene.stock, "the stock"
    for fixture in scene.fixtures:
        yield fixture, fixture.name


def _new_tool_harms(
    path: Path, run: ProgramRun, scene: Scene, change: ToolChange, place: Floats, strokes: Strokes
) -> list[Harm]:
    """The new tool with its tip at the place: in something, or in a hole that is drilled there."""
    form = form_of(run.tools.get(change.number))
    tip = place[:, None]
    for body in bodies([form]):
        for solid, name in _solids(scene):
            depth = float(deepest(body, np.zeros(1, dtype=np.int64), solid, tip, tip)[0][0])
            if not depth > TOUCH_MM:
                continue
            what = "its holder" if body.kind == "holder-hits" else "the tool"
            message = (
                f"T{change.number} put in here, {what} would stand {depth:.3f} mm below the top of "
                f"{name}"
            )
            remedy = f"go at least {depth + CLEARANCE_MM:.3f} mm higher before the change"
            is_tip_in_stock = body.kind == "hits-fixture" and solid is scene.stock
            if is_tip_in_stock and _is_hole(path, scene, change, place, form, strokes):
                message += ", in the hole that is drilled there"
                return [_harm(change, "warning", "change-room", message, remedy)]
            return [_harm(change, "stop", "change-in-work", message, remedy)]
    return []


def _is_hole(
    path: Path, scene: Scene, change: ToolChange, place: Floats, form: Form, strokes: Strokes
) -> bool:
    """Whether this program has drilled room for the tool's tip there before the change."""
    top = float(top_at(scene.stock, place[:2, None])[0])
    before = (path.first < change.row) & (strokes.low < top)
    before &= np.hypot(strokes.x - place[0], strokes.y - place[1]) < SAME_AXIS_MM
    room = []
    for number in np.flatnonzero(before).tolist():
        drill = path.forms[path.form[path.first[number]]]
        low = float(strokes.low[number])
        room.append(Cut(drill.radius_mm, low, drill.flat_mm, drill.slope))
    return float(place[2]) > free_tip(room, form, top) - TOUCH_MM


def _narrow(change: ToolChange, room: float, below: str) -> list[Harm]:
    if room > ROOM_MM - TOUCH_MM:
        return []
    return [
        _harm(
            change,
            "warning",
            "change-room",
            f"the tool is changed {max(room, 0.0):.3f} mm over {below}, and nobody knows how long "
            f"{_name(change.number)} is",
            f"go up to {ROOM_MM:g} mm or more over it before the change",
        )
    ]


def _after_touch_off(path: Path, scene: Scene | None, change: ToolChange) -> Iterator[Harm]:
    """Moves from where a tool was touched off, which is as low as touching the part."""
    top = 0.0 if scene is None else scene.stock.high_mm[2]
    stated: set[str] = set()
    is_up = has_warned = False
    where = f"{_name(change.number)} was touched off at line {change.line}"
    for move in change.first_moves:
        if move.is_incremental:
            yield _first_harm(
                move,
                "stop",
                f"a move in G91 after {where}: it counts from nobody knows where",
                "write G90, go up to a stated Z, then to X and Y",
            )
            return
        low, high, is_cycle = _heights(path, move)
        axes = set(move.axes)
        rises = "Z" in axes and (move.is_machine or low > top + TOUCH_MM)
        across = axes & {"X", "Y"}
        if across and not (is_up or rises or has_warned):
            has_warned = True
            yield _first_harm(
                move,
                "warning",
                f"the first move after {where} goes sideways: the tool may still touch the part",
                "go up to a stated Z first",
            )
        placed = stated | across if is_cycle else stated
        is_down = "Z" in axes and not move.is_machine and low < top - TOUCH_MM
        if is_down and not {"X", "Y"} <= placed:
            yield _first_harm(
                move,
                "stop",
                f"Z goes down to {low:.3f} before X and Y have been stated, after {where}",
                "go up to a stated Z, then to X and Y, and only then down",
            )
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


def _first_harm(move: FirstMove, severity: Severity, message: str, remedy: str) -> Harm:
    return Harm(move.first, severity, "after-touch-off", move.line, message, remedy)
