"""The whole job of an assembly, in order, read back and asked by the second witness."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from millprep.base.findings import (
    Finding,
    MillprepError,
    WordError,
    chosen_word,
    findings_json,
    has_stop,
    worst_first,
)
from millprep.base.plain_text import json_text
from millprep.proven.assembly import TRIAL_FORMS, judged, tried
from millprep.proven.handed import Handed, proven, sheet_bytes, shown_in

if TYPE_CHECKING:
    from millprep.assembly.job_order import Route
    from millprep.model.shop import Shop
    from millprep.planning import Plan

FORMS = ("text", "json", "html", "pdf")


def route(file: Path | str, shop: Shop | Path | str = "metric", form: str = "text") -> Handed:
    """Which part first, which holes now and which later, and every sheet's command.

    Nothing is handed over where steps wait for each other, or the parts do not go together.
    Raises MillprepError with the faults of all the files.
    """
    from millprep.assembly.job_order import route_of
    from millprep.proven.files import shop_of
    from millprep.sheets.route import make_route
    from millprep.witness.route import check_route

    chosen_word("form", form, FORMS)
    found = shop_of(shop)
    of = judged(file, found)
    ordered = route_of(of)
    findings = tuple(worst_first([*ordered.findings, *of.findings]))
    if has_stop(findings):
        return Handed(None, findings, None)
    name = of.assembly.name
    document = make_route(ordered, plans_of(ordered, found), findings, with_remarks=form != "text")
    data = sheet_bytes(document, form, "route", name)
    disagreements = check_route(
        data,
        form,  # type: ignore[arg-type]  # one of FORMS
        of.assembly,
        findings,
        file=f"the route of {name}",
        shows=lambda words: shown_in(words, form),
    )
    return proven(data, findings, disagreements, None)


def plans_of(ordered: Route, shop: Shop) -> dict[str, Plan]:
    """Of each part file and each stack, by its name, and each table whose holes are carried over; a
    part is planned once."""
    from millprep.assembly.carrying import carried_joints, carried_part
    from millprep.assembly.stack_part import stack_part
    from millprep.planning import make_plan

    job = ordered.job
    parts = {file: members[0].part for file, members in job.pieces.items()}
    for row in job.judged.stacks:
        with contextlib.suppress(MillprepError):  # told among what was found in the assembly
            parts[row.name] = stack_part(job.judged, row.name)
    for visit in ordered.visits:
        if visit.what == "carry":
            with contextlib.suppress(MillprepError):
                joints = carried_joints(job.judged, visit.key[1])
                parts[visit.key[1]] = carried_part(job.judged, joints, shop)
    return {name: make_plan(part, shop) for name, part in parts.items()}


def changed_route(
    file: Path | str,
    changes: Sequence[str],
    done: str | None = None,
    shop: Shop | Path | str = "metric",
    form: str = "text",
) -> tuple[str, tuple[Finding, ...]]:
    """Which steps a change alters, and which done ones it spoils; what was found in the changed.

    changes : as 'MEMBER: HOLE: KEY = VALUE'; done : numbers of steps, "1-7, 9"
    Raises MillprepError for files that cannot be read, WordError for steps that there are not.
    """
    from millprep.assembly.job_order import route_of
    from millprep.assembly.spoiling import step_changes
    from millprep.proven.files import shop_of
    from millprep.sheets.changed_route import changed_route_json, changed_route_text

    chosen_word("form", form, TRIAL_FORMS)
    found = shop_of(shop)
    trial = tried(file, changes, found)
    before, after = route_of(trial.before), route_of(trial.after)
    made = numbers_of(done or "", len(before.visits))
    steps = step_changes(before, after, (plans_of(before, found), plans_of(after, found)), made)
    assembly = trial.before.assembly
    old = {(one.kind, one.message) for one in before.findings}
    new = [*trial.changed.new, *(o for o in after.findings if (o.kind, o.message) not in old)]
    findings = tuple(worst_first([*after.findings, *trial.findings]))
    if form == "text":
        return changed_route_text(assembly.name, assembly.units, changes, steps, new), findings
    data = changed_route_json(assembly.name, changes, steps, new)
    return json_text({**data, "findings": findings_json(findings)}), findings


def numbers_of(words: str, most: int) -> frozenset[int]:
    """The steps of "1-7, 9". Raises WordError for what is no such list."""
    numbers: set[int] = set()
    for word in filter(None, re.split(r"[,\s]+", words)):
        span = re.fullmatch(r"(\d{1,4})(?:-(\d{1,4}))?", word)
        first, last = (int(one or span[1]) for one in span.groups()) if span else (0, 0)
        if not 1 <= first <= last <= most:
            raise WordError(
                f"--done {words}: {word} is no step of this route",
                f"steps are 1 to {most}: --done 1-{min(most, 3)}",
            )
        numbers.update(range(first, last + 1))
    return frozenset(numbers)
