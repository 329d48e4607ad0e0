"""Any sheet in any form, a reader a form.

The text of a report is read as lines of a sheet with rules and margins:

    title / its heading, indented / an empty line / LABEL, and what it says, indented / ...

A label that ends in a colon begins a paragraph, which goes on in the first column; below one that
has no sentences of its own stand the rows of a table.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from millprep.base.units import Units
from millprep.base.wording import wording
from millprep.reading.pages.lines import Line, read_lines, text_lines
from millprep.reading.pages.sheet import ReadSheet
from millprep.reading.pages.slots import Names

SheetForm = Literal[
    "text", "csv", "json", "html", "pdf", "bench mm", "bench inch", "bench data", "report"
]


def read_sheet(
    data: bytes, sheet: str, form: SheetForm, names: Names, *, table: str, pages: str = ""
) -> ReadSheet:
    """A sheet as it was printed.

    form  : "report" is the text of a document without rules
    names : what free slots may say, by kind
    table, pages : in CSV, the table whose rows it has, and the column that tells its pages apart
    Raises UnreadableSheet, with the line where there is one, for anything that is not understood.
    """
    # the other forms and what they need of the library are fetched when they are asked for
    if form == "bench data":
        from millprep.reading.pages.html import bench_data

        data, form = bench_data(data), "json"
    if form in ("json", "csv"):
        from millprep.reading.pages.data import read_csv, read_json

        if form == "json":
            return read_json(data, sheet, names)
        return read_csv(data, sheet, table, pages)
    return read_lines(_lines_of(data, sheet, form), sheet, names)


def _lines_of(data: bytes, sheet: str, form: SheetForm) -> list[Line]:
    if form == "text":
        return text_lines(data)
    if form == "report":
        return report_lines(data, sheet)
    if form == "pdf":
        from millprep.reading.pages.pdf_lines import pdf_lines

        return pdf_lines(data)
    from millprep.reading.pages.html import bench_lines, html_lines

    return html_lines(data) if form == "html" else bench_lines(data, _BENCH_UNITS[form])


_BENCH_UNITS: dict[str, Units] = {"bench mm": "mm", "bench inch": "inch"}
_RULE = "-" * 20
_SAID, _GOES_ON, _ROW = " " * 8, " " * 4, "[ ] "


def report_lines(data: bytes, sheet: str) -> list[Line]:
    """Lines as `lines` reads them. Raises UnreadableSheet."""
    groups = wording(sheet)
    labels = [name for name in groups if name.endswith(":")]
    bare = {name for name, group in groups.items() if not group.label.slots and not group.templates}
    title, *rest = text_lines(data)
    return [title, *_below(rest, labels, bare)]


def _below(lines: list[Line], labels: list[str], bare: set[str]) -> Iterator[Line]:
    begins = ""  # how what is indented begins; "" in the heading
    is_paragraph, is_apart = False, True
    for number, line in lines:
        words = line.strip(" ")
        label = next((one for one in labels if line.startswith(f"{one} ")), None)
        if not line:
            is_paragraph, is_apart = False, True
            continue
        if line.startswith(" "):
            go_on = _GOES_ON if line.startswith(_GOES_ON) else ""
            yield number, (begins or go_on) + words
        elif is_paragraph and label is None:
            yield number, _SAID + words
        else:
            if is_apart or not begins:
                yield number, _RULE
            begins = _ROW if line in bare else _SAID
            is_paragraph = label is not None
            yield number, label or line
            if label is not None:
                yield number, _SAID + line[len(label) :].strip(" ")
        is_apart = False
