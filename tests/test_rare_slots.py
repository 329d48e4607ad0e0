"""Sentences that the example parts do not have: each slot is changed in turn, and each left out."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from jobs import part_text
from slot_faults import question_of, sentences_of, slots_in, with_slot_changed, without
from test_slots_asked import is_absent, is_stopped

from millprep.proven.preparation import prepare
from millprep.proven.sheets import SHEETS, Asked
from millprep.sheets.document import Document

LOSES = '[mill]\nhead_moves = "loses"\nquill_travel = 60\n'
SMALL_AND_LARGE = """
[[hole]]
name = "a"
drill = 4
at = [20, 5]
depth = 5
[[hole]]
name = "b"
drill = 8
at = [40, 5.5]
depth = "through"
"""
FLUSH = '[[setup]]\nface = "top"\ntowards_you = "front"\nvice = { grip = 20, jaws = "y" }\n'
CENTRED = 'x = "centre"\ny = "centre"'
CASES = {
    "moved-edges": (part_text(SMALL_AND_LARGE, "size = [60, 40, 20]"), LOSES),
    "moved-rim": (
        part_text(
            SMALL_AND_LARGE.replace("[20, 5]", "[-10, 0]").replace("[40, 5.5]", "[12, 0]"),
            "diameter = 60\nlength = 20",
            datum=CENTRED,
        ),
        LOSES,
    ),
    "moved-hole": (part_text(SMALL_AND_LARGE + FLUSH, "size = [60, 11, 20]"), LOSES),
    "thin-side": (
        part_text(
            '[[hole]]\nname = "pin"\ndrill = 6\nallow = ["thin wall"]\n'
            'at = [[20, 3.2], [40, 3.2], [56.9, 20]]\ndepth = "through"\n',
            "size = [60, 40, 20]",
        ),
        '[mill]\nhead_moves = "keeps"\n',
    ),
}


@cache
def laid_out(sheet: str, slug: str, order: str) -> tuple[Any, Document]:
    text, shop = CASES[slug]
    with TemporaryDirectory() as folder:
        part_file, shop_file = Path(folder, "part.toml"), Path(folder, "shop.toml")
        part_file.write_text(text, encoding="utf-8")
        shop_file.write_text(shop, encoding="utf-8")
        wanted = SHEETS[sheet](prepare(part_file, str(shop_file), order), Asked())
        return wanted, wanted.lay_out()[0]


@pytest.mark.parametrize("slug", CASES)
@pytest.mark.parametrize("order", ["tool", "hole"])
@pytest.mark.parametrize("sheet", ["listing", "dials"])
def test_each_slot_of_a_rare_sentence_is_asked(sheet: str, order: str, slug: str) -> None:
    wanted, document = laid_out(sheet, slug, order)
    assert slug in {one.slug for one in sentences_of(document)}
    for form in ("text", "json", "pdf"):
        assert not is_stopped(wanted, document, form)
    handed_over = [
        (form, each, name)
        for each, name in slots_in(document)
        if each in (slug, "edge") and not question_of(document, each, name).startswith("not comp")
        for form in ("text", "json")
        if not is_absent(sheet, form, each, name)
        and not is_stopped(wanted, with_slot_changed(document, each, name), form)
    ]
    assert handed_over == []
    assert is_stopped(wanted, without(document, slug), "text")
