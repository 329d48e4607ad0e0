"""A pen before a pen that draws only what lies in a window: a part of what is too large for a page.

Words are drawn whole or not at all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from millprep.base.records import frozen
from millprep.canvas.lettering import corners_of
from millprep.canvas.pen import Anchor, Pen, Place, Style, on_circle, sweep_deg

Window = tuple[float, float, float, float]
_NOTHING_MM = 1e-6


@frozen
class ClippedPen:
    """What lies in `window` (low x, low y, high x, high y), moved by `shift`."""

    pen: Pen
    window: Window
    shift: Place = (0.0, 0.0)

    def _at(self, place: Place) -> Place:
        return place[0] + self.shift[0], place[1] + self.shift[1]

    def _has(self, place: Place) -> bool:
        x1, y1, x2, y2 = self.window
        return x1 <= place[0] <= x2 and y1 <= place[1] <= y2

    def line(self, start: Place, end: Place, style: Style) -> None:
        kept = _kept(start, end, self.window)
        if kept is not None:
            self.pen.line(self._at(kept[0]), self._at(kept[1]), style)

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        sweep = sweep_deg(start_deg, end_deg)
        cuts = sorted((angle - start_deg) % 360 for angle in self._crossings(centre, radius_mm))
        stops = [0.0, *(cut for cut in cuts if 0 < cut < sweep), sweep]
        kept = [
            (begin, end)
            for begin, end in pairwise(stops)
            if self._has(on_circle(centre, radius_mm, start_deg + (begin + end) / 2))
        ]
        if len(stops) == 2 and kept:
            self.pen.arc(self._at(centre), radius_mm, start_deg, end_deg, style)
            return
        for begin, end in kept:
            self.pen.arc(self._at(centre), radius_mm, start_deg + begin, start_deg + end, style)

    def _crossings(self, centre: Place, radius_mm: float) -> list[float]:
        """Angles at which a circle crosses the lines of the window's sides."""
        x1, y1, x2, y2 = self.window
        angles = []
        for axis, side in ((0, x1), (0, x2), (1, y1), (1, y2)):
            aside = (side - centre[axis]) / radius_mm if radius_mm else math.inf
            if abs(aside) < 1:
                turn = math.degrees(math.acos(aside) if axis == 0 else math.asin(aside))
                angles += [turn, -turn] if axis == 0 else [turn, 180 - turn]
        return angles

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        if all(self._has(corner) for corner in corners):
            self.pen.outline([self._at(corner) for corner in corners], style)
            return
        for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
            self.line(start, end, style)

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        if all(self._has(corner) for corner in corners_of(at, words, height_mm, anchor, turn_deg)):
            self.pen.text(self._at(at), words, height_mm, anchor, turn_deg)

    def spot(self, centre: Place, radius_mm: float) -> None:
        if self._has(centre):
            self.pen.spot(self._at(centre), radius_mm)


def shares_within(start: Place, end: Place, window: Window) -> tuple[float, float]:
    """The shares along a line at which it enters and leaves a window; 1 and 0 where it misses."""
    first, last = 0.0, 1.0
    for axis in (0, 1):
        along = end[axis] - start[axis]
        low, high = window[axis] - start[axis], window[axis + 2] - start[axis]
        if along == 0:
            if low > 0 or high < 0:
                return 1.0, 0.0
            continue
        enters, leaves = sorted((low / along, high / along))
        first, last = max(first, enters), min(last, leaves)
    return first, last


def _kept(start: Place, end: Place, window: Window) -> tuple[Place, Place] | None:
    """What of a line lies in a window."""
    first, last = shares_within(start, end, window)
    if (last - first) * math.dist(start, end) < _NOTHING_MM:
        return None
    ends = [
        (start[0] + t * (end[0] - start[0]), start[1] + t * (end[1] - start[1]))
        for t in (first, last)
    ]
    return ends[0], ends[1]
