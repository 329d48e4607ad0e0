"""Drawings made into part files: what the shapes of a DXF become, and back from our own."""

from __future__ import annotations

import contextlib
import io
import math
import random
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import EXAMPLE_PARTS, Ran, millprep
from test_plans_table import filled_in, holes

from millprep.base.findings import MillprepError, WordError
from millprep.infiles.plans.blanks import blank_of
from millprep.infiles.plans.drawings import plan_of_shapes
from millprep.infiles.plans.part_text import part_text
from millprep.infiles.plans.record import PlanHole
from millprep.infiles.plans.shapes import Circle, Shapes, read_shapes
from millprep.model.part import FACE_AXIS
from millprep.proven.plans import Wishes, part_file
from millprep.proven.preparation import prepare

MM, INCH, NOTHING = 4, 1, 0
Draw = Callable[[Any], None]


def drawn(draw: Draw, units: int = MM, version: str = "R2010") -> Path:
    document = ezdxf.new(version, setup=True, units=units)
    document.header["$INSUNITS"] = units
    draw(document.modelspace())
    path = Path("plan.dxf")
    document.saveas(path)
    return path


def made(draw: Draw, *options: str, units: int = MM) -> Ran:
    drawn(draw, units)
    return millprep("new", "plate.toml", "--from", "plan.dxf", *options)


def plate(space: Any, *circles: tuple[float, float, float]) -> None:
    """A plate of 80 by 50 with its corner at 10, 10, and circles: x, y, diameter."""
    space.add_lwpolyline([(10, 10), (90, 10), (90, 60), (10, 60)], close=True)
    for x, y, diameter in circles:
        space.add_circle((x, y), diameter / 2)


def test_circles_by_diameter_on_a_plate(in_folder: Path) -> None:
    ran = made(lambda space: plate(space, (20, 20, 5), (40, 33, 8), (57, 20, 5)))
    assert ran.status == 0, ran.err
    assert "3 of 3 circles and points read" in ran.err
    part = filled_in(12)
    assert part.stock.size_mm == (80, 50, 12)
    assert sorted(holes(part).values()) == [(10, 10, 5), (30, 23, 8), (47, 10, 5)]
    assert not part.stock.is_guessed


# (inner and outer diameter, what they are): cores and tapping drills from ISO 965-1 and ISO 68-1 as
# handbooks print them (M6: core of the nut 4.917, of the screw 4.773, drill 5)
PAIRS = [
    (3.3, 4, 'tap   = "M4"'),
    (5, 6, 'tap   = "M6"'),
    (4.917, 6, 'tap   = "M6"'),
    (4.773, 6, 'tap   = "M6"'),
    (8.5, 10, 'tap   = "M10"'),
    (4.5, 8, "counterbore = { diameter = 8 }"),
    (6.6, 11, "counterbore = { diameter = 11 }"),
    (3.242, 4, 'tap   = "M4"'),
    (3.5, 4, 'tap = "M4x0.5"'),  # a fine thread: asked, for two circles mean a coarse one
    (5.1, 6, 'tap = "M6x0.75" or "0BA"'),
    (5.1, 6.35, 'tap = "1/4-20 UNC" or "1/4 BSW" or "1/4 BSF"'),
]


@pytest.mark.parametrize(("inner", "outer", "line"), PAIRS)
def test_two_circles_round_one_centre(
    in_folder: Path, inner: float, outer: float, line: str
) -> None:
    ran = made(lambda space: plate(space, (20, 20, inner), (20, 20, outer)))
    assert ran.status == 0, ran.err
    assert line in Path("plate.toml").read_text()
    assert f"circles {inner:g} and {outer:g}" in ran.err


def test_a_counterbore_is_asked_for_its_depth(in_folder: Path) -> None:
    made(lambda space: plate(space, (20, 20, 4.5), (20, 20, 8)))
    ran = millprep("check", "plate.toml")
    assert "counterbore: its depth is missing" in ran.err


def test_three_quarters_of_a_circle_are_a_thread_fine_ones_too(in_folder: Path) -> None:
    """The sign of ISO 6410-1."""

    def draw(space: Any) -> None:
        plate(space, (20, 20, 5), (40, 20, 7))
        space.add_arc((20, 20), 3, 0, 270)
        space.add_arc((40, 20), 4, 100, 10)

    assert made(draw).status == 0
    text = Path("plate.toml").read_text()
    assert 'tap   = "M6"' in text
    assert 'tap   = "M8x1"' in text


