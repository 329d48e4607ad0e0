"""What an assembly asks of the order of its job: whose holes are made where, and how they are left.

Imports the assembly and `reading`; never what put the steps in order.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import PurePath

from millprep.base.records import frozen
from millprep.model.assembled import Assembly, Carried, ScrewJoint
from millprep.model.part import Part
from millprep.reading.pages.printed import UnreadableSheet
from millprep.reading.pages.sheet import ReadSheet
from millprep.witness.assembly_joints import Shows
from millprep.witness.compared import Report

Owner = tuple[str, str]
"""A part file and one of its holes."""
_SHEETS = {"dials": "dials", "program": "program", "rule": "markout", "height gauge": "markout"}


@frozen
class JobAsked(Report):
    """An assembly as its route should have it. shows : words in the letters that the form has"""

    sheet: ReadSheet
    assembly: Assembly
    shows: Shows

    @cached_property
    def parts(self) -> dict[str, Part]:
        return {member.file: member.part for member in self.assembly.members}

    @cached_property
    def pieces(self) -> Mapping[str, list[str]]:
        """Names of the members that are made to each file, as they are shown."""
        return {
            file: [self.shows(m.name) for m in self.assembly.members if m.file == file]
            for file in self.parts
        }

    def file_of(self, member: str) -> str:
        """Raises UnreadableSheet for a member that there is not."""
        for file, names in self.pieces.items():
            if member in names:
                return file
        raise UnreadableSheet(f"there is no member {member}")

    def owners_of(self, file: str, name: str) -> Iterator[Owner]:
        """A hole of a part, or all of a pattern of that name."""
        holes = self.parts[file].holes
        called = [hole.name for hole in holes if self.shows(hole.name) == name]
        called = called or [hole.name for hole in holes if self.shows(hole.group) == name]
        yield from ((file, one) for one in called or [name])

    def owner(self, words: str) -> Owner:
        """Of "member: hole"."""
        return self.owners.get(words, ("", words))

    @cached_property
    def owners(self) -> dict[str, Owner]:
        return {
            self.shows(f"{member.name}: {hole.name}"): (member.file, hole.name)
            for member in self.assembly.members
            for hole in member.part.holes
        }

    @cached_property
    def stacks(self) -> dict[str, tuple[set[str], set[Owner]]]:
        """The files of the members of each stack, and its holes."""
        stacks: dict[str, tuple[set[str], set[Owner]]] = {}
        for stack in self.assembly.stacks:
            files, owners = stacks.setdefault(self.shows(stack.stack or stack.name), (set(), set()))
            names = {*stack.members, *(place.member for place in stack.places)}
            files |= {self.assembly.member(name).file for name in names}
            owners |= {
                (self.assembly.member(place.member).file, hole.name)
                for place in stack.places
                for hole in place.holes
            }
        return stacks

    @cached_property
    def carries(self) -> dict[str, tuple[Carried, set[str], set[Owner]]]:
        """Of each table of the file that carries holes over: how, the files, and the holes."""
        carries: dict[str, tuple[Carried, set[str], set[Owner]]] = {}
        for joint in self.assembly.joints:
            if joint.carried is None:
                continue
            name = (joint.table if isinstance(joint, ScrewJoint) else "") or joint.name
            _, files, owners = carries.setdefault(self.shows(name), (joint.carried, set(), set()))
            for place in joint.places:
                if not place.is_loose:
                    file = self.assembly.member(place.member).file
                    files.add(file)
                    is_there = place.member == joint.carried.source
                    owners |= set() if is_there else {(file, hole.name) for hole in place.holes}
        return carries

    def leave_of(self, owner: Owner) -> str | None:
        for stack in self.assembly.stacks:
            for place in stack.places:
                file = self.assembly.member(place.member).file
                if owner in {(file, hole.name) for hole in place.holes}:
                    return dict(stack.leave).get(place.member, "undrilled")
        for carried, _, owners in self.carries.values():
            for member in self.assembly.members:
                if owner in owners and owner[0] == member.file != carried.source:
                    return dict(carried.leave).get(member.name, "undrilled")
        return None

    def path(self, file: str) -> str:
        return (PurePath(self.assembly.path).parent / file).as_posix()

    def readings(self, file: str) -> str:
        return self.path(PurePath(file).with_suffix(".csv").as_posix())

    def verb(self, name: str) -> str:
        """The sheet by which a member, or the members of a file, are made."""
        first = next(one for one in self.assembly.members if name in (one.name, one.file))
        return _SHEETS.get(first.made_by, "listing")
