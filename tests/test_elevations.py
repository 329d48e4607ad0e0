"""The drawing sheet of a part: each hole where the face's own view has it, the plan's own figures.

Views are turned here by hand: as one looks square at a face, what is to the right and what is up.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from millprep.base.units import DIAMETER
from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.proven.elevations import (
    blank_picture,
    elevations,
    figures_of,
    letter_of_line,
    looks,
    part_picture,
    pictures_side_by_side,
)
from millprep.writers.elevations import Board, DrawnView

ROOT = Path(__file__).parent.parent
PARTS = sorted(
    [one for one in ROOT.glob("parts/*.toml") if "assembly" not in one.name]
    + [*ROOT.glob("tests/parts/valid/*.toml")]
)
SVG = "{http://www.w3.org/2000/svg}"

BLOCK = """
part = "Bearing block"
units = "inch"
material = "mild steel"
[stock]
size = ["2 1/2", "1 1/4", "1 1/2"]
[[hole]]
name = "shaft"
face = "front"
ream = "1/2"
depth = "through"
at = { centre_x = 0, bottom = "7/8" }
[[hole]]
name = "oil"
drill = "3/32"
at = { centre_x = 0, centre_y = 0 }
depth = { into = "shaft" }
countersink = { diameter = "3/16", angle = 90 }
[[hole]]
name = "cap"
tap = "4BA"
depth = "3/8"
at = [{ left = "3/8", centre_y = 0 }, { right = "3/8", centre_y = 0 }]
[[hole]]
name = "foot"
face = "bottom"
tap = "2BA"
depth = "1/2"
at = [{ left = "3/8", centre_y = 0 }, { right = "3/8", centre_y = 0 }]
[[hole]]
name = "grease"
face = "left"
tap = "4BA"
depth = "5/16"
at = { centre_y = 0, bottom = "3/8" }
"""


def _part(tmp_path: Path, text: str) -> Part:
    path = tmp_path / "piece.toml"
    path.write_text(text, encoding="utf-8")
    return read_part(path)[0]


def _turned(face: str, size: tuple[float, float, float], at: tuple[float, float, float]):
    """(from the left of the view, from below) of a point in part axes."""
    (wide, deep, _), (x, y, z) = size, at
    return {
        "front": (x, z),
        "back": (wide - x, z),
        "left": (deep - y, z),
        "right": (y, z),
        "top": (x, y),
        "bottom": (x, deep - y),
    }[face]


def _view(board: Board, face: str) -> DrawnView:
    return next(view for view in board.views if view.face == face)


def _tree(view: DrawnView) -> ET.Element:
    return ET.fromstring(view.svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_every_hole_lies_where_the_view_has_it(path: Path) -> None:
    part, _ = read_part(path)
    holes = {hole.name: hole for hole in part.holes}
    for view in elevations(part).views:
        assert {one.name for one in view.holes} == holes.keys()
        for one in view.holes:
            right, up = _turned(view.face, part.stock.size_mm, holes[one.name].centre_mm)
            assert (one.x - view.left) / view.scale == pytest.approx(right, abs=1e-6)
            assert (view.foot - one.y) / view.scale == pytest.approx(up, abs=1e-6)
            assert one.radius == pytest.approx(holes[one.name].diameter_mm / 2 * view.scale)


def test_ink_lies_round_the_centre_of_its_hole(tmp_path: Path) -> None:
    """2 1/2 x 1 1/4 x 1 1/2 in, turned by hand: the ink itself, not the list beside it."""
    board = elevations(_part(tmp_path, BLOCK))
    due = {
        ("front", "shaft"): (1.25, 0.875),
        ("top", "oil"): (1.25, 0.625),
        ("top", "cap 1"): (0.375, 0.625),
        ("top", "cap 2"): (2.125, 0.625),
        ("bottom", "foot 1"): (0.375, 0.625),
        ("left", "grease"): (0.625, 0.375),
    }
    for (face, hole), (right, up) in due.items():
        view = _view(board, face)
        (group,) = [one for one in _tree(view).iter(f"{SVG}g") if one.get("data-hole") == hole]
        for path in group:
            x, y = map(
                float, re.match(r"M(\S+) ([\d.-]+)m", path.get("d", "") + "m")[0][1:-1].split()
            )  # type: ignore[index]
            assert x == pytest.approx(right * 25.4 * view.scale, abs=0.01)
            assert view.foot - y == pytest.approx(up * 25.4 * view.scale, abs=0.01)


@pytest.mark.parametrize(
    ("projection", "stands"),
    [
        ("first", {"bottom": (1, 1), "front": (2, 1), "left": (2, 2), "top": (3, 1)}),
        ("third", {"top": (1, 2), "left": (2, 1), "front": (2, 2), "bottom": (3, 2)}),
    ],
)
def test_views_stand_as_the_projection_has_them(
    tmp_path: Path, projection: str, stands: dict[str, tuple[int, int]]
) -> None:
    board = elevations(_part(tmp_path, BLOCK), projection)  # type: ignore[arg-type]
    assert {view.face: (view.row, view.column) for view in board.views} == stands
    assert _view(board, "bottom").title == "from below (rolled over towards you)"
    for one in board.views:
        for other in board.views:
            assert one.column != other.column or one.width == other.width
            assert one.row != other.row or one.height == other.height


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_figures_say_what_the_file_says_and_do_not_overlap(path: Path) -> None:
    part, _ = read_part(path)
    stated = {(one.table, one.line, one.key): one for one in figures_of(part)}
    texts = {one.text for one in part.stated}
    assert {one.text for one in stated.values()} <= texts
    drawn: set[tuple[str, int | None, str]] = set()
    for view in elevations(part).views:
        assert not view.left_out
        for group in _tree(view).iter(f"{SVG}g"):
            if group.get("class") != "figure":
                continue
            line = group.get("data-line")
            key = (
                group.get("data-table", ""),
                None if line is None else int(line),
                group.get("data-key", ""),
            )
            drawn.add(key)
            words = {one.text for one in group.iter(f"{SVG}text")}
            assert words <= {stated[key].text, f"{DIAMETER} {stated[key].text}"}
        boxes = [_box(one) for one in _tree(view).iter(f"{SVG}text")]
        for number, one in enumerate(boxes):
            for other in boxes[number + 1 :]:
                assert not _meet(one, other), (view.face, one, other)
    asked = {key for key, one in stated.items() if one.kind != "size" and one.start is not None}
    assert asked <= drawn


def _box(text: ET.Element) -> tuple[float, float, float, float, str]:
    """As wide as figures are at most: 0.62 of the size for each, 0.72 of it high."""
    words, x, y = text.text or "", float(text.get("x", "")), float(text.get("y", ""))
    half, high = 0.31 * 3.48 * len(words), 0.72 * 3.48
    if text.get("transform"):
        return x - high, y - half, x, y + half, words
    return x - half, y - high, x + half, y, words


def _meet(one: tuple, other: tuple) -> bool:  # type: ignore[type-arg]
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def test_the_plan_is_gone_through_figure_by_figure(tmp_path: Path) -> None:
    found = [(one.line, one.key, one.words, one.text) for one in figures_of(_part(tmp_path, BLOCK))]
    assert found[:6] == [
        (None, "size.0", "left to right", "2 1/2"),
        (None, "size.1", "front to back", "1 1/4"),
        (None, "size.2", "bottom to top", "1 1/2"),
        (0, "at.centre_x", "shaft, on the centre line", "0"),
        (0, "at.bottom", "shaft, from the bottom", "7/8"),
        (0, "ream", "shaft, ream", "1/2"),
    ]
    assert (2, "at.1.right", "cap 2, from the right end", "3/8") in found
    assert (4, "at.bottom", "grease, from the bottom", "3/8") in found


def test_names_are_no_more_than_words(tmp_path: Path) -> None:
    text = BLOCK.replace('"shaft"', "'<img src=x onerror=\"alert(1)\">'")
    for view in elevations(_part(tmp_path, text)).views:
        assert "<img" not in view.svg
        _tree(view)  # well formed


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_looks_are_left_to_classes(path: Path) -> None:
    part, _ = read_part(path)
    for view in elevations(part, "third").views:
        assert "style" not in view.svg
        assert " id=" not in view.svg


def test_what_is_no_length_is_compared_with_the_plan_too(tmp_path: Path) -> None:
    part = _part(tmp_path, BLOCK)
    found = {(one.line, one.key): one.text for one in figures_of(part, BLOCK)}
    assert found[2, "tap"] == "4BA"
    assert found[0, "depth"] == "through"
    assert found[1, "depth.into"] == "shaft"
    assert found[1, "countersink.angle"] == "90"
    lengths = [one for one in figures_of(part, BLOCK) if (one.line, one.key) in found]
    assert {one.key for one in figures_of(part)} <= {one.key for one in lengths}


def test_a_figure_counts_from_the_hole_that_the_file_names(tmp_path: Path) -> None:
    """Two holes stand 20 before it: the length alone does not tell which is meant."""
    text = (
        BLOCK
        + """
