"""Holes made, stock left, time and extent: small cases worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.model.scene import Box, Disc, Drilled, Scene
from millprep.model.shop import Control, Mill
from millprep.model.tools import Counterbore, Drill, EndMill, Reamer, SpotDrill
from millprep.reading.gcode import read_program
from millprep.reading.simulate import Record, Simulation, simulate
from millprep.reading.simulate.findings import MOST_FINDINGS, Found, capped, merged
from millprep.reading.simulate.form import Form, form_of
from millprep.reading.simulate.record import Cut, free_tip, fresh_record, surface_at, width_at
from millprep.reading.simulate.solid import bottom_at, depth_inside, lowest_over, top_at
from millprep.reading.simulate.strokes import follow_fault

MILL = Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speed_range_rpm=(60.0, 3000.0))
BLOCK = Scene(Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)))
SPOT = SpotDrill("10 mm", 10.0, point_angle_deg=90.0, tip_flat_mm=0.2, number=1)
DRILL = Drill("5 mm", 5.0, point_angle_deg=118.0, number=2)
BIG = Drill("8 mm", 8.0, point_angle_deg=118.0, number=3)
SINK = Counterbore("10 mm", 10.0, number=4)
TOOLS = (SPOT, DRILL, BIG, SINK)


def run(
    text: str,
    scene: Scene | None = BLOCK,
    *,
    control: Control | None = None,
    record: Record | None = None,
    expects_spot: bool = False,
) -> Simulation:
    control = control or Control()
    program = read_program(text.encode(), control, file="part.nc", tools=TOOLS)
    assert program.is_complete, program.findings
    return simulate(
        program, scene, MILL, control, file="part.nc", record=record, expects_spot=expects_spot
    )


HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\n"


def tool(number: int, body: str, end: str = "G0 Z25. M5\nM30\n") -> str:
    return f"{HEAD}T{number} M6\nG43 H{number}\nS800 M3\nG0 X10. Y10. Z25.\n{body}{end}"


def kinds(simulation: Simulation) -> list[str]:
    return [finding.kind for finding in simulation.findings]


def test_point_lengths() -> None:
    # 118 degrees: 0.300 d; 90 degrees: 0.500 d (Machinery's Handbook, drill point lengths)
    assert_allclose(form_of(DRILL).lead_mm / 5, 0.300, atol=5e-4)
    assert_allclose(form_of(Drill("5 mm", 5.0, point_angle_deg=90.0)).lead_mm / 5, 0.500, atol=5e-4)
    assert_allclose(
        form_of(Drill("5 mm", 5.0, point_angle_deg=135.0)).lead_mm / 5, 0.207, atol=5e-4
    )


def test_spot_cone_at_the_face() -> None:
    # Flat tip of width w: depth = 0.500 (cone - w) at 90 degrees; 3.1 mm deep with 0.2 flat: 6.4.
    hole = run(tool(1, "G0 Z2.\nG1 Z-3.1 F60.\n")).holes[0]
    assert hole.operations[0].name == "spot drill"
    assert_allclose(hole.operations[0].cone_mm, 6.4)
    assert_allclose(hole.diameter_mm, 6.4)


def test_time_and_extent_worked_by_hand() -> None:
    # Rapids 2000 mm/min: (10, 10, 25) from 0,0,0 is sqrt(825) = 28.7228 mm, 23 mm down, 29 mm up.
    # Feed 60 mm/min: 2 to -4 is 6 mm, 6 s. Dwell 2 s.
    simulation = run(tool(2, "G0 Z2.\nG1 Z-4. F60.\nG4 P2.\n"))
    rapid = math.sqrt(825) + 23 + 29
    assert_allclose(simulation.time_s, rapid / 2000 * 60 + 6 + 2)
    assert simulation.extent_mm == {"x": [10.0, 10.0], "y": [10.0, 10.0], "z": [-4.0, 25.0]}


def test_a_rapid_down_a_hole_that_is_drilled_is_no_crash() -> None:
    body = "G0 Z2.\nG1 Z-10. F60.\nG0 Z25.\nX30.\nX10.\nZ-9.9\n"
    assert kinds(run(tool(2, body))) == []
    assert kinds(run(tool(2, body.replace("Z-9.9", "Z-10.2")))) == ["rapid-into-stock"]


def test_a_wider_tool_touches_where_the_narrow_one_did_not() -> None:
    first = run(tool(2, "G0 Z2.\nG1 Z-15. F60.\n"))
    assert kinds(run(tool(2, "G0 Z-14.\n"), record=first.record)) == []
    wide = run(tool(3, "G0 Z-1.6\n"), record=first.record)
    assert kinds(wide) == ["rapid-into-stock"]
    # The 8 mm drill's own point goes into a 5 mm hole until its flank meets the edge:
    # 2.5 mm from the axis the flank stands 2.5 / tan 59 = 1.502 mm above the tip.
    clear = run(tool(3, "G0 Z-1.5\nZ2.\n"), record=run(tool(2, "G1 Z-15. F60.\n")).record)
    assert kinds(clear) == []


def test_the_same_hole_in_two_programs() -> None:
    first = run(tool(1, "G0 Z2.\nG1 Z-3. F60.\n"))
    second = run(tool(2, "G0 Z2.\nG1 Z-10. F60.\n"), record=first.record, expects_spot=True)
    assert kinds(second) == []
    assert [op.name for op in second.holes[0].operations] == ["spot drill", "drill"]
    alone = run(tool(2, "G0 Z2.\nG1 Z-10. F60.\n"), expects_spot=True)
    assert "no-spot" in kinds(alone)


def test_a_hole_opened_at_its_mouth_keeps_its_diameter() -> None:
    first = run(tool(2, "G0 Z2.\nG1 Z-18. F60.\n"))
    second = run(tool(3, "G0 Z2.\nG1 Z-6. F60.\n"), record=first.record)
    assert second.holes[0].diameter_mm == 5.0
    assert second.holes[0].bottom_mm == -18.0
    third = run(tool(4, "G0 Z2.\nG1 Z-5. F60.\n"), record=second.record)
    assert [op.name for op in third.holes[0].operations] == ["drill", "drill", "counterbore"]
    assert third.holes[0].diameter_mm == 5.0


def test_an_operation_beside_its_hole_says_where() -> None:
    first = run(tool(2, "G0 Z2.\nG1 Z-10. F60.\n"))
    second = run(tool(3, "G0 X10.3\nZ2.\nG1 Z-10. F60.\n"), record=first.record)
    assert len(second.holes) == 1
    assert (second.holes[0].x_mm, second.holes[0].operations[1].x_mm) == (10.0, 10.3)


def test_pecks_are_one_operation() -> None:
    text = tool(2, "G98 G83 X10. Y10. Z-15. R2. Q4. F60.\nX30.\nG80\n")
    simulation = run(text)
    assert [len(hole.operations) for hole in simulation.holes] == [1, 1]
    assert [hole.operations[0].line for hole in simulation.holes] == [6, 7]


def test_after_a_way_home_nobody_describes_the_tool_is_where_it_is_stated() -> None:
    """G28 alone: a hole at X0 Y0 is one, though the reading was 0 before; Z comes from above."""
    scene = replace(BLOCK, stock=Box((-20.0, -20.0, -20.0), (60.0, 40.0, 0.0)))
    body = "G0 X0. Y0.\nG28\nG0 X0. Y0.\nZ2.\nG1 Z-4. F60.\nG0 Z25.\n"
    for control in (None, Control(offsets_mm={"G54": (-200.0, -100.0, -150.0)})):
        simulation = run(tool(2, body), scene, control=control)
        assert kinds(simulation) == []
        assert [(hole.x_mm, hole.y_mm, hole.bottom_mm) for hole in simulation.holes] == [(0, 0, -4)]
        assert any("nobody describes" in said for said in simulation.not_checked)


def test_a_way_home_nobody_describes_out_of_the_work_is_a_stop() -> None:
    low = run(tool(2, "G0 Z2.\nG1 Z-4. F60.\nG28\nG0 X9. Y9.\nZ25.\n"))
    assert [(f.severity, f.kind, f.line) for f in low.findings] == [("stop", "rapid-below-top", 8)]
    beside = run(tool(2, "G0 X-9.\nZ-4.\nG28\nG0 X9. Y9.\nZ25.\n"))
    assert kinds(beside) == []


def test_moves_after_home_are_not_judged_where_nothing_says_where_home_is() -> None:
    body = "G0 Z2.\nG1 Z-4. F60.\nG0 Z25.\nG53 G0 Z0.\nX30. Y10.\n"
    end = "M5\nM30\n"
    unlisted = run(tool(2, body, end))
    assert kinds(unlisted) == []
    assert any("machine positions" in said for said in unlisted.not_checked)
    # Machine Z0 is 0 mm over the stock's top here, and the tool has no length: it goes along the
    # face, and ends low.
    listed = Control(offsets_mm={"G54": (-200.0, -100.0, 0.0)})
    assert kinds(run(tool(2, body, end), control=listed)) == ["rapid-on-face", "ends-low"]


def test_the_first_rapid_down_is_a_crash_from_wherever_it_comes() -> None:
    text = "G21 G17 G90 G94 G40 G49 G80 G54\nG0 X10. Y10.\nG0 Z-5.\nG0 Z25.\nM30\n"
    simulation = run(text)
    assert [(f.severity, f.kind, f.line) for f in simulation.findings] == [
        ("stop", "height-unknown", 2),
        ("stop", "rapid-into-stock", 3),
    ]


@pytest.mark.parametrize(("x", "y"), [(0, 0), (30, 50)])
def test_disc_with_its_bore(x: int, y: int) -> None:
    disc = Scene(Disc((x - 20.0, y - 20.0, -6.0), (x + 20.0, y + 20.0, 0.0), 2, 8.0))
    at = f"X{x}. Y{y}. Z25."
    down = f"{HEAD}T2 M6\nG43 H2\nS800 M3\nG0 {at}\nZ-5.9\nZ25. M5\nM30\n"
    assert kinds(run(down, disc)) == []
    corner = down.replace(at, f"X{x + 18}. Y{y + 18}. Z25.")  # outside the circle, in the box
    assert kinds(run(corner, disc)) == []
    fed = corner.replace("Z-5.9", "G1 Z-5.9 F60.\nG0")
    assert kinds(run(fed, disc)) == ["outside-stock"]


def test_a_hole_drilled_in_an_earlier_setup_is_there() -> None:
    crossed = (Drilled((10.0, 10.0, -20.0), (10.0, 10.0, 0.0), 5.2),)
    scene = Scene(BLOCK.stock, drilled=crossed)
    assert kinds(run(tool(2, "G0 Z-19.\n"), scene)) == []
    assert run(tool(2, "G0 Z-19.\n"), scene).holes == ()
    blind = Scene(BLOCK.stock, drilled=(Drilled((10.0, 10.0, -20.0), (10.0, 10.0, -8.0), 5.2),))
    assert kinds(run(tool(2, "G0 Z-7.\n"), blind)) == ["rapid-into-stock"]


def milled(body: str) -> Simulation:
    text = tool(2, body)
    mills = (EndMill("5 mm", 5.0, number=2),)
    program = read_program(text.encode(), Control(), file="part.nc", tools=mills)
    return simulate(program, BLOCK, MILL, Control(), file="part.nc")


SLOT = "G0 Z2.\nG1 Z-3. F60.\nX30.\nG0 Z2.\n"


REAMER = Reamer("6 mm", 6.0, lead_mm=1.0, number=5)


def test_a_hole_nearly_over_a_blind_one_of_the_other_side_is_its_own() -> None:
    """8 mm at Y 10 over a 7 mm hole at Y 10.4 that ends 8 mm below the face: two holes."""
    below = Drilled((10.0, 10.4, -20.0), (10.0, 10.4, -8.0), 7.0)
    made = run(tool(3, "G1 Z-5. F60\n"), replace(BLOCK, drilled=(below,))).holes
    assert [(hole.x_mm, hole.y_mm, hole.bottom_mm) for hole in made] == [(10.0, 10.0, -5.0)]


@pytest.mark.parametrize(
    ("rooms", "kind"),
    [
        ([(5.8, -20, 0)], None),
        ([(5.8, -20, 0), (10.0, -20, -15)], None),  # a counterbore from below
        ([(5.8, -20, 0), (10.0, -5, 0)], None),  # and from above
        ([(5.8, -20, -9), (5.8, -11, 0)], None),  # drilled from both ends
        ([(5.8, -20, -12), (5.8, -11, 0)], "hole-too-shallow-for-tool"),  # they do not meet
        ([(5.8, -20, -9), (5.0, -11, 0)], "hole-wrong-for-tool"),
        ([(6.0, -20, 0)], "hole-wrong-for-tool"),
        ([(5.8, -18, 0)], "hole-too-shallow-for-tool"),
        ([], "nothing-to-follow"),
    ],
)
def test_what_a_reamer_finds(rooms: list[tuple[float, float, float]], kind: str | None) -> None:
    room = [Cut(d / 2, low, d / 2, 0.0, math.inf if top == 0 else top) for d, low, top in rooms]
    fault = follow_fault(form_of(REAMER), 85, room, -22.0, -20.0)
    assert (fault[0].kind if fault else None) == kind


def test_without_a_part_nobody_says_whether_a_slot_is_wanted() -> None:
    assert any("whether what is milled is to be kept" in said for said in milled(SLOT).not_checked)


@pytest.mark.parametrize(
    ("after", "kind"),
    [
        ("X20.\nZ-3.\n", None),  # down into the slot
        ("X20.\nZ-3.1\n", "rapid-into-stock"),
        ("X20. Y11.5\nZ-3.\n", "rapid-into-stock"),  # into its side
        ("X20.\nZ-3.\nX12.\nZ2.\n", None),  # along the slot
        ("X20.\nZ-3.\nX34.\nZ2.\n", "rapid-below-top"),  # past its end
        ("X20.\nZ-3.\nY20.\nZ2.\n", "rapid-below-top"),  # across it
    ],
)
def test_rapids_in_a_slot_that_was_milled(after: str, kind: str | None) -> None:
    assert kinds(milled(SLOT + "G0 " + after)) == ([] if kind is None else [kind])


@pytest.mark.parametrize(
    ("after", "told"),
    [
        ("X20.\n", []),  # in from the side
        ("X-12.\n", ["outside-stock"]),  # never in
        ("G0 Z25.\nX20.\nZ2.\nG1 Z-1.\nX25.\n", ["outside-stock"]),  # nor before it goes up
    ],
)
def test_a_cutter_fed_down_beside_the_stock(after: str, told: list[str]) -> None:
    assert kinds(milled("G0 X-10. Y20.\nZ2.\nG1 Z-3. F200.\n" + after)) == told


@pytest.mark.parametrize(
    ("at", "z", "told", "of_a_hole"),
    [("X2. Y20.", -3, [], ["breaks-edge"]), ("X20. Y20.", -27, *[["below-underside"]] * 2)],
)
def test_the_way_into_a_slot_is_no_hole(
    at: str, z: int, told: list[str], of_a_hole: list[str]
) -> None:
    down = f"G0 {at}\nZ2.\nG1 Z{z}. F60.\n"
    assert kinds(milled(down)) == of_a_hole
    along = milled(down + "G1 X24.\n")
    assert kinds(along) == told
    assert all(f"at {at.replace('.', '.000')}" in f.message for f in along.findings)


def turn(radius_mm: float, z_mm: float) -> str:
    """Once round X20 Y20, a 5 mm cutter's axis at that radius."""
    x = 20 + radius_mm
    round_it = f"G3 X{x} Y20. I-{radius_mm} J0. F200.\n"
    return f"G0 X{x} Y20.\nZ2.\nG1 Z{z_mm} F60.\n{round_it}G0 Z2.\n"


