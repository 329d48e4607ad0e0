"""What is removed, hole by hole: each limit of the record just within, at, and just beyond it."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from millprep.model.scene import Box, Disc, Drilled, Scene
from millprep.model.tools import Drill, SpotDrill
from millprep.reading.simulate.form import form_of
from millprep.reading.simulate.record import (
    Cut,
    Place,
    Record,
    free_tip,
    fresh_record,
    surface_at,
    widest_cut_mm,
    width_at,
)

# 5 mm wide, a flat of 1 mm, its flank half a millimetre up for each millimetre out: full at Z-9
POINTED = Cut(2.5, -10.0, 0.5, 0.5)
ROUND = Cut(2.5, -10.0, 2.5, 0.0, -2.0)
BLOCK = Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0))


@pytest.mark.parametrize(
    ("cut", "widths"),
    [
        (POINTED, {-10.01: 0, -10: 0.5, -9.5: 1.5, -9: 2.5, -8: 2.5, 5: 2.5}),
        (ROUND, {-10.01: 0, -10: 2.5, -5: 2.5, -2: 2.5, -1.99: 0}),
    ],
)
def test_how_wide_a_cut_is_at_a_height(cut: Cut, widths: dict[float, float]) -> None:
    assert width_at([], -5.0) == 0.0
    assert {z: cut.radius_at(z) for z in widths} == widths
    assert {z: width_at([cut], z) for z in widths} == {z: 2 * r for z, r in widths.items()}


def test_how_deep_a_cut_is_at_a_radius() -> None:
    assert [POINTED.surface(r) for r in (0.0, 0.5, 1.5, 2.5)] == [-10, -10, -9.5, -9]


def with_place(cut: Cut, x: float = 0.0) -> Record:
    record = Record()
    record.add_cut(record.new_place(x, 0.0), cut)
    return record


@pytest.mark.parametrize(
    ("cut", "tool_radius", "furthest"),
    [
        (Cut(0.1, -5.0, 0.1, 0.0), 4.0, 0.05),  # a share of the smaller would be 0.03
        (Cut(5.0, -5.0, 5.0, 0.0), 4.0, 1.2),
        (Cut(4.0, -5.0, 4.0, 0.0), 5.0, 1.2),
        (Cut(4.0, -9.0, 4.0, 0.0, -5.0), 5.0, 0.05),  # the end of a hole from below
    ],
)
def test_what_is_one_hole(cut: Cut, tool_radius: float, furthest: float) -> None:
    record = with_place(cut)
    assert record.same_hole(furthest, 0.0, tool_radius) is record.places[0]
    assert record.same_hole(0.0, -furthest, tool_radius) is record.places[0]
    assert record.same_hole(furthest + 0.001, 0.0, tool_radius) is None


def test_of_two_holes_the_nearest_is_meant_and_the_first_of_two_as_near() -> None:
    record = with_place(Cut(2.0, -5.0, 2.0, 0.0), -0.5)
    record.add_cut(record.new_place(0.5, 0.0), Cut(2.0, -5.0, 2.0, 0.0))
    assert record.same_hole(0.0, 0.0, 2.0) is record.places[0]
    assert record.same_hole(0.01, 0.0, 2.0) is record.places[1]
    assert record.same_hole(-0.01, 0.0, 2.0) is record.places[0]


@pytest.mark.parametrize(
    ("cut", "away", "seen"),
    [
        (POINTED, 0.05, POINTED),
        (POINTED, 1.5, Cut(1.0, -9.5, 0.0, 0.5)),
        (POINTED, 0.25, Cut(2.25, -10.0, 0.25, 0.5)),
        (Cut(5.0, -10.0, 1.0, 0.5, -1.0, is_spot=True), 3.0, Cut(2.0, -9.0, 0, 0.5, -1.0, True)),
        (ROUND, 1.5, Cut(1.0, -10.0, 2.5, 0.0, -2.0)),
        (ROUND, 2.5, None),
        (ROUND, 2.6, None),
    ],
)
def test_room_beside_an_axis_is_as_wide_as_what_is_left_of_it(
    cut: Cut, away: float, seen: Cut | None
) -> None:
    assert with_place(cut).room(away, 0.0) == ([] if seen is None else [seen])
    assert with_place(cut).room(0.0, -away) == ([] if seen is None else [seen])


@pytest.mark.parametrize("is_along_y", [False, True])
@pytest.mark.parametrize(
    ("along", "aside", "is_room"),
    [
        (15, 20, True),
        (3, 20, True),
        (2.99, 20, False),
        (27, 20, True),
        (27.01, 20, False),
        (15, 21.99, True),
        (15, 22, False),
        (15, 18.01, True),
        (15, 18, False),
    ],
)
def test_where_a_lying_hole_holds_a_tool(
    along: float, aside: float, is_room: bool, is_along_y: bool
) -> None:
    """10 mm wide from 0 to 30 along, a tool of 6: 4 mm up and down where it stands in the middle,
    5 mm from the axis of the hole at the rim of the tool."""
    start, end = ((20.0, y, -10.0) if is_along_y else (y, 20.0, -10.0) for y in (0.0, 30.0))
    place = (aside, along) if is_along_y else (along, aside)
    for one in (Drilled(start, end, 10.0), Drilled(end, start, 10.0)):
        room = Record(across=[one]).crossing(*place, 3.0)
        assert len(room) == is_room
        if (along, aside) == (15, 20):
            assert room == [Cut(3.0, -14.0, 3.0, 0.0, -6.0, is_across=True)]


OLD = Cut(2.0, -5.0, 0.5, 0.5, -1.0)


@pytest.mark.parametrize(
    ("new", "is_covered"),
    [
        (OLD, True),
        (Cut(3.0, -6.0, 3.0, 0.0), True),
        (Cut(1.9, -6.0, 1.9, 0.0), False),  # narrower
        (Cut(2.0, -5.0, 0.5, 0.5, -1.1), False),  # not as high
        (Cut(2.0, -4.9, 2.0, 0.0), False),  # not as deep in the middle
        (Cut(2.0, -5.0, 0.4, 0.5), False),  # nor at the rim of its flat
        (Cut(2.0, -5.1, 0.0, 0.7), False),
        (Cut(2.0, -5.1, 0.5, 0.6), False),  # nor at its own rim
        (Cut(2.0, -5.0, 0.5, 0.5, -1.0, is_spot=True), False),
    ],
)
def test_what_an_older_cut_is_swallowed_by(new: Cut, is_covered: bool) -> None:
    record = with_place(OLD)
    record.add_cut(record.places[0], new)
    assert record.places[0].cuts == ([new] if is_covered else [OLD, new])


def test_a_hole_is_found_from_as_far_as_it_reaches() -> None:
    """And from three tenths beyond, in squares of 4 mm; over 60 mm in radius from anywhere."""
    record = with_place(Cut(3.69, -5.0, 3.69, 0.0))
    assert [len(record.near(x, 0.0)) for x in (-4.1, -3.9, 0.0, 3.9, 4.1)] == [0, 1, 1, 1, 0]
    record.add_cut(record.places[0], Cut(3.71, -5.0, 3.71, 0.0))
    assert [len(record.near(0.0, y)) for y in (-4.1, 0.0, 4.1, 8.1)] == [1, 1, 1, 0]
    record.add_cut(record.places[0], Cut(60.0, -5.0, 60.0, 0.0))
    assert [len(record.near(x, 0.0)) for x in (0.0, 59.9, 64.1)] == [1, 1, 0]
    for radius in (60.5, 70.0):
        record.add_cut(record.places[0], Cut(radius, -5.0, radius, 0.0))
        assert [len(record.large), len(record.near(500.0, 0.0))] == [1, 1]
    record.add_cut(record.places[0], Cut(2.0, -9.0, 2.0, 0.0))
    assert record.places[0].radius_mm == 70.0


def test_a_place_is_from_below_while_nothing_opens_it() -> None:
    assert Place(0.0, 0.0, [ROUND]).is_from_below
    assert not Place(0.0, 0.0, [ROUND, POINTED]).is_from_below


@pytest.mark.parametrize(("high", "upper"), [(0.0, math.inf), (-0.05, math.inf), (-0.06, -0.06)])
def test_what_was_drilled_before_opens_upwards_or_not(high: float, upper: float) -> None:
    for ends in (((5.0, 6.0, -9.0), (5.0, 6.0, high)), ((5.0, 6.0, high), (5.0, 6.0, -9.0))):
        record = fresh_record(Scene(BLOCK, drilled=(Drilled(*ends, 4.0),)))
        (place,) = record.places
        assert (place.x_mm, place.y_mm) == (5.0, 6.0)
        assert place.cuts == [Cut(2.0, -9.0, 2.0, 0.0, upper)]


@pytest.mark.parametrize(("away", "holes"), [(0.29, 1), (0.31, 2)])
def test_two_that_nearly_meet_are_one_hole_as_the_smaller_says(away: float, holes: int) -> None:
    wide = Drilled((5.0, 6.0, -9.0), (5.0, 6.0, 0.0), 5.0)
    small = Drilled((5.0 + away, 6.0, -20.0), (5.0 + away, 6.0, -9.0), 2.0)
    assert len(fresh_record(Scene(BLOCK, drilled=(wide, small))).places) == holes


def test_a_hole_lies_across_once_its_ends_are_a_twentieth_apart() -> None:
    for apart, is_across in ((0.05, False), (0.06, True)):
        hole = Drilled((0.0, 0.0, -9.0), (0.0, apart, 0.0), 4.0)
        record = fresh_record(Scene(BLOCK, drilled=(hole,)))
        assert [len(record.across), len(record.places)] == [is_across, not is_across]


def test_the_bore_of_a_standing_disc_is_there_and_of_a_lying_one_it_is_not() -> None:
    disc = Disc((10.0, 20.0, -6.0), (50.0, 60.0, 0.0), 2, 8.0)
    (place,) = fresh_record(Scene(disc)).places
    assert (place.x_mm, place.y_mm, place.cuts) == (30.0, 40.0, [Cut(4.0, -6.0, 4.0, 0.0)])
    lying = Disc((0.0, -10.0, -20.0), (50.0, 10.0, 0.0), 0, 8.0)
    assert not fresh_record(Scene(lying)).places


def test_the_surface_goes_down_from_room_to_room() -> None:
    upper, lower, apart = (
        Cut(3.0, -5.0, 3.0, 0.0),
        Cut(3.0, -10.0, 3.0, 0.0, -5.0),
        Cut(3.0, -10.0, 3.0, 0.0, -5.1),
    )
    assert surface_at([lower, upper], 3.0, 0.0) == -10
    assert surface_at([apart, upper], 3.0, 0.0) == -5
    assert surface_at([upper], 3.001, 0.0) == 0
    assert surface_at([lower], 3.0, 0.0) == 0


def test_how_low_a_point_goes_into_a_hole() -> None:
    """A 10 mm 90 degree cone rises 1 mm a mm; in a hole of 4 mm its flank meets the edge 2 mm up,
    and in one 1 mm deep its tip stands on the floor."""
    cone = form_of(SpotDrill("", 10.0, point_angle_deg=90.0))
    assert_allclose(free_tip([Cut(2.0, -9.0, 2.0, 0.0)], cone, 0.0), -2.0, atol=1e-5)
    assert_allclose(free_tip([Cut(2.0, -1.0, 2.0, 0.0)], cone, 0.0), -1.0)
    # a wider mouth 0.5 mm deep: the edge is lower by that
    stepped = [Cut(2.0, -9.0, 2.0, 0.0), Cut(6.0, -0.5, 6.0, 0.0)]
    assert_allclose(free_tip(stepped, cone, 0.0), -2.5, atol=1e-5)
    # a steeper cone, 60 degrees, 3 mm deep: both tips on one spot
    steep = Cut(math.sqrt(3), -3.0, 0.0, math.sqrt(3))
    assert_allclose(free_tip([steep], cone, 0.0), -math.sqrt(3), atol=1e-5)
    assert free_tip([], cone, 0.0) == 0.0
    # with a flat of 2 mm its flank begins 1 mm out
    blunt = form_of(SpotDrill("", 10.0, point_angle_deg=90.0, tip_flat_mm=2.0))
    assert_allclose(free_tip([Cut(2.0, -9.0, 2.0, 0.0)], blunt, 0.0), -1.0, atol=1e-5)


def test_how_low_a_blunt_point_goes_into_sharp_ones() -> None:
    """118 degrees rise 0.6009 mm a mm: 1 mm out where a cone of 90 degrees meets the face, and 5/3
    mm out where the flank of -4 + (r - 0.5) goes over into that of -3 + (r - 1) / 4."""
    rise = 1 / math.tan(math.radians(59))
    drill = form_of(Drill("", 5.0, point_angle_deg=118.0))
    assert_allclose(free_tip([Cut(5.0, -1.0, 0.0, 1.0)], drill, 0.0), -rise)
    assert_allclose(free_tip([Cut(5.0, -1.0, 0.25, 1.0)], drill, 0.0), -1.25 * rise)
    flanks = [Cut(3.0, -4.0, 0.5, 1.0), Cut(3.0, -3.0, 1.0, 0.25)]
    assert_allclose(free_tip(flanks, drill, 0.0), -3.25 + (0.25 - rise) * 5 / 3)


def test_how_wide_a_cone_cuts_in_what_is_there() -> None:
    cone = form_of(SpotDrill("", 10.0, point_angle_deg=90.0))
    flat = form_of(Drill("", 6.0, point_angle_deg=180.0))
    for form, room, tip_mm, top_mm, wide_mm in (
        (cone, [], -3.0, 0.0, 6.0),
        (cone, [], -8.0, 0.0, 10.0),
        (cone, [Cut(4.0, -1.0, 4.0, 0.0)], -3.0, 0.0, 4.0),
        (cone, [Cut(4.0, -3.0, 0.0, 1.0)], -3.0, 0.0, 0.0),
        (cone, [], -0.25, 0.0, 0.5),
        (cone, [Cut(4.0, -1.0, 3.0, 0.5)], -3.0, 0.0, 4.0),  # on its level floor
        # 1 mm up for 2 mm out from 1 mm higher: their flanks meet 2 mm out
        (cone, [Cut(6.0, -2.0, 0.0, 0.5)], -3.0, 1.0, 4.0),
        (flat, [Cut(2.0, -9.0, 2.0, 0.0)], -3.0, 0.0, 6.0),
        (flat, [Cut(3.0, -3.0, 3.0, 0.0)], -3.0, 0.0, 0.0),
    ):
        assert_allclose(widest_cut_mm(room, form, tip_mm, top_mm), wide_mm, atol=1e-9)
