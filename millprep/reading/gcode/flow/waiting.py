"""Plain lines that are run over and over, gathered until many can be carried out at once.

A loop runs through few lines often. Each leaves its numbers here, and the fast reader takes them
together; what it will not take, because something is to be said of it, goes the slow way in turn.
Imports numpy and its neighbours.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import chain

import numpy as np

from millprep.reading.gcode import fast
from millprep.reading.gcode.arithmetic import Number, Work
from millprep.reading.gcode.fast_words import Words
from millprep.reading.gcode.flow.flowing import Act
from millprep.reading.gcode.flow.sources import Place
from millprep.reading.gcode.parameters import AskedTooQuickly
from millprep.reading.gcode.recognise import Late, Line, Word
from millprep.reading.gcode.state import State

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
