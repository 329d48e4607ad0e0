"""HEAD against the rows: what the quill has to do from each height of the head.

Imports the shop and `reading`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from millprep.base.findings import Finding
from millprep.model.kinds import TRUE_DONE
from millprep.model.tools import Cutter
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said
from millprep.reference.drills import drill_length_mm
from millprep.witness.printed import SLACK_MM
from millprep.witness.set_up import HALF_SIZE_DIGIT_MM, Run, SetUp

LEAST_HOLE_MM = 3.0  # a pin or an indicator goes into it (common practice)
_DONE = TRUE_DONE | {"spot drill": "spotted"}
_TENTH_MM = 0.13  # half a digit of what HEAD gives: 0.05 mm, 0.005 in
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
        here = [row for change in span for row in runs[change - 1]]
        yield from _check_quill(one, said, here, is_alone=len(span) == 1)
    yield from _check_moved(one, [runs[span[0] - 1][0] for span in spans[1:]])


def check_long(
    one: SetUp, owned: Sequence[Cutter], rows: Run, told: Sequence[Said]
) -> Iterator[Finding]:
    """Of drills of one size and several lengths in the drawer it is told which, where the head
    loses X and Y: one whose flutes reach, no longer or shorter than HEAD reckons with."""
    mill = one.shop.mill
    lengths = {_overall_mm(tool): tool for tool in owned if tool.kind == "drill"}
    is_due = mill.head_moves == "loses" and mill.quill_travel_mm is not None and len(lengths) > 1
    if len(told) != is_due:
        yield one.wrong(f"{len(told)} sentences tell of {len(lengths)} lengths which drill it is")
        return
    heights = one.all("head-height")
    for said in told:
        long, half = said.mm("long_mm"), HALF_SIZE_DIGIT_MM + _TENTH_MM
        ends = [(each.mm("shortest") - half, each.mm("longest") + half) for each in heights]
        if not any(low <= long <= high for low, high in ends):
            yield one.wrong(f"HEAD reckons with no drill so long: {said.text}", said)
        deepest = max(-one.printed.z_sign * row.z_mm for row in rows)
        reach = [
            length
            for length, tool in lengths.items()
            if tool.flute_mm is None or deepest <= tool.flute_mm + one.printed.half_count_mm
        ]
        if not any(abs(said.mm("long_mm") - each) <= HALF_SIZE_DIGIT_MM for each in reach):
            yield one.wrong(f"no drill in the drawer is so long and reaches: {said.text}", said)


def _overall_mm(tool: Cutter) -> float:
    """As the drawer says, else a jobber drill of that size."""
    return tool.length_mm or drill_length_mm("jobber", "overall", tool.diameter_mm) or 0.0


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


def _check_moved(one: SetUp, firsts: Run) -> Iterator[Finding]:
    """Told where the head moves, and nowhere else: at the first step from each new height."""
    told = [said for said in one.page.whole.said if said.group == "MOVED"]
    if [said.count("moved_step") for said in told] != [row.step for row in firsts]:
        yield one.wrong(f"the head moves {len(firsts)} times, and is told to {len(told)} times")
        return
    for said, row in zip(told, firsts, strict=True):
        before = [each for each in one.rows if each.step < row.step and not each.by_hand]
        yield from _check_again(one, said, before)


def _check_again(one: SetUp, said: Said, before: Run) -> Iterator[Finding]:
    """A rim, an edge that can still be touched, a finished hole; another only where none is."""
    zeros = one.all("zero-touch", "zero-over", "zero-dial", "zero-dial-hole")
    touches = [
        touch
        for axis, zero in enumerate(zeros)
        for touch in zero.parts("touches") or (zero,)
        if not touch.has("should_read") or one.zeros[axis] == "centre"
    ]
    is_rim = one.is_disc_on_end and one.zeros == ("centre", "centre")
    is_free = len(zeros) == 2 and all(_is_free(zero) for zero in zeros)
    due = "moved-rim" if is_rim else "moved-edges" if is_free else "moved-hole"
    if said.slug != due:
        yield one.wrong(f"{due} is due, where it is said: {said.text}", said)
    elif is_rim:
        on = "rim" if one.printed.part.stock.bore_mm is None else "bore"
        yield from one.says(said, {"again_on": on, "again_at": "0"})
    elif is_free:
        edges = [(edge["with"], edge.face("on")) for edge in said.parts("again")]
        if edges != [(touch["with"], touch.face("on")) for touch in touches]:
            yield one.wrong(f"ZERO is on other edges: {said.text}", said)
    else:
        yield from _check_hole(one, said, before)


def _is_free(zero: Said) -> bool:
    """Touched with the part in, on what can be reached."""
    touches = zero.parts("touches") or (zero,)
    lost = zero.face("blocked") if zero.has("blocked") else None
    return all(
        touch.has("with")
        and not touch.has("when")
        and (touch["with"] != "finder" or touch.face("on") != lost)
        for touch in touches
    )


def _check_hole(one: SetUp, said: Said, before: Run) -> Iterator[Finding]:
    """The step that made it, or spotted it; a finished bore is not passed over for another."""
    made = [row for row in before if row.step == said.count("again_step")]
    if [row.hole for row in made] != [said["again_hole"]]:
        yield one.wrong(f"zero is picked up in what is not made so: {said.text}", said)
        return
    done = _DONE.get(made[0].operation, "drilled")
    is_better = [row for row in before if _worth(one, row) > _worth(one, made[0])]
    if said["again_done"] != done or is_better:
        better = is_better[0].hole if is_better else done
        yield one.wrong(f"{better} is better to pick up from: {said.text}", said)


def _worth(one: SetUp, row: PrintedRow) -> int:
    """How true it is found again."""
    if row.operation in TRUE_DONE:
        return 3
    return 2 if _is_wide(one, row) else int(row.operation == "spot drill")


def _is_wide(one: SetUp, row: PrintedRow) -> bool:
    """Finished, or drilled wide enough for an indicator."""
    hole = one.hole_here(row.hole)
    is_drilled = row.operation == "drill" and row.tool.diameter_mm >= LEAST_HOLE_MM
    return row.operation in TRUE_DONE or (is_drilled and hole is not None and hole.thread is None)
