"""Room for words: labels pushed apart along a line, and labels placed clear of what is drawn.

Imports canvas.clipped.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from copy import deepcopy
from itertools import pairwise
from math import inf

from millprep.canvas.clipped import shares_within

Box = tuple[float, float, float, float]
Place = tuple[float, float]

_CELL_MM = 6.0
_FIRST_DIRECTIONS_DEG = (45, 135, 315, 225, 0, 180, 90, 270)
_DIRECTIONS_DEG = (*_FIRST_DIRECTIONS_DEG, 22, 158, 338, 202, 68, 112, 292, 248)
_REACHES_MM = (0.0, 1.0, 2.0, 3.5, 5.0, 7.0, 9.0, 12.0, 15.0)
_APART_MM = 0.6  # between two labels
_LEADER_FROM_MM = 2.0  # a label farther off than this is tied to its circle by a line


def spread(
    wanted_mm: Sequence[float], apart_mm: float, low_mm: float = -inf, high_mm: float = inf
) -> list[float]:
    """Places nearest to those wanted (ascending) that keep a distance, in the same order.

    Nearest by the sum of squares, between `low_mm` and `high_mm`, which must leave room for all.
    Take the distance out (wanted less index times apart) and what remains may not fall: pool
    neighbours that do to their mean, then put the distance back.
    """
    runs: list[tuple[float, int]] = []  # (sum, count) of each pooled run
    for index, at in enumerate(wanted_mm):
        total, count = at - index * apart_mm, 1
        while runs and runs[-1][0] / runs[-1][1] > total / count:
            before, members = runs.pop()
            total, count = total + before, count + members
        runs.append((total, count))
    highest = high_mm - (len(wanted_mm) - 1) * apart_mm
    means = [
        min(max(total / count, low_mm), highest) for total, count in runs for _ in range(count)
    ]
    return [mean + index * apart_mm for index, mean in enumerate(means)]


class _Grid:
    """Boxes, found again by what they overlap."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[Box]] = {}

    def add(self, box: Box) -> None:
        for cell in _cells(box):
            self._cells.setdefault(cell, []).append(box)

    def over(self, box: Box) -> Iterator[Box]:
        """Those that overlap a box; one in several cells may come several times."""
        for cell in _cells(box):
            for other in self._cells.get(cell, ()):
                if _overlap(box, other):
                    yield other