def test_blocks_are_put_in_their_places(in_folder: Path) -> None:
    """Turned, mirrored, in rows, within each other; one that is stretched makes no circle."""

    def draw(space: Any) -> None:
        plate(space)
        block = space.doc.blocks.new("PAIR")
        block.add_circle((5, 0), 2)
        outer = space.doc.blocks.new("OUTER")
        outer.add_blockref("PAIR", (0, 0), {"rotation": 90})
        space.add_blockref("PAIR", (20, 20))
        space.add_blockref("PAIR", (40, 20), {"xscale": -1})
        space.add_blockref("OUTER", (60, 20))
        space.add_blockref("PAIR", (20, 40), {"column_count": 2, "column_spacing": 15})
        space.add_blockref("PAIR", (70, 40), {"yscale": 2})
        space.add_blockref("PAIR", (60, 40), {"xscale": 1.5, "yscale": 1.5})

    ran = made(draw)
    found = {place[:2]: place[2] for place in holes(filled_in()).values()}
    assert found == {
        (15, 10): 4, (25, 10): 4, (50, 15): 4, (15, 30): 4, (30, 30): 4, (57.5, 30): 6,
    }  # fmt: skip
    assert "ellipse in block PAIR at 70, 40 on layer 0 is no round hole" in ran.err
    assert "6 of 7 circles and points read" in ran.err


def test_points_are_holes_whose_size_is_asked(in_folder: Path) -> None:
    def draw(space: Any) -> None:
        plate(space, (20, 20, 5))
        space.add_point((20, 20))
        space.add_point((33, 44))

    ran = made(draw)
    assert "point" in ran.err and "marks a circle's centre" in ran.err
    text = Path("plate.toml").read_text()
    assert "# drill =         # FILL IN: the plan gives no size\nat    = [23, 34]" in text
    assert "exactly one of" in millprep("check", "plate.toml").err or "drill" in text


@pytest.mark.parametrize("gap", [0.0, 0.005])
def test_an_outline_of_lines_and_arcs(in_folder: Path, gap: float) -> None:
    """Corners rounded with 10; what hangs loose on it is no part of it."""

    def draw(space: Any) -> None:
        space.add_line((10, gap), (70, 0))
        space.add_arc((70, 10), 10, 270, 0)
        space.add_line((80, 10), (80, 50))
        space.add_line((80, 50), (0, 50))
        space.add_line((0, 50), (0, 10))
        space.add_arc((10, 10), 10, 180, 270)
        space.add_line((80, 50), (95, 65))
        space.add_circle((40, 25), 4)

    ran = made(draw)
    assert "the outline is no rectangle" in ran.err
    part = filled_in()
    assert part.stock.size_mm == (80, 50, 10)
    assert list(holes(part).values()) == [(40, 25, 8)]


def test_polylines_with_rounds(in_folder: Path) -> None:
    """Corners of 5 mm on a plate of 80 by 50; two half rounds that are a hole of 8 mm, either way
    round; what stays open or is drawn in dashes makes neither. A bulge is the tangent of a quarter
    of the arc's angle (from memory of the DXF reference): of a half round 1."""
    quarter = math.tan(math.pi / 8)
    corners = [
        *[(15, 10, 0), (85, 10, quarter), (90, 15, 0), (90, 55, quarter)],
        *[(85, 60, 0), (15, 60, quarter), (10, 55, 0), (10, 15, quarter)],
    ]

    def draw(space: Any) -> None:
        space.add_lwpolyline(corners, format="xyb", close=True)
        space.add_lwpolyline([(36, 30, 1), (44, 30, 1)], format="xyb", close=True)
        space.add_lwpolyline([(54, 30, -1), (62, 30, -1)], format="xyb", close=True)
        space.add_lwpolyline([(20, 20, 1), (24, 20, 0)], format="xyb")
        dashed = {"linetype": "DASHED"}
        space.add_lwpolyline([(0, 0), (200, 0), (200, 90)], close=True, dxfattribs=dashed)
        space.add_polyline3d([(0, 0, 0), (9, 9, 9)])
        space.add_ellipse((70, 30), major_axis=(3, 0), ratio=1)
        space.add_ellipse((70, 45), major_axis=(3, 0), ratio=0.5)

    ran = made(draw)
    assert ran.status == 0, ran.err
    part = filled_in(12)
    assert part.stock.size_mm == (80, 50, 12)
    assert sorted(holes(part).values()) == [(30, 20, 8), (48, 20, 8), (60, 20, 6)]
    text = Path("plate.toml").read_text()
    for told in ("1 x broken line", "1 x polyline in space, or mesh", "is no round hole"):
        assert told in text


