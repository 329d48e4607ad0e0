"""Points that suit the material: by the drawer's drill, and what to grind where it wants another.

A point of angle a is half the diameter by the tangent of a / 2: of 5.5 mm at 118 degrees 1.652,
at 135 1.139, at 90 2.750. Common practice: 135 in stainless steel 304 and titanium, 60 to 90 in
acrylic, 118 elsewhere.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from jobs import millprep, named, plan_of

from millprep.model.tools import PointedTool
from millprep.reference.cutters import wanted_point
from millprep.reference.materials import materials

HOLE = '[[hole]]\nname = "oil way"\ndrill = 5.5\nat = [30, 20]\ndepth = "through"\n'
BOTH = "[drawer]\ndrills = [{ diameter = 5.5, point_angle = 135 }, { diameter = 5.5 }]\n"


def test_what_to_grind_is_what_is_wanted_and_the_usual_point_is_not() -> None:
    wanted = [one for one in map(wanted_point, materials()) if one is not None]
    assert len(wanted) == 3
    assert all(one.suits(one.grind_deg) and not one.suits(118.0) for one in wanted)


@pytest.mark.parametrize(
    ("material", "angle", "deep_mm"),
    [
        ("stainless 304", 135, 10 + 1 + 1.139),  # through 10, and 1 beyond
        ("mild steel", 118, 10 + 1 + 1.652),
        ("acrylic", 118, 10 + 1 + 1.652),  # neither will do: the one nearer to what it wants
    ],
)
def test_the_point_at_hand_that_suits_decides_the_depth(
    material: str, angle: float, deep_mm: float
) -> None:
    plan = plan_of(HOLE, "size = [60, 40, 10]", shop=BOTH, material=material)
    drill = named(plan, "drill")
    assert isinstance(drill.tool, PointedTool)
    assert drill.tool.angle_deg == angle
    assert -drill.z_mm == pytest.approx(deep_mm, abs=1e-3)


@pytest.mark.parametrize(
    ("material", "says"),
    [
        # 12.652 is 12.650 in counts of 0.005; 12.139 is 12.140; 13.750
        ("stainless 304", "130 to 140 deg: grind tool 2 to 135, then quill to -12.140 instead of "
         "-12.650 at step 2, and 0.515 less at every other"),
        ("acrylic", "60 to 90 deg: grind tool 2 to 90, then quill to -13.750 instead of -12.650 at "
         "step 2, and 1.100 more at every other"),
        ("mild steel", ""),
    ],
)  # fmt: skip
@pytest.mark.parametrize("order", ["tool", "hole"])
def test_what_to_grind_is_said_with_the_depth_for_it(
    material: str, says: str, order: str, tmp_path: Path
) -> None:
    part = tmp_path / "part.toml"
    part.write_text(
        f'part = "P"\nunits = "mm"\nmaterial = "{material}"\n[stock]\nsize = [60, 40, 10]\n'
        f'[datum]\nx = "left"\ny = "front"\n{HOLE}'
    )
    said = " ".join(millprep("listing", part, "--order", order).out.split())
    assert ("wants a point of " + says in said) if says else ("wants a point" not in said)
    assert millprep("dials", part, "--order", order).status == 0
