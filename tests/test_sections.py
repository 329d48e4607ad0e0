"""Sections of what is left: true against closed forms and points, drawn to scale, found by name."""

from __future__ import annotations

import math
import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.testing import assert_allclose
from test_dryrun import PART, WHOLE, dryrun
from test_dryrun_report import SCENE, shown
from test_left import STOCK, TOOLS, ran, tool

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import replace
from millprep.canvas.hatch import hatched
from millprep.canvas.recording import RecordingPen
from millprep.model.scene import Drilled, Scene
from millprep.reading.simulate.record import fresh_record
from millprep.reading.simulate.section import Section, section_of
from millprep.report.left import draw_left
from millprep.report.section import depths_of, draw_section, figure_of, letter_of
from millprep.report.views import HoleAt, Shown, spots_of

SLOPE = 1 / math.tan(math.radians(59))  # of a point of 118 deg
HOLE = tool(2, "G98 G81 X20. Y20. Z-12. R1. F80.", "G80")
WIDE = tool(3, "G98 G82 X20. Y20. Z-5. R1. P0.5 F80.", "G80")


def cut(
    *programs: str,
    y: float = 20.0,
    window: tuple[float, float] = (0.0, 60.0),
    scene: Scene = Scene(STOCK),  # noqa: B008  # never changed
) -> Section:
    done = ran(*programs, scene=scene)
    record = done[-1].record if done else fresh_record(scene)
    return section_of(scene, record, [one.sideways for one in done], y, window, 0.03)


def area_mm2(one: Section) -> float:
    """Of what is solid, by the corners of its outlines."""
    return sum(
        abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise([*each, each[0]]))) / 2
        for each in one.areas()
    )


def is_solid(one: Section, x: float, z: float) -> bool:
    at = int(np.searchsorted(one.x, x))
    return any(low < z < high for low, high in one.solid[at])


def test_a_drilled_and_counterbored_hole() -> None:
    one = cut(HOLE + WIDE)
    point = 2.5 * SLOPE
    gone = 5 * (12 - point) + 5 * point / 2 + (9 - 5) * 5
    assert_allclose(area_mm2(one), 60 * 20 - gone, rtol=1e-5)


@pytest.mark.parametrize(("more", "top"), [("", 0.0), (WIDE.replace("Z-5.", "Z-15."), -15.0)])
def test_the_walls_of_a_hole_through_and_through_are_edges(more: str, top: float) -> None:
    one = cut(HOLE.replace("Z-12.", "Z-25.") + more)
    walls = [edge for edge in one.edges() if edge[0][0] == edge[-1][0]]
    assert_allclose(walls, [[(x, -20.0), (x, top)] for x in (17.5, 22.5)], atol=1e-5)


def test_a_hole_cut_beside_its_axis() -> None:
    """At 1.5 mm from it a hole of 5 is 4 wide, its point a hyperbola."""
    one = cut(HOLE, y=21.5)
    assert is_solid(one, 20 + 2.01, -3.0)
    assert not is_solid(one, 20 + 1.99, -3.0)
    x = np.linspace(-2, 2, 20_001)
    deep = 12 - np.hypot(x, 1.5) * SLOPE
    gone = float(((deep[1:] + deep[:-1]) / 2 * np.diff(x)).sum())
    assert_allclose(area_mm2(one), 1200 - gone, rtol=1e-5)


def test_a_slot_within_the_error_that_is_stated() -> None:
    one = cut(tool(1, "G0 X35. Y10. Z1.", "G1 Z-4. F100.", "Y30."))
    assert_allclose(area_mm2(one), 1200 - 6 * 4, atol=2 * 4 * one.error_mm)
    assert is_solid(one, 38 + one.error_mm, -2.0)
    assert not is_solid(one, 38 - one.error_mm, -2.0)


def test_rooms_that_do_not_open_upwards() -> None:
    along = Drilled((0.0, 20.0, -15.0), (25.0, 20.0, -15.0), 6.0)
    below = Drilled((45.0, 20.0, -16.0), (45.0, 20.0, -20.0), 10.0)
    one = cut(HOLE, scene=Scene(STOCK, drilled=(along, below)))
    assert [len(one.solid[int(np.searchsorted(one.x, x))]) for x in (10, 20, 35, 45)] == [
        2,
        2,
        1,
        1,
    ]
    assert_allclose(area_mm2(one), 1200 - _hole_mm2() - 25 * 6 - 10 * 4, rtol=1e-5)
    across = cut(scene=Scene(STOCK, drilled=(Drilled((30.0, 0.0, -9.0), (30.0, 40.0, -9.0), 8.0),)))
    assert_allclose(area_mm2(across), 1200 - math.pi * 16, rtol=1e-4)


