"""Where zero is found again in each setup: on its face, across the part, on jaw, stop or in a hole.

A finder outside a face has its axis half a diameter beyond it; against the inside of a jaw or of
the stop, half a diameter short of it:

            ( )| FACE          part          FACE |( )            jaw ||( )   beside the part
             r                                      r                   r

Pure functions; imports layers 0 to 2, `setups` and `holding`.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from millprep.base.records import frozen, replace
from millprep.model.part import OPPOSITE, Face, Hole, Part
from millprep.model.shop import Shop
from millprep.setting.holding import Holding, faces_along, size_along_mm
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.seating import free_spans
from millprep.setting.setups import Setup, ZeroFace

FINDER_BITE_MM = 2.0  # of a face that the finder's tip has to meet (common practice)
FINDER_ROOM_MM = 2.0  # beside the tip where it goes down between two things (common practice)
TIP_BEYOND_MM = 1.0  # of the finder's tip below the widest place of a round (common practice)
LEAST_HOLE_MM = 3.0  # a pin or an indicator goes into it (common practice)


@frozen
class Touch:
    """One touch of the finder: `at_mm` is where its axis then stands along the axis.

    face      : the face touched, or the one that lies on the fixed jaw or at the stop
    beyond_mm : how far the finder's axis stands beyond what it meets, signed along the axis
    against   : what the finder meets
    is_before : before the part goes in, when jaw or stop stand free
    tip_below_mm : how far below the top of a round bar the tip has to hang; None of flat faces
    """

    face: Face
    at_mm: float
    beyond_mm: float
    against: Literal["face", "fixed jaw", "stop"] = "face"
    is_before: bool = False
    tip_below_mm: float | None = None


@frozen
class AxisZero:
    """How one axis of a setup gets its zero.

    axis     : 0 for X, 1 for Y; zero : the face it lies on, or "centre"
    touch    : where the axis is set; again : what it must read against the opposite face
    check    : of zero on a face, the opposite one, if the finder and the mill's travel reach it
    hole     : the hole it is set over where nothing can be touched
    blocked  : a face out of the finder's reach, and why; None where all is in reach
    reckoned : whether the size across the part goes into the figure
    is_lost  : nothing gives it; `touch` is where it were, if the part stood higher
    """

    axis: int
    zero: ZeroFace
    touch: Touch | None = None
    again: Touch | None = None
    check: Touch | None = None
    hole: Hole | None = None
    blocked: tuple[Face, str] | None = None
    reckoned: bool = False
    is_lost: bool = False

    @property
    def beyond_mm(self) -> float:
        """By how much the zero is out where the finder's radius is forgotten, signed."""
        return 0.0 if self.touch is None else self.touch.beyond_mm


def zeros_of(
    part: Part, shop: Shop, setup: Setup, holding: Holding, earlier: Sequence[Setup] = ()
) -> tuple[AxisZero, AxisZero]:
    """How X and Y get their zero; `earlier` are the setups that the part has been through."""
    x, y = (_axis_zero(part, shop, setup, holding, axis, earlier) for axis in (0, 1))
    return x, y


def _axis_zero(
    part: Part, shop: Shop, setup: Setup, holding: Holding, axis: int, earlier: Sequence[Setup]
) -> AxisZero:
    zero = (setup.zero_x, setup.zero_y)[axis]
    low, high = faces_along(setup, axis)
    why = {face: out_of_reach(part, shop, setup, holding, face) for face in (low, high)}
    wanted: tuple[Face, ...] = (low, high) if zero == "centre" else (zero,)
    touches = [_beside(shop, setup, holding, axis, face) for face in wanted if not why[face]]
    if len(touches) == len(wanted):
        if zero == "centre":
            return AxisZero(axis, zero, touches[0], touches[1])
        far = OPPOSITE[zero]
        check = None if why[far] else _beside(shop, setup, holding, axis, far)
        return AxisZero(axis, zero, touches[0], check=_within_travel(shop, touches[0], check, axis))
    first_blocked = next(face for face in wanted if why[face])
    blocked = first_blocked, why[first_blocked]
    jaw = _on_jaw(shop, setup, holding, axis)
    if jaw is not None and jaw.face == zero:
        return AxisZero(axis, zero, jaw, blocked=blocked)
    others = touches or [
        _beside(shop, setup, holding, axis, face) for face in (low, high) if not why[face]
    ]
    if others or jaw is not None:
        touch = others[0] if others else jaw
        return AxisZero(axis, zero, touch, blocked=blocked, reckoned=True)
    stop = _on_stop(shop, setup, holding, axis)
    if stop is not None:
        return AxisZero(axis, zero, stop, blocked=blocked, reckoned=zero != stop.face)
    for hole in made_holes(part, setup, earlier):
        return AxisZero(axis, zero, hole=hole, blocked=blocked)
    touch = _beside(shop, setup, holding, axis, wanted[0])
    return AxisZero(axis, zero, touch, blocked=blocked, reckoned=zero == "centre", is_lost=True)


def _within_travel(shop: Shop, touch: Touch, other: Touch | None, axis: int) -> Touch | None:
    low, high = shop.mill.travel_mm[axis]
    is_in = other is not None and abs(other.at_mm - touch.at_mm) <= high - low
    return other if is_in else None


