"""The order of tools on a round column: the head moves least, and the order of the work is kept."""

from __future__ import annotations

import itertools
import re
from typing import NamedTuple

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import RICH, RICH_STOCK, plan_of, setups_of, shop_of

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.planning import Operation, Plan, head
from millprep.planning.head import head_heights, length_mm
from millprep.planning.head_order import parted_holes
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


def holes_of(kinds: list[str]) -> st.SearchStrategy[str]:
    return st.lists(
        st.tuples(st.sampled_from(kinds), st.sampled_from([3, 4, 5, 6, 8])), min_size=1, max_size=8
    ).map(lambda drawn: "".join(table(n, *one) for n, one in enumerate(drawn)))


Holes = holes_of(["drill", "recess", "sunk"])  # none with a tolerance
CloseHoles = holes_of(sorted(KINDS))
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


@settings(max_examples=60)
@given(CloseHoles, Travels)
def test_a_hole_with_a_tolerance_is_made_from_one_height_wherever_that_can_be(
    holes: str, travel: int
) -> None:
    """It cannot be only where its own tools do not go together in the quill's travel: longest less
    shortest, deepest and 5 mm."""
    plan = planned(holes, travel)
    operations = plan.setups[0].operations
    assert sorted(map(id, operations)) == sorted(map(id, plain(plan)))
    too_much = set()
    for name in {one.hole.name for one in operations}:
        here = [one for one in operations if one.hole.name == name]
        usual = [one for one in plain(plan) if one.hole.name == name]
        assert [one.name for one in here] == [one.name for one in usual]
        lengths = [length_mm(one.tool) for one in here]
        needed = max(lengths) - min(lengths) + max(-one.z_mm for one in here) + 5
        if here[0].hole.kind.is_true and needed > travel + 1e-6:
            too_much.add(name)
    assert parted_holes(operations, plan.shop) == too_much


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
    holes = table(0, "sunk", 3) + table(1, "drill", 7)
    plan = planned(holes, 50)
    heights = head_heights(plan.setups[0].operations, plan.shop)
    assert len(heights) < len(head_heights(plain(plan), plan.shop))
    (head,) = setups_of(plan)[0]["said"]["HEAD"]
    assert head.endswith("pick them up again there; the order of tools moves it least.")


def heads_told(plan: Plan) -> list[str]:
    """What is said at the tools or holes themselves, in order."""
    (setup,) = setups_of(plan)
    beside = [*setup["tools"], *setup.get("holes", [])]
    return [head for one in beside for head in one["said"].get("MOVED", [])]


LONG = table(0, "drill", 7) + table(1, "sunk", 3)
LOST = "HEAD: move the head before step {0}; X and Y are lost: "


def test_edges_that_are_free_are_picked_up_again_at_the_tool_itself() -> None:
    """LEFT and FRONT gave X and Y. Spot drill 10 mm is 89 long as a stub drill, the drill of 7 mm
    109 (ISO 235): with 8.1 deep and 5 to spare that is 20 + 13.1 of 50. The drill of 3 mm is 61
    long, the countersink 60: the head moves for them, after two spots and one drilled hole."""
    (move,) = heads_told(planned(LONG, 50))
    assert move == LOST.format(4) + "pick up LEFT and FRONT again, as at ZERO."


def test_of_a_disc_the_rim_is_clocked_again() -> None:
    holes = LONG.replace("[12, 12]", "[8, 0]").replace("[32, 12]", "[-12, 0]")
    centred, shop = 'x = "centre"\ny = "centre"', LOSES.format(50)
    for bore, clocked in (("", "rim"), ("bore = 9\n", "bore")):
        stock = f"diameter = 60\nlength = 16\n{bore}"
        moved = holes.replace("[8, 0]", "[18, 0]").replace("[-12, 0]", "[-18, 0]")
        (move,) = heads_told(plan_of(moved, stock, shop=shop, datum=centred))
        said = f"clock the {clocked} again, and set X and Y to 0 there."
        assert move == LOST.format(4) + said


def lost(plan: Plan) -> Plan:
    """The same where neither X nor Y can be had from a face."""
    zeros = tuple(replace(one, is_lost=True) for one in plan.setups[0].zeros)
    return replace(plan, setups=(replace(plan.setups[0], zeros=zeros),))


def test_a_drilled_hole_only_where_no_edge_is_free() -> None:
    (move,) = heads_told(lost(planned(LONG, 50)))
    words = "pick up h0 again, drilled at step 3, and set X and Y as that step has them."
    assert move == LOST.format(4) + words


def test_a_reamed_hole_rather_than_a_drilled_one() -> None:
    """Hole by hole: spot, drill and reamer of 3 mm (89, 61, 61) go together in 60 with 19 deep;
    for the drill of 7 mm (109) the head moves. h1 is spotted by then."""
    plan = planned(table(0, "ream", 3) + table(1, "drill", 7), 60, order="hole")
    (move,) = heads_told(lost(plan))
    words = "pick up h0 again, reamed at step 3, and set X and Y as that step has them."
    assert move == LOST.format(5) + words


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


