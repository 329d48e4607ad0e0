"""Walls, floors, crossings and heads in three dimensions: planted faults, by sums beside them.

Points of drills are 118 degrees: 0.3004 of the diameter long (half of it over the tangent of 59).
"""

import math

import pytest
from jobs import plan_of
from test_checks import CENTRED, findings_of, hole, kinds, only

from millprep.checks import cures
from millprep.checks.registry import Job
from millprep.checks.space import Space, least_wall_mm

HIGH = "size = [60, 40, 40]"
DISC = 'diameter = 40\nlength = 12\naxis = "z"\nbore = 8'


def point_mm(diameter: float) -> float:
    return diameter / 2 / math.tan(math.radians(59))


def test_a_drill_that_goes_deeper_than_its_thread_comes_near_another_hole() -> None:
    """M6 tapped 12 deep with a plug tap is drilled 17 deep, and 1.50 for the point of 5 mm."""
    text = hole('tap = "M6"', "[30, 20]", "12") + hole("drill = 5", "[30, 18]", "30", "b", "front")
    finding = only(findings_of(text, HIGH), "thin-wall")
    tip = 12 + 5 * 1.0 + point_mm(5.0)
    assert finding.message == (
        f'holes "a" and "b": {40 - tip - (18 + 2.5):.2f} of wall between '
        'the drill point of "a" and "b", should be 1.25 mm'
    )
    assert finding.cure is not None
    assert finding.cure.kind == "depth"


def test_holes_square_to_each_other_by_the_distance_of_their_axes() -> None:
    """Axes 6 apart, radii 3 and 2.5: 0.5 is left."""
    text = hole("drill = 6", "[30, 20]", "30") + hole("drill = 5", "[36, 25]", "35", "b", "front")
    finding = only(findings_of(text, HIGH), "thin-wall")
    assert finding.message == 'holes "a" and "b": 0.50 of wall between them, should be 1.25 mm'
    assert finding.remedy == 'move "b" 0.75 mm towards RIGHT, or write allow = ["thin wall"]'


def test_a_crossing_that_nobody_meant_is_a_stop() -> None:
    text = hole("drill = 6", "[30, 20]", "30") + hole("drill = 5", "[33, 25]", "35", "b", "front")
    finding = only(findings_of(text, HIGH), "holes-overlap")
    assert finding.severity == "stop"
    assert finding.message == 'holes "a" and "b" cross: they cut into each other by 2.50 mm'
    assert finding.remedy == 'move "b" 3.75 mm towards RIGHT, or write meets where it is meant'
    assert (finding.cure.kind, finding.cure.holes) == ("move", ("b",))
    assert finding.cure.by_mm == (pytest.approx((3.75, 0, 0), abs=1e-5),)


def test_a_crossing_that_is_meant_is_a_note() -> None:
    text = hole("drill = 6", "[30, 20]", "30") + hole(
        'drill = 5\nmeets = "a"', "[33, 25]", "35", "b", "front"
    )
    finding = only(findings_of(text, HIGH), "meeting")
    assert (finding.severity, finding.message) == ("note", 'holes "a" and "b" meet (as drawn)')


def test_a_meeting_that_does_not_happen() -> None:
    """The bore's wall is at 20 - 6 = 14 from FRONT; the drill of 3 stops at 10, its tip at 10.9."""
    text = hole("ream = 12", "[30, 20]", '"through"') + hole(
        'drill = 3\nmeets = "a"', "[30, 10]", "10", "b", "front"
    )
    finding = only(findings_of(text), "does-not-meet")
    assert finding.severity == "warning"
    apart = 14 - 10 - point_mm(3.0)
    assert finding.message == (
        f'holes "a" and "b" are meant to meet, but stay {apart:.2f} mm apart'
    )
    assert finding.remedy == 'give "b" a depth of 14.00 mm or more'
    cured = findings_of(text.replace("depth = 10", "depth = 14.00"))
    assert "does-not-meet" not in kinds(cured)


def test_holes_farther_apart_than_either_is_deep_find_no_depth() -> None:
    """No hole is made less deep than nothing on the way to a cure."""
    text = hole("drill = 4", "[50, 20]", "5") + hole(
        'drill = 4\nmeets = "a"', "[10, 15]", "8", "b", "front"
    )
    finding = only(findings_of(text), "does-not-meet")
    assert finding.cure is None or finding.cure.kind == "move"


