"""The turn test: which way three named holes go round, seen square at their face from outside.

Two parts of one hand, where a pair was wanted, differ from the right ones in nothing but this. The
test proves something only when the holes of the face, as the eye sees them, are not their own
mirror image; and three holes can be told apart only when no other three are the mirror image of
them. Imports numpy only.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

EYE_MM = 0.5
"""What the eye tells of a spotted hole's place without measuring: common practice."""

_LEAST_HEIGHT_MM = 4 * EYE_MM  # of the triangle: flatter, and the eye cannot say which way it goes
_POOL = 14  # holes that the three are chosen from
_MOST_AXES = 200  # of looking glasses tried; a pattern that needs more is taken as symmetrical
_MOST_PAIRS = 2_000_000


@frozen
class TurnTest:
    """Three holes, and whether they go round clockwise in the order named, seen from outside.

    The opposite hand has the same three and goes round the other way.

    indices           : (3,) numbers of the holes among those given
    is_unmistakable   : no other three holes of these kinds lie as their mirror image; where false,
                        the holes are found by the whole pattern, with the sheet beside the part
    """

    names: tuple[str, str, str]
    indices: tuple[int, int, int]
    is_clockwise: bool
    is_unmistakable: bool

    @property
    def sense(self) -> str:
        """The way round in one word."""
        return "clockwise" if self.is_clockwise else "anticlockwise"


def turn_test(
    points_mm: Floats, names: Sequence[str], kinds: Sequence[Hashable] | None = None
) -> TurnTest | None:
    """The three holes of a face that tell its hand; None when its holes cannot show it.

    points_mm : (2, N)  holes of one face, seen square at it from outside: to the right, up [mm]
    names     : (N,)    what the sheet calls them
    kinds     : (N,)    what tells one hole from another on the part: holes of equal kind look alike
    """
    points = np.asarray(points_mm, dtype=np.float64)
    if points.shape[1] < 3:
        return None
    labels = _numbered(kinds if kinds is not None else [0] * points.shape[1])
    holes = _Holes(points, labels)
    if is_own_mirror_image(points, labels.tolist()):
        return None
    tall = [three for three in _candidates(points, labels) if _height_mm(points, three) > 0]
    if not tall:
        return None
    sure = next((three for three in tall if not holes.has_mirror_image_of(three)), None)
    three = sure if sure is not None else tall[0]
    area = _signed_area(points, three)
    first, second, third = (names[index] for index in three)
    return TurnTest((first, second, third), three, area < 0, sure is not None)


def is_own_mirror_image(points_mm: Floats, kinds: Sequence[Hashable] | None = None) -> bool:
    """Whether holes (2, N), turned over, can be laid on themselves by shifting and turning.

    Such a motion leaves their middle where it is, so it is a looking glass through the middle; the
    fewest holes that are alike in kind and distance from it say which are worth trying.
    """
    points = np.asarray(points_mm, dtype=np.float64)
    count = points.shape[1]
    if count < 3:
        return True
    labels = _numbered(kinds if kinds is not None else [0] * count)
    middle = points.mean(axis=1, keepdims=True)
    about = points - middle
    lookup = _Cells(about, labels)
    ring = _smallest_ring(about, labels)
    if ring is None:
        return True  # all in one spot
    is_capped = len(ring) > _MOST_AXES
    ring = ring[:_MOST_AXES]
    angle = np.arctan2(about[1, ring], about[0, ring])
    for total in angle + angle[0]:  # the glass at half this angle brings the first to another
        cosine, sine = np.cos(total), np.sin(total)
        glass = np.array([[cosine, sine], [sine, -cosine]])
        if lookup.has_all(glass @ about, labels):
            return True
    return is_capped


def _numbered(kinds: Sequence[Hashable]) -> Whole:
    numbers: dict[Hashable, int] = {}
    return np.array([numbers.setdefault(kind, len(numbers)) for kind in kinds], dtype=np.int64)


def _smallest_ring(about: Floats, labels: Whole) -> Whole | None:
    """Holes of one kind at one distance from the middle, the fewest there are, the farthest of
    these; distances are grouped with gaps, so that a rounding never splits a ring."""
    distance = np.hypot(about[0], about[1])
    order = np.lexsort((distance, labels))
    steps = (np.diff(distance[order]) > EYE_MM) | (np.diff(labels[order]) != 0)
    rings = np.split(order, np.flatnonzero(steps) + 1)
    wide = [ring for ring in rings if distance[ring].min() > 4 * EYE_MM]
    if not wide:
        return None
    return np.sort(min(wide, key=lambda ring: (len(ring), -float(distance[ring].max()))))


