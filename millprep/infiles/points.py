"""Where a hole is: points as a drawing gives them, and the face they are put on.

[30, 12]                        along the face's two part axes, each from its datum face
{ left = 12, back = "1/2 in" }  from named faces
{ centre_x = 0, bottom = 20 }   from the middle of the stock, signed along the part axis
[30, { centre_y = 0 }]          a mixture
"""

from __future__ import annotations

import math

from millprep.base.findings import WordError
from millprep.base.records import frozen
from millprep.base.units import Units, shown
from millprep.infiles.fields import LENGTH, Shape, either, just, length_mm, some, table, takes
from millprep.infiles.wording import accepted
from millprep.model.part import (
    AXIS_FACES,
    FACE_AXIS,
    HIGH_FACES,
    Datum,
    Face,
    Point,
    Stock,
    plane_axes,
)

AXIS_LETTERS = "xyz"
_CENTRES = {f"centre_{letter}": axis for axis, letter in enumerate(AXIS_LETTERS)}
AXIS_OF_NAME: dict[str, int] = {**_CENTRES}
AXIS_OF_NAME.update((face, axis) for face, axis in FACE_AXIS.items())
_NAMED = dict.fromkeys(AXIS_OF_NAME, LENGTH)
POINT: Shape = either(just(2, either(LENGTH, table(_NAMED, 1, 1))), table(_NAMED, 2, 2))
POINT_FORMS = "write [30, 12] or { left = 30, front = 12 }"

VIEW: dict[Face, tuple[tuple[int, int], tuple[int, int]]] = {
    "top": ((0, 1), (1, 1)),
    "front": ((0, 1), (2, 1)),
    "right": ((1, 1), (2, 1)),
    "back": ((0, -1), (2, 1)),
    "left": ((1, -1), (2, 1)),
    "bottom": ((0, 1), (1, -1)),
}
"""(part axis, sign) of right and of up, as you look square at the face."""


@frozen
class Coordinate:
    """A distance [mm], from a named face or centre line, or (None) as `a` and `b` are counted."""

    name: str | None
    distance_mm: float


@frozen
class PointWords:
    """A point as written: two coordinates; a table has both named, in any order."""

    first: Coordinate
    second: Coordinate
    is_table: bool


@frozen
class Places:
    """The points of `at`; a list numbers its members, a single point keeps the plain name."""

    points: tuple[PointWords, ...]
    is_list: bool


@takes(either(POINT, some(POINT, 1)))
def as_places(value: object, units: Units) -> Places:
    """One point or a list of points of a file."""
    if is_single_point(value):
        return Places((as_point(value, units),), False)
    if not isinstance(value, list) or not value or not isinstance(value[0], list | dict):
        raise WordError(f"{shown(value)} is neither a point nor a list of points", POINT_FORMS)
    return Places(as_points(value, units), True)


@takes(POINT)
def as_point(value: object, units: Units) -> PointWords:
    """A point of a file. Raises WordError for what is none."""
    if isinstance(value, dict):
        if len(value) != 2:
            remedy = f"a face needs two: {POINT_FORMS}"
            raise WordError(f"a point of {len(value)} distances", remedy)
        first, second = (_named(name, distance, units) for name, distance in value.items())
        return PointWords(first, second, True)
    if isinstance(value, list) and len(value) == 2:
        return PointWords(_coordinate(value[0], units), _coordinate(value[1], units), False)
    raise WordError(f"{shown(value)} is not a point", POINT_FORMS)


@takes(some(POINT, 1))
def as_points(value: object, units: Units) -> tuple[PointWords, ...]:
    """A list of points of a file."""
    if not isinstance(value, list) or not value:
        raise WordError(f"{shown(value)} is not a list of points", "write [[10, 10], [20, 0]]")
    points = []
    for number, item in enumerate(value, 1):
        try:
            points.append(as_point(item, units))
        except WordError as error:
            message = f"point {number}: {error.message}"
            raise WordError(message, error.remedy, (number - 1,), error.kind) from None
    return tuple(points)


def is_single_point(value: object) -> bool:
    """Whether `at` holds one point, by its shape: [[..], [..]] and [{2 keys}, ..] are lists."""
    if isinstance(value, dict):
        return True
    return (
        isinstance(value, list)
        and len(value) == 2
        and not any(
            isinstance(item, list) or (isinstance(item, dict) and len(item) != 1) for item in value
        )
    )


def _coordinate(value: object, units: Units) -> Coordinate:
    if isinstance(value, dict):
        if len(value) != 1:
            raise WordError("a table of more than one distance in a pair", POINT_FORMS)
        ((name, distance),) = value.items()
        return _named(name, distance, units)
    return Coordinate(None, length_mm(value, units))


