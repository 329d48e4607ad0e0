"""The holes that moves make: where, how wide, how deep, by which operations.

What the dry run, the reader of printed listings and the witness all speak of. Setup axes,
millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

from millprep.base.records import frozen
from millprep.model.kinds import FINISHING

_DRILLS = ("drill", "pilot drill")


@frozen
class MadeOperation:
    """One tool down one hole and out again, pecks included.

    name        : spot drill, drill, bore, counterbore, countersink, ream or tap (a listing may also
                  say pilot drill and spotface)
    tool_kind, diameter_mm, tool_number : of the tool; None when unknown
    tip_mm      : Z of the tool's end at its deepest
    full_mm     : Z to which the tool's full diameter reaches; None when the tool is unknown
    cone_mm     : of a spot drill or countersink, the cone's diameter at the stock's face
    line, last_line : in the file
    pitch_mm, thread, is_left_hand : of a tap; thread is what it is called
    x_mm, y_mm  : its axis where that is not the hole's; point_angle_deg : of a pointed tool
    file        : the program it stands in
    by_hand     : whether its tool is one for the hand; None where nothing tells
    milling     : "plunge" of a feed down that goes on sideways at depth, the way in to what is
                  milled; "circle" of a hole that is milled round
    """

    name: str
    tool_kind: str | None
    diameter_mm: float | None
    tip_mm: float
    full_mm: float | None = None
    cone_mm: float | None = None
    line: int | None = None
    last_line: int | None = None
    tool_number: int | None = None
    pitch_mm: float | None = None
    x_mm: float | None = None
    y_mm: float | None = None
    point_angle_deg: float | None = None
    file: str | None = None
    thread: str = ""
    is_left_hand: bool = False
    by_hand: bool | None = None
    milling: Literal["", "plunge", "circle"] = ""

    @property
    def known_mm(self) -> float:
        """Diameter of a tool that is known. Raises ValueError where it is not: it is never 0."""
        if self.diameter_mm is None:
            raise ValueError(f"{self.name}: of unknown size")
        return self.diameter_mm


@frozen
class MadeHole:
    """A hole and the operations that made it, in their order.

    diameter_mm : of the finished hole (a tapped one's is the tap's), None when unknown
    bottom_mm   : the deepest tip
    """

    x_mm: float
    y_mm: float
    diameter_mm: float | None
    bottom_mm: float
    operations: tuple[MadeOperation, ...]


def made_hole(x_mm: float, y_mm: float, operations: tuple[MadeOperation, ...]) -> MadeHole:
    """The hole that these operations leave at this place."""
    bottom = min(operation.tip_mm for operation in operations)
    return MadeHole(x_mm, y_mm, _finished_diameter(operations, bottom), bottom, operations)


def without_plunges(holes: Iterable[MadeHole]) -> tuple[MadeHole, ...]:
    """The holes that are holes: where a cutter goes down to mill sideways is none."""
    return tuple(
        hole if len(steps) == len(hole.operations) else made_hole(hole.x_mm, hole.y_mm, steps)
        for hole in holes
        if (steps := tuple(one for one in hole.operations if one.milling != "plunge"))
    )


def _finished_diameter(operations: tuple[MadeOperation, ...], bottom_mm: float) -> float | None:
    for name in FINISHING:
        for operation in reversed(operations):
            if operation.name == name:
                return operation.diameter_mm
    drills = [op for op in operations if op.name in _DRILLS]
    if drills:
        # A wider drill that stops short only opens the mouth: the hole is what goes on below it.
        deep = [op for op in drills if op.tip_mm <= bottom_mm / 2]
        known = [op.diameter_mm for op in deep or drills if op.diameter_mm is not None]
        full = min((op.full_mm for op in drills if op.full_mm is not None), default=-math.inf)
        known += [
            op.diameter_mm
            for op in operations
            if op.milling == "circle" and op.diameter_mm is not None and op.tip_mm <= full
        ]
        return max(known, default=None)
    last = operations[-1]
    return last.cone_mm if last.cone_mm is not None else last.diameter_mm
