"""A sheet of HTML as the lines that a person sees.

Attributes only say what an element is: `data-line` that it is a line of its own, and which;
`data-cell` a cell of one. What stands in a picture says nothing that is read. Imports base.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

from millprep.reading.pages.lines import Line
from millprep.reading.pages.printed import UnreadableSheet

_VOID = frozenset({"meta", "link", "br", "hr", "img", "input", "col"})  # HTML, section 13.1.2
_MINUS = re.compile("\N{MINUS SIGN}(?=[0-9])")
_BEGINS = {"head": "    ", "row": "[ ] ", "bare": "    ", "below": " " * 10}
_UNSEEN = frozenset({"style", "script", "title"})
_PICTURE = "svg"


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.lines: list[Line] = []
        self._open: list[tuple[str, str, bool]] = []  # tag, line, cell
        self._cells: list[str] = []
        self._text = ""
        self._label: str | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        line, cell = given.get("data-line") or "", "data-cell" in given
        if line == "page":
            self._end_label()
            self.lines.append((self.getpos()[0], ""))
        elif line == "rule":
            self._end_label()
            self.lines.append((self.getpos()[0], "-" * 20))
        elif line:
            self._text, self._cells = "", []
        if cell:
            self._text = ""
        if tag not in _VOID:
            self._open.append((tag, line, cell))

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1][0] in _UNSEEN:
            return
        if any(tag == _PICTURE for tag, _, _ in self._open):
            return
        is_kept = any(line not in ("", "page") for _, line, _ in self._open)
        if not is_kept and data.strip():
            raise UnreadableSheet(f"text that is no line: {data.strip()[:60]}", self.getpos()[0])
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        opened, line, cell = self._open.pop() if self._open else ("", "", False)
        if opened != tag:
            raise UnreadableSheet(f"</{tag}> closes <{opened}>", self.getpos()[0])
        if cell:
            self._cells.append(self._text)
            self._text = ""
        elif line and line != "page":
            self._take(line, "  ".join(one for one in self._cells if one) or self._text)

    def _take(self, kind: str, words: str) -> None:
        words = _MINUS.sub("-", words.replace("\N{NO-BREAK SPACE}", " ")).strip(" \n")
        number = self.getpos()[0]
        if kind == "label":
            self._end_label()
            self._label = words
        elif kind == "said":
            begins = " " * 8
            if self._label is not None and len(self._label) < 8:
                begins = f"{self._label:<8}"
                self._label = None
            self._end_label()
            self.lines.append((number, begins + words))
        else:
            self._end_label()
            self.lines.append((number, _BEGINS.get(kind, "") + words))

    def _end_label(self) -> None:
        """A label on a line of its own."""
        if self._label is not None:
            self.lines.append((self.getpos()[0], self._label))
        self._label = None


def html_lines(data: bytes) -> list[Line]:
    """The lines of a page. Raises UnreadableSheet with the line."""
    reader = _Reader()
    try:
        reader.feed(data.decode("utf-8"))
    except UnicodeDecodeError as fault:
        raise UnreadableSheet(f"not UTF-8 text (byte {fault.start + 1})") from None
    reader.close()
    return reader.lines
