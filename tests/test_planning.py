"""From holes to operations: which tools, in which order, how deep, and every override.

Depths are worked by hand: point 0.3004 d at 118 degrees; plug tap lead 4 threads, bottoming 2, and
a pitch of room; machine reamer lead 1 mm and 1 mm of room; 1 mm or a tenth of the drill beyond a
through hole (all common practice).
"""

import math

import pytest
from jobs import named, operations_of, part_of, plan_of, shop_of

from millprep.model.part import Hole
from millprep.planning import Operation, Plan, make_plan
from millprep.planning.pull_list import pull_list

POINT = 0.5 / math.tan(math.radians(59))  # of a 118 degree drill, in diameters


def hole(what: str, depth: str = "8", where: str = "at = [30, 20]", name: str = "a") -> str:
    return f'[[hole]]\nname = "{name}"\n{what}\n{where}\ndepth = {depth}\n'


def names(plan: Plan, setup: int = 1) -> list[str]:
    return [operation.name for operation in operations_of(plan, setup)]


def drills(plan: Plan) -> list[float]:
    return [o.tool.diameter_mm or 0.0 for o in operations_of(plan) if o.tool.kind == "drill"]


def depth_of(operation: Operation) -> float:
    return -operation.z_mm


# Tap drills: ISO 2306 (D - P, one decimal).
@pytest.mark.parametrize(
    ("thread", "drill"), [("M3", 2.5), ("M4", 3.3), ("M5", 4.2), ("M6", 5.0), ("M8", 6.8)]
)
def test_tap_drills(thread: str, drill: float) -> None:
    assert drills(plan_of(hole(f'tap = "{thread}"'))) == [drill]


def test_order_at_one_hole() -> None:
    """Spot, pilot, drill, recess, countersink, then ream or tap (common practice)."""
    full = hole('ream = "10 mm"\ncounterbore = { diameter = 15, depth = 3 }', '"through"')
    assert names(plan_of(full)) == ["spot drill", "pilot drill", "drill", "counterbore", "ream"]
    tapped = hole('tap = "M6"\ncountersink = { diameter = 6.5 }')
    for order in ("tool", "hole"):
        plan = plan_of(tapped, order=order)
        assert names(plan) == ["spot drill", "drill", "countersink", "tap"]


def test_all_drilling_before_any_reaming_by_tool() -> None:
    plan = plan_of(
        hole('ream = "4 mm"', '"through"', name="small", where="at = [10, 20]")
        + hole('drill = "10 mm"', '"through"', name="large", where="at = [40, 20]")
        + hole('tap = "M5"', name="tapped", where="at = [25, 20]")
    )
    order = names(plan)
    assert max(i for i, n in enumerate(order) if "drill" in n) < order.index("ream")
    assert order.index("ream") < order.index("tap")


MIXED = (
    hole('tap = "M5"', where="circle = { centre = [30, 20], diameter = 24, count = 6 }", name="t")
    + hole('ream = "6 mm"', '"through"', name="r")
    + hole(
        'clear = "M5"\ncounterbore = "M5 socket head"',
        '"through"',
        where="at = [[6, 6], [54, 6], [54, 34], [6, 34]]",
        name="c",
    )
)


def test_by_tool_each_tool_once() -> None:
    tools = [operation.tool for operation in operations_of(plan_of(MIXED))]
    changes = [tool for tool, before in zip(tools, [None, *tools], strict=False) if tool != before]
    assert len(changes) == len(set(tools))


def test_by_hole_everything_at_one_position() -> None:
    by_hole = operations_of(plan_of(MIXED, order="hole"))
    visits = [o.hole.name for o in by_hole]
    stays = [name for name, before in zip(visits, [None, *visits], strict=False) if name != before]
    assert len(stays) == len(set(visits)) == 11
    by_tool = operations_of(plan_of(MIXED))
    key = lambda o: (o.hole.name, o.name, o.x_mm, o.y_mm, o.z_mm)  # noqa: E731  # used twice below
    assert sorted(map(key, by_hole)) == sorted(map(key, by_tool))


