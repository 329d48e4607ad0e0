"""A tool as the shop calls it, understood: what is not said is as usual.

    drill 3.3                    a point of 118 degrees
    spot drill 6, 90 deg         a flat of 0.2 mm at its tip
    reamer 5                     a machine reamer, its lead 1 mm
    M4 second tap                its pitch by the table of threads, its lead four threads
    countersink 1/2 in, 12.7 mm, 82 deg, nose 2 mm

Any other is told as a tool line is. Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from functools import lru_cache

from millprep.base.units import Units, shown
from millprep.model.tools import PLUG_LEAD_THREADS, REAMER_LEAD_MM, SPOT_TIP_FLAT_MM, Drill
from millprep.reading.pages.printed import KINDS_OF_TOOL, PrintedTool, UnreadableSheet, tool_of
from millprep.reference.threads import LEFT_HAND, thread_named

USUAL_OPERATIONS = {
    "spot drill": "spot drill",
    "drill": "drill",
    "boring head": "bore",
    "counterbore": "counterbore",
    "countersink": "countersink",
    "reamer": "ream",
    "tap": "tap",
}
"""What a tool does where nothing else is said of it."""
_SIZE = r"\d{1,5}(?:\.\d{1,9})?"
_CALLED = re.compile(
    rf"""
    (?P<kind>{KINDS_OF_TOOL})\ (?P<words>.+?)
    (?:,\ (?P<diameter>{_SIZE})\ mm)?
    (?:,\ (?P<angle>{_SIZE})\ deg)?
    (?:,\ (?:flat|nose)\ (?P<flat>{_SIZE})\ mm)?
    (?:,\ lead\ (?P<lead>{_SIZE})\ mm)?
    (?P<by_hand>,\ for\ the\ hand)?
    """,
    re.VERBOSE | re.ASCII,
)
_TAP = re.compile(r"(?P<thread>.+?) (?P<form>second|plug \(bottoming\)) tap", re.ASCII)
_PLAIN = re.compile(rf"({_SIZE})(?P<unit> mm)?", re.ASCII)
_LEADS = {"second": PLUG_LEAD_THREADS, "plug (bottoming)": 1.5}


@lru_cache(maxsize=1024)
def called_tool(words: str, units: Units) -> PrintedTool:
    """The tool that is called so on a sheet in those units. Raises UnreadableSheet."""
    if words.startswith("tap "):
        return tool_of(words)
    if (tap := _TAP.fullmatch(words)) is not None:
        return _tap(tap["thread"], _LEADS[tap["form"]])
    match = _CALLED.fullmatch(words)
    if match is None or match["kind"] == "tap":
        raise UnreadableSheet(f"{shown(words)} is no tool")
    kind, is_hand = match["kind"], match["by_hand"] is not None
    flat, angle = match["flat"], match["angle"]
    usual_angle = Drill.usual_point_deg if kind == "drill" else None
    usual_flat = SPOT_TIP_FLAT_MM if kind == "spot drill" else 0.0
    lead = None if match["lead"] is None else float(match["lead"])
    if kind != "reamer" and (is_hand or lead is not None):
        raise UnreadableSheet(f"{shown(words)}: a {kind} with a lead, or for the hand")
    if kind == "reamer" and lead is None:
        lead = REAMER_LEAD_MM
    return PrintedTool(
        kind,
        _diameter_mm(match["diameter"], match["words"], units),
        point_angle_deg=usual_angle if angle is None else float(angle),
        tip_flat_mm=usual_flat if flat is None else float(flat),
        lead=lead,
        is_hand=is_hand,
    )


def _diameter_mm(told: str | None, words: str, units: Units) -> float:
    """A plain figure is in mm, and has its unit where the sheet has another."""
    if told is not None:
        return float(told)
    plain = _PLAIN.fullmatch(words)
    if plain is None or (plain["unit"] is None and units != "mm"):
        raise UnreadableSheet(f"the tool {shown(words)} has no diameter")
    return float(plain[1])


def _tap(name: str, lead: float) -> PrintedTool:
    thread = thread_named(name)
    if thread is None:
        raise UnreadableSheet(f"no table has the thread {shown(name)}")
    return PrintedTool(
        "tap",
        round(thread.major_mm, 3),
        pitch_mm=round(thread.pitch_mm, 4),
        lead=lead,
        is_left_hand=name.endswith(LEFT_HAND),
        thread=name,
    )
