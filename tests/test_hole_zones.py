"""How far a hole may be off: by its own tolerance or zone in any program, by none in our own."""

from __future__ import annotations

from pathlib import Path

import pytest
from jobs import millprep

from millprep.infiles import read_part
from millprep.reading.made import MadeOperation, made_hole
from millprep.witness import Lay, compare

PART = """\
part = "Plate"
units = "mm"
material = "aluminium"
[stock]
size = [60, 40, 10]
[datum]
x = "left"
y = "front"
[[hole]]
name = "dowel"
drill = 5
spot = false
depth = 6
at = ["1/3 in", 20]
{zone}
"""


def off(part_path: Path, zone: str, dx_mm: float, dy_mm: float, *, ours: bool) -> list[str]:
    """What is said of the one hole, so far off."""
    part_path.write_text(PART.format(zone=zone))
    part, _ = read_part(str(part_path))
    drill = MadeOperation("drill", "drill", 5.0, -7.5, -6.0, point_angle_deg=118.0)
    hole = made_hole(25.4 / 3 + dx_mm, 20 + dy_mm, (drill,))
    lay = Lay("top", "front", "left", "front")
    tolerance = 0.0005 if ours else 0.05
    found = compare(part, lay, [hole], position_tolerance_mm=tolerance, by_own_rules=ours)
    return [finding.message for finding in found if finding.kind == "hole-off"]


@pytest.mark.parametrize(
    ("zone", "dx_mm", "dy_mm", "is_off"),
    [
        ("", 0.049, 0.049, False),
        ("", 0.051, 0.0, True),
        ("tolerance = 0.02", 0.019, -0.019, False),
        ("tolerance = 0.02", 0.0, -0.021, True),
        ("tolerance = 0.3", 0.29, 0.29, False),
        ("tolerance = 0.3", 0.31, 0.0, True),
        ("position = 0.1", 0.049, 0.0, False),
        ("position = 0.1", 0.036, 0.036, True),  # 0.0509 from the middle
        ("position = 0.5", 0.17, 0.17, False),
    ],
)
def test_any_program(tmp_path: Path, zone: str, dx_mm: float, dy_mm: float, is_off: bool) -> None:
    assert bool(off(tmp_path / "p.toml", zone, dx_mm, dy_mm, ours=False)) == is_off


@pytest.mark.parametrize("zone", ["", "tolerance = 0.02", "tolerance = 0.3", "position = 0.5"])
def test_our_own_program_is_right_to_its_last_figure(tmp_path: Path, zone: str) -> None:
    assert off(tmp_path / "p.toml", zone, 0.0004, 0.0004, ours=True) == []
    assert len(off(tmp_path / "p.toml", zone, 0.001, 0.0, ours=True)) == 1


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_our_own_program_is_within_the_tightest_tolerance(tmp_path: Path, units: str) -> None:
    part, shop, program = tmp_path / "p.toml", tmp_path / "shop.toml", tmp_path / "p.nc"
    part.write_text(PART.format(zone="tolerance = 0.001"))
    shop.write_text(f'[control]\nunits = "{units}"\n')
    options = ("--shop", shop)
    assert millprep("program", part, "-o", program, *options).status == 0
    told = millprep("dryrun", program, "--part", part, *options, "--format", "json").json
    assert told["stops"] == 0
