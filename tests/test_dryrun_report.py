"""Picture, comparison, time and trace of a dry run."""

from __future__ import annotations

import json
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from jobs import millprep
from numpy.testing import assert_allclose
from pens import Bounds
from PIL import Image
from test_dryrun import DRILL, HEAD, LINES, PART, SPOT, TAP, WHOLE, dryrun

from millprep.base.findings import Finding, MillprepError
from millprep.base.marks import is_own_unedited
from millprep.base.records import replace
from millprep.canvas.lettering import CAPITAL_OVER_SIZE, corners_of
from millprep.canvas.recording import RecordingPen
from millprep.model.scene import Box, Disc, Scene
from millprep.model.shop import Control, Mill
from millprep.proven.dryrun import dry_run
from millprep.reading.gcode import read_program
from millprep.reading.simulate import simulate
from millprep.report.picture import PAGE_MM, draw
from millprep.report.views import VIEWS, Shown, clipped, lines_of, spots_of, window_of

Rectangle = tuple[float, float, float, float]
SCENE = Scene(
    Box((0.0, 0.0, -20.0), (60.0, 40.0, 0.0)),
    (Box((70.0, 0.0, -20.0), (80.0, 30.0, 12.0), "strap clamp"),),
)
MILL = Mill(((-400.0, 0.0), (-200.0, 0.0), (-300.0, 0.0)), speed_range_rpm=(60.0, 3000.0))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "plate.toml").write_text(PART)
    (tmp_path / "plate.nc").write_text(WHOLE)
    return tmp_path


def shown(text: str = WHOLE, scene: Scene | None = SCENE, *findings: Finding) -> Shown:
    run = read_program(text.encode(), Control(), file="plate.nc")
    done = simulate(run, scene, MILL, Control(), file="plate.nc")
    runs = [("plate.nc", run)]
    return Shown("Plate", runs, scene, done.holes, findings, False, done.record, [done.sideways])


def drawn(one: Shown) -> list[tuple[str, tuple[Any, ...]]]:
    pen = RecordingPen()
    draw(pen, one)
    return pen.strokes


# The picture


def test_rapids_and_feeds_differ_by_their_lines() -> None:
    strokes = drawn(shown())
    styles = [arguments[-1] for verb, arguments in strokes if verb == "line"]
    assert {"hidden", "thin"} <= set(styles)  # broken for rapids, plain for feeds
    words = [arguments[1] for verb, arguments in strokes if verb == "text"]
    assert {"feed", "rapid", "stock", "strap clamp", "plan"} <= set(words)


def test_the_views_are_to_scale() -> None:
    strokes = drawn(shown())
    boxes = [a[0] for verb, a in strokes if verb == "outline" and a[1] == "edge"]
    sizes = [(c[2][0] - c[0][0], c[2][1] - c[0][1]) for c in boxes]
    scale = next(a[1] for verb, a in strokes if verb == "text" and a[1].startswith("scale"))
    factor = float(re.search(r"scale (\d+) : 1", scale)[1])  # type: ignore[index]
    assert_allclose(
        sizes, [(60 * factor, 40 * factor), (60 * factor, 20 * factor), (40 * factor, 20 * factor)]
    )
    circles = [a[1] for verb, a in strokes if verb == "arc" and a[4] == "thin"]
    assert circles.count(3.0 * factor) == 2  # two M6, drawn as they end


def test_everything_lies_on_the_page() -> None:
    far = WHOLE.replace("G0 X10. Y10. Z25.", "G0 X900. Y-900. Z200.\nG0 X10. Y10. Z25.", 1)
    disc = Scene(Disc((-20.0, -20.0, -6.0), (20.0, 20.0, 0.0), 2))
    for text, scene in ((WHOLE, SCENE), (far, SCENE), (far, None), (HEAD, None), (WHOLE, disc)):
        bounds = Bounds()
        draw(bounds, shown(text, scene, *[_finding(9)] * 60))
        assert bounds.low is not None
        assert bounds.high is not None
        assert min(bounds.low) >= 0
        assert bounds.high[0] <= PAGE_MM[0]
        assert bounds.high[1] <= PAGE_MM[1]


def _finding(line: int) -> Finding:
    return Finding("stop", "hits-fixture", "it does", file="plate.nc", line=line)


