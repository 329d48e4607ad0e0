"""The report of a dry run, as text and as one JSON object."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from millprep.base.findings import SEVERITIES, Finding, findings_json
from millprep.base.plain_text import counted
from millprep.base.units import Units
from millprep.reading.made import without_plunges
from millprep.report.layout import WIDTH, Line, Table, item, laid_out
from millprep.report.made import hole_json, holes_table, milled_json, milled_table, shown
from millprep.report.tables import (
    comparison_json,
    comparison_lines,
    file_words,
    place_words,
    time_table,
    told,
    tools_json,
)

if TYPE_CHECKING:
    from millprep.reading.made import MadeHole
    from millprep.reading.milled_rooms import MilledRoom
    from millprep.reading.moves import ProgramRun
    from millprep.reading.simulate import Simulation
    from millprep.report.comparison import Comparison
    from millprep.report.page import Told

MOST_FOUND_SHOWN = 100
_GAP = Line("")
CAUTION = (
    "This is no air cut and replaces none: run the program in the air first, with your hand on "
    "feed hold, and follow the rules of your shop and those who taught you."
)


@dataclass(slots=True)
class Report:
    """All of a dry run: (file, run) and simulation of each program, findings in their order.

    tool_change_s : what one change of tool takes; comparison : with older programs, when asked for
    as_read : the runs before they were turned back for a part that lies skew_deg askew
    """

    runs: list[tuple[str, ProgramRun]]
    simulations: list[Simulation]
    findings: list[Finding]
    not_checked: list[str]
    ground: str
    tool_change_s: float = 0.0
    comparison: Comparison | None = None
    as_read: Sequence[ProgramRun] = ()
    skew_deg: float = 0.0

    @property
    def numbered(self) -> list[Finding]:
        """The findings that report, picture and page number, from 1: stops and warnings."""
        return [finding for finding in self.findings if finding.severity != "note"]

    @property
    def tool_changes(self) -> int:
        """How often a tool is put in, from program to program."""
        count, before = 0, 0
        for _, run in self.runs:
            for _, number in run.tool_changes:
                count += number not in (0, before)
                before = number
        return count

    @property
    def total_s(self) -> float:
        """Moves, dwells and changes of tool."""
        return self.time_s + self.tool_changes * self.tool_change_s

    @property
    def holes(self) -> tuple[MadeHole, ...]:
        """Those that are holes; where a cutter goes down to mill is none."""
        return without_plunges(self.simulations[-1].holes)

    @property
    def milled(self) -> list[tuple[str, MilledRoom]]:
        """What is milled, beside the file that mills it."""
        return [
            (file, room)
            for (file, _), one in zip(self.runs, self.simulations, strict=True)
            for room in one.milled
        ]

    @property
    def time_s(self) -> float:
        return sum(simulation.time_s for simulation in self.simulations)

    @property
    def extent_mm(self) -> dict[str, list[float] | None]:
        extent: dict[str, list[float] | None] = {}
        for axis in "xyz":
            known = [span for one in self.simulations if (span := one.extent_mm[axis]) is not None]
            extent[axis] = [min(s[0] for s in known), max(s[1] for s in known)] if known else None
        return extent

    def count(self, severity: str) -> int:
        return sum(finding.severity == severity for finding in self.findings)


def report_json(report: Report) -> dict[str, Any]:
    """The contract's object; of several programs the sums, and each by itself in `programs`."""
    files = [file for file, _ in report.runs]
    answer: dict[str, Any] = {
        "program": ", ".join(files),
        "stops": report.count("stop"),
        "warnings": report.count("warning"),
        "lines": sum(run.lines for _, run in report.runs),
        "read_lines": sum(run.read_lines for _, run in report.runs),
        "moves": sum(len(run.moves) for _, run in report.runs),
        "time_s": round(report.time_s, 3),
        "tool_changes": report.tool_changes,
        "total_s": round(report.total_s, 3),
        "tools": tools_json(report),
        "extent_mm": report.extent_mm,
        "holes": [hole_json(hole) for hole in report.holes],
        "milled": milled_json(report.milled),
        "not_checked": report.not_checked,
        "findings": findings_json(report.findings),
    }
    if report.skew_deg:
        answer["skew_deg"] = round(report.skew_deg, 4)
    if report.comparison is not None:
        answer["against"] = comparison_json(report.comparison)
    if len(files) > 1:
        answer["programs"] = [
            {
                "program": file,
                "lines": run.lines,
                "read_lines": run.read_lines,
                "moves": len(run.moves),
                "time_s": round(simulation.time_s, 3),
                "carried": carried(run),
            }
            for (file, run), simulation in zip(report.runs, report.simulations, strict=True)
        ]
    return answer


