"""The bench page: one self-contained page for a phone or tablet at the mill, a card a moment.

Everything that is read stands in the page as text, in millimetres and in inches; the script shows
one card at a time and keeps the ticks, and never touches a figure. Imports sheet and writers.
"""

from __future__ import annotations

from millprep.base.outfile import BLANK_MARK
from millprep.base.units import Units
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.setup_sheet import Sheet
from millprep.writers.bench.cards import Both, SetupCards, both, cards_of
from millprep.writers.bench.plan import plan_of
from millprep.writers.templates import rendered

_DIGIT_EM, _POINT_EM = 0.7, 0.38  # width of a sign over the height of its type, the widest met


def bench_page(mm: Sheet, inch: Sheet, units: Units) -> str:
    """The page, from one plan's sheet in both units; `units` are those shown first."""
    setups = cards_of(mm, inch)
    return rendered(
        "bench/page.html.j2",
        sheet=mm,
        units=units,
        stock=Both(mm.stock, inch.stock),
        assumed=both(mm.assumed, inch.assumed),
        setups=[(setup, plan_of(setup.mm)) for setup in setups],
        steps=sum(len(setup.mm.steps) for setup in setups),
        ems=_widest_em(setups),
        cautions=AT_THE_MILL,
        remarks=[f"{finding.severity}: {finding.message}" for finding in mm.findings],
        depth="" if mm.has_z_readout else "quill",
        mark=BLANK_MARK,
    )


def _widest_em(setups: tuple[SetupCards, ...]) -> float:
    """Width of the widest figure over the height of its type, so that none leaves the page."""
    figures = {
        str(figure)
        for setup in setups
        for sheet in (setup.mm, setup.inch)
        for step in sheet.steps
        for figure in (step.x, step.y, step.z)
    }
    widths = (sum(_POINT_EM if sign == "." else _DIGIT_EM for sign in figure) for figure in figures)
    return round(max(widths, default=4.0), 2)
