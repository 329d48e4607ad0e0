"""Speeds and feeds by the witness's own figures: what is sound passes, what is broken does not."""

import itertools
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, part_of, part_text, plan_of, read_text, shop_of
from test_properties import MATERIALS, MEASURED, SETUPS, STOCK, holes

from millprep.base.records import replace
from millprep.checks import run_checks
from millprep.infiles import read_part
from millprep.model.shop import Shop
from millprep.planning import Operation, Plan, make_plan, tool_words
from millprep.reference.materials import materials
from millprep.sums import cutting
from millprep.witness.speeds import Cut, power_faults, speed_faults, wants_warning

# Two shops with steps, and mills whose speed is turned up and down, or whose table is slow.
SHOPS = {
    "metric": shop_of(),
    "inch": shop_of('base = "inch"'),
    "range": shop_of("[mill]\nspindle = { min = 60, max = 2500 }\n"),
    "wide range": shop_of("[mill]\nspindle = { min = 1, max = 24000 }\n"),
    "slow table": shop_of("[mill]\nmax_feed = 15.5\n"),
}
STEEL = part_of("[[hole]]\ndrill = 5\nat = [9, 9]\ndepth = 5\n")
Tool = tuple[list[Cut], float, float]


def tools_of(plan: Plan) -> Iterator[Tool]:
    """(cuts, rev/min, mm/min) of every tool in every setup, figures as a sheet rounds them."""
    for setup in plan.setups:
        for _, run in itertools.groupby(
            sorted(setup.operations, key=lambda one: plan.tool_numbers[one.tool]),
            key=lambda one: one.tool,
        ):
            operations = list(run)
            assert len({(one.rpm, one.feed_mm_per_min) for one in operations}) == 1
            first = operations[0]
            yield [cut_of(one) for one in operations], first.rpm, first.feed_mm_per_min


def cut_of(operation: Operation) -> Cut:
    cone = None if operation.cone_mm is None else round(operation.cone_mm, 2)
    depth = round(operation.full_mm, 2)
    return Cut(operation.name, operation.tool.diameter_mm, cone, depth)


def sound(plan: Plan) -> None:
    """In mm/min, and told in inches to a hundredth; a tap by hand, as a sheet has it."""
    for cuts, rpm, feed in tools_of(plan):
        assert power_faults(plan.shop, plan.part, cuts, rpm, feed) == []
        told = (None, None) if cuts[0].operation == "tap" else (rpm, round(feed / 25.4, 2) * 25.4)
        assert speed_faults(plan.shop, plan.part, cuts, *told) == []


@pytest.mark.parametrize("shop", SHOPS.values(), ids=SHOPS)
@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
def test_an_example_part_is_sound(path: Path, shop: Shop) -> None:
    sound(make_plan(read_part(path)[0], shop))


@pytest.mark.parametrize("shop", SHOPS.values(), ids=SHOPS)
@pytest.mark.parametrize("material", materials(), ids=lambda material: material.name)
def test_every_kind_of_hole_is_sound_in_any_material(material: object, shop: Shop) -> None:
    words = getattr(material, "name")  # noqa: B009
    sound(make_plan(part_of(RICH, RICH_STOCK, material=words), shop))


@settings(max_examples=300, derandomize=True, deadline=None)
@given(holes(), SETUPS, MATERIALS, MEASURED)
def test_any_part_is_sound(drawn: str, setups: str, material: str, measured: str) -> None:
    part = read_text(part_text(drawn + setups, STOCK + measured, material=material))
    for shop in SHOPS.values():
        sound(make_plan(part, shop))


# Each figure as the writer of a sheet may spoil it: (times S, times F).
BROKEN = [(1.5, 1), (3, 1), (10, 1), (1 / 3, 1), (1, 1.5), (1, 3), (1, 10), (1, 1 / 5)]


