"""The program of a mill whose quill is worked by hand: it drives X and Y, and stops at each hole.

    move, slow enough to stop by hand   M0: hole, tool, depth stop, pecks   the next move

The press of start moves the table, so the words of every stop end with the quill up. There is no
word for Z. Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from millprep.model.tools import Countersink
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.head import PickUp
from millprep.planning.program_travel import clear_place_mm
from millprep.planning.programs import is_tapped_by_hand
from millprep.writers.program_changes import Card, Changes, Run
from millprep.writers.program_head import head_of

_ON = "quill up, then start"


class QuillWriter(Changes):
    """Lines of one such program."""

    def __init__(self, plan: Plan, setup_plan: SetupPlan) -> None:
        super().__init__(plan, setup_plan)
        self._clear_mm = clear_place_mm(plan, setup_plan)
        feed = min(self.control.xy_feed_mm_per_min, plan.shop.mill.max_feed_mm_per_min)
        self._feed = f"F{self.form.feed(feed)}"

    def program(
        self,
        runs: Sequence[Run],
        hand: Sequence[Operation],
        moves: Mapping[int, PickUp],
        place: int,
    ) -> tuple[str, Card]:
        """As `writers.program` has it."""
        self.form.card, self._in_vice = [], 0
        head = head_of(self, runs, hand, moves, self.setup_plan.skew_deg)
        lines = [self.form.headed(*said) for said in head]
        lines += [*self._stop(_ON), *self._modes()]
        for index, run in enumerate(runs):
            lines += (
                self._tapped(run)
                if is_tapped_by_hand(run[0], self.plan)
                else [*self._fitted(run, moves.get(index)), *self._made(run), *self._still()]
            )
        return self.form.text([*lines, self._end], place), tuple(self.form.card)

    def _modes(self) -> Iterator[str]:
        words = ("G17", "G20" if self.units == "inch" else "G21", "G40", "G90", "G94")
        yield " ".join(word for word in words if self.control.has(word))
        if self.control.has(self.work_offset):
            yield self.work_offset

    def _to(self, x_mm: float, y_mm: float) -> str:
        return f"G1 X{self._length(x_mm)} Y{self._length(y_mm)} {self._feed}"

    def _at(self, one: Operation) -> Iterator[str]:
        """Over the hole, from the side that every hole is come up to from."""
        for line in self._up_to(one.x_mm, one.y_mm, "G1"):
            yield f"{line} {self._feed}"
        yield self._to(one.x_mm, one.y_mm)

    def _fitted(self, run: Run, again: PickUp | None) -> Iterator[str]:
        """Over a clear place the tool is put in and touched off, and the spindle started."""
        one, tool, place = run[0], run[0].tool, self.plan.shop.mill.change_place_mm
        number = self.plan.tool_numbers[tool]
        yield self._comment(self._named(run))
        yield from self._nose(tool)
        if again is not None and not self.is_file_a_tool:
            yield from self._stop(f"{self.picked_up(again)}, {_ON}")
        fit = f"fit tool {number} {tool.kind} {tool.words}{self._belt_words(one.rpm)}"
        touch = f"touch off on {self.setup.face}, zero the quill scale"
        if isinstance(tool, Countersink) and not tool.is_nose_known:
            touch = "zero the quill scale by the rim of its first hole, as said above"
        if place is not None:
            yield self._to(*place)
        else:
            yield self._to(*self._clear_mm)
        yield from self._load(one)
        if self.control.tool_numbers:
            yield f"T{number}"
        if place is not None:
            yield from self._stop(f"{fit}, {_ON}")
            yield self._to(*self._clear_mm)
            yield from self._stop(f"{touch}, {_ON}")
        else:
            yield from self._stop(f"{fit}, {touch}, {_ON}")
        yield from (*self._modes(), *self._opened(one), *self._turning(one.rpm))

    def _opened(self, first: Operation) -> Iterator[str]:
        """Of a restart: over what is made, before the spindle turns."""
        for one, words in self._looks(first):
            yield from (*self._at(one), *self._stop(words), *self._modes())

    def _loaded(self, one: Operation, *, turns: bool) -> Iterator[str]:
        """Over a clear place the next piece is put in, the spindle stopped meanwhile."""
        if self.setup_plan.loaded and one.piece != self._in_vice:
            yield from self._still() if turns else ()
            yield self._to(*(self.plan.shop.mill.change_place_mm or self._clear_mm))
            yield from (*self._load(one), *self._modes())
            yield from self._turning(one.rpm) if turns else ()

    def _made(self, run: Run) -> Iterator[str]:
        for one in run:
            yield from self._loaded(one, turns=True)
            yield from self._at(one)
            if one.boring is not None:
                yield from self._set(one)
            yield from self._stop(self._hole_words(one, _ON))
            yield from self._quill_stop()

    def _quill_stop(self) -> Iterator[str]:
        if self.control.quill_stop:
            yield from self._stop("quill up?")

    def _set(self, one: Operation) -> Iterator[str]:
        """Before a pass of the boring head: measured, set, and the spindle on again."""
        yield from self._still()
        yield from self._setting(one)
        yield from (*self._modes(), *self._turning(one.rpm))

    def _tapped(self, run: Run) -> Iterator[str]:
        """Each hole is tapped by hand while it is under the spindle."""
        yield self._comment(self._named(run))
        yield self._to(*(self.plan.shop.mill.change_place_mm or self._clear_mm))
        yield from self._stop(f"tapping by hand: take the tool out, fit a centre, {_ON}")
        yield from self._opened(run[0])
        for one in run:
            yield from self._loaded(one, turns=False)
            yield from self._at(one)
            yield from self._stop(self._hole_words(one, _ON))
            yield from self._quill_stop()