def test_each_finding_stands_where_its_line_goes_under_its_number() -> None:
    line = WHOLE.splitlines().index("X30. Y10.") + 1
    strokes = drawn(shown(WHOLE, SCENE, _finding(line)))
    numbers = [a for verb, a in strokes if verb == "text" and a[1] == "1"]
    assert len(numbers) == 4  # in each view, and in the key
    spots = [a[0] for verb, a in strokes if verb == "spot"]
    above = next(a[0] for verb, a in strokes if verb == "outline" and a[1] == "edge")
    scale = (above[2][0] - above[0][0]) / 60
    place = ((spots[0][0] - above[0][0]) / scale, (spots[0][1] - above[0][1]) / scale)
    assert_allclose(place, (30.0, 10.0))


EXAMPLES = [path for path in sorted(Path("parts").glob("*.toml")) if "assembly" not in path.name]
_NAME = "{http://www.w3.org/2000/svg}"


def pictures_of_faults(part: Path, folder: Path) -> Iterator[ET.Element]:
    """Pictures of the part's programs, a setup each, every hole off by a figure of its own."""
    ran = millprep("program", part, "-o", folder / "p.nc")
    assert ran.status == 0, ran.err
    for number, program in enumerate(sorted(folder.glob("p*.nc")), 1):
        off = re.sub(
            r"X(-?[\d.]+)",
            lambda m: f"X{float(m[1]) + 0.4 + abs(float(m[1])) * 37 % 1:.3f}",
            program.read_text(),
        )
        program.write_text(off)
        picture = program.with_suffix(".svg")
        ran = millprep("dryrun", program, "--part", part, "--setup", number, "--picture", picture)
        assert "hole-off" in ran.out
        yield ET.fromstring(picture.read_bytes())


def text_boxes(root: ET.Element) -> list[tuple[str, Rectangle]]:
    anchors = {"start": "left", "middle": "middle", "end": "right"}
    found = []
    for one in root.iter(_NAME + "text"):
        height = float(one.attrib["font-size"]) * CAPITAL_OVER_SIZE
        at = float(one.attrib["x"]), -float(one.attrib["y"])
        words = one.text or ""
        corners = corners_of(at, words, height, anchors[one.attrib["text-anchor"]], 0.0)
        found.append((words, rectangle(corners)))
    return found


def frames(root: ET.Element) -> list[Rectangle]:
    """The frames of the numbers: stock and fixtures have another line, the sign other corners."""
    found = [
        [(float(x), -float(y)) for x, y in re.findall(r"([-\d.]+),([-\d.]+)", points)]
        for one in root.iter(_NAME + "polygon")
        if one.attrib["class"] == "thin" and (points := one.attrib["points"])
    ]
    return [rectangle(corners) for corners in found if len({y for _, y in corners}) == 2]


def rectangle(corners: list[tuple[float, float]]) -> Rectangle:
    x, y = zip(*corners, strict=True)
    return min(x), min(y), max(x), max(y)


def overlap(a: Rectangle, b: Rectangle) -> bool:
    room = 1e-2  # the file's last place, twice
    return min(a[2], b[2]) - max(a[0], b[0]) > room and min(a[3], b[3]) - max(a[1], b[1]) > room


@pytest.mark.parametrize("part", EXAMPLES, ids=lambda path: path.stem)
def test_no_words_of_a_picture_stand_on_others(part: Path, tmp_path: Path) -> None:
    for root in pictures_of_faults(part, tmp_path):
        texts, framed = text_boxes(root), frames(root)
        assert len(framed) >= 3  # at least one a view
        for (words, one), (others, two) in combinations(texts, 2):
            assert not overlap(one, two), (words, others)
        for one, two in combinations(framed, 2):
            assert not overlap(one, two)
        for frame in framed:
            assert len([words for words, box in texts if overlap(frame, box)]) == 1


def test_a_number_stands_on_no_line_where_there_is_room(tmp_path: Path) -> None:
    (root,) = pictures_of_faults(Path("parts/flywheel.toml"), tmp_path)
    lines = [
        [float(one.attrib[name]) for name in ("x1", "y1", "x2", "y2")]
        for one in root.iter(_NAME + "line")
    ]
    for low_x, low_y, high_x, high_y in frames(root):
        inside = [
            line
            for line in lines
            for share in np.linspace(0, 1, 400)
            if low_x < line[0] + share * (line[2] - line[0]) < high_x
            and low_y < -line[1] - share * (line[3] - line[1]) < high_y
        ]
        assert inside == []


