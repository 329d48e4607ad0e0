"""How deep each tool goes at one hole: the drill below the feature, the tap below the thread.

Depths are positive, from the face worked from. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Sequence

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.model.tools import Cutter, PointedTool, Reamer, Tap
from millprep.planning.drawer import Choice, bottoming_tap
from millprep.planning.making import making_of, room_mm
from millprep.planning.openings import SAME_MM, Opening
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


def finishing_reach(hole: Hole, tool: Cutter, drill: Cutter, opening: Opening | None) -> Reach:
    """Of the tap, reamer or boring head that gives the hole its size.

    drill : that it follows; opening : that the hole runs out into
    """
    end = hole.depth_mm + lead_mm(tool)
    if opening is not None:
        out = opening.out_mm(tool.diameter_mm / 2) + lead_mm(tool)
        end = min(out + room_mm(hole), opening.most_mm(drill))
        if hole.drill_depth_mm is not None:
            end = min(end, hole.drill_depth_mm)
        return Reach(end - lead_mm(tool), end)
    return Reach(hole.depth_mm, end + room_mm(hole) if hole.is_through else end)


def blind_drill_mm(hole: Hole, finish: Cutter | None) -> float:
    """Depth of the full drill diameter in a blind hole: the feature, the lead and some room."""
    if hole.drill_depth_mm is not None:
        return hole.drill_depth_mm
    if finish is None or not making_of(hole).is_room_below:
        return hole.depth_mm
    return hole.depth_mm + (lead_mm(finish) + room_mm(hole))


def last_drill_reach(
    hole: Hole, tool: Cutter, finish: Cutter | None, opening: Opening | None = None
) -> Reach:
    """Of the drill that precedes the finishing tool, or makes the hole itself."""
    if opening is not None and finish is not None and hole.drill_depth_mm is None:
        end = finishing_reach(hole, finish, tool, opening).tip_mm
        return drill_reach(tool, min(end + room_mm(hole), opening.most_mm(tool)))
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
    hole: Hole,
    choices: Sequence[Choice],
    drill: Cutter,
    thickness_mm: float,
    opening: Opening | None = None,
) -> Choice:
    """The tool with the longest lead whose hole still fits: bottoming where the floor grows thin.

    A drill depth given by the drawing, and the far wall of a bore, decide in the same way.
    """
    if opening is not None:
        return _running_out(hole, choices, drill, opening)
    for choice in choices:
        if hole.is_through:
            return choice
        end = hole.depth_mm + lead_mm(choice.tool)
        if hole.drill_depth_mm is not None and end > hole.drill_depth_mm + 1e-9:
            continue
        floor = floor_left_mm(hole, thickness_mm, drill, choice.tool)
        if floor >= least_floor_mm(drill.diameter_mm):
            return choice
    return choices[-1]


def _running_out(hole: Hole, choices: Sequence[Choice], drill: Cutter, opening: Opening) -> Choice:
    """The tap with the longest lead whose thread is whole where all of it is out.

    Else the one with the shortest: of the drawer where that is whole as far as it has to be, else
    the one to get.
    """
    out = opening.out_mm(hole.diameter_mm / 2)
    for choice in choices:
        if finishing_reach(hole, choice.tool, drill, opening).full_mm >= out - SAME_MM:
            return choice
    shortest = (*choices[-1:], *bottoming_tap(hole))
    for choice in shortest:
        if runs_out(finishing_reach(hole, choice.tool, drill, opening), hole, opening):
            return choice
    return choices[-1]


def runs_out(reach: Reach, hole: Hole, opening: Opening) -> bool:
    """Whether a tap's thread is whole as far as the near wall."""
    return reach.full_mm >= min(hole.depth_mm, opening.near_mm) - SAME_MM
