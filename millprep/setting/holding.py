"""How a part is held in a setup: jaws and stop, grip, parallels that no drill meets, backing.

Parallels are two strips along the jaws under the part:

      fixed jaw  ==========================
      strip      ------------------------      the strips stand where no hole comes through,
                    o      o        o          as far apart as the holes leave them, the middle
      strip      ------------------------      of the part between them
      moving jaw ==========================

Pure functions; imports layers 0 to 2 and `setups`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from millprep.base.records import frozen
from millprep.model.part import OPPOSITE, Face, Hold, Hole, Part
from millprep.model.shop import Parallels, Shop
from millprep.setting.setups import Setup
from millprep.setting.strapped import Strapped

CLEAR_OF_HOLE_MM = 1.0  # between the edge of a through hole and a parallel (common practice)
BELOW_TIP_MM = 2.0  # under the point of a drill that has come through (common practice)
STIFF_TIMES = 20.0  # its thickness, between the jaws: more is not squeezed (common practice)
HELD_SHARE = 1 / 3  # of the height, and of what lies across the jaws, to be held (common practice)
Span = tuple[float, float]


@frozen
class Strips:
    """Two parallels: `at_mm` is the low edge of each along the axis that the jaws close along."""

    thickness_mm: float
    height_mm: float | None
    at_mm: tuple[float, ...]


@frozen
class Holding:
    """What holds the part.

    way        : what holds it; "straps" where it is clamped down on backing too
    jaws_axis  : setup axis that the jaws close along, 0 for X and 1 for Y
    fixed, stop : the faces on the fixed jaw and against the stop; None outside a vice
    grip_mm    : how much of the part the jaws hold
    strips     : where the parallels stand; None where there is no room, or no need
    needs_backing : drills come through and no parallels of the shop clear them
    against    : the face that lies against the angle plate
    strapped   : straps and packing, outside a vice
    """

    way: Hold
    jaws_axis: int = 1
    fixed: Face | None = None
    stop: Face | None = None
    grip_mm: float = 0.0
    strips: Strips | None = None
    needs_backing: bool = False
    against: Face | None = None
    strapped: Strapped | None = None

    @property
    def moving(self) -> Face | None:
        """The face on the moving jaw."""
        return None if self.fixed is None else OPPOSITE[self.fixed]


def faces_along(setup: Setup, axis: int) -> tuple[Face, Face]:
    """The faces at the low and the high end of setup X (0) or Y (1)."""
    if axis == 0:
        return setup.left_hand, setup.right_hand
    return setup.towards_you, setup.away


def size_along_mm(setup: Setup, axis: int) -> float:
    """Of the blank along a setup axis."""
    return setup.high_mm[axis] - setup.low_mm[axis]


def is_disc_on_end(part: Part, setup: Setup) -> bool:
    """Whether the part is a disc whose axis stands upright."""
    axis = part.stock.axis
    return axis is not None and bool(np.abs(setup.rotation[2, axis]) > 0.5)


def way_of(part: Part, setup: Setup) -> Hold:
    """What holds the part in a setup: as the file says, else what goes with its shape."""
    request = setup.request
    if is_disc_on_end(part, setup):
        return "chuck"
    if request.backing_mm and request.grip_mm is None:
        return "straps"
    return "vice"


def holding_of(part: Part, shop: Shop, setup: Setup, below_mm: float = 0.0) -> Holding:
    """How the part is held in a setup.

    below_mm : how far tools come out of the underside there; 0 for not at all
    """
    request, way = setup.request, way_of(part, setup)
    if way != "vice":
        return Holding(way)
    axis = 1 if request.jaws == "y" else 0
    if axis == 1:
        fixed = setup.away if shop.vice.fixed_jaw == "away" else setup.towards_you
        stop = setup.zero_x if setup.zero_x != "centre" else setup.left_hand
    else:
        fixed = setup.right_hand
        stop = setup.zero_y if setup.zero_y != "centre" else setup.away
    strips, is_lacking = _strips(part, shop, setup, axis, below_mm)
    grip = _grip_mm(shop, setup, strips)
    return Holding("vice", axis, fixed, stop, grip, strips, is_lacking and not request.backing_mm)


def _grip_mm(shop: Shop, setup: Setup, strips: Strips | None) -> float:
    if setup.request.grip_mm is not None:
        return setup.request.grip_mm
    if strips is None or strips.height_mm is None:  # nobody says how far up the part stands
        return min(setup.grip_mm, shop.vice.jaw_height_mm)
    room = shop.vice.jaw_height_mm - strips.height_mm
    return min(setup.height_mm, room) if room > 0 else setup.grip_mm


def _strips(
    part: Part, shop: Shop, setup: Setup, axis: int, below_mm: float
) -> tuple[Strips | None, bool]:
    """The parallels, and whether some are wanted and none will do."""
    request = setup.request
    if request.parallel_thickness_mm is not None and request.parallels_at_mm:
        asked = Strips(
            request.parallel_thickness_mm, request.parallel_height_mm, request.parallels_at_mm
        )
        return asked, False
    if request.backing_mm or part.stock.axis is not None:  # a rim stands on nothing flat
        return None, False
    room_mm = shop.vice.jaw_height_mm - setup.grip_mm
    needed_mm = below_mm + BELOW_TIP_MM if below_mm > 0 else 0.0
    across = (setup.low_mm[axis], setup.high_mm[axis])
    free = free_spans(across, exits_along(part, setup, axis))
    tallest_first = sorted(shop.parallels, key=lambda one: (-one.height_mm, -one.thickness_mm))
    for pair in _of_file(tallest_first, request.parallel_thickness_mm, request.parallel_height_mm):
        if needed_mm - 1e-9 <= pair.height_mm <= room_mm + 1e-9:
            at_mm = widest_apart(free, pair.thickness_mm, sum(across) / 2)
            if at_mm is not None:
                return Strips(pair.thickness_mm, pair.height_mm, at_mm), False
    return None, below_mm > 0


def _of_file(
    pairs: Iterable[Parallels], thickness_mm: float | None, height_mm: float | None
) -> Iterator[Parallels]:
    """Those of the part file, where it names a size but no places; else the shop's."""
    if thickness_mm is not None and height_mm is not None:
        yield Parallels(thickness_mm, height_mm)
    else:
        yield from pairs


