"""Pictures of a setup: the part as it is held and turned, its plan, sections through its holes.

Drawn with any brush. Imports sheets and canvas.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Literal

from millprep.base.records import frozen
from millprep.canvas.pen import Brush
from millprep.canvas.svg import SvgPen
from millprep.sheets.picture import Pictures
from millprep.writers.pictures.cut import draw_cut, height_of
from millprep.writers.pictures.held import draw_held, draw_turn
from millprep.writers.pictures.names import Room
from millprep.writers.pictures.plan import draw_plan, plan_height_of

Kind = Literal["held", "turn", "plan", "cut"]
KINDS: tuple[Kind, ...] = ("held", "turn", "plan", "cut")
WIDTH_MM = 84.0
_HELD_OVER_WIDTH, _TURN_OVER_WIDTH = 0.75, 0.38


@frozen
class Figure:
    """One picture: what it shows, how much room it wants, and what draws it there."""

    kind: Kind
    title: str
    width_mm: float
    height_mm: float
    draw: Callable[[Brush, Room], None]


def figures_of(pictures: Pictures, width_mm: float) -> Iterator[Figure]:
    """The pictures of a setup in that width, in the order in which they are wanted."""
    held, turn = pictures.held, pictures.turn
    yield Figure(
        "held", held.title, width_mm, _HELD_OVER_WIDTH * width_mm, partial(draw_held, held)
    )
    if turn is not None:
        title = f"{turn[0].title}; then {turn[1].title}"
        yield Figure(
            "turn", title, width_mm, _TURN_OVER_WIDTH * width_mm, partial(draw_turn, *turn)
        )
    plan = partial(draw_plan, pictures.plan, pictures.steps)
    title = f"plan: {held.title}"
    yield Figure("plan", title, width_mm, plan_height_of(pictures.plan, width_mm), plan)
    for cut in pictures.cuts:
        yield Figure(
            "cut", f"section: {cut.title}", width_mm, height_of(cut), partial(draw_cut, cut)
        )


def pictures_svg(
    pictures: Pictures, kinds: Sequence[Kind] = KINDS, width_mm: float = WIDTH_MM
) -> str:
    """Pictures of those kinds as SVG elements, for a page that has `pictures/style.css`."""
    drawn = []
    for one in figures_of(pictures, width_mm):
        if one.kind in kinds:
            pen = SvgPen(width_mm, one.height_mm, one.title)
            one.draw(pen, Room(0.0, 0.0, width_mm, one.height_mm))
            drawn.append(pen.figure())
    return "\n".join(drawn)
