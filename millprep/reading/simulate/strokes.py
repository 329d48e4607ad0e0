"""Stroke after stroke into the stock: what was free before it, what it leaves, what it does wrong.

The one loop in which order matters, over strokes and not over moves.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from millprep.base.findings import Finding, Severity, Value, Words, words
from millprep.base.records import frozen, replace
from millprep.model.tools import PointedTool
from millprep.reading.made import MadeOperation
from millprep.reading.simulate import slips
from millprep.reading.simulate.circles import Circle, add_circle, circles_of
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, filled
from millprep.reading.simulate.form import Form, use_in
from millprep.reading.simulate.milling import enters_stock
from millprep.reading.simulate.path import Floats, Path
from millprep.reading.simulate.record import (
    Cut,
    Place,
    free_tip,
    surface_at,
    widest_cut_mm,
    width_at,
)
from millprep.reference.shared_rules import BELOW_UNDERSIDE_MM, TOUCH_MM, HoleBefore

_OF_HOLES = ("breaks-edge", "outside-stock")  # a cutter may come in from the side


def run_strokes(dry: DryRun) -> None:
    """Goes through the strokes in their order, adding to the record what each removes."""
    path, strokes = dry.path, dry.strokes
    if dry.scene is None:
        wanted = strokes.is_fed & np.isfinite(strokes.low)
    else:  # those that only touch the top too: what is free there is wanted of them
        wanted = (strokes.low < strokes.top + TOUCH_MM) & ~np.isnan(strokes.x + strokes.y)
    first, last = _feeds(path, strokes.low)
    comes_in = dry.is_alone & dry.plunges & enters_stock(path, dry.below)
    rapids = np.flatnonzero(dry.below & path.is_rapid)[::-1].tolist()
    circles = circles_of(path, dry.mills, dry.run.off_path())[::-1]

    full: list[Circle] = []

    def bring_up_to(move: int) -> None:
        while rapids and rapids[-1] < move:
            _look_at_rapid(dry, rapids.pop())
        while circles and circles[-1].last_move < move:
            circle = circles.pop()
            if not add_circle(dry, circle):
                full.append(circle)

    for number in np.flatnonzero(wanted).tolist():
        bring_up_to(first[number])
        stroke = _stroke(dry, number, first[number], last[number])
        if dry.scene is None:
            if not stroke.form.use.is_cone:
                strokes.widest[number] = 2 * stroke.form.radius_mm
            _make(dry, stroke)
        elif stroke.inside > -stroke.form.radius_mm:
            _into_stock(dry, stroke, underside_known=dry.scene.underside_known)
        elif strokes.is_fed[number] and stroke.low < stroke.top - TOUCH_MM and not comes_in[number]:
            strokes.found.append(outside_fault(stroke))
    bring_up_to(len(path.moves))
    for circle in full:  # its inside may have been cleared since
        add_circle(dry, circle, len(path.moves))


def _look_at_rapid(dry: DryRun, row: int) -> None:
    """Whether a rapid stays in a hole that is wide enough for the way."""
    path = dry.path
    ends = [path.start[:2, row], path.end[:2, row]]
    tip, radius = float(path.low[2, row]), float(path.radius[row])
    for place in dry.record.near(*ends[0].tolist()):
        away = max(math.hypot(x - place.x_mm, y - place.y_mm) for x, y in ends)
        is_open = (cut for cut in place.cuts if math.isinf(cut.upper_mm))
        if any(away + radius <= cut.radius_at(tip) for cut in is_open):
            dry.strokes.clear.append(row)
            return


def _feeds(path: Path, low: Floats) -> tuple[list[int], list[int]]:
    """First and last downward feed of each stroke; its first move where it only has rapids."""
    count = len(path.moves)
    rows = np.arange(count)
    is_feed = path.is_feed & path.is_down & (path.stroke >= 0)
    first = np.full(low.size, count)
    last = np.full(low.size, -1)
    np.minimum.at(first, path.stroke[is_feed], rows[is_feed])
    np.maximum.at(last, path.stroke[is_feed], rows[is_feed])
    only_rapid = last < 0
    first[only_rapid] = path.first[only_rapid]
    last[only_rapid] = path.last[only_rapid]
    return first.tolist(), last.tolist()


def _stroke(dry: DryRun, number: int, move: int, last: int) -> Stroke:
    moves, strokes = dry.path.moves, dry.strokes
    return Stroke(
        number,
        move,
        float(strokes.x[number]),
        float(strokes.y[number]),
        float(strokes.low[number]),
        float(strokes.top[number]),
        float(strokes.underside[number]),
        float(strokes.inside[number]),
        dry.path.forms[int(dry.path.form[move])],
        int(moves.cycle[move]),
        int(moves.tool[move]),
        int(moves.line[move]),
        int(moves.line[last]),
    )


def _room(dry: DryRun, stroke: Stroke) -> list[Cut]:
    """What has been cut about the axis of a stroke before it."""
    radius = stroke.form.radius_mm
    room = dry.record.room(stroke.x, stroke.y) + dry.gaps
    if dry.record.across:
        room += dry.record.crossing(stroke.x, stroke.y, radius)
    # The squares are too coarse for the little that a boring head takes off.
    if dry.milled is not None and not stroke.form.use.is_boring:
        dry.milled.cut_until(stroke.move)
        left = dry.milled.highest_under(stroke.x, stroke.y, radius)
        if left < stroke.top - TOUCH_MM:
            room.append(Cut(radius, left, radius, 0.0))
    return room


def _into_stock(dry: DryRun, stroke: Stroke, *, underside_known: bool) -> None:
    """One stroke over the stock, below its top."""
    strokes, number, form, room = dry.strokes, stroke.number, stroke.form, _room(dry, stroke)
    free = free_tip(room, form, stroke.top)
    # Of a tool of unknown size nobody can say that it touches no wall: what it feeds, it cuts.
    solid = free if form.tool.diameter_mm is not None else stroke.top
    wide = [cut.radius_mm for cut in room if not cut.is_spot and cut.upper_mm >= stroke.top]
    strokes.free[number], strokes.solid[number] = free, solid
    strokes.pilot[number] = 2 * max(wide, default=0.0)
    if stroke.low >= solid - TOUCH_MM:
        strokes.found += loose_faults(stroke, room) if strokes.is_fed[number] else []
        return
    strokes.widest[number] = widest_cut_mm(room, form, stroke.low, stroke.top)
    is_plunge = dry.is_alone and bool(dry.plunges[number])
    found = faults(stroke, room, underside_known=underside_known)
    strokes.found += [one for one in found if not (is_plunge and one.finding.kind in _OF_HOLES)]
    strokes.found += doubts(stroke, room) if dry.is_alone and not is_plunge else []
    _make(dry, stroke)


def _make(dry: DryRun, stroke: Stroke) -> None:
    """Adds the cut and the operation to the hole they belong to."""
    form, record, use = stroke.form, dry.record, stroke.form.use
    place = record.same_hole(stroke.x, stroke.y, form.radius_mm)
    place = place or record.new_place(stroke.x, stroke.y)
    cone = form.cone_at(stroke.top - stroke.low) if use.is_cone else math.nan
    operation = _operation(stroke, place, cone, dry.file)
    is_plunge = bool(dry.plunges[stroke.number])
    place.operations.append(replace(operation, milling="plunge") if is_plunge else operation)
    if use.is_milling:
        record.milled_places.append(place)
    if use.is_threading:
        return  # a tap leaves its drill's room as it is, but for the thread
    radius = form.radius_mm if math.isnan(cone) else cone / 2
    offset = math.hypot(place.x_mm - stroke.x, place.y_mm - stroke.y)
    width = max(0.0, radius - offset)
    record.add_cut(place, Cut(width, stroke.low, form.flat_mm, form.slope, is_spot=use.is_cone))


def _operation(stroke: Stroke, place: Place, cone_mm: float, file: str) -> MadeOperation:
    form, use = stroke.form, stroke.form.use
    is_first_milled = use.is_milling and not place.cuts
    own_axis = (stroke.x, stroke.y) != (place.x_mm, place.y_mm)
    return MadeOperation(
        "drill" if is_first_milled else use_in(form, stroke.cycle).operation,
        use.kind,
        form.tool.diameter_mm,
        stroke.low,
        None if form.lead_mm is None else stroke.low + form.lead_mm,
        None if math.isnan(cone_mm) else cone_mm,
        stroke.line,
        stroke.last_line,
        stroke.tool_number,
        form.pitch_mm,
        stroke.x if own_axis else None,
        stroke.y if own_axis else None,
        form.tool.angle_deg if isinstance(form.tool, PointedTool) else None,
        file,
        "" if form.tap is None else form.tap.words,
        form.tap is not None and form.tap.is_left_hand,
    )


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
