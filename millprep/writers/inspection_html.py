"""The verdicts on a piece as a page to print. Layout only."""

from __future__ import annotations

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.inspection import VerdictSheet
from millprep.writers.inspection_text import totals
from millprep.writers.templates import rendered


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
