"""In which order solids are painted so that what is before another is painted after it.

Which of two that share paper is before the other is told by a face of one that parts them.
Imports sheets.solids.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from millprep.model.scene import Point
from millprep.sheets.solids import Solid

_HAIR = 1e-3
Floats = NDArray[np.float64]
Sight = Callable[[Point], tuple[float, float]]


def from_the_back(solids: Sequence[Solid], sight: Sight, eye: Point) -> list[int]:
    """The numbers of solids, what is behind another first; where some hide each other in a ring,
    the farthest of them comes first.

    sight : where a place comes on the paper; eye : the way to the eye
    """
    towards = np.array(eye)
    corners = [np.array(one.corners_mm) for one in solids]
    far = [float((places @ towards).mean()) for places in corners]
    ways = [_ways(one) for one in solids]
    hides: dict[int, list[int]] = {number: [] for number in range(len(solids))}
    behind = [0] * len(solids)
    for a, b in _over_each_other(solids, sight):
        is_after = _is_before(corners[a], corners[b], np.vstack([ways[a], ways[b]]), towards)
        back, front = (a, b) if is_after else (b, a)
        hides[back].append(front)
        behind[front] += 1
    order: list[int] = []
    ready = sorted((far[n], n) for n in range(len(solids)) if not behind[n])
    left = set(range(len(solids)))
    while left:
        if not ready:
            farthest = min(left, key=lambda n: far[n])
            ready.append((far[farthest], farthest))
        _, number = heappop(ready)
        if number not in left:
            continue
        left.remove(number)
        order.append(number)
        for front in hides[number]:
            behind[front] -= 1
            if not behind[front]:
                heappush(ready, (far[front], front))
    return order


def _over_each_other(solids: Sequence[Solid], sight: Sight) -> Iterator[tuple[int, int]]:
    """Those that share paper: no way on it parts them, square to an edge of either."""
    places = [np.array([sight(corner) for corner in one.corners_mm]) for one in solids]
    ends = np.array([[one.min(axis=0), one.max(axis=0)] for one in places])
    across = [_across(one, len(solid.end_mm)) for one, solid in zip(places, solids, strict=True)]
    for a in range(len(solids)):
        near = (ends[a, 0] < ends[a + 1 :, 1]) & (ends[a + 1 :, 0] < ends[a, 1])
        for b in (np.flatnonzero(near.all(axis=1)) + a + 1).tolist():
            ways = np.vstack([across[a], across[b]])
            mine, its = places[a] @ ways.T, places[b] @ ways.T
            gaps = np.maximum(
                mine.min(axis=0) - its.max(axis=0), its.min(axis=0) - mine.max(axis=0)
            )
            if gaps.max() < -_HAIR:
                yield a, b


def _across(places: Floats, corners: int) -> Floats:
    """Ways on the paper square to the edges of a prism whose first end has so many corners."""
    edges = np.vstack([np.diff(places[:corners], axis=0), places[corners] - places[0]])
    long = np.linalg.norm(edges, axis=1)
    edges = edges[long > _HAIR] / long[long > _HAIR, None]
    square: Floats = np.array([-edges[:, 1], edges[:, 0]]).T
    return square


def _ways(solid: Solid) -> Floats:
    """Square to the faces of a prism, one of each two."""
    along, end = np.array(solid.along_mm), np.array(solid.end_mm)
    sides = np.roll(end, -1, axis=0) - end
    ways = np.vstack([np.cross(sides[: max(len(sides) // 2, 2)], along), along])
    unit: Floats = ways / np.linalg.norm(ways, axis=1, keepdims=True)
    return unit


def _is_before(one: Floats, other: Floats, ways: Floats, towards: Floats) -> bool:
    """Whether the other comes before the first, seen from the eye."""
    mine, its = one @ ways.T, other @ ways.T
    facing = ways @ towards
    beyond, short = its.min(axis=0) - mine.max(axis=0), mine.min(axis=0) - its.max(axis=0)
    gap = np.where(np.abs(facing) > _HAIR, np.maximum(beyond, short), -np.inf)
    best = int(np.argmax(gap))
    if gap[best] < -_HAIR:  # they are in each other
        return float((other @ towards).mean()) > float((one @ towards).mean())
    return bool((beyond[best] > short[best]) == (facing[best] > 0))