def test_one_speed_a_tool() -> None:
    """The belt is set once: the deepest hole's slower speed serves all."""
    plan = plan_of(
        hole("drill = 6", "4", where="at = [10, 20]", name="shallow")
        + hole("drill = 6", '"through"', where="at = [40, 20]", name="deep"),
        "size = [60, 40, 38]",
    )
    assert len({(o.rpm, o.feed_mm_per_min) for o in operations_of(plan) if o.name == "drill"}) == 1


def test_blind_tap_by_the_plug_tap() -> None:
    plan = plan_of(hole('tap = "M6"'))  # 8 deep in 20
    tap, drill = named(plan, "tap"), named(plan, "drill")
    assert tap.tool.lead_threads == 4
    assert depth_of(tap) == pytest.approx(8 + 4 * 1.0)
    assert drill.full_mm == pytest.approx(8 + (4 + 1) * 1.0)
    assert depth_of(drill) == pytest.approx(13 + POINT * 5)
    assert tap.by_hand
    assert tap.turns == pytest.approx(12)
    assert plan.findings == ()


def test_bottoming_tap_where_the_floor_would_grow_thin() -> None:
    """8 deep in 14: the plug tap's hole ends at 14.5, the bottoming tap's at 12.5."""
    plan = plan_of(hole('tap = "M6"'), "size = [60, 40, 14]")
    tap = named(plan, "tap")
    assert tap.tool.lead_threads == 2
    assert depth_of(tap) == pytest.approx(10)
    assert depth_of(named(plan, "drill")) == pytest.approx(11 + POINT * 5)
    (finding,) = plan.findings
    assert (finding.severity, finding.kind, finding.holes) == ("note", "bottoming-tap", ("a",))


def test_through_tap_goes_its_lead_and_a_pitch_beyond() -> None:
    plan = plan_of(hole('tap = "M6"', '"through"'))
    assert depth_of(named(plan, "tap")) == pytest.approx(20 + (4 + 1) * 1.0)
    assert depth_of(named(plan, "drill")) == pytest.approx(20 + 1 + POINT * 5)


def test_drill_depth_of_the_drawing_is_kept() -> None:
    plan = plan_of(hole('tap = "M6"\ndrill_depth = 12.5'))
    assert named(plan, "drill").full_mm == 12.5
    assert named(plan, "tap").tool.lead_threads == 4  # its end at 12 stays inside
    shorter = plan_of(hole('tap = "M6"\ndrill_depth = 11'))
    assert named(shorter, "drill").full_mm == 11
    assert named(shorter, "tap").tool.lead_threads == 2


def test_reamer_depths() -> None:
    through = plan_of(hole('ream = "6 mm"', '"through"'))
    assert depth_of(named(through, "ream")) == pytest.approx(20 + 1 + 1)
    blind = plan_of(hole('ream = "6 mm"'))
    assert depth_of(named(blind, "ream")) == pytest.approx(8 + 1)
    assert named(blind, "drill").full_mm == pytest.approx(8 + 1 + 1)


def test_left_hand_tap() -> None:
    plan = plan_of(hole('tap = "M6 left hand"'))
    assert named(plan, "tap").tool.is_left_hand
    (finding,) = plan.findings
    assert finding.kind == "not-in-drawer"
    assert "left hand" in finding.message


def test_spot_is_a_little_over_size_and_inside_a_recess() -> None:
    assert named(plan_of(hole("drill = 6", '"through"')), "spot drill").cone_mm == pytest.approx(
        6.3
    )
    recessed = plan_of(hole('clear = "M5"\ncounterbore = "M5 socket head"', '"through"'))
    cone = named(recessed, "spot drill").cone_mm
    assert cone is not None
    assert cone < named(recessed, "counterbore").tool.diameter_mm  # type: ignore[operator]


def test_spot_false() -> None:
    assert names(plan_of(hole("drill = 6\nspot = false"))) == ["drill"]


