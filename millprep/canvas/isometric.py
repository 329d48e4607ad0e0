"""Looking from above at what stands there: where a place comes on the paper.

    seen from the left         seen from the right
      Y     Z     X              Z
       \\    |    /               |    Y         a millimetre along any axis is as long on the
         \\  |  /                 |  /           paper as along the others (ISO 5456-3, isometric)
           \\|/                   o
                                    \\ X

Imports layer 0.
"""

from __future__ import annotations

import math

from millprep.base.records import frozen
from millprep.canvas.pen import Place

Point = tuple[float, float, float]
ACROSS, UP = math.cos(math.radians(30)), math.sin(math.radians(30))
_QUARTER = 4 / 3 * math.tan(math.radians(90) / 4)  # handles of the Bezier curve of a quarter circle


@frozen
class Isometric:
    """From which hand one looks, and the scale; `shift` is where zero comes on the paper."""

    is_from_left: bool
    scale: float = 1.0
    shift: Place = (0.0, 0.0)

    @property
    def towards(self) -> Point:
        """The way to the eye, in setup axes."""
        return (-1.0 if self.is_from_left else 1.0), -1.0, 1.0

    def way(self, along: Point) -> Place:
        """A way in setup axes as it is on the paper [mm]."""
        x, y, z = along
        side = x - y if self.is_from_left else x + y
        rise = x + y if self.is_from_left else y - x
        return self.scale * ACROSS * side, self.scale * (UP * rise + z)

    def at(self, place: Point) -> Place:
        """Where a place in setup axes comes on the paper."""
        across, up = self.way(place)
        return across + self.shift[0], up + self.shift[1]

    def circle(self, centre: Point, right: Point, up: Point, quarters: int = 4) -> list[Place]:
        """Bezier curves round a circle whose radius lies along `right` and `up`, from the right."""
        x, y = self.at(centre)
        (a, b), (c, d) = self.way(right), self.way(up)
        places: list[Place] = []
        for quarter in range(quarters):
            cosine, sine = ((1, 0), (0, 1), (-1, 0), (0, -1))[quarter]
            handles = (
                (cosine, sine),
                (cosine - _QUARTER * sine, sine + _QUARTER * cosine),
                (-sine + _QUARTER * cosine, cosine + _QUARTER * sine),
                (-sine, cosine),
            )
            for across, rise in handles[1 if places else 0 :]:
                places.append((x + across * a + rise * c, y + across * b + rise * d))
        return places
