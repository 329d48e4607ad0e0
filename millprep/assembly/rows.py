"""What stands in a row on a pin: by which faces neighbours look at each other.

Three or more places in one list of a pin lie in that order along it, each between its neighbours.
Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from millprep.assembly.frames import Floats, centres
from millprep.assembly.links import Link, Pairs, between
from millprep.base.records import replace
from millprep.model.assembled import PinJoint, Place
from millprep.model.part import FACE_AXIS, OPPOSITE, Face
from millprep.setting.setups import outward

if TYPE_CHECKING:
    from millprep.assembly.placing import Lay

_LEAST_IN_A_ROW = 3


def faced(link: Link, lays: Mapping[str, Lay], pairs: Pairs) -> Link:
    """The link of a member that lies and one that does not yet, with the faces of their row."""
    row = _row_of(link)
    if not row:
        return link
    here, there = row.index(link.first), row.index(link.second)
    sense = 1 if there > here else -1
    first_face = _said(row, here, sense) or _towards(row, here, sense, lays)
    beyond = row[there + sense] if 0 <= there + sense < len(row) else None
    second_face = _said(row, there, -sense) or _turned_from(link.second, beyond, pairs)
    return replace(link, first_face=first_face, second_face=second_face)


def _row_of(link: Link) -> list[Place]:
    if not isinstance(link.joint, PinJoint):
        return []
    for _, held in groupby(link.joint.held, key=lambda each: each[0]):
        row = [place for _, place in held]
        if link.first in row and link.second in row and len(row) >= _LEAST_IN_A_ROW:
            return row
    return []


def _said(row: Sequence[Place], index: int, sense: int) -> Face | None:
    """The face that looks along the list or back, where the file says by which the pin enters."""
    face = row[index].face
    return face if face is None or index == 0 or sense < 0 else OPPOSITE[face]


def _towards(row: Sequence[Place], index: int, sense: int, lays: Mapping[str, Lay]) -> Face:
    """The face of a laid member that looks along the list, as others of it lie; else the hole's."""
    place, group = row[index], lays[row[index].member].group
    face = place.holes[0].face
    others = sorted(range(len(row)), key=lambda other: abs(other - index))
    for other in others:
        name = row[other].member
        if name == place.member or name not in lays or lays[name].group != group:
            continue
        along = lays[place.member].pose.rotation @ outward(face)
        ahead = float(along @ (_middle(row[other], lays) - _middle(place, lays)))
        return face if ahead * (other - index) * sense > 0 else OPPOSITE[face]
    return face


def _middle(place: Place, lays: Mapping[str, Lay]) -> Floats:
    """(3,) the middle of a hole, in assembly axes."""
    hole, pose = place.holes[0], lays[place.member].pose
    inside = centres([hole]) - outward(hole.face)[:, None] * hole.depth_mm / 2
    middle: Floats = pose.placed(inside)[:, 0]
    return middle


def _turned_from(place: Place, beyond: Place | None, pairs: Pairs) -> Face:
    """The face away from the next of the row, where screws say which that lies on."""
    face = place.holes[0].face
    for link in between(pairs, place.member, beyond.member) if beyond is not None else ():
        if link.are_sure and FACE_AXIS[link.first_face] == FACE_AXIS[face]:
            return OPPOSITE[link.first_face]
    return face
