"""A line made ready: parsed once, however often it runs.

quick acts do what needs nothing said to anybody: they are tried first where lines are run over and
over, and raise where the line has to be run the slow way after all.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import chain

import numpy as np

from millprep.reading.gcode import fast
from millprep.reading.gcode.arithmetic import Key, Number, Work
from millprep.reading.gcode.fast_words import Words
from millprep.reading.gcode.flow.flowing import Act, Flow
from millprep.reading.gcode.flow.letters import come_back, letter_act
from millprep.reading.gcode.flow.o_words import o_act
from millprep.reading.gcode.flow.sources import Place
from millprep.reading.gcode.flow.statements import Statement, may_flow, statement_of
from millprep.reading.gcode.lines import bare_text, decode, raw_line
from millprep.reading.gcode.parameters import FIRST_OF_OTHERS, NAMED, AskedTooQuickly, is_reserved
from millprep.reading.gcode.recognise import Late, Line, Word, line_of
from millprep.reading.gcode.state import State


@dataclass(slots=True)
class KeptLine:
    """text : as it stands; after : the line below; one of statement and line, none if it is blank

    quick : its act where nothing is to be said, None where it always goes the slow way
    """

    text: str
    after: Place
    statement: Statement | None = None
    line: Line | None = None
    act: Act | None = None
    quick: Act | None = None

    @property
    def bare(self) -> str:
        return self.text.strip(" \t")


def kept_line(flow: Flow, place: Place, *, is_again: bool, instead: str | None = None) -> KeptLine:
    """The line at a place; instead : what it is taken to say.

    Raises Refused for what is no line of the language.
    """
    source = place.source
    raw, position = raw_line(source.data, place.position)
    number = place.number + 1
    after = source.place(position, number) if is_again else Place(source, position, number)
    kept = KeptLine(decode(raw) if instead is None else instead, after)
    if kept.bare and not (kept.bare == "%" and source.is_framed):
        _parse(flow, kept, place)
    return kept


def _parse(flow: Flow, kept: KeptLine, place: Place) -> None:
    is_strict = flow.state.control.strict
    bare = bare_text(kept.text, is_strict=is_strict)
    rest = bare.text
    if not is_strict and ("#" in rest or "[" in rest or may_flow(rest)):
        flow.settle_style(place.source)
        kept.statement = statement_of(rest, flow.parameters)
    if kept.statement is None:
        kept.line = line_of(bare, place.number, flow.parameters)
    elif bare.comments:
        kept.line = Line(place.number, comments=bare.comments, has_nested=bare.has_nested)


def act_of(flow: Flow, statement: Statement, place: Place) -> Act:
    """A line that flows, made ready."""
    if statement.o_word is not None:
        return o_act(flow, statement.o_word, place)
    return letter_act(flow, statement.pieces, place)


def quick_of(kept: KeptLine, place: Place, waiting: Waiting, flow: Flow) -> Act | None:
    """What is tried first where the line is run over and over."""
    line, after = kept.line, kept.after
    if kept.statement is not None:
        return None if kept.statement.is_deleted else kept.act
    if line is None:
        return None if kept.bare else (lambda: after)
    if line.has_signed and not flow.state.report.has("signed-expression"):
        return None
    if is_plain(line) and (line.words or line.late):
        return waiting.act_of(PlainLine(line, line.number), after)
    if line.m == [99] and not (line.g or line.words or line.late or line.is_deleted):
        return lambda: come_back(flow, None, place)
    is_empty = not (line.g or line.m or line.words or line.label or line.is_deleted)
    if is_empty and not line.late and not line.comments:
        return lambda: after
    if line.label is not None and not (line.is_deleted or line.comments):
        return _head(place, after, flow)
    if is_empty and line.late:
        return _setting(line, after, flow.parameters.values)
    return None


def _head(place: Place, after: Place, flow: Flow) -> Act:
    """The O line that a subprogram begins with, come to by its call."""

    def act() -> Place:
        frames = flow.running.frames
        start = frames[-1].start if frames else after
        if (start.source, start.position) != (place.source, place.position):
            raise AskedTooQuickly
        return after

    return act


def _setting(line: Line, after: Place, values: dict[Key, Number]) -> Act | None:
    """Parameters set: those of the program's own."""
    sets: list[tuple[Key, Work]] = []
    for letter, key, work, _ in line.late:
        is_own = not callable(key) and letter == "#" and not is_reserved(key) and key not in NAMED
        if not is_own or callable(key) or (isinstance(key, int) and not 0 < key < FIRST_OF_OTHERS):
            return None
        sets.append((key, work))
    if len(sets) == 1:
        ((key, work),) = sets

        def set_one() -> Place:
            values[key] = work()
            return after

        return set_one

    def set_all() -> Place:
        values.update([(key, work()) for key, work in sets])
        return after

    return set_all


