"""A whole program: bytes to motions and findings, line by line.

`read_program` never raises for anything that a file can hold. Text that is refused ends the
reading with a stop at its line; what was read before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from millprep.model.shop import Control
from millprep.model.tools import Tool
from millprep.reading.gcode import fast, habits, offsets, stops
from millprep.reading.gcode.acting import Acting, Trace
from millprep.reading.gcode.compensation import end_compensation, end_lost
from millprep.reading.gcode.flow.flowing import (
    Flow,
    check_label,
    end_of_file,
    look_behind,
    need_return,
    note_uncalled,
)
from millprep.reading.gcode.flow.kept import (
    MOST_WAITING,
    KeptLine,
    Waiting,
    act_of,
    kept_line,
    quick_of,
)
from millprep.reading.gcode.flow.letters import call, come_back
from millprep.reading.gcode.flow.running import Limits
from millprep.reading.gcode.flow.sources import Beside, Place, Source
from millprep.reading.gcode.lines import count_lines, decode, raw_line, text_start
from millprep.reading.gcode.modal import ToolCard
from millprep.reading.gcode.parameters import AskedTooQuickly
from millprep.reading.gcode.recognise import Line, worked_out
from millprep.reading.gcode.report import Refused, Report
from millprep.reading.gcode.shifts import left_by, note_tool, take_up
from millprep.reading.gcode.state import State
from millprep.reading.gcode.toolbook import ToolBook
from millprep.reading.moves import Carried, ProgramRun

Progress = Callable[[int, int, int], None]
"""Called now and then with the lines read so far, the lines there are, and how many have been run
in loops and subprograms."""

LINES_A_REPORT = 20_000  # of progress
LINES_A_LOOK = 1024  # at how often lines have run over and over
SHORTEST_AGAIN = 8192  # bytes: shorter runs that repeat are quicker kept
_WAITS = 1, 1 << 14  # bytes to read line by line behind a short run: twice as many each time

_STOPS = ("starts_without_speed", "hole_stops", "stops")
_GATHERED = ("tool_changes", "changes", "ways_home", "lost", "compensated", *_STOPS)


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
    beside: Beside | None = None,
    limits: Limits | None = None,
    apart_mm: float = 0.0,
) -> ProgramRun:
    """What a program does.

    data         : the file's bytes, whatever they are
    file         : the path as the user gave it, for findings
    tools        : the control's tool table, with the lengths that G43 applies [mm]
    plan_tools   : number -> Tool of a plan, used when all the program's numbers occur in it
    stock_system : the work system whose origin is the scene's zero
    trace        : called after each act, for `dryrun --trace`; reading is then line by line
    progress     : called on long programs, and on those that run for long
    line_by_line : read no stretch at a time: slower, the same result
    card         : what stands beside a program without comments
    carried      : what the program before this one has left in the control; None: nothing
    beside       : finds the file of a subprogram that the program does not hold itself
    limits       : how long it may jump to and fro
    apart_mm     : in stock axes, of pieces that are put in one after another
    """
    book = ToolBook(tools, touches_off=not control.length_offset)
    state = State(control, Report(file), book, stock_system)
    state.apart_mm = apart_mm
    if carried is not None:
        take_up(state, carried)
    if card is not None:
        state.card = card
        for comment in card.tools:
            offsets.read_comment(state, comment)
    stops.begin(state, data)
    is_slow = line_by_line or trace is not None
    main = Source(file, data, is_main=True)
    reading = _Reading(Flow(state, main, beside, limits), trace, progress, is_slow=is_slow)
    reading.run()
    if carried is not None:
        note_tool(state, carried)
    return reading.result(plan_tools)


class _Reading:
    """One pass through a program. Where it is: a place, in its file or in one beside it."""

    def __init__(
        self, flow: Flow, trace: Trace | None, progress: Progress | None, *, is_slow: bool
    ) -> None:
        self.flow = flow
        self.state = flow.state
        self.report = flow.state.report
        self.main = flow.main
        self.lines = count_lines(self.main.data)
        self.read_lines = self.lines
        self.is_refused = False
        self._running = flow.running
        self._parameters = flow.parameters
        self._place = Place(self.main, text_start(self.main.data), 1)
        self._acting = Acting(self.state, flow.parameters, trace)
        self._waiting = Waiting(self.state, self._acting.carry_out)
        self._progress = progress
        self._told_at = 0
        self._is_slow = is_slow
        self._slow_until = 0
        self._stretch, self._wait = fast.LEAST_STRETCH, _WAITS[0]
        self._opened_at: int | None = None
        self._has_begun = self._has_code = False
        flow.running.moves = lambda: len(self.state.columns) + len(self._waiting)
        flow.running.standing = self._standing
        flow.carry_out = self._carry_out_piece
        flow.parameters.catch_up = self._waiting.carry_out_all

    def run(self) -> None:
        """Reads to the end word, the closing %, the end of the file or a refusal."""
        try:
            self._read_lines()
            self._waiting.carry_out_all()
            note_uncalled(self.flow)
        except Refused as refusal:
            self._refuse(refusal)
        self.report.file = self.main.file

    def _refuse(self, refusal: Refused) -> None:
        """Ends the reading; motions that wait come before the line that is refused."""
        try:
            self._waiting.carry_out_all()
        except Refused as earlier:
            refusal = earlier
        frames = self._running.frames
        self.is_refused = True
        self.read_lines = (frames[0].call_line if frames else self.state.line) - 1
        self.report.refuse(refusal, self._running.where())

    def result(self, plan_tools: Mapping[int, Tool] | None) -> ProgramRun:
        """What was read."""
        state = self.state
        self.report.line = None
        if state.is_tool_pending and state.control.tool_change == "stop" and state.tool:
            offsets.doubt_pending(state)
        end_lost(state)
        end_compensation(state)
        tools = state.tools.resolve(plan_tools, self.report, state.selected_tool)
        gathered: dict[str, Any] = {name: tuple(getattr(state, name)) for name in _GATHERED}
        return ProgramRun(
            moves=state.columns.moves(),
            findings=self.report.findings(),
            lines=self.lines,
            read_lines=self.read_lines,
            tools=tools,
            is_complete=self.read_lines == self.lines and not self.is_refused,
            spindle_at_end=0 if state.is_spindle_assumed else state.spindle,
            is_spindle_assumed=state.is_spindle_assumed,
            is_quill_by_hand=state.control.axes == "xy",
            leaves=left_by(state),
            **gathered,
            blind_moves=len(state.columns) if state.blind_moves is None else state.blind_moves,
        )

    def _read_lines(self) -> None:
        while self._place.position < len(self._place.source.data):
            if self._progress is not None:
                self._tell_progress()
            is_again = self._is_again()
            if is_again and self._run_again():
                continue
            if self._place.position >= self._slow_until and self._read_run(is_again=is_again):
                continue
            if self._read_line(is_again=is_again):
                return
        self._waiting.carry_out_all()
        end_of_file(self.flow, self._opened_at)

    def _standing(self) -> object:
        """All that tells what a line does, but for parameters and calls."""
        self._waiting.carry_out_all()
        state, place = self.state, self._place
        modes = state.units, state.is_incremental, state.tool, state.offset, state.system
        where = state.position, state.to_machine, state.stored_shift, dict(state.origins)
        return place.source, place.position, modes, where, state.tools.length_mm(state.tool)

    def _is_again(self) -> bool:
        """Whether the line is in a subprogram or has been passed before."""
        return bool(self._running.frames) or self._place.position < self.main.furthest

    def _tell_progress(self) -> None:
        done = self._place.number + self._running.again
        if self._progress is not None and done - self._told_at >= LINES_A_REPORT:
            self._told_at = done
            at = self._running.frames[0].call_line if self._running.frames else self._place.number
            self._progress(min(at, self.lines), self.lines, self._running.again)

    def _stand_at(self, place: Place) -> None:
        """Findings are told at this line from here on; motions, in another file, at the call."""
        state, report = self.state, self.report
        state.line = report.line = place.number
        report.file = place.source.file
        state.called_line = 0
        if not place.source.is_main:
            calls = [one.call_line for one in self._running.frames if one.back.source.is_main]
            state.called_line = calls[-1]

    def _go_on(self, place: Place) -> None:
        """Goes to the line that is to be read next."""
        if place.source is not self._place.source:
            self._waiting.carry_out_all()
        is_back = place.source is not self._place.source or place.position < self._place.position
        if is_back:
            self._slow_until = place.position
        if not self._running.frames:
            self.main.furthest = max(self.main.furthest, self._place.position + 1)
        self._place = place

    def _run_again(self) -> bool:
        """Runs lines that are kept, as long as nothing is to be said; whether it ran any."""
        place = self._place
        if place.quick is None:
            return False
        self._stand_at(place)  # what waits is carried out here, or where it leads back from
        source, running = place.source, self._running
        left = min(LINES_A_LOOK, running.lines_left())
        before = left
        self._parameters.is_quick = True
        try:
            while left and place.source is source:
                quick = place.quick
                if quick is None:
                    break
                place = quick()
                left -= 1
        except (AskedTooQuickly, Refused):
            pass  # the slow way says it
        finally:
            self._parameters.is_quick = False
        if left == before:
            return False
        self._go_on(place)
        self._stand_at(place)
        running.count(before - left)
        if len(self._waiting) >= MOST_WAITING:
            self._waiting.carry_out_all()
        return True

    def _read_run(self, *, is_again: bool) -> bool:
        """Reads plain lines a stretch at a time; False where none were read."""
        if self._is_slow or (not self._waiting and not fast.may_run(self.state)):
            return False
        state, place = self.state, self._place
        data, start = place.source.data, place.position
        shortest = SHORTEST_AGAIN if is_again else fast.SHORTEST
        until = fast.plain_until(data, start, max(self._stretch, shortest))
        if until - start < shortest or self._running.is_near_limit(until - start):
            self._slow_until = until
            return False
        self._waiting.carry_out_all()
        self._stand_at(place)
        state.line = place.number - 1
        if not fast.may_run(state):
            return False
        lines, length = fast.read_run(state, data[start:until])
        self._stretch = min(max(2 * length, fast.LEAST_STRETCH), fast.STRETCH)
        behind = Place(place.source, start + length, place.number + lines)
        behind = place.source.place(behind.position, behind.number) if is_again else behind
        self._go_on(behind)
        if not self._running.frames:
            self.main.furthest = max(self.main.furthest, behind.position)
        if length < until - start:
            is_short = length < fast.SHORTEST
            self._wait = min(2 * self._wait, _WAITS[1]) if is_short else _WAITS[0]
            self._slow_until = start + length + (self._wait if is_short else 1)
        if is_again:
            self._running.count(lines)
        return lines > 0

    def _read_line(self, *, is_again: bool) -> bool:
        """Reads one line; True where it ends the program."""
        place = self._place
        self._stand_at(place)
        if not self._running.frames:  # a call is passed before what it calls runs
            self.main.furthest = max(self.main.furthest, place.position + 1)
        if is_again:
            self._running.count()
        kept = place.line if isinstance(place.line, KeptLine) else None
        if kept is None:
            self._waiting.carry_out_all()
            opening = None if self._has_code else self._opening(place)
            kept = kept_line(self.flow, place, is_again=is_again, instead=opening)
            if opening is not None:
                self._opened_at, self.main.framed_from = place.number, kept.after.position
        bare = kept.bare
        if bare == "%" and place.source.is_framed:
            need_return(self._running, "the closing %")
            return True
        target = self._execute(kept, place) if kept.statement or kept.line else None
        self._has_begun = self._has_begun or bool(bare)
        self._has_code = self._has_code or not habits.is_comment(bare)
        if is_again and not self._is_slow and place.line is None:
            place.line = kept
            place.quick = quick_of(kept, place, self._waiting, self.flow)
        if self.state.is_ended:
            look_behind(self.flow, kept.after, self._opened_at)
            return True
        self._go_on(self._called(place) or target or kept.after)
        return False

    def _opening(self, place: Place) -> str | None:
        """What stands beside the first % on its line, its comment if any; None on any other."""
        raw, _ = raw_line(place.source.data, place.position)
        bare = decode(raw).strip(" \t")
        if bare == "%" and not self._has_begun:
            self._has_begun = True
            return ""
        if self._opened_at is not None or self.state.control.strict:
            return None
        beside = habits.beside_percent(bare)
        if beside is not None:
            habits.doubt_once(self.report, "percent")
        return beside

    def _execute(self, kept: KeptLine, place: Place) -> Place | None:
        """Carries out a line; where it leads, if not to the one below."""
        line = kept.line or Line(place.number)
        if kept.statement is not None:
            if kept.statement.is_deleted and self._is_skipped():
                return None
            if line.comments:
                self._acting.read_comments(line)
            kept.act = kept.act or act_of(self.flow, kept.statement, place)
            target = kept.act()
            self._acting.judge_parameters(Line(place.number))
            self._acting.tell(kept.statement, line, kept.text)
            return target
        if line.g or line.m or line.words or line.late:
            self._waiting.carry_out_all()
        if line.is_deleted and self._is_skipped():
            return None
        now = worked_out(line)
        if line.label is not None:
            check_label(self.flow, line.label, place)
        self._acting.carry_out(now, kept.text)
        return None

    def _carry_out_piece(self, line: Line) -> None:
        """Plain words on a line that flows."""
        self._waiting.carry_out_all()
        self._acting.carry_out(worked_out(line))

    def _is_skipped(self) -> bool:
        is_on = self.state.control.block_delete
        self.report.note(
            "block-delete",
            "lines that start with / are " + ("left out" if is_on else "carried out"),
            "block_delete in the shop file says which; dryrun runs it the other way too",
        )
        return is_on

    # subprograms

    def _called(self, place: Place) -> Place | None:
        """Where M97, M98 or M99 on the line that has just been carried out leads."""
        state = self.state
        if state.call is not None:
            asked, state.call = state.call, None
            return call(self.flow, asked, place)
        if state.is_returning:
            state.is_returning = False
            return come_back(self.flow, state.back_to, place)
        return None
