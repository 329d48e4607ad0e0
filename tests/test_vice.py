"""The vice: what goes in, what is held and how well, each against a sum worked by hand.

The rules are common practice: a grip of a third of the height, a thin plate not squeezed on its
edges, nothing under a hole that comes through.
"""

from __future__ import annotations

from typing import Any

from jobs import checked, part_of, plan_of, setups_of, shop_of
from pytest import approx

from millprep.base.findings import Finding
from millprep.model.part import Face, SetupRequest
from millprep.planning import Plan
from millprep.setting import round_bars
from millprep.setting.fixtures import fixtures_of
from millprep.setting.holding import Fitness, Holding, fitness_of
from millprep.setting.setups import Setup, setup_of

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


BAR = 'diameter = 25\nlength = 80\naxis = "x"'
LYING = {"datum": 'x = "left"\ny = "centre"\nz = "centre"'}
CROSS = '[[hole]]\nname = "cross"\ndrill = 5\ndepth = "through"\nat = [40, 0]\n'
RING = (
    '[[hole]]\nname = "ring"\ndrill = 12\ndepth = "through"\n'
    "circle = { centre = [0, 0], diameter = 50, count = 6 }\n"
)
MIDDLE = {"datum": 'x = "centre"\ny = "centre"'}


def top(keys: str) -> str:
    return f'[[setup]]\nface = "top"\n{keys}\n'


def hold(plan: Plan, setup: int = 0) -> dict[str, Any]:
    told: dict[str, Any] = setups_of(plan)[setup]["hold"]
    return told


def said(plan: Plan, label: str = "HOLD", setup: int = 0) -> str:
    return " ".join(setups_of(plan)[setup]["said"][label])


def told(plan: Plan, kind: str) -> list[Finding]:
    return [one for one in checked(plan) if one.kind == kind]


def test_a_bar_between_flat_jaws_has_its_centre_below_their_tops() -> None:
    """25 mm: the centre 12.5 over the underside, a tenth is 2.5, so the jaws stand 15 over it or
    more; jaws 30 high leave 15 for packing. A 5 mm drill comes out by its point, 1.5, and 1: with
    2 to spare 4.5. The tallest piece between 4.5 and 15 is a parallel of 14: the jaws stand 16 over
    the underside, 3.5 over the centre."""
    plan = plan_of(CROSS + top('hold = "vice"'), BAR, **LYING)
    held = plan.setups[0].holding
    assert (held.way, held.packing_mm, held.jaws_above_mm) == ("vice", 14, 16)
    assert said(plan) == (
        "in the vice, flat jaws, BACK against the fixed jaw, LEFT up against the stop, down on "
        "packing 14 mm high, clear of the through holes; its centre 3.5 mm below the jaw tops."
    )
    assert (hold(plan)["by"], hold(plan)["packing_mm"], hold(plan)["grip_mm"]) == ("vice", 14, 16)


def test_zero_across_a_bar_in_flat_jaws_is_from_the_fixed_jaw() -> None:
    """BACK on the jaw 12.5 from the middle, half a finder of 10 mm short of it: 7.5."""
    plan = plan_of(CROSS + top('hold = "vice"'), BAR, **LYING)
    assert "pick up the fixed jaw beside BACK, set Y = 7.500" in said(plan, "PICK UP")
    assert "measure FRONT to BACK: taken as 25.000" in said(plan, "PICK UP")


def test_a_thin_bar_is_held_a_millimetre_and_a_half_over_its_centre() -> None:
    """10 mm: a tenth is 1, but not less than 1.5: 6.5 over the underside, so packing to 23.5."""
    assert round_bars.least_grip_mm(10) == 6.5
    assert round_bars.least_grip_mm(25) == 15
    assert round_bars.packing_mm(shop_of(), 10, 0.0) == 22
    assert round_bars.packing_mm(shop_of(), 50, 0.0) == 0  # 25 + 5 are the whole height of the jaws
    assert round_bars.packing_mm(shop_of(), 51, 0.0) is None


