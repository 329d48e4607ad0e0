"""`millprep dryrun`: stock in words, reports, exit status, several programs, a part to compare."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import pytest
from jobs import RICH, RICH_STOCK, millprep, part_text
from numpy.testing import assert_allclose

from millprep.base.findings import MillprepError, WordError
from millprep.base.units import Units
from millprep.cli.dryrun import dryrun as command
from millprep.cli.gathering import gathering
from millprep.model.scene import Box, Disc, Scene
from millprep.proven.stock_words import read_stock, scene_of

PART = """\
part = "Plate"
units = "mm"
material = "mild steel"

[stock]
size = [60, 40, 20]

[[hole]]
name = "cover"
tap = "M6"
depth = 8
at = [[10, 10], [30, 10]]
"""
HEAD = "G21 G17 G90 G94 G40 G49 G80\nG54\n"
LINES = (
    "(TOOL 1 SPOT DRILL 10.000 MM POINT 90 FLAT 0.2)\n(TOOL 2 DRILL 5.000 MM POINT 118)\n"
    "(TOOL 3 TAP 6.000 MM PITCH 1.000 LEAD 4)\n"
)
SPOT = """\
T1 M6
S2000 M3
G43 H1
G0 X10. Y10. Z25.
G98 G82 X10. Y10. Z-3.1 R2. P0.2 F60.
X30. Y10.
G80
G0 Z25. M5
"""
DRILL = """\
T2 M6
S1500 M3
G43 H2
G0 X10. Y10. Z25.
G98 G83 X10. Y10. Z-14.502 R2. Q4.5 F120.
X30. Y10.
G80
G0 Z25. M5
"""
TAP = """\
T3 M6
S200 M3
G43 H3
G0 X10. Y10. Z25.
G98 G84 X10. Y10. Z-12. R5. F200.
X30. Y10.
G80
G0 Z25. M5
"""
WHOLE = HEAD + LINES + SPOT + DRILL + TAP + "M30\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "plate.toml").write_text(PART)
    (tmp_path / "plate.nc").write_text(WHOLE)
    return tmp_path


def dryrun(*files: Path, **options: Any) -> int:
    return gathering(command)(files=list(files), **options)


def scene_of_words(stock: str, zero: str | None, units: Units) -> Scene:
    return scene_of(read_stock(stock, units), zero)


def test_stock_in_words() -> None:
    assert scene_of_words("60,25.4,20", None, "mm").stock == Box((0, 0, -20), (60, 25.4, 0))
    assert scene_of_words("60,25.4,20", "right,back,bottom", "mm").stock == Box(
        (-60, -25.4, 0), (0, 0, 20)
    )
    assert scene_of_words("2,1,3/4", "centre,front,top", "inch").stock == Box(
        (-25.4, 0, -19.05), (25.4, 25.4, 0)
    )
    assert scene_of_words("dia 40 x 6", None, "mm").stock == Disc((-20, -20, -6), (20, 20, 0), 2)
    assert scene_of_words("60,25,20", "left,front,bottom", "mm").safe_height_mm == 30.0


@pytest.mark.parametrize(
    ("stock", "high_mm", "said"),
    [  # 1 in = 25.4 mm exactly
        ("4.35 x 2.35 x 0.157 in", (110.49, 59.69, 3.9878), "4.35 x 2.35 x 0.157 in"),
        ("4.35in, 2.35 in, .157 inches", (110.49, 59.69, 3.9878), "4.35 x 2.35 x .157 in"),
        ("60X25×20", (60, 25, 20), "60 x 25 x 20 mm"),
        ("60,25,20 mm", (60, 25, 20), "60 x 25 x 20 mm"),
        ('1 1/2" x 2" x 12 mm', (38.1, 50.8, 12), "1 1/2 in x 2 in x 12 mm"),
        ("dia 1 1/2 x 1/4 in", (38.1, 38.1, 6.35), "dia 1 1/2 x 1/4 in"),
    ],
)
def test_stock_with_its_unit(stock: str, high_mm: tuple[float, ...], said: str) -> None:
    for units in get_args(Units):
        if any(sign in stock for sign in ("in", "mm", '"')):
            read = read_stock(stock, units)
            assert_allclose(read.sizes_mm, high_mm)
            assert read.words == said
    assert read_stock(stock, "mm").words == said


def test_plain_figures_of_the_stock_are_in_the_units_of_the_report() -> None:
    assert_allclose(read_stock("4,2,1/2", "inch").sizes_mm, [101.6, 50.8, 12.7])
    assert read_stock("4,2,1/2", "inch").otherwise.words == "4 x 2 x 1/2 mm"
    assert read_stock("dia 40 x 6", "mm").otherwise.words == "dia 40 x 6 in"


@pytest.mark.parametrize(
    "stock",
    ["60,25", "60 x 25", "2 in x 25 x 20", "60,5 x 25 x 20", "a,b,c", "0,10,10", "dia x 6", ""],
)
def test_stock_that_is_none(stock: str) -> None:
    with pytest.raises((MillprepError, WordError)):
        read_stock(stock, "mm")


@pytest.mark.parametrize("zero", ["left,front", "front,left,top", "left,front,up", "", "a"])
def test_zero_that_is_none(zero: str) -> None:
    with pytest.raises(MillprepError) as caught:
        scene_of(read_stock("60,25,20", "mm"), zero or "x")
    assert "left,front,top" in caught.value.findings[0].remedy


def test_a_program_that_makes_the_part(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert dryrun(folder / "plate.nc", part=folder / "plate.toml") == 0
    page = capsys.readouterr().out
    assert "nothing found in what was checked" in page and "safe" not in page.lower()
    assert "air" in page and "NOT CHECKED" in page
    assert max(map(len, page.splitlines())) <= 80
    assert "spot drill 6.400, drill 5.000," in page


def test_the_json_object(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert dryrun(folder / "plate.nc", part=folder / "plate.toml", format="json") == 0
    answer = json.loads(capsys.readouterr().out)
    assert {
        "program",
        "stops",
        "warnings",
        "lines",
        "read_lines",
        "moves",
        "time_s",
        "extent_mm",
        "holes",
        "not_checked",
        "findings",
    } <= answer.keys()
    assert answer["lines"] == answer["read_lines"] == len(WHOLE.splitlines())
    assert answer["stops"] == 0
    assert answer["extent_mm"] == {"x": [10.0, 30.0], "y": [10.0, 10.0], "z": [-14.502, 25.0]}
    first = answer["holes"][0]
    assert (first["x_mm"], first["y_mm"], first["diameter_mm"]) == (10.0, 10.0, 6.0)
    assert_allclose(first["bottom_mm"], -14.502)
    assert first["operations"] == ["spot drill", "drill", "tap"]


SLIPS = [
    ("X30. Y10.\nG80\nG0 Z25. M5\nT3", "X30.1 Y10.\nG80\nG0 Z25. M5\nT3", "hole-off"),
    ("X30. Y10.\nG80\nG0 Z25. M5\nM30", "G80\nG0 Z25. M5\nM30", "operation-missing"),
    ("Z-12. R5.", "Z-11. R5.", "too-shallow"),
    (SPOT, "", "operation-missing"),
    ("DRILL 5.000", "DRILL 4.500", "wrong-diameter"),
]


@pytest.mark.parametrize(("old", "new", "kind"), SLIPS)
def test_a_program_that_does_not_make_the_part(
    folder: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, kind: str
) -> None:
    assert old in WHOLE
    (folder / "plate.nc").write_text(WHOLE.replace(old, new))
    status = dryrun(folder / "plate.nc", part=folder / "plate.toml", format="json")
    answer = json.loads(capsys.readouterr().out)
    assert status == 1
    assert kind in {finding["kind"] for finding in answer["findings"]}
    assert answer["stops"] > 0


def test_holes_of_the_part_are_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    without = WHOLE.replace("X30. Y10.\n", "")
    (folder / "plate.nc").write_text(without)
    assert dryrun(folder / "plate.nc", part=folder / "plate.toml", format="json") == 1
    findings = json.loads(capsys.readouterr().out)["findings"]
    missing = [f for f in findings if f["kind"] == "hole-missing"]
    assert [f["holes"] for f in missing] == [["cover 2"]]
    assert missing[0]["line"] is None


def test_one_program_a_tool_on_the_same_stock(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files = []
    for number, body in enumerate((SPOT, DRILL, TAP), 1):
        files.append(folder / f"plate-tool0{number}.nc")
        files[-1].write_text(HEAD + LINES + body + "M30\n")
    status = dryrun(*files, part=folder / "plate.toml", format="json")
    answer = json.loads(capsys.readouterr().out)
    assert status == 0
    assert [hole["operations"] for hole in answer["holes"]] == [["spot drill", "drill", "tap"]] * 2
    assert len(answer["programs"]) == 3
    assert dryrun(files[2], part=folder / "plate.toml") == 1  # tapped, and never drilled


def test_plain_stock(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert dryrun(folder / "plate.nc", stock="60,40,20", zero="left,front,top") == 0
    assert dryrun(folder / "plate.nc", stock="60,40,20", zero="right,front,top") == 1
    assert dryrun(folder / "plate.nc") == 0
    assert "no stock given" in capsys.readouterr().out


def test_without_stock_holes_are_told_in_the_system_that_the_program_names(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "shop.toml").write_text(
        'base = "metric"\n[control]\noffsets = { G54 = [0, 0, 0], G55 = [5, 5, 5] }\n'
    )
    (folder / "plate.nc").write_text(WHOLE.replace("G54", "(NOT G54)\nG55"))
    shop = str(folder / "shop.toml")
    dryrun(folder / "plate.nc", shop=shop, format="json")
    first = json.loads(capsys.readouterr().out)["holes"][0]
    assert (first["x_mm"], first["bottom_mm"]) == (10.0, -14.502)
    dryrun(folder / "plate.nc", shop=shop, stock="60,40,20", format="json")
    first = json.loads(capsys.readouterr().out)["holes"][0]
    assert (first["x_mm"], first["bottom_mm"]) == (15.0, -9.502)  # the stock stands on G54


def test_figures_in_inches(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert dryrun(folder / "plate.nc", stock="3,2,1", units="inch") == 0
    page = capsys.readouterr().out
    assert "0.3937" in page and "X inch" in page


def test_a_refused_program_is_reported_up_to_there(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "plate.nc").write_text(WHOLE.replace("G43 H3", "G43 H3 E7"))
    status = dryrun(folder / "plate.nc", part=folder / "plate.toml", format="json")
    answer = json.loads(capsys.readouterr().out)
    assert status == 1 and answer["read_lines"] < answer["lines"]
    assert any("not read to its end" in said for said in answer["not_checked"])
    assert not any(finding["kind"] == "hole-missing" for finding in answer["findings"])


def test_the_moves_as_a_table(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = folder / "moves.csv"
    assert dryrun(folder / "plate.nc", stock="60,40,20", moves=table) == 0
    rows = table.read_text().splitlines()
    assert rows[0] == "line,kind,x,y,z,feed"
    assert rows[1] == "9,rapid,10,10,25,"
    table.write_text("mine\n")
    with pytest.raises(MillprepError):
        dryrun(folder / "plate.nc", stock="60,40,20", moves=table)
    assert table.read_text() == "mine\n"


@pytest.mark.parametrize("content", [None, b"", b"  \n", b"\x00\x01G0"])
def test_what_is_no_program(folder: Path, content: bytes | None) -> None:
    path = folder / "other.nc"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(MillprepError) as caught:
        dryrun(path)
    assert [finding.kind for finding in caught.value.findings] == ["unreadable-file"]


def test_a_folder_is_no_program(folder: Path) -> None:
    with pytest.raises(MillprepError) as caught:
        dryrun(folder)
    assert "is a folder" in caught.value.findings[0].message


def test_options_that_exclude_each_other(folder: Path) -> None:
    with pytest.raises(MillprepError):
        dryrun(folder / "plate.nc", part=folder / "plate.toml", stock="60,40,20")
    with pytest.raises(MillprepError):
        dryrun(folder / "plate.nc", zero="left,front,top")
    with pytest.raises(MillprepError):
        dryrun(folder / "plate.nc", part=folder / "plate.toml", setup=2)


def test_a_program_for_another_setup_or_another_state_of_the_part_says_so(tmp_path: Path) -> None:
    part = tmp_path / "part.toml"
    part.write_text(part_text(RICH, RICH_STOCK))
    assert millprep("program", part, "-o", tmp_path / "p.nc").status == 0
    second = tmp_path / "p-setup2.nc"
    right = millprep("dryrun", second, "--part", part, "--setup", 2, "--format", "json").json
    assert not [f for f in right["findings"] if f["kind"].startswith("other-")]
    wrong = millprep("dryrun", second, "--part", part, "--format", "json").json
    (said,) = [f for f in wrong["findings"] if f["kind"] == "other-setup"]
    assert said["message"] == ("the program says that it is for setup 2; it is judged as setup 1")
    assert (said["severity"], said["line"]) == ("warning", 1)
    assert said["remedy"] == "dry-run it by itself, with --setup 2"
    part.write_text(part_text(RICH, RICH_STOCK) + "\n# a second thought\n")
    stale = millprep("dryrun", second, "--part", part, "--setup", 2, "--format", "json").json
    (said,) = [f for f in stale["findings"] if f["kind"] == "other-revision"]
    assert "the program was written for part mark" in said["message"]
