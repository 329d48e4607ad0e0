"""Tables of a dry run's report: time by tool, and what a program does otherwise than another."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from decimal import Decimal
from itertools import groupby
from typing import TYPE_CHECKING, Any

from millprep.base.findings import Finding
from millprep.base.units import Units, format_length
from millprep.report.layout import Line, Table

if TYPE_CHECKING:
    from millprep.reading.simulate import MadeHole, ToolTime
    from millprep.report.comparison import Comparison, HoleChange, MoveChange
    from millprep.report.dry_run import Report

MOST_CHANGES_SHOWN = 40
_NO_TIME_S = 0.5  # which is printed as 0 s
_STEP = {"mm": Decimal("0.001"), "inch": Decimal("0.0001")}


def duration(seconds: float) -> str:
    """Minutes and seconds in words."""
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def file_words(finding: Finding, files: Collection[str]) -> str:
    """The file that a finding is in, where that is not the one program."""
    is_elsewhere = finding.line is not None and finding.file not in files
    return f" {finding.file}" if finding.file and (len(files) > 1 or is_elsewhere) else ""


def place_words(finding: Finding) -> str:
    """Where it is: " line 81 to 84", ", 21 places, first at line 488", or nothing."""
    if finding.places > 1:
        first = f", first at line {finding.line}" if finding.line is not None else ""
        return f", {finding.places} places{first}"
    last = f" to {finding.last_line}" if finding.last_line not in (None, finding.line) else ""
    return f" line {finding.line}{last}" if finding.line is not None else ""


def told(finding: Finding) -> str:
    """What it says; of lines that follow each other how often too."""
    is_run = finding.count > 1 and finding.places == 1
    return f"{finding.message} ({finding.count} times)" if is_run else finding.message


def _by_tool(report: Report) -> list[tuple[str, ToolTime, str]]:
    """(file, time, what the tool is) of each stretch between changes."""
    rows = []
    for (file, run), simulation in zip(report.runs, report.simulations, strict=True):
        for one in simulation.tool_times:
            tool = run.tools.get(one.number)
            known = tool is not None and tool.diameter_mm is not None
            words = f"{tool.kind} {tool.words}" if tool is not None and known else "unknown"
            rows.append((file, one, words if one.number else "tool not named"))
    return rows


def tools_json(report: Report) -> list[dict[str, Any]]:
    """A row for each stretch between tool changes."""
    return [
        {
            "program": file,
            "tool_number": one.number,
            "tool": words,
            "line": one.line,
            "feed_s": round(one.feed_s, 3),
            "rapid_s": round(one.rapid_s, 3),
            "dwell_s": round(one.dwell_s, 3),
            "time_s": round(one.seconds, 3),
        }
        for file, one, words in _by_tool(report)
    ]


def time_table(report: Report) -> Table:
    """Time by tool, and in all."""
    changes, each_s = report.tool_changes, report.tool_change_s
    total = f"TIME    {duration(report.total_s)}"
    if changes and each_s:
        what = "change of tool" if changes == 1 else "changes of tool"
        total += f", {duration(changes * each_s)} of it for {changes} {what}"
    rows = tuple(
        (
            *(duration(one) for one in (spent.feed_s, spent.rapid_s, spent.dwell_s)),
            f"T{spent.number} {words}" if spent.number else words,
        )
        for _, spent, words in _by_tool(report)
        if spent.seconds >= (0.0 if spent.number else _NO_TIME_S)
    )
    return Table(total, ("feed", "rapid", "dwell", "tool"), rows)


def comparison_lines(comparison: Comparison, units: Units) -> Iterator[Line]:
    """What the new programs do otherwise."""
    for words in _comparison(comparison, units):
        yield Line(words, len(words) - len(words.lstrip()) + 4)


def _comparison(comparison: Comparison, units: Units) -> list[str]:
    lines = ["AGAINST THE OLDER PROGRAM"]
    if not comparison.is_read:
        lines.append("  compared as far as both were read: a program was refused")
    if comparison.is_same:
        return [*lines, "  the tool does the same: moves, holes and time agree"]
    counts = [
        f"{count} {word}"
        for count, word in (
            (comparison.changed, "changed"),
            (comparison.added, "new"),
            (comparison.removed, "gone"),
        )
        if count
    ]
    lines.append(f"  moves: {', '.join(counts) or 'the same'}")
    groups = [list(group) for _, group in groupby(comparison.moves, key=_lines_of)]
    lines += [f"    {_move_words(group)}" for group in groups[:MOST_CHANGES_SHOWN]]
    told = sum(len(group) for group in groups[:MOST_CHANGES_SHOWN])
    rest = comparison.changed + comparison.added + comparison.removed - told
    lines += [f"    and {rest} more moves"] if rest else []
    lines.append(f"  holes: {len(comparison.holes) or 'the same'}")
    for hole in comparison.holes[:MOST_CHANGES_SHOWN]:
        lines += [f"    {words}" for words in _hole_words(hole, units)]
    new, old = duration(comparison.time_s), duration(comparison.old_time_s)
    lines.append(f"  time without changes of tool: {new}" + (f", was {old}" if new != old else ""))
    return lines


def _lines_of(change: MoveChange) -> tuple[object, ...]:
    """Changes of one line, of one kind, are told together."""
    places = (change.new, change.old)
    return tuple(None if one is None else (one.file, one.line) for one in places)


def _move_words(group: Sequence[MoveChange]) -> str:
    """The changes of one line: how many, and the first of them."""
    first = group[0]
    count = f" ({len(group)} moves)" if len(group) > 1 else ""
    if first.old is None:
        assert first.new is not None
        return f"line {first.new.line}{count}: new, {first.new.words}"
    if first.new is None:
        return f"gone{count}: {first.old.words} (line {first.old.line} of the older)"
    what = ", ".join(first.what)
    return f"line {first.new.line}{count}: {first.new.words}; was {first.old.words} ({what})"


def _hole_words(change: HoleChange, units: Units) -> list[str]:
    if change.old is None:
        assert change.new is not None
        return [f"new: {_hole(change.new, units)}"]
    if change.new is None:
        return [f"gone: {_hole(change.old, units)}"]
    return [_hole(change.new, units), f"  was {_hole(change.old, units)}"]


def _hole(hole: MadeHole, units: Units) -> str:
    def shown(value: float) -> str:
        return format_length(value, _STEP[units], units)

    size = "size unknown" if hole.diameter_mm is None else f"dia {shown(hole.diameter_mm)}"
    steps = ", ".join(operation.name for operation in hole.operations)
    return (
        f"X{shown(hole.x_mm)} Y{shown(hole.y_mm)} {size}, tip at Z{shown(hole.bottom_mm)}: {steps}"
    )


def comparison_json(comparison: Comparison) -> dict[str, Any]:
    """The same as data; lengths in mm."""

    def place(change: MoveChange) -> dict[str, Any]:
        return {
            "line": None if change.new is None else change.new.line,
            "old_line": None if change.old is None else change.old.line,
            "move": None if change.new is None else change.new.words,
            "old_move": None if change.old is None else change.old.words,
            "what": list(change.what),
        }

    def hole(made: MadeHole | None) -> dict[str, Any] | None:
        if made is None:
            return None
        return {
            "x_mm": round(made.x_mm, 6),
            "y_mm": round(made.y_mm, 6),
            "diameter_mm": made.diameter_mm,
            "bottom_mm": round(made.bottom_mm, 6),
            "operations": [operation.name for operation in made.operations],
        }

    return {
        "same": comparison.is_same,
        "changed": comparison.changed,
        "added": comparison.added,
        "removed": comparison.removed,
        "moves": [place(change) for change in comparison.moves],
        "holes": [{"new": hole(one.new), "old": hole(one.old)} for one in comparison.holes],
        "time_s": round(comparison.time_s, 3),
        "old_time_s": round(comparison.old_time_s, 3),
    }
