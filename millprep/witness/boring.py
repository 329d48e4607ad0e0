"""The passes of a boring head: how they lead from the drilled hole to the bore.

Bounds of this side's own (common practice on a light mill): a pass takes a millimetre off the
diameter at the most, the last two are alike and take no more than a quarter each. Imports the part
and `reading`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.moves import FEED, ProgramRun
from millprep.reading.pages.printed import PrintedRow
from millprep.reading.pages.slots import Said
from millprep.witness.printed import SLACK_MM, Printed
from millprep.witness.set_up import Run, SetUp
from millprep.witness.speeds import Cut, power_faults

MOST_OFF_MM = 1.0
MOST_LAST_MM = 0.25
SAME_AXIS_MM = 0.05
_ALIKE_MM = 0.013  # what two readings of a coarse readout may be off
_MINUTES_DIGIT = 0.051
_INCH_FEED_DIGIT_MM = 0.00501 * 25.4  # half of the hundredth of an inch a minute that is shown
_REMEDY = "the sheet does not agree with the part file; please report it"
_SETTING = r"(?i)PASS (\d+) OF (\d+): BORE FROM (\d+\.?\d*) TO (\d+\.?\d*) (MM|IN)\b"


def faults_of_cuts(bores_mm: Sequence[float], drilled_mm: float | None) -> Iterator[str]:
    """What is wrong with bores that follow each other; drilled_mm : the hole before the first."""
    ends = bores_mm if drilled_mm is None else (drilled_mm, *bores_mm)
    cuts = [after - before for before, after in pairwise(ends)]
    if any(cut <= _ALIKE_MM for cut in cuts):
        yield "a pass takes nothing off"
    if any(cut > MOST_OFF_MM + _ALIKE_MM for cut in cuts):
        yield f"a pass takes {max(cuts):.3f} mm off the diameter; {MOST_OFF_MM:g} is the most"
    if len(cuts) > 1 and abs(cuts[-1] - cuts[-2]) > _ALIKE_MM:
        yield f"the last two take {cuts[-2]:.3f} and {cuts[-1]:.3f} mm off: they must be alike"
    if cuts and cuts[-1] > MOST_LAST_MM + _ALIKE_MM and drilled_mm is not None:
        yield f"the last takes {cuts[-1]:.3f} mm off; {MOST_LAST_MM:g} is the most"


def check_passes(printed: Printed, rows: Sequence[PrintedRow]) -> Iterator[Finding]:
    """The passes at one hole: numbered, each from where the one before it left the bore."""
    passes = [row for row in rows if row.operation == "bore"]
    size_mm = passes[-1].tool.diameter_mm if passes else 0.0
    drilled = [row.tool.diameter_mm for row in rows if row.tool.kind == "drill"]
    before_mm = max((one for one in drilled if one < size_mm), default=None)
    slack = printed.half_count_mm + SLACK_MM
    if len(passes) == 1:
        yield printed.stop("wrong-figure", "bored in one go", _REMEDY, passes[0])
    for number, row in enumerate(passes, 1):
        told = row.boring
        if told is None or (told.number, told.count) != (number, len(passes)):
            words = f"pass {number} of {len(passes)} is told as another"
            yield printed.stop("wrong-figure", words, _REMEDY, row)
            return
        if before_mm is not None and abs(told.from_mm - before_mm) > slack:
            words = f"bored from {told.from_mm:g} mm; it is {before_mm:g} by then"
            yield printed.stop("wrong-figure", words, _REMEDY, row)
        off_mm = told.to_mm - told.from_mm
        if all(abs(told.dial_on_mm - off_mm / share) > 3 * slack for share in (1, 2)):
            words = f"the dial on by {told.dial_on_mm:g} mm for {off_mm:g} off the diameter"
            yield printed.stop("wrong-figure", words, _REMEDY, row)
        before_mm = told.to_mm
    if before_mm is not None and passes and abs(before_mm - size_mm) > slack:
        words = f"the last pass leaves {before_mm:g} mm, and the bore is {size_mm:g}"
        yield printed.stop("wrong-figure", words, _REMEDY, passes[-1])


def check_boring(one: SetUp, run: Run, told: Sequence[Said]) -> Iterator[Finding]:
    """How many passes, how long they cut, and what the head's dial counts on."""
    passes = [row for row in run if row.operation == "bore"]
    holes = {row.hole for row in passes}
    if len(told) != bool(passes):
        yield one.wrong(f"{len(told)} sentences of passes for {len(passes)} of them")
        return
    owned = one.shop.cabinet.boring_head
    dial = "diameter" if owned is None else owned.dial
    for said in told:
        depth_mm = sum(-one.printed.z_sign * row.z_mm for row in passes)
        is_so = said.count("pass_count") == len(passes) and said["head_dial"] == dial
        if not is_so or not _lasts(one, passes[0], depth_mm, float(said["cut_minutes"])):
            yield one.wrong(f"{said.text} {len(passes)} passes, {depth_mm:.1f} mm, {dial}", said)
    depths = {name: {row.z_mm for row in passes if row.hole == name} for name in holes}
    for name in (name for name, deep in depths.items() if len(deep) > 1):
        yield one.wrong(f"the passes of {name} do not go equally deep")
    for row in passes:
        if row.boring is not None:
            off_mm = (row.boring.to_mm - row.boring.from_mm) / (2 if dial == "radius" else 1)
            if abs(row.boring.dial_on_mm - off_mm) > 3 * (one.printed.half_count_mm + SLACK_MM):
                words = f"step {row.step}: the dial on by {row.boring.dial_on_mm:g}, not {off_mm:g}"
                yield one.wrong(words)


