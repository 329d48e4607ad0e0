"""How a part is held in a setup: by what, jaws and stop, grip, what it stands on.

Pure functions; imports layers 0 to 2, `setups`, `seating` and `round_bars`.
"""

from __future__ import annotations

from typing import Literal

from millprep.base.records import frozen, replace
from millprep.model.part import OPPOSITE, Face, Hold, Part
from millprep.model.shop import Shop
from millprep.setting import round_bars
from millprep.setting.round_bars import is_bar_lying, is_disc_on_end
from millprep.setting.seating import (
    Ring,
    Strapped,
    Strips,
    asked_strips,
    needed_below_mm,
    ring_in_chuck,
    strips_in_chuck,
    strips_in_vice,
)
from millprep.setting.setups import Setup
from millprep.setting.way_round import WayRound

STIFF_TIMES = 20.0  # its thickness, between the jaws: more is not squeezed (common practice)
LEAST_STRAPS = 2  # that hold a part down (common practice)
HELD_SHARE = 1 / 3  # of the height, and of what lies across the jaws, to be held (common practice)
_NONE_MM = 1e-9


@frozen
class Holding:
    """What holds the part.

    way        : what holds it; "straps" where it is clamped down on backing too
    jaws_axis  : setup axis that the jaws close along, 0 for X and 1 for Y
    fixed, stop : the faces on the fixed jaw and against the stop; None outside a vice
    grip_mm    : how much of the part the jaws hold
    jaws_above_mm : how far the jaw tops stand above the underside; None outside a vice
    strips     : where the parallels stand; None where there is no room, or no need
    packing_mm : under a bar lying down between flat jaws, 0 for the floor; None elsewhere
    flank_mm   : how far below its top a bar lying down is widest, across the jaws; None for others
    needs_backing : drills come through, and nothing of the shop that stands under the part is
                 clear of them
    against    : the face that lies against the angle plate
    strapped   : straps and packing, outside a vice
    ring       : under a disc in a chuck, where no strips are clear of what comes through
    way_round  : what sets a round part the right way round; None where nothing hangs on it
    """

    way: Hold
    jaws_axis: int = 1
    fixed: Face | None = None
    stop: Face | None = None
    grip_mm: float = 0.0
    strips: Strips | None = None
    needs_backing: bool = False
    jaws_above_mm: float | None = None
    packing_mm: float | None = None
    flank_mm: float | None = None
    against: Face | None = None
    strapped: Strapped | None = None
    way_round: WayRound | None = None
    ring: Ring | None = None

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


Hindrance = Literal[
    "opening", "thin", "two lines", "not on end", "not round", "rolls", "low centre", "no vee jaw",
    "vee size", "lip", "vee floor",
    "no vee blocks", "block size", "block length", "no chuck", "chuck size",
]  # fmt: skip
"""Why the shop cannot hold a part in that way."""


def hindrance_of(
    way: Hold, part: Part, shop: Shop, setup: Setup, below_mm: float = 0.0
) -> Hindrance | None:
    """Why a part cannot be held in that way in a setup; None where it can.

    below_mm : how far tools come out of the underside there; 0 for not at all
    """
    axis = setup.jaws_axis
    across_mm = size_along_mm(setup, axis)
    is_on_end = is_disc_on_end(part, setup)
    if way == "chuck":
        return _not_in_chuck(shop, across_mm) if is_on_end else "not on end"
    is_lying = is_bar_lying(part, setup, axis)
    if (way == "vee blocks" and not is_lying) or (
        way == "vee jaws" and not is_lying and not is_on_end
    ):
        return "not round"
    if way == "vee blocks":
        return _not_in_blocks(shop, across_mm, size_along_mm(setup, 1 - axis))
    if way == "vee jaws":
        return _not_in_vee_jaws(part, shop, setup, axis, below_mm)
    if way != "vice":
        is_round = part.stock.axis is not None and not is_on_end
        return "rolls" if is_round else None
    if across_mm > shop.vice.opening_mm + _NONE_MM:
        return "opening"
    if is_on_end:
        return None if "soft" in shop.vice.jaws else "two lines"
    if is_lying:
        is_low = _bar_jaws_above_mm(shop, setup, across_mm, below_mm)[0] is None
        return "low centre" if is_low else None
    return "thin" if setup.height_mm * STIFF_TIMES < across_mm - _NONE_MM else None


def _not_in_chuck(shop: Shop, across_mm: float) -> Hindrance | None:
    chuck = shop.holding.chuck
    if chuck is None:
        return "no chuck"
    return "chuck size" if across_mm > chuck.diameter_mm + _NONE_MM else None


