"""Where in a TOML text each key stands.

The standard library's parser gives values without lines, so the headers and `key =` lines are found
again here, in one pass. The text has been parsed already: only its layout matters. Inside a value
that goes over several lines members and keys have lines of their own, found when one is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

Path = tuple[str | int, ...]

_BARE_OR_QUOTED = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_DOTTED = rf"{_BARE_OR_QUOTED}(?:[ \t]*\.[ \t]*{_BARE_OR_QUOTED})*"
_HEADER = re.compile(rf"[ \t]*(\[\[?)[ \t]*({_DOTTED})[ \t]*\]")
_KEY = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=")
_PART_OF_KEY = re.compile(_BARE_OR_QUOTED)
_TOKEN = re.compile(
    r'"""|' + "'''" + r'|"(?:\\.|[^"\\\n])*"|' + r"'[^'\n]*'|\#.*|[\[{]|[\]}]", re.MULTILINE
)
_INSIDE = (
    r"""(?s)\"{3}(?:\\.|[^\\])*?\"{3,5}|'{3}.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*'|\#[^\n]*"""
    r"""|[\[\]{},=\n]|[^\s\[\]{},=\#"']+"""
)


class Positions:
    """Lines (1-based) of the keys of one text; paths count array members from 0."""

    def __init__(self, text: str) -> None:
        self._line_of: dict[Path, int] = {}
        self._table: Path = ()
        self._counts: dict[Path, int] = {}
        self._lines = text.split("\n")
        self._ends: dict[Path, int] = {}
        self._inside: dict[Path, dict[Path, int]] = {}
        self._scan()

    def line(self, path: Sequence[str | int]) -> int | None:
        """The line of the key, or of the nearest table above it; None at the top of the file."""
        for length in range(len(path), 0, -1):
            key = tuple(path[:length])
            found = self._line_of.get(key)
            if found is not None:
                return self._line_inside(key, found, tuple(path[length:]))
        return None

    def renamed(self, old: str, new: str) -> Positions:
        """The same lines, where a table at the top of the file has another name."""
        key = re.compile(rf"^(\s*\[{{0,2}}\s*){re.escape(old)}\b")
        return Positions("\n".join(key.sub(rf"\g<1>{new}", line) for line in self._lines))

    def are_several(self, key: Path) -> bool:
        """Whether the key's value goes over several lines."""
        return key in self._ends

    def _line_inside(self, key: Path, first: int, rest: Path) -> int:
        """The line of a member of the key's value, or of the nearest that holds it."""
        if not rest or key not in self._ends:
            return first
        if key not in self._inside:
            value = "\n".join(self._lines[first - 1 : self._ends[key]]).partition("=")[2]
            self._inside[key] = dict(_members(value, first))
        inside = self._inside[key]
        holders = (rest[:length] for length in range(len(rest), 0, -1))
        return next((inside[holder] for holder in holders if holder in inside), first)

    def lines_of(self, table: Path, keys: Sequence[str]) -> dict[str, int]:
        """The lines of those keys that stand in the table, else in [defaults]."""
        places = {key: ((*table, key), ("defaults", key)) for key in keys}
        return {
            key: self._line_of[path]
            for key, paths in places.items()
            for path in reversed(paths)
            if path in self._line_of
        }

    def _scan(self) -> None:
        depth, quote = 0, ""
        key: Path = ()
        for number, line in enumerate(self._lines, 1):
            if not depth and not quote:
                key = self._note(line, number)
                if _HEADER.match(line):
                    continue
            elif key:
                self._ends[key] = number
            depth, quote = _state_after(line, depth, quote)

    def _note(self, line: str, number: int) -> Path:
        """Notes what begins on a line; the path of the key, if it is one."""
        header = _HEADER.match(line)
        if header is not None:
            self._open_table(_split(header[2]), header[1] == "[[", number)
            return ()
        key = _KEY.match(line)
        if key is None:
            return ()
        path: Path = self._table
        for name in _split(key[1]):
            path = (*path, name)
            self._line_of.setdefault(path, number)
        return path

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


def _members(value: str, line: int) -> Iterator[tuple[Path, int]]:
    """(path in the value, line) of every member of a list and key in braces, in their order."""
    path: list[str | int] = []
    for token in re.finditer(_INSIDE, value):
        word = token[0]
        if word == "," and path:
            path[-1] = path[-1] + 1 if isinstance(path[-1], int) else ""
        elif word in "]}" and path:
            path.pop()
        elif word not in ",=\n]}" and word[0] != "#":
            if path and path[-1] == "":
                path[-1] = _split(word)[0] if _split(word) else word
            if path:
                yield tuple(path), line
            if word in "[{":
                path.append(0 if word == "[" else "")
        line += word.count("\n")


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
