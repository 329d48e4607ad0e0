"""Programs run on their bench one after another, and compared with the part.

Lines that start with / are left out or carried out by a switch at the control: where there are any,
all of it is run both ways, and what would stop it only the other way is a warning.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import TYPE_CHECKING, Any

from millprep.base.findings import Finding, words, worst_first
from millprep.base.records import anew, frozen, replace
from millprep.proven.handed import lay_of
from millprep.proven.stock_words import one_cause, unit_first

if TYPE_CHECKING:
    from pathlib import Path

    from millprep.base.units import Units
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.model.shop import Control, Shop
    from millprep.model.tools import Tool
    from millprep.planning import Plan, SetupPlan
    from millprep.proven.stage import Stage
    from millprep.reading.gcode.modal import ToolCard
    from millprep.reading.made import MadeHole
    from millprep.reading.moves import ProgramRun
    from millprep.reading.simulate import Simulation
    from millprep.report.dry_run import Report
    from millprep.setting.setups import Setup
    from millprep.witness import Lay
    from millprep.witness.pieces import Piece

POSITION_TOLERANCE_MM = 0.05
Progress = Callable[[str, int, int, int], None]
"""Is told (file, lines read, lines, lines run in loops and subprograms)."""
_SYSTEM = re.compile(rb"\([^)\n]*\)?|;[^\n]*|(?<![A-Z])(G5[4-9])(?![\d.])", re.I)


@frozen
class Bench:
    """What the programs run on: a scene and, with a part, what to compare the holes with.

    cards : by program, what stands beside one without comments
    places_mm : zeros of several pieces of the part, from the first's; apart_mm : where they are put
                in one after another, how far from each other they are taken to stand
    skew_deg : by which the part lies askew: its programs are turned back to run on the square part
    words, units : of the report: what they run on, and in what unit its lengths are
    other_stock  : the option that gives the stock in the other unit, and that
    folders  : of each program that is a file, where its subprograms may have files of their own
    plans : of the part and of its setup; stage : what programs that make only part of it find
    """

    scene: Scene | None = None
    part: Part | None = None
    setup: Setup | None = None
    plan_tools: dict[int, Tool] = anew(factory=dict)
    cards: dict[str, ToolCard] = anew(factory=dict)
    places_mm: tuple[tuple[float, float], ...] = ()
    apart_mm: float = 0.0
    skew_deg: float = 0.0
    words: str = "no stock given"
    units: Units = "mm"
    other_stock: tuple[str, Scene] | None = None
    folders: dict[str, Path] = anew(factory=dict)
    plans: tuple[Plan, SetupPlan] | None = None
    stage: Stage | None = None


@dataclass(slots=True)
class _Pass:
    """The programs run once, from first to last, with the switch for lines with / one way."""

    as_read: list[ProgramRun] = field(default_factory=list)
    runs: list[tuple[str, ProgramRun]] = field(default_factory=list)
    simulations: list[Simulation] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    not_compared: list[str] = field(default_factory=list)


def judged(
    programs: Sequence[tuple[str, bytes]],
    bench: Bench,
    shop: Shop,
    notes: list[Finding],
    progress: Progress | None = None,
) -> Report:
    """Everything that is wrong with the programs, and what could not be looked at."""
    from millprep.reading.simulate import capped, folded
    from millprep.report.dry_run import Report

    done = _run_through(programs, bench, shop, progress)
    if bench.other_stock is not None:
        option, scene = bench.other_stock
        other_bench = replace(bench, scene=scene)
        done.findings = one_cause(
            done.findings, option, lambda: _run_through(programs, other_bench, shop, None).findings
        )
    findings = [*notes, *done.findings]
    if any(finding.kind == "block-delete" for finding in done.findings):
        control = replace(shop.control, block_delete=not shop.control.block_delete)
        other = _run_through(programs, bench, replace(shop, control=control), progress)
        findings += _only_in(other.findings, done.findings, control)
        if bench.part is None:
            findings += _left_out(done, other, control)
    not_checked = list(dict.fromkeys(s for one in done.simulations for s in one.not_checked))
    told = unit_first(worst_first(capped(folded(findings), None)))
    return Report(
        done.runs,
        done.simulations,
        [replace(one, units=bench.units) for one in told],
        [*_unread(done), *done.not_compared, *not_checked],
        bench.words,
        shop.mill.tool_change_s,
        as_read=done.as_read,
        skew_deg=bench.skew_deg,
    )


def _unread(done: _Pass) -> list[str]:
    """The lines behind those that reading ended at."""
    several = len(done.runs) > 1
    return [
        f"{f'{file}: ' * several}line{'s' * (run.read_lines + 1 < run.lines)} {run.read_lines + 1}"
        f"{f' to {run.lines}' * (run.read_lines + 1 < run.lines)}: reading ended at line "
        f"{run.read_lines + 1}"
        for file, run in done.runs
        if not run.is_complete
    ]


def _run_through(
    programs: Sequence[tuple[str, bytes]], bench: Bench, shop: Shop, progress: Progress | None
) -> _Pass:
    from millprep.proven.run_tools import of_the_drawer, with_unconfirmed
    from millprep.reading.made import without_plunges
    from millprep.reading.simulate import simulate
    from millprep.witness.askew import squared

    done = _Pass()
    record = None if bench.stage is None else bench.stage.made_before()
    for file, data in programs:
        progressed = None if progress is None else partial(progress, file)
        carried = done.as_read[-1].leaves if done.as_read else None
        run = read_for(bench, shop, file, data, progress=progressed, carried=carried)
        run = replace(run, tools=of_the_drawer(run.tools, shop.cabinet))
        done.as_read.append(run)
        run = squared(run, bench.skew_deg)
        simulation = simulate(
            run,
            bench.scene,
            shop.mill,
            shop.control,
            file=file,
            record=record,
            expects_spot=bench.part is None,
        )
        record = simulation.record
        done.runs.append((file, run))
        done.simulations.append(simulation)
        has_part = bench.part is not None
        made = simulation.holes if has_part else without_plunges(simulation.holes)
        told = with_unconfirmed(run, made, file, has_part=has_part)
        done.findings += _by_line([*told, *simulation.findings])
    compared, done.not_compared = _compared(bench, programs, done, shop)
    done.findings += compared
    return done


def _left_out(done: _Pass, other: _Pass, control: Control) -> list[Finding]:
    """The holes that only the switch as it stands makes, for who has no part to miss them in."""
    from millprep.reading.made import without_plunges

    if not (done.simulations and other.simulations):
        return []
    here, there = (
        {
            (round(hole.x_mm, 3), round(hole.y_mm, 3)): hole
            for hole in without_plunges(one.simulations[-1].holes)
        }
        for one in (done, other)
    )
    missing = [place for place in here if place not in there]
    if not missing:
        return []
    more = f" and {len(missing) - 1} more are" if len(missing) > 1 else " is"
    switch = "on" if control.block_delete else "off"
    message = words(
        f"with the block delete switch {switch}: the hole at X{{x_mm:3bare}} Y{{y_mm:3bare}}{more} "
        "not made",
        x_mm=missing[0][0],
        y_mm=missing[0][1],
    )
    return [Finding("note", "block-delete", message, file=done.runs[-1][0])]


def _only_in(other: Sequence[Finding], known: Sequence[Finding], control: Control) -> list[Finding]:
    """The stops that only the switch the other way shows, as warnings."""
    switch = "on" if control.block_delete else "off"
    stops: dict[tuple[object, ...], list[Finding]] = {}
    for finding in known:
        if finding.severity == "stop":
            stops.setdefault((finding.kind, finding.file, finding.holes), []).append(finding)

    def is_known(finding: Finding) -> bool:
        same = stops.get((finding.kind, finding.file, finding.holes), [])
        if finding.line is None:
            return any(one.message == finding.message for one in same)
        return any(
            one.line is not None and one.line <= finding.line <= (one.last_line or one.line)
            for one in same
        )

    return [
        replace(
            finding,
            severity="warning",
            said=words(f"with the block delete switch {switch}: {{said}}", said=finding.said),
        )
        for finding in other
        if finding.severity == "stop" and not is_known(finding)
    ]


def read_for(bench: Bench, shop: Shop, file: str, data: bytes, **more: Any) -> ProgramRun:
    """A program as the shop's control reads it, to be run on a bench; more : of `read_program`."""
    from millprep.proven.program_files import beside
    from millprep.reading.gcode import read_program

    folder = bench.folders.get(file)
    return read_program(
        data,
        shop.control,
        file=file,
        tools=shop.tools,
        plan_tools=bench.plan_tools or None,
        stock_system=bench.scene.work_offset if bench.scene is not None else _system_of(data),
        card=bench.cards.get(file),
        beside=beside(folder) if folder is not None else None,
        apart_mm=bench.apart_mm,
        **more,
    )


