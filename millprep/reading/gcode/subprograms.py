"""Subprograms: O labels behind the end of the main program, called by M98 P L, left by M99.

Common practice, not in NISTIR 6556; forms differ by control, and only the plainest is read. Modes
are shared: a G91 in a subprogram is in force after it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from millprep.base.bounds import MOST_CALLED_LINES
from millprep.reading.gcode.modes import whole_number
from millprep.reading.gcode.recognise import Line, closing_percent, count_lines, text_start
from millprep.reading.gcode.report import Refused
from millprep.reading.gcode.state import Call, State

DEEPEST_CALL = 10
_MOST_TIMES = 9999
_LONGEST_LABEL = 4

_LABEL = re.compile(rb"(?:\A|[\r\n])[ \t]*(?:[nN][ \t\d]*)?[oO][ \t]*(\d+)[ \t]*(?=[\r\n(;]|\Z)")
_END_WORD = re.compile(rb"[mM][ \t]*0*(?:2|30)(?![ \t]*[\d.])")
_LINE_BEFORE = 1024  # bytes, more than a line may have


@dataclass(slots=True)
class Frame:
    """A subprogram that is running.

    number, position : of the line of its label
    back_number, back_position : of the line that called it, and the place after that
    """

    label: int
    number: int
    position: int
    times_left: int
    back_number: int
    back_position: int


class Subprograms:
    """The labels of a program, found when the first of them is called, and those that run."""

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._places: dict[int, list[int]] | None = None
        self._numbers: dict[int, int] = {}
        self.running: list[Frame] = []
        self.called_lines = 0
        self.has_called = False

    def enter(self, call: Call, number: int, position: int, *, is_framed: bool) -> Frame:
        """Goes into a subprogram, called on a line with the place after it.

        is_framed : the program stands between lines of %
        """
        label = call.label
        if any(frame.label == label for frame in self.running):
            raise Refused(
                "bad-subprogram", f"O{label} calls itself", "write the repeats as M98 P L"
            )
        if len(self.running) == DEEPEST_CALL:
            raise Refused("bad-subprogram", f"calls nested more than {DEEPEST_CALL} deep")
        start = self._place(label, position, is_framed)
        if label not in self._numbers:
            self._numbers[label] = count_lines(self._data[:start]) + 1
        frame = Frame(label, self._numbers[label], start, call.times, number, position)
        self.running.append(frame)
        self.has_called = True
        return frame

    def leave(self) -> tuple[int, int]:
        """At M99: (line number, place) where reading goes on."""
        frame = self.running[-1]
        frame.times_left -= 1
        if frame.times_left:
            return frame.number - 1, frame.position
        self.running.pop()
        return frame.back_number, frame.back_position

    def count_lines(self, lines: int) -> None:
        """Holds a run of repeats within bounds."""
        self.called_lines += lines
        if self.called_lines > MOST_CALLED_LINES:
            raise Refused(
                "program-too-long",
                f"subprograms run through more than {MOST_CALLED_LINES:,} lines",
                "is an L wrong?",
            )

    def is_near_limit(self, lines: int) -> bool:
        """Whether that many lines more may be too many."""
        return bool(self.running) and self.called_lines + lines > MOST_CALLED_LINES

    def where(self) -> str:
        """For a message: which subprogram runs, called from where."""
        if not self.running:
            return ""
        return f" (in O{self.running[-1].label}, called on line {self.running[-1].back_number})"

    def _place(self, label: int, position: int, is_framed: bool) -> int:
        if self._places is None:
            end = closing_percent(self._data, position) if is_framed else None
            self._places = self._labels(len(self._data) if end is None else end)
        places = self._places.get(label, [])
        if not places:
            known = ", ".join(f"O{other}" for other in sorted(self._places)[:8]) or "none"
            raise Refused(
                "bad-subprogram",
                f"there is no O{label} behind the end of the main program",
                f"labels there: {known}; a subprogram is in the same file, behind M30",
            )
        if len(places) > 1:
            raise Refused("bad-subprogram", f"O{label} is {len(places)} times in the file")
        return places[0]

    def _labels(self, end: int) -> dict[int, list[int]]:
        """Number -> places of the lines that bear it, behind the first M2 or M30."""
        places: dict[int, list[int]] = {}
        for match in _LABEL.finditer(self._data, self._main_end(end), end):
            if len(match[1]) <= _LONGEST_LABEL:
                start = match.start()
                start += self._data[start : start + 1] in (b"\r", b"\n")
                places.setdefault(int(match[1]), []).append(start)
        return places

    def _main_end(self, end: int) -> int:
        for match in _END_WORD.finditer(self._data, text_start(self._data), end):
            before = self._data[max(0, match.start() - _LINE_BEFORE) : match.start()]
            line = before[max(before.rfind(b"\r"), before.rfind(b"\n")) + 1 :]
            if line.count(b"(") == line.count(b")") and b";" not in line:
                return match.end()
        return end


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
    times = whole_number(line.words["L"], "a count") if "L" in line.words else 1
    if not 1 <= times <= _MOST_TIMES:
        raise Refused("bad-value", f"{line.words['L']}: a count is 1 to {_MOST_TIMES}")
    state.call = Call(label, times)
    state.report.note(
        "subprogram-form", "M98 is read as P the subprogram's number and L how often it runs"
    )


def return_from_subprogram(state: State, line: Line, value: str | int) -> None:
    if "P" in line.words:
        raise Refused("bad-subprogram", "M99 with P, a jump, is not read", "write the moves out")
    state.is_returning = True
