"""Sheets that cannot be had in this shop; holes that a program has an end mill go round in.

Of the first each is a note that names its commands, and why: whoever asks for one all the same is
told the same as a stop. Layers 0 to 3, planning.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding, note
from millprep.base.records import replace
from millprep.checks.registry import Job, check
from millprep.model.kinds import BORE
from millprep.model.part import Hole
from millprep.model.shop import Control, Shop
from millprep.planning import drawer
from millprep.planning.helical import (
    LEAST_SHARE,
    MOST_PLAY_MM,
    MOST_SHARE,
    Round,
    cone_of,
    is_for_drill,
    is_too_fine,
    round_of,
    round_of_recess,
    why_no_helix,
)
from millprep.planning.programs import no_program


@check
def sheets_not_to_be_had(job: Job) -> Iterator[Finding]:
    """For what the mill has not got."""
    shop = job.plan.shop
    missing = [axis.upper() for axis in "xy" if axis not in shop.dials]
    if not shop.readout.is_fitted:
        instead = "marking-out list" if missing else "dial sheet"
        how = f"work from the {instead}"
        yield _not_to_be_had(job, "listing", "the mill has no readout", how, "bench")
    if missing:
        why = f"the shop file has no dial for {' and '.join(missing)}"
        how = "describe it there: [dials] x = { lead = 2.5, divisions = 100 }"
        yield _not_to_be_had(job, "dials", why, how)
    if (reason := no_program(job.plan)) is not None:
        yield _not_to_be_had(job, "program", *reason)
    elif unlisted := _without_length(job):
        number, tool = unlisted
        why = f"the control is strict, and its tool table has no tool {number}, {tool}"
        how = "list it under [[tool]] in the shop file, or give [control] strict = false"
        yield _not_to_be_had(job, "program", why, how)


def _without_length(job: Job) -> tuple[int, str] | None:
    """The first tool of a program whose length a strict control would ask for in vain."""
    control, plan = job.plan.shop.control, job.plan
    if not (control.strict and control.length_offset):
        return None
    listed = {tool.number for tool in plan.shop.tools}
    numbers = {
        plan.tool_numbers[one.tool]: one.tool
        for setup_plan in plan.setups
        for one in setup_plan.operations
        if one.name != "tap" or control.tapping != "none"
    }
    lacking = min(numbers.keys() - listed, default=None)
    return (
        None if lacking is None else (lacking, f"{numbers[lacking].kind} {numbers[lacking].words}")
    )


def _not_to_be_had(job: Job, sheet: str, why: str, how: str, *others: str) -> Finding:
    said = Finding("note", "not-to-be-had", f"no {sheet}: {why}", how, job.plan.shop.path or None)
    return replace(said, sheets=(sheet, *others))


_BY_PROGRAM = note(
    "helical-bore",
    "hole {0}: no tool of the drawer makes {what} by hand; a program goes round in it with the "
    "{tool}",
    "by hand, get the tool that the sheets name",
)
_LEFT_UNDER = note(
    "helical-bore",
    "hole {0}: {why}, so a program goes round in it with the {mill} end mill to {left_mm:3 bare} "
    "and leaves the rest to the boring head",
    "measure the backlash of X and Y, and give it under [control] backlash",
)
_NARROWER = note(
    "helical-bore",
    "hole {0}: a program goes round in it, and arcs carry the backlash: it may come out "
    "{play_mm:2 bare} narrower and half of that beside its place",
    "bore it with the boring head where that is too much",
)
_NONE = note(
    "helical-bore", "hole {0}: a program does not go round in it with an end mill: {why}", "{how}"
)


@check
def holes_gone_round(job: Job) -> Iterator[Finding]:
    """What only a program makes, what it leaves, and why it does not."""
    shop, units = job.plan.shop, job.plan.part.units
    if shop.control.axes == "xy":
        return
    for hole in job.plan.part.holes:
        milled, is_lacking = round_of(hole, shop, units), _is_lacking(hole, shop)
        if milled is None:
            if is_lacking and _is_near(hole, shop):
                why, how = _why_not(hole, shop)
                yield job.finding(_NONE, hole, why=why, how=how)
        elif milled.is_left:
            why, mill = _why_left(hole, shop.control), milled.mill.words
            left_mm = milled.helix.to_mm
            yield job.finding(_LEFT_UNDER, hole, why=why, mill=mill, left_mm=left_mm)
        elif is_lacking:
            yield job.finding(_BY_PROGRAM, hole, what="it", tool=_named(milled))
        if milled is not None and not milled.is_left and any(shop.control.loose_mm):
            yield job.finding(_NARROWER, hole, play_mm=max(shop.control.loose_mm))
        yield from (*_recesses(job, hole), *_mouths(job, hole))


def _named(milled: Round) -> str:
    return f"{milled.mill.words} {milled.mill.kind}"


def _recesses(job: Job, hole: Hole) -> Iterator[Finding]:
    shop, units = job.plan.shop, job.plan.part.units
    for mouth in (hole.mouth, hole.far):
        for name, recess in (("spotface", mouth.spotface), ("counterbore", mouth.counterbore)):
            if recess is None or drawer.recess_cutter(shop.cabinet, recess).in_drawer:
                continue
            milled = round_of_recess(recess, hole.diameter_mm, shop, units)
            if milled is not None:
                yield job.finding(_BY_PROGRAM, hole, what=f"its {name}", tool=_named(milled))


def _mouths(job: Job, hole: Hole) -> Iterator[Finding]:
    """Countersinks wider than any of the drawer."""
    shop, units = job.plan.shop, job.plan.part.units
    for mouth in (hole.mouth, hole.far) if hole.thread is None else ():
        cone, rim_mm = mouth.countersink, hole.diameter_mm
        if cone is None or mouth.counterbore is not None or mouth.spotface is not None:
            continue
        if drawer.countersink(shop.cabinet, cone, rim_mm).in_drawer:
            continue
        wide = cone_of(cone, rim_mm, hole.depth_mm, shop, units)
        if wide is not None:
            what, tool = "its countersink", f"{wide.tool.words} {wide.tool.kind}"
            yield job.finding(_BY_PROGRAM, hole, what=what, tool=tool)


def _is_lacking(hole: Hole, shop: Shop) -> bool:
    """Whether the drawer has nothing that makes it by hand."""
    if hole.kind is not BORE:
        return is_for_drill(hole, shop.cabinet)
    head = shop.cabinet.boring_head
    return head is None or not head.reaches(hole.diameter_mm)


def _is_near(hole: Hole, shop: Shop) -> bool:
    """Whether the drawer has an end mill between half and nine tenths of it."""
    shares = (one.diameter_mm / hole.diameter_mm for one in shop.cabinet.end_mills)
    return any(LEAST_SHARE <= share <= MOST_SHARE for share in shares)


def _why_left(hole: Hole, control: Control) -> str:
    play = max(control.backlash_mm[:2])
    if not play:
        return "nobody has measured the backlash, and its limits are close"
    if max(control.loose_mm) > MOST_PLAY_MM and not is_too_fine(
        hole, replace(control, backlash_compensated=True)
    ):
        return f"the backlash of {play:g} mm is too much for a round hole"
    return f"the backlash of {play:g} mm is not under a quarter of its limits"


def _why_not(hole: Hole, shop: Shop) -> tuple[str, str]:
    """(why, what to do)"""
    if (why := why_no_helix(shop.control)) is not None:
        return why, "if it has them, list them under [control] codes"
    if hole.from_both_ends:
        return "it is made from both ends", "leave from_both_ends out"
    if is_too_fine(hole, shop.control):
        return _why_left(hole, shop.control), "ream it, or write bore for the boring head"
    near = [
        one
        for one in shop.cabinet.end_mills
        if LEAST_SHARE <= one.diameter_mm / hole.diameter_mm <= MOST_SHARE
    ]
    if all(one.flute_mm is None for one in near):
        return (
            f"nobody has said how long the flutes of the {near[0].words} end mill are",
            "give it as { diameter = ..., flute = ... } under [drawer] end_mills",
        )
    return (
        f"no end mill of {LEAST_SHARE:g} to {MOST_SHARE:g} of it has the flutes, goes down in it "
        "without leaving a core, and is told by the figures that the control takes",
        "get one, or bore it",
    )
