"""How the tool comes to the work: what nobody knows of its height, and rapids that end on a face.

Imports `path`, `solid`, `milled`, `strokes`, `cutting`, `findings` and the scene.
"""

from __future__ import annotations

import numpy as np

from millprep.base.findings import Severity
from millprep.model.scene import Box, Scene
from millprep.reading.moves import DWELL
from millprep.reading.simulate.cutting import harms_at
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.path import Flags, Path
from millprep.reading.simulate.solid import TOUCH_MM, depth_inside, is_round_upright, lowest_over
from millprep.reading.simulate.strokes import Strokes


def first_move_harms(
    path: Path, blind_moves: int, is_height_known: bool, scene: Scene | None
) -> list[Harm]:
    """Moves sideways before anything has said how high the tool stands.

    blind_moves : how many come before the program says a Z, or a change goes up by itself
    is_height_known : the shop says where the machine stands before the first line
    """
    moves = path.moves
    blind = (np.arange(len(moves)) < blind_moves) & (moves.kind != DWELL)
    if is_height_known or not blind.any():
        return []
    severity: Severity = "warning" if scene is None else "stop"

    def words(row: int) -> tuple[str, str]:
        x, y = moves.end[:2, row]
        return (
            f"the program moves sideways to X{x:.3f} Y{y:.3f} and nothing says how high the tool "
            "stands: it may stand in or on the work",
            "raise it first: G0 Z25., with G43 H.. if the control uses lengths; if its M6 goes up "
            "by itself, say change_goes_up = true in the shop file",
        )

    return harms_at(path, blind, moves.kind != DWELL, severity, "height-unknown", words)


def on_the_face(path: Path, scene: Scene) -> Flags:
    """(N,) sideways rapids with the tip at the height of the top, over the stock."""
    stock = scene.stock
    none = np.zeros(len(path.moves), dtype=bool)
    if not (isinstance(stock, Box) or is_round_upright(stock)):
        return none
    with np.errstate(invalid="ignore"):
        is_level = np.abs(path.low[2] - stock.high_mm[2]) <= TOUCH_MM
        is_level &= path.end[2] <= path.start[2] + TOUCH_MM  # a rise is leaving the face
    rows = np.flatnonzero(path.is_rapid & (path.stroke < 0) & is_level)
    flat = np.array([form.flat_mm for form in path.forms])[path.form[rows]]
    lowest = lowest_over(stock, path.start[:, rows], path.end[:, rows], flat - TOUCH_MM)
    none[rows] = lowest <= stock.high_mm[2] + TOUCH_MM
    return none


def face_harms(path: Path, scene: Scene, strokes: Strokes, milled: Milled | None) -> list[Harm]:
    """Rapids that touch a face which nothing has been cut from: down onto it, or along it."""
    along = on_the_face(path, scene)
    if milled is not None:
        along[milled.clear_rapids()] = False
    stroke = np.maximum(path.stroke, 0)
    onto = path.is_rapid & path.is_down & (path.stroke >= 0)
    if path.first.size:
        top, free = strokes.top[stroke], strokes.free[stroke]
        with np.errstate(invalid="ignore"):
            onto &= (np.abs(path.end[2] - top) <= TOUCH_MM) & (np.abs(free - top) <= TOUCH_MM)
            onto &= depth_inside(scene.stock, path.end[:2]) > 0

    def words(row: int) -> tuple[str, str]:
        x, y, z = path.end[:, row]
        way = "down onto" if onto[row] else "along"
        return (
            f"a rapid goes {way} the face of the stock at X{x:.3f} Y{y:.3f} Z{z:.3f}: the tip "
            "rubs, and anything out of true is cut",
            "keep rapids a millimetre or two above the face",
        )

    every = np.ones(len(path.moves), dtype=bool)
    return harms_at(path, onto | along, every, "warning", "rapid-on-face", words)
