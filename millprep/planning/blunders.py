"""The readings that betray a blunder at the first spots, before anything is deep.

Each likely slip at zeroing moves, mirrors or stretches the whole pattern by a figure of its own; a
calliper from an edge to a spot, or from spot to spot, shows which. Of the first spots those are
measured whose readings lie farthest apart. Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, islice
from math import hypot
from typing import Literal

from millprep.base.records import frozen, replace
from millprep.base.units import Units
from millprep.model.part import Face
from millprep.model.shop import Dial
from millprep.planning.plan import Operation
from millprep.setting.holding import faces_along, size_along_mm
from millprep.setting.setups import Setup

Slip = Literal[
    "finder's radius forgotten",
    "finder's radius the wrong way",
    "wrong edge or mirrored",
    "one turn of the handle out",
    "readout in the other unit",
]
LEAST_APART_MM = 0.3  # what a calliper on a spot tells apart: thrice its 0.1 (common practice)
_MOST_SPOTS = 8  # looked at; more does not help a person who measures two or three
Reading = tuple[float, Slip]


@frozen
class Measure:
    """What to measure, what it must be, and what it is after each slip that it tells apart.

    face  : from which; None where it is from spot to spot, and then `other` is the second hole
    axis  : 0 or 1; from spot to spot 2
    readings : (distance [mm], slip), those of one slip in ascending order
    """

    hole: str
    face: Face | None
    other: str
    axis: int
    right_mm: float
    readings: tuple[Reading, ...]

    @property
    def least_apart_mm(self) -> float:
        """The smallest gap between readings of different slips, the right one among them."""
        all_readings = [(self.right_mm, "right"), *self.readings]
        gaps = [
            abs(a - b) for (a, one), (b, other) in combinations(all_readings, 2) if one != other
        ]
        return min(gaps, default=float("inf"))


def measures_of(
    setup: Setup,
    spots: Sequence[Operation],
    beyond_mm: tuple[float, float],
    dials: Mapping[str, Dial],
    units: Units = "mm",
) -> list[Measure]:
    """At most one measure along X, one along Y and one from spot to spot.

    spots : the first operations of the setup, as the part lies square
    beyond_mm : how far beyond what it meets the finder's axis stands for the zero of X and of Y,
    signed; 0 where no finder is used
    units : of the sheet; a readout switched to the other one goes 25.4 times too far, or a 25th
    """
    first = list(islice(spots, _MOST_SPOTS))
    scale = 25.4 if units == "mm" else 1 / 25.4
    offers = [
        [
            _told_apart(
                _from_face(setup, spot, axis, beyond_mm[axis], dials.get("xy"[axis]), scale)
            )
            for spot in first
        ]
        for axis in (0, 1)
    ]
    found = [max(offer, key=_worth) for offer in offers if offer]
    if len(first) > 1:
        pairs = [(first[0], other) for other in first[1:]]
        most_mm = hypot(size_along_mm(setup, 0), size_along_mm(setup, 1))
        apart = [_told_apart(_apart(one, other, dials, scale, most_mm)) for one, other in pairs]
        found.append(max(apart, key=_worth))
    return [measure for measure in found if measure.readings]


def with_turns(
    measure: Measure,
    setup: Setup,
    spots: Sequence[Operation],
    beyond_mm: tuple[float, float],
    dials: Mapping[str, Dial],
) -> Measure:
    """A measure with what it is a turn of a handle out, where it tells that from all else.

    spots, beyond_mm : as of `measures_of`
    """
    one, other = (
        next((spot for spot in spots if spot.hole.name == name), None)
        for name in (measure.hole, measure.other)
    )
    if one is None:
        return measure
    if measure.face is not None:
        axis = measure.axis
        turned = _from_face(setup, one, axis, beyond_mm[axis], dials.get("xy"[axis]), 1.0)
    elif other is not None:
        turned = _apart(one, other, dials, 1.0, hypot(*(size_along_mm(setup, n) for n in (0, 1))))
    told = [measure.right_mm, *(reading for reading, _ in measure.readings)]
    turns = (
        (reading, slip)
        for reading, slip in turned.readings
        if slip == "one turn of the handle out"
        and all(abs(reading - value) >= LEAST_APART_MM for value in told)
    )
    return replace(measure, readings=(*measure.readings, *turns))


def _worth(measure: Measure) -> tuple[int, float]:
    """More slips first, then the wider gap."""
    gap_mm = round(min(measure.least_apart_mm, 5.0), 6)  # a last bit must not change the choice
    return len({slip for _, slip in measure.readings}), gap_mm


def _told_apart(measure: Measure) -> Measure:
    """Without the readings that a calliper cannot tell from the right one or from another's."""
    kept: list[Reading] = []
    for reading, slip in measure.readings:
        others = [measure.right_mm, *(value for value, other in kept if other != slip)]
        if all(abs(reading - other) >= LEAST_APART_MM for other in others):
            kept.append((reading, slip))
    return replace(measure, readings=tuple(kept))


def _from_face(
    setup: Setup, spot: Operation, axis: int, beyond_mm: float, dial: Dial | None, scale: float
) -> Measure:
    """From the zero's face, or from the one at the low end where zero is on a centre line."""
    zero = (setup.zero_x, setup.zero_y)[axis]
    low, _ = faces_along(setup, axis)
    face = low if zero == "centre" else zero
    at_mm = (spot.x_mm, spot.y_mm)[axis]
    across_mm = size_along_mm(setup, axis)
    inward = 1.0 if face == low else -1.0
    edge_mm = setup.low_mm[axis] if face == low else setup.high_mm[axis]
    right_mm = inward * (at_mm - edge_mm)

    def slips() -> Iterator[Reading]:
        yield right_mm + inward * beyond_mm, "finder's radius forgotten"
        yield right_mm + inward * 2 * beyond_mm, "finder's radius the wrong way"
        yield across_mm - right_mm, "wrong edge or mirrored"
        if dial is not None:
            yield right_mm - dial.lead_mm, "one turn of the handle out"
            yield right_mm + dial.lead_mm, "one turn of the handle out"
        yield inward * (at_mm * scale - edge_mm), "readout in the other unit"

    on_the_part = tuple(one for one in slips() if 0 < one[0] < across_mm)
    return Measure(spot.hole.name, face, "", axis, right_mm, on_the_part)


def _apart(
    one: Operation, other: Operation, dials: Mapping[str, Dial], scale: float, most_mm: float
) -> Measure:
    """From spot to spot, centre to centre; no farther than the part is long."""
    dx, dy = other.x_mm - one.x_mm, other.y_mm - one.y_mm
    right_mm = hypot(dx, dy)

    def slips() -> Iterator[Reading]:
        turns = [
            hypot(dx + sign * lead_x, dy + sign * lead_y)
            for lead_x, lead_y in _turns(dials)
            for sign in (-1, 1)
        ]
        yield from ((turn, "one turn of the handle out") for turn in sorted(turns))
        yield right_mm * scale, "readout in the other unit"

    on_the_part = tuple(found for found in slips() if found[0] < most_mm)
    return Measure(one.hole.name, None, other.hole.name, 2, right_mm, on_the_part)


def _turns(dials: Mapping[str, Dial]) -> Iterator[tuple[float, float]]:
    if "x" in dials:
        yield dials["x"].lead_mm, 0.0
    if "y" in dials:
        yield 0.0, dials["y"].lead_mm
