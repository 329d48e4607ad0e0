"""Where in a TOML text everything stands: the line of each key, and to the letter, for editing.

The standard library's parser gives values without places, so they are found again here in one pass.
The text has been parsed already: only its layout matters. A remark directly above a header is of
the table below it, one directly under a table's last line of that table; one between empty lines is
nobody's.
"""

from __future__ import annotations

import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from millprep.base.findings import WordError
from millprep.base.records import frozen

Path = tuple[str | int, ...]

_NAME = r"""(?:[A-Za-z0-9_-]+|"(?:\\.|[^"\\\n])*"|'[^'\n]*')"""
_DOTTED = rf"{_NAME}(?:[ \t]*\.[ \t]*{_NAME})*"
_HEADER = re.compile(rf"[ \t]*(\[\[?)[ \t]*({_DOTTED})[ \t]*\]")
_KEY = re.compile(rf"[ \t]*({_DOTTED})[ \t]*=[ \t]*")
_NAMES = re.compile(_NAME)
_STRING = re.compile(
    r"""\"{3}(?:\\.|[^\\])*?\"{3,5}|'{3}.*?'{3,5}|"(?:\\.|[^"\\\n])*"|'[^'\n]*'""", re.DOTALL
)
_BARE = re.compile(r"[^,\]}#\r\n]*[^,\]}#\s]")
_BETWEEN = re.compile(r"(?:[\s,]+|#[^\n]*)*")
_PLAIN = re.compile(r"""[^\[\]{}"'#]+|#[^\n]*""")
BOM = "\ufeff"


@frozen
class Entry:
    """A key and its value. path : from the top, members of arrays by index

    line, stop : of its lines; key, equals : of the key and its sign; start, end : of the value
    """

    path: Path
    line: int
    key: int
    equals: int
    start: int
    end: int
    stop: int


@frozen
class Member:
    """A member of a list, or a key in braces. key : index, or its parts; start, end : of the value,
    first : where the key of it begins"""

    key: Path
    first: int
    start: int
    end: int


@dataclass(slots=True)
class Block:
    """A header and what stands under it. start : of the remarks above it; end : of its own text"""

    path: Path
    is_array: bool
    start: int
    head: int
    body: int
    end: int
    entries: list[Entry] = field(default_factory=list)


class Layout:
    """The layout of one text. data : what it says, where it has been parsed before

    Raises WordError for a text that is no TOML.
    """

    def __init__(self, text: str, data: dict[str, Any] | None = None) -> None:
        self.text = text
        self.data = _parsed(text) if data is None else data
        self.end_of_line = "\r\n" if text.count("\r\n") * 2 > text.count("\n") else "\n"
        self.blocks: list[Block] = []
        self._counts: dict[Path, int] = {}
        self._line_of: dict[Path, int] = {}
        self._inside: dict[int, dict[Path, Member]] = {}
        self._line_starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self._scan()
        self.entries = [entry for block in self.blocks for entry in block.entries]
        self._by_path = {entry.path: entry for entry in self.entries}

    def found(self, path: Path) -> tuple[Member, Path] | None:
        """The deepest value on the way to a path, as a member, and the path that it has."""
        way = self.way(path)
        return way[-1] if way else None

    def way(self, path: Path) -> list[tuple[Member, Path]]:
        """The values on the way to a path, each with its own: an entry's, and those within it."""
        for length in range(len(path), 0, -1):
            if (entry := self._by_path.get(path[:length])) is not None:
                break
        else:
            return []
        way = [(Member(entry.path, entry.key, entry.start, entry.end), path[:length])]
        while (place := way[-1][1]) != path:
            inside = self._members(way[-1][0].start)
            keys = (path[len(place) : end] for end in range(len(place) + 1, len(path) + 1))
            one = next((inside[key] for key in keys if key in inside), None)
            if one is None:
                break
            way.append((one, place + one.key))
        return way

    def _members(self, start: int) -> dict[Path, Member]:
        """Kept, because the line of each is asked for."""
        if start not in self._inside:
            self._inside[start] = {one.key: one for one in members(self.text, start)}
        return self._inside[start]

    def line(self, path: Path) -> int | None:
        """The line (1-based) of the key, or of the nearest that it is in; None at the top."""
        lines = self._lines()
        key = next((path[:end] for end in range(len(path), 0, -1) if path[:end] in lines), None)
        if key is None or not self.are_several(key):
            return lines.get(key or ())
        return self._line_at(self.way(path)[-1][0].first)

    def lines_of(self, table: Path, keys: Sequence[str]) -> dict[str, int]:
        """The lines of those keys that stand in the table, else in [defaults]."""
        lines = self._lines()
        return {
            key: lines[path]
            for key in keys
            for path in (("defaults", key), (*table, key))
            if path in lines
        }

    def are_several(self, key: Path) -> bool:
        """Whether the key's value goes over several lines."""
        entry = self._by_path.get(key)
        return entry is not None and self.text.find("\n", entry.start, entry.end) >= 0

    def renamed(self, old: str, new: str) -> Layout:
        """The same lines, where a table at the top of the file has another name."""
        name = rf"(?m)^([ \t]*\[{{0,2}}[ \t]*){re.escape(old)}\b"
        return Layout(re.sub(name, rf"\g<1>{new}", self.text), self.data)

    def _lines(self) -> dict[Path, int]:
        """Of every header and key, and of each part of a dotted key."""
        for block in self.blocks if not self._line_of else ():
            paths = [(block.path[:-1], block.head)] if block.is_array else []
            paths += [(block.path, block.head)] if block.path else []
            for entry in block.entries:
                ends = range(len(block.path) + 1, len(entry.path) + 1)
                paths += [(entry.path[:end], entry.line) for end in ends]
            for path, start in paths:
                self._line_of.setdefault(path, self._line_at(start))
        return self._line_of

    def _line_at(self, place: int) -> int:
        return bisect_right(self._line_starts, place)

    def entry(self, path: Path) -> Entry | None:
        return self._by_path.get(path)

    def beneath(self, path: Path) -> tuple[list[Entry], list[Block]]:
        """The entries that a path leads to the tables of, not under its own headers; those."""
        blocks = [block for block in self.blocks if _begins(block.path, path) and block.path]
        within = {id(entry) for block in blocks for entry in block.entries}
        entries = [
            entry for entry in self.entries if _begins(entry.path, path) and id(entry) not in within
        ]
        return entries, blocks

    def lines(self, table: str) -> list[tuple[int, int]]:
        """(start, end) of each table of an array of them, with the tables in it.

        Raises WordError where something else stands between a table and one in it.
        """
        found: list[tuple[int, int]] = []
        before: Path = ()
        for block in self.blocks:
            if block.path[:1] == (table,) and len(block.path) > 1:
                if block.path[1] == len(found):
                    found.append((block.start, block.end))
                elif before[:2] == block.path[:2]:
                    found[-1] = (found[-1][0], block.end)
                else:
                    raise WordError(
                        f"{table} {len(found)} stands in two places of the file",
                        "bring its tables together in the text of the file",
                    )
            before = block.path
        return found

    def _scan(self) -> None:
        position = 1 if self.text.startswith(BOM) else 0
        self.blocks.append(Block((), False, position, position, position, position))
        remark: int | None = None
        while position < len(self.text):
            stop = _line_end(self.text, position)
            line = self.text[position:stop].lstrip(" \t")
            block = self.blocks[-1]
            if line.startswith("#"):
                remark = position if remark is None else remark
                if block.end == position:
                    block.end = stop
            elif line.startswith("["):
                start = position if remark is None else remark
                block.end = min(block.end, start)
                self._open(start, position, stop)
                remark = None
            elif line.strip():
                stop = self._note(position)
                remark = None
            else:
                remark = None
            position = stop

    def _note(self, line: int) -> int:
        """The end of the lines of an entry that begins there, which it notes."""
        block = self.blocks[-1]
        key = _KEY.match(self.text, line)
        assert key is not None  # the text has been parsed
        end = value_end(self.text, key.end())
        stop = _line_end(self.text, end)
        path = (*block.path, *names_in(key[1]))
        equals = self.text.index("=", key.end(1))
        block.entries.append(Entry(path, line, key.start(1), equals, key.end(), end, stop))
        block.end = stop
        return stop

    def _open(self, start: int, head: int, body: int) -> None:
        header = _HEADER.match(self.text, head)
        assert header is not None
        is_array, names = header[1] == "[[", names_in(header[2])
        path: Path = ()
        for position, name in enumerate(names):
            path = (*path, name)
            if is_array and position == len(names) - 1:
                self._counts[path] = self._counts.get(path, -1) + 1
            if path in self._counts:
                path = (*path, self._counts[path])
        self.blocks.append(Block(path, is_array, start, head, body, body))


