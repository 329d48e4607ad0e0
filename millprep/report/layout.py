"""Lines and tables of a report before their width is known: for a terminal, a file or a page.

Imports records only.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from millprep.base.records import frozen

WIDTH = 79  # of a file, and of a terminal that has as much
_LEAST = 20  # columns that what goes on has in any case


@frozen
class Line:
    """Words over as many lines as it takes; those after the first go on behind the indent."""

    words: str
    indent: int = 2


@frozen
class Table:
    """Columns of figures, each under its head; the last is words.

    title : what stands above it; more : what stands below it, where not all is shown
    """

    title: str
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    more: str = ""

    def lines(self) -> Iterator[Line]:
        """As text: figures to the right, never touching."""
        yield Line(self.title)
        if not self.rows:
            return
        every = [self.heads, *self.rows]
        wide = [max(len(row[n]) for row in every) + 2 for n in range(len(self.heads) - 1)]
        for row in every:
            cells = "".join(f"{cell:>{width}}" for cell, width in zip(row, wide, strict=False))
            yield Line(f"{cells}   {row[-1]}", len(cells) + 3)
        if self.more:
            yield Line(f"  {self.more}")


def item(words: str) -> Line:
    """One of a list."""
    return Line(f"  - {words}", 4)


def laid_out(lines: Iterable[Line], columns: int = WIDTH) -> str:
    """The lines in so many columns."""
    return "".join(f"{text}\n" for line in lines for text in _wrapped(line, columns))


def _wrapped(line: Line, columns: int) -> Sequence[str]:
    indent = " " * max(0, min(line.indent, columns - _LEAST))
    return textwrap.wrap(line.words, columns, subsequent_indent=indent, break_on_hyphens=False) or [
        ""
    ]
