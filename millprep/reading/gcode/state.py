"""The rows that motions leave, and what is said when the tool moves."""

from __future__ import annotations

import math
from collections.abc import Iterable

from millprep.base.bounds import MOST_MOVES
from millprep.reading.gcode.columns import NOWHERE, Mode, Point
from millprep.reading.gcode.modal import Modal
from millprep.reading.gcode.report import program_too_long
from millprep.reading.moves import BY_HAND, DWELL, PLANE_AXES, RAPID, WORK_SYSTEMS

_STATED_BY = {
    "units": "G20 or G21",
    "distance": "G90 or G91",
    "plane": "G17",
    "work system": "G54 to G59",
}
_DIFFER = dict.fromkeys(("units", "distance"), "what a control wakes up with differs")
_WOKEN_WITH = dict.fromkeys(
    ("plane", "work system"), "controls wake up so, but another program may have left another"
)


class State(Modal):
    """The modes of a program whose motions are kept, a row each."""

    __slots__ = ()

    def begin_motion(self) -> None:
        """Says once what the program has not stated, and that the work system is not listed."""
        self.need_stated(_STATED_BY)
        self.note_unlisted_system()

    def note_unlisted_system(self) -> None:
        """Says once that the work system stands where nobody said."""
        if not self.is_origin_settled():
            self.report.note(
                "work-offset-unlisted",
                f"the origin of {self.system} is not listed: taken as machine 0, 0, 0, and travel "
                "is compared by its length only",
                "give it in the shop file under [control] offsets",
                about=self.system,
            )

    def is_origin_settled(self) -> bool:
        """Whether a motion has nothing left to say about the origin of the work system."""
        is_known = self.system in self.origins
        return is_known or self.report.has("work-offset-unlisted", self.system)

    def need_stated(self, items: Iterable[str]) -> None:
        """Says once what the program has not stated when it first moves."""
        missing = [item for item in items if item not in self.stated]
        self.stated.update(missing)
        for tell, among in ((self.report.warn, _DIFFER), (self.report.note, _WOKEN_WITH)):
            if told := [item for item in missing if item in among]:
                tell(
                    "unstated-mode",
                    f"the program moves before it states its {' and '.join(told)}",
                    f"state {', '.join(_STATED_BY[item] for item in told)} first: "
                    f"{among[told[0]]}. Read as {self._assumed(told)}",
                    about=told[0],
                )

    def has_stated_all(self) -> bool:
        """Whether a motion has nothing left to say about what the program has not stated."""
        return len(self.stated) >= len(_STATED_BY)

    def _assumed(self, items: list[str]) -> str:
        assumed = {
            "units": str(self.units),
            "distance": "absolute",
            "plane": f"G{self.plane}",
            "work system": self.system,
        }
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
        if self.control.axes == "xy" and not self.is_quill_up and end[:2] != self.position[:2]:
            self.doubt_quill()
        if self.doubts_length() and end[2] != self.position[2] and not is_machine_only:
            self._check_length(end[2] < self.position[2])
        feed = math.nan
        if kind not in (RAPID, DWELL) and cycle != BY_HAND:
            is_timed = self.feed_mode == "inverse time"
            feed = self.feed_mm_per_min(self._length(end, centre, sweep_deg) if is_timed else 0.0)
        self.columns.append(
            self.called_line or self.line,
            kind,
            self.mode_number(),
            self.position,
            end,
            plane=self.plane,
            centre=centre,
            sweep_deg=sweep_deg,
            seconds=seconds,
            feed=feed,
            cycle=cycle,
            is_machine_only=is_machine_only,
        )
        self.position = end

    def doubt_quill(self) -> None:
        """X or Y moves, and nobody has said since the last hole that the quill is up."""
        self.is_quill_up = True
        self.report.stop(
            "quill-not-up",
            "the table moves, and no stop since the last hole says QUILL UP",
            "end the stop over each hole with QUILL UP, THEN START, and begin with such a stop",
        )

    def _length(self, end: Point, centre: Point, sweep_deg: float) -> float:
        """Of the move from here, along the arc or helix if it is one [mm]."""
        if not sweep_deg:
            return math.dist(self.position, end)
        first, second, third = PLANE_AXES[self.plane]
        here = self.position
        radius = math.hypot(here[first] - centre[first], here[second] - centre[second])
        return math.hypot(radius * math.radians(sweep_deg), end[third] - here[third])

    def room(self) -> int:
        """How many more motions can be held."""
        return MOST_MOVES - len(self.columns)

    def need_room(self, rows: int) -> None:
        """Refuses a program that makes more motions than can be held."""
        if rows > self.room():
            raise program_too_long(
                f"the program makes more than {MOST_MOVES:,} motions", "is a Q or an L wrong?"
            )

    def turn_spindle_for_now(self, factor: int) -> None:
        """The spindle turns the other way (-1) or stops (0)."""
        self.spindle *= factor
        self.refresh()

    def mode_number(self) -> int:
        """The number of the mode that rows are in now."""
        if self._mode is None:
            self._mode = self.columns.mode_number(
                Mode(
                    self.shift_mm(),
                    self.to_machine,
                    self.rpm,
                    self.spindle,
                    self.tool,
                    self.offset,
                    WORK_SYSTEMS.index(self.system),
                )
            )
        return self._mode

    def move(self, kind: int, end: Point, *, cycle: int = 0) -> None:
        """Moves straight; nothing where it is there already."""
        if end != self.position:
            self.emit(kind, end, cycle=cycle)

    def dwell(self, seconds: float, *, cycle: int = 0) -> None:
        """Stands still for a time."""
        self.emit(DWELL, self.position, seconds=seconds, cycle=cycle)

    def doubts_length(self) -> bool:
        """Whether a Z move has something to say about the length offset."""
        is_missing = not self.is_length_known and self.control.length_offset
        return self.is_length_cancelled or is_missing

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
            self.report.stop(
                "no-length-offset",
                f"Z goes down without a length offset for T{self.tool}",
                f"write G43 H{self.tool} with the first Z move after the tool change; or, where "
                "each tool is touched off, length_offset = false under [control] in the shop file",
                about=f"T{self.tool}",
            )
