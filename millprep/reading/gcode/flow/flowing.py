"""What a line that flows needs to know: files, blocks, what runs, and how to say something.

An act is a line made ready: called, it does what the line asks for and gives the place to go on at.
"""

from __future__ import annotations

from collections.abc import Callable

from millprep.reading.gcode.arithmetic import Number, Value, as_work
from millprep.reading.gcode.expressions import WHOLE_TOLERANCE
from millprep.reading.gcode.flow.blocks import Block, Blocks, loop_blocks, o_blocks
from millprep.reading.gcode.flow.running import Limits, Running
from millprep.reading.gcode.flow.sources import Beside, Place, Source
from millprep.reading.gcode.lines import closing_percent, has_text, raw_line
from millprep.reading.gcode.parameters import AskedTooQuickly, Parameters
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import (
    Refused,
    bad_jump,
    bad_loop,
    bad_subprogram,
    bad_value,
    refused_word,
)
from millprep.reading.gcode.state import State

Act = Callable[[], Place]
"""Does what a line asks for and gives the place to go on at."""


class Flow:
    """The files of a program and what runs in them.

    carry_out : runs plain words that stand on a line that flows
    called    : where the subprograms begin that have been called
    """

    def __init__(
        self, state: State, main: Source, beside: Beside | None, limits: Limits | None
    ) -> None:
        self.state = state
        self.main = main
        self.parameters = Parameters(state)
        self.running = Running(self.parameters, limits or Limits())
        self.carry_out: Callable[[Line], None] = lambda line: None
        self.called: set[int] = set()
        self._beside = beside
        self._others: dict[str, Source | None] = {}
        self._o_blocks: dict[Source, Blocks] = {}
        self._loops: dict[tuple[Source, int], Blocks] = {}
        self._is_settled: set[Source] = set()

    # styles

    def settle_style(self, source: Source) -> None:
        """Takes note of the style that a file is written in, the first time it matters."""
        if source in self._is_settled or self.state.control.strict:
            return
        self._is_settled.add(source)
        if len(source.styles) != 1:
            return
        (style,) = source.styles
        if self.parameters.style not in ("", style):
            raise Refused(
                "mixed-flow",
                f"{source.file} is written in {style}, the program in {self.parameters.style}: no "
                "control reads both",
                "write both in one style",
            )
        self.parameters.style = style

    def need_style(self, style: str, source: Source) -> None:
        """Refuses what the control does not read, and files that mix both styles."""
        flow = self.state.control.flow
        if flow not in ("either", style):
            raise refused_word(
                f"flow words in the style of {style}, and the control is described as reading "
                + ("none" if flow == "none" else f"those of {flow}"),
                "write the moves out, or set flow in the shop file",
            )
        others = {other: line for other, line in source.styles.items() if other != style}
        for other, line in others.items():
            raise Refused(
                "mixed-flow",
                f"{style} here and {other} on line {line}: no control reads both in one file",
                "write all of it in one style",
            )

    # places

    @staticmethod
    def after(place: Place) -> Place:
        """The line below."""
        _, position = raw_line(place.source.data, place.position)
        return place.source.place(position, place.number + 1)

    def o_blocks(self, source: Source) -> Blocks:
        if source not in self._o_blocks:
            self._o_blocks[source] = o_blocks(source, self.parameters)
        return self._o_blocks[source]

    def loops(self, source: Source, position: int) -> Blocks:
        """The loops of letter style in the program of the file that the place is in."""
        section = source.section(position)
        key = source, section[0]
        if key not in self._loops:
            self._loops[key] = loop_blocks(source, section, self.parameters)
        return self._loops[key]

    def other(self, name: str) -> Source | None:
        """The file beside the program that holds a subprogram."""
        if name not in self._others:
            found = None if self._beside is None else self._beside(name)
            if isinstance(found, str):
                raise bad_subprogram(found, "name each subprogram's file once")
            source = None if found is None else Source(*found, is_main=False)
            if source is not None and source.data == self.main.data:
                source = None
            self._others[name] = source
            if source is not None:
                self.settle_style(source)
        return self._others[name]

    def jump(self, place: Place, number: int, what: str) -> Place:
        """The line with that N, in the program of the file that the place is in."""
        places = place.source.numbered(place.position).get(number, [])
        if len(places) != 1:
            how = f"{len(places)} times" if places else "not"
            raise bad_jump(
                f"{what}: N{number} is {how} in the program",
                "give the line that is meant a number of its own",
            )
        target = place.source.place_at(places[0])
        loops = self.loops(place.source, place.position)
        if not loops.around(target.position) <= loops.around(place.position):
            raise bad_jump(f"{what} jumps into a loop", "jump to the line where the loop begins")
        return target

    def uncalled(self) -> list[Block]:
        """The subprograms of the program that were passed over and never called."""
        blocks = self._o_blocks.get(self.main, Blocks())
        subs = [block for found in blocks.subs.values() for block in found]
        return [block for block in subs if block.first.position not in self.called]

    # saying

    def ask_slowly(self) -> None:
        """To be called before anything is said: a quick run begins the line again."""
        if self.parameters.is_quick:
            raise AskedTooQuickly

    def need_sound(self, block: Block, what: str) -> None:
        """Refuses a block whose lines do not belong together."""
        if block.fault or not block.is_closed:
            raise bad_loop(
                f"{what}: " + (block.fault or "its end is missing or in the wrong place"),
                "give each its own number, and end the inner one first",
            )


