"""Where a program and its subprograms end, and what may stand behind.

Imports layer 0 and its neighbours.
"""

from __future__ import annotations

from millprep.reading.gcode.flow.flowing import Flow
from millprep.reading.gcode.flow.running import Running
from millprep.reading.gcode.flow.sources import Place
from millprep.reading.gcode.lines import closing_percent, has_text
from millprep.reading.gcode.report import Refused


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
        raise Refused(
            "bad-subprogram",
            f"{frames[-1].name} runs on into {what}",
            "end each subprogram with M99",
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
