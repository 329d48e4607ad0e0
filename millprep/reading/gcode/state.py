"""What the control knows while a program runs: modes, tools, position; and the row a motion leaves.

The position is kept as the reading of the active work system together with what must be added to
get the gauge point in machine coordinates; whenever that sum changes (work system, length offset)
the reading is worked out anew from the machine position, which does not move (NISTIR 6556, section
2.1.2.10). All lengths are millimetres inside. Imports layers 0 to 2 and its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field

from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import NOWHERE, Columns, Mode, Point
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused, Report
from millprep.reading.gcode.toolbook import ToolBook
from millprep.reading.moves import DWELL
from millprep.shop import Control
from millprep.units import Units

WORK_SYSTEMS = ("G54", "G55", "G56", "G57", "G58", "G59")
MOST_MOVES = 3_000_000
MM_PER_INCH = 25.4

_STATED_BY = {
    "units": "G20 or G21", "distance": "G90 or G91", "plane": "G17", "work system": "G54 to G59",
}  # fmt: skip


@dataclass(slots=True)
class State:
    """The modal state. `None` or 0 where a program has not said.

    to_machine  : add to a reading to get the gauge point in machine coordinates [mm]
    feed_number : F as written, with the units in force when it was; a change of units does not
                  convert it (NISTIR 6556, section 4.3.3.3)
    motion      : ten times the G number in force, None before the first
    sticky      : numbers of R, Z, P, Q that a cycle keeps from line to line
    stated      : what the program has said so far: "units", "distance", "plane", ...
    offset      : H in force, 0 none
    is_length_known : a length offset was called since the last tool change
    """

    control: Control
    report: Report
    tools: ToolBook
    stock_system: str = "G54"
    columns: Columns = field(default_factory=Columns)
    line: int = 0
    units: Units | None = None
    is_incremental: bool = False
    plane: int = 17
    motion: int | None = None
    feed_number: float | None = None
    feed_units: Units | None = None
    rpm: float = 0.0
    spindle: int = 0
    is_coolant_on: bool = False
    system: str = "G54"
    offset: int = 0
    tool: int = 0
    selected_tool: int | None = None
    tool_changes: list[tuple[int, int]] = field(default_factory=list)
    is_length_known: bool = True
    is_length_cancelled: bool = False
    returns_to: str | None = None
    has_returned_to_plane: bool = False
    sticky: dict[str, float] = field(default_factory=dict)
    holes: int = 0
    stated: set[str] = field(default_factory=set)
    is_ended: bool = False
    position: Point = (0.0, 0.0, 0.0)
    to_machine: Point = (0.0, 0.0, 0.0)
    _mode: int | None = None

    def __post_init__(self) -> None:
        self.units = self.control.units
        self.to_machine = self._sum_of_offsets()
        start = self.control.start_mm
        self.position = _minus(start, self.to_machine)

    # where things are

    def origin_mm(self, system: str) -> Point:
        """Origin of a work system in machine coordinates; 0 where the control lists none."""
        return self.control.offsets_mm.get(system, (0.0, 0.0, 0.0))

    def machine_mm(self) -> Point:
        """The gauge point in machine coordinates."""
        return _plus(self.position, self.to_machine)

    def _sum_of_offsets(self) -> Point:
        x, y, z = self.origin_mm(self.system)
        return x, y, z + self.tools.length_mm(self.offset)

    def shift_mm(self) -> Point:
        """Add to a reading to get the tool's tip from the origin of the stock's work system."""
        x, y, z = _minus(self.origin_mm(self.system), self.origin_mm(self.stock_system))
        return x, y, z + self.tools.length_mm(self.offset) - self.tools.length_mm(self.tool)

    def refresh(self) -> None:
        """To be called after any mode has changed: the machine stands still, readings change."""
        self._mode = None
        offsets = self._sum_of_offsets()
        if offsets != self.to_machine:
            machine = self.machine_mm()
            self.to_machine = offsets
            self.position = _minus(machine, offsets)

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
        return (
            self._axis_target(line, 0),
            self._axis_target(line, 1),
            self._axis_target(line, 2),
        )

    def _axis_target(self, line: Line, axis: int) -> float:
        here = self.position[axis]
        value = self.axis_mm(line, axis)
        if value is None:
            return here
        return here + value if self.is_incremental else value

    def axis_mm(self, line: Line, axis: int) -> float | None:
        """An axis word's length in millimetres, None where the line has no such word."""
        value = self.length_mm(line, AXES[axis])
        if value is not None and axis == 2 and self.control.axes == "xy":
            raise Refused(
                "refused-word",
                f"{line.words['Z']}: the control drives X and Y only",
                "leave Z to the quill",
            )
        return value

    def feed_mm_per_min(self) -> float:
        """The feed in force; refused where there is none to rely on."""
        if self.feed_number is None:
            raise Refused("no-feed", "a feed move before any F", "give F with or before the move")
        if self.feed_units not in (None, self.units):
            raise Refused(
                "no-feed",
                f"F was given in {self.feed_units}, the units are {self.units} now",
                "give F again after G20 or G21: controls differ on whether it is converted",
            )
        if self.feed_number == 0:
            raise Refused("no-feed", "a feed move with F0", "give a feed above 0")
        return self.mm(self.feed_number)

    # motion

    def need_stated(self, items: Iterable[str] = tuple(_STATED_BY)) -> None:
        """Warns once of what the program has not stated when it first moves."""
        missing = [item for item in items if item not in self.stated]
        if missing:
            self.stated.update(missing)
            self.report.warn(
                "unstated-mode",
                f"the program moves before it states its {' and '.join(missing)}",
                "state "
                + ", ".join(_STATED_BY[item] for item in missing)
                + " first: what a control "
                "wakes up with differs. Read as " + self._assumed(missing),
                about=missing[0],
            )

    def _assumed(self, items: list[str]) -> str:
        assumed = {
            "units": str(self.units), "distance": "absolute", "plane": f"G{self.plane}",
            "work system": self.system,
        }  # fmt: skip
        return ", ".join(assumed[item] for item in items)

    def emit(
        self,
        kind: int,
        end: Point,
        *,
        cycle: int = 0,
        centre: Point = NOWHERE,
        sweep_deg: float = 0.0,
        seconds: float = 0.0,
        is_machine_only: bool = False,
    ) -> None:
        """Moves there and leaves a row."""
        is_doubtful = self.is_length_cancelled or not self.is_length_known
        if is_doubtful and end[2] != self.position[2] and not is_machine_only:
            self._check_length(end[2] < self.position[2])
        if self._mode is None:
            self._mode = self.columns.mode_number(self._mode_now())
        self.columns.append(
            self.line,
            kind,
            self._mode,
            self.position,
            end,
            plane=self.plane,
            centre=centre,
            sweep_deg=sweep_deg,
            seconds=seconds,
            cycle=cycle,
            cycle_hole=self.holes if cycle else -1,
            is_machine_only=is_machine_only,
        )
        self.position = end

    def need_room(self, rows: int) -> None:
        """Refuses a program that makes more motions than can be held."""
        if len(self.columns) + rows > MOST_MOVES:
            raise Refused(
                "program-too-long",
                f"the program makes more than {MOST_MOVES:,} motions",
                "is a Q or an L wrong?",
            )

    def reverse_spindle(self) -> None:
        """The spindle turns the other way."""
        self.spindle = -self.spindle
        self.refresh()

    def _mode_now(self) -> Mode:
        feed = math.nan
        if self.feed_number and self.units and self.feed_units in (None, self.units):
            feed = self.mm(self.feed_number)
        return Mode(
            self.shift_mm(), self.to_machine, feed, self.rpm, self.spindle, self.tool, self.offset,
            WORK_SYSTEMS.index(self.system),
        )  # fmt: skip

    def move(self, kind: int, end: Point, *, cycle: int = 0) -> None:
        """Moves straight; nothing where it is there already."""
        if end != self.position:
            self.emit(kind, end, cycle=cycle)

    def dwell(self, seconds: float, *, cycle: int = 0) -> None:
        """Stands still for a time."""
        self.emit(DWELL, self.position, seconds=seconds, cycle=cycle)

    def _check_length(self, is_down: bool) -> None:
        if self.is_length_cancelled:
            self.is_length_cancelled = False
            self.report.warn(
                "move-after-length-cancel",
                "a Z move in work coordinates after G49: without the offset it goes deeper",
                "retract with G53 G0 Z or G91 G28 Z0 after G49",
            )
        if is_down and not self.is_length_known and self.control.length_offset:
            self.is_length_known = True
            self.report.add(
                "stop",
                "no-length-offset",
                f"Z goes down without a length offset for T{self.tool}",
                f"write G43 H{self.tool} with the first Z move after the tool change",
                about=f"line {self.line}",
            )


def _plus(a: Point, b: Point) -> Point:
    return a[0] + b[0], a[1] + b[1], a[2] + b[2]


def _minus(a: Point, b: Point) -> Point:
    return a[0] - b[0], a[1] - b[1], a[2] - b[2]
