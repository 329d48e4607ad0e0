"""Subprograms by number: called by M98 P L, or M97 to a line; left by M99.

Common practice, not in NISTIR 6556; forms differ by control, and only the plainest is read. Where
they lead is for `flow` to find.
"""

from __future__ import annotations

from millprep.reading.gcode.flow.letters import MOST_TIMES
from millprep.reading.gcode.modal import Call
from millprep.reading.gcode.modes import whole_number
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import Refused
from millprep.reading.gcode.state import State

_LONGEST_LABEL = 4


def call_subprogram(state: State, line: Line, value: str | int) -> None:
    """M98 P L."""
    word = line.words.get("P")
    if word is None:
        raise Refused("missing-word", "M98 without P", "write M98 P with the subprogram's number")
    label = whole_number(word, "a subprogram")
    digits = word.text.rstrip(".") if word.text[0].isdecimal() else ""
    if label >= 10**_LONGEST_LABEL or len(digits) > _LONGEST_LABEL:
        raise Refused(
            "bad-subprogram",
            f"M98 {word}: more than {_LONGEST_LABEL} digits, which hold a count on some controls",
            "write the count apart: M98 P100 L3",
        )
    state.call = Call(label, _times(line))
    state.report.note(
        "subprogram-form", "M98 is read as P the subprogram's number and L how often it runs"
    )


def call_lines(state: State, line: Line, value: str | int) -> None:
    """M97 P L: the lines from that N to M99."""
    word = line.words.get("P")
    if word is None:
        raise Refused("missing-word", "M97 without P", "write M97 P with a line number")
    state.call = Call(whole_number(word, "a line number"), _times(line), "M97")
    state.report.note(
        "subprogram-form",
        "M97 is read as P the line number of a subprogram and L how often it runs",
        about="M97",
    )


def _times(line: Line) -> int:
    times = whole_number(line.words["L"], "a count") if "L" in line.words else 1
    if not 1 <= times <= MOST_TIMES:
        raise Refused("bad-value", f"{line.words['L']}: a count is 1 to {MOST_TIMES}")
    return times


def return_from_subprogram(state: State, line: Line, value: str | int) -> None:
    word = line.words.get("P")
    state.back_to = None if word is None else whole_number(word, "a line number")
    state.is_returning = True
