"""Figures that decide, a little to either side of where they do: planning, checks and setting.

Each row is worked out by hand beside it; parts are small, and functions are asked directly.
"""

from __future__ import annotations

import math

import pytest
from jobs import plan_of, shop_of

from millprep.base.records import replace
from millprep.checks import run_checks
from millprep.model.kinds import CLEAR, REAM, TAP
from millprep.model.part import Hole, Opened, Recess
from millprep.model.shop import Cabinet, Control
from millprep.model.tools import Drill, EndMill
from millprep.planning.depths import Reach, least_floor_mm
from millprep.planning.drawer import recess_cutter
from millprep.planning.helical import (
    arc_code,
    helix_of,
    is_for_drill,
    is_too_fine,
    tolerance_mm,
    why_no_helix,
)
from millprep.planning.making import passes_of
from millprep.planning.pilots import Piloted, pilots_for, wants_pilot
from millprep.planning.program_travel import beyond_travel, clear_place_mm, most_raised_mm
from millprep.planning.sides import breaking_wall_mm
from millprep.reference.cutters import boring_cuts_mm
from millprep.reference.materials import material_named

DRILLED = '[[hole]]\nname = "a"\ndrill = 6\nspot = false\nat = [30, 20]\ndepth = 10\n'
HIGH_AND_LOW = """
[mill]
travel = {{ x = [0, 400], y = [0, 145], z = [-300, 0] }}
[control]
offsets = {{ G54 = [100, 50, {z}] }}
[[tool]]
number = 1
kind = "drill"
diameter = 6
length = 80
"""
CONTROL = shop_of().control


# A tool 80 long: up at 10 above the part it is at z + 90, to be 0 or less; down at the hole, 10 and
# 1.80 for its point deep, at z + 68.2, to be -300 or more.
@pytest.mark.parametrize(
    ("z", "lacking"), [(-200, ""), (-90, ""), (-89.9, "0.1"), (-368.1, ""), (-368.3, "0.1")]
)
def test_z_goes_up_and_down_as_far_as_the_listed_origin_lets_it(z: float, lacking: str) -> None:
    plan = plan_of(DRILLED, shop=HIGH_AND_LOW.format(z=z))
    found = beyond_travel(plan, plan.setups[0])
    assert (found is not None) == bool(lacking)
    assert found is None or f"would have to move {lacking} mm more" in found[0]
    assert most_raised_mm(plan, plan.setups[0]) == pytest.approx(-z - 80 - 10)


def test_a_proving_run_goes_no_higher_than_the_travel_is_long() -> None:
    plan = plan_of(DRILLED, shop=HIGH_AND_LOW.format(z=-450))
    assert most_raised_mm(plan, plan.setups[0]) == pytest.approx(300 - 10)


def test_a_tool_is_changed_half_way_between_the_bore_of_a_disc_and_its_rim() -> None:
    """From 15 to 30 of the middle, over no hole: 22.5 of it, in whole millimetres of a net."""
    disc, datum = 'diameter = 60\nlength = 10\naxis = "z"\nbore = 30', 'x = "centre"\ny = "centre"'
    plan = plan_of(DRILLED.replace("[30, 20]", "[22.5, 0]"), disc, datum=datum)
    place = clear_place_mm(plan, plan.setups[0])
    assert math.hypot(*place) == pytest.approx(22.5, abs=1.0)
    assert math.dist(place, (22.5, 0)) > 10


def driven(x: float, y: float, *, taken_up: bool = False, codes: str | None = None) -> Control:
    """A control with that backlash."""
    has = None if codes is None else frozenset(codes.split())
    return replace(
        CONTROL, backlash_mm=(x, y, 0.0), backlash_compensated=taken_up, codes=has, axes="xyz"
    )


