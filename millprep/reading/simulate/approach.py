"""How the tool comes to the work: what nobody knows of its height, and rapids that end on a face.

Imports `dry_run`, `path`, `solid`, `findings`, `slips` and the scene.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.records import replace
from millprep.model.scene import Scene
from millprep.reading.moves import DWELL
from millprep.reading.simulate import slips
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, runs_of
from millprep.reading.simulate.over_stock import on_the_face
from millprep.reading.simulate.solid import depth_inside
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