def test_a_grip_below_a_bars_centre_is_a_stop_and_the_remedy_cures_it() -> None:
    (found,) = told(plan_of(CROSS + top("vice = { grip = 9 }"), BAR, **LYING), "cannot-be-held")
    assert found.severity == "stop"
    assert found.message == (
        "setup 1: flat jaws must end 15 mm or more above the underside of a bar of 25 mm, or they "
        "squeeze it up and out"
    )
    assert found.remedy == "give a grip of 15 mm or more"
    cured = plan_of(CROSS + top("vice = { grip = 15 }"), BAR, **LYING)
    assert told(cured, "cannot-be-held") == []


def test_a_bar_in_a_vee_jaw() -> None:
    """A mouth of 20 at 90 degrees is 10 deep. A bar touches both flanks 1.414 r from the bottom of
    the vee: it is proud of it by half a millimetre from r (1 + 1.414) = 10.5, 8.70 dia, and touches
    inside the mouth to r / 1.414 = 10, 28.28 dia. Of 25 mm the jaw's face is 17.68 - 10 = 7.68
    short of the centre: a hole of 5 mm has 5.18 beside it. The groove is 12 below the tops."""
    vee = shop_of().vice.vee
    assert vee is not None
    assert round_bars.bars_of(vee) == (approx(8.70, abs=0.005), approx(28.28, abs=0.005))
    assert round_bars.lip_mm(vee, 25) == approx(-7.68, abs=0.005)
    plan = plan_of(CROSS + top('hold = "vee jaws"'), BAR, **LYING)
    assert plan.setups[0].holding.jaws_above_mm == 24.5
    assert "a vee jaw on the moving side, BACK against the fixed jaw" in said(plan)
    assert "held in the vee; its centre 12 mm below the jaw tops" in said(plan)
    assert hold(plan)["by"] == "vee jaws"
    boxes = {box.name: box for box in fixtures_of(plan.shop, *held(plan)) if "jaw" in box.name}
    assert boxes["the vee jaw"].high_mm[1] == approx(-7.68, abs=0.005)
    assert boxes["the fixed jaw"].high_mm[2] == approx(
        -0.5
    )  # 12 over the centre, 0.5 below the top
    thick = plan_of(CROSS + top('hold = "vee jaws"'), BAR.replace("25", "30"), **LYING)
    assert told(thick, "cannot-be-held")[0].remedy == 'write hold = "vee blocks" into [[setup]]'


def held(plan: Plan) -> tuple[Setup, Holding]:
    return plan.setups[0].setup, plan.setups[0].holding


def test_a_bar_lies_in_vee_blocks_where_the_shop_has_them() -> None:
    """The finder hangs to the widest place, 12.5 below the top, and a millimetre more."""
    plan = plan_of(CROSS, BAR, **LYING)
    assert hold(plan)["by"] == "vee blocks"
    assert "pick up FRONT, the finder's tip 13.5 mm below the top, set Y = -17.500" in (
        said(plan, "PICK UP")
    )
    without = plan_of(CROSS, BAR, shop="[holding]\nvee_blocks = []\n", **LYING)
    assert hold(without)["by"] == "vee jaws"
    flat = plan_of(
        CROSS, BAR, shop='[holding]\nvee_blocks = []\n[vice]\njaws = ["flat"]\n', **LYING
    )
    assert hold(flat)["by"] == "vice"


def test_a_plate_of_3_mm_stands_on_parallels_over_packing() -> None:
    """60 x 30 x 3: half of it is held, so that 28.5 may be under it in jaws 30 high. The tallest
    parallels are 24; 22 on packing of 6 are 28: 2 are held, and 1 stands over the jaws."""
    plan = plan_of(BLIND.replace("depth = 5", "depth = 1"), "size = [60, 30, 3]")
    strips = plan.setups[0].holding.strips
    assert strips is not None
    assert (strips.height_mm, strips.packing_mm, plan.setups[0].holding.grip_mm) == (22, 6, 2)
    assert said(plan).endswith(
        "up on parallels 22 high at Y 0 to 4, Y 26 to 30 on packing 6 mm thick."
    )
    assert told(plan, "below-jaws") == []


