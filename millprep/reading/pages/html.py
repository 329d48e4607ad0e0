"""A page of HTML as the lines that a person sees: a sheet, or the bench page in one of its units.

Attributes only say what an element is: `data-line` that it is a line of its own, and which;
`data-cell` a cell of one. What stands in a picture says nothing that is read.

On the bench page `data-units` stands where only one of the units is meant. What is marked "again"
has to say what a line of the page says; a "part" what a line of its card says, in their order
(`data-card`); what is not marked stands on no listing. The page's data are a listing in JSON.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

from millprep.base.units import Units, shown
from millprep.reading.pages.lines import Line, text_of
from millprep.reading.pages.printed import UnreadableSheet

_VOID = frozenset({"meta", "link", "br", "hr", "img", "input", "col"})  # HTML, section 13.1.2
_MINUS = re.compile("\N{MINUS SIGN}(?=[0-9])")
_ALONE = {"page": "", "rule": "-" * 20}
_BEGINS = {"head": "    ", "row": "[ ] ", "bare": "    ", "below": " " * 10}
_LABEL_WIDTH = 8
_UNSEEN = frozenset({"style", "script", "title"})
_PICTURE = "svg"


class _Reader(HTMLParser):
    """Reads a sheet."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.lines: list[Line] = []
        self._open: list[tuple[str, str, str, bool]] = []  # tag, line, units, whether it is a cell
        self._texts: list[str] = []  # of the lines and cells that are open
        self._cells: list[list[str]] = []
        self._label = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        line, cell = given.get("data-line") or "", "data-cell" in given
        if line in _ALONE:
            self._put(_ALONE[line])
        elif (line or cell) and tag not in _VOID:
            self._texts.append("")
            if line:
                self._cells.append([])
        if tag not in _VOID:
            self._open.append((tag, line, given.get("data-units") or "", cell))

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1][0] in _UNSEEN:
            return
        if any(tag == _PICTURE for tag, *_ in self._open):
            return
        if self._cells:
            self._texts[-1] += data
        elif data.strip():
            raise UnreadableSheet(f"text that is no line: {data.strip()[:60]}", self.getpos()[0])

    def handle_endtag(self, tag: str) -> None:
        is_shown = self._is_shown()
        opened, line, _, cell = self._open.pop() if self._open else ("", "", "", False)
        if opened != tag:
            raise UnreadableSheet(f"</{tag}> closes <{opened}>", self.getpos()[0])
        if not (line or cell) or line in _ALONE:
            return
        text = self._texts.pop().replace("\N{NO-BREAK SPACE}", " ")
        text = _MINUS.sub("-", text).strip(" \n")
        if line:
            text = "  ".join(one for one in self._cells.pop() if one) or text
            if is_shown:
                self._take(line, text)
        elif is_shown and self._cells:
            self._cells[-1].append(text)

    def _is_shown(self) -> bool:
        return True

    def _take(self, kind: str, words: str) -> None:
        if kind == "label":
            self.end_label()
            self._label = words
        elif kind == "said" and len(self._label) < _LABEL_WIDTH:
            label, self._label = self._label, ""
            self._put(f"{label:<{_LABEL_WIDTH}}{words}")
        else:
            self._put((" " * _LABEL_WIDTH if kind == "said" else _BEGINS.get(kind, "")) + words)

    def _put(self, words: str) -> None:
        self.end_label()
        self.lines.append((self.getpos()[0], words))

    def end_label(self) -> None:
        """A label on a line of its own."""
        if self._label:
            self.lines.append((self.getpos()[0], self._label))
        self._label = ""

    def read(self, data: bytes) -> None:
        """All of a page. Raises UnreadableSheet with the line."""
        self.feed(text_of(data))
        self.close()
        if self._open:
            raise UnreadableSheet("the page is not whole", self.getpos()[0])


class _BenchReader(_Reader):
    """Reads the bench page in one of its units."""

    def __init__(self, units: Units) -> None:
        super().__init__()
        self.units = units
        self.words: set[str] = set()
        self.again: list[tuple[int, str]] = []
        self._card: list[str] = []  # what is said on the card that is open
        self._parts: list[str] = []
        self._hanging: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if any(name == "data-card" for name, _ in attrs):
            self._card, self._parts = [], []
        super().handle_starttag(tag, attrs)

    def handle_data(self, data: str) -> None:
        if self._texts and self._is_shown():
            self._texts[-1] += data

    def _is_shown(self) -> bool:
        return all(units in ("", self.units) for tag, _, units, _ in self._open if tag != "html")

    def handle_endtag(self, tag: str) -> None:
        super().handle_endtag(tag)
        if tag == "section":
            self._close_card()

    def _close_card(self) -> None:
        """Raises UnreadableSheet for a part that no line of the card says, in their order."""
        lines = iter(self._card)
        words: list[str] = []
        for part in self._parts:
            axis, figure = part.split()
            while figure not in words:
                line = next(lines, None)
                if line is None:
                    raise UnreadableSheet(f"{shown(part)} is not said", self.getpos()[0])
                words = [word.strip("(),:;=").rstrip(".") for word in line.split()]
                if axis not in words:
                    words = []
            words = words[words.index(figure) + 1 :]
        self._card, self._parts = [], []

    def _take(self, kind: str, words: str) -> None:
        if kind == "part":
            self._parts.append(words)
            return
        self._card.append(words)
        if kind == "again":
            self.again.append((self.getpos()[0], words))
            return
        self.words.add(words)
        if kind == "below":  # it stands above its row there
            self._hanging.append(words)
            return
        super()._take(kind, words)
        hanging, self._hanging = self._hanging, []
        for one in hanging:
            super()._take("below", one)


def html_lines(data: bytes) -> list[Line]:
    """The lines of a page. Raises UnreadableSheet with the line."""
    reader = _Reader()
    reader.read(data)
    return reader.lines


def bench_data(data: bytes) -> bytes:
    """The JSON that the page carries. Raises UnreadableSheet where it does not."""
    found = re.findall(rb'<script type="application/json"[^>]*>(.*?)</script>', data, re.DOTALL)
    if len(found) != 1:
        raise UnreadableSheet(f"{len(found)} elements of data; one is wanted")
    return bytes(found[0])


def bench_lines(data: bytes, units: Units) -> list[Line]:
    """The lines in a unit; what stands before the first page comes last. Raises UnreadableSheet."""
    reader = _BenchReader(units)
    reader.read(data)
    for number, words in reader.again:
        if words not in reader.words:
            raise UnreadableSheet(f"{shown(words)} is said again, and never before", number)
    first = next((at for at, (_, words) in enumerate(reader.lines) if not words), len(reader.lines))
    return [*reader.lines[first:], (None, _ALONE["rule"]), *reader.lines[:first]]
