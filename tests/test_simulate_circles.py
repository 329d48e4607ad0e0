"""Circles that are holes: each limit just within and just beyond, of a 6 mm cutter round X20 Y20.

Its axis goes round at a radius r: the hole is 2 (r + 3) wide, and 2 (r - 3) is left inside. A
hundredth is noise everywhere.
"""

from __future__ import annotations

import math
from typing import Any

import pytest
from numpy.testing import assert_allclose

from millprep.model.scene import Box, Disc, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Countersink, Drill, EndMill
from millprep.reading.gcode import read_program
from millprep.reading.made import MadeOperation
from millprep.reading.simulate import Simulation, simulate
from millprep.reading.simulate.record import Cut

MILL = Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speed_range_rpm=(60.0, 3000.0))
BLOCK = Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)))
MILLER = EndMill("6 mm", 6.0, number=1)
SINK = Countersink("12 mm", 12.0, point_angle_deg=90.0, tip_flat_mm=2.0, number=2)
DRILL = Drill("8 mm", 8.0, point_angle_deg=180.0, number=3)
FINE = EndMill("4 mm", 4.0, number=4)


def run(body: str, scene: Scene | None = BLOCK) -> Simulation:
    text = f"G21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS800 M3\nG43 H1\nG0 X0. Y0. Z25.\n{body}M30\n"
    tools = (MILLER, SINK, DRILL, FINE)
    program = read_program(text.encode(), Control(), file="a.nc", tools=tools)
    assert program.is_complete, program.findings
    return simulate(program, scene, MILL, Control(), file="a.nc")


def turn(r: float, z: float, x: float = 20.0, way: str = "G3", then: str = "") -> str:
    """Down to a height and once round, on `then`, and up."""
    round_it = f"{way} X{x + r:.4f} Y20. I{-r:.4f} J0. F200.\n"
    return f"G0 X{x + r:.4f} Y20. Z2.\nG1 Z{z} F60.\n{round_it}{then}G0 Z2.\n"


def change(number: int) -> str:
    return f"G0 Z25.\nT{number} M6\nG43 H{number}\nS800 M3\n"


def drilled(z: float, x: float = 20.0) -> str:
    return f"{change(3)}G0 X{x} Y20. Z2.\nG1 Z{z} F60.\nG0 Z2.\n{change(1)}"


def operations(body: str, scene: Scene | None = BLOCK) -> list[MadeOperation]:
    return [one for hole in run(body, scene).holes for one in hole.operations]


def circles(body: str, scene: Scene | None = BLOCK) -> list[float]:
    """Diameters of those that are holes."""
    return [
        round(one.diameter_mm or 0.0, 4)
        for one in operations(body, scene)
        if one.milling == "circle"
    ]


def test_a_circle_as_it_is_told() -> None:
    (one,) = operations(turn(2.0, -4.0))
    told: dict[str, Any] = {
        "name": "drill", "tool_kind": "end mill", "diameter_mm": 10.0, "tip_mm": -4.0,
        "full_mm": -4.0, "cone_mm": None, "line": 8, "last_line": 8, "tool_number": 1,
        "x_mm": None, "y_mm": None, "point_angle_deg": None, "milling": "circle", "file": "a.nc",
    }  # fmt: skip  # a table
    assert {name: getattr(one, name) for name in told} == told
    (hole,) = run(turn(2.0, -4.0)).holes
    assert (hole.x_mm, hole.y_mm) == (20.0, 20.0)


@pytest.mark.parametrize("way", ["G2", "G3"])
def test_circles_go_round_either_way(way: str) -> None:
    assert circles(turn(2.0, -4.0, way=way)) == [10.0]


@pytest.mark.parametrize(("y", "made"), [("19.991", [26.0]), ("19.98", [])])
def test_a_whole_turn_is_a_tenth_of_a_degree_short_of_one(y: str, made: list[float]) -> None:
    """At 10 mm a tenth of a degree is 0.0175 mm."""
    body = f"G0 X30. Y20. Z2.\nG1 Z-20. F60.\nG3 X30. Y{y} I-10. J0. F200.\nG0 Z2.\n"
    assert circles(body) == made


def test_a_circle_in_another_work_system_is_where_the_stock_is() -> None:
    """G55 begins 10 mm to the right of G54 and 5 mm behind it, 3 mm lower."""
    origins = {"G54": (-200.0, -100.0, -150.0), "G55": (-190.0, -95.0, -153.0)}
    control = Control(offsets_mm=origins)
    body = "G55\n" + turn(2.0, -1.0, 10.0).replace("Y20.", "Y15.") + "G54\n"
    text = f"G21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS800 M3\nG43 H1\nG0 X0. Y0. Z25.\n{body}M30\n"
    program = read_program(text.encode(), control, file="a.nc", tools=(MILLER,))
    told = simulate(program, BLOCK, MILL, control, file="a.nc")
    (hole,) = told.holes
    assert (hole.x_mm, hole.y_mm, hole.bottom_mm, hole.diameter_mm) == (20.0, 20.0, -4.0, 10.0)
    (room,) = told.milled
    assert_allclose((room.low_mm[:2], room.high_mm[:2]), ((15.0, 15.0), (25.0, 25.0)), atol=0.01)
    away = told.sideways.start[:2] - 20.0
    assert_allclose((away**2).sum(axis=0), 4.0, atol=1e-6)


