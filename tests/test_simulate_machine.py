"""Machine and setup in the dry run: tools against boxes, travel, time, room that is there."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from millprep.base.records import replace
from millprep.model.scene import Box, Disc, Drilled, Pieces, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Drill, EndMill, SpotDrill, Tool
from millprep.reading.gcode import read_program
from millprep.reading.simulate import Record, Simulation, simulate
from millprep.reading.simulate.contact import bodies, deepest
from millprep.reading.simulate.form import form_of
from millprep.reading.simulate.milled import Milled
from millprep.reading.simulate.path import chords, path_of
from millprep.reading.simulate.solid import (
    away_from,
    bottom_at,
    depth_inside,
    lowest_over,
    shares_over,
    top_at,
)
from millprep.reading.simulate.timing import seconds_each
from millprep.reference.shared_rules import TOUCH_MM

MILL = Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speed_range_rpm=(60.0, 3000.0))
STOCK = Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0))
SCENE = Scene(STOCK, underside_known=True)
DRILL = Drill("4 mm", 4.0, point_angle_deg=118.0, number=2)
MILLER = EndMill("8 mm", 8.0, number=6)
STUB = SpotDrill(
    "10 mm",
    10.0,
    point_angle_deg=90.0,
    tip_flat_mm=1.0,
    reach_mm=15.0,
    holder_diameter_mm=30.0,
    holder_length_mm=40.0,
    number=1,
)
TOOLS = (STUB, DRILL, MILLER)
HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\n"
Floats = NDArray[np.float64]


def run(
    body: str,
    scene: Scene | None = SCENE,
    *,
    number: int = 2,
    control: Control | None = None,
    record: Record | None = None,
    mill: Mill = MILL,
    tools: tuple[Tool, ...] = TOOLS,
) -> Simulation:
    control = control or Control()
    text = f"{HEAD}T{number} M6\nG43 H{number}\nS800 M3\n{body}G0 Z25. M5\nM30\n"
    program = read_program(text.encode(), control, file="part.nc", tools=tools)
    assert program.is_complete, program.findings
    return simulate(
        program, scene, mill, control, file="part.nc", record=record, expects_spot=False
    )


def kinds(simulation: Simulation) -> list[str]:
    return [finding.kind for finding in simulation.findings]


# Tools against boxes: held against ten thousand places along the way.

BOX = Box((-4.0, -3.0, -10.0), (5.0, 6.0, 2.0), "clamp")
ROUND = Disc((-5.0, -5.0, -10.0), (5.0, 5.0, 2.0), 2)
COORDINATE = st.floats(-15.0, 15.0)
PLACE = st.tuples(COORDINATE, COORDINATE, st.floats(-6.0, 6.0))


def by_sampling(
    radius: float, flat: float, slope: float, solid: Box | Disc, start: Floats, end: Floats
) -> float:
    """Depth of the body below the solid's top at its deepest; -inf where it is never over it."""
    places = start[:, None] + np.linspace(0, 1, 10_001) * (end - start)[:, None]
    if isinstance(solid, Disc):
        away = np.maximum(0, np.hypot(places[0], places[1]) - solid.radius_mm)
    else:
        beside = [
            np.maximum(0, np.maximum(solid.low_mm[i] - places[i], places[i] - solid.high_mm[i]))
            for i in (0, 1)
        ]
        away = np.hypot(*beside)
    depth = solid.high_mm[2] - slope * np.maximum(0, away - flat) - places[2]
    return float(np.where(away < radius, depth, -np.inf).max())


@given(PLACE, PLACE, st.sampled_from([BOX, ROUND]), st.sampled_from([STUB, DRILL, MILLER]))
def test_a_tool_against_a_box(
    start: tuple[float, ...], end: tuple[float, ...], solid: Box | Disc, tool: Tool
) -> None:
    form = form_of(tool)
    (body, *_) = bodies([form])
    one, two = (np.array(place)[:, None] for place in (start, end))
    depth = float(deepest(body, np.array([0]), solid, one, two)[0][0])
    sampled = by_sampling(
        form.radius_mm - TOUCH_MM, form.flat_mm, form.slope, solid, one[:, 0], two[:, 0]
    )
    # a step of the sample is at most 0.005 mm, over which a cone of 118 or 90 degrees and the way
    # itself rise by less than 0.01
    if math.isfinite(sampled):
        assert depth >= sampled - 1e-6
    if not math.isnan(depth) and depth > sampled + 0.02:
        # only the very rim passes over the solid, between two samples
        wider = by_sampling(
            form.radius_mm + 0.01, form.flat_mm, form.slope, solid, one[:, 0], two[:, 0]
        )
        assert depth <= wider + 0.02


