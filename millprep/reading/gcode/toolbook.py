"""The tools of a program: which number is which tool, and how long each one is.

A number is looked up in the control's table, then in the program's own tool lines, then in the
plan's list. A tool line is a comment of the form

    TOOL n KIND d MM [POINT a] [FLAT w] [PITCH p] [FLANKS a] [LEAD x] [LEFT HAND] [CARBIDE]

with d, FLAT and PITCH in mm, POINT and the angle between the FLANKS of a thread in degrees, LEAD in
threads for a tap and in mm for a reamer; with IN for MM all lengths are inches, and d may be a
fraction.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from millprep.base.bounds import LARGEST_TOOL_MM
from millprep.base.findings import words
from millprep.base.records import field_names, replace
from millprep.base.units import shown
from millprep.model.tools import TOOLS, Tap, Tool, ToolKind, UnknownTool
from millprep.reading.gcode.report import Report
from millprep.reference.threads import is_other_form, thread_named, threads

_NUMBER = r"\d+\.?\d*|\.\d+"
_TOOL_LINE = re.compile(
    rf"""\s* TOOL \s+ (?P<number>\d{{1,6}}) \s+ (?P<kind>[A-Z]+(?:\s[A-Z]+)?) \s+
    (?: (?P<diameter>{_NUMBER}) \s* (?P<unit>MM|IN(?:CH)?)
      | (?P<over>\d+)/(?P<under>[1-9]\d*) \s* IN(?:CH)?)
    (?P<rest>(?:\s+ (?:POINT|FLAT|PITCH|FLANKS|LEAD) \s* (?:{_NUMBER})
    | \s+ LEFT \s+ HAND | \s+ CARBIDE)*) \s*""",
    re.VERBOSE | re.IGNORECASE,
)
_LENGTHS = ("FLAT", "PITCH")
_DETAIL = re.compile(rf"(POINT|FLAT|PITCH|FLANKS|LEAD)\s*({_NUMBER})", re.IGNORECASE)
_COMPARED = (  # what, how far two statements of it may lie apart, how it is told
    ("diameter", 0.003, "{:.3f} mm"),  # tool lines give three decimals
    ("point", 0.5, "point {:g} deg"),
    ("flat", 0.01, "flat {:g} mm"),
    ("pitch", 0.001, "pitch {:g} mm"),
)
_FIELDS = (
    ("POINT", "point_angle_deg"),
    ("FLAT", "tip_flat_mm"),
    ("PITCH", "pitch_mm"),
    ("LEAD", "lead_threads"),
    ("LEAD", "lead_mm"),
)
TOOL_LINE = "TOOL {number} DRILL {size_mm:3} POINT 118"
"""Of `Words`: an example."""
_KINDS: dict[str, ToolKind] = {kind.upper(): kind for kind in TOOLS}


def read_tool_line(comment: str) -> Tool | None:
    """The tool that a comment describes, None where it is no tool line."""
    match = _TOOL_LINE.fullmatch(comment)
    kind = _KINDS.get(" ".join(match["kind"].upper().split())) if match else None
    if match is None or kind is None:
        return None
    details = {name.upper(): float(value) for name, value in _DETAIL.findall(match["rest"])}
    is_inch = match["unit"] is None or match["unit"].upper() != "MM"
    size = match["diameter"] or int(match["over"]) / int(match["under"])
    unit_mm = 25.4 if is_inch else 1.0
    details |= {word: unit_mm * details[word] for word in _LENGTHS if word in details}
    diameter_mm = unit_mm * float(size)
    made, rest = TOOLS[kind], match["rest"].upper()
    more: dict[str, Any] = {
        field: details[word] * (unit_mm if field == "lead_mm" else 1.0)
        for word, field in _FIELDS
        if word in details and field in field_names(made)
    }
    if made is Tap:
        more["is_left_hand"] = "LEFT" in rest
    said = _thread_cut(diameter_mm, details) or f"{float(size):.6g} {'in' if is_inch else 'mm'}"
    number = int(match["number"])
    return made(said, diameter_mm, number=number, is_carbide="CARBIDE" in rest, **more)


def _thread_cut(diameter_mm: float, details: Mapping[str, float]) -> str:
    """The first thread of a diameter, pitch and angle between flanks; "" where one is not said."""
    if not {"PITCH", "FLANKS"} <= details.keys():
        return ""
    slack = {name: slack for name, slack, _ in _COMPARED}
    for thread in threads():
        if (
            abs(thread.major_mm - diameter_mm) <= slack["diameter"]
            and abs(thread.pitch_mm - details["PITCH"]) <= slack["pitch"]
            and thread.angle_deg == details["FLANKS"]
        ):
            return thread.designation
    return ""


def contradiction(line: Tool, table: Tool) -> tuple[str, str] | None:
    """What a tool line and the control's table say of one tool where they exclude each other.

    What the line leaves out contradicts nothing.
    """
    if line.kind != table.kind:
        return line.kind, table.kind
    ours, theirs = _figures(line), {"flat": 0.0, **_figures(table)}
    for name, slack, form in _COMPARED:
        one, other = ours.get(name), theirs.get(name)
        if one and other is not None and abs(one - other) > slack:
            return f"{line.kind}, {form.format(one)}", f"{line.kind}, {form.format(other)}"
    if not isinstance(line, Tap) or not isinstance(table, Tap):
        return None
    cut = thread_named(table.words)
    if cut is not None and is_other_form(line.words, cut):
        return f"tap, {line.words}", f"tap, {table.words}"
    if line.is_left_hand != table.is_left_hand:
        right_and_left = ("tap, right hand", "tap, left hand")
        return right_and_left[line.is_left_hand], right_and_left[table.is_left_hand]
    return None


def _beyond_any_tool(tool: Tool) -> float | None:
    """The length of a tool line that no tool has, None where there is none."""
    given = (value for word, value in _figures(tool).items() if word != "point")
    return next((each for each in given if each > LARGEST_TOOL_MM), None)


def _figures(tool: Tool) -> dict[str, float]:
    """What is known of a tool, by the word that a tool line has for it."""
    size = {} if tool.diameter_mm is None else {"diameter": tool.diameter_mm}
    return {**size, **tool.told}


class ToolBook:
    """Number -> tool."""

    def __init__(self, tools: Sequence[Tool] = (), *, touches_off: bool = False) -> None:
        """touches_off : each tool is set to the work after its change, so that no length counts"""
        self._table = {tool.number: tool for tool in tools if tool.number is not None}
        self._lines: dict[int, Tool] = {}
        self._inherited: dict[int, Tool] = {}
        self._used: list[int] = []
        self._is_changed = False
        self._touches_off = touches_off

    def __contains__(self, number: int) -> bool:
        return number in self._table

    @property
    def lines(self) -> Mapping[int, Tool]:
        """Tools that the program itself describes."""
        return self._lines

    @property
    def described(self) -> dict[int, Tool]:
        """Tools that this program or one before it describes."""
        return {**self._inherited, **self._lines}

    def inherit(self, tools: Mapping[int, Tool]) -> None:
        """Takes up what earlier programs have said of tools that may be in the spindle still."""
        self._inherited = dict(tools)

    def get(self, number: int) -> Tool | None:
        """The tool of a number, as far as the control's table or the program describes it."""
        return self._table.get(number) or self.described.get(number)

    def find(self, kind: ToolKind, diameter_mm: float) -> int | None:
        """The number of the tool of a kind and diameter; None where none is described."""
        for number, tool in {**self.described, **self._table}.items():
            if tool.kind == kind and tool.diameter_mm == diameter_mm:
                return number
        return None

    def length_mm(self, number: int) -> float:
        """The length offset of a number: the control's table, 0 where it has none."""
        if self._touches_off or number not in self._table:
            return 0.0
        return self._table[number].length_mm

    def use(self, number: int) -> None:
        """The tool is put into the spindle."""
        self._is_changed = True
        if number and number not in self._used:
            self._used.append(number)

    def read_comment(self, comment: str, report: Report) -> Tool | None:
        """Takes up a tool line; a comment that only starts like one is noted."""
        if "TOOL" not in comment[:40].upper():
            return None
        tool = read_tool_line(comment)
        beyond = _beyond_any_tool(tool) if tool is not None else None
        if beyond is not None:
            report.stop(
                "tool-line-not-read",
                f"the comment {shown(comment.strip())}: {beyond:g} mm is beyond any tool",
                f"at most {LARGEST_TOOL_MM} mm; what it makes is not judged by its size",
            )
            return None
        if tool is not None and tool.number:
            self._lines[tool.number] = tool
            self._compare(tool, tool.number, report)
            return tool
        if re.match(r"\s*TOOL\s+\d+\s+\S", comment, re.IGNORECASE):
            report.note(
                "tool-line-not-read",
                f"the comment {shown(comment.strip())} is not a tool line",
                words(f"{TOOL_LINE}; kinds: {', '.join(_KINDS)}", number=3, size_mm=5.0),
            )
        return None

    def _compare(self, line: Tool, number: int, report: Report) -> None:
        """Which of the two is in the spindle is what a tool line is there to ask."""
        table = self._table.get(number)
        both = None if table is None else contradiction(line, table)
        if both is not None:
            report.warn(
                "tools-differ",
                f"T{number} is {both[0]} in the program's tool line and {both[1]} in the shop's "
                "table, by which it is judged",
                "see which of them is in the pocket, and put the other right",
                about=f"T{number}",
            )

    def resolve(
        self, plan_tools: Mapping[int, Tool] | None, report: Report, named: int | None = None
    ) -> dict[int, Tool]:
        """Every tool that was in the spindle, by number; notes what was assumed.

        named : by the last T, whether or not it was put in
        """
        known: dict[int, Tool] = {**self.described, **self._table}
        for number, line in self.described.items():  # carbide where either of them says so
            if line.is_carbide:
                known[number] = replace(known[number], is_carbide=True)
        missing = [number for number in self._used if number not in known]
        if missing and plan_tools and all(number in plan_tools for number in self._used):
            known.update({number: plan_tools[number] for number in missing})
            report.note("tools-from-plan", f"tool sizes of {_list(missing)} are the plan's")
        elif missing:
            report.note(
                "unknown-tool",
                f"the size of {_list(missing)} is not known: length 0, diameter unknown",
                words(
                    f"list it in the shop file, or write a comment such as {TOOL_LINE}",
                    number=missing[0],
                    size_mm=5.0,
                ),
            )
        used = {
            number: known.get(number) or UnknownTool("unknown", None, number=number)
            for number in self._used
        }
        is_alone = len(self._lines) == 1 and (named is None or named in self._lines)
        if is_alone and not self._is_changed:
            (used[0],) = self._lines.values()
            report.note(
                "tool-not-named",
                f"the program puts in no tool: T{used[0].number} is taken, the only one that it "
                "describes",
            )
        return used


def _list(numbers: list[int]) -> str:
    return ", ".join(f"T{number}" for number in numbers)
