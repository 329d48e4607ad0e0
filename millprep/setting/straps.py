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

from millprep.base.records import frozen, replace
from millprep.model.part import Face, ObstacleRequest, Part
from millprep.model.shop import Shop
from millprep.reference.shared_rules import (
    BOLT_FROM_EDGE_MM,
    HEEL_TIMES,
    MOST_BOLT_FROM_EDGE_MM,
    PACKING_UNDER_STRAP_MM,
    STRAP_END_MM,
    STRAP_HIGH_MM,
    STRAP_ON_WORK_MM,
    STRAP_WIDTH_MM,
    TOE_FROM_EDGE_MM,
)
from millprep.setting.holding import LEAST_STRAPS, Holding, faces_along, holding_of, size_along_mm
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.seating import BELOW_TIP_MM, CLEAR_OF_HOLE_MM, free_spans
from millprep.setting.setups import Setup
from millprep.setting.strapped import ANGLE_PLATE, Place, Strap, Strapped

PLATE_THICKNESS_MM = 10.0  # of the upright side of an angle plate (common practice)
CLEAR_OF_TOOL_MM = 2.0  # beside a tool that comes down (common practice)
FOUR_FROM_MM = 150.0  # a part so long is held by four, where there are four (common practice)
MOST_STRAPS = 4
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
class _Side:
    """A face that stands upright: the axis square to it, which way it looks, where it lies.

    along : what a strap's middle may be, along the face
    """

    face: Face
    axis: int
    outward: int
    edge_mm: float
    along: Span

    def beyond(self, out_mm: float, along_mm: float) -> Place:
        """A place so far outside the face, negative inside it."""
        square = self.edge_mm + self.outward * out_mm
        return (square, along_mm) if self.axis == 0 else (along_mm, square)


@frozen
class _Lay:
    """Where the table is under the part: its edges and slots along X and Y; None: nobody knows."""

    x: Span | None = None
    y: Span | None = None
    slots_mm: tuple[float, ...] | None = None


def held_by(part: Part, shop: Shop, setup: Setup, below_mm: float, tools: Tools) -> Holding:
    """What holds the part: what the file asks for, or the vice, or straps where it is too large.

    below_mm : how far tools come out of the underside; 0 for not at all
    """
    holding = holding_of(part, shop, setup, below_mm)
    is_asked = setup.request.hold in ("straps", "angle plate")
    is_clamped = bool(setup.request.backing_mm) and not is_asked
    if holding.way not in ("straps", "angle plate") or is_clamped:
        return holding
    if holding.way == "angle plate":
        packing_mm, is_low = _packing_mm(shop, setup, below_mm)
        stood = Strapped(packing_mm=packing_mm, is_packing_low=is_low)
        return Holding("angle plate", against=setup.away, strapped=stood)
    return Holding("straps", strapped=strapped_of(part, shop, setup, below_mm, tools))


def clamps_of(shop: Shop, setup: Setup, holding: Holding) -> tuple[ObstacleRequest, ...]:
    """What holds the part on the table and stands in a tool's way: straps, or an angle plate."""
    strapped, plate = holding.strapped, shop.holding.angle_plate
    if strapped is None:
        return ()
    if holding.against is None or plate is None:
        return tuple(strap.obstacle for strap in strapped.straps)
    table, face = setup.low_mm[2] - strapped.packing_mm, setup.high_mm[1]
    middle, half = (setup.low_mm[0] + setup.high_mm[0]) / 2, plate.width_mm / 2
    high = (middle + half, face + PLATE_THICKNESS_MM, table + plate.height_mm)
    return (ObstacleRequest(ANGLE_PLATE, (middle - half, face, table), high),)


def _packing_mm(shop: Shop, setup: Setup, below_mm: float) -> tuple[float, bool]:
    """How high the part stands over the table, and whether the shop has nothing so high."""
    request = setup.request
    if request.packing_mm is not None:
        return request.packing_mm, False
    if request.backing_mm or below_mm <= 0:
        return request.backing_mm, False
    needed_mm = below_mm + BELOW_TIP_MM
    high = [one for one in shop.holding.packing_mm if one >= needed_mm - _HAIR_MM]
    return (min(high), False) if high else (math.ceil(needed_mm), True)


