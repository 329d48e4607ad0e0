"""Where figures stand: lanes beside a view, the short ones nearest to it, no text over another.

Places are on the page, in millimetres, y down. Imports canvas.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from millprep.base.records import frozen, replace
from millprep.canvas.lettering import DESCENT_OVER_CAPITAL, room_mm
from millprep.canvas.pen import Place
from millprep.canvas.spread import Box
from millprep.writers.elevations.ink import TEXT_MM

Side = Literal["below", "above", "left", "right"]
_OPPOSITE: dict[Side, Side] = {"below": "above", "above": "below", "left": "right", "right": "left"}
_FIRST_MM, _NEXT_MM = 6.0, 5.0
_MOST_LANES, _MOST_TRIED = 10, 40
_LIFT_MM = 0.9  # of words over their line
_APART_MM = 0.5
_ARROW_MM, _TAIL_MM = 2.0, 3.5
_BEYOND_MM = 1.0  # a line from the part goes on so far over the figure's line


@frozen
class Wanted:
    """A figure to be placed: along the page's x or y from one place to another.

    start, end : what it is measured between; each has a line out to it
    """

    side: Side
    words: str
    start: Place
    end: Place

    @property
    def is_level(self) -> bool:
        return self.side in ("below", "above")

    @property
    def axis(self) -> int:
        return 0 if self.is_level else 1

    @property
    def ends(self) -> tuple[float, float]:
        first, last = sorted((self.start[self.axis], self.end[self.axis]))
        return first, last


@frozen
class Placed:
    """Where it came: its line, the lines out to it, its arrows (tip, way), and its words."""

    line: tuple[Place, Place]
    out: tuple[tuple[Place, Place], ...]
    arrows: tuple[tuple[Place, Place], ...]
    words: str
    words_at: Place
    turn_deg: float
    words_box: Box


class Lanes:
    """The room round a view whose face is that box (x, y of the upper left, of the lower right)."""

    def __init__(self, face: Box) -> None:
        self.face = face
        self._words: list[Box] = []
        self._lines: list[Box] = []
        self._out: list[Box] = []
        self._tried: dict[Side, int] = {}

    @property
    def boxes(self) -> list[Box]:
        return [*self._words, *self._lines, *self._out]

    def place(self, wanted: Wanted) -> Placed | None:
        """The first lane that has room, else one on the other side, taken at once; None where
        there are too many already."""
        other = replace(wanted, side=_OPPOSITE[wanted.side])
        return self._placed_beside(wanted) or self._placed_beside(other)

    def _placed_beside(self, wanted: Wanted) -> Placed | None:
        tried = self._tried.get(wanted.side, 0)
        if tried >= _MOST_TRIED:
            return None
        self._tried[wanted.side] = tried + 1
        for lane in range(_MOST_LANES):
            for placed in self._in_lane(wanted, lane):
                if self._is_free(placed):
                    self._words.append(placed.words_box)
                    self._lines.append(_box(*placed.line, 0.3))
                    self._out += [_box(*one, 0.2) for one in placed.out]
                    return placed
        return None

    def _is_free(self, placed: Placed) -> bool:
        line = _box(*placed.line, 0.3)
        out = [_box(*one, 0.2) for one in placed.out]
        clear_of_words = [line, *out]
        return not (
            any(_meet(placed.words_box, one) for one in self.boxes)
            or any(_meet(mine, one) for mine in clear_of_words for one in self._words)
            or any(_meet(line, one) for one in self._lines)
        )

    def _at(self, wanted: Wanted, lane: int) -> float:
        out = _FIRST_MM + lane * _NEXT_MM
        x1, y1, x2, y2 = self.face
        return {"below": y2 + out, "above": y1 - out, "left": x1 - out, "right": x2 + out}[
            wanted.side
        ]

    def _in_lane(self, wanted: Wanted, lane: int) -> Iterator[Placed]:
        """With its words between the arrows where they fit, else beside them, inwards first."""
        first, last = wanted.ends
        at = self._at(wanted, lane)
        wide = room_mm(wanted.words, TEXT_MM)
        middle = (first + last) / 2
        is_wide = last - first >= 2 * _ARROW_MM + 1.0
        tail = 0.0 if is_wide else _TAIL_MM
        if wide + 1.0 <= last - first:
            yield self._placed(wanted, at, (first - tail, last + tail), middle, is_wide)
            return
        face = (self.face[wanted.axis] + self.face[wanted.axis + 2]) / 2
        after, before = last + 1.0 + wide / 2, first - 1.0 - wide / 2
        spots = (after, before) if middle < face else (before, after)
        for spot in spots:
            ends = (min(first - tail, spot - wide / 2), max(last + tail, spot + wide / 2))
            yield self._placed(wanted, at, ends, spot, is_wide)

    def _placed(
        self, wanted: Wanted, at: float, ends: tuple[float, float], spot: float, is_inside: bool
    ) -> Placed:
        def on(along: float, across: float) -> Place:
            return (along, across) if wanted.is_level else (across, along)

        first, last = wanted.ends
        way = 1.0 if is_inside else -1.0
        arrows = ((on(first, at), on(way, 0.0)), (on(last, at), on(-way, 0.0)))
        beyond = at + (_BEYOND_MM if wanted.side in ("below", "right") else -_BEYOND_MM)
        out = tuple((place, on(place[wanted.axis], beyond)) for place in (wanted.start, wanted.end))
        base = at - _LIFT_MM
        wide = room_mm(wanted.words, TEXT_MM) / 2
        low, high = base - TEXT_MM, base + DESCENT_OVER_CAPITAL * TEXT_MM - 0.2
        corners = on(spot - wide, low), on(spot + wide, high)
        return Placed(
            (on(ends[0], at), on(ends[1], at)),
            out,
            arrows,
            wanted.words,
            on(spot, base),
            0.0 if wanted.is_level else -90.0,
            _box(*corners, 0.0),
        )


def placed_all(lanes: Lanes, wanted: Sequence[Wanted]) -> list[Placed | None]:
    """Each where it has room: the short ones first, so that they stand nearest to the view."""
    found: dict[int, Placed | None] = {}
    order = sorted(range(len(wanted)), key=lambda n: wanted[n].ends[1] - wanted[n].ends[0])
    for index in order:
        found[index] = lanes.place(wanted[index])
    return [found[index] for index in range(len(wanted))]


def _box(start: Place, end: Place, half: float) -> Box:
    (x1, x2), (y1, y2) = (sorted(pair) for pair in zip(start, end, strict=True))
    return x1 - half, y1 - half, x2 + half, y2 + half


def _meet(one: Box, other: Box) -> bool:
    gap = _APART_MM / 2
    return (
        one[0] - gap < other[2]
        and other[0] - gap < one[2]
        and one[1] - gap < other[3]
        and other[1] - gap < one[3]
    )
