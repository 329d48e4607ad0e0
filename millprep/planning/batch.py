"""Several of a part made in one go: what stays in one clamping, and what goes tool by tool.

A part that is put back against the stop comes to lie a little off. What bears no such error is
spotted, drilled and finished before the piece is taken out:

    piece 1  [spot drill  ream]      piece 2  [spot drill  ream]      piece 3  [spot drill  ream]
    spot:   piece 3  1  2            drill 3.3:   piece 2  3  1       tap:     piece 1  2  3

and the rest by tool over all pieces; the piece that is in stays in for the next tool. Imports
layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, pairwise

from millprep.base.records import frozen, replace
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.planning.plan import Operation, Plan, SetupPlan

LOADING_S = 30.0  # to wipe, put in, tighten and tap down (common practice)


@frozen
class Visit:
    """A piece in one clamping: its number, and its steps by their numbers in the setup."""

    piece: int
    steps: tuple[int, ...]


@frozen
class Effort:
    """How often a piece is put in and a tool changed: as planned, and piece by piece."""

    loadings: int
    changes: int
    loadings_each: int
    changes_each: int

    def saved_min(self, shop: Shop) -> float:
        """What the plan saves against piece by piece; negative where it costs."""
        changes = (self.changes_each - self.changes) * shop.mill.tool_change_s
        return (changes - (self.loadings - self.loadings_each) * LOADING_S) / 60


def batched(plan: Plan, pieces: int) -> Plan:
    """The plan for so many pieces: in each setup what stays in one clamping comes first."""
    if pieces == 1:
        return plan
    setups = tuple(_kept_first(one, plan) for one in plan.setups)
    return replace(plan, setups=setups, pieces=pieces)


def _kept_first(setup_plan: SetupPlan, plan: Plan) -> SetupPlan:
    operations = setup_plan.operations
    if plan.order == "hole":  # all is done at a hole before the table moves: a piece stays in
        return replace(setup_plan, kept=len(operations))
    names = {one.hole.name for one in operations if is_kept(one.hole, plan.part, plan.shop)}
    names |= {one.hole.name for one in operations if names.intersection(one.hole.meets)}
    kept = [one for one in operations if one.hole.name in names]
    rest = [one for one in operations if one.hole.name not in names]
    while kept and rest and rest[0].tool == kept[-1].tool:  # the tool that is in goes on
        kept.append(rest.pop(0))
    return replace(setup_plan, operations=(*kept, *rest), kept=len(kept))


def is_kept(hole: Hole, part: Part, shop: Shop) -> bool:
    """Whether it is made in one clamping: round and to size, with a fit, or with its place asked
    for more closely than the stop repeats."""
    round_mm = None if hole.position_mm is None else hole.position_mm / 2
    own = [one for one in (hole.tolerance_mm, round_mm) if one is not None]
    own = own or [one for one in (part.general_tolerance_mm,) if one is not None]
    is_close = any(one < shop.vice.reseating_mm - 1e-9 for one in own)
    return hole.kind.is_true or hole.fit is not None or is_close


def runs_of(operations: Sequence[Operation]) -> list[int]:
    """How many steps each change of tool is for; tapping apart."""
    runs = groupby(operations, key=lambda one: (one.tool, one.name == "tap"))
    return [len(list(run)) for _, run in runs]


def visits_of(setup_plan: SetupPlan, pieces: int) -> list[Visit]:
    """The clampings in their order: each step once at each piece."""
    kept = tuple(range(1, setup_plan.kept + 1))
    visits = [Visit(piece, kept) for piece in range(1, pieces + 1)] if kept else []
    first = len(kept) + 1
    for count in runs_of(setup_plan.operations[len(kept) :]):
        begin = visits[-1].piece if visits else 1
        steps = tuple(range(first, first + count))
        for piece in (*range(begin, pieces + 1), *range(1, begin)):
            if visits and visits[-1].piece == piece:
                visits[-1] = Visit(piece, (*visits[-1].steps, *steps))
            else:
                visits.append(Visit(piece, steps))
        first += count
    return visits


def effort_of(setup_plan: SetupPlan, pieces: int) -> Effort:
    """What the plan of a setup takes, and what all pieces take one after the other."""
    operations = setup_plan.operations
    visits = visits_of(setup_plan, pieces)
    tools = [operations[step - 1].tool for visit in visits for step in visit.steps]
    together = len(runs_of(sorted_back(setup_plan)))
    each = 1 if together == 1 else together * pieces
    changes = 1 + sum(one != other for one, other in pairwise(tools))
    return Effort(len(visits), changes, pieces, each)


def sorted_back(setup_plan: SetupPlan) -> tuple[Operation, ...]:
    """The operations with each tool once, as for one piece."""
    operations = setup_plan.operations
    tools = list(dict.fromkeys((one.tool, one.name == "tap") for one in operations))
    key = {tool: place for place, tool in enumerate(tools)}
    return tuple(sorted(operations, key=lambda one: key[one.tool, one.name == "tap"]))