def _named(name: str, distance: object, units: Units) -> Coordinate:
    if name not in AXIS_OF_NAME:
        message = f"{shown(name)} is neither a face nor a centre line"
        raise WordError(message, accepted(list(AXIS_OF_NAME), name), kind="unknown-key")
    return Coordinate(name, length_mm(distance, units))


@frozen
class OnFace:
    """A face of the stock, ready to put points on.

    origin_mm : the hole that a and b count from, or None for the datum faces
    """

    face: Face
    stock: Stock
    datum: Datum
    origin_mm: Point | None = None

    def point(self, words: PointWords) -> Point:
        """Part axes of a point. Raises WordError when it names a face that is not at hand."""
        axes = plane_axes(self.face)
        position = [self.stock.face_at_mm(self.face)] * 3
        seen: set[int] = set()
        for axis, coordinate in zip(axes, (words.first, words.second), strict=True):
            if coordinate.name is not None:
                named_axis = self._axis_named(coordinate.name)
                if not words.is_table and named_axis != axis:
                    letters = " then ".join(AXIS_LETTERS[each] for each in axes)
                    remedy = f"on {self.face} a pair runs {letters}; a table may have any order"
                    raise WordError(f"{coordinate.name} is in the wrong place of the pair", remedy)
                axis = named_axis
            if axis in seen:
                raise WordError(
                    f"both distances of the point run along {AXIS_LETTERS[axis]}",
                    f"on {self.face} give one of {self._names(axes[0])} and one of "
                    f"{self._names(axes[1])}",
                )
            seen.add(axis)
            position[axis] = self._along(axis, coordinate)
        return position[0], position[1], position[2]

    def stepped(self, start: Point, steps: tuple[float, float], times: float = 1) -> Point:
        """A point moved by [a, b] some times over; a and b count as points do."""
        moved = list(start)
        for axis, step in zip(plane_axes(self.face), steps, strict=True):
            moved[axis] += self._sense(axis) * step * times
        return moved[0], moved[1], moved[2]

    def turned(self, centre: Point, radius_mm: float, angle_deg: float) -> Point:
        """The point at an angle round a centre: 0 to the right of the view, anticlockwise."""
        moved = list(centre)
        sine, cosine = sine_cosine(angle_deg)
        for (axis, sign), share in zip(VIEW[self.face], (cosine, sine), strict=True):
            moved[axis] += sign * radius_mm * share
        return moved[0], moved[1], moved[2]

    def corner(self, right: int, up: int, inset_mm: tuple[float, float]) -> Point:
        """A corner of the face seen in its view; right and up are -1 or 1."""
        position = [self.stock.face_at_mm(self.face)] * 3
        insets = dict(zip(plane_axes(self.face), inset_mm, strict=True))
        for (axis, sign), side in zip(VIEW[self.face], (right, up), strict=True):
            far = self.stock.size_mm[axis] - insets[axis]
            position[axis] = far if side * sign > 0 else insets[axis]
        return position[0], position[1], position[2]

    def _along(self, axis: int, coordinate: Coordinate) -> float:
        distance, size = coordinate.distance_mm, self.stock.size_mm[axis]
        name = coordinate.name
        if name is None:
            if self.origin_mm is not None:
                return self.origin_mm[axis] + self._sense(axis) * distance
            name = self.datum[axis]
        if name == "centre" or name in _CENTRES:
            return size / 2 + distance
        return size - distance if name in HIGH_FACES else distance

    def _sense(self, axis: int) -> int:
        return -1 if self.datum[axis] in HIGH_FACES else 1

    def _axis_named(self, name: str) -> int:
        axis = AXIS_OF_NAME[name]
        if axis == FACE_AXIS[self.face]:
            first, second = plane_axes(self.face)
            raise WordError(
                f"{name} does not run across the {self.face} face",
                f"on {self.face} measure from {self._names(first)}, {self._names(second)}",
            )
        return axis

    @staticmethod
    def _names(axis: int) -> str:
        low, high = AXIS_FACES[axis]
        return f"{low}, {high} or centre_{AXIS_LETTERS[axis]}"


def sine_cosine(angle_deg: float) -> tuple[float, float]:
    """Sine and cosine, exact at the quarter turns, so that a pattern's figures come out clean."""
    quarter, rest = divmod(angle_deg % 360, 90)
    if rest == 0:
        return ((0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0))[int(quarter) % 4]
    angle = math.radians(angle_deg)
    return math.sin(angle), math.cos(angle)
