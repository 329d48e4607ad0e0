"""Where screw heads stand on a part, and how much room head, washer and spanner take there.

A part file says where a screw passes (`clear`) and which heads are sunk, but not what head stands
on a face. The smallest is assumed, a socket head, on the face that the hole is drilled from or the
one that is spotfaced; whether a washer or a hexagon head would go as well is a note. Layers 0 to 2.
"""

from __future__ import annotations

from functools import lru_cache

from millprep.base.records import frozen
from millprep.model.part import OPPOSITE, Face, Hole, Mouth
from millprep.reference.heads import head_for, washer_for
from millprep.sizes import screw_threads

SEAT_GAP_MM = 0.5  # between heads, so that both go in (common practice)
_SPANNER_TIMES = 1.4  # outside of a socket spanner, in widths across flats (common practice)


@frozen
class Seat:
    """A head that stands on a face: widths as circles round its hole.

    face : where; head_mm : of a socket head on that screw
    washer_mm : of its plain washer; corners_mm, spanner_mm : of a hexagon head and of a socket
                spanner on it; None where no table has them
    """

    face: Face
    screw: str
    head_mm: float
    washer_mm: float | None
    corners_mm: float | None
    spanner_mm: float | None

    @property
    def widest_mm(self) -> float:
        return max(self.head_mm, self.washer_mm or 0.0, self.spanner_mm or 0.0)


def seat_of(hole: Hole) -> Seat | None:
    """Where the head of this hole's screw stands; None without a screw, and where it is sunk."""
    if not hole.screw or hole.opened or _sinks(hole.mouth) or _sinks(hole.far):
        return None
    is_far = hole.far.spotface is not None and hole.mouth.spotface is None
    return _seat(OPPOSITE[hole.face] if is_far else hole.face, hole.screw)


def _sinks(mouth: Mouth) -> bool:
    return mouth.counterbore is not None or mouth.countersink is not None


@lru_cache(maxsize=256)
def _seat(face: Face, screw: str) -> Seat | None:
    threads = screw_threads(screw.lower())
    head = next(filter(None, (head_for(thread, "socket head") for thread in threads)), None)
    if head is None:
        return None
    hexagon = next(filter(None, (head_for(thread, "hexagon head") for thread in threads)), None)
    washer = next(filter(None, (washer_for(thread) for thread in threads)), None)
    flats_mm = hexagon.across_flats_mm if hexagon is not None else None
    return Seat(
        face,
        screw,
        head.head_diameter_mm,
        washer.outside_mm if washer is not None else None,
        hexagon.head_diameter_mm if hexagon is not None else None,
        flats_mm * _SPANNER_TIMES if flats_mm is not None else None,
    )
