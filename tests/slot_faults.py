"""Documents with a slot changed or a sentence left out: what a broken writer would hand over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from millprep.base.records import replace
from millprep.base.wording import Slot, templates, wording
from millprep.model.part import FACES
from millprep.sheets.document import Document, Field, Page, Row, Section, Sentence, Shown, Table
from millprep.witness.questions import questions_of
from millprep.writers import written

Change = Callable[[Sentence], Sentence | None]
SIDES = ("left hand", "right hand", "towards you", "away")


def sentences_of(document: Document) -> list[Sentence]:
    """Every sentence, label, title, head and row."""
    found: list[Sentence] = []

    def look(sentence: Sentence) -> Sentence:
        found.append(sentence)
        return sentence

    mapped(document, look)
    return found


def mapped(document: Document, change: Change) -> Document:
    """The document with each sentence changed; one that becomes None is left out."""
    pages = tuple(_page(page, change) for page in document.pages)
    foot = tuple(_section(one, change) for one in document.foot)
    return replace(document, pages=pages, foot=foot)


def _page(page: Page, change: Change) -> Page:
    return replace(
        page,
        title=change(page.title) or page.title,
        heading=tuple(_kept(page.heading, change)),
        sections=tuple(_section(one, change) for one in page.sections),
    )


def _kept(sentences: tuple[Sentence, ...], change: Change) -> Iterator[Sentence]:
    for one in sentences:
        if (made := change(one)) is not None:
            yield made


def _section(section: Section, change: Change) -> Section:
    items = (_item(item, change) for item in section.items)
    return replace(section, items=tuple(item for item in items if item is not None))


def _item(item: Any, change: Change) -> Any:
    if isinstance(item, Section):
        return _section(item, change)
    if isinstance(item, Field):
        sentences = tuple(_kept(item.sentences, change))
        label = change(item.label) or item.label
        return (
            replace(item, label=label, sentences=sentences)
            if sentences or not item.sentences
            else None
        )
    assert isinstance(item, Table)
    head = item.head and (change(item.head) or item.head)
    rows = tuple(_row(row, cells, change) for row in item.rows if (cells := change(row.cells)))
    return replace(item, head=head, rows=rows) if rows else None


def _row(row: Row, cells: Sentence, change: Change) -> Row:
    also = {name: cells.slots.get(name, value) for name, value in row.also.items()}
    return replace(row, cells=cells, below=tuple(_kept(row.below, change)), also=also)


def slots_in(document: Document) -> dict[tuple[str, str], int]:
    """Every slot that something is said in, as (template, slot), and how often.

    A slot of a filled part is "slot.slot".
    """
    found = Counter(
        (sentence.slug, name)
        for sentence in sentences_of(document)
        for slot in sentence.template.slots
        for name in _names(sentence, slot)
    )
    return dict(found)


def _names(sentence: Sentence, slot: Slot) -> Iterator[str]:
    value = sentence.slots.get(slot.name)
    if slot.counts or not _is_said(value):
        return
    if not slot.part:
        yield slot.name
        return
    inner = templates(sentence.sheet)[slot.part].slots
    given = {name for one in _several(value) for name in one if _is_said(one[name])}
    yield from (f"{slot.name}.{one.name}" for one in inner if one.name in given)


def _several(value: Any) -> Sequence[Mapping[str, Any]]:
    return [value] if isinstance(value, Mapping) else value


def _is_said(value: Any) -> bool:
    return value is not None and value != "" and value != ()


def question_of(document: Document, slug: str, name: str) -> str:
    """What the witness asks of a slot, also of a slot of a part."""
    outer, _, inner = name.partition(".")
    if not inner:
        return questions_of(slug)[name]
    slots = templates(document.sheet)[slug].slots
    return questions_of(next(slot.part for slot in slots if slot.name == outer))[inner]


def kind_of(document: Document, slug: str, name: str) -> object:
    """What a slot may say: its kind, or its words."""
    outer, _, inner = name.partition(".")
    known = templates(document.sheet)
    slot = next(one for one in known[slug].slots if one.name == outer)
    if inner:
        slot = next(one for one in known[slot.part].slots if one.name == inner)
    return slot.kind or slot.words


def with_slot_changed(document: Document, slug: str, name: str, which: int = 0) -> Document:
    """One of the sentences of a template, by its place among them, says another thing there."""
    seen = -1
    outer, _, inner = name.partition(".")

    def change(sentence: Sentence) -> Sentence:
        nonlocal seen
        if sentence.slug != slug:
            return sentence
        slot = next(one for one in sentence.template.slots if one.name == outer)
        if name not in _names(sentence, slot):
            return sentence
        seen += 1
        if seen != which:
            return sentence
        other = another(sentence.sheet, slot, sentence.slots[outer], inner)
        return replace(sentence, slots={**sentence.slots, outer: other})

    return mapped(document, change)


def without(document: Document, slug: str) -> Document:
    """Every sentence of a template left out."""
    return mapped(document, lambda one: None if one.slug == slug else one)


def slots_let_through(
    document: Document,
    is_stopped: Callable[[Document], bool],
    is_absent: Callable[[str, str], bool] = lambda slug, name: False,
) -> list[tuple[str, str]]:
    """Slots that are to be asked, and may say another thing; is_absent : from the form"""
    return [
        (slug, name)
        for slug, name in slots_in(document)
        if not question_of(document, slug, name).startswith("not compared")
        and not is_absent(slug, name)
        and not is_stopped(with_slot_changed(document, slug, name))
    ]


def sentences_let_through(document: Document, is_stopped: Callable[[Document], bool]) -> list[str]:
    """Templates that are not missed; labels, heads and the title cannot be left out."""
    groups = wording(document.sheet)
    kept = {group.label.slug for group in groups.values()}
    kept |= {one.slug for one in groups["title"].templates}
    slugs = {one.slug for one in sentences_of(document) if " head" not in one.slug} - kept
    return [slug for slug in sorted(slugs) if not is_stopped(without(document, slug))]


def bytes_of(document: Document, form: Any) -> bytes | None:
    """The sheet in a form; None where JSON, which has one value for a name, is refused."""
    try:
        made: str | bytes = written(document.sheet, document, form)
    except ValueError:
        return None
    return made if isinstance(made, bytes) else made.encode()


def another(sheet: str, slot: Slot, value: Any, inner: str = "") -> Any:
    """Another value that the slot could say as well; inner : the slot of its part to change."""
    if slot.part:
        within = next(one for one in templates(sheet)[slot.part].slots if one.name == inner)
        if slot.joint is None:
            return {**value, inner: another(sheet, within, value[inner])}
        index = next(n for n, one in enumerate(value) if _is_said(one.get(inner)))
        changed = {**value[index], inner: another(sheet, within, value[index][inner])}
        return [*value[:index], changed, *value[index + 1 :]]
    if slot.joint is not None:
        return [_another(slot, value[0]), *value[1:]]
    return _another(slot, value)


def _another(slot: Slot, value: Any) -> Any:
    if slot.words:
        return next(word for word in slot.words if word != value)
    if slot.kind == "faces":
        return tuple(value[1:]) or tuple(face for face in FACES if face not in value)[:1]
    if slot.kind in ("face", "zero"):
        return next(face for face in FACES if face != value)
    if slot.kind == "side":
        return next(side for side in SIDES if side != value)
    if slot.kind == "axis":
        return "Y" if str(value).upper() == "X" else "X"
    if slot.kind == "mark":
        return "0" + str(value)[1:] if str(value)[:1] != "0" else "1" + str(value)[1:]
    if slot.kind in ("count", "turns"):
        return int(value) + 1
    if slot.kind in ("beyond", "deviation"):
        return f"{Decimal(str(value)) + 1:+}"
    if slot.kind == "ruled":
        return "9"
    if slot.kind == "over":
        return "top" if value != "top" else "left"
    if slot.kind == "reading":
        first, *more = str(value).replace("-", "0").split("/")
        return "/".join([str(_another_figure(first)), *more])
    if slot.kind == "signed":
        return Shown(f"{Decimal(str(value)) + 3:+}", value.exact_mm + 3)
    if slot.kind in ("figure", "length", "number", "angle"):
        return _another_figure(value)
    if slot.kind == "rule":
        return "9 mm" if str(value).endswith("mm") else "9 in"
    return f"{value} other"


def _another_figure(value: Any) -> Any:
    """Three times as much, and three more: no slip of rounding."""
    figure, _, unit = str(value).partition(" ")
    other = Decimal(figure) * 3 + 3
    text = f"{other} {unit}".strip()
    exact_mm = value.exact_mm if isinstance(value, Shown) else None
    return text if exact_mm is None else Shown(text, exact_mm * 3 + (76.2 if unit == "in" else 3))


Slots = Mapping[str, Any]
