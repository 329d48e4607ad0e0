"""The part seen from its side, and what is hidden in it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from millprep.canvas.pen import Pen, Place, circle
from millprep.canvas.spread import Labels
from millprep.sheets.sights import SeenLine, SeenRing
from millprep.writers.drawing.frame import Frame, PlacedSight, caption_of
from millprep.writers.drawing.table import TEXT_MM

_BEYOND_MM = 1.5
At = Callable[[Place], Place]


def draw_sights(frame: Frame, pen: Pen, labels: Labels) -> None:
    for placed in frame.sights:
        _draw_sight(frame, placed, pen, labels)


def _draw_sight(frame: Frame, placed: PlacedSight, pen: Pen, labels: Labels) -> None:
    sight, factor = placed.sight, frame.scale.factor

    def at(place: Place) -> Place:
        return (
            placed.at[0] + (place[0] - sight.low_mm[0]) * factor,
            placed.at[1] + (place[1] - sight.low_mm[1]) * factor,
        )

    (x1, y1), (x2, y2) = at(sight.low_mm), at(sight.high_mm)
    if sight.is_round:
        circle(pen, ((x1 + x2) / 2, (y1 + y2) / 2), (x2 - x1) / 2, "edge")
    else:
        pen.outline([(x1, y1), (x2, y1), (x2, y2), (x1, y2)], "edge")
    draw_seen(at, factor, sight.lines, sight.rings, pen)
    pen.text((x1, y2 + 2.8), caption_of(sight), TEXT_MM)
    labels.block_words((x1 - 2, y1 - 2, x2 + 2, y2 + 2.8 + TEXT_MM))


def draw_seen(
    at: At, factor: float, lines: Iterable[SeenLine], rings: Iterable[SeenRing], pen: Pen
) -> None:
    """Lines and circles of a view, where `at` puts them."""
    for line in lines:
        pen.line(*ends_of(at, line), line.style)
    for ring in rings:
        draw_ring(pen, at(ring.centre), ring.radius_mm * factor, ring.style)


def ends_of(at: At, line: SeenLine) -> tuple[Place, Place]:
    """Where a line is drawn: a centre line reaches out of its hole."""
    start, end = at(line.start), at(line.end)
    is_centre = line.style == "centre"
    return (_longer(start, end), _longer(end, start)) if is_centre else (start, end)


def _longer(start: Place, end: Place) -> Place:
    length = math.dist(start, end)
    share = _BEYOND_MM / length if length else 0.0
    return start[0] - share * (end[0] - start[0]), start[1] - share * (end[1] - start[1])


def draw_ring(pen: Pen, centre: Place, radius: float, style: str) -> None:
    """A circle; of a thread three quarters, open at the upper right (ISO 6410-1)."""
    if style == "thread":
        pen.arc(centre, radius, 95.0, 355.0, "thin")
    else:
        circle(pen, centre, radius, style)  # type: ignore[arg-type]  # the other styles are lines