def test_each_of_a_pattern_meets_one_of_the_other() -> None:
    """A row of three over a row of three; with two under it the third meets nothing."""
    three = "count = 3 }"
    row = hole("drill = 4", "[0, 0]", '"through"').replace(
        "at = [0, 0]", "row = { start = [10, 20], step = [15, 0], " + three
    )
    under = hole('drill = 4\nmeets = "a"', "[0, 0]", "25", "b", "front").replace(
        "at = [0, 0]", "row = { start = [10, 10], step = [15, 0], " + three
    )
    assert "does-not-meet" not in kinds(findings_of(row + under))
    two = under.replace("count = 3", "count = 2")
    found = [f for f in findings_of(row + two) if f.kind == "does-not-meet"]
    assert {f.holes[0] for f in found} == {"a 3"}


def test_only_the_point_meets() -> None:
    text = hole("ream = 12", "[30, 20]", '"through"') + hole(
        'drill = 6\nmeets = "a"', "[30, 10]", "13", "b", "front"
    )
    finding = only(findings_of(text), "does-not-meet")
    assert finding.message.endswith("are meant to meet, but only meet with the point of a drill")


def test_holes_that_only_graze_do_not_meet() -> None:
    """Radii 2 and 1.5; they have to cut a tenth of 3 mm into each other."""
    text = hole("drill = 3", "[20, 10]", '"through"', "a", "left") + hole(
        'drill = 4\nmeets = "a"', "[30, 23.4]", '"through"', "b"
    )
    finding = only(findings_of(text), "does-not-meet")
    assert finding.message.endswith(
        "are meant to meet, but only graze: they cut 0.10 mm into each other, needs 0.30 mm"
    )
    assert finding.remedy == 'move "b" 0.20 mm towards FRONT'
    apart = findings_of(text.replace("23.4", "24.5"))
    assert only(apart, "does-not-meet").remedy == 'move "b" 1.30 mm towards FRONT'
    assert "meeting" in kinds(findings_of(text.replace("23.4", "23.2")))


@pytest.mark.parametrize(
    ("aside", "size", "first", "slope"),
    [(4, 5, "top", 53), (2, 5, "top", None), (4, 12, "top", None), (4, 5, "front", None)],
)
def test_a_drill_that_breaks_into_the_side_of_a_bore(
    aside: float, size: float, first: str, slope: int | None
) -> None:
    """A bore of 10: 4 beside its axis the wall slopes asin(4 / 5)."""
    then = "front" if first == "top" else "top"
    text = f'[[setup]]\nface = "{first}"\n[[setup]]\nface = "{then}"\n'
    text += hole("drill = 10", "[30, 20]", '"through"') + hole(
        f'drill = {size}\nmeets = "a"', f"[{30 + aside}, 15]", "20", "b", "front"
    )
    found = [f for f in findings_of(text, HIGH) if f.kind == "drilled-on-slope"]
    assert [f.message for f in found] == [
        f'hole "b" is drilled into "a" {aside:.2f} mm off its axis, where its wall slopes '
        f"{slope} degrees"
    ] * (slope is not None)


def test_points_of_two_drills_on_one_axis() -> None:
    """9 and 9 deep in 20 from both faces, 5 mm: 20 - 18 - 2 x 1.502 < 0."""
    text = hole("drill = 5", "[30, 20]", "9") + hole("drill = 5", "[30, 20]", "9", "b", "bottom")
    finding = only(findings_of(text), "holes-overlap")
    over = 2 * point_mm(5.0) - 2
    assert finding.message == f'holes "a" and "b" run into each other by {over:.2f} mm, end to end'
    near = findings_of(text.replace("depth = 9", "depth = 8"))
    left = 20 - 16 - 2 * point_mm(5.0)
    assert f"{left:.2f} of wall between the drill point of" in only(near, "thin-wall").message


def test_counterbore_beside_a_countersink() -> None:
    """8 mm counterbore (DIN 974-1) and 8.96 mm head (ISO 10642) 9 apart: 9 - 4 - 4.48."""
    text = hole('clear = "M4"\ncounterbore = "M4 socket head"', "[20, 20]", '"through"') + hole(
        'clear = "M4"\ncountersink = "M4 countersunk"', "[29, 20]", '"through"', "b"
    )
    message = only(findings_of(text), "thin-wall").message
    assert '0.52 of wall between the counterbore of "a" and the countersink of "b"' in message


