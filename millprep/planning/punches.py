"""Which transfer punch goes through a hole. Imports layers 0 to 2."""

from __future__ import annotations

from collections.abc import Sequence

LOOSE_MM = 0.1  # a punch is 0.05 to 0.1 under its hole (common practice)
_GOES_IN_MM = 1e-6


def punch_for(hole_mm: float, punches_mm: Sequence[float]) -> float | None:
    """The largest that goes in; None where none is so small."""
    fitting = [one for one in punches_mm if one <= hole_mm + _GOES_IN_MM]
    return max(fitting, default=None)
