"""A file that is read: its bytes, and where in them a jump or call can lead.

Found when first asked for: labels, line numbers, the style of its flow words. A place is a line and
where it begins.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator
from functools import cached_property

from millprep.base.bounds import MOST_KEPT_LINES
from millprep.reading.gcode.lines import closing_percent, count_lines, raw_line, text_start

LONGEST_LABEL = 4

_BEGIN = rb"(?:\A(?:\xef\xbb\xbf)?|[\r\n])[ \t]*"
_REMARKS = rb"(?:\([^()\r\n]*\)[ \t]*)*"
_LABEL = re.compile(_BEGIN + _REMARKS + rb"(?:[nN][ \t\d]*)?[oO][ \t]*(\d+)[ \t]*(?=[\r\n(;]|\Z)")
_NUMBERED = re.compile(_BEGIN + rb"(?:/[ \t]*)?" + _REMARKS + rb"[nN][ \t]*(\d[\d \t]*)")
_END_WORD = re.compile(rb"[mM][ \t]*0*(?:2|30)(?![ \t]*[\d.])")
_M99 = re.compile(rb"[mM][ \t]*0*99[ \t]*\Z")
_FRAMED = re.compile(rb"(?:\xef\xbb\xbf)?(?:\s*\([^()\r\n]*\))*\s*%[^\r\n]*(?:\r\n|\r|\n|\Z)")
_O_LINE = re.compile(
    _BEGIN + rb"(?:/[ \t]*)?(?:[nN][ \t]*\d+[ \t]*)?[oO][ \t]*"
    rb"(?:\d[\d \t]*[A-Za-z]|<[^>\r\n]*>[ \t]*[A-Za-z]|[#\[][^\r\n]*\b(?i:call)\b)"
)
_LETTER_WORD = re.compile(
    rb"(?i)GOTO|WH(?:ILE)?[ \t]*\[|IF[ \t]*\[|DO[ \t]*\d|END[ \t]*\d|G[ \t]*0*65(?![\d.])"
    rb"|M[ \t]*0*97(?![\d.])|M[ \t]*0*99[ \t]*P"
)
_COMMENT = re.compile(rb"\([^()]*\)?|;.*")
_COMMENT_OR_NAME = re.compile(rb"\([^()]*\)?|;.*|<[^<>]*>")
_LINE_BEFORE = 1024  # bytes, more than a line may have


class Place:
    """A line of a file: its number, where it begins; the line itself once it is kept, and what is
    tried first when it runs again."""

    __slots__ = ("line", "number", "position", "quick", "source")

    def __init__(self, source: Source, position: int, number: int) -> None:
        self.source = source
        self.position = position
        self.number = number
        self.line: object = None
        self.quick: Callable[[], Place] | None = None


Beside = Callable[[str], "tuple[str, bytes] | str | None"]
"""Finds a subprogram's file: (path, bytes), why it cannot be had, or None where there is none."""


