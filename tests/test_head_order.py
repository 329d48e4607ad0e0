"""The order of tools on a round column: the head moves least, and the order of the work is kept."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import RICH, RICH_STOCK, plan_of, setups_of, shop_of

from millprep.planning import Operation, Plan
from millprep.planning.head import head_heights, length_mm
from millprep.planning.ordering import in_order
from millprep.sheets.listing import make_listing
from millprep.witness.listing import check_listing
from millprep.writers import written

LOSES = '[mill]\nhead_moves = "loses"\nquill_travel = {0}\n'
KINDS = {
    "drill": "drill = {0}\nat = [{1}, {2}]\ndepth = 6\n",
    "ream": 'ream = {0}\nat = [{1}, {2}]\ndepth = "through"\n',
    "sunk": "drill = {0}\ncountersink = {{ diameter = {3}, angle = 90 }}\n"
    "at = [{1}, {2}]\ndepth = 9\n",
    "recess": "drill = {0}\ncounterbore = {{ diameter = {3}, depth = 2 }}\n"
    "at = [{1}, {2}]\ndepth = 9\n",
}


def table(number: int, kind: str, size: int) -> str:
    x, y = 12 + 20 * (number % 4), 12 + 20 * (number // 4)
    return f'[[hole]]\nname = "h{number}"\n' + KINDS[kind].format(size, x, y, size + 3)


Holes = st.lists(
    st.tuples(st.sampled_from(sorted(KINDS)), st.sampled_from([3, 4, 5, 6, 8])),
    min_size=1,
    max_size=8,
).map(lambda drawn: "".join(table(n, *one) for n, one in enumerate(drawn)))
Travels = st.sampled_from([30, 40, 50, 60, 75, 90])


def planned(holes: str, travel: int, order: str = "tool") -> Plan:
    return plan_of(holes, "size = [90, 50, 16]", shop=LOSES.format(travel), order=order)


def plain(plan: Plan) -> tuple[Operation, ...]:
    """The same operations in the order that knows nothing of the head."""
    names = dict.fromkeys(one.hole.name for one in plan.setups[0].operations)
    by_hole = [[o for o in plan.setups[0].operations if o.hole.name == name] for name in names]
    return in_order(by_hole, plan.order, plan.setups[0].setup)


@settings(max_examples=60)
@given(Holes, Travels)
def test_the_head_never_moves_more_often_and_the_work_keeps_its_order(
    holes: str, travel: int
) -> None:
    plan = planned(holes, travel)
    operations = plan.setups[0].operations
    assert len(head_heights(operations, plan.shop)) <= len(head_heights(plain(plan), plan.shop))
    assert sorted(map(id, operations)) == sorted(map(id, plain(plan)))
    keeps_its_order(operations, plain(plan))


def keeps_its_order(operations: tuple[Operation, ...], usual: tuple[Operation, ...]) -> None:
    for name in {one.hole.name for one in operations}:
        at_hole = [one.name for one in operations if one.hole.name == name]
        assert at_hole == [one.name for one in usual if one.hole.name == name]
    names = [one.name for one in operations]
    spots = names.count("spot drill")
    assert set(names[:spots]) <= {"spot drill"}
    finishes = [n for n, name in enumerate(names) if name in ("bore", "ream", "tap")]
    cuts = [n for n, name in enumerate(names) if name not in ("bore", "ream", "tap")]
    assert not finishes or max(cuts) < min(finishes)
    tools = [
        tool for tool, _ in itertools.groupby((one.tool, one.name == "tap") for one in operations)
    ]
    assert len(tools) == len(set(tools))  # each tool once still


def fewest_by_trying_all(plan: Plan) -> int:
    """Against every order of the tools that keeps the work's order: few tools only."""
    operations = plain(plan)
    runs = [list(run) for _, run in itertools.groupby(operations, key=lambda one: one.tool)]
    best = len(head_heights(operations, plan.shop))
    for order in itertools.permutations(range(len(runs))):
        tried = tuple(one for n in order for one in runs[n])
        try:
            keeps_its_order(tried, operations)
        except AssertionError:
            continue
        best = min(best, len(head_heights(tried, plan.shop)))
    return best