def strapped_of(part: Part, shop: Shop, setup: Setup, below_mm: float, tools: Tools) -> Strapped:
    """The straps of the part file, or those that hold it best."""
    packing_mm, is_low = _packing_mm(shop, setup, below_mm)
    base = Strapped(packing_mm=packing_mm, is_packing_low=is_low)
    is_packed = packing_mm > 0 and not setup.request.backing_mm
    sides = _sides(part, setup)
    if setup.request.straps_at_mm:
        return replace(base, straps=tuple(_asked(setup, sides, packing_mm if is_packed else 0.0)))
    for counts, facing, with_holders in _ways(shop, setup):
        taken = {
            side.face: _free(setup, side, tools, is_packed, with_holders)
            for side in sides
            if side.axis == facing
        }
        both = [side for side in sides if side.axis == facing]
        best = max(
            (found for lay in _lays(shop, setup) if (found := _placed(lay, both, taken, counts))),
            key=lambda found: found.worth,
            default=None,
        )
        if best is not None:
            straps = best.straps(packing_mm if is_packed else 0.0, setup)
            has_slots = shop.table is not None and shop.table.slot_pitch_mm is not None
            bolts = sorted({one.bolt_mm[1] for one in straps}) if has_slots else ()
            return replace(base, straps=straps, slots_mm=tuple(bolts))
    return base


def _sides(part: Part, setup: Setup) -> list[_Side]:
    """The four sides; a disc is held over the middle of each."""
    sides = []
    for axis in (0, 1):
        low, high = setup.low_mm[1 - axis], setup.high_mm[1 - axis]
        middle, room = (low + high) / 2, (high - low - STRAP_WIDTH_MM) / 2
        half = _HAIR_MM if is_disc_on_end(part, setup) else max(room, _HAIR_MM)
        edges = ((-1, setup.low_mm[axis]), (1, setup.high_mm[axis]))
        for face, (outward, edge_mm) in zip(faces_along(setup, axis), edges, strict=True):
            sides.append(_Side(face, axis, outward, edge_mm, (middle - half, middle + half)))
    return sides


