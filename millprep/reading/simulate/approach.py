"""How the tool comes to the work: what nobody knows of its height, and rapids that end on a face.

Imports `dry_run`, `path`, `solid`, `findings`, `slips` and the scene.
"""

from __future__ import annotations

from collections.abc import Iterator
from operator import attrgetter

import numpy as np

from millprep.base.records import replace
from millprep.model.scene import Box, Scene
from millprep.reading.moves import DWELL
from millprep.reading.simulate import slips
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, runs_of
from millprep.reading.simulate.path import Flags, Path
from millprep.reading.simulate.solid import depth_inside, is_round_upright, lowest_over
from millprep.reference.shared_rules import TOUCH_MM


def first_move_faults(dry: DryRun) -> Iterator[Found]:
    """Moves sideways before anything has said how high the tool stands: the program by a Z, a
    change that goes up by itself, or the shop file."""
    moves = dry.path.moves
    is_told = dry.is_placed if dry.scene is not None else bool(dry.control.offsets_mm)
    if is_told or dry.control.axes == "xy":  # there a hand minds Z
        return
    blind = (np.arange(len(moves)) < dry.run.blind_moves) & (moves.kind != DWELL)
    mild = replace(slips.HEIGHT_UNKNOWN, severity="warning")
    template = mild if dry.scene is None else slips.HEIGHT_UNKNOWN
    to_x, to_y, _ = moves.end
    yield from runs_of(dry.path, template, blind, moves.kind != DWELL, to_x=to_x, to_y=to_y)


def on_the_face(path: Path, scene: Scene) -> Flags:
    """(N,) sideways rapids with the tip at the height of the top, over the stock."""
    stock, is_on = scene.stock, np.zeros(len(path.moves), dtype=bool)
    if not (isinstance(stock, Box) or is_round_upright(stock)):
        return is_on
    is_level = np.abs(path.low[2] - stock.high_mm[2]) <= TOUCH_MM
    is_level &= path.end[2] <= path.start[2] + TOUCH_MM  # a rise is leaving the face
    rows = np.flatnonzero(path.is_rapid & (path.stroke < 0) & is_level)
    flat = path.each(attrgetter("flat_mm"))[rows]
    lowest = lowest_over(stock, path.start[:, rows], path.end[:, rows], flat - TOUCH_MM)
    is_on[rows] = lowest <= stock.high_mm[2] + TOUCH_MM
    return is_on


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
