"""Depths, pecks, speeds and feeds against worked figures of the trade."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs import named, plan_of, shop_of

from millprep.reference.materials import Material, material_named
from millprep.sizes import read_thread
from millprep.sums import cutting

STEPS = shop_of().mill  # 120, 220, 400, 700, 1250, 2000 rev/min
RANGE = shop_of("[mill]\nspindle = { min = 100, max = 3000 }").mill


def material(words: str) -> Material:
    found = material_named(words)
    assert found is not None
    return found


# Point length as a share of the drill: common practice (shop tables print three decimals).
@pytest.mark.parametrize(
    ("angle", "share"),
    [(90, 0.500), (118, 0.300), (120, 0.289), (130, 0.233), (135, 0.207), (140, 0.182)],
)
@pytest.mark.parametrize("diameter", [1.0, 6.0, 12.7])
def test_point_length(diameter: float, angle: float, share: float) -> None:
    assert cutting.point_length_mm(diameter, angle) == pytest.approx(
        share * diameter, abs=0.0006 * diameter
    )


# Depth of a sharp spot for one millimetre of cone: countersink depth factors, common practice.
@pytest.mark.parametrize(
    ("angle", "factor"),
    [(60, 0.866), (82, 0.575), (90, 0.500), (100, 0.4195), (118, 0.3004), (120, 0.2887)],
)
def test_cone_depth_factors(angle: float, factor: float) -> None:
    assert cutting.cone_depth_mm(1.0, angle) == pytest.approx(factor, abs=0.0005)


def test_spot_with_a_flat_tip_goes_less_deep() -> None:
    """z = k (cone - flat): 6.65 mm wide with a 0.2 flat at 90 degrees is half of 6.45 deep."""
    assert cutting.cone_depth_mm(6.65, 90, 0.2) == pytest.approx(3.225)


@given(st.floats(0.5, 20), st.sampled_from([60.0, 82.0, 90.0, 118.0]), st.floats(0, 0.3))
def test_cone_depth_and_cone_undo_each_other(cone: float, angle: float, flat: float) -> None:
    depth = cutting.cone_depth_mm(cone, angle, flat)
    assert cutting.cone_at_depth_mm(depth, angle, flat) == pytest.approx(cone)


def test_speed_against_the_shop_formulas() -> None:
    """rpm = 4 CS / D. Worked in the US Army's TC 9-524, drilling: 1/2 in in aluminium at 200
    feet a minute, 4 x 200 / 0.5 = 1600 (from memory of TC 9-524). The exact constant is 12 / pi =
    3.82, so the rule of four is 4.7 % high."""
    exact = cutting.ideal_rpm(200 * 0.3048, 12.7)
    assert pytest.approx(exact, rel=0.001) == 3.82 * 200 / 0.5
    assert exact == pytest.approx(1600, rel=0.05)
    # Metric form of the same rule: n = 318 V / d (common practice).
    assert cutting.ideal_rpm(30, 10) == pytest.approx(318 * 30 / 10, rel=0.001)


@pytest.mark.parametrize(
    ("ideal", "step"),
    # The highest step up to 1.15 of the ideal (common practice): 2000 / 1.15 = 1739.1.
    [(1740, 2000), (1739, 1250), (5000, 2000), (348, 400), (347, 220), (104.4, 120), (20, 120)],
)
def test_belt_steps(ideal: float, step: float) -> None:
    assert cutting.nearest_speed_rpm(ideal, STEPS) == step


@pytest.mark.parametrize(("ideal", "speed"), [(1739, 1730), (50, 100), (9000, 3000)])
def test_a_range_of_speeds_is_rounded_down_to_tens(ideal: float, speed: float) -> None:
    assert cutting.nearest_speed_rpm(ideal, RANGE) == speed


def test_no_speed_exceeds_the_mill_and_no_feed() -> None:
    slow = shop_of("[mill]\nmax_feed = 50").mill
    rpm, feed = cutting.drilling_speed(12, 10, material("aluminium"), slow)
    assert rpm in slow.speeds_rpm
    assert feed == 50


# A published guide for high-speed steel drills: speed and feed taken off from so many diameters.
@pytest.mark.parametrize(
    ("diameters", "speed_off", "feed_off"),
    [(2.9, 0, 0), (3, 10, 10), (4, 20, 10), (5, 30, 20), (6, 35, 20), (9, 35, 20)],
)
def test_deep_holes_take_off_speed_and_feed(
    diameters: float, speed_off: float, feed_off: float
) -> None:
    assert cutting.deep_shares(diameters * 5, 5) == (1 - speed_off / 100, 1 - feed_off / 100)


def test_reaming_is_half_the_speed_at_two_to_three_times_the_feed() -> None:
    """US Army training text on reaming: half the drill's speed; feed two to three times the
    drill's (common practice)."""
    steel = material("mild steel")
    drill_rpm, drill_feed = cutting.drilling_speed(6, 6, steel, RANGE)
    ream_rpm, ream_feed = cutting.reaming_speed(6, steel, RANGE)
    assert ream_rpm == pytest.approx(drill_rpm / 2, abs=10)
    assert 2 <= (ream_feed / ream_rpm) / (drill_feed / drill_rpm) <= 3


