"""What is left of the stock, cut upright along X: the solid stretches at each place of the cut.

solid ###      ### solid        holes are true, for they are the ends of tools as they stood;
      ###|    |###              what is milled is as true as its squares are small
      ####\\  /####
      #####\\/#####
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np

from millprep.base.records import frozen
from millprep.model.scene import Scene
from millprep.reading.milled_rooms import SidewaysCuts
from millprep.reading.simulate.left import Floats, across_room, left_of
from millprep.reading.simulate.record import Cut, Place, Record
from millprep.reading.simulate.solid import bottom_at, depth_inside, top_at

Stretch = tuple[float, float]
Corner = tuple[float, float]
_HAIR = 1e-9
_BESIDE_MM = 1e-6  # on either side of a wall


@frozen
class Section:
    """The cut at `y_mm` from one X to another.

    x      : (N,) places along it, ascending; a wall has one on either side of it
    solid  : of each the solid stretches of Z, from below
    error_mm : how far off a milled wall may be shown
    """

    y_mm: float
    x: Floats
    solid: tuple[tuple[Stretch, ...], ...]
    error_mm: float

    def areas(self) -> list[list[Corner]]:
        """Outlines of what is solid: pieces side by side, each as high as its stretches go."""
        done: list[list[Corner]] = []
        open_: list[tuple[list[Corner], list[Corner]]] = []
        before: tuple[Stretch, ...] = ()
        for x, here in zip(self.x.tolist(), self.solid, strict=True):
            if not _go_on(before, here):
                done += [low + high[::-1] for low, high in open_]
                open_ = [([], []) for _ in here]
            for (low, high), (bottom, top) in zip(open_, here, strict=True):
                low.append((x, bottom))
                high.append((x, top))
            before = here
        return done + [low + high[::-1] for low, high in open_]

    def edges(self) -> Iterator[list[Corner]]:
        """Lines along which what is solid ends, but those at the ends of the cut."""
        for area in self.areas():
            half = len(area) // 2
            yield area[:half]
            yield area[half:]
        for (x, here), (_, there) in pairwise(zip(self.x.tolist(), self.solid, strict=True)):
            if not _go_on(here, there):
                for low, high in _differences(here, there):
                    yield [(x, low), (x, high)]


def _go_on(one: Sequence[Stretch], other: Sequence[Stretch]) -> bool:
    """Whether stretches are as many, and each meets its like."""
    return len(one) == len(other) and all(
        low < top and bottom < high for (low, high), (bottom, top) in zip(one, other, strict=True)
    )


def _differences(one: Sequence[Stretch], other: Sequence[Stretch]) -> list[Stretch]:
    """What is solid on one side only."""
    ends = sorted({end for stretch in (*one, *other) for end in stretch})

    def is_in(z: float, stretches: Sequence[Stretch]) -> bool:
        return any(low < z < high for low, high in stretches)

    return [
        (low, high)
        for low, high in pairwise(ends)
        if is_in((low + high) / 2, one) != is_in((low + high) / 2, other)
    ]


def section_of(
    scene: Scene,
    record: Record,
    sideways: Sequence[SidewaysCuts],
    y_mm: float,
    window: tuple[float, float],
    step_mm: float,
) -> Section:
    """The cut at `y_mm` between two X, in steps of that size."""
    low, high = window
    strip = low, y_mm - step_mm / 2, high, y_mm + step_mm / 2
    left = left_of(scene, Record(), sideways, strip, step_mm)
    middles = np.asarray(low + (np.arange(left.height.shape[0]) + 0.5) * step_mm, dtype=np.float64)
    near = [
        (place, cut)
        for place in record.places
        for cut in place.cuts
        if abs(place.y_mm - y_mm) < cut.radius_mm
    ]
    x = _with_walls(middles, scene, record, near, y_mm, window)
    milled = left.height[np.clip(((x - low) / step_mm).astype(int), 0, middles.size - 1), 0]
    places = np.array([x, np.full(x.size, y_mm)])
    bottom = bottom_at(scene.stock, places)
    top: Floats = np.asarray(np.minimum(top_at(scene.stock, places), np.maximum(milled, bottom)))
    rooms: list[tuple[Floats, Floats]] = []
    for place, cut in near:
        surface = _surface(place, cut, x, y_mm)
        if math.isinf(cut.upper_mm):
            top = np.asarray(np.fmin(top, np.maximum(surface, bottom)))
        else:
            rooms.append((surface, np.where(np.isnan(surface), np.nan, cut.upper_mm)))
    rooms += [across_room(room, places[0], places[1]) for room in record.across]
    top[depth_inside(scene.stock, places) < 0] = -np.inf
    return Section(y_mm, x, tuple(_stretches(bottom, top, rooms)), left.error_mm)


def _with_walls(
    x: Floats,
    scene: Scene,
    record: Record,
    near: Sequence[tuple[Place, Cut]],
    y_mm: float,
    window: Stretch,
) -> Floats:
    """Places along the cut, with those on either side of each wall that is known."""
    walls = [scene.stock.low_mm[0], scene.stock.high_mm[0]]
    for place, cut in near:
        for radius in {cut.radius_mm, cut.flat_mm}:
            half = radius**2 - (place.y_mm - y_mm) ** 2
            if half > 0:
                walls += [place.x_mm - math.sqrt(half), place.x_mm + math.sqrt(half)]
        walls.append(place.x_mm)
    for room in record.across:
        for end in (room.start_mm[0], room.end_mm[0]):
            walls += [end - room.diameter_mm / 2, end, end + room.diameter_mm / 2]
    beside = [wall + side for wall in walls for side in (-_BESIDE_MM, _BESIDE_MM)]
    every = np.unique(np.concatenate([x, np.array(beside), np.array(window)]))
    return np.asarray(every[(every >= window[0]) & (every <= window[1])])


def _surface(place: Place, cut: Cut, x: Floats, y_mm: float) -> Floats:
    """What a tool's end leaves along the cut; nan beside it."""
    away = np.hypot(x - place.x_mm, y_mm - place.y_mm)
    surface = cut.tip_mm + np.maximum(0.0, away - cut.flat_mm) * cut.slope
    return np.where(away <= cut.radius_mm, surface, np.nan)


def _stretches(
    bottom: Floats, top: Floats, rooms: Sequence[tuple[Floats, Floats]]
) -> Iterator[tuple[Stretch, ...]]:
    """What is left of each place when its rooms are taken out."""
    for at, (low, high) in enumerate(zip(bottom.tolist(), top.tolist(), strict=True)):
        solid = [(low, high)] if high > low + _HAIR else []
        for below, above in rooms:
            room = float(below[at]), float(above[at])
            if not math.isnan(room[0]):
                solid = [
                    (start, end)
                    for one in solid
                    for start, end in (
                        (one[0], min(one[1], room[0])),
                        (max(one[0], room[1]), one[1]),
                    )
                    if end > start + _HAIR
                ]
        yield tuple(solid)
