"""One slip that puts a whole pattern off is one finding; what else is wrong is still told."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from jobs import millprep, part_text

PLATE = """
[[hole]]
name = "foot"
drill = 5
depth = "through"
spot = false
corners = { inset = [8, 6] }
[[hole]]
name = "ring"
drill = 4
depth = "through"
spot = false
circle = { centre = [30, 20], diameter = 16, count = 3 }
"""
FEET = [(8.0, 6.0), (52.0, 6.0), (52.0, 34.0), (8.0, 34.0)]
RING = [(38.0, 20.0), (26.0, 26.9282), (26.0, 13.0718)]
Places = list[tuple[float, float]]


def run(folder: Path, feet: Places, ring: Places, feet_to: float = -25.0) -> list[dict[str, Any]]:
    (folder / "p.toml").write_text(part_text(PLATE))
    text = "G21 G17 G90 G94 G54\n(TOOL 1 DRILL 5.000 MM)\n(TOOL 2 DRILL 4.000 MM)\n"
    for tool, holes, low in ((1, feet, feet_to), (2, ring, -25.0)):
        text += f"T{tool} M6\nG43 H{tool} G0 Z25.\nS1250 M3\n"
        text += "".join(f"G98 G83 X{x} Y{y} Z{low} R2. Q2. F90.\n" for x, y in holes) + "G80\nM5\n"
    (folder / "p.nc").write_text(text + "M30\n")
    told = millprep("dryrun", folder / "p.nc", "--part", folder / "p.toml", "--format", "json").json
    others = ("unstated-mode", "lies-as-drawn", "hits-fixture")
    stops = [one for one in told["findings"] if one["severity"] == "stop"]
    return [one for one in stops if one["kind"] not in others]


def moved(holes: Places, dx: float, dy: float) -> Places:
    return [(round(x + dx, 4), round(y + dy, 4)) for x, y in holes]


def about(holes: Places, across: float, up: float) -> Places:
    return [(30 + round((x - 30) * across, 4), 20 + round((y - 20) * up, 4)) for x, y in holes]


@pytest.mark.parametrize(
    ("feet", "ring", "said"),
    [
        (FEET, RING, []),
        (moved(FEET, 4, 0), RING, ["all 4 holes of foot are off by X +4.000 mm; the first"]),
        (moved(FEET, 0.1, -0.2), RING, ["foot are off by X +0.100 mm Y -0.200 mm"]),
        (moved(FEET, 1, 1), moved(RING, 1, 1), ["all 7 holes of this face are off by X +1.000"]),
        (about(FEET, 18 / 22, 12 / 14), RING, ["from their middle by X -4.000 mm Y -2.000 mm"]),
        (
            FEET,
            about(RING, 1.25, 1.25),
            ["ring are off from their middle by +2.000 mm; the first of them"],
        ),
        (moved(FEET, 4, 0), moved(RING, 0, 2), ["foot are off by X +4", "ring are off by Y +2"]),
        (FEET[:3] + moved(FEET[3:], 1, 0), RING, ["foot 4 is off in X by +1.0000 mm"]),
    ],
)
def test_one_slip_is_one_finding(
    tmp_path: Path, feet: Places, ring: Places, said: list[str]
) -> None:
    found = run(tmp_path, feet, ring)
    assert len(found) == len(said), found
    assert all(words in one["message"] for words, one in zip(said, found, strict=True)), found


def test_depths_of_a_shifted_pattern_are_still_compared(tmp_path: Path) -> None:
    """Of several holes of which the same is to be said it is said once."""
    kinds = [one["kind"] for one in run(tmp_path, moved(FEET, 4, 0), RING, feet_to=-15.0)]
    assert kinds.count("hole-off") == 1
    assert len(kinds) == 2


def test_one_operation_off_all_over_a_pattern_is_one_finding(tmp_path: Path) -> None:
    """Spotted where the holes belong, then drilled beside it."""
    (tmp_path / "p.toml").write_text(
        part_text(PLATE[: PLATE.index("[[hole]]", 2)].replace("spot = false\n", ""))
    )
    text = "G21 G17 G90 G94 G54\n(TOOL 1 SPOT DRILL 6.000 MM POINT 90)\n(TOOL 2 DRILL 5.000 MM)\n"
    for tool, holes, low in ((1, FEET, -2.0), (2, moved(FEET, 0.5, 0), -25.0)):
        text += f"T{tool} M6\nG43 H{tool} G0 Z25.\nS1250 M3\n"
        text += "".join(f"G98 G83 X{x} Y{y} Z{low} R2. Q2. F90.\n" for x, y in holes) + "G80\nM5\n"
    (tmp_path / "p.nc").write_text(text + "M30\n")
    ran = millprep("dryrun", tmp_path / "p.nc", "--part", tmp_path / "p.toml", "--format", "json")
    (found,) = [one for one in ran.json["findings"] if one["kind"] == "hole-off"]
    assert "all 4 holes of foot are off by X +0.500 mm; the first of them" in found["message"]
    assert found["holes"] == [f"foot {n}" for n in range(1, 5)]
