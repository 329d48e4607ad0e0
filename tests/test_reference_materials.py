"""Materials and their names, drill feeds and reaming stock."""

from __future__ import annotations

import pytest

from millprep.reference.cutters import boring_cuts_mm
from millprep.reference.drills import oversize_mm
from millprep.reference.materials import (
    drill_feed_mm_per_rev,
    material_named,
    materials,
    ream_stock_mm,
)

# Drilling speeds for high speed steel, m/min, lowest and highest published: US Navy training
# manual 14345 and TC 9-524 (steel, iron, brass, aluminium), published speed tables (the rest).
PUBLISHED_M_PER_MIN = {
    "free-cutting mild steel": (30, 40), "mild steel": (24, 33), "medium carbon steel": (21, 24),
    "silver steel": (12, 25), "stainless steel 303": (15, 26),
    "stainless steel 304 or 316": (10, 17), "cast iron": (21, 45), "brass": (60, 90),
    "gunmetal": (60, 90), "phosphor bronze": (21, 45), "aluminium": (60, 90), "acetal": (30, 90),
    "acrylic": (30, 90), "nylon": (30, 90), "magnesium": (60, 120),
    "tool steel, high chromium": (9, 15),
}  # fmt: skip


@pytest.mark.parametrize(("name", "published"), PUBLISHED_M_PER_MIN.items())
def test_speeds_are_a_light_start_under_the_published(
    name: str, published: tuple[float, float]
) -> None:
    material = material_named(name)
    assert material is not None and material.name == name
    assert 0.6 * published[0] <= material.drill_m_per_min <= published[1]
    assert material.ream_m_per_min == material.drill_m_per_min / 2  # TC 9-524
    share = material.countersink_m_per_min / material.drill_m_per_min
    assert 1 / 4 <= share <= 1 / 3  # common practice
    assert material.tap_m_per_min < material.drill_m_per_min


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("aluminium 6082", "aluminium"),
        ("6082", "aluminium"),
        ("Aluminum", "aluminium"),
        ("6082-T6 plate", "aluminium"),
        ("EN1A", "free-cutting mild steel"),
        ("EN 1A Pb", "free-cutting mild steel"),
        ("12L14", "free-cutting mild steel"),
        ("free-cutting mild steel", "free-cutting mild steel"),
        ("mild  steel", "mild steel"),
        ("Mild Steel, bright", "mild steel"),
        ("EN3", "mild steel"),
        ("brass", "brass"),
        ("CZ121", "brass"),
        ("brass CZ 121", "brass"),
        ("cast iron", "cast iron"),
        ("silver steel", "silver steel"),
        ("stainless 303", "stainless steel 303"),
        ("stainless steel 316", "stainless steel 304 or 316"),
        ("acetal", "acetal"),
        ("stainless", "stainless steel 304 or 316"),
        ("bronze", "phosphor bronze"),
        ("bearing bronze", "gunmetal"),
        ("cast aluminium", "aluminium"),
        # European and American numbers for one alloy (common practice; EN 573, EN 10277, EN 10088,
        # EN 12164, AISI and UNS designations, from memory)
        ("EN AW-6082 T6", "aluminium"),
        ("AlSi1MgMn", "aluminium"),
        ("7075-T651", "aluminium"),
        ("3.4365", "aluminium"),
        ("EN AW-2011", "free-cutting aluminium"),
        ("11SMnPb30", "free-cutting mild steel"),
        ("1.0718", "free-cutting mild steel"),
        ("S235JR", "mild steel"),
        ("A36", "mild steel"),
        ("C45E", "medium carbon steel"),
        ("1.1191", "medium carbon steel"),
        ("42CrMo4", "alloy steel"),
        ("EN 24T", "alloy steel"),
        ("1.7225", "alloy steel"),
        ("1.2210", "silver steel"),
        ("1.2379", "tool steel, high chromium"),
        ("1.4305", "stainless steel 303"),
        ("1.4404", "stainless steel 304 or 316"),
        ("CW614N", "brass"),
        ("C36000", "brass"),
        ("CZ 108", "brass"),
        ("CC493K", "gunmetal"),
        ("C93200", "gunmetal"),
        ("CW451K", "phosphor bronze"),
        ("C11000", "copper"),
        ("C14500", "free-cutting copper"),
        ("EN-GJL-250", "cast iron"),
        ("Ti-6Al-4V", "titanium"),
        ("POM-C", "acetal"),
        ("PA 66", "nylon"),
    ],
)
def test_materials_by_the_names_they_go_by(words: str, name: str) -> None:
    material = material_named(words)
    assert material is not None
    assert material.name == name


@pytest.mark.parametrize("words", ["", "cheese", "60821", "x303x", "en", "steel wool"])
def test_other_words_are_no_material(words: str) -> None:
    assert material_named(words) is None


def test_every_alias_belongs_to_one_material() -> None:
    aliases = [alias for material in materials() for alias in material.aliases]
    assert len(aliases) == len(set(aliases))
    for material in materials():
        for alias in (material.name, *material.aliases):
            assert material_named(alias.upper()) is material


