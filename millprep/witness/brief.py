"""A sheet for the second piece beside the whole one that was held against the part: what is left
of it says the same, and only what explains is left out. Imports `reading`."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.reading.pages.sheet import ReadPage, ReadSheet
from millprep.reading.pages.slots import Said
from millprep.witness.asked import complaint, plain

_MAY_GO = frozenset(
    ("TURN", "VICE", "LINE UP", "HAND", "TRY", "PLACES", "TURNED", "ASSUMED", "DIALS")
)
_MAY_GO_ABOVE = frozenset(("mind", "mind-dry", "mind-oil", "note"))


def check_brief(brief: ReadSheet, whole: ReadSheet, file: str) -> Iterator[Finding]:
    """How the brief sheet differs from the whole one beside what may be left out of it."""
    complain = complaint(file)
    if len(brief.pages) != len(whole.pages) or brief.units != whole.units:
        yield complain("the short sheet has other pages than the whole", brief.pages[0].title)
        return
    for short, long in zip(brief.pages, whole.pages, strict=True):
        if [*_told(short)] != [*_told(long, is_whole=True)]:
            words = "the short sheet does not say what the whole says"
            yield complain(words, short.title)


def _told(page: ReadPage, *, is_whole: bool = False) -> Iterator[tuple[str, str]]:
    """Every sentence and row that has to stay, in its order; cautions, which a line may break at
    any place, as their letters."""
    yield "title", str(page.title.slots)
    whole = page.whole
    for said in whole.said:
        if said.slug != "caution" and not (is_whole and _may_go(said)):
            yield said.slug, str(said.slots)
    yield "cautions", plain("".join(one["caution"] for one in whole.all("caution")))
    for row in whole.rows:
        head = None if row.head is None else str(row.head.slots)
        below = [(one.slug, str(one.slots)) for one in row.below]
        yield row.table, str((row.said.slots, head, below))


def _may_go(said: Said) -> bool:
    is_note = said.slug == "remark" and said["severity"] == "note"
    return is_note or said.group in _MAY_GO or said.slug in _MAY_GO_ABOVE
