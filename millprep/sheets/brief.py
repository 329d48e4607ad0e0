"""A sheet for the second piece: figures stay, what explains them goes. Imports sheets.document."""

from __future__ import annotations

from millprep.base.records import replace
from millprep.sheets.document import Document, Field, Page, Section, Sentence, Table

_EXPLAINS = frozenset(
    ("TURN", "VICE", "LINE UP", "HAND", "TRY", "PLACES", "TURNED", "ASSUMED", "DIALS")
)
_ADVISES = frozenset(("mind", "mind-dry", "mind-oil", "note"))


def brief_of(document: Document) -> Document:
    """The document without what is known from the first piece; cautions and warnings stay."""
    pages = tuple(_page(page) for page in document.pages)
    return replace(document, pages=pages, foot=tuple(map(_section, document.foot)))


def _page(page: Page) -> Page:
    heading = tuple(one for one in page.heading if one.slug not in _ADVISES)
    return replace(page, heading=heading, sections=tuple(map(_section, page.sections)))


def _section(section: Section) -> Section:
    items: list[Field | Table | Section] = []
    for item in section.items:
        if isinstance(item, Section):
            items.append(_section(item))
        elif not isinstance(item, Field):
            items.append(item)
        elif item.label.slug not in _EXPLAINS:
            kept = tuple(one for one in item.sentences if not _is_note(one))
            items += [replace(item, sentences=kept)] if kept or not item.sentences else []
    return replace(section, items=tuple(items))


def _is_note(sentence: Sentence) -> bool:
    return sentence.slug == "remark" and sentence.slots["severity"] == "note"