@pytest.mark.parametrize("name", ["metric", "inch", "range"])
@pytest.mark.parametrize(("faster", "coarser"), BROKEN)
def test_a_spoiled_figure_is_caught_at_every_tool(name: str, faster: float, coarser: float) -> None:
    """Slower by less than a half or a third is not: that costs time only."""
    shop = SHOPS[name]
    plans = [make_plan(read_part(path)[0], shop) for path in EXAMPLE_PARTS]
    plans.append(make_plan(part_of(RICH, RICH_STOCK), shop))
    asked = 0
    for plan in plans:
        for cuts, rpm, feed in tools_of(plan):
            if cuts[0].operation == "tap" and faster == 1:
                continue  # its pitch each turn, which the dry run asks
            asked += 1
            assert power_faults(shop, plan.part, cuts, rpm * faster, feed * coarser), cuts
    assert asked > 50


# Worked out by hand from the table: mild steel 20 m/min, 6 mm: 1000 * 20 / (pi * 6) = 1061 rev/min;
# 0.1 mm a turn. The metric mill has 120, 220, 400, 700, 1250 and 2000.
ONE_CUT = [
    (Cut("drill", 6, depth_mm=10), {700}, (35, 77)),
    (Cut("drill", 6, depth_mm=40), {400, 700}, None),  # 0.65 of 1061, with 1.15: 793; half: 345
    (Cut("spot drill", 10, 6), {700}, (17.5, 38.5)),
    (Cut("ream", 6), {400}, (40, 132)),  # half: 530, 265 to 610; up to three times the feed
    (Cut("countersink", 20, 12), {120}, (5.4, 11.9)),  # a third: 177, 204; a quarter of 531: 66
    (Cut("counterbore", 10), {120, 220}, None),  # a third: 212, 244; a quarter: 159
    (Cut("bore", 60), {120}, None),  # 35: the slowest is all there is
    (Cut("tap", 5), {220, 400}, None),  # 9 m/min: 573, and the shop's cap of 400
]  # fmt: skip


@pytest.mark.parametrize(("cut", "right", "feeds"), ONE_CUT)
def test_the_speeds_that_serve_one_cut(
    cut: Cut, right: set[int], feeds: tuple[float, float] | None
) -> None:
    shop = SHOPS["metric"]
    assert {
        step
        for step in shop.mill.speeds_rpm
        if not any(kind == "wrong-speed" for kind, _ in power_faults(shop, STEEL, [cut], step, 30))
    } == right
    if feeds is None:
        return
    rpm, (least, most) = max(right), feeds
    for feed, is_right in (
        (least, True),
        (most, True),
        (least * 0.93 - 0.5, False),
        (most * 1.05 + 0.5, False),
    ):
        assert (power_faults(shop, STEEL, [cut], rpm, feed) == []) == is_right, feed


# The same on a mill whose speed is turned up and down, 60 to 2500: what passes, and what does not.
EDGES = [
    (Cut("drill", 6, depth_mm=10), (540, 1210), (520, 1235)),
    (Cut("countersink", 20, 6), (140, 400), (125, 420)),  # half a quarter: 133; 1.15 thirds: 407
    (Cut("spot drill", 6, 1), (1600, 2500), (1400, None)),  # half of 3000, the cap
    (Cut("tap", 3), (210, 400), (190, 440)),  # 955, the shop's cap of 400: no more
]  # fmt: skip


@pytest.mark.parametrize(("cut", "right", "wrong"), EDGES)
def test_a_speed_without_steps(
    cut: Cut, right: tuple[float, ...], wrong: tuple[float | None, ...]
) -> None:
    shop = SHOPS["range"]
    told = [
        any(kind == "wrong-speed" for kind, _ in power_faults(shop, STEEL, [cut], rpm, 20))
        for rpm in (*right, *wrong)
        if rpm is not None
    ]
    assert told == [False] * len(right) + [True] * (len(told) - len(right))


def test_a_cone_worked_out_from_a_rounded_depth_is_the_cone_that_was_planned() -> None:
    """5.857 mm is just what 1250 rev/min serve: 1.15 * 1000 * 20 / (pi * 1250)."""
    shop = SHOPS["metric"]
    for cone in (5.84, 5.857, 5.89):
        assert power_faults(shop, STEEL, [Cut("spot drill", 10, cone)], 1250, 60) == []
    assert power_faults(shop, STEEL, [Cut("spot drill", 10, 6.0)], 1250, 60)