def test_threads_count_by_their_major_diameter() -> None:
    """Two M6 at 7: 1.00 between the threads, though the drills of 5 leave 2."""
    text = hole('tap = "M6"', "[20, 20]", "8") + hole('tap = "M6"', "[27, 20]", "8", "b")
    assert '1.00 of wall between the thread of "a"' in only(findings_of(text), "thin-wall").message


def test_web_under_a_counterbore() -> None:
    text = hole(
        'clear = "M5"\ncounterbore = { diameter = 10, depth = 9.4 }', "[30, 20]", '"through"'
    )
    finding = only(findings_of(text, "size = [60, 40, 10]"), "thin-floor")
    assert finding.message == 'hole "a": 0.60 left under its recess, should be 1.38 mm'
    assert finding.remedy == "make the recess 0.78 mm less deep"


def test_web_under_an_opened_length() -> None:
    text = hole("drill = 5\nopened = { diameter = 8, depth = 19.5 }", "[30, 20]", '"through"')
    finding = only(findings_of(text), "thin-floor")
    assert finding.message == 'hole "a": 0.50 left under its recess, should be 1.25 mm'
    assert finding.remedy == "make the recess 0.75 mm less deep"
    assert findings_of(text.replace("19.5", "18.75")) == []


def test_a_countersink_deeper_than_its_plate() -> None:
    """90 degrees from 9 to 4.5 is 2.25 deep."""
    text = hole("drill = 4.5\ncountersink = { diameter = 9 }", "[30, 20]", '"through"')
    finding = only(findings_of(text, "size = [60, 40, 2]"), "tip-through")
    assert (finding.severity, finding.message) == (
        "warning",
        'hole "a": its countersink is 2.25 deep in 2.00 mm: it breaks through',
    )
    assert findings_of(text, "size = [60, 40, 3]") == []


def test_what_comes_out_is_named() -> None:
    """60 degrees from 22 to 5: 8.5 / tan 30 = 14.72 deep."""
    text = hole("drill = 5\ncountersink = { diameter = 22, angle = 60 }", "[30, 20]", "8")
    finding = only(findings_of(text, "size = [60, 40, 12]"), "tip-through")
    assert "its countersink goes to 14.72 mm: it breaks through" in finding.message


def test_floor_at_the_far_rim_of_a_disc() -> None:
    """The tip is 39.00 below the near rim and 1.5 beside the middle: 20 - hypot(19, 1.5)."""
    text = hole("drill = 5", "{ centre_x = 1.5, bottom = 6 }", "37.5", face="front")
    plain = 'diameter = 40\nlength = 12\naxis = "z"'
    finding = only(findings_of(text, plain, datum=CENTRED), "thin-floor")
    left = 20 - math.hypot(37.5 + point_mm(5.0) - 20, 1.5)
    assert f"floor {left:.2f} under the tip" in finding.message


def test_floor_at_the_far_rim_of_a_disc_by_the_corner_of_the_drill() -> None:
    """The corner of an 8 mm drill, 12 aside and 30 deep: 20 - hypot(10, 12 + 4) = 1.13 is left.

    Its tip, 32.40 deep and 12 aside, has 20 - hypot(12.40, 12) = 2.74.
    """
    text = hole("drill = 8", "{ centre_x = 12, bottom = 6 }", "30", face="front")
    plain = 'diameter = 40\nlength = 12\naxis = "z"'
    finding = only(findings_of(text, plain, datum=CENTRED), "thin-floor")
    assert "floor 1.13 under the tip" in finding.message


def test_only_the_point_breaks_into_the_bore_of_a_disc() -> None:
    """The bore's wall is 16 below the rim; the drill of 4 stops at 15.5."""
    text = hole("drill = 4", "{ centre_x = 0, bottom = 6 }", "15.5", face="front")
    finding = only(findings_of(text, DISC, datum=CENTRED), "tip-through")
    assert finding.message == 'hole "a": only the point of its drill breaks into the bore'
    assert finding.remedy == 'give "a" a depth of 16.00 mm or more'
    through = findings_of(text.replace("15.5", "16.5"), DISC, datum=CENTRED)
    assert kinds(through) == []


