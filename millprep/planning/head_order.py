"""The order of tools on a round column: close holes from one height, then fewest moves of the head.

A hole with a tolerance is spotted, drilled and reamed from one height of the head wherever that can
be: what its reamer does then follows its drill. Then the order is sought in which the head moves
least, and of those one with few changes of tool.

What is done from one height may be a larger set than another without harm: whatever can follow the
smaller set can follow the larger. So from each place only the largest sets are tried, one a choice
of shortest tool and deepest hole, and these without the holes that they would begin and not end.

Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Mapping, Sequence
from itertools import count, groupby, product

from millprep.base.records import frozen
from millprep.model.shop import Shop
from millprep.model.tools import Cutter
from millprep.planning.head import SPARE_MM, Run, head_heights, is_toleranced, length_mm
from millprep.planning.plan import Operation

_MOST_TRIED = 2000  # sets of work done; beyond, the order that moves the head least is taken
Chain = tuple[str, ...]
"""The tools of holes that are to be made from one height; empty for other holes."""


_Cost = tuple[int, int, int]
"""(holes parted, heights, changes of tool)"""


@frozen
class _Piece:
    """The work of one tool without a break, as the head sees it.

    length_mm : of the tool, None where the hand works and the head is not asked
    after     : numbers of the pieces that come before
    chain, holes : whose work it is part of, and how many of those holes there are
    """

    tool: Cutter
    length_mm: float | None
    depth_mm: float
    after: frozenset[int]
    chain: Chain = ()
    holes: int = 0


def parted_holes(operations: Run, shop: Shop) -> set[str]:
    """Holes with a tolerance that are not made from one height of the head."""
    powered = [one for one in operations if not one.by_hand]
    runs = iter([list(run) for _, run in groupby(powered, key=lambda one: one.tool)])
    seen: set[str] = set()
    parted: set[str] = set()
    for height in head_heights(operations, shop):
        here = {o.hole.name for _ in height.tools for o in next(runs) if is_toleranced(o.hole)}
        parted |= here & seen
        seen |= here
    return parted


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


def fewest_parted(
    runs: Sequence[Run], after: Sequence[frozenset[int]], chains: Sequence[Chain], shop: Shop
) -> list[int] | None:
    """An order of the runs in which fewest holes with a tolerance see the head move; None: too many
    to try.

    chains : of each run, whose work it is part of
    """
    travel_mm = shop.mill.quill_travel_mm
    assert travel_mm is not None  # nothing is parted where it is not known
    given = zip(runs, after, chains, strict=True)
    pieces = [_piece(run, before, chain) for run, before, chain in given]
    heights = _fewest_parted(pieces, travel_mm)
    return None if heights is None else [n for done in heights for n in sorted(done)]


def _piece(run: Run, after: frozenset[int], chain: Chain = ()) -> _Piece:
    depths = [-one.z_mm for one in run if not one.by_hand]
    tool, holes = run[0].tool, len({one.hole.name for one in run})
    length = length_mm(tool) if depths else None
    return _Piece(tool, length, max(depths, default=0.0), after, chain, holes)


def _fewest_parted(pieces: Sequence[_Piece], travel_mm: float) -> list[frozenset[int]] | None:
    """What is done from each height, in order: the cheapest first, by holes that are parted, then
    heights, then changes of tool."""
    whole = _whole_chains(pieces)
    everything, ticket = frozenset(range(len(pieces))), count()
    start: frozenset[int] = frozenset()
    best: dict[frozenset[int], _Cost] = {start: (0, 0, 0)}
    waiting: list[tuple[_Cost, int, frozenset[int], list[frozenset[int]]]] = [
        ((0, 0, 0), next(ticket), start, [])
    ]
    while waiting and len(best) < _MOST_TRIED:
        (parted, moves, changes), _, done, heights = heapq.heappop(waiting)
        if done == everything:
            return heights
        for more in _sets_to_try(pieces, whole, done, travel_mm):
            reached = done | more
            tools = {pieces[number].tool for number in more}
            begun = _begun_only(pieces, whole, done, more)
            cost = (parted + begun, moves + 1, changes + len(tools))
            if cost < best.get(reached, (len(pieces) ** 2, 0, 0)):
                best[reached] = cost
                heapq.heappush(waiting, (cost, next(ticket), reached, [*heights, more]))
    return None


def _whole_chains(pieces: Sequence[_Piece]) -> dict[Chain, frozenset[int]]:
    """Of each chain the pieces that the spindle drives."""
    driven = [n for n, piece in enumerate(pieces) if piece.chain and piece.length_mm is not None]
    return {
        chain: frozenset(n for n in driven if pieces[n].chain == chain)
        for chain in {pieces[n].chain for n in driven}
    }


def _begun_only(
    pieces: Sequence[_Piece],
    whole: Mapping[Chain, frozenset[int]],
    done: frozenset[int],
    more: frozenset[int],
) -> int:
    """How many holes are begun from this height and not ended."""
    return sum(
        max(pieces[number].holes for number in chain)
        for chain in whole.values()
        if chain & more and not chain & done and not chain <= more
    )


def _sets_to_try(
    pieces: Sequence[_Piece],
    whole: Mapping[Chain, frozenset[int]],
    done: frozenset[int],
    travel_mm: float,
) -> Iterator[frozenset[int]]:
    """The largest sets, each as it is and without what it would begin and not end."""
    for largest in _largest_sets(pieces, done, travel_mm):
        yield largest
        begun = [
            chain
            for chain in whole.values()
            if chain & largest and not chain & done and not chain <= largest
        ]
        less = set(largest).difference(*begun)
        while waits := {n for n in less if not pieces[n].after <= done | less}:
            less -= waits
        if less and less < largest:
            yield frozenset(less)


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
