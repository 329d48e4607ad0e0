"""What a tool's head says of all its steps, what stands beside each, and which of them are odd.

By the rows as they were read, each filled from what stands above it where it does not say so
itself. Imports the part, the shop and `reading`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from millprep.base.findings import Finding
from millprep.reading.pages.printed import USUAL_OPERATIONS, PrintedRow, length_mm
from millprep.reading.pages.slots import Said
from millprep.reading.pages.steps import ToolSaid
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import Run, SetUp

_TURNS_SLACK = 1e-6


def check_shared(body: SetUp, tool: ToolSaid, run: Run) -> Iterator[Finding]:
    """What all steps have alike stands above them once, and is theirs; what differs is marked."""
    reaches = Counter(map(_reach, run))
    due = _due(run) if len(reaches) == 1 else None
    told = [one for one in tool.more if one.slug in ("all-to", "all-pecks", "all-turns")]
    if [one.slug for one in told] != ([due] if due else []):
        words = ", ".join(one.slug for one in told)
        yield body.wrong(f"tool {tool.number}: {words or 'nothing'} is said of all its steps")
    taps = [one for one in body.all("all-turns") if body.is_folded]
    for said in told:
        is_due = not (taps and any(page.all("all-turns") for page in body.earlier))
        is_due &= said.line == taps[0].line if taps else True
        if said.slug == "all-turns" and said.has("_back") != is_due:
            yield body.wrong(f"{said.text}: how a tap is turned back is told twice, or never", said)
        for row in run:
            if not _is_of(said, row):
                yield body.wrong(f"{said.text}: not so at step {row.step}", said)
                break
    yield from _check_operation(body, tool, run)
    yield from _check_odd(body, run, reaches)


def _reach(row: PrintedRow) -> tuple[float, tuple[float, ...], float | None]:
    return row.z_mm, row.pecks_mm, row.turns


def _due(run: Run) -> str | None:
    """The sentence of what all have alike; the depth of one alone stands beside it."""
    if run[0].turns is not None:
        return "all-turns"
    if len(run) > 1:
        return "all-to"
    return "all-pecks" if run[0].pecks_mm else None


def _is_of(said: Said, row: PrintedRow) -> bool:
    slots, units = said.slots, said.units
    if said.has("z") and abs(said.mm("z") - row.z_mm) > SLACK_MM:
        return False
    if said.has("turns") and abs(float(said["turns"]) - (row.turns or 0.0)) > _TURNS_SLACK:
        return False
    if "pecks" not in slots:
        return not row.pecks_mm
    pecks = [length_mm(one, units) for one in slots["pecks"] or ()]
    return len(pecks) == len(row.pecks_mm) and all(
        abs(one - other) <= SLACK_MM for one, other in zip(pecks, row.pecks_mm, strict=True)
    )


def _check_operation(body: SetUp, tool: ToolSaid, run: Run) -> Iterator[Finding]:
    """What is done is said where it is not what the tool is for, above or beside the steps."""
    names, told = {row.operation for row in run}, tool.said.slots.get("operation")
    usual = USUAL_OPERATIONS.get(tool.tool.kind)
    due = run[0].operation if len(names) == 1 and names != {usual} else None
    if told != due:
        yield body.wrong(f"{tool.said.text}: its steps are {', '.join(sorted(names))}", tool.said)


def _check_odd(body: SetUp, run: Run, reaches: Counter[Any]) -> Iterator[Finding]:
    """Where more than half are alike, each of the others says how it differs."""
    (usual, count), *_ = reaches.most_common()
    numbers = {row.step: row for row in run}
    for read in body.page.whole.rows:
        said = read.said
        row = numbers.get(said.count("step")) if said.has("step") else None
        if row is None or "odd" not in said.slots:
            continue
        right = None
        if 2 * count > len(run) and _reach(row) != usual:
            deeper = body.printed.z_sign * (row.z_mm - usual[0]) < 0
            right = "deeper" if deeper else "shallower"
            if row.z_mm == usual[0]:
                right = "other pecks" if row.pecks_mm != usual[1] else "other turns"
        if said["odd"] != right:
            yield body.wrong(f"step {row.step} is marked {said['odd']}, not {right}", said)
