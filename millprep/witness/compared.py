"""What a sheet says beside what it should say: the one comparison of the witnesses of reports.

A witness works out what every slot of every sentence and row should say; here sentences and rows
are counted and put beside that, slot by slot. Imports the part and `reading`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.part import Part
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadPage, ReadSection, ReadSheet
from millprep.reading.pages.slots import Names, Said, as_figure, names_by_letters
from millprep.reference.materials import material_named
from millprep.witness.asked import (
    CAUTIONS,
    check_sound_words,
    complaint,
    plain,
    same_words,
    unreadable,
)

_DIGIT_MM = {"mm": 0.001, "inch": 0.0001 * 25.4}
SLACK_MM = 2e-6
_SIZE_ROUNDED_MM = 0.0013  # sizes in sentences are told to 0.001 mm or 0.0001 in
_DRY = "none, dry"
_BURNING = {"magnesium", "titanium"}  # their fine swarf; every sheet says so (common practice)
Fault = tuple[str, Said]
Due = Mapping[str, Any]
"""What a sentence should say, by slot: words, or a set of those that may stand there; several in a
list; a count; a length in mm, as a float to half of its last digit, or `Within`; whether anything
stands there; None for nothing; what cannot be told so, a question to the shown text."""


@frozen
class Within:
    """A length in mm, or a plain number, that lies between these."""

    least: float
    greatest: float
    is_plain: bool = False


def near(right: float, slack: float, *, is_plain: bool = False) -> Within:
    """What may be off by so much."""
    return Within(right - slack, right + slack, is_plain)


class Question:
    """What cannot be told as a value. words : what would be right, for what is found"""

    def __init__(self, words: object, asks: Callable[[Any], bool]) -> None:
        self.words, self.asks = words, asks

    def __call__(self, told: Any) -> bool:
        return told is not None and self.asks(told)

    def __str__(self) -> str:
        return str(self.words)


def any_case(name: str) -> Question:
    """A face, an axis or "centre", in capitals or not."""
    return Question(name.upper(), lambda told: str(told).removeprefix("the ").lower() == name)


def once(is_due: object, **due: Any) -> Sequence[Due]:
    """One sentence of a template where it is due, none where it is not."""
    return [due] if is_due else []


def is_so(said: Said, name: str, right: Any, half_mm: float) -> bool:
    """Whether a slot says what it should. Raises UnreadableSheet for a figure that is none."""
    told = said.slots.get(name)
    if isinstance(right, bool):
        return (told is not None) is right
    if isinstance(right, set | frozenset):
        return told in right
    if callable(right):
        return bool(right(told))
    if told is None or right is None:
        return told is right
    if isinstance(right, float):
        exact = said.slots.get(f"{name}_mm")
        if exact is not None and abs(float(exact) - right) > SLACK_MM:
            return False
        right = near(right, half_mm)
    if isinstance(right, Within):
        value = float(told) if right.is_plain else said.mm(name)
        return right.least <= value <= right.greatest
    if isinstance(right, int):
        return int(told) == right
    return same_words(told, right) if isinstance(right, str) else [*told] == [*right]


class Report:
    """A sheet that was read, whose figures are finer than the readout's."""

    sheet: ReadSheet

    @property
    def title(self) -> Said:
        return self.sheet.pages[0].title

    @cached_property
    def whole(self) -> ReadSection:
        return self.sheet.pages[0].whole

    @cached_property
    def half_mm(self) -> float:
        """Half of the last digit."""
        return _DIGIT_MM[self.sheet.units] / 2 + SLACK_MM

    def unlike(self, said: Said, due: Due) -> Iterator[Fault]:
        """Each slot that says another thing than it should."""
        for name, right in due.items():
            if not is_so(said, name, right, self.half_mm):
                text = said.text or said.slots.get("hole") or said.slug
                yield f"{text}: {name} is {said.slots.get(name)}, not {right}", said

    def sentences(
        self, due: Mapping[str, Sequence[Due]], among: ReadSection | None = None
    ) -> Iterator[Fault]:
        """Each template stands there as often and in the order that it should, and says so.

        due : by template, or several with " | " between of which any will do
        """
        for slugs, wanted in due.items():
            told = (among or self.whole).all(*slugs.split(" | "))
            if len(told) != len(wanted):
                yield f"{len(told)} sentences of {slugs}, not {len(wanted)}", self.title
            for said, one in zip(told, wanted, strict=False):
                yield from self.unlike(said, one)

    def rows(self, table: str, due: Mapping[str, Due], key: str = "hole") -> Iterator[Fault]:
        """Each row once, whatever the order, and it says so. due : by the name in the row"""
        rows = [row.said for row in self.whole.rows if row.table == table]
        if sorted(said[key] for said in rows) != sorted(due):
            yield f"the table {table} does not have every {key} once", self.title
        for said in rows:
            yield from self.unlike(said, due.get(said[key], {}))

    def cautions(self) -> Iterator[Fault]:
        """All of them, though a page may break them at any place."""
        told = "".join(one["caution"] for one in self.whole.all("caution"))
        if not same_words(told, "".join(CAUTIONS)):
            yield "TAKE CARE does not have the cautions", self.title

    def heading(
        self,
        part: Part,
        remarks: Sequence[Finding] | None,
        *,
        page: ReadPage | None = None,
        advice: bool | None = False,
        stock: bool = False,
        is_later: bool = False,
        is_marked: bool = True,
    ) -> Iterator[Fault]:
        """Name, mark, drawing, note, stock, and the remarks.

        remarks : what was found about this page; None to leave that
        page    : None for the first
        advice  : whether what to mind in the material has to be told; False: only where its swarf
                  burns, None: not there either
        stock   : whether stock and note have to be told
        is_later : it is a page behind the first of its sheet: the mark is told again, no more
        is_marked : whether the part's mark has to be told
        """
        page = page or self.sheet.pages[0]
        yield from self.unlike(page.title, {"part": {part.name, part.name.upper()}})
        marked = {"part_mark": part.mark, "units": self.sheet.units}
        drawing = part.drawing or None
        block = "stock-block" if part.stock.axis is None else "stock-disc"
        general = part.general_tolerance_mm if advice or is_later else None
        positions = None if general is None else _size(general, self.sheet.units)
        is_bare = not stock and not is_later
        mind, oil = advice_due(part, advice), oil_due(part) if advice else ""
        minding = "mind" if not oil else "mind-dry" if oil == _DRY else "mind-oil"
        due = {
            block: once(stock, **_stock(part, self.sheet.units), drawing=drawing),
            "marked": once(is_bare, **marked, drawing=drawing),
            "marked-part": once(is_marked and not is_bare, **marked, positions=positions),
            **dict.fromkeys(("mind", "mind-dry", "mind-oil"), ()),
            minding: once(mind or oil, advice=mind or None, oil=oil or None),
            "note": once(part.note and stock, note=part.note),
        }
        yield from self.sentences(due, page.whole)
        unit = {"mm": "mm", "inch": "in"}[self.sheet.units]
        for said in page.whole.all(block):
            if said.named is not None and said.named.get("unit") != unit:
                yield f"the stock is told in {said.named.get('unit')}", said
        if remarks is not None:
            wanted = Counter((f.severity, plain(f.message)) for f in remarks)
            told = Counter((s["severity"], plain(s["message"])) for s in page.whole.all("remark"))
            if wanted != told:
                yield f"REMARKS has {told.total()} remarks of {wanted.total()}", page.title


