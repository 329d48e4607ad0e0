"""The readout listing as a page to print: tables with boxes to tick, a setup from a fresh sheet.

Lays out the same sheet as the text listing; imports sheet and writers.
"""

from __future__ import annotations

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.setup_sheet import Block, SetupSheet, Sheet, Step
from millprep.writers.listing_text import counted, remarks_of, speed_words
from millprep.writers.templates import rendered


def listing_html(sheet: Sheet) -> str:
    """The whole listing as one self-contained page, with the blank mark of `outfile`."""
    return rendered(
        "listing.html.j2",
        sheet=sheet,
        unit="mm" if sheet.units == "mm" else "in",
        depth_head="down to Z" if sheet.has_z_readout else "quill to Z",
        setups=[
            (setup, tools_of(setup), remarks_of(sheet.findings, setup)) for setup in sheet.setups
        ],
        cautions=AT_THE_MILL,
        speed=lambda step: speed_words(sheet, step),
        holes=holes_of,
        mark=BLANK_MARK,
    )


def holes_of(block: Block) -> str:
    """How many holes a block makes, in words."""
    return counted(len({step.hole for step in block.steps}), "hole")


def tools_of(setup: SetupSheet) -> list[Step]:
    """The first step of each tool, for a listing hole by hole; a tool's block names its own."""
    if all(block.is_tool for block in setup.blocks):
        return []
    return list({step.tool_number: step for step in reversed(setup.steps)}.values())[::-1]
