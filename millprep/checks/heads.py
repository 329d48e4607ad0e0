"""Whether screw heads, washers and spanners find room: over edges, mouths and other heads.

Rules of one hole or one pair, like those of `faults`. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, Severity, warning
from millprep.base.records import replace
from millprep.checks.faults import SLACK_MM, apart_mm, found
from millprep.checks.seats import SEAT_GAP_MM, Seat, seat_of
from millprep.checks.solids import Placed
from millprep.model.part import OPPOSITE, Face, Part
from millprep.planning.sides import sides_of

_OVER_EDGE = warning(
    "head-fouls", "hole {0}: {what} ({wide_mm}) would overhang {about} by {lacking_mm}"
)
_OVER_MOUTH = replace(
    _OVER_EDGE, said="hole {0}: {what} ({wide_mm}) would overhang {1} by {lacking_mm}"
)
_TOO_NEAR = replace(
    _OVER_EDGE,
    said="holes {0} and {1} are {apart_mm:bare} apart: no room for {what}, needs {least_mm}",
)


def head_on_face(part: Part, placed: Placed) -> Iterator[Finding]:
    """A head, or at least its washer, does not stand over an edge of its face."""
    hole, seat = placed.hole, seat_of(placed.hole)
    if seat is None:
        return
    for edge, distance in sides_of(part.stock, hole, seat.face):
        for severity, what, wide in _circles(seat):
            over = wide / 2 - distance
            if over > SLACK_MM:
                said = replace(_OVER_EDGE, severity=severity)
                yield found(said, over, edge, hole, what=what, wide_mm=wide)
                break


def heads(one: Placed, other: Placed) -> Iterator[Finding]:
    """Two heads keep clear of each other, and no head stands over another hole's mouth."""
    seats = [(placed, seat_of(placed.hole)) for placed in (one, other)]
    (_, first), (_, second) = seats
    if first is not None and second is not None and first.face == second.face:
        yield from _head_beside_head(one, first, other, second)
    else:
        for (placed, seat), beside in zip(seats, (other, one), strict=True):
            if seat is not None:
                yield from _head_beside_mouth(placed, seat, beside)


def _circles(seat: Seat) -> Iterator[tuple[Severity, str, float]]:
    """(severity, in words, width) of what stands there, the most needed first."""
    yield "warning", f"a socket head on {seat.screw}", seat.head_mm
    if seat.washer_mm is not None:
        yield "note", f"a washer for {seat.screw}", seat.washer_mm


def _beside(first: Seat, second: Seat) -> Iterator[tuple[Severity, str, float]]:
    """(severity, in words, least distance of the screws) for two heads on one face."""
    yield "warning", "socket heads", (first.head_mm + second.head_mm) / 2 + SEAT_GAP_MM
    if first.washer_mm is not None and second.washer_mm is not None:
        yield "note", "washers", (first.washer_mm + second.washer_mm) / 2
    circles = [
        (one.spanner_mm + other.corners_mm) / 2
        for one, other in ((first, second), (second, first))
        if one.spanner_mm is not None and other.corners_mm is not None
    ]
    if circles:
        yield "note", "a socket spanner on hexagon heads", max(circles)


def _head_beside_head(one: Placed, first: Seat, other: Placed, second: Seat) -> Iterator[Finding]:
    apart = apart_mm(first.face, one, other)
    for severity, what, least in _beside(first, second):
        if SLACK_MM < apart < least - SLACK_MM:
            said, holes = replace(_TOO_NEAR, severity=severity), (one.hole, other.hole)
            yield found(
                said, least - apart, "heads", *holes, what=what, apart_mm=apart, least_mm=least
            )
            return


def _head_beside_mouth(placed: Placed, seat: Seat, other: Placed) -> Iterator[Finding]:
    open_mm = _open_mm(other, seat.face)
    apart = apart_mm(seat.face, placed, other)
    if not open_mm or apart <= SLACK_MM:
        return
    for severity, what, wide in _circles(seat):
        over = (wide + open_mm) / 2 - apart
        if over > SLACK_MM:
            said, holes = replace(_OVER_MOUTH, severity=severity), (placed.hole, other.hole)
            yield found(said, over, "mouth", *holes, what=what, wide_mm=wide)
            return


def _open_mm(placed: Placed, face: Face) -> float:
    """Width of the hole's mouth on a face; 0 where it does not open there."""
    hole = placed.hole
    mouth = hole.mouth if face == hole.face else hole.far
    if face != hole.face and not (hole.is_through and face == OPPOSITE[hole.face]):
        return 0.0
    widths = [hole.diameter_mm]
    widths += [cut.diameter_mm for cut in (mouth.counterbore, mouth.spotface) if cut is not None]
    if mouth.countersink is not None:
        widths.append(mouth.countersink.diameter_mm)
    if face == hole.face:
        widths += [opened.diameter_mm for opened in hole.opened]
    return max(widths)
