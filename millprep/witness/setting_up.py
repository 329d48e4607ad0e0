"""Everything that a page says of setting up and beside its rows, against part, shop and rows.

Each sentence of `base/templates/setting.txt` is asked slot by slot; see `setting_questions`.
Imports the part, the shop and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.reading.pages.sheet import ReadSection
from millprep.witness.batch import check_batch
from millprep.witness.beside_rows import check_beside_rows
from millprep.witness.finding_zero import check_zero
from millprep.witness.hand import check_hands
from millprep.witness.held import check_hold
from millprep.witness.lying import check_lies, check_skew, check_turn
from millprep.witness.quill import check_head
from millprep.witness.set_up import SetUp
from millprep.witness.stacked import check_stack
from millprep.witness.told_places import check_places, check_recover


def check_setting_up(one: SetUp) -> Iterator[Finding]:
    """What a listing says; a dial sheet has its own ZERO, PLACES and RECOVER."""
    yield from check_lying(one)
    yield from check_zero(one)
    yield from check_places(one)
    yield from check_recover(one)
    yield from check_beside_rows(one)


def check_lying(one: SetUp) -> Iterator[Finding]:
    """How the part lies, comes there, is held, and which hand it is; where the head stands."""
    yield from check_stack(one)
    yield from check_lies(one)
    yield from check_turn(one)
    yield from check_hold(one)
    yield from check_skew(one)
    yield from check_head(one)
    yield from check_batch(one)
    setup, part = one.printed.setup, one.printed.part
    faces = [setup.face] if any(hole.face == setup.face for hole in part.holes) else []
    for said in one.page.whole.said:
        if said.group == "HAND" and said.has("face") and said.face("face") != setup.face:
            yield one.wrong(f"HAND speaks of {said['face']}", said)
    named = one.page.title.named
    whole = _with_hand(one) if faces else one.page.whole
    yield from check_hands(whole, part, faces, one.wrong, named)


def _with_hand(one: SetUp) -> ReadSection:
    """The page with what an earlier one says of the hand, where it says nothing itself and its
    form need not say it again."""
    for page in (one, *one.earlier) if one.is_folded else ():
        told = tuple(said for said in page.page.whole.said if said.group == "HAND")
        if told and page is not one:
            return replace(one.page.whole, said=(*one.page.whole.said, *told))
        if told:
            break
    return one.page.whole