def carried(run: ProgramRun) -> list[str]:
    """What the program found changed in the control by those before it, in sentences."""
    return [finding.message for finding in run.findings if finding.kind == "carried-over"]


def report_text(report: Report, units: Units, columns: int = WIDTH) -> str:
    """The page as printed, figures in the unit asked for."""
    return laid_out(_lines(report, units), columns)


def _lines(report: Report, units: Units) -> Iterator[Line]:
    yield from (Line("DRY RUN"), Line(f"  {report.ground}"), _GAP)
    yield Line(f"VERDICT  {verdict_words(report)}", 9)
    yield from _found(report)
    yield _GAP
    for file, run in report.runs:
        moves = counted(len(run.moves), "move")
        yield Line(f"  {file}: {run.read_lines} of {run.lines} lines read, {moves}")
        yield from map(item, carried(run))
    yield from (Line(f"  {_extent_words(report, units)}"), _GAP)
    for table in tables_of(report, units):
        yield from (*table.lines(), _GAP)
    if report.comparison is not None:
        yield from (*comparison_lines(report.comparison, units), _GAP)
    yield from (Line("NOT CHECKED"), *map(item, report.not_checked), _GAP, Line(f"  {CAUTION}"))


def tables_of(report: Report, units: Units) -> Iterator[Table]:
    """Time by tool, holes, and what is milled."""
    yield time_table(report)
    yield holes_table(report.holes, units)
    several = len(report.runs) > 1
    milled = milled_table([(file * several, room) for file, room in report.milled], units)
    if milled is not None:
        yield milled


def _extent_words(report: Report, units: Units) -> str:
    words = []
    for axis, span in report.extent_mm.items():
        if span is None:
            words.append(f"{axis.upper()} does not move")
        else:
            low, high = (shown(end, units) for end in span)
            words.append(f"{axis.upper()} {low} to {high} {units}")
    return ", ".join(words)


def _found(report: Report) -> Iterator[Line]:
    """Stops and warnings under the numbers that picture and page give them, then the notes."""
    if not report.findings:
        return
    yield from (_GAP, Line("FOUND"))
    programs = {file for file, _ in report.runs}
    notes = [finding for finding in report.findings if finding.severity == "note"]
    marked = [
        *((str(n), one) for n, one in enumerate(report.numbered, 1)),
        *(("-", n) for n in notes),
    ]
    for mark, finding in marked[:MOST_FOUND_SHOWN]:
        place = file_words(finding, programs) + place_words(finding)
        said = f"{mark:>5} {finding.severity}{place}: {told(finding)}"
        yield Line(said, 6)
        if finding.remedy:
            yield Line(f"        {finding.remedy}", 8)
    if len(marked) > MOST_FOUND_SHOWN:
        yield Line(f"  and {len(marked) - MOST_FOUND_SHOWN} more (--format json has all)")


def told_on_page(report: Report, units: Units) -> Told:
    """What stands on the page beside views, numbered findings and program."""
    from millprep.report.page import Told  # with jinja2, which only a page needs

    notes = [one for one in report.findings if one.severity == "note"]
    tables = tuple(tables_of(report, units))
    return Told(verdict_words(report), notes, tables, report.not_checked, (CAUTION,))


def verdict_words(report: Report) -> str:
    """The verdict as a sentence; never that something is free of risk."""
    unread = [(file, run) for file, run in report.runs if not run.is_complete]
    several = len(report.runs) > 1
    read = "".join(
        f"{f'{file} ' * several}read only to line {run.read_lines}; " for file, run in unread
    )
    counts = ", ".join(counted(report.count(severity), severity) for severity in SEVERITIES)
    stops = Counter(f.kind for f in report.findings if f.severity == "stop")
    if not stops:
        warned = "; read the warnings" if report.count("warning") else ""
        return f"{read}nothing found in what was checked{warned} ({counts})"
    kinds = ", ".join(f"{kind} {count}" for kind, count in stops.items())
    return f"do not run it as it is: {read}{counts} ({kinds})"
