"""Marking out: heights against the part's own coordinates, for every face that can stand."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import RICH, RICH_STOCK, millprep, part_of, shop_of

from millprep.base.findings import MillprepError
from millprep.base.records import replace
from millprep.model.part import AXIS_FACES, FACE_AXIS, FACES, HIGH_FACES, OPPOSITE, Face, Part
from millprep.planning.marking import crosses_of, marked_faces, read_faces, standings_of
from millprep.sheets.markout import make_mark_sheet
from millprep.writers import written

SHOP = shop_of()
BLOCK = "size = [60, 40, 20]"
LOW: dict[str, Face] = {"x": "left", "y": "front", "z": "bottom"}


def sheet_of(part: Part, **more: object) -> Any:
    """The list as its JSON."""
    sheet = make_mark_sheet(part, SHOP, "mm", **more)  # type: ignore[arg-type]  # as they come
    return json.loads(written("markout", sheet, "json"))


@st.composite
def parts(draw: st.DrawFn) -> Part:
    """Holes on random faces of a block, its sizes measured or as drawn."""
    size = [draw(st.integers(20, 90)) for _ in range(3)]
    axis_of = {
        "top": (0, 1),
        "bottom": (0, 1),
        "front": (0, 2),
        "back": (0, 2),
        "left": (1, 2),
        "right": (1, 2),
    }
    holes = []
    for _ in range(draw(st.integers(1, 6))):
        face = draw(st.sampled_from(FACES))
        at = [draw(st.floats(1, size[axis] - 1)) for axis in axis_of[face]]
        holes.append(
            f'[[hole]]\nface = "{face}"\ndrill = 2\nat = {[round(a, 3) for a in at]}\ndepth = 3\n'
        )
    measured = ""
    if draw(st.booleans()):
        off = [size[0] + draw(st.floats(-0.4, 0.4)), size[1] + draw(st.floats(-0.4, 0.4))]
        measured = f"\nmeasured = {{ x = {round(off[0], 3)}, y = {round(off[1], 3)} }}"
    x, y = draw(st.sampled_from(["left", "right"])), draw(st.sampled_from(["front", "back"]))
    datum = f'x = "{x}"\ny = "{y}"'
    return part_of("".join(holes), f"size = {size}{measured}", datum=datum)


def _distance(part: Part, hole: str, face: Face) -> float:
    """By hand: how far the hole's centre lies from a face of the blank as measured."""
    centre = next(one.centre_mm for one in part.holes if one.name == hole)
    axis = FACE_AXIS[face]
    return part.stock.size_mm[axis] - centre[axis] if face in HIGH_FACES else centre[axis]


@settings(max_examples=60)
@given(parts(), st.lists(st.sampled_from([0, 1]), min_size=3, max_size=3))
def test_heights_are_the_parts_own_whatever_stands(part: Part, ends: list[int]) -> None:
    wanted = tuple(AXIS_FACES[axis][end] for axis, end in enumerate(ends))
    for faces in ((), wanted):
        sheet = sheet_of(part, wanted=faces)
        assert len(sheet["standings"]) <= 3
        for standing in sheet["standings"]:
            heights = [height["height_mm"] for height in standing["heights"]]
            assert heights == sorted(heights)
            for height in standing["heights"]:
                for line in height["lines"]:
                    exact = _distance(part, line["hole"], standing["face"])
                    assert abs(height["height_mm"] - exact) <= 0.01 + 1e-6  # merged within 0.02
                    assert abs(height["gauge"] - height["height_mm"]) <= 0.005 + 1e-6


@settings(max_examples=40)
@given(parts())
def test_every_hole_gets_one_line_along_each_axis_of_its_face(part: Part) -> None:
    standings = standings_of(part)
    lines = [
        (line.hole, line.face, FACE_AXIS[standing.face])
        for standing in standings
        for height in standing.heights
        for line in height.lines
    ]
    wanted = [
        (hole.name, face, axis)
        for hole in part.holes
        for face in marked_faces(hole)
        for axis in range(3)
        if axis != FACE_AXIS[face]
    ]
    assert sorted(lines) == sorted(wanted)
    assert len(crosses_of(part, standings)) == len(part.holes)


def test_the_datum_faces_stand_and_no_others() -> None:
    part = part_of(RICH, RICH_STOCK, datum='x = "right"\ny = "back"')
    assert [one.face for one in standings_of(part)] == ["right", "back", "bottom"]
    plate = part_of("[[hole]]\ndrill = 4\nat = [10, 12]\ndepth = 5\n", BLOCK)
    assert [one.face for one in standings_of(plate)] == ["left", "front"]


def test_with_the_datum_face_up_the_measured_size_counts() -> None:
    """48 from LEFT on a blank that measures 59.88: 11.88 above RIGHT (arithmetic)."""
    hole = '[[hole]]\nname = "a"\ndrill = 4\nat = [48, 12]\ndepth = 5\n'
    part = part_of(hole, f"{BLOCK}\nmeasured = {{ x = 59.88 }}")
    sheet = sheet_of(part, wanted=("right",))
    standing = sheet["standings"][0]
    assert (standing["face"], standing["heights"][0]["gauge"]) == ("right", 11.88)
    assert any("use the measured size" in words for words in standing["said"]["STAND"])
    assert not [f for f in sheet["findings"] if f["kind"] == "measure-first"]
    as_drawn = sheet_of(part_of(hole, BLOCK), wanted=("right",))
    assert [f["kind"] for f in as_drawn["findings"]] == ["measure-first"]


