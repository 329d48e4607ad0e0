"""Sections through holes, hatched, each depth at a line of its own. Imports sheets and canvas."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from millprep.canvas.hatch import hatched
from millprep.canvas.pen import Brush, Place
from millprep.canvas.spread import spread
from millprep.sheets.cut import Cut
from millprep.writers.pictures.names import Room

_WORDS_MM, _TITLE_MM, _LINE_MM = 1.8, 2.0, 2.9
_WALL = 0.6  # material beside a hole, over its width
_HATCH_MM = 1.4
_WORDS_LEFT_MM = 24.0  # where words begin, from the left of the room
_MOST_SCALE = 4.0
_LEAST_MM, _HAIR_MM = 19.0, 1e-6


def height_of(cut: Cut) -> float:
    """How much room a section wants up the page."""
    return max(_LEAST_MM, _LINE_MM * (len(cut.depths) + 1) + 3.5)


def draw_cut(cut: Cut, pen: Brush, room: Room) -> None:
    """The hole at the left, its depths in words at the right."""
    widest = max([*(r for r, _ in cut.half_mm), *([cut.thread_mm[0]] if cut.thread_mm else [])])
    edge = widest * (1 + 2 * _WALL)
    top = room.low_mm + room.height_mm - _TITLE_MM - 2.2
    scale = min(
        (_WORDS_LEFT_MM - 5.0) / 2 / edge, (top - room.low_mm - 1.0) / cut.floor_mm, _MOST_SCALE
    )
    axis = room.left_mm + scale * edge + 1.0

    def at(across: float, deep: float, side: float = 1.0) -> Place:
        return axis + side * scale * across, top - scale * deep

    pen.text((room.left_mm, room.low_mm + room.height_mm - _TITLE_MM - 0.2), cut.title, _TITLE_MM)
    for side in (1.0, -1.0):
        wall = [at(r, d, side) for r, d in cut.half_mm]
        solid = [at(edge, 0.0, side), *wall, at(edge, cut.floor_mm, side)]
        bottom = wall[-1]
        if abs(bottom[0] - axis) < _HAIR_MM:  # a floor: the halves meet below it
            solid.insert(len(solid) - 1, at(0.0, cut.floor_mm, side))
        for start, end in pairwise(solid[: 1 + len(wall)]):
            pen.line(start, end, "edge")
        if cut.is_whole:
            inner = 0.0 if abs(bottom[0] - axis) < _HAIR_MM else cut.half_mm[-1][0]
            pen.line(at(inner, cut.floor_mm, side), at(edge, cut.floor_mm, side), "edge")
        for start, end in hatched(solid, _HATCH_MM):
            pen.line(start, end, "thin")
        if cut.thread_mm is not None:
            radius, deep = cut.thread_mm
            deep = min(deep, cut.floor_mm)
            pen.line(at(radius, 0.0, side), at(radius, deep, side), "thin")
            core = min((r for r, d in cut.half_mm if r > 0), default=0.0)
            pen.line(at(core, deep, side), at(radius, deep, side), "edge")
    pen.line((axis, top + 1.2), (axis, top - scale * cut.floor_mm - 1.0), "centre")
    _draw_depths(cut, pen, room, [at(edge, one.depth_mm) for one in cut.depths])


def _draw_depths(cut: Cut, pen: Brush, room: Room, ends: Sequence[Place]) -> None:
    """A line from each depth to its words, which stand below each other."""
    left = room.left_mm + _WORDS_LEFT_MM
    highest, lowest = room.low_mm + room.height_mm - _TITLE_MM - 3.5, room.low_mm + 1.8
    places = spread([-y for _, y in ends], _LINE_MM, -highest, -lowest)  # down the page
    for (x, y), place, depth in zip(ends, places, cut.depths, strict=True):
        pen.line((x + 0.5, y), (x + 2.0, y), "thin")
        pen.line((x + 2.0, y), (left - 1.0, -place), "thin")
        pen.text((left, -place - _WORDS_MM / 2), depth.words, _WORDS_MM)