class Source:
    """A file. file : as the user knows it; is_main : the program itself, not a file beside it;
    framed_from : behind its opening line of %, None if it has none."""

    def __init__(self, file: str, data: bytes, *, is_main: bool) -> None:
        self.file = file
        self.data = data
        self.is_main = is_main
        opening = None if is_main else _FRAMED.match(data)
        self.framed_from = None if opening is None else opening.end()
        self.furthest = 0
        self._places: dict[int, Place] = {}

    def place(self, position: int, number: int) -> Place:
        """The place of a line, kept as long as there is room."""
        place = self._places.get(position)
        if place is None:
            place = Place(self, position, number)
            if len(self._places) < MOST_KEPT_LINES:
                self._places[position] = place
        return place

    def place_at(self, position: int) -> Place:
        """The place of a line whose number has to be counted first."""
        place = self._places.get(position)
        return place or self.place(position, count_lines(self.data[:position]) + 1)

    @cached_property
    def end(self) -> int:
        """Where the program ends: at its closing %, if it stands between lines of %."""
        last = None if self.framed_from is None else closing_percent(self.data, self.framed_from)
        return len(self.data) if last is None else last

    @property
    def is_framed(self) -> bool:
        """Whether it stands between lines of %."""
        return self.framed_from is not None

    # labels and line numbers

    @cached_property
    def labels(self) -> dict[int, list[int]]:
        """Number -> places of the lines that bear it; in a program, behind its first M2 or M30."""
        begin = self._main_end() if self.is_main else 0
        found: dict[int, list[int]] = {}
        for match in _LABEL.finditer(self.data, begin, self.end):
            if len(match[1]) <= LONGEST_LABEL:
                found.setdefault(int(match[1]), []).append(self._line_start(match))
        return found

    @cached_property
    def _bounds(self) -> list[int]:
        """Where each program of the file begins: its start, and every label."""
        starts = (self._line_start(match) for match in _LABEL.finditer(self.data, 0, self.end))
        return sorted({0, *starts})

    def section(self, position: int) -> tuple[int, int]:
        """The program of the file that the place is in, from its label to the next one."""
        nth = bisect_right(self._bounds, position)
        return self._bounds[nth - 1], (*self._bounds, self.end)[nth]

    def numbered(self, position: int) -> dict[int, list[int]]:
        """N -> places, of the program of the file that the place is in."""
        begin, end = self.section(position)
        if begin not in self._numbered:
            found: dict[int, list[int]] = {}
            for match in _NUMBERED.finditer(self.data, begin, end):
                found.setdefault(int(b"".join(match[1].split())[:10]), []).append(
                    self._line_start(match)
                )
            self._numbered[begin] = found
        return self._numbered[begin]

    @cached_property
    def _numbered(self) -> dict[int, dict[int, list[int]]]:
        return {}

    def _line_start(self, match: re.Match[bytes]) -> int:
        start = match.start()
        return start + (self.data[start : start + 1] in (b"\r", b"\n"))

    @cached_property
    def is_body(self) -> bool:
        """Whether the file is a subprogram with parameters: it ends with M99, without M2 or M30."""
        text = self.data[: self.end].rstrip(b"\r\n\t %")
        last = _COMMENT.sub(b"", text[self._begin_of_line(len(text)) :])
        is_left = _M99.search(last) is not None
        return is_left and b"#" in self.data and self._main_end() == self.end

    def _begin_of_line(self, position: int) -> int:
        """Where the line of a place begins; of one that is too long to be read, somewhere in it."""
        least = max(text_start(self.data), position - _LINE_BEFORE)
        ends = (self.data.rfind(end, least, position) for end in (b"\n", b"\r"))
        return max(least, max(ends) + 1)

    def _main_end(self) -> int:
        begin = text_start(self.data)
        for match in _END_WORD.finditer(self.data, begin, self.end):
            before = self.data[max(0, match.start() - _LINE_BEFORE) : match.start()]
            line = before[max(before.rfind(b"\r"), before.rfind(b"\n")) + 1 :]
            if all(line.count(a) == line.count(b) for a, b in (b"()", b"<>")) and b";" not in line:
                return match.end()
        return self.end

    # styles

    @cached_property
    def styles(self) -> dict[str, int]:
        """Style of flow words -> the first line in it: "O words", "letters"."""
        found: dict[str, int] = {}
        first = next((self._line_start(match) for match in self.o_lines()), None)
        if first is not None:
            found["O words"] = self.place_at(first).number
        last = -1
        for match in _LETTER_WORD.finditer(self.data, 0, self.end):
            start = self._begin_of_line(match.start())
            if start == last:
                continue
            last, (line, _) = start, raw_line(self.data, start)
            is_o_word = first is not None and _O_LINE.match(line) is not None
            if not is_o_word and _LETTER_WORD.search(_COMMENT_OR_NAME.sub(b" ", line)):
                found["letters"] = self.place_at(start).number
                break
        return found

    def o_lines(self, begin: int = 0, end: int | None = None) -> Iterator[re.Match[bytes]]:
        """Lines that begin with an O word."""
        return _O_LINE.finditer(self.data, begin, self.end if end is None else end)

    def lines_of(self, pattern: re.Pattern[bytes], begin: int, end: int) -> Iterator[Place]:
        """The lines in which the pattern is found, in order."""
        position, number = begin, self.place_at(begin).number
        last = -1
        for match in pattern.finditer(self.data, begin, end):
            start = self._begin_of_line(self._line_start(match))
            if start == last:
                continue
            number += count_lines(self.data[position:start])
            position = last = start
            yield self.place(start, number)


O_LINE = _O_LINE
LOOP_LINE = re.compile(rb"(?i)DO[ \t]*\d|END[ \t]*\d")
