"""Any document in any of its forms, a writer a form. It is `proven` that has them read back."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from millprep.base.plain_text import json_text
from millprep.sheets.document import Document


def written(sheet: str, document: object, form: str) -> str | bytes:
    """A laid-out document in a form: by its writer, `listing_csv` of `writers.listing_data`."""
    if isinstance(document, Document):
        name = f"document_{form}"
        module = "document_data" if form in ("json", "csv") else name
        made: str | bytes = getattr(import_module(f"millprep.writers.{module}"), name)(document)
        return made
    room = {"verdict": "inspection"}.get(sheet, sheet)
    module = f"millprep.writers.{room}_{'data' if form in ('json', 'csv') else form}"
    laid: Any = getattr(import_module(module), f"{sheet}_{form}")(document)
    text: str | bytes = json_text(laid) if form == "json" else laid
    return text
