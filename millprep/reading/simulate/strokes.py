"""Stroke after stroke into the stock: what was free before it, what it leaves, what it does wrong.

The one loop in which order matters, over strokes and not over moves. Imports `stroke`, `circles`,
`record`, `solid`, `milled`, `path` and the scene.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from millprep.model.scene import Scene
from millprep.reading.made import OPERATION_OF_CYCLE, OPERATION_OF_TOOL, MadeOperation
from millprep.reading.simulate.circles import Circle, add_circle
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.path import Flags, Floats, Ints, Path
from millprep.reading.simulate.record import Cut, Place, Record, free_tip, widest_cut_mm
from millprep.reading.simulate.solid import TOUCH_MM, bottom_at, depth_inside, top_at
from millprep.reading.simulate.stroke import (
    SPOT_KINDS,
    Ground,
    Stroke,
    faults,
    loose_fault,
    outside_fault,
)


@dataclass(slots=True)
class Strokes:
    """What the loop found, one row a stroke, arrays `(S,)`.

    x, y, low  : axis and deepest tip; free : how low a rapid may go before it touches
    solid      : how low a feed may go before it cuts (differs for tools of unknown size)
    top        : of the stock at the axis; nan where none is
    pilot      : diameter of the hole that was there already
    widest     : diameter of the widest ring that is cut; nan where nothing is
    clear      : sideways rapids below the top that stay in one hole
    """

    x: Floats
    y: Floats
    low: Floats
    free: Floats
    solid: Floats
    top: Floats
    pilot: Floats
    widest: Floats
    harms: list[Harm] = field(default_factory=list)
    clear: list[int] = field(default_factory=list)


@dataclass(slots=True)
class _Loop:
    """What every step of the loop needs."""

    scene: Scene | None
    record: Record
    milled: Milled | None
    is_alone: bool
    file: str
    strokes: Strokes
    underside: Floats
    inside: Floats


def run_strokes(
    path: Path,
    scene: Scene | None,
    record: Record,
    milled: Milled | None,
    rapids: Ints,
    *,
    expects_spot: bool,
    circles: Sequence[Circle] = (),
    file: str,
) -> Strokes:
    """Goes through the strokes in their order, adding to `record` what each removes.

    rapids : sideways ones below the top, to be looked at on the way
    circles : that end mills go round, in their order
    """
    strokes, feeds_down = _columns(path)
    places = np.array([strokes.x, strokes.y])
    wanted = feeds_down & np.isfinite(strokes.low)
    inside = underside = strokes.pilot
    if scene is not None:
        strokes.top = top_at(scene.stock, places)
        strokes.solid = np.full(strokes.low.size, np.nan)
        # those that only touch the top too: what is free there is wanted of them
        wanted = (strokes.low < strokes.top + TOUCH_MM) & ~np.isnan(places).any(axis=0)
        inside, underside = depth_inside(scene.stock, places), bottom_at(scene.stock, places)
    loop = _Loop(scene, record, milled, expects_spot, file, strokes, underside, inside)
    first, last = _feeds(path, strokes.low)
    waiting = rapids[::-1].tolist()
    rest = list(reversed(circles))
    for number in np.flatnonzero(wanted).tolist():
        _look_at_rapids(loop, path, waiting, first[number])
        stroke = _stroke(path, strokes, number, first[number], last[number])
        _add_circles(loop, rest, stroke.move)
        if scene is None:
            if stroke.form.kind not in SPOT_KINDS:
                strokes.widest[number] = 2 * stroke.form.radius_mm
            _make(loop, stroke, math.nan)
        elif float(inside[number]) > -stroke.form.radius_mm:
            _into_stock(loop, stroke, is_fed=bool(feeds_down[number]))
        elif feeds_down[number] and strokes.low[number] < strokes.top[number] - TOUCH_MM:
            strokes.harms.append(outside_fault(stroke, float(strokes.top[number])))
    _look_at_rapids(loop, path, waiting, len(path.moves))
    _add_circles(loop, rest, len(path.moves))
    return strokes


def _add_circles(loop: _Loop, rest: list[Circle], move: int) -> None:
    """Those that are finished before a move; `rest` has the next one last."""
    while loop.scene is not None and rest and rest[-1].last_move < move:
        add_circle(loop.record, rest.pop(), loop.milled, loop.scene, loop.file)


def _look_at_rapids(loop: _Loop, path: Path, waiting: list[int], until: int) -> None:
    """Which of the rapids before a move stay in a hole that is wide enough for the way."""
    while waiting and waiting[-1] < until:
        row = waiting.pop()
        ends = [path.start[:2, row], path.end[:2, row]]
        tip, radius = float(path.low[2, row]), float(path.radius[row])
        for place in loop.record.near(*ends[0].tolist()):
            away = max(math.hypot(x - place.x_mm, y - place.y_mm) for x, y in ends)
            if any(away + radius <= cut.radius_at(tip) for cut in place.cuts if _is_open(cut)):
                loop.strokes.clear.append(row)
                break


def _is_open(cut: Cut) -> bool:
    return math.isinf(cut.upper_mm)


def _columns(path: Path) -> tuple[Strokes, Flags]:
    """Axis and deepest tip of each stroke, and whether anything of it is a feed downward."""
    size = path.first.size
    rows = np.flatnonzero((path.stroke >= 0) & ~np.isnan(path.end[2]))
    low = np.full(size, np.inf)
    np.minimum.at(low, path.stroke[rows], path.end[2][rows])
    feeds_down = np.zeros(size, dtype=bool)
    feeds_down[path.stroke[path.is_feed & path.is_down & (path.stroke >= 0)]] = True
    free, top, pilot, widest = (np.full(size, np.nan) for _ in range(4))
    x, y = path.end[0][path.first], path.end[1][path.first]
    return Strokes(x, y, low, free, np.full(size, np.inf), top, pilot, widest), feeds_down


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


def _stroke(path: Path, strokes: Strokes, number: int, move: int, last: int) -> Stroke:
    moves = path.moves
    return Stroke(
        number,
        move,
        float(strokes.x[number]),
        float(strokes.y[number]),
        float(strokes.low[number]),
        path.forms[int(path.form[move])],
        int(moves.cycle[move]),
        int(moves.tool[move]),
        int(moves.line[move]),
        int(moves.line[last]),
    )


def _ground(loop: _Loop, stroke: Stroke) -> Ground:
    number = stroke.number
    top = float(loop.strokes.top[number])
    room = loop.record.room(stroke.x, stroke.y)
    if loop.record.across:
        room += loop.record.crossing(stroke.x, stroke.y, stroke.form.radius_mm)
    if loop.milled is not None:
        loop.milled.cut_until(stroke.move)
        radius = stroke.form.radius_mm
        left = loop.milled.highest_under(stroke.x, stroke.y, radius)
        if left < top - TOUCH_MM:
            room.append(Cut(radius, left, radius, 0.0))
    return Ground(top, float(loop.underside[number]), float(loop.inside[number]), room)


def _into_stock(loop: _Loop, stroke: Stroke, *, is_fed: bool) -> None:
    """One stroke over the stock, below its top."""
    assert loop.scene is not None
    strokes, number, form = loop.strokes, stroke.number, stroke.form
    ground = _ground(loop, stroke)
    free = free_tip(ground.room, form, ground.top_mm)
    # Of a tool of unknown size nobody can say that it touches no wall: what it feeds, it cuts.
    solid = free if form.diameter_mm is not None else ground.top_mm
    wide = [
        cut.radius_mm for cut in ground.room if not cut.is_spot and cut.upper_mm >= ground.top_mm
    ]
    strokes.free[number], strokes.solid[number] = free, solid
    strokes.pilot[number] = 2 * max(wide, default=0.0)
    if stroke.low >= solid - TOUCH_MM:
        strokes.harms += loose_fault(stroke, ground) if is_fed else []
        return
    strokes.widest[number] = widest_cut_mm(ground.room, form, stroke.low, ground.top_mm)
    known = loop.scene.underside_known
    strokes.harms += faults(stroke, ground, underside_known=known, is_alone=loop.is_alone)
    _make(loop, stroke, ground.top_mm)


def _make(loop: _Loop, stroke: Stroke, top_mm: float) -> None:
    """Adds the cut and the operation to the hole they belong to."""
    form, record = stroke.form, loop.record
    place = record.same_hole(stroke.x, stroke.y, form.radius_mm)
    place = place or record.new_place(stroke.x, stroke.y)
    operation = _operation(stroke, place, top_mm, loop.file)
    place.operations.append(operation)
    if form.kind == "end mill":
        record.milled_places.append(place)
    if form.kind == "tap":
        return  # a tap leaves its drill's room as it is, but for the thread
    radius, flat = form.radius_mm, form.flat_mm
    if form.kind in SPOT_KINDS and operation.cone_mm is not None:
        radius = operation.cone_mm / 2
    offset = math.hypot(place.x_mm - stroke.x, place.y_mm - stroke.y)
    record.add_cut(
        place,
        Cut(
            max(0.0, radius - offset), stroke.low, flat, form.slope, is_spot=form.kind in SPOT_KINDS
        ),
    )


def _operation(stroke: Stroke, place: Place, top_mm: float, file: str) -> MadeOperation:
    form = stroke.form
    name = OPERATION_OF_TOOL.get(form.kind or "", OPERATION_OF_CYCLE.get(stroke.cycle, "drill"))
    if form.kind == "end mill" and not place.cuts:
        name = "drill"
    cone = form.cone_at(top_mm - stroke.low) if form.kind in SPOT_KINDS else None
    own_axis = (stroke.x, stroke.y) != (place.x_mm, place.y_mm)
    return MadeOperation(
        name,
        form.kind,
        form.diameter_mm,
        stroke.low,
        None if form.kind is None else stroke.low + form.lead_mm,
        None if cone is None or math.isnan(cone) else cone,
        stroke.line,
        stroke.last_line,
        stroke.tool_number,
        form.pitch_mm,
        stroke.x if own_axis else None,
        stroke.y if own_axis else None,
        form.point_angle_deg,
        file,
        form.thread,
        form.turns < 0,
    )