class Labels:
    """Boxes already taken on the paper, lines and words apart; all labels stay inside `bounds`."""

    def __init__(self, bounds: Box = (-inf, -inf, inf, inf)) -> None:
        self._bounds = bounds
        self._taken, self._words, self._holes = _Grid(), _Grid(), _Grid()

    def copy(self) -> Labels:
        """As it stands now, for a try that may be thrown away."""
        return deepcopy(self)

    def block(self, box: Box) -> None:
        """Take a box for a line."""
        self._taken.add(box)

    def block_words(self, box: Box) -> None:
        """Take a box for words, which no leader line may cross either."""
        self._words.add(box)
        self.block(box)

    def block_hole(self, box: Box) -> None:
        """Take a box for a hole, which no other's leader line should cross."""
        self._holes.add(box)
        self.block(box)

    def block_line(self, start: Place, end: Place, half_mm: float = 0.4) -> None:
        """Take the room of a line, in short boxes along it."""
        count = max(1, math.ceil(math.dist(start, end)))
        is_level = start[0] == end[0] or start[1] == end[1]
        for i in range(1 if is_level else count):
            a, b = (0.0, 1.0) if is_level else (i / count, (i + 1) / count)
            x1, x2 = sorted(start[0] + t * (end[0] - start[0]) for t in (a, b))
            y1, y2 = sorted(start[1] + t * (end[1] - start[1]) for t in (a, b))
            self.block((x1 - half_mm, y1 - half_mm, x2 + half_mm, y2 + half_mm))

    def block_circle(self, centre: Place, radius_mm: float) -> None:
        """Take the room of a circle's line, not of what is inside."""
        count = max(8, math.ceil(2 * math.pi * radius_mm))
        places = [
            (
                centre[0] + radius_mm * math.cos(2 * math.pi * i / count),
                centre[1] + radius_mm * math.sin(2 * math.pi * i / count),
            )
            for i in range(count + 1)
        ]
        for start, end in pairwise(places):
            self.block_line(start, end)

    def is_free(self, box: Box) -> bool:
        low_x, low_y, high_x, high_y = self._bounds
        is_inside = low_x <= box[0] and low_y <= box[1] and box[2] <= high_x and box[3] <= high_y
        return is_inside and next(self._taken.over(box), None) is None

    def _is_crossed(self, centre: Place, end: Place, must: bool) -> bool:
        """Whether a leader line would cross words, or a hole other than its own."""
        (x1, x2), (y1, y2) = (sorted(ends) for ends in zip(centre, end, strict=True))
        room = (x1, y1, x2, y2)
        in_the_way = [*self._words.over(room), *(() if must else self._holes.over(room))]
        return any(
            _crosses(centre, end, box)
            for box in in_the_way
            if not (box[0] < centre[0] < box[2] and box[1] < centre[1] < box[3])
        )

    def near(
        self,
        centre: Place,
        radius: float,
        width: float,
        height: float,
        reach_mm: float,
        *,
        must: bool = False,
        rivals: Sequence[Place] = (),
        leader_from_mm: float = _LEADER_FROM_MM,
    ) -> tuple[Place, Place | None] | None:
        """(low left corner of a free box beside a circle, end of its leader line), taken at once.

        The leader's end is None where the box is near enough to need none; all None where all is
        full as far as `reach_mm` from the circle. With `must` a leader rather crosses another hole.
        Without a leader it stands nearer to its own centre than to any of the rivals.
        """
        for extra, box in _boxes_round(centre, radius, width, height, reach_mm):
            if not self.is_free(box):
                continue
            end = None
            if extra <= leader_from_mm:
                if _is_nearer_to(rivals, centre, box):
                    continue
            else:
                end = nearest_in(centre, box)
                if self._is_crossed(centre, end, must):
                    continue
                self.block_line(_towards(centre, end, radius), end, 0.2)
            self.block_words(_grown(box, _APART_MM))
            return (box[0], box[1]), end
        return None


def _grown(box: Box, by_mm: float) -> Box:
    return box[0] - by_mm, box[1] - by_mm, box[2] + by_mm, box[3] + by_mm


def _is_nearer_to(rivals: Sequence[Place], centre: Place, box: Box) -> bool:
    """Whether the middle of a box is as near to one of the rivals as to the centre, or nearer."""
    middle = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    own = math.dist(middle, centre)
    return any(math.dist(middle, rival) <= own for rival in rivals if rival != centre)


def _boxes_round(
    centre: Place, radius: float, width: float, height: float, reach_mm: float
) -> Iterator[tuple[float, Box]]:
    for extra in _REACHES_MM:
        if extra > reach_mm:
            return
        for angle in _DIRECTIONS_DEG:
            turn = math.radians(angle)
            across, up = math.cos(turn), math.sin(turn)
            x = centre[0] + (radius + extra) * across + (across - 1) / 2 * width
            y = centre[1] + (radius + extra) * up + (up - 1) / 2 * height
            yield extra, (x, y, x + width, y + height)


def _cells(box: Box) -> list[tuple[int, int]]:
    columns = range(math.floor(box[0] / _CELL_MM), math.floor(box[2] / _CELL_MM) + 1)
    rows = range(math.floor(box[1] / _CELL_MM), math.floor(box[3] / _CELL_MM) + 1)
    return [(i, j) for i in columns for j in rows]


def _overlap(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def nearest_in(place: Place, box: Box) -> Place:
    """The place in a box nearest to another."""
    return min(max(place[0], box[0]), box[2]), min(max(place[1], box[1]), box[3])


def _towards(start: Place, end: Place, distance: float) -> Place:
    """The place so far from the start on the way to the end."""
    share = min(1.0, distance / math.dist(start, end))
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _crosses(start: Place, end: Place, box: Box) -> bool:
    """Whether a line passes through a box: clipped to it, is anything left?"""
    first, last = shares_within(start, end, box)
    return first < last