def test_a_cone_goes_past_where_a_cylinder_would_not() -> None:
    # 10 mm spot drill of 90 degrees with a 1 mm flat, its axis 3 mm beside a 2 mm high clamp: its
    # flank stands 3 - 0.5 = 2.5 mm above the tip there, so a tip at Z-0.4 is just clear.
    clamp = Box((20.0, -10.0, -20.0), (30.0, -3.0, 2.0), "clamp")
    scene = replace(SCENE, fixtures=(clamp,))
    assert kinds(run("G0 X25. Y0.5 Z25.\nX25. Y0.\nG1 Z-0.4 F60.\n", scene, number=1)) == []
    low = run("G0 X25. Y0.5 Z25.\nX25. Y0.\nG1 Z-0.6 F60.\n", scene, number=1)
    assert kinds(low) == ["hits-fixture"]
    assert "0.100 mm below its top" in low.findings[0].message


def test_corners_are_rounded_by_the_tool() -> None:
    # 8 mm end mill, axis 3 and 3 mm beside the corner: 4.24 mm away, and 4 mm of radius.
    clamp = Box((20.0, -30.0, -20.0), (30.0, -20.0, 15.0), "clamp")
    scene = replace(SCENE, fixtures=(clamp,))
    assert kinds(run("G0 X17. Y-17. Z25.\nZ10.\n", scene, number=6)) == []
    assert kinds(run("G0 X17.3 Y-17.3 Z25.\nZ10.\n", scene, number=6)) == ["hits-fixture"]


def test_a_holder_over_a_fixture() -> None:
    clamp = Box((20.0, -30.0, -20.0), (30.0, -8.0, 11.0), "clamp")
    scene = replace(SCENE, fixtures=(clamp,))
    # reach 15: at Z-3.1 the holder's face is at 11.9; at Z-4.5 at 10.5, and 15 mm wide each way
    assert kinds(run("G0 X25. Y5. Z25.\nG1 Z-3.1 F60.\n", scene, number=1)) == []
    hit = run("G0 X25. Y5. Z25.\nG1 Z-4.5 F60.\n", scene, number=1)
    assert kinds(hit) == ["holder-hits"]
    assert "the holder meets clamp" in hit.findings[0].message


def test_an_arc_that_bulges_into_a_clamp() -> None:
    clamp = Box((30.0, 9.9995, -5.0), (31.0, 20.0, 5.0), "clamp")
    scene = Scene(Box((100.0, 100.0, -5.0), (110.0, 110.0, 0.0)), (clamp,))
    arc = "G0 X20.5 Y-4. Z25.\nZ2.\nG3 X40.5 Y-4. I10. J0. F500.\nG0 Z25.\n"  # its top: Y6 or so
    clockwise = arc.replace("G3", "G2")
    assert kinds(run(arc, scene, number=6)) == []
    # centre (30.5, -4), radius 10: the axis passes (30.5, 6), the tool reaches Y10.000
    assert kinds(run(clockwise, scene, number=6)) == []  # by less than can be seen
    nearer = replace(scene, fixtures=(replace(clamp, low_mm=(30.0, 9.997, -5.0)),))
    assert kinds(run(clockwise, nearer, number=6)) == ["hits-fixture"]


def test_arcs_in_pieces_stay_within_a_thousandth() -> None:
    text = f"{HEAD}G0 X0. Y0. Z0.\nG2 X0. Y0. I37. J11. F100.\nM30\n"
    path = path_of(read_program(text.encode(), Control(), file="a.nc"), True)
    _, start, end = chords(path, np.array([1]))
    middle = (start + end) / 2
    radius = math.hypot(37, 11)
    away = np.abs(np.hypot(middle[0] - 37, middle[1] - 11) - radius)
    assert away.max() < 0.001
    assert_allclose(np.hypot(start[0] - 37, start[1] - 11), radius)


