"""Hand reamers: a long taper, little to take, a wrench under a centre, never the spindle.

0.05 to 0.1 mm of the hole as it is drilled, taper of a quarter of the flutes or 1 to 1.5 diameters,
unusable in short blind holes (common practice). Expected oversize of a drill of 8 mm: 0.1016 mm at
1/4 in and 0.127 at 1/2 in (Machinery's Handbook), so 0.108.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from jobs import checked, millprep, named, part_text, plan_of, shop_of

from millprep.planning import tool_words

BLOCK = "size = [60, 40, 20]"
HAND = '[drawer]\nreamers = ["6 mm", { size = "8 mm", type = "hand", length = 120, flute = 60 }]\n'


def hole(size: str = "8", depth: str = '"through"') -> str:
    return f'[[hole]]\nname = "a"\nream = {size}\nat = [20, 20]\ndepth = {depth}\n'


def test_its_taper_is_a_quarter_of_its_flutes_or_one_and_a_half_diameters() -> None:
    shop = shop_of(
        "[drawer]\nreamers = [{ size = 8, type = 'hand', flute = 60 }, "
        "{ diameter = 10, type = 'hand' }, { size = 5, type = 'hand', lead = 7 }, 6]\n"
    )
    leads = [(r.diameter_mm, r.is_hand, r.lead_mm) for r in shop.cabinet.reamers]
    assert leads == [(5, True, 7), (6, False, 1), (8, True, 15), (10, True, 15)]


@pytest.mark.parametrize(
    "entry", ["drills = [{ size = 5, type = 'hand' }]", "reamers = [{ size = 5, type = 'foot' }]"]
)
def test_what_is_no_hand_reamer_is_refused(in_folder: Path, entry: str) -> None:
    Path("shop.toml").write_text(f"[drawer]\n{entry}\n", encoding="utf-8")
    Path("a.toml").write_text(part_text(hole(), BLOCK), encoding="utf-8")
    ran = millprep("check", "a.toml", "--shop", "shop.toml")
    assert ran.status == 2
    assert "type" in ran.err


def test_its_drill_leaves_it_little_and_it_goes_through_by_its_taper() -> None:
    """7.8 cuts 7.908: 0.09 is left; a machine reamer takes the same. 7.9 would leave nothing.

    Through 20 mm: 20 + 15 of taper + 1.
    """
    plan = plan_of(hole(), BLOCK, shop=HAND)
    drill, ream = named(plan, "drill"), named(plan, "ream")
    assert drill.tool.words == "7.8 mm"
    assert 0.05 <= 8 - drill.tool.diameter_mm - 0.108 <= 0.1
    assert (-ream.z_mm, ream.by_hand) == (36.0, True)
    assert tool_words(ream.tool) == "8 mm hand reamer"
    finer = HAND + "drills = [7.7, 7.8, 7.9]\n"
    assert named(plan_of(hole(), BLOCK, shop=finer), "drill").tool.words == "7.8 mm"


def test_a_machine_reamer_of_the_size_comes_first() -> None:
    both = '[drawer]\nreamers = [{ size = "8 mm", type = "hand" }, "8 mm"]\n'
    assert not named(plan_of(hole(), BLOCK, shop=both), "ream").by_hand


@pytest.mark.parametrize(("thick", "is_refused"), [(20, True), (30, False)])
def test_a_short_blind_hole_is_refused(thick: int, is_refused: bool) -> None:
    """8 deep: drilled to 8 + 15 + 1 and a point of 2.3, with 2 mm of floor: 28.4 mm."""
    plan = plan_of(hole(depth="8"), f"size = [60, 40, {thick}]", shop=HAND)
    found = [one for one in checked(plan) if one.kind == "hand-reamer-blind"]
    assert [one.severity for one in found] == (["stop"] if is_refused else [])


def test_sheets_say_how_it_is_turned_and_programs_leave_it_out(in_folder: Path) -> None:
    Path("shop.toml").write_text(HAND, encoding="utf-8")
    Path("a.toml").write_text(part_text(hole(), BLOCK), encoding="utf-8")
    for sheet in ("listing", "dials"):
        out = " ".join(millprep(sheet, "a.toml", "--shop", "shop.toml").out.split())
        assert "reamer 8, lead 15 mm, for the hand, by hand" in out
        assert "turn it with a wrench, a centre in the spindle at its end" in out
    ran = millprep("listing", "a.toml", "--shop", "shop.toml", "--format", "json")
    (reamer,) = (one for one in ran.json["setups"][0]["tools"] if one["by_hand"])
    assert (reamer["say"], reamer.get("rpm")) == (["hand-reamed"], None)
    assert "for the hand" in millprep("tools", "a.toml", "--shop", "shop.toml").out
    assert millprep("bench", "a.toml", "--shop", "shop.toml", "-o", "a.html").status == 0
    ran = millprep("program", "a.toml", "--shop", "shop.toml", "-o", "a.nc")
    assert (ran.status, "left to the hand: 1 hole" in ran.out) == (0, True)
    program = Path("a.nc").read_text()
    assert "BY HAND: A REAM 8 MM, A HAND REAMER IS NEVER TURNED BY THE SPINDLE" in program
    assert "G85" not in program
    ran = millprep("dryrun", "a.nc", "--part", "a.toml", "--shop", "shop.toml")
    assert ran.status == 0


def test_a_listing_that_runs_it_under_power_is_kept_back(
    in_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from millprep.planning import operations

    Path("shop.toml").write_text(HAND, encoding="utf-8")
    Path("a.toml").write_text(part_text(hole(), BLOCK), encoding="utf-8")
    make = operations._Maker._make

    def powered(self: operations._Maker, *given: object, **more: object) -> object:
        from millprep.base.records import replace

        return replace(make(self, *given, **more), by_hand=False)  # type: ignore[arg-type]  # as made

    monkeypatch.setattr(operations._Maker, "_make", powered)
    assert millprep("listing", "a.toml", "--shop", "shop.toml").status == 1