@pytest.mark.parametrize(
    ("control", "code"),
    [
        (driven(0, 0), "G2"),  # nobody has measured it: it may be pulled through
        (driven(0.01, 0.01), "G3"),  # nothing to feel
        (driven(0.01, 0), "G3"),
        (driven(0, 0.06), "G2"),
        (driven(0.06, 0.05), "G2"),
        (driven(0.06, 0.05, taken_up=True), "G3"),
        (driven(0, 0, taken_up=True), "G3"),
        (driven(0.01, 0.01, codes="G0 G1 G2"), "G2"),
        (driven(0.06, 0.05, codes="G0 G1 G3"), None),
        (driven(0.01, 0.01, codes="G0 G1"), None),
    ],
)
def test_an_end_mill_goes_with_the_cut_only_where_no_backlash_is_left(
    control: Control, code: str | None
) -> None:
    assert arc_code(control) == code
    assert (why_no_helix(control) is None) == (code is not None)


def a_hole(**more: object) -> Hole:
    return replace(plan_of(DRILLED).part.holes[0], **more)


# Limits closer than 0.1 ask for backlash that is known and under a quarter of them.
@pytest.mark.parametrize(
    ("given", "play", "is_fine"),
    [
        ({}, 0.0, False),
        ({}, 0.09, False),
        ({}, 0.11, True),
        ({"limits_um": (0, 100)}, 0.09, False),
        ({"limits_um": (0, 99)}, 0.0, True),
        ({"limits_um": (0, 99)}, 0.024, False),
        ({"limits_um": (0, 99)}, 0.025, True),
        ({"limits_um": (-20, 78)}, 0.024, False),
        ({"limits_um": (-20, 78)}, 0.0246, True),
        ({"fit": "H7", "limits_um": (0, 18)}, 0.004, False),
        ({"fit": "H7", "limits_um": (0, 18)}, 0.005, True),
        ({"tolerance_mm": 0.04}, 0.019, False),  # from least to most 0.08
        ({"tolerance_mm": 0.04}, 0.021, True),
        ({"position_mm": 0.05}, 0.012, False),
        ({"position_mm": 0.05}, 0.013, True),
        ({"tolerance_mm": 0.04, "position_mm": 0.05}, 0.013, True),
    ],
)
def test_arcs_keep_limits_of_four_times_the_backlash(
    given: dict[str, object], play: float, is_fine: bool
) -> None:
    assert is_too_fine(a_hole(**given), driven(play, 0.0)) == is_fine
    assert is_too_fine(a_hole(**given), driven(0.0, play)) == is_fine


def test_the_closest_of_the_limits_counts() -> None:
    assert tolerance_mm(a_hole()) is None
    assert tolerance_mm(a_hole(limits_um=(-10, 8))) == pytest.approx(0.018)
    assert tolerance_mm(a_hole(tolerance_mm=0.1, position_mm=0.25)) == pytest.approx(0.2)


# The drawer's largest drill is 13; what the drawing or the file says of the drill stays with it.
@pytest.mark.parametrize(
    ("given", "is_wanted"),
    [
        ({}, True),
        ({"kind": CLEAR}, True),
        ({"kind": REAM}, False),
        ({"kind": TAP}, False),
        ({"diameter_mm": 13.0}, False),
        ({"diameter_mm": 13.1}, True),
        ({"drills_words": ("13 mm",)}, False),
        ({"breakthrough_mm": 2.0}, False),
        ({"drill_depth_mm": 12.0}, False),
        ({"opened": (Opened(14.5, 3.0, "14.5 mm"),)}, False),
    ],
)
def test_a_mill_stands_in_for_a_drill_that_is_too_large(
    given: dict[str, object], is_wanted: bool
) -> None:
    cabinet = shop_of().cabinet
    kept = replace(cabinet, drills=tuple(one for one in cabinet.drills if one.diameter_mm <= 13))
    assert is_for_drill(a_hole(**{"diameter_mm": 14.0, **given}), kept) == is_wanted


