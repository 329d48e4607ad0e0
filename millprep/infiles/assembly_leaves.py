"""What an assembly file leaves for later: how far a part's own sheets make a hole that is finished
in a stack, or carried over from a mate."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from millprep.base.findings import WordError
from millprep.base.units import shown
from millprep.infiles.assembly_schema import JointTable
from millprep.infiles.faults import Faults
from millprep.infiles.wording import UnknownWordError, accepted, at_key
from millprep.model.assembled import Carried, PinJoint, Place, ScrewJoint, Stack
from millprep.model.carrying import LEAVES, Leave
from millprep.model.part import Hole

_FORM = 'write leave = "undrilled", or by member: leave = { left = "pilot" }'
_PASSED = ("spotted through", "transfer punch", "jig")
"""Ways in which a drill or a punch goes through the hole that is there already."""

Joint = ScrewJoint | PinJoint
Left = tuple[tuple[str, Leave], ...]


def known(name: str, by_name: dict[str, str]) -> str:
    """The member of that name, by folded names."""
    if name.casefold() not in by_name:
        remedy = accepted(list(by_name.values()), name)
        raise UnknownWordError(f"there is no member {shown(name)}", remedy)
    return by_name[name.casefold()]


def left_of(leave: Any, pilot_mm: float | None, places: Sequence[Place]) -> Left:
    """How far the own sheets of each member make its holes: undrilled where nothing is said."""
    here = tuple(dict.fromkeys(place.member for place in places))
    with at_key("leave"):
        if isinstance(leave, dict):
            by_name = {name.casefold(): name for name in here}
            said = {known(name, by_name): _leave(word) for name, word in leave.items()}
        else:
            said = dict.fromkeys(here, LEAVES[0] if leave is None else _leave(leave))
    left: Left = tuple((name, said.get(name, "undrilled")) for name in here)
    piloted = {name for name, word in left if word == "pilot"}
    if piloted and pilot_mm is None:
        with at_key("leave"):
            raise WordError("a pilot of what size is not said", 'add pilot = "5 mm"')
    with at_key("pilot"):
        if pilot_mm is not None and not piloted:
            raise WordError("no member is left with a pilot", 'add leave = { MEMBER = "pilot" }')
        holes = [hole for place in places if place.member in piloted for hole in place.holes]
        if any(pilot_mm is not None and pilot_mm >= _bare_mm(hole) for hole in holes):
            raise WordError("the pilot is as wide as the hole", "give a drill below its size")
    return left


def _bare_mm(hole: Hole) -> float:
    """Before it is tapped."""
    return hole.diameter_mm if hole.thread is None else hole.thread.tap_drill_mm


def _leave(value: Any) -> Leave:
    for word in LEAVES:
        if word == value:
            return word
    if isinstance(value, str):
        raise UnknownWordError(f"{shown(value)} is not one of them", accepted(LEAVES, value))
    raise WordError(f"{shown(value)} is no word for it", _FORM)


def carried_of(table: JointTable, courses: Sequence[Sequence[Place]]) -> Carried | None:
    """How the joint's holes are carried over, where the file says so. Raises WordError.

    courses : the places of its screws or pins, one after the other
    """
    if table.carried is None:
        if alone := table.given("leave", "pilot", "after", "setup"):
            remedy = 'say what they are carried over from: carried = { from = "foot", by = "jig" }'
            raise WordError(f"{alone[0]} without carried", remedy, (alone[0],))
        return None
    places = [place for course in courses for place in course if not place.is_loose]
    by_name = {place.member.casefold(): place.member for place in places}
    with at_key("carried"), at_key("from"):
        source = known(table.carried.from_, by_name)
        first = [place for place in places if place.member == source]
        rest = [place for place in places if place.member != source]
        if not rest:
            raise WordError(
                f"{source} is the only member here", "there is no hole to carry over to"
            )
        if any(source not in {place.member for place in course} for course in courses):
            remedy = "name the member that all its screws pass, or make it several joints"
            raise WordError(f"not every hole has one of {source} over it", remedy)
    by = table.carried.by
    with at_key("carried"), at_key("by"):
        holes = [hole for place in first for hole in place.holes]
        if by in _PASSED and not all(hole.is_through for hole in holes):
            remedy = 'give them depth = "through", or carry them over by = "readings"'
            raise WordError(f"{by}: {first[0].words} is not through", remedy)
        if by == "transfer screw" and not all(hole.thread for hole in holes):
            remedy = "the screws sit in tapped holes: carry them over from the member that has them"
            raise WordError(f"{by}: {first[0].words} is not tapped", remedy)
    left = left_of(table.leave, table.pilot, rest)
    return Carried(source, by, table.after, left, table.pilot)


def refuse_waiting(faults: Faults, joints: Sequence[Joint], stacks: Sequence[Stack]) -> None:
    """A joint waits for a stack that is there, and a hole is finished in one place."""
    finished: dict[tuple[str, str], str] = {}
    for stack in stacks:
        _refuse_finished(faults, stack, _holes(stack.places), finished)
        finished |= dict.fromkeys(_holes(stack.places), stack.name)
    for joint in joints:
        if joint.carried is not None:
            _refuse_lost(faults, joint, joint.carried.after, stacks)
            own = [each for each in _holes(joint.places) if each[0] != joint.carried.source]
            _refuse_finished(faults, joint, own, finished)


def _refuse_lost(faults: Faults, joint: Joint, after: str | None, stacks: Sequence[Stack]) -> None:
    """A stack of that name is not there, nor a table that was refused and may be of it."""
    names = {one.stack.casefold(): one.stack for one in stacks}
    tables = faults.document.data.get("reamed_together", [])
    are_all_read = isinstance(tables, list) and len(tables) == len(stacks)
    if after is not None and after.casefold() not in names and are_all_read:
        remedy = "leave after out, or write the [[reamed_together]] tables of that stack"
        remedy = accepted(list(names.values()), after) if names else remedy
        message = f"{joint.name}: after: there is no stack {shown(after)}"
        faults.stop_at("unknown-word", joint.line, message, remedy)


def _holes(places: Sequence[Place]) -> Iterator[tuple[str, str]]:
    """Member and name of each."""
    for place in places:
        yield from ((place.member, hole.name) for hole in place.holes)


def _refuse_finished(
    faults: Faults,
    named: Joint | Stack,
    holes: Iterable[tuple[str, str]],
    finished: Mapping[tuple[str, str], str],
) -> None:
    """finished : by member and hole the stack's bore that it is finished in already"""
    for member, hole in holes:
        if other := finished.get((member, hole)):
            message = f"{named.name}: {member}: {hole} is finished in {shown(other)} too"
            remedy = "a hole is finished once: take it out of one of the two"
            faults.stop_at("contradiction", named.line, message, remedy)
