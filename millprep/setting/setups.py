"""From part axes to setup axes: how the part lies, where zero is, what is held and how.

Setup axes are what the readout shows: X to the right hand, Y away from you, Z up, of the cutter
relative to the work, Z0 on the face that is up. Each face has one view, as you look square at it;
a face's default lay puts the view's right along X and its up along Y.

            up                the view of TOP:    right = +x, up = +y
             ^                        FRONT:      right = +x, up = +z
             |                        RIGHT:      right = +y, up = +z
             o---> right              BACK:       right = -x, up = +z
      (out of the face: Z)            LEFT:       right = -y, up = +z
                                      BOTTOM:     right = +x, up = -y

Pure functions; imports layers 0 to 2.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from millprep.base.findings import MillprepError, stopped
from millprep.base.records import frozen, replace
from millprep.model.part import (
    AXIS_FACES,
    FACE_AXIS,
    FACES,
    HIGH_FACES,
    OPPOSITE,
    Face,
    Hole,
    ObstacleRequest,
    Part,
    Proud,
    SetupRequest,
)
from millprep.model.scene import Box, Disc, Drilled, Point, Scene

Floats = NDArray[np.float64]
ZeroFace = Face | Literal["centre"]

_VIEW_UP: dict[Face, Face] = {
    "top": "back", "front": "top", "right": "top", "back": "top", "left": "top", "bottom": "front",
}  # fmt: skip
LEAST_SAFE_HEIGHT_MM = 10.0
SAFE_OVER_HIGHEST_MM = 5.0
LEAST_GRIP_MM = 8.0
PROUD_MM = 2.0  # of the part above the jaw tops, for finder and chuck (common practice)
_LEFT_FOR_FINISHING_MM = 0.25  # on diameter, in a hole that is drilled and not yet reamed


def outward(face: Face) -> Floats:
    """Unit vector (3,) out of the face, in part axes."""
    vector = np.zeros(3)
    vector[FACE_AXIS[face]] = 1.0 if face in HIGH_FACES else -1.0
    return vector


def face_along(vector: Floats) -> Face:
    """The face that a unit vector along a part axis points out of."""
    axis = int(np.argmax(np.abs(vector)))
    return AXIS_FACES[axis][1 if vector[axis] > 0 else 0]


@frozen
class Setup:
    """One lay of the part on the machine.

    number      : as printed, from 1
    face        : the face that is up; towards_you, left_hand : the faces on those sides
    zero_x, zero_y : the face that the readout's zero lies on, or "centre"
    rotation    : (3, 3) rows are setup X, Y, Z in part axes
    zero_mm     : (3,) the setup's zero in part axes
    low_mm, high_mm : corners of the stock's box in setup axes
    names       : of the holes that are worked in it
    proud       : heads and nuts of a stack that stand out of it
    clamps      : straps or an angle plate that hold the part, and stand in a tool's way
    """

    number: int
    face: Face
    towards_you: Face
    left_hand: Face
    zero_x: ZeroFace
    zero_y: ZeroFace
    rotation: Floats
    zero_mm: Floats
    low_mm: Point
    high_mm: Point
    request: SetupRequest
    names: frozenset[str]
    proud: tuple[ObstacleRequest, ...] = ()
    clamps: tuple[ObstacleRequest, ...] = ()

    def works(self, hole: Hole) -> bool:
        """Whether something is done at this hole."""
        return hole.name in self.names

    @property
    def obstacles(self) -> tuple[ObstacleRequest, ...]:
        """What a tool must not meet: what the part file describes, what is proud, then clamps."""
        return (*self.request.obstacles, *self.proud, *self.clamps)

    @property
    def jaws_axis(self) -> int:
        """That the jaws of a vice close along: 0 for X, 1 for Y."""
        return 1 if self.request.jaws == "y" else 0

    @property
    def away(self) -> Face:
        return OPPOSITE[self.towards_you]

    @property
    def right_hand(self) -> Face:
        return OPPOSITE[self.left_hand]

    @property
    def height_mm(self) -> float:
        return self.high_mm[2] - self.low_mm[2]

    @property
    def grip_mm(self) -> float:
        """How much of the part the jaws hold: by the file, else 8 mm or a third of the height,
        2 mm left above the jaws; half of a very thin one."""
        if self.request.grip_mm is not None:
            return self.request.grip_mm
        most_mm = max(self.height_mm - PROUD_MM, self.height_mm / 2)
        return min(max(LEAST_GRIP_MM, self.height_mm / 3), most_mm)

    @property
    def safe_height_mm(self) -> float:
        if self.request.safe_height_mm is not None:
            return self.request.safe_height_mm
        highest = max([0.0, *(obstacle.high_mm[2] for obstacle in self.obstacles)])
        return max(LEAST_SAFE_HEIGHT_MM, highest + SAFE_OVER_HIGHEST_MM)

    def from_part(self, points_mm: Floats) -> Floats:
        """Setup axes (3, N) of points (3, N) in part axes."""
        return np.asarray(self.rotation @ (points_mm - self.zero_mm[:, None]))

    def place_of(self, hole: Hole) -> tuple[float, float]:
        """X and Y of a hole as drawn."""
        x, y, _ = self.from_part(np.array(hole.centre_mm)[:, None])[:, 0]
        return float(x), float(y)

    def to_part(self, points_mm: Floats) -> Floats:
        """Part axes (3, N) of points (3, N) in setup axes."""
        return np.asarray(self.rotation.T @ points_mm + self.zero_mm[:, None])


def side_of(setup: Setup, face: Face) -> str:
    """Where an upright face stands at the machine."""
    return {
        setup.towards_you: "towards you",
        setup.away: "away",
        setup.left_hand: "left hand",
        setup.right_hand: "right hand",
    }[face]


def default_towards_you(face: Face) -> Face:
    """The face towards you in the default lay: below the face's view."""
    return OPPOSITE[_VIEW_UP[face]]


