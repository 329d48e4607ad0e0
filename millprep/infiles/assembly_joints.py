"""Joints, shared patterns, stacks and handed pairs of an assembly file.

Each fault is noted at its key, and the joint left out. Imports layers 0 to 2.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Protocol, TypeVar

from millprep.base.findings import Finding, WordError
from millprep.base.units import Units, shown
from millprep.infiles.assembly_places import Places, settled
from millprep.infiles.assembly_schema import JointTable, PairTable, SharedTable, StackTable
from millprep.infiles.fasteners import DOWEL_CLASS, FastenerWords, read_fastener, read_pin
from millprep.infiles.faults import Faults
from millprep.infiles.fields import Table
from millprep.infiles.holes import allowed_slugs
from millprep.infiles.positions import Path
from millprep.infiles.wording import UnknownWordError, accepted, prefixed
from millprep.model.assembled import (
    HOW_PINNED,
    HowPinned,
    Member,
    Pair,
    PinJoint,
    Place,
    ScrewJoint,
    Shared,
    Stack,
)
from millprep.reference.fits import shaft_limits_um
from millprep.reference.heads import nut_for, washer_for

_Kind = TypeVar("_Kind", bound=Table)
Members = dict[str, Member]
SAME_PLACE_MM = 0.05
"""How closely a shared pattern agrees where the file does not say: readout to readout."""
_ONE_OF = 'give exactly one of screw = "M5 x 12 socket head", stud = "M4 x 90", pin = "4 mm dowel"'
_SCREW_KEYS = ("through", "into", "nut", "washers", "nut_washers", "may_come_out")
_PIN_KEYS = (*HOW_PINNED, "measured")


def read_joints(
    faults: Faults, units: Units, members: Members, raw: list[Any]
) -> tuple[ScrewJoint | PinJoint, ...]:
    """Every joint without a fault."""
    joints: list[ScrewJoint | PinJoint] = []
    for index, path, table in _tables(faults, units, "joint", JointTable, raw):
        reader = _JointReader(table, Places(members, units), faults.document.positions.line(path))
        try:
            joint = reader.read(f"joint {index + 1}")
            _refuse_counts(joint.places)
        except WordError as error:
            _note(faults, path, reader.key, error, table.name)
            continue
        joints.append(joint)
    _refuse_twice(faults, joints)
    return tuple(joints)


def _note(faults: Faults, path: Path, key: str, error: WordError, name: str | None = None) -> None:
    kind = "unknown-word" if isinstance(error, UnknownWordError) else "contradiction"
    error = prefixed(error, key) if key and not error.message.startswith(f"{key}: ") else error
    at = (*path, key) if key else path
    faults.add(kind, at, error.message, error.remedy, hole=None if name is None else name)


class _JointReader:
    """Reads one joint; `key` is where it was when a fault was found."""

    def __init__(self, table: JointTable, places: Places, line: int | None) -> None:
        self.table, self.places, self.line, self.key = table, places, line, ""

    def read(self, by_default: str) -> ScrewJoint | PinJoint:
        table = self.table
        given = table.given("screw", "stud", "pin")
        if len(given) != 1:
            what = " and ".join(given) + " are given" if given else "it does not say what holds it"
            raise WordError(what, _ONE_OF)
        wrong = table.given(*(_SCREW_KEYS if given[0] == "pin" else _PIN_KEYS))
        if wrong:
            self.key = wrong[0]
            raise WordError(
                f"not for a {given[0]}",
                f"a pin has {', '.join(_PIN_KEYS)}; a screw has {', '.join(_SCREW_KEYS)}",
            )
        self.key = "allow"
        allow = allowed_slugs(table.allow)
        if given[0] == "pin":
            return self._pin(by_default, allow)
        return self._screw(by_default, allow)

    def _screw(self, by_default: str, allow: tuple[str, ...]) -> ScrewJoint:
        table = self.table
        is_stud = table.stud is not None
        self.key = "stud" if is_stud else "screw"
        words: FastenerWords = read_fastener(table.stud if is_stud else table.screw, is_stud)
        self.key = "through"
        through = tuple(self.places.place(each, may_be_loose=True) for each in table.through)
        into = None
        if table.into is not None:
            self.key = "into"
            into = self.places.place(table.into)
        self._refuse_ends(through, into, is_stud)
        self._refuse_unlisted(words)
        places = settled((*through, *([into] if into else [])), self.places.members)
        through, into = places[: len(through)], places[-1] if into else None
        return ScrewJoint(
            table.name or by_default,
            through,
            into,
            words.thread,
            words.length_mm,
            words.kind,
            table.washers,
            table.nut_washers,
            table.may_come_out,
            allow,
            words.words,
            self.line,
        )

    def _refuse_ends(self, through: tuple[Place, ...], into: Place | None, is_stud: bool) -> None:
        self.key = ""
        holes = [place for place in through if not place.is_loose]
        if is_stud:
            if into is not None or self.table.nut:
                raise WordError(
                    "a stud has a nut on both ends",
                    "leave into and nut out, and list in through what it passes",
                )
        elif (into is None) == (not self.table.nut):
            raise WordError(
                "a screw ends in a thread or in a nut",
                'give one of the two: into = "base: foot screw", or nut = true',
            )
        if into is None and not holes:
            raise WordError("it passes nothing", 'give through = "cover: cover screw"')
        if into is not None and any(hole.thread is None for hole in into.holes):
            self.key = "into"
            raise WordError(f"{into.words} is not tapped", "name tapped holes, or give nut = true")

    def _refuse_unlisted(self, words: FastenerWords) -> None:
        """Nuts and washers have a height only where a table has it."""
        nut = nut_for(words.thread)
        if (self.table.nut or words.kind is None) and (nut is None or nut.height_mm is None):
            raise UnknownWordError(f"no table has the height of a nut for {words.thread.name}")
        for key in ("washers", "nut_washers"):
            if getattr(self.table, key) and washer_for(words.thread) is None:
                self.key = key
                raise UnknownWordError(
                    f"no table has a washer for {words.thread.name}",
                    "give its thickness as a loose piece in through",
                )

    def _pin(self, by_default: str, allow: tuple[str, ...]) -> PinJoint:
        table = self.table
        self.key = "pin"
        diameter, shaft = read_pin(table.pin, self.places.units)
        if shaft is not None:
            shaft_limits_um(diameter, shaft)  # refuses a size that the tables do not have
        measured = {
            " ".join(key.split()).casefold(): value for key, value in table.measured.items()
        }
        pin_mm = measured.pop("pin", None)
        if pin_mm is not None:
            self.key = "measured"
            shaft_limits_um(pin_mm, DOWEL_CLASS)
            self.key = "pin"
        if shaft is None and pin_mm is None:
            raise WordError(
                f"{shown(table.pin)} has no class and is not measured",
                'write "5 mm f7" or "4 mm dowel", or measured = { pin = 4.99 }',
            )
        held: list[tuple[HowPinned, Place]] = []
        for how in HOW_PINNED:
            self.key = how
            held += [(how, self.places.place(each)) for each in getattr(table, how)]
        self.key = ""
        if not held:
            raise WordError("the pin sits in nothing", f"give one of {', '.join(HOW_PINNED)}")
        by_words = [measured.pop(place.words.casefold(), None) for _, place in held]
        if measured:
            self.key = "measured"
            raise UnknownWordError(
                f"{shown(next(iter(measured)))} is not of this joint",
                accepted(["pin", *(place.words for _, place in held)]),
            )
        return PinJoint(
            table.name or by_default,
            diameter,
            shaft,
            pin_mm,
            tuple(held),
            tuple(by_words),
            allow,
            str(table.pin),
            self.line,
        )


def _refuse_counts(places: Sequence[Place]) -> None:
    """All members of a joint have as many holes."""
    holes = [place for place in places if not place.is_loose]
    counts = {len(place.holes) for place in holes}
    if len(counts) > 1:
        listed = ", ".join(f"{place.words} has {len(place.holes)}" for place in holes)
        raise WordError(
            f"the members do not have as many holes: {listed}",
            'name those of the joint by their numbers: "base: column screw 1, 3"',
        )


def _refuse_twice(faults: Faults, joints: list[ScrewJoint | PinJoint]) -> None:
    """A hole holds one screw or pin."""
    taken: dict[tuple[str, str], ScrewJoint | PinJoint] = {}
    for joint in joints:
        for place in joint.places:
            for hole in place.holes:
                other = taken.get((place.member, hole.name))
                taken[place.member, hole.name] = joint
                if other is not None:
                    by = "it" if other is joint else other.name
                    message = f"{joint.name}: {place.member}: {hole.name} is taken by {by} already"
                    faults.findings.append(
                        Finding(
                            "stop",
                            "contradiction",
                            message,
                            "each hole holds one screw or pin",
                            file=faults.document.path,
                            line=joint.line,
                        )
                    )
                    return


class Named(Protocol):
    """A joint, a shared pattern or a stack."""

    @property
    def name(self) -> str: ...

    @property
    def line(self) -> int | None: ...


def refuse_same_names(faults: Faults, named: Sequence[Named]) -> None:
    """A name is one table's: messages, changes and the report know it by that."""
    lines: dict[str, int | None] = {}
    for each in named:
        if each.name.casefold() in lines:
            faults.findings.append(
                Finding(
                    "stop",
                    "duplicate-name",
                    f'"{each.name}" is in line {lines[each.name.casefold()]} already',
                    "give each its own name; capitals make no difference",
                    file=faults.document.path,
                    line=each.line,
                )
            )
        lines.setdefault(each.name.casefold(), each.line)