def _hole_mm2() -> float:
    return 5 * (12 - 2.5 * SLOPE) + 2.5 * 2.5 * SLOPE


def test_points_are_solid_where_no_tool_was() -> None:
    """Asked of each tool by itself, at places chosen by a die."""
    one = cut(HOLE + WIDE + tool(2, "G98 G81 X24. Y21. Z-9. R1. F80.", "G80"))
    random = np.random.default_rng(5)
    for x, z in random.uniform((10, -15), (32, 0), (400, 2)):
        gone = (
            (abs(x - 20) < 2.5 and z > -12 + abs(x - 20) * SLOPE)
            or (abs(x - 20) < 4.5 and z > -5)
            or (math.hypot(x - 24, 1) < 2.5 and z > -9 + math.hypot(x - 24, 1) * SLOPE)
        )
        assert is_solid(one, float(x), float(z)) != gone


# Drawn


def hole_shown(*findings: Finding) -> Shown:
    text = TOOLS + HOLE + WIDE + "M5\nM30\n"
    one = shown(text, replace(SCENE, stock=STOCK, fixtures=()), *findings)
    made = one.holes[0]
    return replace(one, sections=[HoleAt("X20 Y20", made.x_mm, made.y_mm, made)])


def strokes_of(one: Shown, number: int = 0) -> list[tuple[str, tuple[Any, ...]]]:
    pen = RecordingPen()
    draw_section(pen, one, number, (10.0, 10.0, 130.0, 90.0), spots_of(one, one.paths()))
    return pen.strokes


def lines(strokes: list[tuple[str, tuple[Any, ...]]], style: str) -> list[Any]:
    return [a[:2] for verb, a in strokes if verb == "line" and a[2] == style]


def test_depths_are_drawn_to_the_scale_that_is_printed() -> None:
    strokes = strokes_of(hole_shown())
    words = {a[1]: a[0] for verb, a in strokes if verb == "text"}
    scale = int(next(re.match(r"scale (\d) : 1", one) for one in words if "scale" in one)[1])  # type: ignore[index]
    top = max(y for start, end in lines(strokes, "edge") for _, y in (start, end))
    full = 12 - 2.5 * SLOPE
    for said, deep in (("counterbore 9, 5 deep", 5.0), (f"drill 5, {full:.3f} deep, tip 12", 12.0)):
        assert said in words
        level = [
            (start, end)
            for start, end in lines(strokes, "thin")
            if start[1] == end[1] and math.isclose(start[1], top - scale * deep)
        ]
        assert level  # a line at that depth, up to the words
        assert 0 < words[said][0] - max(end[0] for _, end in level) < 2
    walls = {round(start[0], 3) for start, end in lines(strokes, "edge")}
    axis = next(start[0] for start, end in lines(strokes, "centre"))
    for half in (2.5, 4.5):
        for side in (-1, 1):
            assert any(math.isclose(x, axis + side * half * scale, abs_tol=0.01) for x in walls)


def test_only_what_is_solid_is_hatched_at_45_degrees() -> None:
    one = hole_shown()
    strokes = strokes_of(one)
    slanting = [
        (start, end)
        for start, end in lines(strokes, "thin")
        if math.isclose(end[0] - start[0], end[1] - start[1], rel_tol=1e-6)
    ]
    assert len(slanting) > 20
    axis = next(start[0] for start, _ in lines(strokes, "centre"))
    top = max(y for start, end in lines(strokes, "edge") for _, y in (start, end))
    for start, end in slanting:
        for share in (0.02, 0.5, 0.98):
            x = abs(start[0] + share * (end[0] - start[0]) - axis) / 2
            deep = (top - start[1] - share * (end[1] - start[1])) / 2
            assert not (x < 4.4 and deep < 4.9)
            assert not (x < 2.4 and deep < 12 - x * SLOPE - 0.1)


def test_hatching_fills_a_square_and_leaves_its_hole() -> None:
    area = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    long = sum(math.dist(start, end) for start, end in hatched(area, 0.1))
    assert_allclose(long * 0.1 / math.sqrt(2), 100, rtol=0.01)  # apart up the paper