def lay_rotation(face: Face, towards_you: Face) -> Floats:
    """(3, 3) a lay: rows are X, Y, Z of the setup in part axes."""
    z_axis, y_axis = outward(face), -outward(towards_you)
    return np.array([np.cross(y_axis, z_axis), y_axis, z_axis])


def _fault(request: SetupRequest, part: Part, message: str, remedy: str) -> MillprepError:
    file, key = part.path or None, request.key or None
    return stopped("contradiction", message, remedy, file=file, line=request.line, key=key)


def _zero_face(part: Part, request: SetupRequest, along: Floats, letter: str) -> ZeroFace:
    """The zero asked for along a setup axis, or the datum face that stands upright there."""
    axis = int(np.argmax(np.abs(along)))
    asked = request.zero_x if letter == "x" else request.zero_y
    if asked is None:
        return part.datum[axis]
    if asked != "centre" and FACE_AXIS[asked] != axis:
        towards_you = request.towards_you or default_towards_you(request.face)
        low, high = AXIS_FACES[axis]
        raise _fault(
            request,
            part,
            f"zero {letter} is on {asked}, which does not stand across {letter.upper()} "
            f"when {request.face} is up and {towards_you} is towards you",
            f'give {letter} = "{low}", "{high}" or "centre"',
        )
    return asked


def _coordinate(part: Part, axis: int, zero: ZeroFace) -> float:
    if zero == "centre":
        return part.stock.size_mm[axis] / 2
    return part.stock.face_at_mm(zero)


def setup_of(part: Part, request: SetupRequest, number: int) -> Setup:
    """The lay that a request asks for, with all the work that the face has.

    Raises MillprepError when its faces contradict.
    """
    face = request.face
    towards_you = request.towards_you or default_towards_you(face)
    if FACE_AXIS[towards_you] == FACE_AXIS[face]:
        raise _fault(
            request,
            part,
            f"{towards_you} cannot be towards you when {face} is up",
            "give one of the four faces that stand upright",
        )
    rotation = lay_rotation(face, towards_you)
    x_axis, y_axis, z_axis = rotation
    zero_x = _zero_face(part, request, x_axis, "x")
    zero_y = _zero_face(part, request, y_axis, "y")
    zero = np.zeros(3)
    for axis_vector, zero_face in ((x_axis, zero_x), (y_axis, zero_y), (z_axis, face)):
        axis = int(np.argmax(np.abs(axis_vector)))
        zero[axis] = _coordinate(part, axis, zero_face)
    corners = rotation @ (np.array([[0.0, 0.0, 0.0], part.stock.size_mm]).T - zero[:, None])
    corners += 0.0  # no minus zero
    low, high = corners.min(axis=1), corners.max(axis=1)
    return Setup(
        number,
        face,
        towards_you,
        face_along(-x_axis),
        zero_x,
        zero_y,
        rotation,
        zero,
        point_of(low),
        point_of(high),
        request,
        frozenset(hole.name for hole in part.holes if face in hole.worked_from),
        tuple(_turned(one, rotation, zero) for one in part.proud),
    )


def _turned(one: Proud, rotation: Floats, zero_mm: Floats) -> ObstacleRequest:
    """What stands proud of a stack, in setup axes."""
    corners = rotation @ (np.array([one.low_mm, one.high_mm]).T - zero_mm[:, None]) + 0.0
    return ObstacleRequest(one.name, point_of(corners.min(axis=1)), point_of(corners.max(axis=1)))


