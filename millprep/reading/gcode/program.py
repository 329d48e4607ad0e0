"""A whole program: bytes to motions and findings, line by line.

`read_program` never raises for anything that a file can hold. Text that is refused ends the
reading with a stop at its line; what was read before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from functools import partial

from millprep.model.shop import Control
from millprep.model.tools import Tool
from millprep.reading.gcode import (
    arcs,
    by_hand,
    compensation,
    cycles,
    fast,
    habits,
    modes,
    motion,
    offsets,
    parameters,
    shifts,
    subprograms,
)
from millprep.reading.gcode.away import end_lost, judge_unknown, know_again
from millprep.reading.gcode.card import ToolCard
from millprep.reading.gcode.carried import left_by, note_tool, take_up
from millprep.reading.gcode.codes import BY_HABIT, G_CODES, LETTERS, M_CODES
from millprep.reading.gcode.compensation import end_compensation, judge_compensated
from millprep.reading.gcode.order import MOTION_RANK, Step, steps_of
from millprep.reading.gcode.recognise import (
    Line,
    closing_percent,
    count_lines,
    decode,
    has_text,
    point_missing,
    raw_line,
    recognise,
    text_start,
)
from millprep.reading.gcode.report import Refused, Report
from millprep.reading.gcode.state import State
from millprep.reading.gcode.subprograms import Subprograms
from millprep.reading.gcode.toolbook import ToolBook
from millprep.reading.gcode.trace import Trace, event_of
from millprep.reading.moves import Carried, ProgramRun

VERBS: dict[str, Callable[[State, Line, str | int], None]] = {
    code.verb: getattr(module, code.verb)
    for code in (*G_CODES.values(), *M_CODES.values(), *LETTERS.values(), *BY_HABIT.values())
    for module in (arcs, compensation, cycles, habits, modes, motion, offsets, shifts, subprograms)
    if hasattr(module, code.verb)
}
"""Every act by the name that the tables of `codes` use, which is its function's."""

Progress = Callable[[int, int], None]
"""Called now and then with the lines read so far and the lines there are."""

LINES_A_REPORT = 20_000  # of progress
_MOST_KINDS_OF_LINES = 4096


def read_program(
    data: bytes,
    control: Control,
    *,
    file: str,
    tools: Sequence[Tool] = (),
    plan_tools: Mapping[int, Tool] | None = None,
    stock_system: str = "G54",
    trace: Trace | None = None,
    progress: Progress | None = None,
    line_by_line: bool = False,
    carried: Carried | None = None,
    card: ToolCard | None = None,
) -> ProgramRun:
    """What a program does.

    data         : the file's bytes, whatever they are
    file         : the path as the user gave it, for findings
    tools        : the control's tool table, with the lengths that G43 applies [mm]
    plan_tools   : number -> Tool of a plan, used when all the program's numbers occur in it
    stock_system : the work system whose origin is the scene's zero
    trace        : called after each act, for `dryrun --trace`; reading is then line by line
    progress     : called with (lines read, lines) on long programs
    line_by_line : read no stretch at a time: slower, the same result
    card         : what stands beside a program without comments
    carried      : what the program before this one has left in the control; None: nothing
    """
    book = ToolBook(tools, touches_off=not control.length_offset)
    state = State(control, Report(file), book, stock_system)
    if carried is not None:
        take_up(state, carried)
    if card is not None:
        state.card = card
        for comment in card.tools:
            offsets.read_comment(state, comment)
    by_hand.begin(state, data)
    is_slow = line_by_line or trace is not None
    reading = _Reading(data, state, trace, progress, is_slow=is_slow)
    reading.run()
    if carried is not None:
        note_tool(state, carried)
    return reading.result(plan_tools)