MOST_WAITING = 1 << 15
_WORTH_IT = 48  # fewer lines are quicker one by one
_SHARE = 8  # where the fast reader takes less than 1/8
_SLOWLY = 512  # lines go the slow way
_MOVE_LETTERS, _HOLE_LETTERS = frozenset("XYZIJKF"), frozenset("XYZRQF")
_MOVES: tuple[list[int], ...] = ([], [0], [10], [20], [30])
_HOLES: tuple[list[int], ...] = ([], [730], [810], [820], [830], [850], [890])


class PlainLine:
    """A line of plain motion words: what of it stands fast, and what is worked out anew."""

    __slots__ = ("base", "fixed", "has_point", "late", "letters", "number")

    def __init__(self, line: Line, number: int) -> None:
        self.base = line
        self.number = number
        self.late: list[Late] = line.late
        motions = [tenths / 10 for tenths in line.g]
        words = list(line.words.values())
        self.fixed = [*motions, *(word.value for word in words)]
        letters = ["G" for _ in motions], line.words, [late.letter for late in self.late]
        self.letters = "".join(chain.from_iterable(letters)).encode()
        points = ["." in word.text or not word.text[-1:].isdecimal() for word in words]
        self.has_point = [*(True for _ in motions), *points, *(True for _ in self.late)]

    def with_values(self, values: list[float]) -> Line:
        """The line with what was worked out for it."""
        words = {
            late.letter: Word(late.letter, value, late.text)
            for late, value in zip(self.late, values, strict=True)
        }
        base = self.base
        return Line(
            base.number, g=base.g, words={**base.words, **words}, has_signed=base.has_signed
        )


def is_plain(line: Line) -> bool:
    """Whether the fast reader can take the line once its values are worked out."""
    letters = [*line.words, *(late.letter for late in line.late)]
    return (
        not (line.is_deleted or line.m or line.label)
        and (
            (line.g in _MOVES and _MOVE_LETTERS.issuperset(letters))
            or (line.g in _HOLES and _HOLE_LETTERS.issuperset(letters))
        )
        and len(set(letters)) == len(letters)
        and (not line.g or not {"X", "Y", "Z"}.isdisjoint(letters))
    )


class Waiting:
    """Lines that wait, in the order in which they ran.

    carry_out : runs one line the slow way
    """

    def __init__(self, state: State, carry_out: Callable[[Line], None]) -> None:
        self._state = state
        self._carry_out = carry_out
        self._entries: list[tuple[PlainLine, list[float]]] = []
        self._is_open = False

    def __len__(self) -> int:
        return len(self._entries)

    def act_of(self, line: PlainLine, after: Place) -> Act:
        """Leaves the line's numbers here and goes on."""
        entries = self._entries
        works: list[Work] = [late.work for late in line.late]

        def act() -> Place:
            if not self._is_open and not self._open():
                raise AskedTooQuickly
            values: list[Number] = [work() for work in works]
            for value in values:
                if value.__class__ is not float:
                    raise AskedTooQuickly
            entries.append((line, values))  # type: ignore[arg-type]  # floats, as has been seen
            return after

        return act

    def _open(self) -> bool:
        self._is_open = fast.may_run(self._state)
        return self._is_open

    def carry_out_all(self) -> None:
        """Carries out what waits; afterwards the state is that behind the last of them."""
        if not self._entries:
            self._is_open = False
            return
        state, report = self._state, self._state.report
        before = state.line, report.line
        entries = self._entries.copy()
        self._entries.clear()
        first = 0
        while first < len(entries):
            first += self._carry_out_some(entries[first:] if first else entries)
        state.line, report.line = before
        self._is_open = False

    def _carry_out_some(self, entries: list[tuple[PlainLine, list[float]]]) -> int:
        """How many were carried out, one at least."""
        done, left = 0, len(entries)
        if left >= _WORTH_IT and fast.may_run(self._state):
            words, numbers = _words_of(entries)
            done = fast.read_words(self._state, words, numbers)
        slow_to = done + 1 if done * _SHARE > left else done + _SLOWLY
        for line, values in entries[done:slow_to]:
            self._state.line = self._state.report.line = line.number
            self._carry_out(line.with_values(values))
        return min(slow_to, left)


def _words_of(
    entries: list[tuple[PlainLine, list[float]]],
) -> tuple[Words, np.ndarray[tuple[int], np.dtype[np.int32]]]:
    """(words, line numbers) as the fast reader wants them."""
    counts = np.array([len(line.letters) for line, _ in entries])
    letters = np.frombuffer(b"".join(line.letters for line, _ in entries), dtype=np.uint8)
    numbers = chain.from_iterable(chain(line.fixed, values) for line, values in entries)
    points = chain.from_iterable(line.has_point for line, _ in entries)
    words = Words(
        letters,
        np.fromiter(numbers, dtype=np.float64, count=letters.size),
        np.repeat(np.arange(counts.size), counts),
        np.fromiter(points, dtype=np.bool_, count=letters.size),
        counts.size,
        np.arange(counts.size),
    )
    return words, np.array([line.number for line, _ in entries], dtype=np.int32)
