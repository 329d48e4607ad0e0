"""What the bench page shows, one card a moment: lay, zero, tool, touch, hole, look, done.

Made from one sheet in millimetres and the same in inches, so that the page never reckons. Imports
sheet and the words of the text listing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import count, groupby, zip_longest
from typing import Any, Literal

from millprep.base.records import anew, frozen
from millprep.sheets.setup_sheet import Block, SetupSheet, Sheet, Step
from millprep.writers.listing_text import counted, speed_words

Kind = Literal["hold", "zero", "tool", "touch", "step", "look", "done"]

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


@frozen
class Both:
    """The same words with their figures in millimetres and in inches."""

    mm: str
    inch: str


@frozen
class Line:
    """A sentence on a card; `field` names what is read back from it, "" for the rest."""

    words: Both
    field: str = ""
    is_warning: bool = False


@frozen
class Card:
    """One thing to do before the next is shown.

    pair : the step in mm and in inches, on a step's card only; at, among : its place among the
    tool's steps in this setup; block : its place among the setup's blocks, 0 before the first
    """

    name: str
    kind: Kind
    title: str
    lines: tuple[Line, ...] = ()
    pair: tuple[Step, Step] | None = None
    speed: Both = anew(factory=lambda: Both("", ""))
    do: str = ""
    at: int = 0
    among: int = 0
    tool_number: int = 0
    block: int = 0


@frozen
class SetupCards:
    """A setup with its cards in order."""

    mm: SetupSheet
    inch: SetupSheet
    cards: tuple[Card, ...]

    @property
    def blocks(self) -> list[tuple[Card, ...]]:
        """The cards in order, those of one block together."""
        return [tuple(run) for _, run in groupby(self.cards, key=lambda card: card.block)]


def cards_of(mm: Sheet, inch: Sheet) -> tuple[SetupCards, ...]:
    """The cards of every setup; names run through the page: c1, c2, ..."""
    numbers = count(1)
    return tuple(
        SetupCards(one, other, tuple(_Deck(mm, inch, one, other, numbers).cards()))
        for one, other in zip(mm.setups, inch.setups, strict=True)
    )


def both(
    one: Sequence[str], other: Sequence[str], kind: str = "", *, is_warning: bool = False
) -> tuple[Line, ...]:
    """Sentences of both sheets, side by side."""
    return tuple(
        Line(Both(mm, inch), kind, is_warning or kind == "skew")
        for mm, inch in zip_longest(one, other, fillvalue="")
    )


@dataclass
class _Deck:
    """Deals the cards of one setup."""

    mm_sheet: Sheet
    inch_sheet: Sheet
    mm: SetupSheet
    inch: SetupSheet
    numbers: Iterator[int]
    dealt: Counter[int] = field(default_factory=Counter)
    block: int = 0
    in_spindle: int = 0
    told_apart: tuple[Line, ...] = ()  # which hand it is: on the first card that says to look

    @cached_property
    def among(self) -> Counter[int]:
        """Steps that each tool has in this setup."""
        return Counter(step.tool_number for step in self.mm.steps)

    def cards(self) -> Iterator[Card]:
        mm, inch = self.mm, self.inch
        hold = (
            *self._lines("turn"),
            *self._lines("lies"),
            *self._lines("hold"),
            *self._lines("head"),
        )
        yield self._card("hold", "Lay and hold the part", hold)
        zero = (
            *self._lines("skew"),
            *self._lines("zero"),
            *self._lines("places"),
            *self._lines("recover"),
        )
        self.told_apart = self._lines("hand")
        if not any(block.after for block in mm.blocks):
            zero, self.told_apart = (*zero, *self.told_apart), ()
        yield self._card("zero", "Find zero", zero)
        for number, (one, other) in enumerate(zip(mm.blocks, inch.blocks, strict=True), 1):
            self.block = number
            yield from self._block(one, other)
        self.block = 0
        yield self._card("done", f"Setup {mm.number} is done", self._lines("done"))

    def _lines(self, name: str) -> tuple[Line, ...]:
        """The sentences that a setup's sheet has under a name; none where it is silent."""
        said = (getattr(setup, name) for setup in (self.mm, self.inch))
        mm, inch = ([one] if isinstance(one, str) else one for one in said)
        return both(mm, inch, name) if any(mm) else ()

    def _block(self, one: Block, other: Block) -> Iterator[Card]:
        for pair in zip(one.steps, other.steps, strict=True):
            if pair[0].tool_number != self.in_spindle or (one.is_tool and pair[0] is one.steps[0]):
                self.in_spindle = pair[0].tool_number
                yield from self._change(pair, one, other)
            yield self._step(pair, one, other)
            if one.measure and pair[0] is one.steps[0]:
                lines = both(one.measure, other.measure, "said")
                title = "Measure before it goes deeper"
                yield self._card("look", title, lines, tool_number=self.in_spindle)
        if one.after:
            lines = (*both(one.after, other.after, "look"), *self.told_apart)
            self.told_apart = ()
            yield self._card("look", "Look before you go on", lines, tool_number=self.in_spindle)

    def _card(self, kind: Kind, title: str, lines: tuple[Line, ...], **more: Any) -> Card:
        return Card(f"c{next(self.numbers)}", kind, title, lines, block=self.block, **more)

    def _speed(self, pair: tuple[Step, Step]) -> Both:
        return Both(speed_words(self.mm_sheet, pair[0]), speed_words(self.inch_sheet, pair[1]))

    def _change(self, pair: tuple[Step, Step], one: Block, other: Block) -> Iterator[Card]:
        number, tool = pair[0].tool_number, pair[0].tool
        count = f"{counted(self.among[number], 'step')} with it in this setup"
        lines = [Line(Both(tool, tool), "tool"), Line(Both(count, count))]
        lines += [Line(Both(words, words), "", True) for words in (one.lack,) if words]
        yield self._card(
            "tool", f"Tool {number}", tuple(lines), speed=self._speed(pair), tool_number=number
        )
        words = f"touch the tool off on {self.mm.face.upper()} beside the hole, set Z to 0"
        touch = both([one.touch or words], [other.touch or words])
        yield self._card("touch", "Set Z", touch, tool_number=number)

    def _step(self, pair: tuple[Step, Step], one: Block, other: Block) -> Card:
        number = pair[0].tool_number
        self.dealt[number] += 1
        said = both(one.said, other.said, "said")
        if one.lock:
            said += both([one.lock], [other.lock], "said", is_warning=True)
        return self._card(
            "step",
            pair[0].hole,
            said,
            pair=pair,
            speed=self._speed(pair),
            do=_what_to_do(pair[0]),
            at=self.dealt[number],
            among=self.among[number],
            tool_number=number,
        )


def _what_to_do(step: Step) -> str:
    if step.operation == "tap" and step.by_hand:
        return "Tap by hand, the tap held square."
    if step.pecks:
        return _WHAT_TO_DO[step.operation] + " Lift clear of the hole at each of these:"
    return _WHAT_TO_DO[step.operation]
