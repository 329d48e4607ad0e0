"""All holes of a part in space, and which of them are near each other: a grid of cells.

A cell is about twice as long, broad and high as the usual hole, so that a hole lies in a few cells
and a cell holds a few holes: 10,000 holes give ten times the pairs of 1,000. Layers 0 to 3.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from functools import cached_property
from itertools import combinations, islice, product

from millprep.base.bounds import MOST_PAIRS_A_HOLE
from millprep.base.findings import Finding
from millprep.checks.gaps import Point
from millprep.checks.seats import SEAT_GAP_MM, seat_of
from millprep.checks.solids import Placed, placed_holes
from millprep.model.part import FACE_AXIS, Hole
from millprep.planning.plan import Plan

Cell = tuple[int, int, int]
Box = tuple[Point, Point]


def least_wall_mm(diameter_mm: float) -> float:
    """Least wall beside a hole in a small mechanism: 0.8 mm, more when wide (common practice).

    Half the diameter is comfortable, a quarter is where it gets doubtful (common practice).
    """
    return max(0.8, 0.25 * diameter_mm)


class Space:
    """The holes of a plan, each with its solids, by name and by nearness.

    meant   : name of each hole -> names of those that it is meant to meet, said by either
    allowed : name of each hole that allows something -> the kinds of findings
    """

    def __init__(self, plan: Plan) -> None:
        self.part, self.shop = plan.part, plan.shop
        self.placed = {each.hole.name: each for each in placed_holes(plan)}
        self.meant = _meant(plan.part.holes)
        self.allowed = {
            hole.name: {kind.replace(" ", "-") for kind in hole.allow}
            for hole in plan.part.holes
            if hole.allow
        }
        self._order = {name: number for number, name in enumerate(self.placed)}
        self._boxes = {name: _box(each) for name, each in self.placed.items()}
        self._sides = _cell_sides(self._boxes.values())
        self._cells: dict[Cell, list[str]] = defaultdict(list)
        for name, box in self._boxes.items():
            for cell in self._cells_of(box):
                self._cells[cell].append(name)

    @cached_property
    def pairs(self) -> list[tuple[Placed, Placed]]:
        """Pairs that could lack room between them, once each, in the order of the part.

        Of a part so crowded that they are more than can be looked at, the first that are found.
        """
        near = (
            (self._order[one], self._order[other])
            for cell, names in self._cells.items()
            for one, other in combinations(names, 2)
            if self._are_near(one, other, cell)
        )
        placed = list(self.placed.values())
        return [
            (placed[one], placed[other]) for one, other in sorted(islice(near, self.most_pairs))
        ]

    @property
    def most_pairs(self) -> int:
        return MOST_PAIRS_A_HOLE * (len(self.placed) + MOST_PAIRS_A_HOLE)

    @property
    def is_crowded(self) -> bool:
        """Whether there are more pairs than can be looked at."""
        return len(self.pairs) == self.most_pairs

    def near(self, placed: Placed) -> list[Placed]:
        """The other holes that a hole, perhaps a moved one, could lack room to."""
        box = _box(placed)
        names = {name for cell in self._cells_of(box) for name in self._cells.get(cell, ())}
        names.discard(placed.hole.name)
        return [
            self.placed[name]
            for name in sorted(names, key=self._order.__getitem__)
            if _overlap(self._boxes[name], box)
        ]

    def allows(self, finding: Finding) -> bool:
        """Whether one of its holes allows its kind."""
        return bool(self.allowed) and any(
            finding.kind in self.allowed.get(name, ()) for name in finding.holes
        )

    def order(self, name: str) -> int:
        """The hole's number in the part."""
        return self._order[name]

    def _are_near(self, one: str, other: str, cell: Cell) -> bool:
        """Whether their boxes overlap, and this is the one cell in which that is told."""
        box, other_box = self._boxes[one], self._boxes[other]
        if not _overlap(box, other_box):
            return False
        low = map(max, box[0], other_box[0])
        return cell == tuple(
            math.floor(at / side) for at, side in zip(low, self._sides, strict=True)
        )

    def _cells_of(self, box: Box) -> Iterator[Cell]:
        ranges = [
            range(math.floor(low / side), math.floor(high / side) + 1)
            for low, high, side in zip(*box, self._sides, strict=True)
        ]
        yield from product(*ranges)


def _meant(holes: Iterable[Hole]) -> dict[str, set[str]]:
    """Who is meant to meet whom, both ways round; a pattern's name stands for its members."""
    holes = tuple(holes)
    members: dict[str, list[str]] = defaultdict(list)
    for hole in holes:
        members[hole.group].append(hole.name)
    names = {hole.name for hole in holes}
    meant: dict[str, set[str]] = defaultdict(set)
    for hole in holes:
        for word in (*hole.meets, *((hole.goes_into,) if hole.goes_into else ())):
            for other in [word] if word in names else members.get(word, []):
                meant[hole.name].add(other)
                meant[other].add(hole.name)
    return dict(meant)


def near_pairs(holes: Iterable[Placed]) -> Iterator[tuple[Placed, Placed]]:
    """Pairs of some holes that could lack room between them, in the order given.

    They are gone through along the axis on which they lie farthest apart.
    """
    boxed = [(placed, _box(placed)) for placed in holes]
    lows = [[low[axis] for _, (low, _) in boxed] for axis in range(3)]
    along = max(range(3), key=lambda axis: max(lows[axis], default=0) - min(lows[axis], default=0))
    open_ones: list[int] = []
    found: list[tuple[int, int]] = []
    for number in sorted(range(len(boxed)), key=lows[along].__getitem__):
        box, at = boxed[number][1], lows[along][number]
        open_ones = [one for one in open_ones if boxed[one][1][1][along] >= at]
        found += [(one, number) for one in open_ones if _overlap(boxed[one][1], box)]
        open_ones.append(number)
    for one, other in sorted(map(sorted, found)):
        yield boxed[one][0], boxed[other][0]


def _overlap(one: Box, other: Box) -> bool:
    (x, y, z), (to_x, to_y, to_z) = one
    (a, b, c), (to_a, to_b, to_c) = other
    return x <= to_a and a <= to_x and y <= to_b and b <= to_y and z <= to_c and c <= to_z


def _box(placed: Placed) -> Box:
    """Round all that the hole needs room for: where two boxes are apart nothing is wrong."""
    hole, rooms = placed.hole, []
    for solid in placed.solids:
        room = least_wall_mm(2 * solid.radius_mm) / 2
        spans = [solid.span_mm(axis) for axis in range(3)]
        rooms.append([(low - room, high + room) for low, high in spans])
    seat = seat_of(hole)
    if seat is not None:
        room = (seat.widest_mm + SEAT_GAP_MM) / 2
        spans = [(at - room, at + room) for at in hole.centre_mm]
        spans[FACE_AXIS[hole.face]] = rooms[0][FACE_AXIS[hole.face]]
        rooms.append(spans)
    if not rooms:  # a spot
        radius = hole.diameter_mm / 2
        rooms = [[(at - radius, at + radius) for at in hole.centre_mm]]
    low, high = (
        [pick(span[side] for span in axis) for axis in zip(*rooms, strict=True)]
        for side, pick in enumerate((min, max))
    )
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def _cell_sides(boxes: Collection[Box]) -> list[float]:
    """Twice the usual extent of a box along each axis; of the largest box a sixteenth at least."""
    if not boxes:
        return [1.0, 1.0, 1.0]
    extents = (sorted(high[axis] - low[axis] for low, high in boxes) for axis in range(3))
    return [max(2 * along[len(along) // 2], along[-1] / 16) for along in extents]
