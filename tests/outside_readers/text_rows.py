"""The steps of a text listing: tool and hole sections, column heads, rows and what hangs on them.

    TOOL 2  drill 3.3 mm, point 118 deg              by tool: one tool, then its rows
    HOLE    cover screw 3                            by hole: the tools first, then hole by hole
        step  drill at           X mm  ...           a head; opening lines above it, rows below
    [ ]    5  cover screw 3    23.635  ...
              pecks to -6.600 -9.900 -12.490         ten blanks: belongs to the row above
            LOOK: 4 spots. ...                       eight blanks: after the rows, the LOOK line

Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from decimal import Decimal

from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.reading.pages.printed import (
    NUMBER,
    OPERATIONS,
    PrintedRow,
    PrintedTool,
    UnreadableSheet,
    decimal_of,
    length_mm,
    tool_of,
)
from outside_readers.records import Look, Said
from outside_readers.words import read_limits, read_look, read_measured, read_openings, read_touched

Lines = list[tuple[int, str]]
"""Lines with their 1-based numbers."""
LABEL_WIDTH = 8

_TOOL = re.compile(r"TOOL (\d+) +([^ ].*)", re.ASCII)
_SPEED = re.compile(r"(?:\d+(?:\.\d+)? rev/min|by hand)\b.*", re.ASCII)
_FEED = re.compile(
    rf"{NUMBER} rev/min, (?P<feed>{NUMBER}) (mm|in)/min "
    rf"\((?P<travel>{NUMBER}) \2 in (?P<seconds>{NUMBER}) s\).*",
    re.ASCII,
)
_COUNT = re.compile(r"; (\d+) holes?\b", re.ASCII)
_OPERATION = "|".join(OPERATIONS)
_Z_HEAD = "(?:quill|down) to Z"
_HEAD_BY_TOOL = re.compile(rf"    step  ({_OPERATION}) at +X (mm|in) +Y \2 +{_Z_HEAD}", re.ASCII)
_HEAD_BY_HOLE = re.compile(rf"    step  operation +tool +{_Z_HEAD}", re.ASCII)
_TURNS = r"(?: +(?P<turns>\d+\.\d+) turns)?"
_ROW_BY_TOOL = re.compile(
    r"\[ \] *(?P<step>\d+)  (?P<words>[^ ]+(?: [^ ]+)*)"
    rf" +(?P<x>{NUMBER}) +(?P<y>{NUMBER}) +(?P<z>{NUMBER}){_TURNS}",
    re.ASCII,
)
_ROW_BY_HOLE = re.compile(
    rf"\[ \] *(?P<step>\d+)  (?P<words>{_OPERATION}) +tool (?P<tool>\d+) +(?P<z>{NUMBER}){_TURNS}",
    re.ASCII,
)
_GO_TO = re.compile(rf"go to X ({NUMBER}) +Y ({NUMBER})", re.ASCII)
_TAIL = re.compile(
    rf"(?:(?P<turns>\d+\.\d+) turns)? ?(?:pecks to (?P<pecks>{NUMBER}(?: {NUMBER})*))?"
    rf"(?:pass \d+ of \d+: from {NUMBER} to {NUMBER}, the dial on by {NUMBER})?",
    re.ASCII,
)


@frozen
class InForce:
    """What a section's opening says of all rows below its head."""

    operation: str | None = None
    tool_number: int = 0
    hole: str = ""
    x_mm: float = 0.0
    y_mm: float = 0.0