def test_a_hole_from_the_rim_that_takes_the_bore_at_its_side() -> None:
    """A bore of 8: 5 aside, 3 mm cuts 4 + 1.5 - 5 into it; 3 aside its wall slopes asin(3 / 4)."""
    text = hole("drill = 3", "[5, 6]", "25", "a", "left")
    finding = only(findings_of(text, DISC, datum=CENTRED), "over-edge")
    assert finding.severity == "stop"
    assert finding.message == (
        'hole "a": it misses the middle of the bore by 5.00 mm and cuts 0.50 mm into its side'
    )
    assert finding.remedy == 'move "a" 3.00 mm towards FRONT'  # BACK would steepen its start
    beside = findings_of(text.replace("[5, 6]", "[3, 6]"), DISC, datum=CENTRED)
    messages = [f.message for f in beside if f.kind == "drilled-on-slope"]
    assert any(
        message.endswith("3.00 mm off its middle, where its wall slopes 49 degrees")
        for message in messages
    )
    nearer = findings_of(text.replace("[5, 6]", "[1.5, 6]"), DISC, datum=CENTRED)
    assert {f.kind for f in nearer if f.severity != "note"} == set()


def test_a_start_on_the_slope_of_a_rim() -> None:
    """asin(5 / 20) = 14.5 degrees."""
    text = hole("drill = 4", "{ centre_x = 5, bottom = 6 }", "8", face="front")
    finding = only(findings_of(text, DISC, datum=CENTRED), "drilled-on-slope")
    assert finding.message == (
        'hole "a" starts 5.00 mm off the middle of the rim, where it slopes 14 degrees'
    )
    assert finding.remedy == 'move "a" 3.26 mm towards LEFT, or mill a flat there first'


def test_a_start_over_the_edge_of_another_hole() -> None:
    text = hole("drill = 6", "[30, 20]", "8") + hole('drill = 6\nmeets = "a"', "[34, 20]", "8", "b")
    finding = only(findings_of(text), "drilled-on-slope")
    assert finding.message == 'hole "b" starts over the edge of "a"'
    assert finding.remedy.endswith("start it with an end mill, or plug the other hole first")
    sunk = text.replace("[34", "[38").replace(
        "drill = 6\nat", "drill = 6\ncountersink = { diameter = 11 }\nat"
    )
    assert only(findings_of(sunk), "drilled-on-slope").message.endswith('countersink of "a"')
    flat = hole("drill = 3\ncounterbore = { diameter = 20, depth = 2 }", "[30, 20]", "8") + hole(
        'drill = 3\nmeets = "a"', "[35, 20]", "8", "b"
    )
    assert "drilled-on-slope" not in kinds(findings_of(flat))


@pytest.mark.parametrize(
    ("fit", "wants"),
    [
        ("H7", ""),
        ("H8", ""),  # 10.000 to 10.022
        ("G7", ""),  # 10.005 to 10.020: a reamer on size mostly comes within
        ("F7", "10.013 to 10.028"),
        ("N7", "9.981 to 9.996"),
    ],
)
def test_a_fit_that_a_reamer_on_size_does_not_make(fit: str, wants: str) -> None:
    """ISO 286-2, over 6 to 10 mm: H7 0 to +15, F7 +13 to +28, N7 -19 to -4 (in 0.001 mm)."""
    text = hole(f'ream = 10\nfit = "{fit}"', "[30, 20]", '"through"')
    told = [one.message for one in findings_of(text) if one.kind == "fit-not-reamed"]
    said = f'hole "a": {fit} wants {wants}, a reamer on size leaves 10.000 to 10.015'
    assert told == ([said] if wants else [])


def test_heads_that_foul() -> None:
    """Socket heads on M5 are 8.5 wide (ISO 4762) and want 0.5 between; washers 10 (ISO 7089)."""
    text = 'clear = "M5"'
    pair = hole(text, "[20, 20]", '"through"') + hole(text, "[28, 20]", '"through"', "b")
    finding = only(findings_of(pair), "head-fouls")
    assert finding.message == (
        'holes "a" and "b" are 8.00 apart: no room for socket heads, needs 9.00 mm'
    )
    assert finding.remedy == 'move "b" 1.00 mm towards RIGHT'
    washers = only(findings_of(pair.replace("[28", "[29.5")), "head-fouls")
    assert (washers.severity, washers.remedy) == ("note", "")
    assert "no room for washers, needs 10.00 mm" in washers.message
    spanner = only(findings_of(pair.replace("[28", "[30")), "head-fouls")
    # 8 mm over flats, 9.24 over corners; the socket 1.4 times the flats
    assert "no room for a socket spanner on hexagon heads, needs 10.22 mm" in spanner.message
    assert findings_of(pair.replace("[28", "[32")) == []