DRAWER = """
[drawer]
spot_drills = [{{ diameter = 10, point_angle = 90, tip_flat = 0.2, length = 60 }}]
drills = [7{0}]
"""
STUB = ", { diameter = 7, length = 74, flute = 34 }"
AXLE = '[[hole]]\nname = "axle"\ndrill = 7\ntolerance = 0.02\nat = [20, 20]\ndepth = 8\n'


def check_listing_of(plan: Plan, good: str = "", bad: str = "") -> list[Finding]:
    """What the witness says of the listing, a part of it changed."""
    text = written("listing", make_listing(plan, "mm"), "text")
    changed = (
        re.sub(r"\s+".join(map(re.escape, good.split())), bad, text, count=1) if good else text
    )
    assert (changed != text) == bool(good)
    return list(check_listing(changed.encode(), "text", plan.part, plan.shop, file="sheet"))


@pytest.mark.parametrize(
    ("more", "hole", "lengths", "moves"),
    [
        # 109 - 60 + 8 + 2.1 of point + 5 is 64.1 of 50: the head moves between spot and drill
        ("", AXLE, [], 1),
        # 74 - 60 + 10.1 + 5 is 29.1: the short drill saves it
        (STUB, AXLE, ["the drill that is 74 mm long"], 0),
        # its flutes of 34 do not reach 35: the long one has to do, and is told from the other
        (STUB, AXLE.replace("= 8\n", "= 35\n"), ["the drill that is 109 mm long"], 1),
    ],
)
def test_a_short_drill_is_chosen_where_it_saves_a_move(
    more: str, hole: str, lengths: list[str], moves: int
) -> None:
    shop = LOSES.format(50) + DRAWER.format(more)
    plan = plan_of(hole, "size = [90, 50, 60]", shop=shop)
    assert len(head_heights(plan.setups[0].operations, plan.shop)) == moves + 1
    told = [words for tool in setups_of(plan)[0]["tools"] for words in tool["said"]["TOOL"]]
    assert [words for words in told if words.startswith("the drill that is")] == lengths
    assert check_listing_of(plan) == []


def test_the_length_of_a_drill_is_asked() -> None:
    plan = plan_of(AXLE, "size = [90, 50, 60]", shop=LOSES.format(50) + DRAWER.format(STUB))
    assert check_listing_of(plan, "74 mm long", "109 mm long")  # it is there, and reaches too
    assert check_listing_of(plan, "74 mm long", "75 mm long")
    assert check_listing_of(plan, "the drill that is 74 mm long", "")


def test_drills_of_two_lengths_are_not_told_apart_where_the_head_stays() -> None:
    shop = "[mill]\nhead_moves = 'keeps'\n" + DRAWER.format(STUB)
    plan = plan_of(AXLE, "size = [90, 50, 60]", shop=shop)
    assert "that is" not in written("listing", make_listing(plan, "mm"), "text")


def test_a_jaw_that_is_touched_before_the_part_goes_in_gives_nothing_back() -> None:
    plan = planned(LONG, 50)
    x, y = plan.setups[0].zeros
    assert y.touch is not None
    for is_before, by in ((False, "edges"), (True, "hole")):
        jaw = replace(y, touch=replace(y.touch, against="fixed jaw", is_before=is_before))
        again = head_heights(plan.setups[0].operations, plan.shop, (x, jaw))[1].again
        assert again is not None
        assert again.by == by


class Spread(NamedTuple):
    needed_mm: float


@settings(max_examples=60)
@given(
    st.lists(st.integers(0, 60), min_size=1, max_size=7),
    st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), max_size=6),
)
def test_heights_part_as_few_holes_as_any_way_of_parting_the_runs(
    needed: list[int], drawn: list[tuple[int, int]]
) -> None:
    """Against every way: a height goes over 40 mm, or over one run that no height is enough for."""
    last = len(needed) - 1
    spans = [(min(first, end, last), min(max(first, end), last)) for first, end in drawn]

    def told(ends: tuple[int, ...]) -> tuple[int, int]:
        at = [sum(end <= run for end in ends) for run in range(len(needed))]
        return sum(at[first] != at[end] for first, end in spans), len(ends)

    def holds(ends: tuple[int, ...]) -> bool:
        some = [needed[begin:end] for begin, end in itertools.pairwise((0, *ends))]
        return all(len(one) == 1 or max(one) - min(one) <= 40 for one in some)

    inner = range(1, len(needed))
    ways = [
        (*cuts, len(needed))
        for count in range(len(needed))
        for cuts in itertools.combinations(inner, count)
    ]
    best = min(told(ends) for ends in ways if holds(ends))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(head, "_height", lambda some: Spread(max(some) - min(some)))
        found = tuple(head._weighed(needed, spans, 40.0))
    assert holds(found) and told(found) == best
