"""The one way to a program: written, read back, dry-run, compared with the part; then its bytes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, has_stop, stopped, worst_first
from millprep.base.outfile import sealed, sheet_mark
from millprep.base.records import frozen
from millprep.proven.preparation import Askew, Prepared, prepare, refuse_not_to_be_had, wanted_setup
from millprep.proven.table import Place, place_faults, places_of
from millprep.proven.tool_card import as_spoken, card_bytes, card_of, card_path

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.model.shop import Shop
    from millprep.planning import SetupPlan
    from millprep.reading.gcode.card import ToolCard
    from millprep.reading.made import MadeHole
    from millprep.reading.moves import ProgramRun
    from millprep.reading.simulate import Record, Simulation
    from millprep.witness import Lay

POSITION_TOLERANCE_MM = 0.0005
DEPTH_TOLERANCE_MM = 0.01
SLACK_MM = 1e-6
QUILL_STEP_MM = {"mm": 0.01, "inch": 0.00254}  # to which the hand sets a depth stop


@frozen
class Program:
    """A program that was read back and run.

    tool : where each tool has a file of its own; by_hand : the holes that it leaves to be tapped
    card : of a program without comments, its tools and what its stops ask for
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
) -> Programs:
    """The programs of all setups, or of one.

    file : what the program is to be called; several are numbered after it, in running order
    places : of several pieces on the table, "0,0 80,0" or a CSV file of them
    Raises MillprepError for what cannot be judged.
    """
    from millprep.planning import MACHINE_ORDER

    prepared = prepare(part, shop, MACHINE_ORDER, given)
    number = wanted_setup(setup, prepared.setup_numbers)
    if places is not None and given is not None:
        message = "--skew with --places: each piece would be askew by its own"
        raise stopped("contradiction", message, "square the pieces, or write a program for each")
    places_mm = places_of(places, prepared.part, prepared.setup_numbers, number)
    refuse_not_to_be_had(prepared, "program")
    if has_stop(prepared.findings):
        return Programs((), prepared.findings, prepared.findings)
    files, faults = _all_proven(prepared, number, Path(file), places_mm)
    found = [*prepared.findings, *faults, *(f for one in files for f in one.findings)]
    found = worst_first(found)
    return Programs(() if has_stop(found) else tuple(files), tuple(found), prepared.findings)


def _all_proven(
    prepared: Prepared, number: int | None, output: Path, places: Sequence[Place]
) -> tuple[list[Program], list[Finding]]:
    """The programs, and what is wrong with where the pieces stand."""
    from millprep.planning.table import on_one_table, table_scene

    chosen = [s for s in prepared.plan.setups if number is None or s.setup.number == number]
    several, made = len(chosen) > 1, []
    for one in chosen:
        scene = table_scene(prepared.part, prepared.shop, one, places)
        setup_plan = on_one_table(one, places) if places else one
        if places and (faults := place_faults(prepared.plan, setup_plan, scene)):
            return [], faults
        made += proven_setup(prepared, setup_plan, scene, output, several)
    return made, []


