"""Pilots: which drills want one, how thick, how deep, and as few as will do.

The web of a twist drill is 0.15 to 0.2 of it at the point, a pilot 0.2 to 0.3 (common practice);
light mills pilot from 6 to 8 mm, always from 1/2 in (course texts). Points of 0.3004 d.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from jobs import millprep, part_text, plan_of

from millprep.planning import Operation, Plan

BLOCK = "size = [80, 50, 20]"


def hole(what: str, depth: str = '"through"', at: str = "[20, 20]", name: str = "a") -> str:
    return f'[[hole]]\nname = "{name}"\n{what}\nat = {at}\ndepth = {depth}\n'


def pilots(plan: Plan) -> list[Operation]:
    return [o for s in plan.setups for o in s.operations if o.name == "pilot drill"]


@pytest.mark.parametrize(
    ("size", "pilot_mm"),
    [(7.9, None), (8, 2.5), (9, 2.5), (10, 2.5), (12, 3.0), (12.7, 3.2), (16, 4.0), (20, 5.0)],
)
def test_about_as_thick_as_the_web(size: float, pilot_mm: float | None) -> None:
    """A quarter of the drill, nothing thinner than 2.5 mm."""
    found = [o.tool.diameter_mm for o in pilots(plan_of(hole(f"drill = {size}"), BLOCK))]
    assert found == ([] if pilot_mm is None else [pilot_mm])


@pytest.mark.parametrize(("nearest", "count"), [(5.9, 1), (6.1, 0)])
def test_no_wider_than_six_tenths_of_its_drill(nearest: float, count: int) -> None:
    shop = f"[drawer]\ndrills = [{nearest}, 10]"
    assert len(pilots(plan_of(hole("drill = 10"), BLOCK, shop=shop))) == count


@pytest.mark.parametrize(
    ("said", "size", "count"), [(6, 6.5, 1), (10, 9, 0), (10, 10, 1), (40, 12.7, 1), (40, 12.5, 0)]
)
def test_the_shop_may_say_from_where_but_half_an_inch_always_wants_one(
    said: float, size: float, count: int
) -> None:
    plan = plan_of(hole(f"drill = {size}"), BLOCK, shop=f"[drawer]\npilot_from = {said}\n")
    assert len(pilots(plan)) == count


def test_just_through_by_its_own_point() -> None:
    """2.5 mm: 20 + 0.75; the 10 mm drill goes to 24.00."""
    (pilot,) = pilots(plan_of(hole("drill = 10"), BLOCK))
    assert -pilot.z_mm == pytest.approx(20 + 0.3004 * 2.5, abs=0.001)


def test_half_a_millimetre_above_the_last_tip_in_a_blind_hole() -> None:
    """10 mm, 8 deep: its tip at 11.004, the pilot's at 10.504."""
    (pilot,) = pilots(plan_of(hole("drill = 10", "8"), BLOCK))
    assert -pilot.z_mm == pytest.approx(8 + 3.004 - 0.5, abs=0.001)


@pytest.mark.parametrize(("thick", "count"), [(4.9, 0), (5.1, 1)])
def test_none_in_thin_sheet(thick: float, count: int) -> None:
    """Under half the drill (common practice)."""
    assert len(pilots(plan_of(hole("drill = 10"), f"size = [80, 50, {thick}]"))) == count


def test_near_equal_pilots_become_one() -> None:
    """11 and 12 mm would have 2.8 and 3.0; before, 0.05 mm apart cost a change."""
    holes = hole("drill = 11", at="[20, 20]") + hole("drill = 12", at="[50, 20]", name="b")
    assert len({o.tool for o in pilots(plan_of(holes, BLOCK))}) == 1
    mixed = 'drills = ["#29", 3.5, 11.5, 12]'
    holes = hole("drill = 11.5", at="[20, 20]") + hole("drill = 12", at="[50, 20]", name="b")
    plan = plan_of(holes, BLOCK, shop=f"[drawer]\n{mixed}\n")
    assert len({o.tool for o in pilots(plan)}) == 1


def test_a_drill_that_is_wanted_anyway_is_the_pilot_too() -> None:
    """3.3 mm under M4 is a quarter to four tenths of 9 mm: no more tools."""
    holes = hole("drill = 9") + hole('tap = "M4"', at="[50, 20]", name="b")
    plan = plan_of(holes, BLOCK)
    assert [o.tool.words for o in pilots(plan)] == ["3.3 mm"]


@pytest.mark.parametrize(
    ("material", "is_told"),
    [("brass", True), ("phosphor bronze", True), ("acrylic", True), ("mild steel", False)],
)
@pytest.mark.parametrize("order", ["tool", "hole"])
def test_lips_are_dulled_where_the_drill_would_be_drawn_in(
    in_folder: Path, material: str, is_told: bool, order: str
) -> None:
    part = in_folder / "a.toml"
    text = hole("drill = 10") + hole("drill = 5", at="[50, 20]", name="b")
    part.write_text(part_text(text, BLOCK, material=material), encoding="utf-8")
    for sheet in ("listing", "dials"):
        ran = millprep(sheet, part, *(("--order", order) if sheet == "listing" else ()))
        assert ran.status == 0
        assert ("dull the lips of this drill first" in " ".join(ran.out.split())) is is_told
    listed = millprep("listing", part, "--format", "json").json["setups"][0]["tools"]
    assert [one.get("say") for one in listed].count(["lips-dulled"]) == is_told
    assert millprep("bench", part, "-o", "a.html").status == 0
    assert ("dull the lips" in Path("a.html").read_text()) is is_told
