"""S and F of a program, tool by tool: what it feeds at, asked by the witness's own figures.

For the programs that millprep writes, in which a tool has one speed in a setup. The feed is asked
of what goes straight down; of an end mill that goes round, `helical` asks it. Imports the part, the
shop and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from millprep.base.findings import Finding
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.model.tools import PointedTool, Tool
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.moves import BY_HAND, FEED, ProgramRun
from millprep.witness.speeds import Cut, power_faults


def program_speeds(
    shop: Shop, part: Part, runs: Mapping[str, ProgramRun], holes: Sequence[MadeHole]
) -> Iterator[Finding]:
    """What is wrong with any speed or feed of a setup's programs, once for each pair of them.

    runs  : file -> program, in the order in which they were run
    holes : that they made, with all their operations
    """
    for file, run in runs.items():
        for number, tool in run.tools.items():
            cuts = [
                _cut(one, tool)
                for hole in holes
                for one in hole.operations
                if one.tool_number == number and one.diameter_mm is not None
            ]
            if cuts:
                yield from _tool_faults(shop, part, file, run, number, cuts)


_NOT_SAID = -1.0
_STILL_MM = 1e-6


def _said(feed_mm_per_min: float) -> float | None:
    """A feed; None for the hand's."""
    return None if feed_mm_per_min == _NOT_SAID else feed_mm_per_min


def _cut(operation: MadeOperation, tool: Tool) -> Cut:
    """An end mill that goes straight down makes a recess, however much was there before it; one
    that goes round turns as fast as a drill of its own size."""
    if operation.milling == "circle" and operation.tool_kind == "end mill":
        return Cut("drill", tool.diameter_mm or 0.0, None, 0.0, tool.is_carbide)
    cone_mm = operation.cone_mm
    if operation.milling == "circle" and isinstance(tool, PointedTool):  # as wide as it cuts
        half = math.tan(math.radians(tool.angle_deg / 2))
        cone_mm = tool.tip_flat_mm - 2 * operation.tip_mm * half
    name = "counterbore" if operation.tool_kind == "end mill" else operation.name
    depth_mm = None if operation.full_mm is None else -operation.full_mm
    return Cut(name, operation.diameter_mm or 0.0, cone_mm, depth_mm, tool.is_carbide)


def _tool_faults(
    shop: Shop, part: Part, file: str, run: ProgramRun, number: int, cuts: Sequence[Cut]
) -> Iterator[Finding]:
    moves = run.moves
    fed, by_hand = (moves.kind == FEED) & (moves.tool == number), moves.cycle == BY_HAND
    if shop.control.axes == "xy":  # what else it feeds is the table
        fed &= by_hand
    if all(cut.operation == "tap" for cut in cuts):
        fed &= ~by_hand
    rows = np.flatnonzero(fed)
    is_sideways = np.hypot(*(moves.end - moves.start)[:2]) > _STILL_MM
    is_round = run.tools[number].kind in ("end mill", "countersink")
    feeds = np.where(by_hand | (is_sideways & is_round), _NOT_SAID, moves.feed)
    pairs = np.array([moves.rpm[rows], feeds[rows]])
    for rpm, feed in np.unique(pairs, axis=1).T.tolist():
        lines = moves.line[rows[(pairs[0] == rpm) & (pairs[1] == feed)]]
        for kind, words in power_faults(shop, part, cuts, rpm or None, _said(feed)):
            yield Finding(
                "stop",
                kind,
                f"tool {number}: {words}",
                "the program does not agree with the table of materials; please report it",
                file=file,
                line=int(lines[0]),
                last_line=int(lines[-1]) if lines[-1] != lines[0] else None,
                count=lines.size,
            )