def test_a_plate_below_the_jaw_tops_is_told() -> None:
    """Without packing 24 is the tallest: 6 of the jaws are over it, 3 over a plate of 3."""
    shallow, shop = BLIND.replace("depth = 5", "depth = 1"), "[holding]\npacking = []\n"
    (found,) = told(plan_of(shallow, "size = [60, 30, 3]", shop=shop), "below-jaws")
    assert found.severity == "warning"
    assert found.message == (
        "setup 1: TOP is 3.00 mm below the jaw tops, which chuck and edge finder would foul"
    )
    assert found.remedy.startswith("put packing under it that lifts it 27.5 to 28.5 mm off")
    higher = f"{shop}[parallels]\nheights = [28]\n"
    assert told(plan_of(shallow, "size = [60, 30, 3]", shop=higher), "below-jaws") == []


def test_a_disc_with_holes_through_stands_off_the_steps_of_the_chuck() -> None:
    """Six 12 mm holes on 50: along Y at 0, 21.65 and -21.65, each with 7 taken beside it. Strips of
    4 mm stand at -14.65 and 10.65. The drills come out by their points, 3.6, and 1.2; with 2 to
    spare that is 6.8, and the lowest parallels are 10."""
    plan = plan_of(RING, "diameter = 70\nlength = 10", **MIDDLE)
    strips = plan.setups[0].holding.strips
    assert strips is not None
    assert strips.at_mm == (approx(-14.65, abs=0.005), approx(10.65, abs=0.005))
    assert strips.height_mm == 10
    assert hold(plan)["by"] == "chuck"
    assert "in the chuck, BOTTOM on parallels 10 high at Y -14.651 to -10.651" in said(plan)


def test_a_disc_stands_on_a_ring_where_no_strips_are_clear() -> None:
    """Sixteen 5 mm holes on 50 reach from 21.5 to 28.5 of the middle with a millimetre beside them:
    a ring lies within 43 dia, or outside 57, where only 6.5 are left. They come out 1.5 and 1; with
    2 to spare 4.5."""
    holes = RING.replace("12", "5").replace("count = 6", "count = 16")
    plan = plan_of(holes, "diameter = 70\nlength = 10", **MIDDLE)
    ring = plan.setups[0].holding.ring
    assert ring is not None
    assert (ring.inside_mm, ring.outside_mm) == (0, approx(43))
    assert ring.high_mm == 5  # 4.52 to the next half


def test_flat_jaws_do_not_hold_a_disc_on_its_end() -> None:
    plan = plan_of(RING + top('hold = "vice"'), "diameter = 70\nlength = 10", **MIDDLE)
    (found,) = told(plan, "cannot-be-held")
    assert found.message == (
        "setup 1: flat jaws meet a disc on its end on two lines, and it turns between them"
    )
    assert found.remedy == 'write hold = "chuck" into [[setup]]'


WIDE = "size = [420, 200, 12]"


def test_a_plate_that_does_not_go_into_the_vice() -> None:
    """420 x 200 in an opening of 100, either way round: straps, or a stop without them."""
    assert plan_of(BLIND, WIDE).setups[0].holding.way == "straps"
    (found,) = told(plan_of(BLIND, WIDE, shop="[holding]\nstraps = 0\n"), "cannot-be-held")
    assert found.severity == "stop"
    assert found.message == "setup 1: it is 200 mm across the jaws, and the vice opens 100 mm"
    assert found.remedy == (
        "straps hold it down on the table: two or more, into [holding] of the shop file"
    )


def test_the_vice_is_turned_across_where_the_part_goes_in_so() -> None:
    """60 x 130 laid with the long side across the jaws: along them it would go in."""
    lay = 'towards_you = "front"'
    (found,) = told(plan_of(BLIND + top(lay), "size = [60, 130, 12]"), "cannot-be-held")
    assert 'write vice = { jaws = "x" } into [[setup]]' in found.remedy
    turned = plan_of(BLIND + top(f'{lay}\nvice = {{ jaws = "x" }}'), "size = [60, 130, 12]")
    assert told(turned, "cannot-be-held") == []
    assert "clock the fixed jaw parallel to Y" in said(turned, "VICE")


