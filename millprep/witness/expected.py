"""What each hole of a part needs from one face: the part read once more, by the witness's own code.

Imports the part only.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from millprep.base.records import frozen, replace
from millprep.model.part import FACES, Hole, Mouth, Part, SetupRequest
from millprep.witness.faces import AXIS, FAR, face_mm
from millprep.witness.leavings import leavings_of


@frozen
class RunOut:
    """Depths from the hole's face [mm]: the thread ends at the first, nothing goes to the other."""

    near_mm: float
    far_mm: float


def run_out(hole: Hole, holes: Sequence[Hole]) -> RunOut | None:
    """Of a blind thread that ends inside a bore which the part names; None for any other hole."""
    if hole.thread is None or hole.is_through or hole.from_both_ends:
        return None
    for bore in holes:
        is_named = hole.goes_into == bore.name or {bore.name, bore.group} & {*hole.meets}
        found = _crossed(hole, bore) if is_named else None
        if found and (hole.goes_into == bore.name or found.near_mm <= hole.depth_mm < found.far_mm):
            return found
    return None


def _crossed(hole: Hole, bore: Hole) -> RunOut | None:
    own, other = AXIS[hole.face], AXIS[bore.face]
    apart = [abs(one - two) for one, two in zip(hole.centre_mm, bore.centre_mm, strict=True)]
    if own == other or apart[other] + hole.diameter_mm / 2 > bore.depth_mm + 1e-6:
        return None
    (beside,) = (apart[axis] for axis in range(3) if axis not in (own, other))
    inside = (bore.diameter_mm / 2) ** 2 - beside**2
    if inside <= 0:
        return None
    chord = math.sqrt(inside)
    return RunOut(apart[own] - chord, apart[own] + chord)


@frozen
class Need:
    """One operation that the part asks for.

    depth_mm : of the full size; is_half : at least that deep, the rest comes from the other end
    is_open  : at least that deep, the rest is in the open
    """

    name: str
    diameter_mm: float
    depth_mm: float
    is_through: bool = False
    is_half: bool = False
    is_open: bool = False
    angle_deg: float | None = None


@frozen
class Expected:
    """A hole as one face sees it: its place in part axes on that face, and what it needs there.

    finish       : the operation that gives the hole its size, None when it is given elsewhere
    is_drilled   : whether it is drilled from this face (from both ends: half way)
    mouth_mm     : the widest it is at this face
    run_out      : where its thread comes out into a bore
    """

    hole: Hole
    centre_mm: tuple[float, float, float]
    finish: Need | None
    needs: tuple[Need, ...]
    is_drilled: bool
    thickness_mm: float
    mouth_mm: float
    material: str = ""
    run_out: RunOut | None = None

    @property
    def is_spot(self) -> bool:
        """Whether it is left with a spot alone."""
        return not self.hole.kind.is_hole

    @property
    def names(self) -> set[str]:
        """The operations that cannot be absent."""
        if self.is_spot:
            return {"spot drill"}
        drilled = {"drill"} if self.is_drilled else set()
        finish = {self.finish.name} if self.finish is not None else set()
        return drilled | finish | {need.name for need in self.needs}


Visit = tuple[SetupRequest, frozenset[str]]
"""What the file asks of a setup, and the names of the holes that are worked in it."""


def visits(part: Part) -> list[Visit]:
    """The setups that have work, in order: those of the file, then the faces that it leaves out.

    What a setup names is made in it, and nowhere else from that face.
    """
    named = {
        (hole.name, request.face)
        for request in part.setups
        for hole in part.holes
        if {hole.name, hole.group} & {*request.holes}
    }
    made: set[tuple[str, str]] = set()
    found: list[Visit] = []
    for request in (*part.setups, *map(SetupRequest, FACES)):
        face = request.face
        here = {
            hole.name
            for hole in part.holes
            if (hole.face == face or (FAR[hole.face] == face and _has_two_ends(hole)))
            and (hole.name, face) not in made
            and (
                {hole.name, hole.group} & {*request.holes}
                if request.holes
                else (hole.name, face) not in named
            )
        }
        made |= {(name, face) for name in here}
        if here:
            found.append((request, frozenset(here)))
    return found


def _has_two_ends(hole: Hole) -> bool:
    """Whether something is done to it from the other side of the part too."""
    return hole.from_both_ends or hole.far != Mouth()


def expected_holes(part: Part, face: str, number: int | None = None) -> list[Expected]:
    """All holes that are worked from this face, `far` features and second halves included.

    number : of the setup, where only what is worked in that one counts
    """
    in_order = visits(part)
    here = in_order[number - 1 : number] if number is not None else ()
    names = next((names for request, names in here if request.face == face), None)
    found = []
    for hole in part.holes:
        if names is not None and hole.name not in names:
            continue
        finish = _finish(hole, face, in_order)
        if hole.face == face:
            needs = [Need("drill", one.diameter_mm, one.depth_mm) for one in hole.opened]
            needs += _mouth_needs(hole.mouth)
            is_drilled = hole.kind.is_hole
            found.append(_expected(hole, part, face, needs, finish, is_drilled=is_drilled))
        elif FAR[hole.face] == face and _has_two_ends(hole):
            needs, is_drilled = _mouth_needs(hole.far), hole.from_both_ends
            found.append(_expected(hole, part, face, needs, finish, is_drilled=is_drilled))
    return found


def _expected(
    hole: Hole, part: Part, face: str, needs: list[Need], finish: Need | None, *, is_drilled: bool
) -> Expected:
    centre = list(hole.centre_mm)
    axis = AXIS[face]
    if face != hole.face:
        centre[axis] = face_mm(face, part.stock.size_mm)
    place = (centre[0], centre[1], centre[2])
    mouth = max([hole.diameter_mm, *(need.diameter_mm for need in needs)])
    thickness = part.stock.size_mm[axis]
    needed = tuple(needs)
    open_to = run_out(hole, part.holes)
    if open_to is not None and finish is not None:
        finish = replace(finish, depth_mm=min(hole.depth_mm, open_to.near_mm), is_open=True)
    return Expected(
        hole, place, finish, needed, is_drilled, thickness, mouth, part.material, open_to
    )


def _finish(hole: Hole, face: str, in_order: Sequence[Visit]) -> Need | None:
    """The operation that gives the hole its size, where it is done from this face."""
    name = leavings_of(hole).finish
    if name == "spot drill":
        return None
    if not hole.from_both_ends:
        if face != hole.face:
            return None
        return Need(name, hole.diameter_mm, hole.depth_mm, hole.is_through)
    if name == "drill":
        return Need(name, hole.diameter_mm, hole.depth_mm / 2, is_half=True)
    # Reamed or tapped right through, from the end that is worked last.
    last = [request.face for request, names in in_order if hole.name in names][-1]
    return Need(name, hole.diameter_mm, hole.depth_mm, True) if face == last else None


def _mouth_needs(mouth: Mouth) -> list[Need]:
    needs = [
        Need("counterbore", recess.diameter_mm, recess.depth_mm)
        for recess in (mouth.counterbore, mouth.spotface)
        if recess is not None
    ]
    sink = mouth.countersink
    if sink is not None:
        needs.append(Need("countersink", sink.diameter_mm, 0.0, angle_deg=sink.angle_deg))
    return needs