def test_a_thread_stands_outside_its_core() -> None:
    one = shown(WHOLE)
    one = replace(one, sections=[HoleAt("M6", hole.x_mm, hole.y_mm, hole) for hole in one.holes])
    strokes = strokes_of(one)
    scale = int(
        next(
            re.match(r"scale (\d)", a[1])
            for verb, a in strokes
            if verb == "text" and "scale" in a[1]
        )[1]  # type: ignore[index]
    )
    axis = next(start[0] for start, _ in lines(strokes, "centre"))
    upright = [abs(a[0] - axis) for a, b in lines(strokes, "thin") if a[0] == b[0]]
    assert len([x for x in upright if math.isclose(x, 3 * scale)]) == 2
    assert any(
        words.startswith("tap") for words in [d.words for d in depths_of(one, one.sections[0])]
    )


def test_the_finding_of_a_hole_stands_in_its_section() -> None:
    line = (TOOLS + HOLE).splitlines().index("G98 G81 X20. Y20. Z-12. R1. F80.") + 1
    finding = Finding("stop", "deep-peck", "it does", file="plate.nc", line=line)
    strokes = strokes_of(hole_shown(finding))
    (spot,) = (a[0] for verb, a in strokes if verb == "spot")
    axis = next(start[0] for start, _ in lines(strokes, "centre"))
    top = max(y for start, end in lines(strokes, "edge") for _, y in (start, end))
    assert_allclose(spot, (axis, top - 12 * 2), atol=1e-6)


def test_the_plan_shows_where_each_section_is_cut() -> None:
    pen = RecordingPen()
    draw_left(pen, hole_shown())
    assert [a[1] for verb, a in pen.strokes if verb == "text"].count("A") == 2
    assert [letter_of(n) for n in (0, 7, 8, 23, 24)] == ["A", "H", "J", "Z", "AA"]


def test_figures_in_inches() -> None:
    assert figure_of(12.7, "inch") == "0.5"
    assert figure_of(12.652, "mm") == "12.652"


# Found by what the person calls it


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "plate.toml").write_text(PART)
    (tmp_path / "plate.nc").write_text(WHOLE)
    return tmp_path


def drawn(folder: Path, *sections: str, **options: Any) -> str:
    picture = folder / "cut.svg"
    given = options or {"part": folder / "plate.toml"}
    dryrun(folder / "plate.nc", picture=picture, section=[*sections], force=True, **given)
    return picture.read_text()


NAMES = re.findall(r'name\s*=\s*"([^"]+)"', PART)


def test_a_hole_by_its_name_its_place_and_its_number(folder: Path) -> None:
    words = (f"{NAMES[0]} 1", f"{NAMES[0].upper()} 1", "X10 Y10", "x 10.2, y 9.9", "1", "#1")
    text = drawn(folder, *words)
    for letter, one in zip("ABCDEF", words, strict=True):
        assert re.search(rf">{letter}-{letter}  [^<]*X\S+ Y\S+<", text), one
    assert "no hole made here" not in text
    assert text.count(">SECTIONS") == 2  # four a sheet
    assert "no hole made here" in drawn(folder, "X20 Y15")


STONE = {"stock": "60,40,20", "zero": "left,front,top"}


@pytest.mark.parametrize(
    ("words", "options", "said"),
    [
        (NAMES[0], {}, f"{NAMES[0]} 1, {NAMES[0]} 2"),
        (f"{NAMES[0]}  I", {}, f"{NAMES[0]} 1"),
        ("pivot", STONE, "or a number from 1 to 2 of HOLES"),
        ("X500 Y10", STONE, "nearest holes: X30.000 Y10.000, X10.000 Y10.000"),
        ("X1.2.3 Y1", STONE, "write it as 'X20 Y10'"),
        ("7", STONE, "or a number from 1 to 2 of HOLES"),
    ],
)
def test_what_names_no_hole_is_told_what_does(
    folder: Path, words: str, options: dict[str, Any], said: str
) -> None:
    with pytest.raises(MillprepError) as caught:
        drawn(folder, words, **options)
    assert said in caught.value.findings[0].remedy
    assert not (folder / "cut.svg").exists()


def test_sections_want_stock_and_somewhere_to_be_drawn(folder: Path) -> None:
    with pytest.raises(MillprepError) as caught:
        dryrun(folder / "plate.nc", section=["1"], part=folder / "plate.toml")
    assert "--picture" in caught.value.findings[0].remedy
    with pytest.raises(MillprepError) as caught:
        dryrun(folder / "plate.nc", section=["1"], picture=folder / "a.svg")
    assert "nothing is known of the stock" in caught.value.findings[0].message
    with pytest.raises(MillprepError) as caught:
        drawn(folder, *["1"] * 25)
    assert "at most 24" in caught.value.findings[0].remedy