[[hole]]
name = "near"
drill = 3
depth = 2
at = [0.5, 0.25]
[[hole]]
name = "far"
drill = 3
depth = 2
at = [0.5, 1.0]
[[hole]]
name = "third"
drill = 3
depth = 2
from = "far"
at = [0.75, -0.625]
"""
    )
    words = {one.key: one.words for one in figures_of(_part(tmp_path, text), text) if one.line == 7}
    assert words["at.0"] == "third, left to right from far"
    assert words["at.1"] == "third, front to back from far"


def test_an_opposite_hand_has_its_figures_from_the_other_end() -> None:
    part, _ = read_part(ROOT / "parts" / "column-right.toml")
    words = {(one.line, one.key): one.words for one in figures_of(part)}
    assert words[4, "at.0.0"] == "foot screw 1, from the right end"  # the left one: 6 from the left
    assert words[4, "at.0.1"] == "foot screw 1, from the front"


def test_every_key_that_holds_a_figure_has_words() -> None:
    """No key's own name is shown, and none is left out in silence."""
    for path in PARTS:
        text = path.read_text(encoding="utf-8")
        part, _ = read_part(path)
        for one in figures_of(part, text):
            assert "_" not in one.words and not one.words.endswith(", ")


def test_a_blank_is_drawn_as_it_is_typed() -> None:
    typed = {"size.0": "2 1/2", "size.1": "1/", "size.2": ""}
    tree = ET.fromstring(blank_picture(typed, "inch"))
    said = {
        group.get("data-key"): (group.get("class"), group.findtext("text"))
        for group in tree.iter("g")
    }
    assert said == {
        "size.0": ("figure", "left to right 2 1/2"),
        "size.1": ("figure", "front to back 1/"),
        "size.2": ("figure missing", "bottom to top"),
    }
    disc = blank_picture(
        {"diameter": "1 3/4", "length": "3/8", "bore": "1/2"}, "inch", is_round=True
    )
    assert [one.text for one in ET.fromstring(disc).iter("text")] == [
        "diameter 1 3/4",
        "thickness 3/8",
        "bore 1/2",
    ]


