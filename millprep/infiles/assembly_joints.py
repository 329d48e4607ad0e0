"""Joints, shared patterns and handed pairs of an assembly file.

Each fault is noted at its key, and the joint left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

from millprep.base.findings import WordError
from millprep.base.records import replace
from millprep.base.units import shown
from millprep.infiles.assembly_leaves import carried_of, known
from millprep.infiles.assembly_places import Places, hole_by_hole, not_as_many, settled
from millprep.infiles.assembly_schema import JointTable, PairTable, SharedTable, StackTable
from millprep.infiles.fasteners import DOWEL_CLASS, FastenerWords, read_fastener, read_pin
from millprep.infiles.faults import Faults
from millprep.infiles.holes import allowed_slugs
from millprep.infiles.part_schema import SetupTable
from millprep.infiles.setup_tables import setup_request
from millprep.infiles.wording import UnknownWordError, accepted, at_key, folded, given_words, named
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
from millprep.model.part import SetupRequest
from millprep.reference.fits import shaft_limits_um
from millprep.reference.heads import nut_for, washer_for

Members = dict[str, Member]
Joint = ScrewJoint | PinJoint
_Holes = TypeVar("_Holes", SharedTable, StackTable)
SAME_PLACE_MM = 0.05
"""How closely a shared pattern agrees where the file does not say: readout to readout."""
_ONE_OF = 'give exactly one of screw = "M5 x 12 socket head", stud = "M4 x 90", pin = "4 mm dowel"'
_SCREW_KEYS = ("through", "into", "nut", "washers", "nut_washers", "may_come_out")
_PIN_KEYS = (*HOW_PINNED, "measured", "length", "swing")


def read_joints(faults: Faults, members: Members) -> tuple[Joint, ...]:
    """Every joint without a fault."""
    joints: list[Joint] = []
    places = Places(members, faults.units)
    for index, path, table in faults.all_validated("joint", JointTable):
        with faults.noting(path, hole=table.name):
            name = table.name or f"joint {index + 1}"
            made = _joint(table, places, name, faults.line(path))
            if table.setup is not None:
                made = _set_up(made, setup_request(faults, (*path, "setup"), _told(table.setup)))
            joints += made
    _refuse_twice(faults, joints)
    return tuple(joints)


def _told(setup: SetupTable) -> SetupTable:
    """What is said of the setting. Raises WordError for holes: all are carried over in one."""
    if setup.holes:
        with at_key("setup"):
            raise WordError("holes: one setting has all of them", "leave holes out", ("holes",))
    return setup


def _set_up(joints: Sequence[Joint], request: SetupRequest) -> Sequence[Joint]:
    return [
        joint
        if joint.carried is None
        else replace(joint, carried=replace(joint.carried, setup=request))
        for joint in joints
    ]


def _joint(table: JointTable, places: Places, name: str, line: int | None) -> Sequence[Joint]:
    """The joint; several where its holes are those of several members, hole by hole."""
    given = table.given("screw", "stud", "pin")
    if len(given) != 1:
        raise WordError(given_words(given, "it does not say what holds it"), _ONE_OF)
    wrong = table.given(*(_SCREW_KEYS if given[0] == "pin" else _PIN_KEYS))
    if wrong:
        remedy = f"a pin has {', '.join(_PIN_KEYS)}; a screw has {', '.join(_SCREW_KEYS)}"
        raise WordError(f"{wrong[0]}: not for a {given[0]}", remedy, (wrong[0],))
    with at_key("allow"):
        allow = allowed_slugs(table.allow)
    if given[0] == "pin":
        pin = _pin(table, places, name, allow, line)
        _refuse_counts(pin.places)
        return [replace(pin, carried=carried_of(table, [pin.places]))]
    with at_key(given[0]):
        words = read_fastener(getattr(table, given[0]), given[0] == "stud")
    with at_key("through"):
        through = [places.several(each, may_be_loose=True) for each in table.through]
    with at_key("into"):
        into = places.several(list(table.into)) if table.into else ()
    _refuse_ends(table, through, into)
    _refuse_unlisted(table, words)
    courses = hole_by_hole([*through, *([into] if into else [])])
    carried = carried_of(table, [course for _, course in courses])
    made = []
    for also, course in courses:
        found = settled(course, places.members)
        made.append(
            ScrewJoint(
                f"{name}, {also}" if also else name,
                found[:-1] if into else found,
                found[-1] if into else None,
                words.thread,
                words.length_mm,
                words.kind,
                table.washers,
                table.nut_washers,
                table.may_come_out,
                allow,
                words.words,
                line,
                name,
                carried,
            )
        )
    return made


def _refuse_ends(
    table: JointTable, through: Sequence[tuple[Place, ...]], into: tuple[Place, ...]
) -> None:
    if table.stud is not None:
        if into or table.nut:
            raise WordError(
                "a stud has a nut on both ends",
                "leave into and nut out, and list in through what it passes",
            )
    elif bool(into) == table.nut:
        raise WordError(
            "a screw ends in a thread or in a nut",
            'give one of the two: into = "base: foot screw", or nut = true',
        )
    if not into and all(place.is_loose for each in through for place in each):
        raise WordError("it passes nothing", 'give through = "cover: cover screw"')
    for place in into:
        if any(hole.thread is None for hole in place.holes):
            remedy = "name tapped holes, or give nut = true"
            raise WordError(f"into: {place.words} is not tapped", remedy, ("into",))


def _refuse_unlisted(table: JointTable, words: FastenerWords) -> None:
    """Nuts and washers have a height only where a table has it."""
    nut = nut_for(words.thread)
    if (table.nut or words.kind is None) and (nut is None or nut.height_mm is None):
        raise UnknownWordError(f"no table has the height of a nut for {words.thread.name}")
    for key in ("washers", "nut_washers"):
        if getattr(table, key) and washer_for(words.thread) is None:
            message = f"{key}: no table has a washer for {words.thread.name}"
            remedy = "give its thickness as a loose piece in through"
            raise UnknownWordError(message, remedy, (key,))


def _pin(
    table: JointTable, places: Places, name: str, allow: tuple[str, ...], line: int | None
) -> PinJoint:
    with at_key("pin"):
        diameter, shaft = read_pin(table.pin, places.units)
        if shaft is not None:
            shaft_limits_um(diameter, shaft)  # refuses a size that the tables do not have
    measured = {folded(key): value for key, value in table.measured.items()}
    pin_mm = measured.pop("pin", None)
    with at_key("measured"):
        if pin_mm is not None:
            shaft_limits_um(pin_mm, DOWEL_CLASS)
    with at_key("pin"):
        if shaft is None and pin_mm is None:
            raise WordError(
                f"{shown(table.pin)} has no class and is not measured",
                'write "5 mm f7" or "4 mm dowel", or measured = { pin = 4.99 }',
            )
    held: list[tuple[HowPinned, Place]] = []
    for how in HOW_PINNED:
        with at_key(how):
            held += [(how, places.place(each)) for each in getattr(table, how)]
    if not held:
        raise WordError("the pin sits in nothing", f"give one of {', '.join(HOW_PINNED)}")
    by_words = tuple(measured.pop(place.words.casefold(), None) for _, place in held)
    if measured:
        message = f"measured: {shown(next(iter(measured)))} is not of this joint"
        remedy = accepted(["pin", *(place.words for _, place in held)])
        raise UnknownWordError(message, remedy, ("measured",))
    words = str(table.pin)
    return PinJoint(
        name,
        diameter,
        shaft,
        pin_mm,
        tuple(held),
        by_words,
        allow,
        words,
        line,
        table.length,
        table.swing,
    )


def _refuse_counts(places: Sequence[Place]) -> None:
    """All members of a joint have as many holes."""
    holes = [place for place in places if not place.is_loose]
    if len({len(place.holes) for place in holes}) > 1:
        raise not_as_many(holes)


def _refuse_twice(faults: Faults, joints: list[Joint]) -> None:
    """A hole holds one screw or pin."""
    taken: dict[tuple[str, str], Joint] = {}
    for joint in joints:
        for place in joint.places:
            for hole in place.holes:
                other = taken.get((place.member, hole.name))
                if other is not None:
                    by = "it" if other is joint else other.name
                    message = f"{joint.name}: {place.member}: {hole.name} is taken by {by} already"
                    remedy = "each hole holds one screw or pin"
                    faults.stop_at("contradiction", joint.line, message, remedy)
                    return
                taken[place.member, hole.name] = joint


def refuse_same_names(faults: Faults, named: Sequence[Joint | Shared | Stack]) -> None:
    """A name is one table's: messages, changes and the report know it by that."""
    lines: dict[str, int | None] = {}
    for each in named:
        name = each.name.casefold()
        if name in lines:
            message = f'"{each.name}" is in line {lines[name]} already'
            remedy = "give each its own name; capitals make no difference"
            faults.stop_at("duplicate-name", each.line, message, remedy)
        lines.setdefault(name, each.line)
    for each in named:
        if isinstance(each, Stack) and each.stack != each.name:
            own = {one.name.casefold() for one in named if getattr(one, "stack", "") == each.stack}
            if each.stack.casefold() in lines.keys() - own:
                message = f'the stack "{each.stack}" has the name of another table'
                faults.stop_at("duplicate-name", each.line, message, "give it its own name")


