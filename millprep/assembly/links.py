"""Which faces meet: what a joint says of two members that follow each other in it.

A screw's head lies where its hole is recessed, else on the face that the hole is worked from; it
comes out at the other end, and there the next member begins. Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from millprep.assembly.frames import mouth_at
from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, PinJoint, Place, ScrewJoint, Shared, Stack
from millprep.model.part import OPPOSITE, Face, Hole

Joined = ScrewJoint | PinJoint | Shared | Stack


@frozen
class Link:
    """Two places that follow each other: holes that must coincide, and the faces between them.

    first_face, second_face : that meet; gap_mm : thickness of the loose pieces between
    are_sure : whether the faces follow from how a screw goes; a pin says little of them
    """

    joint: Joined
    first: Place
    second: Place
    first_face: Face
    second_face: Face
    gap_mm: float = 0.0
    are_sure: bool = True

    def turned_round(self) -> Link:
        return replace(
            self,
            first=self.second,
            second=self.first,
            first_face=self.second_face,
            second_face=self.first_face,
        )


def links_of(assembly: Assembly) -> list[Link]:
    """All links: of screws, then of what else goes through or lies over."""
    joined: list[Joined] = [*assembly.joints, *assembly.shared, *assembly.stacks]
    links = [link for joint in joined for link in _links(joint)]
    return sorted(links, key=lambda link: not link.are_sure)


def _links(joint: Joined) -> Iterator[Link]:
    if isinstance(joint, ScrewJoint):
        yield from _screwed(joint)
        return
    for first, second in pairwise(joint.places):
        if second.member != first.member:
            faces = first.face or first.holes[0].face, second.face or second.holes[0].face
            if isinstance(joint, Stack):  # the reamer goes on through the far face
                faces = OPPOSITE[faces[0]], faces[1]
            yield Link(joint, first, second, *faces, are_sure=False)


def _screwed(joint: ScrewJoint) -> Iterator[Link]:
    gap_mm = 0.0
    before: Place | None = None
    for place in joint.places:
        if place.loose_mm is not None:
            gap_mm += place.loose_mm
            continue
        if before is not None and before.member != place.member:
            faces = OPPOSITE[entered_by(joint, before)], entered_by(joint, place)
            yield Link(joint, before, place, *faces, gap_mm)
        before, gap_mm = place, 0.0


def entered_by(joint: ScrewJoint, place: Place) -> Face:
    """The face of a member by which the screw enters it."""
    if place.face is not None:
        return place.face
    hole = place.holes[0]
    holes = [each for each in joint.through if not each.is_loose]
    if holes and place is holes[0]:
        return _head_face(hole)
    if joint.into is None and place is holes[-1]:
        return _nut_entry(hole)
    return hole.face


def _head_face(hole: Hole) -> Face:
    """Where the head lies: in the recess, on the face that the hole is worked from if both or none
    are recessed."""
    far = OPPOSITE[hole.face]
    return far if _is_recessed(hole, far) and not _is_recessed(hole, hole.face) else hole.face


def _nut_entry(hole: Hole) -> Face:
    """The end away from the recess for the nut."""
    far = OPPOSITE[hole.face]
    return far if _is_recessed(hole, hole.face) and not _is_recessed(hole, far) else hole.face


def _is_recessed(hole: Hole, face: Face) -> bool:
    mouth = mouth_at(hole, face)
    return any((mouth.counterbore, mouth.spotface, mouth.countersink))


Pairs = Mapping[frozenset[str], Sequence[Link]]
"""Links by the two members that they are of."""


def by_pair(links: Sequence[Link]) -> Pairs:
    """The links of every two members, in their order."""
    pairs: dict[frozenset[str], list[Link]] = {}
    for link in links:
        pairs.setdefault(frozenset((link.first.member, link.second.member)), []).append(link)
    return pairs


def between(pairs: Pairs, first: str, second: str) -> list[Link]:
    """The links between two members, all from the first to the second."""
    return [
        link if link.first.member == first else link.turned_round()
        for link in pairs.get(frozenset((first, second)), ())
    ]
