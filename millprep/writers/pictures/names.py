"""Names on what a picture shows: on the face itself where they fit and can be seen, else beside it.

    on the face: in its plane, clear of holes and of what stands before it, as large as fits
    beside it:   level, clear of everything, a thin line to a dot on the face

Imports canvas and isometric.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from millprep.base.records import frozen
from millprep.canvas.lettering import room_mm
from millprep.canvas.pen import Brush, Place
from millprep.model.scene import Point
from millprep.writers.pictures.isometric import Outline, Sight, do_meet, is_within

_STEPS = 12  # places that are tried along a face, and as many up it
_MARGIN = 0.35  # round words on a face, over their height
_CLEAR_MM = 0.3  # round words beside the picture
_LINE = 0.3  # what a typeface keeps free below and above its letters, over their height
_DOT_MM, _GAP_MM = 0.35, 0.4
_REACHES_MM = tuple(2.0 + 0.75 * step for step in range(40))
_TURNS_DEG = tuple(range(0, 360, 15))


@frozen
class Room:
    """Where a picture is drawn: its lower left corner and its size; how large names are.

    beside_mm : left free at either hand for names; free_mm : above and below
    """

    left_mm: float
    low_mm: float
    width_mm: float
    height_mm: float
    beside_mm: float = 11.0
    free_mm: float = 2.0
    names_mm: tuple[float, ...] = (3.5, 2.5, 2.0)


@frozen
class Plane:
    """A face in setup axes: a corner, the ways along it and up it; is_round : a disc in it."""

    corner: Point
    right: Point
    up: Point
    is_round: bool = False

    def at(self, along: float, up: float) -> Point:
        """A place by its shares of the ways."""
        x, y, z = (
            c + along * r + up * u for c, r, u in zip(self.corner, self.right, self.up, strict=True)
        )
        return x, y, z

    @property
    def size_mm(self) -> tuple[float, float]:
        return math.hypot(*self.right), math.hypot(*self.up)

    def turned(self, is_from_left: bool) -> Plane:
        """A level face read along the way away from you, from where it runs to the right."""
        (x, y, z), (wide, _, _), (_, deep, _) = self.corner, self.right, self.up
        if is_from_left:
            return Plane((x, y + deep, z), (0.0, -deep, 0.0), (wide, 0.0, 0.0), self.is_round)
        return Plane((x + wide, y, z), (0.0, deep, 0.0), (-wide, 0.0, 0.0), self.is_round)


@dataclass
class Names:
    """Writes names clear of each other and of what is drawn: `taken`, convex outlines.

    room : of the picture, which no name leaves
    """

    sight: Sight
    room: Room
    taken: list[Outline] = field(default_factory=list)
    written: list[Outline] = field(default_factory=list)

    def on_face(
        self,
        pen: Brush,
        words: str,
        plane: Plane,
        heights_mm: Sequence[float],
        before: Sequence[Outline],
        holes: Sequence[Outline] = (),
    ) -> bool:
        """Whether there was room; before: outlines of what hides some of it."""
        wide, high = plane.size_mm
        scale = self.sight.scale
        for height_mm in heights_mm:
            tall = (1 + 2 * _MARGIN) * height_mm / scale / high
            long = (room_mm(words, height_mm) + 2 * _MARGIN * height_mm) / scale / wide
            for along, up in _nearest_middle(long, tall):
                if plane.is_round and not _is_in_disc(along, up, long, tall, wide, high):
                    continue
                box = Outline(
                    self.sight.at(plane.at(along + a * long, up + u * tall))
                    for a, u in ((0, 0), (1, 0), (1, 1), (0, 1))
                )
                if any(do_meet(box, one) for one in (*before, *holes, *self.written)):
                    continue
                self.written.append(box)
                base = plane.at(along + long / 2, up + _MARGIN * height_mm / scale / high)
                right, rise = (
                    self._unit(way, length)
                    for way, length in ((plane.right, wide), (plane.up, high))
                )
                pen.lettering(self.sight.at(base), words, height_mm, right, rise, "middle")
                return True
        return False

    def _unit(self, way: Point, length: float) -> Place:
        """A way in setup axes of one millimetre on the paper, as it is seen."""
        across, up = self.sight.way(way)
        return across / length / self.sight.scale, up / length / self.sight.scale

    def beside(
        self, pen: Brush, words: str, to: Place, height_mm: float, reach_mm: float = math.inf
    ) -> bool:
        """Beside all that is drawn, with a line to a place; whether there was room near enough."""
        wide = room_mm(words, height_mm)
        for reach in (one for one in _REACHES_MM if one <= reach_mm):
            for turn_deg in _TURNS_DEG:
                turn = math.radians(turn_deg)
                x, y = to[0] + reach * math.cos(turn), to[1] + reach * math.sin(turn)
                left = x - wide / 2 * (1 - math.cos(turn))
                low = y - height_mm / 2 * (1 - math.sin(turn))
                box = _box(left, low - _LINE * height_mm, wide, (1 + 2 * _LINE) * height_mm)
                if not self._is_free(box):
                    continue
                end = _end_of_line(to, box)
                leader = Outline((to, end))
                if any(do_meet(leader, one, _CLEAR_MM) for one in self.written):
                    continue
                self.written += [box, leader]
                pen.line(to, end, "thin")
                pen.spot(to, _DOT_MM)
                pen.text((left, low), words, height_mm)
                return True
        return False

    def _is_free(self, box: Outline) -> bool:
        (left, low), _, (right, top), _ = box
        room = self.room
        is_inside = left >= room.left_mm and right <= room.left_mm + room.width_mm
        is_inside = is_inside and room.low_mm <= low and top <= room.low_mm + room.height_mm
        return is_inside and not any(
            do_meet(box, one, _CLEAR_MM) for one in (*self.taken, *self.written)
        )

    def visible_places(
        self, plane: Plane, before: Sequence[Outline], holes: Sequence[Outline] = ()
    ) -> Iterator[Place]:
        """Places on a face that nothing hides, nearest to its middle first."""
        for along, up in _nearest_middle(0.0, 0.0):
            if plane.is_round and math.hypot(along - 0.5, up - 0.5) > 0.45:
                continue
            place = self.sight.at(plane.at(along, up))
            if not any(is_within(place, one) for one in (*before, *holes)):
                yield place


def _nearest_middle(long: float, tall: float) -> Iterator[Place]:
    """Lower left corners, by shares of the face, at which a box of those shares lies in it."""
    if long > 1 or tall > 1:
        return
    free_along, free_up = 1 - long, 1 - tall
    tries = [
        (free_along * i / _STEPS, free_up * j / _STEPS)
        for i in range(_STEPS + 1)
        for j in range(_STEPS + 1)
    ]
    tries.sort(key=lambda one: math.hypot(one[0] - free_along / 2, one[1] - free_up / 2))
    yield from tries


def _is_in_disc(
    along: float, up: float, long: float, tall: float, wide: float, high: float
) -> bool:
    return all(
        math.hypot((along + a * long - 0.5) * wide, (up + u * tall - 0.5) * high) < wide / 2
        for a in (0, 1)
        for u in (0, 1)
    )


def _end_of_line(to: Place, box: Sequence[Place]) -> Place:
    """Where a line from a place ends, just beside the words."""
    (left, low), _, (right, top), _ = box
    if left <= to[0] <= right:
        return to[0], low - _GAP_MM if to[1] < low else top + _GAP_MM
    return left - _GAP_MM if to[0] < left else right + _GAP_MM, (low + top) / 2


def _box(left: float, low: float, wide: float, high: float) -> Outline:
    right, top = left + wide, low + high
    return Outline(((left, low), (right, low), (right, top), (left, top)))
