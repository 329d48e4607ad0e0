"""Drawings: true in size in every format, nothing over anything, all that a hole needs in words."""

import io
import itertools
import math
import re
import subprocess
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from jobs import BLOCK, EXAMPLE_PARTS, RICH, RICH_STOCK, millprep, part_text, plan_of
from numpy.typing import NDArray
from pens import Bounds, TeePen
from PIL import Image
from pypdf import PdfReader

from millprep.base.findings import MillprepError
from millprep.base.marks import is_own_unedited
from millprep.base.records import replace
from millprep.canvas.lettering import room_mm
from millprep.canvas.paper import EITHER, PAPERS, SCALES
from millprep.canvas.recording import RecordingPen
from millprep.infiles import read_part, read_shop
from millprep.model.shop import Projection
from millprep.planning import make_plan
from millprep.sheets.drawing import Drawing, DrawnSetup, make_drawing
from millprep.sheets.figures import as_drawn
from millprep.writers import drawn as writer
from millprep.writers.drawing import (
    Frame,
    Purpose,
    draw,
    frame_for,
    model_frame,
    sheets_of,
    usable_paper,
)
from millprep.writers.drawing.face import box_of
from millprep.writers.drawing.sheets import FaceSheet, TableSheet
from millprep.writers.drawing.table import wrapped
from millprep.writers.drawing.tiles import TileSheet

PARTS = EXAMPLE_PARTS
SVG = "{http://www.w3.org/2000/svg}"
GRID = """
[[hole]]
name = "h"
drill = 3
depth = "through"
grid = { start = [6, 5], step = [12, 10], columns = 10, rows = 10 }
"""
DOWELS = """
[[hole]]
name = "dowel"
ream = 4
depth = "through"
at = [[124, 8], [124, 92]]
"""
CLOSE = """
[[hole]]
name = "h"
drill = 2
depth = "through"
grid = { start = [6, 6], step = [4.3, 4.3], columns = 10, rows = 10 }
"""
LONG_NAMES = f"""
[[hole]]
name = "{"W" * 40}"
tap = "M5"
depth = "through"
at = [[10, 10], [70, 10]]
[[hole]]
name = "a name that is as long as it may be at al"
drill = 3
depth = 5
at = [20, 30]
note = "{"words without end and " * 5}"
""".replace("at al", "at a")
SIEVE = """
[[hole]]
name = "sieve"
drill = 2.5
depth = "through"
grid = { start = [8, 8], step = [5.5, 6.4], columns = 19, rows = 10 }
[[hole]]
name = "dowel"
ream = 4
depth = "through"
at = [[4, 4], [116, 76]]
[[hole]]
tap = "M3"
depth = "through"
at = [[4, 76], [116, 4], [60, 76], [60, 3]]
[[hole]]
clear = "M4"
depth = "through"
at = [[4, 20], [116, 60], [4, 60], [116, 20]]
"""
TINY = """
[[hole]]
drill = 0.6
depth = "through"
at = [[1, 1], [4, 1], [4, 3], [1, 3], [2.5, 2]]
"""
HUGE = """
[[hole]]
name = "a"
drill = 10
depth = "through"
grid = { start = [100, 100], step = [380, 260], columns = 11, rows = 6 }
"""
SINGLES = "".join(
    f'[[hole]]\nname = "hole number {i}"\ndrill = "1/8"\ndepth = "through"\n'
    f"at = [{0.3 + 0.48 * (i % 8)}, {0.3 + 0.45 * (i // 8)}]\n"
    for i in range(40)
)
FOUR = """
[[hole]]
name = "corner"
drill = 6
depth = "through"
at = [[10, 10], [90, 10], [90, 50], [10, 50]]
"""
FOUR_STOCK = "size = [100, 60, 10]"


@cache
def trial_sheet(holes: str, stock: str = BLOCK, units: str = "mm") -> Drawing:
    return make_drawing(plan_of(holes, stock, units=units), "inch" if units == "inch" else "mm")


@cache
def example_sheet(path: Path, units: str, projection: Projection = "first") -> Drawing:
    shop = replace(read_shop("metric"), projection=projection)
    plan = make_plan(read_part(path)[0], shop, "tool")
    return make_drawing(plan, "inch" if units == "inch" else "mm")


def odd_sheets() -> dict[str, Drawing]:
    return {
        "hundred": trial_sheet(GRID, "size = [120, 100, 10]"),
        "close": trial_sheet(CLOSE, "size = [60, 60, 10]"),
        "long names": trial_sheet(LONG_NAMES, "size = [80, 40, 10]"),
        "tiny": trial_sheet(TINY, "size = [5, 4, 3]"),
        "long": trial_sheet(HUGE.replace("380, 260", "32, 26"), "size = [500, 300, 20]"),
        "huge": trial_sheet(HUGE, "size = [4000, 1500, 20]"),
        "inch singles": trial_sheet(SINGLES, "size = [4, 3, 0.5]", "inch"),
        "rich": trial_sheet(RICH, RICH_STOCK),
        "sieve": trial_sheet(SIEVE, "size = [120, 80, 6]"),
        "long title": replace(
            trial_sheet(GRID, "size = [120, 100, 10]"),
            part="A part whose name is as long as W" + "W" * 26,
            drawing="a drawing number that fills the whole of what a file may hold",
            material="phosphor bronze PB102, half hard",
            date="2026-05-14",
        ),
    }


PURPOSES = {
    **{name: Purpose(paper=paper) for name, paper in PAPERS.items()},
    "page": Purpose(),
    "template": Purpose(is_template=True),
    "shrunk": Purpose(measured_mm=(95.0, 96.5), read_to_mm=0.1),
    "stretched": Purpose(is_template=True, measured_mm=(105.0, 101.0), read_to_mm=0.5),
}
Box = tuple[float, float, float, float]


def over(a: Box, b: Box) -> bool:
    near = 1e-6
    return a[0] < b[2] - near and b[0] < a[2] - near and a[1] < b[3] - near and b[1] < a[3] - near


def recorded(sheet: Drawing, setup: DrawnSetup, frame: Frame) -> RecordingPen:
    pen = RecordingPen()
    draw(sheet, setup, pen, frame)
    return pen


def framed(sheet: Drawing, setup: DrawnSetup, purpose: Purpose | None = None) -> Frame:
    frame = frame_for(sheet, setup, purpose)
    assert frame is not None
    return frame


def drawn(sheet: Drawing, setup: DrawnSetup, ending: str, purpose: Purpose | None = None) -> bytes:
    """The first file of a setup."""
    one = replace(sheet, setups=(setup,))
    return writer.drawn(one, ending, purpose)[0].data


def pages_of(sheet: Drawing, setup: DrawnSetup, purpose: Purpose) -> Iterator[RecordingPen]:
    """Every sheet of a setup."""
    for page in sheets_of(sheet, setup, purpose):
        pen = RecordingPen()
        page.draw(sheet, pen, "sheet 1 of 12")
        yield pen


def words_of(pen: RecordingPen) -> list[tuple[str, Box]]:
    return [(a[1], box_of(*a)) for verb, a in pen.strokes if verb == "text" and a[1]]


