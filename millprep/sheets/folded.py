"""A sheet for the mill as it is printed: what holds for all its setups is told once, and what says
nothing not at all. JSON has it whole. Imports sheets.document."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from millprep.base.records import replace
from millprep.sheets.document import Document, Field, Page, Sayer, Section, Sentence, Table

_FAR = {"zero-mean": "far-mean", "zero-size": "far-size"}
"""What it means that a far side does not read as it should: of its faces, and of all."""
_TOOLS = ("tool", "tool-by-hand")

Items = tuple[Field | Table | Section, ...]


def folded(document: Document) -> Document:
    """The document as it is printed; one that is so already stays as it is."""
    if document.sheet not in ("listing", "dials"):
        return document
    folder = _Folder(is_alone=len(document.pages) == 1)
    return replace(document, pages=tuple(map(folder.page, document.pages)))


class _Folder:
    """Goes from page to page and keeps what was told."""

    def __init__(self, *, is_alone: bool) -> None:
        self._is_alone = is_alone  # then faces are named that are others in every setup
        self._told: set[str] = set()

    def page(self, page: Page) -> Page:
        heading = tuple(one for one in page.heading if self._is_news(str(one)))
        sections = _closed(tuple(map(self._section, page.sections)))
        return replace(page, heading=heading, sections=sections)

    def _is_news(self, words: str) -> bool:
        is_news = words not in self._told
        self._told.add(words)
        return is_news

    def _section(self, section: Section) -> Section:
        return replace(section, items=self._items(section.items))

    def _items(self, items: Items) -> Items:
        found: list[Field | Table | Section] = []
        for item, follows in zip_longest(items, items[1:]):
            if isinstance(item, Section):
                found.append(self._section(item))
            elif isinstance(item, Field):
                found += self._field(item, follows)
            else:
                found.append(item)
        return tuple(found)

    def _field(self, field: Field, follows: object) -> Sequence[Field]:
        """Without what was told; the label of figures to check stays, which follow."""
        if isinstance(follows, Table) and [one.slug for one in field.sentences] == ["look-face"]:
            return [replace(field, sentences=())]
        told = (self._sentence(one) for one in field.sentences)
        sentences = tuple(one for one in told if one is not None)
        return [replace(field, sentences=sentences)] if sentences or not field.sentences else []

    def _sentence(self, one: Sentence) -> Sentence | None:
        if one.template.group == "HAND":
            return one if self._is_news(str(one)) else None
        if one.slug in _FAR and not self._is_alone:
            return Sayer(one.sheet)(_FAR[one.slug]) if self._is_news(one.slug) else None
        if one.slug == "each-tool" and not self._is_alone:
            slots = {name: one.slots.get(name) for name in ("along", "sets")}
            told = Sayer(one.sheet)("each-tool-up", **slots)
            return told if self._is_news(str(told)) else None
        if one.slug == "turn" and not self._is_news("deburr"):
            return _without(one, "_wipe")
        if one.slug == "all-turns" and not self._is_news("back half a turn"):
            return _without(one, "_back")
        if one.slug == "lies" and (reason := one.slots.get("laid_for")) is not None:
            return one if self._is_news(f"laid for {reason}") else _without(one, "laid_for")
        if one.slug in _TOOLS and one.slots.get("hole_count") == 1:
            return one if one.slots.get("operation") else _without(one, "hole_count")
        return one


def _closed(sections: tuple[Section, ...]) -> tuple[Section, ...]:
    """What is said when all is done stands below the last tool without a rule."""
    *others, last = sections
    closing = last.items[0] if last.items else None
    if not others or not isinstance(closing, Field) or closing.label.slug != "DONE":
        return sections
    tools = replace(others[-1], items=(*others[-1].items, *last.items))
    return (*others[:-1], tools)


def _without(one: Sentence, name: str) -> Sentence:
    return replace(one, slots={**one.slots, name: None})
