"""The bench page: one self-contained page for a phone or tablet at the mill, a card a moment.

Everything that is read stands in the page as text, in millimetres and in inches; the script shows
one card at a time and keeps the ticks, and never touches a figure. Imports sheet and writers.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import PurePath

from markupsafe import Markup

from millprep.base.marks import BLANK_MARK
from millprep.base.units import Units
from millprep.sheets.document import Document, Field, Section, Table
from millprep.sheets.view import View
from millprep.writers.bench.card import lines_of
from millprep.writers.bench.cards import SetupCards, cards_of
from millprep.writers.bench.plan import plan_of
from millprep.writers.document_data import document_json
from millprep.writers.templates import rendered

_DIGIT_EM, _POINT_EM = 0.7, 0.38  # width of a sign over the height of its type, the widest met


def bench_page(
    mm: Document,
    inch: Document,
    views: Sequence[View],
    units: Units,
    pieces: int = 1,
    is_served: bool = False,
) -> str:
    """The page, from one listing in both units; `units` are those shown first.

    views : of each page, the face as it lies; pieces : how many are made, with ticks for each
    is_served : whether a PC hands it out and takes its ticks, over plain http
    """
    setups = cards_of(mm, inch)
    care, care_inch = (
        [item for section in one.foot for item in section.items if isinstance(item, Field)]
        for one in (mm, inch)
    )
    return rendered(
        "bench/page.html.j2",
        part=mm.also["part"],
        part_mark=mm.also["part_mark"],
        units=units,
        pieces=pieces,
        is_served=is_served,
        setups=[
            (setup, plan_of(setup.number, view)) for setup, view in zip(setups, views, strict=True)
        ],
        steps=sum(setup.steps for setup in setups),
        ems=_widest_em(setups),
        depth=_depth(mm),
        care=lines_of(care, care_inch),
        data=_data(mm if units == "mm" else inch),
        mark=BLANK_MARK,
    )


def _data(listing: Document) -> Markup:
    """What JSON has of the listing, as it may stand inside a script element; files by their names,
    so that the page is the same, and keeps its ticks, wherever it is made."""
    whole = json.loads(document_json(listing))
    del whole["mark"]  # the page has its own
    for finding in whole["findings"]:
        for one in (finding, *finding.get("cure", {}).get("edits", ())):
            one["file"] = one["file"] and PurePath(one["file"]).name
    return Markup(json.dumps(whole, separators=(",", ":")).replace("<", "\\u003c"))


def _depth(listing: Document) -> str:
    """What is said beside a depth: "quill" where the readout has none."""
    is_quill = any(_is_by_quill(section) for page in listing.pages for section in page.sections)
    return "quill" if is_quill else ""


def _is_by_quill(section: Section) -> bool:
    return any(
        _is_by_quill(item)
        if isinstance(item, Section)
        else isinstance(item, Table)
        and item.head is not None
        and item.head.slots.get("depth") == "quill"
        for item in section.items
    )


def _widest_em(setups: tuple[SetupCards, ...]) -> float:
    """Width of the widest figure over the height of its type, so that none leaves the page."""
    figures = {
        str(row.also[axis])
        for setup in setups
        for card in setup.cards
        for row in card.pair or ()
        for axis in "xyz"
    }
    widths = (sum(_POINT_EM if sign == "." else _DIGIT_EM for sign in figure) for figure in figures)
    return round(max(widths, default=4.0), 2)
