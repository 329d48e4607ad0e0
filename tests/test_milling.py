"""What end mills do to a part: rooms that they take, circles that are holes, what is kept."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jobs import millprep
from numpy.testing import assert_allclose

from millprep.reading.milled_rooms import SidewaysCuts, rooms_of

PART = """\
part = "Plate"
units = "mm"
material = "aluminium"
[stock]
size = [80, 50, 12]
[datum]
x = "left"
y = "front"
[[hole]]
name = "seat"
{hole}
depth = "through"
at = [40, 25]
"""
HEAD = """\
(TOOL 1 END MILL 6.000 MM)
(TOOL 2 BORING HEAD {bore} MM)
(TOOL 3 DRILL 12.000 MM POINT 118)
(TOOL 4 SPOT DRILL 10.000 MM POINT 90)
G21 G17 G90 G94 G40 G49 G80 G54
"""
SPOT = "T4 M6\nS1500 M3\nG43 H4 G0 Z25.\nG98 G81 X40. Y25. Z-4. R2. F80.\nG80\nM5\n"
DRILL = "T3 M6\nS800 M3\nG43 H3 G0 Z25.\nG98 G83 X40. Y25. Z-17. R2. Q4. F100.\nG80\nM5\n"
BORE = "T2 M6\nS500 M3\nG43 H2 G0 Z25.\nG98 G85 X40. Y25. Z-13. R2. F30.\nG80\nM5\n"


def turns(radius: float, *depths: float, level: bool = True) -> str:
    """A helix about the seat, down to each depth in half turns."""
    right, left = 40 + radius, 40 - radius
    text = f"G1 X{right:.3f} Y25. F250.\nZ0. F100.\n"
    for depth in (*depths, *depths[-1:] * level):
        text += f"G3 X{left:.3f} Y25. Z{depth:.3f} R{radius:.3f} F200.\n"
        text += f"G3 X{right:.3f} Y25. Z{depth:.3f} R{radius:.3f}\n"
    return text + "G1 X40.\nG0 Z1.\n"


def mill(text: str) -> str:
    return f"T1 M6\nS2000 M3\nG43 H1 G0 Z25.\nX40. Y25.\nZ1.\n{text}G0 Z25.\nM5\n"


def judged(
    folder: Path, body: str, hole: str = "bore = 22", bore: float = 22.0, stock: bool = False
) -> dict[str, Any]:
    (folder / "p.toml").write_text(PART.format(hole=hole))
    (folder / "p.nc").write_text(HEAD.format(bore=f"{bore:.3f}") + body + "G53 G0 Z0.\nM30\n")
    ground = ("--stock", "80,50,12") if stock else ("--part", folder / "p.toml")
    return dict(millprep("dryrun", folder / "p.nc", *ground, "--format", "json").json)


def kinds(told: dict[str, Any]) -> list[str]:
    return [f["kind"] for f in told["findings"] if f["severity"] == "stop"]


def operations(told: dict[str, Any]) -> list[list[tuple[str, float]]]:
    return [
        [(step["operation"], step["diameter_mm"]) for step in hole["steps"]]
        for hole in told["holes"]
    ]


PASSES = (-3.0, -6.0, -9.0, -12.5)


@pytest.mark.parametrize(
    ("body", "made"),
    [
        (mill(turns(3, *PASSES) + turns(8, *PASSES)), [("drill", 22)]),
        (mill(turns(8, *PASSES)), [("drill", 22)]),  # what is inside falls out
        (SPOT + mill(turns(8, *PASSES)), [("spot drill", 10), ("drill", 22)]),
        (
            SPOT + DRILL + mill(turns(6, *PASSES) + turns(8, *PASSES)),
            [("spot drill", 10), ("drill", 12), ("counterbore", 22)],
        ),
        (
            SPOT + DRILL + mill(turns(6, *PASSES) + turns(7.7, *PASSES)) + BORE,
            [("spot drill", 10), ("drill", 12), ("counterbore", 21.4), ("bore", 22)],
        ),
    ],
)
def test_a_bore_may_be_milled(tmp_path: Path, body: str, made: list[tuple[str, float]]) -> None:
    told = judged(tmp_path, body)
    assert operations(told) == [made]
    assert kinds(told) == []


@pytest.mark.parametrize("hole", ["drill = 22", "ream = 22"])
def test_other_holes_before_or_instead_of_their_tool(tmp_path: Path, hole: str) -> None:
    told = judged(tmp_path, mill(turns(3, *PASSES) + turns(8, *PASSES)), hole)
    assert kinds(told) == ([] if hole == "drill = 22" else ["operation-missing", "wrong-diameter"])


def test_a_plunge_within_a_circle_is_no_hole_of_its_own(tmp_path: Path) -> None:
    plunge = "G1 X44. F250.\nZ-12.5 F60.\nG0 Z1.\n"
    told = judged(tmp_path, mill(plunge + turns(3, *PASSES) + turns(8, *PASSES)))
    assert operations(told) == [[("drill", 22)]]
    assert kinds(told) == []


def test_a_boss_is_no_hole(tmp_path: Path) -> None:
    told = judged(tmp_path, mill(turns(15, -2.0, -4.0)), stock=True)
    assert told["holes"] == []
    (room,) = told["milled"]
    assert room["x_mm"] == pytest.approx([22, 58], abs=0.001)
    assert room["y_mm"] == pytest.approx([7, 43], abs=0.001)
    assert room["z_mm"] == [-4, 0]


def test_a_circle_is_as_deep_as_its_lowest_whole_turn(tmp_path: Path) -> None:
    ramp = judged(tmp_path, mill(turns(3, -2.0, -4.0, level=False)), "drill = 12", stock=True)
    assert ramp["holes"][0]["bottom_mm"] == -4
    level = judged(tmp_path, mill(turns(3, *PASSES, level=False)), "drill = 12")
    assert kinds(level) == ["too-shallow"]  # half a turn of the last lies at -9 to -12.5
    assert kinds(judged(tmp_path, mill(turns(3, *PASSES)), "drill = 12")) == []


def test_what_is_milled_is_told_with_its_extent(tmp_path: Path) -> None:
    slot = mill("G0 Z25.\nX-6. Y10.\nZ-4.\nG1 X20. F200.\nY16.\n")
    bare = judged(tmp_path, slot, stock=True)
    assert kinds(bare) == []
    (room,) = bare["milled"]
    assert {key: room[key] for key in ("x_mm", "y_mm", "z_mm", "tool_number")} == {
        "x_mm": [0, 23],
        "y_mm": [7, 19],
        "z_mm": [-4, 0],
        "tool_number": 1,
    }
    assert any("no part says so" in said for said in bare["not_checked"])

    told = judged(tmp_path, slot)
    (found,) = [f for f in told["findings"] if f["kind"] == "milled-away"]
    assert found["message"] == (
        "the 6 mm end mill takes away what the part keeps: X 0.000 to 23.000, Y 7.000 to 19.000, "
        "down to Z-4.000"
    )
    assert (found["line"], found.get("last_line")) == (room["line"], room["last_line"])
    assert not any("no part says so" in said for said in told["not_checked"])


def test_two_slots_are_two_rooms(tmp_path: Path) -> None:
    one = "G0 Z25.\nX-6. Y{y}\nZ-{z}\nG1 X20. F200.\nG0 Z25.\n"
    both = one.format(y="10.", z="2.") + one.format(y="40.", z="2.") + one.format(y="10.", z="4.")
    told = judged(tmp_path, mill(both))
    found = [f["message"].split(": ")[1] for f in told["findings"] if f["kind"] == "milled-away"]
    assert found == [
        "X 0.000 to 23.000, Y 7.000 to 13.000, down to Z-4.000",
        "X 0.000 to 23.000, Y 37.000 to 43.000, down to Z-2.000",
    ]


def test_the_part_from_below(tmp_path: Path) -> None:
    """Right up to the outline, with a through hole of the other face in the way."""
    (tmp_path / "p.toml").write_text(
        PART.format(hole="drill = 22") + '[[setup]]\nface = "bottom"\nholes = []\n'
    )
    clean = mill("G0 Z25.\nX-10. Y53.\nZ-5.\nG1 X90. F200.\n")
    (tmp_path / "p.nc").write_text(HEAD.format(bore="22.000") + clean + "G53 G0 Z0.\nM30\n")
    ran = millprep("dryrun", tmp_path / "p.nc", "--part", tmp_path / "p.toml", "--format", "json")
    assert "milled-away" not in json.dumps(ran.json)


def test_facing_may_begin_with_a_plunge(tmp_path: Path) -> None:
    """What a blank has too much is not the part's, wherever the cutter goes down in it."""
    part = tmp_path / "p.toml"
    part.write_text(
        PART.format(hole="drill = 12").replace("12]\n", "12]\nmeasured = { z = 12.4 }\n")
    )
    seat = SPOT + DRILL

    def found(depth: str) -> list[str]:
        face = mill(f"G0 X20. Y10.\nG1 Z{depth} F100.\nX60. F300.\nG0 Z5.\n")
        (tmp_path / "p.nc").write_text(HEAD.format(bore="22.000") + face + seat + "M30\n")
        return kinds(millprep("dryrun", tmp_path / "p.nc", "--part", part, "--format", "json").json)

    assert found("-0.4") == []
    assert found("-0.6") == ["milled-away", "hole-extra"]


