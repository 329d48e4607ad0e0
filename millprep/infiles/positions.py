"""Where in a TOML text each key stands.

The standard library's parser gives values without lines, so the headers and `key =` lines are found
again here, in one pass. The text has been parsed already: only its layout matters. Keys inside
braces or lists have no line of their own; the nearest key above them answers. Imports nothing of
the project.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

Path = tuple[str | int, ...]

_BARE_OR_QUOTED = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_DOTTED = rf"{_BARE_OR_QUOTED}(?:[ \t]*\.[ \t]*{_BARE_OR_QUOTED})*"
_HEADER = re.compile(rf"[ \t]*(\[\[?)[ \t]*({_DOTTED})[ \t]*\]")
_KEY = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=")
_PART_OF_KEY = re.compile(_BARE_OR_QUOTED)
_TOKEN = re.compile(
    r'"""|' + "'''" + r'|"(?:\\.|[^"\\\n])*"|' + r"'[^'\n]*'|\#.*|[\[{]|[\]}]", re.MULTILINE
)


class Positions:
    """Lines (1-based) of the keys of one text; paths count array members from 0."""

    def __init__(self, text: str) -> None:
        self._line_of: dict[Path, int] = {}
        self._table: Path = ()
        self._counts: dict[Path, int] = {}
        self._scan(text)

    def line(self, path: Sequence[str | int]) -> int | None:
        """The line of the key, or of the nearest table above it; None at the top of the file."""
        for length in range(len(path), 0, -1):
            found = self._line_of.get(tuple(path[:length]))
            if found is not None:
                return found
        return None

    def _scan(self, text: str) -> None:
        depth, quote = 0, ""
        for number, line in enumerate(text.split("\n"), 1):
            if not depth and not quote:
                self._note(line, number)
                if _HEADER.match(line):
                    continue
            depth, quote = _state_after(line, depth, quote)

    def _note(self, line: str, number: int) -> None:
        header = _HEADER.match(line)
        if header is not None:
            self._open_table(_split(header[2]), header[1] == "[[", number)
            return
        key = _KEY.match(line)
        if key is not None:
            path: Path = self._table
            for name in _split(key[1]):
                path = (*path, name)
                self._line_of.setdefault(path, number)

    def _open_table(self, names: list[str], is_array: bool, number: int) -> None:
        path: Path = ()
        for position, name in enumerate(names):
            path = (*path, name)
            if is_array and position == len(names) - 1:
                self._counts[path] = self._counts.get(path, -1) + 1
                self._line_of.setdefault(path, number)
            if path in self._counts:
                path = (*path, self._counts[path])
        self._line_of.setdefault(path, number)
        self._table = path


def _split(dotted: str) -> list[str]:
    return [name.strip("\"'") for name in _PART_OF_KEY.findall(dotted)]


def _state_after(line: str, depth: int, quote: str) -> tuple[int, str]:
    """Depth of open brackets and the long quote still open at the end of the line."""
    start = 0
    while True:
        if quote:
            end = line.find(quote, start)
            if end < 0:
                return depth, quote
            start, quote = end + 3, ""
        token = _TOKEN.search(line, start)
        if token is None or token[0].startswith("#"):
            return depth, quote
        start = token.end()
        if token[0] in ('"""', "'''"):
            quote = token[0]
        elif token[0] in "[{":
            depth += 1
        elif token[0] in "]}":
            depth -= 1
