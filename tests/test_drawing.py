"""Drawings: true in size in every format, nothing over anything, all that a hole needs in words."""

import io
import itertools
import math
import re
import subprocess
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

from millprep.base.outfile import is_own_unedited
from millprep.canvas.lettering import room_mm
from millprep.canvas.recording import RecordingPen
from millprep.infiles import read_part, read_shop
from millprep.planning import make_plan
from millprep.sheets.drawing import Drawing, DrawnSetup, make_drawing
from millprep.writers.drawing import Frame, Purpose, draw, frame_for, model_frame
from millprep.writers.drawing.face import box_of
from millprep.writers.drawing.table import wrapped
from millprep.writers.drawn import drawn

PARTS = EXAMPLE_PARTS
SVG = "{http://www.w3.org/2000/svg}"
GRID = """
[[hole]]
name = "h"
drill = 3
depth = "through"
grid = { start = [6, 5], step = [12, 10], columns = 10, rows = 10 }
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
def example_sheet(path: Path, units: str) -> Drawing:
    plan = make_plan(read_part(path)[0], read_shop("metric"), "tool")
    return make_drawing(plan, "inch" if units == "inch" else "mm")


def odd_sheets() -> dict[str, Drawing]:
    return {
        "hundred": trial_sheet(GRID, "size = [120, 100, 10]"),
        "close": trial_sheet(CLOSE, "size = [60, 60, 10]"),
        "long names": trial_sheet(LONG_NAMES, "size = [80, 40, 10]"),
        "tiny": trial_sheet(TINY, "size = [5, 4, 3]"),
        "huge": trial_sheet(HUGE, "size = [4000, 1500, 20]"),
        "inch singles": trial_sheet(SINGLES, "size = [4, 3, 0.5]", "inch"),
        "rich": trial_sheet(RICH, RICH_STOCK),
    }


PURPOSES = {
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


@pytest.mark.parametrize("purpose", ["page", "template"])
@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("path", PARTS, ids=lambda path: path.stem)
def test_example_parts_have_nothing_over_anything(path: Path, units: str, purpose: str) -> None:
    sheet = example_sheet(path, units)
    for setup in sheet.setups:
        frame = frame_for(sheet, setup, PURPOSES[purpose])
        assert_nothing_collides(recorded(sheet, setup, frame))
        assert frame.paper.name == "A4"  # what is at hand at home
        assert frame.paper.reduction == 1


@pytest.mark.parametrize("purpose", PURPOSES)
@pytest.mark.parametrize("name", odd_sheets())
def test_odd_parts_have_nothing_over_anything(name: str, purpose: str) -> None:
    sheet = odd_sheets()[name]
    for setup in sheet.setups:
        assert_nothing_collides(recorded(sheet, setup, frame_for(sheet, setup, PURPOSES[purpose])))


@pytest.mark.parametrize("name", odd_sheets())
def test_models_have_nothing_over_anything(name: str) -> None:
    sheet = odd_sheets()[name]
    for setup in sheet.setups:
        assert_nothing_collides(recorded(sheet, setup, model_frame(sheet, setup)))


@pytest.mark.parametrize("purpose", PURPOSES)
@pytest.mark.parametrize("name", odd_sheets())
def test_all_stays_on_the_paper(name: str, purpose: str) -> None:
    """Also what a correction stretches, on the paper that then comes out of the printer."""
    sheet = odd_sheets()[name]
    setup = sheet.setups[0]
    frame = frame_for(sheet, setup, PURPOSES[purpose])
    bounds = Bounds()
    draw(sheet, setup, bounds, frame)
    assert bounds.low is not None and bounds.high is not None
    width, height = frame.paper_size_mm
    for axis, size in ((0, width), (1, height)):
        factor = frame.purpose.factors[axis]
        usable = (frame.paper.width_mm, frame.paper.height_mm)[axis]
        corner = (size - factor * usable) / 2
        assert corner + factor * bounds.low[axis] >= 5.0
        assert corner + factor * bounds.high[axis] <= size - 5.0
        assert factor * usable <= size + 1e-9


def bars(pen: RecordingPen) -> list[float]:
    """Lengths of wide lines that stand by themselves: the two bars."""
    wide = [a for verb, a in pen.strokes if verb == "line" and a[2] == "edge"]
    return [math.dist(a[0], a[1]) for a in wide if math.dist(a[0], a[1]) == pytest.approx(100)]


@pytest.mark.parametrize("name", odd_sheets())
def test_two_bars_of_100_mm_whatever_the_scale(name: str) -> None:
    sheet = odd_sheets()[name]
    pen = recorded(sheet, sheet.setups[0], frame_for(sheet, sheet.setups[0]))
    assert len(bars(pen)) == 2


def test_a_part_too_large_for_a0_is_reduced() -> None:
    sheet = odd_sheets()["huge"]
    frame = frame_for(sheet, sheet.setups[0])
    assert (frame.paper.name, frame.paper.reduction) == ("A3", 20)  # a scale of ISO 5455
    words = [text for text, _ in words_of(recorded(sheet, sheet.setups[0], frame))]
    assert "scale 1:20 on A3" in words


def test_the_largest_part_that_a_file_can_describe_finds_paper() -> None:
    sheet = trial_sheet("[[hole]]\ndrill = 10\ndepth = 5\nat = [5, 5]", "size = [10000, 10000, 50]")
    assert frame_for(sheet, sheet.setups[0]).paper.reduction == 50


def test_a_long_bar_keeps_to_a4_with_the_table_above() -> None:
    holes = """
