"""The stock that a program finds which makes only part of a setup, and what becomes of it after.

What the head takes as made is made first, by a program written for that on a control that knows
everything; what it leaves to other programs is made after it. So what there is in the end is
compared with the whole part, whoever made it. A proving run is run twice: as it is, cutting
nothing; and let down by its height, to be compared as if it cut.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from copy import deepcopy
from typing import TYPE_CHECKING

from millprep.base.findings import Finding
from millprep.base.records import anew, frozen, replace
from millprep.proven.scope_said import ScopeSaid, comments_of, said_in_words, scope_said

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.model.shop import Control
    from millprep.planning import Operation, Plan, SetupPlan
    from millprep.reading.gcode.modal import ToolCard
    from millprep.reading.made import MadeHole
    from millprep.reading.moves import ProgramRun
    from millprep.reading.simulate import Record, Simulation
    from millprep.witness import Lay
    from millprep.witness.pieces import Piece

BEFORE, LATER = "made before", "made later"
"""What the programs are called that make the rest."""
Ran = tuple[str, "ProgramRun", "Simulation"]
"""File, what was read, what it does."""
_PROVING = "PROVING, CUT NOTHING: "
"""Begins a stop at which nothing is done yet."""
Wanted = Callable[["Operation", int], bool]
Read = Callable[[str, bytes, "ToolCard | None"], "ProgramRun"]
"""A program as it is run on the part lying square: file, text, card."""


def stage_of(
    programs: Sequence[tuple[str, bytes]],
    cards: Mapping[str, ToolCard],
    plan: Plan,
    setup_plan: SetupPlan,
    scene: Scene,
) -> tuple[Stage | None, list[Finding]]:
    """What the heads of programs that are run one after another say; None where they make all."""
    heads = []
    for file, data in programs:
        card = cards.get(file)
        comments = comments_of(data, () if card is None else card.notes)
        heads.append((file, *scope_said(comments, plan.part, file)))
    if not heads:
        return None, []
    first, said, faults = heads[0]
    faults += [
        Finding(
            "stop",
            "heads-differ",
            f"{first} and {file} say different things of what is made before, or left out",
            "dry-run each by itself",
            file=file,
        )
        for file, other, _ in heads[1:]
        if other != said
    ]
    faults += [
        Finding("note", "partial-program", words, "see what its head says of that", file=first)
        for words in said_in_words(said)
    ]
    stage = None if said == ScopeSaid() else Stage(said, plan, setup_plan, scene)
    return stage, faults


@frozen
class Stage:
    """What programs say of themselves, and the plan that has the rest.

    texts : of the programs that make the rest, as `with_settings` takes them
    meant : of a proving run, each program as if it cut
    """

    said: ScopeSaid
    plan: Plan
    setup_plan: SetupPlan
    scene: Scene
    texts: dict[str, tuple[str, ProgramRun]] = anew(factory=dict)
    meant: dict[str, ProgramRun] = anew(factory=dict)

    def made_before(self) -> Record | None:
        """The stock as the first program finds it; None for a fresh one."""
        return self._run(BEFORE, lambda o, n: self.said.has_made(n, o.hole.name), None)

    def in_the_end(
        self,
        programs: Sequence[tuple[str, bytes]],
        cards: Mapping[str, ToolCard],
        read: Read,
        record: Record,
    ) -> tuple[MadeHole, ...]:
        """The holes that there are once everything is made. record : as the programs left it"""
        if self.said.is_proving:
            record = self._let_down(programs, cards, read)
        last = self._run(
            LATER, lambda o, n: self.said.is_for_later(n, o.hole.name, o.name), deepcopy(record)
        )
        return (last or record).holes()

    def with_left_out(self, holes: Sequence[MadeHole]) -> tuple[MadeHole, ...]:
        """Those holes, and those that are left out: they count for the speeds of a tool."""
        left_out = self._run("left out", lambda o, _: o.hole.name in self.said.left_out, None)
        return (*holes, *(left_out.holes() if left_out is not None else ()))

    def judged(
        self,
        part: Part,
        lay: Lay,
        pieces: Sequence[Piece],
        runs: Sequence[Ran],
        holes: Sequence[MadeHole],
    ) -> tuple[list[MadeHole], list[Finding]]:
        """The holes that are compared with the part, and what is wrong with what is left out,
        begun or taken as made.

        runs : as run on the part lying square; holes : as `in_the_end` has them
        """
        from millprep.witness.partial import (
            cuts_in_the_air,
            left_out_told,
            low_over_left_out,
            made_again,
            unproven,
            without_left_out,
        )
        from millprep.witness.quill_stops import misnamed

        said = self.said
        found: list[Finding] = []
        safe_mm = self.scene.safe_height_mm + said.raised_mm
        for file, run, simulation in runs:
            if said.is_proving:
                found += cuts_in_the_air(file, simulation.holes, simulation.sideways)
            found += low_over_left_out(part, lay, run, file, said.left_out, safe_mm)
        before = [h for h in holes if any(one.file == BEFORE for one in h.operations)]
        if said.kind == "restart":
            found += unproven(runs[0][1], runs[0][0], before, safe_mm)
        meant = [(file, self.meant.get(file, run)) for file, run, _ in runs]
        for file, run in meant:
            found += made_again(run, file, before, BEFORE)
            for piece in pieces if said.is_proving else ():
                found += piece.told(misnamed(part, lay, piece.run(run), file))
        found += left_out_told(part, lay, said.left_out, runs[0][0])
        kept, entered = without_left_out(part, lay, holes, said.left_out)
        return kept, [*found, *entered]

    def _let_down(
        self, programs: Sequence[tuple[str, bytes]], cards: Mapping[str, ToolCard], read: Read
    ) -> Record:
        """What a proving run would make without its height."""
        import numpy as np

        from millprep.reading.moves import BY_HAND
        from millprep.reading.simulate import simulate
        from millprep.reading.simulate.record import fresh_record

        record = self.made_before() or fresh_record(self.scene)
        shop = self.plan.shop
        for file, data in programs:
            run = read(file, data.replace(_PROVING.encode(), b""), _meaning_it(cards.get(file)))
            shift = np.array(run.moves.shift)
            shift[2] -= np.where(run.moves.cycle == BY_HAND, 0.0, self.said.raised_mm)
            run = self.meant[file] = replace(run, moves=replace(run.moves, shift=shift))
            simulate(run, self.scene, shop.mill, shop.control, file=file, record=record)
        return record

    def _run(self, file: str, is_wanted: Wanted, record: Record | None) -> Record | None:
        """The stock once the operations that are wanted are made, or as it was without any."""
        from millprep.planning.plan import Scope
        from millprep.planning.programs import why_by_hand
        from millprep.reading.gcode import read_program
        from millprep.reading.simulate import simulate
        from millprep.writers.program import programs_of

        plan, numbers = self.plan, self.plan.tool_numbers
        whole = replace(self.setup_plan, operations=self.setup_plan.whole).square
        made = [one for one in whole if why_by_hand(one, plan) is None]
        made = [one for one in made if is_wanted(one, numbers[one.tool])]
        if not made:
            return record
        control = _knows_all(plan.shop.control)
        plan = replace(plan, shop=replace(plan.shop, control=control))
        setup_plan = replace(
            self.setup_plan, operations=tuple(made), skew_deg=0.0, scope=Scope(whole=tuple(whole))
        )
        (program,) = programs_of(plan, setup_plan)
        run = read_program(
            program.text.encode(),
            control,
            file=file,
            tools=plan.shop.tools,
            plan_tools={number: tool for tool, number in numbers.items()},
            stock_system=self.scene.work_offset,
        )
        self.texts[file] = program.text, run
        mill = plan.shop.mill
        done = simulate(run, self.scene, mill, control, file=file, record=record)
        return done.record


def _knows_all(control: Control) -> Control:
    """A control that lacks nothing, and taps what that one taps."""
    from millprep.model.shop import Control

    return Control(
        offsets_mm=control.offsets_mm,
        cycles=control.cycles,
        tapping=control.tapping,
        tap_speed_rpm=control.tap_speed_rpm,
        zero_in_stop=True,
    )


def _meaning_it(card: ToolCard | None) -> ToolCard | None:
    """The card of a proving run, as it would be of the program itself."""
    if card is None:
        return None
    return replace(card, stops=tuple(one.replace(_PROVING, "") for one in card.stops))
