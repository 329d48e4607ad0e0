"""A pen before a pen that stretches what is drawn, for a printer that shrinks or stretches paper.

Words keep their height: only places move. Circles become the ovals that print as circles.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from millprep.base.records import frozen
from millprep.canvas.dashes import dashed_arc
from millprep.canvas.dots import Dots
from millprep.canvas.pen import STYLES, Anchor, Pen, Place, Style, Tinter, on_circle, sweep_deg

_STEP_DEG = 2.0  # chords of a circle of 100 mm stay within 0.008 mm of it


@frozen
class CorrectedPen:
    """Every place, stretched by a factor along each axis, its low corner put at `corner`."""

    pen: Pen
    factors: tuple[float, float]
    corner: Place = (0.0, 0.0)

    def _at(self, place: Place) -> Place:
        return (
            self.corner[0] + self.factors[0] * place[0],
            self.corner[1] + self.factors[1] * place[1],
        )

    def line(self, start: Place, end: Place, style: Style) -> None:
        self.pen.line(self._at(start), self._at(end), style)

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        across, up = self.factors
        if across == up:
            self.pen.arc(self._at(centre), radius_mm * across, start_deg, end_deg, style)
            return
        sweep = sweep_deg(start_deg, end_deg)
        # dashes are laid out here: of the short lines that an oval is made of, none would hold one
        for begin, stop in dashed_arc(radius_mm, start_deg, sweep, STYLES[style].dashes_mm):
            count = max(2, round((stop - begin) / _STEP_DEG))
            places = [
                self._at(on_circle(centre, radius_mm, begin + (stop - begin) * i / count))
                for i in range(count + 1)
            ]
            if stop - begin >= 360:
                self.pen.outline(places[:-1], style)
                continue
            for start, end in pairwise(places):
                self.pen.line(start, end, style)

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        self.pen.outline([self._at(corner) for corner in corners], style)

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        self.pen.text(self._at(at), words, height_mm, anchor, turn_deg)

    def spot(self, centre: Place, radius_mm: float) -> None:
        self.pen.spot(self._at(centre), radius_mm)


@frozen
class MovedPen(CorrectedPen):
    """The same with shades, for sheets that stand above each other in one picture."""

    pen: Tinter
    factors: tuple[float, float] = (1.0, 1.0)

    def tint(self, low: Place, high: Place, dots: Dots) -> None:
        self.pen.tint(self._at(low), self._at(high), dots)
