"""An assembly file: text to `Assembly`, or every fault of it at once."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Any

from millprep.base.bounds import LONGEST_NAME, MOST_HOLES
from millprep.base.findings import Finding, MillprepError, WordError
from millprep.base.records import replace
from millprep.base.units import Units, read_length, shown
from millprep.infiles.assembly_joints import read_joints, read_pairs, read_shared, refuse_same_names
from millprep.infiles.assembly_leaves import refuse_waiting
from millprep.infiles.assembly_schema import AssemblyTable, MemberTable
from millprep.infiles.assembly_stacks import read_stacks
from millprep.infiles.faults import Faults
from millprep.infiles.holes import allowed_slugs
from millprep.infiles.part_file import read_part
from millprep.infiles.text import Reader, read_document
from millprep.infiles.wording import accepted, at_key, led_by
from millprep.model.assembled import Assembly, Edge, Member
from millprep.model.part import FACES, Face, Part
from millprep.model.shop import PositionMethod

_EDGE_FORM = 'write edges = { left = "left", front = ["front", 12] }'


def read_assembly(
    path: str | Path, read: Reader = read_document
) -> tuple[Assembly, tuple[Finding, ...]]:
    """The assembly that a file describes, with what the files of its members had to say.

    read : how a file is read; a change can be tried by reading it otherwise than it stands
    Raises MillprepError with every fault of the file and of its members.
    """
    document = read(path)
    data = document.data
    faults = Faults(document, AssemblyTable)
    _refuse_part(data, faults)
    table = faults.validated(AssemblyTable, data, ())
    made_by = table.made_by if table is not None else "readout"
    members, notes = _Members(faults, read).read(data.get("members"), made_by)
    if table is None or not members:
        _raise(faults)
    assert table is not None
    assembly = Assembly(
        name=table.assembly,
        units=faults.units,
        members=tuple(members.values()),
        joints=read_joints(faults, members),
        shared=read_shared(faults, members),
        stacks=read_stacks(faults, members),
        pairs=read_pairs(faults, members),
        note=table.note,
        quantity=table.quantity,
        path=document.path,
        mark=document.mark,
    )
    refuse_waiting(faults, assembly.joints, assembly.stacks)
    refuse_same_names(faults, (*assembly.joints, *assembly.shared, *assembly.stacks))
    faults.raise_if_any()
    return assembly, (*faults.in_file_order(), *notes)


def _raise(faults: Faults) -> None:
    if not faults.are_stops:
        remedy = 'add [members] with a line for each: cover = "cover.toml"'
        faults.add("missing-key", ("members",), "the assembly has no members", remedy)
    faults.raise_if_any()


def _refuse_part(data: dict[str, Any], faults: Faults) -> None:
    """A part file handed over as an assembly gets one message, not one for each of its keys."""
    if "members" not in data and ("stock" in data or "opposite_hand_of" in data):
        remedy = (
            "millprep check judges a part; new --kind assembly writes an assembly to begin with"
        )
        faults.add("contradiction", (), "this is a part file, not an assembly", remedy)
        faults.raise_if_any()


class _Members:
    """Reads the members, each part file once."""

    def __init__(self, faults: Faults, read: Reader) -> None:
        self.faults, self.read_document = faults, read
        self.folder = Path(faults.document.path).parent
        self.parts: dict[Path, Part | None] = {}
        self.notes: list[Finding] = []
        self.findings: list[Finding] = []
        self._holes = 0

    def read(self, raw: Any, made_by: PositionMethod) -> tuple[dict[str, Member], list[Finding]]:
        if raw is not None and not isinstance(raw, dict):
            remedy = 'write [members] and below it a line for each: cover = "cover.toml"'
            self.faults.add("bad-value", ("members",), f"members is {shown(raw)}", remedy)
        raw = raw if isinstance(raw, dict) else {}
        made = {name: self._member(name, value, made_by) for name, value in raw.items()}
        members: dict[str, Member] = {}
        for name, member in made.items():
            if member is not None and self._is_free(name, member, members):
                members[member.name] = member
        known = {" ".join(name.split()).casefold(): " ".join(name.split()) for name in raw}
        for name, member in members.items():
            on = None if member.on is None else known.get(member.on.casefold(), member.on)
            members[name] = replace(member, on=on)
            self._refuse_lost(members[name], known.values())
        self.faults.findings.extend(self.findings)
        if made:
            self.faults.raise_if_any()
        return members, self.notes

    def _is_free(self, name: str, member: Member, members: dict[str, Member]) -> bool:
        """Whether no other member has the name; capitals and blanks make no difference."""
        other = next((m for m in members if m.casefold() == member.name.casefold()), None)
        if other is not None:
            remedy = "give each its own name; capitals make no difference"
            message = f'"{other}" is a member already'
            self.faults.add("duplicate-name", ("members", name), message, remedy)
        return other is None

    def _member(self, name: str, value: Any, made_by: PositionMethod) -> Member | None:
        path = ("members", name)
        words = " ".join(name.split())
        with self.faults.noting(path, "bad-value"):
            if not words or ":" in name or len(words) > LONGEST_NAME:
                remedy = f"give up to {LONGEST_NAME} letters without a colon"
                raise WordError("its name cannot be used", remedy)
            data = {"part": value} if isinstance(value, str) else value
            table = self.faults.validated(MemberTable, data, path)
            part = self._part(name, table.part) if table is not None else None
            if table is None or part is None:
                return None
            with at_key("on"):
                on, on_face = _lies_on(table.on)
            with at_key("edges"):
                edges = tuple(_edges(table.edges, self.faults.units))
            with at_key("allow"):
                allow = allowed_slugs(table.allow)
            return Member(
                words,
                table.part,
                part,
                table.made_by or made_by,
                table.face,
                on,
                on_face,
                edges,
                self.faults.line(path),
                allow,
            )
        return None

    def _part(self, name: str, file: str) -> Part | None:
        path = self.folder / file
        if path in self.parts:
            return self.parts[path]
        self.parts[path] = None
        if self._holes > MOST_HOLES:
            return None
        try:
            part, notes = read_part(path, self.read_document)
            self._count(name, part)
            self.parts[path] = part
            self.notes += [each for each in notes if each.severity != "note"]
        except MillprepError as error:
            self.faults.add(
                "unreadable-file",
                ("members", name),
                "its part file cannot be read",
                "give its path from this file's folder"
                if not path.is_file()
                else f"mend {path.name}: what is wrong with it is said with its line",
            )
            self.findings += [each for each in error.findings if each not in self.findings]
        return self.parts[path]

    def _count(self, name: str, part: Part) -> None:
        """The holes of all members together; once there are too many no more files are read."""
        self._holes += len(part.holes)
        if self._holes > MOST_HOLES:
            message = f"the members have more than {MOST_HOLES:,} holes"
            remedy = f"at most {MOST_HOLES:,} in all: judge some of the members at a time"
            self.faults.add("bad-value", ("members", name), message, remedy)

    def _refuse_lost(self, member: Member, members: Collection[str]) -> None:
        """What `face`, `on` and `edges` name is there, and they are given together."""
        path = ("members", member.name)
        if member.on is None:
            for key in ("face", "edges"):
                if getattr(member, key):
                    remedy = 'say what it sits on: on = "base: top"'
                    self.faults.add("missing-key", (*path, key), f"{key} without on", remedy)
        elif member.on not in members or member.on == member.name:
            others = [name for name in members if name != member.name]
            message = f"on: there is no other member {shown(member.on)}"
            remedy = accepted(others, member.on)
            self.faults.add("unknown-word", (*path, "on"), message, remedy)


def _lies_on(words: str | None) -> tuple[str | None, Face | None]:
    if words is None:
        return None, None
    member, colon, face = words.rpartition(":")
    if not colon:
        raise WordError(f"{shown(words)} does not name a face", 'write on = "base: top"')
    return " ".join(member.split()), _face(face.strip())


def _face(word: object) -> Face:
    text = word.strip().lower() if isinstance(word, str) else ""
    for face in FACES:
        if face == text:
            return face
    raise WordError(f"{shown(word)} is no face", accepted(FACES, text))


def _edges(value: Any, units: Units) -> Iterator[Edge]:
    """{ left = "left", front = ["front", 12] }: this member's face, the other's, how far apart."""
    if value is None:
        return
    if not isinstance(value, dict) or not value:
        raise WordError(f"{shown(value)} is no table of faces", _EDGE_FORM)
    for name, other in value.items():
        pair = [other, 0] if isinstance(other, str) else other
        with led_by(name):
            if not isinstance(pair, list) or len(pair) != 2:
                raise WordError(f"{shown(other)} is no face and distance", _EDGE_FORM)
            distance, other_face = float(read_length(pair[1], units)), _face(pair[0])
        yield Edge(_face(name), other_face, distance)
