"""Small pictures for a page: a part on the bench, and a blank as it is typed, with its figures.

Imports sheets and its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import replace
from millprep.canvas.lettering import room_mm
from millprep.canvas.pen import Place
from millprep.model.scene import Point
from millprep.sheets.blank import Blank, BlankFigure
from millprep.sheets.picture import Picture
from millprep.writers.pictures.held import draw_bare, sight_of
from millprep.writers.pictures.isometric import Sight
from millprep.writers.pictures.names import Room
from millprep.writers.pictures.page_pen import PagePen

CARD_MM = (56.0, 42.0)
BLANK_MM = (132.0, 72.0)
_FREE_MM = 2.0
_WORDS_MM, _FACE_MM = 2.8, 2.4
_OUT_MM, _BEYOND_MM, _BESIDE_MM = 7.0, 1.2, 1.8
_LEVEL = 1e-6
_SPARE = 1.1  # a page's own typeface may be wider yet
_ARROW_MM = (2.4, 0.7)


def standing_svg(pictures: Sequence[Picture], size_mm: Place = CARD_MM) -> list[str]:
    """Parts as they stand, all in one scale, a piece of SVG each."""
    width, height = size_mm
    room = Room(0.0, 0.0, width, height, _FREE_MM)
    scale = min(sight_of(one, room).scale for one in pictures)
    return [_standing(one, room, scale) for one in pictures]


def _standing(picture: Picture, room: Room, scale: float) -> str:
    pen = PagePen(room.width_mm, room.height_mm, picture.title)
    share = scale / sight_of(picture, room).scale
    wide, high = (size * (1 - share) / 2 for size in (room.width_mm, room.height_mm))
    inside = replace(
        room,
        left_mm=wide,
        low_mm=high,
        width_mm=room.width_mm - 2 * wide,
        height_mm=room.height_mm - 2 * high,
        beside_mm=share * room.beside_mm,
        free_mm=share * room.free_mm,
    )
    draw_bare(picture, pen, inside)
    return pen.figure()


def blank_svg(blank: Blank, title: str) -> str:
    """The blank with an arrow for each of its lengths, and the figure as it is typed."""
    width, height = BLANK_MM
    pen = PagePen(width, height, title)
    sight = _sight(blank)
    faces = [sight.hull(blank.solid)] if blank.is_round else [*sight.faces(blank.solid)]
    for face in faces:
        pen.outline(face, "edge")
    for cap in sight.caps(blank.solid) if blank.is_round else ():
        pen.outline(cap, "edge")
    if blank.bore_mm is not None:
        x, y, z = blank.size_mm
        radius = blank.bore_mm / 2
        centre = (x / 2, y / 2, z)
        pen.curve(sight.circle(centre, (radius, 0.0, 0.0), (0.0, radius, 0.0)), "edge")
    else:
        _name_faces(sight, blank, pen)
    for one in blank.figures:
        _draw_figure(sight, one, pen)
    return pen.figure()


def _sight(blank: Blank) -> Sight:
    """As large as goes into the room that the figures leave."""
    plain = Sight(is_from_left=True)
    out = [
        _moved(place, one.aside, one.out_mm)
        for one in blank.figures
        for place in (one.start, one.end)
    ]
    xs, ys = zip(*map(plain.at, (*blank.solid.corners_mm, *out)), strict=True)
    width, height = BLANK_MM
    beside = {True: 0.0, False: 0.0}  # of the words at the left and at the right
    for one in blank.figures:
        is_left = plain.way(one.aside)[0] < 0
        beside[is_left] = max(beside[is_left], room_mm(_words(one), _WORDS_MM))
    left, right = (_SPARE * beside[is_left] + _OUT_MM + _BESIDE_MM for is_left in (True, False))
    low = _OUT_MM + _WORDS_MM
    wide, high = width - left - right, height - 2 * low
    scale = min(wide / (max(xs) - min(xs)), high / (max(ys) - min(ys)))
    shift = (
        left + wide / 2 - scale * (max(xs) + min(xs)) / 2,
        height / 2 - scale * (max(ys) + min(ys)) / 2,
    )
    return Sight(plain.is_from_left, scale, shift)


def _name_faces(sight: Sight, blank: Blank, pen: PagePen) -> None:
    """TOP, FRONT and LEFT on their faces where they are wide enough."""
    x, y, z = blank.size_mm
    planes: list[tuple[str, Point, Point, Point, float, float]] = [
        ("TOP", (x / 2, y / 2, z), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), x, y)
    ]
    if not blank.is_round:
        planes += [
            ("FRONT", (x / 2, 0.0, z / 2), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), x, z),
            ("LEFT", (0.0, y / 2, z / 2), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), y, z),
        ]
    for words, (a, b, c), right, up, wide, high in planes:
        room, tall = room_mm(words, _FACE_MM) / sight.scale, _FACE_MM / sight.scale
        if room < wide and 1.6 * tall < high:
            low = (a - tall / 2 * up[0], b - tall / 2 * up[1], c - tall / 2 * up[2])
            across, rise = (Sight(sight.is_from_left).way(way) for way in (right, up))
            pen.lettering(sight.at(low), words, _FACE_MM, across, rise, "middle")


def _words(one: BlankFigure) -> str:
    return f"{one.words} {one.text}".strip()


def _draw_figure(sight: Sight, one: BlankFigure, pen: PagePen) -> None:
    """Lines out of the solid, the arrow between them, and beside it what it is and the figure."""
    out = one.out_mm + _OUT_MM / sight.scale
    ends = [sight.at(_moved(place, one.aside, out)) for place in (one.start, one.end)]
    pen.begin("figure" if one.text else "figure missing", table="stock", key=one.key)
    if one.is_leader:
        ends[0] = sight.at(one.start)
    else:
        for place in (one.start, one.end):
            end = sight.at(_moved(place, one.aside, out + _BEYOND_MM / sight.scale))
            pen.line(sight.at(place), end, "thin")
    start, end = ends
    pen.line(start, end, "thin")
    length = math.dist(start, end) or 1.0
    way = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    pen.fill(_arrow(start, way))
    if not one.is_leader:
        pen.fill(_arrow(end, (-way[0], -way[1])))
    _write(sight, one, end if one.is_leader else _middle(start, end), pen)
    pen.end()


def _write(sight: Sight, one: BlankFigure, at: Place, pen: PagePen) -> None:
    """Beside the line, on the side away from the solid."""
    across, up = sight.way(one.aside)
    low = _WORDS_MM if up < -_LEVEL else 0.0 if across < 0 else _WORDS_MM / 2
    if across < 0:
        pen.text((at[0] - _BESIDE_MM, at[1] - low), _words(one), _WORDS_MM, "right")
    else:
        pen.text((at[0] + _BESIDE_MM, at[1] - low), _words(one), _WORDS_MM)


def _middle(start: Place, end: Place) -> Place:
    return (start[0] + end[0]) / 2, (start[1] + end[1]) / 2


def _moved(place: Point, way: Point, far: float) -> Point:
    return place[0] + far * way[0], place[1] + far * way[1], place[2] + far * way[2]


def _arrow(tip: Place, way: Place) -> list[Place]:
    (x, y), (across, up), (long, half) = tip, way, _ARROW_MM
    back = x + long * across, y + long * up
    return [
        tip,
        (back[0] - half * up, back[1] + half * across),
        (back[0] + half * up, back[1] - half * across),
    ]
