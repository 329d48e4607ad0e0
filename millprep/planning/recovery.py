"""Two holes that give a lost zero back: far apart, and true.

Found again with a hole's centre off by e, a zero is off by about e, and turned by e over the
distance of the two; at the far end of the part that turn counts most. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations

import numpy as np

from millprep.planning.plan import Operation

LEAST_HOLE_MM = 3.0  # wide enough for a pin or an indicator (common practice)
FINISHED_OFF_MM = 0.01  # what a reamed or bored hole is found again to (common practice)
DRILLED_OFF_MM = 0.03  # a drilled one (common practice)
_DIRECTIONS = 32  # the farthest pair lies among the outermost holes, to 0.2 % of its length


def recovery_pair(
    operations: Sequence[Operation], reach_mm: float
) -> tuple[Operation, Operation] | None:
    """The two holes that restore a lost zero best; None where there are not two fit for it.

    reach_mm : how far the work reaches, where a turn about the holes counts
    """
    last = {one.hole.name: one for one in operations}.values()
    fit = [one for one in last if one.hole.thread is None and one.hole.diameter_mm >= LEAST_HOLE_MM]
    true = [one for one in fit if _off_mm(one) < DRILLED_OFF_MM]
    candidates = [*_outermost(true), *_outermost(fit)]
    pairs = [
        (cost, one, other)
        for one, other in combinations(candidates, 2)
        if (cost := pair_off_mm(one, other, reach_mm)) < float("inf")
    ]
    if not pairs:
        return None
    _, one, other = min(pairs, key=lambda pair: pair[0])
    return one, other


def pair_off_mm(one: Operation, other: Operation, reach_mm: float) -> float:
    """How far off the work may come with a zero restored from the two [mm]."""
    apart = math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
    if apart < LEAST_HOLE_MM:
        return float("inf")
    together = math.hypot(_off_mm(one), _off_mm(other))
    return together / 2 + together / apart * reach_mm


def _off_mm(operation: Operation) -> float:
    return FINISHED_OFF_MM if operation.hole.kind.is_true else DRILLED_OFF_MM


def _outermost(operations: Sequence[Operation]) -> list[Operation]:
    """The holes that lie farthest out in each of many directions, in their order."""
    if not operations:
        return []
    places = np.array([[one.x_mm for one in operations], [one.y_mm for one in operations]])
    angles = np.arange(_DIRECTIONS) * math.pi / _DIRECTIONS
    along = np.cos(angles)[:, None] * places[0] + np.sin(angles)[:, None] * places[1]
    ends = {*along.argmin(axis=1).tolist(), *along.argmax(axis=1).tolist()}
    return [operations[index] for index in sorted(ends)]
