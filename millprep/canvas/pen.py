"""The pen: five verbs that every drawing is made of, and the lines it may draw with.

A drawing calls the verbs in millimetres on the paper, x to the right and y up, angles in degrees
anticlockwise from the right. A pen turns them into a format and knows nothing of what is drawn, so
a new format is one new pen. Line kinds and their widths follow ISO 128-2 (wide to narrow 2 : 1).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal, Protocol

from millprep.base.records import frozen
from millprep.canvas.dots import Dots

Place = tuple[float, float]
Style = Literal["edge", "thin", "hidden", "centre", "mark", "adjacent"]
Anchor = Literal["left", "middle", "right"]


@frozen
class Stroke:
    """How a line looks: width and dashes on the paper [mm]. All are black, told apart in a copy."""

    width_mm: float
    dashes_mm: tuple[float, ...] = ()


STYLES: dict[Style, Stroke] = {
    "edge": Stroke(0.5),
    "thin": Stroke(0.25),
    "hidden": Stroke(0.25, (3.0, 1.5)),
    "centre": Stroke(0.25, (6.0, 1.5, 0.5, 1.5)),
    "mark": Stroke(0.18),
    "adjacent": Stroke(0.25, (6.0, 1.2, 0.5, 1.2, 0.5, 1.2)),
}

FINE: dict[Style, Stroke] = {
    "edge": Stroke(0.45),
    "thin": Stroke(0.18),
    "hidden": Stroke(0.18, (0.9, 0.6)),
    "centre": Stroke(0.18, (3.0, 0.8, 0.3, 0.8)),
    "mark": Stroke(0.18),
    "adjacent": Stroke(0.18, (3.0, 0.6, 0.3, 0.6, 0.3, 0.6)),
}
"""Of a picture that is looked at beside words: nothing in it differs by its grey alone."""


class Pen(Protocol):
    """The verbs."""

    def line(self, start: Place, end: Place, style: Style) -> None:
        """A straight line."""

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        """An arc, anticlockwise from start to end; a whole circle when they differ by 360."""

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        """A closed line through the corners."""

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        """Words on their base line; `height_mm` is that of a capital."""

    def spot(self, centre: Place, radius_mm: float) -> None:
        """A filled dot."""


class Tinter(Pen, Protocol):
    """A pen for pictures with shades."""

    def tint(self, low: Place, high: Place, dots: Dots) -> None:
        """A picture in dots, from its lower left corner to its upper right."""


class Brush(Pen, Protocol):
    """A pen for pictures, which can hide what lies behind, and draws in planes seen aslant."""

    def cover(self, corners: Sequence[Place]) -> None:
        """Paint over with the colour of the paper."""

    def fill(self, corners: Sequence[Place]) -> None:
        """Paint in the colour of the lines."""

    def curve(self, places: Sequence[Place], style: Style) -> None:
        """Bezier curves one after the other: a beginning, then two handles and an end for each."""

    def lettering(
        self, at: Place, words: str, height_mm: float, right: Place, up: Place, anchor: Anchor
    ) -> None:
        """Words in a plane: what a millimetre to the right and one up in it are on the paper."""


def circle(pen: Pen, centre: Place, radius_mm: float, style: Style) -> None:
    """A whole circle."""
    pen.arc(centre, radius_mm, 0.0, 360.0, style)


def sweep_deg(start_deg: float, end_deg: float) -> float:
    """How far an arc goes round, 0 < sweep <= 360 for angles less than a turn apart."""
    return end_deg - start_deg if end_deg > start_deg else end_deg - start_deg + 360


def on_circle(centre: Place, radius_mm: float, angle_deg: float) -> Place:
    """The place on a circle at an angle."""
    turn = math.radians(angle_deg)
    return centre[0] + radius_mm * math.cos(turn), centre[1] + radius_mm * math.sin(turn)


def along_curve(places: Sequence[Place], steps: int = 4) -> list[Place]:
    """Places along Bezier curves one after the other, so many steps to each."""
    found = [places[0]]
    for start in range(0, len(places) - 1, 3):
        for step in range(1, steps + 1):
            t = step / steps
            weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
            pairs = [*zip(weights, places[start : start + 4], strict=True)]
            found.append((sum(w * x for w, (x, _) in pairs), sum(w * y for w, (_, y) in pairs)))
    return found
