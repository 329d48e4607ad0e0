"""A whole program: bytes to motions and findings, line by line.

`read_program` never raises for anything that a file can hold. Text that is refused ends the
reading with a stop at its line; what was read before it is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from millprep.errors import Finding
from millprep.reading.gcode import arcs, cycles, modes, motion, offsets
from millprep.reading.gcode.order import MOTION_RANK, steps_of
from millprep.reading.gcode.recognise import (
    Line,
    count_lines,
    decode,
    has_closing_percent,
    has_text,
    point_missing,
    raw_lines,
    recognise,
)
from millprep.reading.gcode.report import Refused, Report
from millprep.reading.gcode.state import State
from millprep.reading.gcode.toolbook import ToolBook
from millprep.reading.moves import ProgramRun
from millprep.shop import Control, Tool

VERBS: dict[str, Callable[[State, Line, str | int], None]] = {
    **modes.VERBS,
    **offsets.VERBS,
    **motion.VERBS,
    **arcs.VERBS,
    **cycles.VERBS,
}
"""Every act by the name that the tables of `codes` use."""


def read_program(
    data: bytes,
    control: Control,
    *,
    file: str,
    tools: Sequence[Tool] = (),
    plan_tools: Mapping[int, Tool] | None = None,
    stock_system: str = "G54",
) -> ProgramRun:
    """What a program does.

    data         : the file's bytes, whatever they are
    file         : the path as the user gave it, for findings
    tools        : the control's tool table, with the lengths that G43 applies [mm]
    plan_tools   : number -> Tool of a plan, used when all the program's numbers occur in it
    stock_system : the work system whose origin is the scene's zero
    """
    run, has_switched_lines = _read(data, control, file, tools, plan_tools, stock_system)
    if not has_switched_lines:
        return run
    other_way = replace(control, block_delete=not control.block_delete)
    other, _ = _read(data, other_way, file, tools, plan_tools, stock_system)
    return replace(run, findings=(*run.findings, *_only_in(other, run, other_way)))


def _only_in(other: ProgramRun, run: ProgramRun, control: Control) -> list[Finding]:
    """The stops that appear only with the block delete switch the other way, as warnings."""
    known = {(finding.kind, finding.line) for finding in run.findings}
    switch = "on" if control.block_delete else "off"
    return [
        replace(
            finding,
            severity="warning",
            message=f"with the block delete switch {switch}: {finding.message}",
        )
        for finding in other.findings
        if finding.severity == "stop" and (finding.kind, finding.line) not in known
    ]


def _read(
    data: bytes,
    control: Control,
    file: str,
    tools: Sequence[Tool],
    plan_tools: Mapping[int, Tool] | None,
    stock_system: str,
) -> tuple[ProgramRun, bool]:
    """The program under one setting, and whether it holds lines that start with /."""
    report = Report(file)
    book = ToolBook(tools, touches_off=not control.length_offset)
    reading = _Reading(data, State(control, report, book, stock_system))
    reading.run()
    state = reading.state
    report.line = None
    found = book.resolve(plan_tools, report)
    run = ProgramRun(
        moves=state.columns.moves(),
        findings=report.findings(),
        lines=reading.lines,
        read_lines=reading.read_lines,
        tools=found,
        tool_changes=tuple(state.tool_changes),
        is_complete=reading.read_lines == reading.lines and not reading.is_refused,
        spindle_at_end=state.spindle,
        coolant_at_end=state.is_coolant_on,
    )
    return run, report.has("block-delete")


class _Reading:
    """One pass through a file."""

    def __init__(self, data: bytes, state: State) -> None:
        self.data = data
        self.state = state
        self.report = state.report
        self.lines = count_lines(data)
        self.read_lines = self.lines
        self.is_refused = False
        self._opened_at: int | None = None
        self._has_begun = False

    def run(self) -> None:
        """Reads to the end word, the closing %, the end of the file or a refusal."""
        try:
            self._read_lines()
        except Refused as refusal:
            self.is_refused = True
            self.read_lines = self.state.line - 1
            about = f"line {self.state.line}"
            self.report.add("stop", refusal.kind, refusal.message, refusal.remedy, about=about)

    def _read_lines(self) -> None:
        for number, position, raw in raw_lines(self.data):
            self.state.line = self.report.line = number
            if not raw:
                continue
            text = decode(raw)
            bare = text.strip(" \t")
            if bare == "%" and self._opened_at is not None:
                return
            if bare == "%" and not self._has_begun:
                self._opened_at = number
            elif bare:
                self._execute(text)
            self._has_begun = self._has_begun or bool(bare)
            if self.state.is_ended:
                self._look_behind(position)
                return
        self._end_of_file()

    def _execute(self, text: str) -> None:
        state = self.state
        line = recognise(text, state.line, is_strict=state.control.strict)
        if line.is_deleted and self._is_skipped():
            return
        steps = steps_of(line, state.motion, is_strict=state.control.strict)
        if line.comments and state.control.comments == "none":
            self.report.warn(
                "comment-not-taken",
                "a comment, and the control is described as taking none",
                "take the comments out, or set comments in the shop file",
            )
        for comment in line.comments:
            offsets.read_comment(state, comment)
        self._doubt_numbers(line)
        state.need_room(len(steps))
        for step in steps:
            VERBS[step.verb](state, line, step.value)
            if step.rank != MOTION_RANK:
                state.refresh()

    def _is_skipped(self) -> bool:
        is_on = self.state.control.block_delete
        self.report.note(
            "block-delete",
            "lines that start with / are " + ("left out" if is_on else "carried out"),
            "block_delete in the shop file says which; it was read the other way too",
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

    def _look_behind(self, position: int) -> None:
        """What may follow M2 or M30."""
        if self._opened_at is not None and not has_closing_percent(self.data, position):
            self.report.add(
                "stop" if self.state.control.strict else "warning",
                "no-closing-percent",
                "the file starts with % and has no closing %",
                "end it with a line of only %, or leave both out",
            )
        if has_text(self.data, position):
            self.report.note("text-after-end", "what stands after this line is not read")

    def _end_of_file(self) -> None:
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
