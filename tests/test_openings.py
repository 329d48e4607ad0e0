"""A tapped hole that opens into a bore: how far tap and drill run out into it.

The tool is a circle beside the bore's circle: the thread of radius r is wholly out at
c - sqrt(R^2 - r^2), the far wall lies at c + R, the point keeps 0.5 mm off it (common practice).
Tap leads 4 and 2 threads, a pitch of room, points of 0.3004 d.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from jobs import checked, millprep, part_text, plan_of

from millprep.planning import Operation, Plan

STOCK = "size = [40, 30, 30]"


def grub(bore: str, tap: str = "M4", depth: str = '{ into = "shaft" }', more: str = "") -> str:
    """A bore through the middle from TOP, a thread into it from FRONT: its axis 15 mm deep."""
    return (
        f'[[hole]]\nname = "shaft"\n{bore}\nat = [20, 15]\ndepth = "through"\n'
        f'[[hole]]\nname = "grub"\nface = "front"\ntap = "{tap}"\nat = [20, 12]\n'
        f"depth = {depth}\n{more}\n"
    )


def steps(plan: Plan) -> tuple[Operation, Operation]:
    """Drill and tap of the thread."""
    mine = [o for s in plan.setups for o in s.operations if o.hole.name == "grub"]
    return tuple(next(o for o in mine if o.name == name) for name in ("drill", "tap"))  # type: ignore[return-value]  # two


def test_a_grub_screw_into_a_reamed_bore() -> None:
    """M4 into 6 mm: near wall 12, wholly out at 15 - sqrt(9 - 4) = 12.764, far wall 18.

    The tap ends 2.8 + 0.7 beyond; the drill's tip 0.5 before the far wall. Before, the drill went
    to 19.490, a crater in the far wall.
    """
    drill, tap = steps(plan_of(grub("ream = 6"), STOCK))
    assert tap.hole.depth_mm == 12.0
    assert -tap.z_mm == pytest.approx(12.764 + 3.5, abs=0.001)
    assert -drill.z_mm == 17.5
    assert drill.full_mm == pytest.approx(17.5 - 0.3004 * 3.3, abs=0.001)
    assert tap.tool.told["lead"] == 4


def test_a_wide_bore_leaves_room_for_all() -> None:
    """20 mm: out at 15 - sqrt(100 - 4) = 5.202, tap to 8.702, drilled a pitch deeper."""
    drill, tap = steps(plan_of(grub("ream = 20"), STOCK))
    assert -tap.z_mm == pytest.approx(8.702, abs=0.001)
    assert drill.full_mm == pytest.approx(9.402, abs=0.001)


def test_a_plain_drill_ends_at_the_axis_as_before() -> None:
    holes = grub("ream = 6").replace('tap = "M4"', "drill = 3")
    drill = next(
        o for s in plan_of(holes, STOCK).setups for o in s.operations
        if (o.hole.name, o.name) == ("grub", "drill")
    )  # fmt: skip
    assert -drill.z_mm == pytest.approx(15 + 0.3004 * 3, abs=0.001)


def test_what_meets_a_bore_and_ends_in_it_runs_out_too() -> None:
    """Depth 13 lies between the walls at 12 and 18; 22 goes on beyond, a thread on both sides."""
    into = steps(plan_of(grub("ream = 6"), STOCK))
    met = steps(plan_of(grub("ream = 6", depth="13", more='meets = ["shaft"]'), STOCK))
    assert [o.z_mm for o in met] == [o.z_mm for o in into]
    past = steps(plan_of(grub("ream = 6", depth="20", more='meets = ["shaft"]'), STOCK))
    assert -past[1].z_mm == pytest.approx(20 + 2.8)


def test_the_shorter_lead_where_the_longer_meets_the_far_wall() -> None:
    """M6 into 6 mm: corners of the 5 mm drill may go to 15 + sqrt(9 - 6.25) - 0.5, its tip to
    18 - 0.5, so its full diameter to 16: the bottoming tap's thread is whole to 14, the near wall
    lies at 12."""
    plan = plan_of(grub("ream = 6", "M6"), STOCK)
    drill, tap = steps(plan)
    assert tap.tool.told["lead"] == 2
    assert drill.full_mm == pytest.approx(18 - 0.5 - 0.3004 * 5, abs=0.001)
    assert -tap.z_mm == pytest.approx(drill.full_mm)
    (found,) = (one for one in plan.findings if one.kind == "bottoming-tap")
    assert "far wall of shaft" in found.message


def test_the_tap_to_get_where_none_in_the_drawer_has_so_little_lead() -> None:
    """M6 into 5.5 mm with a tap of 4 threads: 15 + sqrt(7.5625 - 6.25) - 0.5 - 4 = 11.65 of whole
    thread, and the near wall at 12.25."""
    shop = '[drawer]\ntaps = [{ thread = "M6", lead = 4 }]\n'
    _, tap = steps(plan_of(grub("ream = 5.5", "M6"), STOCK, shop=shop))
    assert (tap.tool.told["lead"], tap.in_drawer) == (1.5, False)


def test_none_fits() -> None:
    """M6 into 3.5 mm: the drill is wider than the bore, and may go to 15 - 0.5; less 1.5 threads
    that is 13, the near wall lies at 13.25."""
    found = [
        one
        for one in checked(plan_of(grub("ream = 3.5", "M6"), STOCK))
        if one.kind == "tap-bottoms"
    ]
    assert [one.severity for one in found] == ["stop"]


@pytest.mark.parametrize("first", ["front", "top"])
@pytest.mark.parametrize("bore", [5.5, 6, 8, 12])
@pytest.mark.parametrize("tap", ["M3", "M4", "M5", "M6"])
def test_every_sheet_is_had(in_folder: Path, first: str, bore: float, tap: str) -> None:
    """In either order of the setups; nothing goes into the far wall."""
    path = in_folder / "a.toml"
    setups = "".join(
        f'[[setup]]\nface = "{face}"\n'
        for face in sorted(("front", "top"), key=lambda f: f != first)
    )
    text = part_text(grub(f"ream = {bore}", tap) + setups, STOCK)
    path.write_text(text, encoding="utf-8")
    assert millprep("check", path).status == 0
    for sheet in ("listing", "tools", "program"):
        words = ("-o", f"{sheet}.nc", "--force") if sheet == "program" else ()
        assert millprep(sheet, path, *words).status == 0
    drill, tapped = steps(plan_of(grub(f"ream = {bore}", tap), STOCK))
    assert -drill.z_mm <= 15 + bore / 2 - 0.5 + 1e-9
    assert -tapped.z_mm <= 15 + math.sqrt(
        max((bore / 2) ** 2 - (drill.tool.diameter_mm / 2) ** 2, 0)
    )


@pytest.mark.parametrize("off_mm", [1.4, 1.0])
def test_the_witness_keeps_back_what_touches_the_far_wall(
    in_folder: Path, off_mm: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    from millprep.planning import openings

    path = in_folder / "a.toml"
    path.write_text(part_text(grub("ream = 6"), STOCK), encoding="utf-8")
    monkeypatch.setattr(openings, "SHORT_OF_WALL_MM", 0.5 - off_mm)
    ran = millprep("listing", path)
    assert ran.status == 1
    assert "far wall" in ran.out + ran.err