def _not_in_blocks(shop: Shop, across_mm: float, along_mm: float) -> Hindrance | None:
    blocks = shop.holding.vee_blocks
    if not blocks:
        return "no vee blocks"
    if not any(one.least_mm - _NONE_MM <= across_mm <= one.most_mm + _NONE_MM for one in blocks):
        return "block size"
    return "block length" if along_mm < across_mm - _NONE_MM else None


def _not_in_vee_jaws(
    part: Part, shop: Shop, setup: Setup, axis: int, below_mm: float
) -> Hindrance | None:
    vee, across_mm = shop.vice.vee, size_along_mm(setup, axis)
    if vee is None:
        return "no vee jaw"
    least_mm, most_mm = round_bars.bars_of(vee)
    if not least_mm - _NONE_MM <= across_mm <= most_mm + _NONE_MM:
        return "vee size"
    if is_disc_on_end(part, setup):
        return None
    if across_mm / 2 + vee.below_mm + needed_below_mm(below_mm) > shop.vice.jaw_height_mm:
        return "vee floor"
    widest_mm = max((h.diameter_mm for h in part.holes if h.face == setup.face), default=0.0)
    lip_mm = round_bars.lip_mm(vee, across_mm) + round_bars.CLEAR_OF_LIP_MM
    return "lip" if lip_mm > -widest_mm / 2 else None


def _bar_jaws_above_mm(
    shop: Shop, setup: Setup, across_mm: float, below_mm: float
) -> tuple[float | None, float | None]:
    """How far flat jaws stand above a bar's underside, and its packing; None: its centre is
    too low in them, however it is packed."""
    if setup.request.grip_mm is not None:
        asked_mm = setup.request.grip_mm
        is_low = asked_mm < round_bars.least_grip_mm(across_mm) - _NONE_MM
        return (None if is_low else asked_mm), None
    packing_mm = round_bars.packing_mm(shop, across_mm, below_mm)
    if packing_mm is None:
        return None, None
    return shop.vice.jaw_height_mm - packing_mm, packing_mm


def ways_of(part: Part, setup: Setup) -> tuple[Hold, ...]:
    """What may hold a part of its shape as it lies, the best first."""
    request = setup.request
    if request.hold is not None:
        return (request.hold,)
    if is_disc_on_end(part, setup):
        return "chuck", "vee jaws", "vice", "straps"
    is_flat = part.stock.axis is None
    if request.backing_mm and request.grip_mm is None and is_flat:
        return ("straps",)
    if request.grip_mm is not None or request.parallels_at_mm:
        return ("vice",)
    if is_bar_lying(part, setup, setup.jaws_axis):
        return "vee blocks", "vee jaws", "vice"
    if not is_flat:  # lying down between jaws that close on its ends
        return ("vice",)
    return "vice", "straps"


def way_of(part: Part, shop: Shop, setup: Setup, below_mm: float = 0.0) -> Hold:
    """What holds the part in a setup: as the file says, else the first that can; else the first.

    Straps are no way out in a shop that has fewer than two.
    """
    request, are_straps = setup.request, shop.holding.straps >= LEAST_STRAPS
    is_asked = are_straps or request.backing_mm or request.hold
    ways = [way for way in ways_of(part, setup) if way != "straps" or is_asked]
    free = (way for way in ways if hindrance_of(way, part, shop, setup, below_mm) is None)
    way = next(free, ways[0])
    is_way_out = way == "straps" and way != ways[0]
    return ways[0] if is_way_out and goes_in_turned(part, shop, setup, below_mm) else way


def goes_in_turned(part: Part, shop: Shop, setup: Setup, below_mm: float = 0.0) -> bool:
    """Whether it would go into the vice with the jaws along the other axis."""
    turned: Literal["x", "y"] = "x" if setup.request.jaws == "y" else "y"
    across = replace(setup, request=replace(setup.request, jaws=turned))
    return hindrance_of("vice", part, shop, across, below_mm) is None


def holding_of(part: Part, shop: Shop, setup: Setup, below_mm: float = 0.0) -> Holding:
    """How the part is held in a setup.

    below_mm : how far tools come out of the underside there; 0 for not at all
    """
    way = way_of(part, shop, setup, below_mm)
    if way == "chuck":
        strips = strips_in_chuck(part, shop, setup, below_mm) if below_mm > 0 else None
        is_free = below_mm <= 0 or strips is not None or bool(setup.request.backing_mm)
        ring = None if is_free else ring_in_chuck(part, setup, below_mm)
        return Holding(way, strips=strips, needs_backing=not is_free and ring is None, ring=ring)
    if way == "vee blocks":
        sides = setup.jaws_axis, None, _stop(setup)
        return Holding(way, *sides, flank_mm=setup.height_mm / 2)
    if way in ("vice", "vee jaws"):
        return _in_jaws(part, shop, setup, way, below_mm)
    return Holding(way)