def _on_square(
    bench: Bench, shop: Shop, file: str, data: bytes, card: ToolCard | None
) -> ProgramRun:
    """A program read once more, with another card, as it is run on the square part."""
    from millprep.witness.askew import squared

    cards = {} if card is None else {file: card}
    return squared(read_for(replace(bench, cards=cards), shop, file, data), bench.skew_deg)


def _system_of(data: bytes) -> str:
    """The work system that a program names first: without stock, holes are told in it."""
    named = (match[1] for match in _SYSTEM.finditer(data))  # comments go by without a name
    return next(filter(None, named), b"G54").decode().upper()


def _by_line(findings: list[Finding]) -> list[Finding]:
    return sorted(findings, key=lambda finding: finding.line or 0)


def _compared(
    bench: Bench, programs: Sequence[tuple[str, bytes]], done: _Pass, shop: Shop
) -> tuple[list[Finding], list[str]]:
    """(differences from the part, what could not be compared)."""
    from millprep.witness.milling import milled_away, not_told_of_holes, other_systems
    from millprep.witness.pieces import pieces_of

    if bench.part is None or bench.setup is None or bench.scene is None:
        return [], []
    setup, runs, simulations = bench.setup, done.runs, done.simulations
    lay = lay_of(setup)
    pieces = pieces_of(bench.scene, bench.places_mm, are_loaded=bool(bench.apart_mm))
    of_moves: list[Finding] = []
    for (file, run), simulation in zip(runs, simulations, strict=True):
        of_moves += other_systems(run, bench.scene.work_offset, file)
        for piece in pieces:
            cuts = piece.cuts(simulation.sideways)
            of_moves += piece.told(milled_away(bench.part, lay, cuts, run, file))
    if not all(run.is_complete for _, run in runs):
        return of_moves, ["the part: a program was not read to its end"]
    made = simulations[-1].holes
    if bench.stage is not None:
        read, record = partial(_on_square, bench, shop), simulations[-1].record
        made = bench.stage.in_the_end(programs, bench.cards, read, record)
        ran = [(*one, each) for one, each in zip(runs, simulations, strict=True)]
        kept, of_scope = bench.stage.judged(bench.part, lay, pieces, ran, made)
        made = tuple(kept)
        of_moves += of_scope
    looked_at, of_holes = _holes_of(bench, lay, pieces, runs, made, shop)
    unknown = [op for hole in looked_at for op in hole.operations if op.tool_kind is None]
    said = []
    if any(one.milling != "circle" for one in unknown):
        said.append("sizes and operations of holes made by tools that nothing describes")
    if any(one.milling == "circle" for one in unknown):
        said.append("sizes and operations of holes milled under cutter compensation")
    return [*not_told_of_holes(of_moves, of_holes, made), *of_holes], said


