"""The quill's budget: which tools work from one height of the head, and what is picked up between.

On a round column the head swings when it is raised or lowered, and X and Y are lost. One height
does for tools whose lengths differ little enough:

    longest - shortest + deepest + 5  <=  travel of the quill      (common practice)

A zero that was lost is found again in two holes. With a hole's centre off by e it is off by about
e, and turned by e over the distance of the two; at the far end of the part that turn counts most.
Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations, groupby
from typing import Literal

import numpy as np

from millprep.base.records import frozen, replace
from millprep.model.part import Hole, Part
from millprep.model.shop import Shop
from millprep.model.tools import Cutter, Drill, Reamer, SpotDrill
from millprep.planning.plan import Operation, SetupPlan
from millprep.reference.drills import drill_length_mm
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.zeroing import AxisZero

LEAST_HOLE_MM = 3.0  # wide enough for a pin or an indicator (common practice)
FINISHED_OFF_MM = 0.01  # what a reamed or bored hole is found again to (common practice)
DRILLED_OFF_MM = 0.03  # a drilled one (common practice)
_DIRECTIONS = 32  # the farthest pair lies among the outermost holes, to 0.2 % of its length


def recovery_pair(
    operations: Sequence[Operation], reach_mm: float
) -> tuple[Operation, Operation] | None:
    """The two holes that restore a lost zero best; None where there are not two fit for it.

    reach_mm : how far the work reaches, where a turn about the holes counts
    """
    last = {one.hole.name: one for one in operations}.values()
    fit = [one for one in last if one.hole.thread is None and one.hole.diameter_mm >= LEAST_HOLE_MM]
    true = [one for one in fit if _off_mm(one) < DRILLED_OFF_MM]
    candidates = [*_outermost(true), *_outermost(fit)]
    pairs = [
        (cost, one, other)
        for one, other in combinations(candidates, 2)
        if (cost := pair_off_mm(one, other, reach_mm)) < float("inf")
    ]
    if not pairs:
        return None
    _, one, other = min(pairs, key=lambda pair: pair[0])
    return one, other


def pair_off_mm(one: Operation, other: Operation, reach_mm: float) -> float:
    """How far off the work may come with a zero restored from the two [mm]."""
    apart = math.hypot(one.x_mm - other.x_mm, one.y_mm - other.y_mm)
    if apart < LEAST_HOLE_MM:
        return float("inf")
    together = math.hypot(_off_mm(one), _off_mm(other))
    return together / 2 + together / apart * reach_mm


def _off_mm(operation: Operation) -> float:
    return FINISHED_OFF_MM if operation.hole.kind.is_true else DRILLED_OFF_MM


def _outermost(operations: Sequence[Operation]) -> list[Operation]:
    """The holes that lie farthest out in each of many directions, in their order."""
    if not operations:
        return []
    places = np.array([[one.x_mm for one in operations], [one.y_mm for one in operations]])
    angles = np.arange(_DIRECTIONS) * math.pi / _DIRECTIONS
    along = np.cos(angles)[:, None] * places[0] + np.sin(angles)[:, None] * places[1]
    ends = {*along.argmin(axis=1).tolist(), *along.argmax(axis=1).tolist()}
    return [operations[index] for index in sorted(ends)]


SPARE_MM = 5.0  # above the face and below the stop together (common practice)
_MOST_WEIGHED = 200  # runs of a tool; of more, each height takes what it can
Run = Sequence[Operation]
UNKNOWN_LENGTH_MM = 60.0  # countersinks, counterbores, end mills, boring heads (common practice)


@frozen
class PickUp:
    """What gives X and Y back after the head has moved.

    by   : "edges", what they were set on at first; "rim", clocked (the bore, where the blank has
           one); "hole", of the operation `made`
    """

    by: Literal["edges", "rim", "hole"]
    made: Operation | None = None


@frozen
class HeadHeight:
    """Tools in a row that one height of the head serves.

    tools : one a change of tool, so that one may come again
    again : what X and Y are picked up from before it; None at the first height
    longest, shortest : of the tools; deepest_mm : below the face; needed_mm : of the quill's travel
    """

    tools: tuple[Cutter, ...]
    longest: Cutter
    shortest: Cutter
    deepest_mm: float
    again: PickUp | None = None

    @property
    def needed_mm(self) -> float:
        return length_mm(self.longest) - length_mm(self.shortest) + self.deepest_mm + SPARE_MM


def length_mm(tool: Cutter) -> float:
    """Overall, by the shop file, else by ISO 235: jobber drills, and reamers made as long as they;
    spot drills as long as stub drills (DIN lengths of spot drills, from memory)."""
    if tool.length_mm:
        return tool.length_mm
    diameter = tool.diameter_mm
    listed = None
    if isinstance(tool, Drill | Reamer):
        listed = drill_length_mm("jobber", "overall", diameter)
    elif isinstance(tool, SpotDrill):
        listed = drill_length_mm("stub", "overall", diameter)
    return UNKNOWN_LENGTH_MM if listed is None else listed


def head_heights(
    operations: Sequence[Operation],
    shop: Shop,
    zeros: Sequence[AxisZero] = (),
    *,
    is_disc: bool = False,
) -> list[HeadHeight]:
    """The heights of the head in order of use, as few as the quill allows.

    zeros : how X and Y got their zero; is_disc : of a disc on end, its rim may be clocked
    Empty where the head keeps its place, or where the quill's travel is not known.
    """
    travel_mm = shop.mill.quill_travel_mm
    if shop.mill.head_moves == "keeps" or travel_mm is None:
        return []
    powered = [one for one in operations if not one.by_hand]
    runs = [list(run) for _, run in groupby(powered, key=lambda one: one.tool)]
    heights: list[HeadHeight] = []
    begin = 0
    for end in _ends(runs, travel_mm):
        done = [one for run in runs[:begin] for one in run]
        again = _pick_up(done, zeros, is_disc=is_disc)
        heights.append(replace(_height(runs[begin:end]), again=again))
        begin = end
    return heights


def is_toleranced(hole: Hole) -> bool:
    """Whether its place or size is asked for so closely that the head may not move meanwhile."""
    return hole.kind.is_true or hole.tolerance_mm is not None or hole.position_mm is not None


def _ends(runs: Sequence[Run], travel_mm: float) -> list[int]:
    """Behind which runs each height ends: as late as the quill allows, or earlier where that keeps
    holes with a tolerance at one height."""
    late: list[int] = []
    begin = 0
    for end in range(1, len(runs) + 1):
        is_too_much = _height(runs[begin:end]).needed_mm > travel_mm + 1e-9
        if is_too_much and end - begin > 1:
            late.append(end - 1)
            begin = end - 1
    late += [len(runs)] * bool(runs)
    spans = _spans(runs)
    if len(runs) > _MOST_WEIGHED or not any(_parted(spans, 0, end) for end in late[:-1]):
        return late
    return _weighed(runs, spans, travel_mm)


def _spans(runs: Sequence[Run]) -> list[tuple[int, int]]:
    """(first run, last run) of each hole with a tolerance."""
    at: dict[str, list[int]] = {}
    for number, run in enumerate(runs):
        for one in run:
            if is_toleranced(one.hole):
                at.setdefault(one.hole.name, []).append(number)
    return [(min(numbers), max(numbers)) for numbers in at.values()]


def _parted(spans: Sequence[tuple[int, int]], begin: int, end: int) -> int:
    """How many of the holes that are begun between two runs are not ended there."""
    return sum(begin <= first < end <= last for first, last in spans)


def _weighed(runs: Sequence[Run], spans: Sequence[tuple[int, int]], travel_mm: float) -> list[int]:
    """The ends of the heights with the fewest holes parted, then the fewest heights."""
    best: list[tuple[int, int, list[int]]] = [(0, 0, [])]
    for end in range(1, len(runs) + 1):
        ways = []
        for begin in range(end - 1, -1, -1):
            if end - begin > 1 and _height(runs[begin:end]).needed_mm > travel_mm + 1e-9:
                break
            parted, moves, ends = best[begin]
            ways.append((parted + _parted(spans, begin, end), moves + 1, [*ends, end]))
        best.append(min(ways, key=lambda way: way[:2]))
    return best[-1][2]


def _pick_up(
    done: Sequence[Operation], zeros: Sequence[AxisZero], *, is_disc: bool
) -> PickUp | None:
    """What gave zero at first, or else a hole: finished, drilled, or the cone of a spot.

    One hole is enough, for the part has not been turned.
    """
    if not done:
        return None
    if is_disc and all(zero.zero == "centre" for zero in zeros):
        return PickUp("rim")
    if zeros and all(map(_is_there, zeros)):
        return PickUp("edges")

    def rank(one: Operation) -> int:
        if one.is_true:
            return 0
        is_wide = one.tool.diameter_mm >= LEAST_HOLE_MM and one.hole.thread is None
        if one.name == "drill" and is_wide:
            return 1
        return 2 if one.name == "spot drill" else 3

    return PickUp("hole", min(done, key=rank))


def _is_there(zero: AxisZero) -> bool:
    """Whether it can be touched with the part in."""
    touch = zero.touch
    is_late = touch is not None and touch.against != "stop" and not touch.is_before
    return is_late and not zero.is_lost


def heights_of(setup_plan: SetupPlan, part: Part, shop: Shop) -> list[HeadHeight]:
    """The heights of the head in a setup."""
    is_disc = is_disc_on_end(part, setup_plan.setup)
    return head_heights(setup_plan.operations, shop, setup_plan.zeros, is_disc=is_disc)


def _height(runs: Sequence[Run]) -> HeadHeight:
    tools = tuple(run[0].tool for run in runs)
    deepest_mm = max(-one.z_mm for run in runs for one in run)
    return HeadHeight(tools, max(tools, key=length_mm), min(tools, key=length_mm), deepest_mm)


def moves_before(
    operations: Sequence[Operation], heights: Sequence[HeadHeight]
) -> dict[int, PickUp]:
    """The numbers, from 0, of the operations before which the head moves; what is picked up there.

    operations : of which the heights were made
    """
    powered = [number for number, one in enumerate(operations) if not one.by_hand]
    runs = [list(run) for _, run in groupby(powered, key=lambda number: operations[number].tool)]
    moves: dict[int, PickUp] = {}
    change = 0
    for height in heights:
        if height.again is not None:
            moves[runs[change][0]] = height.again
        change += len(height.tools)
    return moves
