"""An assembly from above and aside: boxes and discs from the back to the front, members lettered.

Imports sheets.assembled, canvas and its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from millprep.base.marks import sealed, sheet_mark
from millprep.canvas.paper import EITHER
from millprep.canvas.pen import Brush, Place, Style, along_curve
from millprep.sheets.assembled import Assembled, Mouth, Stood
from millprep.sheets.painting import from_the_back
from millprep.writers.pictures.isometric import Outline, Sight, do_meet, hull, is_within
from millprep.writers.pictures.names import Names, Room

_TITLE_MM, _LETTER_MM, _KEY_MM, _LINE_MM = 5.0, 4.0, 3.0, 5.5
_KEY_WIDE_MM, _BESIDE_MM = 78.0, 12.0
_STEPS = 15  # places for a letter that are tried along a face, and as many up it
_HAIR = 1e-3


def written_assembled(picture: Assembled, ending: str) -> bytes:
    """The picture on a sheet, as the bytes of a file with that ending."""
    width, height = EITHER.width_mm, EITHER.height_mm
    mark = sheet_mark("picture", ending[1:], picture.name)
    if ending == ".pdf":
        from millprep.canvas.pdf import PdfPen

        pdf = PdfPen(width, height, picture.name)
        _draw(picture, pdf)
        return sealed(pdf.document(), mark)
    if ending == ".png":
        from millprep.canvas.png import PngPen

        png = PngPen(width, height, picture.name)
        _draw(picture, png)
        return sealed(png.document(), mark)
    from millprep.canvas.svg import SvgPen

    svg = SvgPen(width, height, picture.name)
    _draw(picture, svg)
    return sealed(svg.document(), mark)


def _draw(picture: Assembled, pen: Brush) -> None:
    """Title, solids, letters, and beside them which letter is which member."""
    side, width, height = EITHER.side_mm, EITHER.width_mm, EITHER.height_mm
    top = height - side - _TITLE_MM
    pen.text((side, top), f"{picture.name}   file {picture.mark}", _TITLE_MM)
    left = width - side - _KEY_WIDE_MM
    for line, (letter, name, file) in enumerate(picture.letters):
        low = top - 2 * _LINE_MM - line * _LINE_MM
        pen.text((left, low), letter, _KEY_MM)
        pen.text((left + 8.0, low), f"{name} ({file})", _KEY_MM)
    room = Room(side, side, left - 2 * side, top - 2 * side, _BESIDE_MM)
    draw_solids(picture, pen, room)


def draw_solids(picture: Assembled, pen: Brush, room: Room) -> None:
    """From the back to the front, then the letters where they can be seen."""
    if not picture.solids:
        return
    sight = _sight(picture, room)
    order = from_the_back([one.solid for one in picture.solids], sight.at, sight.towards)
    ordered = [picture.solids[number] for number in order]
    outlines = [sight.hull(one.solid) for one in ordered]
    for one in ordered:
        _draw_solid(sight, one, pen)
    names = Names(sight, room, taken=[*outlines])
    for index, one in enumerate(ordered):
        if one.solid.says:
            _write_letter(sight, one, pen, names, outlines[index + 1 :])


def _sight(picture: Assembled, room: Room) -> Sight:
    """As large as goes into the room."""
    plain = Sight(is_from_left=True)
    places = [plain.at(corner) for one in picture.solids for corner in one.solid.corners_mm]
    (x0, y0), (x1, y1) = (tuple(f(axis) for axis in zip(*places, strict=True)) for f in (min, max))
    wide, high = room.width_mm - 2 * room.beside_mm, room.height_mm - 2 * room.free_mm
    scale = min(wide / (x1 - x0), high / (y1 - y0))
    shift = (
        room.left_mm + room.width_mm / 2 - scale * (x1 + x0) / 2,
        room.low_mm + room.height_mm / 2 - scale * (y1 + y0) / 2,
    )
    return Sight(is_from_left=True, scale=scale, shift=shift)


def _draw_solid(sight: Sight, stood: Stood, pen: Brush) -> None:
    solid = stood.solid
    style: Style = "edge" if solid.says else "thin"
    faces = [sight.hull(solid)] if solid.is_round else [*sight.faces(solid)]
    for face in faces:
        pen.cover(face)
        pen.outline(face, style)
    for cap in sight.caps(solid) if solid.is_round else ():
        pen.outline(cap, style)
    for mouth in stood.mouths:
        if sum(a * b for a, b in zip(mouth.out, sight.towards, strict=True)) > _HAIR:
            pen.curve(sight.circle(mouth.centre_mm, mouth.right_mm, mouth.up_mm), "thin")


def _write_letter(
    sight: Sight, stood: Stood, pen: Brush, names: Names, before: Sequence[Outline]
) -> None:
    """On a face that is seen, clear of its holes and of what is before it; else beside it."""
    letter = stood.solid.says
    faces = [*sight.caps(stood.solid), sight.hull(stood.solid)]
    if not stood.solid.is_round:
        faces = [*sight.faces(stood.solid)]
    holes = [_outline(sight, mouth) for mouth in stood.mouths]
    high, wide = _LETTER_MM, _LETTER_MM * 0.9 * len(letter)
    hidden = [*before, *names.written]
    for face in sorted(faces, key=_area, reverse=True):
        for x, y in _places_on(face):
            box = Outline(
                (x + a * wide * 0.7, y + b * high * 0.7)
                for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            )
            is_on = all(is_within(corner, hull(face)) for corner in box)
            if is_on and not any(do_meet(box, one) for one in (*hidden, *holes)):
                names.written.append(box)
                pen.text((x, y - high / 2), letter, high, "middle")
                return
    for face in sorted(faces, key=_area, reverse=True):
        for place in _places_on(face):
            if not any(is_within(place, one) for one in before) and names.beside(
                pen, letter, place, high
            ):
                return


def _outline(sight: Sight, mouth: Mouth) -> Outline:
    return hull(along_curve(sight.circle(mouth.centre_mm, mouth.right_mm, mouth.up_mm)))


def _area(face: Sequence[Place]) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*face, face[0]]))) / 2


def _places_on(face: Sequence[Place]) -> list[Place]:
    """Places on a face, nearest to its middle first."""
    xs, ys = zip(*face, strict=True)
    middle, outline = (sum(xs) / len(xs), sum(ys) / len(ys)), hull(face)
    found = [(x, y) for x in _steps(xs) for y in _steps(ys) if is_within((x, y), outline)]
    return sorted(found, key=lambda place: math.dist(place, middle))


def _steps(values: Sequence[float]) -> list[float]:
    low, high = min(values), max(values)
    return [low + (high - low) * step / (_STEPS - 1) for step in range(_STEPS)]