# Travel


def test_travel_is_compared_in_machine_positions_where_the_offset_is_listed() -> None:
    listed = Control(offsets_mm={"G54": (-300.0, -100.0, -150.0)})
    assert kinds(run("G0 X0. Y0. Z25.\nX299.\n", control=listed)) == []
    beyond = run("G0 X0. Y0. Z25.\nX300.5\n", control=listed)
    assert kinds(beyond) == ["outside-travel"]
    assert beyond.findings[0].line == 6
    assert "machine 0.500" in beyond.findings[0].message


def test_travel_is_compared_by_length_where_it_is_not() -> None:
    inside = run("G0 X-200. Y0. Z25.\nX200.\n")
    assert kinds(inside) == []
    beyond = run("G0 X-200. Y0. Z25.\nX200.5\n")
    assert kinds(beyond) == ["outside-travel"]
    assert "400.500 mm of X" in beyond.findings[0].message


def test_z_needs_the_length_of_the_tool() -> None:
    long = replace(DRILL, length_mm=100.0)
    listed = Control(offsets_mm={"G54": (-300.0, -100.0, -150.0)})
    # the gauge point stands at 60 + 100 - 150 = 10, ten above the end of travel
    high = "G0 X0. Y0. Z25.\nZ60.\n"
    assert kinds(run(high, control=listed, tools=(long,))) == ["outside-travel"]
    assert kinds(run(high, control=listed)) == []


def test_the_way_in_z_is_each_tools_own_and_ends_where_the_axis_does() -> None:
    # The mill has 300 mm of Z. Tools of unknown length stand where they were set.
    two = "G0 X80. Y60. Z25.\nZ{}\nZ25.\nT1 M6\nG43 H1\nZ{}\n"
    assert kinds(run(two.format("-275.", "300."))) == []
    assert kinds(run(two.format("-275.001", "300."))) == ["outside-travel"]
    assert kinds(run(two.format("-275.", "325.1"))) == ["outside-travel"]


def test_an_axis_may_be_driven_to_its_very_ends() -> None:
    listed = Control(offsets_mm={"G54": (-300.0, -100.0, -150.0)})
    ends = {"X": (-100.0, 300.0), "Y": (-100.0, 100.0)}
    for letter, (low, high) in ends.items():
        for place, is_out in (
            (low, False),
            (low - 0.001, True),
            (high, False),
            (high + 0.001, True),
        ):
            found = run(f"G0 X0. Y0. Z25.\n{letter}{place:.3f}\n", control=listed)
            assert ("outside-travel" in kinds(found)) == is_out, (letter, place)


# Where a touch begins: a thousandth


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        ("G0 X-10. Y20.\nZ-0.0005\nX30. Z-3.\n", ["rapid-into-stock"]),
        ("G0 X-10. Y20.\nZ-0.0015\nX30. Z-3.\n", ["rapid-below-top"]),
        ("G0 X30. Y20.\nZ0.0005\n", ["rapid-on-face"]),
        ("G0 X30. Y20.\nZ-0.0005\n", ["rapid-on-face"]),
        ("G0 X30. Y20.\nZ0.0015\n", []),
        ("G0 X30. Y20.\nZ-0.0015\n", ["rapid-into-stock"]),
        ("G0 X-10. Y20.\nZ0.0005\nX30.\n", ["rapid-on-face"]),
        ("G0 X-10. Y20.\nZ0.0015\nX30.\n", []),
    ],
)
def test_where_a_rapid_touches(body: str, wanted: list[str]) -> None:
    assert kinds(run("G0 Z25.\n" + body)) == wanted


@pytest.mark.parametrize(("z", "is_under"), [("-25.0005", False), ("-25.0015", True)])
def test_how_far_below_the_underside_a_cutter_may_mill(z: str, is_under: bool) -> None:
    body = f"G0 X-10. Y20.\nZ{z}\nG1 X30. F60.\nX70.\n"
    found = kinds(run("G0 Z25.\n" + body, Scene(STOCK), number=6))
    assert found == ["below-underside"] * is_under


