"""The order within a tool: patterns in their numbering where that costs little, few dial returns.

Travel by hand: from zero over the first hole to the last. On dials a return is a step in which X or
Y goes back against the way in which its places are come up to.
"""

from __future__ import annotations

import json
import math
from itertools import pairwise, permutations
from pathlib import Path

import numpy as np
import pytest
from jobs import millprep, operations_of, plan_of

from millprep.planning import make_plan
from millprep.planning.numbering import in_numbering, returns_in, travel_mm, with_fewest_returns
from millprep.planning.ordering import DIAL_ORDER
from millprep.planning.route import short_route

CIRCLE = (
    '[[hole]]\nname = "index"\ndrill = 4\ndepth = 6\n'
    "circle = {{ centre = [0, 0], diameter = 90, count = {0} }}\n"
)
STOCK = "size = [120, 120, 12]"
CENTRE = 'x = "centre"\ny = "centre"'


def _members(plan: object, name: str = "spot drill", group: str = "index") -> list[int]:
    return [
        one.hole.member or 0
        for one in operations_of(plan)  # type: ignore[arg-type]  # a Plan
        if one.name == name and one.hole.group == group
    ]


@pytest.mark.parametrize("order", ["tool", "hole", "machine"])
def test_24_holes_on_a_circle_are_done_in_their_numbering(order: str) -> None:
    """A step is 90 sin(7.5 deg) = 11.747 mm; 23 of them, from zero over number 1, 45 mm away."""
    plan = plan_of(CIRCLE.format(24), STOCK, order=order, datum=CENTRE)
    assert _members(plan) == list(range(1, 25))
    spots = [one for one in operations_of(plan) if one.name == "spot drill"]
    points = np.array([[one.x_mm for one in spots], [one.y_mm for one in spots]])
    by_hand = 45 + 23 * 90 * math.sin(math.radians(7.5))
    assert travel_mm(points, range(24)) == pytest.approx(by_hand)
    assert "drill" in {one.name for one in operations_of(plan)}
    if order != "hole":
        assert _members(plan, "drill") == list(range(1, 25))


def test_a_circle_among_other_holes_keeps_its_numbering() -> None:
    """Hub, six holes for lightness, 24 for the index: 25 + 5 x 25, 20 to the circle, 23 steps."""
    hub = '[[hole]]\nname = "hub"\ndrill = 4\ndepth = 6\nat = [0, 0]\n'
    lightening = (
        '[[hole]]\nname = "lightening"\ndrill = 4\ndepth = 6\n'
        "circle = { centre = [0, 0], diameter = 50, count = 6 }\n"
    )
    plan = plan_of(hub + lightening + CIRCLE.format(24), STOCK, datum=CENTRE)
    assert _members(plan) == list(range(1, 25))
    assert _members(plan, group="lightening") == list(range(1, 7))


def test_a_numbering_that_begins_far_from_zero_gives_way() -> None:
    """With zero on the corner of a plate number 1 lies 121 mm away and the nearest 40: 391 mm of
    travel against 310, a quarter more."""
    circle = CIRCLE.format(24).replace("[0, 0]", "[60, 60]")
    done = _members(plan_of(circle, STOCK))
    assert done != list(range(1, 25))
    assert {abs(a - b) for a, b in pairwise(done)} <= {1, 23}  # round it all the same


def test_a_numbering_that_leads_to_and_fro_gives_way() -> None:
    """Six holes in a line, written from alternate ends: 10, 100, 20, 90, 30, 80."""
    at = ", ".join(f"[{x}, 10]" for x in (10, 100, 20, 90, 30, 80))
    hole = f'[[hole]]\nname = "row"\ndrill = 4\ndepth = 6\nat = [{at}]\n'
    assert _members(plan_of(hole, STOCK), group="row") == [1, 3, 5, 6, 4, 2]


def test_nine_per_cent_more_is_taken_and_eleven_is_not() -> None:
    """Along X at 0, 100, 100 + d, 100, in that numbering: 100 + d back and forth. The short way is
    100 + d, the numbering 100 + 2 d: 9.6 % more for d = 10.6, 10.7 % for 12."""
    holes = [one.hole for one in operations_of(plan_of(_three(), STOCK)) if one.name == "drill"]
    holes = sorted(holes, key=lambda hole: hole.member or 0)
    for d, kept in ((10.6, True), (12.0, False)):
        points = np.array([[0.0, 100.0 + d, 100.0], [0.0, 0.0, 0.0]])
        short = short_route(points)
        assert travel_mm(points, short) == pytest.approx(100 + d)
        assert (in_numbering(points, holes, short) == [0, 1, 2]) is kept


def _three() -> str:
    return '[[hole]]\nname = "row"\ndrill = 4\ndepth = 6\nat = [[10, 10], [60, 10], [90, 10]]\n'


def test_what_scraps_the_part_comes_first_where_nothing_else_decides() -> None:
    """Two holes as far from zero as each other: the close one first, whichever is written first."""
    one = '[[hole]]\nname = "free"\ndrill = 4\ndepth = 6\nat = [40, 20]\n'
    other = '[[hole]]\nname = "close"\ndrill = 4\ndepth = 6\nat = [20, 40]\ntolerance = 0.02\n'
    far = "row = { start = [90, 90], step = [5, 5], count = 2 }"
    pattern = f'[[hole]]\nname = "far"\ndrill = 4\ndepth = 6\n{far}\n'
    for written in (one + other + pattern, other + one + pattern):
        done = [o.hole.name for o in operations_of(plan_of(written, STOCK)) if o.name == "drill"]
        assert done == ["close", "free", "far 1", "far 2"]


@pytest.mark.parametrize("seed", range(20))
def test_dials_have_no_order_with_fewer_returns(seed: int) -> None:
    """Against every order of six places at random."""
    points = np.random.default_rng(seed).integers(0, 8, (2, 6)) * 10.0
    holes = [one.hole for one in operations_of(plan_of(_three(), STOCK))][:1] * 6
    for ways in ((1, 1), (-1, 1)):
        found = with_fewest_returns(points, holes, short_route(points), ways)
        assert sorted(found) == list(range(6))
        least = min(returns_in(points, order, ways) for order in permutations(range(6)))
        assert returns_in(points, found, ways) <= least


def test_a_dial_sheet_goes_back_less_than_in_the_numbering(tmp_path: Path) -> None:
    """Twelve holes on a circle, come up to from the left and the front. Round and round X goes back
    for half of the steps and Y for the other half; in chains the sheet has fewer."""
    part = tmp_path / "part.toml"
    part.write_text(
        'part = "P"\nunits = "mm"\nmaterial = "brass"\n[stock]\n'
        f"{STOCK}\n[datum]\n{CENTRE}\n{CIRCLE.format(12)}"
    )
    sheet = json.loads(millprep("dials", part, "--format", "json").out)
    steps = sheet["setups"][0]["steps"]
    spots = [s for s in steps if s["operation"] == "spot drill"]
    back = sum(step[axis]["back_off"] is not None for step in spots for axis in "xy")
    plan = plan_of(CIRCLE.format(12), STOCK, datum=CENTRE)
    numbered = [o for o in operations_of(plan) if o.name == "spot drill"]
    there = sum((b.x_mm < a.x_mm - 0.01) + (b.y_mm < a.y_mm - 0.01) for a, b in pairwise(numbered))
    assert back < there
    dialled = make_plan(plan.part, plan.shop, DIAL_ORDER)
    assert [s["hole"] for s in steps] == [o.hole.name for o in operations_of(dialled)]
