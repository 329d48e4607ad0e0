"""The opposite hand of a part: everything that has a side changes it, threads keep their hand.

A mirrored part lies in its setup as the original does in a looking glass: one readout axis of the
setup is reversed, and which one follows from how the two lie.
"""

from __future__ import annotations

from typing import Any, Literal

from millprep.base.records import replace
from millprep.infiles.points import AXIS_LETTERS, VIEW
from millprep.model.part import (
    FACE_AXIS,
    FACES,
    HIGH_FACES,
    OPPOSITE,
    Datum,
    Dimension,
    Face,
    Hole,
    ObstacleRequest,
    Part,
    Point,
    SetupRequest,
)

Axis = Literal["x", "y", "z"]


def mirrored(part: Part, axis: Axis) -> Part:
    """The opposite hand: mirrored about the middle of the stock along that part axis.

    Twice about one axis gives the part back. Name, drawing and file stay; `is_opposite_hand` turns.
    """
    index = AXIS_LETTERS.index(axis)
    return replace(
        part,
        datum=_datum(part.datum, index),
        holes=tuple(_hole(hole, index, part.stock.size_mm[index]) for hole in part.holes),
        setups=tuple(_setup(request, index) for request in part.setups),
        dimensions=tuple(_dimension(each, index) for each in part.dimensions),
        is_opposite_hand=not part.is_opposite_hand,
    )


def _face(face: Face, axis: int) -> Face:
    return OPPOSITE[face] if FACE_AXIS[face] == axis else face


def _named(name: Face | Literal["centre"] | None, axis: int) -> Face | Literal["centre"] | None:
    return name if name is None or name == "centre" else _face(name, axis)


def _datum(datum: Datum, axis: int) -> Datum:
    turned: dict[str, Any] = {AXIS_LETTERS[axis]: _named(datum[axis], axis)}
    return replace(datum, **turned)


def _hole(hole: Hole, axis: int, size_mm: float) -> Hole:
    centre = list(hole.centre_mm)
    centre[axis] = size_mm - centre[axis]
    return replace(hole, face=_face(hole.face, axis), centre_mm=(centre[0], centre[1], centre[2]))


def _dimension(dimension: Dimension, axis: int) -> Dimension:
    """The same length between the faces that these have become."""
    first, second = (_face(name, axis) if name in FACES else name for name in dimension.between)
    sign = -1 if dimension.along == axis else 1
    return replace(dimension, between=(first, second), placed_mm=sign * dimension.placed_mm)


def _setup(request: SetupRequest, axis: int) -> SetupRequest:
    face = _face(request.face, axis)
    towards_you = None if request.towards_you is None else _face(request.towards_you, axis)
    reverses_x = _reverses_x(request, face, towards_you, axis)
    toes = request.straps_at_mm
    width, at_mm = request.parallel_thickness_mm, request.parallels_at_mm
    if width is not None and not reverses_x:
        at_mm = tuple(0.0 - at - width for at in at_mm)
    return replace(
        request,
        face=face,
        towards_you=towards_you,
        zero_x=_named(request.zero_x, axis),
        zero_y=_named(request.zero_y, axis),
        parallels_at_mm=at_mm,
        straps_at_mm=tuple((0.0 - x, y) if reverses_x else (x, 0.0 - y) for x, y in toes),
        obstacles=tuple(_obstacle(each, 0 if reverses_x else 1) for each in request.obstacles),
    )


def _reverses_x(request: SetupRequest, face: Face, towards_you: Face | None, axis: int) -> bool:
    """Whether the looking glass reverses the setup's X; otherwise it reverses Y.

    Y reverses when what points away from you afterwards is not the mirror image of what did before.
    """
    before = _away(request.face, request.towards_you)
    after = _away(face, towards_you)
    seen = (before[0], -before[1]) if before[0] == axis else before
    return seen == after


def _away(face: Face, towards_you: Face | None) -> tuple[int, int]:
    """Part axis and sign that point away from you in a setup."""
    if towards_you is None:
        return VIEW[face][1]
    return FACE_AXIS[towards_you], -1 if towards_you in HIGH_FACES else 1


def _obstacle(obstacle: ObstacleRequest, axis: int) -> ObstacleRequest:
    low, high = list(obstacle.low_mm), list(obstacle.high_mm)
    low[axis], high[axis] = 0.0 - high[axis], 0.0 - low[axis]
    return replace(obstacle, low_mm=_point(low), high_mm=_point(high))


def _point(values: list[float]) -> Point:
    return values[0], values[1], values[2]
