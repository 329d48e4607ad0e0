"""What a part stands on: parallels that no drill meets, packing; on the table, under straps.

Parallels are two strips along the jaws under the part:

      fixed jaw  ==========================
      strip      ------------------------      the strips stand where no hole comes through,
                    o      o        o          as far apart as the holes leave them, the middle
      strip      ------------------------      of the part between them
      moving jaw ==========================

On the table, with the bolt nearer the work than the heel, which is level with the work or a shade
higher, and packing right under the toe:

         nut
          |     strap
    ======|====================
   | heel |        |__ work ____
   |      |        | packing
   -------+----------------------- table, the bolt in a tee slot

Pure functions; imports layers 0 to 2 and `setups`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import product

import numpy as np

from millprep.base.records import frozen, replace
from millprep.model.part import Face, Hole, ObstacleRequest, Part, Point
from millprep.model.shop import Shop
from millprep.model.workholding import Parallels
from millprep.setting.setups import PROUD_MM, Setup

CLEAR_OF_HOLE_MM = 1.0  # between the edge of a through hole and a parallel (common practice)
BELOW_TIP_MM = 2.0  # under the point of a drill that has come through (common practice)
LEAST_RING_MM = 3.0  # from its bore to its outside (common practice)
SEAT_SHARE = 0.8  # of a disc's radius, within which a strip bears on a good length of it
Span = tuple[float, float]


@frozen
class Strips:
    """Two parallels: `at_mm` is the low edge of each along the axis that the jaws close along.

    packing_mm : what lies under the parallels
    """

    thickness_mm: float
    height_mm: float | None
    at_mm: tuple[float, ...]
    packing_mm: float = 0.0

    @property
    def under_part_mm(self) -> float | None:
        """How high the part stands on them."""
        return None if self.height_mm is None else self.height_mm + self.packing_mm


@frozen
class Ring:
    """A ring under a disc on its end: it lies between two diameters, and is so high or higher."""

    inside_mm: float
    outside_mm: float
    high_mm: float


def needed_below_mm(below_mm: float) -> float:
    """Room under the part for tools that come `below_mm` out of it."""
    return below_mm + BELOW_TIP_MM if below_mm > 0 else 0.0


def asked_strips(setup: Setup) -> Strips | None:
    """Those that the part file places."""
    request = setup.request
    if request.parallel_thickness_mm is None or not request.parallels_at_mm:
        return None
    return Strips(
        request.parallel_thickness_mm, request.parallel_height_mm, request.parallels_at_mm
    )


def strips_in_vice(
    part: Part, shop: Shop, setup: Setup, axis: int, below_mm: float
) -> Strips | None:
    """The tallest that leave the jaws their grip and the drills their room.

    Where the part would not stand proud of the jaws on them alone, they stand on packing.
    """
    free, pairs = _free(part, setup, axis), list(_of_file(shop, setup))
    middle_mm = (setup.low_mm[axis] + setup.high_mm[axis]) / 2
    room_mm = shop.vice.jaw_height_mm - setup.grip_mm
    best: Strips | None = None
    for under in ((0.0,), shop.holding.packing_mm):
        for strips in sorted(
            _piled(pairs, under), key=lambda one: (-_tall_mm(one), one.packing_mm)
        ):
            fits = needed_below_mm(below_mm) - 1e-9 <= _tall_mm(strips) <= room_mm + 1e-9
            at_mm = widest_apart(free, strips.thickness_mm, middle_mm) if fits else None
            if at_mm is not None and (best is None or _tall_mm(strips) > _tall_mm(best)):
                best = replace(strips, at_mm=at_mm)
        proud_mm = setup.height_mm - shop.vice.jaw_height_mm
        if best is not None and proud_mm + _tall_mm(best) >= PROUD_MM - 1e-9:
            return best
    return best


def ring_in_chuck(part: Part, setup: Setup, below_mm: float) -> Ring | None:
    """Where a ring stands clear of what comes through, the widest such place; None without room."""
    middle = np.array([(setup.low_mm[axis] + setup.high_mm[axis]) / 2 for axis in (0, 1)])
    radius_mm = (setup.high_mm[0] - setup.low_mm[0]) / 2
    taken = [(0.0, (part.stock.bore_mm or 0.0) / 2)]
    for hole in part.holes:
        if comes_through(hole, setup):
            x, y, _ = setup.from_part(np.array([hole.centre_mm]).T).ravel()
            away = float(np.hypot(x - middle[0], y - middle[1]))
            room = hole.diameter_mm / 2 + CLEAR_OF_HOLE_MM
            taken.append((away - room, away + room))
    spans = [span for span in free_spans((0.0, radius_mm), taken) if span[1] >= radius_mm / 2]
    inside, outside = max(spans, key=lambda span: span[1] - span[0], default=(0.0, 0.0))
    if outside - inside < LEAST_RING_MM:
        return None
    high_mm = math.ceil(needed_below_mm(below_mm) * 2) / 2
    return Ring(2 * inside, 2 * outside, high_mm)


def _piled(pairs: Iterable[Parallels], under: Iterable[float]) -> Iterator[Strips]:
    for pair, packing_mm in product(pairs, under):
        yield Strips(pair.thickness_mm, pair.height_mm, (), packing_mm)


def _tall_mm(strips: Strips) -> float:
    return strips.under_part_mm or 0.0


def strips_in_chuck(part: Part, shop: Shop, setup: Setup, below_mm: float) -> Strips | None:
    """The lowest that keep drills off the steps of the jaws and off the chuck, along X."""
    free, middle_mm = _free(part, setup, 1), (setup.low_mm[1] + setup.high_mm[1]) / 2
    for pair in sorted(shop.parallels, key=lambda one: (one.height_mm, -one.thickness_mm)):
        at_mm = widest_apart(free, pair.thickness_mm, middle_mm)
        if pair.height_mm >= needed_below_mm(below_mm) - 1e-9 and at_mm is not None:
            return Strips(pair.thickness_mm, pair.height_mm, at_mm)
    return None


def _free(part: Part, setup: Setup, axis: int) -> list[Span]:
    """Where strips may stand under the part; a disc on its end is too short near its rim."""
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    if part.stock.axis is not None:
        edge = (high - low) / 2 * (1 - SEAT_SHARE)
        low, high = low + edge, high - edge
    return free_spans((low, high), exits_along(part, setup, axis))


def _of_file(shop: Shop, setup: Setup) -> Iterator[Parallels]:
    """Those of the part file, where it names a size but no places; else the shop's."""
    thickness_mm = setup.request.parallel_thickness_mm
    height_mm = setup.request.parallel_height_mm
    if thickness_mm is not None and height_mm is not None:
        yield Parallels(thickness_mm, height_mm)
    else:
        yield from shop.parallels