class _Cells:
    """Holes by square cells, to ask whether a hole of a kind lies at a place."""

    def __init__(self, points: Floats, labels: Whole) -> None:
        self.points = points
        self.low = points.min(axis=1, keepdims=True) - 4 * EYE_MM
        self.columns, self.rows = (int(np.ptp(along) / EYE_MM) + 12 for along in points)
        keys = self._keys(points, labels)
        self.order = np.argsort(keys, kind="stable")
        self.keys = keys[self.order]

    def _keys(self, points: Floats, labels: Whole) -> Whole:
        cell = np.floor((points - self.low) / EYE_MM).astype(np.int64)
        cell[0] = np.clip(cell[0], 0, self.columns - 1)
        cell[1] = np.clip(cell[1], 0, self.rows - 1)
        keys: Whole = (labels * self.columns + cell[0]) * self.rows + cell[1]
        return keys

    def has(self, points: Floats, labels: Whole) -> NDArray[np.bool_]:
        """(N,) whether a hole of that kind lies there, within the tolerance."""
        found = np.zeros(points.shape[1], dtype=bool)
        base = self._keys(points, labels)
        for right, up in itertools.product((-1, 0, 1), repeat=2):
            wanted = base + right * self.rows + up
            at = np.minimum(np.searchsorted(self.keys, wanted), len(self.keys) - 1)
            apart = points - self.points[:, self.order[at]]
            is_near = np.hypot(apart[0], apart[1]) <= EYE_MM
            found |= is_near & (self.keys[at] == wanted)
        return found

    def has_all(self, points: Floats, labels: Whole) -> bool:
        """Whether holes lie at all these places: looks at a few first."""
        few = slice(0, 50)
        if not self.has(points[:, few], labels[few]).all():
            return False
        return bool(self.has(points, labels).all())


class _Holes:
    """The holes of a face, to ask whether three of them occur a second time, mirrored."""

    def __init__(self, points: Floats, labels: Whole) -> None:
        self.points, self.labels = points, labels
        self.cells = _Cells(points, labels)

    def has_mirror_image_of(self, three: tuple[int, int, int]) -> bool:
        """Whether other holes of the same kinds, or these otherwise named, lie as the mirror image.

        Counts as found where it would take too long to look.
        """
        counts = {index: int((self.labels == self.labels[index]).sum()) for index in three}
        a, b, c = sorted(three, key=lambda index: counts[index])
        if counts[a] * counts[b] > _MOST_PAIRS:
            return True
        z = self.points[0] + 1j * self.points[1]
        along, aside = z[b] - z[a], z[c] - z[a]
        first = z[self.labels == self.labels[a]][:, None]
        second = z[self.labels == self.labels[b]][None, :]
        apart = second - first
        rows, columns = np.nonzero(np.abs(np.abs(apart) - abs(along)) <= EYE_MM)
        turned = apart[rows, columns] / np.abs(apart[rows, columns])
        place = first[rows, 0] + turned * np.conj(aside / (along / abs(along)))
        places = np.array([place.real, place.imag])
        return bool(self.cells.has(places, np.full(len(place), self.labels[c])).any())


def _candidates(points: Floats, labels: Whole) -> Iterator[tuple[int, int, int]]:
    """Threes worth trying: of rare kinds first, then the largest. In the order given.

    Areas are compared rounded, so that a part and its opposite hand name the same three.
    """
    pool = _pool(points, labels)
    counts = np.bincount(labels)[labels]

    def rank(three: tuple[int, int, int]) -> tuple[bool, float, tuple[int, int, int]]:
        are_told_by_kind = len({int(labels[index]) for index in three}) == 3
        are_single = are_told_by_kind and all(counts[index] == 1 for index in three)
        return (not are_single, -round(abs(_signed_area(points, three)), 3), three)

    threes = [(a, b, c) for a, b, c in itertools.combinations(pool, 3)]
    return iter(sorted(threes, key=rank))


def _pool(points: Floats, labels: Whole) -> list[int]:
    """Holes far out, those of rare kinds before others, in the order given."""
    about = points - points.mean(axis=1, keepdims=True)
    distance = np.round(np.hypot(about[0], about[1]), 3)
    counts = np.bincount(labels)[labels]
    chosen: dict[int, None] = {}
    for order in (np.lexsort((-distance, counts)), np.argsort(-distance, kind="stable")):
        for index in order[: _POOL // 2]:
            chosen[int(index)] = None
    for label in dict.fromkeys(labels.tolist()):
        if len(chosen) >= _POOL:
            break
        chosen[int(np.flatnonzero(labels == label)[0])] = None
    return sorted(chosen)


def _signed_area(points: Floats, three: tuple[int, int, int]) -> float:
    """Twice the area of the triangle, above 0 when it goes round anticlockwise."""
    (ax, bx, cx), (ay, by, cy) = points[:, list(three)]
    return float((bx - ax) * (cy - ay) - (cx - ax) * (by - ay))


def _height_mm(points: Floats, three: tuple[int, int, int]) -> float:
    """The least height of the triangle; 0 when it is too flat to see which way it goes."""
    corners = points[:, list(three)]
    sides = corners - np.roll(corners, 1, axis=1)
    longest = float(np.hypot(sides[0], sides[1]).max())
    height = abs(_signed_area(points, three)) / longest if longest > 0 else 0.0
    return height if height >= _LEAST_HEIGHT_MM else 0.0