[[hole]]
drill = 4
depth = "through"
row = { start = [10, 10], step = [19, 0], count = 11 }
"""
    sheet = trial_sheet(holes, "size = [210, 20, 10]")
    frame = frame_for(sheet, sheet.setups[0])
    assert (frame.paper.name, frame.paper.reduction) == ("A4", 1)
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


def hole_places(dots: NDArray[np.bool_], frame: Frame, size: float) -> NDArray[np.float64]:
    """(2, N) middle of what is dark round each hole's place, on the paper [mm]."""
    places = []
    for mark in frame.view.marks:
        x, y = frame.at(mark.x_mm, mark.y_mm)
        corner = round(10 * (y - size)), round(10 * (x - size))
        window = dots[
            corner[0] : corner[0] + round(20 * size), corner[1] : corner[1] + round(20 * size)
        ]
        rows, columns = np.nonzero(window)
        places.append(
            (
                (columns.min() + columns.max() + 1) / 20 + corner[1] / 10,
                (rows.min() + rows.max() + 1) / 20 + corner[0] / 10,
            )
        )
    return np.array(places).T


@pytest.mark.needs("pdftoppm")
def test_pdf_is_true_in_size(tmp_path: Path) -> None:
    """The bars are 100 mm and the holes 80 and 40 mm apart, as the part has them."""
    sheet = trial_sheet(FOUR, FOUR_STOCK)
    setup = sheet.setups[0]
    frame = frame_for(sheet, setup)
    dots = page_dots(drawn(sheet, setup, ".pdf"), tmp_path)
    assert 999 <= longest_run(dots[140]) <= 1001
    assert 999 <= longest_run(dots[:, 120]) <= 1001
    found = hole_places(dots, frame, 3.6)
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
        "x": max(longest_run(dots[row]) for row in range(125, 180)) * 0.0975,
        "y": max(longest_run(dots[:, column]) for column in range(90, 160)) * 0.101,
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
    pen = recorded(sheet, setup, frame_for(sheet, setup))
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
    (crossing,) = setup.view.crossings
    assert crossing.low_mm == pytest.approx((0, 7))  # at y 10, 6 across, from LEFT
    assert crossing.high_mm == pytest.approx((25, 13))
    pen = recorded(sheet, setup, frame_for(sheet, setup))
    assert sum(verb == "line" and a[2] == "hidden" for verb, a in pen.strokes) == 2


