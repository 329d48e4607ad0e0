"""What a sheet says beside what it should say: the one comparison of the witnesses of reports.

A witness works out what every slot of every sentence and row should say; here sentences and rows
are counted and put beside that, slot by slot. Imports the part and `reading`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Part
from millprep.reading.pages.forms import SheetForm, read_sheet
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadSection, ReadSheet
from millprep.reading.pages.slots import Names, Said, names_by_letters
from millprep.witness.asked import (
    CAUTIONS,
    check_heading_of,
    check_sound_words,
    complaint,
    same_words,
    unreadable,
)

_DIGIT_MM = {"mm": 0.001, "inch": 0.0001 * 25.4}
SLACK_MM = 2e-6
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
        remarks: Sequence[Finding],
        *,
        stock: bool = False,
        advice: bool | None = False,
    ) -> Iterator[Fault]:
        """Name, mark and remarks. stock : whether it is told; advice : of `check_heading_of`"""
        page = self.sheet.pages[0]
        yield from check_heading_of(
            self.sheet, page, part, _both, advice=advice, remarks=remarks, stock=stock
        )


def _both(words: str, said: Said) -> Fault:
    return words, said


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
