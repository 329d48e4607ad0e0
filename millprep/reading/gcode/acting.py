"""One line carried out: its acts in their order, and what is to be said of it as a whole.

A listener hears of each act: `read_program(..., trace=JsonTrace(print))` shows how each line was
understood, which code, in which order, with which words, and what was in force after it.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Collection

from millprep.base.records import as_dict, frozen
from millprep.reading.gcode import (
    arcs,
    compensation,
    cycles,
    habits,
    modes,
    motion,
    offsets,
    parameters,
    shifts,
)
from millprep.reading.gcode.codes import AXES, BY_HABIT, G_CODES, LETTERS, M_CODES
from millprep.reading.gcode.compensation import judge_compensated, judge_unknown, know_again
from millprep.reading.gcode.flow import letters
from millprep.reading.gcode.flow.statements import Statement
from millprep.reading.gcode.order import MOTION_RANK, Step, g_word, steps_of
from millprep.reading.gcode.parameters import Parameters
from millprep.reading.gcode.recognise import Line, point_missing
from millprep.reading.gcode.state import State

VERBS: dict[str, Callable[[State, Line, str | int], None]] = {
    code.verb: getattr(module, code.verb)
    for code in (*G_CODES.values(), *M_CODES.values(), *LETTERS.values(), *BY_HABIT.values())
    for module in (arcs, compensation, cycles, habits, modes, motion, offsets, shifts, letters)
    if hasattr(module, code.verb)
}
"""Every act by the name that the tables of `codes` use, which is its function's."""

_MOST_KINDS_OF_LINES = 4096
_PLACES = dict.fromkeys(("rapid", "feed", "arc", "machine_move", "go_home"), AXES) | {"drill": "XY"}
"""Acts after which the axes that they name are where the program has said."""


class Acting:
    """Carries out lines on a state."""

    def __init__(self, state: State, given: Parameters, trace: Trace | None) -> None:
        self._state = state
        self._parameters = given
        self._trace = trace
        self._steps: dict[tuple[object, ...], tuple[Step, ...]] = {}

    def carry_out(self, line: Line, text: str = "") -> None:
        """Every act of a line whose values are worked out; text : as it stands, for the trace."""
        state = self._state
        steps = self._steps_of(line)
        if line.comments:
            self.read_comments(line)
        if line.has_nested:
            habits.doubt_once(state.report, "comment in a comment")
        if line.words:
            self._doubt_numbers(line)
        self.judge_parameters(line)
        state.need_room(len(steps))
        if motion.says_height(line):
            state.say_height()
        if state.feed_mode == "inverse time":
            state.feed_line = -1  # the F of this line is yet to come
        for step in steps:
            row = len(state.columns)
            stated = self._watch(line, step) if state.compensation or state.unknown_axes else ()
            VERBS[step.verb](state, line, step.value)
            if stated:
                know_again(state, stated, row)
            if state.is_out_of_cycle or step.verb == "drill":
                habits.note_cycle(state, step.verb)
            if state.unstated_axes and step.verb in offsets.MOVING:
                offsets.note_first_move(state, line, step.verb, row)
            if step.rank != MOTION_RANK:
                state.refresh()
            if self._trace is not None:
                self._trace(event_of(state, line, text, step.verb, step.name))
        if line.words and len(state.placed_axes) < len(AXES) and not state.is_incremental:
            placed = {letter for step in steps for letter in _PLACES.get(step.verb, "")}
            state.placed_axes.update(placed & line.words.keys())
        state.parameters.update(line.settings)

    def _watch(self, line: Line, step: Step) -> Collection[str]:
        """Refuses what could only be guessed just now; gives the axes that the act states again."""
        if self._state.compensation:
            judge_compensated(self._state, line, step.verb, step.value)
        if self._state.unknown_axes:
            return judge_unknown(self._state, line, step.verb, step.value)
        return ()

    def tell(self, statement: Statement, line: Line, text: str) -> None:
        """A line that flows, for the trace."""
        if self._trace is not None:
            word = statement.o_word.word if statement.o_word is not None else "letters"
            self._trace(event_of(self._state, line, text, "flow", word))

    def judge_parameters(self, line: Line) -> None:
        """What is to be said of the parameters that the line has asked for and set."""
        given = self._parameters
        if given.used or line.settings or line.has_signed:
            used = tuple(given.used)
            given.used.clear()
            parameters.judge(self._state, line, used, given)

    def _steps_of(self, line: Line) -> tuple[Step, ...]:
        """The acts of the line; lines of the same letters and codes ask for the same acts."""
        state = self._state
        key = (state.motion, *line.g, None, *line.m, *line.words)
        steps = self._steps.get(key)
        if steps is None:
            if len(self._steps) >= _MOST_KINDS_OF_LINES:
                self._steps.clear()
            steps = steps_of(line, state.motion, state.control)
            self._steps[key] = steps
        return steps

    def read_comments(self, line: Line) -> None:
        if self._state.control.comments == "none":
            self._state.report.warn(
                "comment-not-taken",
                "a comment, and the control is described as taking none",
                "take the comments out, or set comments in the shop file",
            )
        for comment in line.comments:
            offsets.read_comment(self._state, comment)
        if not line.words and not line.m and not line.g:
            self._state.comment_line, self._state.comments = self._state.line, tuple(line.comments)

    def _doubt_numbers(self, line: Line) -> None:
        word = None if self._state.report.has("no-decimal-point") else point_missing(line)
        if word is not None:
            self._state.report.warn(
                "no-decimal-point",
                f"{word} has no decimal point: read as {word.value:g}, here and after",
                f"write {word}. : some controls count such a number in their least increment",
            )


_DECIMALS = 6


@frozen
class Event:
    """One act.

    line  : of the file; text : the line as it stands there
    verb  : the act; code : what asked for it, as written ("G81", "F")
    words : letter -> value of the other words of the line
    modes : what is in force after it; place_mm the reading of the active work system
    """

    line: int
    text: str
    verb: str
    code: str
    words: dict[str, float]
    modes: dict[str, object]

    def as_json(self) -> str:
        """The event on one line."""
        return json.dumps(as_dict(self), ensure_ascii=False)


Trace = Callable[[Event], None]


class JsonTrace:
    """Writes each event, one line of JSON each."""

    def __init__(self, write: Callable[[str], object]) -> None:
        """write : takes a line without its end, such as `print`"""
        self._write = write

    def __call__(self, event: Event) -> None:
        self._write(event.as_json())


def event_of(state: State, line: Line, text: str, verb: str, code: str) -> Event:
    """The event of an act that has just been carried out."""
    words = {letter: word.value for letter, word in line.words.items()}
    return Event(state.line, text.strip(), verb, code, words, modes_of(state))


def modes_of(state: State) -> dict[str, object]:
    """What is in force, in words."""
    x, y, z = (round(value, _DECIMALS) + 0.0 for value in state.position)
    return {
        "motion": None if state.motion is None else g_word(state.motion),
        "plane": f"G{state.plane}",
        "units": state.units,
        "distance": "incremental" if state.is_incremental else "absolute",
        "work_system": state.system,
        "length_offset": state.offset,
        "tool": state.tool,
        "feed_mode": state.feed_mode,
        "feed": _number(state.feed_number),
        "rpm": _number(state.rpm),
        "spindle": state.spindle,
        "coolant": state.is_coolant_on,
        "return_level": state.returns_to,
        "place_mm": [x, y, z],
    }


def _number(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value
