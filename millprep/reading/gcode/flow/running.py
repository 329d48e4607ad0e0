"""What runs: the subprograms that have been called, what each keeps for itself, and the bounds.

Modes are shared by all of them: a G91 in a subprogram is in force after it.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field

from millprep.base.bounds import MOST_CALLED_LINES, MOST_FLOW_SECONDS, MOST_STILL_LINES
from millprep.base.records import frozen
from millprep.reading.gcode.arithmetic import Key, Number
from millprep.reading.gcode.flow.sources import Place
from millprep.reading.gcode.parameters import (
    LAST_LOCAL_OF_LETTERS,
    LAST_LOCAL_OF_O_WORDS,
    Level,
    Parameters,
)
from millprep.reading.gcode.report import bad_subprogram, program_too_long

DEEPEST_CALL = 10
_LINES_A_LOOK = 1024  # at the clock
_LOOKS_A_REPEAT = 8  # at whether all is as it was before


@frozen
class Limits:
    """How long a program may jump to and fro. clock : seconds since some time"""

    lines: int = MOST_CALLED_LINES
    still_lines: int = MOST_STILL_LINES
    seconds: float = MOST_FLOW_SECONDS
    clock: Callable[[], float] = time.monotonic


@dataclass(slots=True)
class Frame:
    """A subprogram that runs.

    name    : as it is called: "O100", "N55", "o<hole>"
    start   : its first line; times_left : how often it runs, this time included
    back    : the line behind the call; call_line : of the call
    kept    : the parameters of the caller that this call has set aside; None, it shares them
    level   : of the caller
    repeats : passes that are left of each `repeat` that runs, by where it begins
    """

    code: str
    name: str
    start: Place
    times_left: int
    back: Place
    call_line: int
    kept: dict[Key, Number] | None = None
    level: Level = field(default_factory=Level)
    repeats: dict[int, int] = field(default_factory=dict)
    arguments: dict[Key, Number] = field(default_factory=dict)


class Running:
    """The subprograms that run, and what their calls do to parameters.

    again : lines that have been run in subprograms or over again
    moves : how many motions there are so far
    standing : all that tells what happens next, but for parameters and calls
    """

    def __init__(self, parameters: Parameters, limits: Limits) -> None:
        self.parameters = parameters
        self.frames: list[Frame] = []
        self._of_main: dict[int, int] = {}
        self.repeats = self._of_main
        self.again = 0
        self.moves: Callable[[], int] = lambda: 0
        self.standing: Callable[[], object] = object
        self.has_called = False
        self._limits = limits
        self._look_at = self._moved_at = self._moves = 0
        self._looks, self._compared_to = 0, 1
        self._before: object = None
        self._ends_at: float | None = None

    # calls

    def enter(self, frame: Frame) -> Place:
        """Goes into a subprogram; gives its first line."""
        if len(self.frames) == DEEPEST_CALL:
            raise bad_subprogram(
                f"calls nested more than {DEEPEST_CALL} deep", "does it call itself without end?"
            )
        self.frames.append(frame)
        self.has_called = True
        self.repeats = frame.repeats
        return frame.start

    def leave(self, at: Place | None = None) -> Place:
        """Where reading goes on at the end of a subprogram: its start, or behind its call.

        at : where else in the caller, with M99 P
        """
        frame = self.frames[-1]
        if frame.times_left > 1 and at is None:
            self._judge_repeat(frame)
            frame.times_left -= 1
            return frame.start
        self.frames.pop()
        self.repeats = self.frames[-1].repeats if self.frames else self._of_main
        if frame.kept is not None:
            self._clear(frame.code)
            self.parameters.values.update(frame.kept)
            self.parameters.level = frame.level
        return at or frame.back

    def set_aside(
        self, frame: Frame, arguments: dict[Key, Number], missing: str | None = None
    ) -> None:
        """Gives a call parameters of its own.

        missing : what those become that an O word's call does not give: "as before", "zero", None
                  where nobody says
        """
        values = self.parameters.values
        frame.level = self.parameters.level
        frame.kept = self._clear(frame.code)
        doubtful: dict[Key, Number] = {}
        if frame.code == "G65":
            self.parameters.level = Level(LAST_LOCAL_OF_LETTERS)
        else:
            before = {**(frame.level.doubtful or {}), **frame.kept}
            numbered: dict[Key, Number] = {
                key: value for key, value in before.items() if isinstance(key, int)
            }
            if missing == "as before":
                values.update(numbered)
            elif missing is None:
                numbered = {key: value for key, value in numbered.items() if value}
                doubtful = {k: value for k, value in numbered.items() if k not in arguments}
            self.parameters.level = Level(0, doubtful)
        frame.arguments = arguments
        values.update(arguments)

    def _judge_repeat(self, frame: Frame) -> None:
        """Whether a further pass of a G65 finds the arguments that the first has found."""
        values = self.parameters.values
        own = {key for key in values if isinstance(key, int) and key <= LAST_LOCAL_OF_LETTERS}
        if frame.kept is not None and {key: values[key] for key in own} != frame.arguments:
            raise bad_subprogram(
                f"{frame.name} runs again by L and has changed its #1 to #33: controls differ on "
                "whether it finds its arguments anew",
                "write the calls one by one",
            )

    def _clear(self, code: str) -> dict[Key, Number]:
        """Takes out, and gives, what belongs to the call that runs."""
        values = self.parameters.values
        last = LAST_LOCAL_OF_LETTERS if code == "G65" else LAST_LOCAL_OF_O_WORDS
        own = [
            key
            for key in values
            if (key <= last if isinstance(key, int) else not key.startswith("_"))
        ]
        return {key: values.pop(key) for key in own}

    # bounds

    def count(self, lines: int = 1) -> None:
        """Holds what is run over and over within bounds."""
        self.again += lines
        if self.again > self._limits.lines:
            raise program_too_long(
                f"subprograms and loops run through more than {self._limits.lines:,} lines",
                "does a loop have an end? is an L wrong?",
            )
        if self.again >= self._look_at:
            self._look_at = self.again + _LINES_A_LOOK
            self._look_at_clock()
            self._look_at_moves()
            self._looks += 1
            if self._looks % _LOOKS_A_REPEAT == 0:
                self._look_for_repeat(self._looks // _LOOKS_A_REPEAT)

    def lines_left(self) -> int:
        """How many may yet be run over again."""
        return self._limits.lines - self.again

    def is_near_limit(self, lines: int) -> bool:
        """Whether that many lines more may be too many."""
        return self.again + lines > self._limits.lines

    def _look_at_moves(self) -> None:
        moves = self.moves()
        if moves != self._moves:
            self._moves, self._moved_at = moves, self.again
        if self.again - self._moved_at > self._limits.still_lines:
            raise program_too_long(
                f"subprograms and loops run through more than {self._limits.still_lines:,} lines "
                "without a motion",
                "does a loop have an end?",
            )

    def _look_for_repeat(self, nth: int) -> None:
        """Refuses what has come to where it was before: it will again. What is compared with is
        taken anew at every power of two (Brent's way of finding a cycle)."""
        frames = [
            (one.start.position, one.times_left, one.back.position, dict(one.repeats), one.kept)
            for one in self.frames
        ]
        standing = self.standing(), dict(self.parameters.values), frames, dict(self._of_main)
        if standing == self._before:
            raise program_too_long(
                "this loop has no end: all is again as it was before",
                "change in the loop what its condition asks for",
            )
        if nth == self._compared_to:
            self._before, self._compared_to = standing, 2 * nth

    def _look_at_clock(self) -> None:
        now = self._limits.clock()
        if self._ends_at is None:
            self._ends_at = now + self._limits.seconds
        if now > self._ends_at:
            raise program_too_long(
                f"subprograms and loops run for more than {self._limits.seconds:g} s",
                "does a loop have an end?",
            )

    # words

    def where(self) -> str:
        """For a message: which subprogram runs, called from where."""
        if not self.frames:
            return ""
        frame = self.frames[-1]
        is_other = frame.back.source is not frame.start.source
        file = f" of {frame.back.source.file}" if is_other else ""
        return f" (in {frame.name}, called on line {frame.call_line}{file})"
