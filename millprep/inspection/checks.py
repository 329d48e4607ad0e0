"""One thing to measure, or to try: what, where, with what, the reading to expect and its limits.

    over pins     M = C + (d1 + d2) / 2      between pins   M = C - (d1 + d2) / 2
    edge to pin   M = E + d / 2              rim to pin     M = R - r + d / 2
    edge to hole  M = E - D / 2              rim to hole    M = R - r - D / 2     (the wall left)

C from centre to centre, E from the edge to the centre, R and r from the disc's middle to its rim
and to the centre; M over the pins, or to the far side of the pin. Source: plain geometry, and from
memory of Machinery's Handbook, checking the distances of holes by plugs. Imports layers 0 to 3.
"""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.inspection.gauges import COARSE_SHARE, InstrumentName, Pin
from millprep.inspection.limits import Basis, Limits
from millprep.model.part import Face
from millprep.model.readings import PLACE_KINDS, WALL_KINDS, CheckKind

NO_GO_TURNS = 2.0
"""A thread's no-go gauge may go in this far. Source: from memory of ISO 1502, use of gauges."""
_SAME_MM = 1e-9


@frozen
class Check:
    """A row of the inspection sheet.

    number      : from 1, the same on every form of the sheet
    setup, face : where it is measured
    hole, to    : the hole, and the other hole or the face that it is measured from
    pins        : in the hole and in the other one; of a wall the hole itself
    expected_mm : the reading of a part made exactly to the drawing; None where it is tried
    limits      : of the reading; of yes or no none
    uncertainty_mm : how far the reading may be off, shake of the pins included
    takes_mean  : read with the pins pushed one way and the other; the mean counts
    turns       : of a thread gauge
    """

    number: int
    setup: int
    face: Face
    kind: CheckKind
    hole: str
    to: str = ""
    pins: tuple[Pin, ...] = ()
    expected_mm: float | None = None
    limits: Limits | None = None
    instrument: InstrumentName = "calliper"
    uncertainty_mm: float = 0.0
    takes_mean: bool = False
    turns: float | None = None
    note: str = ""

    @property
    def basis(self) -> Basis:
        return self.limits.basis if self.limits is not None else "drawing"

    @property
    def is_coarse(self) -> bool:
        """Whether the reading leaves more than a quarter of the tolerance open."""
        width = self.limits.width_mm if self.limits is not None else None
        return width is not None and self.uncertainty_mm > COARSE_SHARE * width + _SAME_MM

    @property
    def is_place(self) -> bool:
        return self.kind in PLACE_KINDS


def pins_sum_mm(kind: CheckKind, diameters_mm: tuple[float, ...]) -> float:
    """What the pins add to the distance of the centres in a reading [mm]."""
    half = sum(diameters_mm) / 2
    return -half if kind == "between pins" or kind in WALL_KINDS else half


def reading_mm(kind: CheckKind, distance_mm: float, diameters_mm: tuple[float, ...]) -> float:
    """The reading for a distance of centres, or of centre and edge or rim."""
    return distance_mm + pins_sum_mm(kind, diameters_mm)


def distance_mm(kind: CheckKind, read_mm: float, diameters_mm: tuple[float, ...]) -> float:
    """The distance of centres that a reading tells: the inverse of `reading_mm`."""
    return read_mm - pins_sum_mm(kind, diameters_mm)
