"""A text as it was and as it is now: which line is which."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.infiles.editing.written import Line, as_written
from millprep.infiles.wording import folded

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