def test_a_disc(in_folder: Path) -> None:
    def draw(space: Any) -> None:
        for x, y, r in ((5, 5, 30), (5, 5, 6), (25, 5, 2), (-15, 5, 2), (5, 25, 2)):
            space.add_circle((x, y), r)

    assert made(draw).status == 0
    text = Path("plate.toml").read_text()
    assert "diameter = 60" in text
    text = text.replace("# length = ", "length = 8 #")
    Path("plate.toml").write_text(text)
    part = filled_in()
    assert part.stock.axis == 2
    found = sorted(holes(part).values())
    assert found == [(10, 30, 4), (30, 30, 12), (30, 50, 4), (50, 30, 4)]


def test_a_disc_that_is_said_is_known_among_circles_round_one_centre(in_folder: Path) -> None:
    def draw(space: Any) -> None:
        for radius in (30, 6):
            space.add_circle((0, 0), radius)

    assert made(draw, "--stock", "dia 60 x 8").status == 0
    text = Path("plate.toml").read_text()
    assert "diameter = 60\nlength = 8" in text
    assert "counterbore" not in text.split("# Taken as")[0]


def test_a_pitch_circle_is_no_hole(in_folder: Path) -> None:
    """In a whole line, where the centres of holes lie on it; in a chain line anyhow."""

    def draw(space: Any) -> None:
        plate(space, (50, 35, 30), (65, 35, 4), (35, 35, 4), (50, 35, 8))
        space.add_circle((50, 35), 10, {"linetype": "CENTER"})

    ran = made(draw)
    assert "other centres lie on it" in ran.err
    assert "in a broken line" in ran.err
    assert sorted(holes(filled_in()).values()) == [(25, 25, 4), (40, 25, 8), (55, 25, 4)]


# (what, units and options, status, words)
UNITS = [
    (MM, (), 0, 'units    = "mm"', 80.0),
    (INCH, (), 0, 'units    = "inch"', 80 * 25.4),
    (5, (), 0, 'units    = "mm"', 800.0),
    (NOTHING, ("--units", "mm"), 0, 'units    = "mm"', 80.0),
    (NOTHING, ("--units", "inch"), 0, 'units    = "inch"', 80 * 25.4),
    (MM, ("--units", "inch"), 0, 'units    = "inch"', 80 * 25.4),
]


@pytest.mark.parametrize(("units", "options", "status", "line", "length_mm"), UNITS)
def test_units(
    in_folder: Path, units: int, options: tuple[str, ...], status: int, line: str, length_mm: float
) -> None:
    ran = made(lambda space: plate(space, (20, 20, 2)), *options, units=units)
    assert ran.status == status, ran.err
    assert line in Path("plate.toml").read_text()
    assert filled_in().stock.size_mm[0] == pytest.approx(length_mm)


def test_units_that_nothing_says_are_asked_for(in_folder: Path) -> None:
    ran = made(lambda space: plate(space, (20, 20, 2)), units=NOTHING)
    assert (ran.status, Path("plate.toml").exists()) == (2, False)
    assert "does not say whether its figures are mm or inches" in ran.err
    assert "--units mm or --units inch" in ran.err


def test_without_an_outline_the_blank_is_guessed_and_marked(in_folder: Path) -> None:
    def draw(space: Any) -> None:
        for x in (1000, 1030.5):
            space.add_circle((x, 500), 3)

    ran = made(draw)
    assert "the blank is guessed" in ran.err
    assert "guessed = true" in Path("plate.toml").read_text()
    part = filled_in()
    assert part.stock.size_mm == (57, 26, 10)
    assert sorted(holes(part).values()) == [(13, 13, 6), (43.5, 13, 6)]