# A mill of 3 goes down 0.3 a turn, a tenth of it: 74 and the millimetre above are 250 turns.
@pytest.mark.parametrize(("deep_mm", "is_made"), [(10, True), (74, True), (74.2, False)])
def test_no_mill_goes_round_more_often_than_250_times(deep_mm: float, is_made: bool) -> None:
    mill = EndMill("3 mm", 3.0, is_centre_cutting=True)
    helix = helix_of(mill, 6.0, 0.0, deep_mm, is_open=True)
    assert (helix is not None) == is_made
    if helix is not None:
        assert (helix.rough_mm, helix.to_mm) == (pytest.approx((5.6,)), 6.0)  # 0.2 left all round
        assert helix.turn_mm == pytest.approx(((deep_mm + 1) / math.ceil((deep_mm + 1) / 0.3),))


@pytest.mark.parametrize(
    ("diameter", "words"),
    [
        (12.7, "1/2 in"),
        (9.525, "3/8 in"),
        (25.4, "1 in"),
        (38.1, "1 1/2 in"),
        (12.5, "12.5 mm"),
        (127.0, "127 mm"),  # 5 in as well, and a whole number of millimetres
        (10.0, "10 mm"),
    ],
)
def test_a_counterbore_to_get_is_named_as_it_is_sold(diameter: float, words: str) -> None:
    bare = replace(shop_of().cabinet, counterbores=(), end_mills=())
    assert recess_cutter(bare, Recess(diameter, 3.0, "")).tool.words == words


@pytest.mark.parametrize(("diameter", "wall"), [(1.0, 0.2), (1.49, 0.298), (1.6, 0.3), (10, 0.3)])
def test_a_wall_that_breaks(diameter: float, wall: float) -> None:
    assert breaking_wall_mm(diameter) == pytest.approx(wall)


@pytest.mark.parametrize(("diameter", "floor"), [(2, 1.0), (3.9, 1.0), (4.4, 1.1), (12, 3.0)])
def test_the_floor_that_a_blind_hole_keeps(diameter: float, floor: float) -> None:
    assert least_floor_mm(diameter) == pytest.approx(floor)


# A pilot from 1/2 in at the latest, but for sheet under half of the drill.
@pytest.mark.parametrize(
    ("drill", "deep", "is_through", "is_wanted"),
    [
        (12.6, 20, True, False),
        (12.7, 20, True, True),
        (12.7, 6.4, True, True),
        (12.7, 6.3, True, False),
        (12.7, 6.3, False, True),
    ],
)
def test_a_pilot_is_wanted(drill: float, deep: float, is_through: bool, is_wanted: bool) -> None:
    cabinet = replace(shop_of().cabinet, pilot_from_mm=20.0)
    hole = a_hole(depth_mm=deep, is_through=is_through)
    assert wants_pilot(hole, drill, cabinet) == is_wanted


# A mill that is dead in the middle, 0.3 of 10 or 3, clears what is drilled where the dead middle
# goes round on no more: pass - 10 + 3. In the solid it goes round wider than 3 across.
@pytest.mark.parametrize(
    ("drilled_mm", "to_mm", "is_open", "is_steep"),
    [
        (0.0, 16.0, True, False),  # from the solid: a degree down
        (8.7, 16.0, True, True),  # 0.2 left all round: 15.6 round it, 8.6 across
        (8.5, 16.0, True, False),
        (9.0, 16.0, False, False),  # the drilled hole ends above the floor
    ],
)
def test_a_mill_that_is_dead_in_the_middle_goes_down_as_that_lets_it(
    drilled_mm: float, to_mm: float, is_open: bool, is_steep: bool
) -> None:
    mill = EndMill("10 mm", 10.0)
    helix = helix_of(mill, to_mm, drilled_mm, 10.0, is_open=is_open)
    assert helix is not None
    round_mm = math.pi * (helix.rough_mm[0] - 10)
    slope_deg = math.degrees(math.atan(helix.turn_mm[0] / round_mm))
    assert (1.0 < slope_deg <= 3.0) == is_steep


def drills(*sizes: float) -> Cabinet:
    """A drawer of drills that are long enough."""
    made = tuple(
        Drill(f"{size:g} mm", size, point_angle_deg=118.0, flute_mm=150.0) for size in sizes
    )
    return replace(shop_of().cabinet, drills=made)