def whole(value: Number, what: str) -> int:
    """A count or number, within 0.0001 of a whole one."""
    if value is None or value < -WHOLE_TOLERANCE or abs(value - round(value)) > WHOLE_TOLERANCE:
        said = "nothing" if value is None else f"{value:g}"
        raise bad_value(f"{said}: {what} is a whole number, 0 or more")
    return round(value)


def worked(values: tuple[Value, ...]) -> list[Callable[[], Number]]:
    return [as_work(value) for value in values]


def check_label(flow: Flow, label: str, place: Place) -> None:
    """At O and a number: a subprogram that has not returned, or one that nothing calls."""
    frames = flow.running.frames
    if frames and (frames[-1].start.source, frames[-1].start.position) != (
        place.source,
        place.position,
    ):
        need_return(flow.running, f"O{label}")
    if not frames and place.source.is_body:
        flow.state.report.note(
            "subprogram-not-called",
            f"O{label} ends with M99: a subprogram, read, and nothing calls it",
            "dry-run the program that calls it: it finds this file beside itself",
        )
        flow.state.is_ended = True


def need_return(running: Running, what: str) -> None:
    """Refuses what a subprogram that has not returned would run on into."""
    frames = running.frames
    if frames:
        raise bad_subprogram(
            f"{frames[-1].name} runs on into {what}", "end each subprogram with M99"
        )


def note_uncalled(flow: Flow) -> None:
    """Subprograms of O words that were passed over and never called."""
    for block in flow.uncalled():
        flow.state.report.line = block.first.number
        flow.state.report.note(
            "subprogram-not-called",
            f"o{block.label.lower()} is read, and nothing calls it",
            "its moves are not looked at",
            about=block.label,
        )


def look_behind(flow: Flow, after: Place, opened_at: int | None) -> None:
    """What may follow M2 or M30."""
    frames = flow.running.frames
    backs = [frame.back for frame in frames if frame.back.source.is_main]
    if frames:
        flow.state.report.warn(
            "subprogram-form",
            f"{frames[-1].name} ends the program: what follows its call on line "
            f"{frames[-1].call_line} is not run",
            "end a subprogram with M99 or endsub",
            about="end",
        )
    after = after if after.source.is_main else backs[-1]
    position, data = after.position, flow.main.data
    if opened_at is not None and closing_percent(data, position) is None:
        flow.state.report.add(
            "stop" if flow.state.control.strict else "warning",
            "no-closing-percent",
            "the file starts with % and has no closing %",
            "end it with a line of only %, or leave both out",
        )
    if has_text(data, position) and not (flow.running.has_called or flow.main.is_body):
        flow.state.report.note("text-after-end", "what follows this line is not read")


def end_of_file(flow: Flow, opened_at: int | None) -> None:
    """The program has no end of its own."""
    need_return(flow.running, "the end of the file")
    flow.state.report.line = opened_at
    if opened_at is not None:
        flow.state.report.add(
            "stop",
            "no-closing-percent",
            "the file starts with % but has neither a closing % nor M2 or M30",
            "was it cut short on the way? end it with M30 and a line of only %",
        )
    else:
        flow.state.report.warn(
            "no-program-end",
            "the program has no M2 or M30",
            "was it cut short on the way? end it with M30",
        )