def test_a_speed_that_has_to_be_told_to_ten_may_be_the_mills_slowest() -> None:
    """Titanium at 100 mm: 9.5 rev/min, told as none, and the mill has 1."""
    titanium = replace(STEEL, material="titanium")
    assert power_faults(SHOPS["wide range"], titanium, [Cut("bore", 100)], 1, 0.1) == []


def test_no_feed_is_over_the_mills() -> None:
    """15.5 mm/min is what the table of that mill does; less would be right for the drill alone."""
    cut = [Cut("drill", 6, depth_mm=10)]
    assert power_faults(SHOPS["slow table"], STEEL, cut, 700, 15) == []
    assert power_faults(SHOPS["slow table"], STEEL, cut, 700, 17)


def test_one_speed_serves_all_cuts_of_a_tool() -> None:
    """A wide cone brings the speed of a narrow one down, and a narrow one the feed of a wide."""
    shop = SHOPS["metric"]
    narrow, wide = Cut("spot drill", 10, 2.3), Cut("spot drill", 10, 9)
    assert power_faults(shop, STEEL, [narrow], 700, 27)
    assert power_faults(shop, STEEL, [narrow, wide], 700, 27) == []
    assert power_faults(shop, STEEL, [narrow, wide], 2000, 35)


def test_a_depth_that_nothing_tells_may_be_any() -> None:
    shop = SHOPS["metric"]
    for rpm in (400, 700):
        assert power_faults(shop, STEEL, [Cut("drill", 6)], rpm, rpm * 0.08) == []


def test_solid_carbide_bears_more() -> None:
    """Mild steel: 70 m/min for 20. Nothing has to run so fast."""
    shop = SHOPS["metric"]
    for rpm in (700, 1250, 2000):
        assert power_faults(shop, STEEL, [Cut("drill", 6, None, 9, True)], rpm, rpm * 0.1) == []
    assert power_faults(shop, STEEL, [Cut("drill", 6, None, 9)], 1250, 125)


def test_a_speed_that_the_mill_has_not_got() -> None:
    cut = Cut("drill", 6, depth_mm=10)
    said = power_faults(SHOPS["metric"], STEEL, [cut], 800, 80)
    assert said == [
        ("wrong-speed", "800 rev/min is none of the mill's speeds: 120, 220, 400, 700, 1250, 2000")
    ]
    wide = Cut("bore", 60)
    said = power_faults(SHOPS["range"], STEEL, [wide], 50, 8)
    assert said == [("wrong-speed", "50 rev/min is none of the mill's speeds: 60 to 2500")]


def test_what_the_faults_say() -> None:
    cut = Cut("drill", 6, depth_mm=10)
    assert power_faults(SHOPS["metric"], STEEL, [cut], 1250, 100) == [
        ("wrong-speed", "drill, 6.00 mm wide: 1250 rev/min, and 700 is the most")
    ]
    assert power_faults(SHOPS["metric"], STEEL, [cut], 220, 20) == [
        ("wrong-speed", "drill, 6.00 mm wide: 220 rev/min, and 530 is the least")
    ]
    assert power_faults(SHOPS["metric"], STEEL, [cut], 700, 7) == [
        ("wrong-feed", "drill, 6.00 mm wide: 7 mm/min at 700 rev/min, and 35 to 77 are right")
    ]


def test_a_speed_that_nothing_tells_leaves_the_feed() -> None:
    """A spindle by belt or by hand: the feed has to be right for some speed that it may have."""
    cut = [Cut("drill", 6, depth_mm=10)]
    assert power_faults(SHOPS["metric"], STEEL, cut, None, 70) == []
    assert [kind for kind, _ in power_faults(SHOPS["metric"], STEEL, cut, None, 210)] == [
        "wrong-feed"
    ]


def test_a_material_of_no_table_leaves_the_speeds_of_the_mill() -> None:
    part = replace(STEEL, material="moon cheese")
    cut = [Cut("drill", 6, depth_mm=10)]
    assert power_faults(SHOPS["metric"], part, cut, 2000, 900) == []
    assert power_faults(SHOPS["metric"], part, cut, 2001, 900)