# For a drill of 12.5: a quarter of it, 3.1, is best; from a fifth to two fifths, 2.5 to 5, one that
# is wanted anyway does, and so does any up to 0.6, 7.5, where there is none better.
@pytest.mark.parametrize(
    ("owned", "used", "pilot"),
    [
        ((3.0, 5.0), (), 3.0),
        ((3.0, 5.0), (5.0,), 5.0),
        ((3.0, 5.1), (5.1,), 3.0),
        ((2.5, 3.0), (2.5,), 2.5),
        ((2.4, 3.0), (2.4,), 3.0),
        ((7.5,), (), 7.5),
        ((7.6,), (), None),
        ((2.4,), (), None),
        ((3.1, 3.25), (), 3.1),
        ((3.1, 3.2), (3.2,), 3.2),
    ],
)
def test_the_pilot_of_a_drill(
    owned: tuple[float, ...], used: tuple[float, ...], pilot: float | None
) -> None:
    found = pilots_for(drills(*owned, 12.5), [Piloted(12.5, Reach(20.0, 23.8))], {12.5, *used})
    assert {drill: tool.diameter_mm for drill, tool in found.items()} == (
        {} if pilot is None else {12.5: pilot}
    )


@pytest.mark.parametrize(("flute", "has_pilot"), [(26.7, False), (26.8, True)])
def test_a_pilot_keeps_a_diameter_of_flute_for_the_chips(flute: float, has_pilot: bool) -> None:
    """23.8 deep with 3 to spare."""
    cabinet = drills(3.0, 12.5)
    short = replace(cabinet, drills=(replace(cabinet.drills[0], flute_mm=flute), cabinet.drills[1]))
    assert bool(pilots_for(short, [Piloted(12.5, Reach(20.0, 23.8))], {12.5})) == has_pilot


# Cuts of the material's table; the first takes what is left over, never under 0.3 of a full one.
@pytest.mark.parametrize(
    ("drilled", "bore"), [(19.5, 20.0), (18.0, 20.0), (17.3, 20.0), (16.1, 20.0), (10.0, 20.0)]
)
def test_passes_of_a_boring_head_end_at_size_in_two_alike(drilled: float, bore: float) -> None:
    material = material_named("mild steel")
    assert material is not None
    most_mm, last_mm = boring_cuts_mm(material)
    passes = passes_of(drilled, bore, material)
    cuts = [one.to_mm - one.from_mm for one in passes]
    assert (passes[0].from_mm, passes[-1].to_mm) == (pytest.approx(drilled), pytest.approx(bore))
    assert [one.number for one in passes] == list(range(1, len(passes) + 1))
    assert cuts[-1] == pytest.approx(cuts[-2])
    assert cuts[-1] == pytest.approx(min(last_mm, (bore - drilled) / 2))
    rough = cuts[:-2]
    assert all(0.3 * most_mm - 1e-6 <= cut <= most_mm + 1e-6 for cut in rough) or len(rough) == 1
    assert all(cut == pytest.approx(most_mm) for cut in rough[2:])


# Two holes of 6 that are meant to meet: the second starts over the edge of the first until their
# axes are 6 apart, and lacks what is left to that; at one place it starts true.
@pytest.mark.parametrize(("x", "lacking"), [(25, 1.0), (24, 2.0), (25.9, 0.1), (20, None)])
def test_a_hole_that_starts_over_the_edge_of_another_lacks_the_rest_to_its_rim(
    x: float, lacking: float | None
) -> None:
    other = DRILLED.replace('"a"', '"b"\nmeets = "a"').replace("[30, 20]", f"[{x}, 20]")
    found = run_checks(plan_of(DRILLED.replace("[30, 20]", "[20, 20]") + other))
    told = [one.lacking_mm for one in found if one.kind == "drilled-on-slope"]
    assert told == ([] if lacking is None else [pytest.approx(lacking)])
