"""An assembly from above and aside: boxes and discs from the back to the front, members lettered.

Which of two solids is before the other is told by a face of one that parts them.
Imports sheets.assembled, canvas and its neighbours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from heapq import heappop, heappush
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from millprep.base.outfile import sealed, sheet_mark
from millprep.canvas.paper import EITHER
from millprep.canvas.pen import Brush, Place, Style, along_curve
from millprep.sheets.assembled import Assembled, Mouth, Stood
from millprep.sheets.solids import Solid
from millprep.writers.pictures.isometric import Sight, do_meet, hull, is_within
from millprep.writers.pictures.names import Names, Room

_TITLE_MM, _LETTER_MM, _KEY_MM, _LINE_MM = 5.0, 4.0, 3.0, 5.5
_KEY_WIDE_MM, _BESIDE_MM = 78.0, 12.0
_STEPS = 15  # places for a letter that are tried along a face, and as many up it
_HAIR = 1e-3
Floats = NDArray[np.float64]


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
    ordered = from_the_back(sight, picture.solids)
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


def from_the_back(sight: Sight, solids: Sequence[Stood]) -> list[Stood]:
    """What is behind another comes before it; where they hide each other in a ring, the farthest
    comes first."""
    towards = np.array(sight.towards)
    corners = [np.array(one.solid.corners_mm) for one in solids]
    far = [float((places @ towards).mean()) for places in corners]
    outlines = [sight.hull(one.solid) for one in solids]
    ways = [_ways(one.solid) for one in solids]
    hides: dict[int, list[int]] = {number: [] for number in range(len(solids))}
    behind = [0] * len(solids)
    for a, b in _over_each_other(outlines):
        is_before = _is_before(corners[a], corners[b], np.vstack([ways[a], ways[b]]), towards)
        back, front = (a, b) if is_before else (b, a)
        hides[back].append(front)
        behind[front] += 1
    order: list[int] = []
    ready = [(far[n], n) for n in range(len(solids)) if not behind[n]]
    left = set(range(len(solids)))
    while left:
        if not ready:
            nearest = min(left, key=lambda n: far[n])
            ready.append((far[nearest], nearest))
        _, number = heappop(ready)
        if number not in left:
            continue
        left.remove(number)
        order.append(number)
        for front in hides[number]:
            behind[front] -= 1
            if not behind[front]:
                heappush(ready, (far[front], front))
    return [solids[number] for number in order]


def _over_each_other(outlines: Sequence[Sequence[Place]]) -> Iterator[tuple[int, int]]:
    """Those that share paper."""
    ends = np.array([[np.min(one, axis=0), np.max(one, axis=0)] for one in outlines])
    for a, b in combinations(range(len(outlines)), 2):
        apart = (ends[a, 0] > ends[b, 1]).any() or (ends[b, 0] > ends[a, 1]).any()
        if not apart and do_meet(outlines[a], outlines[b], -_HAIR):
            yield a, b


def _ways(solid: Solid) -> Floats:
    """Square to the faces of a prism, one of each two."""
    along = np.array(solid.along_mm)
    end = np.array(solid.end_mm)
    sides = np.roll(end, -1, axis=0) - end
    ways = np.vstack([np.cross(sides[: max(len(sides) // 2, 2)], along), along])
    unit: Floats = ways / np.linalg.norm(ways, axis=1, keepdims=True)
    return unit


def _is_before(one: Floats, other: Floats, ways: Floats, towards: Floats) -> bool:
    """Whether the other comes before the first, seen from the eye."""
    mine, its = one @ ways.T, other @ ways.T
    facing = ways @ towards
    beyond = its.min(axis=0) - mine.max(axis=0)  # the other lies along the way
    short = mine.min(axis=0) - its.max(axis=0)
    gap = np.where(np.abs(facing) > _HAIR, np.maximum(beyond, short), -np.inf)
    best = int(np.argmax(gap))
    if gap[best] < -_HAIR:  # they are in each other
        return float((other @ towards).mean()) > float((one @ towards).mean())
    return bool((beyond[best] > short[best]) == (facing[best] > 0))


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
    sight: Sight, stood: Stood, pen: Brush, names: Names, before: Sequence[Sequence[Place]]
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
            box = [
                (x + a * wide * 0.7, y + b * high * 0.7)
                for a, b in ((-1, -1), (1, -1), (1, 1), (-1, 1))
            ]
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


def _outline(sight: Sight, mouth: Mouth) -> list[Place]:
    return hull(along_curve(sight.circle(mouth.centre_mm, mouth.right_mm, mouth.up_mm)))


def _area(face: Sequence[Place]) -> float:
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*face, face[0]]))) / 2


def _places_on(face: Sequence[Place]) -> list[Place]:
    """Places on a face, nearest to its middle first."""
    xs, ys = zip(*face, strict=True)
    middle = sum(xs) / len(xs), sum(ys) / len(ys)
    found = [
        (float(x), float(y))
        for x in np.linspace(min(xs), max(xs), _STEPS)
        for y in np.linspace(min(ys), max(ys), _STEPS)
        if is_within((float(x), float(y)), hull(face))
    ]
    return sorted(found, key=lambda place: np.hypot(place[0] - middle[0], place[1] - middle[1]))