def test_only_taps_are_by_hand_on_a_sheet() -> None:
    shop, tap, drill = SHOPS["metric"], [Cut("tap", 6)], [Cut("drill", 6, depth_mm=10)]
    assert speed_faults(shop, STEEL, tap, None, None) == []
    assert speed_faults(shop, STEEL, tap, None, None, by_hand=True) == []
    assert speed_faults(shop, STEEL, drill, 700, 70, by_hand=False) == []
    for cuts, rpm, feed, by_hand, kind in (
        (tap, 220, 220, None, "wrong-speed"),
        (tap, None, None, False, "wrong-speed"),
        (drill, 700, 70, True, "wrong-speed"),
        (drill, None, None, None, "wrong-speed"),
        (drill, None, 70, False, "wrong-speed"),
        (drill, 700, None, False, "wrong-feed"),
        (drill, 7000, 700, False, "wrong-speed"),
    ):
        said = speed_faults(shop, STEEL, cuts, rpm, feed, by_hand)
        assert said[0][0] == kind, (cuts, rpm, feed, by_hand)


def test_the_slowest_speed_may_be_too_fast_and_then_has_to_be_warned_of() -> None:
    shop, wide = SHOPS["metric"], [Cut("countersink", 25, 22)]
    assert power_faults(shop, STEEL, wide, 120, 19) == []
    assert wants_warning(shop, STEEL, wide, 120)
    assert not wants_warning(shop, STEEL, [Cut("countersink", 20, 12)], 120)
    assert not wants_warning(shop, STEEL, wide, 220)  # that is a fault, and no warning will do


@pytest.mark.parametrize("slowest", [100, 300, 900])
def test_check_warns_of_whatever_has_to_be_warned_of(slowest: int) -> None:
    shop = shop_of(f"[mill]\nspindle = {{ speeds = [{slowest}, 2000] }}\n")
    wanted: set[str] = set()
    for material in materials():
        plan = make_plan(part_of(RICH, RICH_STOCK, material=material.name), shop)
        told = [one.message for one in run_checks(plan) if one.kind == "too-fast"]
        wanted = {
            f"{one.name} with {tool_words(one.tool)} wants"
            for setup in plan.setups
            for one in setup.operations
            if not one.by_hand and wants_warning(shop, plan.part, [cut_of(one)], one.rpm)
        }
        assert wanted <= {message.partition("wants")[0] + "wants" for message in told}
    assert wanted  # of titanium, the last and the slowest


# Figures that the planner has and the witness has too: neither can change alone.
FIGURES = [
    ("BELT_TOLERANCE", 2.0),
    ("SPOT_SPEED_CAP_RPM", 6000.0),
    ("SPOT_SPEED_CAP_RPM", 1000.0),
    ("REAM_FEED_SHARE", 5.0),
    ("REAM_FEED_SHARE", 0.5),
    ("SPOT_FEED_SHARE", 1.0),
    ("SPOT_FEED_SHARE", 0.1),
    ("_DEEP", ((3.0, 0.3, 1.0),)),
    ("_DEEP", ((3.0, 1.0, 0.2),)),
    ("_DEEP", ()),
]


@pytest.mark.parametrize(("name", "figure"), FIGURES)
def test_no_figure_of_the_planner_changes_alone(
    name: str, figure: object, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cutting, name, figure)
    deep = (
        "[[hole]]\ndrill = 3\nat = [9, 9]\ndepth = 19.5\n"
        + '[[hole]]\nream = "6 mm"\nat = [29, 9]\ndepth = 9\n'
    )
    small = "[[hole]]\ndrill = 1\nat = [39, 9]\ndepth = 2\nspot = true\n"
    shop = "[mill]\nspindle = { min = 60, max = 9000 }\n"
    plans = [plan_of(one, shop=shop) for one in (deep, small)]
    plans.append(plan_of(deep))
    assert any(
        power_faults(plan.shop, plan.part, cuts, rpm, feed)
        for plan in plans
        for cuts, rpm, feed in tools_of(plan)
    )