def read_shared(faults: Faults, members: Members) -> tuple[Shared, ...]:
    """Patterns that lie over each other."""
    return tuple(
        Shared(
            table.name or f"shared pattern {number}",
            places,
            SAME_PLACE_MM if table.within is None else table.within,
            allow,
            line,
        )
        for number, table, places, allow, line in laid_over(faults, members, "shared", SharedTable)
    )


def laid_over(
    faults: Faults, members: Members, key: str, shape: type[_Holes]
) -> Iterator[tuple[int, _Holes, tuple[Place, ...], tuple[str, ...], int | None]]:
    """(number, table, its holes, what it allows, line) of tables of holes over each other."""
    finder = Places(members, faults.units)
    for index, path, table in faults.all_validated(key, shape):
        with faults.noting(path, hole=table.name):
            with at_key("holes"):
                places = tuple(finder.place(each) for each in table.holes)
                if len(places) < 2:
                    remedy = "name those of two members or more"
                    raise WordError("one set of holes alone", remedy)
                _refuse_counts(places)
            with at_key("allow"):
                allow = allowed_slugs(table.allow)
            yield index + 1, table, places, allow, faults.line(path)


def read_pairs(faults: Faults, members: Members) -> tuple[Pair, ...]:
    """Members that are each other's opposite hand."""
    by_name = {name.casefold(): member.name for name, member in members.items()}
    found: list[Pair] = []
    for _, path, table in faults.all_validated("handed_pair", PairTable):
        with faults.noting(path):
            with at_key("members"):
                names = [known(name, by_name) for name in table.members]
                if len(names) != 2 or names[0] == names[1]:
                    raise WordError("a pair is two members", 'write members = ["left", "right"]')
            with at_key("allow"):
                allow = allowed_slugs(table.allow)
            with at_key("differ"):
                differ = _differing(table.differ, [members[name] for name in names])
            found.append(Pair((names[0], names[1]), allow, faults.line(path), differ))
    return tuple(found)


def _differing(words: Sequence[str], pair: Sequence[Member]) -> tuple[str, ...]:
    """Names of the holes, of either member, by which a pair may differ."""
    holes = [hole for member in pair for hole in member.part.holes]
    found: dict[str, None] = {}
    for each in words:
        found |= dict.fromkeys(hole.name for hole in named(holes, each, "no hole"))
    return tuple(found)