def _tables(
    faults: Faults, units: Units, key: str, kind: type[_Kind], raw: list[Any]
) -> Iterator[tuple[int, Path, _Kind]]:
    """(number from 0, place, table) of those that have the right shape."""
    for index, data in enumerate(raw):
        path: Path = (key, index)
        table = faults.validated(kind, data, path, {"units": units})
        if table is not None:
            yield index, path, table


def read_shared(
    faults: Faults, units: Units, members: Members, raw: list[Any]
) -> tuple[Shared, ...]:
    """Patterns that lie over each other."""
    found: list[Shared] = []
    for index, path, table in _tables(faults, units, "shared", SharedTable, raw):
        try:
            places = _two_or_more(Places(members, units), table.holes)
            allow = allowed_slugs(table.allow)
        except WordError as error:
            _note(faults, path, "holes", error, table.name)
            continue
        within = SAME_PLACE_MM if table.within is None else table.within
        line = faults.document.positions.line(path)
        found.append(
            Shared(table.name or f"shared pattern {index + 1}", places, within, allow, line)
        )
    return tuple(found)


def read_stacks(
    faults: Faults, units: Units, members: Members, raw: list[Any]
) -> tuple[Stack, ...]:
    """Holes that are reamed in one go."""
    found: list[Stack] = []
    for index, path, table in _tables(faults, units, "reamed_together", StackTable, raw):
        try:
            places = _two_or_more(Places(members, units), table.holes)
            for place in places:
                if any(not hole.kind.is_reamed for hole in place.holes):
                    raise WordError(f"{place.words} is not reamed", "name holes to ream")
            allow = allowed_slugs(table.allow)
        except WordError as error:
            _note(faults, path, "holes", error, table.name)
            continue
        line = faults.document.positions.line(path)
        found.append(Stack(table.name or f"stack {index + 1}", places, allow, line))
    return tuple(found)


