"""A hole as a cycle makes it: its heights, and the motions along its axis. Imports records."""

from __future__ import annotations

from typing import NamedTuple

from millprep.base.records import frozen


@frozen
class Hole:
    """What a cycle's line says, worked out: heights as readings [mm].

    clear_mm   : where the tool is left
    between_mm : where it retracts to between pecks: the clear level by NISTIR 6556, R on most
    """

    cycle: int
    retract_mm: float
    bottom_mm: float
    clear_mm: float
    between_mm: float
    peck_mm: float = 0.0
    dwell_s: float = 0.0


class Leg(NamedTuple):
    """One motion along the axis of a hole: where to, as a reading [mm].

    spindle : 1 as before the cycle, -1 reversed, 0 stopped
    """

    kind: int
    z_mm: float
    seconds: float = 0.0
    spindle: int = 1
