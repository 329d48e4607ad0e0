"""Several pieces of a part on one table: one setup plan for all of them, by tool.

Each lies and is held as the first; its zero is so far from the first's along X and Y, which is
added to every place. Imports layers 0 to 2, planning's data and what stands on the table.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import combinations, groupby

from millprep.base.records import replace
from millprep.model.part import Part
from millprep.model.scene import Box, Disc, Drilled, Pieces, Point, Scene, blanks_of
from millprep.model.shop import Shop
from millprep.planning.batch import visits_of
from millprep.planning.plan import Operation, Place, SetupPlan
from millprep.setting.fixtures import clamped_scene

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
            yield f"pieces {one + 1} and {other + 1} stand in each other"
    each = len(scene.fixtures) // count
    for number, fixture in enumerate(scene.fixtures):
        for index, blank in enumerate(blanks):
            if number // each != index and _overlap(fixture, blank):
                yield f"{fixture.name} stands in piece {index + 1}"


def _overlap(one: Box | Disc, other: Box | Disc) -> bool:
    ends = zip(one.low_mm, one.high_mm, other.low_mm, other.high_mm, strict=True)
    return all(min(b, d) - max(a, c) > _TOUCH_MM for a, b, c, d in ends)