def _ways(shop: Shop, setup: Setup) -> Iterator[tuple[tuple[int, int], int, bool]]:
    """(straps on either side, axis square to the sides, whether they clear what holds tools too).

    Best first: clear of chucks, four on a large part, over the ends of the longer way.
    """
    sizes = [size_along_mm(setup, axis) for axis in (0, 1)]
    longer = 0 if sizes[0] >= sizes[1] else 1
    most = min(shop.holding.straps, MOST_STRAPS) if max(sizes) >= FOUR_FROM_MM else LEAST_STRAPS
    for with_holders in (True, False):
        for count in range(max(most, LEAST_STRAPS), LEAST_STRAPS - 1, -1):
            for facing in (longer, 1 - longer):
                yield (count // 2, count - count // 2), facing, with_holders


def _free(
    setup: Setup, side: _Side, tools: Tools, is_packed: bool, with_holders: bool
) -> list[Span]:
    """Where along a side the middle of a strap may stand."""
    square, along = (tools.x, tools.y) if side.axis == 0 else (tools.y, tools.x)
    inside = (side.edge_mm - square) * side.outward
    clear = tools.radius + CLEAR_OF_TOOL_MM
    if with_holders:
        is_low = tools.holder_z < STRAP_HIGH_MM
        clear = np.maximum(clear, np.where(is_low, tools.holder_radius, 0.0))
    rooms = [(inside - STRAP_ON_WORK_MM, clear)]
    if is_packed:
        is_through = tools.z < setup.low_mm[2] - _HAIR_MM
        reach = np.where(is_through, tools.radius + CLEAR_OF_HOLE_MM, 0.0)
        rooms.append((inside - PACKING_UNDER_STRAP_MM, reach))
    taken: list[Span] = []
    for gap, radius in rooms:
        beyond = np.maximum(gap, 0.0)
        is_near = beyond < radius
        half = STRAP_WIDTH_MM / 2 + np.sqrt(np.where(is_near, radius**2 - beyond**2, 0.0))
        low, high = (along - half)[is_near], (along + half)[is_near]
        taken += list(zip(low.tolist(), high.tolist(), strict=True))
    return free_spans(side.along, taken)


def _lays(shop: Shop, setup: Setup) -> Iterator[_Lay]:
    """The table under the part, shifted along Y millimetre by millimetre, up to half a pitch."""
    table = shop.table
    if table is None:
        yield _Lay()
        return
    (along_x, along_y), (low, high) = table.size_mm, (setup.low_mm, setup.high_mm)
    middle_x, middle_y = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
    x = (middle_x - along_x / 2, middle_x + along_x / 2)
    pitch, width = table.slot_pitch_mm, table.slot_width_mm or 0.0
    if pitch is None:
        yield _Lay(x, (middle_y - along_y / 2, middle_y + along_y / 2))
        return
    spare_mm = max(along_y - (high[1] - low[1]), 0.0) / 2  # the part stays on the table
    shifts = math.floor(min(pitch / 2, spare_mm))
    each_way = math.floor((along_y - width) / 2 / pitch)
    for shift in sorted(range(-shifts, shifts + 1), key=abs):
        at = middle_y + shift
        slots = tuple(at + pitch * number for number in range(-each_way, each_way + 1))
        yield _Lay(x, (at - along_y / 2, at + along_y / 2), slots)


@frozen
class _Placed:
    """Straps over two sides: (side, place along it, bolt outside the edge) each.

    worth : how far they stand from the middle of the part, or how near to it where there is one
    """

    places: tuple[tuple[_Side, float, float], ...]
    worth: float

    def straps(self, packing_mm: float, setup: Setup) -> tuple[Strap, ...]:
        return tuple(
            strap_at(f"strap {number}", setup, side, along, TOE_FROM_EDGE_MM, bolt_mm, packing_mm)
            for number, (side, along, bolt_mm) in enumerate(self.places, 1)
        )


def _placed(
    lay: _Lay, sides: Sequence[_Side], free: dict[Face, list[Span]], counts: tuple[int, int]
) -> _Placed | None:
    """The best places of that many straps on each of two sides, for one place of the table."""
    places, worth = [], math.inf
    for side, count in zip(sides, counts, strict=True):
        bolt_mm = _bolt_mm(lay, side)
        picked = () if bolt_mm is None else _picked(lay, side, free[side.face], count)
        if bolt_mm is None or not picked:
            return None
        middle = sum(side.along) / 2
        off = [abs(one - middle) for one in picked]
        worth = min(worth, min(off) if count > 1 else -max(off))
        places += [(side, one, bolt_mm) for one in picked]
    return _Placed(tuple(places), round(worth, 3))


def heel_mm(bolt_mm: float, toe_mm: float = TOE_FROM_EDGE_MM) -> float:
    """How far outside the edge the heel stands: farther from the bolt than the toe is."""
    return bolt_mm + HEEL_TIMES * (bolt_mm + toe_mm)


def _bolt_mm(lay: _Lay, side: _Side) -> float | None:
    """The least distance of a bolt outside the edge for which it and the heel are on the table."""
    bolts = [BOLT_FROM_EDGE_MM]
    if side.axis == 1 and lay.slots_mm is not None:
        bolts = sorted((slot - side.edge_mm) * side.outward for slot in lay.slots_mm)
    table = (lay.x, lay.y)[side.axis]
    for bolt in bolts:
        end = side.edge_mm + side.outward * (heel_mm(bolt) + STRAP_END_MM)
        is_on = table is None or table[0] - _HAIR_MM <= end <= table[1] + _HAIR_MM
        if BOLT_FROM_EDGE_MM - _HAIR_MM <= bolt <= MOST_BOLT_FROM_EDGE_MM and is_on:
            return bolt
    return None


def _picked(lay: _Lay, side: _Side, free: Sequence[Span], count: int) -> tuple[float, ...]:
    """The place nearest the middle, or the two farthest from it; () where there are none."""
    middle, table = sum(side.along) / 2, (lay.y, lay.x)[side.axis]
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
    name: str, setup: Setup, side: _Side, along: float, toe: float, bolt: float, packing_mm: float
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


def _box(side: _Side, along: Span, out: Span) -> tuple[Place, Place]:
    """The lower and the higher corner of what reaches so far along a side and out of it."""
    corners = [side.beyond(square, at) for square, at in zip(out, along, strict=True)]
    (x0, y0), (x1, y1) = corners
    return (min(x0, x1), min(y0, y1)), (max(x0, x1), max(y0, y1))


def _asked(setup: Setup, sides: Sequence[_Side], packing_mm: float) -> Iterator[Strap]:
    """The straps of the part file, each over the edge that its toe is nearest to."""
    for number, place in enumerate(setup.request.straps_at_mm, 1):

        def inside_mm(side: _Side, place: Place = place) -> float:
            return (side.edge_mm - place[side.axis]) * side.outward

        side = min(sides, key=lambda one: abs(inside_mm(one)))
        strap = strap_at(
            f"strap {number}",
            setup,
            side,
            place[1 - side.axis],
            inside_mm(side),
            BOLT_FROM_EDGE_MM,
            packing_mm,
        )
        yield replace(strap, line=setup.request.lines.get("straps"))
