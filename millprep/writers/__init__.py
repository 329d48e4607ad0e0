"""Any document in any of its forms, a writer a form. It is `proven` that has them read back."""

from __future__ import annotations

from importlib import import_module

from millprep.sheets.document import Document
from millprep.sheets.folded import folded


def written(sheet: str, document: Document, form: str) -> str | bytes:
    """A laid-out document of a sheet in a form: CSV by `document_csv` of `document_data`."""
    assert document.sheet == sheet
    document = document if form in ("json", "csv") else folded(document)
    name = "report_text" if document.is_report and form == "text" else f"document_{form}"
    module = "document_data" if form in ("json", "csv") else name
    made: str | bytes = getattr(import_module(f"millprep.writers.{module}"), name)(document)
    return made
