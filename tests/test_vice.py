"""The vice: what goes in, what is held and how well, each against a sum worked by hand.

The rules are common practice: a grip of a third of the height, a thin plate not squeezed on its
edges, nothing under a hole that comes through.
"""

from __future__ import annotations

from jobs import part_of, shop_of

from millprep.model.part import Face, SetupRequest
from millprep.setting.holding import Fitness, fitness_of
from millprep.setting.setups import setup_of

PLATE = "size = [120, 90, 10]"
BLIND = "[[hole]]\ndrill = 4\nat = [10, 10]\ndepth = 5\n"


def fitness(stock: str, towards_you: Face, shop: str = "", holes: str = BLIND) -> Fitness:
    """Of the lay with TOP up and that face towards you."""
    part = part_of(holes, stock)
    return fitness_of(part, shop_of(shop), setup_of(part, SetupRequest("top", towards_you), 1))


def test_a_plate_goes_into_the_vice_one_way_only() -> None:
    """120 x 90 in an opening of 100, with FRONT towards you; with LEFT 120 would lie across."""
    right, wrong = fitness(PLATE, "front"), fitness(PLATE, "left")
    assert right.goes_in
    assert not wrong.goes_in
    assert right.worth > wrong.worth
    assert fitness(PLATE, "left", "[vice]\nopening = 120\n").goes_in


def test_how_much_is_held() -> None:
    """Jaws 30 high over the tallest parallels that leave 8 mm of grip, 22: 8 of a third of 10 mm,
    which is enough. A bar 20 x 20 x 120 on its end is held by 8 of 40 at least; by a third."""
    assert fitness(PLATE, "front").depth == 1
    low = fitness("size = [20, 20, 120]", "front", "[vice]\njaw = { height = 10 }\n")
    assert low.depth == 10 / 40
    across = fitness("size = [20, 90, 40]", "front")
    assert across.length == 20 / 30  # 20 along the jaws, 90 across: a third is 30


def test_a_thin_plate_is_not_stiff_between_the_jaws() -> None:
    """A twentieth: 90 across wants 4.5 mm."""
    assert fitness("size = [120, 90, 4.5]", "front", holes=THROUGH).is_stiff
    assert not fitness("size = [120, 90, 4.4]", "front", holes=THROUGH).is_stiff


THROUGH = '[[hole]]\ndrill = 4\nat = [60, 45]\ndepth = "through"\n'