def assert_nothing_collides(pen: RecordingPen) -> None:
    """No words over words, over the outline, over a hole's circle, or over a line drawn level."""
    words = words_of(pen)
    for (one, a), (other, b) in itertools.combinations(words, 2):
        assert not over(a, b), f"{one!r} over {other!r}"
    for verb, arguments in pen.strokes:
        if verb == "outline" and arguments[1] == "edge":
            corners = arguments[0]
            for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
                assert_clear(words, start, end)
        elif verb == "line" and arguments[2] in ("edge", "centre", "mark"):
            assert_clear(words, arguments[0], arguments[1])
        elif verb == "arc" and arguments[4] in ("edge", "thin"):
            (x, y), radius = arguments[0], arguments[1]
            for text, box in words:
                near = math.hypot(max(box[0] - x, 0, x - box[2]), max(box[1] - y, 0, y - box[3]))
                far = max(math.hypot(cx - x, cy - y) for cx in box[::2] for cy in box[1::2])
                assert not near < radius - 0.05 < radius + 0.05 < far, f"{text!r} over a circle"


def assert_clear(
    words: list[tuple[str, Box]], start: tuple[float, float], end: tuple[float, float]
) -> None:
    x1, x2 = sorted((start[0], end[0]))
    y1, y2 = sorted((start[1], end[1]))
    for text, box in words:
        assert not over(box, (x1 - 0.1, y1 - 0.1, x2 + 0.1, y2 + 0.1)), f"{text!r} over a line"


@pytest.mark.parametrize("purpose", ["page", "template", "a4", "a3", "letter"])
@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_example_parts_have_nothing_over_anything(path: Path, units: str, purpose: str) -> None:
    sheet = example_sheet(path, units)
    for setup in sheet.setups:
        for pen in pages_of(sheet, setup, PURPOSES[purpose]):
            assert_nothing_collides(pen)
        assert framed(sheet, setup, PURPOSES[purpose]).scale.factor >= 1


@pytest.mark.parametrize("purpose", PURPOSES)
@pytest.mark.parametrize("name", odd_sheets())
def test_odd_parts_have_nothing_over_anything(name: str, purpose: str) -> None:
    sheet = odd_sheets()[name]
    if name == "huge" and PURPOSES[purpose].is_template:
        return  # refused, as a test below says
    for setup in sheet.setups:
        for pen in pages_of(sheet, setup, PURPOSES[purpose]):
            assert_nothing_collides(pen)


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_third_angle_has_nothing_over_anything(path: Path) -> None:
    sheet = example_sheet(path, "mm", "third")
    for setup in sheet.setups:
        for pen in pages_of(sheet, setup, Purpose()):
            assert_nothing_collides(pen)


@pytest.mark.needs("pdftoppm")
@pytest.mark.parametrize("name", ["sieve", "long title", "rich"])
@pytest.mark.parametrize("purpose", ["page", "template", "letter"])
def test_nothing_is_cut_on_paper(name: str, purpose: str, tmp_path: Path) -> None:
    """Seen by another program: all that is dark lies in the frame, and the frame is whole."""
    sheet, for_what = odd_sheets()[name], PURPOSES[purpose]
    paper = for_what.paper
    (tmp_path / "a.pdf").write_bytes(writer.drawn(sheet, ".pdf", for_what)[0].data)
    command = ["pdftoppm", "-r", "127", "-gray", tmp_path / "a.pdf", tmp_path / "a"]
    subprocess.run(command, check=True)
    for page in tmp_path.glob("a*.pgm"):
        dark = np.asarray(Image.open(page)) < 128
        rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
        edges = [side / 5 for side in (rows[0], rows[-1], columns[0], columns[-1])]
        left, low = paper.side_mm, paper.foot_mm
        due = [paper.height_mm - paper.top_mm, paper.height_mm - low, left, paper.right_mm]
        assert edges == pytest.approx(due, abs=0.5)
        inside = slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)
        frame = dark[inside]
        for line in (frame[0], frame[-1], frame[:, 0], frame[:, -1]):
            assert line.mean() > 0.98


@pytest.mark.parametrize("name", odd_sheets())
def test_models_have_nothing_over_anything(name: str) -> None:
    sheet = odd_sheets()[name]
    for setup in sheet.setups:
        assert_nothing_collides(recorded(sheet, setup, model_frame(sheet, setup)))


@pytest.mark.parametrize("purpose", PURPOSES)
@pytest.mark.parametrize("name", odd_sheets())
def test_all_stays_in_the_frame(name: str, purpose: str) -> None:
    """Also what a correction stretches, on the paper that then comes out of the printer."""
    sheet, for_what = odd_sheets()[name], PURPOSES[purpose]
    if name == "huge" and for_what.is_template:
        return
    paper, usable = for_what.paper, usable_paper(for_what)
    for pen in pages_of(sheet, sheet.setups[0], for_what):
        bounds = Bounds()
        pen.replay(bounds)
        assert bounds.low is not None and bounds.high is not None
        for axis, size in ((0, paper.width_mm), (1, paper.height_mm)):
            factor = for_what.factors[axis]
            of_paper = (usable.width_mm, usable.height_mm)[axis]
            corner = (size - factor * of_paper) / 2
            margin = (paper.side_mm, paper.foot_mm)[axis]
            assert corner + factor * bounds.low[axis] >= 0.9 * margin
            assert corner + factor * bounds.high[axis] <= size - 0.9 * margin
            assert factor * of_paper <= size + 1e-9


def test_the_frame_is_inside_what_a4_and_letter_take() -> None:
    """ISO 216 and ANSI Y14.1 (from memory): 297 x 210, 279.4 x 215.9; 6.35 mm stay unprinted."""
    assert (EITHER.side_mm, EITHER.right_mm) == (16, 281)
    shift = (297 - 279.4) / 2  # a sheet of the other size is printed from its middle
    assert EITHER.side_mm - shift >= 6.35
    assert EITHER.right_mm - shift <= 279.4 - 6.35


def bars(pen: RecordingPen, length_mm: float = 100.0) -> list[float]:
    """Wide lines of that length that stand by themselves: the two bars."""
    wide = [a for verb, a in pen.strokes if verb == "line" and a[2] == "edge"]
    lengths = [math.dist(a[0], a[1]) for a in wide]
    return [length for length in lengths if length == pytest.approx(length_mm)]


@pytest.mark.parametrize("name", odd_sheets())
def test_two_bars_of_100_mm_whatever_the_scale(name: str) -> None:
    sheet = odd_sheets()[name]
    pen = recorded(sheet, sheet.setups[0], framed(sheet, sheet.setups[0]))
    assert len(bars(pen, 101.6 if sheet.units == "inch" else 100.0)) == 2


def test_the_scales_are_those_of_the_standard() -> None:
    """ISO 5455 (from memory): 5:1, 2:1, 1:1, 1:2, 1:5, 1:10 and on."""
    assert [str(scale) for scale in SCALES[:6]] == ["5:1", "2:1", "1:1", "1:2", "1:5", "1:10"]


@pytest.mark.parametrize(
    ("size", "scale"),
    [
        ((20, 10, 4), "5:1"),
        ((60, 30, 6), "2:1"),
        ((100, 60, 10), "1:1"),
        ((406, 60, 12), "1:2"),
        ((800, 300, 12), "1:5"),
        ((4000, 1500, 20), "1:20"),
    ],
)
def test_the_scale_suits_the_sheet(size: tuple[float, float, float], scale: str) -> None:
    hole = f"[[hole]]\ndrill = 2\ndepth = 3\nat = [{size[0] / 2}, {size[1] / 2}]"
    sheet = trial_sheet(hole, f"size = {list(size)}")
    frame = framed(sheet, sheet.setups[0])
    assert str(frame.scale) == scale
    words = [text for text, _ in words_of(recorded(sheet, sheet.setups[0], frame))]
    assert f"scale {scale}" in words
    (ring,) = frame.view.marks[0].rings
    circles = [a[1] for v, a in recorded(sheet, sheet.setups[0], frame).strokes if v == "arc"]
    top, _, bottom = scale.partition(":")
    assert ring.radius_mm * int(top) / int(bottom) in [pytest.approx(r) for r in circles]


