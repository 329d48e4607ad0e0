"""Any document as text, within 78 columns. Imports base and sheets.document."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.document import Column, Document, Field, Page, Row, Section, Sentence, Table

WIDTH = 78
_INDENT = 8
_BELOW, _BELOW_THEN = " " * 10, " " * 19
_RULE = "-" * WIDTH
_BOX = "[ ]"
_STOPS = (0, 8, 38, 53)  # for the cells of a sentence that has some


def document_text(document: Document) -> str:
    """The whole sheet, ending in the blank mark of `outfile`."""
    pages = ["\n".join(_page(page)) for page in document.pages]
    foot = [line for section in document.foot for line in (_RULE, *_section(section))]
    return "\n".join(["\n\n".join(pages), *foot, "", BLANK_MARK, ""])


def wrapped(text: str, first: str, then: str = " " * _INDENT) -> list[str]:
    """The text in lines no wider than the page."""
    return textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=then, break_on_hyphens=False
    ) or [first.rstrip()]


def _page(page: Page) -> Iterator[str]:
    left, right = page.title.cells
    yield from wrapped(f"{left.upper():<{WIDTH - len(right)}}{right}", "", "")
    for sentence in page.heading:
        yield from wrapped(str(sentence), "", "    ")
    for section in page.sections:
        yield _RULE
        yield from _section(section)


def _section(section: Section) -> Iterator[str]:
    for item in section.items:
        if isinstance(item, Section):
            yield from _section(item)
        elif isinstance(item, Field):
            yield from _field("" if item.is_silent else str(item.label), item)
        else:
            yield from _table(item)


def _field(label: str, field: Field) -> Iterator[str]:
    """A label in the margin and its sentences beside it, each wrapped."""
    first = f"{label:<{_INDENT}}"
    if len(label) >= _INDENT or not field.sentences:
        yield label
        first = " " * _INDENT
    told = [_spaced(sentence) for sentence in field.sentences]
    for words in [" ".join(told)] if field.runs_on else told:
        yield from wrapped(words, first)
        first = " " * _INDENT


def _spaced(sentence: Sentence) -> str:
    """Its cells below those of the sentences of the same kind, where there is room."""
    spaced = ""
    cells = [cell for cell in sentence.cells if cell]
    for cell, stop in zip(cells, _STOPS, strict=False):
        spaced = f"{f'{spaced}  ' if spaced else '':<{stop}}{cell}"
    return spaced if len(spaced) <= WIDTH - _INDENT else str(sentence)


def _table(table: Table) -> Iterator[str]:
    if table.runs_on:
        yield from _run(table)
        return
    if table.head is not None:
        start = "" if table.folds else " " * len(_BOX)
        yield _cells(table.columns[table.folds :], table.heads, start).rstrip()
    for row in table.rows:
        yield from _row(table, row)


def _run(table: Table) -> Iterator[str]:
    """The head as a sentence, then row after row with two blanks between."""
    if table.head is not None:
        yield from wrapped(str(table.head), " " * (_INDENT + 1), " " * (_INDENT + 3))
    line = ""
    for row in table.rows:
        cells = _cells(table.columns, row.cells.cells, "").rstrip()
        if line and len(_BOX) + len(line) + 2 + len(cells) > WIDTH:
            yield " " * len(_BOX) + line
            line = ""
        line = f"{line}  {cells}" if line else cells
    yield " " * len(_BOX) + line


def _row(table: Table, row: Row) -> Iterator[str]:
    """Where a cell is too long for its column what follows it stands below; else the last does."""
    start = _BOX if table.boxes else " " * len(_BOX)
    cells = table.cells(row.cells)
    line = _cells(table.columns, cells, start).rstrip()
    if table.folds:
        first = _cells(table.columns, cells[: table.folds], start)
        yield from wrapped(first.rstrip(), "", _BELOW)
        yield _cells(table.columns[table.folds :], cells[table.folds :], "").rstrip()
    elif len(line) <= WIDTH:
        yield line
    elif (long := _too_long(table, cells)) is not None:
        first = _cells(table.columns, cells[: long + 1], start).rstrip()
        yield from [first] if len(first) <= WIDTH else wrapped(first, "", _BELOW)
        blanks = [""] * (long + 1)
        yield _cells(table.columns, [*blanks, *cells[long + 1 :]], " " * len(start)).rstrip()
    else:
        yield _cells(table.columns, cells[:-1], start).rstrip()
        yield from [f"{_BELOW}{cells[-1]}"] if cells[-1] else []
    for sentence in row.below:
        yield from wrapped(str(sentence), _BELOW, _BELOW_THEN)


def _too_long(table: Table, cells: Sequence[str]) -> int | None:
    """The first cell before the last that its column does not hold."""
    pairs = list(zip(table.columns, cells, strict=False))[:-1]
    return next((i for i, (one, cell) in enumerate(pairs) if len(cell) > one.width), None)


def _lent(columns: Sequence[Column], cells: Sequence[str]) -> int:
    """How much of the column before them figures take that are wider than their own."""
    if not columns or not cells or not columns[0].right:
        return 0
    more = len(cells[0]) + _lent(columns[1:], cells[1:]) - columns[0].width - columns[0].gap + 1
    return max(more, 0)


def _cells(columns: Sequence[Column], cells: Sequence[str], line: str) -> str:
    """Figures end together; a head that is wider than its column takes of the blanks before it."""
    end = len(line)
    for index, (column, cell) in enumerate(zip(columns, cells, strict=False)):
        if not (cell or column.width):
            continue
        start = max(end, len(line)) + column.gap
        end = start + column.width
        if column.right:
            stop = end - _lent(columns[index + 1 :], cells[index + 1 :])
            room = max(stop - len(cell), len(line.rstrip()) + 1)
            line = f"{line.rstrip():<{room}}{cell}"
        else:
            line = f"{line:<{start}}{cell:<{column.width}}"
    return line
