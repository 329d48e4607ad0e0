"""Sideways moves, rapids along a face, units, where a program begins and ends: no single holes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from operator import is_

import numpy as np

from millprep.base.records import replace
from millprep.model.scene import Scene
from millprep.reading.moves import DWELL
from millprep.reading.simulate import slips
from millprep.reading.simulate.contact import dog_legs
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, filled, found_at, runs_of
from millprep.reading.simulate.milling import on_the_face
from millprep.reading.simulate.path import Flags, Floats, Ints
from millprep.reading.simulate.solid import depth_inside, lowest_over, top_at
from millprep.reference.shared_rules import BELOW_UNDERSIDE_MM, TOUCH_MM

BESIDE = 0.1  # of the stock's farthest edge: a cutter comes in from the side and goes out again
FILLED, MOST_THROUGH = 0.5, 1.5  # of a stock's length and thickness, by what is cut in it
FAR_OUT = 3.0  # times the stock's farthest edge: no slip of a digit, but another unit


def sideways_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """Sideways rapids below the top; drills, reamers or taps fed sideways there; cuts too deep."""
    path, below, top = dry.path, dry.below, scene.stock.high_mm[2]
    rapids = below & path.is_rapid
    rapids[dry.strokes.clear] = False  # they stay in a hole
    if dry.milled is not None:
        rapids[dry.milled.clear_rapids()] = False
    depth, dives = top - dry.low, rapids & (path.start[2] >= top - TOUCH_MM)
    through, level = slips.THROUGH_STOCK, replace(slips.THROUGH_STOCK, kind="rapid-below-top")
    yield from runs_of(path, through, dives, depth_mm=depth, what="a rapid")
    yield from runs_of(path, level, rapids & ~dives, depth_mm=depth, what="a rapid")
    for use in {form.use.kind: form.use for form in path.forms if form.use.only_down}.values():
        fed = below & path.is_feed & path.uses(partial(is_, use))
        template = replace(through, kind="sideways-in-stock")
        yield from runs_of(path, template, fed, depth_mm=depth, what=f"a {use.kind}")
    yield from _too_deep(dry, scene)

    def touches(rows: Ints, start: Floats, end: Floats) -> Flags:
        return ~np.isnan(lowest_over(scene.stock, start, end, path.radius[rows]))

    is_low = (path.low[2] < top - TOUCH_MM) & (path.stroke < 0) & ~below
    yield from dog_legs(path, is_low, touches, "the tool clears the stock")


def _too_deep(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """Sideways cuts deeper than the flutes, or far below the underside."""
    path, mills, underside = dry.path, dry.mills, scene.stock.low_mm[2]
    flute, depth = path.each(lambda form: form.tool.flute_mm), scene.stock.high_mm[2] - dry.low
    beyond = underside - dry.low
    is_beyond = mills & (depth > flute + TOUCH_MM)
    is_under = mills & (beyond > BELOW_UNDERSIDE_MM + TOUCH_MM)
    template, least = slips.MILLED_BELOW_UNDERSIDE, underside - BELOW_UNDERSIDE_MM
    yield from runs_of(
        path, slips.MILLED_DEEPER_THAN_FLUTES, is_beyond, mills, depth_mm=depth, flute_mm=flute
    )
    if not scene.underside_known:
        yield from runs_of(path, template, is_under, mills, beyond_mm=beyond, least_mm=least)


def system_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """Work systems that change between one feed and the next."""
    rows = np.flatnonzero(dry.path.is_feed & ~dry.path.moves.machine_only)
    changed = np.flatnonzero(np.diff(dry.path.moves.system[rows])) + 1
    for row in rows[changed].tolist():
        yield found_at(dry.path, slips.WORK_SYSTEM_CHANGED, row)


def end_faults(dry: DryRun) -> Iterator[Found]:
    """A program that ends in or over the work below the clear height, or with the spindle on."""
    path, scene, behind = dry.path, dry.scene, len(dry.path.moves)
    if not dry.run.is_complete or not behind:
        return
    line = int(path.moves.line[-1])
    if dry.run.spindle_at_end:
        yield Found(behind, filled(slips.ENDS_TURNING, line))
    end = path.end[:, -1:]
    if scene is None or np.isnan(end).any():
        return
    is_over, height = depth_inside(scene.stock, end[:2])[0] > -path.radius[-1], float(end[2, 0])
    if is_over and height < scene.safe_height_mm - TOUCH_MM:
        is_in = height < top_at(scene.stock, end[:2])[0] - TOUCH_MM
        figures = {"z_mm": height, "safe_mm": scene.safe_height_mm}
        where = "in" if is_in else "over"
        yield Found(behind, filled(slips.ENDS_LOW, line, where=where, **figures))


def units_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """Cuts that fit the stock only when read in the other unit."""
    path, stock = dry.path, scene.stock
    fed = np.flatnonzero(path.is_feed & ~np.isnan(path.end[:2]).any(axis=0))
    if not fed.size:
        return
    is_hole = path.is_down[fed] & ~np.append(dry.plunges, False)[path.stroke[fed]]
    places, holes = path.end[:2, fed], path.end[:2, fed[is_hole]]
    reach = max(abs(end) for end in (*stock.low_mm[:2], *stock.high_mm[:2]))
    beside = float(path.radius[fed].max()) + BESIDE * reach

    def fits(places: Floats, beside_mm: float = 0.0) -> bool:
        return bool((depth_inside(stock, places) > -beside_mm).all())

    step = np.hypot(*np.diff(holes, axis=1))
    step, widest = step[step > TOUCH_MM], 2 * path.radius[fed[is_hole]].max(initial=0.0)
    is_crowded = step.size > 0 and np.median(step) < widest
    how = ""
    if np.abs(places).max() > FAR_OUT * reach and fits(places / 25.4, beside):
        how = "large"
    elif (is_crowded and fits(holes) and fits(holes * 25.4)) or (
        dry.is_alone and fits(places * 25.4, BESIDE * reach) and _fills_small(dry, scene, fed)
    ):
        how = "small"
    if how:
        yield found_at(path, slips.UNITS_SUSPECT, int(fed[0]), how=how)


def _fills_small(dry: DryRun, scene: Scene, fed: Ints) -> bool:
    """Whether what is cut takes up a stock 25.4 times as small: along it, and most of the way
    through."""
    low, high = (np.array(ends) / 25.4 for ends in (scene.stock.low_mm, scene.stock.high_mm))
    ends = dry.path.end[:, fed]
    span, depth, (*size, thick) = np.ptp(ends[:2], axis=1), high[2] - ends[2].min(), high - low
    is_along = bool((span >= FILLED * np.array(size)).any())
    return is_along and bool(FILLED * thick <= depth <= MOST_THROUGH * thick)


def home_out_of_work_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """A way home of all axes, nobody knows where, from within the stock."""
    path = dry.path
    for row in (lost.first for lost in dry.run.lost if lost.axis == 2):
        is_over = depth_inside(scene.stock, path.start[:2, [row]])[0] > -path.radius[row]
        depth = top_at(scene.stock, path.start[:2, [row]])[0] - path.start[2, row]
        if is_over and depth > TOUCH_MM:
            yield found_at(path, slips.HOME_OUT_OF_WORK, row, depth_mm=float(depth))


def first_move_faults(dry: DryRun) -> Iterator[Found]:
    """Moves sideways before anything has said how high the tool stands: the program by a Z, a
    change that goes up by itself, or the shop file."""
    moves = dry.path.moves
    if dry.is_height_told or dry.control.axes == "xy":  # there a hand minds Z
        return
    blind = (np.arange(len(moves)) < dry.run.blind_moves) & (moves.kind != DWELL)
    mild = replace(slips.HEIGHT_UNKNOWN, severity="warning")
    template = mild if dry.scene is None else slips.HEIGHT_UNKNOWN
    to_x, to_y, _ = moves.end
    yield from runs_of(dry.path, template, blind, moves.kind != DWELL, x_mm=to_x, y_mm=to_y)


def face_faults(dry: DryRun, scene: Scene) -> Iterator[Found]:
    """Rapids that touch a face which nothing has been cut from: down onto it, or along it."""
    path, strokes = dry.path, dry.strokes
    along = on_the_face(path, scene)
    if dry.milled is not None:
        along[dry.milled.clear_rapids()] = False
    top, free = path.of_stroke(strokes.top), path.of_stroke(strokes.free)
    onto = path.is_rapid & path.is_down & (np.abs(path.end[2] - top) <= TOUCH_MM)
    onto &= (np.abs(free - top) <= TOUCH_MM) & (depth_inside(scene.stock, path.end[:2]) > 0)
    yield from runs_of(
        path,
        slips.RAPID_ON_FACE,
        onto | along,
        way=lambda row: "down onto" if onto[row] else "along",
    )
