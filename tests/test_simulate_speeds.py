"""Surface speed where a tool cuts widest, feeds with a slipped point, and how a tool comes near.

Speeds and feeds are held against the table of materials, which test_reference_materials checks.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from jobs import millprep
from numpy.testing import assert_allclose
from test_simulate_faults import CONTROL, MILL, SCENE

from millprep.base.findings import Finding, MillprepError
from millprep.base.records import replace
from millprep.infiles import read_shop
from millprep.model.scene import Box, Disc, Scene
from millprep.model.tools import (
    SPOT_TIP_FLAT_MM,
    Counterbore,
    Countersink,
    Drill,
    Reamer,
    SpotDrill,
    Tap,
    Tool,
)
from millprep.reading.gcode import read_program
from millprep.reading.gcode.toolbook import contradiction, read_tool_line
from millprep.reading.moves import ProgramRun
from millprep.reading.simulate import simulate
from millprep.reading.simulate.form import form_of
from millprep.reading.simulate.record import Cut, widest_cut_mm

HEAD = "G21 G17 G90 G94 G40 G49 G80 G54\n"
COUNTERSINK = Countersink("20 mm", 20.0, point_angle_deg=90.0)
DRILL = Drill("5 mm", 5.0, point_angle_deg=118.0)
HOLE = Cut(2.5, -15.0, 2.5, 0.0)
COUNTERBORE = Cut(8.0, -5.0, 8.0, 0.0)
SPOT = Cut(3.1, -3.0, 0.1, 1.0, is_spot=True)


def read(line: str, body: str) -> ProgramRun:
    text = f"({line})\n{HEAD}T1 M6\nG43 H1\nG0 Z25.\n{body}G80\nG0 Z25.\nM5\nM30\n"
    run = read_program(text.encode(), CONTROL, file="part.nc")
    assert run.is_complete, run.findings
    return run


def found(line: str, body: str, scene: Scene = SCENE, *, spots: bool = False) -> list[Finding]:
    return list(
        simulate(
            read(line, body), scene, MILL, CONTROL, file="part.nc", expects_spot=spots
        ).findings
    )


@pytest.mark.parametrize(
    ("room", "tool", "tip_mm", "wanted_mm"),
    [
        ([], COUNTERSINK, -4.0, 8.0),  # 90 degrees: twice as wide as deep
        ([HOLE], COUNTERSINK, -4.0, 8.0),
        ([HOLE], COUNTERSINK, -2.4, 0.0),  # 4.8 wide in a hole of 5: it touches nothing
        ([HOLE, COUNTERBORE], COUNTERSINK, -8.0, 6.0),  # 3 below the floor, clear of the wall
        ([HOLE, COUNTERBORE], COUNTERSINK, -9.0, 18.0),  # wider at the top than the wall's 16
        ([SPOT], DRILL, -12.0, 5.0),
        ([Cut(1.5, -12.0, 0.0, 0.6)], DRILL, -12.0, 5.0),
        ([], Counterbore("10 mm", 10.0), -1.0, 10.0),
    ],
)
def test_the_widest_ring_that_is_cut(
    room: list[Cut], tool: Tool, tip_mm: float, wanted_mm: float
) -> None:
    assert_allclose(widest_cut_mm(room, form_of(tool), tip_mm, 0.0), wanted_mm, atol=1e-6)


def test_a_speed_over_twice_the_tables_is_told_with_both() -> None:
    # 90 degrees, 4 deep: 8 wide; pi x 8 x 1800 / 1000 = 45.2 m/min; S for 20 m/min is 796.
    line, hole = "TOOL 1 SPOT DRILL 10.000 MM POINT 90", "G98 G81 X20. Y20. Z-4. R2. F60.\n"
    (finding,) = found(line, f"S1800 M3\n{hole}")
    assert (finding.severity, finding.kind, finding.line) == ("stop", "speed-over-tool", 7)
    assert finding.message == (
        "45 m/min where the spot drill cuts 8.00 mm wide (S1800): over twice the table's 20 m/min "
        "for high speed steel in mild steel"
    )
    # of an inch program: 45.2 / 0.3048 = 148.4 ft/min, 20 / 0.3048 = 65.6
    assert replace(finding, units="inch").message == (
        "148 ft/min where the spot drill cuts 0.315 in wide (S1800): over twice the table's "
        "66 ft/min for high speed steel in mild steel"
    )
    assert finding.remedy == (
        "give S796; if the tool is solid carbide, say so in the shop file: carbide = true"
    )
    assert found(f"{line} CARBIDE", f"S1800 M3\n{hole}") == []
    assert found(line, f"S1800 M3\n{hole}", Scene(SCENE.stock)) == []  # of which material?
    assert found(line, f"S1500 M3\n{hole}") == []


def test_a_countersink_chatters_before_it_burns() -> None:
    # 10 mm wide; the table has 6 m/min for it and 20 for a drill: twice is 382 and 1273 rev/min.
    line, hole = "TOOL 1 COUNTERSINK 20.000 MM POINT 90", "G98 G81 X20. Y20. Z-5. R2. F40.\n"
    severity = {
        rpm: [f.severity for f in found(line, f"S{rpm} M3\n{hole}") if f.kind == "speed-over-tool"]
        for rpm in (370, 420, 1250, 1350)
    }
    assert severity == {370: [], 420: ["warning"], 1250: ["warning"], 1350: ["stop"]}


def test_nobody_can_turn_slower_than_the_slowest() -> None:
    scene = Scene(Box((0.0, 0.0, -60.0), (300.0, 300.0, 0.0)), material="stainless steel 304")
    body = "S60 M3\nG98 G81 X150. Y150. Z-2. R2. F5.\n"
    (finding,) = found("TOOL 1 COUNTERBORE 60.000 MM", body, scene)
    assert (finding.severity, finding.kind) == ("warning", "speed-over-tool")
    assert "no slower" in finding.remedy


@pytest.mark.parametrize(
    ("mode", "feed", "wanted"),
    [
        ("G94", "100.", []),
        ("G94", "9.", ["warning"]),  # the table's for 5 mm in mild steel: 0.083 mm x 1200
        ("G94", "0.1", ["stop"]),
        ("G95", "0.08", []),
        ("G95", "0.007", ["warning"]),
        ("G95", "0.0008", ["stop"]),
    ],
)
def test_a_slipped_point_in_the_mode_in_force(mode: str, feed: str, wanted: list[str]) -> None:
    body = f"S1200 M3\n{mode}\nG98 G81 X20. Y20. Z-8. R2. F{feed}\n"
    told = found("TOOL 1 DRILL 5.000 MM POINT 118", body)
    assert [f.severity for f in told if f.kind == "feed-under-tool"] == wanted
    bare = simulate(
        read("TOOL 1 DRILL 5.000 MM", body), None, MILL, CONTROL, file="part.nc"
    ).findings
    assert [f.severity for f in bare if f.kind == "feed-under-tool"] == wanted


def test_a_feed_with_a_slipped_point_in_words() -> None:
    told = found("TOOL 1 DRILL 5.000 MM", "S1200 M3\nG98 G81 X20. Y20. Z-8. R2. F0.1\n")
    (finding,) = [f for f in told if f.kind == "feed-under-tool"]
    assert finding.message == (
        "0.000083 mm a turn (0.1 mm/min at S1200): the tool rubs; the table's is 0.083 mm a turn"
    )
    assert finding.remedy == "give about 100 mm/min: is the decimal point in its place?"


@pytest.mark.parametrize(
    ("first", "wanted"),
    [
        ("G0 X20. Y20.\nG0 Z25.\n", [("stop", 4)]),
        ("G0 X0. Y0.\nG0 Z25.\n", [("stop", 4)]),  # nothing says that it stands there
        ("G1 X20. Y20. F100.\nG0 Z25.\n", [("stop", 4)]),
        ("G0 X20. Y20. Z25.\n", []),
        ("G0 Z25.\nX20. Y20.\n", []),
        ("G53 G0 Z0.\nG0 X20. Y20.\nG0 Z25.\n", []),
        ("G91 G28 Z0.\nG90 G0 X20. Y20.\nG0 Z25.\n", []),
        ("G98 G81 X20. Y20. Z-2. R2. F60.\n", []),
    ],
)
def test_sideways_at_a_height_that_nobody_knows(first: str, wanted: list[tuple[str, int]]) -> None:
    text = f"(TOOL 1 SPOT DRILL 6.000 MM POINT 90)\n{HEAD}T1 M6 S1500 M3\n{first}G0 Z25.\nM5\nM30\n"
    run = read_program(text.encode(), CONTROL, file="part.nc")
    found = simulate(run, SCENE, MILL, CONTROL, file="part.nc").findings
    assert [(f.severity, f.line) for f in found if f.kind == "height-unknown"] == wanted
    bare = simulate(run, None, MILL, CONTROL, file="part.nc").findings
    told = [f.severity for f in bare if f.kind == "height-unknown"]
    assert told == ["warning"] * len(wanted)


@pytest.mark.parametrize("side", [1, -1])
@pytest.mark.parametrize(("aside", "low", "is_clear"), [(12, 3.0, True), (12, 4.0, False),
                                                        (8, 3.0, False), (12.5, 3.45, True),
                                                        (12.5, 3.65, False)])  # fmt: skip
def test_a_lying_disc_falls_away_to_its_sides(
    side: int, aside: float, low: float, is_clear: bool
) -> None:
    # Radius 20 about Y0; a 2 mm drill is over Y11, Y7, Y11.5: 3.30, 1.27, 3.64 under the crown.
    bar = Scene(Disc((0.0, -20.0, -40.0), (80.0, 20.0, 0.0), 0))
    body = f"S1500 M3\nX20. Y{side * aside}\nZ-{low}\nX50.\n"
    kinds = [f.kind for f in found("TOOL 1 DRILL 2.000 MM", body, bar)]
    assert kinds[-1:] == ([] if is_clear else ["rapid-below-top"])


LINE = "TOOL 2 DRILL 5.000 MM"


@pytest.mark.parametrize(
    ("line", "table", "wanted"),
    [
        # the line says nothing of its point
        (LINE, Drill("5 mm", 5.0, point_angle_deg=135.0), None),
        (LINE, Reamer("5 mm", 5.0), ("drill", "reamer")),
        (LINE, Drill("5.5 mm", 5.5, point_angle_deg=118.0), ("drill, 5.000 mm", "drill, 5.500 mm")),
        (
            f"{LINE} POINT 135",
            Drill("5 mm", 5.0, point_angle_deg=118.0),
            ("drill, point 135 deg", "drill, point 118 deg"),
        ),
        (
            "TOOL 2 TAP 6.000 MM PITCH 0.75",
            Tap("M6", 6.0, pitch_mm=1.0),
            ("tap, pitch 0.75 mm", "tap, pitch 1 mm"),
        ),
        (
            "TOOL 2 TAP 6.000 MM PITCH 1 LEFT HAND",
            Tap("M6", 6.0, pitch_mm=1.0),
            ("tap, left hand", "tap, right hand"),
        ),
        (
            "TOOL 2 TAP 6.350 MM PITCH 1.27 FLANKS 55",
            Tap("1/4-20 UNC", 6.35, pitch_mm=1.27),
            ("tap, 1/4 BSW", "tap, 1/4-20 UNC"),
        ),
        ("TOOL 2 TAP 6.35 MM PITCH 1.27", Tap("1/4 BSW", 6.35, pitch_mm=1.27), None),
        (
            "TOOL 2 SPOT DRILL 6.000 MM FLAT 0.2",
            SpotDrill("6 mm", 6.0, point_angle_deg=90.0),
            ("spot drill, flat 0.2 mm", "spot drill, flat 0 mm"),
        ),
    ],
)
def test_tool_line_against_tool_table(
    line: str, table: Tool, wanted: tuple[str, str] | None
) -> None:
    tool = read_tool_line(line)
    assert tool is not None
    assert contradiction(tool, table) == wanted


def test_carbide_is_said_in_line_table_or_drawer(tmp_path: Path) -> None:
    tool = read_tool_line("TOOL 2 DRILL 5.000 MM POINT 140 CARBIDE")
    assert tool is not None and tool.is_carbide
    shop = tmp_path / "shop.toml"
    shop.write_text(
        '[drawer]\ndrills = [{ diameter = 5, carbide = true }, "6 mm"]\n'
        '[[tool]]\nnumber = 1\nkind = "spot drill"\ndiameter = 10\ncarbide = true\n',
        encoding="utf-8",
    )
    read = read_shop(str(shop))
    assert [drill.is_carbide for drill in read.cabinet.drills] == [True, False]
    assert read.tools[0].is_carbide
    assert read.tools[0].tip_flat_mm == SPOT_TIP_FLAT_MM == read.cabinet.spot_drills[0].tip_flat_mm
    shop.write_text('[drawer]\ndrills = [{ diameter = 5, carbide = "yes" }]\n', encoding="utf-8")
    with pytest.raises(MillprepError, match="true or false"):
        read_shop(str(shop))


PART = """\
part = "Plate"
units = "mm"
material = "mild steel"
[stock]
size = [60, 40, 12]
[[hole]]
name = "one"
drill = 5
spot = false
at = [20, 20]
depth = "through"
[[setup]]
face = "top"
zero = { x = "left", y = "front" }
"""
PROGRAM = f"{HEAD}T12 M6\nS4000 M3\nG43 H12\nG0 Z25.\nG98 G83 X20. Y20. Z-14.502 R2. Q4. F300.\n"
END = "G80\nG0 Z25.\nM5\nM30\n"
SHOP = "[mill]\nspindle = { min = 60, max = 6000 }\n[drawer]\ndrills = [%s]\n"


def test_a_hole_of_a_tool_that_nobody_describes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("part.toml").write_text(PART, encoding="utf-8")
    Path("a.nc").write_text(PROGRAM + END, encoding="utf-8")
    Path("shop.toml").write_text(SHOP % '"5 mm"', encoding="utf-8")
    ran = millprep(
        "dryrun", "a.nc", "--part", "part.toml", "--shop", "shop.toml", "--format", "json"
    )
    answer = json.loads(ran.out)
    assert [hole["diameter_mm"] for hole in answer["holes"]] == [None]
    told = [f for f in answer["findings"] if f["severity"] == "stop"]
    assert [(f["kind"], f["line"], f["message"]) for f in told] == [
        (
            "unknown-tool",
            6,
            "nothing says what T12 is, and it cuts: the hole at X20.000 Y20.000 is not confirmed",
        )
    ]
    assert ran.status == 1
    ran = millprep("dryrun", "a.nc", "--part", "part.toml", "--shop", "shop.toml")
    assert "nothing found" not in ran.out


@pytest.mark.parametrize(
    ("drawer", "status"), [('"5 mm"', 1), ("{ diameter = 5, carbide = true }", 0)]
)
def test_a_size_that_the_drawer_has_in_carbide_only(
    drawer: str, status: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # pi x 5 x 4000 / 1000 = 63 m/min; the table has 20 for high speed steel, 70 for carbide.
    monkeypatch.chdir(tmp_path)
    Path("part.toml").write_text(PART, encoding="utf-8")
    Path("a.nc").write_text(f"(TOOL 12 DRILL 5.000 MM)\n{PROGRAM}{END}", encoding="utf-8")
    Path("shop.toml").write_text(SHOP % drawer, encoding="utf-8")
    ran = millprep("dryrun", "a.nc", "--part", "part.toml", "--shop", "shop.toml")
    assert ran.status == status
    assert ("speed-over-tool" in ran.out) == bool(status)


@pytest.mark.parametrize(
    ("lines", "named", "taken"),
    [
        ("(TOOL 1 DRILL 5.000 MM)\n", "", 5.0),
        ("(TOOL 1 DRILL 5.000 MM)\n", "T1\n", 5.0),
        ("(TOOL 1 DRILL 5.000 MM)\n", "T2\n", None),
        ("(TOOL 1 DRILL 5.000 MM)\n(TOOL 2 DRILL 6.000 MM)\n", "", None),
        ("", "", None),
    ],
)
def test_the_only_tool_that_a_program_describes(
    lines: str, named: str, taken: float | None
) -> None:
    text = f"{lines}{HEAD}{named}S1200 M3\nG0 Z25.\nG98 G81 X20. Y20. Z-8. R2. F100.\n{END}"
    run = read_program(text.encode(), CONTROL, file="part.nc")
    (hole,) = simulate(run, SCENE, MILL, CONTROL, file="part.nc").holes
    assert hole.diameter_mm == taken
    noted = [f.severity for f in run.findings if f.kind == "tool-not-named"]
    assert noted == (["note"] if taken else [])
