"""Pictures of a sheet: the part as it is held, drawn with any brush. Imports sheets and canvas."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from millprep.canvas.pen import Brush
from millprep.canvas.svg import SvgPen
from millprep.sheets.picture import Picture, Pictures
from millprep.writers.pictures.held import draw_held, draw_turn
from millprep.writers.pictures.names import Room

HELD_ON_PAPER_MM = 52.0
HELD_MM, TURN_MM = (84.0, 60.0), (84.0, 30.0)
"""Width and height."""


def held_svg(picture: Picture, size_mm: tuple[float, float] = HELD_MM) -> str:
    """The part as it is held, as an SVG element for a page that has `pictures/style.css`."""
    pen = SvgPen(*size_mm, picture.title)
    draw_held(picture, pen, Room(0.0, 0.0, *size_mm))
    return pen.figure()


def drawn_below_each_other(
    pictures: Pictures, width_mm: float
) -> Iterator[tuple[float, Callable[[Brush, float, float], None]]]:
    """Height of each of the pictures, and what draws it from its lower left corner."""

    def held(pen: Brush, left: float, low: float) -> None:
        draw_held(pictures.held, pen, Room(left, low, width_mm, HELD_ON_PAPER_MM, beside_mm=9.0))

    def turned(pen: Brush, left: float, low: float) -> None:
        if pictures.turn is not None:
            draw_turn(*pictures.turn, pen, Room(left, low, width_mm, TURN_MM[1]))

    yield HELD_ON_PAPER_MM, held
    if pictures.turn is not None:
        yield TURN_MM[1], turned


def turn_svg(turn: tuple[Picture, Picture], size_mm: tuple[float, float] = TURN_MM) -> str:
    """The part before a turn and after it, likewise."""
    before, after = turn
    pen = SvgPen(*size_mm, f"{before.title}; then {after.title}")
    draw_turn(before, after, pen, Room(0.0, 0.0, *size_mm))
    return pen.figure()