def test_drills_given() -> None:
    plan = plan_of(hole('drill = 9\ndrills = ["4 mm", "7 mm", "9 mm"]', '"through"'))
    assert drills(plan) == [4, 7, 9]
    assert names(plan) == ["spot drill", "pilot drill", "pilot drill", "drill"]
    # For a tap the last of the sequence is the tap drill: 5.2 for M6 is the easier choice.
    assert drills(plan_of(hole('tap = "M6"\ndrills = ["5.2 mm"]'))) == [5.2]
    # A sequence that stops short of a drilled hole's size ends in that size.
    assert drills(plan_of(hole('drill = 9\ndrills = ["5 mm"]', '"through"'))) == [5, 9]


def test_pecks_given() -> None:
    none = named(plan_of(hole('drill = 4\npeck = "none"', "15")), "drill")
    assert none.pecks_mm == ()
    every = named(plan_of(hole("drill = 4\npeck = 5", "15")), "drill")
    end = 15 + POINT * 4
    assert every.pecks_mm == pytest.approx((-5, -10, -15, -end))
    listed = named(plan_of(hole("drill = 4\npeck = [8, 4]", "15")), "drill")
    assert listed.pecks_mm == pytest.approx((-8, -12, -16, -end))


def test_breakthrough_given() -> None:
    drill = named(plan_of(hole("drill = 6\nbreakthrough = 0.2", '"through"')), "drill")
    assert drill.full_mm == pytest.approx(20.2)
    assert named(plan_of(hole("drill = 12", '"through"')), "drill").full_mm == pytest.approx(21.2)


def test_through_depths_use_the_measured_thickness() -> None:
    plan = plan_of(hole("drill = 6", '"through"'), "size = [60, 40, 20]\nmeasured = { z = 19.4 }")
    assert named(plan, "drill").full_mm == pytest.approx(20.4)


def test_from_both_ends() -> None:
    """Each side half way and half a millimetre; reamed in the later of the two setups."""
    plan = plan_of(
        hole('ream = "6 mm"\nface = "left"\nfrom_both_ends = true', '"through"', "at = [20, 10]")
    )
    assert [s.setup.face for s in plan.setups] == ["left", "right"]
    assert names(plan, 1) == ["spot drill", "drill"]
    assert names(plan, 2) == ["spot drill", "drill", "ream"]
    first, second = operations_of(plan, 1)[1], operations_of(plan, 2)[1]
    assert first.full_mm == second.full_mm == pytest.approx(60 / 2 + 0.5)
    assert depth_of(operations_of(plan, 2)[2]) == pytest.approx(60 + 1 + 1)


def test_far_feature_is_cut_from_the_other_face() -> None:
    plan = plan_of(hole("drill = 5\nfar = { countersink = { diameter = 10 } }", '"through"'))
    assert names(plan, 1) == ["spot drill", "drill"]
    (sink,) = operations_of(plan, 2)
    assert (sink.name, plan.setups[1].setup.face) == ("countersink", "bottom")
    assert depth_of(sink) == pytest.approx((10 - 2.8) / 2)  # the 12.4 mm one, its nose 2.8
    assert (sink.x_mm, sink.y_mm) == (30, -20)  # BACK is towards you, zero on FRONT


def test_opened_holes() -> None:
    plan = plan_of(hole('drill = 4\nopened = { clear = "M5", depth = 6 }', '"through"'))
    wide = next(o for o in operations_of(plan) if o.tool.diameter_mm == 5.5)
    assert wide.full_mm == 6
    assert depth_of(wide) == pytest.approx(6 + POINT * 5.5)
    assert [o.full_mm for o in operations_of(plan) if o.name == "drill"] == [21.0, 6.0]