class _Reading:
    """One pass through a file.

    number, position : of the line that was read last, and the place behind it
    """

    def __init__(
        self,
        data: bytes,
        state: State,
        trace: Trace | None,
        progress: Progress | None,
        *,
        is_slow: bool,
    ) -> None:
        self.data = data
        self.state = state
        self.report = state.report
        self.lines = count_lines(data)
        self.read_lines = self.lines
        self.is_refused = False
        self._number = 0
        self._position = text_start(data)
        self._trace = trace
        self._progress = progress
        self._told_at = 0
        self._is_slow = is_slow
        self._slow_until = 0
        self._subprograms = Subprograms(data)
        self._look_up = partial(parameters.look_up, state)
        self._steps: dict[tuple[object, ...], tuple[Step, ...]] = {}
        self._opened_at: int | None = None
        self._has_begun = self._has_code = False

    def run(self) -> None:
        """Reads to the end word, the closing %, the end of the file or a refusal."""
        try:
            self._read_lines()
        except Refused as refusal:
            running = self._subprograms.running
            self.is_refused = True
            self.read_lines = (running[0].back_number if running else self.state.line) - 1
            self.report.refuse(refusal, self._subprograms.where())

    def result(self, plan_tools: Mapping[int, Tool] | None) -> ProgramRun:
        """What was read."""
        state = self.state
        self.report.line = None
        if state.is_tool_pending and state.control.tool_change == "stop" and state.tool:
            offsets.doubt_pending(state)
        end_lost(state)
        end_compensation(state)
        tools = state.tools.resolve(plan_tools, self.report, state.selected_tool)
        return ProgramRun(
            moves=state.columns.moves(),
            findings=self.report.findings(),
            lines=self.lines,
            read_lines=self.read_lines,
            tools=tools,
            tool_changes=tuple(state.tool_changes),
            changes=tuple(state.changes),
            ways_home=tuple(state.ways_home),
            lost=tuple(state.lost),
            compensated=tuple(state.compensated),
            is_complete=self.read_lines == self.lines and not self.is_refused,
            spindle_at_end=0 if state.is_spindle_assumed else state.spindle,
            is_spindle_assumed=state.is_spindle_assumed,
            leaves=left_by(state),
            blind_moves=len(state.columns) if state.blind_moves is None else state.blind_moves,
        )

    def _read_lines(self) -> None:
        state, data = self.state, self.data
        while self._position < len(data):
            if self._progress is not None:
                self._tell_progress()
            if self._position >= self._slow_until and self._read_run():
                continue
            raw, self._position = raw_line(data, self._position)
            self._number += 1
            state.line = self.report.line = self._number
            if self._subprograms.running:
                self._subprograms.count_lines(1)
            if raw and self._is_closing(raw):
                return
            if state.is_ended:
                self._look_behind(self._position)
                return
            if state.call is not None or state.is_returning:
                self._jump()
        self._end_of_file()

    def _tell_progress(self) -> None:
        done = self._number + self._subprograms.called_lines
        if self._progress is not None and done - self._told_at >= LINES_A_REPORT:
            self._told_at = done
            self._progress(self._number, self.lines)

    def _read_run(self) -> bool:
        """Reads plain lines a stretch at a time; False where none were read."""
        if self._is_slow or not fast.may_run(self.state):
            return False
        start = self._position
        until = fast.plain_until(
            self.data, start, len(self.data), is_strict=self.state.control.strict
        )
        if until - start < fast.SHORTEST or self._subprograms.is_near_limit(until - start):
            self._slow_until = until
            return False
        self.state.line = self._number
        lines, length = fast.read_run(self.state, self.data[start:until])
        if length < until - start:
            is_worth_it = length * fast.WORTH_IT > until - start
            self._slow_until = start + length + 1 if is_worth_it else until
        self._number += lines
        self._position += length
        if self._subprograms.running:
            self._subprograms.count_lines(lines)
        return lines > 0

    def _is_closing(self, raw: bytes) -> bool:
        """Carries out a line; True for the % that closes the program."""
        text = decode(raw)
        bare = text.strip(" \t")
        if bare == "%" and self._opened_at is not None:
            self._need_return("the closing %")
            return True
        if bare == "%" and not self._has_begun:
            self._opened_at = self._number
        elif (opening := self._opening(bare)) is not None:
            self._opened_at = self._number
            habits.doubt_once(self.report, "percent")
            self._execute(opening)
        elif bare:
            self._execute(text)
        self._has_begun = self._has_begun or bool(bare)
        self._has_code = self._has_code or not habits.is_comment(bare)
        return False

    def _opening(self, bare: str) -> str | None:
        """What stands beside a first % of common practice: its comment, if any."""
        if self._has_code or self._opened_at is not None or self.state.control.strict:
            return None
        return habits.beside_percent(bare)

    def _execute(self, text: str) -> None:
        state = self.state
        is_strict = state.control.strict
        line = recognise(text, state.line, is_strict=is_strict, look_up=self._look_up)
        if line.is_deleted and self._is_skipped():
            return
        if line.label is not None:
            self._check_label(line.label)
        steps = self._steps_of(line)
        if line.comments:
            self._read_comments(line)
        if line.has_nested:
            habits.doubt_once(self.report, "comment in a comment")
        if line.words:
            self._doubt_numbers(line)
        if line.parameters or line.settings or line.has_signed:
            parameters.judge(state, line)
        state.need_room(len(steps))
        if motion.says_height(line):
            state.say_height()
        for step in steps:
            row = len(state.columns)
            stated = self._watch(line, step)
            VERBS[step.verb](state, line, step.value)
            know_again(state, stated, row)
            habits.note_cycle(state, step.verb)
            if state.unstated_axes and step.verb in offsets.MOVING:
                offsets.note_first_move(state, line, step.verb, row)
            if step.rank != MOTION_RANK:
                state.refresh()
            if self._trace is not None:
                self._trace(event_of(state, line, text, step.verb, step.name))
        state.parameters.update(line.settings)

    def _watch(self, line: Line, step: Step) -> Collection[str]:
        """Refuses what could only be guessed just now; gives the axes that the act states again."""
        if self.state.compensation:
            judge_compensated(self.state, line, step.verb, step.value)
        if self.state.unknown_axes:
            return judge_unknown(self.state, line, step.verb, step.value)
        return ()

    def _steps_of(self, line: Line) -> tuple[Step, ...]:
        """The acts of the line; lines of the same letters and codes ask for the same acts."""
        state = self.state
        key = (state.motion, *line.g, None, *line.m, *line.words)
        steps = self._steps.get(key)
        if steps is None:
            if len(self._steps) >= _MOST_KINDS_OF_LINES:
                self._steps.clear()
            steps = steps_of(line, state.motion, state.control)
            self._steps[key] = steps
        return steps

    def _read_comments(self, line: Line) -> None:
        if self.state.control.comments == "none":
            self.report.warn(
                "comment-not-taken",
                "a comment, and the control is described as taking none",
                "take the comments out, or set comments in the shop file",
            )
        for comment in line.comments:
            offsets.read_comment(self.state, comment)
        if not line.words and not line.m and not line.g:
            self.state.comment_line, self.state.comments = self.state.line, tuple(line.comments)

    def _is_skipped(self) -> bool:
        is_on = self.state.control.block_delete
        self.report.note(
            "block-delete",
            "lines that start with / are " + ("left out" if is_on else "carried out"),
            "block_delete in the shop file says which; dryrun runs it the other way too",
        )
        return is_on

    def _doubt_numbers(self, line: Line) -> None:
        word = None if self.report.has("no-decimal-point") else point_missing(line)
        if word is not None:
            self.report.warn(
                "no-decimal-point",
                f"{word} has no decimal point: read as {word.value:g}, here and after",
                f"write {word}. : some controls count such a number in their least increment",
            )

    # subprograms

    def _jump(self) -> None:
        """Goes where the line that has just been carried out sends the reading."""
        state = self.state
        if state.call is not None:
            call, state.call = state.call, None
            is_framed = self._opened_at is not None
            frame = self._subprograms.enter(call, self._number, self._position, is_framed=is_framed)
            self._number, self._position = frame.number - 1, frame.position
        else:
            state.is_returning = False
            if not self._subprograms.running:
                raise Refused(
                    "bad-subprogram",
                    "M99 in the main program, where it repeats it without end",
                    "end the program with M30",
                )
            self._number, self._position = self._subprograms.leave()
        self._slow_until = min(self._slow_until, self._position)

    def _check_label(self, label: str) -> None:
        running = self._subprograms.running
        if running and running[-1].number != self.state.line:
            self._need_return(f"O{label}")

    def _need_return(self, what: str) -> None:
        running = self._subprograms.running
        if running:
            raise Refused(
                "bad-subprogram",
                f"O{running[-1].label} runs on into {what}",
                "end each subprogram with M99",
            )

    # the end

    def _look_behind(self, position: int) -> None:
        """What may follow M2 or M30."""
        if self._opened_at is not None and closing_percent(self.data, position) is None:
            self.report.add(
                "stop" if self.state.control.strict else "warning",
                "no-closing-percent",
                "the file starts with % and has no closing %",
                "end it with a line of only %, or leave both out",
            )
        if has_text(self.data, position) and not self._subprograms.has_called:
            self.report.note("text-after-end", "what follows this line is not read")

    def _end_of_file(self) -> None:
        self._need_return("the end of the file")
        self.report.line = self._opened_at
        if self._opened_at is not None:
            self.report.add(
                "stop",
                "no-closing-percent",
                "the file starts with % but has neither a closing % nor M2 or M30",
                "was it cut short on the way? end it with M30 and a line of only %",
            )
        else:
            self.report.warn(
                "no-program-end",
                "the program has no M2 or M30",
                "was it cut short on the way? end it with M30",
            )
