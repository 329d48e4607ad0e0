"""A sheet as a document: titles, fields of sentences, tables, the same for every form.

A sentence is a template of `base.wording` and what fills its slots. Here a slot becomes the text
that is shown, and the value that JSON has. Imports base.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from millprep.base.findings import Finding
from millprep.base.records import anew, frozen, replace
from millprep.base.units import MM_PER_INCH, Units
from millprep.base.wording import Optional, Piece, Slot, Template, templates, wording

if TYPE_CHECKING:
    from millprep.sheets.picture import Pictures

WARNINGS = ("LOCK ", "HEAD: ", "SCRAP: ", "NOT IN THE DRAWER")
"""How sentences begin that are set in bold."""
_EXACT_DECIMALS = 6
_Item = TypeVar("_Item")


@frozen
class Shown:
    """A length: as the sheet shows it, in its units or with a unit of its own; exact_mm : before
    it was rounded."""

    text: str
    exact_mm: float | None = None

    def __str__(self) -> str:
        return self.text


@frozen
class Sentence:
    """A template of a sheet's wording, by its slug, and the values of its slots.

    A slot that is None, or not there, takes the words around it away; faces and axes are in small
    letters. What JSON has beside the slots stands under "also", among those of a part too.
    """

    sheet: str
    slug: str
    slots: Mapping[str, Any]

    @property
    def template(self) -> Template:
        return templates(self.sheet)[self.slug]

    @cached_property
    def cells(self) -> tuple[str, ...]:
        """The texts of its cells; "" for one that is left out."""
        return tuple(_text(self.sheet, cell, self.slots) for cell in self.template.cells)

    @property
    def is_warning(self) -> bool:
        return str(self).startswith(WARNINGS)

    def __str__(self) -> str:
        """Its cells, those that there are, well apart."""
        return "  ".join(filter(None, self.cells))


@frozen
class Field:
    """Sentences beside a label; the label is the sentence of its group's name.

    runs_on : whether text has them one after the other, as one paragraph, those of a label that is
    not shown behind what is above them
    """

    label: Sentence
    sentences: tuple[Sentence, ...]
    runs_on: bool = False

    @property
    def is_silent(self) -> bool:
        """Whether the label is not shown."""
        return wording(self.label.sheet)[self.label.slug].is_silent


@frozen
class Column:
    """How wide a column of text is; right : figures end together. gap : blanks before it."""

    width: int = 0
    right: bool = False
    gap: int = 1


@frozen
class Row:
    """A row of a table, what stands below it, and what only JSON and CSV have of it.

    csv : what CSV has otherwise than JSON
    """

    cells: Sentence
    below: tuple[Sentence, ...] = ()
    also: Mapping[str, Any] = anew(factory=dict)
    csv: Mapping[str, Any] = anew(factory=dict)


@frozen
class Table:
    """Rows under a head. name : of its list in JSON; nested : of the rows that share these slots,
    the list within (name, slots): ("lines", ("height_mm", "gauge")); folds : how many cells of
    a row stand in a line of their own, where the head is that of the others; 0 : all in one."""

    name: str
    head: Sentence | None
    rows: tuple[Row, ...]
    columns: tuple[Column, ...]
    boxes: bool = True
    nested: tuple[str, tuple[str, ...]] | None = None
    folds: int = 0

    @property
    def is_numbered(self) -> bool:
        """Whether its rows begin with a count, which numbers them."""
        first = self.rows[0].cells.template.cells[0][0] if self.rows else ""
        return isinstance(first, Slot) and first.kind == "count"

    @property
    def heads(self) -> tuple[str, ...]:
        """Over the columns of the line that the head is of."""
        assert self.head is not None
        return self.cells(self.head)[-len(self.columns[self.folds :]) :]

    def cells(self, sentence: Sentence) -> tuple[str, ...]:
        """The texts of the cells of a row, or of the head, but for those whose head is left out:
        they have no column."""
        texts = sentence.cells
        if self.head is None:
            return texts
        optional = [
            len(cell) == 1 and isinstance(cell[0], Optional) for cell in self.head.template.cells
        ]
        gone = {i for i, is_so in enumerate(optional) if is_so and not self.head.cells[i]}
        return tuple(text for i, text in enumerate(texts) if i not in gone) if gone else texts

    @property
    def runs_on(self) -> bool:
        """Whether rows stand one after the other, as many as a line holds."""
        return any(row.cells.slug.endswith(" each") for row in self.rows)


@frozen
class Section:
    """What stands between two rules, or a piece of that, without rules. key : of the list in JSON
    in which it is an entry; "" : it belongs to what it stands in; pictures : beside its words, on
    paper and screen only."""

    items: tuple[Field | Table | Section, ...]
    key: str = ""
    also: Mapping[str, Any] = anew(factory=dict)
    pictures: Pictures | None = None


@frozen
class Page:
    """What begins a fresh page. key : as of a section."""

    title: Sentence
    heading: tuple[Sentence, ...]
    sections: tuple[Section, ...]
    key: str = ""
    also: Mapping[str, Any] = anew(factory=dict)


@frozen
class Document:
    """A whole sheet. also : what JSON has beside; csv : the list in JSON
    whose entries are the rows of CSV, and its columns; is_report : whether its text goes on like
    prose, its labels on lines of their own, and a label that ends in a colon begins a paragraph;
    ticked_by : the command that its page shows with the numbers of what is ticked on it, which it
    keeps; "" for a page that keeps nothing."""

    sheet: str
    units: Units
    pages: tuple[Page, ...]
    findings: tuple[Finding, ...] = ()
    foot: tuple[Section, ...] = ()
    also: Mapping[str, Any] = anew(factory=dict)
    csv: tuple[str, tuple[str, ...]] | None = None
    is_report: bool = False
    ticked_by: str = ""


class Sayer:
    """Fills the templates of one sheet.

    A slot of a few words that is not spoken of says the first of them.
    """

    def __init__(self, sheet: str) -> None:
        self.sheet = sheet

    def __call__(self, slug: str, /, **slots: Any) -> Sentence:
        for cell in templates(self.sheet)[slug].cells:
            for piece in cell:
                if isinstance(piece, Slot) and piece.words and not piece.counts:
                    slots.setdefault(piece.name, piece.words[0])
        return Sentence(self.sheet, slug, slots)

    def field(self, label: str, *sentences: Sentence | None, **slots: Any) -> Field:
        """The sentences that there are, beside their label."""
        return Field(self(label, **slots), tuple(one for one in sentences if one is not None))


def _text(sheet: str, pieces: Sequence[Piece], values: Mapping[str, Any]) -> str:
    return "".join(_piece(sheet, piece, values) for piece in pieces)


def _piece(sheet: str, piece: Piece, values: Mapping[str, Any]) -> str:
    if isinstance(piece, str):
        return piece
    if isinstance(piece, Optional):
        slots = (one for one in piece.pieces if isinstance(one, Slot))
        is_given = all(_is_given(slot, values) for slot in slots)
        return _text(sheet, piece.pieces, values) if is_given else ""
    value = values.get(piece.name)
    if piece.counts:
        return piece.words[0 if str(value).removeprefix("-") == "1" else 1]
    if value is None and "" in piece.words:
        return ""
    if value is None and not piece.is_in_json:
        return piece.texts[0]
    if piece.joint is not None and not isinstance(value, str):
        return piece.joint.join(_one(sheet, piece, one) for one in value or ())
    return _one(sheet, piece, value)


def _is_given(slot: Slot, values: Mapping[str, Any]) -> bool:
    """A word that JSON has not is given unless it is None."""
    is_asked = slot.is_in_json or slot.kind == "reading"
    return values.get(slot.name, None if is_asked else "") is not None or slot.counts


def _one(sheet: str, slot: Slot, value: Any) -> str:
    if slot.part:
        return _text(sheet, templates(sheet)[slot.part].cells[0], value)
    if slot.words:
        if value not in slot.words:
            raise ValueError(f"{slot.name} says {value!r}, not one of {slot.words}")
        return slot.texts[slot.words.index(value)]
    if slot.kind == "axis":
        return str(value).upper()
    if slot.kind == "faces":
        return ", ".join(face.upper() for face in value)
    if slot.kind in ("face", "zero", "over"):
        centre = "the centre line" if slot.kind == "over" else "the centre"
        return centre if value == "centre" else str(value).upper()
    return str(value)


def plain(sentence: Sentence, units: Units) -> dict[str, Any]:
    """The values of a sentence's slots, for JSON: lengths of names that end in _mm in mm."""
    return _plain(sentence.sheet, sentence.template.slots, sentence.slots, units)


