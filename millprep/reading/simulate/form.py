"""What shape a tool is at its end, and what may be asked of it.

        |<- 2 R ->|
        |         |
         \\       /   rises `slope` mm for each mm of radius outside the flat
          \\_____/     flat of radius `flat_mm` at the tip

Flat-ended tools have slope 0. Own formulas throughout: this is the witness's side. Imports the
shop's tool only.
"""

from __future__ import annotations

import math

from millprep.base.records import frozen
from millprep.model.tools import Drill, PointedTool, Reamer, Tap, Tool, UnknownTool

TWIST_POINT_DEG = 118.0  # jobber drills as sold (common practice)
CONE_POINT_DEG = 90.0  # spot drills and metric countersinks (common practice)
PLUG_TAP_LEAD_THREADS = 4.0  # second tap 3 to 5 threads (Machinery's Handbook, tap chamfers)
REAMER_LEAD_MM = 1.0  # machine reamer, 45 degree chamfer of 0.5 to 1.5 mm (common practice)
SIDEWAYS_KINDS = frozenset({"end mill", "boring head"})


@frozen
class Form:
    """A tool as the dry run sees it.

    kind      : of `shop.ToolKind`, or None when nothing says what is in the spindle
    diameter_mm : None when unknown; radius_mm is 0 then
    flat_mm   : radius of the flat at the tip; slope : rise per radius outside it
    lead_mm   : tip to where the full size is: point, lead of a reamer or of a tap; else 0
    thread    : of a tap, as it is called
    holder_end_mm : tip to where the holder ends and the spindle begins
    """

    kind: str | None
    diameter_mm: float | None
    radius_mm: float = 0.0
    flat_mm: float = 0.0
    slope: float = 0.0
    lead_mm: float = 0.0
    pitch_mm: float | None = None
    turns: int = 1
    flute_mm: float | None = None
    reach_mm: float | None = None
    holder_radius_mm: float | None = None
    point_angle_deg: float | None = None
    is_carbide: bool = False
    thread: str = ""
    holder_end_mm: float | None = None

    def cone_at(self, depth_mm: float) -> float:
        """Diameter of the cone at a face that lies `depth_mm` above the tip."""
        if self.slope == 0:
            return 2 * self.radius_mm
        return min(2 * (self.flat_mm + depth_mm / self.slope), 2 * self.radius_mm)


UNKNOWN = Form(None, None)


def form_of(tool: Tool | None) -> Form:
    """The form of a tool; `UNKNOWN` for None and for what is only taken to be a drill."""
    if tool is None or isinstance(tool, UnknownTool):
        return UNKNOWN
    radius = (tool.diameter_mm or 0.0) / 2
    flat, slope, lead, angle = radius, 0.0, 0.0, None
    pitch, turns = None, 1
    if isinstance(tool, PointedTool):
        usual = TWIST_POINT_DEG if isinstance(tool, Drill) else CONE_POINT_DEG
        angle = tool.point_angle_deg or usual
        flat = min(tool.tip_flat_mm / 2, radius)
        if angle < 180:
            slope = 1 / math.tan(math.radians(angle / 2))
        lead = (radius - flat) * slope
    elif isinstance(tool, Reamer):
        lead = REAMER_LEAD_MM if tool.lead_mm is None else tool.lead_mm
    elif isinstance(tool, Tap):
        pitch, turns = tool.pitch_mm, -1 if tool.is_left_hand else 1
        threads = PLUG_TAP_LEAD_THREADS if tool.lead_threads is None else tool.lead_threads
        lead = threads * (pitch or 0.0)
    holder = tool.holder_diameter_mm
    is_end_known = tool.reach_mm is not None and tool.holder_length_mm is not None
    end = (tool.reach_mm or 0.0) + (tool.holder_length_mm or 0.0) if is_end_known else None
    return Form(
        tool.kind,
        tool.diameter_mm,
        radius,
        flat,
        slope,
        lead,
        pitch,
        turns,
        tool.flute_mm,
        tool.reach_mm,
        None if holder is None else holder / 2,
        angle,
        tool.is_carbide,
        tool.words if isinstance(tool, Tap) else "",
        end,
    )
