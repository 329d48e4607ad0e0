"""What a template to punch through has to say: the drill of each letter, and what it is not for.

Imports layers 0 to 4.
"""

from __future__ import annotations

from collections.abc import Sequence

from millprep.model.kinds import CLEAR
from millprep.model.part import Hole
from millprep.planning import Operation
from millprep.reference.clearance import clearance_for
from millprep.sheets.drawn_patterns import patterns_of
from millprep.sheets.view import View
from millprep.sizes import clearances_meant


def drills_of(view: View, operations: Sequence[Operation]) -> tuple[str, ...]:
    """Which drill goes in after its pilot, and what then, each with the letters of its holes."""
    by_hole: dict[str, list[Operation]] = {}
    for operation in operations:
        by_hole.setdefault(operation.hole.name, []).append(operation)
    letters: dict[str, list[str]] = {}
    for letter, marks in patterns_of(view.marks):
        own = marks[0].letter if len(marks) == 1 else letter
        letters.setdefault(_drill_words(by_hole[marks[0].hole]), []).append(own)
    return tuple(f"{', '.join(own)}: {words}" for words, own in letters.items())


def _drill_words(operations: Sequence[Operation]) -> str:
    hole = operations[0].hole
    drill = next((one for one in operations if one.name == "drill"), operations[-1])
    words = f"{drill.name} {drill.tool.words}"
    if hole.kind is CLEAR:
        return f"{words}, {hole.screw} clearance"
    finish = next((one for one in operations if one.is_finish and one is not drill), None)
    return words if finish is None else f"{words}, then {finish.name} {hole.words}"


def may_be_off_mm(hole: Hole) -> float | None:
    """How far off its place a hole still serves: by its own tolerance, or by half the room that its
    screw has in the clear hole; nothing where a pin or a shaft goes in; None where nobody says."""
    if hole.position_mm is not None:
        return hole.position_mm / 2  # a round zone leaves its radius in the worst direction
    if hole.tolerance_mm is not None:
        return hole.tolerance_mm
    if hole.kind.is_true:
        return 0.0
    if hole.kind is CLEAR:
        return max(0.0, hole.diameter_mm - clearances_meant(hole.screw)[0].thread.major_mm) / 2
    if hole.thread is not None:
        clear = clearance_for(hole.thread)
        return None if clear is None else (clear.hole("normal")[1] - hole.thread.major_mm) / 2
    return None
