"""What the figures of docs/ show, held against sources outside the project."""

from __future__ import annotations

import math
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from figures import DEEP, planned
from jobs import named
from numpy.testing import assert_allclose
from pattern_figures import FRONT_MM, HOLE_MM, LEFT_MM, LINES, PAPER_MM, SCALE

from millprep.infiles.patterns import WHERE_KEYS

DOCS = Path(__file__).parent.parent / "docs"


def shapes(name: str, kind: str) -> list[ElementTree.Element]:
    """The elements of a kind in a figure as it is kept."""
    root = ElementTree.parse(DOCS / "pictures" / f"{name}.svg").getroot()
    return root.findall(f"{{http://www.w3.org/2000/svg}}{kind}")


def words(name: str) -> list[str]:
    return [element.text or "" for element in shapes(name, "text")]


def at(element: ElementTree.Element, x: str, y: str) -> tuple[float, float]:
    return float(element.get(x, "nan")), float(element.get(y, "nan"))


# The patterns

COS, SIN = 13 * math.cos(math.pi / 6), 13 * math.sin(math.pi / 6)
HOLES = {
    "at": [(10, 12), (60 - 15, 40 - 10)],
    "circle": [
        (30 + COS, 20 + SIN), (30, 33), (30 - COS, 20 + SIN),
        (30 - COS, 20 - SIN), (30, 7), (30 + COS, 20 - SIN),
    ],
    "arc": [
        (30 + 24 * math.cos(turn), 8 + 24 * math.sin(turn))
        for turn in map(math.radians, (20, 55, 90, 125))
    ],
    "row": [(8, 8), (19, 14), (30, 20), (41, 26), (52, 32)],
    "grid": [(x, y) for y in (10, 20, 30) for x in (10, 23, 36, 49)],
    "corners": [(14, 10), (46, 10), (46, 30), (14, 30)],
    "chain": [(10, 10), (28, 10), (28, 30), (50, 24)],
    "polar": [(24 + 22 * math.sqrt(3) / 2, 18 + 11)],
    "skip": [(10, 20), (30, 20), (40, 20), (50, 20)],
}  # fmt: skip
"""Where the holes of each figure have to be, worked out by hand from the lines below it."""


def drawn_holes(key: str) -> list[tuple[float, float]]:
    """Centres on the face [mm] of the holes in a figure, as drawn."""
    return [
        ((x - LEFT_MM) / SCALE, (PAPER_MM[1] - y - FRONT_MM) / SCALE)
        for hole in shapes(f"key-{key}", "circle")
        if hole.get("r") == str(HOLE_MM)
        for x, y in [at(hole, "cx", "cy")]
    ]


@pytest.mark.parametrize("key", HOLES)
def test_holes_are_where_the_lines_of_the_part_file_put_them(key: str) -> None:
    assert_allclose(drawn_holes(key), HOLES[key], atol=0.001)


@pytest.mark.parametrize("key", [key for key in HOLES if key != "polar"])
def test_every_hole_has_its_number_beside_it(key: str) -> None:
    numbers = range(1, len(HOLES[key]) + 1) if key != "skip" else (1, 3, 4, 5)
    for number, (x, y) in zip(numbers, HOLES[key], strict=True):
        place = LEFT_MM + SCALE * x, PAPER_MM[1] - FRONT_MM - SCALE * y
        near = [
            element.text
            for element in shapes(f"key-{key}", "text")
            if math.dist(at(element, "x", "y"), place) < 4.5
        ]
        assert str(number) in near


def test_every_key_has_a_figure_and_its_lines_on_the_page() -> None:
    page = (DOCS / "part-file.md").read_text(encoding="utf-8")
    assert set(LINES) == set(HOLES) == {*WHERE_KEYS} - {"pattern_from"} | {"skip"}
    for key, lines in LINES.items():
        assert f"(pictures/key-{key}.svg)" in page
        assert " <br> ".join(f"`{line}`" for line in lines.splitlines()) in page


# Faces and turns


def test_every_face_has_its_neighbours_as_one_looks_square_at_it() -> None:
    """Read off a box with its six sides written on, held before the eyes: up, down, right, left."""
    seen = {
        "TOP": "BACK FRONT RIGHT LEFT", "BOTTOM": "FRONT BACK RIGHT LEFT",
        "FRONT": "TOP BOTTOM RIGHT LEFT", "BACK": "TOP BOTTOM LEFT RIGHT",
        "RIGHT": "TOP BOTTOM BACK FRONT", "LEFT": "TOP BOTTOM FRONT BACK",
    }  # fmt: skip
    said = words("faces")
    for face, neighbours in seen.items():
        views = [index for index, word in enumerate(said) if word == face]
        assert neighbours.split() in [said[index + 1 : index + 5] for index in views]


def test_every_turn_brings_up_what_it_brings_up_in_the_hand() -> None:
    """The same box turned in the hand: what is then up, towards you, and on the right."""
    faces = [
        word for word in words("turns") if re.fullmatch("TOP|BOTTOM|FRONT|BACK|LEFT|RIGHT", word)
    ]
    assert faces == [
        *("TOP", "FRONT", "RIGHT"),
        *("BOTTOM", "BACK", "RIGHT"),
        *("BOTTOM", "FRONT", "LEFT"),
        *("FRONT", "BOTTOM", "RIGHT"),
    ]


# The finder, depths, backlash


def test_finder_stands_half_its_diameter_beside_the_face() -> None:
    said = " ".join(words("finder"))
    assert "10 dia" in said and "set X = -5.000" in said and "every hole is 5 out" in said


def test_depths_are_what_the_plan_has_and_trigonometry_gives() -> None:
    point = 4 / math.tan(math.radians(118 / 2))
    said = words("depths")
    assert f"tip {-(12 + point):.3f}" in said
    assert f"tip {-(21 + point):.3f}" in said  # 1 mm through a block of 20
    assert f"tap {-(10 + 4 * 1.25):.3f}" in said  # a lead of four threads of M8
    plan = planned()
    for name in DEEP:
        tip = named(plan, "drill", name)
        if name != "head":
            assert f"tip {tip.z_mm:.3f}" in said


def test_a_place_that_lies_back_is_passed_by_half_a_turn() -> None:
    """On a screw of 2.5 mm 7.5 mm are 3 turns; half a turn before that is 2 turns and 50 of 100."""
    said = words("backlash")
    assert "3 turns, figure 0" in said and "6 turns, figure 0" in said
    assert any("2 turns, figure 50" in word for word in said)