def out_of_reach(part: Part, shop: Shop, setup: Setup, holding: Holding, face: Face) -> str:
    """Why the finder cannot touch an upright face; empty when it can."""
    axis = 0 if face in faces_along(setup, 0) else 1
    if _is_below_jaws(shop, setup, holding, axis):
        return "below the jaws"
    is_disc = is_disc_on_end(part, setup)
    return _behind_obstacle(shop, setup, axis, face, is_disc=is_disc)


def _is_below_jaws(shop: Shop, setup: Setup, holding: Holding, axis: int) -> bool:
    """Nothing of the face, or of a bar's widest place, stands above the jaws, beyond them, or in a
    gap for the finder."""
    if holding.jaws_above_mm is None:
        return False
    flank_mm = holding.flank_mm if axis == holding.jaws_axis else None
    proud_mm = setup.height_mm - holding.jaws_above_mm - (flank_mm or 0.0)
    if proud_mm >= FINDER_BITE_MM - 1e-9:
        return False
    room = shop.finder.diameter_mm + FINDER_ROOM_MM
    along = size_along_mm(setup, 1 - holding.jaws_axis)
    if (along - shop.vice.jaw_width_mm) / 2 >= room:
        return False
    return axis == holding.jaws_axis or size_along_mm(setup, holding.jaws_axis) < room


def _behind_obstacle(shop: Shop, setup: Setup, axis: int, face: Face, *, is_disc: bool) -> str:
    """The obstacle that leaves no room for the finder beside the face, or a rim's middle there."""
    diameter = shop.finder.diameter_mm
    low, high = setup.low_mm[axis], setup.high_mm[axis]
    near, far = (
        (low - diameter, low) if face == faces_along(setup, axis)[0] else (high, high + diameter)
    )
    taken, names = [], []
    for obstacle in setup.obstacles:
        beside = obstacle.low_mm[axis] < far and obstacle.high_mm[axis] > near
        if beside and obstacle.high_mm[2] > -FINDER_BITE_MM:
            taken.append((obstacle.low_mm[1 - axis], obstacle.high_mm[1 - axis]))
            names.append(obstacle.name)
    edge = (setup.low_mm[1 - axis], setup.high_mm[1 - axis])
    room = min(diameter + FINDER_ROOM_MM, edge[1] - edge[0])
    if is_disc:
        edge = ((sum(edge) - room) / 2, (sum(edge) + room) / 2)
    is_free = any(end - start >= room - 1e-9 for start, end in free_spans(edge, taken))
    return "" if is_free else f"behind {names[0]}"


def _beside(shop: Shop, setup: Setup, holding: Holding, axis: int, face: Face) -> Touch:
    touch = _touch(shop, setup, axis, face, 1)
    if holding.flank_mm is None or axis != holding.jaws_axis:
        return touch
    return replace(touch, tip_below_mm=holding.flank_mm + TIP_BEYOND_MM)


def _on_jaw(shop: Shop, setup: Setup, holding: Holding, axis: int) -> Touch | None:
    """The fixed jaw: beside the part, where a piece of it is free and the finder goes in, else
    before the part goes in."""
    if holding.fixed is None or axis != holding.jaws_axis:
        return None
    room = shop.finder.diameter_mm + FINDER_ROOM_MM
    is_free = shop.vice.jaw_width_mm - size_along_mm(setup, 1 - axis) >= room
    is_before = not is_free or size_along_mm(setup, axis) < room
    touch = _touch(shop, setup, axis, holding.fixed, -1)
    return replace(touch, against="fixed jaw", is_before=is_before)


def _on_stop(shop: Shop, setup: Setup, holding: Holding, axis: int) -> Touch | None:
    """The stop of the vice, where it is on this axis: the empty vice lets the finder in."""
    if holding.stop is None or axis == holding.jaws_axis:
        return None
    return replace(_touch(shop, setup, axis, holding.stop, -1), against="stop", is_before=True)


def _touch(shop: Shop, setup: Setup, axis: int, face: Face, side: int) -> Touch:
    """The finder at a face: outside it (side 1), or on the work's side of what it lies on (-1)."""
    is_low = face == faces_along(setup, axis)[0]
    beyond_mm = side * shop.finder.diameter_mm / 2 * (-1 if is_low else 1)
    edge_mm = setup.low_mm[axis] if is_low else setup.high_mm[axis]
    return Touch(face, edge_mm + beyond_mm, beyond_mm)


def made_holes(part: Part, setup: Setup, earlier: Sequence[Setup]) -> list[Hole]:
    """Holes of earlier setups that are open on the face that is up, the truest first."""
    made = {
        name
        for other in earlier
        for name in other.names
        if other.face in (setup.face, OPPOSITE[setup.face])
    }
    found = [
        hole
        for hole in part.holes
        if hole.name in made
        and (hole.face == setup.face or (hole.face == OPPOSITE[setup.face] and hole.is_through))
        and not (setup.works(hole) and hole.face == setup.face)
        and not hole.from_both_ends
        and hole.thread is None
        and hole.diameter_mm >= LEAST_HOLE_MM
    ]
    return sorted(found, key=lambda hole: not hole.kind.is_true)