@pytest.mark.parametrize(
    ("turns", "made"),
    [
        ([(5, -4)], []),  # a boss of 5 mm is left standing in it
        ([(2, -4), (5, -4)], [15.0]),
        ([(5, -4), (2, -4)], [15.0]),
        ([(2, -3.995), (5, -4)], [15.0]),  # as deep, within a hundredth
        ([(2, -3.98), (5, -4)], [9.0]),
        ([(5, -4), (2, -3.98)], [9.0]),
        ([(2, -4), (7, -4)], [19.0]),
        ([(2, -4), (7.005, -4)], [19.01]),  # as wide as the boss would be, within a hundredth
        ([(2, -4), (7.4, -4)], [9.0]),
        ([(2, -6), (5, -4)], [9.0, 15.0]),  # a step in it
    ],
)
def test_a_circle_is_a_hole_once_its_inside_is_gone(
    turns: list[tuple[float, float]], made: list[float]
) -> None:
    holes = milled("".join(turn(*one) for one in turns)).holes
    circles = [o.diameter_mm for hole in holes for o in hole.operations if o.milling == "circle"]
    assert circles == [pytest.approx(one) for one in made]


def test_a_rapid_where_the_slot_will_be_is_a_crash() -> None:
    early = "G0 X20.\nZ-3.\nZ25.\nX10.\n" + SLOT
    assert kinds(milled(early))[0] == "rapid-into-stock"