def test_turns_are_added_up() -> None:
    """Half a turn going down and half a level one: whole at where it began to go down."""
    half = "G0 X22. Y20. Z2.\nG1 Z-2. F60.\nG3 X18. Y20. Z-4. I-2. J0. F200.\n{}G0 Z2.\n"
    (one,) = operations(half.format("G3 X22. Y20. I2. J0.\n"))
    assert (one.tip_mm, one.full_mm, one.line, one.last_line) == (-4.0, -2.0, 8, 9)
    assert circles(half.format("")) == []


@pytest.mark.parametrize(
    ("x", "r", "z", "made"),
    [
        (20.0, 10.0, -19.97, [26.0]),  # three hundredths of skin
        (20.0, 10.0, -19.965, []),
        (13.0, 10.0, -20.0, [26.0]),  # up to the side of the stock
        (12.99, 10.0, -20.0, []),
        (20.0, 3.009, -4.0, [12.018]),  # a hundredth is no boss
        (20.0, 3.015, -4.0, []),
        (20.0, 3.0, -4.0, [12.0]),
    ],
)
def test_what_stands_inside_falls_out_or_is_nothing(
    x: float, r: float, z: float, made: list[float]
) -> None:
    assert circles(turn(r, z, x)) == made


@pytest.mark.parametrize(
    ("r", "z", "drilled_to", "made"),
    [
        (7.005, -4.0, -12.0, [20.01]),
        (7.015, -4.0, -12.0, []),
        (7.0, -4.0, -3.992, [20.0]),
        (7.0, -4.0, -3.988, []),
    ],
)
def test_a_drilled_hole_may_have_taken_the_inside(
    r: float, z: float, drilled_to: float, made: list[float]
) -> None:
    assert circles(drilled(drilled_to) + turn(r, z), None) == made
    made_of = run(drilled(drilled_to) + turn(r, z), None).holes[0].operations
    assert [one.name for one in made_of] == ["drill", *["counterbore" for _ in made]]


@pytest.mark.parametrize(
    ("r", "z", "made"),
    [
        (8.005, -4.0, [22.01]),
        (8.015, -4.0, [10.0]),
        (5.0, -3.995, [10.0, 16.0]),  # not as deep: a step in it
        (5.0, -4.005, [16.0]),
        (5.0, -4.015, [10.0]),  # deeper than its inside is
        (5.0, -3.985, [10.0, 16.0]),
    ],
)
def test_a_milled_hole_may_have_taken_it_where_no_stock_is_known(
    r: float, z: float, made: list[float]
) -> None:
    # 10 mm wide of a first turn: r = 8 leaves 10 inside
    body = turn(2.0, -4.0) + turn(r, z)
    if z == -3.995:  # as deep within a hundredth: swallowed
        made = [16.0]
    assert circles(body, None) == made


def plunge(x: float, z: float) -> str:
    return f"G0 X{x} Y20. Z2.\nG1 Z{z} F60.\nX{x + 0.001} F200.\nG0 Z2.\n"


@pytest.mark.parametrize(
    ("x", "z", "is_swallowed"),
    [
        (25.005, -4.0, True),  # its side at the side of the circle
        (25.015, -4.0, False),
        (20.0, -4.005, True),
        (20.0, -4.015, False),
        (14.995, -4.0, True),
    ],
)
def test_what_lies_in_a_circle_is_no_hole_of_its_own(
    x: float, z: float, is_swallowed: bool
) -> None:
    once = operations(turn(2.0, -4.0) + plunge(x, z) + turn(5.0, -4.0))
    again = operations(turn(2.0, -4.0) + turn(5.0, -4.0) + turn(4.0, -3.0))
    assert [one.diameter_mm for one in again] == [16.0]
    assert ["plunge" in {one.milling for one in once}] == [not is_swallowed]
    assert 16.0 in {one.diameter_mm for one in once}


def test_a_circle_beside_the_axis_of_its_hole_says_where() -> None:
    (_, one) = operations(drilled(-12.0) + turn(5.0, -4.0, 20.5), None)
    assert (one.x_mm, one.y_mm, one.diameter_mm) == (20.5, 20.0, 16.0)


def test_an_inside_that_is_cleared_later() -> None:
    assert circles(turn(5.0, -4.0)) == []
    assert circles(turn(5.0, -4.0) + turn(2.0, -4.0)) == [16.0]


@pytest.mark.parametrize(
    ("then", "made"),
    [
        ("G1 X20.\n", [10.0]),
        ("G1 X22.005\n", [10.0]),
        ("G1 X22.015\n", []),  # through its wall
        ("G1 X18. Y17.\n", []),
        ("G1 Z-3.985\nX30.\n", [10.0]),  # over it
        ("G1 Z-3.995\nX30.\n", []),
        ("G0 Z2.\nX30.\nG1 Z-4.\nX40.\n", [10.0]),  # a cut of its own
        ("G2 X18. Y20. I-2. J0.\n", [10.0]),  # back on the same circle
        ("G2 X22. Y24. I0. J2.\n", []),  # and out on an arc
    ],
)
def test_a_cut_as_deep_that_goes_through_the_wall(then: str, made: list[float]) -> None:
    assert circles(turn(2.0, -4.0, then=then)) == made