def test_a_disc_stands_on_its_rim_or_on_its_end() -> None:
    """A hole into the rim is scribed along the axis too: from the rim, and from the flat end."""
    hole = '[[hole]]\nname = "a"\nface = "front"\ndrill = 4\nat = [3, 8]\ndepth = 5\n'
    part = part_of(hole, "diameter = 40\nlength = 20\naxis = 'z'")
    assert {one.face: one.is_round for one in standings_of(part)} == {"left": True, "bottom": False}


def test_equal_heights_are_one_setting() -> None:
    """12.000 and 12.019 are one, 12.03 another: merged within 0.02 mm (common practice)."""
    hole = (
        '[[hole]]\nname = "a"\ndrill = 3\nat = [[10, 12], [30, 12.019], [50, 12.03]]\ndepth = 5\n'
    )
    front = sheet_of(part_of(hole, BLOCK))["standings"][1]
    assert [height["holes"] for height in front["heights"]] == [["a 1", "a 2"], ["a 3"]]


def test_gauge_offset_is_added_to_every_setting() -> None:
    hole = '[[hole]]\nname = "a"\ndrill = 4\nat = [48, 12]\ndepth = 5\n'
    sheet = sheet_of(part_of(hole, BLOCK), gauge_offset_mm=10.0)
    assert [s["heights"][0]["gauge"] for s in sheet["standings"]] == [58.0, 22.0]
    assert [s["heights"][0]["height_mm"] for s in sheet["standings"]] == [48.0, 12.0]


def test_lines_are_short_and_stay_on_the_face() -> None:
    hole = '[[hole]]\nname = "a"\ndrill = 2\nat = [48, 2]\ndepth = 5\n'
    left, front = sheet_of(part_of(hole, BLOCK))["standings"]
    line = left["heights"][0]["lines"][0]  # scribed along Y, 4 mm each way, not over the edge
    assert (line["from_face"], line["start"], line["end"]) == ("front", 0.0, 6.0)
    line = front["heights"][0]["lines"][0]
    assert (line["from_face"], line["start"], line["end"]) == ("left", 44.0, 52.0)


def test_crosses_are_checked_from_the_other_faces() -> None:
    hole = '[[hole]]\nname = "a"\ndrill = 4\nat = [48, 12]\ndepth = 5\n'
    sheet = sheet_of(part_of(hole, BLOCK))
    cross = sheet["punch"][0]
    assert (cross["near_face"], cross["near"]) == ("right", 12.0)
    assert (cross["far_face"], cross["far"]) == ("back", 28.0)
    assert sheet["crosses"] == {"top": 1}


def test_a_hole_from_both_ends_is_marked_on_both() -> None:
    part = part_of(RICH, RICH_STOCK)
    punched = sheet_of(part)["punch"]
    assert {c["face"] for c in punched if c["hole"] == "cross"} == {"left", "right"}


def test_centre_datum_is_scribed_from_both_ends() -> None:
    hole = '[[hole]]\nname = "a"\ndrill = 4\nat = [-8, 0]\ndepth = 5\n'
    sheet = sheet_of(part_of(hole, BLOCK, datum='x = "centre"\ny = "centre"'))
    standing = sheet["standings"][0]
    assert standing["heights"][0]["gauge"] == 22.0  # 60 / 2 - 8
    assert "centre line at 30.00" in standing["said"]["STAND"][1]
    assert OPPOSITE["left"].upper() in standing["said"]["STAND"][1]


@pytest.mark.parametrize("words", ["lid", "left,right", "", "top,,front"])
def test_faces_to_stand_on_are_refused_with_those_there_are(words: str) -> None:
    with pytest.raises(MillprepError, match="top, bottom, front, back, left, right"):
        read_faces(words)


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_text_stays_within_80_columns(units: str) -> None:
    long = RICH.replace('"screw"', f'"{"s" * 40}"')
    sheet = make_mark_sheet(part_of(long, RICH_STOCK), SHOP, units)  # type: ignore[arg-type]
    assert max(map(len, str(written("markout", sheet, "text")).splitlines())) <= 80


def test_json_has_the_fields_of_the_contract() -> None:
    data = sheet_of(part_of(RICH, RICH_STOCK))
    for standing in data["standings"]:
        assert standing["face"] in FACES
        for height in standing["heights"]:
            assert {"height_mm", "holes"} <= set(height)
    assert data["crosses"]["top"] == 13


def test_command_in_every_format_and_with_an_offset() -> None:
    ran = millprep("markout", "parts/port-block.toml", "--format", "json", "--gauge-offset", "25")
    assert ran.status == 0
    assert ran.json["gauge_offset_mm"] == 25
    assert millprep("markout", "parts/port-block.toml", "--format", "csv").status == 0
    text = millprep("markout", "parts/port-block.toml", "--units", "inch", "--stand", "right")
    assert text.status == 0
    assert "RIGHT on the plate" in text.out
    bad = millprep("markout", "parts/port-block.toml", "--gauge-offset", "a bit")
    assert bad.status == 2
    assert '--gauge-offset: "a bit" is not a length' in bad.err


def test_marks_do_not_depend_on_the_drawer() -> None:
    part = part_of(RICH, RICH_STOCK)
    bare = replace(SHOP, cabinet=replace(SHOP.cabinet, drills=()))
    assert make_mark_sheet(part, bare, "mm") == make_mark_sheet(part, SHOP, "mm")