def test_countersinks_turn_at_a_quarter_to_a_third() -> None:
    steel = material("mild steel")
    drill_rpm, _ = cutting.drilling_speed(10, 5, steel, RANGE)
    rpm, _ = cutting.recessing_speed(10, steel, RANGE)
    assert drill_rpm / 4 - 10 <= rpm <= drill_rpm / 3


def test_a_tap_feeds_its_pitch_each_turn() -> None:
    rpm, feed = cutting.tapping_speed(6, 1.0, material("aluminium"), STEPS, 400)
    assert feed == rpm * 1.0
    # 15 m/min at 6 mm are 795 rev/min: what the shop allows a tap holds, belt steps or not.
    assert rpm == max(speed for speed in STEPS.speeds_rpm if speed <= 400)
    assert cutting.tapping_speed(6, 1.0, material("aluminium"), RANGE, 400)[0] == 400


def test_spot_drills_are_capped() -> None:
    fast = shop_of("[mill]\nspindle = { min = 100, max = 20000 }").mill
    assert cutting.spotting_speed(1, material("brass"), fast)[0] == 3000


@pytest.mark.parametrize(("diameter", "beyond"), [(3, 1.0), (10, 1.0), (12, 1.2), (20, 2.0)])
def test_breakthrough_is_a_millimetre_or_a_tenth(diameter: float, beyond: float) -> None:
    assert cutting.breakthrough_mm(diameter) == pytest.approx(beyond)


# First bite of so many diameters, then one, beyond five diameters half (common practice).
@pytest.mark.parametrize(
    ("depth", "diameter", "first", "pecks"),
    [
        (6.0, 3.0, 2, ()),
        (7.1, 3.0, 2, ()),  # a last bite of less than a fifth goes with the one before
        (7.3, 3.0, 2, (6.0, 7.3)),
        (9.5, 3.0, 2, (6.0, 9.5)),
        (12.0, 3.0, 2, (6.0, 9.0, 12.0)),
        (20.0, 3.0, 2, (6.0, 9.0, 12.0, 15.0, 16.5, 18.0, 19.5, 20.0)),
        (9.0, 3.0, 3, ()),
        (11.0, 3.0, 3, (9.0, 11.0)),
        (4.0, 3.0, 1, (3.0, 4.0)),
        (1.0, 0.8, 2, (0.4, 0.8, 1.0)),
    ],
)
def test_peck_schedule(
    depth: float, diameter: float, first: float, pecks: tuple[float, ...]
) -> None:
    assert cutting.peck_depths_mm(depth, diameter, first) == pytest.approx(pecks)


@given(st.floats(0.5, 80), st.floats(0.5, 13), st.sampled_from([1.0, 2.0, 3.0]))
def test_pecks_deepen_and_end_at_the_depth(depth: float, diameter: float, first: float) -> None:
    pecks = cutting.peck_depths_mm(depth, diameter, first)
    if not pecks:
        assert depth <= 1.2 * first * diameter + 1e-9
        return
    bites = [after - before for before, after in zip((0.0, *pecks), pecks, strict=False)]
    assert pecks[-1] == depth
    assert min(bites) > 0
    assert max(bites[:1]) <= first * diameter + 1e-9
    assert max(bites[1:]) <= 1.2 * diameter + 1e-9


@pytest.mark.parametrize(("words", "pecks"), [("brass", 0), ("mild steel", 2), ("silver steel", 3)])
def test_first_bite_is_the_materials(words: str, pecks: int) -> None:
    """3 d in brass, 2 d in mild steel, 1 d in silver steel (common practice); 15 mm with 5.5."""
    hole = "[[hole]]\ndrill = 5.5\nat = [20, 20]\ndepth = 13\n"
    assert len(named(plan_of(hole, material=words), "drill").pecks_mm) == pecks


# Percentage of thread, three conventions in use: (D - drill) / (c P). M6 x 1 with 5.0 mm is 92,
# 81.5 or 77 %, with 5.2 mm 74, 65 or 62 %
# (c = 1.0825, 1.2269, 1.299; Machinery's Handbook, formula).
@pytest.mark.parametrize(("drill", "percent"), [(5.0, 77), (5.2, 62)])
def test_percentage_of_thread_by_the_tap_drill_tables(drill: float, percent: float) -> None:
    assert read_thread("M6").percent_thread(drill, "1.299") == pytest.approx(percent, abs=0.5)


def test_the_number_seven_drill_gives_a_quarter_twenty_75_percent() -> None:
    """drill = D - 0.01299 x per cent / threads per inch (Machinery's Handbook): 0.250 - 0.01299 x
    75 / 20 = 0.2013 in, a number 7 (0.201)."""
    assert pytest.approx(0.2013, abs=0.00005) == 0.250 - 0.01299 * 75 / 20
    assert read_thread("1/4-20").percent_thread(0.2013 * 25.4, "1.299") == pytest.approx(
        75, abs=0.1
    )
    assert math.isclose(read_thread("1/4-20").tap_drill_mm, 0.201 * 25.4, abs_tol=1e-9)
