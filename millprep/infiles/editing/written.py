"""What stands in a file, as written: the figures with their decimals, the words as typed."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator

from millprep.base.records import anew, frozen
from millprep.infiles.editing.taking import (
    is_of_fixed_length,
    key_in_toml,
    kind_of,
    shapes_at,
    takes_names,
)
from millprep.infiles.positions import Layout, Member, Path, members, one_line
from millprep.infiles.wording import folded

Values = dict[str, str]


@frozen
class Line:
    """One table of an array of tables as it stands in the file. index : from 0; name : as written

    values : by dotted key, as a person types it
    """

    table: str
    index: int
    name: str
    values: Values = anew(factory=dict)


@frozen
class Written:
    """What stands in a file: `values` of its top and the tables there is one of, and `lines`."""

    values: Values
    lines: tuple[Line, ...]

    def of(self, table: str) -> list[Line]:
        """The lines of that table, in the order of the file."""
        return [line for line in self.lines if line.table == table]

    def index(self, table: str, name: str) -> int | None:
        """Which line of a table has that name, capitals and blanks making no difference."""
        word = folded(name)
        return next((one.index for one in self.of(table) if folded(one.name) == word), None)


def as_written(text: str) -> Written:
    """What stands in the text of a file. Raises WordError for a text that is no TOML."""
    return written(Layout(text))


def written(layout: Layout) -> Written:
    """What stands in a text."""
    kind = kind_of(layout.data)
    top: list[tuple[Path, str]] = []
    lines: dict[tuple[str, int], list[tuple[Path, str]]] = {}
    for block in layout.blocks:
        if len(block.path) == 2 and block.is_array:
            lines[str(block.path[0]), int(block.path[1])] = []
    for path, words in _words_of_all(layout, kind):
        if len(path) > 2 and isinstance(path[1], int):
            lines.setdefault((str(path[0]), path[1]), []).append((path[2:], words))
        else:
            top.append((path, words))
    read = [
        Line(table, index, (values := _by_key(words)).get("name", ""), values)
        for (table, index), words in lines.items()
    ]
    return Written(_by_key(top), tuple(read))


def _words_of_all(layout: Layout, kind: str) -> Iterator[tuple[Path, str]]:
    for entry in layout.entries:
        yield from _words(layout.text, entry.start, entry.path, kind)


def _words(text: str, start: int, path: Path, kind: str) -> Iterator[tuple[Path, str]]:
    """(path, words) of a value: a table key by key, another list than of tables as it stands."""
    inside = list(members(text, start))
    if text[start] == "{" or (inside and _is_opened(text, inside, kind, path)):
        for one in inside:
            yield from _words(text, one.start, path + one.key, kind)
    else:
        yield path, words_at(text, start, kind, path)


def _is_opened(text: str, inside: list[Member], kind: str, path: Path) -> bool:
    """Whether a list is told a member at a time: one of tables, or of as many as its key takes."""
    shapes = shapes_at(kind, path)
    is_fixed = is_of_fixed_length(shapes) and len(inside) == shapes[0]["minItems"]
    return is_fixed or all(text[one.start] == "{" for one in inside)


def words_at(text: str, start: int, kind: str, path: Path) -> str:
    """The value that begins there as a person types it."""
    raw = one_line(text, start)
    if raw[0] in "\"'":
        said = str(tomllib.loads(f"v = {raw}")["v"])
        is_one_of_several = "," in said and takes_names(shapes_at(kind, path))
        return f"[{raw}]" if is_one_of_several else said
    if raw[0] == "[" and takes_names(shapes_at(kind, path)):
        names = tomllib.loads(f"v = {raw}")["v"]
        if all(isinstance(one, str) and _is_plain(one) for one in names):
            return ", ".join(names)
    return raw


def _is_plain(name: str) -> bool:
    """Whether a name can be typed in a list of them without quotes."""
    return bool(name) and name[0] not in "\"'" and not set(name) & set(",[]{}")


def _by_key(found: list[tuple[Path, str]]) -> Values:
    return {dotted(path): words for path, words in found}


def dotted(path: Path) -> str:
    return ".".join(str(part) if isinstance(part, int) else key_in_toml(part) for part in path)