def _plain(
    sheet: str, slots: Sequence[Slot], values: Mapping[str, Any], units: Units
) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for slot in slots:
        value = values.get(slot.name)
        if not slot.is_in_json:
            continue
        if slot.part:
            inner = templates(sheet)[slot.part].slots
            held = [_plain(sheet, inner, one, units) for one in _several(slot, value)]
            value = held if slot.joint is not None else next(iter(held), None)
        elif slot.joint is not None and value is not None:
            value = [_simple(slot, one, units) for one in value]
        else:
            is_own = not is_in_mm(slot.name)
            if is_own and isinstance(value, Shown) and value.exact_mm is not None:
                found[f"{slot.name}_exact_mm"] = round(value.exact_mm, _EXACT_DECIMALS)
            value = None if value is None or value == "" else _simple(slot, value, units)
        found[slot.name] = value
    return {**found, **values.get("also", {})}


def _several(slot: Slot, value: Any) -> Sequence[Any]:
    if value is None:
        return ()
    several: Sequence[Any] = value if slot.joint is not None else (value,)
    return several


def _simple(slot: Slot, value: Any, units: Units) -> Any:
    if slot.kind in ("figure", "length", "number", "angle", "deviation", "signed"):
        return _in_mm(value, units) if is_in_mm(slot.name) else float(str(value).split()[0])
    if slot.kind == "faces":
        return list(value)
    return value if isinstance(value, (int, bool)) else str(value)


