"""What the bench page shows, one card a moment: set up, zero, tool, head, hole, look, done.

Made from the listing in millimetres and the same in inches, so that the page never reckons. Each
sentence stands on its card as on the listing, under the same label; what a card says again is
marked so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from millprep.base.records import frozen, replace
from millprep.sheets.document import Document, Field, Page, Row, Section, Sentence, Table
from millprep.writers.bench.card import (
    Card,
    Kind,
    Line,
    axis_of,
    by_axis,
    line_of,
    lines_of,
    presets_in,
    step_of,
    under,
)

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
_STACK = ("FIRST", "JOIN", "FILL", "LAYERS", "HEADS", "ALIGN", "CLAMP", "CHANCE", "SPOT", "JIG")
_HOLD = (
    *_STACK,
    "TURN",
    "SET UP",
    "HOLD",
    "STRAPS",
    "LINE UP",
    "KEEP CLEAR",
    "HEAD",
    "HEIGHTS",
    "PIECES",
)
_APART = ("PINS", "OVER", "APART", "THEN")
_ZERO = ("ZERO", "PICK UP", "OTHERWISE")
_ABOVE = ("ALL", "SIZES", "LIPS", "POINT", "TURNED", "OIL", "ROWS", "SCRAP", "LOCK", "BORING")
"""What is said above the steps of a tool, on the card of the first."""


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
        return tuple(line_of("heading", *pair) for pair in pairs)

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


def _fields(section: Section, *groups: str) -> list[Field]:
    """The fields of a section and of its pieces; of some labels only, where these are given."""
    found: list[Field] = []
    for item in section.items:
        if isinstance(item, Section):
            found += _fields(item, *groups)
        elif isinstance(item, Field) and (not groups or item.label.slug in groups):
            found.append(item)
    return found


def _pieces(section: Section) -> list[Section]:
    return [item for item in section.items if isinstance(item, Section)]


def _rows(section: Section) -> list[Row]:
    """The rows of the steps of a section and of its pieces."""
    return [row for table in _tables(section) if table.boxes for row in table.rows]


def _checks(pair: tuple[Section, Section]) -> tuple[tuple[str, Table], ...]:
    """The figures to check against, by unit: a slip may show in one of them alone."""
    return tuple(
        (units, table)
        for units, section in zip(("mm", "inch"), pair, strict=True)
        for table in _tables(section)
        if not table.boxes
    )


def _tables(section: Section) -> Iterator[Table]:
    for item in section.items:
        if isinstance(item, Section):
            yield from _tables(item)
        elif isinstance(item, Table):
            yield item


@dataclass
class _Deck:
    """Deals the cards of one setup."""

    mm: Page
    inch: Page
    numbers: Iterator[int]
    dealt: Counter[int] = field(default_factory=Counter)
    in_spindle: int = 0
    named: dict[int, tuple[Line, ...]] = field(default_factory=dict)
    each_tool: tuple[Line, ...] = ()  # how any is touched off
    told_apart: tuple[Line, ...] = ()  # which hand it is: on the first card that says to look

    def __post_init__(self) -> None:
        rows = [row for section in self.mm.sections for row in _rows(section)]
        self.among = Counter(step_of(row)["tool_number"] for row in rows)

    def cards(self) -> Iterator[Card]:
        opening, steps, closing = zip(self.mm.sections, self.inch.sections, strict=True)
        blocks = list(zip(*(_pieces(one) for one in steps), strict=True))
        yield self._card("hold", "Set up and clamp", self._lines(opening, *_HOLD))
        self.told_apart = self._lines(opening, "HAND")
        self.each_tool = self._lines(opening, "EACH TOOL", kind="again")
        is_looked_at = any(_fields(block[0], "CHECK") for block in blocks)
        yield from self._zero(opening, closing, () if is_looked_at else self.told_apart)
        if not is_looked_at:
            self.told_apart = ()
        for block in blocks:
            together = self._together(block[0])
            yield from (replace(card, together=together) for card in self._block(block))
        number = self.mm.title.slots["number"]
        yield self._card("done", f"End of setup {number}", self._lines(closing, "DONE", *_APART))

    def _together(self, block: Section) -> str:
        """As the field of a card says."""
        rows, kept = _rows(block), self.mm.also.get("kept")
        if kept is None or not rows:
            return ""
        first = step_of(rows[0])["step"]
        return "kept" if first <= kept else f"tool {first}"

    def _zero(
        self,
        opening: tuple[Section, Section],
        closing: tuple[Section, Section],
        told_apart: tuple[Line, ...],
    ) -> Iterator[Card]:
        """A card an axis, with its presets; then how zero is tried, and found again."""
        said = [one.label.slug for one in _fields(opening[0])]
        other = [one for one in said if one not in (*_HOLD, "HAND", *_ZERO)]
        first = [one for one in other if "ZERO" in said and said.index(one) < said.index("ZERO")]
        lines = self._lines(opening, *first) if first else ()
        pairs = [
            pair
            for fields in zip(*(_fields(one, "ZERO", "PICK UP") for one in opening), strict=True)
            for pair in zip(*(field.sentences for field in fields), strict=True)
        ]
        on = [pair for pair in pairs if not axis_of(pair[0])]
        off = self._lines(opening, "OTHERWISE")
        again: tuple[Line, ...] = ()
        for axis, run in by_axis(pairs[len(on) :]):
            label = _fields(opening[0], "ZERO")[0].label
            lines = (*lines, *again[:1], *under(label, run if again else [*on, *run]))
            lines = (*lines, *(again[1:] or off))
            shown = presets_in(run)
            yield self._card("zero", f"Find zero: {axis.upper()}", lines, presets=shown)
            lines, again = (), tuple(line.again for line in (*under(label, on)[1:], *off))
        rest = [one for one in other if one not in first]
        tried = self._lines(opening, *rest) if rest else ()
        told = (*lines, *tried, *self._lines(closing, "RECOVER"), *told_apart)
        if told:
            yield self._card("zero", "Check zero", told)

    def _lines(
        self, pair: tuple[Section, Section], *groups: str, kind: str = "said"
    ) -> tuple[Line, ...]:
        mm, inch = (_fields(one, *groups) for one in pair)
        return lines_of(mm, inch, kind)

    def _block(self, pair: tuple[Section, Section]) -> Iterator[Card]:
        tools = [one for one in _fields(pair[0]) if one.label.slug == "TOOL"]
        others = [one for one in _fields(pair[1]) if one.label.slug == "TOOL"]
        for tool, other in zip(tools, others, strict=True):
            number = tool.sentences[0].slots["tool"]
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
        number = self.in_spindle = tools[0].sentences[0].slots["tool"]
        lines = lines_of(tools, others)
        steps = "step" if self.among[number] == 1 else "steps"
        among = Line("", f"{self.among[number]} {steps} with it in this setup")
        label, name, *more = lines
        moved = list(self._moved(pair).values())
        yield from moved
        yield self._card(
            "tool",
            f"Tool {number}",
            (name, among, *more, *(self._lines(pair, "TOUCH") or self.each_tool)),
            label=label.mm,
            begins=True,
            tool_number=number,
        )
        for rows, said in self._with_words(pair):
            yield self._step(rows, said)
        look = self._lines(pair, "CHECK")
        if look:
            lines, self.told_apart = (*look, *self.told_apart), ()
            yield self._card(
                "look", "Check before you carry on", lines, checks=_checks(pair), tool_number=number
            )

    def _with_words(
        self, pair: tuple[Section, Section]
    ) -> Iterator[tuple[tuple[Row, Row], tuple[Line, ...]]]:
        """Each step with what is said above the steps of its tool, of other holes not; said again
        from the second time on."""
        rows = list(zip(*map(_rows, pair), strict=True))
        holes = [step_of(one)["hole"] for one, _ in rows]
        told = [
            (under(one.label, [sentences]), _holes_of(sentences[0], holes))
            for one, other in zip(*(_fields(one, *_ABOVE) for one in pair), strict=True)
            for sentences in zip(one.sentences, other.sentences, strict=True)
        ]
        seen: set[int] = set()
        for both, hole in zip(rows, holes, strict=True):
            words: list[Line] = []
            for index, (lines, concerned) in enumerate(told):
                if hole in concerned:
                    words += [line.again for line in lines[-1:]] if index in seen else lines
                    seen.add(index)
            yield both, tuple(words)

    def _by_hole(self, pair: tuple[Section, Section]) -> Iterator[Card]:
        hole = self._lines(pair, "HOLE", "TOUCH", *_ABOVE)
        name = str(_fields(pair[0], "HOLE")[0].sentences[0])
        yield self._card("zero", name, hole[1:], label=hole[0].mm, begins=True)
        measure, moved = self._lines(pair, "MEASURE"), self._moved(pair)
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
                title, checks = "Measure before it goes deeper", _checks(pair)
                yield self._card("look", title, measure, checks=checks, tool_number=number)

    def _moved(self, pair: tuple[Section, Section]) -> dict[int, Card]:
        """The card of each move of the head, by the step that comes after it."""
        told = zip(
            *([s for f in _fields(one, "MOVED") for s in f.sentences] for one in pair), strict=True
        )
        return {
            said.slots["moved_step"]: self._card(
                "head", "Move the head", (line_of("said", said, other),)
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
            said,
            called=self.named[number][0],
            pair=pair,
            do=_what_to_do(step),
            at=self.dealt[number],
            among=self.among[number],
            tool_number=number,
        )

    def _card(self, kind: Kind, title: str, lines: tuple[Line, ...], **more: Any) -> Card:
        return Card(f"c{next(self.numbers)}", kind, title, lines, **more)


def _holes_of(sentence: Sentence, holes: Sequence[str]) -> frozenset[str]:
    """Those of the holes that a sentence speaks of: all, where it names none of them."""
    slots = sentence.slots
    named = {str(one) for key in ("holes", "thin_holes") for one in slots.get(key) or ()}
    named |= {str(slots[key]) for key in ("hole", "lock_hole") if slots.get(key)}
    if slots.get("more"):  # of a pattern the first alone is named
        alike = _alike(str(slots["hole"]), holes)
        named = alike if len(alike) == slots["more"] + 1 else set()
    for width in slots.get("widths") or ():
        for pattern in width.get("of") or ():
            named |= {pattern} | _alike(f"{pattern} ", holes)
        if width.get("first"):
            named |= _alike(width["first"], holes)
    return frozenset(named & set(holes) or holes)


def _alike(name: str, holes: Sequence[str]) -> set[str]:
    """The holes of a pattern, by one of them."""
    stem = name.rstrip("0123456789")
    return {hole for hole in holes if hole.rstrip("0123456789") == stem}


def _what_to_do(step: dict[str, Any]) -> str:
    if step["operation"] == "tap" and step["by_hand"]:
        return "Tap by hand, the tap held square."
    if step["operation"] == "ream" and step["by_hand"]:
        return "Ream by hand, never backwards, until the full size is through."
    if step["pecks"]:
        return _WHAT_TO_DO[step["operation"]] + " Lift clear of the hole at each peck."
    return _WHAT_TO_DO[step["operation"]]
