"""Holes named in an assembly file: "cover: cover screw", "base: column screw 1, 3".

Imports layers 0 to 2.
"""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

from millprep.base.findings import WordError
from millprep.base.records import frozen, replace
from millprep.base.units import Units, read_length, shown
from millprep.infiles.wording import UnknownWordError, accepted, known_here
from millprep.model.assembled import Member, Place
from millprep.model.part import FACE_AXIS, FACES, OPPOSITE, Face, Hole
from millprep.reference.fits import ACCEPTED_SHAFTS, SHAFT_CLASSES

FORM = 'write "cover: cover screw", the member and its hole or pattern'
_KEYS = ("holes", "face", "pin")
_NUMBERS = re.compile(r"(?P<group>.*?)(?P<numbers>(?:\s+|\s*,\s*)\d+(?:\s*,\s*\d+)*)")


@frozen
class Places:
    """Finds holes by the words of an assembly file."""

    members: dict[str, Member]
    units: Units

    def place(self, value: Any, *, may_be_loose: bool = False) -> Place:
        """The holes that a value names, or a loose piece. Raises WordError."""
        face: Face | None = None
        shaft: str | None = None
        if isinstance(value, dict):
            value, face, shaft = self._table(value)
        if may_be_loose and (not isinstance(value, str) or ":" not in value):
            return self._loose(value)
        if not isinstance(value, str) or ":" not in value:
            raise WordError(f"{shown(value)} does not name holes of a member", FORM)
        name, _, hole = value.partition(":")
        member = self._member(name)
        holes = _holes(member, " ".join(hole.split()))
        if face is not None:
            refuse_face(holes[0], face)
        return Place(
            f"{member.name}: {' '.join(hole.split())}", member.name, holes, face, None, shaft
        )

    def _table(self, value: dict[str, Any]) -> tuple[Any, Face | None, str | None]:
        unknown = [key for key in value if key not in _KEYS]
        if unknown:
            remedy = known_here(_KEYS, "")
            raise UnknownWordError(f"the key {shown(unknown[0])} is not known", remedy)
        face = value.get("face")
        known = next((each for each in FACES if each == face), None)
        if face is not None and known is None:
            raise UnknownWordError(f"{shown(face)} is no face", accepted(FACES, str(face)))
        shaft = value.get("pin")
        if shaft is not None and shaft not in SHAFT_CLASSES:
            raise UnknownWordError(f"{shown(shaft)} is no class of a shaft", ACCEPTED_SHAFTS)
        return value.get("holes"), known, shaft

    def _loose(self, value: Any) -> Place:
        try:
            thickness = float(read_length(value, self.units))
        except WordError:
            raise WordError(
                f"{shown(value)} is neither holes of a member nor a thickness",
                f"{FORM}, or the thickness of a loose piece: 18",
            ) from None
        if thickness <= 0:
            raise WordError(f"{shown(value)} is not above 0", "give the thickness of the piece")
        return Place(f"loose piece {thickness:g} mm", loose_mm=thickness)

    def _member(self, words: str) -> Member:
        name = " ".join(words.split())
        for member in self.members.values():
            if member.name.casefold() == name.casefold():
                return member
        raise UnknownWordError(
            f"there is no member {shown(name)}", accepted(list(self.members), name)
        )


def _holes(member: Member, words: str) -> tuple[Hole, ...]:
    """The holes of that name: a pattern, one of its holes, or some by their numbers."""
    name = words.casefold()
    whole = [h for h in member.part.holes if name in (h.group.casefold(), h.name.casefold())]
    if whole:
        return tuple(whole)
    match = _NUMBERS.fullmatch(words)
    group = match["group"].casefold().strip() if match else ""
    pattern = {h.member: h for h in member.part.holes if h.group.casefold() == group}
    if match is None or not pattern:
        groups = list(dict.fromkeys(hole.group for hole in member.part.holes))
        raise UnknownWordError(
            f"{member.name} has no hole {shown(words)}", accepted(groups[:12], words)
        )
    numbers = [int(number) for number in re.findall(r"\d+", match["numbers"])]
    missing = [number for number in numbers if number not in pattern]
    if missing or len(set(numbers)) < len(numbers):
        there = ", ".join(str(number) for number in pattern if number is not None)
        what = f"{missing[0]} is not there" if missing else "a number stands twice"
        raise UnknownWordError(
            f"{member.name}: {match['group'].strip()}: {what}", f"its numbers: {there}"
        )
    return tuple(pattern[number] for number in numbers)


def refuse_face(hole: Hole, face: Face) -> None:
    """Raises WordError for a face that is at neither end of the hole."""
    if FACE_AXIS[face] != FACE_AXIS[hole.face]:
        raise WordError(
            f"{hole.name} does not come out on {face}",
            f"it runs from {hole.face}: leave face out, or name one of its two ends",
        )


def settled(places: tuple[Place, ...], members: dict[str, Member]) -> tuple[Place, ...]:
    """The places of a screw with the faces that it enters by, where `face` and `on` say them."""
    faces = [place.face for place in places]
    solid = [index for index, place in enumerate(places) if not place.is_loose]
    for one, other in pairwise(solid):
        first, second = members[places[one].member], members[places[other].member]
        if first.on == second.name:
            left_by, entered = first.face, first.on_face
        elif second.on == first.name:
            left_by, entered = second.on_face, second.face
        else:
            continue
        if faces[one] is None and left_by is not None:
            faces[one] = _if_across(places[one].holes[0], OPPOSITE[left_by])
        if faces[other] is None and entered is not None:
            faces[other] = _if_across(places[other].holes[0], entered)
    return tuple(replace(place, face=face) for place, face in zip(places, faces, strict=True))


def _if_across(hole: Hole, face: Face) -> Face | None:
    return face if FACE_AXIS[face] == FACE_AXIS[hole.face] else None
