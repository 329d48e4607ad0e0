"""Looking at solids from above: what is seen of them, and what hides what.

Imports sheets.solids and canvas.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import pairwise

from millprep.base.records import frozen
from millprep.canvas.isometric import Isometric
from millprep.canvas.pen import Place
from millprep.model.scene import Point
from millprep.sheets.solids import Solid

_HAIR = 1e-6


class Outline(tuple[Place, ...]):
    """A convex outline. What is asked of each hundreds of times is worked out once."""

    @cached_property
    def bounds(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """From where to where it reaches, level and upright."""
        xs, ys = zip(*self, strict=True)
        return (min(xs), max(xs)), (min(ys), max(ys))

    @cached_property
    def spans(self) -> list[tuple[float, float, float, float]]:
        """The ways square to its sides, and from where to where it reaches along each."""
        found = []
        for (x0, y0), (x1, y1) in pairwise([*self, self[0]]):
            long = math.hypot(x1 - x0, y1 - y0)
            if long > _HAIR:
                across, up = (y1 - y0) / long, (x0 - x1) / long
                shadow = [across * x + up * y for x, y in self]
                found.append((across, up, min(shadow), max(shadow)))
        return found


@frozen
class Sight(Isometric):
    """The same of solids: which faces are seen, and in which order they are drawn."""

    def faces(self, solid: Solid) -> Iterator[list[Place]]:
        """Outlines of the faces of a solid that look towards the eye, the farthest first."""
        end, other = solid.end_mm, solid.corners_mm[len(solid.end_mm) :]
        ring = [*zip(end, other, strict=True), (end[0], other[0])]
        sides = [(a, b, d, c) for (a, c), (b, d) in pairwise(ring)]
        seen = [face for face in (end[::-1], other, *sides) if self._is_seen(face, solid)]
        for face in sorted(seen, key=lambda face: _dot(_middle(face), self.towards)):
            yield [self.at(corner) for corner in face]

    def _is_seen(self, face: Sequence[Point], solid: Solid) -> bool:
        """Faces go round anticlockwise as seen from outside where the ends do so about the way."""
        turns = 1.0 if _dot(_square_to(solid.end_mm), solid.along_mm) > 0 else -1.0
        return turns * _dot(_square_to(face), self.towards) > _HAIR

    def caps(self, solid: Solid) -> Iterator[list[Place]]:
        """Outlines of the ends of a solid that look towards the eye."""
        end, other = solid.end_mm, solid.corners_mm[len(solid.end_mm) :]
        for face in (end[::-1], other):
            if self._is_seen(face, solid):
                yield [self.at(corner) for corner in face]

    def hull(self, solid: Solid) -> Outline:
        """The outline of the whole."""
        return hull([self.at(corner) for corner in solid.corners_mm])

    def order(self, solids: Sequence[Solid]) -> list[Solid]:
        """From the back to the front: nothing comes before what it may hide.

        Boxes around solids tell; where these overlap, the solids keep their order.
        """
        waiting, done = list(solids), []
        while waiting:
            first = next(
                (
                    one
                    for one in waiting
                    if not any(self._may_hide(one, other, solids) for other in waiting)
                ),
                waiting[0],
            )
            waiting.remove(first)
            done.append(first)
        return done

    def _may_hide(self, one: Solid, other: Solid, order: Sequence[Solid]) -> bool:
        if one is other:
            return False
        hides, is_hidden = self._is_before(one, other), self._is_before(other, one)
        if hides and is_hidden:
            return _index(order, one) > _index(order, other)
        return hides

    def _is_before(self, one: Solid, other: Solid) -> bool:
        """Whether some of one may lie nearer to the eye than some of the other, and over it."""
        for way, low, high, far, near in zip(
            self.towards, one.low_mm, one.high_mm, other.low_mm, other.high_mm, strict=True
        ):
            if (high - far if way > 0 else near - low) <= _HAIR:
                return False
        return True


def _index(order: Sequence[Solid], solid: Solid) -> int:
    return next(index for index, one in enumerate(order) if one is solid)


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return sum(a * b for a, b in zip(one, other, strict=True))


def _middle(places: Sequence[Point]) -> Point:
    x, y, z = (sum(values) / len(places) for values in zip(*places, strict=True))
    return x, y, z


def _square_to(face: Sequence[Point]) -> Point:
    """A way square to a flat outline, towards who sees it go round anticlockwise (Newell)."""
    x = y = z = 0.0
    for (x0, y0, z0), (x1, y1, z1) in pairwise([*face, face[0]]):
        x += (y0 - y1) * (z0 + z1)
        y += (z0 - z1) * (x0 + x1)
        z += (x0 - x1) * (y0 + y1)
    return x, y, z


def hull(places: Sequence[Place]) -> Outline:
    """The outline round all places, anticlockwise (Andrew's monotone chain)."""
    ordered = sorted(set(places))

    def chain(run: Sequence[Place]) -> list[Place]:
        kept: list[Place] = []
        for place in run:
            while len(kept) > 1 and _turn(kept[-2], kept[-1], place) <= _HAIR**2:
                kept.pop()
            kept.append(place)
        return kept[:-1]

    return Outline(chain(ordered) + chain(ordered[::-1]))


def _turn(a: Place, b: Place, c: Place) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def do_meet(one: Outline, other: Outline, apart: float = 0.0) -> bool:
    """Whether two convex outlines overlap, or are nearer than that (separating axes)."""
    for near, far in zip(one.bounds, other.bounds, strict=True):
        if near[1] + apart <= far[0] or far[1] + apart <= near[0]:
            return False
    return not any(
        max(shadow) + apart <= low or high + apart <= min(shadow)
        for outline, seen in ((one, other), (other, one))
        for across, up, low, high in outline.spans
        for shadow in [[across * x + up * y for x, y in seen]]
    )


def is_within(place: Place, outline: Sequence[Place]) -> bool:
    """Whether a convex outline, anticlockwise, holds a place."""
    return all(_turn(a, b, place) >= -_HAIR for a, b in pairwise([*outline, outline[0]]))