def _room_by_room(cuts: SidewaysCuts, low: np.ndarray, high: np.ndarray) -> list[list[float]]:
    """A line's box into the last room that it touches, by itself: [x, y, x, y, tool, lines]."""
    rooms: list[list[float]] = []
    for line in sorted(set(cuts.line.tolist())):
        own = cuts.line == line
        radius = float(cuts.radius[own][0])
        ends = np.hstack([cuts.start[:2, own], cuts.end[:2, own]])
        x, y = np.maximum(ends.min(axis=1) - radius, low[:2])
        far_x, far_y = np.minimum(ends.max(axis=1) + radius, high[:2])
        tool = int(cuts.tool[own][0])
        for room in rooms[:-51:-1]:
            near = room[0] <= far_x + 0.01 and x <= room[2] + 0.01
            if near and room[1] <= far_y + 0.01 and y <= room[3] + 0.01 and room[4] == tool:
                corner = min(room[0], x), min(room[1], y), max(room[2], far_x), max(room[3], far_y)
                room[:] = [*corner, tool, room[5] + 1]
                break
        else:
            rooms.append([x, y, far_x, far_y, tool, 1])
    return rooms


def _leaping_cuts(seed: int) -> SidewaysCuts:
    """Cuts that go on from one another, leap, come back and change tool."""
    chance = np.random.default_rng(seed)
    is_leap = chance.random(60) < 0.3
    steps = chance.normal(0, 1, (3, 60)) * np.where(is_leap, 40.0, 2.0)
    places = 50 + np.cumsum(steps, axis=1) / 3
    cut = np.flatnonzero(~is_leap[1:])
    line = np.cumsum(chance.integers(0, 2, 59) | is_leap[:-1])[cut]  # some of several pieces
    tool = np.where(line > chance.integers(1, 30), 2, 1)
    wide, flat_ended = np.full(cut.size, 3.0), np.zeros(cut.size)
    return SidewaysCuts(line, tool, places[:, cut], places[:, cut + 1], wide, wide, flat_ended)