@pytest.mark.parametrize(
    ("x", "z", "is_low"),
    [
        (64.0, 2.0, False),  # 8 mm wide, it ends at the side of the stock
        (63.999, 2.0, True),
        (30.0, 9.9995, False),
        (30.0, 9.9985, True),
    ],
)
def test_where_a_program_may_end(x: float, z: float, is_low: bool) -> None:
    text = f"{HEAD}T6 M6\nG43 H6\nG0 Z25.\nX{x} Y20.\nZ{z}\nM30\n"
    program = read_program(text.encode(), Control(), file="part.nc", tools=TOOLS)
    scene = Scene(STOCK, safe_height_mm=10.0)
    assert kinds(simulate(program, scene, MILL, Control(), file="part.nc")) == ["ends-low"] * is_low


# Time


def seconds(body: str, acceleration: float | None) -> Floats:
    mill = replace(MILL, rapid_mm_per_min=2000.0, acceleration_mm_per_s2=acceleration)
    text = f"{HEAD}S100 M3\n{body}M30\n"
    program = read_program(text.encode(), Control(), file="a.nc")
    return np.asarray(seconds_each(program.moves, mill))


def test_a_long_move_takes_its_time_to_start_and_stop() -> None:
    # v = 100/3 mm/s, a = 200 mm/s2: L/v + v/a = 3 + 1/6 s
    assert_allclose(seconds("G0 X100.\n", 200.0), [3 + 1 / 6])
    assert_allclose(seconds("G0 X100.\n", None), [3.0])


def test_a_short_move_never_gets_up_to_speed() -> None:
    # half of it speeding up, half slowing down: t = 2 sqrt(L/a)
    assert_allclose(seconds("G0 X1.\n", 200.0), [2 * math.sqrt(1 / 200)])


def test_pieces_of_one_straight_line_take_as_long_as_the_line() -> None:
    whole = seconds("G1 X60. F1200.\n", 200.0).sum()
    pieces = seconds("".join(f"G1 X{x}. F1200.\n" for x in range(1, 61)), 200.0).sum()
    corners = seconds("".join(f"G1 X{x}. Y{x % 2}. F1200.\n" for x in range(1, 61)), 200.0).sum()
    assert_allclose(pieces, whole)
    assert corners > 2 * whole


def test_a_line_in_three_pieces_that_never_gets_up_to_speed() -> None:
    """3 mm at 50 mm/s2: half of it in sqrt(3 / 50) s; a mm from rest is 0.2 s."""
    whole = 2 * math.sqrt(3 / 50)
    each = seconds("G1 X1. F1200.\nX2.\nX3.\n", 50.0)
    assert_allclose(each, [0.2, whole - 0.4, 0.2])


@pytest.mark.parametrize(("first", "second"), [(10.0, 20.0), (20.0, 10.0)])
def test_from_one_feed_to_another_the_slower_is_kept_at_the_joint(
    first: float, second: float
) -> None:
    """60 mm each at 200 mm/s2, 10 and 20 mm/s: the slower gains or loses 10 in 0.05 s; the faster
    gains 10 in 0.05 s and 0.75 mm and loses 20 in 0.1 s and 1 mm, 58.25 mm between them."""
    slow, fast = 60 / 10 + 10 / (2 * 200), 0.05 + 58.25 / 20 + 0.1
    each = seconds(f"G1 X60. F{first * 60}\nX120. F{second * 60}\n", 200.0)
    assert_allclose(each, [slow, fast] if first < second else [fast, slow])


@pytest.mark.parametrize(("bend_deg", "is_stop"), [(9.9, False), (10.1, True), (-9.9, False)])
def test_a_bend_of_ten_degrees_is_driven_through(bend_deg: float, is_stop: bool) -> None:
    turned = math.radians(bend_deg)
    x, y = 60 + 60 * math.cos(turned), 60 * math.sin(turned)
    each = seconds(f"G1 X60. F1200.\nX{x:.5f} Y{y:.5f}\n", 200.0)
    one = 60 / 20 + (0.1 if is_stop else 0.05)
    assert_allclose(each, [one, one], rtol=1e-6)