def test_fixtures_that_hide_each_other_share_their_letters() -> None:
    jaws = [Box((0.0, y, -30.0), (60.0, y + 20.0, -5.0), "jaw") for y in (-20.0, 40.0)]
    strokes = drawn(shown(WHOLE, replace(SCENE, fixtures=tuple(jaws))))
    words = [arguments[1] for verb, arguments in strokes if verb == "text"]
    assert words.count("A, B") == 1  # front elevation
    assert words.count("A") == words.count("B") == 3  # in two views, and in the key


def test_a_picture_of_a_long_program_draws_what_paper_can_show() -> None:
    rows = "".join(f"G1 X{x % 50}. Y{x % 7}. F100.\n" for x in range(20_000))
    one = shown(HEAD + "G0 X0. Y0. Z1.\n" + rows + "M30\n")
    paths = one.paths()
    _, feeds, is_all = lines_of(paths, VIEWS[0], window_of(one, paths), 0.05)
    assert is_all
    assert feeds.shape[1] <= 350  # each way once, there and back


def test_lines_are_cut_at_the_window() -> None:
    one = shown()
    window = window_of(one, one.paths())
    lines = np.array([[-500.0, 5.0, 500.0, 5.0], [10.0, 900.0, 20.0, 950.0]]).T
    kept, inside = clipped(lines, VIEWS[0], window)
    assert inside.tolist() == [0]
    assert_allclose(kept[:, 0], [window.low[0], 5.0, window.high[0], 5.0])


@pytest.mark.parametrize("ending", [".svg", ".png"])
def test_picture_files(folder: Path, capsys: pytest.CaptureFixture[str], ending: str) -> None:
    picture = folder / f"plate{ending}"
    part = folder / "plate.toml"
    assert dryrun(folder / "plate.nc", part=part, picture=picture) == 0
    data = picture.read_bytes()
    assert is_own_unedited(data)
    if ending == ".svg":
        root = ET.fromstring(data)
        assert root.attrib["width"] == "297mm"
    else:
        with Image.open(picture) as image:
            assert image.size == (2339, 3307)  # two sheets
    assert dryrun(folder / "plate.nc", part=part, picture=picture) == 0
    assert picture.read_bytes() == data
    picture.write_bytes(b"mine")
    with pytest.raises(MillprepError):
        dryrun(folder / "plate.nc", part=part, picture=picture)
    assert picture.read_bytes() == b"mine"


def test_endings_that_no_picture_has(folder: Path) -> None:
    for options in ({"picture": folder / "a.jpg"}, {"html": folder / "a.txt"}):
        with pytest.raises(MillprepError) as caught:
            dryrun(folder / "plate.nc", **options)
        assert "endings" in caught.value.findings[0].remedy


def test_two_options_with_one_file(folder: Path) -> None:
    with pytest.raises(MillprepError) as caught:
        dryrun(
            folder / "plate.nc", picture=folder / "a.svg", output=folder / "a.svg", format="text"
        )
    assert "name one file" in caught.value.findings[0].message
    assert not (folder / "a.svg").exists()


# The comparison


def against(folder: Path, capsys: pytest.CaptureFixture[str], text: str) -> dict[str, Any]:
    (folder / "new.nc").write_text(text)
    dryrun(
        folder / "new.nc", part=folder / "plate.toml", against=[folder / "plate.nc"], format="json"
    )
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)["against"]
    return answer


def renumbered(text: str) -> str:
    return "\n".join(f"N{n} {line}" for n, line in enumerate(text.splitlines(), 1)) + "\n"


def in_inches(text: str) -> str:
    text = re.sub(
        r"(?<![A-Z])([XYZRQF])(-?[\d.]+)", lambda m: f"{m[1]}{float(m[2]) / 25.4:.7f}", text
    )
    return text.replace("G21", "G20")


