"""Patterns as a drawing shows them: pitch circles, and rows and grids told in one line.

From the marks of a view, in setup axes. Imports layers 0 to 4.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import groupby

from millprep.base.records import frozen
from millprep.base.units import DIAMETER
from millprep.model.part import Part
from millprep.sheets.figures import Figures
from millprep.sheets.view import Mark, View

Place = tuple[float, float]
FOLDED_FROM = 10
"""Holes that a row or a grid has before one line in the table stands for all of them."""
_SAME_MM = 1e-4  # as measured, holes no longer lie on one circle or in one row
_ON_CIRCLES = ("circle", "arc")  # the keys of patterns that a drawing gives a pitch circle


@frozen
class PitchCircle:
    """The circle that a pattern of holes lies on, in setup axes [mm], its diameter as shown.

    letter : of the pattern; words : what the table says of it
    angles_deg : of its holes in their order, anticlockwise from X
    """

    letter: str
    centre_mm: Place
    radius_mm: float
    diameter: str
    angles_deg: tuple[float, ...]

    @property
    def words(self) -> str:
        first, second = self.angles_deg[:2]
        apart = abs((second - first + 180) % 360 - 180)
        return f"on {DIAMETER}{self.diameter}, first at {_angle(first)}, {_angle(apart)} apart"


@frozen
class Grid:
    """Holes in equal steps: of its letters the first of each row and the last, and all in words."""

    letter: str
    named: frozenset[str]
    words: str


def pitch_circles_of(part: Part, view: View, figures: Figures) -> Iterator[PitchCircle]:
    """Of every pattern that the file lays on a circle: not of corners that happen to lie on one."""
    placed_by = {hole.name: hole.placed_by for hole in part.holes}
    for letter, marks in patterns_of(view.marks):
        found = circle_through([(mark.x_mm, mark.y_mm) for mark in marks])
        if placed_by[marks[0].hole] not in _ON_CIRCLES or found is None:
            continue
        (x, y), radius = found
        angles = (math.degrees(math.atan2(m.y_mm - y, m.x_mm - x)) % 360 for m in marks)
        yield PitchCircle(letter, (x, y), radius, figures.size(2 * radius), tuple(angles))


def grids_of(view: View, figures: Figures) -> Iterator[Grid]:
    """Of every pattern of many holes in equal steps, none left out."""
    for letter, marks in patterns_of(view.marks):
        if len(marks) < FOLDED_FROM:
            continue
        columns = _columns(marks)
        if columns is None:
            continue
        named = {mark.letter for mark in marks[::columns]} | {marks[-1].letter}
        words = f"{marks[0].letter} to {marks[-1].letter}: {_steps(marks, columns, figures)}"
        yield Grid(letter, frozenset(named), words)


def patterns_of(marks: Sequence[Mark]) -> Iterator[tuple[str, list[Mark]]]:
    """The letter of each pattern, without the member's number, and its holes."""
    for letter, run in groupby(marks, key=pattern_letter):
        yield letter, list(run)


def pattern_letter(mark: Mark) -> str:
    """The letter without the member's number."""
    return mark.letter.rstrip("0123456789")


def circle_through(places: Sequence[Place]) -> tuple[Place, float] | None:
    """(centre, radius) of the circle that all lie on; None for fewer than three or for no circle.

    By the first and two spread over the rest: |p - c| is one for all three, linear in c.
    """
    if len(places) < 3:
        return None
    (x1, y1), (x2, y2), (x3, y3) = (places[i * len(places) // 3] for i in range(3))
    a, b, c, d = x2 - x1, y2 - y1, x3 - x1, y3 - y1
    twice = 2 * (a * d - b * c)
    if abs(twice) < _SAME_MM:
        return None
    p, q = a * a + b * b, c * c + d * d
    centre = x1 + (d * p - b * q) / twice, y1 + (a * q - c * p) / twice
    radius = math.dist(centre, places[0])
    if any(abs(math.dist(centre, place) - radius) > _SAME_MM for place in places):
        return None
    return centre, radius


def _columns(marks: Sequence[Mark]) -> int | None:
    """How many stand in each row, all of them for a single one; None for no row and no grid."""
    places = [(mark.x_mm, mark.y_mm) for mark in marks]
    step = _between(places[0], places[1])
    columns = next(
        (i for i in range(2, len(places)) if not _is_at(places[i], places[0], (i, step))),
        len(places),
    )
    if len(places) % columns:
        return None
    rise = _between(places[0], places[columns]) if columns < len(places) else (0.0, 0.0)
    is_even = all(
        _is_at(place, places[0], (i % columns, step), (i // columns, rise))
        for i, place in enumerate(places)
    )
    return columns if is_even else None


def _between(start: Place, end: Place) -> Place:
    return end[0] - start[0], end[1] - start[1]


def _is_at(place: Place, start: Place, *steps: tuple[int, Place]) -> bool:
    due = [start[axis] + sum(count * step[axis] for count, step in steps) for axis in (0, 1)]
    return math.dist(place, due) < _SAME_MM


def _steps(marks: Sequence[Mark], columns: int, figures: Figures) -> str:
    """ "19 x 10 from 8, 8, step X 5.5, Y 6.4, along X first"."""
    first = marks[0]
    start = f"from {first.x}, {first.y}"
    step = _between((first.x_mm, first.y_mm), (marks[1].x_mm, marks[1].y_mm))
    if columns == len(marks):
        return f"{columns} {start}, step {_step_words(step, figures)}"
    rise = _between((first.x_mm, first.y_mm), (marks[columns].x_mm, marks[columns].y_mm))
    both = f"{_step_words(step, figures)}, then {_step_words(rise, figures)}"
    return f"{columns} x {len(marks) // columns} {start}, step {both}"


def _step_words(step: Place, figures: Figures) -> str:
    axes = ((axis, value) for axis, value in zip("xy", step, strict=True) if abs(value) > _SAME_MM)
    return " ".join(f"{axis.upper()} {figures.shown(value, axis)}" for axis, value in axes)


def _angle(degrees: float) -> str:
    return f"{round(degrees, 3) + 0.0:g} deg"