# --- the record of one hole

ANGLES = st.sampled_from([60.0, 82.0, 90.0, 118.0, 135.0, 180.0])


def pointed(diameter_mm: float, angle_deg: float) -> Form:
    return form_of(Drill("", diameter_mm, point_angle_deg=angle_deg))


def cut_of(form: Form, tip_mm: float) -> Cut:
    return Cut(form.radius_mm, tip_mm, form.flat_mm, form.slope)


@given(
    st.lists(st.tuples(st.floats(1, 12), ANGLES, st.floats(-20, -0.5)), min_size=1, max_size=4),
    st.floats(1, 12),
    ANGLES,
)
def test_free_tip_against_sampling_radii(
    cuts: list[tuple[float, float, float]], diameter: float, angle: float
) -> None:
    room = [cut_of(pointed(d, a), tip) for d, a, tip in cuts]
    form = pointed(diameter, angle)
    free = free_tip(room, form, 0.0)
    radii = np.linspace(0, form.radius_mm, 400)
    own = free + np.maximum(0, radii - form.flat_mm) * form.slope
    left = np.array([surface_at(room, float(r), 0.0) for r in radii])
    assert (left - own).max() <= 1e-5  # nothing of the tool is in the stock
    lower = left - (own - 0.05)  # samples lie up to 0.03 mm apart in height
    assert lower.max() > 0  # and a hair lower something is