@pytest.mark.parametrize(
    "written",
    [
        renumbered,
        lambda text: text.replace("G0", "G00").replace("\n", "\n\n"),
        lambda text: text.replace("G80\n", "G80 (all of them)\n"),
        lambda text: text.lower(),
        lambda text: in_inches(text),
    ],
    ids=["renumbered", "spaced", "commented", "lower case", "inches"],
)
def test_nothing_is_told_of_what_the_tool_does_alike(
    folder: Path, capsys: pytest.CaptureFixture[str], written: Any
) -> None:
    answer = against(folder, capsys, written(WHOLE))
    assert answer["same"]
    assert answer["moves"] == answer["holes"] == []


EDITS = [
    ("Z-14.502", "Z-13.502", "a depth"),
    ("G98 G82 X10. Y10.", "G98 G82 X10.5 Y10.", "a place"),
    ("F120.", "F100.", "a feed"),
    ("S1500", "S1400", "a speed"),
    ("P0.2", "P0.5", "a dwell"),
    ("X30. Y10.\nG80\nG0 Z25. M5\nM30", "G80\nG0 Z25. M5\nM30", "a hole less"),
    ("TOOL 2 DRILL 5.000", "TOOL 2 DRILL 4.900", "another drill"),
]


@pytest.mark.parametrize(("old", "new", "name"), EDITS, ids=[edit[2] for edit in EDITS])
def test_an_edit_is_told(
    folder: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, name: str
) -> None:
    assert old in WHOLE
    answer = against(folder, capsys, WHOLE.replace(old, new, 1))
    assert not answer["same"]
    if name == "a depth":
        assert [hole["new"]["bottom_mm"] for hole in answer["holes"]] == [-13.502, -13.502]
        assert all("z" in move["what"] for move in answer["moves"] if move["what"])
    if name in ("a feed", "a speed", "a dwell"):
        assert answer["holes"] == []
        wanted = {"a feed": "feed", "a speed": "speed", "a dwell": "seconds"}[name]
        assert {word for move in answer["moves"] for word in move["what"]} == {wanted}
    if name == "a hole less":
        assert answer["removed"] > 0
        assert answer["moves"][0]["old_line"] > len((HEAD + LINES + SPOT + DRILL).splitlines())
    if name == "another drill":
        assert answer["changed"] == 0
        assert len(answer["holes"]) == 2


def test_the_comparison_as_text(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "new.nc").write_text(WHOLE.replace("Z-14.502", "Z-13.502"))
    dryrun(folder / "new.nc", against=[folder / "plate.nc"])
    page = capsys.readouterr().out
    assert "AGAINST THE OLDER PROGRAM" in page
    assert "tip at Z-13.502" in page
    assert "was X10.000" in page
    assert max(map(len, page.splitlines())) <= 79
    dryrun(folder / "plate.nc", against=[folder / "plate.nc"])
    assert "the tool does the same" in capsys.readouterr().out