def _parsed(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text.removeprefix(BOM))
    except (ValueError, RecursionError):
        message = "the text cannot be read as it stands"
        raise WordError(message, "mend the text of the file first") from None


def _begins(path: Path, with_path: Path) -> bool:
    return path[: len(with_path)] == with_path


def _line_end(text: str, position: int) -> int:
    found = text.find("\n", position)
    return len(text) if found < 0 else found + 1


def refuse_broken(text: str) -> None:
    """Raises WordError for a text that is no TOML, so that none is ever made."""
    try:
        tomllib.loads(text.removeprefix(BOM))
        text.encode()
    except (ValueError, RecursionError):
        message = "this cannot be written into the file"
        raise WordError(message, "write it plainly: a figure, or words") from None


def names_in(dotted: str) -> tuple[str, ...]:
    """The names of a dotted key of a TOML text."""
    return tuple(
        tomllib.loads(f"v = {name}")["v"] if name[0] in "\"'" else name
        for name in _NAMES.findall(dotted)
    )


def value_end(text: str, start: int) -> int:
    """Where the value that begins there ends."""
    if text[start] not in "[{":
        found = _STRING.match(text, start) or _BARE.match(text, start)
        assert found is not None
        return found.end()
    depth, position = 0, start
    while True:
        if text[position] in "[{":
            depth += 1
        elif text[position] in "]}":
            depth -= 1
            if not depth:
                return position + 1
        else:
            found = _STRING.match(text, position) or _PLAIN.match(text, position)
            assert found is not None
            position = found.end()
            continue
        position += 1


def members(text: str, start: int) -> Iterator[Member]:
    """The members of the list, or the keys of the table in braces, that begins there; or none."""
    if text[start] not in "[{":
        return
    is_table, index, position = text[start] == "{", 0, start + 1
    while True:
        between = _BETWEEN.match(text, position)
        assert between is not None
        position = between.end()
        if text[position] in "]}":
            return
        key = _KEY.match(text, position) if is_table else None
        first = position if key is None else key.end()
        end = value_end(text, first)
        yield Member((index,) if key is None else names_in(key[1]), position, first, end)
        index, position = index + 1, end


def one_line(text: str, start: int) -> str:
    """The value that begins there, without its remarks and on one line where it is of several."""
    raw = text[start : value_end(text, start)]
    if raw[0] not in "[{" or "\n" not in raw:
        return raw
    inside = (
        (text[one.first : one.start] if raw[0] == "{" else "") + one_line(text, one.start)
        for one in members(text, start)
    )
    listed = ", ".join(inside)
    return f"[{listed}]" if raw[0] == "[" else f"{{ {listed} }}"
