"""A text that was changed in two places at once: which line is which, and both changes in one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.records import frozen, replace
from millprep.infiles.editing.putting import TOP, Figure, put_down
from millprep.infiles.editing.written import Line, Values, Written, as_written
from millprep.infiles.wording import folded

_ALIKE = 0.5
"""Share of its figures that a line without a name keeps when it is changed, at least."""


@frozen
class Clash:
    """A figure that two have changed, each otherwise. figure : mine, with its line as it is now

    was, mine, theirs : as typed, "" where it is struck out; theirs : None where its line is gone
    """

    figure: Figure
    was: str
    mine: str
    theirs: str | None


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


def both(base: str, mine: Sequence[Figure], now: str) -> tuple[str, tuple[Clash, ...]]:
    """The text as it is now with my figures in it, which were put down in an older one, `base`.

    Lines are found again where they stand now. A figure that was changed otherwise meanwhile, or
    whose line is gone, is a clash, and left as it is now. Raises WordError.
    """
    were, are = as_written(base), as_written(now)
    moved: dict[str, dict[int, int]] = {}
    clashes: list[Clash] = []
    text = now
    for figure in mine:
        here: Figure | None = figure
        if figure.index is not None:
            if figure.table not in moved:
                same = _same(were.of(figure.table), are.of(figure.table))
                moved[figure.table] = {was: new for new, was in enumerate(same) if was is not None}
            index = moved[figure.table].get(figure.index)
            here = None if index is None else replace(figure, index=index)
        before = _about(were, figure)
        theirs = None if here is None else _about(are, here)
        if here is not None and (before == theirs or put_down(now, here) == now):
            text = put_down(text, here)
            continue
        wanted = (figure.value or "").strip()
        said = None if theirs is None else _said(theirs, figure)
        clashes.append(Clash(here or figure, _said(before, figure), wanted, said))
    return text, tuple(clashes)


def _about(written: Written, figure: Figure) -> Values:
    """What stands at the figure's key, in the tables below it, and in those that it is in."""
    values, key = written.values, figure.key
    if figure.index is not None:
        lines = written.of(figure.table)
        values = lines[figure.index].values if figure.index < len(lines) else {}
    elif figure.table not in TOP:
        key = f"{figure.table}.{key}"
    return {
        one: words
        for one, words in values.items()
        if one == key or one.startswith(f"{key}.") or key.startswith(f"{one}.")
    }


def _said(values: Values, figure: Figure) -> str:
    """As one text: that of the key itself, else key by key."""
    if len(values) == 1:
        return next(iter(values.values()))
    own = [f"{key.rpartition('.')[2]} {words}" for key, words in values.items()]
    return ", ".join(own)
