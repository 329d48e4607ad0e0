"""How far two rooms of finished holes lie apart: exact distances between round solids.

A `Solid` is a cylinder, a cone or the stump of one, round about a line along one part axis. Two of
them run the same way or square to each other. Imports nothing of the project.
"""

from __future__ import annotations

import math
from functools import lru_cache

from millprep.base.records import frozen, replace

Point = tuple[float, float, float]

TOUCHING_MM = 1e-6
"""Solids nearer than this touch."""
_PROVEN_MM = 1e-9
_MOST_ROUNDS = 2_000  # solids that all but touch come to it, and are told a little apart


@frozen
class Solid:
    """A round solid: from `low_mm` to `high_mm` along `axis`, a radius at each end.

    centre_mm : a point on its own axis; the coordinate along the axis says nothing
    what      : what it is of a hole ("hole", "thread", "drill point", ...)
    """

    axis: int
    centre_mm: Point
    low_mm: float
    high_mm: float
    low_radius_mm: float
    high_radius_mm: float
    what: str = "hole"

    @property
    def radius_mm(self) -> float:
        """The larger of the two."""
        return max(self.low_radius_mm, self.high_radius_mm)

    def moved(self, by_mm: Point) -> Solid:
        """The same elsewhere."""
        x, y, z = (at + step for at, step in zip(self.centre_mm, by_mm, strict=True))
        along = by_mm[self.axis]
        return replace(
            self, centre_mm=(x, y, z), low_mm=self.low_mm + along, high_mm=self.high_mm + along
        )

    def span_mm(self, axis: int) -> tuple[float, float]:
        """From where to where it reaches along a part axis."""
        if axis == self.axis:
            return self.low_mm, self.high_mm
        return self.centre_mm[axis] - self.radius_mm, self.centre_mm[axis] + self.radius_mm


def gap_mm(one: Solid, other: Solid, enough_mm: float = math.inf) -> float:
    """The distance between two solids; below nought how far they reach into each other.

    The depth of a crossing is that of the shortest way out across one of the part axes, or for
    solids side by side, in the plane of their axes. A distance beyond `enough_mm` may be told a
    little too large, or too small.
    """
    if one.axis == other.axis:
        return _side_by_side_mm(one, other, enough_mm)
    beside = box_gap_mm(one, other)
    if _pass_each_other(one, other):
        return beside
    apart = _square_mm(one, other, enough_mm)
    return apart if apart > TOUCHING_MM else min(beside, 0.0)


def _pass_each_other(one: Solid, other: Solid) -> bool:
    """Whether two cylinders are nearest where their axes pass: away from all four ends."""
    return (
        one.low_radius_mm == one.high_radius_mm
        and other.low_radius_mm == other.high_radius_mm
        and one.low_mm <= other.centre_mm[one.axis] <= one.high_mm
        and other.low_mm <= one.centre_mm[other.axis] <= other.high_mm
    )


def box_gap_mm(one: Solid, other: Solid) -> float:
    """The widest gap along a part axis between the boxes round two solids: a lower bound."""
    widest = -math.inf
    for axis in range(3):
        low, high = one.span_mm(axis)
        other_low, other_high = other.span_mm(axis)
        widest = max(widest, other_low - high, low - other_high)
    return widest


def _side_by_side_mm(one: Solid, other: Solid, enough_mm: float) -> float:
    """Of solids with the same direction: all happens in the plane of their two axes."""
    i, j = (axis for axis in range(3) if axis != one.axis)
    apart = math.hypot(other.centre_mm[i] - one.centre_mm[i], other.centre_mm[j] - one.centre_mm[j])
    if one.low_radius_mm == one.high_radius_mm and other.low_radius_mm == other.high_radius_mm:
        aside = apart - one.low_radius_mm - other.low_radius_mm
        along = max(one.low_mm, other.low_mm) - min(one.high_mm, other.high_mm)
        if aside > 0 and along > 0:
            return math.hypot(aside, along)
        return max(aside, along)
    return _outlines_mm(_outline(one, 0.0), _outline(other, apart), enough_mm)


Outline = tuple[tuple[float, float], ...]


def _outline(solid: Solid, at: float) -> Outline:
    """Corners of the section through the axis, anticlockwise: (across, along)."""
    return (
        (at - solid.low_radius_mm, solid.low_mm),
        (at + solid.low_radius_mm, solid.low_mm),
        (at + solid.high_radius_mm, solid.high_mm),
        (at - solid.high_radius_mm, solid.high_mm),
    )


@lru_cache(maxsize=4096)  # of the holes of a pattern many pairs lie alike
def _outlines_mm(one: Outline, other: Outline, enough_mm: float) -> float:
    """Between two convex outlines; below nought the shortest way out of each other."""
    past = max(_past_edges(one, other), _past_edges(other, one))
    if past <= 0 or past >= enough_mm:  # they lie no nearer than that
        return past
    return min(
        _to_edge(corner, start, end)
        for corners, edges in ((one, other), (other, one))
        for start, end in zip(edges, (*edges[1:], edges[0]), strict=True)
        for corner in corners
    )


