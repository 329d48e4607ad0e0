"""What sets a bar or disc the right way round about its axis, when it comes out of its first setup.

Whatever was drilled off its axis before, what is drilled now has to stand at the right angle to it:

       pin level        pin upright       two pins, one level line      open holes, picked up
      __|_____|__           |               o-------o                       ( o )
        \\___/            ( | )             (    .   )                     (  .  o)

Pure functions; imports layers 0 to 2 and `setups`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Literal

import numpy as np

from millprep.base.records import frozen
from millprep.model.part import FACE_AXIS, Hole, Part
from millprep.setting.setups import Setup

LEAST_PIN_MM = 3.0  # a close pin of less bends (common practice)
PIN_DEPTH_TIMES = 1.5  # its diameter, that a pin goes into a blind hole (common practice)
MARK_MM = 0.2  # by which a mark set by eye with a square is out at the rim (common practice)
_NONE_MM = 1e-6


@frozen
class WayRound:
    """How the turn about the axis is set.

    how   : "level", "upright" or "square" by pins, "middle" by one as high as the axis, "picked
            up" by the spindle, "mark" by eye
    holes : that pins go into, or that are picked up; two of them are in one line
    off_mm : by how much a mark is out at the rim
    is_close : whether more than a mark is wanted: not where one side is screws onto the axis alone
    """

    how: Literal["level", "upright", "middle", "square", "picked up", "mark"]
    holes: tuple[Hole, ...] = ()
    off_mm: float = 0.0
    is_close: bool = True


def way_round(part: Part, setup: Setup, earlier: Sequence[Setup]) -> WayRound | None:
    """What sets the turn in a setup; None where nothing hangs on it."""
    axis = part.stock.axis
    if axis is None:
        return None
    made = [hole for hole in part.holes if any(one.works(hole) for one in earlier)]
    made = [hole for hole in made if is_off_axis(part, hole)]
    here = [hole for hole in part.holes if setup.works(hole) and is_off_axis(part, hole)]
    if not made or not here:
        return None
    is_close = not any(all(_is_screw_onto_axis(part, h) for h in side) for side in (made, here))
    return next(_ways(part, setup, made), WayRound("mark", off_mm=MARK_MM, is_close=is_close))


def _ways(part: Part, setup: Setup, made: Sequence[Hole]) -> Iterator[WayRound]:
    """The ways in which the holes that are made set it, the truest hole first."""
    axis = part.stock.axis
    pins = sorted(filter(takes_pin, made), key=lambda hole: not hole.kind.is_true)
    across = [hole for hole in pins if FACE_AXIS[hole.face] != axis]
    along = [hole for hole in pins if FACE_AXIS[hole.face] == axis]
    is_on_end = bool(abs(setup.rotation[2, axis]) > 0.5)
    if is_on_end:
        for hole in along:
            if hole.is_through or hole.face == setup.face:
                yield WayRound("picked up", (hole,))
        for hole in across:
            yield WayRound("square", (hole,))
        return
    for hole in across:
        is_upright = bool(abs(setup.rotation[2, FACE_AXIS[hole.face]]) > 0.5)
        yield WayRound("upright" if is_upright else "level", (hole,))
    for one, other in combinations(along, 2):
        apart = setup.rotation @ (np.array(one.centre_mm) - np.array(other.centre_mm))
        apart[int(np.argmax(np.abs(setup.rotation[:, axis])))] = 0.0
        if abs(apart[2]) <= _NONE_MM:
            yield WayRound("level", (one, other))
        elif abs(np.linalg.norm(apart) - abs(apart[2])) <= _NONE_MM:
            yield WayRound("upright", (one, other))
    for hole in along:
        aside = setup.rotation @ (np.array(hole.centre_mm) - np.array(part.stock.size_mm) / 2)
        if abs(aside[2]) <= _NONE_MM:
            yield WayRound("middle", (hole,))


def is_off_axis(part: Part, hole: Hole) -> bool:
    """Whether turning the bar about its axis would move the hole."""
    axis = part.stock.axis
    if FACE_AXIS[hole.face] != axis:
        return True
    aside = np.array(hole.centre_mm) - np.array(part.stock.size_mm) / 2
    aside[axis] = 0.0
    return bool(np.linalg.norm(aside) > _NONE_MM)


def _is_screw_onto_axis(part: Part, hole: Hole) -> bool:
    """A grub screw's hole: it points at the axis, and which way round it does matters little."""
    axis, along = part.stock.axis, FACE_AXIS[hole.face]
    return hole.thread is not None and all(
        abs(at - size / 2) <= _NONE_MM
        for each, (at, size) in enumerate(zip(hole.centre_mm, part.stock.size_mm, strict=True))
        if each not in (axis, along)
    )


def takes_pin(hole: Hole) -> bool:
    """Whether a close pin goes into it and stands out."""
    is_deep = hole.is_through or hole.depth_mm >= PIN_DEPTH_TIMES * hole.diameter_mm
    return hole.thread is None and hole.diameter_mm >= LEAST_PIN_MM and is_deep


def hole_to_make_first(part: Part, earlier: Sequence[Setup]) -> Hole | None:
    """A hole of a later setup that, made before all others, would set their turn."""
    made = {hole.name for hole in part.holes if any(one.works(hole) for one in earlier)}
    left = [hole for hole in part.holes if hole.name not in made and takes_pin(hole)]
    across = [hole for hole in left if FACE_AXIS[hole.face] != part.stock.axis]
    return next(iter(sorted(across, key=lambda hole: not hole.kind.is_true)), None)