def _stop(setup: Setup) -> Face:
    if setup.request.jaws == "y":
        return setup.zero_x if setup.zero_x != "centre" else setup.left_hand
    return setup.zero_y if setup.zero_y != "centre" else setup.away


def _in_jaws(part: Part, shop: Shop, setup: Setup, way: Hold, below_mm: float) -> Holding:
    request, vice = setup.request, shop.vice
    axis = setup.jaws_axis
    fixed = setup.right_hand
    if axis == 1:
        fixed = setup.away if vice.fixed_jaw == "away" else setup.towards_you
    across_mm, strips, packing_mm, is_lacking = size_along_mm(setup, axis), None, None, False
    if not is_bar_lying(part, setup, axis):
        strips, is_lacking = _strips(part, shop, setup, axis, below_mm)
        above_mm = _jaws_above_mm(shop, setup, strips)
    elif way == "vee jaws" and vice.vee is not None:
        above_mm = across_mm / 2 + vice.vee.below_mm
    else:
        strips = asked_strips(setup)
        above, packing_mm = _bar_jaws_above_mm(shop, setup, across_mm, below_mm)
        above_mm = _jaws_above_mm(shop, setup, strips) if above is None or strips else above
    grip_mm = min(setup.height_mm, above_mm) if request.grip_mm is None else request.grip_mm
    flank_mm = setup.height_mm / 2 if is_bar_lying(part, setup, axis) else None
    sides = axis, fixed, _stop(setup)
    return Holding(way, *sides, grip_mm, strips, is_lacking, above_mm, packing_mm, flank_mm)


def _jaws_above_mm(shop: Shop, setup: Setup, strips: Strips | None) -> float:
    """How far the jaw tops stand above the underside of what stands on strips, or on nobody knows
    what."""
    if setup.request.grip_mm is not None:
        return setup.request.grip_mm
    under_mm = None if strips is None else strips.under_part_mm
    if under_mm is None:  # nobody says how far up the part stands
        return min(setup.grip_mm, shop.vice.jaw_height_mm)
    room_mm = shop.vice.jaw_height_mm - under_mm
    return room_mm if room_mm > 0 else setup.grip_mm


def _strips(
    part: Part, shop: Shop, setup: Setup, axis: int, below_mm: float
) -> tuple[Strips | None, bool]:
    """The parallels, and whether some are wanted and none will do."""
    asked = asked_strips(setup)
    is_rim = part.stock.axis is not None and not is_disc_on_end(part, setup)
    if asked is not None or setup.request.backing_mm or is_rim:  # a rim stands on nothing flat
        return asked, False
    strips = strips_in_vice(part, shop, setup, axis, below_mm)
    return strips, strips is None and below_mm > 0


@frozen
class Fitness:
    """How well the vice holds a lay of the part; of two lays the one of greater `worth` is better.

    goes_in   : it goes between the jaws
    is_stiff  : thick enough between them not to bow when its edges are squeezed
    is_clear  : nothing stands under a hole that comes through, no backing to be drilled into either
    depth     : how much the jaws hold of a third of the height, 1 at most
    length    : its length along the jaws, and no farther than they reach, of a third of what lies
                across them, 1 at most; of a bar or disc, of the whole
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
    axis = setup.jaws_axis
    across_mm, along_mm = size_along_mm(setup, axis), size_along_mm(setup, 1 - axis)
    holding = holding_of(part, shop, setup, below_mm)
    way, hindrance = holding.way, hindrance_of(holding.way, part, shop, setup, below_mm)
    is_way_out = way == "straps" and setup.request.hold is None and not setup.request.backing_mm
    is_between_jaws = way == "vice" or is_way_out
    held_mm = min(along_mm, shop.vice.jaw_width_mm)
    is_on_end = is_disc_on_end(part, setup)
    share = HELD_SHARE if part.stock.axis is None else 1.0
    return Fitness(
        goes_in=hindrance in (None, "thin") and not (is_way_out and across_mm > _opening(shop)),
        is_stiff=not is_between_jaws or setup.height_mm * STIFF_TIMES >= across_mm - _NONE_MM,
        is_clear=not holding.needs_backing,
        depth=_depth(setup, holding),
        length=1.0 if is_on_end else min(1.0, held_mm / (across_mm * share)),
    )


def _opening(shop: Shop) -> float:
    return shop.vice.opening_mm + _NONE_MM


def _depth(setup: Setup, holding: Holding) -> float:
    if holding.way != "vice":
        return 1.0
    return min(1.0, holding.grip_mm / (setup.height_mm * HELD_SHARE))