@dataclass(slots=True)
class Body:
    """The steps of one setup, read section by section."""

    units: Units
    rows: list[PrintedRow] = field(default_factory=list)
    looks: list[Look] = field(default_factory=list)
    said: list[Said] = field(default_factory=list)
    tools: dict[int, PrintedTool] = field(default_factory=dict)

    def read(self, section: Lines) -> None:
        """One section. Raises UnreadableSheet with the line."""
        heads = [index for index, (_, line) in enumerate(section) if line.startswith("    step ")]
        opening = section[: heads[0]] if heads else section
        is_by_hole = self._read_opening(opening)
        before = len(self.rows)
        for start, end in zip(heads, [*heads[1:], len(section)], strict=False):
            number, line = section[start]
            try:
                in_force = self._in_force(opening, line, is_by_hole)
            except UnreadableSheet as fault:
                raise UnreadableSheet(fault.message, fault.line or number) from None
            self._read_rows(section[start + 1 : end], in_force)
        if heads:
            words = " ".join(line.strip(" ") for _, line in opening[1:])
            openings, limits = read_openings(words), read_limits(words, self.units)
            count = _COUNT.search(words)
            if count is None and not is_by_hole:
                raise UnreadableSheet("the tool counts no holes", opening[0][0])
            self.said.append(
                Said(
                    openings,
                    limits,
                    int(count[1]) if count and not is_by_hole else None,
                    (before, len(self.rows)),
                    opening[0][0],
                    read_measured(words, self.units) if is_by_hole else None,
                    None if is_by_hole else read_touched(words),
                )
            )

    def _read_opening(self, opening: Lines) -> bool:
        """Takes the tools in; says whether the section is of a hole."""
        is_by_hole = False
        for index, (number, line) in enumerate(opening):
            if line.startswith("TOOL "):
                self._read_tool(opening[index:])
            elif line.startswith("HOLE ") and index == 0:
                is_by_hole = True
            elif not line.startswith(" " * LABEL_WIDTH) or index == 0:
                raise UnreadableSheet(f"unknown line {shown(line)}", number)
        return is_by_hole

    def _read_tool(self, lines: Lines) -> None:
        number, line = lines[0]
        match = _TOOL.fullmatch(line)
        if match is None:
            raise UnreadableSheet(f"unknown line {shown(line)}", number)
        words = [match[2]]
        for _, further in lines[1:]:
            further = further.strip(" ")
            if _SPEED.fullmatch(further):
                compare_feed(further, number)
                break
            words.append(further)
        else:
            raise UnreadableSheet(f"TOOL {match[1]} has no line for its speed", number)
        try:
            tool = tool_of(" ".join(words))
        except UnreadableSheet as fault:
            raise UnreadableSheet(fault.message, number) from None
        if self.tools.setdefault(int(match[1]), tool) != tool:
            raise UnreadableSheet(f"TOOL {match[1]} is two different tools", number)

    def _in_force(self, opening: Lines, head: str, is_by_hole: bool) -> InForce:
        if is_by_hole:
            if _HEAD_BY_HOLE.fullmatch(head) is None:
                raise UnreadableSheet(f"unknown line {shown(head)}")
            place = _GO_TO.fullmatch(opening[1][1].strip(" ")) if len(opening) > 1 else None
            if place is None:
                raise UnreadableSheet("the hole has no line that says where to go", opening[0][0])
            x_mm, y_mm = length_mm(place[1], self.units), length_mm(place[2], self.units)
            return InForce(hole=opening[0][1][LABEL_WIDTH:], x_mm=x_mm, y_mm=y_mm)
        match = _HEAD_BY_TOOL.fullmatch(head)
        if match is None or match[2] != ("in" if self.units == "inch" else "mm"):
            raise UnreadableSheet(f"unknown line {shown(head)}")
        tools = [_TOOL.fullmatch(line) for _, line in opening if line.startswith("TOOL ")]
        if len(tools) != 1 or tools[0] is None:
            raise UnreadableSheet("rows that do not stand under one tool")
        return InForce(operation=match[1], tool_number=int(tools[0][1]))

    def _read_rows(self, lines: Lines, in_force: InForce) -> None:
        listed = len(self.rows)
        look: Lines = []
        row: tuple[int, str] | None = None
        tail: list[str] = []
        for number, line in lines:
            if line.startswith("[ ]") and not look:
                if row is not None:
                    self._add_row(*row, tail, in_force)
                row, tail = (number, line), []
            elif line.startswith(" " * (LABEL_WIDTH + 2)) and row is not None and not look:
                tail.append(line.strip(" "))
            elif line.startswith(" " * LABEL_WIDTH):
                look.append((number, line.strip(" ")))
            else:
                raise UnreadableSheet(f"unknown line {shown(line)}", number)
        if row is not None:
            self._add_row(*row, tail, in_force)
        if look:
            words = " ".join(line for _, line in look)
            self.looks.append(read_look(words, self.units, len(self.rows) - listed, look[0][0]))

    def _add_row(self, number: int, line: str, tail: list[str], in_force: InForce) -> None:
        try:
            self.rows.append(self._row(number, line, tail, in_force))
        except UnreadableSheet as fault:
            raise UnreadableSheet(fault.message, number) from None

    def _row(self, number: int, line: str, tail: list[str], in_force: InForce) -> PrintedRow:
        by_hole = in_force.operation is None
        match = (_ROW_BY_HOLE if by_hole else _ROW_BY_TOOL).fullmatch(line)
        below = _TAIL.fullmatch(" ".join(tail))
        if match is None or below is None or (match["turns"] and below["turns"]):
            raise UnreadableSheet(f"unknown row {shown(line)}")
        tool_number = int(match["tool"]) if by_hole else in_force.tool_number
        if tool_number not in self.tools:
            raise UnreadableSheet(f"tool {tool_number} is not listed")
        turns = match["turns"] or below["turns"]
        units = self.units
        return PrintedRow(
            int(match["step"]),
            in_force.hole if by_hole else match["words"],
            in_force.operation or match["words"],
            self.tools[tool_number],
            tool_number,
            in_force.x_mm if by_hole else length_mm(match["x"], units),
            in_force.y_mm if by_hole else length_mm(match["y"], units),
            length_mm(match["z"], units),
            tuple(length_mm(peck, units) for peck in (below["pecks"] or "").split()),
            turns=float(turns) if turns else None,
            line=number,
        )


def compare_feed(line: str, number: int) -> None:
    """Feed and travel in a few seconds, each rounded by itself, are one speed."""
    if line.startswith("by hand"):
        return
    match = _FEED.fullmatch(line)
    if match is None:
        raise UnreadableSheet(f"unknown line {shown(line)}", number)
    feed, travel, seconds = (decimal_of(match[name]) for name in ("feed", "travel", "seconds"))
    unsure = (feed * _half_digit(seconds) + _half_digit(feed) * seconds) / 60 + _half_digit(travel)
    if abs(feed * seconds / 60 - travel) > unsure:
        raise UnreadableSheet(f"{feed} a minute is not {travel} in {seconds} s", number)


def _half_digit(value: Decimal) -> Decimal:
    exponent = value.as_tuple().exponent
    return Decimal(5).scaleb(exponent - 1 if isinstance(exponent, int) else -1)
