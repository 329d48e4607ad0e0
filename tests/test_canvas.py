"""Every pen draws the same verbs, each in its own format; read back by other readers."""

import io
import math
import subprocess
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pytest
from fpdf.fonts import CORE_FONTS_CHARWIDTHS
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from pens import Bounds, TeePen
from PIL import Image
from pypdf import PdfReader

from millprep.base.marks import is_own_unedited, sealed
from millprep.canvas.clipped import ClippedPen
from millprep.canvas.corrected import CorrectedPen
from millprep.canvas.dashes import dashed, dashed_arc
from millprep.canvas.dxf import DxfPen
from millprep.canvas.lettering import CAPITAL_OVER_SIZE, in_letters, printable, width_mm
from millprep.canvas.paper import PAPERS
from millprep.canvas.pdf import PdfPen
from millprep.canvas.pen import STYLES, Pen, Style, circle, on_circle, sweep_deg
from millprep.canvas.png import PngPen
from millprep.canvas.recording import RecordingPen
from millprep.canvas.svg import SvgPen

WIDTH, HEIGHT = 120.0, 80.0
SVG = "{http://www.w3.org/2000/svg}"
DOTS_PER_MM = 10


def trial(pen: Pen) -> None:
    """Every verb, every style."""
    for index, style in enumerate(STYLES):
        pen.line((5, 5 + 3 * index), (35, 5 + 3 * index), style)
        circle(pen, (60 + 8 * index, 15), 3, style)
    pen.arc((20, 60), 10, 95, 355, "thin")
    pen.outline([(50, 40), (80, 40), (80, 60), (50, 60)], "edge")
    pen.outline([(90, 40), (110, 40), (110, 60)], "hidden")
    pen.text((50, 70), "Ø6 <H7> & 1/2 in", 2.5)
    pen.text((40, 45), "middle", 2.5, "middle", 90.0)
    pen.text((110, 70), "right", 3.5, "right")
    pen.spot((65, 50), 1.0)


def written(ending: str, draw: Callable[[Pen], None] = trial, title: str = "Trial") -> bytes:
    pen: SvgPen | PdfPen | PngPen | DxfPen
    if ending == "dxf":
        pen = DxfPen()
    else:
        kind = {"svg": SvgPen, "pdf": PdfPen, "png": PngPen}[ending]
        pen = kind(WIDTH, HEIGHT, title)
    draw(pen)
    document = pen.document()
    return document if isinstance(document, bytes) else document.encode()


def seen(ending: str, draw: Callable[[Pen], None], folder: Path) -> NDArray[np.uint8]:
    """The page as dots, 10 to the millimetre, y up: rows by columns, 0 black."""
    path = folder / f"page.{ending}"
    path.write_bytes(written(ending, draw))
    if ending == "pdf":
        subprocess.run(
            ["pdftoppm", "-r", "254", "-gray", "-singlefile", path, folder / "page"], check=True
        )
        picture = Image.open(folder / "page.pgm")
    else:
        picture = Image.open(path).resize((round(WIDTH * 10), round(HEIGHT * 10)))
    return np.asarray(picture)[::-1]


ENDINGS = ("svg", "pdf", "png", "dxf")


