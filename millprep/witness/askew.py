"""A program for a part that is askew, undone: the same moves on the part lying square.

And how far holes are turned that were made without saying so. Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import replace
from millprep.model.part import Part
from millprep.reading.made import MadeHole
from millprep.reading.moves import ProgramRun
from millprep.witness import Lay, matched, wanted_of

Floats = NDArray[np.float64]
MOST_TURN_DEG = 5.0  # a part that lies worse is set up anew


def squared(run: ProgramRun, skew_deg: float) -> ProgramRun:
    """The run with its X and Y turned back about the zero, clockwise for a positive skew.

    Machine coordinates stay as they are: travel is the machine's.
    """
    if not skew_deg:
        return run
    moves = replace(
        run.moves,
        start=_turned_back(run.moves.start, skew_deg),
        end=_turned_back(run.moves.end, skew_deg),
        centre=_turned_back(run.moves.centre, skew_deg),
    )
    return replace(run, moves=moves)


def _turned_back(points: Floats, skew_deg: float) -> Floats:
    """(3, N) turned clockwise as one looks down."""
    angle = math.radians(skew_deg)
    back = points.copy()
    back[0] = points[0] * math.cos(angle) + points[1] * math.sin(angle)
    back[1] = points[1] * math.cos(angle) - points[0] * math.sin(angle)
    return back


def tolerance_mm(one_axis_mm: float, skew_deg: float) -> float:
    """What a rounding of each axis can amount to along one axis of the square part."""
    angle = math.radians(abs(skew_deg))
    return one_axis_mm * (math.cos(angle) + math.sin(angle))


def common_turn_deg(
    part: Part, lay: Lay, holes: Sequence[MadeHole], tolerance_mm: float
) -> float | None:
    """By how much all the holes made are turned about the zero, anticlockwise; None if they aren't.

    One hole cannot tell a turn from a shift.
    """
    places = wanted_of(part, lay)[1]
    if len(holes) < 2:
        return None
    made = np.array([(hole.x_mm, hole.y_mm, 0.0) for hole in holes]).T
    for turn_deg in _turns_deg(places, made, tolerance_mm):
        back = _turned_back(made, turn_deg)[:2]
        square = [
            replace(hole, x_mm=x, y_mm=y)
            for hole, (x, y) in zip(holes, back.T.tolist(), strict=True)
        ]
        pairs, _, extra = matched(places, square)
        off = [places[:, index] - (hole.x_mm, hole.y_mm) for index, hole in pairs]
        if not extra and np.abs(off).max() <= tolerance_mm:
            return turn_deg
    return None


def _turns_deg(places: Floats, made: Floats, tolerance_mm: float) -> list[float]:
    """Turns that bring the hole farthest from the zero to a place of the part, least first."""
    x, y = made[:2, np.argmax(np.hypot(made[0], made[1]))]
    away_mm = math.hypot(x, y)
    as_far = np.abs(np.hypot(places[0], places[1]) - away_mm) <= 2 * tolerance_mm
    turns = np.degrees(np.arctan2(y, x) - np.arctan2(places[1, as_far], places[0, as_far]))
    turns = (turns + 180.0) % 360.0 - 180.0
    is_turned = (np.radians(np.abs(turns)) * away_mm > tolerance_mm) & (
        np.abs(turns) <= MOST_TURN_DEG
    )
    return sorted(turns[is_turned].tolist(), key=abs)