def test_a_head_over_an_edge_or_another_mouth() -> None:
    over = only(findings_of(hole('clear = "M5"', "[4.2, 20]", '"through"')), "head-fouls")
    assert over.message == (
        'hole "a": a socket head on M5 (8.50 mm) would overhang LEFT by 0.05 mm'
    )
    beside = hole('clear = "M5"', "[30, 20]", '"through"') + hole("drill = 4", "[36, 20]", "8", "b")
    mouth = only(findings_of(beside), "head-fouls")
    assert mouth.message == (
        'hole "a": a socket head on M5 (8.50 mm) would overhang "b" by 0.25 mm'
    )
    below = beside.replace('name = "b"\nface = "top"', 'name = "b"\nface = "bottom"')
    assert "head-fouls" not in kinds(findings_of(below))
    sunk = beside.replace('clear = "M5"', 'clear = "M5"\ncountersink = "M5 countersunk"')
    assert "head-fouls" not in kinds(findings_of(sunk))


def test_a_circle_too_small_for_its_holes_is_made_larger() -> None:
    """Chord of nine on a circle: D sin 20; 6 + 1.5 = 7.5 wants D = 21.93."""
    text = '[[hole]]\nname = "lid"\ntap = "M6"\ndepth = 10\n'
    text += "circle = { centre = [30, 20], diameter = 20, count = 9 }\n"
    finding = only(findings_of(text), "thin-wall")
    assert finding.count == 9
    told = math.ceil(7.5 / math.sin(math.radians(20)) * 100) / 100
    assert finding.remedy.startswith(f'make the circle of "lid" {told:.2f} mm or more in diameter')


def test_an_inset_and_a_step_in_the_words_of_the_file() -> None:
    corners = '[[hole]]\nname = "foot"\ndrill = 4\ndepth = 8\ncorners = { inset = 2 }\n'
    assert {f.remedy for f in findings_of(corners) if f.kind == "thin-wall"} == {
        'give "foot" an inset of 3.00 mm or more, or write allow = ["thin wall"]'
    }
    row = '[[hole]]\nname = "r"\ndrill = 4\ndepth = 8\n'
    row += "row = { start = [9, 9], step = [3, 4], count = 5 }\n"
    assert findings_of(row) == []
    close = findings_of(row.replace("[3, 4]", "[2.4, 3.2]"))
    assert only(close, "thin-wall").remedy.startswith('space "r" 5.00 mm or more apart, or')


def test_a_move_that_would_make_another_fault_goes_on_until_it_does_not() -> None:
    """Between "a" and "b" lacks 1.00; beyond them are "c" and "d", and FRONT and BACK are near.

    "a" must go past "d": from 30 to 22.5 - 7.5 = 15; "b" past "c" would be 15.50.
    """
    text = "".join(
        hole("drill = 6", f"[{x}, 7]", '"through"', name)
        for name, x in (("a", 30), ("b", 36.5), ("c", 44.5), ("d", 22.5))
    )
    finding = only(findings_of(text, "size = [90, 14, 20]"), "thin-wall")
    assert finding.holes == ("a", "b")
    assert finding.remedy.startswith('move "a" 15.00 mm towards LEFT')


def test_a_move_names_every_place_of_a_list() -> None:
    """0.5 is left beside 5 mm, 1.25 is wanted; both at LEFT move, and those at RIGHT otherwise."""
    text = hole("drill = 5", "[[3, 10], [3, 30], [57, 10]]")
    left, right = (f for f in findings_of(text) if f.kind == "thin-wall")
    assert (left.count, right.count) == (2, 1)
    assert left.remedy.startswith('move "a 1" and "a 2" each 0.75 mm towards RIGHT, or')
    assert right.remedy.startswith('move "a 3" 0.75 mm towards LEFT, or')
    assert left.cure is not None
    assert left.cure.holes == ("a 1", "a 2")
    assert left.cure.by_mm == ((pytest.approx(0.75, abs=1e-5), 0, 0),) * 2
    five = hole("drill = 5", f"[{', '.join(f'[3, {y}]' for y in range(4, 40, 8))}]")
    remedy = only(findings_of(five), "thin-wall").remedy
    assert remedy.startswith('move "a 1", "a 2", "a 3", "a 4" and 1 more each 0.75 mm towards')


def test_a_move_that_does_not_do_at_another_place_is_not_told_there() -> None:
    """Three in a line: the outer ones move outwards, each away from the one in the middle."""
    text = hole("drill = 6", "[[20, 20], [27, 20], [34, 20]]")
    found = [f for f in findings_of(text) if f.kind == "thin-wall"]
    assert [f.remedy.partition(", or")[0] for f in found] == [
        'move "a 1" 0.50 mm towards LEFT',
        'move "a 3" 0.50 mm towards RIGHT',
    ]