def comes_through(hole: Hole, setup: Setup) -> bool:
    """Whether a tool may come out of the underside at this hole in this setup."""
    if hole.from_both_ends:  # drilled half way, reamed or tapped all the way in one of its setups
        return setup.works(hole) and not hole.kind.is_as_drilled
    return hole.is_through and hole.face == setup.face and setup.works(hole)


def exits_along(part: Part, setup: Setup, axis: int) -> list[Span]:
    """What no parallel may stand under, along the axis that the jaws close along."""
    through = [hole for hole in part.holes if comes_through(hole, setup)]
    if not through:
        return []
    places = setup.from_part(np.array([hole.centre_mm for hole in through]).T)[axis]
    rooms = np.array([hole.diameter_mm / 2 + CLEAR_OF_HOLE_MM for hole in through])
    return list(zip((places - rooms).tolist(), (places + rooms).tolist(), strict=True))


def free_spans(across: Span, taken: Iterable[Span]) -> list[Span]:
    """What the spans that are taken leave of the width, in ascending order."""
    free = []
    start, end = across
    for low, high in sorted(taken):
        if low > start:
            free.append((start, min(low, end)))
        start = max(start, high)
    if start < end:
        free.append((start, end))
    return free


def widest_apart(
    free: Sequence[Span], thickness_mm: float, middle_mm: float
) -> tuple[float, float] | None:
    """Low edges of the two strips that stand farthest apart in the free spans, or None.

    None as well where both would stand on one side of the middle: the part would tip.
    """
    roomy = [(low, high) for low, high in free if high - low >= thickness_mm - 1e-9]
    if not roomy:
        return None
    first, last = roomy[0][0], roomy[-1][1] - thickness_mm
    if first + thickness_mm > last + 1e-9 or not first < middle_mm < last + thickness_mm:
        return None
    return first, last


ANGLE_PLATE = "the angle plate"
Place = tuple[float, float]


@frozen
class Strap:
    """One strap clamp over an edge of the part; its line in the file, where the file places it.

    side             : the face over whose upper edge it comes
    toe_mm           : X and Y where it presses; bolt_mm, heel_mm : of its bolt and its heel
    low_mm, high_mm  : the box around strap, nut and what stands out of it
    packing          : the box of the packing under the toe; None where the part lies on the table
    """

    name: str
    side: Face
    toe_mm: Place
    bolt_mm: Place
    heel_mm: Place
    low_mm: Point
    high_mm: Point
    packing: tuple[Point, Point] | None = None
    line: int | None = None

    @property
    def obstacle(self) -> ObstacleRequest:
        """What a tool must not meet."""
        return ObstacleRequest(self.name, self.low_mm, self.high_mm, self.line)


@frozen
class Strapped:
    """How a part is held down on the table; no straps where there is no room for two.

    packing_mm : how high it stands; 0 on the table itself
    slots_mm   : Y along which tee slots of the table have to run for the bolts; () where nobody
                 knows of slots, or where none suit
    is_packing_low : the shop has none so high
    """

    straps: tuple[Strap, ...] = ()
    packing_mm: float = 0.0
    slots_mm: tuple[float, ...] = ()
    is_packing_low: bool = False
