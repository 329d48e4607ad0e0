"""The bench page as the lines of a listing in one of its two units.

Attributes say what an element is, as on other pages: `data-line` that it is a line, and which;
`data-cell` a cell of one. `data-units` stands where only one of the units is meant. What is marked
"again" has to say what a line of the page says; a "part" what a line of its card says, in their
order (`data-card`); what is not marked stands on no listing. The page's data are a listing in
JSON. Imports base.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

from millprep.base.units import Units, shown
from millprep.reading.pages.lines import Line
from millprep.reading.pages.printed import UnreadableSheet

_VOID = frozenset({"meta", "link", "br", "hr", "img", "input", "col"})  # HTML, section 13.1.2
_MINUS = re.compile("\N{MINUS SIGN}(?=[0-9])")
_BEGINS = {
    "row": "[ ] ",
    "below": " " * 10,
    "title": "",
    "heading": "",
    "head": "    ",
    "bare": "    ",
}
_SAID = " " * 8


class _Reader(HTMLParser):
    def __init__(self, units: Units) -> None:
        super().__init__(convert_charrefs=True)
        self.units = units
        self.lines: list[Line] = []
        self.foot: list[Line] = []
        self.words: set[str] = set()
        self.again: list[tuple[int, str]] = []
        self._card: list[str] = []  # what is said on the card that is open
        self._parts: list[str] = []
        self._open: list[tuple[str, str, str, bool]] = []  # tag, line, units, whether it is a cell
        self._texts: list[str] = []  # of the lines and cells that are open
        self._cells: list[list[str]] = []
        self._hanging: list[Line] = []
        self._label = ""
        self._has_page = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        line, cell = given.get("data-line") or "", "data-cell" in given
        if line == "page":
            self.lines.append((self.getpos()[0], ""))
            self._has_page = True
        elif line == "rule":
            self.lines.append((self.getpos()[0], "-" * 20))
        elif "data-card" in given:
            self._card, self._parts = [], []
        elif tag not in _VOID and (line or cell):
            self._texts.append("")
            if line:
                self._cells.append([])
        if tag not in _VOID:
            units = "" if tag == "html" else given.get("data-units") or ""
            self._open.append((tag, line, units, cell))

    def handle_data(self, data: str) -> None:
        if self._texts and self._is_shown():
            self._texts[-1] += data

    def _is_shown(self) -> bool:
        return all(units in ("", self.units) for _, _, units, _ in self._open)

    def handle_endtag(self, tag: str) -> None:
        is_shown = self._is_shown()
        opened, line, _, cell = self._open.pop() if self._open else ("", "", "", False)
        if opened != tag:
            raise UnreadableSheet(f"</{tag}> closes <{opened}>", self.getpos()[0])
        if tag == "section":
            self._close_card()
        if not (cell or line) or line in ("page", "rule"):
            return
        text = _MINUS.sub("-", self._texts.pop()).strip()
        if line:
            cells = self._cells.pop()
            text = "  ".join(one for one in cells if one) or text
            if is_shown:
                self._take(line, text)
        elif is_shown and self._cells:
            self._cells[-1].append(text)

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
        number = self.getpos()[0]
        if kind == "part":
            self._parts.append(words)
            return
        self._card.append(words)
        if kind == "again":
            self.again.append((number, words))
            return
        self.words.add(words)
        into = self.lines if self._has_page else self.foot
        if kind == "label":
            self._label = words
            if len(words) >= len(_SAID):
                into.append((number, words))
                self._label = ""
        elif kind == "said":
            into.append((number, f"{self._label:<8}{words}"))
            self._label = ""
        elif kind == "below":
            self._hanging.append((number, f"{_BEGINS[kind]}{words}"))
        else:
            into.append((number, f"{_BEGINS[kind]}{words}"))
            into += self._hanging
            self._hanging = []


def bench_data(data: bytes) -> bytes:
    """The JSON that the page carries. Raises UnreadableSheet where it does not."""
    found = re.findall(rb'<script type="application/json"[^>]*>(.*?)</script>', data, re.DOTALL)
    if len(found) != 1:
        raise UnreadableSheet(f"{len(found)} elements of data; one is wanted")
    return bytes(found[0])


def bench_lines(data: bytes, units: Units) -> list[Line]:
    """The lines in a unit; what stands before the first page comes last. Raises UnreadableSheet."""
    reader = _Reader(units)
    try:
        reader.feed(data.decode("utf-8"))
    except UnicodeDecodeError as fault:
        raise UnreadableSheet(f"not UTF-8 text (byte {fault.start + 1})") from None
    reader.close()
    if reader._open:
        raise UnreadableSheet("the page is not whole", reader.getpos()[0])
    for number, words in reader.again:
        if words not in reader.words:
            raise UnreadableSheet(f"{shown(words)} is said again, and never before", number)
    return [*reader.lines, (None, "-" * 20), *reader.foot]
