"""The one way to a program: written, read back, dry-run, compared with the part; then its bytes."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, has_stop, stopped, worst_first
from millprep.base.marks import sealed, sheet_mark
from millprep.base.records import frozen, replace
from millprep.model.partial import Partial as Partial
from millprep.model.partial import check_asked
from millprep.proven.handed import lay_of
from millprep.proven.preparation import (
    Askew,
    Prepared,
    ToFit,
    nothing_to_show,
    numbered_path,
    prepare,
    refuse_not_to_be_had,
    wanted_setup,
)
from millprep.proven.program_files import as_spoken, card_bytes, card_of, card_path
from millprep.proven.scope_said import ScopeSaid
from millprep.proven.stacks import refuse_program
from millprep.proven.stage import Ran, stage_of
from millprep.proven.table import Place, Standing, head_faults, in_turn, place_faults, standing_of

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.partial import Partial
    from millprep.model.scene import Scene
    from millprep.model.shop import Shop
    from millprep.planning import SetupPlan
    from millprep.reading.gcode.modal import ToolCard
    from millprep.reading.made import MadeHole
    from millprep.reading.moves import ProgramRun
    from millprep.reading.simulate import Simulation
    from millprep.writers.program import Program as Written


POSITION_TOLERANCE_MM = 0.0005
DEPTH_TOLERANCE_MM = 0.01
SLACK_MM = 1e-6
QUILL_STEP_MM = {"mm": 0.01, "inch": 0.00254}  # to which the hand sets a depth stop


@frozen
class Program:
    """A program that was read back and run.

    tool : where each tool has a file of its own; by_hand : the holes that it leaves to be tapped
    card : of a program without comments, its tools and what its stops ask for
    said : of one that does not make all, or cuts nothing: what its head says of that
    """

    path: Path
    data: bytes
    findings: tuple[Finding, ...]
    setup: int
    tool: int | None
    lines: int
    holes: int
    time_s: float
    by_hand: tuple[str, ...]
    card: bytes | None = None
    said: ScopeSaid | None = None

    @property
    def card_path(self) -> Path | None:
        return None if self.card is None else card_path(self.path)

    def written(self) -> dict[Path, bytes]:
        """What is to be written: the program, and its card where it has one."""
        card = {} if self.card is None else {card_path(self.path): self.card}
        return {self.path: self.data, **card}


@frozen
class Programs:
    """The programs of a part, none of them where a stop keeps them back; and all that was found.

    checked : what of it `check` says of the part
    """

    files: tuple[Program, ...]
    findings: tuple[Finding, ...]
    checked: tuple[Finding, ...]


def programs(
    part: Part | Path | str,
    shop: Shop | Path | str = "metric",
    *,
    setup: int | None = None,
    file: Path | str = "program.nc",
    given: Askew | None = None,
    places: str | None = None,
    pieces: int | None = None,
    asked: Partial | None = None,
    assembly: Path | str | None = None,
    fitted: ToFit | None = None,
) -> Programs:
    """The programs of all setups, or of one.

    file : what the program is to be called; several are numbered after it, in running order
    places : of several pieces on the table, "0,0 80,0" or a CSV file of them
    pieces : how many are put in one after another
    asked : a proving run, or part of the programs; then they are called after that too
    assembly : that is asked what is left for later; None for those beside the part that name it
    fitted : readings of drilled holes, that the rest is moved to fit
    Raises MillprepError for what cannot be judged.
    """
    from millprep.planning import MACHINE_ORDER

    if asked is not None:
        check_asked(asked)
    prepared = prepare(part, shop, MACHINE_ORDER, given, assembly=assembly, fitted=fitted)
    refuse_program(prepared.part)
    number = wanted_setup(setup, prepared.setup_numbers)
    if places is not None and given is not None:
        message = "--skew with --places: each piece would be askew by its own"
        raise stopped("contradiction", message, "square the pieces, or write a program for each")
    standing = standing_of(places, pieces, prepared.part, prepared.setup_numbers, number)
    if standing.loaded:
        prepared = in_turn(prepared, standing.loaded, is_partial=asked is not None)
    refuse_not_to_be_had(prepared, "program")
    found = [*prepared.findings, *nothing_to_show(prepared.part)]
    if has_stop(found):
        return Programs((), tuple(worst_first(found)), prepared.findings)
    files, faults = _all_proven(prepared, number, Path(file), standing, asked)
    found = [*prepared.findings, *faults, *(f for one in files for f in one.findings)]
    found = worst_first(found)
    return Programs(() if has_stop(found) else tuple(files), tuple(found), prepared.findings)


def _all_proven(
    prepared: Prepared, number: int | None, output: Path, standing: Standing, asked: Partial | None
) -> tuple[list[Program], list[Finding]]:
    """The programs, and what is wrong with where the pieces stand."""
    from millprep.planning.scope import left_out_of, scoped

    chosen = [s for s in prepared.plan.setups if number is None or s.setup.number == number]
    scenes: dict[int, tuple[Scene, Sequence[Place]]] = {}
    for index, one in enumerate(chosen):
        scene, places = standing.scene(prepared.part, prepared.shop, one)
        scenes[one.setup.number] = scene, places
        chosen[index] = standing.plan(one)
        if standing.places_mm and (faults := place_faults(prepared.plan, chosen[index], scene)):
            return [], faults
    if asked is not None:
        left_out = left_out_of(chosen, asked.leave_out)
        chosen = scoped(prepared.plan, chosen, asked)
        output = output.with_name(f"{output.stem}-{called(asked, chosen)}{output.suffix}")
        if faults := [*running_into(prepared, left_out, chosen)]:
            return [], faults
    made = []
    for one in chosen:
        files = _sealed(prepared, one, output, several=len(chosen) > 1)
        proof = _Proof(prepared, one, scenes[one.setup.number], files)
        made += [proof.proven(each) for each in files]
    return made, []


class _Proof:
    """The programs of one setup, run one after another on the same stock and held to the part."""

    def __init__(
        self,
        prepared: Prepared,
        setup_plan: SetupPlan,
        standing: tuple[Scene, Sequence[Place]],
        files: Sequence[_Sealed],
    ) -> None:
        from millprep.witness.pieces import pieces_of

        self.prepared, self.setup_plan, self.files = prepared, setup_plan, files
        self.scene, self.places = standing
        self.lay = lay_of(setup_plan.setup)
        is_loaded = bool(setup_plan.loaded)
        self.pieces = pieces_of(self.scene, self.places, are_loaded=is_loaded)
        self.apart_mm = self.places[1][0] if is_loaded else 0.0
        self.contents = [(str(one.path), one.data) for one in files]
        self.cards = {str(one.path): one.spoken for one in files if one.spoken is not None}
        self.stage, self.of_heads = stage_of(
            self.contents, self.cards, prepared.plan, setup_plan, self.scene
        )
        self.record = None if self.stage is None else self.stage.made_before()
        self.runs: dict[str, ProgramRun] = {}
        self.texts: dict[str, tuple[str, ProgramRun]] = {}
        self.on_square: list[Ran] = []

    def proven(self, one: _Sealed) -> Program:
        """One of them, run on what those before it have left; with the last one, the part."""
        from millprep.witness.quill_stops import misnamed
        from millprep.witness.second_reader import second_reading

        file, program, stage = str(one.path), one.program, self.stage
        read = self.runs[file] = self._read(file, one.data, one.spoken)
        self.texts[file] = as_spoken(program.text, one.spoken), read
        square = self._squared(read)
        simulation = self._simulated(file, square)
        self.record = simulation.record
        self.on_square.append((file, square, simulation))
        findings = [*read.findings, *simulation.findings, *second_reading(one.data, read, file)]
        findings += head_faults(one.data, self.places, file)
        for piece in self.pieces:
            findings += piece.told(misnamed(self.prepared.asked, self.lay, piece.run(square), file))
        if one is self.files[-1]:
            findings += self._of_part(one, simulation)
        return Program(
            one.path,
            one.data,
            tuple(findings),
            program.setup_number,
            program.tool_number,
            read.lines,
            _count(simulation.holes, None if stage is None else {*self.runs}),
            simulation.time_s,
            tuple(operation.where for operation in program.left_to_hand),
            one.card,
            None if stage is None else stage.said,
        )

    def _of_part(self, last: _Sealed, simulation: Simulation) -> Iterator[Finding]:
        """What differs from the part once the last program has run."""
        from millprep.witness.boring import with_settings
        from millprep.witness.helical import helical_faults
        from millprep.witness.program_speeds import program_speeds

        part, shop, stage = self.prepared.asked, self.prepared.shop, self.stage
        holes, left_out = simulation.holes, frozenset[str]()
        meant: Mapping[str, ProgramRun] = {}
        if stage is not None:
            read, left_out = self._read_square, stage.said.left_out
            holes = stage.in_the_end(self.contents, self.cards, read, simulation.record)
            meant = stage.meant
            let_down = {name: (self.texts[name][0], run) for name, run in meant.items()}
            self.texts |= stage.texts | let_down
            kept, of_scope = stage.judged(part, self.lay, self.pieces, self.on_square, holes)
            holes = tuple(kept)
            yield from (*self.of_heads, *of_scope)
        is_turning = self.setup_plan.scope.is_turning
        made = with_settings(holes, self.texts)
        for piece in self.pieces:
            yield from piece.told(self._compared(piece.holes(made), last, left_out))
            if is_turning:
                own = {name: piece.run(meant.get(name, run)) for name, run, _ in self.on_square}
                rounds = helical_faults(shop, part, self.lay, own, piece.holes(holes))
                yield from piece.told(rounds)
        if is_turning:
            turned = holes if stage is None else stage.with_left_out(holes)
            yield from program_speeds(shop, part, self.runs, turned)

    def _read(self, file: str, data: bytes, card: ToolCard | None) -> ProgramRun:
        """A program read back."""
        from millprep.reading.gcode import read_program

        prepared = self.prepared
        return read_program(
            data,
            prepared.shop.control,
            file=file,
            tools=prepared.shop.tools,
            plan_tools={number: tool for tool, number in prepared.plan.tool_numbers.items()},
            stock_system=self.scene.work_offset,
            card=card,
            apart_mm=self.apart_mm,
        )

    def _squared(self, read: ProgramRun) -> ProgramRun:
        from millprep.witness.askew import squared

        return squared(read, self.setup_plan.skew_deg)

    def _read_square(self, file: str, data: bytes, card: ToolCard | None) -> ProgramRun:
        return self._squared(self._read(file, data, card))

    def _simulated(self, file: str, square: ProgramRun) -> Simulation:
        """A program run on what those before it have left."""
        from millprep.reading.simulate import simulate

        mill, control, record = self.prepared.shop.mill, self.prepared.shop.control, self.record
        return simulate(
            square, self.scene, mill, control, file=file, record=record, expects_spot=False
        )

    def _compared(
        self, made: Sequence[MadeHole], last: _Sealed, left_out: frozenset[str]
    ) -> tuple[Finding, ...]:
        """How the holes that there are in the end differ from those of the part."""
        from millprep.witness import compare
        from millprep.witness.askew import tolerance_mm

        part, control = self.prepared.asked, self.prepared.shop.control
        units = control.units or part.units
        half_mm = quill_mm = control.step_mm(units) / 2
        if control.axes == "xy" or control.tapping == "by hand at the hole":
            quill_mm = max(half_mm, QUILL_STEP_MM[units] / 2)
        tolerance = max(POSITION_TOLERANCE_MM, half_mm + SLACK_MM)
        return compare(
            part,
            self.lay,
            made,
            position_tolerance_mm=tolerance_mm(tolerance, self.setup_plan.skew_deg),
            depth_tolerance_mm=max(DEPTH_TOLERANCE_MM, quill_mm + SLACK_MM),
            hands=last.program.by_hand,
            file=str(last.path),
            by_own_rules=True,
            left_out=left_out,
        )


def _count(holes: Sequence[MadeHole], files: set[str] | None) -> int:
    """How many holes there are by now; where only part is made, how many these files work at."""
    if files is None:
        return len(holes)
    return sum(any(one.file in files for one in hole.operations) for hole in holes)


@frozen
class _Sealed:
    """A program as it will lie in its file; spoken : its card as the reader takes it."""

    program: Written
    path: Path
    data: bytes
    card: bytes | None
    spoken: ToolCard | None


def _sealed(
    prepared: Prepared, setup_plan: SetupPlan, output: Path, *, several: bool
) -> list[_Sealed]:
    """The programs of a setup, under the names that they will have."""
    from millprep.writers.program import programs_of

    setup, out = setup_plan.setup, []
    programs = programs_of(prepared.plan, setup_plan)
    tools = [program.tool_number or 0 for program in programs]
    is_in_order = all(one < other for one, other in pairwise(tools))
    for place, program in enumerate(programs, 1):
        by_setup = setup.number if several or program.tool_number is not None else None
        path = numbered_path(output, by_setup, program.tool_number, None if is_in_order else place)
        part = prepared.part.name
        what = sheet_mark("program", "nc", part, setup.number, program.tool_number)
        data = sealed(program.text.encode(), what)
        card = card_bytes(program.card, data, f"{what} card") if program.card else None
        spoken = None if card is None else card_of(card, str(path))[0]
        out.append(_Sealed(program, path, data, card, spoken))
    return out


def called(asked: Partial, setups: Sequence[SetupPlan]) -> str:
    """What the name of a file says of it: "prove20", "from-t02-ring-4"."""
    words = []
    if asked.spots_only:
        words.append("spots")
    if asked.tool is not None:
        words.append(f"only-t{asked.tool:02d}")
    if asked.is_restart:
        words.append(f"from-t{setups[0].scope.tool:02d}")
        words += [] if asked.from_hole is None else [asked.from_hole]
    words += [f"without {name}" for name in asked.leave_out]
    if asked.prove_mm is not None:
        words.append(asked.prove_words)
    return re.sub(r"[^\w.]+", "-", " ".join(words).lower()).strip("-.")


def running_into(
    prepared: Prepared, left_out: Sequence[str], chosen: Sequence[SetupPlan]
) -> Iterator[Finding]:
    """Holes to be made that run into one that is left out, in which a tool may stand."""
    made = {one.hole.name for each in chosen for one in each.operations}
    for finding in prepared.findings:
        met = [name for name in finding.holes if name in left_out]
        others = [name for name in finding.holes if name in made]
        if finding.kind == "meeting" and met and others:
            yield replace(
                finding,
                severity="stop",
                kind="left-out-entered",
                said=f"{met[0]} is left out, and {others[0]} runs into it",
                advice=f'leave that out too: --leave-out "{others[0]}"',
                cure=None,
            )
