"""What figures are sketched with beyond the pen's own verbs: arrows, distances, small words."""

from __future__ import annotations

import math

from millprep.canvas.pen import Anchor, Pen, Place, Style

WORDS_MM = 2.0
_HEAD_MM, _HEAD_DEG = 1.5, 14.0


def between(one: Place, other: Place, share: float = 0.5) -> Place:
    """A place on the way from one to the other."""
    return one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1])


def label(
    pen: Pen,
    at: Place,
    words: str,
    height_mm: float = WORDS_MM,
    *,
    anchor: Anchor = "left",
    turn_deg: float = 0,
) -> None:
    """Words, each line below the one before."""
    turn = math.radians(turn_deg - 90)
    for number, line in enumerate(words.splitlines()):
        down = 1.6 * height_mm * number
        pen.text(
            (at[0] + down * math.cos(turn), at[1] + down * math.sin(turn)),
            line,
            height_mm,
            anchor,
            turn_deg,
        )


def arrow(pen: Pen, start: Place, end: Place, style: Style = "thin") -> None:
    """A line with a head at its end."""
    pen.line(start, end, style)
    _head(pen, start, end)


def distance(pen: Pen, one: Place, other: Place, words: str) -> None:
    """A line with a head at either end, its figure beside it: above, or to the left."""
    pen.line(one, other, "thin")
    _head(pen, one, other)
    _head(pen, other, one)
    x, y = between(one, other)
    if abs(one[0] - other[0]) >= abs(one[1] - other[1]):
        label(pen, (x, y + 0.7), words, anchor="middle")
    else:
        label(pen, (x - 0.7, y - 0.8), words, anchor="right")


def _head(pen: Pen, start: Place, end: Place) -> None:
    way = math.atan2(start[1] - end[1], start[0] - end[0])
    for side in (-1, 1):
        turn = way + side * math.radians(_HEAD_DEG)
        barb = end[0] + _HEAD_MM * math.cos(turn), end[1] + _HEAD_MM * math.sin(turn)
        pen.line(end, barb, "thin")
