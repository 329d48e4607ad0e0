"""The report of a dry run, as text and as one JSON object."""

from __future__ import annotations

import textwrap
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from millprep.base.findings import SEVERITIES, Finding, findings_json
from millprep.base.plain_text import counted
from millprep.base.units import Units, format_length
from millprep.report.tables import (
    WIDTH,
    comparison_json,
    comparison_lines,
    lines_words,
    place_words,
    time_table,
    told,
    tools_json,
    wrapped,
)

if TYPE_CHECKING:
    from millprep.reading.moves import ProgramRun
    from millprep.reading.simulate import MadeHole, MadeOperation, Simulation
    from millprep.report.comparison import Comparison

MOST_HOLES_SHOWN = 200
MOST_FOUND_SHOWN = 100
_STEP = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
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
        return self.simulations[-1].holes

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
        "holes": [_hole_json(hole) for hole in report.holes],
        "milled": _milled_json(report),
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


def _hole_json(hole: MadeHole) -> dict[str, Any]:
    return {
        "x_mm": _figure(hole.x_mm),
        "y_mm": _figure(hole.y_mm),
        "diameter_mm": _figure(hole.diameter_mm),
        "bottom_mm": _figure(hole.bottom_mm),
        "operations": [operation.name for operation in hole.operations],
        "steps": [
            {
                "operation": operation.name,
                "diameter_mm": _figure(operation.diameter_mm),
                "z_mm": _figure(operation.tip_mm),
                "cone_mm": _figure(operation.cone_mm),
                "tool_number": operation.tool_number,
                "line": operation.line,
                "file": operation.file,
            }
            for operation in hole.operations
        ],
    }


def _figure(value: float | None) -> float | None:
    """Binary dust removed: 2.8 - 3 is -0.2."""
    return None if value is None else round(value, 9) + 0.0


def report_text(report: Report, units: Units) -> str:
    """The page as printed: at most 79 columns, figures in the unit asked for."""
    lines = ["DRY RUN", *wrapped(report.ground), ""]
    lines += [*wrapped(verdict_words(report), "", " " * 9), *_found(report), ""]
    for file, run in report.runs:
        lines += wrapped(
            f"{file}: {run.read_lines} of {run.lines} lines read, {len(run.moves)} moves"
        )
        lines += [line for words in carried(run) for line in _item(words)]
    lines += [f"  {_extent_words(report, units)}", ""]
    lines += [*time_table(report), ""]
    lines += _holes_table(report.holes, units)
    lines += _milled(report, units)
    if report.comparison is not None:
        lines += ["", *comparison_lines(report.comparison, units)]
    lines += ["", "NOT CHECKED", *(line for said in report.not_checked for line in _item(said))]
    lines += ["", *wrapped(CAUTION)]
    return "\n".join(lines) + "\n"


def _item(words: str) -> list[str]:
    return wrapped(words, "  - ", "    ")


def _extent_words(report: Report, units: Units) -> str:
    words = []
    for axis, span in report.extent_mm.items():
        if span is None:
            words.append(f"{axis.upper()} does not move")
        else:
            low, high = (format_length(end, _STEP[units], units) for end in span)
            words.append(f"{axis.upper()} {low} to {high} {units}")
    return ", ".join(words)


def _holes_table(holes: tuple[MadeHole, ...], units: Units) -> list[str]:
    if not holes:
        return ["HOLES   none"]
    step = _STEP[units]
    lines = [
        f"HOLES   {len(holes)}",
        f"{f'X {units}':>11}{f'Y {units}':>11}{'diameter':>11}{'tip at Z':>11}   operations",
    ]
    for hole in holes[:MOST_HOLES_SHOWN]:
        known = hole.diameter_mm
        size = "unknown" if known is None else format_length(known, step, units)
        figures = [format_length(hole.x_mm, step, units), format_length(hole.y_mm, step, units)]
        figures += [size, format_length(hole.bottom_mm, step, units)]
        words = ", ".join(_operation_words(one, units) for one in hole.operations)
        first, *others = textwrap.wrap(words, WIDTH - 47)
        lines.append("".join(f"{figure:>11}" for figure in figures) + "   " + first)
        lines += [" " * 47 + other for other in others]
    if len(holes) > MOST_HOLES_SHOWN:
        lines.append(f"  and {len(holes) - MOST_HOLES_SHOWN} more (--format json has all)")
    return lines


