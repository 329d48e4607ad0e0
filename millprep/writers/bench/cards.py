"""What the bench page shows, one card a moment: lay, zero, tool, head, touch, hole, look, done.

Made from the listing in millimetres and the same in inches, so that the page never reckons. Each
sentence stands on its card as on the listing, under the same label; what a card says again is
marked so. Imports sheets.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import count, zip_longest
from typing import Any, Literal

from millprep.base.records import frozen
from millprep.sheets.document import Document, Field, Page, Row, Section, Sentence, Table

Kind = Literal["hold", "zero", "tool", "head", "touch", "step", "look", "done"]

_WHAT_TO_DO = {
    "spot drill": "Spot it, down to Z and no deeper.",
    "pilot drill": "Drill the pilot, down to Z.",
    "drill": "Drill down to Z.",
    "bore": "Bore down to Z.",
    "counterbore": "Counterbore down to Z.",
    "spotface": "Clean up the face, down to Z.",
    "countersink": "Countersink down to Z.",
    "ream": "Ream down to Z without a stop.",
    "tap": "Tap down to Z.",
}
_HOLD = ("TURN", "SET UP", "HOLD", "KEEP CLEAR", "HEAD", "HEIGHTS")
_ABOVE = ("SIZES", "LIPS", "POINT", "TURNED", "OIL", "ROWS", "SCRAP", "LOCK", "BORING")
"""What is said above the steps of a tool, on the card of the first."""


@frozen
class Line:
    """A line on a card; kind : "label", "said", "again" for what was said before, "" for words
    that stand on no listing. inch : "" where it is the same."""

    kind: str
    mm: str
    inch: str = ""
    is_warning: bool = False


@frozen
class Card:
    """One thing to do before the next is shown.

    pair : the step's row in mm and in inches, on a step's card only; at, among : its place among
    the tool's steps in this setup
    """

    name: str
    kind: Kind
    title: str
    lines: tuple[Line, ...] = ()
    pair: tuple[Row, Row] | None = None
    do: str = ""
    at: int = 0
    among: int = 0
    tool_number: int = 0
    label: str = ""
    begins: bool = False

    @property
    def step(self) -> dict[str, Any]:
        """What the row says, whatever the unit."""
        assert self.pair is not None
        return step_of(self.pair[0])


def step_of(row: Row) -> dict[str, Any]:
    """The slots of a row and of what hangs on it, with what JSON has of it."""
    below = {name: value for one in row.below for name, value in one.slots.items()}
    return {"pecks": (), **row.cells.slots, **row.also, **below}


@frozen
class SetupCards:
    """A setup's pages in both units, with its cards in order."""

    mm: Page
    inch: Page
    cards: tuple[Card, ...]

    @property
    def heading(self) -> tuple[Line, ...]:
        """Stock, drawing, part mark, and what to mind."""
        pairs = zip(self.mm.heading, self.inch.heading, strict=True)
        return tuple(_line("heading", *pair) for pair in pairs)

    @property
    def number(self) -> int:
        return int(self.mm.title.slots["number"])

    @property
    def face(self) -> str:
        return str(self.mm.title.slots["face"])

    @property
    def steps(self) -> int:
        return sum(card.pair is not None for card in self.cards)


def cards_of(mm: Document, inch: Document) -> tuple[SetupCards, ...]:
    """The cards of every setup; names run through the page: c1, c2, ..."""
    numbers = count(1)
    return tuple(
        SetupCards(one, other, tuple(_Deck(one, other, numbers).cards()))
        for one, other in zip(mm.pages, inch.pages, strict=True)
    )


def lines_of(mm: Iterable[Field], inch: Iterable[Field], kind: str = "said") -> tuple[Line, ...]:
    """The fields of both pages, side by side, under their labels."""
    lines: list[Line] = []
    for one, other in zip_longest(mm, inch):
        first = one or other
        if kind == "said" and not first.is_silent:
            lines.append(Line("label", str(first.label)))
        pairs = zip_longest(one.sentences if one else (), other.sentences if other else ())
        lines += [_line(kind, *pair) for pair in pairs]
    return tuple(lines)


def _line(kind: str, mm: Sentence | None, inch: Sentence | None) -> Line:
    one, other = str(mm or ""), str(inch or "")
    is_warning = any(each.is_warning for each in (mm, inch) if each)
    return Line(kind, one, "" if one == other else other or " ", is_warning)


def _fields(section: Section, *groups: str) -> list[Field]:
    """The fields of a section and of its pieces; of some labels only, where these are given."""
    found: list[Field] = []
    for item in section.items:
        if isinstance(item, Section):
            found += _fields(item, *groups)
        elif isinstance(item, Field) and (not groups or item.label.slug in groups):
            found.append(item)
    return found


def _rows(section: Section) -> list[Row]:
    return [row for item in section.items if isinstance(item, Table) for row in item.rows]


