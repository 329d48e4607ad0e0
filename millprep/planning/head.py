"""The quill's budget: which tools work from one height of the head, and in which order.

On a round column the head swings when it is raised or lowered, and X and Y are lost. One height
does for tools whose lengths differ little enough:

    longest - shortest + deepest + 5  <=  travel of the quill      (common practice)

Among the orders that the work allows, the one is sought in which the head moves least. What is
done from one height may be a larger set than another without harm: whatever can follow the smaller
set can follow the larger. So from each place only the largest sets are tried, one a choice of
shortest tool and deepest hole.

Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby, product
from typing import Literal

from millprep.base.records import frozen
from millprep.model.part import Part
from millprep.model.shop import Shop
from millprep.model.tools import Cutter, Drill, Reamer, SpotDrill
from millprep.planning.plan import Operation, SetupPlan
from millprep.planning.recovery import LEAST_HOLE_MM
from millprep.reference.drills import drill_length_mm
from millprep.setting.round_bars import is_disc_on_end
from millprep.setting.zeroing import AxisZero

SPARE_MM = 5.0  # above the face and below the stop together (common practice)
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
    heights: list[HeadHeight] = []
    count = 0
    for tool, run in groupby(powered, key=lambda one: one.tool):
        depths = [-one.z_mm for one in run]
        depth_mm = max(depths)
        grown = _with(heights[-1], tool, depth_mm) if heights else None
        if grown is not None and grown.needed_mm <= travel_mm + 1e-9:
            heights[-1] = grown
        else:
            again = _pick_up(powered[:count], zeros, is_disc=is_disc)
            heights.append(HeadHeight((tool,), tool, tool, depth_mm, again))
        count += len(depths)
    return heights


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
    """Whether it can be touched with the part in; the stop is touched before it goes in."""
    return zero.touch is not None and not zero.is_lost and zero.touch.against != "stop"


def heights_of(setup_plan: SetupPlan, part: Part, shop: Shop) -> list[HeadHeight]:
    """The heights of the head in a setup."""
    is_disc = is_disc_on_end(part, setup_plan.setup)
    return head_heights(setup_plan.operations, shop, setup_plan.zeros, is_disc=is_disc)


def _with(height: HeadHeight, tool: Cutter, depth_mm: float) -> HeadHeight:
    tools = (*height.tools, tool)
    return HeadHeight(
        tools,
        max(tools, key=length_mm),
        min(tools, key=length_mm),
        max(height.deepest_mm, depth_mm),
        height.again,
    )


@frozen
class _Piece:
    """The work of one tool without a break, as the head sees it.

    length_mm : of the tool, None where the hand works and the head is not asked
    after     : numbers of the pieces that come before
    """

    length_mm: float | None
    depth_mm: float
    after: frozenset[int]


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


def fewest_moves(
    runs: Sequence[Sequence[Operation]], after: Sequence[frozenset[int]], shop: Shop
) -> list[int]:
    """An order of the runs in which the head moves least; the given one where none is better.

    runs  : of one tool each, in an order that may be kept
    after : for each run the numbers of those that have to come before it
    """
    travel_mm = shop.mill.quill_travel_mm
    as_given = list(range(len(runs)))
    if shop.mill.head_moves == "keeps" or travel_mm is None:
        return as_given
    in_given_order = [operation for run in runs for operation in run]
    if len(head_heights(in_given_order, shop)) < 2:
        return as_given
    pieces = [_piece(run, before) for run, before in zip(runs, after, strict=True)]
    heights = _fewest_heights(pieces, travel_mm)
    found = [number for done in heights for number in sorted(done)]
    in_new_order = [operation for number in found for operation in runs[number]]
    is_better = len(head_heights(in_new_order, shop)) < len(head_heights(in_given_order, shop))
    return found if is_better else as_given


def _piece(run: Sequence[Operation], after: frozenset[int]) -> _Piece:
    depths = [-one.z_mm for one in run if not one.by_hand]
    return _Piece(length_mm(run[0].tool) if depths else None, max(depths, default=0.0), after)


def _fewest_heights(pieces: Sequence[_Piece], travel_mm: float) -> list[frozenset[int]]:
    """What is done from each height, in order: breadth first over what has been done so far."""
    everything = frozenset(range(len(pieces)))
    ways: dict[frozenset[int], list[frozenset[int]]] = {frozenset(): []}
    seen = set(ways)
    while everything not in ways:
        further: dict[frozenset[int], list[frozenset[int]]] = {}
        for done, heights in ways.items():
            for more in _largest_sets(pieces, done, travel_mm):
                if (reached := done | more) not in seen:
                    seen.add(reached)
                    further[reached] = [*heights, more]
        ways = further
    return ways[everything]


def _largest_sets(
    pieces: Sequence[_Piece], done: frozenset[int], travel_mm: float
) -> set[frozenset[int]]:
    """The largest sets of pieces that one height serves after what is done."""
    left = [piece for number, piece in enumerate(pieces) if number not in done]
    lengths = {piece.length_mm for piece in left if piece.length_mm is not None} or {0.0}
    found = {
        _served(pieces, done, shortest, shortest + travel_mm - SPARE_MM - deepest, deepest)
        for shortest, deepest in product(lengths, {piece.depth_mm for piece in left})
    }
    largest = {one for one in found if one and not any(one < other for other in found)}
    too_deep = {
        frozenset({number})  # the quill does not suffice at any height: each by itself
        for number, piece in enumerate(pieces)
        if number not in done
        and piece.after <= done
        and piece.length_mm is not None
        and piece.depth_mm + SPARE_MM > travel_mm + 1e-9
    }
    return largest | too_deep


def _served(
    pieces: Sequence[_Piece], done: frozenset[int], shortest: float, longest: float, deepest: float
) -> frozenset[int]:
    """All that fits between two lengths and is no deeper, one after another as the work allows."""
    served: set[int] = set()
    grows = True
    while grows:
        grows = False
        for number, piece in enumerate(pieces):
            fits = piece.length_mm is None or (
                shortest <= piece.length_mm <= longest + 1e-9 and piece.depth_mm <= deepest
            )
            if fits and number not in done | served and piece.after <= done | served:
                served.add(number)
                grows = True
    return frozenset(served)
