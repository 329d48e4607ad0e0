"""Where a tapped hole opens into a bore of the part, by the witness's own geometry.

The bore is a circle seen along its axis; the tool comes down beside that axis. Imports the part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.witness.faces import AXIS


@frozen
class RunOut:
    """Depths from the hole's face [mm]: the thread ends at the first, nothing goes to the other."""

    near_mm: float
    far_mm: float


def run_out(hole: Hole, holes: Sequence[Hole]) -> RunOut | None:
    """Of a blind thread that ends inside a bore which the part names; None for any other hole."""
    if hole.thread is None or hole.is_through or hole.from_both_ends:
        return None
    for bore in holes:
        is_named = hole.goes_into == bore.name or {bore.name, bore.group} & {*hole.meets}
        found = _crossed(hole, bore) if is_named else None
        if found and (hole.goes_into == bore.name or found.near_mm <= hole.depth_mm < found.far_mm):
            return found
    return None


def _crossed(hole: Hole, bore: Hole) -> RunOut | None:
    own, other = AXIS[hole.face], AXIS[bore.face]
    apart = [abs(one - two) for one, two in zip(hole.centre_mm, bore.centre_mm, strict=True)]
    if own == other or apart[other] + hole.diameter_mm / 2 > bore.depth_mm + 1e-6:
        return None
    (beside,) = (apart[axis] for axis in range(3) if axis not in (own, other))
    inside = (bore.diameter_mm / 2) ** 2 - beside**2
    if inside <= 0:
        return None
    chord = math.sqrt(inside)
    return RunOut(apart[own] - chord, apart[own] + chord)
