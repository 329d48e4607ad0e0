"""Holes reamed in one go through a stack of members: size, height, and the stock left for it.

Layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.assembly.frames import thickness_mm
from millprep.assembly.saying import Say
from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.assembled import Assembly, Stack
from millprep.model.shop import Shop
from millprep.model.tools import Tool
from millprep.planning.making import room_mm

_LEAD_MM = 1.0  # of a machine reamer, where the cabinet does not say


@frozen
class Stacked:
    """A stack: height of all members along the hole, and the reamer of the cabinet."""

    stack: Stack
    height_mm: float
    needed_mm: float
    reamer: Tool | None


def stacked(assembly: Assembly, shop: Shop, stack: Stack) -> Stacked:
    """The figures of a stack."""
    height = sum(
        thickness_mm(assembly.member(place.member).part, place.holes[0])
        if place.holes[0].is_through
        else place.holes[0].depth_mm
        for place in stack.places
    )
    size = stack.places[0].holes[0].diameter_mm
    reamer = next(
        (tool for tool in shop.cabinet.reamers if abs(tool.diameter_mm - size) < 1e-6), None
    )
    lead = (reamer.lead_mm if reamer is not None else None) or _LEAD_MM
    return Stacked(stack, height, height + lead + room_mm(stack.places[0].holes[0]), reamer)


def stack_findings(say: Say, row: Stacked) -> Iterator[Finding]:
    """What is wrong with a stack."""
    stack = row.stack
    sizes = {place.holes[0].diameter_mm for place in stack.places}
    if len(sizes) > 1:
        listed = ", ".join(f"{place.words} {place.holes[0].words}" for place in stack.places)
        yield say.finding(
            "stop",
            "contradiction",
            stack,
            f"reamed together, and of several sizes: {listed}",
            "one reamer goes through all of them",
        )
    blind = [place for place in stack.places[:-1] if not place.holes[0].is_through]
    for place in blind:
        yield say.finding(
            "stop",
            "screw-does-not-pass",
            stack,
            f"{place.words} is not through, and the reamer has to go on",
            'give depth = "through"',
        )
    reamer = row.reamer
    if reamer is not None and reamer.flute_mm is not None and row.needed_mm > reamer.flute_mm:
        yield say.finding(
            "warning",
            "stack-too-high",
            stack,
            f"the stack, {say.length(row.height_mm)} high, needs {say.length(row.needed_mm)} of "
            f"flute, and the reamer has {say.length(reamer.flute_mm)}",
            "clear the swarf often, or ream with a longer reamer",
        )