def test_what_is_allowed_is_no_fault_of_a_cure() -> None:
    text = hole('drill = 6\nallow = ["thin wall"]', "[3.5, 20]") + hole(
        "drill = 6", "[10.5, 20]", name="b"
    )
    assert {finding.severity for finding in findings_of(text)} == {"note"}


def test_pairs_looked_at_grow_with_the_holes() -> None:
    """Counted, not timed: ten times the holes, ten times the pairs, with a few large ones."""

    def looked_at(rows: int) -> int:
        text = "".join(
            hole("drill = 3", f"[{a}, {b}]", "4", f"h{number}", face)
            for number, (face, a, b) in enumerate(
                (face, 4 + 3.5 * column, 4 + 3.5 * row)
                for face in ("top", "bottom")
                for row in range(rows)
                for column in range(20)
            )
        )
        text += hole("bore = 20", "[50, 30]", "9", "wide")
        space = Job(plan_of(text, f"size = [100, {rows * 3.5 + 80}, 30]")).space
        return len(space.pairs)

    few, many = looked_at(6), looked_at(60)
    assert many < 12 * few
    assert few < 4 * 241


def test_beyond_so_many_cures_the_rest_is_told_without(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cures, "MOST_CURES", 3)
    text = "".join(
        hole("drill = 4.4", f"[{7 + 5 * (number % 8)}, {7 + 5 * (number // 8)}]", "4", f"h{number}")
        for number in range(16)
    )
    found = [f for f in findings_of(text, "size = [60, 60, 20]") if f.kind == "thin-wall"]
    assert sum(f.cure is not None for f in found) == 3 < len(found)
    assert found[-1].remedy == 'write allow = ["thin wall"]'


def test_wall_wanted() -> None:
    """Common practice: 0.8 mm, from 3.2 mm on a quarter of the diameter."""
    assert [least_wall_mm(diameter) for diameter in (1, 3.2, 4, 12)] == [0.8, 0.8, 1.0, 3.0]


def test_a_thread_shorter_than_its_screw_is_wide() -> None:
    """M6 wants 6, the least of common practice; the counterbore takes 3 of the 8."""
    text = hole('tap = "M6"\ncounterbore = { diameter = 10, depth = 3 }', "[30, 20]", "8")
    finding = only(findings_of(text), "short-engagement")
    assert finding.message == 'hole "a": thread engagement 5.00, needs 6.00 mm'
    assert finding.remedy.startswith('give "a" a depth of 9.00 mm or more, or write allow')
    assert findings_of(text.replace("depth = 8", "depth = 9")) == []


def test_a_recess_at_the_far_end_shortens_a_thread() -> None:
    """M6 through 12, 8 of it counterbored away from behind."""
    text = hole(
        'tap = "M6"\nfar = { counterbore = { diameter = 10, depth = 8 } }', "[30, 20]", '"through"'
    )
    finding = only(findings_of(text, "size = [60, 40, 12]"), "short-engagement")
    assert finding.message == 'hole "a": thread engagement 4.00, needs 6.00 mm'


def test_an_inch_part_is_told_in_inches() -> None:
    """Two of 1/4 in, 0.3 in apart: they want a quarter of it between them, 1/16 in."""
    text = hole('drill = "1/4 in"', "[1, 1]", "0.3") + hole(
        'drill = "1/4 in"', "[1.3, 1]", "0.3", "b"
    )
    finding = only(findings_of(text, "size = [3, 2, 1]", units="inch"), "thin-wall")
    assert finding.remedy.startswith('move "b" 0.013 in towards RIGHT')
    assert finding.cure is not None
    assert finding.cure.by_mm[0][0] == pytest.approx(0.0125 * 25.4, abs=1e-5)


def test_one_hole_out_of_all_proportion_does_not_fill_the_cells_of_the_small_ones() -> None:
    """A figure typed too large ended in a MemoryError: millions of cells for one hole."""
    text = "".join(hole("drill = 0.3", f"[{3 + k}, 3]", "0.5", f"h{k}") for k in range(20))
    text += hole("drill = 500", "[30, 20]", "30", "giant")
    space = Space(plan_of(text, HIGH))
    assert len(space._cells) < 5000
    assert {one.hole.name for one in space.near(space.placed["giant"])} == {
        f"h{k}" for k in range(20)
    }
