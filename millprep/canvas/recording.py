"""A pen that keeps what was drawn: for a second drawing, for the room it takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from millprep.canvas.dots import Dots
from millprep.canvas.pen import Anchor, Pen, Place, Style


@dataclass
class RecordingPen:
    """Keeps (verb, arguments) and can draw them again with another pen."""

    strokes: list[tuple[str, tuple[Any, ...]]] = field(default_factory=list)

    def line(self, start: Place, end: Place, style: Style) -> None:
        self.strokes.append(("line", (start, end, style)))

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        self.strokes.append(("arc", (centre, radius_mm, start_deg, end_deg, style)))

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        self.strokes.append(("outline", (tuple(corners), style)))

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        self.strokes.append(("text", (at, words, height_mm, anchor, turn_deg)))

    def spot(self, centre: Place, radius_mm: float) -> None:
        self.strokes.append(("spot", (centre, radius_mm)))

    def tint(self, low: Place, high: Place, dots: Dots) -> None:
        self.strokes.append(("tint", (low, high, dots)))

    def cover(self, corners: Sequence[Place]) -> None:
        self.strokes.append(("cover", (tuple(corners),)))

    def fill(self, corners: Sequence[Place]) -> None:
        self.strokes.append(("fill", (tuple(corners),)))

    def curve(self, places: Sequence[Place], style: Style) -> None:
        self.strokes.append(("curve", (tuple(places), style)))

    def lettering(
        self, at: Place, words: str, height_mm: float, right: Place, up: Place, anchor: Anchor
    ) -> None:
        self.strokes.append(("lettering", (at, words, height_mm, right, up, anchor)))

    def replay(self, pen: Pen) -> None:
        """Draw everything again."""
        for verb, arguments in self.strokes:
            getattr(pen, verb)(*arguments)