@frozen
class Fitness:
    """How well the vice holds a lay of the part; of two lays the one of greater `worth` is better.

    goes_in   : it goes between the jaws
    is_stiff  : thick enough between them not to bow when its edges are squeezed
    is_clear  : nothing stands under a hole that comes through, no backing to be drilled into either
    depth     : how much the jaws hold of a third of the height, 1 at most
    length    : its length along the jaws, and no farther than they reach, of a third of what lies
                across them, 1 at most
    """

    goes_in: bool
    is_stiff: bool
    is_clear: bool
    depth: float
    length: float

    @property
    def worth(self) -> tuple[bool, bool, bool, float, float]:
        return self.goes_in, self.is_stiff, self.is_clear, self.depth, self.length


def fitness_of(part: Part, shop: Shop, setup: Setup, below_mm: float = 0.0) -> Fitness:
    """Whether a lay can be held in the vice, and how well; `below_mm` as for `holding_of`."""
    axis = 1 if setup.request.jaws == "y" else 0
    across_mm, along_mm = size_along_mm(setup, axis), size_along_mm(setup, 1 - axis)
    holding = holding_of(part, shop, setup, below_mm)
    if holding.way != "vice":
        return Fitness(True, True, not holding.needs_backing, 1.0, 1.0)
    held_mm = min(along_mm, shop.vice.jaw_width_mm)
    return Fitness(
        goes_in=across_mm <= shop.vice.opening_mm + 1e-9,
        is_stiff=setup.height_mm * STIFF_TIMES >= across_mm - 1e-9,
        is_clear=not holding.needs_backing,
        depth=min(1.0, holding.grip_mm / (setup.height_mm * HELD_SHARE)),
        length=min(1.0, held_mm / (across_mm * HELD_SHARE)),
    )


def comes_through(hole: Hole, setup: Setup) -> bool:
    """Whether a tool may come out of the underside at this hole in this setup."""
    if hole.from_both_ends:  # drilled half way, reamed or tapped all the way in one of its setups
        is_end = setup.face in (hole.face, OPPOSITE[hole.face])
        return is_end and not hole.kind.is_as_drilled
    return hole.is_through and hole.face == setup.face


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
