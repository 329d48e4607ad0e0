"""The inspection sheet and its verdicts as a page to print, with boxes to fill. Layout only."""

from __future__ import annotations

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.inspection import InspectionSheet, VerdictSheet
from millprep.writers.inspection_text import (
    BY_READOUT,
    FIRST,
    PINS,
    THEN,
    place_words,
    size_words,
    totals,
)
from millprep.writers.templates import rendered


def inspection_html(sheet: InspectionSheet) -> str:
    """The sheet as one self-contained page, with the blank mark of `outfile`."""
    return rendered(
        "inspection.html.j2",
        sheet=sheet,
        verdicts=None,
        unit="mm" if sheet.units == "mm" else "in",
        first=FIRST,
        pins=PINS,
        then=(*BY_READOUT, *THEN),
        place=place_words,
        size=size_words,
        mark=BLANK_MARK,
    )


def verdict_html(sheet: VerdictSheet) -> str:
    """The verdicts as one self-contained page, with the blank mark of `outfile`."""
    return rendered(
        "inspection.html.j2",
        sheet=sheet,
        verdicts=sheet.holes,
        unit="mm" if sheet.units == "mm" else "in",
        totals=totals(sheet),
        readings=[line for line in sheet.readings if line.judged.verdict != "in"],
        mark=BLANK_MARK,
    )
