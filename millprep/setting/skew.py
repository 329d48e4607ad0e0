"""A part that lies askew: how far it is turned, by two points touched along one of its edges.

The readout's axes stay the machine's; the part is turned about the zero, so every coordinate is
turned with it. Imports layers 0 to 2 and `setups`.
"""

from __future__ import annotations

import math
import re

from millprep.base.findings import MillprepError, stopped
from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.part import FACES, OPPOSITE, Face
from millprep.setting.setups import Setup

MOST_SKEW_DEG = 5.0
LEAST_APART_MM = 10.0
NEAR_EDGE_MM = 0.1  # by which the touched line may miss the edge's own place
_POINT = r"\s*([-+]?\d+(?:\.\d*)?)\s*,\s*([-+]?\d+(?:\.\d*)?)\s*"
_TWO_POINTS = rf"{_POINT}[\s;]{_POINT}"
Place = tuple[float, float]


@frozen
class Skew:
    """How far the part of one setup is turned: anticlockwise as you look down [deg]."""

    setup_number: int
    angle_deg: float

    def turned(self, x_mm: float, y_mm: float) -> Place:
        """Where a place of the part stands on the machine."""
        return turned(x_mm, y_mm, self.angle_deg)


def turned(x_mm: float, y_mm: float, angle_deg: float) -> Place:
    """A place turned about the zero, anticlockwise."""
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return cosine * x_mm - sine * y_mm, sine * x_mm + cosine * y_mm


def _refused(message: str, remedy: str) -> MillprepError:
    return stopped("bad-skew", message, remedy)


def read_points(words: str, units: Units) -> tuple[Place, Place]:
    """Two places of the finder, "0,-5.00 80,-4.60", in mm. Raises MillprepError."""
    match = re.fullmatch(_TWO_POINTS, words, re.ASCII)
    if match is None:
        raise _refused(
            f'--skew: "{words}" is not two points',
            'give X and Y of both as the readout shows them: --skew "0,-5 80,-4.6"',
        )
    scale = 25.4 if units == "inch" else 1.0
    x1, y1, x2, y2 = (float(figure) * scale for figure in match.groups())
    return (x1, y1), (x2, y2)


def read_edge(word: str, setup: Setup) -> Face:
    """The face that was touched: it stands upright. Raises MillprepError."""
    upright = [face for face in FACES if face not in (setup.face, OPPOSITE[setup.face])]
    for face in upright:
        if word.strip().lower() == face:
            return face
    raise _refused(
        f'--skew-edge: "{word}" does not stand upright in setup {setup.number}',
        f"accepted: {', '.join(upright)}",
    )


def skew_of(
    setup: Setup, edge: Face, first: Place, second: Place, reversed_axes: tuple[str, ...] = ()
) -> Skew:
    """The skew that two places of the finder against a face show.

    first, second : as the readout shows them [mm], in any order
    Raises MillprepError for points too near each other or a part turned too far.
    """
    flips = tuple(-1.0 if axis in reversed_axes else 1.0 for axis in "xy")
    dx, dy = (flip * (b - a) for flip, a, b in zip(flips, first, second, strict=True))
    if math.hypot(dx, dy) < LEAST_APART_MM:
        raise _refused(
            f"--skew: the two points are {math.hypot(dx, dy):.3f} mm apart",
            f"touch {edge} at two places at least {LEAST_APART_MM:g} mm apart, better at its ends",
        )
    runs_along_y = edge in (setup.left_hand, setup.right_hand)
    along, across = (dy, -dx) if runs_along_y else (dx, dy)
    angle = math.degrees(math.atan2(across, along))
    angle = (angle + 90.0) % 180.0 - 90.0
    if abs(angle) > MOST_SKEW_DEG:
        raise _refused(
            f"--skew: {edge} is {abs(angle):.2f} degrees askew by these points",
            f"square the part to {MOST_SKEW_DEG:g} degrees or less, or name the edge that was "
            "touched with --skew-edge",
        )
    return Skew(setup.number, angle)


def misses_edge_mm(
    setup: Setup,
    skew: Skew,
    edge: Face,
    first: Place,
    finder_mm: float,
    reversed_axes: tuple[str, ...] = (),
) -> float:
    """By how much the touched line misses the place that zero and skew give that edge [mm]."""
    x, y = (
        -value if axis in reversed_axes else value for axis, value in zip("xy", first, strict=True)
    )
    square = turned(x, y, -skew.angle_deg)
    axis = 0 if edge in (setup.left_hand, setup.right_hand) else 1
    is_low = edge in (setup.left_hand, setup.towards_you)
    beside = setup.low_mm[axis] - finder_mm / 2 if is_low else setup.high_mm[axis] + finder_mm / 2
    return square[axis] - beside
