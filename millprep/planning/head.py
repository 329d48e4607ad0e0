"""The quill's budget: which tools work from one height of the head.

On a round column the head swings when it is raised or lowered, and X and Y are lost. One height
does for tools whose lengths differ little enough:

    longest - shortest + deepest + 5  <=  travel of the quill      (common practice)

Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from millprep.planning.plan import Operation
from millprep.reference.drills import jobber_length_mm, stub_length_mm
from millprep.shop import Shop, Tool

SPARE_MM = 5.0  # above the face and below the stop together (common practice)
UNKNOWN_LENGTH_MM = 60.0  # countersinks, counterbores, end mills, boring heads (common practice)


@dataclass(frozen=True, slots=True)
class HeadHeight:
    """Tools in a row that one height of the head serves.

    longest, shortest : tools; deepest_mm : below the face; needed_mm : of the quill's travel
    """

    tools: tuple[Tool, ...]
    longest: Tool
    shortest: Tool
    deepest_mm: float

    @property
    def needed_mm(self) -> float:
        return length_mm(self.longest) - length_mm(self.shortest) + self.deepest_mm + SPARE_MM


def length_mm(tool: Tool) -> float:
    """Overall, by the shop file, else by ISO 235: jobber drills, and reamers made as long as they;
    spot drills as long as stub drills (DIN lengths of spot drills, from memory)."""
    if tool.length_mm:
        return tool.length_mm
    diameter = tool.diameter_mm or 0.0
    listed = None
    if tool.kind in ("drill", "reamer"):
        listed = jobber_length_mm(diameter)
    elif tool.kind == "spot drill":
        listed = stub_length_mm(diameter)
    return UNKNOWN_LENGTH_MM if listed is None else listed


def head_heights(operations: Sequence[Operation], shop: Shop) -> list[HeadHeight]:
    """The heights of the head in order of use, as few as the quill allows.

    Empty where the head keeps its place, or where the quill's travel is not known.
    """
    travel_mm = shop.mill.quill_travel_mm
    if shop.mill.head_moves == "keeps" or travel_mm is None:
        return []
    powered = [one for one in operations if not one.by_hand]
    heights: list[HeadHeight] = []
    for tool, run in groupby(powered, key=lambda one: one.tool):
        depth_mm = max(-one.z_mm for one in run)
        grown = _with(heights[-1], tool, depth_mm) if heights else None
        if grown is not None and grown.needed_mm <= travel_mm + 1e-9:
            heights[-1] = grown
        else:
            heights.append(HeadHeight((tool,), tool, tool, depth_mm))
    return heights


def _with(height: HeadHeight, tool: Tool, depth_mm: float) -> HeadHeight:
    tools = height.tools if tool in height.tools else (*height.tools, tool)
    return HeadHeight(
        tools, max(tools, key=length_mm), min(tools, key=length_mm),
        max(height.deepest_mm, depth_mm),
    )  # fmt: skip