def is_in_mm(name: str) -> bool:
    """Whether JSON has what is called so in mm, or mm a minute, whatever the sheet shows."""
    return name.endswith(("_mm", "_mm_per_min"))


def _in_mm(value: Any, units: Units) -> float:
    if isinstance(value, Shown) and value.exact_mm is not None:
        return round(value.exact_mm, _EXACT_DECIMALS)
    figure, _, unit = str(value).partition(" ")
    inches = unit == "in" if unit else units == "inch"
    return round(float(figure) * (float(MM_PER_INCH) if inches else 1.0), _EXACT_DECIMALS)


def fields_of(section: Section | Page) -> Iterator[Field]:
    """The fields of a section, its own only."""
    items = section.items if isinstance(section, Section) else ()
    yield from (item for item in items if isinstance(item, Field))


def running_on(items: Iterable[Field | _Item]) -> Iterator[Field | _Item]:
    """Fields that run on with the sentences of those behind them."""
    held: Field | None = None
    for item in items:
        if held is not None and isinstance(item, Field) and item.is_silent and item.runs_on:
            held = replace(held, sentences=(*held.sentences, *item.sentences))
            continue
        if held is not None:
            yield held
        held = item if isinstance(item, Field) and item.runs_on else None
        if held is None:
            yield item
    if held is not None:
        yield held


def items_of(section: Section) -> Iterator[Field | Table]:
    """What stands in a section and in its pieces."""
    for item in section.items:
        if isinstance(item, Section):
            yield from items_of(item)
        else:
            yield item
