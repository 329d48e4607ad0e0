"""ZERO of a dial sheet against the part: what is met, from which side, and how far it is to zero.

Imports the part and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.reading.pages import SIZE_ROUNDED_MM, FinderReading
from millprep.reading.pages.dial_rows import DialZero
from millprep.witness import from_part
from millprep.witness.printed import SLACK_MM, Printed, Upright
from millprep.witness.wheel import Wheel

_SIDES = {
    (0, -1.0): "left hand",
    (0, 1.0): "right hand",
    (1, -1.0): "towards you",
    (1, 1.0): "away",
}


def check_zero(printed: Printed, wheel: Wheel, zero: DialZero, finder_mm: float) -> Iterator[str]:
    """What is wrong with how an axis is zeroed, in words."""
    axis, letter = "xy".index(wheel.axis), wheel.axis.upper()
    if zero.over != zero.zero:
        yield f"ZERO of {letter} ends over {zero.over}"
    if zero.blocked is not None and zero.blocked not in _faces(printed, axis):
        yield f"ZERO of {letter} has {zero.blocked.upper()} out of reach"
    if zero.touch is None:
        yield from _check_hand(wheel, zero, wheel.way)
        places = _made_places(printed, zero.hole or "", axis)
        if not any(_is_zero(wheel, zero, at) for at in places):
            yield f"ZERO of {letter} does not come from {zero.hole} to zero"
        return
    upright = printed.upright.get(zero.touch.face)
    if upright is None or upright.axis != axis or zero.touch.side != _SIDES[axis, upright.outward]:
        yield f"ZERO of {letter} touches {zero.touch.face.upper()}, {zero.touch.side}"
        return
    if abs(zero.touch.finder.mm - finder_mm) > SIZE_ROUNDED_MM:
        yield f"ZERO has a finder of {zero.touch.finder.mm:g} mm; it is {finder_mm:g}"
    if printed.finder is not None and zero.touch.rpm != printed.finder.speed_rpm:
        yield f"ZERO of {letter} has a finder at another speed than the shop's"
    outside = upright.outward if zero.touch.against == "face" else -upright.outward
    yield from _check_reach(wheel, zero, zero.touch, upright)
    yield from _check_hand(wheel, zero, -int(outside))
    at = upright.at_mm + outside * finder_mm / 2
    if not _is_zero(wheel, zero, at):
        yield f"ZERO of {letter} does not come the {abs(at):.3f} mm from the touch to zero"


def _faces(printed: Printed, axis: int) -> list[str]:
    return [face for face, one in printed.upright.items() if one.axis == axis]


def _check_reach(
    wheel: Wheel, zero: DialZero, touch: FinderReading, upright: Upright
) -> Iterator[str]:
    """What is met first on the way to zero is touched, unless it is out of reach.

    A size across the part is told wherever the touch is not at the zero's own face.
    """
    is_first = touch.against == "face" and upright.outward == -wheel.way
    if zero.blocked is None and not is_first:
        yield f"ZERO touches {touch.face.upper()}, which is not met on the way to zero"
    is_across = zero.blocked is not None and touch.face != zero.zero
    if is_across != (zero.across is not None):
        yield f"ZERO tells a size across for {touch.face.upper()}, or leaves it out"


def _check_hand(wheel: Wheel, zero: DialZero, met_way: int) -> Iterator[str]:
    """The handle turns as it must, and what is met from the far side is come up to once more."""
    letter = wheel.axis.upper()
    if zero.hand != wheel.hand(met_way):
        yield f"ZERO of {letter}: handle {zero.hand}"
    if (zero.by_indicator is None) != (met_way == wheel.way):
        yield f"ZERO of {letter} is met from the {'usual' if zero.by_indicator else 'far'} side"
    elif zero.by_indicator is not None:
        turns, hand = zero.by_indicator
        beyond = turns * wheel.dial.lead_mm - wheel.least_past_mm
        tenth = 0.1 * wheel.dial.lead_mm + SLACK_MM
        if hand != wheel.hand() or not -SLACK_MM <= beyond <= tenth:
            yield f"ZERO of {letter} goes on {turns:g} turns and comes up {hand}"


def _is_zero(wheel: Wheel, zero: DialZero, at_mm: float) -> bool:
    """Whether the way from a place leads to zero, come up to from the usual side."""
    side = wheel.way if zero.back is None else -wheel.way
    goes = wheel.count(zero.go_on, side) * wheel.division_mm
    if wheel.fault(zero.go_on, side) or abs(goes + at_mm) > wheel.division_mm / 2 + SLACK_MM:
        return False
    if zero.back is None:
        return True
    back = wheel.count(zero.back, side) * wheel.division_mm
    past = (goes - back) * wheel.way
    return not wheel.fault(zero.back, side) and wheel.is_past_enough(past)


def _made_places(printed: Printed, name: str, axis: int) -> list[float]:
    """Where the holes of that name that go through the part stand on the machine."""
    named = [
        hole
        for hole in printed.part.holes
        if hole.is_through and hole.name.replace(" ", "") == name.replace(" ", "")
    ]
    placed = [
        from_part(printed.lay, printed.part, np.array([hole.centre_mm]).T).ravel().tolist()
        for hole in named
    ]
    return [printed.on_machine((x, y))[axis] for x, y, _ in placed]