def _two_or_more(places: Places, raw: Sequence[Any]) -> tuple[Place, ...]:
    found = tuple(places.place(each) for each in raw)
    if len(found) < 2:
        raise WordError("one set of holes alone", "name those of two members or more")
    _refuse_counts(found)
    return found


def read_pairs(faults: Faults, units: Units, members: Members, raw: list[Any]) -> tuple[Pair, ...]:
    """Members that are each other's opposite hand."""
    by_name = {name.casefold(): member.name for name, member in members.items()}
    found: list[Pair] = []
    for _, path, table in _tables(faults, units, "handed_pair", PairTable, raw):
        names = [by_name.get(name.casefold()) for name in table.members]
        lost = [name for name in table.members if name.casefold() not in by_name]
        try:
            if lost:
                raise UnknownWordError(
                    f"there is no member {shown(lost[0])}", accepted(list(members), lost[0])
                )
            if len(names) != 2 or names[0] == names[1]:
                raise WordError("a pair is two members", 'write members = ["left", "right"]')
            allow = allowed_slugs(table.allow)
        except WordError as error:
            _note(faults, path, "members", error)
            continue
        first, second = names
        assert first is not None and second is not None
        found.append(Pair((first, second), allow, faults.document.positions.line(path)))
    return tuple(found)
