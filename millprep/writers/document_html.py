"""Any document as a page to print or to look at. Imports base, sheets.document and templates."""

from __future__ import annotations

from millprep.base.marks import BLANK_MARK
from millprep.sheets.document import Document, Page, Table, items_of, running_on
from millprep.writers.templates import rendered


def document_html(document: Document) -> str:
    """One self-contained page, a page of the sheet from a fresh sheet of paper each."""
    return rendered(
        "document.html.j2",
        document=document,
        title=" ".join(cell for cell in document.pages[0].title.cells if cell),
        mark=BLANK_MARK,
        row_count=_row_count,
        running_on=running_on,
    )


def _row_count(page: Page) -> int:
    """The rows of its tables, with what hangs on them."""
    tables = (one for each in page.sections for one in items_of(each) if isinstance(one, Table))
    return sum(len(row.below) + 1 for table in tables for row in table.rows)