def test_stainless_is_never_left_to_rub_and_long_chips_are_named() -> None:
    """Common practice: austenitic stainless hardens under a dwelling drill."""
    hardening = {material.name for material in materials() if material.work_hardens}
    assert hardening == {"stainless steel 303", "stainless steel 304 or 316", "titanium"}
    long_chips = {material.name for material in materials() if material.long_chips}
    assert {"aluminium", "stainless steel 303"} <= long_chips
    assert not {"brass", "cast iron", "mild steel"} & long_chips


@pytest.mark.parametrize(
    ("diameter_mm", "low", "high"),
    [  # US Navy training manual 14345, feed a turn: under 1/8 in .001-.002, to 1/4 .002-.004,
        # to 1/2 .004-.007, to 1 in .007-.015 in
        (2, 0.020, 0.051),
        (3, 0.025, 0.051),
        (5, 0.050, 0.102),
        (6, 0.050, 0.102),
        (9, 0.101, 0.178),
        (12, 0.101, 0.181),
        (20, 0.178, 0.381),
        (25, 0.178, 0.381),
    ],
)
def test_drill_feeds(diameter_mm: float, low: float, high: float) -> None:
    assert low <= drill_feed_mm_per_rev(diameter_mm) <= high


def test_drill_feed_rises_with_the_drill_and_is_level_beyond_the_table() -> None:
    feeds = [drill_feed_mm_per_rev(tenths / 10) for tenths in range(1, 400)]
    assert feeds == sorted(feeds)
    assert feeds[0] == 0.01
    assert feeds[-1] == 0.38


@pytest.mark.parametrize(
    ("diameter_mm", "stock"),
    [(3, (0.1, 0.2)), (5, (0.1, 0.2)), (6.35, (0.2, 0.3)), (60, (0.3, 0.5))],
)
def test_reaming_stock(diameter_mm: float, stock: tuple[float, float]) -> None:
    """Trade training note on undersizes for reaming."""
    assert ream_stock_mm(diameter_mm) == stock


def test_light_metals_take_half_as_much_stock_again() -> None:
    """Trade training note on undersizes for reaming: + 50 % in light metals."""
    assert ream_stock_mm(8, material_named("6082")) == (0.3, 0.45)
    assert ream_stock_mm(8, material_named("mild steel")) == ream_stock_mm(8) == (0.2, 0.3)
    assert ream_stock_mm(3, material_named("cast iron")) == (0.1, 0.2)


def test_carbide_runs_two_to_four_times_as_fast() -> None:
    """Common practice: published speeds of solid carbide drills against high speed steel."""
    for material in materials():
        if material.carbide_m_per_min is not None:
            assert 2 <= material.carbide_m_per_min / material.drill_m_per_min <= 4.2
        else:
            assert material.group == "plastic"


def test_a_boring_head_takes_half_a_millimetre_to_one_and_a_fifth_at_the_end() -> None:
    """Common practice on a light mill: 0.5 to 1 mm off the diameter, the last two 0.1 to 0.2."""
    for material in materials():
        most_mm, last_mm = boring_cuts_mm(material)
        assert 0.5 <= most_mm <= 1.0
        assert 0.1 <= last_mm <= 0.2


def test_bench_books_ream_after_the_same_drills() -> None:
    """Common practice of model engineers: 2.9 for 3, 4.85 for 5, 7.8 for 8 mm."""
    for reamer_mm, drill_mm in ((3, 2.9), (5, 4.85), (8, 7.8)):
        low, high = ream_stock_mm(reamer_mm)
        assert low - 1e-9 <= reamer_mm - drill_mm <= high
        assert oversize_mm(drill_mm) < reamer_mm - drill_mm


def test_a_hand_reamer_takes_little_of_the_hole_as_it_is() -> None:
    """0.05 to 0.1 mm (0.002 to 0.004 in, common practice) over what a drill cuts.

    Oversize at 6 mm: 0.0762 at 1/8 in and 0.1016 at 1/4 in, 0.0762 + 2.825 / 3.175 x 0.0254.
    """
    low, high = ream_stock_mm(6.0, is_hand=True)
    assert (low - 0.05, high - 0.1) == pytest.approx((oversize_mm(6.0), oversize_mm(6.0)))
    assert oversize_mm(6.0) == pytest.approx(0.0988, abs=1e-4)


def test_high_chromium_tool_steel_is_no_silver_steel() -> None:
    """Published for D2 annealed: 30 to 50 ft/min, 9 to 15 m/min; drill rod 40 to 85 ft/min."""
    d2, silver = material_named("D2"), material_named("silver steel")
    assert d2 is not None and silver is not None
    assert d2.name == "tool steel, high chromium"
    assert 0.6 * 9 <= d2.drill_m_per_min <= 9 < silver.drill_m_per_min


def test_magnesium_goes_as_the_light_metals_and_dry() -> None:
    """Published: 60 to 120 m/min; dry, since water feeds the fire (common practice)."""
    magnesium = material_named("AZ31B plate")
    assert magnesium is not None and magnesium.name == "magnesium"
    assert magnesium.group == "light metal"
    assert 0.6 * 60 <= magnesium.drill_m_per_min <= 120
    assert magnesium.lubricant == "none, dry"
    assert {one.name for one in materials() if one.burns} == {"magnesium", "titanium"}
