"""Sheets that cannot be had in this shop: each is a note that names its commands, and why.

Whoever asks for one all the same is told the same as a stop. Layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.checks.registry import Job, check
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