@pytest.mark.parametrize(
    ("above", "clear_mm"),
    [
        ("", 0.0),
        ('opened = { clear = "M4", depth = 6 }', 6.0),
        ("counterbore = { diameter = 8, depth = 4 }", 4.0),
        ('opened = { clear = "M4", depth = 6 }\ncounterbore = { diameter = 8, depth = 4 }', 6.0),
    ],
)
def test_a_tap_is_turned_from_where_its_thread_begins(above: str, clear_mm: float) -> None:
    """Pitch 0.7 mm (ISO 261); through what is wider the tap goes without turning."""
    tap = named(plan_of(hole(f'tap = "M4"\n{above}', "12")), "tap")
    assert tap.turns == pytest.approx((depth_of(tap) - clear_mm) / 0.7)


def test_bored_hole() -> None:
    """Drilled to the largest drill that leaves the boring head its cut."""
    plan = plan_of(hole("bore = 20", '"through"'))
    assert list(dict.fromkeys(names(plan))) == ["spot drill", "pilot drill", "drill", "bore"]
    assert drills(plan)[-1] == 13
    assert {one.full_mm for one in operations_of(plan) if one.name == "bore"} == {20}
    blind = plan_of(hole("bore = 20", "9"))
    assert {depth_of(one) for one in operations_of(blind) if one.name == "bore"} == {9}
    assert depth_of(named(blind, "drill")) < 9


def test_recesses_go_to_their_depth() -> None:
    """Counterbore of an M5 socket head: 10 mm wide (DIN 974-1), head 5 mm and 0.4 (from memory)."""
    plan = plan_of(hole('clear = "M5"\ncounterbore = "M5 socket head"', '"through"'))
    recess = named(plan, "counterbore")
    assert recess.tool.diameter_mm == 10
    assert depth_of(recess) == pytest.approx(5.4, abs=0.11)
    face = plan_of(hole("drill = 6\nspotface = { diameter = 12, depth = 0.8 }", '"through"'))
    assert depth_of(named(face, "spotface")) == 0.8


def test_countersink_depth_by_its_own_angle() -> None:
    """k = 0.500 at 90 degrees, 0.575 at 82; a nose of 2.8 is taken off where it is known."""
    ninety = plan_of(hole("drill = 5\ncountersink = { diameter = 10 }", '"through"'))
    assert depth_of(named(ninety, "countersink")) == pytest.approx(0.5 * (10 - 2.8))
    plan = plan_of(hole("drill = 5\ncountersink = { diameter = 10, angle = 82 }", '"through"'))
    assert depth_of(named(plan, "countersink")) == pytest.approx(5.75, abs=0.005)
    assert not named(plan, "countersink").in_drawer


def test_tool_asked_for_and_lacking_is_told() -> None:
    plan = plan_of(
        hole('drill = "letter F"') + hole('ream = "7 mm"', name="b", where="at = [9, 9]")
    )
    told = [(f.severity, f.kind, f.message, f.holes) for f in plan.findings]
    assert told == [
        ("warning", "not-in-drawer", "letter F drill is not in the drawer", ("a",)),
        ("warning", "not-in-drawer", "7 mm reamer is not in the drawer", ("b",)),
    ]


def test_millpreps_own_choice_comes_from_the_drawer() -> None:
    """A drawer without 5.0 mm: the nearest drill that gives a sound thread is taken instead."""
    shop = "[drawer]\ndrills = [4.8, 5.1, 5.5, 6]\n"
    plan = plan_of(hole('tap = "M6"'), shop=shop)
    assert drills(plan) == [5.1]
    assert [f.kind for f in plan.findings] == []


def test_tool_numbers() -> None:
    shop = (
        '[[tool]]\nnumber = 7\nkind = "drill"\ndiameter = 5\n'
        '[[tool]]\nnumber = 2\nkind = "drill"\ndiameter = 9\n'
    )
    plan = plan_of(hole('tap = "M6"'), shop=shop)
    numbers = {tool.kind: number for tool, number in plan.tool_numbers.items()}
    # Tool 7 is the control's 5 mm drill; 2 is taken by a tool that this part does not use.
    assert numbers == {"spot drill": 1, "drill": 7, "tap": 3}


