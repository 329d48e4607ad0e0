"""A card of the bench page, and the lines and figures that stand on it, in both units."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import zip_longest
from typing import Any, Literal

from millprep.base.records import frozen
from millprep.sheets.document import Field, Row, Sentence, Table

Kind = Literal["hold", "zero", "tool", "head", "step", "look", "done"]

Pair = tuple[Sentence, Sentence]  # in millimetres and in inches


@frozen
class Line:
    """A line on a card; kind : "label", "said", "again" for what was said before, "" for words
    that stand on no listing. inch : "" where it is the same."""

    kind: str
    mm: str
    inch: str = ""
    is_warning: bool = False

    @property
    def again(self) -> Line:
        """Said once more."""
        return Line("again", self.mm, self.inch, self.is_warning)


@frozen
class Preset:
    """What an axis is set to, or must read then; a figure of a sentence on the same card."""

    axis: str
    does: Literal["set", "reads"]
    mm: str
    inch: str


@frozen
class Card:
    """One thing to do before the next is shown.

    pair : the step's row in mm and in inches, on a step's card only, as is called: what its tool's
    head says; at, among : its place among the tool's steps in this setup; checks : tables of
    figures to check against, by unit; together : of several pieces, what is done at one before the
    next is put in: "kept", or "tool" and the number of its first step
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
    called: Line | None = None
    label: str = ""
    begins: bool = False
    presets: tuple[Preset, ...] = ()
    checks: tuple[tuple[str, Table], ...] = ()
    together: str = ""

    @property
    def step(self) -> dict[str, Any]:
        """What the row says, whatever the unit."""
        assert self.pair is not None
        return step_of(self.pair[0])


def step_of(row: Row) -> dict[str, Any]:
    """The slots of a row and of what hangs on it, with what JSON has of it."""
    below = {name: value for one in row.below for name, value in one.slots.items()}
    return {**below, **row.cells.slots, **row.also}


def lines_of(mm: Iterable[Field], inch: Iterable[Field], kind: str = "said") -> tuple[Line, ...]:
    """The fields of both pages, side by side, under their labels."""
    lines: list[Line] = []
    for one, other in zip_longest(mm, inch):
        first = one or other
        if kind == "said" and not first.is_silent:
            lines.append(Line("label", str(first.label)))
        pairs = zip_longest(one.sentences if one else (), other.sentences if other else ())
        lines += [line_of(kind, *pair) for pair in pairs]
    return tuple(lines)


def line_of(kind: str, mm: Sentence | None, inch: Sentence | None) -> Line:
    one, other = str(mm or ""), str(inch or "")
    is_warning = any(each.is_warning for each in (mm, inch) if each)
    return Line(kind, one, "" if one == other else other or " ", is_warning)


def under(label: Sentence, pairs: Sequence[Pair]) -> tuple[Line, ...]:
    """Sentences in both units beside their label."""
    mm, inch = (Field(label, tuple(one[unit] for one in pairs)) for unit in (0, 1))
    return lines_of([mm], [inch])


def by_axis(pairs: Sequence[Pair]) -> Iterator[tuple[str, list[Pair]]]:
    """Sentences of one axis after another; one that names none goes with those before it."""
    run: list[Pair] = []
    axis = ""
    for pair in pairs:
        now = axis_of(pair[0]) or axis
        if axis and now != axis:
            yield axis, run
            run = []
        axis = now
        run.append(pair)
    if run:
        yield axis, run


def axis_of(sentence: Sentence) -> str:
    """The axis that a sentence is about; "" where it is about none."""
    slots = sentence.slots
    return str(slots.get("axis") or slots.get("also", {}).get("axis") or "")


def presets_in(pairs: Sequence[Pair]) -> tuple[Preset, ...]:
    """What sentences set an axis to, and what it must read then."""
    found: list[Preset] = []
    for mm, inch in pairs:
        for one, other in zip(_slots_in(mm.slots), _slots_in(inch.slots), strict=True):
            axis = str(one.get("set_axis") or one.get("axis") or axis_of(mm))
            if one.get("set_to") is not None:
                found.append(Preset(axis, "set", str(one["set_to"]), str(other["set_to"])))
            if one.get("should_read") is not None:
                both = str(one["should_read"]), str(other["should_read"])
                found.append(Preset(axis, "reads", *both))
    return tuple(found)


def _slots_in(slots: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """The slots of a sentence and of its parts."""
    yield slots
    for value in slots.values():
        for one in value if isinstance(value, (list, tuple)) else ():
            if isinstance(one, Mapping):
                yield from _slots_in(one)
