"""From one lay to the next in moves of the hand: roll, tip, turn on the plate.

    away                     about X, "the axis from hand to hand"
      Y ^   Z up             about Y, "the axis away from you"
        | /                  about Z, "on the plate", as you look down
        o----> X             Angles are right-handed: +90 about Z is anticlockwise as seen
   left hand  right hand     from above, +90 about X brings the upper side towards you.

Pure functions; imports layers 0 to 2 and `setups`.
"""

from __future__ import annotations

from functools import cache
from itertools import product
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from millprep.model.part import Face
from millprep.setting.setups import Setup, lay_rotation

Floats = NDArray[np.float64]
Move = tuple[Literal["x", "y", "z"], int]
"""Axis of the machine and right-handed angle [deg]: 90, -90 or 180."""

_FIRST: tuple[Move | None, ...] = (
    *(None, ("y", 180), ("x", 180)),
    *(("x", 90), ("x", -90), ("y", 90), ("y", -90)),
)
_ON_THE_PLATE: tuple[Move | None, ...] = (None, ("z", 90), ("z", -90), ("z", 180))


def rotation_of(move: Move) -> Floats:
    """(3, 3) what a move does to directions in the machine's axes."""
    letter, angle_deg = move
    first, second = {"x": (1, 2), "y": (2, 0), "z": (0, 1)}[letter]
    cosine, sine = {90: (0.0, 1.0), -90: (0.0, -1.0), 180: (-1.0, 0.0)}[angle_deg]
    rotation = np.eye(3)
    rotation[first, first] = rotation[second, second] = cosine
    rotation[second, first], rotation[first, second] = sine, -sine
    return rotation


@cache
def _all_moves() -> tuple[tuple[tuple[Move, ...], Floats], ...]:
    """Every way of at most two moves, the shortest first; between them they reach all lays."""
    found = []
    for pair in product(_FIRST, _ON_THE_PLATE):
        moves = tuple(move for move in pair if move is not None)
        rotation = np.eye(3)
        for move in moves:
            rotation = rotation_of(move) @ rotation
        found.append((moves, rotation))
    return tuple(sorted(found, key=lambda one: len(one[0])))


Lay = tuple[Face, Face]
"""The face that is up, and the one towards you."""


def moves_between(before: Setup, after: Setup) -> tuple[Move, ...]:
    """The fewest moves, at most two, that bring a part from one lay into the other."""
    return _moves((before.face, before.towards_you), (after.face, after.towards_you))


def count_of_turns(before: Lay, after: Lay) -> int:
    """How many moves that takes."""
    return len(_moves(before, after))


@cache
def _moves(before: Lay, after: Lay) -> tuple[Move, ...]:
    wanted = lay_rotation(*after) @ lay_rotation(*before).T
    return next(moves for moves, rotation in _all_moves() if np.array_equal(rotation, wanted))
