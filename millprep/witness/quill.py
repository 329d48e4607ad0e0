"""HEAD against the rows: what the quill has to do from each height of the head.

Imports the shop and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from millprep.base.findings import Finding
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import Run, SetUp

LEAST_HOLE_MM = 3.0  # a pin or an indicator goes into it (common practice)
_TRUE = ("ream", "bore")
SPARE_QUILL_MM = 5.0  # above the face and below the stop together (common practice)


def check_head(one: SetUp) -> Iterator[Finding]:
    """Told where the head loses X and Y; the changes are counted one by one."""
    mill, powered = one.shop.mill, [row for row in one.rows if not row.by_hand]
    runs = [list(run) for _, run in groupby(powered, key=lambda row: row.tool_number)]
    is_due = mill.head_moves == "loses" and mill.quill_travel_mm is not None and bool(runs)
    heights, heads = one.all("head-height"), [s for s in one.page.whole.said if s.group == "HEAD"]
    if len(heads) != is_due or bool(heights) != is_due:
        yield one.wrong(f"HEAD has {len(heads)} sentences and {len(heights)} heights")
        return
    spans = [_span(said) for said in heights]
    if [change for span in spans for change in span] != (list(range(1, len(runs) + 1)) * is_due):
        yield one.wrong(f"HEAD does not count {len(runs)} changes of tool one by one")
        return
    for said in heads:
        yield from _check_moves(one, said, len(heights) - 1)
    for said, span in zip(heights, spans, strict=True):
        before = [row for run in runs[: span[0] - 1] for row in run]
        here = [row for change in span for row in runs[change - 1]]
        yield from _check_again(one, said, before)
        yield from _check_quill(one, said, here, is_alone=len(span) == 1)


def _span(said: Said) -> range:
    if said.has("change"):
        return range(said.count("change"), said.count("change") + 1)
    return range(said.count("from_change"), said.count("to_change") + 1)


def _check_moves(one: SetUp, said: Said, moves: int) -> Iterator[Finding]:
    """One less than there are heights; an order by hole is not one that moves it least."""
    told = {"head-stays": 0, "head-moves-once": 1}.get(said.slug)
    if (said.count("times") if told is None else told) != moves:
        yield one.wrong(f"the head moves {moves} times: {said.text}", said)
    if moves and said.has("order") == one.is_by_hole:
        yield one.wrong(f"HEAD speaks of another order: {said.text}", said)


def _check_quill(one: SetUp, said: Said, rows: Run, *, is_alone: bool) -> Iterator[Finding]:
    """The sum of lengths and depth; the travel is the mill's, the depth that of these rows."""
    long, short, deep, needed, quill = (
        said.figure(name) for name in ("longest", "shortest", "deepest", "needed", "quill")
    )
    slack = 4 * needed.half_digit_mm + SLACK_MM
    deepest = max(-one.printed.z_sign * row.z_mm for row in rows)
    reckoned = long.mm - short.mm + deep.mm + SPARE_QUILL_MM
    travel = one.shop.mill.quill_travel_mm or 0.0
    is_off = abs(deepest - deep.mm) > slack or abs(reckoned - needed.mm) > slack
    is_off |= long.mm < short.mm or (is_alone and long.mm != short.mm)
    if is_off or abs(travel - quill.mm) > quill.half_digit_mm + SLACK_MM:
        yield one.wrong(f"HEAD reckons amiss: {said.text}", said)
    if not is_alone and needed.mm > travel + slack:
        yield one.wrong(f"HEAD asks {needed.mm:g} of {travel:g} mm of quill", said)
    if said["unit"] != {"mm": "mm", "inch": "in"}[one.printed.setup.units]:
        yield one.wrong(f"HEAD reckons in {said['unit']}", said)


def _check_again(one: SetUp, said: Said, before: Run) -> Iterator[Finding]:
    """Zero is found again over a hole that was made, or spotted, before the head moves."""
    if said.has("hole") != bool(before):
        yield one.wrong("HEAD does not say where zero is found again, or says it too soon", said)
    elif before:
        at_hole = [row for row in before if row.hole == said["hole"]]
        is_spotted = any(row.operation == "spot drill" for row in at_hole)
        is_made = any(_is_wide(one, row) for row in at_hole)
        if not at_hole or (said["found"] == "spot") != (is_spotted and not is_made):
            yield one.wrong(f"HEAD finds zero again in what is not made so: {said.text}", said)
        if any(row.operation in _TRUE for row in before) and not any(
            row.operation in _TRUE for row in at_hole
        ):
            yield one.wrong(f"HEAD passes a finished bore over: {said.text}", said)


def _is_wide(one: SetUp, row: PrintedRow) -> bool:
    """Finished, or drilled wide enough for an indicator."""
    hole = one.hole_here(row.hole)
    is_drilled = row.operation == "drill" and row.tool.diameter_mm >= LEAST_HOLE_MM
    return row.operation in _TRUE or (is_drilled and hole is not None and hole.thread is None)
