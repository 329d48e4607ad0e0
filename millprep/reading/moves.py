"""Moves: what a program does, one row a motion, after cycles are expanded.

The one thing that passes from the reading of a program to the dry run; then how far a run of moves
reaches, how long its way is, and the moves as a table. Columns are parallel numpy arrays of length
N, positions `(3, N)`, components first, all in mm, mm/min, rev/min and seconds.
"""

from __future__ import annotations

import io
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.base.records import anew, frozen
from millprep.model.tools import Tool

RAPID, FEED, ARC_CW, ARC_CCW, DWELL = range(5)
BY_HAND = -1
"""In the column of cycles: a move that the hand makes, at a stop of the program."""
KIND_WORDS = ("rapid", "feed", "arc-cw", "arc-ccw", "dwell")
WORK_SYSTEMS = ("G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3")
PLANE_AXES: dict[int, tuple[int, int, int]] = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
"""Plane -> first axis, second axis, the axis square to both, so that first turns to second."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]


@frozen
class Moves:
    """One row per motion; arrays `(N,)` unless a shape is given, not to be written to: a column
    that is the same in every row holds its figure once.

    line         : 1-based line of the file
    kind         : RAPID, FEED, ARC_CW, ARC_CCW, DWELL
    start, end   : (3, N) readings of the active work system before and after the move [mm]
                   (G92 and tool length taken off)
    shift        : (3, N) add to a reading to get the tool's tip in stock axes, that is, from the
                   origin of the scene's work system and with the tool's real length [mm]
    to_machine   : (3, N) add to a reading to get the gauge point in machine coordinates [mm]
    centre       : (3, N) of an arc, in readings; nan elsewhere
    plane        : 17, 18 or 19, the plane of an arc
    sweep_deg    : angle of an arc, always positive; 0 elsewhere
    feed         : [mm/min], nan for rapid and dwell
    rpm          : programmed speed [rev/min], nan where nobody has said
    spindle      : 1 clockwise, -1 anticlockwise, 0 stopped
    tool         : number in the spindle, 0 none; offset : H in force, 0 none, -1 unstated
    cycle        : 0, or the cycle word's number (81 for G81) that made the move; or BY_HAND
    seconds      : of a dwell, else 0
    system       : index of the active work system, 0 for G54
    machine_only : True for moves in machine coordinates (G53, home)
    """

    line: Ints
    kind: Ints
    start: Floats
    end: Floats
    shift: Floats
    to_machine: Floats
    centre: Floats
    plane: Ints
    sweep_deg: Floats
    feed: Floats
    rpm: Floats
    spindle: Ints
    tool: Ints
    offset: Ints
    cycle: Ints
    seconds: Floats
    system: Ints
    machine_only: NDArray[np.bool_]

    def __len__(self) -> int:
        return int(self.line.size)

    @property
    def machine_end(self) -> Floats:
        """(3, N) gauge point in machine coordinates when each move ends [mm]."""
        return self.end + self.to_machine


Point = tuple[float, float, float]


@frozen
class Carried:
    """What a program leaves in the control for the next one, by the shop file's `keeps` [mm].

    file             : the program that leaves it
    origins_mm       : of the work systems in machine coordinates, listed or set by G10
    stock_origins_mm : of each system that stock was placed by, where that stands
    shift_mm, stored_shift_mm, temporary_shift_mm : of G92, G92.3 and G52
    tool, offset     : in the spindle and H in force, 0 none
    tools            : those that a program has described itself
    has_moved        : whether any program has moved yet
    """

    file: str
    origins_mm: dict[str, Point]
    stock_origins_mm: dict[str, Point]
    shift_mm: Point
    stored_shift_mm: Point
    temporary_shift_mm: Point
    tool: int
    offset: int
    tools: dict[int, Tool]
    has_moved: bool


ChangedBy = Literal["M6", "M0", "T", "touch off"]


@frozen
class FirstMove:
    """A line that moves after a change, before X, Y and Z have all been stated again.

    first, behind : its rows in `Moves`, from the one up to before the other
    axes          : letters of the axes that it names
    is_machine    : it goes to machine coordinates (G53, home)
    """

    line: int
    first: int
    behind: int
    axes: str
    is_incremental: bool = False
    is_machine: bool = False


@frozen
class ToolChange:
    """A tool put in at a line, or touched off there again.

    row         : index of the first move after it
    before, number : the tool that was in, and the one that is now; 0 where nobody names it
    by          : "M6", "M0" or "T"; "touch off" where the same tool stays in
    asked_line  : of the T that names the tool, at or above the line
    first_moves : where each tool is touched off, the lines after it until X, Y and Z are stated
    """

    line: int
    row: int
    before: int
    number: int
    by: ChangedBy
    asked_line: int
    first_moves: list[FirstMove] = anew(factory=list)


@frozen
class Stop:
    """An M0: index of the move after it, and whether the spindle turns (1, -1) while it waits."""

    line: int
    row: int
    spindle: int


@frozen
class HoleStop:
    """A stop over a hole that the hand makes there.

    row  : of its first move in `Moves`; hole : as the words of the stop name it
    """

    line: int
    row: int
    hole: str


@frozen
class WayHome:
    """A G28 or G30 that names only some axes: its row, and the machine position of home [mm]."""

    row: int
    home_mm: tuple[float, float, float]


@frozen
class LostAxis:
    """Nobody knows where an axis (0 to 2) ends up from the row `first` on up to before `behind`."""

    axis: int
    first: int
    behind: int


@frozen
class Compensated:
    """Moves under cutter compensation, from the row `first` up to before `behind`, and their lines.

    side : "left" or "right" of the programmed path, which is the one in `Moves`
    """

    side: str
    first: int
    behind: int
    line: int
    last_line: int


@frozen
class ProgramRun:
    """A program, read.

    moves       : up to the end or to the line that was refused
    findings    : of the text: refusals (stop), doubtful words (warning), what was assumed (note)
    lines       : lines in the file; read_lines : lines read up to M2/M30, closing % or refusal
    tools       : number -> Tool, from the shop's table or the program's own tool lines
    tool_changes : (line, number) in order; number 0 is an empty spindle
    changes     : the same as they bear on the work, touch-offs included
    ways_home   : ways home that some controls drive with other axes too
    lost        : moves over which nobody knows where an axis is
    compensated : moves that go to one side of where they are written, by up to a tool's radius
    is_complete : read to its end, nothing refused
    blind_moves : how many moves come before the program says a Z, or a change goes up by itself
    starts_without_speed : (index of the next move, line) of each M3 or M4 with no S above 0
    stops       : every M0
    hole_stops  : over holes that the hand makes; is_quill_by_hand : all that cuts is its work
    is_spindle_assumed : it is started by hand, and no stop says when: taken to turn throughout
    spindle_at_end : state after the last line read
    leaves      : what the next program finds in the control
    """

    moves: Moves
    findings: tuple[Finding, ...]
    lines: int
    read_lines: int
    tools: dict[int, Tool] = anew(factory=dict)
    tool_changes: tuple[tuple[int, int], ...] = ()
    changes: tuple[ToolChange, ...] = ()
    ways_home: tuple[WayHome, ...] = ()
    lost: tuple[LostAxis, ...] = ()
    compensated: tuple[Compensated, ...] = ()
    is_complete: bool = True
    spindle_at_end: int = 0
    is_spindle_assumed: bool = False
    starts_without_speed: tuple[tuple[int, int], ...] = ()
    stops: tuple[Stop, ...] = ()
    hole_stops: tuple[HoleStop, ...] = ()
    is_quill_by_hand: bool = False
    blind_moves: int = 0
    leaves: Carried | None = None

    def off_path(self) -> NDArray[np.bool_]:
        """(N,) the moves under cutter compensation, and those up to the first sideways one behind
        it: the tool is beside where they are written, or comes from there."""
        off = np.zeros(len(self.moves), dtype=bool)
        start, end = self.moves.start, self.moves.end
        leads_back = (start[:2] != end[:2]).any(axis=0) | (start == end).all(axis=0)
        for one in self.compensated:
            back = np.flatnonzero(leads_back[one.behind :])[:1]
            off[one.first : one.behind + int(back.sum()) + 1] = True
        return off

    def lines_off_path(self) -> NDArray[np.int32]:
        """Their lines."""
        return np.unique(self.moves.line[self.off_path()])


# figures of a run of moves

_QUADRANTS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
_ROUNDING_DEG = 1e-9
_TABLE_DECIMALS = 6


def extent_mm(moves: Moves) -> dict[str, list[float] | None]:
    """The lowest and highest reading of each axis, arcs with their bulges [mm].

    Counts the end of every move; None for an axis that never moves.
    """
    has_arcs = (moves.sweep_deg > 0).any()
    lowest, highest = arc_bulges(moves) if has_arcs else (moves.end, moves.end)
    extent: dict[str, list[float] | None] = {}
    for axis, name in enumerate("xyz"):
        low = np.minimum(moves.end[axis], lowest[axis])
        high = np.maximum(moves.end[axis], highest[axis])
        start = moves.start[axis]
        has_moved = bool(np.any((low != start) | (high != start)))
        extent[name] = [float(low.min()), float(high.max())] if has_moved else None
    return extent


def arc_bulges(moves: Moves) -> tuple[Floats, Floats]:
    """(3, N) least and greatest reading inside each arc's sweep; inf where there is none."""
    lowest = np.full(moves.end.shape, np.inf)
    highest = np.full(moves.end.shape, -np.inf)
    for plane, (first, second, _) in PLANE_AXES.items():
        arcs = np.flatnonzero((moves.sweep_deg > 0) & (moves.plane == plane))
        if not arcs.size:
            continue
        axes = [first, second]
        centre = moves.centre[axes][:, arcs]
        ray = moves.start[axes][:, arcs] - centre
        radius = np.hypot(*ray)
        begins_deg = np.degrees(np.arctan2(ray[1], ray[0]))
        sense = np.where(moves.kind[arcs] == ARC_CCW, 1, -1)
        for quarter, direction in enumerate(_QUADRANTS):
            turned = sense * (90.0 * quarter - begins_deg) % 360
            inside = turned <= moves.sweep_deg[arcs] + _ROUNDING_DEG
            for axis, toward, middle in zip(axes, direction, centre, strict=True):
                if toward:
                    place = middle[inside] + toward * radius[inside]
                    rows = arcs[inside]
                    lowest[axis, rows] = np.minimum(lowest[axis, rows], place)
                    highest[axis, rows] = np.maximum(highest[axis, rows], place)
    return lowest, highest


