"""Any document as a page to print or to look at. Imports base, sheets.document and templates."""

from __future__ import annotations

from millprep.base.marks import BLANK_MARK
from millprep.sheets.document import Document
from millprep.writers.templates import rendered


def document_html(document: Document) -> str:
    """One self-contained page, a page of the sheet from a fresh sheet of paper each."""
    return rendered(
        "document.html.j2",
        document=document,
        title=" ".join(cell for cell in document.pages[0].title.cells if cell),
        mark=BLANK_MARK,
    )
