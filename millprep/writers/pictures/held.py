"""The part as it is held, drawn from the back to the front, so that nothing hidden shows.

Imports sheets.picture, canvas and its neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import chain

from millprep.base.records import replace
from millprep.canvas.pen import Brush, Style, along_curve
from millprep.canvas.recording import RecordingPen
from millprep.model.scene import Point
from millprep.sheets.picture import InkedFace, Opening, Picture
from millprep.sheets.solids import Solid
from millprep.writers.pictures.isometric import Outline, Sight, hull
from millprep.writers.pictures.names import Names, Plane, Room

_SMALL_MM = 1.8
_FLAG_MM, _PENNANT_MM = 7.0, (3.6, 2.4)
_ARROW_MM = 9.0
_CORE = 0.8  # of a thread, over its size, as it is drawn
_FAR_MM = 14.0  # from what holds the part its name stands no farther off, or nowhere
_STYLES: dict[str, Style] = {"now": "edge", "made": "thin", "later": "hidden"}


def sight_of(picture: Picture, room: Room) -> Sight:
    """As large as goes into that room with its names and its flag."""
    plain = Sight(picture.seen_from == "left")
    places = [plain.at(corner) for one in _all(picture) for corner in one.corners_mm]
    xs, ys = zip(*places, strict=True)
    (x0, x1), (y0, y1) = (min(xs), max(xs)), (min(ys), max(ys))
    high = room.height_mm - 2 * room.free_mm
    scale = min((room.width_mm - 2 * room.beside_mm) / (x1 - x0), high / (y1 - y0))
    top = y1
    if picture.zero_mm is not None:
        zero = plain.at(picture.zero_mm)[1]
        scale = min(scale, (high - _FLAG_MM) / (zero - y0))
        top = max(y1, zero + _FLAG_MM / scale)
    shift = (
        room.left_mm + room.width_mm / 2 - scale * (x1 + x0) / 2,
        room.low_mm + room.height_mm / 2 - scale * (top + y0) / 2,
    )
    return Sight(plain.is_from_left, scale, shift)


def _all(picture: Picture) -> tuple[Solid, ...]:
    return *picture.behind, picture.part, *picture.before


def draw_held(picture: Picture, pen: Brush, room: Room) -> None:
    """The whole picture."""
    _drawn(picture, room).replay(pen)


@lru_cache(maxsize=256)
def _drawn(picture: Picture, room: Room) -> RecordingPen:
    """Kept, for to find room for its names takes longer than all else of a sheet, and one that is
    made again, after another line of its file was changed, has most of its pictures as before."""
    pen = RecordingPen()
    sight = sight_of(picture, room)
    ordered = sight.order(_all(picture))
    outlines = [sight.hull(one) for one in ordered]
    for one in ordered:
        _draw_solid(sight, one, pen, "edge" if one is picture.part else "thin")
        if one is picture.part:
            _draw_on_part(sight, picture, pen)
    names = Names(sight, room, taken=[*outlines])
    at = next(index for index, one in enumerate(ordered) if one is picture.part)
    if picture.zero_mm is not None:
        _draw_flag(sight, picture.zero_mm, pen, names)
    _name_faces(sight, picture, pen, names, outlines[at + 1 :])
    said: set[str] = set()
    for index, one in reversed([*enumerate(ordered)]):
        if one.says and one.says not in said:
            said.add(one.says)
            _name_solid(one, pen, names, outlines[index + 1 :])
    return pen


def draw_bare(picture: Picture, pen: Brush, room: Room) -> None:
    """The part alone with its holes, and no names."""
    sight = sight_of(picture, room)
    _draw_solid(sight, picture.part, pen, "edge")
    _draw_on_part(sight, picture, pen)


def draw_turn(before: Picture, after: Picture, pen: Brush, room: Room) -> None:
    """The part before a turn and after it, an arrow between them."""
    wide = (room.width_mm - _ARROW_MM) / 2
    each = replace(room, width_mm=wide, beside_mm=9.0, names_mm=(2.5, 2.0))
    draw_held(before, pen, each)
    draw_held(after, pen, replace(each, left_mm=room.left_mm + wide + _ARROW_MM))
    start, y = room.left_mm + wide + 1.0, room.low_mm + room.height_mm / 2
    end = start + _ARROW_MM - 2.0
    pen.line((start, y), (end - 2.0, y), "edge")
    pen.fill([(end, y), (end - 3.0, y + 1.2), (end - 3.0, y - 1.2)])


def _draw_solid(sight: Sight, solid: Solid, pen: Brush, style: Style) -> None:
    if not solid.is_round:
        for face in sight.faces(solid):
            pen.cover(face)
            pen.outline(face, style)
        return
    outline = sight.hull(solid)
    pen.cover(outline)
    pen.outline(outline, style)
    for cap in sight.caps(solid):
        pen.outline(cap, style)


def _draw_on_part(sight: Sight, picture: Picture, pen: Brush) -> None:
    """Holes, centre lines, and the lines inked on a round."""
    for start, end in picture.centre_mm:
        pen.line(sight.at(start), sight.at(end), "centre")
    for face in picture.faces:
        if face.mark_mm is not None:
            start, end = face.mark_mm
            pen.line(sight.at(start), sight.at(end), "centre")
    for one in picture.openings:
        right, up = _plane_ways(picture, one)
        places = sight.circle(one.centre_mm, right, up)
        pen.cover(along_curve(places))
        pen.curve(places, _STYLES[one.made])
        if one.is_thread and one.made == "now":
            core = _CORE * one.radius_mm
            pen.curve(sight.circle(one.centre_mm, _long(right, core), _long(up, core)), "thin")


def _plane_ways(picture: Picture, one: Opening) -> tuple[Point, Point]:
    """Radii of an opening along the ways of its face."""
    face = next(each for each in picture.faces if each.face == one.face)
    return _long(face.right_mm, one.radius_mm), _long(face.up_mm, one.radius_mm)


def _long(way: Point, length: float) -> Point:
    whole = sum(part * part for part in way) ** 0.5
    return way[0] * length / whole, way[1] * length / whole, way[2] * length / whole


def _draw_flag(sight: Sight, zero: Point, pen: Brush, names: Names) -> None:
    """A flag on zero, its cloth filled."""
    x, y = sight.at(zero)
    top = y + _FLAG_MM
    long, high = _PENNANT_MM
    pen.line((x, y), (x, top), "edge")
    pen.spot((x, y), 0.7)
    cloth = [(x, top), (x + long, top - high / 2), (x, top - high)]
    pen.fill(cloth)
    round_it = ((x - 0.8, y - 0.8), (x + 0.8, y - 0.8), (x + long, top), (x - 0.8, top))
    names.written.append(Outline(round_it))


def _name_faces(
    sight: Sight, picture: Picture, pen: Brush, names: Names, before: Sequence[Outline]
) -> None:
    holes = {
        face.face: [
            hull(along_curve(sight.circle(one.centre_mm, *_plane_ways(picture, one))))
            for one in picture.openings
            if one.face == face.face
        ]
        for face in picture.faces
    }
    left: list[InkedFace] = []
    for face in picture.faces:
        plane = Plane(face.corner_mm, face.right_mm, face.up_mm, face.is_round)
        is_flat = face.mark_mm is None
        words = face.face.upper()
        ways = [plane, plane.turned(sight.is_from_left)] if face.up_mm[1] else [plane]
        is_written = is_flat and any(
            names.on_face(pen, words, way, (height_mm,), before, holes[face.face])
            for height_mm in names.room.names_mm
            for way in ways
        )
        if not is_written:
            left.append(face)
    for face in left:
        plane = Plane(face.corner_mm, face.right_mm, face.up_mm, face.is_round)
        if face.mark_mm is not None:
            (x0, y0, z0), (x1, y1, z1) = face.mark_mm
            plane = Plane((x0, y0, z0), (x1 - x0, y1 - y0, z1 - z0), (0.0, 0.0, 0.0))
        places = chain(
            names.visible_places(plane, before, holes[face.face]),
            names.visible_places(plane, before),
        )
        any(names.beside(pen, face.face.upper(), to, names.room.names_mm[1]) for to in places)


def _name_solid(solid: Solid, pen: Brush, names: Names, before: Sequence[Outline]) -> None:
    """What it is: on its upper face or the one towards you, else beside it."""
    planes = [*_planes(solid, names.sight.is_from_left)]
    for plane in planes:
        if names.on_face(pen, solid.says, plane, (_SMALL_MM,), before):
            return
    for plane in planes:
        to = next(names.visible_places(plane, before), None)
        if to is not None and names.beside(pen, solid.says, to, _SMALL_MM, _FAR_MM):
            return


def _planes(solid: Solid, is_from_left: bool) -> Sequence[Plane]:
    """The three faces of the box around it that are seen."""
    (x0, y0, z0), (x1, y1, z1) = solid.low_mm, solid.high_mm
    beside = (
        Plane((x0, y1, z0), (0.0, y0 - y1, 0.0), (0.0, 0.0, z1 - z0))
        if is_from_left
        else Plane((x1, y0, z0), (0.0, y1 - y0, 0.0), (0.0, 0.0, z1 - z0))
    )
    if solid.is_round or len(solid.end_mm) != 4:
        return (Plane((x0, y0, z0), (x1 - x0, 0.0, 0.0), (0.0, 0.0, z1 - z0)), beside)
    return (
        Plane((x0, y0, z1), (x1 - x0, 0.0, 0.0), (0.0, y1 - y0, 0.0)),
        Plane((x0, y0, z0), (x1 - x0, 0.0, 0.0), (0.0, 0.0, z1 - z0)),
        beside,
    )