def proven_setup(
    prepared: Prepared, setup_plan: SetupPlan, scene: Scene, output: Path, several: bool
) -> list[Program]:
    """The programs of one setup, run one after another on the same stock and compared with it."""
    from millprep.witness.askew import squared
    from millprep.witness.boring import with_settings
    from millprep.witness.helical import helical_faults
    from millprep.witness.pieces import pieces_of
    from millprep.witness.program_speeds import program_speeds
    from millprep.witness.quill_stops import misnamed
    from millprep.witness.second_reader import second_reading
    from millprep.writers.program import programs_of

    part, setup = prepared.part, setup_plan.setup
    record, runs, squares, texts = None, {}, {}, {}
    pieces = pieces_of(scene, setup_plan.places_mm)
    out: list[Program] = []
    programs = programs_of(prepared.plan, setup_plan)
    tools = [program.tool_number or 0 for program in programs]
    is_in_order = all(one < other for one, other in pairwise(tools))
    for place, program in enumerate(programs, 1):
        by_setup = setup.number if several or program.tool_number is not None else None
        path = numbered_path(output, by_setup, program.tool_number, None if is_in_order else place)
        what = sheet_mark("program", "nc", part.name, setup.number, program.tool_number)
        data = sealed(program.text.encode(), what)
        card = card_bytes(program.card, data, f"{what} card") if program.card else None
        spoken = None if card is None else card_of(card, str(path))[0]
        read, simulation = _run(prepared, setup_plan, scene, data, str(path), record, spoken)
        record, runs[str(path)] = simulation.record, read
        texts[str(path)] = as_spoken(program.text, spoken), read
        findings = [*read.findings, *simulation.findings, *second_reading(data, read, str(path))]
        on_square = squares[str(path)] = squared(read, setup_plan.skew_deg)
        for piece in pieces:
            named = misnamed(part, _lay_of(setup_plan), piece.run(on_square), str(path))
            findings += piece.told(named)
        if program is programs[-1]:
            holes = with_settings(simulation.holes, texts)
            for piece in pieces:
                its = piece.holes(holes)
                findings += piece.told(_compared(prepared, setup_plan, its, program.by_hand, path))
                own = {file: piece.run(run) for file, run in squares.items()}
                made = piece.holes(simulation.holes)
                lay = _lay_of(setup_plan)
                findings += piece.told(helical_faults(prepared.shop, part, lay, own, made))
            findings += program_speeds(prepared.shop, part, runs, simulation.holes)
        left = tuple(operation.where for operation in program.left_to_hand)
        out.append(
            Program(
                path,
                data,
                tuple(findings),
                program.setup_number,
                program.tool_number,
                read.lines,
                len(simulation.holes),
                simulation.time_s,
                left,
                card,
            )
        )
    return out


def _run(
    prepared: Prepared,
    setup_plan: SetupPlan,
    scene: Scene,
    data: bytes,
    file: str,
    record: Record | None,
    card: ToolCard | None,
) -> tuple[ProgramRun, Simulation]:
    """A program read back and run on what those before it have left."""
    from millprep.reading.gcode import read_program
    from millprep.reading.simulate import simulate
    from millprep.witness.askew import squared

    shop = prepared.shop
    read = read_program(
        data,
        shop.control,
        file=file,
        tools=shop.tools,
        plan_tools={number: tool for tool, number in prepared.plan.tool_numbers.items()},
        stock_system=scene.work_offset,
        card=card,
    )
    on_square = squared(read, setup_plan.skew_deg)
    return read, simulate(
        on_square, scene, shop.mill, shop.control, file=file, record=record, expects_spot=False
    )


def _lay_of(setup_plan: SetupPlan) -> Lay:
    from millprep.witness import Lay

    setup = setup_plan.setup
    return Lay(setup.face, setup.towards_you, setup.zero_x, setup.zero_y, setup.number)


def _compared(
    prepared: Prepared,
    setup_plan: SetupPlan,
    made: Sequence[MadeHole],
    by_hand: frozenset[str],
    path: Path,
) -> tuple[Finding, ...]:
    """What differs from the part once the last program of a setup has run."""
    from millprep.witness import compare
    from millprep.witness.askew import tolerance_mm

    part, control = prepared.part, prepared.shop.control
    units = control.units or part.units
    half_mm = control.step_mm(units) / 2
    if control.axes == "xy" or control.tapping == "by hand at the hole":
        quill_mm = max(half_mm, QUILL_STEP_MM[units] / 2)
    else:
        quill_mm = half_mm
    tolerance = max(POSITION_TOLERANCE_MM, half_mm + SLACK_MM)
    return compare(
        part,
        _lay_of(setup_plan),
        made,
        position_tolerance_mm=tolerance_mm(tolerance, setup_plan.skew_deg),
        depth_tolerance_mm=max(DEPTH_TOLERANCE_MM, quill_mm + SLACK_MM),
        hands=by_hand,
        file=str(path),
        by_own_rules=True,
    )


def numbered_path(
    file: Path,
    setup: int | None,
    tool: int | None = None,
    place: int | None = None,
    sheet: int | None = None,
) -> Path:
    """NAME.nc, NAME-setup1.nc or NAME-setup1-tool01.nc: sorting by name is running order.

    place : in that order, where the numbers of the tools do not tell it: NAME-setup1-06-tool01.nc
    sheet : of a drawing of several sheets: NAME-setup1-sheet2.svg
    """
    name = file.stem
    if setup is not None:
        name += f"-setup{setup}"
    if place is not None:
        name += f"-{place:02d}"
    if tool is not None:
        name += f"-tool{tool:02d}"
    if sheet is not None:
        name += f"-sheet{sheet}"
    return file.with_name(name + file.suffix)