@dataclass
class _Deck:
    """Deals the cards of one setup."""

    mm: Page
    inch: Page
    numbers: Iterator[int]
    dealt: Counter[int] = field(default_factory=Counter)
    in_spindle: int = 0
    named: dict[int, tuple[Line, ...]] = field(default_factory=dict)
    told_apart: tuple[Line, ...] = ()  # which hand it is: on the first card that says to look

    def __post_init__(self) -> None:
        rows = [row for section in self.mm.sections for row in _rows(section)]
        self.among = Counter(step_of(row)["tool_number"] for row in rows)

    def cards(self) -> Iterator[Card]:
        (opening, *blocks, closing) = zip(self.mm.sections, self.inch.sections, strict=True)
        said = {one.label.slug for one in _fields(opening[0])}
        before = self._lines(closing, "REMARKS", "ASSUMED")
        yield self._card("hold", "Set up and clamp", (*self._lines(opening, *_HOLD), *before))
        find = said - {*_HOLD, "HAND"}
        zero = (*self._lines(opening, *find), *self._lines(closing, "RECOVER"))
        self.told_apart = self._lines(opening, "HAND")
        if not any(_fields(block[0], "LOOK") for block in blocks):
            zero, self.told_apart = (*zero, *self.told_apart), ()
        yield self._card("zero", "Find zero", zero)
        for block in blocks:
            yield from self._block(block)
        number = self.mm.title.slots["number"]
        yield self._card("done", f"End of setup {number}", self._lines(closing, "DONE"))

    def _lines(
        self, pair: tuple[Section, Section], *groups: str, kind: str = "said"
    ) -> tuple[Line, ...]:
        mm, inch = (_fields(one, *groups) for one in pair)
        return lines_of(mm, inch, kind)

    def _block(self, pair: tuple[Section, Section]) -> Iterator[Card]:
        tools = [one for one in _fields(pair[0]) if one.label.slug.startswith("TOOL")]
        others = [one for one in _fields(pair[1]) if one.label.slug.startswith("TOOL")]
        for tool, other in zip(tools, others, strict=True):
            number = tool.label.slots["tool"]
            self.named[number] = lines_of([tool], [other], "again")
        if tools and not _rows(pair[0]):
            yield self._card("tool", "Tools", self._lines(pair), begins=True)
            change = self._lines(pair, "CHANGE", kind="again")
            self.named = {number: (*lines, *change) for number, lines in self.named.items()}
        elif tools:
            yield from self._by_tool(pair, tools, others)
        else:
            yield from self._by_hole(pair)

    def _by_tool(
        self, pair: tuple[Section, Section], tools: Sequence[Field], others: Sequence[Field]
    ) -> Iterator[Card]:
        number = self.in_spindle = tools[0].label.slots["tool"]
        lines = lines_of(tools, others)
        steps = "step" if self.among[number] == 1 else "steps"
        among = Line("", f"{self.among[number]} {steps} with it in this setup")
        label, name, *more = lines
        yield self._card(
            "tool",
            f"Tool {number}",
            (name, among, *more),
            label=label.mm,
            begins=True,
            tool_number=number,
        )
        yield from self._moved(pair).values()
        yield self._card("touch", "Set Z", self._lines(pair, "TOUCH"), tool_number=number)
        above = self._lines(pair, *_ABOVE)
        again = tuple(Line("again", one.mm, one.inch, one.is_warning) for one in above)
        for index, rows in enumerate(zip(*map(_rows, pair), strict=True)):
            yield self._step(rows, again if index else above)
        look = self._lines(pair, "LOOK", "READS")
        if look:
            lines, self.told_apart = (*look, *self.told_apart), ()
            yield self._card("look", "Look before you go on", lines, tool_number=number)

    def _by_hole(self, pair: tuple[Section, Section]) -> Iterator[Card]:
        hole = self._lines(pair, "HOLE", "TOUCH", *_ABOVE)
        name = str(_fields(pair[0], "HOLE")[0].sentences[0])
        yield self._card("zero", name, hole[1:], label=hole[0].mm, begins=True)
        measure, moved = self._lines(pair, "MEASURE", "READS"), self._moved(pair)
        for index, rows in enumerate(zip(*map(_rows, pair), strict=True)):
            number, step = (step_of(rows[0])[name] for name in ("tool_number", "step"))
            if step in moved:
                yield moved[step]
            if number != self.in_spindle:
                self.in_spindle = number
                lines = self.named.get(number, ())
                yield self._card("tool", f"Tool {number}", lines, tool_number=number)
            yield self._step(rows, ())
            if measure and not index:
                title = "Measure before it goes deeper"
                yield self._card("look", title, measure, tool_number=number)

    def _moved(self, pair: tuple[Section, Section]) -> dict[int, Card]:
        """The card of each move of the head, by the step that comes after it."""
        told = zip(
            *([s for f in _fields(one, "MOVED") for s in f.sentences] for one in pair), strict=True
        )
        return {
            said.slots["moved_step"]: self._card(
                "head", "Move the head", (_line("said", said, other),)
            )
            for said, other in told
        }

    def _step(self, pair: tuple[Row, Row], said: tuple[Line, ...]) -> Card:
        step = step_of(pair[0])
        number = step["tool_number"]
        self.dealt[number] += 1
        return self._card(
            "step",
            step["hole"],
            (*said, *self.named.get(number, ())[1:2]),
            pair=pair,
            do=_what_to_do(step),
            at=self.dealt[number],
            among=self.among[number],
            tool_number=number,
        )

    def _card(self, kind: Kind, title: str, lines: tuple[Line, ...], **more: Any) -> Card:
        return Card(f"c{next(self.numbers)}", kind, title, lines, **more)


def _what_to_do(step: dict[str, Any]) -> str:
    if step["operation"] == "tap" and step["by_hand"]:
        return "Tap by hand, the tap held square."
    if step["operation"] == "ream" and step["by_hand"]:
        return "Ream by hand, never backwards, until the full size is through."
    if step["pecks"]:
        return _WHAT_TO_DO[step["operation"]] + " Lift clear of the hole at each of these:"
    return _WHAT_TO_DO[step["operation"]]