def test_a_tool_is_free_where_it_has_been() -> None:
    form = pointed(5.0, 118.0)
    assert_allclose(free_tip([cut_of(form, -7.0)], form, 0.0), -7.0)
    assert free_tip([], form, 0.0) == 0.0


def test_width_at_a_height() -> None:
    room = [cut_of(pointed(6.0, 90.0), -10.0)]
    assert_allclose(width_at(room, -9.0), 2.0)
    assert width_at(room, -5.0) == 6.0
    assert width_at(room, -10.5) == 0.0


def test_a_bigger_hole_near_by_frees_a_small_tool_in_it() -> None:
    record = fresh_record(None)
    big = record.new_place(0.0, 0.0)
    record.add_cut(big, Cut(10.0, -8.0, 10.0, 0.0))
    assert_allclose(free_tip(record.room(6.0, 0.0), pointed(4.0, 180.0), 0.0), -8.0)
    assert free_tip(record.room(9.0, 0.0), pointed(4.0, 180.0), 0.0) == 0.0
    assert record.same_hole(6.0, 0.0, 2.0) is None


# --- the blank


def columns(*points: tuple[float, ...]) -> NDArray[np.float64]:
    return np.array(points, float).T


def test_lying_disc_heights() -> None:
    # Round about X, radius 10, its crown at Z0: 6 mm off the crown it is 10 - 8 = 2 mm lower.
    disc = Disc((0.0, 0.0, -20.0), (30.0, 20.0, 0.0), 0)
    places = columns((5, 10), (5, 16), (5, 25))
    assert_allclose(top_at(disc, places), [0, -2, 0], atol=1e-12)
    assert_allclose(bottom_at(disc, places), [-20, -18, -20], atol=1e-12)