def test_a_thin_plate_that_the_file_squeezes_is_told() -> None:
    """90 between the jaws wants 4.5; the straps of the shop would hold it."""
    thin = BLIND.replace("depth = 5", "depth = 1") + top("vice = { grip = 2 }")
    (found,) = told(plan_of(thin, "size = [120, 90, 4]"), "bows-in-vice")
    assert found.severity == "warning"
    assert 'hold = "straps"' in found.remedy
    assert hold(plan_of(thin.split("[[setup]]")[0], "size = [120, 90, 4]"))["by"] == "straps"


SIDE = '[[hole]]\nname = "side"\nface = "front"\ndrill = 4\ndepth = 5\nat = [20, 0]\n'


def test_a_bar_comes_round_by_a_pin_in_the_hole_made_before() -> None:
    """TOP first: its cross hole, 5 mm, lies from hand to hand when FRONT comes up."""
    order = top("") + '[[setup]]\nface = "front"\n'
    plan = plan_of(CROSS + SIDE + order, BAR, **LYING)
    assert said(plan, "WAY ROUND", 1) == (
        "set it round by a close pin in cross (already made): level, the same height at both ends."
    )
    assert told(plan, "turn-not-set") == []


def test_a_bar_that_nothing_brings_round_is_told_which_hole_to_make_first() -> None:
    """A blind hole of 4 mm, 5 deep, does not take a pin (1.5 times its diameter is 6). A mark 0.2
    out at 12.5 from the axis is 0.9 degrees."""
    order = '[[setup]]\nface = "front"\n' + top("")
    plan = plan_of(CROSS + SIDE + order, BAR, **LYING)
    (found,) = told(plan, "turn-not-set")
    assert (found.severity, found.setup) == ("warning", 2)
    assert 'make "cross" first: write [[setup]] with face = "top" before the others' in found.remedy
    assert said(plan, "WAY ROUND", 1).endswith("0.2 mm out at the rim, about 0.9 deg.")


def test_the_vice_is_clocked_once() -> None:
    """At the head of the first setup that is held in it, and not again."""
    under = '[[hole]]\nface = "bottom"\ndrill = 3\nat = [20, 20]\ndepth = 4\n'
    setups = setups_of(plan_of(BLIND + under))
    assert setups[0]["said"]["VICE"] == [
        "first clock the fixed jaw parallel to X within 0.02 mm over its width."
    ]
    assert "VICE" not in setups[1]["said"]


def test_what_is_not_round_there_goes_into_no_chuck_and_no_vee() -> None:
    for way in ("chuck", "vee jaws", "vee blocks"):
        (found,) = told(plan_of(BLIND + top(f'hold = "{way}"')), "cannot-be-held")
        assert found.severity == "stop"
        assert found.remedy == 'write hold = "vice" into [[setup]]'


def test_a_disc_on_its_rim_is_held_by_its_two_ends() -> None:
    """70 dia and 12 long, laid so that the jaws would close on the round: turned across they close
    on 12."""
    rim = "[[hole]]\ndrill = 4\nat = [6, 0]\ndepth = 8\n"
    lying = {"stock": 'diameter = 70\nlength = 12\naxis = "x"', **LYING}
    (found,) = told(plan_of(rim + top('towards_you = "front"'), **lying), "cannot-be-held")
    assert 'write vice = { jaws = "x" } into [[setup]]' in found.remedy
    across = top('towards_you = "front"\nvice = { jaws = "x" }')
    assert told(plan_of(rim + across, **lying), "cannot-be-held") == []
    assert told(plan_of(rim + top('towards_you = "left"'), **lying), "cannot-be-held") == []
    (rolls,) = told(plan_of(rim + top('hold = "straps"'), **lying), "cannot-be-held")
    assert "it is round, and rolls" in rolls.message
