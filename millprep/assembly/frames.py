"""Where a member lies: its pose, and its holes as seen square at the face that mates.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.model.part import FACE_AXIS, OPPOSITE, Face, Hole, Mouth, Part
from millprep.setting.setups import default_towards_you, outward

Floats = NDArray[np.float64]


@frozen
class Pose:
    """Assembly axes of a member: place = rotation @ (part axes) + shift. (3, 3) and (3,)."""

    rotation: Floats
    shift_mm: Floats

    def placed(self, points_mm: Floats) -> Floats:
        """(3, N) part axes to assembly axes."""
        moved: Floats = self.rotation @ points_mm + self.shift_mm[:, None]
        return moved

    def then(self, outer: Pose) -> Pose:
        """This pose in a member that lies in another."""
        return Pose(outer.rotation @ self.rotation, outer.rotation @ self.shift_mm + outer.shift_mm)

    def seen_from(self, other: Pose) -> Pose:
        """This pose in the axes of another member, both being given in assembly axes."""
        back = other.rotation.T
        return self.then(Pose(back, -back @ other.shift_mm))


HERE = Pose(np.eye(3), np.zeros(3))


def view_axes(face: Face) -> Floats:
    """(3, 3): rows are right and up of the face's view, and out of it, in part axes."""
    out = outward(face)
    up = outward(OPPOSITE[default_towards_you(face)])
    return np.array([np.cross(up, out), up, out])


def seen(holes: Sequence[Hole], face: Face) -> Floats:
    """(2, N) holes as one looks square at the face, to the right and up [mm]."""
    places: Floats = view_axes(face)[:2] @ centres(holes)
    return places


def seen_through(holes: Sequence[Hole], face: Face) -> Floats:
    """(2, N) holes of a member that lies with this face away from you: right and left exchanged."""
    places: Floats = seen(holes, face) * np.array([[-1.0], [1.0]])
    return places


def centres(holes: Sequence[Hole]) -> Floats:
    """(3, N) in part axes."""
    return np.array([hole.centre_mm for hole in holes], dtype=float).reshape(-1, 3).T


def lying_on(
    part: Part,
    face: Face,
    other: Part,
    other_face: Face,
    gap_mm: float,
    turn_deg: float,
    shift_mm: Floats,
) -> Pose:
    """The pose in the other member, its face against that one's.

    turn_deg, shift_mm : (2,) from places seen through this member to those on the other's face
    """
    there, here = view_axes(other_face), view_axes(face) * np.array([[-1.0], [1.0], [-1.0]])
    turn = np.radians(turn_deg)
    cos, sin = np.cos(turn), np.sin(turn)
    about = np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
    rotation = there.T @ about @ here
    height = out_of(other, other_face) + gap_mm + out_of(part, face)
    return Pose(rotation, there.T @ np.array([*shift_mm, height]))


def out_of(part: Part, face: Face) -> float:
    """How far the face lies along its own outward direction [mm], from the part's zero."""
    return float(outward(face)[FACE_AXIS[face]]) * part.stock.face_at_mm(face)


def thickness_mm(part: Part, hole: Hole) -> float:
    """Of the member along the hole, face to face; for a hole in a rim the stock's box."""
    return part.stock.size_mm[FACE_AXIS[hole.face]]


def mouth_at(hole: Hole, face: Face) -> Mouth:
    """What is cut round the end of the hole on that face."""
    return hole.mouth if face == hole.face else hole.far


def recess_mm(mouth: Mouth) -> float:
    """How deep the flat under a head or nut lies below the face."""
    recess = mouth.counterbore or mouth.spotface
    return 0.0 if recess is None else recess.depth_mm
