"""The sheet of what is left of the stock: shaded, from above with the tool's ways, and isometric.

Draws with a pen that has shades. Imports `views`, `shades`, `drawn`, `labels` and the canvas.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from millprep.base.bounds import MOST_SQUARES_LEFT
from millprep.canvas.isometric import ACROSS, UP, Isometric
from millprep.canvas.pen import Tinter
from millprep.canvas.recording import RecordingPen
from millprep.model.scene import Scene
from millprep.reading.simulate.left import Left, left_of
from millprep.reading.simulate.path import Floats
from millprep.reading.simulate.solid import depth_inside, top_at
from millprep.report.drawn import CAPTION_MM, draw_view, scale_words
from millprep.report.labels import SMALL_MM, draw_marks
from millprep.report.paper import EDGE_MM, GAP_MM, HEAD_MM, PAGE_MM, draw_head, fitting
from millprep.report.section import draw_cutting_line, figure_of
from millprep.report.shades import isometric_of, plan_of
from millprep.report.views import VIEWS, Scaled, Shown, Spots, View, Window, spots_of, window_of

DOTS_A_MM = 6.0
SIGHT = Isometric(is_from_left=False)
ISOMETRIC = View("isometric", "isometric, from the right", 0, 1)
LEAST_SQUARE_MM = 0.05
MOST_INK = 0.3  # of the plan, before the ways of the tool are left out
_HAIR = 1e-6
_SHARE = 0.6  # of the sheet, the plan takes at most
_NOTES = 2  # lines of words at the foot
Size = tuple[float, float]
Room = tuple[float, float, float, float]
"""Left, low, width, height."""


def draw_left(pen: Tinter, shown: Shown) -> None:
    """The sheet."""
    scene = shown.scene
    assert scene is not None
    paths = shown.paths()
    window = _about_stock(scene, window_of(shown, paths))
    plan_mm, seen_mm = (window.size(0), window.size(1)), _isometric_size(scene)
    scale, seen_room = _arranged(plan_mm, seen_mm)
    corner = EDGE_MM, PAGE_MM[1] - EDGE_MM - HEAD_MM - scale * plan_mm[1]
    plan = Scaled(VIEWS[0], window, corner, scale)
    dot_mm = 1 / scale / DOTS_A_MM
    squares = squares_a_dot(scene, dot_mm)
    left = left_about(shown, dot_mm / squares)
    draw_head(pen, f"WHAT IS LEFT   {shown.title}", f"plan: {scale_words(scale)}")
    places = spots_of(shown, paths)
    _tint_plan(pen, left, plan, squares)
    draw_view(pen, shown, paths, plan, places, scene.stock.low_mm[2], MOST_INK)
    for number in range(len(shown.sections)):
        draw_cutting_line(pen, shown, plan, number)
    _draw_isometric(pen, shown, left, seen_room, places)
    for line, words in enumerate(words_of(shown, left)[::-1]):
        pen.text((EDGE_MM, EDGE_MM + 2 * SMALL_MM * line), words, SMALL_MM)


def squares_a_dot(scene: Scene, dot_mm: float) -> int:
    """How many squares along a dot: as fine as a stock of that size bears."""
    (x0, y0, _), (x1, y1, _) = scene.stock.low_mm, scene.stock.high_mm
    fine = max(math.sqrt((x1 - x0) * (y1 - y0) / MOST_SQUARES_LEFT), LEAST_SQUARE_MM)
    return max(1, math.ceil(dot_mm / fine))


def left_about(shown: Shown, square_mm: float) -> Left:
    """What is left of the whole stock, in squares of that size, one more on each side."""
    assert shown.scene is not None
    assert shown.record is not None
    (x0, y0, _), (x1, y1, _) = shown.scene.stock.low_mm, shown.scene.stock.high_mm
    around = x0 - square_mm, y0 - square_mm, x1 + square_mm, y1 + square_mm
    return left_of(shown.scene, shown.record, shown.sideways, around, square_mm)


def words_of(shown: Shown, left: Left) -> list[str]:
    """What the picture is worth: its squares, and what it does not show."""
    hidden = ["threads", "what a crash would tear off"]
    if any(tool.diameter_mm is None for _, run in shown.runs for tool in run.tools.values()):
        hidden.append("what tools of unknown size cut")
    if any(run.compensated for _, run in shown.runs):
        hidden.append("how far cutter compensation moves a cut")
    units = shown.units
    off_mm = math.ceil(100 * left.error_mm - _HAIR) / 100
    return [
        f"Worked out in squares of {figure_of(left.square_mm, units)} {units}: an edge is shown "
        f"within {figure_of(off_mm, units)} {units} of where the cut leaves it, a level floor at "
        "its height.",
        f"Not shown: {', '.join(hidden)}.",
    ]


def _about_stock(scene: Scene, window: Window) -> Window:
    """The stock and a little round it, within what the three views show."""
    low, high = scene.stock.low_mm, scene.stock.high_mm
    margin = max(high[0] - low[0], high[1] - low[1]) / 20 + 2.0
    return Window(
        (max(window.low[0], low[0] - margin), max(window.low[1], low[1] - margin), window.low[2]),
        (
            min(window.high[0], high[0] + margin),
            min(window.high[1], high[1] + margin),
            window.high[2],
        ),
    )


def _isometric_size(scene: Scene) -> Size:
    wide, deep, high = (b - a for a, b in zip(scene.stock.low_mm, scene.stock.high_mm, strict=True))
    return ACROSS * (wide + deep), UP * (wide + deep) + high


def _arranged(plan: Size, seen: Size) -> tuple[float, Room]:
    """Scale of the plan, at the upper left, and the room of the isometric picture.

    Beside or below it, whichever lets the smaller of the two be larger.
    """
    low = EDGE_MM + 2 * SMALL_MM * _NOTES + CAPTION_MM + 2
    wide, high = PAGE_MM[0] - 2 * EDGE_MM, PAGE_MM[1] - EDGE_MM - HEAD_MM - low
    gap = GAP_MM + CAPTION_MM
    choices = []
    for is_beside in (True, False):
        room = (_SHARE * wide, high) if is_beside else (wide, _SHARE * (high - gap))
        scale = fitting(*zip(plan, room, strict=True))
        x, y = (scale * plan[0] + GAP_MM, 0.0) if is_beside else (0.0, scale * plan[1] + gap)
        rest = EDGE_MM + x, low, wide - x, high - y
        choices.append((min(scale, _factor(rest, seen)), scale, rest))
    _, scale, rest = max(choices)
    return scale, rest


def _factor(room: Room, size: Size) -> float:
    return min(room[2] / size[0], room[3] / size[1])


def _tint_plan(pen: Tinter, left: Left, field: Scaled, squares: int) -> None:
    dots, (x, y) = plan_of(left, squares), left.low_mm
    dot_mm = squares * left.square_mm
    high = x + dots.across * dot_mm, y + dots.down * dot_mm
    pen.tint(field.at(x, y), field.at(*high), dots)


def _draw_isometric(pen: Tinter, shown: Shown, left: Left, room: Room, places: Spots) -> None:
    """In the upper left of its room, with the places of the findings."""
    assert shown.scene is not None
    assert shown.record is not None
    factor = _factor(room, _isometric_size(shown.scene))
    seen = isometric_of(left, shown.record.across, 1 / factor / DOTS_A_MM)
    window = Window((*seen.low, 0.0), (*seen.high, 0.0))
    low = room[0], room[1] + room[3] - factor * (seen.high[1] - seen.low[1])
    field = Scaled(ISOMETRIC, window, low, factor)
    pen.tint(low, field.high, seen.dots)
    drawn = RecordingPen()
    drawn.text((low[0], low[1] - CAPTION_MM + 1), ISOMETRIC.words, SMALL_MM)
    drawn.replay(pen)
    draw_marks(pen, field, drawn, [*seen_places(shown.scene, places)])


def seen_places(scene: Scene, places: Spots) -> Iterator[tuple[int, Floats]]:
    """Where places in setup axes come in the isometric picture; of one in the stock, its mouth."""
    for number, one in places:
        x, y, z = one.tolist()
        at = np.array([[x], [y]])
        if depth_inside(scene.stock, at)[0] > 0:
            z = max(z, float(top_at(scene.stock, at)[0]))
        yield number, np.array([*SIGHT.at((x, y, z)), 0.0])