@pytest.mark.parametrize("ending", ENDINGS)
def test_two_runs_give_the_same_bytes(ending: str) -> None:
    assert written(ending) == written(ending)


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_mark_fits_until_a_byte_changes(ending: str) -> None:
    data = sealed(written(ending))
    assert is_own_unedited(data)
    assert not is_own_unedited(written(ending))
    for place in (10, len(data) // 2, len(data) - 10):
        changed = bytearray(data)
        changed[place] ^= 1
        assert not is_own_unedited(bytes(changed))


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_marked_file_is_still_read(ending: str, tmp_path: Path) -> None:
    """By readers that check: Pillow the chunk's checksum, ezdxf the comment, a parser the SVG."""
    data = sealed(written(ending))
    if ending == "png":
        picture = Image.open(io.BytesIO(data))
        picture.verify()
        assert Image.open(io.BytesIO(data)).size == (945, 630)  # 120 x 80 mm at 200 to the inch
        assert picture.info["dpi"] == pytest.approx((200, 200), abs=0.01)
        assert picture.info["Title"] == "Trial"
    elif ending == "dxf":
        path = tmp_path / "a.dxf"
        path.write_bytes(data)
        assert not ezdxf.readfile(path).audit().has_errors
    elif ending == "svg":
        root = ElementTree.fromstring(data)
        assert (root.get("width"), root.get("height")) == ("120mm", "80mm")
    else:
        assert b"/MediaBox [0 0 340.16 226.77]" in data  # points of 1/72 in


def test_a_broken_checksum_is_an_edit() -> None:
    data = sealed(written("png"))
    place = data.index(b"millprep mark ") + len("millprep mark ") + 16
    assert not is_own_unedited(data[:place] + b"abcd" + data[place + 4 :])


@pytest.mark.needs("pdftoppm")
@pytest.mark.parametrize("ending", ["pdf", "png"])
def test_lines_and_circles_lie_where_they_were_drawn(ending: str, tmp_path: Path) -> None:
    def draw(pen: Pen) -> None:
        pen.line((10, 10), (110, 10), "edge")
        circle(pen, (40, 45), 20, "edge")
        pen.spot((90, 50), 2)

    dots = seen(ending, draw, tmp_path) < 128
    across = np.flatnonzero(dots[98:102].any(axis=0)) / DOTS_PER_MM
    assert (across.min(), across.max()) == pytest.approx((10, 110), abs=0.1)
    rows, columns = np.nonzero(dots[200:700, :650])
    assert ((columns.min() + columns.max() + 1) / 2 / 10) == pytest.approx(40, abs=0.1)
    assert ((rows.min() + rows.max() + 1) / 2 / 10 + 20) == pytest.approx(45, abs=0.1)
    assert ((columns.max() - columns.min() + 1) / 10) == pytest.approx(40.5, abs=0.15)  # and width
    spot = dots[450:550, 850:950]
    assert spot.sum() / 100 == pytest.approx(math.pi * 4, rel=0.03)


@pytest.mark.needs("pdftoppm")
@pytest.mark.parametrize("ending", ["pdf", "png"])
def test_an_arc_goes_anticlockwise_from_its_start(ending: str, tmp_path: Path) -> None:
    """The three quarters of a thread (ISO 6410-1) are open at the upper right."""
    dots = seen(ending, lambda pen: pen.arc((50, 40), 20, 95, 355, "edge"), tmp_path) < 128

    def is_drawn(angle: float) -> bool:
        x, y = 50 + 20 * math.cos(math.radians(angle)), 40 + 20 * math.sin(math.radians(angle))
        return bool(
            dots[round(10 * y) - 3 : round(10 * y) + 4, round(10 * x) - 3 : round(10 * x) + 4].any()
        )

    assert [is_drawn(angle) for angle in (45, 80, 100, 135, 225, 315, 350, 5)] == [
        False,
        False,
        True,
        True,
        True,
        True,
        True,
        False,
    ]


@pytest.mark.needs("pdftoppm")
@pytest.mark.parametrize("ending", ["pdf", "png"])
@pytest.mark.parametrize("turn_deg", [0.0, 90.0])
@pytest.mark.parametrize("anchor", ["left", "middle", "right"])
def test_words_stand_where_they_belong(
    ending: str, turn_deg: float, anchor: str, tmp_path: Path
) -> None:
    """Capitals without descenders: their box is the text's, along and across its line."""
    at = (60.0, 40.0)
    dots = seen(ending, lambda pen: pen.text(at, "HEIMH", 5, anchor, turn_deg), tmp_path) < 128
    rows, columns = np.nonzero(dots)
    low, high = (
        np.array([columns.min(), rows.min()]) / 10,
        np.array([columns.max(), rows.max()]) / 10,
    )
    along, across = (0, 1) if turn_deg == 0 else (1, 0)
    length = high[along] - low[along]
    assert length == pytest.approx(width_mm("HEIMH", 5), rel=0.12)
    begin = at[along] - length * {"left": 0, "middle": 0.5, "right": 1}[anchor]
    assert low[along] == pytest.approx(begin, abs=0.9)
    ends = (low[across], high[across]) if turn_deg == 0 else (high[across], low[across])
    up = 5 if turn_deg == 0 else -5
    assert ends == pytest.approx((at[across], at[across] + up), abs=0.25)


def test_svg_holds_each_verb_once() -> None:
    root = ElementTree.fromstring(written("svg"))
    count = {
        name: len(root.findall(f"{SVG}{name}"))
        for name in ("line", "circle", "path", "polygon", "text")
    }
    styles = len(STYLES)
    assert count == {"line": styles, "circle": styles + 1, "path": 1, "polygon": 2, "text": 3}
    texts = [text.text for text in root.findall(f"{SVG}text")]
    assert texts == ["Ø6 <H7> & 1/2 in", "middle", "right"]


def test_dxf_has_a_layer_for_each_style(tmp_path: Path) -> None:
    path = tmp_path / "a.dxf"
    path.write_bytes(written("dxf"))
    drawing = ezdxf.readfile(path)
    assert drawing.dxfversion == "AC1024"  # AutoCAD 2010
    assert drawing.units == ezdxf.units.MM
    for name, stroke in STYLES.items():
        layer = drawing.layers.get(name)
        assert layer.dxf.lineweight == round(100 * stroke.width_mm)
        if stroke.dashes_mm:
            assert drawing.linetypes.has_entry(layer.dxf.linetype)
    space = drawing.modelspace()
    assert [line.dxf.layer for line in space.query("LINE")] == list(STYLES)
    (arc,) = space.query("ARC")
    assert (arc.dxf.start_angle, arc.dxf.end_angle) == (95, 355)
    assert [text.dxf.text for text in space.query("TEXT")] == [
        "%%c6 <H7> & 1/2 in",
        "middle",
        "right",
    ]
    assert {text.dxf.layer for text in space.query("TEXT")} == {"text"}


def test_dxf_stands_at_its_own_zero() -> None:
    pen = DxfPen((30.0, 20.0))
    circle(pen, (40, 45), 5, "edge")
    drawing = ezdxf.read(io.StringIO(pen.document()))
    (found,) = drawing.modelspace().query("CIRCLE")
    assert tuple(found.dxf.center)[:2] == (10, 25)


def test_writing_dxf_leaves_the_library_as_it_was() -> None:
    written("dxf")
    assert not ezdxf.options.write_fixed_meta_data_for_testing


def test_recorder_replays_and_tee_feeds_all() -> None:
    first, second, third = RecordingPen(), RecordingPen(), RecordingPen()
    trial(TeePen([first, second]))
    first.replay(third)
    assert first == second == third
    assert {verb for verb, _ in first.strokes} == {"line", "arc", "outline", "text", "spot"}


def test_bounds_take_what_an_arc_passes() -> None:
    bounds = Bounds()
    bounds.arc((0, 0), 10, 45, 225, "thin")
    assert bounds.low == pytest.approx((-10, -10 * math.sqrt(0.5)))
    assert bounds.high == pytest.approx((10 * math.sqrt(0.5), 10))


def test_correction_makes_what_the_printer_makes_round_again() -> None:
    """A printer that gives 97 and 102 of 100 mm undoes the correction exactly."""
    recorded = RecordingPen()
    pen = CorrectedPen(recorded, (100 / 97, 100 / 102))
    pen.line((0, 0), (100, 0), "edge")
    circle(pen, (50, 40), 20, "edge")
    (_, line), (verb, outline) = recorded.strokes
    assert line[1][0] * 0.97 == pytest.approx(100)
    assert verb == "outline"
    for x, y in outline[0]:
        assert math.hypot(x * 0.97 - 50, y * 1.02 - 40) == pytest.approx(20)


def test_a_dashed_circle_stays_dashed_when_it_is_corrected() -> None:
    recorded = RecordingPen()
    circle(CorrectedPen(recorded, (1.01, 1.0)), (0, 0), 10, "hidden")
    assert {verb for verb, _ in recorded.strokes} == {"line"}
    drawn = sum(math.dist(a[0], a[1]) for _, a in recorded.strokes)
    assert drawn == pytest.approx(2 * math.pi * 10 * 3.0 / 4.5, rel=0.02)  # 3 mm of each 4.5
    dash = STYLES["hidden"].dashes_mm[0]
    assert all(math.dist(a[0], a[1]) < dash for _, a in recorded.strokes)  # drawn whole by any pen


def test_equal_correction_keeps_circles() -> None:
    recorded = RecordingPen()
    pen = CorrectedPen(recorded, (1.02, 1.02), (3.0, 4.0))
    trial(pen)
    _, arguments = next(stroke for stroke in recorded.strokes if stroke[0] == "arc")
    assert arguments[1] == pytest.approx(3 * 1.02)
    assert arguments[0] == pytest.approx((3 + 60 * 1.02, 4 + 15 * 1.02))


_near = st.floats(-20, 20)


@given(_near, _near, st.floats(0.5, 25), st.floats(0, 359), st.floats(1, 360))
def test_a_clipped_arc_is_what_of_it_lies_in_the_window(
    x: float, y: float, radius: float, start: float, sweep: float
) -> None:
    """Angle by angle: a place well inside is on one of the arcs drawn, and none is outside."""
    recorded = RecordingPen()
    ClippedPen(recorded, (-10, -5, 10, 5), (100, 50)).arc(
        (x, y), radius, start, start + sweep, "thin"
    )
    arcs = [(a[2], sweep_deg(a[2], a[3])) for verb, a in recorded.strokes if verb == "arc"]
    assert all(a[0] == (x + 100, y + 50) and a[1] == radius for _, a in recorded.strokes)
    for share in np.linspace(0.001, 0.999, 200):
        angle = start + share * sweep
        px, py = on_circle((x, y), radius, angle)
        margin = min(10 - abs(px), 5 - abs(py))
        is_drawn = any((angle - begin) % 360 <= length for begin, length in arcs)
        if abs(margin) > 0.05:
            assert is_drawn == (margin > 0)


@given(_near, _near, _near, _near)
def test_a_clipped_line_is_what_of_it_lies_in_the_window(
    x1: float, y1: float, x2: float, y2: float
) -> None:
    recorded = RecordingPen()
    ClippedPen(recorded, (-10, -5, 10, 5)).line((x1, y1), (x2, y2), "edge")
    kept = [a[:2] for _, a in recorded.strokes]
    drawn = sum(math.dist(*ends) for ends in kept)
    shares = np.linspace(0, 1, 2001)
    inside = (np.abs(x1 + shares * (x2 - x1)) <= 10) & (np.abs(y1 + shares * (y2 - y1)) <= 5)
    length = math.dist((x1, y1), (x2, y2))
    assert drawn == pytest.approx(inside.mean() * length, abs=length / 500 + 1e-5)
    for ends in kept:
        assert all(abs(x) <= 10 + 1e-9 and abs(y) <= 5 + 1e-9 for x, y in ends)


def test_clipped_words_are_whole_or_away() -> None:
    recorded = RecordingPen()
    pen = ClippedPen(recorded, (0, 0, 50, 20), (1, 2))
    for at in ((10, 10), (45, 10), (10, 19), (-1, 5)):
        pen.text(at, "WORDS", 2.5)
    pen.outline([(5, 5), (9, 5), (9, 9)], "edge")
    pen.outline([(40, 5), (60, 5), (60, 9), (40, 9)], "edge")
    verbs = [verb for verb, _ in recorded.strokes]
    assert verbs == ["text", "outline", "line", "line", "line"]
    assert recorded.strokes[0][1][0] == (11, 12)


def test_corrected_arc_is_open_where_it_was() -> None:
    recorded = RecordingPen()
    CorrectedPen(recorded, (1.01, 1.0)).arc((0, 0), 10, 95, 355, "thin")
    assert {verb for verb, _ in recorded.strokes} == {"line"}
    first, last = recorded.strokes[0][1][0], recorded.strokes[-1][1][1]
    assert math.degrees(math.atan2(first[1], first[0])) == pytest.approx(95, abs=0.1)
    assert math.degrees(math.atan2(last[1], last[0])) == pytest.approx(-5, abs=0.1)


@given(st.floats(0.01, 500), st.sampled_from([s.dashes_mm for s in STYLES.values()]), st.booleans())
def test_dashes_begin_and_end_with_a_dash(
    length: float, dashes: tuple[float, ...], is_ring: bool
) -> None:
    """ISO 128-2: a line of dashes begins and ends with a whole one."""
    pieces = dashed(length, dashes, is_ring=is_ring)
    assert pieces[0][0] == 0
    assert all(a < b for a, b in pieces)
    assert all(before[1] < after[0] for before, after in pairwise(pieces))
    if not is_ring:
        assert pieces[-1][1] == pytest.approx(length)
    assert pieces[-1][1] <= length + 1e-9


@pytest.mark.parametrize("style", ["hidden", "centre", "adjacent"])
def test_a_line_shorter_than_its_dashes_is_still_broken(style: Style) -> None:
    """Else the bottom of a small hole, or the short side of a jaw, looks like a visible edge."""
    dashes = STYLES[style].dashes_mm
    short = 0.4 * sum(dashes)
    pieces = dashed(short, dashes)
    assert len(pieces) > 1
    assert pieces[-1][1] == pytest.approx(short)
    svg, dxf = SvgPen(20, 20), DxfPen()
    for pen in (svg, dxf):
        pen.line((0, 5), (short, 5), style)
    (line,) = ElementTree.fromstring(svg.document()).findall(f"{SVG}line")
    assert "stroke-dasharray" in line.get("style", "")
    (entity,) = ezdxf.read(io.StringIO(dxf.document())).modelspace().query("LINE")
    assert 0 < entity.dxf.ltscale < 1


def test_the_sign_of_a_diameter_is_drawn_in_dots() -> None:
    """The typeface of the PNG pen lacks it: an O, struck through from the lower left."""

    def dark(words: str) -> NDArray[np.bool_]:
        pen = PngPen(40, 20)
        pen.text((10, 5), words, 8)
        return np.asarray(Image.open(io.BytesIO(pen.document()))) < 128

    sign, letter = dark("Ø"), dark("O")
    assert (sign | letter == sign).all()  # all of the letter is there
    rows, columns = np.nonzero(letter)
    stroke = np.argwhere(sign & ~letter)
    middle = (rows.min() + rows.max()) / 2, (columns.min() + columns.max()) / 2
    below = stroke[stroke[:, 0] > rows.max()]
    above = stroke[stroke[:, 0] < rows.min()]
    assert (below[:, 1] < middle[1]).all() and len(below)
    assert (above[:, 1] > middle[1]).all() and len(above)
    inside = stroke[np.abs(stroke - middle).max(axis=1) < 6]
    assert len(inside)


def test_dashes_of_an_arc_cover_it() -> None:
    pieces = dashed_arc(20, 30, 90, STYLES["hidden"].dashes_mm)
    assert pieces[0][0] == 30
    assert pieces[-1][1] == pytest.approx(120)
    assert dashed_arc(20, 30, 90, ()) == [(30, 120)]


def test_pdf_has_the_letters_of_its_encoding_beyond_latin_1() -> None:
    """WinAnsiEncoding (ISO 32000-1, annex D): 150 is the en dash, 128 the euro."""
    pen = PdfPen(WIDTH, HEIGHT, "a – b")
    pen.text((10, 10), "a – b €", 3)
    page = PdfReader(io.BytesIO(pen.document())).pages[0]
    assert page.extract_text().strip() == "a – b €"


def test_widths_agree_with_the_metrics_that_the_pdf_library_ships() -> None:
    """fpdf2 carries Adobe's metrics of the standard typefaces."""
    theirs = CORE_FONTS_CHARWIDTHS["helvetica"]
    for code in range(32, 127):
        ours = width_mm(chr(code), 1.0) * 1000 * CAPITAL_OVER_SIZE
        assert round(ours) == theirs[chr(code)], chr(code)


@pytest.mark.parametrize(
    ("words", "encoding", "shown"),
    [
        ("Ø6", "cp1252", "Ø6"),
        ("Ø6", "ascii", "dia 6"),
        ("Příruba", "cp1252", "Príruba"),
        ("½ in", "ascii", "1/2 in"),
        ("Втулка", "cp1252", "??????"),
        ("Łożysko", "ascii", "Lozysko"),
        ("a\x00b\nc", "ascii", "a b c"),
        ("±0.1°", "ascii", "+/-0.1 deg"),
    ],
)
def test_letters_that_a_typeface_lacks(words: str, encoding: str, shown: str) -> None:
    assert in_letters(words, encoding) == shown


@given(st.text())
def test_any_words_can_be_written(words: str) -> None:
    assert in_letters(words, "ascii").isascii()
    assert printable(words).isprintable()


@given(st.text(max_size=30))
def test_any_words_make_sound_xml(words: str) -> None:
    pen = SvgPen(10, 10, words)
    pen.text((1, 1), words, 2.5)
    ElementTree.fromstring(pen.document())


def test_papers_are_those_of_the_standard() -> None:
    """ISO 216: A3 is A4 twice, to the millimetre; ANSI Y14.1 (from memory): A is 8.5 by 11 in."""
    a4, a3, letter = (PAPERS[name] for name in ("a4", "a3", "letter"))
    assert (a4.width_mm, a4.height_mm) == (297, 210)
    assert (a3.width_mm, a3.height_mm) == (2 * a4.height_mm, a4.width_mm)
    assert (letter.width_mm, letter.height_mm) == pytest.approx((11 * 25.4, 8.5 * 25.4))
