"""Marking out: for each face that stands on the surface plate, the heights to scribe.

A part that stands on LEFT shows heights from LEFT, so one standing serves every hole of every
upright face, and two or three standings serve the part. Nothing is rounded here.
Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import permutations

from millprep.base.findings import Finding, stopped
from millprep.base.records import frozen
from millprep.base.units import Length
from millprep.model.part import AXIS_FACES, FACE_AXIS, FACES, OPPOSITE, Face, Hole, Part, plane_axes

SAME_HEIGHT_MM = 0.02  # one setting of the gauge serves (common practice)
HALF_LINE_MM = 4.0  # to each side of the centre: a long line confuses (common practice)


@frozen
class Line:
    """A short line through a hole's centre.

    face     : the face it is scribed on
    start_mm, end_mm : along it, from `from_face`
    """

    hole: str
    face: Face
    from_face: Face
    start_mm: float
    end_mm: float


@frozen
class Height:
    """One setting of the height gauge above the plate, and the lines scribed with it."""

    height_mm: float
    lines: tuple[Line, ...]


@frozen
class Standing:
    """The part on the plate with a face down.

    is_datum : the drawing measures from this face; else the heights hang on the measured size
    is_round : the face is the rim of a disc
    centre_mm : height of the centre line that the drawing measures from, where it does
    """

    face: Face
    is_datum: bool
    is_round: bool
    centre_mm: float | None
    heights: tuple[Height, ...]

    @property
    def inked(self) -> tuple[Face, ...]:
        """The faces to ink for this standing."""
        faces = {line.face for height in self.heights for line in height.lines}
        return tuple(face for face in FACES if face in faces)


@frozen
class Cross:
    """A hole's centre as marked, and how far it must lie from the two faces not measured from."""

    hole: str
    face: Face
    checks_mm: tuple[tuple[Face, float], tuple[Face, float]]


def marked_faces(hole: Hole) -> tuple[Face, ...]:
    """The faces on which a hole is marked: both ends where it is drilled from both."""
    return (hole.face, OPPOSITE[hole.face]) if hole.from_both_ends else (hole.face,)


def _stood_on(part: Part, wanted: tuple[Face, ...]) -> dict[int, Face]:
    """The face to stand on for each axis: as asked, else the datum, else the low face."""
    chosen: dict[int, Face] = {}
    for axis in range(3):
        datum = part.datum[axis]
        chosen[axis] = AXIS_FACES[axis][0] if datum == "centre" else datum
    for face in wanted:
        chosen[FACE_AXIS[face]] = face
    return chosen


def read_faces(words: str) -> tuple[Face, ...]:
    """Faces separated by commas. Raises MillprepError for others, or two that face each other."""
    faces: list[Face] = []
    for word in words.split(","):
        found = next((face for face in FACES if face == word.strip().lower()), None)
        if found is None or OPPOSITE[found] in faces:
            what = f'--stand: no such face "{word.strip()}"'
            if found is not None:
                what = f"--stand: {found} and {OPPOSITE[found]} are ends of one axis"
            raise stopped("unknown-word", what, f"faces, one an axis: {', '.join(FACES)}")
        faces.append(found)
    return tuple(faces)


def standings_of(part: Part, wanted: tuple[Face, ...] = ()) -> tuple[Standing, ...]:
    """The fewest standings that give every hole its cross, one for each axis that has work.

    wanted : faces to stand on instead of the datum faces
    """
    stood_on = _stood_on(part, wanted)
    by_axis: dict[int, list[tuple[float, Line]]] = {}
    for hole in part.holes:
        for axis, other in permutations(plane_axes(hole.face)):
            height = _from(part, stood_on[axis], hole.centre_mm[axis])
            for face in marked_faces(hole):
                line = _line(part, hole, face, stood_on[other])
                by_axis.setdefault(axis, []).append((height, line))
    return tuple(
        _standing(part, stood_on[axis], by_axis[axis]) for axis in range(3) if axis in by_axis
    )


def _from(part: Part, face: Face, at_mm: float) -> float:
    """Distance of a place along its axis from a face of the blank as measured."""
    return abs(at_mm - part.stock.face_at_mm(face))


def _line(part: Part, hole: Hole, face: Face, from_face: Face) -> Line:
    axis = FACE_AXIS[from_face]
    at = _from(part, from_face, hole.centre_mm[axis])
    start, end = max(at - HALF_LINE_MM, 0.0), min(at + HALF_LINE_MM, part.stock.size_mm[axis])
    return Line(hole.name, face, from_face, start, end)


def _standing(part: Part, face: Face, lines: list[tuple[float, Line]]) -> Standing:
    axis = FACE_AXIS[face]
    is_round = part.stock.axis is not None and part.stock.axis != axis
    centre = part.stock.size_mm[axis] / 2 if part.datum[axis] == "centre" else None
    return Standing(face, part.datum[axis] == face, is_round, centre, tuple(_merged(lines)))


def _merged(lines: list[tuple[float, Line]]) -> Iterator[Height]:
    """Heights ascending; those that one setting serves are one, half way between the outermost."""
    run: list[tuple[float, Line]] = []
    for height, line in sorted(lines, key=lambda pair: pair[0]):
        if run and height > run[0][0] + SAME_HEIGHT_MM:
            yield _height(run)
            run = []
        run.append((height, line))
    if run:
        yield _height(run)


def _height(run: list[tuple[float, Line]]) -> Height:
    return Height((run[0][0] + run[-1][0]) / 2, tuple(line for _, line in run))


def crosses_of(part: Part, standings: tuple[Standing, ...]) -> tuple[Cross, ...]:
    """Every cross to punch, in the order of the part file, with its check dimensions."""
    stood_on: Mapping[int, Face] = {FACE_AXIS[one.face]: one.face for one in standings}
    return tuple(
        Cross(hole.name, face, (_check(part, hole, stood_on, a), _check(part, hole, stood_on, b)))
        for hole in part.holes
        for face in marked_faces(hole)
        for a, b in (plane_axes(face),)
    )


def _check(part: Part, hole: Hole, stood_on: Mapping[int, Face], axis: int) -> tuple[Face, float]:
    far = OPPOSITE[stood_on[axis]]
    return far, _from(part, far, hole.centre_mm[axis])


def measure_first(part: Part, standings: tuple[Standing, ...]) -> Iterator[Finding]:
    """A note for each standing whose heights hang on a size that nobody has measured."""
    for one in standings:
        axis, letter = FACE_AXIS[one.face], "xyz"[FACE_AXIS[one.face]]
        size = part.stock.size_mm[axis]
        if not one.is_datum and abs(size - part.stock.nominal_mm[axis]) < 1e-9:
            message = (
                f"heights from {one.face.upper()} hang on the size {letter} of the blank, "
                f"taken as drawn: {Length(size, part.units):exact}"
            )
            figure = f"{Length(size, part.units):exactbare}"
            remedy = f"measure it and write measured = {{ {letter} = {figure} }} under [stock]"
            yield Finding("note", "measure-first", message, remedy, part.path or None)
