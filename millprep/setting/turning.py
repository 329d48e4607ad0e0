"""From one lay to the next in the hand's words: roll, tip, turn on the plate.

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

from millprep.setting.setups import Setup

Floats = NDArray[np.float64]
Move = tuple[Literal["x", "y", "z"], int]
"""Axis of the machine and right-handed angle [deg]: 90, -90 or 180."""

_FIRST: tuple[Move | None, ...] = (
    None, ("y", 180), ("x", 180), ("x", 90), ("x", -90), ("y", 90), ("y", -90),
)  # fmt: skip
_ON_THE_PLATE: tuple[Move | None, ...] = (None, ("z", 90), ("z", -90), ("z", 180))
_AXES = {"x": "from hand to hand", "y": "away from you"}
_WHICH_WAY = {
    ("x", 90): "upper side towards you", ("x", -90): "upper side away from you",
    ("y", 90): "upper side to your right hand", ("y", -90): "upper side to your left hand",
    ("z", 90): "anticlockwise", ("z", -90): "clockwise",
}  # fmt: skip


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


def moves_between(before: Setup, after: Setup) -> tuple[Move, ...]:
    """The fewest moves, at most two, that bring a part from one lay into the other."""
    wanted = after.rotation @ before.rotation.T
    return next(moves for moves, rotation in _all_moves() if np.allclose(rotation, wanted))


def turn_words(moves: tuple[Move, ...], jaws: Literal["x", "y"] | None) -> str:
    """The moves as a hand would be told; `jaws` is the axis that the jaws close along, if any."""
    if not moves:
        return "leave it as it lies"
    return ", then ".join(_words(move, jaws) for move in moves)


def _words(move: Move, jaws: Literal["x", "y"] | None) -> str:
    letter, angle_deg = move
    amount = "half way" if angle_deg == 180 else "a quarter"
    way = f", {_WHICH_WAY[move]}" if move in _WHICH_WAY else ""
    if letter == "z":
        return f"turn it {amount} round on the plate{way}"
    beside = (
        "" if jaws is None else " (square to the jaws)" if letter == jaws else " (along the jaws)"
    )
    if angle_deg == 180:
        verb = "turn it end for end" if letter == jaws else "roll it right over"
        return f"{verb} about the axis {_AXES[letter]}{beside}"
    verb = "tip" if letter == "y" else "roll"
    return f"{verb} it {amount} about the axis {_AXES[letter]}{beside}{way}"