def test_rooms_are_those_of_line_after_line() -> None:
    low, high = np.array([0.0, 0.0, -1000.0]), np.array([100.0, 100.0, 1000.0])
    many = 0
    for seed in range(40):
        cuts = _leaping_cuts(seed)
        found = rooms_of(cuts, np.ones(len(cuts), dtype=bool), low, high, 1000.0)
        told = [[*one.low_mm[:2], *one.high_mm[:2], one.tool, one.count] for one in found]
        assert_allclose(told, _room_by_room(cuts, low, high), err_msg=f"seed {seed}")
        many += len(found) > 2
    assert many > 20


@pytest.mark.parametrize("side", ["G41 D1", ""])
@pytest.mark.parametrize("back", ["G40 G1 X40.\n", "G40\nG0 Z1.\nG1 X40.\n"])
def test_a_path_under_compensation_is_not_judged_as_the_cutters_centre(
    tmp_path: Path, side: str, back: str
) -> None:
    """The bore's own outline: with compensation it may be the seat, without it is 6 mm too wide."""
    text = f"G1 Z-12.5 F100.\n{side} G1 X51. F200.\nG3 I-11. J0.\n"
    told = judged(tmp_path, SPOT + DRILL + mill(text + (back if side else "G1 X40.\n")))
    if side:
        assert set(kinds(told)) == {"compensation-not-followed"}
        assert ("drill", None) in operations(told)[0] or ("counterbore", None) in operations(told)[
            0
        ]
    else:
        assert {"milled-away", "wrong-diameter"} & set(kinds(told))