def test_only_level_planes_have_holes_and_no_tool_takes_up_another_s_arcs() -> None:
    upright = "G18\nG0 X22. Y20. Z2.\nG2 X22. Z2. I-2. K0. F60.\nG17\nG0 Z2.\n"
    assert circles(upright) == []
    half = "G0 X{} Y20. Z2.\nG1 Z-4. F60.\nG3 X{} Y20. I{} J0. F200.\nG0 Z2.\n"
    there, back = half.format(22, 18, -2), half.format(18, 22, 2)
    assert circles(there + back) == [10.0]
    assert circles(there + change(4) + back) == []


# Countersinks that go round in a mouth


@pytest.mark.parametrize(
    ("r", "hole_z", "z", "cone"),
    [
        (3.0, -12.0, -2.0, 12.0),  # 6 for its way, and 2 + 2 x 2 for its cone at the face
        (3.005, -12.0, -2.0, 12.01),  # its nose on the wall of 8 mm
        (3.015, -12.0, -2.0, None),
        (2.0, -12.0, -1.5, 9.0),
        (2.0, -12.0, -6.0, 16.0),  # no wider than the tool
        (3.0, -1.99, -2.0, None),  # into the floor
    ],
)
@pytest.mark.parametrize("scene", [BLOCK, None])
def test_a_countersink_that_goes_round(
    r: float, hole_z: float, z: float, cone: float | None, scene: Scene | None
) -> None:
    body = drilled(hole_z) + change(2) + turn(r, z)
    sunk = [one for one in operations(body, scene) if one.milling == "circle"]
    assert len(sunk) == (cone is not None)
    for one in sunk:
        assert one.cone_mm == pytest.approx(cone)
        assert (one.tool_kind, one.diameter_mm, one.milling) == ("countersink", 12.0, "circle")
        assert (one.tip_mm, one.point_angle_deg) == (z, 90.0)
        assert one.full_mm == pytest.approx(z + 5.0)  # 5 mm of cone


def test_the_mouth_that_it_leaves_is_room() -> None:
    drill, mouth = run(drilled(-12.0) + change(2) + turn(3.0, -2.0)).record.places[0].cuts
    assert drill == Cut(4.0, -12.0, 0.0, 0.0)
    assert_allclose(
        [mouth.radius_mm, mouth.tip_mm, mouth.flat_mm, mouth.slope], [6.0, -2.0, 4.0, 1.0]
    )
    assert mouth.is_spot


@pytest.mark.parametrize(
    ("turns", "cones"),
    [
        ([(2.98, -1.0), (3.0, -2.0)], [12.0]),
        ([(2.5, -2.5), (3.0, -2.0)], [12.0]),  # as wide: told once
        ([(3.0, -2.0), (2.98, -1.0)], [12.0, 9.96]),
    ],
)
def test_the_widest_turn_of_a_countersink_counts(
    turns: list[tuple[float, float]], cones: list[float]
) -> None:
    body = drilled(-12.0) + change(2) + "".join(turn(*one) for one in turns)
    assert [o.cone_mm for o in operations(body) if o.milling == "circle"] == pytest.approx(cones)


@pytest.mark.parametrize(
    ("hole_z", "r", "is_sunk"), [(-2.0, 4.0, True), (-1.99, 4.0, False), (-4.0, 4.02, False)]
)
@pytest.mark.parametrize("scene", [BLOCK, None])
def test_a_milled_hole_has_a_mouth_too(
    hole_z: float, r: float, is_sunk: bool, scene: Scene | None
) -> None:
    made = operations(turn(2.0, hole_z) + change(2) + turn(r, -2.0), scene)
    assert [one.name for one in made if one.milling == "circle"] == [
        "drill",
        *["countersink"] * is_sunk,
    ]


def test_beside_a_hole_it_makes_none_and_a_lower_face_is_nearer() -> None:
    assert circles(drilled(-12.0) + change(2) + turn(3.0, -2.0, 40.0)) == []
    low = Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, -1.0)))
    *_, sunk = run(drilled(-12.0) + change(2) + turn(3.0, -2.0), low).holes[0].operations
    assert sunk.cone_mm == pytest.approx(10.0)
    # a bar of 40 mm lies along X, its axis at Y 20: at Y 20 - 12 its top is 4 mm lower
    bar = Scene(Disc((0.0, 0.0, -40.0), (60.0, 40.0, 0.0), 0))
    body = (drilled(-12.0) + change(2) + turn(3.0, -6.0)).replace("Y20.", "Y8.")
    *_, sunk = run(body, bar).holes[0].operations
    assert sunk.cone_mm == pytest.approx(6.0 + 2 * (1.0 + 2.0))
    assert math.isclose(sunk.tip_mm, -6.0)