@settings(max_examples=25)
@given(
    st.lists(
        st.tuples(st.sampled_from(["drill", "sunk"]), st.sampled_from([3, 5, 8])),
        min_size=1,
        max_size=4,
    ),
    Travels,
)
def test_no_order_moves_the_head_less(drawn: list[tuple[str, int]], travel: int) -> None:
    plan = planned("".join(table(n, *one) for n, one in enumerate(drawn)), travel)
    operations = plan.setups[0].operations
    assert len(head_heights(operations, plan.shop)) == fewest_by_trying_all(plan)


def test_a_countersink_comes_forward_to_the_tools_of_its_length() -> None:
    """Spot drill 89 or so and countersink 60 go with the drill of 3 mm (61 long, ISO 235), before
    the long drill: in the usual order the head would go up for it and down again."""
    holes = table(0, "sunk", 3) + table(1, "drill", 8)
    plan = planned(holes, 50)
    heights = head_heights(plan.setups[0].operations, plan.shop)
    assert len(heights) < len(head_heights(plain(plan), plan.shop))
    (head,) = setups_of(plan)[0]["said"]["HEAD"]
    assert head.endswith("find zero again there; the tools stand in the order that moves it least.")


def test_zero_is_found_again_over_the_truest_hole_made_by_then() -> None:
    """After spotting only, in a spot; after the drills, over a drilled hole; tapped ones never."""
    tapped = '[[hole]]\nname = "first"\ntap = "M4"\nat = [70, 12]\ndepth = 8\n'
    plan = planned(tapped + table(0, "drill", 3) + table(1, "sunk", 8), 50)
    heights = head_heights(plan.setups[0].operations, plan.shop)
    assert heights[0].again is None
    for height in heights[1:]:
        assert height.again is not None
        done = plan.setups[0].operations[: plan.setups[0].operations.index(height.again) + 1]
        assert not set(height.tools) & {one.tool for one in done}  # made before this height
        assert height.again.name == "spot drill" or height.again.hole.kind != "tap"
    words = setups_of(plan)[0]["said"]["HEIGHTS"][1:]
    assert all(", zero found again " in line for line in words)
    assert any(line.startswith("change") and "over h1:" in line for line in words)


def test_a_head_that_keeps_its_place_leaves_the_usual_order() -> None:
    kept = plan_of(RICH, RICH_STOCK)
    tools, usual = (
        [tool for tool, _ in itertools.groupby(one.tool for one in operations)]
        for operations in (kept.setups[0].operations, plain(kept))
    )
    assert tools == usual


@pytest.mark.parametrize("order", ["tool", "row", "hole"])
@pytest.mark.parametrize("travel", [40, 90])
def test_the_sheet_is_read_back_in_every_order(order: str, travel: int) -> None:
    """Hole by hole a tool comes again: each change counts."""
    plan = plan_of(RICH, RICH_STOCK, shop=LOSES.format(travel), order=order)
    text = written("listing", make_listing(plan, "mm"), "text")
    found = check_listing(text.encode(), "text", plan.part, plan.shop, file="sheet")
    assert found == []


def test_many_tools_are_put_in_order_at_once() -> None:
    """Thirty drills of thirty lengths: the sets tried stay few."""
    holes = "".join(
        f'[[hole]]\nname = "d{n}"\ndrill = {1 + n * 0.3:.1f}\nat = [{10 + 12 * (n % 10)}, '
        f"{12 + 14 * (n // 10)}]\ndepth = {4 + n % 7}\n"
        for n in range(30)
    )
    plan = plan_of(holes, "size = [140, 60, 16]", shop=LOSES.format(45))
    lengths = {length_mm(one.tool) for one in plan.setups[0].operations}
    assert len(lengths) > 15
    heights = head_heights(plan.setups[0].operations, plan.shop)
    assert len(heights) <= len(head_heights(plain(plan), plan.shop))
    assert shop_of(LOSES.format(45)).mill.quill_travel_mm == 45