LOOP = "G3 X{}. Y25. I2. J0.\nG1 X{}.\n"


@pytest.mark.parametrize(
    ("text", "bores"),
    [
        # what is inside a ring is cleared behind it, and before it
        ("G1 X45. F200.\nZ-4. F50.\nG3 I-5. J0.\nG1 X40.\n", [(16, -4)]),
        ("G1 Z-4. F50.\nX45. F200.\nG3 I-5. J0.\n", [(16, -4)]),
        # up from the bottom, as a thread mill goes
        (
            "G1 Z-10. F50.\nX42.\nG3 X42. Y25. I-2. Z-9.\nX42. Y25. I-2. Z-8.\nG1 X40.\n",
            [(10, -10)],
        ),
        # a slot milled in loops, a way down into a pocket, a ring at the end of a slot
        ("G1 Z-4. F50.\n" + "".join(LOOP.format(40 + n, 41 + n) for n in range(4)), []),
        ("G1 X42. Z0. F50.\nG3 I-2. J0. Z-2.\nG3 I-2. J0. Z-4.\nG3 I-2. J0.\nG1 X60.\nY30.\n", []),
        ("G1 X20. Z-4. F50.\nX42.\nG3 I-2. J0.\n", []),
        # a shallower cut beside it leaves the hole as it is
        ("G1 X42. Z-4. F50.\nG3 I-2. J0.\nG1 Z-1.\nX60.\n", [(10, -4)]),
    ],
)
def test_a_circle_is_a_hole_where_its_wall_is_whole(
    tmp_path: Path, text: str, bores: list[tuple[float, float]]
) -> None:
    holes = judged(tmp_path, mill(text), stock=True)["holes"]
    assert [(hole["diameter_mm"], hole["bottom_mm"]) for hole in holes] == bores


def test_a_bore_through_a_drilled_hole_is_as_wide_as_it_is_milled(tmp_path: Path) -> None:
    """A counterbore in it leaves the hole as wide as the drill."""
    ring = "G1 Z{}. F50.\nX48.\nG3 X48. Y25. I-8. J0.\nG1 X40.\n"
    for depth, wide in ((-14, 22), (-5, 12)):
        (hole,) = judged(tmp_path, SPOT + DRILL + mill(ring.format(depth)), stock=True)["holes"]
        assert hole["diameter_mm"] == wide
        assert [one["operation"] for one in hole["steps"]][1:] == ["drill", "counterbore"]
    alone = judged(tmp_path, mill("G1 Z-4. F50.\nX42.\nG3 I-2. J0.\n"), stock=True)
    assert operations(alone) == [[("drill", 10)]]


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (mill(turns(3, *PASSES) + turns(9, *PASSES)), ["wrong-diameter"]),  # 24 mm for 22
        (mill(turns(3, *PASSES) + turns(8, *PASSES) + "G1 X55. Z-2.\nX40.\n"), ["milled-away"]),
    ],
)
def test_a_bore_that_is_too_wide_is_one_finding(tmp_path: Path, body: str, told: list[str]) -> None:
    assert kinds(judged(tmp_path, body)) == told
