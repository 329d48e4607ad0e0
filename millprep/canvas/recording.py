"""Pens that keep what was drawn: for tests, for a second drawing, for the room it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from millprep.canvas.pen import Anchor, Pen, Place, Style

_CAPITAL_WIDTH = 0.7  # width of a letter over the height of a capital, near enough for room


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
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left",
        turn_deg: float = 0.0,
    ) -> None:  # fmt: skip
        self.strokes.append(("text", (at, words, height_mm, anchor, turn_deg)))

    def spot(self, centre: Place, radius_mm: float) -> None:
        self.strokes.append(("spot", (centre, radius_mm)))

    def replay(self, pen: Pen) -> None:
        """Draw everything again."""
        for verb, arguments in self.strokes:
            getattr(pen, verb)(*arguments)


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
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left",
        turn_deg: float = 0.0,
    ) -> None:  # fmt: skip
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
        sweep = end_deg - start_deg if end_deg > start_deg else end_deg - start_deg + 360
        quarters = [
            90 * n for n in range(math.ceil(start_deg / 90), 1 + int((start_deg + sweep) // 90))
        ]
        for angle in (start_deg, start_deg + sweep, *quarters):
            turn = math.radians(angle)
            self._take(
                (centre[0] + radius_mm * math.cos(turn), centre[1] + radius_mm * math.sin(turn))
            )

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        self._take(*corners)

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left",
        turn_deg: float = 0.0,
    ) -> None:  # fmt: skip
        """Estimated: letters of 0.7 of the height."""
        length = len(words) * height_mm * _CAPITAL_WIDTH
        begin = -length * {"left": 0.0, "middle": 0.5, "right": 1.0}[anchor]
        turn = math.radians(turn_deg)
        for along in (begin, begin + length):
            for up in (0.0, height_mm):
                self._take(
                    (
                        at[0] + along * math.cos(turn) - up * math.sin(turn),
                        at[1] + along * math.sin(turn) + up * math.cos(turn),
                    )
                )

    def spot(self, centre: Place, radius_mm: float) -> None:
        self.arc(centre, radius_mm, 0.0, 360.0, "thin")
