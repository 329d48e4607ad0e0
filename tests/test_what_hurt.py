"""What once got through, from end to end, where no pair holds it; and the one table of dangers.

The pairs are in look_alikes/, what a command does to files is in test_nothing_lost.py.
"""

import re
import tomllib
from pathlib import Path

import pytest
from jobs import millprep

from millprep.base.kinds import KINDS

HERE = Path(__file__).parent
HEAD = 'part = "Plate"\nunits = "mm"\nmaterial = "mild steel"\n[stock]\nsize = [80, 50, 20]\n'
DATUM = '[datum]\nx = "left"\ny = "front"\n'
PIN = '[[hole]]\nname = "pin"\ndrill = 12\nat = [20, 20]\ndepth = "through"\n'
SETUP = '[[setup]]\nface = "top"\n'

# what stands after the datum, (line, kind) of the stop
KEPT_BACK = {
    "a drill into the table": (
        PIN + "breakthrough = 5\n" + SETUP + "backing = 3\n", (14, "hits-fixture"),
    ),
    "a clamp over the hole": (
        PIN + SETUP + "vice = { grip = 6 }\n"
        '[[setup.obstacle]]\nname = "clamp"\nfrom = [10, 10, 0]\nto = [30, 30, 15]\n',
        (17, "hits-fixture"),
    ),
    "a safe height under the clamp": (
        PIN + SETUP + "vice = { grip = 6 }\nsafe_height = 10\n"
        '[[setup.obstacle]]\nname = "clamp"\nfrom = [60, 10, 0]\nto = [70, 30, 15]\n',
        (17, "safe-height-low"),
    ),
    "jaws above the part": (PIN + SETUP + "vice = { grip = 30 }\n", (16, "jaws-too-high")),
    "jaws level with the part": (PIN + SETUP + "vice = { grip = 20 }\n", (16, "jaws-too-high")),
    "parallels beside the part": (
        PIN + SETUP + "parallels = { thickness = 4, height = 12, at = [60, 80] }\n",
        (16, "parallel-beside-part"),
    ),
    "nothing to ream": (
        PIN.replace("drill = 12", 'ream = 6\ndrills = ["6 mm"]'), (12, "hole-wrong-for-tool"),
    ),
    "nothing to tap": (
        PIN.replace("drill = 12", 'tap = "M6"\ndrills = ["6 mm"]'), (12, "hole-wrong-for-tool"),
    ),
    "a drill under the core": (
        PIN.replace("drill = 12", 'tap = "M6"\ndrills = ["4 mm"]'), (12, "hole-wrong-for-tool"),
    ),
    "a last drill too large": (
        PIN.replace("drill = 12", 'drill = 5\ndrills = ["3 mm", "6 mm"]'), (12, "wrong-drills"),
    ),
    "hundreds of pecks": (PIN.replace("12", "5") + "peck = 0.05\n", (14, "peck-too-small")),
}  # fmt: skip
COMMANDS = {
    "check": (), "listing": (), "dials": (), "markout": (),
    "program": ("-o", "a.nc"), "bench": ("-o", "a.html"), "drawing": ("-o", "a.svg"),
}  # fmt: skip


@pytest.mark.parametrize("what", KEPT_BACK)
def test_no_sheet_is_given_of_what_check_stops_at(what: str, in_folder: Path) -> None:
    """It hurts by hand as by program: check names the line, and all sheets are kept back."""
    text, (line, kind) = KEPT_BACK[what]
    Path("part.toml").write_text(HEAD + DATUM + text)
    found = millprep("check", "part.toml", "--format", "json").json["findings"]
    stops = {(one["line"], one["kind"]) for one in found if one["severity"] == "stop"}
    assert stops == {(line, kind)}
    for command, more in COMMANDS.items():
        ran = millprep(command, "part.toml", *more)
        assert ran.status == 1, command
        assert f"part.toml:{line}: stop: " in ran.out + ran.err, command
        assert [path.name for path in Path().iterdir()] == ["part.toml"], command


@pytest.mark.parametrize("peck", ["0.01", "0.000001", "1e-300"])
def test_a_peck_that_is_a_slip_is_one_short_refusal(peck: str, in_folder: Path) -> None:
    Path("part.toml").write_text(HEAD + DATUM + PIN + f"peck = {peck}\n")
    for command in ("check", "listing"):
        ran = millprep(command, "part.toml")
        assert ran.status == 2
        assert "part.toml:14: stop: " in ran.err
        assert len(ran.out + ran.err) < 200


