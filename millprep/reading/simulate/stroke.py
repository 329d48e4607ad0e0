"""One stroke into the stock, and what can be wrong with it.

Imports `form`, `record`, `findings` and `slips`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from millprep.base.findings import Finding, Severity, Value, Words, words
from millprep.base.records import frozen, replace
from millprep.reading.simulate import slips
from millprep.reading.simulate.findings import Found, filled
from millprep.reading.simulate.form import Form, use_in
from millprep.reading.simulate.record import Cut, surface_at, width_at
from millprep.reference.shared_rules import BELOW_UNDERSIDE_MM, TOUCH_MM, HoleBefore

LEAST_FLOOR_MM, FLOOR_SHARE = 1.0, 0.25  # under a blind hole's tip, of its width: common practice
LEAST_WALL_MM = 0.8  # between a hole and an edge (common practice on small parts)
STARTED_SHARE = 0.2  # a spot wider than the chisel edge (0.15-0.2 d) holds the point
DEPTH_ROOM_MM = 0.01
_NO_HOLE_SHARE = 0.5  # of the least hole that a tool follows: a narrower one is not its own
_JUST_INSIDE_MM = 0.01
SIZE_SLACK_MM = 0.001  # tool lines give three decimals

Fault = tuple[Finding, dict[str, Value]]
"""A finding of `slips` and its figures."""


@frozen
class Stroke:
    """One stroke, from the moves, and the stock there: nan where nothing is known of it.

    top, underside : heights of the stock at the axis; inside : how far in its outline that lies
    """

    number: int
    move: int
    x: float
    y: float
    low: float
    top: float
    underside: float
    inside: float
    form: Form
    cycle: int
    tool_number: int
    line: int
    last_line: int

    def found(self, template: Finding, **figures: Value) -> Found:
        """A finding of `slips` at the stroke."""
        # Hole after hole without a spot is one slip; anything else is told hole by hole.
        neighbour = self.number if template is slips.NO_SPOT else None
        finding = filled(template, self.line, x_mm=self.x, y_mm=self.y, **figures)
        finding = replace(finding, about=f"T{self.tool_number}")
        return Found(self.move, finding, (template.kind, self.number), neighbour)


def faults(stroke: Stroke, room: list[Cut], *, underside_known: bool) -> Iterator[Found]:
    """Everything that is wrong with a stroke that cuts, in room cut before."""
    form = stroke.form
    if stroke.inside < 0:
        yield outside_fault(stroke)
    elif not form.use.is_cone and stroke.inside < form.radius_mm - TOUCH_MM:
        yield stroke.found(slips.BREAKS_EDGE, size=_size(form), inside_mm=stroke.inside)
    depth = surface_at(room, form.radius_mm + 1e-6, stroke.top) - stroke.low
    is_reamed_on = form.use.is_reaming and any(cut.radius_mm == math.inf for cut in room)
    flute_mm = None if is_reamed_on else form.tool.flute_mm  # its neck follows through a stack
    if flute_mm is not None and depth > flute_mm + TOUCH_MM:
        figures = {"depth_mm": depth, "flute_mm": flute_mm}
        yield stroke.found(slips.DEEPER_THAN_FLUTES, size=_size(form), **figures)
    beyond = stroke.underside - stroke.low
    may_mm = BELOW_UNDERSIDE_MM + form.full_mm(0.0)
    if not underside_known and beyond > may_mm + TOUCH_MM:
        least_mm = stroke.underside - may_mm
        yield stroke.found(slips.BELOW_UNDERSIDE, beyond_mm=beyond, least_mm=least_mm)
    yield from _follow_faults(stroke, room)


def doubts(stroke: Stroke, room: list[Cut]) -> Iterator[Found]:
    """What else may be wrong with it where no part says what is wanted."""
    use, radius = stroke.form.use, stroke.form.radius_mm
    floor, wall = stroke.low - stroke.underside, stroke.inside - radius
    is_started = any(
        cut.radius_mm >= STARTED_SHARE * radius and cut.upper_mm >= stroke.top for cut in room
    )
    if use.cuts_solid and not is_started:
        yield stroke.found(slips.NO_SPOT, size=_size(stroke.form, "drill"))
    least = max(LEAST_FLOOR_MM, FLOOR_SHARE * 2 * radius)
    if use.cuts_solid and TOUCH_MM < floor < least - TOUCH_MM:
        yield stroke.found(slips.THIN_FLOOR, left_mm=floor, least_mm=least)
    if not use.is_cone and TOUCH_MM < wall < LEAST_WALL_MM - TOUCH_MM:
        yield stroke.found(slips.THIN_WALL, left_mm=wall, least_mm=LEAST_WALL_MM)


def outside_fault(stroke: Stroke) -> Found:
    """A feed down where there is no stock; some tools may come in from the side."""
    severe = slips.OUTSIDE_STOCK
    template = replace(severe, severity="warning") if stroke.form.use.may_miss else severe
    return stroke.found(template, depth_mm=stroke.top - stroke.low)


def loose_faults(stroke: Stroke, room: list[Cut]) -> Iterator[Found]:
    """A tap or reamer that is fed down and touches nothing; a reamer may go where it has cut."""
    reach = max(stroke.low, stroke.underside)
    is_again = width_at(room, reach) <= 2 * (stroke.form.radius_mm + TOUCH_MM)
    if stroke.low < stroke.top - TOUCH_MM and not (stroke.form.use.is_reaming and is_again):
        yield from _follow_faults(stroke, room)


def _follow_faults(stroke: Stroke, room: list[Cut]) -> Iterator[Found]:
    fault = follow_fault(stroke.form, stroke.cycle, room, stroke.low, stroke.underside)
    if fault is not None:
        template, figures = fault
        yield stroke.found(template, **figures)


def _size(form: Form, what: str = "tool") -> Words:
    size_mm = form.tool.diameter_mm
    if size_mm is None:
        return words(f"{what} of unknown size")
    return words(f"{{size_mm:3}} {what}", size_mm=size_mm)


# taps and reamers follow a hole: is it there, is it their size, is it deep enough?


def follow_fault(
    form: Form, cycle: int, room: list[Cut], low_mm: float, underside_mm: float
) -> Fault | None:
    """What is wrong with the hole that a tool follows."""
    use = use_in(form, cycle)
    if use.follows is None:
        return None
    tool = str(use.kind)
    deep = [cut for cut in room if not cut.is_spot]
    if all(cut.is_across for cut in deep):
        return slips.NOTHING_TO_FOLLOW, {"tool": tool}
    if form.tool.diameter_mm is None or any(cut.radius_mm == 0 for cut in deep):
        return None
    size = _narrowest(deep, max(form.full_mm(low_mm), underside_mm))
    wanted = use.follows(form)
    severity = _severity(wanted[1], size) if wanted is not None and size > 0 else None
    if wanted is not None and severity is not None:
        what, hole = wanted
        usual = {"least_mm": hole.usual_least_mm, "most_mm": hole.usual_most_mm}
        figures: dict[str, Value] = {"hole_mm": size, **usual}
        if size < _NO_HOLE_SHARE * hole.usual_least_mm:
            return slips.NO_HOLE, {"tool": tool, **figures}
        return replace(slips.HOLE_WRONG, severity=severity), {"tool": what, **figures}
    end = width_at(deep, max(low_mm, underside_mm) + _JUST_INSIDE_MM)
    if size > 0 and end >= size - 2 * DEPTH_ROOM_MM:
        return None
    reach = min(cut.surface(cut.radius_mm) for cut in deep)
    return slips.HOLE_TOO_SHALLOW, {"tool": tool, "low_mm": low_mm, "reach_mm": reach}


def _narrowest(deep: list[Cut], low_mm: float) -> float:
    """Least width from a height up: recesses at either end do not count, a floor between is 0."""
    heights = [low_mm + _JUST_INSIDE_MM]
    heights += [cut.tip_mm - _JUST_INSIDE_MM for cut in deep if cut.tip_mm > heights[0]]
    heights += [cut.upper_mm + _JUST_INSIDE_MM for cut in deep if low_mm < cut.upper_mm < math.inf]
    return min(width_at(deep, height) for height in heights)


def _severity(before: HoleBefore, hole_mm: float) -> Severity | None:
    slack = SIZE_SLACK_MM
    if not before.least_mm - slack <= hole_mm <= before.most_mm + slack:
        return "stop"
    is_usual = before.usual_least_mm - slack <= hole_mm <= before.usual_most_mm + slack
    return None if is_usual else "warning"
