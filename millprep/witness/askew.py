"""A program for a part that lies askew, undone: the same moves on the part lying square.

Imports the part and `reading`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from millprep.reading.moves import ProgramRun

Floats = NDArray[np.float64]


def squared(run: ProgramRun, skew_deg: float) -> ProgramRun:
    """The run with its X and Y turned back about the zero, clockwise for a positive skew.

    Machine coordinates stay as they are: travel is the machine's.
    """
    moves = replace(
        run.moves,
        start=_turned_back(run.moves.start, skew_deg),
        end=_turned_back(run.moves.end, skew_deg),
        centre=_turned_back(run.moves.centre, skew_deg),
    )
    return replace(run, moves=moves) if skew_deg else run


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
