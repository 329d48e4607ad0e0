"""Where every member lies, worked out from the holes that join them and from edges that are given.

Members are laid one by one, each on the laid member that holds it best. Edges come before holes:
where they fix a member, its holes are judged, not followed.
Three or more places in one list of a pin lie in that order along it, each between its neighbours.
Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

import numpy as np

from millprep.assembly.frames import (
    HERE,
    Floats,
    Pose,
    centres,
    lying_on,
    out_of,
    seen,
    seen_through,
    view_axes,
)
from millprep.assembly.links import Link, Pairs, between, by_pair
from millprep.assembly.matching import Match, Sets, best_match, match_at
from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, Edge, Member, PinJoint, Place
from millprep.model.part import FACE_AXIS, OPPOSITE, Face
from millprep.setting.setups import outward
from millprep.sums.fitting import Fit

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


_PARALLEL = 0.999


@frozen
class Lay:
    """How one member lies.

    group : number of the group of members that hang together
    on    : the member that it was laid on; None for the first of a group
    is_free_to_turn : one hole holds it there, and no edge
    """

    pose: Pose
    group: int
    on: str | None = None
    is_free_to_turn: bool = False
    by_edges: bool = False


@frozen
class _Meeting:
    """What is known of two members: the faces that meet, the holes, the edges."""

    first: Member
    second: Member
    faces: tuple[Face, Face]
    gap_mm: float
    links: tuple[Link, ...]
    edges: tuple[Edge, ...]

    @property
    def strength(self) -> tuple[bool, bool, bool, int]:
        count = sum(len(link.first.holes) for link in self.links)
        are_sure = any(link.are_sure for link in self.links)
        return len(self.edges) > 1, count > 1, are_sure, count

    @property
    def sets(self) -> Sets:
        return [
            (seen(link.first.holes, self.faces[0]), seen_through(link.second.holes, self.faces[1]))
            for link in self.links
        ]


def lay_all(assembly: Assembly, links: Sequence[Link]) -> dict[str, Lay]:
    """The lay of each member by its name."""
    lays: dict[str, Lay] = {}
    members = {member.name: member for member in assembly.members}
    waiting, pairs = {**members}, by_pair(links)
    near = _neighbours(assembly, pairs)
    group = -1
    while waiting:
        meetings = [
            meeting
            for name, lay in lays.items()
            for other in near[name]
            if lay.group == group
            and other in waiting
            and (meeting := _meeting(members[name], members[other], pairs, lays)) is not None
        ]
        if not meetings:
            group += 1
            name = next(iter(waiting))
            lays[name] = Lay(HERE, group)
        else:
            best = max(meetings, key=lambda meeting: meeting.strength)
            name = best.second.name
            others = [each for each in meetings if each.second is best.second and each is not best]
            lays[name] = _laid(best, lays, others)
        del waiting[name]
    return lays


def _neighbours(assembly: Assembly, pairs: Pairs) -> dict[str, list[str]]:
    """By a member's name those of which anything is said beside it, in the order of the file."""
    known = {*pairs, *(frozenset((one.name, one.on)) for one in assembly.members if one.on)}
    near: dict[str, set[str]] = {member.name: set() for member in assembly.members}
    for pair in known:
        for name in pair:
            near[name] |= pair - {name}
    order = {name: number for number, name in enumerate(near)}
    return {name: sorted(names, key=order.__getitem__) for name, names in near.items()}


def _meeting(
    first: Member, second: Member, pairs: Pairs, lays: Mapping[str, Lay]
) -> _Meeting | None:
    """Of a member that lies and one that waits; None where nothing is said of the two."""
    joined = [faced(link, lays, pairs) for link in between(pairs, first.name, second.name)]
    said = second if second.on == first.name else first if first.on == second.name else None
    if not joined and said is None:
        return None
    one = joined[0].first_face if joined else None
    other = joined[0].second_face if joined else None
    edges: tuple[Edge, ...] = ()
    if said is second:
        one, other, edges = second.on_face or one, second.face or other, second.edges
    elif said is first:
        one, other = first.face or one, first.on_face or other
        edges = tuple(Edge(e.other_face, e.face, e.distance_mm, e.line) for e in first.edges)
    if one is None or other is None:
        return None
    gap = joined[0].gap_mm if joined else 0.0
    lying = [link for link in joined if _lies_across(link, one, other)]
    return _Meeting(first, second, (one, other), gap, tuple(lying), edges)


