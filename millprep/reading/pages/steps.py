"""The steps of a page of a sheet for the mill: each row with its tool and what stands above it.

Tool by tool the tool stands above the rows, with all that they share: what a row does not say is
said there. Hole by hole the place stands above the table, and the tools in a list of their own;
JSON, CSV and the bench page have all in a row.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.reading.pages.printed import (
    FACE_WORDS,
    OPERATIONS,
    USUAL_OPERATIONS,
    PrintedPass,
    PrintedRow,
    PrintedSetup,
    PrintedTool,
    UnreadableSheet,
    called_tool,
    length_mm,
    tool_of,
)
from millprep.reading.pages.sheet import ReadPage, ReadSection
from millprep.reading.pages.slots import Said, as_figure

_FACES = tuple(FACE_WORDS.lower().split("|"))
_SETUP = ("setup", "face", "towards_you", "zero_x", "zero_y", "units", "skew_deg")
_EXACT = ("x_exact_mm", "y_exact_mm", "z_exact_mm")
_BORED = ("bored_from", "bored_to", "dial_on")
_TOOL_TOLERANCE = 0.0005  # tool lines round where the columns do not
_NAMED = ("tool", "tool-by-hand")
_ALL = ("all-to", "all-pecks", "all-turns", "all-dial")


@frozen
class ToolSaid:
    """What is said of a tool above its steps.

    said : its sentence; more : the other sentences up to the next tool
    """

    said: Said
    more: tuple[Said, ...] = ()

    @property
    def number(self) -> int:
        """Its own, or that of its change where it has no other."""
        names = ("listed", "number", "change")
        return self.said.count(next(one for one in names if self.said.has(one)))

    @property
    def tool(self) -> PrintedTool:
        """Raises UnreadableSheet."""
        return called_tool(self.said["called"], self.said.units)

    @property
    def by_hand(self) -> bool:
        return self.said.slug == "tool-by-hand"


def tools_said(page: ReadPage) -> list[ToolSaid]:
    """The tools in the order in which they stand there. Raises UnreadableSheet."""
    return [tool for section in page.sections for tool in _tools(section)]


def _tools(section: ReadSection) -> Iterator[ToolSaid]:
    runs: list[list[Said]] = []
    for said in section.said:
        if said.slug in _NAMED:
            if not any(said.has(one) for one in ("listed", "number", "change")):
                raise UnreadableSheet(f"{shown(said.text)}: a tool without a number", said.line)
            runs.append([])
        if runs:
            runs[-1].append(said)
    for said, *others in runs:
        yield ToolSaid(said, tuple(others))


def setup_of(page: ReadPage, units: Units) -> PrintedSetup:
    """The page's lay and its steps; units : of the sheet. Raises UnreadableSheet."""
    title, whole = page.title, page.whole
    lies = whole.one("lies")
    if lies is not None:
        lay = [lies.face("face"), lies.face("towards_you"), *_zeros(whole)]
        if title.face("face") != lies.face("face"):
            raise UnreadableSheet(f"{title['face']} up, and {lies['face']} up", lies.line)
    else:
        lay = [str(title.slots.get(one)) for one in ("face", "towards_you", "zero_x", "zero_y")]
        for row in whole.rows:
            if any(row.said.slots.get(one) != title.slots.get(one) for one in _SETUP):
                raise UnreadableSheet("another setup in a row of this one", row.line)
        if title.slots.get("units") not in ("mm", "inch"):
            raise UnreadableSheet(f"units of {shown(str(title.slots.get('units')))}", title.line)
    face, towards_you, zero_x, zero_y = _lay(lay, title)
    rows = tuple(_steps(page))
    if not rows:
        raise UnreadableSheet("a setup without a step", title.line)
    return PrintedSetup(
        _whole(title.slots.get("number") or title.slots.get("setup"), title),
        face,
        towards_you,
        zero_x,
        zero_y,
        units,
        rows,
        of=title.count("of") if title.has("of") else None,
        line=title.line,
    )


def _zeros(whole: ReadSection) -> list[str]:
    """What the sheet has zero on, X and Y."""
    both, on = whole.one("zero-on-centre"), whole.one("zero-on")
    if both is not None:
        return [both.face("both_zeros")] * 2
    if on is not None:
        return [on.face("x_zero"), on.face("y_zero")]
    return [one.face("zero") for one in whole.said if one.has("zero")][:2]


def _lay(words: list[str], title: Said) -> tuple[str, str, str, str]:
    if len(words) != 4 or {*words[:2]} - {*_FACES} or {*words[2:]} - {*_FACES, "centre"}:
        raise UnreadableSheet(f"a lay of {shown(', '.join(words))}", title.line)
    face, towards_you, zero_x, zero_y = words
    return face, towards_you, zero_x, zero_y


def _steps(page: ReadPage) -> Iterator[PrintedRow]:
    tools = {tool.number: tool for tool in tools_said(page)}
    for section in page.sections:
        here = [tool.number for tool in _tools(section)]
        above: dict[str, Any] = {"tool_number": str(here[0])} if len(here) == 1 else {}
        for slug in ("hole", "go-to", "go-to-dial"):
            if section.rows and (said := section.one(slug)):
                above |= said.slots
        for said in section.all(*_ALL) if len(here) == 1 else ():
            above |= _given(said)
        for row in section.rows:
            if "step" not in row.said.slots:
                continue
            slots = {**above, **(row.head.slots if row.head else {}), **_given(row.said)}
            for below in row.below:
                slots |= _given(below)
            tool = tools.get(_whole(slots.get("tool_number"), row.said))
            if tool is not None:
                slots = _of_tool(tool) | slots
            try:
                yield _row(slots, row.said)
            except UnreadableSheet as fault:
                raise UnreadableSheet(fault.message, fault.line or row.line) from None