def test_running_dimensions_start_at_the_datum() -> None:
    """ISO 129-1: figures count from the ring at the origin; auxiliary ones in brackets."""
    words = [a[1] for a in strokes("text", FOUR, FOUR_STOCK)]
    assert {"0 LEFT", "10.000", "90.000", "(100.000)"} <= set(words)
    assert {"0 FRONT", "50.000", "(60.000)"} <= set(words)
    rings = [a for a in strokes("arc", FOUR, FOUR_STOCK) if a[1] == 1.0]
    assert len(rings) == 2


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
    frame = frame_for(sheet, sheet.setups[0])
    assert frame.table is not None
    return " ".join(cell.words for row in frame.table.rows for cell in row if cell.words)


@pytest.mark.parametrize(
    ("hole", "words"),
    [
        # ISO 286-2: 6 H7 is 0 to +12 um
        ('ream = 6\nfit = "H7"\ndepth = "through"', "ream 6 mm H7 (6.000 to 6.012 mm), through"),
        ("bore = 16\nlimits = [16, 16.02]\ndepth = 9", "bore 16 mm (16.000 to 16.020 mm), 9 mm"),
        ('tap = "M6"\ndepth = 8\ndrill_depth = 14', "tap M6, thread 8 mm deep, drilled 14 mm deep"),
        ("drill = 5\ndepth = 6\nposition = 0.04", "6 mm deep, place within dia 0.04 mm"),
        ("drill = 5\ndepth = 6\ntolerance = 0.02", "drill 5 mm, 6 mm deep, place +/- 0.02 mm"),
        ('drill = 5\ndepth = 6\nnote = "saw after"', "drill 5 mm, 6 mm deep, saw after"),
        (
            'clear = "M4"\ndepth = "through"\ncountersink = { diameter = 9, angle = 90 }',
            "clear 4.5 mm, through, countersink 9 mm x 90 deg",
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


def test_a_table_that_finds_no_room_says_so() -> None:
    holes = (
        "[[hole]]\ndrill = 1.5\ndepth = 3\n"
        "grid = { start = [4, 4], step = [4, 4], columns = 25, rows = 20 }"
    )
    sheet = trial_sheet(holes, "size = [110, 90, 10]")
    table = frame_for(sheet, sheet.setups[0]).table
    assert table is not None and table.is_cut
    (remark,) = table.rows[-1]
    shown = sum(bool(re.fullmatch(r"A\d+", cell.words)) for row in table.rows for cell in row)
    assert remark.words == f"{500 - shown} more places: see the listing"


def test_every_hole_stands_in_the_table_at_its_figures() -> None:
    sheet = odd_sheets()["hundred"]
    setup = sheet.setups[0]
    table = frame_for(sheet, setup).table
    assert table is not None
    rows = [[cell.words for cell in row] for row in table.rows]
    found = {tuple(row[i : i + 3]) for row in rows for i in range(0, len(row), 3)}
    assert {(m.letter, str(m.x), str(m.y)) for m in setup.view.marks} <= found


def test_every_hole_of_a_grid_has_its_letter() -> None:
    sheet = odd_sheets()["hundred"]
    setup = sheet.setups[0]
    frame = frame_for(sheet, setup)
    beside = [
        text
        for text, box in words_of(recorded(sheet, setup, frame))
        if box[2] < frame.table_at[0] and re.fullmatch(r"A\d+", text)
    ]
    assert sorted(beside) == sorted(mark.letter for mark in setup.view.marks)


def test_letters_left_out_are_counted() -> None:
    sheet = odd_sheets()["close"]
    pen = recorded(sheet, sheet.setups[0], frame_for(sheet, sheet.setups[0]))
    words = [text for text, _ in words_of(pen)]
    (remark,) = [text for text in words if "no room" in text]
    letters = sum(bool(re.fullmatch(r"A\d+", text)) for text in words) - 100  # less the table's
    assert remark == f"{100 - letters} letters have no room: see the table"


# --- templates and corrections ---


def test_a_template_has_crosses_and_no_figures() -> None:
    sheet = trial_sheet(FOUR, FOUR_STOCK)
    setup = sheet.setups[0]
    frame = frame_for(sheet, setup, PURPOSES["template"])
    pen = recorded(sheet, setup, frame)
    words = [text for text, _ in words_of(pen)]
    assert {"A1", "A2", "A3", "A4", "template, 1:1 on A4"} <= set(words)
    assert not any(re.fullmatch(r"[\d.]+", text) for text in words)
    assert not any(verb == "arc" for verb, _ in pen.strokes)
    assert len(bars(pen)) == 2
    crosses = {a[:2] for verb, a in pen.strokes if verb == "line" and a[2] == "thin"}
    x, y = frame.at(10, 10)
    assert ((x - 2, y), (x + 2, y)) in crosses
    assert ((x, y - 2), (x, y + 2)) in crosses


def template_words(measured: tuple[float, float] | None = None, more: str = "") -> str:
    sheet = make_drawing(plan_of(FOUR, FOUR_STOCK, more=more), "mm")
    setup = sheet.setups[0]
    purpose = Purpose(is_template=True, measured_mm=measured, read_to_mm=0.1)
    pen = recorded(sheet, setup, frame_for(sheet, setup, purpose))
    return "\n".join(text for text, _ in words_of(pen))


def test_an_uncorrected_template_says_what_the_printer_may_cost() -> None:
    """The farthest hole is A3, hypot(90, 50) = 102.96 mm from zero: 0.5 % of it is 0.51 mm."""
    assert "a bar 0.5 mm out puts A3 0.51 mm off" in template_words()


def test_a_corrected_template_says_what_is_left() -> None:
    """Bars read to 0.1 mm may be 0.05 mm out: 0.05 % of 102.96 mm is 0.05 mm."""
    words = template_words((99.2, 99.7))
    assert "corrected for bars of 99.2 and 99.7 mm: measure again" in words
    assert "bars read to 0.05 mm leave 0.05 mm at A3, the farthest" in words


def test_a_template_is_not_for_holes_closer_than_paper_keeps() -> None:
    assert "not for drilling A" in template_words(more="general_tolerance = 0.1")
    assert "not for drilling" not in template_words(more="general_tolerance = 0.5")


# --- the command ---


def test_command_writes_a_file_for_each_setup(in_folder: Path) -> None:
    Path("part.toml").write_text(part_text(RICH, RICH_STOCK))
    for ending in ("svg", "pdf", "png", "dxf"):
        ran = millprep("drawing", "part.toml", "-o", f"page.{ending}")
        assert ran.status == 0, ran.err
        files = sorted(path.name for path in Path().glob(f"*.{ending}"))
        assert files[:2] == [f"page-setup1.{ending}", f"page-setup2.{ending}"]
        again = millprep("drawing", "part.toml", "-o", f"page.{ending}")
        assert again.status == 0
        assert "unchanged" in again.out and "written" not in again.out


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
        "drawing", "part.toml", "-o", "b.svg", "--units", "inch", "--measured-bars", "3 15/16,3.94"
    )
    assert inches.status == 0, inches.err
    text = Path("b.svg").read_text()
    assert "corrected for bars of 100.013 and 100.076 mm" in text
    assert "bars read to 0.79375 mm" in text  # half of 1/16 in


def test_a_template_larger_than_paper_is_refused(in_folder: Path) -> None:
    held = '[[setup]]\nface = "top"\nbacking = 20\n'
    Path("part.toml").write_text(part_text(HUGE + held, "size = [4000, 1500, 20]"))
    far = "{ x = [0, 9000], y = [0, 9000], z = [-280, 0] }"
    Path("shop.toml").write_text(f"[mill]\ntravel = {far}\n")
    large = ("--template", "--shop", "shop.toml")
    ran = millprep("drawing", "part.toml", "-o", "a.pdf", *large)
    assert ran.status == 2
    assert "no sheet of paper takes 4000 x 1500 mm at full size" in ran.err
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
    frame = frame_for(sheet, setup)
    one, two = RecordingPen(), RecordingPen()
    draw(sheet, setup, TeePen([one, two]), frame)
    assert one == two == recorded(sheet, setup, frame)