def _operation_words(operation: MadeOperation, units: Units) -> str:
    size = operation.cone_mm if operation.cone_mm is not None else operation.diameter_mm
    if size is None:
        return operation.name
    return f"{operation.name} {format_length(size, _STEP[units], units)}"


def _milled(report: Report, units: Units) -> list[str]:
    """What the sideways cuts take: a row a room."""
    rooms = [
        (file, room)
        for (file, _), one in zip(report.runs, report.simulations, strict=True)
        for room in one.milled
    ]
    if not rooms:
        return []
    lines = ["", f"MILLED  {len(rooms)}"]
    for file, room in rooms[:MOST_HOLES_SHOWN]:
        spans = [
            " to ".join(format_length(end, _STEP[units], units) for end in ends)
            for ends in list(zip(room.low_mm, room.high_mm, strict=True))[:2]
        ]
        deep = format_length(room.low_mm[2], _STEP[units], units)
        place = f"{file} " if len(report.runs) > 1 else ""
        lines += wrapped(
            f"X {spans[0]}, Y {spans[1]} {units}, down to Z {deep}: {place}line "
            f"{lines_words(room)}, T{room.tool}"
        )
    if len(rooms) > MOST_HOLES_SHOWN:
        lines.append(f"  and {len(rooms) - MOST_HOLES_SHOWN} more (--format json has all)")
    return lines


def _milled_json(report: Report) -> list[dict[str, Any]]:
    return [
        {
            **{
                f"{axis}_mm": [_figure(end) for end in ends]
                for axis, *ends in zip("xyz", room.low_mm, room.high_mm, strict=True)
            },
            "tool_number": room.tool,
            "line": room.line,
            "last_line": room.last_line,
            "file": file,
        }
        for (file, _), one in zip(report.runs, report.simulations, strict=True)
        for room in one.milled
    ]


def _found(report: Report) -> list[str]:
    """Stops and warnings under the numbers that picture and page give them, then the notes."""
    if not report.findings:
        return []
    lines = ["", "FOUND"]
    several = len(report.runs) > 1
    notes = [finding for finding in report.findings if finding.severity == "note"]
    marked = [
        *((str(n), one) for n, one in enumerate(report.numbered, 1)),
        *(("-", n) for n in notes),
    ]
    for mark, finding in marked[:MOST_FOUND_SHOWN]:
        place = f" {finding.file}" if several and finding.file else ""
        said = f"{mark:>3} {finding.severity}{place}{place_words(finding)}: {told(finding)}"
        lines += wrapped(said, "  ", "      ")
        lines += wrapped(finding.remedy, "        ", "        ") if finding.remedy else []
    if len(marked) > MOST_FOUND_SHOWN:
        lines.append(f"  and {len(marked) - MOST_FOUND_SHOWN} more (--format json has all)")
    return lines


def verdict_words(report: Report) -> str:
    """The verdict as a sentence; never that something is free of risk."""
    counts = ", ".join(counted(report.count(severity), severity) for severity in SEVERITIES)
    stops = Counter(f.kind for f in report.findings if f.severity == "stop")
    if not stops:
        warned = "; read the warnings" if report.count("warning") else ""
        return f"VERDICT  nothing found in what was checked{warned} ({counts})"
    kinds = ", ".join(f"{kind} {count}" for kind, count in stops.items())
    return f"VERDICT  do not run it as it is: {counts} ({kinds})"