def point_of(values: Floats) -> Point:
    """(3,) as a point."""
    return float(values[0]), float(values[1]), float(values[2])


def visits_of(part: Part) -> list[tuple[SetupRequest, frozenset[str]]]:
    """The setups as the file lists them, then one for each face with work left: with the holes.

    What a visit names is made in it, wherever it stands; one that names nothing makes the rest.
    """
    left = {face: {hole.name for hole in part.holes if face in hole.worked_from} for face in FACES}
    named = [
        {hole.name for hole in part.holes if {hole.name, hole.group} & {*request.holes}}
        & left[request.face]
        for request in part.setups
    ]
    for request, names in zip(part.setups, named, strict=True):
        left[request.face] -= names
    visits = []
    for request, names in zip(part.setups, named, strict=True):
        visits.append((request, frozenset(names if request.holes else left[request.face])))
        if not request.holes:
            left[request.face] = set()
    return visits + [(SetupRequest(face), frozenset(left[face])) for face in FACES if left[face]]


def setups_of(part: Part) -> tuple[Setup, ...]:
    """The setups as the file lists them, then one for each other face that has work.

    A setup in which nothing is done has no sheet and no number (see `idle_faces`).
    """
    worked = [(request, names) for request, names in visits_of(part) if names]
    return tuple(
        replace(setup_of(part, request, number), names=names)
        for number, (request, names) in enumerate(worked, 1)
    )


def idle_faces(part: Part) -> list[Face]:
    """Faces that the file lists a setup for and that have no work."""
    return [request.face for request, names in visits_of(part) if not names]


def stock_of(part: Part, setup: Setup) -> Box | Disc:
    """The blank in setup axes."""
    if part.stock.axis is None:
        return Box(setup.low_mm, setup.high_mm)
    axis = int(np.argmax(np.abs(setup.rotation[:, part.stock.axis])))
    return Disc(setup.low_mm, setup.high_mm, axis, part.stock.bore_mm)


def _bore_mm(hole: Hole) -> float:
    """Width of what is drilled before a hole is tapped; of one finished from its far end too."""
    if hole.thread is not None:
        return hole.thread.tap_drill_mm
    if hole.from_both_ends and hole.kind.is_true:
        return hole.diameter_mm - _LEFT_FOR_FINISHING_MM
    return hole.diameter_mm


def _removed(hole: Hole, face: Face) -> list[tuple[float, float]]:
    """(diameter, depth) of all that is removed from the hole's own face, or from its far one."""
    is_own = face == hole.face
    mouth = hole.mouth if is_own else hole.far
    is_drilled = is_own or hole.from_both_ends
    rooms = [(_bore_mm(hole), hole.depth_from_face_mm)] if is_drilled else []
    wider = (*(hole.opened if is_own else ()), mouth.counterbore, mouth.spotface)
    return rooms + [(one.diameter_mm, one.depth_mm) for one in wider if one is not None]


def _drilled(part: Part, hole: Hole, face: Face, setup: Setup) -> list[Drilled]:
    """What the work on a hole from one face has removed, in setup axes."""
    rooms = _removed(hole, face)
    if not rooms:
        return []
    start = np.array(hole.centre_mm)
    start[FACE_AXIS[face]] = part.stock.face_at_mm(face)
    ends = np.array([start, *(start - outward(face) * depth for _, depth in rooms)]).T
    placed = setup.from_part(ends)
    first = point_of(placed[:, 0])
    return [
        Drilled(first, point_of(placed[:, column]), diameter)
        for column, (diameter, _) in enumerate(rooms, 1)
    ]


def scene_of(part: Part, setup: Setup) -> Scene:
    """What stands on the table in this setup; earlier setups' holes are already there."""
    earlier = [other for other in setups_of(part) if other.number < setup.number]
    drilled = tuple(
        room
        for hole in part.holes
        for face in (hole.face, OPPOSITE[hole.face])
        if any(one.face == face and one.works(hole) for one in earlier)
        for room in _drilled(part, hole, face, setup)
    )
    fixtures = tuple(
        Box(obstacle.low_mm, obstacle.high_mm, obstacle.name) for obstacle in setup.obstacles
    )
    return Scene(
        stock_of(part, setup),
        fixtures,
        drilled,
        work_offset=setup.request.work_offset,
        safe_height_mm=setup.safe_height_mm,
        material=part.material,
        bodies=tuple((0.0 - layer.from_mm, -layer.to_mm) for layer in part.layers),
    )