def test_a_dwell_between_pieces_of_a_line_is_a_stand() -> None:
    # v = 20 mm/s, a = 200 mm/s2: each 10 mm by itself L/v + v/a = 0.5 + 0.1 s; in one, 1.0 + 0.1 s
    assert_allclose(seconds("G1 X10. F1200.\nX20.\n", 200.0).sum(), 1.1)
    assert_allclose(seconds("G1 X10. F1200.\nG4 P1.\nX20.\n", 200.0), [0.6, 1.0, 0.6])


@pytest.mark.parametrize("is_quick_last", [True, False])
def test_a_short_piece_at_a_higher_feed_gets_as_quick_as_its_room_lets_it(
    is_quick_last: bool,
) -> None:
    # 20 mm/s for 10 mm, from or to a stand: 0.1 s over 1 mm, then 9 / 20 s. In 4 mm from 20 mm/s
    # to a stand: p^2 - 20^2 + p^2 = 2 x 200 x 4, p = sqrt(1000), (p - 20 + p) / 200 s.
    slow, quick = 0.1 + 9 / 20, (2 * math.sqrt(1000) - 20) / 200
    pieces = ("X10. F1200.", "X14. F6000.") if is_quick_last else ("X4. F6000.", "X14. F1200.")
    expected = (slow, quick) if is_quick_last else (quick, slow)
    assert_allclose(seconds(f"G1 {pieces[0]}\n{pieces[1]}\n", 200.0), expected)


def test_an_arc_goes_on_from_the_line_that_it_leaves_smoothly() -> None:
    smooth = seconds("G1 X10. F600.\nG3 X20. Y10. I0. J10.\n", 50.0).sum()
    sharp = seconds("G1 X10. F600.\nG2 X10. Y20. I0. J10.\n", 50.0).sum()
    arc = 10 + math.pi / 2 * 10
    assert_allclose(smooth, arc / 10 + 10 / 50, rtol=1e-6)
    assert sharp > math.pi * 10 / 10 + 1


@pytest.mark.parametrize(
    ("way", "drop_mm", "is_smooth"),
    [
        ("G3", 14.01, True),
        ("G3", 14.4, False),
        ("G2", 14.01, True),
        ("G3", 7.1, True),
        ("G3", 6.95, False),
    ],
)
def test_a_helix_is_left_by_a_line_that_goes_on_as_it_does(
    way: str, drop_mm: float, is_smooth: bool
) -> None:
    """A quarter of a helix that falls 45 degrees, then a line of 10 mm across that falls by
    `drop_mm`: within ten degrees, 7.00 to 14.28, the mill keeps its speed."""
    fall = 10 * math.pi / 2
    side = 10 if way == "G3" else -10
    body = f"{way} X10. Y{side}. I0. J{side}. Z-{fall} F600.\nG1 Y{2 * side}. Z-{fall + drop_mm}\n"
    whole = math.hypot(fall, fall) + math.hypot(10, drop_mm)
    expected = whole / 10 + 10 / 50 * (1 if is_smooth else 2)
    assert_allclose(seconds(body, 50.0).sum(), expected, rtol=1e-6)


def test_time_by_tool() -> None:
    body = "G0 Z2.\nG1 Z-4. F60.\nG4 P2.\nG0 Z25. M5\nT6 M6\nG43 H6\nS800 M3\nG1 Z19. F60.\n"
    first, second = run(body).tool_times
    assert (first.number, first.line, second.number, second.line) == (2, 2, 6, 9)
    assert_allclose([first.feed_s, first.dwell_s, second.feed_s], [6.0, 2.0, 6.0])


# Room that is already there


