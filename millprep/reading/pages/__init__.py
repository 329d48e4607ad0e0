"""Printed listings read back: bytes of a finished sheet to setups and rows of figures.

Text, csv, json, html and PDF are read by code of their own that knows the layout and nothing of
what wrote it. What is not understood is refused with its line, never skipped. Imports layers 0 to
2.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Literal

from millprep.reading.pages.printed import (
    SIZE_ROUNDED_MM,
    Betrayal,
    Figure,
    FinderReading,
    HeadHeight,
    Held,
    Look,
    Over,
    Place,
    PrintedRow,
    PrintedSetup,
    PrintedTool,
    Said,
    Setting,
    Turn,
    UnreadableSheet,
)
from millprep.reading.pages.text import read_text

SheetForm = Literal["text", "csv", "json", "html", "pdf", "bench mm", "bench inch"]

__all__ = [
    "SIZE_ROUNDED_MM",
    "Betrayal",
    "Figure",
    "FinderReading",
    "HeadHeight",
    "Held",
    "Look",
    "Over",
    "Place",
    "PrintedRow",
    "PrintedSetup",
    "PrintedTool",
    "Said",
    "Setting",
    "SheetForm",
    "Turn",
    "UnreadableSheet",
    "read_listing",
]


def read_listing(data: bytes, form: SheetForm) -> tuple[PrintedSetup, ...]:
    """The setups of a listing in the order printed, lengths in mm, signs as the readout shows them.

    Raises UnreadableSheet, with the line where there is one, for anything it does not understand.
    """
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        raise UnreadableSheet(f"not UTF-8 text (byte {fault.start + 1})") from None
    if form == "text":
        return read_text(text)
    # the other forms and what they need of the library are fetched when they are asked for
    from millprep.reading.pages.page import read_html
    from millprep.reading.pages.tables import read_csv, read_json

    readers: dict[SheetForm, Callable[[str], tuple[PrintedSetup, ...]]] = {
        "csv": read_csv,
        "json": read_json,
        "html": read_html,
        "bench mm": partial(read_html, units="mm"),
        "bench inch": partial(read_html, units="inch"),
    }
    return readers[form](text)