def test_programs_by_tool_against_one_of_all(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = []
    for number, body in enumerate((SPOT, DRILL, TAP), 1):
        files.append(folder / f"plate-tool0{number}.nc")
        files[-1].write_text(HEAD + LINES + body + "M30\n")
    dryrun(*files, against=[folder / "plate.nc"], format="json")
    assert json.loads(capsys.readouterr().out)["against"]["holes"] == []


# Time and trace


def test_time_of_tools_and_changes(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "shop.toml").write_text(
        'base = "metric"\n[mill]\nacceleration = 100\ntool_change_time = 45\n'
        "spindle = { min = 50, max = 3000 }\n"
    )
    shop = str(folder / "shop.toml")
    dryrun(folder / "plate.nc", stock="60,40,20", shop=shop, format="json")
    answer = json.loads(capsys.readouterr().out)
    assert [row["tool_number"] for row in answer["tools"]] == [1, 2, 3]
    assert_allclose(sum(row["time_s"] for row in answer["tools"]), answer["time_s"], atol=0.01)
    assert answer["tool_changes"] == 3
    assert_allclose(answer["total_s"] - answer["time_s"], 3 * 45)
    # two spots, each 0.2 s of dwell
    assert_allclose(answer["tools"][0]["dwell_s"], 0.4)
    dryrun(folder / "plate.nc", stock="60,40,20", shop=shop)
    page = capsys.readouterr().out
    assert "2 min 15 s of it for 3 changes of tool" in page
    assert "T1 spot drill 10 mm" in page


def test_findings_are_numbered_as_in_the_picture(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "plate.nc").write_text(WHOLE.replace("S1500 M3", "S1500"))
    dryrun(folder / "plate.nc", stock="60,40,20")
    page = capsys.readouterr().out
    assert re.search(r"FOUND\n +1 (stop|warning) line \d+( to \d+)?: ", page)


def test_trace(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert dryrun(folder / "plate.nc", trace=True) == 0
    events = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert events[0]["line"] == 1
    assert {event["code"] for event in events} >= {"G21", "G54", "M6", "G43", "G83"}


def test_every_place_of_a_finding_is_marked(tmp_path: Path) -> None:
    """Holes that one line of a subprogram makes, and its file named on page and picture."""
    hole = "o<hole> sub\nG0 X#1 Y#2\nG0 Z-1.\nG1 Z-3. F90.\nG0 Z5.\no<hole> endsub\n"
    (tmp_path / "hole.ngc").write_text(hole)
    main = "G21 G90 G17 G54 G94\nS900 M3\nG0 Z5.\n#1=10.\no1 repeat [3]\n\n"
    main += "o<hole> call [#1] [10.]\n#1=[#1+12.]\no1 endrepeat\n"
    (tmp_path / "a.ngc").write_text(main + "M5\nM2\n")
    made = dry_run([tmp_path / "a.ngc"], stock="60,40,20", zero="left,front,top")
    spots = spots_of(made.seen, made.seen.paths())
    (dive,) = [n for n, one in enumerate(made.report.numbered, 1) if one.kind.startswith("rapid")]
    assert [spot.tolist() for n, spot in spots if n == dive] == [
        [x, 10.0, -1.0] for x in (10.0, 22.0, 34.0)
    ]
    assert "<b>stop</b>, 3 places, first at line 7:" in made.page().decode()


def test_page_and_picture_name_the_file_beside_the_program(tmp_path: Path) -> None:
    (tmp_path / "hole.ngc").write_text("o<hole> sub\nG0 X#<b>\no<hole> endsub\n")
    (tmp_path / "a.ngc").write_text("G21 G90 G17 G54\nG0 Z5.\no<hole> call\nM2\n")
    made = dry_run([tmp_path / "a.ngc"])
    assert f"<b>stop</b> {tmp_path / 'hole.ngc'} line 2:" in made.page().decode()
    assert "stop hole.ngc line 2: bad parameter" in made.picture().decode()


BAD_IN_INCHES = """G20 G90 G17 G40 G49 G80
(TOOL 1 DRILL 0.1250 IN)
T1 M6
S9000 M3
G54 G0 X0.5 Y0.5
G0 Z-0.1
G1 Z-1.5 F60.
G0 X1.5
G0 Z0.2
(TOOL 2 REAMER 0.2500 IN)
T2 M6
S300 M3
G0 X0.75 Y0.75
G81 Z-0.3 R0.1 F20.
G80
G0 X5. Z1.
G1 Z-0.2 F400.
M30
"""


@pytest.mark.parametrize("shop", ["metric", "inch"])
def test_a_program_in_inches_is_told_of_in_inches(in_folder: Path, shop: str) -> None:
    """Report, findings and page, whatever the shop; other units only where they are asked for."""
    Path("bad.nc").write_text(BAD_IN_INCHES)
    stock = ("--stock", "2 x 1 x 0.5 in", "--zero", "left,front,top", "--shop", shop)
    ran = millprep("dryrun", "bad.nc", *stock, "--html", "bad.html")
    told = " ".join(ran.out.split())
    assert "X0.5000 Y0.5000, 0.1000 in into solid material" in told
    assert "the feed of 60 in/min is over the mill's" in told
    page = Path("bad.html").read_text().split("<script>")[0]
    for text in (ran.out, re.sub(r"<style>.*?</style>|<[^>]*>", " ", page, flags=re.DOTALL)):
        assert len(text.split()) > 200
        assert not re.search(r"\d ?mm\b", text)
    asked = millprep("dryrun", "bad.nc", *stock, "--units", "mm").out
    assert "X12.700 Y12.700, 2.540 mm into solid material" in " ".join(asked.split())