@pytest.mark.parametrize("lengths", [("1", "1", "1"), ("100", "1", "1"), ("0.001", "1", "1000")])
def test_a_blank_stays_inside_its_picture(lengths: tuple[str, str, str]) -> None:
    typed = {f"size.{axis}": length for axis, length in enumerate(lengths)}
    tree = ET.fromstring(blank_picture(typed, "mm"))
    _, _, wide, high = map(float, tree.get("viewBox", "").split())
    for polygon in tree.iter("polygon"):
        for place in polygon.get("points", "").split():
            x, y = map(float, place.split(","))
            assert 0 <= x <= wide and 0 <= y <= high


def test_small_pictures_have_words_escaped_and_no_style(tmp_path: Path) -> None:
    text = BLOCK.replace('"Bearing block"', "'<img src=x onerror=\"alert(1)\">'")
    bad = {"size.0": '"><img onerror=1>'}
    pieces = [
        part_picture(_part(tmp_path, text)),
        blank_picture(bad, "inch"),
        blank_picture({"bore": "<b>"}, "mm", is_round=True),
        *pictures_side_by_side([read_part(path)[0] for path in PARTS[:4]]),
    ]
    for piece in pieces:
        ET.fromstring(piece)
        assert "<img" not in piece and "style=" not in piece


def test_two_hands_stand_side_by_side_in_one_scale() -> None:
    """What a looking glass shows: holes of the top to the other side, seen from the same hand."""
    hands = [
        read_part(ROOT / "parts" / "winch" / f"frame-{hand}.toml")[0] for hand in ("left", "right")
    ]
    drawn = [ET.fromstring(one) for one in pictures_side_by_side(hands)]
    outlines = [[one.get("points") for one in tree.iter("polygon")][:2] for tree in drawn]
    assert outlines[0] == outlines[1]
    assert drawn[0].get("aria-label") == hands[0].name


def test_the_looks_have_a_rule_for_every_class() -> None:
    part, _ = read_part(ROOT / "parts" / "base-plate.toml")
    drawn = "".join(view.svg for view in elevations(part).views)
    kinds = {
        kind
        for kinds in re.findall(r'<(?:path|circle) class="([^"]*)"', drawn)
        for kind in kinds.split()
    }
    assert kinds - {"face"} <= set(re.findall(r"\.([\w-]+)", looks()))


def test_balloons_carry_the_letters_of_the_schedule(tmp_path: Path) -> None:
    """I and O are read as figures: the ninth line is J."""
    assert [letter_of_line(line) for line in (0, 7, 8, 13, 23, 24)] == [
        "A",
        "H",
        "J",
        "P",
        "Z",
        "AA",
    ]
    lettered = {
        (int(group.get("data-line", "")), group.findtext(f"{SVG}text"))
        for view in elevations(_part(tmp_path, BLOCK)).views
        for group in _tree(view).iter(f"{SVG}g")
        if group.get("class") == "balloon"
    }
    assert lettered == {(line, letter_of_line(line)) for line in range(5)}
