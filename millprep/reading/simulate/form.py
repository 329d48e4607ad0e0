"""What shape a tool is at its end, and what may be asked of it.

        |<- 2 R ->|
        |         |
         \\       /   rises `slope` mm for each mm of radius outside the flat
          \\_____/     flat of radius `flat_mm` at the tip

Flat-ended tools have slope 0. Own formulas throughout: this is the witness's side.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from operator import attrgetter

from millprep.base.findings import Words, words
from millprep.base.records import frozen
from millprep.model.tools import (
    BoringHead,
    Counterbore,
    Countersink,
    Drill,
    EndMill,
    PointedTool,
    Reamer,
    SpotDrill,
    Tap,
    Tool,
    UnknownTool,
    UnsetBoringHead,
)
from millprep.reference.materials import Material
from millprep.reference.shared_rules import HoleBefore, before_reamer, before_tap

REAMER_FEED_SHARE = 3.0  # a reamer's feed is two to three times the drill's (common practice)


@frozen
class Use:
    """What a kind of tool is for, and what may be asked of it.

    kind         : the word for it, None where nothing says what is in the spindle
    operation    : what it makes of a hole
    cuts_solid   : it opens a hole by itself: it wants a spot, pecks and a floor under its tip
    is_cone      : only its cone cuts: it leaves a start or a mouth
    is_threading : its way is pitch times turns, and it leaves the drill's room as it is
    is_reaming, is_boring : it finishes a bore, and going back over it spoils it
    is_milling   : it goes round in circles
    may_miss     : it may be fed down beside the stock, to come in from the side
    only_down    : fed sideways it breaks
    follows      : for a tool that needs a hole before it, (what it is, the hole), where known
    most_feed, least_feed : feeds a turn as shares of the drill's, None where there is none to name
    speed_m_per_min : what the table of materials gives it
    chatters     : it is run slowly lest it chatters (TC 9-524), not lest it burns
    """

    kind: str | None
    operation: str
    cuts_solid: bool = False
    is_cone: bool = False
    is_threading: bool = False
    is_reaming: bool = False
    is_boring: bool = False
    is_milling: bool = False
    may_miss: bool = False
    only_down: bool = False
    follows: Callable[[Form], tuple[Words, HoleBefore] | None] | None = None
    most_feed: float | None = None
    least_feed: float | None = None
    speed_m_per_min: Callable[[Material], float] | None = None
    chatters: bool = False


@frozen
class Form:
    """A tool as the dry run sees it.

    radius_mm : 0 where the diameter is not known
    flat_mm   : radius of the flat at the tip; slope : rise per radius outside it
    lead_mm   : tip to where the full size is: point, lead of a reamer or of a tap; None unknown
    """

    use: Use
    tool: Tool
    radius_mm: float = 0.0
    flat_mm: float = 0.0
    slope: float = 0.0
    lead_mm: float | None = None

    @property
    def tap(self) -> Tap | None:
        """The tool, where it is a tap."""
        return self.tool if isinstance(self.tool, Tap) else None

    @property
    def pitch_mm(self) -> float | None:
        """Of a tap, where it is known."""
        return None if self.tap is None else self.tap.pitch_mm

    def full_mm(self, tip_mm: float) -> float:
        """Height from which up the tool surely has its full size; the tip's where none is known."""
        return tip_mm if self.lead_mm is None else tip_mm + self.lead_mm

    def cone_at(self, depth_mm: float) -> float:
        """Diameter of the cone at a face that lies `depth_mm` above the tip."""
        if self.slope == 0:
            return 2 * self.radius_mm
        return min(2 * (self.flat_mm + depth_mm / self.slope), 2 * self.radius_mm)


def _tapping(form: Form) -> tuple[Words, HoleBefore] | None:
    size, pitch = form.tool.diameter_mm, form.pitch_mm
    if size is None or pitch is None:
        return None
    said = words("tap {size_mm:exactbare} x {pitch_mm:exact}", size_mm=size, pitch_mm=pitch)
    return said, before_tap(size, pitch)


def _reaming(form: Form) -> tuple[Words, HoleBefore] | None:
    size = form.tool.diameter_mm
    if size is None:
        return None
    return words("reamer {size_mm:3}", size_mm=size), before_reamer(size)


_drilling, _sinking = attrgetter("drill_m_per_min"), attrgetter("countersink_m_per_min")
_TAP = Use("tap", "tap", is_threading=True, only_down=True, follows=_tapping)
_REAMER = Use(
    "reamer",
    "ream",
    is_reaming=True,
    only_down=True,
    follows=_reaming,
    most_feed=REAMER_FEED_SHARE,
    least_feed=REAMER_FEED_SHARE,
    speed_m_per_min=attrgetter("ream_m_per_min"),
)
_BORING = Use("boring head", "bore", is_boring=True, may_miss=True)
# Spot drills and recesses are fed at half the drill's feed (common practice).
_USES: dict[type[Tool], Use] = {
    Drill: Use("drill", "drill", cuts_solid=True, only_down=True,
               most_feed=1.0, least_feed=1.0, speed_m_per_min=_drilling),
    SpotDrill: Use("spot drill", "spot drill", is_cone=True,
                   most_feed=1.0, least_feed=0.5, speed_m_per_min=_drilling),
    Countersink: Use("countersink", "countersink", is_cone=True,
                     most_feed=1.0, least_feed=0.5, speed_m_per_min=_sinking, chatters=True),
    Counterbore: Use("counterbore", "counterbore", only_down=True,
                     most_feed=1.0, least_feed=0.5, speed_m_per_min=_sinking, chatters=True),
    EndMill: Use("end mill", "counterbore", is_milling=True, may_miss=True),
    Tap: _TAP,
    Reamer: _REAMER,
    BoringHead: _BORING,
    UnsetBoringHead: _BORING,
}  # fmt: skip
UNKNOWN = Form(Use(None, "drill"), UnknownTool("unknown", None))
_USES_OF_CYCLES = {74: _TAP, 84: _TAP, 85: _REAMER}
"""What a cycle does when nothing says which tool is in the spindle (NISTIR 6556, 3.5.16)."""


def use_in(form: Form, cycle: int) -> Use:
    """What the tool is for; where nobody knows the tool, what the cycle is for."""
    return _USES_OF_CYCLES.get(cycle, form.use) if form.use is UNKNOWN.use else form.use


def form_of(tool: Tool | None) -> Form:
    """The form of a tool; `UNKNOWN` for None and for what is only taken to be a drill."""
    if tool is None or isinstance(tool, UnknownTool):
        return UNKNOWN
    radius = 0.0 if tool.diameter_mm is None else tool.diameter_mm / 2
    flat, slope, lead = radius, 0.0, 0.0
    if isinstance(tool, PointedTool):
        flat = min(tool.tip_flat_mm / 2, radius)
        if tool.angle_deg < 180:
            slope = 1 / math.tan(math.radians(tool.angle_deg / 2))
        lead = (radius - flat) * slope
    return Form(
        _USES[type(tool)],
        tool,
        radius,
        flat,
        slope,
        tool.lead_mm if isinstance(tool, Reamer | Tap) else lead,
    )
