"""Several pieces of a part: what stays in one clamping, and one setup plan for all on one table.

A part that is put back against the stop comes to lie a little off. What bears no such error is
spotted, drilled and finished before the piece is taken out:

    piece 1  [spot drill  ream]      piece 2  [spot drill  ream]      piece 3  [spot drill  ream]
    spot:   piece 3  1  2            drill 3.3:   piece 2  3  1       tap:     piece 1  2  3

and the rest by tool over all pieces; the piece that is in stays in for the next tool. On one table
each lies and is held as the first; its zero is so far from the first's along X and Y, which is
added to every place. Imports layers 0 to 2, planning's data and what stands on the table.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, groupby, pairwise

from millprep.base.records import frozen, replace
from millprep.model.part import Hole, Part
from millprep.model.scene import Box, Disc, Drilled, Pieces, Point, Scene, blanks_of
from millprep.model.shop import Shop
from millprep.planning.plan import Operation, Place, Plan, SetupPlan
from millprep.setting.fixtures import clamped_scene

LOADING_S = 30.0  # to wipe, put in, tighten and tap down (common practice)


@frozen
class Visit:
    """A piece in one clamping: its number, and its steps by their numbers in the setup."""

    piece: int
    steps: tuple[int, ...]


@frozen
class Effort:
    """How often a piece is put in and a tool changed: as planned, and piece by piece."""

    loadings: int
    changes: int
    loadings_each: int
    changes_each: int

    def saved_min(self, shop: Shop) -> float:
        """What the plan saves against piece by piece; negative where it costs."""
        changes = (self.changes_each - self.changes) * shop.mill.tool_change_s
        return (changes - (self.loadings - self.loadings_each) * LOADING_S) / 60


def batched(plan: Plan, pieces: int) -> Plan:
    """The plan for so many pieces: in each setup what stays in one clamping comes first."""
    if pieces == 1:
        return plan
    setups = tuple(_kept_first(one, plan) for one in plan.setups)
    return replace(plan, setups=setups, pieces=pieces)


def _kept_first(setup_plan: SetupPlan, plan: Plan) -> SetupPlan:
    operations = setup_plan.operations
    if plan.order == "hole":  # all is done at a hole before the table moves: a piece stays in
        return replace(setup_plan, kept=len(operations))
    names = {one.hole.name for one in operations if is_kept(one.hole, plan.part, plan.shop)}
    names |= {one.hole.name for one in operations if names.intersection(one.hole.meets)}
    kept = [one for one in operations if one.hole.name in names]
    rest = [one for one in operations if one.hole.name not in names]
    while kept and rest and rest[0].tool == kept[-1].tool:  # the tool that is in goes on
        kept.append(rest.pop(0))
    return replace(setup_plan, operations=(*kept, *rest), kept=len(kept))


def is_kept(hole: Hole, part: Part, shop: Shop) -> bool:
    """Whether it is made in one clamping: round and to size, with a fit, or with its place asked
    for more closely than the stop repeats."""
    round_mm = None if hole.position_mm is None else hole.position_mm / 2
    own = [one for one in (hole.tolerance_mm, round_mm) if one is not None]
    own = own or [one for one in (part.general_tolerance_mm,) if one is not None]
    is_close = any(one < shop.vice.reseating_mm - 1e-9 for one in own)
    return hole.kind.is_true or hole.fit is not None or is_close


def runs_of(operations: Sequence[Operation]) -> list[int]:
    """How many steps each change of tool is for; tapping apart."""
    runs = groupby(operations, key=lambda one: (one.tool, one.name == "tap"))
    return [len(list(run)) for _, run in runs]


def visits_of(setup_plan: SetupPlan, pieces: int) -> list[Visit]:
    """The clampings in their order: each step once at each piece."""
    kept = tuple(range(1, setup_plan.kept + 1))
    visits = [Visit(piece, kept) for piece in range(1, pieces + 1)] if kept else []
    first = len(kept) + 1
    for count in runs_of(setup_plan.operations[len(kept) :]):
        begin = visits[-1].piece if visits else 1
        steps = tuple(range(first, first + count))
        for piece in (*range(begin, pieces + 1), *range(1, begin)):
            if visits and visits[-1].piece == piece:
                visits[-1] = Visit(piece, (*visits[-1].steps, *steps))
            else:
                visits.append(Visit(piece, steps))
        first += count
    return visits


def effort_of(setup_plan: SetupPlan, pieces: int) -> Effort:
    """What the plan of a setup takes, and what all pieces take one after the other."""
    operations = setup_plan.operations
    visits = visits_of(setup_plan, pieces)
    tools = [operations[step - 1].tool for visit in visits for step in visit.steps]
    together = len(runs_of(sorted_back(setup_plan)))
    each = 1 if together == 1 else together * pieces
    changes = 1 + sum(one != other for one, other in pairwise(tools))
    return Effort(len(visits), changes, pieces, each)


def sorted_back(setup_plan: SetupPlan) -> tuple[Operation, ...]:
    """The operations with each tool once, as for one piece."""
    operations = setup_plan.operations
    tools = list(dict.fromkeys((one.tool, one.name == "tap") for one in operations))
    key = {tool: place for place, tool in enumerate(tools)}
    return tuple(sorted(operations, key=lambda one: key[one.tool, one.name == "tap"]))


_TOUCH_MM = 1e-6
_CLEAR_MM = 100.0  # wider than any chuck


def on_one_table(setup_plan: SetupPlan, places_mm: Sequence[Place]) -> SetupPlan:
    """All that each tool does, piece after piece, before the next tool comes in.

    places_mm : zero of each piece from the first's, which is (0, 0)
    """
    setup = setup_plan.setup
    runs = [list(run) for _, run in groupby(setup_plan.operations, key=lambda one: one.tool)]
    operations = tuple(
        _at(one, number, place)
        for run in runs
        for number, place in enumerate(places_mm, 1)
        for one in run
    )
    others = tuple(
        replace(one, low_mm=moved(one.low_mm, place), high_mm=moved(one.high_mm, place))
        for place in places_mm[1:]
        for one in setup.obstacles
    )
    setup = replace(setup, clamps=(*setup.clamps, *others))
    return replace(setup_plan, setup=setup, operations=operations, places_mm=tuple(places_mm))


def loaded_in_turn(setup_plan: SetupPlan, pieces: int) -> SetupPlan:
    """The steps of all pieces in the order of their clampings, one vice loaded again and again."""
    operations = tuple(
        replace(setup_plan.operations[step - 1], piece=visit.piece)
        for visit in visits_of(setup_plan, pieces)
        for step in visit.steps
    )
    return replace(setup_plan, operations=operations, loaded=pieces)


def places_apart(scene: Scene, pieces: int) -> tuple[Place, ...]:
    """Where pieces that are put in one after another are taken to stand: clear of each other."""
    solids = (*blanks_of(scene.stock), *scene.fixtures, *scene.backing)
    low = min(one.low_mm[0] for one in solids)
    high = max(one.high_mm[0] for one in solids)
    return tuple((n * math.ceil(high - low + _CLEAR_MM), 0.0) for n in range(pieces))


def _at(one: Operation, number: int, place: Place) -> Operation:
    return replace(one, x_mm=one.x_mm + place[0], y_mm=one.y_mm + place[1], piece=number)


def moved(point: Point, place: Place) -> Point:
    """A point of the first piece at another one."""
    return point[0] + place[0], point[1] + place[1], point[2]


def table_scene(part: Part, shop: Shop, setup_plan: SetupPlan, places_mm: Sequence[Place]) -> Scene:
    """What stands on the table: all blanks, and what holds them.

    setup_plan : of one piece
    """
    one = clamped_scene(part, shop, setup_plan.setup, setup_plan.holding)
    if not places_mm:
        return one
    return replace(
        one,
        stock=Pieces(tuple(_solid(b, p) for p in places_mm for b in blanks_of(one.stock))),
        fixtures=tuple(_box(b, p, n) for n, p in enumerate(places_mm, 1) for b in one.fixtures),
        drilled=tuple(_room(room, place) for place in places_mm for room in one.drilled),
        backing=tuple(_box(b, p, n) for n, p in enumerate(places_mm, 1) for b in one.backing),
    )


def _solid(blank: Box | Disc, place: Place) -> Box | Disc:
    return replace(blank, low_mm=moved(blank.low_mm, place), high_mm=moved(blank.high_mm, place))


def _box(box: Box, place: Place, number: int) -> Box:
    low, high = moved(box.low_mm, place), moved(box.high_mm, place)
    return Box(low, high, f"{box.name} of piece {number}")


def _room(room: Drilled, place: Place) -> Drilled:
    return replace(room, start_mm=moved(room.start_mm, place), end_mm=moved(room.end_mm, place))


def in_each_other(scene: Scene, count: int) -> Iterator[str]:
    """Pieces that stand in each other, or in what holds another. scene : as `table_scene` has it"""
    blanks = blanks_of(scene.stock)
    for one, other in combinations(range(count), 2):
        if _overlap(blanks[one], blanks[other]):
            yield f"pieces {one + 1} and {other + 1} overlap"
    each = len(scene.fixtures) // count
    for number, fixture in enumerate(scene.fixtures):
        for index, blank in enumerate(blanks):
            if number // each != index and _overlap(fixture, blank):
                yield f"{fixture.name} is where piece {index + 1} goes"


def _overlap(one: Box | Disc, other: Box | Disc) -> bool:
    ends = zip(one.low_mm, one.high_mm, other.low_mm, other.high_mm, strict=True)
    return all(min(b, d) - max(a, c) > _TOUCH_MM for a, b, c, d in ends)
