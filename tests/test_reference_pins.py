"""Pins, grub screws and taper pipe threads against their standards' rules and worked figures."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import pairwise

import pytest

from millprep.base.findings import WordError
from millprep.lookup import lookup
from millprep.lookup.bought import pipe_threads
from millprep.reference.heads import head_for, washer_for
from millprep.reference.tables import load_table, screw_inches
from millprep.reference.threads import thread_named


def test_inch_dowels_are_a_shade_over_size() -> None:
    """ASME B18.8.2 (from memory): a 1/4 in pin is 0.2501 to 0.2503."""
    for row in load_table("pins-dowel-inch").rows:
        size = screw_inches(row["size"])
        assert size is not None
        cut = Decimal(int(size * 10000)) / 10000  # printed to the fourth figure
        assert row["least_in"] - cut == Decimal("0.0001")
        assert row["greatest_in"] - cut == Decimal("0.0003")
        (pin,) = lookup(f"dowel {row['size']} in")
        assert pin["least_mm"] == pytest.approx(float(row["least_in"]) * 25.4)
        assert pin["greatest_mm"] == pytest.approx(float(row["greatest_in"]) * 25.4)
    assert lookup("dowel 1/4 in")[0]["least_mm"] == pytest.approx(0.2501 * 25.4)


def test_taper_pins_grow_by_one_in_fifty() -> None:
    (pin,) = lookup("taper pin 4 x 30")
    assert (pin["designation"], pin["small_mm"], pin["large_mm"]) == ("taper pin 4 x 30", 4, 4.6)
    assert lookup("taper pin 4")[0]["large_mm"] is None
    with pytest.raises(WordError, match="no taper pin is listed at 7 mm"):
        lookup("taper pin 7 x 30")
    rows = load_table("pins-taper").rows
    for small, large in pairwise(rows):
        assert small["longest_mm"] <= large["longest_mm"]
        assert small["shortest_mm"] <= large["shortest_mm"]
    assert all(row["shortest_mm"] < row["longest_mm"] for row in rows)
    assert all(lookup(f"taper pin {row['diameter_mm']} x 30") for row in rows)


def test_inch_taper_pins_grow_by_a_quarter_inch_in_a_foot() -> None:
    """No. 2 (0.193), 1 1/4 in long: 0.193 - 1.25 / 48 = 0.16696, as handbooks tabulate (0.1670)."""
    (pin,) = lookup("taper pin no. 2 x 1 1/4 in")
    assert pin["small_mm"] / 25.4 == pytest.approx(0.1670, abs=0.00005)
    assert pin["designation"] == "taper pin no. 2 x 1.25 in"
    with pytest.raises(WordError):
        lookup("taper pin no. 11 x 1 in")
    rows = load_table("pins-taper-inch").rows
    sizes = [row["large_in"] for row in rows]
    for small, large in pairwise(sizes):
        assert Decimal("1.1") < large / small < Decimal("1.27")
    assert (rows[0]["number"], rows[-1]["number"]) == ("7/0", "10")


def test_spring_pins_are_larger_than_their_holes() -> None:
    """IT12 of ISO 286-1 in um (from memory): 100 to 3, 120 to 6, 150 to 10, 180 to 18, 210 to 30;
    a 5 mm pin is 5.4 to 5.6 before fitting."""
    steps = {3: 0.1, 6: 0.12, 10: 0.15, 18: 0.18, 30: 0.21}
    for row in load_table("pins-spring").rows:
        (pin,) = lookup(f"roll pin {row['diameter_mm']} mm")
        twelve = next(width for to, width in steps.items() if pin["hole_mm"] <= to)
        assert pin["hole_greatest_mm"] == pytest.approx(pin["hole_mm"] + twelve)
        assert pin["hole_mm"] + twelve <= pin["free_least_mm"] < pin["free_greatest_mm"]
        assert 0.17 <= pin["wall_mm"] / pin["hole_mm"] <= 0.23
    (five,) = lookup("roll pin 5 mm")
    assert (five["free_least_mm"], five["free_greatest_mm"]) == (5.4, 5.6)


def test_keys_of_grub_screws_are_about_half_the_thread() -> None:
    sizes = [f"M{row['major_mm']}" for row in load_table("grubs-metric").rows]
    sizes += [f"{row['size']} un" for row in load_table("grubs-inch").rows]
    keys = {}
    for size in sizes:
        grub, thread = lookup(f"{size} grub screw")[0], lookup(size)[0]
        assert grub["tap_drill"] == thread["tap_drill"]
        assert 0.35 <= grub["key_mm"] / thread["major_mm"] <= 0.58, size
        assert grub["point_mm"] is None or 0.5 <= grub["point_mm"] / thread["major_mm"] <= 0.8, size
        keys[size] = grub["key_mm"]
    assert (keys["M6"], keys["1/4 un"]) == (3, pytest.approx(25.4 / 8))
    for none in ("M6x0.75", "2BA"):
        with pytest.raises(WordError, match="no table has a grub screw"):
            lookup(f"{none} grub screw")


def test_drills_before_a_taper_pipe_tap() -> None:
    """Handbook (from memory): 1/8 NPT core at the small end 0.3339 in, 1/2 NPT 0.7013 in."""
    cores = {one["designation"]: one["core_mm"] / 25.4 for one in pipe_threads()}
    assert cores["1/8 NPT"] == pytest.approx(0.3339, abs=0.0002)
    assert cores["1/2 NPT"] == pytest.approx(0.7013, abs=0.0002)
    for one in pipe_threads():
        over_mm = one["tap_drill_mm"] - one["core_mm"]
        if "NPT" in one["designation"]:
            assert abs(over_mm) < 25.4 / 80, one["designation"]
        else:
            row = next(
                row
                for row in load_table("pipes-bspt").rows
                if one["designation"] == f"{row['size']} BSPT"
            )
            assert 0 < over_mm < float(row["gauge_mm"]) / 16, one["designation"]


def test_bspt_has_the_diameters_of_g() -> None:
    for row in load_table("pipes-bspt").rows:
        parallel = thread_named(f"G{row['size']}")
        assert parallel is not None
        assert parallel.major_mm == float(row["major_mm"])
        assert parallel.threads_per_inch == row["threads_per_inch"]


def test_button_heads_and_inch_washers() -> None:
    """ISO 7380-1 (from memory): M5 9.5 x 2.75; ASME B18.3: 1/4 in 0.437 x 0.132."""
    metric, inch = thread_named("M5"), thread_named("1/4-20 UNC")
    assert metric is not None and inch is not None
    button, quarter = head_for(metric, "button head"), head_for(inch, "button head")
    assert button is not None and quarter is not None
    assert (button.head_diameter_mm, button.head_height_mm) == (9.5, 2.75)
    assert quarter.head_diameter_mm == pytest.approx(0.437 * 25.4)
    washer = washer_for(inch)
    assert washer is not None
    assert washer.hole_mm == pytest.approx(float(Fraction(281, 1000)) * 25.4)
