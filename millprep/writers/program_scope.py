"""What the head of a program says of it where it does not make all, or cuts nothing.

    PROVING RUN, 20 MM UP, CUTS NOTHING
    SPOTS ONLY: A DIMPLE AT EACH HOLE, NOTHING IS DRILLED
    TOOL 2 ALONE: MADE BEFORE: T1 ALL
    RESTART: MADE BEFORE: T1 ALL, T2 RING 1 TO RING 3
    LEFT OUT, NOT MADE: RING 4

A list that does not go on one line begins with the same words on the next. Imports layers 0 to 4.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

from millprep.model.part import Hole, Part
from millprep.planning import Operation, Plan, SetupPlan
from millprep.planning.programs import why_by_hand
from millprep.writers.program_form import plain_words

_LONGEST = 96  # of a line, of 100 that a comment has
Item = tuple[str, str]
"""What stands before it where that changes, and a hole, or several that follow each other."""


def scope_said(plan: Plan, setup_plan: SetupPlan, in_units: float, unit: str) -> Iterator[str]:
    """The sentences; in_units : how far it is above the part, in the program's units"""
    scope = setup_plan.scope
    if scope.is_proving:
        is_driven = plan.shop.control.axes == "xyz"
        height = f"{in_units:g} {unit} up" if is_driven else "quill stays up"
        yield f"proving run, {height}, cuts nothing"
        yield f"the spindle {'turns' if scope.is_turning else 'stays off'}"
    names = names_of(plan.part)
    if scope.kind == "spots":
        yield "spots only: a dimple at each hole, nothing is drilled"
        spotted = {one.hole.name for one in setup_plan.operations} | {*scope.left_out}
        others = [one.hole for one in setup_plan.whole if one.hole.name not in spotted]
        yield from _listed("not spotted: ", _bare(names, others, others))
    elif scope.kind in ("tool", "restart"):
        kind = "restart" if scope.kind == "restart" else f"tool {scope.tool} alone"
        made = [*_made(plan, setup_plan, names)] or [("", "nothing")]
        yield from _listed(f"{kind}: made before: ", made)
    if scope.left_out:
        holes = [one for one in plan.part.holes if one.name in scope.left_out]
        yield from _listed("left out, not made: ", _bare(names, holes, plan.part.holes))
        yield "what stands in it must be lower than the clear height"
    if scope.kind == "restart" and any(
        one.name in ("tap", "ream") for one in setup_plan.operations
    ):
        yield "a hole whose tapping or reaming was begun is finished by hand"


def names_of(part: Part) -> dict[str, str]:
    """Name of a hole -> what a comment shows of it; "HOLE 3", the third of the part file, where
    that is nothing, or the same as of another."""
    plain = {hole.name: plain_words(hole.name) for hole in part.holes}
    counts = Counter(plain.values())
    return {
        name: words if words and counts[words] == 1 else f"HOLE {number}"
        for number, (name, words) in enumerate(plain.items(), 1)
    }


def _made(plan: Plan, setup_plan: SetupPlan, names: dict[str, str]) -> Iterator[Item]:
    """Tool by tool: all that it makes in the setup, or at which holes."""
    scope = setup_plan.scope
    powered = [one for one in setup_plan.whole if why_by_hand(one, plan) is None]
    for tool in dict.fromkeys(one.tool for one in scope.before):
        number = plan.tool_numbers[tool]
        before = _holes(one for one in scope.before if one.tool == tool)
        its = _holes(one for one in powered if one.tool == tool)
        if len(before) == len([one for one in its if one.name not in scope.left_out]):
            yield f"T{number} ", "all"
            continue
        for words in _members(names, before, its):
            yield f"T{number} ", words


def _holes(operations: Iterable[Operation]) -> list[Hole]:
    return [*{one.hole.name: one.hole for one in operations}.values()]


def _members(names: dict[str, str], holes: Sequence[Hole], among: Sequence[Hole]) -> list[str]:
    """Their names; those of a pattern that follow each other among those: "RING 1 TO RING 3"."""
    wanted = {one.name for one in holes}
    out: list[list[str]] = []
    last = None
    for hole in sorted({one.name: one for one in among}.values(), key=_rank):
        follows = last is not None and hole.member is not None and last.group == hole.group
        if hole.name not in wanted:
            last = None
            continue
        if follows:
            out[-1].append(names[hole.name])
        else:
            out.append([names[hole.name]])
        last = hole
    return [word for run in out for word in (run if len(run) < 3 else [f"{run[0]} to {run[-1]}"])]


def _rank(hole: Hole) -> tuple[str, int, str]:
    return hole.group, hole.member or 0, hole.name


def _bare(names: dict[str, str], holes: Sequence[Hole], among: Sequence[Hole]) -> list[Item]:
    return [("", words) for words in _members(names, holes, among)]


def _listed(begin: str, items: Iterable[Item]) -> Iterator[str]:
    """Lines that each begin alike, and then with the word before their first item."""
    line, last = begin, ""
    for before, item in items:
        more = item if last == before and line != begin else f"{before}{item}"
        if line != begin and len(line) + len(more) + 2 > _LONGEST:
            yield line
            line, more = begin, f"{before}{item}"
        line += more if line == begin else f", {more}"
        last = before
    if line != begin:
        yield line