def test_a_blank_without_an_outline_asks_where_zero_is(in_folder: Path) -> None:
    def draw(space: Any) -> None:
        space.add_circle((30, 20), 3)

    ran = made(draw, "--stock", "60,40,8")
    assert (ran.status, "--zero left,front" in ran.err) == (2, True)
    ran = made(draw, "--stock", "60,40,8", "--zero", "left,front")
    assert ran.status == 0
    assert list(holes(filled_in()).values()) == [(30, 20, 6)]


def test_a_blank_that_is_not_the_outline(in_folder: Path) -> None:
    ran = made(lambda space: plate(space, (20, 20, 2)), "--stock", "81,50,8")
    assert (ran.status, "the outline on the plan is 80 x 50" in ran.err) == (2, True)
    ran = made(lambda space: plate(space, (20, 20, 2)), "--stock", "80,50,8")
    assert "size = [80, 50, 8]" in Path("plate.toml").read_text()


def test_all_that_is_not_read_is_told_and_stands_in_the_file(in_folder: Path) -> None:
    def draw(space: Any) -> None:
        plate(space, (20, 20, 5), (20, 20, 5), (200, 20, 5), (30, 30, 4), (30, 30, 9), (30, 30, 7))
        plate(space, (40, 55, 3), (50, 55, 3), (60, 55, 3))
        space.add_circle((50, 50), 0)
        space.add_ellipse((40, 40), (6, 0), ratio=0.5)
        space.add_spline([(0, 0), (1, 1), (3, 0)])
        space.add_text("4 x M4 through").set_placement((22, 22))
        space.doc.layers.add("NOTES").off()
        space.add_circle((70, 50), 2, {"layer": "NOTES"})
        space.add_lwpolyline([(60, 20), (70, 20), (70, 25), (60, 25)], close=True)
        space.add_circle((40, 20), 2, {"extrusion": (0, 1, 0)})

    ran = made(draw)
    text = Path("plate.toml").read_text()
    for told in (
        "is drawn over circle",
        "lies outside of the outline",
        "one circle too many round one hole",
        "has no size",
        "is no round hole",
        "1 x SPLINE on layer 0: not read",
        "1 text: not read",
        "CIRCLE that is switched off on layer NOTES",
        "a closed line that is not the outline",
        "lies askew to the view",
    ):
        assert told in ran.err, told
        assert told in text.split("# Not understood:")[1], told
    assert "4 x M4 through" in text.split("# Words on the plan")[1]
    assert "counterbore = { diameter = 7 }" in text
    assert "row = { start = [30, 45], step = [10, 0], count = 3 }" in text


@pytest.mark.parametrize(
    "content",
    [b"", b"\0\1\2", b"no drawing\n", b"0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n10\nx\n", b"0\nEOF\n"],
)
def test_what_is_no_drawing(in_folder: Path, content: bytes) -> None:
    Path("plan.dxf").write_bytes(content)
    ran = millprep("new", "plate.toml", "--from", "plan.dxf", "--units", "mm")
    assert (ran.status, Path("plate.toml").exists()) == (2, False)
    assert "stop: " in ran.err and "Traceback" not in ran.err


ODD = ("0", "10", "nan", "1e999", "-1", "CIRCLE", "INSERT", "40", "")


@given(st.integers(0, 2**32), st.integers(1, 30))
@settings(max_examples=60)
def test_a_damaged_drawing_ends_in_no_traceback(seed: int, count: int) -> None:
    """Lines of a good drawing changed, doubled and left out."""
    lines = GOOD_DXF.splitlines()
    chance = random.Random(seed)
    for _ in range(count):
        at = chance.randrange(len(lines))
        what = chance.choice(("change", "double", "drop"))
        if what == "change":
            lines[at] = chance.choice(ODD)
        elif what == "double":
            lines.insert(at, lines[chance.randrange(len(lines))])
        else:
            del lines[at]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plan.dxf"
        path.write_text("\n".join(lines))
        with contextlib.suppress(MillprepError, WordError):
            part_file(path, "plate", Wishes("mm"))


