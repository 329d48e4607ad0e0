"""The one way to a dry run: programs read, run on one stock, compared with the part."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from millprep.base.findings import Finding, WordError, has_stop, stopped
from millprep.base.marks import sealed, sheet_mark
from millprep.base.plain_text import json_text
from millprep.base.records import frozen, replace
from millprep.base.units import Units
from millprep.proven.files import load, shop_of
from millprep.proven.judging import Bench, Progress, judged, read_for
from millprep.proven.preparation import Askew, ToFit, measured_skew, moved, wanted_setup
from millprep.proven.program_files import Programs, cards_for, folders_of, programs_read
from millprep.proven.scope_said import heading_doubts, says_lay
from millprep.proven.stage import stage_of
from millprep.proven.stock_words import STOCK_REMEDY, Stock, ground_words, read_stock, scene_of
from millprep.proven.table import Standing, standing_for

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.model.shop import Shop
    from millprep.report.comparison import Comparison
    from millprep.report.dry_run import Report
    from millprep.report.views import Shown


_UNITS = re.compile(rb"\([^)\n]*\)?|;[^\n]*|G(20|21)(?![\d.])", re.I)


@frozen
class DryRun:
    """What programs would do, and what is wrong with it.

    units : of what it says; name, setup : of the part, or the names of the programs
    """

    report: Report
    seen: Shown
    texts: tuple[bytes, ...]
    units: Units
    name: str
    setup: int | None

    @property
    def findings(self) -> Sequence[Finding]:
        return self.report.findings

    def text(self, columns: int | None = None) -> str:
        """The report as a page, in so many columns where a terminal has fewer or more than 79."""
        from millprep.report.dry_run import report_text
        from millprep.report.layout import WIDTH

        return report_text(self.report, self.units, columns or WIDTH)

    def json(self) -> str:
        """The report as one JSON object."""
        from millprep.report.dry_run import report_json

        return json_text(report_json(self.report))

    def moves_csv(self) -> bytes:
        """Every motion, a row each."""
        from millprep.reading.moves import moves_csv

        tables = [moves_csv(run.moves) for run in self.report.as_read]
        return (tables[0] + "".join(table.split("\n", 1)[1] for table in tables[1:])).encode()

    def picture(self, ending: str = ".svg") -> bytes:
        """Three views to scale, what is left of the stock, sections, as .svg, .png or .pdf."""
        from millprep.report.picture import PICTURES

        return self._sealed(PICTURES[ending](self.seen), ending)

    def page(self, ending: str = ".html") -> bytes:
        """The views beside the program."""
        from millprep.report.dry_run import told_on_page
        from millprep.report.page import page

        said = told_on_page(self.report, self.units)
        return self._sealed(page(self.seen, self.texts, said), ending)

    def _sealed(self, content: str | bytes, ending: str) -> bytes:
        return sealed(content, sheet_mark("dryrun", ending[1:], self.name, self.setup))


@frozen
class _Asked:
    """What a dry run is asked, as `dry_run` takes it."""

    files: Programs
    part: Part | Path | str | None = None
    shop: Shop | Path | str = "metric"
    stock: str | None = None
    zero: str | None = None
    setup: int = 1
    units: Units | None = None
    given: Askew | None = None
    tools: Sequence[Path] = ()
    places: str | None = None
    pieces: int | None = None
    assembly: Path | str | None = None
    fitted: ToFit | None = None


@frozen
class _Job:
    """Programs, what they run on, and what was said on the way there."""

    programs: list[tuple[str, bytes]]
    bench: Bench
    shop: Shop
    notes: list[Finding]

    @property
    def named(self) -> tuple[str, int | None]:
        """The part and its setup, or the names of the programs."""
        if self.bench.part is not None and self.bench.setup is not None:
            return self.bench.part.name, self.bench.setup.number
        return " ".join(Path(name).name for name, _ in self.programs), None


def dry_run(
    files: Programs,
    part: Part | Path | str | None = None,
    shop: Shop | Path | str = "metric",
    stock: str | None = None,
    zero: str | None = None,
    setup: int = 1,
    units: Units | None = None,
    given: Askew | None = None,
    tools: Sequence[Path] = (),
    places: str | None = None,
    pieces: int | None = None,
    *,
    assembly: Path | str | None = None,
    fitted: ToFit | None = None,
    against: Programs = (),
    sections: Sequence[str] = (),
    progress: Progress | None = None,
) -> DryRun:
    """Programs run one after another on the same stock.

    part     : to compare the holes with; or stock ("60,25,20", "4.35 x 2.35 x 0.157 in",
               "dia 40 x 6") and zero ("left,front,top")
    units    : of plain figures of the stock, else mm; and of what is said, else the
               programs' own, the part's
    tools    : cards of the programs, where they do not lie beside them
    places, pieces : zeros of several pieces of the part, or how many are put in one after another,
               where the program does not say it
    assembly : that is asked what is left for later; None for those beside the part that name it
    fitted   : readings of drilled holes, that the rest is moved to fit
    against  : older programs, to be told what these do otherwise
    sections : holes that the picture and the page show cut, by name, place or number
    progress : is told the file and how far it is as reading goes on
    Raises MillprepError or WordError for what cannot be judged.
    """
    asked = _Asked(
        files, part, shop, stock, zero, setup, units, given, tools, places, pieces, assembly, fitted
    )
    folders = {**folders_of(against), **folders_of(files)}
    job, older = _job(asked, folders), programs_read(against)
    report = judged(job.programs, job.bench, job.shop, job.notes, progress)
    drawn = _as_drawn(job)
    if drawn is not None and has_stop(report.findings):
        other = _job(replace(asked, part=drawn, assembly=None, fitted=None), folders)
        job, report = _more_likely(job, report, other)
    bench = job.bench
    if older:
        report.comparison = _against(report, judged(older, bench, job.shop, [], progress))
    texts = tuple(data for _, data in job.programs)
    return DryRun(report, _shown(job, report, sections), texts, bench.units, *job.named)


def _shown(job: _Job, report: Report, sections: Sequence[str]) -> Shown:
    """What the picture and the page show."""
    from millprep.proven.sections import sections_at
    from millprep.report.views import Shown

    bench = job.bench
    scene = bench.scene
    is_listed = scene is not None and scene.work_offset in job.shop.control.offsets_mm
    return Shown(
        bench.words,
        report.runs,
        scene,
        report.holes,
        report.numbered,
        is_listed,
        report.simulations[-1].record,
        [one.sideways for one in report.simulations],
        sections_at(sections, bench, report.holes, bench.units),
        bench.units,
    )


def _job(asked: _Asked, folders: dict[str, Path]) -> _Job:
    """Raises MillprepError or WordError. folders : of programs that are files"""
    if asked.part is not None and asked.stock is not None:
        raise stopped(
            "unknown-word",
            "--part and --stock exclude each other",
            "give one of them: a part has stock",
        )
    if asked.part is None and (asked.places is not None or asked.pieces is not None):
        remedy = "name the part that stands there, with --part"
        raise stopped("unknown-word", "--places and --pieces need --part", remedy)
    bench, shop, notes = _of_stock(asked) if asked.part is None else _of_part(asked, asked.part)
    programs = programs_read(asked.files)
    if bench.part is not None:
        for name, data in programs:
            notes = [*notes, *heading_doubts(name, data, bench.part, asked.setup)]
    cards, told = cards_for(programs, asked.tools)
    units = asked.units or _units_of(programs) or bench.units
    bench = replace(bench, cards=cards, folders=folders, units=units)
    notes = [*notes, *told]
    if bench.plans is not None and bench.scene is not None:
        stage, doubts = stage_of(programs, cards, *bench.plans, bench.scene)
        bench, notes = replace(bench, stage=stage), [*notes, *doubts]
    return _Job(programs, bench, shop, notes)


def _units_of(programs: Sequence[tuple[str, bytes]]) -> Units | None:
    """In which the first that says it has its lengths."""
    for _, data in programs:
        for one in _UNITS.finditer(data):
            if one[1]:
                return "inch" if one[1] == b"20" else "mm"
    return None


def _of_part(asked: _Asked, given: Part | Path | str) -> tuple[Bench, Shop, list[Finding]]:
    """The part of one setup on the table."""
    part, shop, notes = load(given, asked.shop, asked.assembly)
    first = programs_read(asked.files[:1])
    pieces, told = standing_for(asked.places, asked.pieces, first, part)
    part, held, found = moved(part, shop, asked.fitted)
    notes = [*notes, *told, *found]
    bench = _part_bench(part, held, shop, asked.setup, asked.units or part.units, pieces)
    if asked.given is None:
        return bench, shop, notes
    bench, doubts = _askew(bench, part, shop, asked.given)
    return bench, shop, [*notes, *doubts]


def _of_stock(asked: _Asked) -> tuple[Bench, Shop, list[Finding]]:
    """A stock in words, or nothing at all."""
    if asked.given is not None:
        raise stopped(
            "unknown-word", "--skew needs --part", "name the part that is askew, with --part"
        )
    shop, shown, zero = shop_of(asked.shop), asked.units or "mm", asked.zero
    if asked.stock is None:
        if zero is not None:
            raise stopped("unknown-word", "--zero needs --stock", STOCK_REMEDY)
        return Bench(units=shown), shop, []
    size = read_stock(asked.stock, shown)
    bench = Bench(scene_of(size, zero), words=ground_words(size, zero), units=shown)
    return replace(bench, other_stock=_in_other_unit(size, zero)), shop, []


def _in_other_unit(size: Stock, zero: str | None) -> tuple[str, Scene] | None:
    try:
        return f'--stock "{size.otherwise.words}"', scene_of(size.otherwise, zero)
    except WordError:  # larger than any stock
        return None


def _part_bench(
    whole: Part, held: Part, shop: Shop, number: int, units: Units, standing: Standing
) -> Bench:
    from millprep.planning import MACHINE_ORDER, make_plan
    from millprep.planning.leaving import part_for_now
    from millprep.planning.table import batched
    from millprep.witness.left import as_left

    part = part_for_now(whole)
    plan = batched(make_plan(part, shop, MACHINE_ORDER), standing.loaded or 1)
    wanted_setup(number, [one.setup.number for one in plan.setups])
    setup_plan = next(one for one in plan.setups if one.setup.number == number)
    setup = setup_plan.setup
    count = f"{standing.count} pieces of " if standing.count else ""
    scene, places = standing.scene(part, shop, setup_plan)
    used = {operation.tool for operation in setup_plan.operations}
    return Bench(
        scene,
        as_left(held),
        setup,
        {n: tool for tool, n in plan.tool_numbers.items() if tool in used},
        places_mm=places,
        apart_mm=places[1][0] if standing.loaded else 0.0,
        words=f"{count}{part.name}, setup {number}, {setup.face.upper()} up",
        units=units,
        plans=(plan, standing.plan(setup_plan)),
    )


def _askew(bench: Bench, part: Part, shop: Shop, given: Askew) -> tuple[Bench, list[Finding]]:
    skew, doubts = measured_skew(part, shop, given)
    if not skew.angle_deg:
        return bench, doubts
    words = f"{bench.words}; askew by {skew.angle_deg:.4f} deg, shown turned back"
    return replace(bench, skew_deg=skew.angle_deg, words=words), doubts


def _as_drawn(job: _Job) -> Part | None:
    """The part with this setup lying as its face is drawn, where another lay was chosen for it.

    None where a program says how the part lies.
    """
    from millprep.setting.setups import default_towards_you

    part, setup = job.bench.part, job.bench.setup
    if part is None or setup is None or setup.request.laid_for is None:
        return None
    if any(says_lay(data) for _, data in job.programs):
        return None
    view = default_towards_you(setup.face)
    drawn = replace(setup.request, towards_you=view, laid_for=None)
    setups = tuple(drawn if one == setup.request else one for one in part.setups)
    return replace(part, setups=setups)


def _more_likely(job: _Job, report: Report, drawn: _Job) -> tuple[_Job, Report]:
    """The lay that programs are written for, which they do not say: as drawn, or as chosen.

    As drawn, for a plan is what they are written from, unless more holes come to their places so.
    """
    other = judged(drawn.programs, drawn.bench, drawn.shop, drawn.notes)
    amiss, other_amiss = (
        sum(
            one.places
            for one in each.findings
            if one.kind in ("hole-missing", "hole-extra", "hole-off")
        )
        for each in (report, other)
    )
    setup, chosen = drawn.bench.setup, job.bench.setup
    if other_amiss > amiss or setup is None or chosen is None:
        return job, report
    other.findings.append(
        Finding(
            "note",
            "lies-as-drawn",
            f"setup {setup.number}: the program is for {setup.face.upper()} as it is drawn, "
            f"{setup.towards_you.upper()} towards you; the sheets have "
            f"{chosen.towards_you.upper()} towards you",
            f'write towards_you = "{setup.towards_you}" into a [[setup]] for {setup.face}',
            file=drawn.bench.part.path if drawn.bench.part is not None else None,
            setup=setup.number,
        )
    )
    return drawn, other


def _against(report: Report, old: Report) -> Comparison:
    from millprep.report.comparison import compare_runs

    return compare_runs(report.runs, old.runs, report.holes, old.holes, report.time_s, old.time_s)


def traced(files: Programs, tell: Callable[[str], None], *asked: Any) -> list[Finding]:
    """Each act of each program told as a line of JSON, instead of a report; what was found.

    asked : part, shop, stock, zero, setup, units, given, tools, places ..., as `dry_run` has
    """
    from millprep.reading.gcode.acting import JsonTrace

    job = _job(_Asked(files, *asked), folders_of(files))
    return [
        finding
        for name, data in job.programs
        for finding in read_for(job.bench, job.shop, name, data, trace=JsonTrace(tell)).findings
    ]