def test_plug_and_bottoming_taps_never_share_a_number() -> None:
    shop = '[[tool]]\nnumber = 4\nkind = "tap"\nthread = "M6"\n'
    holes = hole('tap = "M6"\ndrill_depth = 12.5', where="at = [12, 20]", name="deep")
    holes += hole('tap = "M6"\ndrill_depth = 10.5', where="at = [45, 20]", name="short")
    plan = plan_of(holes, shop=shop)
    leads = {tool.lead_threads: n for tool, n in plan.tool_numbers.items() if tool.kind == "tap"}
    assert leads[4] == 4
    assert leads[2] != 4
    assert len(set(plan.tool_numbers.values())) == len(plan.tool_numbers)


# One diameter and one pitch, flanks of 60 degrees (ISO 68-1, ASME B1.1), 55 (BS 84), 47.5 (BS 93).
@pytest.mark.parametrize(
    ("asked", "other"),
    [
        ("1/4-20 UNC", "1/4 BSW"),
        ("1/4 BSW", "1/4-20 UNC"),
        ("M6", "0BA"),
        ("3/8-32 UNEF", "3/8x32 ME"),
        ("1/4 BSF", "1/4x26 BSC"),
    ],
)
def test_a_tap_of_another_form_is_another_tap(asked: str, other: str) -> None:
    table = '[[tool]]\nnumber = 7\nkind = "tap"\nthread = "{}"\n[drawer]\ntaps = ["{}"]\n'
    without = plan_of(hole(f'tap = "{asked}"'), shop=table.format(other, other))
    tap = named(without, "tap")
    assert not tap.in_drawer
    assert tap.tool.words == asked
    assert without.tool_numbers[tap.tool] != 7
    owned = plan_of(hole(f'tap = "{asked}"'), shop=table.format(asked, f'{other}", "{asked}'))
    tap = named(owned, "tap")
    assert tap.in_drawer
    assert tap.tool.words == asked
    assert owned.tool_numbers[tap.tool] == 7


def test_model_engineer_threads_are_whitworth() -> None:
    """3/16x32 ME and 3/16 BSF are one thread (BS 84): the drawer's tap of either name does."""
    plan = plan_of(hole('tap = "3/16x32 ME"'), shop='[drawer]\ntaps = ["3/16 BSF"]\n')
    assert named(plan, "tap").in_drawer


def test_pull_list() -> None:
    pulled = pull_list(plan_of(MIXED))
    assert len({one.tool for one in pulled}) == len(pulled)
    spot = pulled[0]
    assert spot.tool.kind == "spot drill"
    assert len(spot.holes) == 11
    assert [one.number for one in pulled] == sorted(one.number for one in pulled)


def test_one_hole_is_planned_as_it_is_among_many() -> None:
    """But for the spot drill, of which one serves the whole part."""
    alone = operations_of(plan_of(hole('tap = "M5"', where="at = [42, 20]", name="t")))
    many = [o for o in operations_of(plan_of(MIXED)) if o.hole.name == "t 1"]
    assert [o.name for o in alone] == [o.name for o in many] == ["spot drill", "drill", "tap"]
    for one, other in zip(alone[1:], many[1:], strict=True):
        assert (one.tool, one.z_mm, one.pecks_mm) == (other.tool, other.z_mm, other.pecks_mm)


def test_every_setup_has_the_holes_of_its_face() -> None:
    part = part_of(
        hole("drill = 3", "4")
        + hole('face = "right"\ndrill = 3', "4", "at = [20, 10]", name="b")
        + hole('face = "front"\ndrill = 3', "4", "at = [20, 10]", name="c")
    )
    plan = make_plan(part, shop_of())
    made: dict[str, list[Hole]] = {
        s.setup.face: [o.hole for o in s.operations if o.name == "drill"] for s in plan.setups
    }
    assert {face: [h.name for h in holes] for face, holes in made.items()} == {
        "top": ["a"],
        "front": ["c"],
        "right": ["b"],
    }
