"""Holes named in an assembly file: "cover: cover screw", "base: column screw 1, 3"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from millprep.base.findings import WordError
from millprep.base.records import frozen, replace
from millprep.base.units import Units, read_length, shown
from millprep.infiles.wording import UnknownWordError, accepted, folded, known_here, named
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

    def several(self, value: Any, *, may_be_loose: bool = False) -> tuple[Place, ...]:
        """One place, or those of a list that follow each other hole by hole. Raises WordError."""
        if isinstance(value, list) and value:
            return tuple(self.place(each) for each in value)
        return (self.place(value, may_be_loose=may_be_loose),)

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
    holes, match = member.part.holes, _NUMBERS.fullmatch(words)
    pattern = {h.member: h for h in holes if match and folded(h.group) == folded(match["group"])}
    whole = {folded(name) for hole in holes for name in (hole.group, hole.name)}
    if match is None or not pattern or folded(words) in whole:
        return tuple(named(holes, words, f"{member.name} has no hole"))
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


Course = tuple[Place, ...]
"""What the screws of a joint pass, one place of one member after the other."""


def hole_by_hole(given: Sequence[tuple[Place, ...]]) -> list[tuple[str, Course]]:
    """The courses of a joint's screws, with what tells them apart: one, where each place that is
    given has all the holes.

    Several places of fewer holes, in a list or one after the other, take the screws in the order
    in which they are written. Raises WordError where the numbers of holes do not agree.
    """
    count = max(sum(len(place.holes) for place in each) for each in given)
    levels = _levels(given, count)
    courses: dict[tuple[int, ...], list[int]] = {}
    owners = [[i for i, place in enumerate(level) for _ in place.holes] for level in levels]
    for number in range(count):
        way = tuple(owner[number] if owner else 0 for owner in owners)
        courses.setdefault(way, []).append(number)
    if len(courses) == 1:
        return [("", tuple(level[0] for level in levels))]
    return [
        (
            ", ".join(_told(level, i) for level, i in zip(levels, way, strict=True) if level[1:]),
            tuple(_some(level, i, numbers) for level, i in zip(levels, way, strict=True)),
        )
        for way, numbers in courses.items()
    ]


def _levels(given: Sequence[tuple[Place, ...]], count: int) -> list[tuple[Place, ...]]:
    """The places that a screw passes one after the other, each with all the holes."""
    levels: list[tuple[Place, ...]] = []
    room = 0
    for each in given:
        holes = sum(len(place.holes) for place in each)
        if each[0].is_loose or not room:
            levels.append(each)
            room = 0 if each[0].is_loose else count - holes
        else:
            levels[-1] += each
            room -= holes
        if room < 0 or (each[0].is_loose and room):
            break
    if any(sum(len(p.holes) for p in one) != count for one in levels if not one[0].is_loose):
        raise not_as_many([place for each in given for place in each if not place.is_loose])
    return levels


def not_as_many(places: Sequence[Place]) -> WordError:
    """The refusal of members whose holes are not as many."""
    listed = ", ".join(f"{place.words} has {len(place.holes)}" for place in places)
    remedy = 'name those of the joint by their numbers: "base: column screw 1, 3"'
    return WordError(f"the members do not have as many holes: {listed}", remedy)


def _told(level: tuple[Place, ...], index: int) -> str:
    """A place of a level: its member, or its holes where the member has others in it."""
    place = level[index]
    is_alone = sum(each.member == place.member for each in level) == 1
    return place.member if is_alone else place.words.partition(": ")[2]


def _some(level: tuple[Place, ...], index: int, numbers: Sequence[int]) -> Place:
    """Of one of the places of a level, the holes of those screws."""
    place = level[index]
    before = sum(len(each.holes) for each in level[:index])
    holes = tuple(place.holes[number - before] for number in numbers) if place.holes else ()
    if len(holes) == len(place.holes):
        return place
    names = [hole.name for hole in holes]
    words = [names[0], *(name.removeprefix(holes[0].group).strip() for name in names[1:])]
    return replace(place, holes=holes, words=f"{place.member}: {', '.join(words)}")


def _if_across(hole: Hole, face: Face) -> Face | None:
    return face if FACE_AXIS[face] == FACE_AXIS[hole.face] else None
