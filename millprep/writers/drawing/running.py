"""Running dimensions on the paper: X below the view, Y at its left (ISO 129-1)."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from millprep.canvas.pen import Pen, Place, circle
from millprep.canvas.spread import Labels, spread
from millprep.writers.drawing.face import box_of
from millprep.writers.drawing.figures import Figure, Running
from millprep.writers.drawing.frame import BAND_MM, Frame

_GAP_MM, _LINE_MM, _STRAIGHT_MM, _BENT_MM = 1.5, 4.0, 5.5, 8.5
_ORIGIN_MM = 1.0
_ARROW_MM = 2.0
_LEAST_FOR_ARROW_MM = 3.0
_BESIDE_MM = 8.0


def draw_running(frame: Frame, pen: Pen, labels: Labels) -> None:
    for running in frame.running:
        _draw_axis(frame, running, pen, labels)


def _draw_axis(frame: Frame, running: Running, pen: Pen, labels: Labels) -> None:
    axis = running.axis
    low, high = frame.low[axis], frame.high[axis]
    edge = frame.low[1 - axis]
    figures, height, apart = running.fitted(high - low)
    wanted = [frame.at(figure.at_mm, figure.at_mm)[axis] for figure in figures]
    places = spread(wanted, apart, low - _BESIDE_MM, high + _BESIDE_MM)

    def turned(along: float, below: float) -> Place:
        """A place so far along the axis and so far outside the edge."""
        return (along, edge - below) if axis == 0 else (edge - below, along)

    for figure, at, place in zip(figures, wanted, places, strict=True):
        if figure.has_line:
            steps = [turned(at, _GAP_MM), turned(at, _STRAIGHT_MM), turned(place, _BENT_MM)]
            for start, end in pairwise(steps):
                pen.line(start, end, "thin")
                labels.block_line(start, end)
        text_at = (
            (place + height / 2, edge - BAND_MM)
            if axis == 0
            else (edge - BAND_MM, place - height / 2)
        )
        turn_deg = 90.0 if axis == 0 else 0.0
        pen.text(text_at, figure.words, height, "right", turn_deg)
        labels.block_words(box_of(text_at, figure.words, height, "right", turn_deg))
    _draw_dimension_line(axis, edge - _LINE_MM, figures, wanted, pen, labels)


def _draw_dimension_line(
    axis: int,
    fixed: float,
    figures: Sequence[Figure],
    wanted: Sequence[float],
    pen: Pen,
    labels: Labels,
) -> None:
    """One line for all: a ring at the origin, an arrow or a dot at each of the others."""
    ends = [at for figure, at in zip(figures, wanted, strict=True) if figure.has_line]
    zero = next(
        at for figure, at in zip(figures, wanted, strict=True) if figure.words.startswith("0 ")
    )

    def turned(along: float, aside: float = 0.0) -> Place:
        return (along, fixed + aside) if axis == 0 else (fixed + aside, along)

    if ends[0] < ends[-1]:
        pen.line(turned(ends[0]), turned(ends[-1]), "thin")
        labels.block_line(turned(ends[0]), turned(ends[-1]), 0.8)
    circle(pen, turned(zero), _ORIGIN_MM, "thin")
    labels.block_circle(turned(zero), _ORIGIN_MM)
    for before, at, after in zip([zero, *ends[:-1]], ends, [*ends[1:], zero], strict=True):
        if at == zero:
            continue
        inner, outward = (before, 1.0) if at > zero else (after, -1.0)
        if abs(at - inner) < _LEAST_FOR_ARROW_MM:
            pen.spot(turned(at), 0.4)
            continue
        for aside in (-0.35, 0.35):
            pen.line(turned(at - outward * _ARROW_MM, aside), turned(at), "thin")
