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
from millprep.proven.elevations import elevations, figures_of
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
