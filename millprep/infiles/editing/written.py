"""What stands in a file as written, figures with their decimals; which line of it was which."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence

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


_ALIKE = 0.5
"""Share of its figures that a line without a name keeps when it is changed, at least."""


def same_lines(old: str, new: str, table: str) -> list[int | None]:
    """For each line of the new text, which of the old one's it is; None for one that is new."""
    return _same(as_written(old).of(table), as_written(new).of(table))


def _same(old: Sequence[Line], new: Sequence[Line]) -> list[int | None]:
    """First those that are alike in all, then by name, by what they share, by their place."""
    found: dict[int, int] = {}
    left = {line.index: line for line in old}
    for key in (_figures, lambda line: folded(line.name)):
        waiting: dict[object, list[int]] = {}
        for line in left.values():
            waiting.setdefault(key(line), []).append(line.index)
        for line in new:
            there = waiting.get(key(line), []) if key(line) else []
            if line.index not in found and there:
                found[line.index] = there.pop(0)
                del left[found[line.index]]
    rest = [line for line in new if line.index not in found]
    for index, was in _likest(list(left.values()), rest):
        if index not in found and was in left:
            found[index] = was
            del left[was]
    if len(old) == len(new):
        found |= {one.index: one.index for one in rest if one.index in left}
    return [found.get(line.index) for line in new]


def _figures(line: Line) -> frozenset[tuple[str, str]]:
    return frozenset(line.values.items())


def _likest(old: Sequence[Line], new: Sequence[Line]) -> Iterator[tuple[int, int]]:
    """(index of the new, of the old) of lines that are alike, the likest first."""
    pairs = []
    for one in new:
        for other in old:
            shared = len(_figures(one) & _figures(other))
            share = shared / max(len(one.values), len(other.values), 1)
            if share >= _ALIKE:
                pairs.append((-share, abs(one.index - other.index), one.index, other.index))
    yield from ((index, was) for _, _, index, was in sorted(pairs))
