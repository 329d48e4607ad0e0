"""Several pieces of a part on one table: their places, and whether they can stand there."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from millprep.base.findings import Finding, stopped
from millprep.base.units import MM_PER_INCH

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.scene import Scene
    from millprep.planning import Plan, SetupPlan

Place = tuple[float, float]
_HEAD_BYTES = 20_000
_PIECE = re.compile(
    rb"^[(;] ?PIECE (\d+) OF (\d+): ITS ZERO AT X(-?[\d.]+) Y(-?[\d.]+) (MM|IN)\)?\r?$",
    re.MULTILINE,
)


def places_of(
    words: str | None, part: Part, setups: Sequence[int], setup: int | None
) -> list[Place]:
    """The places of `--places` [mm]; none where it is not given.

    Raises MillprepError for what is no such list, and where nobody says which setup it is of.
    """
    from millprep.infiles.places_file import read_places

    if words is None:
        return []
    if setup is None and len(setups) > 1:
        raise stopped(
            "unknown-word",
            f"--places is of one setup, and this part has {len(setups)}",
            "name the one whose pieces stand there: --setup 1",
            file=part.path or None,
        )
    return list(read_places(words, part.units))


def places_told(data: bytes) -> list[Place]:
    """The places that the head of a program names [mm], where it names them all."""
    found = _PIECE.findall(data[:_HEAD_BYTES])
    is_whole = [int(number) for number, *_ in found] == list(range(1, len(found) + 1))
    if not is_whole or any(int(count) != len(found) for _, count, *_ in found):
        return []
    scales = [MM_PER_INCH if unit == b"IN" else 1.0 for *_, unit in found]
    return [
        (float(x) * scale, float(y) * scale)
        for (_, _, x, y, _), scale in zip(found, scales, strict=True)
    ]


def places_for(
    words: str | None, programs: Sequence[tuple[str, bytes]], part: Part
) -> tuple[list[Place], list[Finding]]:
    """The places of programs that are run: those given, else those that the first one names."""
    from millprep.infiles.places_file import read_places

    if words is not None:
        return list(read_places(words, part.units)), []
    file, data = programs[0]
    told = places_told(data)
    message = f"{len(told)} pieces of the part, where the program says that they stand"
    remedy = "give --places where they stand otherwise"
    return told, [Finding("note", "taken-as", message, remedy, file)] if told else []


def place_faults(plan: Plan, on_table: SetupPlan, scene: Scene) -> list[Finding]:
    """Why the pieces cannot stand there, or not all be reached.

    on_table : of all of them; scene : what stands on the table then
    """
    from millprep.planning.program_travel import beyond_travel
    from millprep.planning.programs import approach_mm
    from millprep.planning.table import in_each_other

    file, number = plan.part.path or None, on_table.setup.number
    remedy = "measure again from the first piece's zero to theirs, or clamp them further apart"
    found = [
        Finding("stop", "pieces-too-near", what, remedy, file, setup=number)
        for what in in_each_other(scene, len(on_table.places_mm))
    ]
    if (beyond := beyond_travel(plan, on_table, approach_mm(plan))) is not None:
        found.append(Finding("stop", "outside-travel", *beyond, file, setup=number))
    return found