def path_mm(moves: Moves) -> Floats:
    """(N,) length of each motion; of an arc along the arc or helix."""
    length = np.zeros(len(moves))
    for start, end in zip(moves.start, moves.end, strict=True):
        length += (end - start) ** 2
    np.sqrt(length, out=length)
    for plane, (first, second, third) in PLANE_AXES.items():
        arcs = np.flatnonzero((moves.sweep_deg > 0) & (moves.plane == plane))
        axes = [first, second]
        ray = moves.start[axes][:, arcs] - moves.centre[axes][:, arcs]
        turn = np.hypot(*ray) * np.radians(moves.sweep_deg[arcs])
        length[arcs] = np.hypot(turn, moves.end[third, arcs] - moves.start[third, arcs])
    return length


def moves_csv(moves: Moves) -> str:
    """One row a motion: `line,kind,x,y,z,feed`, the reading at its end, mm and mm/min."""
    text = io.StringIO()
    text.write("line,kind,x,y,z,feed\n")
    x, y, z = (_column(values) for values in moves.end)
    feeds = _column(moves.feed)
    rows = zip(moves.line.tolist(), moves.kind.tolist(), x, y, z, feeds, strict=True)
    text.writelines(
        f"{line},{KIND_WORDS[kind]},{a},{b},{c},{feed}\n" for line, kind, a, b, c, feed in rows
    )
    return text.getvalue()


def _column(values: Floats) -> list[str]:
    """Figures in full, without trailing zeros; nothing where there is no figure."""
    rounded = np.round(values, _TABLE_DECIMALS) + 0.0  # -0.0 + 0.0 is 0.0
    return ["" if value != value else f"{value:.15g}" for value in rounded.tolist()]
