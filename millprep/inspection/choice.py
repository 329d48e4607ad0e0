"""Which readings decide where the holes are: few, and enough for the x and the y of each.

A pattern is measured from two of its holes that lie far apart, over pins; those two and single
holes from the edges that the drawing measures from. One reading more than needed, the odd one, is
added to each pattern, so that a slip in a reading shows. Imports layers 0 to 3 and numpy.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise

import numpy as np

from millprep.base.records import frozen, replace
from millprep.inspection.checks import Check, reading_mm
from millprep.inspection.gauges import COARSE_SHARE, Measuring, Pin, bare, inside, outside, pin_for
from millprep.inspection.limits import Limits
from millprep.inspection.views import FaceView, Floats
from millprep.model.part import Face
from millprep.model.readings import PAIR_KINDS, WALL_KINDS, CheckKind
from millprep.model.shop import Shop
from millprep.model.tools import Cutter
from millprep.setting.holding import faces_along

_GOOD_CROSSING = 0.5  # sine of the angle at which two readings meet: 30 degrees (common practice)
_EDGE_RELIEF = 0.1  # over pins goes before an edge that is hardly better placed
_ROOM_MM = 0.2  # between two pins side by side
_TIGHT_SHARE = 0.6  # of the widest zone on the face: holes below it are measured to each other


@frozen
class Candidate:
    """A reading that could be taken: its direction, and the distance that it tells [mm]."""

    kind: CheckKind
    number: int
    to_number: int | None
    to_face: Face | None
    direction: tuple[float, float]
    distance_mm: float

    @property
    def ends(self) -> tuple[int, ...]:
        """Numbers of the holes that it is read at."""
        return (self.number,) if self.to_number is None else (self.number, self.to_number)


class PlaceChecks:
    """The readings of places on one face; their numbers are given by the caller."""

    def __init__(self, view: FaceView, shop: Shop, pins: tuple[Cutter, ...]) -> None:
        self.view = view
        self.shop = shop
        found = [pin_for(hole, pins) for hole in view.holes]
        self.pinned = [pin is not None for pin in found]
        self.pins = [pin or bare(hole) for pin, hole in zip(found, view.holes, strict=True)]
        self.checks: list[Check] = []
        self._middle = self._found_middle()
        self._round: list[int] = []  # placed on a disc, beside its middle
        self._taken: set[tuple[CheckKind, frozenset[object]]] = set()
        self._sides: dict[tuple[int, int], float] = {}  # by hole and axis: off by, of one side
        self._across: dict[int, float] = {}  # by axis: of both sides of a centre line

    def choose(self) -> list[Check]:
        groups = self._groups()
        for members in groups:
            if len(members) == 1:
                self._from_edges(members[0])
            else:
                self._pattern(members)
        self._tight_ones(groups)
        for number, is_pinned in enumerate(self.pinned):
            if not is_pinned:
                for candidate in self._edge_candidates(number):
                    self._take(candidate)
        return self.checks

    def _groups(self) -> list[list[int]]:
        groups: dict[str, list[int]] = {}
        for number, hole in enumerate(self.view.holes):
            if self.pinned[number]:
                groups.setdefault(hole.group, []).append(number)
        return list(groups.values())

    # single holes, and the two that a pattern hangs on

    def _from_edges(self, number: int) -> None:
        for candidate in self._edge_candidates(number):
            self._take(candidate)
        if self.view.is_round and not self.view.is_in_the_middle(number):
            self._round_the_disc(number)

    def _round_the_disc(self, number: int) -> None:
        """From the hole in the middle, and from one that is placed: the angle between them."""
        middle = self._middle
        if middle is not None:
            self._take(self._over(number, middle))
        self._tie(number, self._round)
        self._round.append(number)

    def _tie(self, number: int, others: Sequence[int]) -> None:
        """Over pins to the first of some holes that will do, for chains add up their errors."""
        outwards = next(self._edge_candidates(number, every_face=True)).direction
        over = [self._over(number, other) for other in others]
        able = [candidate for candidate in over if self._measuring(candidate) is not None]
        good = [one for one in able if _crossing(one.direction, outwards) >= _GOOD_CROSSING]
        if able:
            best = max(able, key=lambda one: _crossing(one.direction, outwards))
            self._take(good[0] if good else best)

    def _found_middle(self) -> int | None:
        """The hole on the disc's axis, if there is one that takes a pin."""
        if not self.view.is_round:
            return None
        pinned = (number for number, is_pinned in enumerate(self.pinned) if is_pinned)
        return next(filter(self.view.is_in_the_middle, pinned), None)

    def _edge_candidates(self, number: int, every_face: bool = False) -> Iterator[Candidate]:
        view = self.view
        place = view.places_mm[:, number]
        if view.is_round and not view.is_in_the_middle(number):
            if self._middle is not None and self.pinned[number] and not every_face:
                return
            out = place - view.centre_mm
            r = float(np.hypot(*out))
            direction = (float(-out[0] / r), float(-out[1] / r))
            kind: CheckKind = "rim to pin" if self.pinned[number] else "rim to hole"
            yield Candidate(kind, number, None, None, direction, view.radius_mm - r)
            return
        kind = "edge to pin" if self.pinned[number] else "edge to hole"
        for axis in (0, 1):
            along = []
            for face in faces_along(view.setup, axis) if every_face else view.edges[axis]:
                at, way = view.edge_mm(face)
                direction = (way, 0.0) if axis == 0 else (0.0, way)
                distance = way * (float(place[axis]) - at)
                along.append(Candidate(kind, number, None, face, direction, distance))
            nearest = min(along, key=lambda one: one.distance_mm, default=None)
            if nearest is not None and not every_face and self._is_width_told(axis, nearest):
                along = [nearest]
            yield from along

    def _is_width_told(self, axis: int, candidate: Candidate) -> bool:
        """Whether an earlier hole, read from both sides, leaves one side enough for this one.

        From one side a centre is off by its own reading and by half of the width across, which is
        the sum of two readings.
        """
        measuring = self._measuring(candidate)
        if axis not in self._across or measuring is None:
            return False
        off = float(np.hypot(measuring.uncertainty_mm, self._across[axis] / np.sqrt(2)))
        return off <= COARSE_SHARE * self._finest_mm(candidate)

    def _over(self, number: int, other: int, kind: CheckKind = "over pins") -> Candidate:
        way = self.view.places_mm[:, number] - self.view.places_mm[:, other]
        distance = float(np.hypot(*way))
        unit = way / distance if distance else np.zeros(2)
        return Candidate(kind, number, other, None, (float(unit[0]), float(unit[1])), distance)

    # patterns

    def _pattern(self, members: list[int]) -> None:
        first, second = _far_pair(self.view.places_mm, members)
        if self.view.is_round:
            self._pattern_on_a_disc(members, first, second)
            return
        self._from_edges(first)
        base = self._over(second, first)
        self._take(base)
        self._take(self._over(second, first, "between pins"))
        edges = list(self._edge_candidates(second))
        if edges:
            best = max(_crossing(base.direction, edge.direction) for edge in edges)
            for edge in edges:  # both sides of a centre line
                if _crossing(base.direction, edge.direction) > best - 1e-9:
                    self._take(edge)
        others = [number for number in members if number not in (first, second)]
        for number in others:
            for candidate in self._two_for(number, first, second):
                self._take(candidate)
        if len(others) > 1:
            self._take(self._over(*_far_pair(self.view.places_mm, others)))

    def _pattern_on_a_disc(self, members: list[int], first: int, second: int) -> None:
        """Each from the middle (or the rim), and over pins to one that is placed already.

        The one opposite the first comes last: the two alone say nothing of the angle.
        """
        between = [number for number in members if number not in (first, second)]
        earlier = list(self._round)
        for number in (first, *between, second):
            self._from_edges(number)
        for number in between[-1:]:  # closes the ring
            self._take(self._over(second, number))
        for number in (second, first):  # a pattern turns as a whole by one reading alone
            self._tie(number, earlier)
        self._take(self._over(second, first))
        self._take(self._over(second, first, "between pins"))

    def _two_for(self, number: int, first: int, second: int) -> list[Candidate]:
        """The two readings that place a hole best: over pins if those cross well enough."""
        over = [self._over(number, other) for other in (first, second)]
        over = [candidate for candidate in over if self._measuring(candidate) is not None]
        if len(over) == 2 and _crossing(over[0].direction, over[1].direction) >= _GOOD_CROSSING:
            return over
        edges = self._edge_candidates(number)
        pool = over + [edge for edge in edges if self._measuring(edge) is not None]
        pairs = list(combinations(pool, 2))
        if not pairs:
            return pool
        a, b = max(pairs, key=lambda pair: _worth(*pair))
        twins = [c for c in pool if c.to_face and _is_along(c, b) and c is not b]
        return [a, b, *twins] if b.to_face else [a, b]

    def _tight_ones(self, groups: list[list[int]]) -> None:
        """Holes of close places are measured to each other, in a row."""
        zones = self.view.zones
        if not zones:
            return
        widest = max(zone.half_mm for zone in zones)
        tight = [
            members[0]
            for members in groups
            if zones[members[0]].half_mm <= _TIGHT_SHARE * widest
            or self.view.holes[members[0]].kind.is_true
        ]
        for number, other in pairwise(tight):
            self._take(self._over(number, other))

    # from a candidate to a check

    def _reaches_mm(self, candidate: Candidate) -> list[float]:
        """How far the centre of each hole may go along the reading's direction."""
        return [self.view.zones[n].reach_mm(*candidate.direction) for n in candidate.ends]

    def _pins(self, candidate: Candidate) -> tuple[Pin, ...]:
        return tuple(self.pins[n] for n in candidate.ends)

    def _measuring(self, candidate: Candidate) -> Measuring | None:
        """With what it can be read; None where pins touch or nothing reads that far."""
        pins = self._pins(candidate)
        reading = _reading(candidate, pins)
        between = candidate.distance_mm - sum(pin.diameter_mm for pin in pins) / 2
        if candidate.to_number is not None and between < _ROOM_MM:
            return None
        shake = sum(pin.shake_mm for pin in pins) / 2
        found = inside(self.shop, reading)
        if candidate.kind in WALL_KINDS:
            return found and replace(found, uncertainty_mm=found.uncertainty_mm + shake)
        if candidate.kind == "between pins":
            return found and replace(found, takes_mean=True)
        return outside(self.shop, reading, self._finest_mm(candidate), shake)

    def _finest_mm(self, candidate: Candidate) -> float:
        """The narrower of the zones that the reading is to decide, along its direction."""
        return 2 * min(self._reaches_mm(candidate))

    def _take(self, candidate: Candidate) -> None:
        """Enter a reading, unless it is there or cannot be taken."""
        measuring = self._measuring(candidate)
        if measuring is None and candidate.kind == "over pins":
            candidate = self._over(candidate.number, candidate.to_number or 0, "between pins")
            measuring = self._measuring(candidate)
        ends = frozenset({candidate.number, candidate.to_number, candidate.to_face})
        if measuring is not None and (candidate.kind, ends) not in self._taken:
            self._taken.add((candidate.kind, ends))
            self._note_side(candidate, measuring.uncertainty_mm)
            self.checks.append(self._check(candidate, measuring))

    def _note_side(self, candidate: Candidate, off_mm: float) -> None:
        """The second side of a centre line tells the true width across it."""
        if candidate.to_face is None:
            return
        axis = self.view.axis_of(candidate.to_face)
        other = self._sides.get((candidate.number, axis))
        if other is None:
            self._sides[candidate.number, axis] = off_mm
        else:
            self._across[axis] = min(max(other, off_mm), self._across.get(axis, np.inf))

    def check_of(self, kind: CheckKind, hole: str, to: str) -> Check | None:
        """The check of a reading that somebody took, whether the sheet asks for it or not.

        to : the other hole, or the face in small letters; None where it cannot be read so
        """
        index = self.view.index
        if hole not in index:
            return None
        number = index[hole]
        if kind in PAIR_KINDS:
            if to not in index or to == hole:
                return None
            if not (self.pinned[number] and self.pinned[index[to]]):
                return None
            candidate = self._over(number, index[to], kind)
        else:
            faces = [c for c in self._edge_candidates(number, every_face=True) if c.kind == kind]
            found = [c for c in faces if (c.to_face or "") == to]
            if not found:
                return None
            candidate = found[0]
        measuring = self._measuring(candidate)
        return None if measuring is None else self._check(candidate, measuring)

    def _check(self, candidate: Candidate, measuring: Measuring) -> Check:
        view, pins, setup = self.view, self._pins(candidate), self.view.setup
        reading, half = _reading(candidate, pins), sum(self._reaches_mm(candidate))
        to = view.holes[candidate.to_number].name if candidate.to_number is not None else ""
        is_usual = any(view.zones[n].basis == "usual" for n in candidate.ends)
        limits = Limits(reading - half, reading + half, "usual" if is_usual else "drawing")
        return Check(
            0,
            setup.number,
            setup.face,
            candidate.kind,
            view.holes[candidate.number].name,
            to or (candidate.to_face or "").upper(),
            pins,
            reading,
            limits,
            measuring.instrument,
            measuring.uncertainty_mm,
            measuring.takes_mean,
        )


def _reading(candidate: Candidate, pins: tuple[Pin, ...]) -> float:
    diameters = tuple(pin.diameter_mm for pin in pins)
    return reading_mm(candidate.kind, candidate.distance_mm, diameters)


def _crossing(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Sine of the angle at which two readings meet."""
    return abs(a[0] * b[1] - a[1] * b[0])


def _worth(a: Candidate, b: Candidate) -> float:
    relief = _EDGE_RELIEF * sum(candidate.to_number is None for candidate in (a, b))
    return _crossing(a.direction, b.direction) - relief


def _is_along(a: Candidate, b: Candidate) -> bool:
    return _crossing(a.direction, b.direction) < 1e-9


def _far_pair(places_mm: Floats, members: list[int]) -> tuple[int, int]:
    """Two members that lie far apart: the farthest from the middle, and the farthest from that."""
    chosen = places_mm[:, members]
    start = int(np.argmax(np.round(np.hypot(*(chosen - chosen.mean(axis=1)[:, None])), 6)))
    apart = np.round(np.hypot(*(chosen - chosen[:, start : start + 1])), 6)
    end = int(np.argmax(apart))
    first, second = sorted((start, end))
    return members[first], members[second]
