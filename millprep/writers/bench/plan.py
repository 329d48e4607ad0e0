"""The plan on the bench page: the face as it lies, every hole to be pointed at by its name.

Figures of an SVG in millimetres, y down as SVG has it. Imports sheet and its view.
"""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.sheets.view import Mark, View

_ROOM = 0.16  # around the view, over its longer side
_WORDS = 0.055  # height of the words, likewise
_LEAST_WIDTH = 11.0  # of the plan, in heights of the words: the longest of them fits
_ACROSS = 1.8  # width over height
_POINTER = 1 / 24  # radius of the ring around the hole in hand, at least, over the longer side
_POINTER_AT_MOST = 0.4  # of that least, over the shorter side


@frozen
class Hole:
    """A hole on the plan: `name` is that of its element."""

    name: str
    mark: Mark
    x: float
    y: float
    pointer: float
    rings: tuple[tuple[float, str], ...]


@frozen
class Plan:
    """The view's box (x, y, width, height), the paper around it likewise, holes, words."""

    box: tuple[float, float, float, float]
    paper: tuple[float, float, float, float]
    words: float
    is_round: bool
    bore: float | None
    holes: tuple[Hole, ...]
    through: tuple[tuple[float, float, float], ...]
    sides: tuple[str, str, str, str]

    @property
    def is_across(self) -> bool:
        """Whether the plan wants the page's whole width."""
        return self.paper[2] > _ACROSS * self.paper[3]

    @property
    def names(self) -> dict[str, str]:
        """A hole's name to that of its element."""
        return {hole.mark.hole: hole.name for hole in self.holes}


def plan_of(number: int, view: View) -> Plan:
    """The plan of a setup, by its number; zero is at 0, 0."""
    (left, low), (right, high) = view.low_mm, view.high_mm
    width, height = right - left, high - low
    longer = max(width, height)
    room, words = _ROOM * longer, _WORDS * longer
    paper_width = max(width + 2 * room, _LEAST_WIDTH * words)
    paper_left = (left + right - paper_width) / 2
    paper = (paper_left, -high - room, paper_width, height + 2 * room)
    holes = tuple(
        _hole(index, mark, number, min(longer * _POINTER, min(width, height) * _POINTER_AT_MOST))
        for index, mark in enumerate(view.marks)
    )
    through = tuple((x, -y, diameter / 2) for x, y, diameter in view.through)
    return Plan(
        (left, -high, width, height),
        paper,
        words,
        view.is_round,
        view.bore_mm,
        holes,
        through,
        _sides(view),
    )


def _hole(index: int, mark: Mark, setup_number: int, least: float) -> Hole:
    rings = tuple((ring.radius_mm, ring.style) for ring in mark.rings)
    pointer = max(least, 1.35 * max(radius for radius, _ in rings))
    return Hole(f"h{setup_number}-{index}", mark, mark.x_mm, -mark.y_mm, pointer, rings)


def _sides(view: View) -> tuple[str, str, str, str]:
    """Faces away, towards you, at the left and at the right hand."""
    left, near, right, away = (name.upper() for name in view.sides)
    return f"{away} away", f"{near} towards you", left, right
