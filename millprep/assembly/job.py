"""The whole job: which part first, which holes now and which later, what waits for what.

A visit is one stay of a part's pieces, or of several members together, at the machine or the bench.
Layers 0 to 3 and planning.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Literal

from millprep.assembly import Judged
from millprep.assembly.frames import thickness_mm
from millprep.base.records import anew, frozen, replace
from millprep.model.assembled import Assembly, Carried, Member, PinJoint, Place, ScrewJoint
from millprep.model.carrying import Leave
from millprep.model.shop import FROM_THE_OTHER_PART

What = Literal["drill", "measure", "match", "stack", "carry", "finish", "assemble", "other"]
Key = tuple[What, str]
"""Of a visit: what is done, and the part file, the stack or the joint that it is done to."""
TOGETHER: Key = ("assemble", "")
_OF_A_PART: tuple[What, ...] = "other", "match", "drill", "measure"
_MAKES_READY: tuple[What, ...] = "other", "drill"


def _key(what: What, name: str) -> Key:
    return what, name


@frozen
class MateOf:
    """The part that is measured for another; of a pair both have the same names of holes."""

    file: str
    is_of_a_pair: bool


@frozen
class Visit:
    """One stay at the machine or the bench.

    members : whose pieces are here
    file    : of the part, as the assembly gives it; "" where several parts are here
    holes   : finished here, or measured; of several parts as "member: hole"
    left    : of each hole of the part that is not: the visit that finishes it, and how it is left
    after   : visits that have to be done before
    mate    : the part that is measured for this one
    carried : how its holes come from another member
    """

    key: Key
    members: tuple[str, ...]
    file: str = ""
    holes: tuple[str, ...] = ()
    left: Mapping[str, tuple[Key, Leave]] = anew(factory=dict)
    after: frozenset[Key] = frozenset()
    mate: MateOf | None = None
    carried: Carried | None = None

    @property
    def what(self) -> What:
        return self.key[0]


@frozen
class Later:
    """Holes that the sheets of their own parts do not finish.

    made_in  : the visit to the stack, or to the pieces clamped on one another
    finished : the visit that finishes them; it is the same in a stack
    members  : who is there; leave : how far their own sheets make the holes, by member
    after    : what that visit waits for, beside its members
    carried  : how they come from another member; sources : whose holes they come from, and which
    pilot_mm : of the drill where one is left with a pilot
    """

    made_in: Key
    finished: Key
    members: tuple[str, ...]
    places: tuple[Place, ...]
    leave: Mapping[str, Leave]
    after: frozenset[Key] = frozenset()
    carried: Carried | None = None
    sources: tuple[tuple[str, str], ...] = ()
    pilot_mm: float | None = None

    @property
    def holes(self) -> tuple[tuple[str, str], ...]:
        """Member and name of each."""
        return tuple((place.member, hole.name) for place in self.places for hole in place.holes)


def laters_of(judged: Judged) -> list[Later]:
    """A record a table of the file that finishes holes elsewhere."""
    laters = []
    for row in judged.stacks:
        key: Key = ("stack", row.name)
        members = tuple(dict.fromkeys((*row.members, *(one.member for one in row.layers))))
        laters += [
            Later(key, key, members, one.places, dict(one.leave), pilot_mm=one.pilot_mm)
            for one in row.tables
        ]
    return [*laters, *_carried_over(judged.assembly)]


def _carried_over(assembly: Assembly) -> Iterator[Later]:
    """Of each joint the holes of each member that come from those of another, by pattern."""
    for joint in assembly.joints:
        carried = joint.carried
        if carried is None:
            continue
        after = frozenset() if carried.after is None else frozenset({_key("stack", carried.after)})
        sources = tuple(
            (place.member, hole.name)
            for place in joint.places
            if place.member == carried.source
            for hole in place.holes
        )
        for place in joint.places:
            if place.is_loose or place.member == carried.source:
                continue
            made_in, file = _key("carry", table_of(joint)), assembly.member(place.member).file
            members, leave = (carried.source, place.member), dict(carried.leave)
            for group in dict.fromkeys(hole.group for hole in place.holes):
                holes = tuple(hole for hole in place.holes if hole.group == group)
                here = (replace(place, holes=holes),)
                finished = _key("finish", f"{file}: {group}")
                more = after, carried, sources, carried.pilot_mm
                yield Later(made_in, finished, members, here, leave, *more)


def table_of(joint: ScrewJoint | PinJoint) -> str:
    """The name of its table, of which it may be one of several."""
    return (joint.table if isinstance(joint, ScrewJoint) else "") or joint.name


@frozen
class Job:
    """What there is to do, in no order; `in_order` has that."""

    judged: Judged

    @property
    def assembly(self) -> Assembly:
        return self.judged.assembly

    @cached_property
    def laters(self) -> list[Later]:
        return laters_of(self.judged)

    @cached_property
    def pieces(self) -> dict[str, list[Member]]:
        """The members that name a part file, by file."""
        by_file: dict[str, list[Member]] = {}
        for member in self.assembly.members:
            by_file.setdefault(member.file, []).append(member)
        return by_file

    @cached_property
    def left(self) -> dict[str, dict[str, tuple[Key, Leave]]]:
        """Of each file the holes that are finished elsewhere: in which visit, and how left."""
        left: dict[str, dict[str, tuple[Key, Leave]]] = {file: {} for file in self.pieces}
        for later in self.laters:
            for name, hole in later.holes:
                leave = later.leave.get(name, "undrilled")
                left[self.assembly.member(name).file][hole] = later.finished, leave
        return left

    @cached_property
    def mates(self) -> dict[str, MateOf]:
        """Of a part that is drilled to fit one that was measured, by its file, that one.

        A handed pair in one stack; holes that are likely to miss each other, made apart.
        """
        pairs = [
            (*pair.members, True)
            for pair in self.assembly.pairs
            if self._stand_together(*pair.members)
        ]
        pairs += [
            (row.first.member, row.second.member, False)
            for row in self.judged.chances
            if row.chance and not row.is_likely and not FROM_THE_OTHER_PART & {*row.made_by}
        ]
        order = [*self.pieces]
        mates: dict[str, MateOf] = {}
        for one, other, is_pair in pairs:
            files = sorted(
                (self.assembly.member(name).file for name in (one, other)), key=order.index
            )
            if files[0] != files[1] and self._has_holes(files):
                mates.setdefault(files[1], MateOf(files[0], is_pair))
        return mates

    def _measured(self, file: str) -> tuple[str, ...]:
        """The holes of a part that are measured: of a pair those that both have."""
        others = [other for other, mate in self.mates.items() if mate.file == file]
        holes = self.joined_now(file)
        if not all(self.mates[other].is_of_a_pair for other in others):
            return holes
        return tuple(hole for hole in holes if any(hole in self.joined_now(o) for o in others))

    def _stand_together(self, *names: str) -> bool:
        return any(
            {*names} <= {*later.members} for later in self.laters if later.made_in[0] == "stack"
        )

    def _has_holes(self, files: Sequence[str]) -> bool:
        """Whether each has a joined hole that its own sheets make."""
        return all(self.joined_now(file) for file in files)

    def joined_now(self, file: str) -> tuple[str, ...]:
        """Holes of a part that its own sheets make and something goes through."""
        part, names = self.pieces[file][0].part, {member.name for member in self.pieces[file]}
        joined = {
            hole.name
            for joint in self.assembly.joints
            for place in joint.places
            if place.member in names
            for hole in place.holes
        }
        return tuple(
            h.name for h in part.holes if h.name in joined and h.name not in self.left[file]
        )

    @property
    def piece_count(self) -> int:
        return len(self.assembly.members) * self.assembly.quantity

    @property
    def hole_count(self) -> int:
        """Of all pieces."""
        holes = sum(len(member.part.holes) for member in self.assembly.members)
        return holes * self.assembly.quantity

    def pieces_of(self, visit: Visit) -> int:
        return len(visit.members) * self.assembly.quantity

    def faced_mm(self, file: str) -> float:
        """How long the pieces are that keep two members apart."""
        member = self.pieces[file][0]
        return thickness_mm(member.part, member.part.holes[0])

    def visits(self) -> Iterator[Visit]:
        """All of them, each with all that it waits for."""
        every: set[Key] = set()
        for visit in (*self._of_parts(), *self._of_laters(), *self._finishes()):
            every.add(visit.key)
            yield visit
        yield Visit(TOGETHER, tuple(m.name for m in self.assembly.members), after=frozenset(every))

    def _of_parts(self) -> Iterator[Visit]:
        for file, pieces in self.pieces.items():
            names = tuple(member.name for member in pieces)
            faced, match, drill, measure = (_key(what, file) for what in _OF_A_PART)
            waits: set[Key] = set()
            if self._is_faced(file):
                waits.add(faced)
                yield Visit(faced, names, file)
            if file in self.mates:
                mate = self.mates[file]
                waits.add(match)
                after = frozenset({_key("measure", mate.file)})
                yield Visit(match, names, file, self.joined_now(file), after=after, mate=mate)
            left = self.left[file]
            now = tuple(hole.name for hole in pieces[0].part.holes if hole.name not in left)
            if now or any(leave != "undrilled" for _, leave in left.values()):
                yield Visit(drill, names, file, now, left, frozenset(waits), self.mates.get(file))
            if any(mate.file == file for mate in self.mates.values()):
                after = frozenset({drill})
                yield Visit(measure, names, file, self._measured(file), after=after)

    def _is_faced(self, file: str) -> bool:
        """Whether several pieces of it keep two members of a stack apart: they are faced alike."""
        names = [member.name for member in self.pieces[file]]
        return any(
            len({*names} & {*later.members}) > 1
            and not {*names} & {place.member for place in later.places}
            for later in self.laters
            if later.made_in[0] == "stack"
        )

    def _finishes(self) -> Iterator[Visit]:
        """What was carried over into a part is finished in its own sheets, pattern by pattern."""
        for file, pieces in self.pieces.items():
            names = tuple(member.name for member in pieces)
            holes: dict[Key, list[str]] = {}
            for hole in pieces[0].part.holes:
                key, _ = self.left[file].get(hole.name, (TOGETHER, ""))
                if key[0] == "finish":
                    holes.setdefault(key, []).append(hole.name)
            for key, here in holes.items():
                after = frozenset(one.made_in for one in self.laters if one.finished == key)
                yield Visit(key, names, file, tuple(here), after=after)

    def _of_laters(self) -> Iterator[Visit]:
        by_visit: dict[Key, list[Later]] = {}
        for later in self.laters:
            by_visit.setdefault(later.made_in, []).append(later)
        for key, all_of in by_visit.items():
            members = tuple(dict.fromkeys(name for later in all_of for name in later.members))
            holes = tuple(f"{name}: {hole}" for later in all_of for name, hole in later.holes)
            after = frozenset().union(*(later.after for later in all_of))
            after |= self._ready(key, members)
            yield Visit(key, members, holes=holes, after=after, carried=all_of[0].carried)
            if key[0] == "stack" and len(all_of) > 1:
                yield Visit(_key("measure", key[1]), members, holes=holes, after=frozenset({key}))

    def _ready(self, key: Key, members: Sequence[str]) -> frozenset[Key]:
        """What makes the members ready to be clamped together, for a stack all that joins them."""
        files = {self.assembly.member(name).file for name in members}
        own = {_key(what, file) for file in files for what in _MAKES_READY}
        inner = {
            later.finished
            for later in self.laters
            if key[0] == "stack" and key not in later.after and {*later.members} <= {*members}
        }
        return frozenset(own | {one for one in inner if one[0] == "finish"})
