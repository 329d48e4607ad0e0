"""A document that is a report, as text within 80 columns. Imports base and sheets.document.

Labels stand on lines of their own, with what they say below; a label that ends in a colon begins a
paragraph. Sections are set apart by empty lines.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from millprep.sheets.document import Document, Field, Section, Table

_WIDTH = 80
_INDENT = "  "


def report_text(document: Document) -> str:
    """The whole report, without a mark."""
    (page,) = document.pages
    lines = ["   ".join(page.title.cells), ""]
    for sentence in page.heading:
        lines += _wrapped(str(sentence), _INDENT)
    sections = ["\n".join(_section(section)) for section in page.sections]
    return "\n".join([*lines, "\n\n".join(sections)]) + "\n"


def _section(section: Section) -> Iterator[str]:
    for item in section.items:
        if isinstance(item, Section):
            yield from _section(item)
        elif isinstance(item, Field):
            yield from _field(item)
        else:
            yield from _rows(item)


def _field(field: Field) -> Iterator[str]:
    label = "" if field.is_silent else str(field.label)
    if label.endswith(":"):
        yield from _wrapped(" ".join([label, *map(str, field.sentences)]), "")
        return
    if label:
        yield label
    for sentence in field.sentences:
        yield from _wrapped(str(sentence), _INDENT)


def _rows(table: Table) -> Iterator[str]:
    """The last cell is as long as it is, the others as wide as their columns."""
    for row in table.rows:
        cells = zip(table.columns, row.cells.cells, strict=True)
        yield _INDENT + _INDENT.join(f"{cell:{column.width}}" for column, cell in cells).rstrip()


def _wrapped(text: str, indent: str) -> list[str]:
    return textwrap.wrap(
        text,
        _WIDTH,
        initial_indent=indent,
        subsequent_indent=indent * 2,
        break_long_words=False,
        break_on_hyphens=False,
    )