def _holes_of(
    bench: Bench,
    lay: Lay,
    pieces: Sequence[Piece],
    runs: Sequence[tuple[str, ProgramRun]],
    made: Sequence[MadeHole],
    shop: Shop,
) -> tuple[list[MadeHole], list[Finding]]:
    """The holes that count, and what is wrong with them, piece by piece."""
    from millprep.proven.run_tools import hands_of
    from millprep.witness import compare
    from millprep.witness.askew import common_turn_deg
    from millprep.witness.backlash import two_sided
    from millprep.witness.milling import clear_of_block
    from millprep.witness.one_slip import off_alike, put_right, slips_of, told
    from millprep.witness.quill_stops import misnamed

    part = bench.part
    assert part is not None
    looked_at: list[MadeHole] = []
    off_path = {file: {*run.lines_off_path().tolist()} for file, run in runs}
    of_stops: list[Finding] = []
    of_holes: list[Finding] = []
    for piece in pieces:
        holes = [
            one
            for one in piece.holes(made)
            if not (clear_of_block(part, lay, one) or _is_way_in(one, off_path))
        ]
        looked_at += holes
        own = {file: piece.run(run) for file, run in runs}
        turn_deg = common_turn_deg(part, lay, holes, POSITION_TOLERANCE_MM)
        slips = [] if turn_deg else [*slips_of(part, lay, holes, POSITION_TOLERANCE_MM)]
        found = compare(
            part,
            lay,
            put_right(holes, slips),
            position_tolerance_mm=POSITION_TOLERANCE_MM,
            hands=hands_of(shop, part),
            file=runs[-1][0],
            left_out=() if bench.stage is None else bench.stage.said.left_out,
        )
        for file, run in own.items():
            of_stops += piece.told(misnamed(part, lay, run, file))
        of_stops += piece.told(two_sided(part, lay, holes, own, shop.control.loose_mm))
        of_holes += piece.told(_with_turn(off_alike(found, part, lay), turn_deg))
        for one in piece.told(told(each, holes, runs[-1][0]) for each in slips):
            of_holes.append(replace(one, folded=tuple(piece.told(one.folded))))
    return looked_at, [*of_stops, *of_holes]


def _is_way_in(hole: MadeHole, off_path: Mapping[str, set[int]]) -> bool:
    """Whether a cutter only went down there to mill, beside where it is written."""
    return all(
        one.milling == "plunge" and one.line in off_path.get(one.file or "", ())
        for one in hole.operations
    )


def _with_turn(found: list[Finding], turn_deg: float | None) -> list[Finding]:
    """Where the holes are off by one turn about the zero, their findings say so."""
    if turn_deg is None:
        return found
    kinds = ("hole-off", "hole-missing", "hole-extra")
    way = "anticlockwise" if turn_deg > 0 else "clockwise"
    remedy = (
        f"all holes are turned {abs(turn_deg):.3f} deg {way} about the zero: if the program is for "
        "a part that is askew, give --skew as it was given for the program"
    )
    return [replace(one, advice=remedy) if one.kind in kinds else one for one in found]
