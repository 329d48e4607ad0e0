"""What is left of the stock, against closed forms and against each point asked by itself."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from numpy.testing import assert_allclose

from millprep.model.scene import Box, Disc, Drilled, Scene
from millprep.model.shop import Control, Mill
from millprep.reading.gcode import read_program
from millprep.reading.milled_rooms import SidewaysCuts
from millprep.reading.simulate import Simulation, simulate
from millprep.reading.simulate.left import Left, _under, across_room, left_of
from millprep.reading.simulate.record import fresh_record

STOCK = Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0))
SCENE = Scene(STOCK)
MILL = Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speed_range_rpm=(60.0, 3000.0))
TOOLS = """G21 G17 G90 G94 G54
(TOOL 1 END MILL 6.000 MM)
(TOOL 2 DRILL 5.000 MM POINT 118)
(TOOL 3 COUNTERBORE 9.000 MM)
(TOOL 4 SPOT DRILL 8.000 MM POINT 90)
(TOOL 5 END MILL 10.000 MM)
"""
SQUARE = 0.08
WINDOW = (0.0, 0.0, 60.0, 40.0)


def tool(number: int, *lines: str) -> str:
    return "\n".join([f"T{number} M6", f"G0 G43 H{number} Z10.", "S1000 M3", *lines, "G0 Z10.", ""])


def ran(*programs: str, scene: Scene = SCENE) -> list[Simulation]:
    done: list[Simulation] = []
    for text in programs:
        run = read_program((TOOLS + text + "M5\nM30\n").encode(), Control(), file="a.nc")
        assert not any(one.severity == "stop" for one in run.findings)
        record = done[-1].record if done else None
        done.append(simulate(run, scene, MILL, Control(), file="a.nc", record=record))
    return done


def left(
    *programs: str,
    scene: Scene = SCENE,
    square_mm: float = SQUARE,
    window: tuple[float, float, float, float] = WINDOW,
) -> Left:
    done = ran(*programs, scene=scene)
    record = done[-1].record if done else fresh_record(scene)
    return left_of(scene, record, [one.sideways for one in done], window, square_mm)


def at(one: Left, x: float, y: float) -> float:
    column, row = ((p - low) / one.square_mm for p, low in zip((x, y), one.low_mm, strict=True))
    return float(one.height[math.floor(column), math.floor(row)])


def gone_mm3(one: Left) -> float:
    """Of a block whose top is at Z0."""
    height = np.where(np.isfinite(one.height), one.height, one.bottom)
    return float(-height.sum() * one.square_mm**2)


def edge(one: Left, x: float, y: float, way: tuple[float, float]) -> float:
    """How far from a place along a way the height first changes."""
    start, step = at(one, x, y), one.square_mm / 4
    count = next(
        n for n in range(100_000) if at(one, x + n * step * way[0], y + n * step * way[1]) != start
    )
    return count * step


# Against closed forms


def test_a_slot() -> None:
    one = left(tool(1, "G0 X15. Y20. Z1.", "G1 Z-4. F100.", "X40. Y30."))
    long = math.hypot(25, 10)
    assert_allclose(gone_mm3(one), 4 * (6 * long + math.pi * 9), rtol=0.005)
    middle = (27.5, 25.0)
    across = (-10 / long, 25 / long)
    assert (at(one, *middle), one.error_mm) == (-4.0, 1.5 * SQUARE)
    assert_allclose(edge(one, *middle, across), 3.0, atol=one.error_mm)
    assert_allclose(edge(one, 40.0, 30.0, (1.0, 0.0)), 3.0, atol=one.error_mm)
    assert at(one, 27.5 + 3.2 * across[0], 25 + 3.2 * across[1]) == 0.0


def test_a_pocket_with_round_corners_and_an_island() -> None:
    """A frame 30 x 24 of a 6 mm cutter that leaves 12 x 6 standing in the middle."""
    sides = ["X42. Y8.", "Y26.", "X18.", "Y8."]
    inner = ["X21. Y11.", "X39.", "Y23.", "X21.", "Y11."]
    one = left(tool(1, "G0 X18. Y8. Z1.", "G1 Z-5. F100.", *sides, *inner))
    outer = 30 * 24 - (4 - math.pi) * 9
    assert_allclose(gone_mm3(one), 5 * (outer - 12 * 6), rtol=0.005)
    assert at(one, 30.0, 17.0) == 0.0
    assert at(one, 16.0, 6.0) == -5.0
    assert at(one, 15.3, 5.3) == 0.0  # the corner that a round cutter leaves
    assert_allclose(edge(one, 30.0, 17.0, (1.0, 0.0)), 6.0, atol=one.error_mm)


def test_a_helix_to_a_round_hole() -> None:
    turns = [f"G3 X36. Y20. Z{-2 * n}. I-6. J0. F100." for n in range(1, 4)]
    one = left(tool(5, "G0 X36. Y20. Z0.5", "G1 Z0. F100.", *turns, "G3 X36. Y20. I-6. J0."))
    assert_allclose(gone_mm3(one), 6 * math.pi * (11**2 - 1**2), rtol=0.005)
    for degrees in range(0, 360, 20):
        way = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        assert at(one, 30 + 6 * way[0], 20 + 6 * way[1]) == -6.0
        assert_allclose(edge(one, 30 + 6 * way[0], 20 + 6 * way[1], way), 5.0, atol=one.error_mm)
    assert at(one, 30.0, 20.0) == 0.0  # a pin of 2 mm stands


def test_a_drilled_hole_with_its_point_and_a_counterbore() -> None:
    drill = tool(2, "G98 G81 X20. Y20. Z-12. R1. F80.", "X45. Y20.", "G80")
    one = left(drill + tool(3, "G98 G82 X20. Y20. Z-5. R1. P0.5 F80.", "G80"))
    slope = 1 / math.tan(math.radians(59))
    point = 2.5 * slope
    drilled = math.pi * 2.5**2 * (12 - point) + math.pi * 2.5**2 * point / 3
    opened = math.pi * (4.5**2 - 2.5**2) * 5
    assert_allclose(gone_mm3(one), 2 * drilled + opened, rtol=0.005)
    for away in (0.3, 1.0, 2.0):
        wanted = -12 + away * slope
        assert_allclose(at(one, 20 + away, 20.0), wanted, atol=one.square_mm * slope)
        assert_allclose(at(one, 45.0, 20 + away), wanted, atol=one.square_mm * slope)
    assert at(one, 23.5, 20.0) == -5.0
    assert at(one, 45 + 3.5, 20.0) == 0.0


def test_a_groove_of_a_cone_and_a_ramp() -> None:
    """A spot drill of 90 deg led along at 1.5 mm is 3 mm wide, its flanks 45 deg."""
    one = left(tool(4, "G0 X10. Y10. Z1.", "G1 Z-1.5 F60.", "X50."))
    assert_allclose(gone_mm3(one), 40 * 1.5**2 + math.pi * 1.5**3 / 3, rtol=0.02)
    for aside in (0.0, 0.5, -1.0, 1.4):
        assert_allclose(at(one, 30.0, 10 + aside), abs(aside) - 1.5, atol=one.error_mm)
    ramp = left(tool(1, "G0 X10. Y20. Z1.", "G1 Z0. F60.", "X50. Z-8."))
    assert_allclose(at(ramp, 30.0, 20.0), -0.2 * (33 - 10), atol=0.2 * ramp.error_mm)


def test_a_wide_cone_says_that_it_is_coarser() -> None:
    deep = left(tool(4, "G0 X10. Y10. Z1.", "G1 Z-4. F60.", "X25."), square_mm=0.05)
    assert deep.error_mm > 1.5 * 0.05 + 1e-9
    for aside in (0.0, 1.0, -2.0, 3.5):
        assert_allclose(at(deep, 18.0, 10 + aside), abs(aside) - 4, atol=deep.error_mm)


# Rooms that were there before


def test_holes_of_earlier_setups_open_where_something_is_cut_down_to_them() -> None:
    below = Drilled((30.0, 20.0, -8.0), (30.0, 20.0, -20.0), 10.0)
    along = Drilled((0.0, 30.0, -10.0), (25.0, 30.0, -10.0), 6.0)
    scene = Scene(STOCK, drilled=(below, along))
    blank = left(scene=scene)
    assert (blank.height == 0.0).all()
    down = tool(2, "G98 G81 X30. Y20. Z-10. R1. F80.", "X15. Y30. Z-9.", "X40. Y30.", "G80")
    one = left(down, scene=scene)
    assert at(one, 30.0, 20.0) == -math.inf  # through
    assert at(one, 34.0, 20.0) == 0.0  # under which the room is wider
    assert_allclose(at(one, 15.0, 30.0), -13.0, atol=0.01)  # to the far wall of the lying hole
    assert_allclose(at(one, 40.0, 30.0), -9.0, atol=one.square_mm)


def test_round_stock() -> None:
    disc = Scene(Disc((-20.0, -20.0, -6.0), (20.0, 20.0, 0.0), 2, 10.0))
    one = left(scene=disc, window=(-20.0, -20.0, 20.0, 20.0))
    area = np.isfinite(one.height).sum() * one.square_mm**2
    assert_allclose(area, math.pi * (20**2 - 5**2), rtol=0.002)
    bar = Scene(Disc((0.0, -10.0, -20.0), (50.0, 10.0, 0.0), 0))
    one = left(scene=bar, window=(0.0, -10.0, 50.0, 10.0))
    assert_allclose(at(one, 25.0, 6.0), -10 + 8.0, atol=0.1)


def test_several_programs_take_from_one_stock() -> None:
    first = tool(2, "G98 G81 X20. Y20. Z-12. R1. F80.", "G80")
    second = tool(1, "G0 X-5. Y20. Z1.", "G1 Z-3. F100.", "X65.")
    one = left(first, second)
    assert at(one, 5.0, 20.0) == -3.0
    assert at(one, 20.2, 20.0) < -11.0


# Against each point asked by itself


def lowest(cuts: SidewaysCuts, x: float, y: float, wider: float) -> float:
    """What flat tools made wider by so much leave over a point: each piece by its nearest place."""
    least = 0.0
    for (x0, y0, z0), (x1, y1, z1), radius in zip(
        cuts.start.T, cuts.end.T, cuts.radius, strict=True
    ):
        shares = np.linspace(0.0, 1.0, 801)
        away = np.hypot(x0 + shares * (x1 - x0) - x, y0 + shares * (y1 - y0) - y)
        z = (z0 + shares * (z1 - z0))[away <= radius + wider]
        least = min(least, float(z.min(initial=0.0)))
    return least


@pytest.mark.parametrize("seed", range(3))
def test_any_level_and_sloping_cuts_lie_between_narrower_and_wider_tools(seed: int) -> None:
    random = np.random.default_rng(seed)
    count = 12
    places = random.uniform((0, 0, -6), (60, 40, -0.5), (count + 1, 3)).T
    number = random.integers(0, 3, count)
    radius = np.array([1.0, 2.5, 4.0])[number]
    zeros = np.zeros(count)
    cuts = SidewaysCuts(number, number, places[:, :-1], places[:, 1:], radius, radius, zeros)
    one = left_of(SCENE, fresh_record(SCENE), [cuts], WINDOW, 0.11)
    steepest = max(
        abs(dz) / math.hypot(dx, dy) for dx, dy, dz in (places[:, 1:] - places[:, :-1]).T
    )
    off = one.error_mm * steepest + 1e-6
    for x, y in random.uniform((0, 0), (59.9, 39.9), (100, 2)):
        height = at(one, x, y)
        assert lowest(cuts, x, y, one.error_mm) - off <= height
        assert height <= lowest(cuts, x, y, -one.error_mm) + off


@pytest.mark.parametrize("radius", [0.5, 1.0, 1.5, 2.0, 3.3, 4.0, 7.0, 8.2])
def test_the_least_within_a_radius_is_that_of_every_square_in_it(radius: float) -> None:
    rim = math.ceil(radius) + 1
    lowest = np.random.default_rng(7).uniform(-9.0, 0.0, (23 + 2 * rim, 17 + 2 * rim))
    reach = range(-int(radius), int(radius) + 1)
    near = [(i, j) for i in reach for j in reach if math.hypot(i, j) <= radius]
    expected = [
        [min(lowest[rim + x + i, rim + y + j] for i, j in near) for y in range(17)]
        for x in range(23)
    ]
    assert_allclose(_under(lowest, radius, rim), expected)


def test_the_size_is_bounded_whatever_the_program() -> None:
    """A million pieces cost places in proportion to their way, and squares as many as asked for."""
    count = 1_000_000
    angle = np.linspace(0, 400 * math.pi, count + 1)
    places = np.array([30 + 15 * np.cos(angle), 20 + 15 * np.sin(angle), -angle / 200])
    radius = np.full(count, 2.0)
    zeros, ints = np.zeros(count), np.zeros(count, dtype=np.int64)
    cuts = SidewaysCuts(ints, ints, places[:, :-1], places[:, 1:], radius, radius, zeros)
    one = left_of(SCENE, fresh_record(SCENE), [cuts], WINDOW, 0.2)
    assert one.height.shape == (300, 200)
    assert_allclose(at(one, 45.0, 20.0), places[2].min(), atol=0.1)
    assert_sides(one, (13.0, 17.0))


def assert_sides(one: Left, radii: Sequence[float]) -> None:
    for radius, way in zip(radii, (-1.0, 1.0), strict=True):
        assert_allclose(edge(one, 45.0, 20.0, (way, 0.0)), abs(radius - 15), atol=one.error_mm)


# Square by square: where the axis stands in the middle of one, an edge is a third of one within it


def stands(
    *places: tuple[float, float, float],
    radius: float,
    flat: float | None = None,
    slope: float = 0.0,
    square_mm: float = 1.0,
) -> Left:
    """A tool that does no more than stand at these places."""
    count = len(places)
    at_each = np.array(places).T
    number = np.zeros(count, dtype=np.int64)
    ends = (np.full(count, one) for one in (radius, radius if flat is None else flat, slope))
    cuts = SidewaysCuts(number, number, at_each, at_each, *ends)
    return left_of(SCENE, fresh_record(SCENE), [cuts], WINDOW, square_mm)


def away(one: Left, x: float, y: float) -> np.ndarray:
    """Of the middle of each square from a place, in squares."""
    columns, rows = one.height.shape
    across = (np.arange(columns) + 0.5 - x / one.square_mm)[:, None]
    return np.asarray(np.hypot(across, np.arange(rows) + 0.5 - y / one.square_mm))


@pytest.mark.parametrize("radius", [1.0, 1.5, 2.0, 3.0, 4.0, 5.5, 7.9, 8.0, 11.3, 16.5])
@pytest.mark.parametrize(
    ("x", "y"), [(30.5, 20.5), (0.5, 0.5), (59.5, 39.5), (-2.5, 20.5), (30.5, 42.5), (62.5, -1.5)]
)
def test_the_squares_under_a_flat_tool(x: float, y: float, radius: float) -> None:
    one = stands((x, y, -2.0), radius=radius)
    assert one.height.shape == (60, 40)
    assert np.array_equal(one.height, np.where(away(one, x, y) <= radius - 1 / 3, -2.0, 0.0))
    assert one.error_mm == 1.5


def test_the_lowest_of_several_tips_is_left_and_far_ones_leave_nothing() -> None:
    places = [(10.5, 10.5, -2.0), (13.5, 10.5, -3.0), (40.5, 30.5, -1.0), (40.5, 30.5, -0.5)]
    one = stands(*places, (-40.5, 10.5, -5.0), (10.5, 90.5, -5.0), radius=4.0)
    wanted = np.zeros_like(one.height)
    for x, y, z in places:
        wanted = np.minimum(wanted, np.where(away(one, x, y) <= 4 - 1 / 3, z, 0.0))
    assert np.array_equal(one.height, wanted)
    assert (stands((10.5, 10.5, -5.0), radius=0.0).height == 0.0).all()  # nobody knows its size


@pytest.mark.parametrize(
    ("tip", "radius", "flat", "slope"),
    [
        (-6.0, 10.0, 1.0, 0.5),
        (-2.0, 10.0, 1.0, 0.5),  # 1 + 2 / 0.5 = 5 mm at the face
        (-8.0, 6.0, 0.0, 1.0),
        (-8.0, 6.0, 3.0, 2.0),
        (-5.0, 8.0, 8.0, 0.0),
    ],
)
@pytest.mark.parametrize("square_mm", [1.0, 0.5, 0.25])
def test_the_squares_under_a_cone(
    tip: float, radius: float, flat: float, slope: float, square_mm: float
) -> None:
    """The end of the tool as it stands, to a third of a square; a wide cone more coarsely."""
    x, y = 30 + square_mm / 2, 20 + square_mm / 2
    one = stands((x, y, tip), radius=radius, flat=flat, slope=slope, square_mm=square_mm)
    at_each = away(one, x, y) * square_mm
    wide = min(radius, flat - tip / slope) if slope else radius
    step = math.ceil((wide - square_mm / 3) / square_mm / 30) if slope else 1
    assert one.error_mm == 1.5 * square_mm * step
    off = one.error_mm if step > 1 else square_mm / 3
    wanted = np.minimum(0.0, tip + np.maximum(0.0, at_each - flat) * slope)
    inside, outside = at_each < wide - off, at_each > wide + (off - square_mm / 3) * 1.01
    assert (np.abs(one.height - wanted)[inside] <= off * slope + 1e-9).all()
    assert (one.height[outside] == 0.0).all()


def test_a_floor_at_the_underside_is_none() -> None:
    assert at(stands((30.5, 20.5, -20.0), radius=4.0), 30.5, 20.5) == -math.inf
    assert at(stands((30.5, 20.5, -19.99), radius=4.0), 30.5, 20.5) == -19.99


def test_a_window_begins_where_it_is_put() -> None:
    spot = tool(2, "G98 G81 X15.5 Y8.5 Z-12. R1. F80.", "G80")
    one = left(spot, window=(10.0, 5.0, 20.4, 12.6), square_mm=1.0)
    assert one.height.shape == (10, 8)
    assert one.low_mm == (10.0, 5.0)
    assert int(one.height.argmin()) == 5 * 8 + 3
    wanted = -12 + np.hypot(np.arange(-5, 5)[:, None], np.arange(-3, 5)) / math.tan(
        math.radians(59)
    )
    is_in = np.hypot(np.arange(-5, 5)[:, None], np.arange(-3, 5)) <= 2.5
    assert_allclose(one.height, np.where(is_in, wanted, 0.0))


@pytest.mark.parametrize(("along", "aside"), [(25.0, 2.0), (0.0, -3.0), (50.0, 4.99), (25.0, 0.0)])
def test_the_room_of_a_hole_that_lies_askew(along: float, aside: float) -> None:
    """10 mm wide, 50 long, its way 3 to 4: at `aside` it reaches sqrt(25 - aside^2) up and down."""
    room = Drilled((10.0, 5.0, -10.0), (40.0, 45.0, -10.0), 10.0)
    x, y = 10 + 0.6 * along - 0.8 * aside, 5 + 0.8 * along + 0.6 * aside
    half = math.sqrt(25 - aside**2)
    assert_allclose(
        np.ravel(across_room(room, np.array([x]), np.array([y]))), [-10 - half, -10 + half]
    )
    for away_along, away_aside in ((-0.01, 0.0), (50.01, 0.0), (25.0, 5.01), (25.0, -5.01)):
        x, y = 10 + 0.6 * away_along - 0.8 * away_aside, 5 + 0.8 * away_along + 0.6 * away_aside
        assert np.isnan(across_room(room, np.array([x]), np.array([y]))).all()


@pytest.mark.parametrize(
    ("x", "is_open"), [(9.5, False), (10.5, True), (24.5, True), (25.5, False)]
)
def test_a_lying_hole_opens_along_its_length_where_it_is_cut_into(x: float, is_open: bool) -> None:
    """6 mm wide at Z-10: its floor is at -13, its roof at -7."""
    scene = Scene(STOCK, drilled=(Drilled((10.0, 30.5, -10.0), (25.0, 30.5, -10.0), 6.0),))
    for z, floor in ((-6.5, -6.5), (-7.5, -13.0), (-12.5, -13.0), (-13.5, -13.5)):
        cut = tool(1, f"G0 X{x} Y30.5 Z1.", f"G1 Z{z} F60.", f"X{x + 0.001}")
        one = left(cut, scene=scene, square_mm=1.0)
        assert_allclose(at(one, x, 30.5), floor if is_open else z)


def test_rooms_open_from_the_highest_down() -> None:
    """Two blind holes of other sides, one over the other: the lower one opens through the upper."""
    drilled = (
        Drilled((30.5, 20.5, -20.0), (30.5, 20.5, -15.0), 6.0),
        Drilled((30.5, 20.5, -15.0), (30.5, 20.5, -9.0), 6.0),
    )
    for z, floor in ((-8.9, -8.9), (-9.0, -math.inf)):
        cut = tool(1, "G0 X30.5 Y20.5 Z1.", f"G1 Z{z} F60.", "X30.501")
        one = left(cut, scene=Scene(STOCK, drilled=drilled), square_mm=1.0)
        assert at(one, 30.5, 20.5) == floor