def _lies_across(link: Link, one: Face, other: Face) -> bool:
    """Whether the holes of a link run square to the faces that meet."""
    return bool(
        abs(outward(link.first_face) @ outward(one)) > _PARALLEL
        and abs(outward(link.second_face) @ outward(other)) > _PARALLEL
    )


def _laid(meeting: _Meeting, lays: Mapping[str, Lay], others: Sequence[_Meeting]) -> Lay:
    """others : with members that lie already, whose holes tell how one that a single hole holds is
    turned"""
    below, sets = lays[meeting.first.name], meeting.sets
    if sum(first.shape[1] for first, _ in sets) == 1:
        sets = [*sets, *(each for other in others for each in _sets_of(other, meeting, lays))]
    by_edges = _by_edges(meeting)
    if by_edges is not None:
        fit, is_free = by_edges, False
    elif sets:
        fit = best_match(sets).fit
        is_free = sum(first.shape[1] for first, _ in sets) == 1
    else:
        fit, is_free = Fit(np.zeros(2), 0.0, False, np.zeros((2, 1))), True
    pose = _pose(meeting, fit).then(below.pose)
    return Lay(pose, below.group, meeting.first.name, is_free, by_edges is not None)


def _sets_of(
    other: _Meeting, meeting: _Meeting, lays: Mapping[str, Lay]
) -> Iterator[tuple[Floats, Floats]]:
    """The holes of a second meeting as they are seen in the first, where both are on one face."""
    axes = view_axes(meeting.faces[0])
    inside = lays[other.first.name].pose.seen_from(lays[meeting.first.name].pose)
    facing = float(axes[2] @ inside.rotation @ outward(other.faces[0]))
    if other.faces[1] == meeting.faces[1] and facing > _PARALLEL:
        for link in other.links:
            first = axes[:2] @ inside.placed(centres(link.first.holes))
            yield first, seen_through(link.second.holes, other.faces[1])


def _pose(meeting: _Meeting, fit: Fit) -> Pose:
    one, other = meeting.faces
    return lying_on(
        meeting.second.part,
        other,
        meeting.first.part,
        one,
        meeting.gap_mm,
        fit.turn_deg,
        fit.shift_mm,
    )


def _by_edges(meeting: _Meeting) -> Fit | None:
    """The quarter turn and shift that the edges ask for; None where they do not fix both axes."""
    found: list[tuple[tuple[float, ...], Fit]] = []
    for quarter in range(4):
        turn = float((quarter * 90 + 180) % 360 - 180)
        fit = Fit(np.zeros(2), turn, False, np.zeros((2, 1)))
        shift = _edge_shift(meeting, _pose(meeting, fit))
        if shift is None:
            continue
        fit = Fit(shift, turn, False, np.zeros((2, 1)))
        rank: tuple[float, ...] = (0.0,)
        if meeting.sets:
            match: Match = match_at(meeting.sets, fit)
            rank = (round(sum(float((e**2).sum()) for e in match.errors_mm), 6),)
        opposed = sum(_sense(edge, _pose(meeting, fit)) < 0 for edge in meeting.edges)
        found.append(((*rank, opposed, abs(turn)), fit))
    return min(found, key=lambda each: each[0])[1] if found else None


def _sense(edge: Edge, pose: Pose) -> float:
    """1 where the two faces look the same way, -1 the opposite way, 0 where they cross."""
    return float(pose.rotation @ outward(edge.face) @ outward(edge.other_face))


def _edge_shift(meeting: _Meeting, unshifted: Pose) -> Floats | None:
    """The shift in the plane (2,), or None where the edges do not lie parallel or fix one axis."""
    axes = view_axes(meeting.faces[0])[:2]
    shift, said = np.zeros(2), np.zeros(2)
    for edge in meeting.edges:
        sense = _sense(edge, unshifted)
        if abs(sense) < _PARALLEL:
            return None
        lacks = edge_distance_mm(edge, meeting.second, meeting.first, unshifted) - edge.distance_mm
        along = axes @ outward(edge.other_face)
        axis = int(np.argmax(np.abs(along)))
        if abs(along[axis]) < _PARALLEL:
            return None
        shift[axis] += lacks * along[axis]
        said[axis] += 1
    return shift / said if said.all() else None  # edges that disagree share what is between them


def edge_distance_mm(edge: Edge, member: Member, other: Member, pose: Pose) -> float:
    """How far a member's face lies inside the other's, by its pose in that other member."""
    out = outward(edge.other_face)
    at = float(out @ pose.shift_mm) + _sense(edge, pose) * out_of(member.part, edge.face)
    return out_of(other.part, edge.other_face) - at
