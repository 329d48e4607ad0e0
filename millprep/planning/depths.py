"""How deep each tool goes at one hole: the drill below the feature, the tap below the thread.

Depths are positive, from the face worked from. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Sequence

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.model.tools import Cutter, PointedTool, Reamer, Tap
from millprep.planning.drawer import Choice
from millprep.planning.making import making_of, room_mm
from millprep.sums.cutting import breakthrough_mm, point_length_mm


@frozen
class Reach:
    """Depth of the full diameter and of the tool's end."""

    full_mm: float
    tip_mm: float


def drill_reach(tool: Cutter, full_mm: float) -> Reach:
    angle = tool.angle_deg if isinstance(tool, PointedTool) else 180.0
    return Reach(full_mm, full_mm + point_length_mm(tool.diameter_mm, angle))


def least_floor_mm(diameter_mm: float) -> float:
    """Least material to leave under the drill's tip in a blind hole (common practice)."""
    return max(1.0, 0.25 * diameter_mm)


def lead_mm(tool: Cutter) -> float:
    """Of a reamer or tap, whose full size ends above its tip; nought for other tools."""
    if not isinstance(tool, Reamer | Tap):
        return 0.0
    assert tool.lead_mm is not None  # nobody plans with a tap whose pitch is not known
    return tool.lead_mm


def finishing_reach(hole: Hole, tool: Cutter) -> Reach:
    """Of the tap, reamer or boring head that gives the hole its size."""
    end = hole.depth_mm + lead_mm(tool)
    return Reach(hole.depth_mm, end + room_mm(hole) if hole.is_through else end)


def blind_drill_mm(hole: Hole, finish: Cutter | None) -> float:
    """Depth of the full drill diameter in a blind hole: the feature, the lead and some room."""
    if hole.drill_depth_mm is not None:
        return hole.drill_depth_mm
    if finish is None or not making_of(hole).is_room_below:
        return hole.depth_mm
    return hole.depth_mm + (lead_mm(finish) + room_mm(hole))


def last_drill_reach(hole: Hole, tool: Cutter, finish: Cutter | None) -> Reach:
    """Of the drill that precedes the finishing tool, or makes the hole itself."""
    if hole.from_both_ends:
        return drill_reach(tool, hole.depth_from_face_mm)
    if hole.is_through:
        extra = hole.breakthrough_mm
        if extra is None:
            extra = breakthrough_mm(tool.diameter_mm)
        return drill_reach(tool, hole.depth_mm + extra)
    stock_mm = making_of(hole).stock_mm
    if stock_mm and hole.drill_depth_mm is None:  # the tip stays inside the flat bottom of the bore
        point = drill_reach(tool, 0.0).tip_mm
        return drill_reach(tool, max(hole.depth_mm - stock_mm - point, 0.1))
    return drill_reach(tool, blind_drill_mm(hole, finish))


def floor_left_mm(hole: Hole, thickness_mm: float, drill: Cutter, finish: Cutter | None) -> float:
    """Material under the drill's tip in a blind hole; negative when the tip comes out."""
    return thickness_mm - drill_reach(drill, blind_drill_mm(hole, finish)).tip_mm


def choose_finisher(
    hole: Hole, choices: Sequence[Choice], drill: Cutter, thickness_mm: float
) -> Choice:
    """The tool with the longest lead whose hole still fits: bottoming where the floor grows thin.

    A drill depth given by the drawing decides in the same way.
    """
    for choice in choices:
        if hole.is_through:
            return choice
        end = finishing_reach(hole, choice.tool).tip_mm
        if hole.drill_depth_mm is not None and end > hole.drill_depth_mm + 1e-9:
            continue
        floor = floor_left_mm(hole, thickness_mm, drill, choice.tool)
        if floor >= least_floor_mm(drill.diameter_mm):
            return choice
    return choices[-1]
