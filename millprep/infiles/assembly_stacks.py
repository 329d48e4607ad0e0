"""[[reamed_together]] tables of an assembly file: bores, and the setting that they share.

Each fault is noted at its key.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from millprep.base.findings import WordError
from millprep.base.records import replace
from millprep.infiles.assembly_joints import Members, laid_over
from millprep.infiles.assembly_leaves import known, left_of
from millprep.infiles.assembly_places import refuse_face
from millprep.infiles.assembly_schema import StackTable
from millprep.infiles.faults import Faults
from millprep.infiles.positions import Path
from millprep.infiles.setup_tables import setup_request
from millprep.infiles.wording import at_key
from millprep.model.assembled import Place, Stack
from millprep.model.part import SetupRequest

_SHARED = ("members", "gap", "setup")
"""What tables of one stack say once for all of them."""


def read_stacks(faults: Faults, members: Members) -> tuple[Stack, ...]:
    """Every bore that is reamed in one go, with what is said of its stack in any of its tables."""
    stacks: list[Stack] = []
    for number, table, places, allow, line in laid_over(
        faults, members, "reamed_together", StackTable
    ):
        path = ("reamed_together", number - 1)
        name = table.name or f"stack {number}"
        with faults.noting(path, hole=table.name):
            with at_key("holes"):
                _refuse_drilled(places)
                places = _topmost(table, places)
            made = Stack(
                name,
                places,
                allow,
                line,
                table.stack or name,
                _members(table, places, members),
                table.gap,
                left_of(table.leave, table.pilot, places),
                table.pilot,
                _setup(faults, path, table),
                f"reamed_together[{number}]",
            )
            stacks.append(made)
    return tuple(_agreed(faults, stacks))


def _refuse_drilled(places: Sequence[Place]) -> None:
    for place in places:
        if any(not hole.kind.is_reamed for hole in place.holes):
            raise WordError(f"{place.words} is not reamed", "name holes to ream")


def _topmost(table: StackTable, places: tuple[Place, ...]) -> tuple[Place, ...]:
    """The places, the first of them entered by the face that the setup has up."""
    if table.setup is None or "face" not in table.setup.model_fields_set:
        return places
    refuse_face(places[0].holes[0], table.setup.face)
    return replace(places[0], face=table.setup.face), *places[1:]


def _members(table: StackTable, places: Sequence[Place], members: Members) -> tuple[str, ...]:
    by_name = {name.casefold(): member.name for name, member in members.items()}
    with at_key("members"):
        names = tuple(dict.fromkeys(known(name, by_name) for name in table.members))
        lost = [place.member for place in places if names and place.member not in names]
        if lost:
            remedy = "name every member whose holes are made in the stack"
            raise WordError(f"{lost[0]} has holes of it and is not named", remedy)
    return names


def _setup(faults: Faults, path: Path, table: StackTable) -> SetupRequest | None:
    """What is said of the setting; `hold` beside the holes is that of the setup."""
    if table.setup is None:
        return None if table.hold is None else SetupRequest("top", hold=table.hold)
    with at_key("setup"):
        if table.setup.holes:
            raise WordError("holes: a stack has one setting for all", "leave holes out", ("holes",))
        if table.hold is not None and table.setup.hold not in (None, table.hold):
            raise WordError(f"hold is {table.hold} above it", "say it in one place", ("hold",))
    hold = table.setup.hold or table.hold
    told = table.setup.model_copy(update={"hold": hold})
    return setup_request(faults, (*path, "setup"), told)


def _agreed(faults: Faults, stacks: Sequence[Stack]) -> list[Stack]:
    """What one table of a stack says of its setting holds for all; two that differ are a fault."""
    said: dict[tuple[str, str], Any] = {}
    for one in stacks:
        for key in _SHARED:
            value, at = getattr(one, key), (one.stack.casefold(), key)
            if value and said.setdefault(at, value) != value:
                message = f'stack "{one.stack}": {key} is said otherwise in another of its tables'
                faults.stop_at("contradiction", one.line, message, "say it in one of them")
    return [
        replace(
            one,
            **{key: said.get((one.stack.casefold(), key), getattr(one, key)) for key in _SHARED},
        )
        for one in stacks
    ]