def _lasts(one: SetUp, row: PrintedRow, depth_mm: float, minutes: float) -> bool:
    """Whether all cuts take so long at the feed; where none is told, at one that would do."""
    feed = row.feed_mm_per_min
    if feed is not None:
        unsure_mm = _INCH_FEED_DIGIT_MM if one.printed.setup.units == "inch" else 0.0
        slack = _MINUTES_DIGIT + depth_mm / feed * unsure_mm / feed
        return abs(minutes - depth_mm / feed) <= slack
    cut = Cut(row.operation, row.tool.diameter_mm)
    feeds = (depth_mm / max(minutes + off, 0.001) for off in (-_MINUTES_DIGIT, 0.0, _MINUTES_DIGIT))
    return any(
        not power_faults(one.shop, one.printed.part, [cut], row.rpm or math.nan, feed)
        for feed in feeds
    )


def with_settings(
    holes: Sequence[MadeHole], programs: Mapping[str, tuple[str, ProgramRun]]
) -> list[MadeHole]:
    """The holes of programs that say before each pass what the boring head is set to: an operation
    a pass, as wide as that and as deep as it feeds.

    programs : text and moves by the file that operations name
    """
    passes = {file: [*_passes(text, run)] for file, (text, run) in programs.items()}

    def split(hole: MadeHole, one: MadeOperation) -> Iterator[MadeOperation]:
        _, run = programs.get(one.file or "", ("", None))
        return _split(hole, one, run, passes.get(one.file or "", ()))

    return [
        replace(hole, operations=tuple(e for one in hole.operations for e in split(hole, one)))
        for hole in holes
    ]


@frozen
class _Pass:
    """Lines from one setting up to the next, and the bore that it makes."""

    line: int
    until: int
    bore_mm: float


def _passes(text: str, run: ProgramRun) -> Iterator[_Pass]:
    settings = [
        (number, float(match[4]) * (25.4 if match[5].upper() == "IN" else 1.0))
        for number, line in enumerate(text.splitlines(), 1)
        if (match := re.search(_SETTING, line))
    ]
    ends = [*(line for line, _ in settings), run.lines + 1][1:]
    for (line, bore_mm), until in zip(settings, ends, strict=True):
        yield _Pass(line, until, bore_mm)


def _split(
    hole: MadeHole, one: MadeOperation, run: ProgramRun | None, passes: Sequence[_Pass]
) -> Iterator[MadeOperation]:
    """What the dry run takes for one cut, for the head is as wide at each pass: pass by pass."""
    if one.tool_kind != "boring head" or one.line is None or run is None:
        yield one
        return
    moves, has_passes = run.moves, False
    x, y, z = moves.end + moves.shift
    is_here = (moves.kind == FEED) & (moves.tool == one.tool_number)
    is_here &= np.hypot(x - hole.x_mm, y - hole.y_mm) < SAME_AXIS_MM
    for each in passes:
        is_its = is_here & (moves.line >= each.line) & (moves.line < each.until)
        if one.line < each.until and is_its.any():
            has_passes, tip_mm = True, float(np.nanmin(z[is_its]))
            yield replace(one, diameter_mm=each.bore_mm, tip_mm=tip_mm, full_mm=tip_mm)
    if not has_passes:
        yield one
