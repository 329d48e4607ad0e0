"""Pens that feed several others, and that measure. No tests here."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from millprep.canvas.lettering import corners_of
from millprep.canvas.pen import Anchor, Pen, Place, Style, on_circle, sweep_deg


@dataclass
class TeePen:
    """Feeds several pens in one pass."""

    pens: Sequence[Pen]

    def line(self, start: Place, end: Place, style: Style) -> None:
        for pen in self.pens:
            pen.line(start, end, style)

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        for pen in self.pens:
            pen.arc(centre, radius_mm, start_deg, end_deg, style)

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        for pen in self.pens:
            pen.outline(corners, style)

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        for pen in self.pens:
            pen.text(at, words, height_mm, anchor, turn_deg)

    def spot(self, centre: Place, radius_mm: float) -> None:
        for pen in self.pens:
            pen.spot(centre, radius_mm)


@dataclass
class Bounds:
    """A pen that only measures: the box around everything drawn; None until something is."""

    low: Place | None = None
    high: Place | None = None

    def _take(self, *places: Place) -> None:
        every = [*places, *([self.low] if self.low else []), *([self.high] if self.high else [])]
        self.low = min(x for x, _ in every), min(y for _, y in every)
        self.high = max(x for x, _ in every), max(y for _, y in every)

    def line(self, start: Place, end: Place, style: Style) -> None:
        self._take(start, end)

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        """End points, and the quarter points that the arc passes."""
        sweep = sweep_deg(start_deg, end_deg)
        quarters = [
            90 * n for n in range(math.ceil(start_deg / 90), 1 + int((start_deg + sweep) // 90))
        ]
        for angle in (start_deg, start_deg + sweep, *quarters):
            self._take(on_circle(centre, radius_mm, angle))

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        self._take(*corners)

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        """The room that `lettering` keeps for them."""
        self._take(*corners_of(at, words, height_mm, anchor, turn_deg))

    def spot(self, centre: Place, radius_mm: float) -> None:
        self.arc(centre, radius_mm, 0.0, 360.0, "thin")
