"""The report of a dry run, as text and as one JSON object."""

from __future__ import annotations

import textwrap
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from millprep.errors import SEVERITIES, Finding
from millprep.units import Units, format_length

if TYPE_CHECKING:
    from millprep.reading.moves import ProgramRun
    from millprep.reading.simulate import MadeHole, MadeOperation, Simulation

WIDTH = 79
MOST_HOLES_SHOWN = 200
_STEP = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}
_CAUTION = (
    "This is no air cut and replaces none: run the program in the air first, with your hand on "
    "feed hold, and follow the rules of your shop and those who taught you."
)


@dataclass(frozen=True, slots=True)
class Report:
    """All of a dry run: (file, run) and simulation of each program, findings in their order."""

    runs: list[tuple[str, ProgramRun]]
    simulations: list[Simulation]
    findings: list[Finding]
    not_checked: list[str]
    ground: str

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
    from millprep.writers.listing_data import findings_json

    files = [file for file, _ in report.runs]
    answer: dict[str, Any] = {
        "program": ", ".join(files),
        "stops": report.count("stop"),
        "warnings": report.count("warning"),
        "lines": sum(run.lines for _, run in report.runs),
        "read_lines": sum(run.read_lines for _, run in report.runs),
        "moves": sum(len(run.moves) for _, run in report.runs),
        "time_s": round(report.time_s, 3),
        "extent_mm": report.extent_mm,
        "holes": [_hole_json(hole) for hole in report.holes],
        "not_checked": report.not_checked,
        "findings": findings_json(report.findings),
    }
    if len(files) > 1:
        answer["programs"] = [
            {
                "program": file, "lines": run.lines, "read_lines": run.read_lines,
                "moves": len(run.moves), "time_s": round(simulation.time_s, 3),
            }
            for (file, run), simulation in zip(report.runs, report.simulations, strict=True)
        ]  # fmt: skip
    return answer


def _hole_json(hole: MadeHole) -> dict[str, Any]:
    return {
        "x_mm": _figure(hole.x_mm),
        "y_mm": _figure(hole.y_mm),
        "diameter_mm": _figure(hole.diameter_mm),
        "bottom_mm": _figure(hole.bottom_mm),
        "operations": [operation.name for operation in hole.operations],
        "steps": [
            {
                "operation": operation.name, "diameter_mm": _figure(operation.diameter_mm),
                "z_mm": _figure(operation.tip_mm), "cone_mm": _figure(operation.cone_mm),
                "tool_number": operation.tool_number, "line": operation.line,
                "file": operation.file,
            }
            for operation in hole.operations
        ],
    }  # fmt: skip


def _figure(value: float | None) -> float | None:
    """Binary dust removed: 2.8 - 3 is -0.2."""
    return None if value is None else round(value, 9) + 0.0


def report_text(report: Report, units: Units) -> str:
    """The page as printed: at most 79 columns, figures in the unit asked for."""
    lines = ["DRY RUN", *_wrapped(report.ground)]
    for file, run in report.runs:
        lines += _wrapped(f"{file}: {run.read_lines} of {run.lines} lines read, "
                          f"{len(run.moves)} moves")  # fmt: skip
    lines += [f"  {duration(report.time_s)} at full feeds and rapids, tool changes not counted"]
    lines += [f"  {_extent_words(report, units)}", ""]
    lines += _holes_table(report.holes, units)
    lines += ["", "NOT CHECKED", *(line for said in report.not_checked for line in _item(said))]
    lines += ["", *_verdict(report), *_wrapped(_CAUTION)]
    return "\n".join(lines) + "\n"


def _wrapped(words: str) -> list[str]:
    return textwrap.wrap(
        words, WIDTH, initial_indent="  ", subsequent_indent="  ", break_on_hyphens=False
    )


def _item(words: str) -> list[str]:
    return textwrap.wrap(
        words, WIDTH, initial_indent="  - ", subsequent_indent="    ", break_on_hyphens=False
    )


def duration(seconds: float) -> str:
    """Minutes and seconds in words."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


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


def _verdict(report: Report) -> list[str]:
    counts = ", ".join(_counted(report.count(severity), severity) for severity in SEVERITIES)
    stops = Counter(f.kind for f in report.findings if f.severity == "stop")
    if not stops:
        warned = "; read the warnings" if report.count("warning") else ""
        return [*_wrapped(f"VERDICT  nothing found in what was checked{warned} ({counts})")]
    kinds = ", ".join(f"{kind} {count}" for kind, count in stops.items())
    return [*_wrapped(f"VERDICT  do not run it as it is: {counts} ({kinds})")]


def _counted(count: int, severity: str) -> str:
    return f"{count} {severity}" if count == 1 else f"{count} {severity}s"
