"""The readout listing as a page to print: tables with boxes to tick, a setup from a fresh sheet.

Lays out the same sheet as the text listing; imports sheet and writers.
"""

from __future__ import annotations

from millprep.outfile import BLANK_MARK
from millprep.sheet import Block, SetupSheet, Sheet, Step
from millprep.writers.cautions import AT_THE_MILL
from millprep.writers.listing_text import counted, speed_words
from millprep.writers.templates import rendered


def listing_html(sheet: Sheet) -> str:
    """The whole listing as one self-contained page, with the blank mark of `outfile`."""
    return rendered(
        "listing.html.j2",
        sheet=sheet,
        unit="mm" if sheet.units == "mm" else "in",
        depth_head="down to Z" if sheet.has_z_readout else "quill to Z",
        setups=[(setup, _tools(setup), _remarks(sheet, setup)) for setup in sheet.setups],
        cautions=AT_THE_MILL,
        speed=lambda step: speed_words(sheet, step),
        holes=_holes,
        mark=BLANK_MARK,
    )


def _holes(block: Block) -> str:
    return counted(len({step.hole for step in block.steps}), "hole")


def _tools(setup: SetupSheet) -> list[Step]:
    """The first step of each tool, for a listing hole by hole; a tool's block names its own."""
    if all(block.is_tool for block in setup.blocks):
        return []
    return list({step.tool_number: step for step in reversed(setup.steps)}.values())[::-1]


def _remarks(sheet: Sheet, setup: SetupSheet) -> list[str]:
    """What was found about the holes of this setup, and about none in particular."""
    here = {step.hole for step in setup.steps}
    return [
        f"{finding.severity}: {finding.message}"
        for finding in sheet.findings
        if finding.setup in (None, setup.number)
        and (not finding.holes or here.intersection(finding.holes))
    ]
