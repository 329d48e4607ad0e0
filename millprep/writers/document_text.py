"""Any document as text, within 80 columns. Imports base and sheets.document."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from millprep.base.marks import BLANK_MARK
from millprep.base.plain_text import NO_BREAK, kept_together
from millprep.base.records import replace
from millprep.sheets.document import Column, Document, Field, Page, Row, Section, Sentence, Table

WIDTH = 80
_INDENT = 8
_APART = "  "  # of sentences on a line
_BELOW, _BELOW_THEN = " " * 10, " " * 19
_RULE = "-" * 78
_BOX = "[ ]"
_STOPS = (0, 8, 32, 47)  # for the cells of a sentence that has some


def document_text(document: Document) -> str:
    """The whole sheet, ending in the blank mark of `outfile`."""
    pages = ["\n".join(_page(page, is_first=page is document.pages[0])) for page in document.pages]
    foot = [line for section in document.foot for line in (_RULE, *_section(section))]
    return "\n".join(["\n\n".join(pages), *foot, "", BLANK_MARK, ""])


def wrapped(text: str, first: str, then: str = " " * _INDENT) -> list[str]:
    """The text in lines no wider than the page."""
    lines = textwrap.wrap(
        kept_together(text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=then,
        break_on_hyphens=False,
    )
    return [line.replace(NO_BREAK, " ") for line in lines] or [first.rstrip()]


def _page(page: Page, *, is_first: bool) -> Iterator[str]:
    """A later page without a heading has no rule below its title."""
    left, right = page.title.cells
    yield from wrapped(f"{left.upper():<{len(_RULE) - len(right)}}{right}", "", "")
    for sentence in page.heading:
        yield from wrapped(str(sentence), "", "    ")
    for section in page.sections:
        if is_first or page.heading or section is not page.sections[0]:
            yield _RULE
        yield from _section(section)


def _section(section: Section) -> Iterator[str]:
    label = ""  # that has said nothing yet: it stands before the head of the table that follows
    for one in _groups(section):
        if isinstance(one, Table):
            yield from _table(one, label)
            label = ""
            continue
        yield from [label] if label else []
        label = "" if one[0].is_silent else str(one[0].label)
        if sentences := [sentence for field in one for sentence in field.sentences]:
            yield from (_run_on if one[0].runs_on else _beside)(label, sentences)
            label = ""
    yield from [label] if label else []


def _groups(section: Section) -> Iterator[Table | list[Field]]:
    """Tables, and fields with those that run on behind them."""
    run: list[Field] = []
    for item in _flat(section):
        if run and isinstance(item, Field) and item.is_silent and item.runs_on and run[0].runs_on:
            run.append(item)
            continue
        if run:
            yield run
        run = [item] if isinstance(item, Field) else []
        if isinstance(item, Table):
            yield item
    if run:
        yield run


def _flat(section: Section) -> Iterator[Field | Table]:
    for item in section.items:
        yield from _flat(item) if isinstance(item, Section) else [item]


def _beside(label: str, sentences: Sequence[Sentence]) -> Iterator[str]:
    """A label in the margin and its sentences beside it, each wrapped."""
    first = f"{label:<{_INDENT}}"
    if len(label) >= _INDENT:
        yield label
        first = " " * _INDENT
    for sentence in sentences:
        yield from wrapped(_spaced(sentence), first)
        first = " " * _INDENT


def _run_on(label: str, sentences: Sequence[Sentence]) -> Iterator[str]:
    """One behind the other, as long as each has room on the line: for that the cells of the first
    stand closer together. Pecks, and the second of two that end in full stops, go on in the next
    line."""
    start = f"{label}{_APART}" if len(label) >= _INDENT else f"{label:<{_INDENT}}"
    above, *others = sentences
    *full, line = wrapped(_spaced(above), start)
    yield from full
    closer = line if full else f"{start}{above}"
    for sentence in others:
        words = kept_together(str(sentence))
        both = [f"{one}{_APART}{words}" for one in (line, closer)]
        fitting = [one for one in both if len(one) <= WIDTH]
        goes_on = str(above).endswith(".") and words.endswith(".")
        goes_on |= sentence.template.group == "ALL" and len(words) > WIDTH - _INDENT
        if sentence.is_warning or above.is_warning or not (fitting or goes_on):
            yield line
            *full, line = wrapped(words, " " * _INDENT)
        elif fitting:
            full, line = [], fitting[0].replace(NO_BREAK, " ")
        else:
            begins = len(start) if line.startswith(start) else _INDENT
            *full, line = wrapped(both[0][begins:], both[0][:begins])
        yield from full
        closer, above = line, sentence
    yield line


def _spaced(sentence: Sentence) -> str:
    """Its cells below those of the sentences of the same kind, where there is room."""
    spaced = ""
    cells = [cell for cell in sentence.cells if cell]
    for cell, stop in zip(cells, _STOPS, strict=False):
        spaced = f"{f'{spaced}  ' if spaced else '':<{stop}}{cell}"
    return spaced if len(spaced) <= WIDTH - _INDENT else str(sentence)


def _table(table: Table, label: str = "") -> Iterator[str]:
    """label : what stands in the margin before its head"""
    if table.runs_on:
        yield from _run(table)
        return
    if table.head is not None:
        start, columns = "" if table.folds else " " * len(_BOX), table.columns[table.folds :]
        if label:
            start = f"{label:<{_INDENT - 1}}"
            less = len(start) - len(_BOX)
            columns = (replace(columns[0], width=columns[0].width - less), *columns[1:])
        yield _cells(columns, table.heads, start).rstrip()
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
