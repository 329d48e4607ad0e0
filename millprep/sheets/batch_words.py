"""What a sheet says of several pieces made in one go. Imports layers 0 to 4 and `figures`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from millprep.planning import Plan, SetupPlan
from millprep.planning.table import effort_of, runs_of, visits_of
from millprep.sheets.document import Sayer, Sentence, Shown
from millprep.sheets.figures import Figures

_say = Sayer("setting")


def batch_lines(
    plan: Plan, setup_plan: SetupPlan, figures: Figures, *, is_whole: bool
) -> Iterator[Sentence]:
    """How the pieces go through the setup. is_whole : no excerpt, whose changes have numbers of
    their own."""
    pieces, kept, operations = plan.pieces, setup_plan.kept, setup_plan.operations
    if pieces == 1:
        return
    holding = setup_plan.holding
    where = "chuck" if holding.way == "chuck" else "vice" if holding.stop else "table"
    yield _say("batch-pieces", piece_count=pieces, where=where, stop=holding.stop)
    if not is_whole:
        return
    first, count = len(runs_of(operations[:kept])), len(runs_of(operations))
    if kept:
        reseating_mm = plan.shop.vice.reseating_mm
        repeats = Shown(f"{figures.size(reseating_mm)} {figures.unit}", reseating_mm)
        names = list(dict.fromkeys(one.hole.group for one in operations[:kept]))
        yield _say("batch-kept", kept=names, **_changes("kept", 1, first), reseating_mm=repeats)
    yield _say("batch-first", wiped=where)
    if kept < len(operations):
        yield _say("batch-rest", **_changes("rest", first + 1, count))
        effort = effort_of(setup_plan, pieces)
        minutes = round(effort.saved_min(plan.shop))
        yield _say(
            "batch-minutes",
            loadings=effort.loadings,
            changes=effort.changes,
            loadings_each=effort.loadings_each,
            changes_each=effort.changes_each,
            minutes=abs(minutes),
            saved="saved" if minutes >= 0 else "spent",
        )


def _changes(name: str, first: int, last: int) -> dict[str, int]:
    """ "changes 2 to 5", "change 2"."""
    if first == last:
        return {f"{name}_change": first}
    return {f"{name}_from": first, f"{name}_to": last}


def ticks_line(plan: Plan) -> Sentence | None:
    """A box a piece, below the steps of a tool."""
    if plan.pieces == 1:
        return None
    return _say("batch-ticks", ticks=list(range(1, plan.pieces + 1)))


def batch_facts(plan: Plan, setup_plan: SetupPlan) -> dict[str, Any]:
    """What JSON has of it: how many steps are made before a piece is taken out for the first time,
    and the clampings in their order, each with its piece and its steps."""
    if plan.pieces == 1:
        return {}
    visits = visits_of(setup_plan, plan.pieces)
    told = [{"piece": one.piece, "steps": list(one.steps)} for one in visits]
    return {"kept": setup_plan.kept, "visits": told}