@pytest.mark.parametrize(
    ("begin", "end", "at", "room_mm", "too_deep_mm"),
    [
        ((0.0, 20.0), (60.0, 20.0), "X30. Y20.", 13.4, 13.5),
        ((60.0, 20.0), (0.0, 20.0), "X30. Y20.", 13.4, 13.5),
        ((30.0, 0.0), (30.0, 40.0), "X30. Y20.", 13.4, 13.5),
        # a millimetre beside its axis: -10 - sqrt(16 - 9) = -12.65
        ((0.0, 20.0), (60.0, 20.0), "X30. Y21.", 12.6, 12.7),
        ((0.0, 20.0), (60.0, 20.0), "X30. Y19.", 12.6, 12.7),
        ((30.0, 0.0), (30.0, 40.0), "X31. Y20.", 12.6, 12.7),
        # as far as it is long
        ((0.0, 20.0), (32.0, 20.0), "X30. Y20.", 13.4, 13.5),
        ((28.0, 20.0), (60.0, 20.0), "X30. Y20.", 13.4, 13.5),
        ((0.0, 20.0), (31.9, 20.0), "X30. Y20.", None, 13.4),
        ((28.1, 20.0), (60.0, 20.0), "X30. Y20.", None, 13.4),
        ((0.0, 20.0), (60.0, 20.0), "X30. Y22.", None, 10.5),
    ],
)
def test_where_a_lying_hole_is_room(
    begin: tuple[float, float],
    end: tuple[float, float],
    at: str,
    room_mm: float | None,
    too_deep_mm: float,
) -> None:
    scene = replace(SCENE, drilled=(Drilled((*begin, -10.0), (*end, -10.0), 8.0),))
    down = f"G0 {at} Z25.\nG1 Z-9. F60.\nG0 Z25.\nX0. Y0.\n{at}\n"
    assert room_mm is None or kinds(run(f"{down}Z-{room_mm}\n", scene)) == []
    assert kinds(run(f"{down}Z-{too_deep_mm}\n", scene)) == ["rapid-into-stock"]


def test_a_hole_that_lies_across_is_room_once_it_has_been_reached() -> None:
    # 8 mm along X at Z-10. A 4 mm tool fits between -10 -+ sqrt(16 - 4) = -13.46 and -6.54.
    across = Drilled((0.0, 20.0, -10.0), (60.0, 20.0, -10.0), 8.0)
    scene = replace(SCENE, drilled=(across,))
    down = "G0 X30. Y20. Z25.\nG1 Z-8. F60.\nG0 Z25.\nX0.\nX30.\n"
    assert kinds(run(f"{down}Z-13.4\n", scene)) == []
    assert kinds(run(f"{down}Z-13.4\n")) == ["rapid-into-stock"]
    assert kinds(run("G0 X30. Y20. Z25.\nZ-7.\n", scene)) == ["rapid-into-stock"]


def test_the_far_half_of_a_hole_is_room_once_it_has_been_reached() -> None:
    far = Drilled((30.0, 20.0, -20.0), (30.0, 20.0, -10.0), 4.0)
    scene = replace(SCENE, drilled=(far,))
    down = "G0 X30. Y20. Z25.\nG1 Z-11.5 F60.\nG0 Z25.\nX0.\nX30.\n"
    assert kinds(run(f"{down}Z-19.\n", scene)) == []
    assert kinds(run(f"{down}Z-19.\n")) == ["rapid-into-stock"]


SLOT = "G0 X-10. Y20. Z25.\nZ-3.\nG1 X40. F200.\nG0 Z25.\n"
THROUGH = "G0 X-10. Y20. Z25.\nZ-2.9\nX38.\nZ25.\n"


def test_what_one_program_mills_is_room_for_the_next() -> None:
    first = run(SLOT, number=6)
    assert kinds(first) == []
    assert kinds(run(THROUGH, number=6, record=first.record)) == []
    assert kinds(run(THROUGH, number=6)) == ["rapid-below-top"]
    too_far = run(THROUGH.replace("X38.", "X44."), number=6, record=run(SLOT, number=6).record)
    assert kinds(too_far) == ["rapid-below-top"]
    too_low = run(THROUGH.replace("Z-2.9", "Z-3.1"), number=6, record=run(SLOT, number=6).record)
    assert kinds(too_low) == ["rapid-below-top"]


def test_a_rapid_before_the_slot_is_cut_is_a_crash() -> None:
    assert kinds(run(THROUGH + SLOT, number=6)) == ["rapid-below-top"]
    assert kinds(run(SLOT + THROUGH, number=6)) == []


def test_squares_of_a_disc_leave_its_corners_out() -> None:
    disc = Disc((-20.0, -20.0, -6.0), (20.0, 20.0, 0.0), 2)
    milled = Milled(disc, np.array([10.0]), np.array([2.0]))
    assert milled.highest_under(-18.0, -18.0, 2.0) == -math.inf
    assert milled.highest_under(0.0, 0.0, 2.0) == 0.0


