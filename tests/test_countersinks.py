"""Countersinks end in a nose, which cuts nothing: depth by it, Z by the rim where nobody knows it.

A cone of angle a is half its width deep by the tangent of a / 2: 0.5 of the width at 90 degrees,
0.5752 at 82. A nose of width w takes its own share off. All by hand from that.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from jobs import millprep, named, plan_of

from millprep.checks import run_checks
from millprep.planning import Plan

HEAD = '[[hole]]\nname = "head"\nat = [30, 20]\ndepth = "through"\n'
UNKNOWN = "[drawer]\ncountersinks = [{ diameter = 12.7 }, { diameter = 12.7, point_angle = 82 }]\n"


def _kinds(plan: Plan) -> list[str]:
    return [f.kind for f in run_checks(plan) if f.kind.startswith("nose")]


@pytest.mark.parametrize(
    ("shop", "cone", "deep_mm"),
    [
        ("", 'countersink = "M5 countersunk"', (11.2 - 2.8) / 2),  # 12.4, packaged: nose 2.8
        ("", "countersink = { diameter = 7 }", (7 - 2.0) / 2),  # 8.3: nose 2.0
        ("[drawer]\ncountersinks = [12.4]\n", "countersink = { diameter = 11.2 }", 4.2),  # usual
        ("[drawer]\ncountersinks = [{ diameter = 12.4, tip_flat = 0 }]\n",
         "countersink = { diameter = 11.2 }", 5.6),  # measured: a sharp one
        ("[drawer]\ncountersinks = [{ diameter = 12.4, tip_flat = 1.2 }]\n",
         "countersink = { diameter = 11.2 }", 5.0),  # measured: (11.2 - 1.2) / 2
    ],
)  # fmt: skip
def test_a_known_nose_is_taken_off_the_depth(shop: str, cone: str, deep_mm: float) -> None:
    plan = plan_of(f"{HEAD}drill = 5.5\n{cone}\n", shop=shop)
    assert -named(plan, "countersink").z_mm == pytest.approx(deep_mm)
    assert not _kinds(plan)


def test_inch_noses_of_the_packaged_shop() -> None:
    """1/2 in, 82 degrees, nose 0.11 in: (0.4 - 0.11) x 0.5752 = 0.1668 in."""
    plan = plan_of(
        f"{HEAD}drill = 5.5\ncountersink = {{ diameter = 10.16, angle = 82 }}\n",
        shop='base = "inch"\n',
    )
    assert -named(plan, "countersink").z_mm / 25.4 == pytest.approx(0.1668, abs=1e-4)


@pytest.mark.parametrize(
    ("hole", "angle", "deep_mm", "at", "share"),
    [
        ("drill = 5.5", 90, 5.0, "-2.750", "0.5"),  # 10 / 2; 5.5 / 2
        ("drill = 5.5", 82, 5.752, "-3.165", "0.575"),  # 10 x 0.5752; 5.5 x 0.5752 = 3.1634
        ('tap = "M6"', 90, 5.0, "-2.500", "0.5"),  # the rim of the 5.0 tapping drill
        ("bore = 8\nspot = true", 90, 5.0, "-4.000", "0.5"),  # bored before it is countersunk
    ],
)
def test_without_a_known_nose_z_comes_from_the_rim(
    hole: str, angle: int, deep_mm: float, at: str, share: str, tmp_path: Path
) -> None:
    cone = f"countersink = {{ diameter = 10, angle = {angle} }}\n"
    plan = plan_of(f"{HEAD}{hole}\n{cone}", shop=UNKNOWN)
    assert -named(plan, "countersink").z_mm == pytest.approx(deep_mm, abs=1e-3)
    assert _kinds(plan) == ["nose-unknown"]
    part, shop = tmp_path / "part.toml", tmp_path / "shop.toml"
    part.write_text(
        'part = "P"\nunits = "mm"\nmaterial = "brass"\n[stock]\nsize = [60, 40, 10]\n'
        f'[datum]\nx = "left"\ny = "front"\n{HEAD}{hole}\n{cone}'
    )
    shop.write_text(UNKNOWN)
    for order in ("tool", "hole"):
        sheet = millprep("listing", str(part), "--shop", str(shop), "--order", order)
        said = " ".join(sheet.out.split())
        assert f"cone touch its rim and set the quill scale to {at}: minus {share} of" in said
    dials = millprep("dials", str(part), "--shop", str(shop))
    assert f"set the quill scale to {at}: minus" in " ".join(dials.out.split())
    program = millprep("program", str(part), "--shop", str(shop), "-o", str(tmp_path / "p.nc"))
    assert program.status == 0, program.err
    assert f"SET Z TO MINUS {share} OF THAT HOLE" in (tmp_path / "p.nc").read_text()


def test_a_nose_as_wide_as_the_hole_is_passed_over_and_said() -> None:
    """The 6.3 mm one has a nose of 1.5; of the sizes made for 90 degrees the 4.3 mm one has 1.3."""
    plan = plan_of(f"{HEAD}drill = 1.4\ncountersink = {{ diameter = 3 }}\n")
    sink = named(plan, "countersink")
    assert (sink.tool.words, sink.in_drawer) == ("4.3 mm", False)
    assert -sink.z_mm == pytest.approx((3 - 1.3) / 2)
    assert _kinds(plan) == ["nose-too-wide"]
    assert not _kinds(plan_of(f"{HEAD}drill = 2.5\ncountersink = {{ diameter = 3 }}\n"))