def test_the_largest_part_that_a_file_can_describe_finds_paper() -> None:
    sheet = trial_sheet("[[hole]]\ndrill = 10\ndepth = 5\nat = [5, 5]", "size = [10000, 10000, 50]")
    assert framed(sheet, sheet.setups[0]).scale.factor == 1 / 100


def test_a_long_bar_keeps_to_a4_with_the_table_above() -> None:
    holes = """
[[hole]]
drill = 4
depth = "through"
row = { start = [10, 10], step = [19, 0], count = 11 }
"""
    sheet = trial_sheet(holes, "size = [210, 20, 10]")
    frame = framed(sheet, sheet.setups[0])
    assert str(frame.scale) == "1:1"
    assert frame.table is not None
    assert frame.table_at[1] - frame.table.height_mm > frame.high[1]


# --- true scale, in pixels and in the files' own figures ---


def page_dots(data: bytes, folder: Path) -> NDArray[np.bool_]:
    """A PDF as seen by another program: 10 dots to the millimetre, y up; thin grey left out."""
    (folder / "page.pdf").write_bytes(data)
    subprocess.run(
        ["pdftoppm", "-r", "254", "-gray", "-singlefile", folder / "page.pdf", folder / "page"],
        check=True,
    )
    dots = np.asarray(Image.open(folder / "page.pgm"))[:2100, :2970]  # a started dot counts there
    assert dots.shape == (2100, 2970)  # A4, ISO 216
    picture: NDArray[np.bool_] = (dots < 95)[::-1]
    return picture


def longest_run(line: NDArray[np.bool_]) -> int:
    """Of dark dots, ends of the paper left out."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], line, [False])).astype(int)))
    return int((edges[1::2] - edges[::2]).max(initial=0))


def hole_places(dots: NDArray[np.bool_], frame: Frame, aside: float) -> NDArray[np.float64]:
    """(2, N) middle of each hole's circle on the paper [mm], from where lines cross it that pass
    so far beside the middle, clear of the centre lines."""
    reach = 36
    places = []
    for mark in frame.view.marks:
        x, y = (round(10 * each) for each in frame.at(mark.x_mm, mark.y_mm))
        row = np.flatnonzero(dots[y + round(10 * aside), x - reach : x + reach])
        column = np.flatnonzero(dots[y - reach : y + reach, x + round(10 * aside)])
        middles = (
            (line.min() + line.max() + 1) / 20 + (at - reach) / 10
            for line, at in ((row, x), (column, y))
        )
        places.append(tuple(middles))
    return np.array(places).T


@pytest.mark.needs("pdftoppm")
def test_pdf_is_true_in_size(tmp_path: Path) -> None:
    """The bars are 100 mm and the holes 80 and 40 mm apart, as the part has them."""
    sheet = trial_sheet(FOUR, FOUR_STOCK)
    setup = sheet.setups[0]
    frame = framed(sheet, setup)
    dots = page_dots(drawn(sheet, setup, ".pdf"), tmp_path)
    assert 999 <= longest_run(dots[222]) <= 1001
    assert 999 <= longest_run(dots[:, 190]) <= 1001
    found = hole_places(dots, frame, 1.5)
    nominal = np.array([(10, 10), (90, 10), (90, 50), (10, 50)], dtype=float).T
    np.testing.assert_allclose(found - found[:, :1], nominal - nominal[:, :1], atol=0.1)
    # and from the corner of the outline, which is the datum
    for axis in (0, 1):
        line = (
            dots[round(10 * frame.at(50, 30)[1]) + 20]
            if axis == 0
            else dots[:, round(10 * frame.at(50, 30)[0]) + 20]
        )
        near = round(10 * frame.low[axis])
        edge = (np.flatnonzero(line[near - 6 : near + 6]) + near - 6 + 0.5).mean() / 10
        np.testing.assert_allclose(found[axis] - edge, nominal[axis], atol=0.1)


@pytest.mark.needs("pdftoppm")
def test_corrected_pdf_is_true_on_the_printer_it_is_for(tmp_path: Path) -> None:
    """A print whose bars measured 97.5 and 101 mm; printed again, they are 100 mm."""
    sheet = trial_sheet(FOUR, FOUR_STOCK)
    setup = sheet.setups[0]
    dots = page_dots(drawn(sheet, setup, ".pdf", Purpose(measured_mm=(97.5, 101.0))), tmp_path)
    printed = {
        "x": max(longest_run(dots[row]) for row in range(215, 245)) * 0.0975,
        "y": max(longest_run(dots[:, column]) for column in range(175, 215)) * 0.101,
    }
    assert printed == pytest.approx({"x": 100, "y": 100}, abs=0.15)


def test_svg_is_true_in_size() -> None:
    sheet = trial_sheet(FOUR, FOUR_STOCK)
    root = ElementTree.fromstring(drawn(sheet, sheet.setups[0], ".svg"))
    assert (root.get("width"), root.get("viewBox")) == ("297mm", "0 0 297 210")
    centres = [
        (float(c.get("cx", 0)), -float(c.get("cy", 0)))
        for c in root.iter(f"{SVG}circle")
        if c.get("r") == "3"
    ]
    moved = np.array(centres).T - np.array(centres[0])[:, None]
    np.testing.assert_allclose(moved, [[0, 80, 80, 0], [0, 0, 40, 40]], atol=2e-3)


def test_png_is_a4_at_200_dots_to_the_inch() -> None:
    sheet = trial_sheet(FOUR, FOUR_STOCK)
    picture = Image.open(io.BytesIO(drawn(sheet, sheet.setups[0], ".png")))
    assert picture.size == (2339, 1654)


def test_dxf_circles_stand_at_the_holes() -> None:
    """At the figures of the listing, from zero, at full size however large the part."""
    for sheet in (
        trial_sheet(FOUR, FOUR_STOCK),
        odd_sheets()["huge"],
        odd_sheets()["inch singles"],
    ):
        setup = sheet.setups[0]
        drawing = ezdxf.read(io.StringIO(drawn(sheet, setup, ".dxf").decode()))
        circles = {
            (round(c.dxf.center.x, 6), round(c.dxf.center.y, 6), round(c.dxf.radius, 6))
            for c in drawing.modelspace().query('CIRCLE[layer=="edge"]')
        }
        marks = {
            (round(m.x_mm, 6), round(m.y_mm, 6), round(m.rings[0].radius_mm, 6))
            for m in setup.view.marks
        }
        assert circles == marks
        texts = [text.dxf.text for text in drawing.modelspace().query("TEXT")]
        assert sheet.part in texts
        assert not any("bar" in text for text in texts)


@pytest.mark.parametrize("ending", [".svg", ".pdf", ".png", ".dxf"])
def test_runs_are_alike_and_marked(ending: str) -> None:
    sheet = trial_sheet(RICH, RICH_STOCK)
    data = drawn(sheet, sheet.setups[0], ending)
    assert data == drawn(sheet, sheet.setups[0], ending)
    assert is_own_unedited(data)


# --- what is drawn ---


def strokes(verb: str, holes: str, stock: str = BLOCK, number: int = 1) -> list[tuple[object, ...]]:
    sheet = trial_sheet(holes, stock)
    setup = sheet.setups[number - 1]
    pen = recorded(sheet, setup, framed(sheet, setup))
    return [arguments for name, arguments in pen.strokes if name == verb]


def test_threads_are_drawn_as_the_standard_shows_them() -> None:
    """ISO 6410-1: crests in a wide circle, roots in three quarters of a thin one."""
    arcs = strokes("arc", '[[hole]]\ntap = "M8"\nat = [30, 20]\ndepth = 10')
    around = [(a[1], a[2], a[3], a[4]) for a in arcs if a[1] != 1.0]  # less the origin's rings
    assert (4.0, 95.0, 355.0, "thin") in around
    (core,) = [a for a in around if a[3] == "edge"]
    assert core[0] == pytest.approx(3.4)  # drilled 6.8, ISO 2306
    assert core[1:3] == (0.0, 360.0)


def test_far_end_is_hidden() -> None:
    arcs = strokes(
        "arc",
        '[[hole]]\ndrill = 5\nat = [30, 20]\ndepth = "through"\n'
        "far = { counterbore = { diameter = 10, depth = 4 } }",
    )
    assert (5.0, "hidden") in [(a[1], a[4]) for a in arcs]


def test_holes_of_upright_faces_are_dashed_where_they_lie() -> None:
    holes = """
