"""Any sheet in any form, a reader a form. Imports base and `reading`."""

from __future__ import annotations

from typing import Literal

from millprep.reading.pages.lines import read_lines, read_text
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.report_lines import report_lines
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
    if form == "text":
        return read_text(data, sheet, names)
    if form == "report":
        return read_lines(report_lines(data, sheet), sheet, names)
    # the other forms and what they need of the library are fetched when they are asked for
    if form in ("json", "csv"):
        from millprep.reading.pages import data as data_forms

        if form == "json":
            return data_forms.read_json(data, sheet, names)
        return data_forms.read_csv(data, sheet, table, pages)
    if form == "html":
        from millprep.reading.pages.html import html_lines

        return read_lines(html_lines(data), sheet, names)
    if form == "pdf":
        from millprep.reading.pages.pdf_lines import pdf_lines

        return read_lines(pdf_lines(data), sheet, names)
    if form == "bench data":
        from millprep.reading.pages.bench import bench_data

        return read_sheet(bench_data(data), sheet, "json", names, table=table, pages=pages)
    if form in ("bench mm", "bench inch"):
        from millprep.reading.pages.bench import bench_lines

        lines = bench_lines(data, "mm" if form == "bench mm" else "inch")
        return read_lines(lines, sheet, names)
    raise UnreadableSheet(f"no reader for {form}")