def _past_edges(edges: Outline, corners: Outline) -> float:
    """How far all the corners lie outside the edge that parts them best."""
    best = -math.inf
    for (x, y), (next_x, next_y) in zip(edges, (*edges[1:], edges[0]), strict=True):
        length = math.hypot(next_x - x, next_y - y)
        if length > 0:
            out_x, out_y = (next_y - y) / length, (x - next_x) / length
            best = max(best, min((u - x) * out_x + (v - y) * out_y for u, v in corners))
    return best


def _to_edge(
    corner: tuple[float, float], start: tuple[float, float], end: tuple[float, float]
) -> float:
    along_x, along_y = end[0] - start[0], end[1] - start[1]
    square = along_x * along_x + along_y * along_y
    off_x, off_y = corner[0] - start[0], corner[1] - start[1]
    share = (off_x * along_x + off_y * along_y) / square if square > 0 else 0.0
    share = min(max(share, 0.0), 1.0)
    return math.hypot(off_x - share * along_x, off_y - share * along_y)


def _square_mm(one: Solid, other: Solid, enough_mm: float) -> float:
    """Of solids square to each other; 0 where they touch or cross.

    From a point of the one to the nearest of the other and back again, with the last step
    lengthened, until a plane between the two proves that they come no nearer (projected gradient
    with momentum and restart).
    """
    there = middle_of(other)
    ahead, momentum = there, 1.0
    apart = math.inf
    for number in range(_MOST_ROUNDS):
        here = nearest_point(one, ahead)
        reached = nearest_point(other, here)
        apart = math.dist(here, reached)
        if apart <= TOUCHING_MM:
            return 0.0
        if number % 8 == 0:
            parted = _parted_mm(one, other, here, reached)
            if apart - parted < _PROVEN_MM or parted > enough_mm:
                break
        step = tuple(new - old for new, old in zip(reached, there, strict=True))
        overshot = sum((was - new) * by for was, new, by in zip(ahead, reached, step, strict=True))
        following = 1.0 if overshot > 0 else (1 + math.sqrt(1 + 4 * momentum * momentum)) / 2
        share = 0.0 if overshot > 0 else (momentum - 1) / following
        x, y, z = (new + share * by for new, by in zip(reached, step, strict=True))
        ahead, there, momentum = (x, y, z), reached, following
    return apart


def _parted_mm(one: Solid, other: Solid, here: Point, reached: Point) -> float:
    """The gap between the solids along the line from here to there: they come no nearer."""
    apart = math.dist(here, reached)
    x, y, z = ((there - at) / apart for at, there in zip(here, reached, strict=True))
    return -_farthest(one, (x, y, z)) - _farthest(other, (-x, -y, -z))


def _farthest(solid: Solid, way: Point) -> float:
    """How far the solid reaches along a direction of unit length."""
    i, j = (axis for axis in range(3) if axis != solid.axis)
    along, across = way[solid.axis], math.hypot(way[i], way[j])
    ends = (
        along * solid.low_mm + across * solid.low_radius_mm,
        along * solid.high_mm + across * solid.high_radius_mm,
    )
    return way[i] * solid.centre_mm[i] + way[j] * solid.centre_mm[j] + max(ends)


def middle_of(solid: Solid) -> Point:
    """The point half way along its axis."""
    middle = list(solid.centre_mm)
    middle[solid.axis] = (solid.low_mm + solid.high_mm) / 2
    return middle[0], middle[1], middle[2]


def nearest_point(solid: Solid, point: Point) -> Point:
    """The point of the solid that is nearest to a point; the point itself inside it."""
    axis = solid.axis
    i, j = _ACROSS[axis]
    off_i, off_j = point[i] - solid.centre_mm[i], point[j] - solid.centre_mm[j]
    across = math.hypot(off_i, off_j)
    along, radius = _nearest_in_section(solid, point[axis], across)
    share = radius / across if across > radius else 1.0
    found = [0.0, 0.0, 0.0]
    found[axis] = along
    found[i] = solid.centre_mm[i] + off_i * share
    found[j] = solid.centre_mm[j] + off_j * share
    return found[0], found[1], found[2]


_ACROSS = ((1, 2), (0, 2), (0, 1))


def _nearest_in_section(solid: Solid, along: float, across: float) -> tuple[float, float]:
    """(along, across) of the nearest point in the half section through axis and point."""
    low, high = solid.low_mm, solid.high_mm
    low_radius, high_radius = solid.low_radius_mm, solid.high_radius_mm
    if along <= low and across <= low_radius:
        return low, across
    if along >= high and across <= high_radius:
        return high, across
    slant, length = high_radius - low_radius, high - low
    if slant == 0:
        return min(max(along, low), high), min(across, low_radius)
    if low <= along <= high and across * length <= low_radius * length + slant * (along - low):
        return along, across
    share = ((along - low) * length + (across - low_radius) * slant) / (length**2 + slant**2)
    share = min(max(share, 0.0), 1.0)
    return low + share * length, low_radius + share * slant
