"""What the control knows while a program runs: modes, tools, position.

The position is kept as the reading of the active work system together with what must be added to
get the gauge point in machine coordinates; whenever that sum changes (work system, its origin,
shifts, length offset) the reading is worked out anew from the machine position, which does not move
(NISTIR 6556, section 2.1.2.10). All lengths are millimetres inside.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.shop import Control
from millprep.reading.gcode.arithmetic import Key, Number
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Columns, Point
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused, Report, no_feed, refused_word
from millprep.reading.gcode.toolbook import ToolBook
from millprep.reading.moves import (
    WORK_SYSTEMS,
    Compensated,
    HoleStop,
    LostAxis,
    Stop,
    ToolChange,
    WayHome,
)

MM_PER_INCH = 25.4
QUILL_UP_MM = 60.0
"""Where a quill that is worked by hand is taken to be while the table moves, over the zero of Z."""
ORIGIN: Point = (0.0, 0.0, 0.0)

_CODES_OF = {
    "units": ("G20", "G21"),
    "distance": ("G90", "G91"),
    "plane": ("G17", "G18", "G19"),
    "work system": WORK_SYSTEMS,
}
"""What a control without any of them need not be told."""


class Call(NamedTuple):
    """A subprogram that a line has called: its number, how often it runs, by which code."""

    label: int
    times: int
    code: str = "M98"


@dataclass(slots=True)
class Modal:
    """The modal state. `None` or 0 where a program has not said.

    origins     : of the work systems in machine coordinates, as listed or as the program sets them
    rpm         : nan where nobody has said; is_spindle_assumed : nor whether it turns
    stock_origin : of the stock's work system, where the stock stands [mm]
    stock_origins : the same of each work system that an earlier program placed stock by
    has_moved   : an earlier program has moved on the same stock
    shift, stored_shift : of G92, in force and kept in parameters 5211 to 5213 [mm]
    temporary_shift : of G52 [mm]
    piece, apart_mm : which of several is in; how far they stand apart in stock axes
    to_machine  : add to a reading to get the gauge point in machine coordinates [mm]
    feed_number : F as written, with the units in force when it was; a change of units does not
                  convert it (NISTIR 6556, section 4.3.3.3); feed_line, the line it was written on
    motion      : ten times the G number in force, None before the first
    sticky      : numbers of R, Z, P, Q that a cycle keeps from line to line
    hole_made   : by a cycle; None where a mode has changed since
    stated      : what the program has said so far: "units", "distance", "plane", ...
    blind_moves : motions before the program first said a Z, or a change went up; None: not yet
    parameters  : that the program has set
    is_tool_pending : T has named a tool since the last change
    offset      : H in force, 0 none
    is_length_known : a length offset was called since the last tool change
    changes, ways_home : as in `ProgramRun`
    unstated_axes : of X, Y and Z since a tool was last touched off: nobody knows where it stands
    is_height_said : G92 or G10 L20 has set Z since: how high it stands is known
    unknown_axes : axis -> row at which a way home has taken it to where nobody knows
    lost        : the same of axes that have been stated again
    is_out_of_cycle : the last move was a cycle's, and nothing has changed its reading since
    compensation : side to which cutter compensation puts the tool; empty: it is off
    compensated : where it was on
    comment_line, comments : the last line that held comments and nothing else
    is_quill_up : a stop has said so since the last hole, where the hand works it
    hole_stops, stops : as in `ProgramRun`
    card        : of a program without comments; stops_met : how many stops it has come to
    call, is_returning, back_to : what the line that has just run asks for; the N to go back to
    called_line : of the program, while a subprogram of another file runs; 0 else
    placed_axes : those of which the program has said where they are
    """

    control: Control
    report: Report
    tools: ToolBook
    stock_system: str = "G54"
    columns: Columns = field(default_factory=Columns)
    line: int = 0
    units: Units | None = None
    is_incremental: bool = False
    has_absolute_centres: bool = False
    plane: int = 17
    path: str = ""
    motion: int | None = None
    feed_mode: str = "per minute"
    feed_number: float | None = None
    feed_units: Units | None = None
    feed_line: int = 0
    rpm: float = 0.0
    spindle: int = 0
    is_spindle_assumed: bool = False
    starts_without_speed: list[tuple[int, int]] = field(default_factory=list)
    is_coolant_on: bool = False
    system: str = "G54"
    origins: dict[str, Point] = field(default_factory=dict)
    stock_origin: Point = ORIGIN
    stock_origins: dict[str, Point] = field(default_factory=dict)
    has_moved: bool = False
    shift: Point = ORIGIN
    stored_shift: Point = ORIGIN
    temporary_shift: Point = ORIGIN
    piece: int = 1
    apart_mm: float = 0.0
    offset: int = 0
    tool: int = 0
    selected_tool: int | None = None
    is_tool_pending: bool = False
    selected_line: int = 0
    tool_changes: list[tuple[int, int]] = field(default_factory=list)
    changes: list[ToolChange] = field(default_factory=list)
    ways_home: list[WayHome] = field(default_factory=list)
    unstated_axes: set[str] = field(default_factory=set)
    is_height_said: bool = False
    unknown_axes: dict[str, int] = field(default_factory=dict)
    lost: list[LostAxis] = field(default_factory=list)
    is_out_of_cycle: bool = False
    compensation: str = ""
    compensated: list[Compensated] = field(default_factory=list)
    is_quill_up: bool = False
    hole_stops: list[HoleStop] = field(default_factory=list)
    stops: list[Stop] = field(default_factory=list)
    card: ToolCard | None = None
    stops_met: int = 0
    comment_line: int = 0
    comments: tuple[str, ...] = ()
    is_length_known: bool = True
    is_length_cancelled: bool = False
    returns_to: str | None = None
    has_returned_to_plane: bool = False
    sticky: dict[str, float] = field(default_factory=dict)
    hole_made: tuple[Hole, list[Leg]] | None = None
    stated: set[str] = field(default_factory=set)
    blind_moves: int | None = None
    parameters: dict[Key, Number] = field(default_factory=dict)
    is_ended: bool = False
    call: Call | None = None
    is_returning: bool = False
    back_to: int | None = None
    called_line: int = 0
    placed_axes: set[str] = field(default_factory=set)
    position: Point = ORIGIN
    to_machine: Point = ORIGIN
    _mode: int | None = None

    def __post_init__(self) -> None:
        self.units = self.control.units
        self.origins = dict(self.control.offsets_mm)
        self.stock_origin = self.origin_mm(self.stock_system)
        self.has_absolute_centres = self.control.arcs == "absolute centre"
        self.stated |= {
            item for item, codes in _CODES_OF.items() if not any(map(self.control.has, codes))
        }
        self.stand_at_start()

    def stand_at_start(self) -> None:
        """The machine stands where it is before the first line; a quill worked by hand is up."""
        if self.control.axes == "xy":
            self.origins = {name: (x, y, 0.0) for name, (x, y, _) in self.origins.items()}
            self.stock_origin = (*self.stock_origin[:2], 0.0)
            self.say_height()
        self.to_machine = self._sum_of_offsets()
        x, y, z = minus(self.control.start_mm, self.to_machine)
        self.position = (x, y, QUILL_UP_MM if self.control.axes == "xy" else z)

    # where things are

    def origin_mm(self, system: str) -> Point:
        """Origin of a work system in machine coordinates; 0 where nobody gives one."""
        return self.origins.get(system, ORIGIN)

    def machine_mm(self) -> Point:
        """The gauge point in machine coordinates."""
        return plus(self.position, self.to_machine)

    def _reading_origin(self) -> Point:
        """Where a reading counts from, in machine coordinates, tool length aside."""
        return plus(plus(self.origin_mm(self.system), self.shift), self.temporary_shift)

    def _sum_of_offsets(self) -> Point:
        x, y, z = self._reading_origin()
        return x, y, z + self.tools.length_mm(self.offset)

    def shift_mm(self) -> Point:
        """Add to a reading to get the tool's tip from the origin of the stock's work system."""
        x, y, z = minus(self._reading_origin(), self.stock_origin)
        x += (self.piece - 1) * self.apart_mm
        return x, y, z + self.tools.length_mm(self.offset) - self.tools.length_mm(self.tool)

    def refresh(self) -> None:
        """To be called after any mode has changed: the machine stands still, readings change."""
        self._mode = self.hole_made = None
        offsets = self._sum_of_offsets()
        if offsets != self.to_machine:
            machine = self.machine_mm()
            self.to_machine = offsets
            self.position = minus(machine, offsets)

    @property
    def row_line(self) -> int:
        """The line that a motion is told at: in a subprogram of another file, that of the call."""
        return self.called_line or self.line

    # numbers of a line

    def mm(self, number: float) -> float:
        """A length as written, in millimetres by the units in force."""
        if self.units is None:
            raise Refused(
                "units-unstated",
                "a length before the program has stated its units",
                "write G21 (mm) or G20 (inch) before it",
            )
        return number * MM_PER_INCH if self.units == "inch" else number

    def length_mm(self, line: Line, letter: str) -> float | None:
        """A word's length in millimetres, None where the line has no such word."""
        word = line.words.get(letter)
        return None if word is None else self.mm(word.value)

    def target(self, line: Line) -> Point:
        """Where the axis words lead, as a reading; axes not named keep their place."""
        if self.is_incremental:
            return plus(self.position, self.axes_mm(line, ORIGIN))
        return self.axes_mm(line, self.position)

    def axes_mm(self, line: Line, before: Point) -> Point:
        """The axis words of the line as lengths in millimetres; axes not named as before."""
        x, y, z = (self.axis_mm(line, axis) for axis in range(3))
        return (
            before[0] if x is None else x,
            before[1] if y is None else y,
            before[2] if z is None else z,
        )

    def axis_mm(self, line: Line, axis: int) -> float | None:
        """An axis word's length in millimetres, None where the line has no such word."""
        word = line.words.get(AXES[axis])
        if word is None:
            return None
        if axis == 2 and self.control.axes == "xy":
            raise refused_word(f"{word}: the control drives X and Y only", "leave Z to the quill")
        return self.mm(word.value)

    # feed

    def needed_feed(self) -> float:
        """The number of the F in force; refused where there is none to rely on."""
        if self.feed_mode == "inverse time" and self.feed_line != self.line:
            raise no_feed(
                "a feed move in G93 without an F of its own",
                "give F on every line with G1, G2 or G3 (NISTIR 6556, section 3.5.19)",
            )
        if self.feed_number is None:
            raise no_feed("a feed move before any F", "give F with or before the move")
        if self.feed_units not in (None, self.units):
            raise no_feed(
                f"F was given in {self.feed_units}, the units are {self.units} now",
                "give F again after G20 or G21: controls differ on whether it is converted",
            )
        if self.feed_number == 0:
            raise no_feed("a feed move with F0", "give a feed above 0")
        if self.feed_mode == "per revolution" and self.rpm <= 0:
            raise no_feed("a feed per revolution without a speed", "give S above 0 before it")
        return self.feed_number

    def feed_mm_per_min(self, length_mm: float = 0.0) -> float:
        """The feed in force; of a move of that length where F is the time's inverse."""
        number = self.needed_feed()
        if self.feed_mode == "inverse time":
            return number * (length_mm or 1.0)  # of no length: any feed above 0 takes no time
        per_minute = self.mm(number)
        return per_minute * self.rpm if self.feed_mode == "per revolution" else per_minute

    def say_height(self) -> None:
        """From here on it is known how high the tool stands."""
        if self.blind_moves is None:
            self.blind_moves = len(self.columns)


def plus(a: Point, b: Point) -> Point:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def minus(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]


@frozen
class ToolCard:
    """Tool lines, the words of each stop in the order in which the control comes to them, and what
    would stand at the program's head."""

    tools: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@frozen
class Hole:
    """What a cycle's line says, worked out: heights as readings [mm].

    clear_mm   : where the tool is left
    between_mm : where it retracts to between pecks: the clear level by NISTIR 6556, R on most
    """

    cycle: int
    retract_mm: float
    bottom_mm: float
    clear_mm: float
    between_mm: float
    peck_mm: float = 0.0
    dwell_s: float = 0.0


class Leg(NamedTuple):
    """One motion along the axis of a hole: where to, as a reading [mm].

    spindle : 1 as before the cycle, -1 reversed, 0 stopped
    """

    kind: int
    z_mm: float
    seconds: float = 0.0
    spindle: int = 1
