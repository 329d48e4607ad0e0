"""One view of a dry run on paper: what stands there, the tool's ways, letters and numbers.

Draws with any pen. Imports `views`, `labels` and the canvas.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from millprep.canvas.pen import STYLES, Pen, Place, Style, circle
from millprep.canvas.recording import RecordingPen
from millprep.model.scene import Box, blanks_of
from millprep.reading.simulate.path import Floats, Path
from millprep.report.labels import SMALL_MM, Room, draw_letters, draw_marks
from millprep.report.views import Scaled, Shown, Spots, lines_of, outline_of

CAPTION_MM = 5.0
STEP_MM = 0.05  # what paper can show
SHORT_MM, SHORT_DASH_MM = 9.0, 1.5

STOCK: Style = "edge"
RAPID: Style = "hidden"
FEED: Style = "thin"
FIXTURE: Style = "centre"
HOLE: Style = "thin"
BACKING: Style = "adjacent"
Lines = tuple[Floats, Floats, bool]
"""Of `lines_of`."""


def scale_words(scale: float) -> str:
    """As a drawing gives it (ISO 5455)."""
    return f"scale {scale:g} : 1, mm" if scale >= 1 else f"scale 1 : {1 / scale:g}, mm"


def draw_view(
    pen: Pen,
    shown: Shown,
    paths: Sequence[Path],
    field: Scaled,
    places: Spots,
    above_mm: float = -math.inf,
    most_ink: float = math.inf,
) -> bool:
    """One view; whether all of its lines are drawn.

    above_mm : what lies below that is hidden
    most_ink : the ways of the tool are left out where they cover more than that share of the view
    """
    drawn = RecordingPen()
    fixtures = [
        (letter_of(number), box)
        for number, box in enumerate(shown.scene.fixtures if shown.scene is not None else ())
        if box.high_mm[2] > above_mm
    ]
    _draw_solids(drawn, shown, [box for _, box in fixtures], field, above_mm)
    lines = lines_of(paths, field.view, field.window, STEP_MM / field.scale)
    words = field.view.words
    if _ink(lines, field) > most_ink:
        words += ", without the ways of the tool: they would hide it"
    else:
        _draw_ways(drawn, lines, field)
    _draw_holes(drawn, shown, field)
    caption = field.low[0], field.low[1] - CAPTION_MM + 1
    drawn.text(caption, words, SMALL_MM)
    room = Room(field, drawn)
    for letters, low, high in _lettered(fixtures, field):
        draw_letters(drawn, room, letters, low, high)
    drawn.replay(pen)
    draw_marks(pen, field, drawn, places)
    return lines[2]


def _lettered(fixtures: Sequence[tuple[str, Box]], field: Scaled) -> list[tuple[str, Place, Place]]:
    """(letters, low and high corner) of the fixtures in view; one that hides another shares."""
    seen: dict[tuple[Place, Place], list[str]] = {}
    for letter, box in fixtures:
        _, ends = outline_of(box, field.view, field.window)
        low, high = field.at(ends[0], ends[1]), field.at(ends[2], ends[3])
        if low[0] < high[0] and low[1] < high[1]:
            seen.setdefault((low, high), []).append(letter)
    return [(", ".join(letters), low, high) for (low, high), letters in seen.items()]


def _draw_solids(
    pen: Pen, shown: Shown, fixtures: Sequence[Box], field: Scaled, above_mm: float
) -> None:
    """What stands there."""
    scene = shown.scene
    if scene is None:
        return
    for box in scene.backing:
        if box.high_mm[2] > above_mm:
            _outline(pen, field, box, BACKING)
    for box in fixtures:
        _outline(pen, field, box, FIXTURE)
    for blank in blanks_of(scene.stock):
        _outline(pen, field, blank, STOCK)


def _ink(lines: Lines, field: Scaled) -> float:
    """The share of a view that the ways of the tool cover; all of it where they are too many."""
    rapids, feeds, is_all = lines
    if not is_all:
        return math.inf
    long = sum(float(np.hypot(*(one[2:] - one[:2])).sum()) for one in (rapids, feeds)) * field.scale
    area = (field.high[0] - field.low[0]) * (field.high[1] - field.low[1])
    return long * STYLES[FEED].width_mm / area


def _draw_ways(pen: Pen, lines: Lines, field: Scaled) -> None:
    rapids, feeds, _ = lines
    for x1, y1, x2, y2 in rapids.T.tolist():
        _rapid(pen, field.at(x1, y1), field.at(x2, y2))
    for x1, y1, x2, y2 in feeds.T.tolist():
        pen.line(field.at(x1, y1), field.at(x2, y2), FEED)


def _draw_holes(pen: Pen, shown: Shown, field: Scaled) -> None:
    """From above."""
    if field.view.name == "above":
        for hole in shown.holes:
            if hole.diameter_mm:
                _hole(pen, field, (hole.x_mm, hole.y_mm), hole.diameter_mm / 2)


def _hole(pen: Pen, field: Scaled, middle: Place, radius_mm: float) -> None:
    """Where all of it lies in the window."""
    low, high = field.window.low, field.window.high
    if all(low[n] <= middle[n] - radius_mm and middle[n] + radius_mm <= high[n] for n in (0, 1)):
        circle(pen, field.at(*middle), radius_mm * field.scale, HOLE)


def _rapid(pen: Pen, start: Place, end: Place) -> None:
    """A broken line, and one too short for its dashes in dashes of its own."""
    length = math.dist(start, end)
    if length >= SHORT_MM:
        pen.line(start, end, RAPID)
        return
    count = max(2, round(length / SHORT_DASH_MM))
    for number in range(count):
        one, two = ((number + share) / count for share in (0.2, 0.8))
        (x1, y1), (x2, y2) = start, end
        pen.line(
            (x1 + one * (x2 - x1), y1 + one * (y2 - y1)),
            (x1 + two * (x2 - x1), y1 + two * (y2 - y1)),
            FEED,
        )


def _outline(pen: Pen, field: Scaled, solid: object, style: Style) -> None:
    kind, figures = outline_of(solid, field.view, field.window)  # type: ignore[arg-type]
    if kind == "circle":
        circle(pen, field.at(figures[0], figures[1]), figures[2] * field.scale, style)
        return
    low, high = field.at(figures[0], figures[1]), field.at(figures[2], figures[3])
    if high[0] > low[0] and high[1] > low[1]:
        pen.outline([low, (high[0], low[1]), high, (low[0], high[1])], style)


def letter_of(number: int) -> str:
    return chr(ord("A") + number % 26)