def test_a_grip_is_of_the_blank_as_measured(in_folder: Path) -> None:
    """19.9 mm held of 20 by the drawing; the blank is 19.8, and the jaws stand above it."""
    measured = HEAD + "measured = { z = 19.8 }\n" + DATUM + PIN + SETUP
    Path("part.toml").write_text(measured + "vice = { grip = 19.9 }\n")
    ran = millprep("listing", "part.toml")
    assert ran.status == 1
    assert "part.toml:17: stop: setup 1: a grip of 19.9 mm on 19.8 mm: the jaws would" in ran.err


def test_one_tap_at_two_depths_has_a_program(in_folder: Path) -> None:
    """The continuing lines of the second G84 are beyond the second reader."""
    holes = "".join(
        f'[[hole]]\nname = "{name}"\ntap = "M5"\ndepth = {deep}\nat = [[{x}, 20], [{x + 10}, 20]]\n'
        for name, deep, x in (("a", 8, 10), ("b", 12, 40))
    )
    Path("part.toml").write_text(HEAD + DATUM + holes)
    ran = millprep("program", "part.toml", "-o", "a.nc")
    assert ran.status == 0, ran.err
    assert Path("a.nc").read_text().count("G84") == 2


@pytest.mark.parametrize("output", [".", "", "folder", "/"])
@pytest.mark.parametrize("command", ["program", "drawing", "bench", "listing"])
def test_a_folder_as_output_is_named_as_one(command: str, output: str, in_folder: Path) -> None:
    Path("part.toml").write_text(HEAD + DATUM + PIN)
    Path("folder").mkdir()
    ran = millprep(command, "part.toml", "-o", output)
    assert ran.status == 2
    assert f"{output or '.'}: stop: is a folder" in ran.err
    assert sorted(path.name for path in Path().iterdir()) == ["folder", "part.toml"]


def test_a_hole_that_the_switch_leaves_out_is_noted_without_a_part(in_folder: Path) -> None:
    begin = "(TOOL 1 DRILL 5.000 MM POINT 118)\nG21 G17 G90 G94 G40 G49 G80 G54\nT1 M6\nS1250 M3\n"
    cycle = "G98 G81 X20. Y20. Z-6. R2. F100.\n{}X40.\nG80\nG0 Z25.\nM5\nM30\n"
    for mark, is_told in (("/", True), ("", False)):
        Path("a.nc").write_text(begin + "G43 H1\nG0 Z25.\n" + cycle.format(mark))
        ran = millprep("dryrun", "a.nc", "--stock", "60,40,20")
        told = "with the block delete switch on: the hole at X40.000 Y20.000 is not made"
        assert (told in " ".join(ran.out.split())) is is_told
        assert ran.status == 0


def _dangers() -> list[tuple[set[str], set[str]]]:
    """(kinds, severities) of each row of the table of dangers."""
    page = (HERE.parent / "docs" / "findings.md").read_text(encoding="utf-8")
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in page.split("## How bad each danger is")[1].split("\n## ")[0].splitlines()
        if line.startswith("| ") and "`" in line
    ]
    return [(set(re.findall(r"`([a-z0-9-]+)`", row[1])), set(row[2:6])) for row in rows]


def test_the_table_of_dangers_has_kinds_and_severities_alone() -> None:
    for kinds, severities in _dangers():
        assert kinds - {"check"} <= set(KINDS)
        assert severities <= {"stop", "warning", "note", "-"}


def test_every_danger_of_a_pair_stands_in_the_table_as_it_is_found() -> None:
    rows = _dangers()
    lacking = set()
    for case in HERE.glob("look_alikes/*/case.toml"):
        for found in tomllib.loads(case.read_text(encoding="utf-8"))["danger"].get("found", []):
            severity, kind = found.split()[:2]
            if not any(kind in kinds and severity in severities for kinds, severities in rows):
                lacking.add(f"{severity} {kind}")
    # the switch the other way makes a warning of any stop: that row names no kind
    assert lacking <= {
        "warning spindle-stopped",
        "warning operation-missing",
        "warning rapid-below-top",
    }
