"""What holds a part on the table: straps, as many as do, or an angle plate; and how high it stands.

Pure functions; imports layers 0 to 2, `setups`, `holding` and `strap_places`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.base.records import replace
from millprep.model.part import ObstacleRequest, Part
from millprep.model.shop import Shop
from millprep.reference.shared_rules import BOLT_FROM_EDGE_MM
from millprep.setting.holding import LEAST_STRAPS, Holding, holding_of, size_along_mm
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.seating import ANGLE_PLATE, BELOW_TIP_MM, Place, Strap, Strapped
from millprep.setting.setups import Setup
from millprep.setting.strap_places import (
    Placed,
    Side,
    Tools,
    free_along,
    lays_of,
    placed,
    sides_of,
    strap_at,
)

PLATE_THICKNESS_MM = 10.0  # of the upright side of an angle plate (common practice)
FOUR_FROM_MM = 150.0  # a part so long is held by four, where there are four (common practice)
MOST_STRAPS = 4
_HAIR_MM = 1e-6


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
    under_mm = packing_mm if is_packed else 0.0
    ways = list(sides_of(shop, setup, is_disc=is_disc_on_end(part, setup)))
    if setup.request.straps_at_mm:
        return replace(base, straps=tuple(_asked(setup, ways[-1], under_mm)))
    for sides in ways:
        best = _best(shop, setup, sides, tools, is_packed=is_packed)
        if best is not None:
            straps = best.straps(under_mm, setup)
            has_slots = shop.table is not None and shop.table.slot_pitch_mm is not None
            bolts = sorted({one.bolt_mm[1] for one in straps}) if has_slots else ()
            return replace(base, straps=straps, slots_mm=tuple(bolts))
    return base


def _best(
    shop: Shop, setup: Setup, sides: Sequence[Side], tools: Tools, *, is_packed: bool
) -> Placed | None:
    """The straps of the first way that finds room, where most is gained by shifting the part."""
    for counts, facing, with_holders in _ways(shop, setup):
        both = [side for side in sides if side.axis == facing]
        free = {s.face: free_along(setup, s, tools, is_packed, with_holders) for s in both}
        found = (placed(lay, both, free, counts) for lay in lays_of(shop, setup))
        best = max(filter(None, found), key=lambda one: one.worth, default=None)
        if best is not None:
            return best
    return None


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


def _asked(setup: Setup, sides: Sequence[Side], packing_mm: float) -> Iterator[Strap]:
    """The straps of the part file, each over the edge that its toe is nearest to."""
    for number, place in enumerate(setup.request.straps_at_mm, 1):

        def inside_mm(side: Side, place: Place = place) -> float:
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