def test_depth_inside_the_outline() -> None:
    box = Box((0.0, 0.0, -1.0), (10.0, 20.0, 0.0))
    places = columns((5, 10), (1, 10), (-3, 24), (-2, 10))
    assert_allclose(depth_inside(box, places), [5, 1, -5, -2])
    disc = Disc((-10.0, -10.0, -1.0), (10.0, 10.0, 0.0), 2)
    assert_allclose(depth_inside(disc, columns((0, 0), (6, 8), (9, 12))), [10, 0, -5])


@pytest.mark.parametrize(
    "stock",
    [Box((0.0, 0.0, -9.0), (10.0, 10.0, 0.0)), Disc((0.0, 0.0, -9.0), (10.0, 10.0, 0.0), 2)],
)
def test_a_slanting_move_is_as_deep_as_where_it_leaves_the_stock(stock: Box | Disc) -> None:
    # Down from (-10, 5, 20) to (30, 5, -20): 1 mm down a mm along; it leaves at x = 10 + 1.
    low = lowest_over(stock, columns((-10, 5, 20)), columns((30, 5, -20)), np.array([1.0]))
    assert_allclose(low, [-1.0])
    beside = lowest_over(stock, columns((-10, 12, 0)), columns((30, 12, 0)), np.array([1.0]))
    assert np.isnan(beside).all()


