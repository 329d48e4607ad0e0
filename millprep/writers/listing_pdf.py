"""The readout listing as pages to print, a setup from a fresh page. Imports sheet and writers."""

from __future__ import annotations

from millprep.canvas.pages import Pages
from millprep.sheets.setup_sheet import Sheet
from millprep.writers.setup_pages import SetupPages, document


def listing_pdf(sheet: Sheet) -> bytes:
    """The whole listing as a file, with the blank mark of `outfile`."""
    pages = Pages(f"{sheet.part}: listing")
    return document(pages, (SetupPages(pages, sheet, setup) for setup in sheet.setups))