@pytest.mark.parametrize(("margin", "is_over"), [(2.8, False), (2.85, True)])
def test_a_box_has_round_corners_for_a_tool(margin: float, is_over: bool) -> None:
    # the line passes the corner (60, 0) at sqrt(8) = 2.83 mm; in a square it would be over it
    start, end = np.array([[62.0], [-2.0], [5.0]]), np.array([[66.0], [2.0], [4.0]])
    lowest = lowest_over(STOCK, start, end, np.array([margin]))[0]
    assert np.isfinite(lowest) == is_over


@pytest.mark.parametrize(
    ("axis", "aside", "z", "is_below"),
    [
        (axis, sign * 12.0, z, is_below)
        for axis in (0, 1)
        for sign in (1, -1)
        for z, is_below in ((-3.29, False), (-3.3, True))
    ],
)
def test_how_low_a_rapid_goes_beside_the_crown_of_a_bar(
    axis: int, aside: float, z: float, is_below: bool
) -> None:
    """Radius 20, a 2 mm tool 12 mm aside: 11 mm aside the bar is sqrt(400 - 121) - 20 high."""
    low, high = ((0.0, -20.0), (80.0, 20.0)) if axis == 0 else ((-20.0, 0.0), (20.0, 80.0))
    bar = Scene(Disc((*low, -40.0), (*high, 0.0), axis), underside_known=True)
    first, second = ("X20.", "X50.") if axis == 0 else ("Y20.", "Y50.")
    body = f"G0 Z25.\n{first} {'Y' if axis == 0 else 'X'}{aside}\nZ{z}\n{second}\n"
    tools = (EndMill("2 mm", 2.0, number=2),)
    assert kinds(run(body, bar, tools=tools)) == ["rapid-below-top"] * is_below


@pytest.mark.parametrize(
    ("body", "is_told"),
    [
        # down on a clamp whose top is at 5, 10 mm wide from X 70 to X 80; the drill has 2 mm of
        # radius and a point of 118 degrees, the mill 4 mm and none
        ("X75. Y20.\nZ4.9995\nZ25.\n", False),
        ("X75. Y20.\nZ4.998\nZ25.\n", True),
        ("X66.0005 Y10.\nZ0.\nY30.\nZ25.\n", False),
        ("X66.002 Y10.\nZ0.\nY30.\nZ25.\n", True),
        ("X83.9995 Y10.\nZ0.\nY30.\nZ25.\n", False),
        ("X83.998 Y10.\nZ0.\nY30.\nZ25.\n", True),
        ("X75. Y36.001\nZ0.\nZ25.\n", False),
        ("X75. Y33.998\nZ0.\nZ25.\n", True),
        ("X75. Y33.9995\nZ0.\nZ25.\n", False),
        ("X75. Y6.002\nZ0.\nZ25.\n", True),
        ("X75. Y6.0005\nZ0.\nZ25.\n", False),
    ],
)
def test_where_a_tool_meets_a_clamp(body: str, is_told: bool) -> None:
    clamp = Box((70.0, 10.0, -20.0), (80.0, 30.0, 5.0), "clamp")
    scene = Scene(STOCK, fixtures=(clamp,), underside_known=True)
    told = kinds(run("G0 Z25.\n" + body, scene, number=6))
    assert told == ["hits-fixture"] * is_told


@pytest.mark.parametrize(("z", "is_told"), [("-0.001", False), ("-0.002", True)])
def test_a_rapid_that_is_clear_only_in_a_straight_line(z: str, is_told: bool) -> None:
    """From beside the left side to beside the front one, past a corner that X first meets."""
    told = kinds(run(f"G0 X-20. Y5. Z25.\nZ{z}\nX5. Y-20.\nZ25.\n", number=6))
    assert told == ["dog-leg"] * is_told


def test_moves_of_a_stroke_and_moves_of_none() -> None:
    """Down, up and aside: the first two are one stroke, what goes aside is of none."""
    body = "G1 Z-1. F60.\nZ2.\nX20.\nZ-1.\nZ2.\nX30.\n"
    program = read_program((HEAD + body + "M30\n").encode(), Control(), file="a.nc")
    path = path_of(program, True)
    assert path.stroke.tolist() == [0, 0, -1, 1, 1, -1]
    for row, wanted in ((0, [0, 1]), (4, [3, 4]), (2, []), (5, [])):
        assert np.flatnonzero(path.with_strokes(np.arange(6) == row)).tolist() == wanted
    assert_allclose(path.of_stroke(np.array([7.0, 8.0])), [7, 7, np.nan, 8, 8, np.nan])


