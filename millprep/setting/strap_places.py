"""Where straps stand when a part is held on the table, clear of all that comes down.

A strap comes square over an edge. Along that edge a tool takes away what it, or what holds it,
would meet of the strap, and one that comes through what it would meet of the packing under it:

        |<- half ->|          half = width / 2 + sqrt(r^2 - gap^2), where gap is how far the axis of
     ...|          |...       the tool lies beyond the end of the strap, and r what has to be clear
    edge ==[strap]======
             | gap
             o               (x, y, r)

The straps stand on two sides that face each other, as many on one as on the other, as far apart as
that leaves them. Bolts of straps over the ends slide along the tee slots, so these straps stand
over slots; the part is shifted across the table until most is gained. Pure functions; imports
layers 0 to 2, `setups` and `holding`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.model.part import Face
from millprep.model.shop import Shop
from millprep.reference.shared_rules import (
    BOLT_FROM_EDGE_MM,
    HEEL_TIMES,
    MOST_BESIDE_MIDDLE_MM,
    MOST_BOLT_FROM_EDGE_MM,
    PACKING_UNDER_STRAP_MM,
    STRAP_END_MM,
    STRAP_HIGH_MM,
    STRAP_ON_WORK_MM,
    STRAP_WIDTH_MM,
    TOE_FROM_EDGE_MM,
)
from millprep.setting.holding import faces_along
from millprep.setting.seating import CLEAR_OF_HOLE_MM, Place, Strap, free_spans
from millprep.setting.setups import Setup
from millprep.setting.zeroing import FINDER_ROOM_MM

CLEAR_OF_TOOL_MM = 2.0  # beside a tool that comes down (common practice)
_BETWEEN_MM = 5.0  # two straps side by side, for the spanner
_HAIR_MM = 1e-6
Floats = NDArray[np.float64]
Span = tuple[float, float]


@frozen
class Tools:
    """Every tool of a setup, (N,) each: where it comes down, its radius, where it ends [mm].

    holder_radius, holder_z : of the chuck or holder above it; `inf` for one that ends out of reach
    """

    x: Floats
    y: Floats
    radius: Floats
    z: Floats
    holder_radius: Floats
    holder_z: Floats


@frozen
class Side:
    """A face that stands upright: the axis square to it, which way it looks, where it lies.

    middle_mm, along : its middle along the face, and where the middle of a strap may be
    toe_mm : inside the face, where a strap presses
    """

    face: Face
    axis: int
    outward: int
    edge_mm: float
    middle_mm: float
    along: tuple[Span, ...]
    toe_mm: float = TOE_FROM_EDGE_MM

    @property
    def inside_mm(self) -> float:
        """How far in a strap reaches."""
        return self.toe_mm + STRAP_ON_WORK_MM - TOE_FROM_EDGE_MM

    def beyond(self, out_mm: float, along_mm: float) -> Place:
        """A place so far outside the face, negative inside it."""
        square = self.edge_mm + self.outward * out_mm
        return (square, along_mm) if self.axis == 0 else (along_mm, square)


@frozen
class Lay:
    """Where the table is under the part: its edges and slots along X and Y; None: nobody knows."""

    x: Span | None = None
    y: Span | None = None
    slots_mm: tuple[float, ...] | None = None


def sides_of(shop: Shop, setup: Setup, *, is_disc: bool) -> Iterator[tuple[Side, ...]]:
    """The four sides; of a disc first with its straps beside the middle of each.

    There the finder touches it, and there its rim is clocked. Straps over a rim reach farther in,
    so that the whole of each presses.
    """
    size_mm = setup.high_mm[0] - setup.low_mm[0]
    finder_mm = (STRAP_WIDTH_MM + shop.finder.diameter_mm + FINDER_ROOM_MM) / 2
    beside_mm = (finder_mm, min(MOST_BESIDE_MIDDLE_MM, size_mm / 4))
    if is_disc and beside_mm[0] <= beside_mm[1]:
        yield _sides(setup, beside_mm, rounding_mm(size_mm, beside_mm[1]))
    yield _sides(setup, None, rounding_mm(size_mm, 0.0) if is_disc else None)


def rounding_mm(diameter_mm: float, beside_mm: float) -> float:
    """How far a rim falls back under a strap so far beside the middle."""
    radius, corner = diameter_mm / 2, min(beside_mm + STRAP_WIDTH_MM / 2, diameter_mm / 2)
    return radius - math.sqrt(radius**2 - corner**2)


def _sides(setup: Setup, beside_mm: Span | None, round_mm: float | None) -> tuple[Side, ...]:
    sides = []
    for axis in (0, 1):
        low, high = setup.low_mm[1 - axis], setup.high_mm[1 - axis]
        middle, half = (low + high) / 2, max((high - low - STRAP_WIDTH_MM) / 2, _HAIR_MM)
        along: tuple[Span, ...] = ((middle - half, middle + half),)
        if round_mm is not None:
            near, far = beside_mm or (0.0, _HAIR_MM)
            along = ((middle - far, middle - near), (middle + near, middle + far))
        edges = ((-1, setup.low_mm[axis]), (1, setup.high_mm[axis]))
        for face, (outward, edge_mm) in zip(faces_along(setup, axis), edges, strict=True):
            toe_mm = TOE_FROM_EDGE_MM + (round_mm or 0.0)
            sides.append(Side(face, axis, outward, edge_mm, middle, along, toe_mm))
    return tuple(sides)


def free_along(
    setup: Setup, side: Side, tools: Tools, is_packed: bool, with_holders: bool
) -> list[Span]:
    """Where along a side the middle of a strap may stand."""
    square, along = (tools.x, tools.y) if side.axis == 0 else (tools.y, tools.x)
    inside = (side.edge_mm - square) * side.outward
    clear = tools.radius + CLEAR_OF_TOOL_MM
    if with_holders:
        is_low = tools.holder_z < STRAP_HIGH_MM
        clear = np.maximum(clear, np.where(is_low, tools.holder_radius, 0.0))
    rooms = [(inside - side.inside_mm, clear)]
    if is_packed:
        is_through = tools.z < setup.low_mm[2] - _HAIR_MM
        reach = np.where(is_through, tools.radius + CLEAR_OF_HOLE_MM, 0.0)
        rooms.append((inside - max(side.inside_mm, PACKING_UNDER_STRAP_MM), reach))
    taken: list[Span] = []
    for gap, radius in rooms:
        beyond = np.maximum(gap, 0.0)
        is_near = beyond < radius
        half = STRAP_WIDTH_MM / 2 + np.sqrt(np.where(is_near, radius**2 - beyond**2, 0.0))
        low, high = (along - half)[is_near], (along + half)[is_near]
        taken += list(zip(low.tolist(), high.tolist(), strict=True))
    return [span for along in side.along for span in free_spans(along, taken)]


def lays_of(shop: Shop, setup: Setup) -> Iterator[Lay]:
    """The table under the part, shifted along Y millimetre by millimetre, up to half a pitch."""
    table = shop.table
    if table is None:
        yield Lay()
        return
    (along_x, along_y), (low, high) = table.size_mm, (setup.low_mm, setup.high_mm)
    middle_x, middle_y = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
    x = (middle_x - along_x / 2, middle_x + along_x / 2)
    pitch, width = table.slot_pitch_mm, table.slot_width_mm or 0.0
    if pitch is None:
        yield Lay(x, (middle_y - along_y / 2, middle_y + along_y / 2))
        return
    spare_mm = max(along_y - (high[1] - low[1]), 0.0) / 2  # the part stays on the table
    shifts = math.floor(min(pitch / 2, spare_mm))
    each_way = math.floor((along_y - width) / 2 / pitch)
    for shift in sorted(range(-shifts, shifts + 1), key=abs):
        at = middle_y + shift
        slots = tuple(at + pitch * number for number in range(-each_way, each_way + 1))
        yield Lay(x, (at - along_y / 2, at + along_y / 2), slots)


@frozen
class Placed:
    """Straps over two sides: (side, place along it, bolt outside the edge) each.

    worth : how far they stand from the middle of the part, or how near to it where there is one
    """

    places: tuple[tuple[Side, float, float], ...]
    worth: float

    def straps(self, packing_mm: float, setup: Setup) -> tuple[Strap, ...]:
        return tuple(
            strap_at(f"strap {number}", setup, side, along, side.toe_mm, bolt_mm, packing_mm)
            for number, (side, along, bolt_mm) in enumerate(self.places, 1)
        )


def placed(
    lay: Lay, sides: Sequence[Side], free: dict[Face, list[Span]], counts: tuple[int, int]
) -> Placed | None:
    """The best places of that many straps on each of two sides, for one place of the table."""
    places, worth = [], math.inf
    for side, count in zip(sides, counts, strict=True):
        bolt_mm = _bolt_mm(lay, side)
        picked = () if bolt_mm is None else _picked(lay, side, free[side.face], count)
        if bolt_mm is None or not picked:
            return None
        off = [abs(one - side.middle_mm) for one in picked]
        worth = min(worth, min(off) if count > 1 else -max(off))
        places += [(side, one, bolt_mm) for one in picked]
    return Placed(tuple(places), round(worth, 3))


def heel_mm(bolt_mm: float, toe_mm: float) -> float:
    """How far outside the edge the heel stands: farther from the bolt than the toe is."""
    return bolt_mm + HEEL_TIMES * (bolt_mm + toe_mm)


def _bolt_mm(lay: Lay, side: Side) -> float | None:
    """The least distance of a bolt outside the edge for which it and the heel are on the table."""
    bolts = [BOLT_FROM_EDGE_MM]
    if side.axis == 1 and lay.slots_mm is not None:
        bolts = sorted((slot - side.edge_mm) * side.outward for slot in lay.slots_mm)
    table = (lay.x, lay.y)[side.axis]
    for bolt in bolts:
        end = side.edge_mm + side.outward * (heel_mm(bolt, side.toe_mm) + STRAP_END_MM)
        is_on = table is None or table[0] - _HAIR_MM <= end <= table[1] + _HAIR_MM
        if BOLT_FROM_EDGE_MM - _HAIR_MM <= bolt <= MOST_BOLT_FROM_EDGE_MM and is_on:
            return bolt
    return None


def _picked(lay: Lay, side: Side, free: Sequence[Span], count: int) -> tuple[float, ...]:
    """The place nearest the middle, or the two farthest from it; () where there are none."""
    middle, table = side.middle_mm, (lay.y, lay.x)[side.axis]
    if side.axis == 0 and lay.slots_mm is not None:
        spots = [at for at in lay.slots_mm for a, b in free if a <= at <= b]
    else:
        spots = [min(max(middle, a), b) for a, b in free]
        spots += [end for span in free for end in span]
    half = STRAP_WIDTH_MM / 2 - _HAIR_MM
    low, high = (-math.inf, math.inf) if table is None else table
    spots = [at for at in spots if low <= at - half and at + half <= high]
    if not spots:
        return ()
    if count == 1:
        return (min(spots, key=lambda at: abs(at - middle)),)
    first, last = min(spots), max(spots)
    is_apart = last - first >= STRAP_WIDTH_MM + _BETWEEN_MM and first < middle < last
    return (first, last) if is_apart else ()


def strap_at(
    name: str, setup: Setup, side: Side, along: float, toe: float, bolt: float, packing_mm: float
) -> Strap:
    """A strap over an edge, its toe and its bolt so far inside and outside of it."""
    half, inside = STRAP_WIDTH_MM / 2, toe + STRAP_ON_WORK_MM - TOE_FROM_EDGE_MM
    heel = heel_mm(bolt, toe)
    low, high = _box(side, (along - half, along + half), (-inside, heel + STRAP_END_MM))
    packing = None
    if packing_mm > 0:
        under = max(inside, PACKING_UNDER_STRAP_MM)
        near, far = _box(
            side, (along - half, along + half), (-under, PACKING_UNDER_STRAP_MM - under)
        )
        z = setup.low_mm[2]
        packing = (*near, z - packing_mm), (*far, z)
    return Strap(
        name,
        side.face,
        side.beyond(-toe, along),
        side.beyond(bolt, along),
        side.beyond(heel, along),
        (*low, 0.0),
        (*high, STRAP_HIGH_MM),
        packing,
    )


def _box(side: Side, along: Span, out: Span) -> tuple[Place, Place]:
    """The lower and the higher corner of what reaches so far along a side and out of it."""
    corners = [side.beyond(square, at) for square, at in zip(out, along, strict=True)]
    (x0, y0), (x1, y1) = corners
    return (min(x0, x1), min(y0, y1)), (max(x0, x1), max(y0, y1))
