"""How the part lies in each setup, and which face comes when: what the part file leaves open.

A face may lie in four ways on the table. Lays are judged by the trade's reasons, and so are the
orders of setups; a reason decides only where those before it are even:

    the order of setups    what locates the rest first; bores finished after what runs into them
    a lay by itself        held; zero in reach; datum on the fixed jaw; long side along the jaws
    from lay to lay        fewest turns; readings that count up; the plain view

The reasons are common practice. The choice is written into the part's own setups, so that whoever
asks the part how it lies is told the same. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import permutations
from typing import TypeAlias

import numpy as np

from millprep.base.records import frozen, replace
from millprep.model.part import FACE_AXIS, FACES, Face, LaidFor, Part, SetupRequest
from millprep.model.shop import Shop
from millprep.planning.face_order import best_orders, finished_early
from millprep.setting.holding import Holding, fitness_of, size_along_mm
from millprep.setting.seating import comes_through
from millprep.setting.setups import Setup, default_towards_you, setup_of, visits_of
from millprep.setting.strap_places import Tools
from millprep.setting.straps import held_by
from millprep.setting.turning import count_of_turns
from millprep.setting.zeroing import zeros_of
from millprep.sums.cutting import breakthrough_mm

SQUARE_WITHIN = 1.1  # a side no longer than that many times the other is not the long one
_POINT_SHARE = 0.3  # of a drill's diameter that its point is long (118 degrees)
_NONE_MM = 1e-6
_NO_TOOLS = Tools(*np.empty((6, 0)))  # straps stand where they may; a lay does not hang on them
MOST_DERIVED = 6  # visits of which every order is tried
Cost = tuple[float, ...]
Visit = tuple[SetupRequest, frozenset[str]]
"""A setup, and the names of the holes that are made in it."""


def laid(part: Part, shop: Shop) -> Part:
    """The part with a setup for each face that has work, each with its lay: the file's, or chosen.

    Raises MillprepError when the part's setups contradict each other.
    """
    visits = visits_of(part)
    idle = [request for request, names in visits if not names]
    listed = [visit for visit in visits[: len(part.setups)] if visit[1]]
    orders = _orders(part, listed, visits[len(part.setups) :])
    lays = {request: _lays(part, shop, request, names) for request, names in orders[0]}
    _, best = _best_way([[(visit, lays[visit[0]]) for visit in order] for order in orders])
    chosen = [_chosen(best, number, lays[lay.request][0]) for number, lay in enumerate(best)]
    return replace(part, setups=(*chosen, *idle))


def _orders(part: Part, listed: Sequence[Visit], others: Sequence[Visit]) -> list[list[Visit]]:
    """The orders that least speaks against; a face is set up again where that spares a bore.

    A bore that every order finishes before another hole is drilled into it waits for a visit of its
    own, if it is then finished in time.
    """
    cost, orders = _best(part, listed, others)
    early = {bore.name for bore in finished_early(part.holes, _by_face(orders[0]))}
    again = [
        visit
        for request, names in others
        for visit in (
            (request, names - early),
            (SetupRequest(request.face, holes=tuple(sorted(names & early))), names & early),
        )
        if visit[1]
    ]
    if len(again) > MOST_DERIVED:
        return orders
    cost_again, orders_again = _best(part, listed, again)
    return orders_again if cost_again < cost else orders


def _best(
    part: Part, listed: Sequence[Visit], others: Sequence[Visit]
) -> tuple[Cost, list[list[Visit]]]:
    orders = [[*listed, *order] for order in permutations(others)]
    least, numbers = best_orders(part.holes, map(_by_face, orders))
    return least, [orders[number] for number in numbers]


def _by_face(visits: Sequence[Visit]) -> list[tuple[Face, frozenset[str]]]:
    return [(request.face, names) for request, names in visits]


@frozen
class _Lay:
    """One way in which a face may lie, and what speaks against it.

    request : as the part file has it; against : reason by reason, as REASONS has them
    """

    request: SetupRequest
    setup: Setup
    against: tuple[Cost, ...]
    readings_down: int

    @property
    def faces(self) -> tuple[Face, Face]:
        return self.setup.face, self.setup.towards_you

    @property
    def is_view(self) -> bool:
        return self.setup.towards_you == default_towards_you(self.setup.face)


Way: TypeAlias = "tuple[Cost, tuple[_Lay, ...]]"
"""What speaks against a row of lays, and the lays."""


def _lays(part: Part, shop: Shop, request: SetupRequest, names: frozenset[str]) -> list[_Lay]:
    """The lays that a request leaves open, the plain view first."""
    view = default_towards_you(request.face)
    faces = [view, *(face for face in FACES if FACE_AXIS[face] != FACE_AXIS[request.face])]
    if request.towards_you is not None or request.is_in_setup_axes:
        faces = [request.towards_you or view]
    setups = [
        setup_of(part, replace(request, towards_you=face), 0) for face in dict.fromkeys(faces)
    ]
    return [_lay(part, shop, request, replace(setup, names=names)) for setup in setups]


def _lay(part: Part, shop: Shop, request: SetupRequest, setup: Setup) -> _Lay:
    holding = held_by(part, shop, setup, _below_mm(part, setup), _NO_TOOLS)
    against = tuple(reason(part, shop, setup, holding) for reason in REASONS.values())
    return _Lay(request, setup, against, _readings_down(shop, setup))


def _below_mm(part: Part, setup: Setup) -> float:
    """About how far drills come out of the underside."""
    through = [hole for hole in part.holes if comes_through(hole, setup)]
    beyond = [hole.breakthrough_mm or breakthrough_mm(hole.diameter_mm) for hole in through]
    points = [_POINT_SHARE * hole.diameter_mm for hole in through]
    return max(map(sum, zip(beyond, points, strict=True)), default=0.0)


def _held_badly(part: Part, shop: Shop, setup: Setup, holding: Holding) -> Cost:
    """Holes beyond the mill's travel; no room for straps, or in jaws: it does not go in, bows,
    stands on what is drilled into, or little of it is held."""
    worth = fitness_of(part, shop, setup, _below_mm(part, setup)).worth
    strapped = holding.strapped
    is_loose = holding.way == "straps" and strapped is not None and not strapped.straps
    beyond_mm = _beyond_travel_mm(part, shop, setup)
    return beyond_mm, float(is_loose), *(-round(float(each), 1) for each in worth)


def _beyond_travel_mm(part: Part, shop: Shop, setup: Setup) -> float:
    """By how much the holes of the face lie farther apart than the mill moves."""
    centres = [hole.centre_mm for hole in part.holes if setup.face in hole.worked_from]
    if not centres:
        return 0.0
    places = setup.from_part(np.array(centres).T)
    over = [
        float(np.ptp(places[axis])) - (high - low)
        for axis, (low, high) in enumerate(shop.mill.travel_mm[:2])
    ]
    return round(sum(one for one in over if one > 0), 3)


def _zero_lost(part: Part, shop: Shop, setup: Setup, holding: Holding) -> Cost:
    """The finder reaches nothing that gives an axis its zero."""
    return (float(sum(zero.is_lost for zero in zeros_of(part, shop, setup, holding))),)


def _datum_moves(part: Part, shop: Shop, setup: Setup, holding: Holding) -> Cost:
    """A datum face on the moving jaw is true only as far as the blank is parallel."""
    moving = holding.moving
    return (float(moving is not None and part.datum[FACE_AXIS[moving]] == moving),)


def _long_across(part: Part, shop: Shop, setup: Setup, holding: Holding) -> Cost:
    """The jaws hold the short side, and the long one stands out on both sides of them."""
    across_mm = size_along_mm(setup, holding.jaws_axis)
    return (float(across_mm > SQUARE_WITHIN * size_along_mm(setup, 1 - holding.jaws_axis)),)


Reason = Callable[[Part, Shop, Setup, Holding], Cost]
REASONS: dict[LaidFor, Reason] = {
    "held": _held_badly,
    "zero": _zero_lost,
    "datum": _datum_moves,
    "long": _long_across,
}
"""What a lay is judged by in itself, the weightiest first; each gives what speaks against it."""


def _readings_down(shop: Shop, setup: Setup) -> int:
    """How many axes of the readout count downwards into the part; without one nobody minds."""
    signs = [-1.0 if letter in shop.readout.reversed_axes else 1.0 for letter in "xy"]
    middles = [setup.low_mm[axis] + setup.high_mm[axis] for axis in (0, 1)]
    down = [sign * middle < -_NONE_MM for sign, middle in zip(signs, middles, strict=True)]
    return sum(down) if shop.readout.is_fitted else 0


def _best_way(orders: Iterable[Sequence[tuple[Visit, Sequence[_Lay]]]]) -> Way:
    """An order of setups, with a lay of each, that least speaks against, and what that is.

    What was before matters through the last lay only: one best way to each lay is kept, and what
    two orders begin with in common is looked at once.
    """
    known: dict[tuple[object, ...], list[Way]] = {(): [((), ())]}
    best: list[Way] = []
    for order in orders:
        done: tuple[object, ...] = ()
        for (request, names), lays in order:
            ways, done = known[done], (*done, request.face, names)
            if done not in known:
                known[done] = [_best_to(lay, ways) for lay in lays]
        best.append(min(known[done], key=_cost_of))
    return min(best, key=_cost_of)


def _best_to(lay: _Lay, ways: Sequence[Way]) -> Way:
    further = ((_sum(cost, _cost(way[-1:], lay)), (*way, lay)) for cost, way in ways)
    return min(further, key=_cost_of)


def _cost_of(way: Way) -> Cost:
    return way[0]


def _cost(before: Sequence[_Lay], lay: _Lay) -> Cost:
    """What speaks against a lay, and against coming to it from the one before."""
    turns = sum(count_of_turns(one.faces, lay.faces) for one in before)
    by_itself = (each for reason in lay.against for each in reason)
    return (*by_itself, turns, lay.readings_down, float(not lay.is_view))


def _sum(cost: Cost, more: Cost) -> Cost:
    return tuple(map(sum, zip(cost, more, strict=True))) if cost else more


def _chosen(way: Sequence[_Lay], number: int, view: _Lay) -> SetupRequest:
    """The request with the lay chosen and, where that is not the plain view, the first reason."""
    lay = way[number]
    better = (
        name
        for name, mine, other in zip(REASONS, lay.against, view.against, strict=True)
        if mine < other
    )
    beside = (*way[max(number - 1, 0) : number], *way[number + 1 : number + 2])
    turns, other_turns = (
        sum(count_of_turns(one.faces, each.faces) for one in beside) for each in (lay, view)
    )
    last: LaidFor = "turns" if turns < other_turns else "readings"
    reason = lay.request.laid_for if lay is view else next(better, last)
    return replace(lay.setup.request, laid_for=reason)