[[hole]]
name = "cross"
face = "left"
drill = 6
at = [10, 8]
depth = 25
[[hole]]
drill = 4
at = [50, 30]
depth = 5
"""
    sheet = trial_sheet(holes)
    setup = next(setup for setup in sheet.setups if setup.face == "top")
    ends = {frozenset((line.start, line.end)) for line in setup.hidden if line.style == "hidden"}
    tip = pytest.approx(25 + 3 / math.tan(math.radians(60)))  # a drill's point as it is drawn
    sides = {frozenset({(0.0, y), (25.0, y)}) for y in (7.0, 13.0)}  # at y 10, 6 across
    assert sides | {frozenset({(25.0, 7.0), (25.0, 13.0)})} <= ends
    points = [max(end) for end in map(sorted, ends - sides) if max(end)[0] > 25.1]
    assert points == [(tip, pytest.approx(10))] * 2
    pen = recorded(sheet, setup, framed(sheet, setup))
    on_plan = [
        a
        for verb, a in pen.strokes
        if verb == "line"
        and a[2] == "hidden"
        and all(low <= high for low, high in zip(a[0], framed(sheet, setup).high, strict=True))
    ]
    assert len(on_plan) == 5


def test_running_dimensions_start_at_the_datum() -> None:
    """ISO 129-1: figures count from the ring at the origin; auxiliary ones in brackets."""
    words = [a[1] for a in strokes("text", FOUR, FOUR_STOCK)]
    assert {"0 LEFT", "10", "90", "(100)"} <= set(words)
    assert {"0 FRONT", "50", "(60)"} <= set(words)
    rings = [a for a in strokes("arc", FOUR, FOUR_STOCK) if a[1] == 1.0]
    assert len(rings) == 3  # one is of the sign of the arrangement


def test_too_many_figures_point_to_the_table() -> None:
    holes = "".join(
        f"[[hole]]\ndrill = 1\ndepth = 2\nat = [{3 + 1.3 * i}, {3 + (7 * i) % 34}]\n"
        for i in range(40)
    )
    words = [a[1] for a in strokes("text", holes)]
    assert "X: see the table" in words


def test_the_faces_that_stand_round_it_are_named() -> None:
    words = [a[1] for a in strokes("text", FOUR, FOUR_STOCK)]
    assert {"LEFT", "RIGHT", "BACK", "FRONT, towards you"} <= set(words)


def table_text(holes: str, stock: str = BLOCK, more: str = "") -> str:
    sheet = make_drawing(plan_of(holes, stock, more=more), "mm")
    frame = framed(sheet, sheet.setups[0])
    assert frame.table is not None
    return " ".join(cell.words for row in frame.table.rows for cell in row if cell.words)


@pytest.mark.parametrize(
    ("hole", "words"),
    [
        # ISO 286-2: 6 H7 is 0 to +12 um
        ('ream = 6\nfit = "H7"\ndepth = "through"', "ream 6 mm H7 (6.000 to 6.012 mm), through"),
        ("bore = 16\nlimits = [16, 16.02]\ndepth = 9", "bore 16 mm (16.000 to 16.020 mm), 9 mm"),
        ('tap = "M6"\ndepth = 8\ndrill_depth = 14', "tap M6, thread 8 mm deep, drilled 14 mm deep"),
        ("drill = 5\ndepth = 6\nposition = 0.04", "6 mm deep, position within Ø0.04 mm"),
        ("drill = 5\ndepth = 6\ntolerance = 0.02", "drill 5 mm, 6 mm deep, position +/- 0.02 mm"),
        ('drill = 5\ndepth = 6\nnote = "saw after"', "drill 5 mm, 6 mm deep, saw after"),
        (
            'clear = "M4"\ndepth = "through"\ncountersink = { diameter = 9, angle = 90 }',
            "4.5 mm, M4 clearance, through, countersink Ø9 mm x 90 deg",
        ),
        (
            'tap = "M4"\ndepth = 15\nopened = { clear = "M4", depth = 5 }',
            "tap M4, thread 15 mm deep, opened 4.5 mm, 5 mm deep",
        ),
        ('drill = 4\ndepth = "through"\nfrom_both_ends = true', "through, half from each end"),
    ],
)
def test_the_table_says_all_of_a_hole(hole: str, words: str) -> None:
    assert words in table_text(f"[[hole]]\nat = [30, 20]\n{hole}")


def test_lines_of_the_table_keep_figure_and_unit_together() -> None:
    lines = wrapped("counterbore 10 x 5.4 mm, through, and a long word" + "o" * 60, 40.0, 2.5)
    assert lines[0] == "counterbore 10 x 5.4 mm," or lines[1].startswith("10 x 5.4 mm,")
    assert all(room_mm(line, 2.5) <= 40.0 for line in lines)
    assert "".join(lines).replace(" ", "").endswith("word" + "o" * 60)


def test_a_tolerance_that_is_the_general_one_is_not_repeated() -> None:
    hole = "[[hole]]\nat = [30, 20]\ndrill = 5\ndepth = 6\ntolerance = 0.1"
    assert "place" not in table_text(hole, more="general_tolerance = 0.1")


def scattered(step: float) -> str:
    points = ((4 + i % 17 * step, 4 + i // 17 * step + i * 7 % 3) for i in range(240))
    places = ", ".join(f"[{x}, {y}]" for x, y in points)
    return f"[[hole]]\ndrill = 1.5\ndepth = 3\nat = [{places}]"


def test_a_table_that_finds_no_room_beside_the_view_has_sheets_of_its_own() -> None:
    sheet = trial_sheet(scattered(6), "size = [110, 100, 10]")
    (setup,) = sheet.setups
    first, *more = sheets_of(sheet, setup, Purpose())
    assert isinstance(first, FaceSheet) and first.frame.table is None
    words = [text for text, _ in words_of(next(pages_of(sheet, setup, Purpose())))]
    assert "measure both bars first; table of holes: next sheet" in words
    found = {}
    for page in more:
        assert isinstance(page, TableSheet)
        rows = [[cell.words for cell in row] for row in page.table.rows]
        found |= {row[i]: row[i + 1 : i + 3] for row in rows for i in range(0, len(row), 3)}
    for mark in setup.view.marks:
        assert found[mark.letter] == [str(mark.x), str(mark.y)], mark.letter


def test_a_grid_is_told_in_one_line_and_nothing_else_is_left_out() -> None:
    sheet = trial_sheet(GRID + DOWELS, "size = [130, 100, 10]")
    (setup,) = sheet.setups
    table = framed(sheet, setup).table
    assert table is not None
    words = [" ".join(cell.words for cell in row) for row in table.rows]
    assert "A1 to A100: 10 x 10 from 6, 5, step X 12, then Y 10" in " ".join(words)
    assert {"B1 124 8", "B2 124 92"} <= set(words) or "B1 124 8 B2 124 92" in words
    assert not any("A57" in line for line in words)


@pytest.mark.parametrize(
    ("where", "words"),
    [
        (
            "row = { start = [5, 5], step = [6, 0], count = 12 }",
            "A1 to A12: 12 from 5, 5, step X 6",
        ),
        (
            "row = { start = [5, 5], step = [6, 2], count = 12 }",
            "A1 to A12: 12 from 5, 5, step X 6 Y 2",
        ),
        ("row = { start = [5, 5], step = [6, 0], count = 9 }", None),
        ("grid = { start = [5, 5], step = [6, 7], columns = 6, rows = 2 }\nskip = [4]", None),
        ("circle = { centre = [40, 30], diameter = 40, count = 12 }", None),
    ],
)
def test_only_equal_steps_are_folded(where: str, words: str | None) -> None:
    told = table_text(f"[[hole]]\ndrill = 2\ndepth = 3\n{where}", "size = [80, 60, 10]")
    if words is None:
        assert " to A" not in told
    else:
        assert words in told


def test_a_turned_part_is_folded_as_it_lies() -> None:
    """Place of every hole from the line's own figures, on the face turned as the setup has it."""
    held = '[[setup]]\nface = "top"\ntowards_you = "left"\n'
    grid_at = "grid = { start = [8, 6], step = [9, 5], columns = 6, rows = 4 }\n"
    part = f"[[hole]]\ndrill = 2\ndepth = 3\n{grid_at}{held}"
    sheet = make_drawing(plan_of(part, "size = [60, 30, 10]", lay="chosen"), "mm")
    (setup,) = sheet.setups
    (grid,) = setup.grids
    found = re.fullmatch(
        r"A1 to A24: 6 x 4 from (\S+), (\S+), step Y (\S+), then X (\S+)", grid.words
    )
    assert found is not None, grid.words
    x, y, along, across = map(float, found.groups())
    for index, mark in enumerate(setup.view.marks):
        assert (mark.x_mm, mark.y_mm) == pytest.approx(
            (x + index // 6 * across, y + index % 6 * along)
        )


def letters_on(pen: RecordingPen, frame: Frame) -> dict[str, tuple[float, float, float, float]]:
    """Letters beside the holes and their boxes."""
    edge = frame.table_at[0] if frame.table is not None else math.inf
    known = {mark.letter for mark in frame.view.marks}
    return {text: box for text, box in words_of(pen) if text in known and box[2] < edge}


def test_of_a_grid_ends_and_beginnings_of_rows_have_letters() -> None:
    sheet = trial_sheet(GRID + DOWELS, "size = [130, 100, 10]")
    (setup,) = sheet.setups
    frame = framed(sheet, setup)
    letters = letters_on(recorded(sheet, setup, frame), frame)
    assert {"A1", "A100", "B1", "B2"} <= letters.keys()
    assert letters.keys() <= {"A1", "A100", "B1", "B2", *(f"A{i}" for i in range(11, 100, 10))}
    assert "no room" not in " ".join(text for text, _ in words_of(recorded(sheet, setup, frame)))


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_a_letter_without_a_line_is_nearest_to_its_own_hole(path: Path) -> None:
    sheet = example_sheet(path, "mm")
    for setup in sheet.setups:
        frame = framed(sheet, setup)
        pen = recorded(sheet, setup, frame)
        leaders = [a[1] for verb, a in pen.strokes if verb == "line" and a[2] == "thin"]
        centres = {mark.letter: frame.at(mark.x_mm, mark.y_mm) for mark in frame.view.marks}
        for letter, box in letters_on(pen, frame).items():
            x1, y1, x2, y2 = box
            if any(x1 - 1 < x < x2 + 1 and y1 - 1 < y < y2 + 1 for x, y in leaders):
                continue
            middle = (x1 + x2) / 2, (y1 + y2) / 2
            nearest = min(centres, key=lambda one: math.dist(middle, centres[one]))
            assert nearest == letter


@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_a_letter_is_not_read_as_part_of_a_faces_name(path: Path) -> None:
    """Nothing stands within 3 mm of it on the same line."""
    sheet = example_sheet(path, "mm")
    for setup in sheet.setups:
        frame = framed(sheet, setup)
        pen = recorded(sheet, setup, frame)
        names = {name.upper() for name in setup.view.sides}
        sides = [box for text, box in words_of(pen) if text in names]
        assert len(sides) >= 3
        for letter, box in letters_on(pen, frame).items():
            for x1, y1, x2, y2 in sides:
                assert not over((x1 - 3, y1, x2 + 3, y2), box), letter


@pytest.mark.parametrize("projection", ["first", "third"])
@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_what_is_hidden_lies_in_the_part(path: Path, projection: Projection) -> None:
    for setup in example_sheet(path, "mm", projection).setups:
        views = [(setup.view.low_mm, setup.view.high_mm, setup.hidden)]
        views += [(one.low_mm, one.high_mm, one.lines) for one in (setup.front, setup.side) if one]
        for low, high, lines in views:
            for line in lines:
                for axis, at in ((a, end[a]) for end in (line.start, line.end) for a in (0, 1)):
                    if line.style == "hidden":
                        assert low[axis] - 1e-6 <= at <= high[axis] + 1e-6


def test_letters_are_of_one_height() -> None:
    sheet = odd_sheets()["inch singles"]
    (setup,) = sheet.setups
    frame = framed(sheet, setup)
    pen = recorded(sheet, setup, frame)
    shown = letters_on(pen, frame)
    heights = {a[2] for verb, a in pen.strokes if verb == "text" and a[1] in shown}
    assert len(heights) == 1


def test_letters_left_out_are_counted() -> None:
    sheet = trial_sheet(scattered(3), "size = [60, 60, 10]")
    (setup,) = sheet.setups
    frame = framed(sheet, setup)
    pen = recorded(sheet, setup, frame)
    (remark,) = [text for text, _ in words_of(pen) if "no room" in text]
    shown = len(letters_on(pen, frame))
    assert 0 < shown < 240
    assert remark == f"{240 - shown} letters have no room: see the table"


# --- figures, pitch circles, other views ---


@pytest.mark.parametrize(
    ("value", "units", "words"),
    [
        (0.3125, "inch", "0.3125"),
        (15.6875, "inch", "15.6875"),
        (1 / 32, "inch", "0.03125"),
        (1 / 64, "inch", "0.0156"),  # 0.015625: longer than a drawing gives it
        (0.1 + 0.2, "inch", "0.3"),
        (7.0710678, "mm", "7.071"),
        (7.9375, "mm", "7.9375"),  # 5/16 in
        (25.4 / 64, "mm", "0.397"),
        (-1e-12, "mm", "0"),
        (12.0, "mm", "12"),
        (-12.96045, "mm", "-12.96"),
        (3.99996, "mm", "4"),
    ],
)
def test_figures_are_as_the_drawing_gives_them(value: float, units: str, words: str) -> None:
    assert str(as_drawn(value, "inch" if units == "inch" else "mm")) == words


def test_figures_do_not_go_by_the_readout() -> None:
    """A count of 0.0002 in makes 0.3126 of 5/16 in; the drawing says 0.3125."""
    hole = '[[hole]]\ndrill = 0.25\nat = ["5/16", 0.5]\ndepth = 0.25'
    sheet = trial_sheet(hole, "size = [2, 1, 0.5]", "inch")
    words = {
        text
        for text, _ in words_of(recorded(sheet, sheet.setups[0], framed(sheet, sheet.setups[0])))
    }
    assert "0.3125" in words


CIRCLE = """
[[hole]]
drill = 4
depth = "through"
circle = { centre = [30, 20], diameter = 25.93, count = 5, start = 90 }
[[hole]]
drill = 3
depth = "through"
corners = { inset = 4 }
"""


def test_a_pitch_circle_has_its_line_and_its_diameter() -> None:
    """ISO 128-2 (from memory): long dashes and dots; corners, on a circle too, have none."""
    sheet = trial_sheet(CIRCLE)
    (setup,) = sheet.setups
    frame = framed(sheet, setup)
    pen = recorded(sheet, setup, frame)
    (ring,) = [a for verb, a in pen.strokes if verb == "arc" and a[4] == "centre"]
    assert ring[0] == pytest.approx(frame.at(30, 20))
    assert ring[1] == pytest.approx(frame.length(25.93 / 2))
    words = [text for text, _ in words_of(pen)]
    assert "Ø25.93" in words
    told = table_text(CIRCLE)
    assert "5 x drill 4 mm, through, on Ø25.93, first at 90 deg, 72 deg apart" in told


@pytest.mark.parametrize("projection", ["first", "third"])
def test_views_are_arranged_as_the_shop_says(projection: str) -> None:
    """ISO 5456-2 (from memory): in first angle the front is drawn over the plan and what is seen
    from the left at its right; in third angle the front under it, what is seen from the right at
    its right. A hole at the left end tells which end is drawn."""
    hole = '[[hole]]\nface = "{0}"\ndrill = {1}\nat = [10, 8]\ndepth = 5\n'
    holes = hole.format("left", 3) + hole.format("right", 5) + hole.format("front", 2)
    holes += "[[hole]]\ndrill = 4\nat = [30, 20]\ndepth = 6"
    plan = plan_of(holes, "size = [110, 50, 20]")
    plan = replace(plan, shop=replace(plan.shop, projection=projection))
    sheet = make_drawing(plan, "mm")
    setup = next(one for one in sheet.setups if one.face == "top")
    assert (setup.view.sides[0], setup.view.sides[1]) == ("left", "front")
    frame = framed(sheet, setup)
    front, side = frame.sights
    is_first = projection == "first"
    assert (front.at[1] > frame.high[1]) == is_first
    assert front.at[0] == frame.low[0]
    assert side.at == (pytest.approx(side.at[0]), frame.low[1]) and side.at[0] > frame.high[0]
    assert side.sight.face == ("left" if is_first else "right")
    radii = {ring.radius_mm for ring in side.sight.rings if ring.style == "edge"}
    assert radii == {1.5 if is_first else 2.5}
    # the hole in the top, 6 deep, ends so far from the top that is beside the plan or away from it
    floor = [
        line
        for line in side.sight.lines
        if line.style == "hidden" and {line.start[1], line.end[1]} == {18.0, 22.0}
    ]
    assert {line.start[0] for line in floor} == {-6.0 if is_first else 6.0}
    words = [text for text, _ in words_of(recorded(sheet, setup, frame))]
    assert f"{projection} angle" in words
    assert {"view on FRONT", f"view on {side.sight.face.upper()}"} <= set(words)


def test_a_blind_hole_has_its_bottom_a_through_hole_none() -> None:
    holes = """
[[hole]]
bore = 10
at = [15, 20]
depth = 6
[[hole]]
drill = 4
at = [45, 20]
depth = "through"
"""
    (setup,) = trial_sheet(holes).setups
    assert setup.front is not None
    across = [
        (line.start, line.end)
        for line in setup.front.lines
        if line.style == "hidden" and line.start[1] == line.end[1]
    ]
    assert across == [((10.0, -6.0), (20.0, -6.0))]  # flat: a boring head makes no point


# --- templates and# --- templates and corrections ---


def test_a_template_has_crosses_and_no_figures() -> None:
    sheet = trial_sheet(FOUR, FOUR_STOCK)
    setup = sheet.setups[0]
    frame = framed(sheet, setup, PURPOSES["template"])
    pen = recorded(sheet, setup, frame)
    words = [text for text, _ in words_of(pen)]
    assert {"A1", "A2", "A3", "A4", "template, scale 1:1"} <= set(words)
    assert not any(re.fullmatch(r"[\d.]+", text) for text in words)
    assert len(bars(pen)) == 2
    crosses = {a[:2] for verb, a in pen.strokes if verb == "line" and a[2] == "thin"}
    x, y = frame.at(10, 10)
    assert ((x - 2, y), (x + 2, y)) in crosses
    assert ((x, y - 2), (x, y + 2)) in crosses


def template_words(measured: tuple[float, float] | None = None, more: str = "") -> str:
    sheet = make_drawing(plan_of(FOUR, FOUR_STOCK, more=more), "mm")
    setup = sheet.setups[0]
    purpose = Purpose(is_template=True, measured_mm=measured, read_to_mm=0.1)
    pen = recorded(sheet, setup, framed(sheet, setup, purpose))
    return "\n".join(text for text, _ in words_of(pen))


def test_an_uncorrected_template_says_what_the_printer_may_cost() -> None:
    """The farthest hole is A3, hypot(90, 50) = 102.96 mm from zero: 0.5 % of it is 0.51 mm."""
    assert "a bar 0.5 mm out puts A3 0.51 mm off" in template_words()


def test_a_corrected_template_says_what_is_left() -> None:
    """Bars read to 0.1 mm may be 0.05 mm out: 0.05 % of 102.96 mm is 0.05 mm."""
    words = template_words((99.2, 99.7))
    assert "corrected, bars 99.2 and 99.7 mm: measure again" in words
    assert "bars read to 0.05 mm leave 0.05 mm at A3" in words


@pytest.mark.parametrize(
    ("hole", "is_warned"),
    [
        ('clear = "M4"\ndepth = "through"', True),  # 4.5, ISO 273 medium: 0.25 each way
        ('clear = "M6"\ndepth = "through"', False),  # 6.6: just 0.3
        ('clear = "M8"\ndepth = "through"', False),  # 9: 0.5
        ('clear = "M8"\nclearance = "close"\ndepth = "through"', True),  # 8.4: 0.2
        ('tap = "M8"\ndepth = "through"', False),  # through a clear hole of 9
        ('tap = "M3"\ndepth = "through"', True),  # through one of 3.4
        ("ream = 6\ndepth = 8", True),  # a pin has no room to be off
        ("drill = 6\ndepth = 8", False),
        ("drill = 6\ndepth = 8\ntolerance = 0.2", True),
        ("drill = 6\ndepth = 8\nposition = 0.8", False),
    ],
)
def test_a_template_warns_of_the_holes_that_it_cannot_serve(hole: str, is_warned: bool) -> None:
    """0.3 mm (common practice) against half the room of the screw, or the hole's own tolerance."""
    part = f"[[hole]]\nat = [[20, 20], [60, 40]]\n{hole}"
    sheet = make_drawing(plan_of(part, FOUR_STOCK, more="general_tolerance = 0.1"), "mm")
    (pen,) = pages_of(sheet, sheet.setups[0], Purpose(is_template=True))
    words = " ".join(text for text, _ in words_of(pen))
    assert ("not for drilling A" in words) == is_warned
    assert ("check before drilling" in words) != is_warned


def test_a_template_says_which_drill_and_has_circles_of_its_size() -> None:
    holes = """
[[hole]]
tap = "M5"
at = [20, 20]
depth = "through"
[[hole]]
clear = "M6"
at = [[50, 20], [70, 20]]
depth = "through"
[[hole]]
ream = 6
at = [50, 50]
depth = "through"
"""
    sheet = trial_sheet(holes, FOUR_STOCK)
    (pen,) = pages_of(sheet, sheet.setups[0], Purpose(is_template=True))
    frame = framed(sheet, sheet.setups[0], Purpose(is_template=True))
    assert frame.table is not None
    rows = [" ".join(cell.words for cell in row) for row in frame.table.rows]
    assert "A: drill 4.2 mm, then tap M5" in rows  # ISO 2306
    assert "B: drill 6.6 mm, M6 clearance" in rows  # ISO 273, medium
    assert any(re.fullmatch(r"C: drill 5\.\d mm, then ream 6 mm", row) for row in rows)
    circles = {(a[0], a[1]) for verb, a in pen.strokes if verb == "arc"}
    assert (frame.at(50, 20), pytest.approx(3.3)) in [(c, r) for c, r in circles]
    assert len(bars(pen)) == len(bars(pen, 101.6)) == 2


def long_template() -> tuple[Drawing, Purpose]:
    hole = '[[hole]]\nname = "h"\nclear = "M6"\ndepth = "through"\n'
    row = "grid = { start = [12, 15], step = [38, 70], columns = 11, rows = 5 }\n"
    return trial_sheet(hole + row, "size = [406.4, 310, 10]"), Purpose(is_template=True)


def test_tiles_show_every_hole_and_meet_at_their_marks() -> None:
    sheet, purpose = long_template()
    (setup,) = sheet.setups
    tiles = [page for page in sheets_of(sheet, setup, purpose) if isinstance(page, TileSheet)]
    assert {tile.of for tile in tiles} == {(2, 3)} and len(tiles) == 6
    marks: dict[str, set[tuple[tuple[float, float], ...]]] = {}
    for tile in tiles:
        for seam in tile.seams():
            x1, y1, x2, y2 = tile.window
            places = tile.marks_of(seam)
            assert all(x1 + 4 < x < x2 - 4 and y1 + 4 < y < y2 - 4 for x, y in places)
            marks.setdefault(
                f"{seam.number} {tile.column * 0 + tile.row * (seam.axis == 0)}"
                f"{tile.column * (seam.axis == 1)}",
                set(),
            ).add(tuple(places))
    assert all(len(places) == 1 for places in marks.values())  # the same on both tiles
    for mark in setup.view.marks:
        x, y = tiles[0].frame.at(mark.x_mm, mark.y_mm)
        windows = (tile.window for tile in tiles)
        assert any(x1 <= x <= x2 and y1 <= y <= y2 for x1, y1, x2, y2 in windows), mark.letter


@pytest.mark.needs("pdftoppm")
def test_printed_tiles_join_to_a_tenth(tmp_path: Path) -> None:
    """Seen by another program at 254 dots to the inch: each tile laid over its neighbour by the
    marks that they share, every hole is where the part has it, from the first."""
    sheet, purpose = long_template()
    (setup,) = sheet.setups
    tiles = [page for page in sheets_of(sheet, setup, purpose) if isinstance(page, TileSheet)]
    (tmp_path / "a.pdf").write_bytes(drawn(sheet, setup, ".pdf", purpose))
    subprocess.run(
        ["pdftoppm", "-r", "254", "-gray", tmp_path / "a.pdf", tmp_path / "a"], check=True
    )
    pages = sorted(tmp_path.glob("a*.pgm"))
    dots = [(np.asarray(Image.open(page))[:2100, :2970] < 160)[::-1] for page in pages]

    def seen(index: int, place: tuple[float, float], radius: float) -> NDArray[np.float64]:
        """Where the circle round a place of the whole is on a tile's print [mm]."""
        tile = tiles[index]
        x, y = (round(10 * (a + b)) for a, b in zip(place, tile.shift, strict=True))
        reach, aside = round(10 * radius) + 4, round(6 * radius)
        row = np.flatnonzero(dots[index][y + aside, x - reach : x + reach])
        column = np.flatnonzero(dots[index][y - reach : y + reach, x + aside])
        return np.array(
            [
                (line.min() + line.max() + 1) / 20 + (at - reach) / 10
                for line, at in ((row, x), (column, y))
            ]
        )

    moved: dict[int, NDArray[np.float64]] = {0: np.zeros(2)}
    for index, tile in enumerate(tiles[1:], 1):
        before = index - 1 if tile.column else index - 2
        axis = 0 if tile.column else 1
        seams = [s for s in tile.seams() if s.axis == axis]
        places = tile.marks_of(min(seams, key=lambda seam: seam.at_mm))
        over = np.mean([seen(before, p, 1.5) - seen(index, p, 1.5) for p in places], axis=0)
        moved[index] = moved[before] + over
    found, nominal = [], []
    for mark in setup.view.marks:
        x, y = tiles[0].frame.at(mark.x_mm, mark.y_mm)
        for index, tile in enumerate(tiles):
            x1, y1, x2, y2 = tile.window
            if x1 + 4 < x < x2 - 4 and y1 + 4 < y < y2 - 4:
                found.append(seen(index, (x, y), 3.3) + moved[index])
                nominal.append((mark.x_mm, mark.y_mm))
    assert len(found) >= 55
    off = np.array(found) - np.array(nominal)
    assert np.abs(off - off[0]).max() <= 0.1


def test_a_template_that_takes_too_many_sheets_is_refused() -> None:
    sheet = odd_sheets()["huge"]
    said = "4000 x 1500 mm at full size takes more than 30 sheets"
    with pytest.raises(MillprepError, match=said):
        list(sheets_of(sheet, sheet.setups[0], Purpose(is_template=True)))


# --- the command ---


def test_command_writes_a_file_for_each_setup(in_folder: Path) -> None:
    Path("part.toml").write_text(part_text(RICH, RICH_STOCK))
    for ending in ("svg", "png", "dxf"):
        ran = millprep("drawing", "part.toml", "-o", f"page.{ending}")
        assert ran.status == 0, ran.err
        files = sorted(path.name for path in Path().glob(f"*.{ending}"))
        assert files[:2] == [f"page-setup1.{ending}", f"page-setup2.{ending}"]
        again = millprep("drawing", "part.toml", "-o", f"page.{ending}")
        assert again.status == 0
        assert "unchanged" in again.out and "written" not in again.out


def test_command_writes_one_pdf_of_all_setups(in_folder: Path) -> None:
    Path("part.toml").write_text(part_text(RICH, RICH_STOCK))
    ran = millprep("drawing", "part.toml", "-o", "page.pdf", "--date", "2026-05-14")
    assert (ran.status, ran.out) == (0, "page.pdf: written\n")
    pages = PdfReader("page.pdf").pages
    count = len(trial_sheet(RICH, RICH_STOCK).setups)
    assert len(pages) == count
    for number, page in enumerate(pages, 1):
        text = page.extract_text()
        assert f"sheet {number} of {count}" in text
        assert f"setup {number} of {count}" in text
        assert "2026-05-14" in text


@pytest.mark.parametrize(
    ("paper", "size"), [("a4", (297, 210)), ("a3", (420, 297)), ("letter", (279.4, 215.9))]
)
def test_paper_is_as_asked(in_folder: Path, paper: str, size: tuple[float, float]) -> None:
    Path("part.toml").write_text(part_text(FOUR, FOUR_STOCK))
    assert millprep("drawing", "part.toml", "-o", "a.pdf", "--paper", paper).status == 0
    box = PdfReader("a.pdf").pages[0].mediabox
    points = [float(box.width), float(box.height)]
    assert points == pytest.approx([side * 72 / 25.4 for side in size], abs=0.01)
    Path("shop.toml").write_text(f'[drawing]\npaper = "{paper}"\n')
    assert millprep("drawing", "part.toml", "-o", "b.pdf", "--shop", "shop.toml").status == 0
    assert PdfReader("b.pdf").pages[0].mediabox == box
    other = "a3" if paper != "a3" else "a4"
    args = ("--shop", "shop.toml", "--paper", other)
    assert millprep("drawing", "part.toml", "-o", "c.pdf", *args).status == 0
    assert PdfReader("c.pdf").pages[0].mediabox != box
    assert millprep("drawing", "part.toml", "-o", "c.dxf", "--shop", "shop.toml").status == 0


def test_the_bars_of_an_inch_part_are_corrected_by_inches(in_folder: Path) -> None:
    """4 in that came out 3.98 in are stretched by 4 / 3.98."""
    Path("part.toml").write_text(
        part_text(
            '[[hole]]\ndrill = "1/4"\nat = [1, 1]\ndepth = 0.2', "size = [3, 2, 0.5]", units="inch"
        )
    )
    ran = millprep("drawing", "part.toml", "-o", "a.svg", "--measured-bars", "3.98 in,4 in")
    assert ran.status == 0, ran.err
    lines = ElementTree.parse("a.svg").getroot().iter(f"{SVG}line")
    lengths = [float(line.get("x2", 0)) - float(line.get("x1", 0)) for line in lines]
    assert any(length == pytest.approx(101.6 * 4 / 3.98, abs=0.01) for length in lengths)


@pytest.mark.parametrize("ending", ["svg", "pdf", "png", "dxf"])
def test_an_own_drawing_is_replaced_an_edited_one_is_not(in_folder: Path, ending: str) -> None:
    Path("part.toml").write_text(part_text(FOUR, FOUR_STOCK))
    page = Path(f"page.{ending}")
    assert millprep("drawing", "part.toml", "-o", page).status == 0
    Path("part.toml").write_text(part_text(FOUR.replace("90, 50", "80, 50"), FOUR_STOCK))
    assert millprep("drawing", "part.toml", "-o", page).status == 0
    page.write_bytes(page.read_bytes() + b" ")
    Path("part.toml").write_text(part_text(FOUR, FOUR_STOCK))
    assert millprep("drawing", "part.toml", "-o", page).status == 2


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("-o", "a.gif"), 'no drawing is written as ".gif"'),
        (("-o", "a"), 'no drawing is written as ""'),
        (("-o", "a.pdf", "--measured-bars", "94.9,100"), "the bar along X is 94.9 mm"),
        (("-o", "a.pdf", "--measured-bars", "100,105.1"), "the bar along Y is 105.1 mm"),
        (("-o", "a.pdf", "--measured-bars", "99"), '"99" is not two lengths'),
        (("-o", "a.pdf", "--measured-bars", "99,a"), '"99,a" is not two lengths'),
        (("-o", "a.pdf", "--measured-bars", "nan,100"), '"nan,100" is not two lengths'),
        (("-o", "a.dxf", "--measured-bars", "99,99"), "is for paper, and a .dxf file has none"),
        (("-o", "a.dxf", "--paper", "a4"), "--paper is for paper, and a .dxf file has none"),
        (("-o", "a.pdf", "--paper", "a2"), '--paper: no such word "a2"'),
        (("-o", "a.pdf", "--date", "today"), '--date: "today" is no day'),
    ],
)
def test_refusals(in_folder: Path, options: tuple[str, ...], message: str) -> None:
    Path("part.toml").write_text(part_text(FOUR, FOUR_STOCK))
    ran = millprep("drawing", "part.toml", *options)
    assert ran.status == 2
    assert message in ran.err
    assert not list(Path().glob("a*"))


