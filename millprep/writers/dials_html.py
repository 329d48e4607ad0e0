"""The dial sheet as a page to print: settings with boxes to tick, a setup from a fresh sheet.

Lays out the same sheet as the text form; imports sheet and writers.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.outfile import BLANK_MARK
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.dials import DialSheet, DialStep, back_offs, below
from millprep.writers.dials_text import turns_shown, where_words
from millprep.writers.listing_html import holes_of, tools_of
from millprep.writers.listing_text import remarks_of, speed_words
from millprep.writers.templates import rendered


def dials_html(dials: DialSheet) -> str:
    """The whole sheet as one self-contained page, with the blank mark of `outfile`."""
    sheet = dials.sheet
    return rendered(
        "dials.html.j2",
        sheet=sheet,
        unit="mm" if sheet.units == "mm" else "in",
        depth_head="down to Z" if sheet.has_z_readout else "quill to Z",
        setups=[
            (one, tools_of(one.setup), remarks_of(dials.findings, one.setup))
            for one in dials.setups
        ],
        assumed=dials.assumed,
        cautions=AT_THE_MILL,
        speed=lambda step: speed_words(sheet, step),
        holes=holes_of,
        turns=turns_shown,
        where=where_words,
        below=lambda dialled: list(_below(dialled)),
        mark=BLANK_MARK,
    )


def _below(dialled: DialStep) -> Iterator[tuple[str, str]]:
    """What hangs on a row, each with the name of its field."""
    for said in back_offs(dialled):
        yield f"{said.slots['axis'].lower()}_back", str(said)
    step = dialled.step
    if step.turns is not None:
        yield "turns", f"{step.turns:.1f} turns"
    if step.pecks:
        yield "pecks", f"pecks to {' '.join(map(str, step.pecks))}"
    for said in below(dialled):
        yield said.slug.replace("-", "_") if said.slug == "z-dial" else "pecks_dial", str(said)