def _good_dxf() -> str:
    document = ezdxf.new("R12")
    space = document.modelspace()
    space.add_polyline2d([(10, 10), (90, 10), (90, 60), (10, 60)], close=True)
    for x, y, diameter in ((20, 20, 3.3), (20, 20, 4), (40, 33, 8), (57, 20, 5)):
        space.add_circle((x, y), diameter / 2)
    document.blocks.new("B").add_circle((1, 1), 2)
    space.add_blockref("B", (60, 40), {"rotation": 30})
    space.add_arc((40, 33), 5, 0, 270)
    space.add_point((70, 20))
    stream = io.StringIO()
    document.write(stream)
    text = stream.getvalue()
    return "  0\nSECTION\n  2\n" + text[text.index("BLOCKS\n") :]


GOOD_DXF = _good_dxf()


def test_more_circles_than_a_part_has_holes() -> None:
    """Read to the end, and refused in one sentence."""
    circles = [Circle((i % 300 * 5.0, i // 300 * 5.0), 1.0, str(i), "0") for i in range(50_001)]
    plan = plan_of_shapes(Shapes(1.0, False, circles), "plan.dxf", None)
    assert plan.read == plan.total == 50_001
    with pytest.raises(MillprepError, match="50,001 holes: a part has at most 50,000"):
        part_text(plan, blank_of(plan, None, None), "plate")


def test_blocks_within_themselves_end(in_folder: Path) -> None:
    def draw(space: Any) -> None:
        plate(space, (20, 20, 5))
        block = space.doc.blocks.new("A")
        block.add_blockref("A", (1, 1))
        space.add_blockref("A", (30, 30))

    ran = made(draw)
    assert ran.status == 0, ran.err
    assert "INSERT that is not opened" in ran.err


@pytest.mark.parametrize("version", ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"])
def test_versions(in_folder: Path, version: str) -> None:
    drawn(lambda space: space.add_circle((20, 20), 4), version=version)
    ran = millprep("new", "plate.toml", "--from", "plan.dxf", "--units", "mm")
    assert ran.status == 0, ran.err


@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
def test_our_own_drawing_and_back_gives_the_same_holes(in_folder: Path, path: Path) -> None:
    """Every setup: place, size and thread of each hole; a bore of the blank is a hole too."""
    assert millprep("drawing", str(path), "-o", "plan.dxf").status == 0
    prepared = prepare(path)
    for setup_plan in prepared.plan.setups:
        name = f"plan-setup{setup_plan.setup.number}.dxf"
        file = Path(name) if Path(name).exists() else Path("plan.dxf")
        plan = plan_of_shapes(read_shapes(file), str(file), None)
        bore_mm = prepared.part.stock.bore_mm
        is_on_end = prepared.part.stock.axis == FACE_AXIS[setup_plan.setup.face]
        due = {
            one.hole.name: (
                round(one.x_mm, 3) + 0.0,
                round(one.y_mm, 3) + 0.0,
                round(one.hole.diameter_mm if thread is None else thread.tap_drill_mm, 3),
                None if thread is None else f'"{thread.name}"',
            )
            for one in setup_plan.operations
            for thread in (one.hole.thread,)
        }
        if bore_mm is not None and is_on_end:
            due["bore of the blank"] = (0.0, 0.0, round(bore_mm, 3), None)
        assert sorted(map(read_back, plan.holes), key=str) == sorted(due.values(), key=str)


def read_back(hole: PlanHole) -> tuple[float, float, float, str | None]:
    """As the drawing shows it: a tapped hole by its tapping drill."""
    from millprep.sizes import read_thread

    thread = dict(hole.keys).get("tap")
    size = hole.diameter_mm if thread is None else read_thread(thread.strip('"')).tap_drill_mm
    x, y = (0.0 if math.isclose(v, 0, abs_tol=5e-4) else round(v, 3) for v in hole.place)
    return x, y, round(size, 3), thread


def test_a_drawing_and_back_through_the_command_line(in_folder: Path) -> None:
    """The starter's patterns come back, seen half a turn round, as that setup lies."""
    assert millprep("new", "starter.toml").status == 0
    assert millprep("drawing", "starter.toml", "-o", "plan.dxf", "--setup", "1").status == 0
    assert millprep("new", "plate.toml", "--from", "plan.dxf").status == 0
    text = Path("plate.toml").read_text()
    assert "corners = { inset = 8 }" in text
    assert "circle = { centre = [30, 20], diameter = 20, count = 3, start = 30 }" in text
    assert 'tap   = "M4"' in text
