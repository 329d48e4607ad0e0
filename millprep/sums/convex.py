"""Boxes and cylinders in space: how far apart they are, or how far they are in each other.

All shapes of a list are worked out at once. Apart: nearest points, by going to and fro between the
two until they stay (projections onto convex sets). Into each other: the shortest way out along the
ways in which such shapes can come apart, which is exact where their axes are parallel or square to
each other, and else a little long. Imports numpy; layer 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen, replace

Floats = NDArray[np.float64]
_ROUNDS = 400  # of going to and fro, at the most
_STILL_MM = 1e-6
_PARALLEL = 1 - 1e-9


@frozen
class Shape:
    """A box, or a cylinder about its last axis.

    centre_mm : (3,); axes : (3, 3), its own axes as rows
    half_mm   : (3,) half its lengths along them; of a cylinder radius, radius, half its height
    """

    centre_mm: Floats
    axes: Floats
    half_mm: Floats
    is_round: bool

    def span_mm(self, axis: int) -> tuple[float, float]:
        """From where to where it reaches along one of its own axes."""
        middle, half = float(self.axes[axis] @ self.centre_mm), float(self.half_mm[axis])
        return middle - half, middle + half

    def along(self, axis: int, low_mm: float, high_mm: float) -> Shape:
        """What of it lies between two places along one of its own axes."""
        way = self.axes[axis]
        half = self.half_mm.copy()
        half[axis] = (high_mm - low_mm) / 2
        centre = self.centre_mm + way * ((low_mm + high_mm) / 2 - float(way @ self.centre_mm))
        return replace(self, centre_mm=centre, half_mm=half)

    def turned(self, turn: Floats, about_mm: Floats) -> Shape:
        """Turned about a point; turn : (3, 3)."""
        centre = about_mm + turn @ (self.centre_mm - about_mm)
        return replace(self, centre_mm=centre, axes=self.axes @ turn.T)


def cylinder(
    start_mm: Floats, way: Floats, low_mm: float, high_mm: float, radius_mm: float
) -> Shape:
    """About a line through `start_mm`, from and to so far along it; way : (3,) of length 1."""
    x, y, z = way.tolist()
    a, b = (-z, x) if abs(y) < abs(z) else (y, -x)  # a way square to it, then the third
    first = np.array([a, 0.0, b] if abs(y) < abs(z) else [a, b, 0.0]) / math.hypot(a, b)
    p, q, r = first.tolist()
    axes = np.array([first, [y * r - z * q, z * p - x * r, x * q - y * p], way])
    half = np.array([radius_mm, radius_mm, (high_mm - low_mm) / 2])
    return Shape(start_mm + way * (low_mm + high_mm) / 2, axes, half, True)


@frozen
class Shapes:
    """Many of them: (N, 3), (N, 3, 3), (N, 3), (N,)."""

    centre_mm: Floats
    axes: Floats
    half_mm: Floats
    are_round: NDArray[np.bool_]

    @staticmethod
    def of(shapes: Sequence[Shape]) -> Shapes:
        return Shapes(
            np.array([one.centre_mm for one in shapes]).reshape(-1, 3),
            np.array([one.axes for one in shapes]).reshape(-1, 3, 3),
            np.array([one.half_mm for one in shapes]).reshape(-1, 3),
            np.array([one.is_round for one in shapes], dtype=bool),
        )

    def some(self, which: NDArray[np.intp]) -> Shapes:
        return Shapes(
            self.centre_mm[which], self.axes[which], self.half_mm[which], self.are_round[which]
        )


def boxes(shapes: Sequence[Shape]) -> tuple[Floats, Floats]:
    """(N, 3) lowest and highest corners of the boxes around shapes."""
    many = Shapes.of(shapes)
    reach = supports(many, np.broadcast_to(np.eye(3), (len(shapes), 3, 3)))
    return many.centre_mm - reach, many.centre_mm + reach


def supports(shapes: Shapes, ways: Floats) -> Floats:
    """(N, K) how far each reaches from its centre along ways (N, K, 3) of length 1."""
    along = np.abs(np.einsum("nij,nkj->nki", shapes.axes, ways))
    box = np.einsum("nki,ni->nk", along, shapes.half_mm)
    up = np.minimum(along[:, :, 2], 1.0)
    rim = shapes.half_mm[:, None, 0] * np.sqrt(1 - up**2) + shapes.half_mm[:, None, 2] * up
    reach: Floats = np.where(shapes.are_round[:, None], rim, box)
    return reach


def _nearest(shapes: Shapes, points: Floats) -> Floats:
    """(N, 3) the point of each that lies nearest to a point (N, 3)."""
    local = np.einsum("nij,nj->ni", shapes.axes, points - shapes.centre_mm)
    kept = np.clip(local, -shapes.half_mm, shapes.half_mm)
    off = np.hypot(local[:, 0], local[:, 1])
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(off > shapes.half_mm[:, 0], shapes.half_mm[:, 0] / off, 1.0)
    kept[:, :2] = np.where(shapes.are_round[:, None], local[:, :2] * share[:, None], kept[:, :2])
    nearest: Floats = shapes.centre_mm + np.einsum("nij,ni->nj", shapes.axes, kept)
    return nearest


def apart_mm(first: Sequence[Shape], second: Sequence[Shape]) -> Floats:
    """(N,) how far each of the first is from its second; negative is how far they are in it."""
    if not first:
        return np.zeros(0)
    one, other = Shapes.of(first), Shapes.of(second)
    gaps = np.zeros(len(first))
    left = np.arange(len(first))
    here = _nearest(one, other.centre_mm)
    for _ in range(_ROUNDS):
        mine, its = one.some(left), other.some(left)
        there = _nearest(its, here[left])
        back = _nearest(mine, there)
        gaps[left] = np.linalg.norm(back - there, axis=1)
        moves = np.linalg.norm(back - here[left], axis=1) > _STILL_MM
        here[left] = back
        left = left[moves]
        if not left.size:
            break
    into = _into_mm(one, other)
    return np.where((gaps > 1e-3) | (into <= 0), np.maximum(gaps, -into), -into)


def _into_mm(one: Shapes, other: Shapes) -> Floats:
    """(N,) the shortest way out along the ways that tell; negative where one of them parts them."""
    count = len(one.centre_mm)
    between = other.centre_mm - one.centre_mm
    crossed = np.cross(one.axes[:, :, None, :], other.axes[:, None, :, :]).reshape(count, 9, 3)
    sideways = [
        way - np.einsum("nj,nj->n", way, mine.axes[:, 2])[:, None] * mine.axes[:, 2]
        for mine, its in ((one, other), (other, one))
        for way in (between, mine.centre_mm - _nearest(its, mine.centre_mm))
    ]
    ways = np.concatenate([one.axes, other.axes, crossed, np.stack(sideways, axis=1)], axis=1)
    long = np.linalg.norm(ways, axis=2, keepdims=True)
    ways = np.where(long > 1e-6, ways / np.maximum(long, 1e-12), one.axes[:, :1])
    reach = supports(one, ways) + supports(other, ways)
    into: Floats = (reach - np.abs(np.einsum("nj,nkj->nk", between, ways))).min(axis=1)
    return into


def outside(shape: Shape, hollow: Shape, slack_mm: float) -> list[Shape]:
    """What of a shape lies outside a cylindrical hollow; the whole where it does not go in."""
    way = hollow.axes[2]
    axis = next((n for n in range(3) if abs(float(shape.axes[n] @ way)) > _PARALLEL), None)
    if axis is None or _beside_mm(shape, hollow, axis) > hollow.half_mm[0] + slack_mm:
        return [shape]
    sense = 1.0 if float(shape.axes[axis] @ way) > 0 else -1.0
    low, high = shape.span_mm(axis)
    start, end = sorted(sense * place for place in hollow.span_mm(2))
    parts = [(low, min(high, start)), (max(low, end), high)]
    return [shape.along(axis, a, b) for a, b in parts if b - a > _STILL_MM]


def _beside_mm(shape: Shape, hollow: Shape, axis: int) -> float:
    """How far a shape reaches from the axis of a hollow that runs along one of its own axes."""
    off = shape.axes @ (shape.centre_mm - hollow.centre_mm)
    across = [n for n in range(3) if n != axis]
    if shape.is_round and axis == 2:
        return float(np.hypot(*off[across]) + shape.half_mm[0])
    return float(np.hypot(*(np.abs(off[across]) + shape.half_mm[across])))
