"""The drilling program of one setup, for a control described by what it can do.

Takes the plan, not the sheet: figures have the control's decimals, not the readout's. Every cycle
can also be written out as plain motion. Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise

from millprep.base.records import frozen
from millprep.model.tools import BoringHead
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.head import PickUp
from millprep.planning.layers import bites_of, passed
from millprep.planning.programs import (
    change_height_mm,
    head_moves,
    is_file_a_tool,
    is_tapped_by_hand,
    why_by_hand,
)
from millprep.reference.materials import material_named
from millprep.reference.shared_rules import FLOATING_START_PITCHES
from millprep.writers.program_changes import Card, Changes, Run
from millprep.writers.program_head import head_of
from millprep.writers.program_helix import helical_lines
from millprep.writers.program_quill import QuillWriter

RETRACT_PLANE_MM = 2.0  # above the face (1 to 2 mm, common practice)
PECK_CLEARANCE_MM = 0.5  # above the last bottom when going back in (0.3 to 0.5, common practice)
CHIP_BREAK_BELOW_DIAMETERS = 3.0  # chips are only broken in the hole down to three diameters
DWELL_S = 0.5  # half a second at the bottom of spots and recesses (common practice)

_CYCLE = {
    "spot drill": "G82", "pilot drill": "G81", "drill": "G81", "bore": "G85", "spotface": "G82",
    "counterbore": "G82", "countersink": "G82", "ream": "G85", "tap": "G84",
}  # fmt: skip


@frozen
class Program:
    """One file to run: `tool_number` when each tool has one; `by_hand` what the hand does; `card`
    what stands beside it where it has no comments."""

    setup_number: int
    tool_number: int | None
    text: str
    by_hand: frozenset[str]
    left_to_hand: tuple[Operation, ...]
    card: Card = ()


def programs_of(plan: Plan, setup_plan: SetupPlan) -> list[Program]:
    """The program of a setup, or one for each tool where the control needs it so."""
    hand = tuple(o for o in setup_plan.operations if why_by_hand(o, plan) is not None)
    left = frozenset(o.name for o in setup_plan.whole if why_by_hand(o, plan) is not None)
    groups = _groups(plan, setup_plan)
    runs = [[operation for _, operation in group] for group in groups]
    moved = head_moves(plan, setup_plan)
    moves = {n: moved[group[0][0]] for n, group in enumerate(groups) if group[0][0] in moved}
    kind = QuillWriter if plan.shop.control.axes == "xy" else _Writer
    writer, number = kind(plan, setup_plan), setup_plan.setup.number
    earlier = [one for one in plan.setups if one.setup.number < number]
    if not setup_plan.scope.is_all:  # behind the numbers of the programs themselves
        earlier += plan.setups
    place = 1 + sum(len(_files(plan, one)) for one in earlier)
    files = _files(plan, setup_plan)
    out: list[Program] = []
    for first, behind in files:
        writer.over = None if out else setup_plan.scope.over
        here = {n - first: moves[n] for n in range(first, behind) if n in moves}
        text, card = writer.program(runs[first:behind], () if out else hand, here, place + len(out))
        tool = plan.tool_numbers[runs[first][0].tool] if is_file_a_tool(plan, setup_plan) else None
        out.append(Program(number, tool, text, left, hand, card))
    return out


def _groups(plan: Plan, setup_plan: SetupPlan) -> list[list[tuple[int, Operation]]]:
    """What each tool does at the machine's stops or under power, each with its index in the
    plan."""
    made = [
        (index, one)
        for index, one in enumerate(setup_plan.operations)
        if why_by_hand(one, plan) is None
    ]
    return [list(run) for _, run in groupby(made, key=lambda one: one[1].tool)]


def _files(plan: Plan, setup_plan: SetupPlan) -> list[tuple[int, int]]:
    """The files: first of the tools in each, and the one behind the last. A tap that the hand
    turns goes with the tool before it, in whose place a centre is put."""
    groups = _groups(plan, setup_plan)
    if not is_file_a_tool(plan, setup_plan):
        return [(0, len(groups))]
    starts = [
        n for n, group in enumerate(groups) if n == 0 or not is_tapped_by_hand(group[0][1], plan)
    ]
    return [*zip(starts, [*starts[1:], len(groups)], strict=True)]


class _Writer(Changes):
    """Lines of one program."""

    def __init__(self, plan: Plan, setup_plan: SetupPlan) -> None:
        super().__init__(plan, setup_plan)
        self.skew_deg = setup_plan.skew_deg
        self.retract = min(RETRACT_PLANE_MM, self.setup.safe_height_mm)

    def program(
        self,
        runs: Sequence[Run],
        hand: Sequence[Operation],
        moves: Mapping[int, PickUp],
        place: int,
    ) -> tuple[str, Card]:
        """Its text, and what stands on its card where it has no comments.

        runs : what each tool does; moves : before which of them the head moves; place : of the
        file among those of the part
        """
        self.form.card, self._in_vice = [], 0
        head = (self.form.headed(*said) for said in head_of(self, runs, hand, moves, self.skew_deg))
        lines = [*head, *self._modes(), self._home or ""]
        if (carrier := self.scope.carrier) is not None and runs:
            lines += self._carried(carrier)
        for index, run in enumerate(runs):
            if is_tapped_by_hand(run[0], self.plan):
                lines += self._tapped(run)
                if index + 1 < len(runs):  # at a stop the hand may have given orders of its own
                    lines += self._modes()
            else:
                lines += [*self._tool(run, moves.get(index)), *self._away(run)]
        return self.form.text([*lines, self._end], place), tuple(self.form.card)

    def _carried(self, one: Operation) -> Iterator[str]:
        """The tool in whose place a centre comes: where it is changed, the spindle stopped."""
        yield from self._change(one.tool, one.rpm, None)
        yield from self._opened(one)
        yield from self._changing(one)

    def _changing(self, one: Operation) -> Iterator[str]:
        """A tool that is in, at the height of a change."""
        if self.control.length_offset:
            yield f"G43 H{self.plan.tool_numbers[one.tool]}"
        up = change_height_mm(self.plan, self.setup_plan, [one])
        yield self._home or f"G0 Z{self._length(up)}"

    def _opened(self, first: Operation) -> Iterator[str]:
        """Of a restart: the tool at the height of a change, then over what is made."""
        is_opening = self.over is not None
        for number, (one, words) in enumerate(self._looks(first)):
            if number == 0:
                yield from self._changing(first)
                tool = f"tool {self.plan.tool_numbers[first.tool]} {first.tool.kind}"
                yield from self._stop(f"restart: see that {tool} {first.tool.words} is in")
            yield from self._modes()
            if self.control.length_offset:
                yield f"G43 H{self.plan.tool_numbers[first.tool]}"
            yield from self._up_to(one.x_mm, one.y_mm)
            yield " ".join(("G0", *self._place(one)))
            yield self.safe
            yield from self._stop(words)
        if is_opening:  # at a stop the hand may have given orders of its own
            yield from self._modes()

    def _tapped(self, run: Run) -> Iterator[str]:
        """Over each hole, at the height of the change before, a stop in which the hand taps it."""
        yield self._comment(self._named(run))
        yield from self._stop("tapping by hand: take the tool out, fit a centre")
        for one in run:
            yield from self._load(one)
            yield from self._up_to(one.x_mm, one.y_mm)
            yield " ".join(("G0", *self._place(one)))
            yield from self._stop(self._hole_words(one, "go on"))

    def _tool(self, run: Run, again: PickUp | None) -> Iterator[str]:
        tool = run[0].tool
        yield self._comment(self._named(run))
        yield from self._nose(tool)
        if loading := [*self._load(run[0])]:
            yield from (*loading, *self._modes())
        yield from self._change(tool, run[0].rpm, again)
        yield from self._opened(run[0])
        yield from self._running(tool, run[0].rpm)
        by_piece = groupby(run, key=lambda one: one.piece if self.setup_plan.loaded else 0)
        before: Run = ()
        for same in (list(same) for _, same in by_piece):
            if before:
                yield from (*self._away(before), *self._load(same[0]), *self._modes())
                yield from self._running(tool, same[0].rpm)
            yield from self._cuts(same)
            before = same

    def _cuts(self, run: Run) -> Iterator[str]:
        """What a tool makes while it is in; of pieces that are put in one after another, at one."""
        for one in run:
            if one.boring is not None:
                yield from self._pass(one)
            elif one.helix is not None:
                yield from helical_lines(self, one)
        straight = (one for one in run if one.boring is None and one.helix is None)
        cycles = groupby(straight, key=self._cycle_key)
        for key, operations in cycles:
            yield from self._group(key, list(operations))

    def _pass(self, operation: Operation) -> Iterator[str]:
        """A pass of a boring head: a stop over the bore, at a height to measure it and set the
        head, then all modes anew, and the cut."""
        one, head = operation.boring, operation.tool
        assert one is not None and isinstance(head, BoringHead)
        yield f"G0 Z{self._length(change_height_mm(self.plan, self.setup_plan, [operation]))}"
        yield from self._up_to(operation.x_mm, operation.y_mm)
        yield " ".join(("G0", *self._place(operation)))
        yield from self._still()
        yield from self._setting(operation)
        yield from (*self._modes(), *self._running(head, operation.rpm))
        yield from self._group(self._cycle_key(operation), [operation])

    def _cycle_key(self, operation: Operation) -> tuple[object, ...]:
        """Operations in a row that one cycle line can serve."""
        return (
            self._cycle(operation),
            self._length(operation.z_mm),
            operation.feed_mm_per_min,
            self._peck(operation),
            operation.rpm,
        )

    def _word(self, operation: Operation) -> str:
        """The cycle that the operation asks for, whether the control has it or not."""
        is_still = not self.scope.is_turning  # with the spindle stopped G84 is an error
        if operation.name == "tap" and (is_still or self.control.tapping == "reversing head"):
            return "G85"  # the head turns the tap back by itself when it is drawn out
        return _CYCLE[operation.name]

    def _cycle(self, operation: Operation) -> str:
        word = self._word(operation)
        if self.plan.part.layers and operation.name in ("pilot drill", "drill"):
            return "motion"  # no cycle eases the feed in every body
        if word == "G82" and self._no_dwell:
            word = "G81"
        if word == "G81" and operation.pecks_mm:
            word = "G83" if self._full_retract(operation) else "G73"
        return word if word in self.control.cycles else "motion"

    @property
    def _no_dwell(self) -> bool:
        material = material_named(self.plan.part.material)
        return material is not None and material.work_hardens

    def _full_retract(self, operation: Operation) -> bool:
        material = material_named(self.plan.part.material)
        deep = -operation.z_mm > CHIP_BREAK_BELOW_DIAMETERS * operation.tool.diameter_mm
        return deep or material is None or material.long_chips or "G73" not in self.control.cycles

    def _peck(self, operation: Operation) -> str:
        """Q, counted from the retract plane, so that no bite is deeper than the schedule's.

        Of two pecks the first ends where the schedule has it; of more, all are the smallest but
        the last.
        """
        depths = [0.0, *(-z for z in operation.pecks_mm)]
        bites = [after - before for before, after in pairwise(depths)]
        if len(bites) < 2:
            return ""
        bite = bites[0] + self.retract if len(bites) == 2 else min(bites[:-1])
        return self._length(bite)

    def _group(self, key: tuple[object, ...], operations: list[Operation]) -> Iterator[str]:
        cycle = str(key[0])
        if cycle == "motion":
            for operation in operations:
                yield from self._motion(operation)
            return
        if any(self.short_mm) and len(operations) > 1:
            for operation in operations:
                yield from self._group(key, [operation])
            return
        first, *others = operations
        yield from self._up_to(first.x_mm, first.y_mm)
        words = [
            "G98",
            cycle,
            *self._place(first),
            self._z(first.z_mm),
            self._z(self._retract_plane(first), "R"),
        ]
        if cycle in ("G73", "G83"):
            words.append(f"Q{self._peck(first)}")
        if cycle == "G82":
            words.append(self.form.time(DWELL_S))
        words += [f"F{self.form.feed(first.feed_mm_per_min)}", self._hole_comment(first)]
        yield " ".join(word for word in words if word)
        for operation in others:
            yield " ".join(
                word for word in (*self._place(operation), self._hole_comment(operation)) if word
            )
        yield "G80"

    def _retract_plane(self, operation: Operation) -> float:
        """R; with a floating holder high enough that the tap turns at speed before it cuts."""
        thread, is_floating = operation.hole.thread, self.control.tapping == "floating"
        if operation.name != "tap" or thread is None or not is_floating:
            return self.retract
        start_mm = FLOATING_START_PITCHES * thread.pitch_mm
        return min(max(self.retract, start_mm), self.setup.safe_height_mm)

    def _place(self, operation: Operation) -> tuple[str, str]:
        return f"X{self._length(operation.x_mm)}", f"Y{self._length(operation.y_mm)}"

    def _hole_comment(self, operation: Operation) -> str:
        return self._comment(f"{operation.where}, {operation.name}")

    def _motion(self, operation: Operation) -> Iterator[str]:
        """The same as the cycle, written out: for a control that does not know it."""
        clear = f"G0 {self._z(self.retract)}"
        yield from self._up_to(operation.x_mm, operation.y_mm)
        yield " ".join(["G0", *self._place(operation), self._hole_comment(operation)]).strip()
        yield clear
        layers = passed(self.plan.part, operation.hole)
        is_eased = bool(layers) and operation.name in ("pilot drill", "drill")
        bites = bites_of(operation, layers, self.retract, PECK_CLEARANCE_MM, is_eased=is_eased)
        for number, bite in enumerate(bites):
            if number:
                yield clear
                yield f"G0 {self._z(bite.from_mm)}"
            for z_mm, share in bite.feeds:
                feed = self.form.feed(operation.feed_mm_per_min * share)
                yield f"G1 {self._z(z_mm)} F{feed}"
        word = self._word(operation)
        if word == "G82" and not self._no_dwell:
            yield self._dwell(DWELL_S)
        if word == "G85":
            feed = self.form.feed(operation.feed_mm_per_min)
            yield f"G1 {self._z(self.retract)} F{feed}"
        yield self.safe