def shares(start: tuple[float, ...], end: tuple[float, ...], margin: float = 0.0) -> list[float]:
    first, last = np.array(start)[:, None], np.array(end)[:, None]
    return [float(one[0]) for one in shares_over(STOCK, first, last, np.array([margin]))]


def test_shares_of_a_way_over_a_box() -> None:
    """From X -10 to X 70 over 60 mm: an eighth before it and an eighth behind it."""
    across = (-10.0, 20.0, 5.0), (70.0, 20.0, 5.0)
    assert_allclose(shares(*across), [1 / 8, 7 / 8])
    assert_allclose(shares(*across[::-1]), [1 / 8, 7 / 8])
    assert_allclose(shares(*across, 4.0), [6 / 80, 74 / 80])
    assert_allclose(shares((30.0, -10.0, 5.0), (30.0, 50.0, 5.0), 2.0), [8 / 60, 52 / 60])
    assert_allclose(shares((-10.0, -10.0, 0.0), (50.0, 50.0, 0.0)), [1 / 6, 5 / 6])
    for beside in ((-10.0, 40.0), (-10.0, 0.0), (-10.0, 41.0)):  # along a side is not over it
        first, last = shares((*beside, 5.0), (70.0, beside[1], 5.0))
        assert not first < last
    first, last = shares((60.0, 20.0, 5.0), (60.0, 20.0, -5.0))
    assert not first < last
    assert shares((30.0, 20.0, 5.0), (30.0, 20.0, -5.0)) == [0.0, 1.0]
    disc = Disc((0.0, 0.0, -6.0), (40.0, 40.0, 0.0), 2)
    left, right = (np.array([[x], [20.0], [5.0]]) for x in (-20.0, 60.0))
    assert_allclose(np.hstack(shares_over(disc, left, right, np.zeros(1))), [0.25, 0.75])


def test_the_lowest_of_a_slanting_way_is_where_it_leaves_the_stock() -> None:
    places = np.array([[-10.0], [20.0], [8.0]]), np.array([[70.0], [20.0], [0.0]])
    assert_allclose(lowest_over(STOCK, *places, np.zeros(1)), [1.0])  # 8 - 8 x 7/8
    assert_allclose(lowest_over(STOCK, *places[::-1], np.zeros(1)), [1.0])


def test_heights_of_two_blanks_are_those_of_the_nearer() -> None:
    """A bar of 40 mm along X, its crown at 0, beside a plate whose top is at -5; both 30 high."""
    bar = Disc((0.0, 0.0, -40.0), (60.0, 40.0, 0.0), 0)
    plate = Box((0.0, 60.0, -30.0), (60.0, 80.0, -5.0))
    both = Pieces((bar, plate))
    places = np.array([[30.0, 30.0, 30.0, 30.0], [20.0, 8.0, 70.0, 55.0]])
    assert_allclose(top_at(both, places), [0.0, -4.0, -5.0, -5.0])
    assert_allclose(bottom_at(both, places), [-40.0, -36.0, -30.0, -30.0])
    assert_allclose(depth_inside(both, places), [20.0, 8.0, 10.0, -5.0])
    assert_allclose(away_from(both, places), [0.0, 0.0, 0.0, 5.0])
    places = np.array([[-3.0], [-4.0]])
    assert_allclose(depth_inside(plate, places), [-math.hypot(3, 64)])


def test_a_million_bad_moves_are_one_line_of_report() -> None:
    rows = "".join(f"G1 X{10 + x % 30}. Y{10 + x % 7}. Z-1.\n" for x in range(3000))
    found = run(f"G0 X10. Y10. Z25.\nF100.\n{rows}").findings
    assert [f.kind for f in found if f.kind == "sideways-in-stock"] == ["sideways-in-stock"]
    sideways = next(f for f in found if f.kind == "sideways-in-stock")
    assert sideways.count == 2999
    assert sideways.last_line == 3006