def _given(said: Said) -> dict[str, Any]:
    return {name: value for name, value in said.slots.items() if value is not None}


def _of_tool(tool: ToolSaid) -> dict[str, Any]:
    """What the sentence of a tool says of each of its steps."""
    said, printed = tool.said, tool.tool
    operation = said.slots.get("operation") or USUAL_OPERATIONS.get(printed.kind)
    by_hand = "yes" if tool.by_hand else "no"
    told = {"operation": operation, "rpm": said.slots.get("rpm")}
    return {"printed_tool": printed, "by_hand": by_hand} | {
        name: value for name, value in told.items() if value
    }


def _whole(text: str | None, said: Said) -> int:
    if text is None or not text.isdecimal():
        raise UnreadableSheet(f"{shown(str(text))} where a number belongs", said.line)
    return int(text)


def _row(slots: Mapping[str, Any], said: Said) -> PrintedRow:
    """Raises UnreadableSheet."""
    units = said.units
    z = length_mm(_text(slots, "z"), units)
    is_dialled = "x_dial" in slots or "x_turns" in slots or isinstance(slots.get("x"), Mapping)
    x, y = (0.0 if is_dialled else length_mm(_text(slots, axis), units) for axis in "xy")
    if slots.get("operation") not in OPERATIONS:
        raise UnreadableSheet(f"the operation {shown(str(slots.get('operation')))}")
    pecks = slots.get("pecks") or ()
    exact_x, exact_y, exact_z = (_real(slots, name) for name in _EXACT)
    is_exact = exact_x is not None and exact_y is not None and exact_z is not None
    tool = slots.get("printed_tool")
    if tool is None or "tool" in slots:  # JSON and CSV have its line in the row
        tool = tool_of(_text(slots, "tool"))
    _check_tool(tool, slots)
    return PrintedRow(
        _whole(slots.get("step"), said),
        _text(slots, "hole"),
        slots["operation"],
        tool,
        _whole(slots.get("tool_number"), said),
        x,
        y,
        z,
        tuple(
            length_mm(one, units) for one in (pecks.split() if isinstance(pecks, str) else pecks)
        ),
        _real(slots, "turns"),
        _real(slots, "cone_mm"),
        (exact_x or 0.0, exact_y or 0.0, exact_z or 0.0) if is_exact else None,
        said.line,
        rpm=_real(slots, "rpm"),
        feed_mm_per_min=_feed(slots, units),
        by_hand={"yes": True, "no": False}.get(str(slots.get("by_hand"))),
        boring=_pass(slots, said),
    )


def _pass(slots: Mapping[str, Any], said: Said) -> PrintedPass | None:
    """Of a boring head; JSON and CSV have its number in a field of its own. None for others."""
    told, units = slots.get("pass"), said.units
    if told is None and "pass_number" not in slots:
        return None
    numbers = [slots.get("pass_number"), slots.get("pass_count")]
    if told is not None:
        said_here = str(told).split(" of ")
        if "pass_number" in slots and said_here != [str(one) for one in numbers]:
            raise UnreadableSheet(f"pass {shown(str(told))} beside {numbers}", said.line)
        numbers = [*said_here, None, None][:2]
    lengths = [length_mm(_text(slots, name), units) for name in _BORED]
    return PrintedPass(*(_whole(one, said) for one in numbers), *lengths)


def _text(slots: Mapping[str, Any], name: str) -> str:
    value = slots.get(name)
    if not isinstance(value, str):
        raise UnreadableSheet(f"a step without {name}")
    return value


def _real(slots: Mapping[str, Any], name: str) -> float | None:
    value = slots.get(name)
    if value is None:
        return None
    try:
        return float(value)
    except (TypeError, ValueError):
        raise UnreadableSheet(f"{name} {shown(str(value))} is no number") from None


def _feed(slots: Mapping[str, Any], units: Units) -> float | None:
    """With a unit as a sheet shows it; in mm a minute where it stands alone."""
    text = slots.get("feed_mm_per_min")
    if isinstance(text, str) and " " in text:
        return as_figure(text, units).mm
    return _real(slots, "feed_mm_per_min")


def _check_tool(tool: PrintedTool, slots: Mapping[str, Any]) -> None:
    """What stands in fields of its own is what the tool's line says. Raises UnreadableSheet."""
    pitch = (tool.pitch_mm or 1.0) if tool.kind == "tap" else 1.0
    lead_mm = None if tool.lead is None else tool.lead * pitch
    said = {
        "diameter_mm": tool.diameter_mm,
        "point_angle_deg": tool.point_angle_deg,
        "tip_flat_mm": tool.tip_flat_mm,
        "pitch_mm": tool.pitch_mm,
        "lead": tool.lead,
        "lead_mm": lead_mm,
    }
    for name, right in said.items() if "diameter_mm" in slots else ():
        told = _real(slots, name)
        is_told = name != "lead_mm" or "lead_mm" in slots  # not in CSV
        if is_told and abs((told or 0.0) - (right or 0.0)) > _TOOL_TOLERANCE:
            raise UnreadableSheet(f"{name} is {told} beside the tool's {right}")