@frozen
class SheetReport(Report):
    """A sheet alone."""

    sheet: ReadSheet


def advice_due(part: Part, advice: bool | None) -> str:
    """What has to be told to mind in the material."""
    material = material_named(part.material)
    if material is None or advice is None or not (advice or material.name in _BURNING):
        return ""
    return material.advice


def oil_due(part: Part) -> str:
    """The lubricant of the table of materials."""
    material = material_named(part.material)
    return "" if material is None else material.lubricant


def _size(right_mm: float, units: Units) -> Question:
    """A figure above what says in which unit figures are."""

    def is_it(told: str) -> bool:
        return abs(as_figure(told, units).mm - right_mm) <= _SIZE_ROUNDED_MM

    return Question(f"{right_mm:g} mm", is_it)


def _stock(part: Part, units: Units) -> Due:
    """Its sizes along x, y and z; of a disc across and along."""
    stock = part.stock
    sizes = list(stock.size_mm)
    if stock.axis is not None:
        sizes = [stock.size_mm[1 if stock.axis == 0 else 0], stock.size_mm[stock.axis]]

    def are_so(told: Sequence[str]) -> bool:
        pairs = zip(sizes, told, strict=False)
        return len(told) == len(sizes) and all(_size(a, units)(b) for a, b in pairs)

    bore = None if stock.bore_mm is None else _size(stock.bore_mm, units)
    return {
        "sizes": Question(sizes, are_so),
        "material": part.material,
        "measured": stock.size_mm != stock.nominal_mm,
        **({} if stock.axis is None else {"bore": bore}),
    }


def report_findings(
    data: bytes,
    name: str,
    form: SheetForm,
    names: Names,
    faults: Callable[[ReadSheet], Iterable[Fault]],
    *,
    table: str,
    file: str,
    what: str = "the sheet",
) -> list[Finding]:
    """The faults of a sheet that was read back, and words that are not the sound ones.

    names : of holes and members; faults : may raise UnreadableSheet; table : the one that CSV has
    """
    complain = complaint(file)
    try:
        sheet = read_sheet(data, name, form, names, table=table)
        found = [complain(words, said) for words, said in faults(sheet)]
    except UnreadableSheet as fault:
        return [unreadable(what, fault, file)]
    if form != "csv":
        found += check_sound_words(sheet.pages[0].whole, complain)
    return found


def names_of(part: Part) -> Names:
    """What the slots for holes may say."""
    named = [*(hole.name for hole in part.holes), *(one.hole for one in part.left)]
    return names_by_letters(hole=named)
