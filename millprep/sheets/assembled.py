"""An assembly as solids to be drawn: blanks with the holes that open on them, and what stands out
of its members. In assembly axes, so that the first member lies as its own drawing has it.

Imports layers 0 to 4.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from string import ascii_uppercase

import numpy as np

from millprep.assembly import Judged
from millprep.assembly.frames import Pose, mouth_at, view_axes
from millprep.base.records import frozen
from millprep.model.part import FACE_AXIS, OPPOSITE, Face, Hole, Part
from millprep.model.scene import Point
from millprep.sheets.solids import Solid
from millprep.sums.convex import Floats, Shape, boxes

_CORNERS = 48  # of what stands for a circle
_LETTERS = [letter for letter in ascii_uppercase if letter not in "IO"]
_BESIDE_MM = 15.0  # between heaps of members that nothing joins


@frozen
class Mouth:
    """Where a hole opens: its middle, radii to the right and up, and the way out of the metal."""

    centre_mm: Point
    right_mm: Point
    up_mm: Point
    out: Point


@frozen
class Stood:
    """One solid with the holes that open on it; of a member its letter stands in `solid.says`."""

    solid: Solid
    mouths: tuple[Mouth, ...] = ()


@frozen
class Assembled:
    """All solids of an assembly. letters : which letter is which member, and its file."""

    name: str
    mark: str
    solids: tuple[Stood, ...]
    letters: tuple[tuple[str, str, str], ...]


def make_assembled(judged: Judged) -> Assembled:
    """The picture of an assembly; heaps of members that nothing joins stand beside each other."""
    members = judged.assembly.members
    letters = {member.name: _letter(number) for number, member in enumerate(members)}
    shifts = _shifts(judged)
    solids = []
    for body in judged.bodies:
        shift = shifts[body.group]
        mouths: tuple[Mouth, ...] = ()
        if body.is_member:
            part = judged.assembly.member(body.name).part
            pose = judged.lays[body.name].pose
            mouths = tuple(_mouths(part, Pose(pose.rotation, pose.shift_mm + shift)))
        letter = letters[body.name] if body.is_member else ""
        solids += [Stood(_solid(body.name, one, shift, letter), mouths) for one in body.pieces]
    told = tuple((letters[member.name], member.name, member.file) for member in members)
    return Assembled(judged.assembly.name, judged.assembly.mark, tuple(solids), told)


def _letter(number: int) -> str:
    """A to Z, then AA, AB ...; without I and O, which are taken for figures."""
    high, low = divmod(number, len(_LETTERS))
    return (_letter(high - 1) if high else "") + _LETTERS[low]


def _shifts(judged: Judged) -> Mapping[int, Floats]:
    """How far each group is moved along x, to stand beside those before it."""
    shifts: dict[int, Floats] = {}
    right = 0.0
    for group in sorted({body.group for body in judged.bodies}):
        lows, highs = boxes([body.shape for body in judged.bodies if body.group == group])
        low, high = float(lows[:, 0].min()), float(highs[:, 0].max())
        move = right + _BESIDE_MM - low if shifts else 0.0
        shifts[group] = np.array([move, 0.0, 0.0])
        right = high + move
    return shifts


def _solid(name: str, shape: Shape, shift: Floats, letter: str) -> Solid:
    """A box or cylinder as a prism along its last axis."""
    first, second, along = shape.axes * shape.half_mm[:, None]
    start = shape.centre_mm + shift - along
    turns = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
    if shape.is_round:
        angles = (2 * math.pi * corner / _CORNERS for corner in range(_CORNERS))
        turns = [(math.cos(angle), math.sin(angle)) for angle in angles]
    end = tuple(_point(start + a * first + b * second) for a, b in turns)
    return Solid(name, end, _point(2 * along), is_round=shape.is_round, says=letter)


def _mouths(part: Part, pose: Pose) -> Iterator[Mouth]:
    """Both ends of a hole that goes through, each as wide as it is cut there."""
    for hole in part.holes:
        for face in (hole.face, OPPOSITE[hole.face]) if hole.is_through else (hole.face,):
            right, up, out = view_axes(face) @ pose.rotation.T
            centre = np.array(hole.centre_mm)
            centre[FACE_AXIS[face]] = part.stock.face_at_mm(face)
            middle = pose.placed(centre[:, None])[:, 0]
            for radius in _radii(hole, face):
                yield Mouth(
                    _point(middle), _point(radius * right), _point(radius * up), _point(out)
                )


def _radii(hole: Hole, face: Face) -> list[float]:
    mouth = mouth_at(hole, face)
    cuts = [mouth.counterbore, mouth.spotface, mouth.countersink]
    wide = [hole.diameter_mm, *(cut.diameter_mm for cut in cuts if cut is not None)]
    wide += [one.diameter_mm for one in hole.opened if face == hole.face]
    return [one / 2 for one in wide]


def _point(place: Floats) -> Point:
    x, y, z = (float(value) for value in place)
    return x, y, z