# --- findings


def at(move: int, line: int, run: object = None) -> Found:
    return Found(move, Finding("stop", "rapid-below-top", "message", line=line), run)


def test_runs_on_consecutive_moves_are_one() -> None:
    found = merged([at(7, 3), at(5, 1), at(6, 2), at(9, 5)], "f.nc")
    assert [(f.line, f.last_line, f.count) for f in found] == [(1, 3, 3), (5, None, 1)]


def test_pecks_of_one_hole_are_one() -> None:
    found = merged([at(1, 4, run="a"), at(9, 4, run="a"), at(20, 6, run="b")], "f.nc")
    assert [(f.line, f.count) for f in found] == [(4, 2), (6, 1)]


def test_a_report_is_capped_and_the_rest_counted_by_kind() -> None:
    many = [Finding("warning", "no-spot", str(i)) for i in range(MOST_FINDINGS + 5)]
    many.append(Finding("stop", "rapid-into-stock", "the worst is kept"))
    kept = capped(many, "f.nc")
    assert len(kept) == MOST_FINDINGS + 1
    assert any(f.kind == "rapid-into-stock" for f in kept)
    assert kept[-1].kind == "many-findings" and "6 more of no-spot" in kept[-1].message


def test_ten_thousand_holes_cost_ten_times_a_thousand() -> None:
    """Squares of the grid stay short: the count of places near any hole does not grow."""
    record = fresh_record(None)
    for i in range(100):
        for j in range(100):
            place = record.new_place(4.0 * i, 4.0 * j)
            record.add_cut(place, Cut(1.5, -5.0, 0.0, 0.6))
    assert max(len(places) for places in record.grid.values()) <= 9