def test_limits_of_the_correction_are_accepted(in_folder: Path) -> None:
    Path("part.toml").write_text(part_text(FOUR, FOUR_STOCK))
    assert millprep("drawing", "part.toml", "-o", "a.svg", "--measured-bars", "95,105").status == 0
    inches = millprep(
        "drawing", "part.toml", "-o", "b.svg", "--units", "inch", "--measured-bars", "3 15/16,4.10"
    )
    assert inches.status == 0, inches.err
    text = Path("b.svg").read_text()
    assert "corrected, bars 100.01 and 104.14 mm: measure again" in text
    assert "bars read to 0.79 mm" in text  # half of 1/16 in


def test_a_template_larger_than_paper_is_refused(in_folder: Path) -> None:
    held = '[[setup]]\nface = "top"\nbacking = 20\n'
    Path("part.toml").write_text(part_text(HUGE + held, "size = [4000, 1500, 20]"))
    far = "{ x = [0, 9000], y = [0, 9000], z = [-280, 0] }"
    Path("shop.toml").write_text(f"[mill]\ntravel = {far}\n")
    large = ("--template", "--shop", "shop.toml")
    ran = millprep("drawing", "part.toml", "-o", "a.pdf", *large)
    assert ran.status == 2
    assert "4000 x 1500 mm at full size takes more than 30 sheets" in ran.err
    assert millprep("drawing", "part.toml", "-o", "a.dxf", *large).status == 0


def test_letters_that_a_format_lacks_are_told(in_folder: Path) -> None:
    holes = FOUR.replace("corner", "угол")
    Path("part.toml").write_text(part_text(holes, FOUR_STOCK))
    for ending, is_told in (("pdf", True), ("png", True), ("svg", False), ("dxf", False)):
        ran = millprep("drawing", "part.toml", "-o", f"a.{ending}")
        assert ran.status == 0
        assert ("у г о л" in ran.err) == is_told


def test_tee_draws_the_same_on_every_pen() -> None:
    sheet = trial_sheet(RICH, RICH_STOCK)
    setup = sheet.setups[0]
    frame = framed(sheet, setup)
    one, two = RecordingPen(), RecordingPen()
    draw(sheet, setup, TeePen([one, two]), frame)
    assert one == two == recorded(sheet, setup, frame)
