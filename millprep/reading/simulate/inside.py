"""Which moves are made with the tool in the hole that it works on.

              |     |   R
        ______|_____|______ mouth: below it the tool touches the hole
              |  T  |
              |_____|       what begins or ends here is made in the hole

Imports `dry_run` and `path`.
"""

from __future__ import annotations

import numpy as np

from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.path import Flags, Path
from millprep.reference.shared_rules import TOUCH_MM


def moves_inside(dry: DryRun, cuts: Flags) -> Flags:
    """(N,) upright moves and dwells of a tool in the hole that it cuts, cuts themselves included.

    Where no stock is known nobody knows the mouth: only what is done at a hole's bottom counts.
    """
    path, strokes = dry.path, dry.strokes
    bottom = np.where(np.isfinite(strokes.low), strokes.low + 2 * TOUCH_MM, np.nan)
    mouth = path.of_stroke(np.where(np.isinf(strokes.solid), bottom, strokes.solid))
    is_low = np.fmin(path.start[2], path.end[2]) < mouth - TOUCH_MM
    return np.asarray(with_strokes(path, cuts) & (is_low | cuts))


def goes(path: Path) -> Flags:
    """(N,) whether a move changes the height; a way to where nobody knows does."""
    return np.asarray(~(np.abs(path.end[2] - path.start[2]) < TOUCH_MM))


def with_strokes(path: Path, rows: Flags) -> Flags:
    """(N,) every move of a stroke that holds one of `rows`."""
    has_one = np.zeros(path.first.size + 1, dtype=bool)
    has_one[path.stroke[rows]] = True
    has_one[-1] = False  # moves of no stroke
    return has_one[path.stroke]
