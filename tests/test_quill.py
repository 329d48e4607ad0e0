"""X and Y driven, the quill by hand: what is written, and what is read back of it."""

import re
from pathlib import Path

import pytest
from jobs import RICH, Ran, millprep
from test_control import dryrun, lines_of, write

from millprep.model.shop import Control
from millprep.model.tools import Tap
from millprep.reading.gcode import read_program
from millprep.reading.moves import BY_HAND

XY = 'axes = "xy"'


def code_of(lines: list[str]) -> list[str]:
    return [re.sub(r"\(.*", "", line).strip() for line in lines]


def test_nothing_moves_the_quill(tmp_path: Path) -> None:
    words = " ".join(code_of(lines_of(tmp_path, XY))).split()
    assert not [word for word in words if word[0] in "ZRQH"]
    assert not {"G43", "G49", "G0", "G80", "G98", "G81", "G82", "G10", "G92"} & {*words}


def test_the_first_block_is_a_stop_for_the_quill(tmp_path: Path) -> None:
    lines = [line for line in lines_of(tmp_path, XY) if line[0] != "("]
    assert lines[0] == "M0 (QUILL UP, THEN START)"


def test_every_stop_before_a_move_ends_with_the_quill_up(tmp_path: Path) -> None:
    """And no move stands on the line of a stop; each is at the feed of the shop file."""
    lines = lines_of(tmp_path, f'{XY}\nxy_feed = 250\nspindle = "by hand"')
    stops = [line for line in lines if "M0" in line]
    assert len(stops) > 20
    assert all(re.fullmatch(r"M0 \((.*, )?QUILL UP, THEN START\)", line) for line in stops)
    moves = [line for line in lines if " X" in line and line[0] != "("]
    assert all(re.fullmatch(r"G1 X\S+ Y\S+ F250\.0", line) for line in moves)


def test_a_stop_at_each_hole(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, XY)
    at = lines.index("G1 X48.0 Y12.0 F300.0")
    assert lines[at + 1] == (
        "M0 (CAP, TOOL 1 SPOT DRILL 10 MM, DEPTH STOP 1.70, QUILL UP, THEN START)"
    )
    pecks = "DEPTH STOP 27.35, PECKS 9.00 13.50 18.00 22.50 24.75 27.35, QUILL UP, THEN START)"
    assert f"M0 (CAP, TOOL 3 DRILL 4.5 MM, {pecks}" in lines
    tap = "BY HAND UNDER THE CENTRE, 14.0 TURNS, END AT 11.20"  # 8, and 4 threads of 0.8
    assert f"M0 (SCREW 1, TOOL 7 TAP M5, {tap}, QUILL UP, THEN START)" in lines
    assert lines[-3:-1] == [lines[-3], f"M0 (SCREW 2, TOOL 7 TAP M5, {tap}, QUILL UP, THEN START)"]


def test_a_tool_is_changed_over_a_clear_place(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, XY)
    (place,) = {lines[n - 2] for n, line in enumerate(lines) if "FIT TOOL" in line}
    x, y = (float(word) for word in re.findall(r"[XY](\S+)", place))
    holes = [(12, 12), (48, 28), (30, 20), (48, 12)]
    assert min((x - a) ** 2 + (y - b) ** 2 for a, b in holes) > 10**2
    fit = (
        "M0 (FIT TOOL 2 DRILL 4.2 MM, TOUCH OFF ON TOP, ZERO THE QUILL SCALE, QUILL UP, THEN START)"
    )
    assert fit in lines
    ran = write(tmp_path, f"[mill]\nchange_place = [-30, 10]\n[control]\n{XY}")
    assert ran.status == 0, ran.err
    lines = (tmp_path / "out.nc").read_text().splitlines()
    at = lines.index("M0 (FIT TOOL 2 DRILL 4.2 MM, QUILL UP, THEN START)")
    assert lines[at - 2] == "G1 X-30.0 Y10.0 F300.0"
    assert lines[at + 1 : at + 3] == [
        place, "M0 (TOUCH OFF ON TOP, ZERO THE QUILL SCALE, QUILL UP, THEN START)"
    ]  # fmt: skip


def test_a_second_stop_where_the_shop_wants_it(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, f"{XY}\nquill_stop = true")
    holes = [n for n, line in enumerate(lines) if "DEPTH STOP" in line or "END AT" in line]
    assert all(lines[n + 1] == "M0 (QUILL UP?)" for n in holes)


def test_from_one_side_where_there_is_backlash(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, f"{XY}\nbacklash = {{ x = 0.1 }}")
    at = lines.index("G1 X48.0 Y12.0 F300.0")
    assert lines[at - 1] == "G1 X47.0 Y12.0 F300.0"


@pytest.mark.parametrize("more", ['comments = "none"', 'tool_change = "files"', 'units = "inch"'])
def test_every_kind_of_hole_on_every_face(tmp_path: Path, more: str) -> None:
    ran = write(tmp_path, f"{XY}\n{more}", RICH)
    assert ran.status == 0, ran.err
    assert len(list(tmp_path.glob("out-setup*.nc"))) >= 6


def test_the_stops_are_numbered_on_the_card(tmp_path: Path) -> None:
    lines_of(tmp_path, f'{XY}\ncomments = "none"')
    rows = (tmp_path / "out-tools.csv").read_text().splitlines()
    stops = [row for row in rows if row.startswith('"stop"')]
    assert stops[0] == '"stop","1","QUILL UP, THEN START"'
    assert stops[2].startswith('"stop","3","SCREW 1, TOOL 1 SPOT DRILL 10 MM, DEPTH STOP 2.55')
    assert len(stops) == (tmp_path / "out.nc").read_text().count("M0")


# read back

Break = tuple[str, str]
BROKEN: dict[str, tuple[str, str, str]] = {
    "another place": (r"G1 X48\.0 Y12\.0", "G1 X47.0 Y12.0", "hole-extra"),
    "another hole": (r"G1 X48\.0 Y12\.0 F300\.0\n(M0 \(CAP, TOOL 3)", r"\1", "hole-extra"),
    "a stop left out": (r"M0 \(CAP, TOOL 3.*\n", "", "operation-missing"),
    "a stop at no hole": (
        r"(M0 \(CAP, TOOL 3.*\n)", r"\1G1 X20.0 Y30.0 F300.0\n\1", "hole-extra"
    ),
    "too deep": (r"(TOOL 5 COUNTERBORE 8 MM, DEPTH STOP) 4\.40", r"\1 4.60", "too-deep"),
    "too shallow": (r"END AT 11\.20", "END AT 10.20", "too-shallow"),
    "another tool": (r"CAP, TOOL 3 DRILL 4\.5", "CAP, TOOL 4 DRILL 5.8", "quill-tool"),
    "another name": (r"PIVOT, TOOL 6", "SCREW 1, TOOL 6", "quill-hole"),
    "the quill down": (r"(PIVOT, TOOL 4.*), QUILL UP, THEN START", r"\1", "quill-not-up"),
    "no stop at first": (r"M0 \(QUILL UP, THEN START\)\n", "", "quill-not-up"),
    "the spindle on at a tap": (r"M5\n(\(TAP M5)", r"\1", "spindle-by-hand"),
    "the spindle off at a drill": (r"S1250 M3\n", "", "spindle-stopped"),
    "Z": (r"G1 X30\.0 Y20\.0", "G1 X30.0 Y20.0 Z1.0", "refused-word"),
    "a cycle": (r"G1 X30\.0 Y20\.0 F300\.0", "G81 X30.0 Y20.0 R2.0 F300.0", "unknown-cycle"),
}  # fmt: skip


def stops_of(folder: Path) -> list[str]:
    ran: Ran = millprep(
        *("dryrun", folder / "out.nc", "--part", folder / "part.toml"),
        *("--shop", folder / "shop.toml", "--format", "json"),
    )
    return [one["kind"] for one in ran.json["findings"] if one["severity"] == "stop"]


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sound")
    assert write(folder, XY).status == 0
    return folder


@pytest.mark.parametrize("name", BROKEN)
def test_what_a_stop_says_is_compared_with_the_part(tmp_path: Path, sound: Path, name: str) -> None:
    pattern, put, kind = BROKEN[name]
    text = (sound / "out.nc").read_text()
    changed, count = re.subn(pattern, put, text, count=1)
    assert count == 1
    for one in ("part.toml", "shop.toml"):
        (tmp_path / one).write_bytes((sound / one).read_bytes())
    (tmp_path / "out.nc").write_text(changed)
    assert kind in stops_of(tmp_path)


def test_a_hole_by_hand_is_moves_of_the_hand() -> None:
    text = (
        "G21 G90 G17 G54\n(TOOL 1 DRILL 5.000 MM POINT 118)\nM0 (QUILL UP)\nG1 X10. Y5. F200\n"
        "M0 (FIT TOOL 1)\nM0 (A, TOOL 1 DRILL 5 MM, DEPTH STOP 8.5, PECKS OF 4, QUILL UP)\n"
        "G1 X20.\nM30\n"
    )
    run = read_program(
        text.encode(), Control(axes="xy", length_offset=False, tool_change="stop"), file="t.nc"
    )
    moves = run.moves
    hand = moves.cycle == BY_HAND
    assert set(moves.line[hand].tolist()) == {6}
    assert moves.end[2][hand & (moves.kind == 1)].tolist() == [-4.0, -8.0, -8.5]
    assert moves.end[2][~hand].tolist() == moves.start[2][~hand].tolist()
    (stop,) = run.hole_stops
    assert (stop.line, stop.hole) == (6, "A")


def test_with_a_second_stop_the_first_is_not_enough() -> None:
    text = (
        "G21 G90 G17 G54\n(TOOL 1 DRILL 5.000 MM POINT 118)\nM0 (QUILL UP)\nG1 X10. Y5. F200\n"
        "M0 (FIT TOOL 1)\nM0 (A, TOOL 1 DRILL 5 MM, DEPTH STOP 8.5, QUILL UP, THEN START)\n"
        "{more}G1 X20.\nM30\n"
    )
    for more, kinds in (("", ["quill-not-up"]), ("M0 (QUILL UP?)\n", [])):
        control = Control(axes="xy", length_offset=False, tool_change="stop", quill_stop=True)
        run = read_program(text.format(more=more).encode(), control, file="t.nc")
        assert [one.kind for one in run.findings if one.severity == "stop"] == kinds


# tapping by hand at the hole, where the quill is driven

AT_HOLE = 'tapping = "by hand at the hole"'


@pytest.mark.parametrize("more", ["", '\ntool_change = "files"', "\nlength_offset = false\n"
                         'tool_change = "stop"\nzero_in_stop = true'])  # fmt: skip
def test_a_stop_over_each_hole_to_be_tapped(tmp_path: Path, more: str) -> None:
    ran = write(tmp_path, f"{AT_HOLE}{more}")
    assert ran.status == 0, ran.err
    assert "left to the hand" not in ran.out
    programs = sorted(tmp_path.glob("out*.nc"))
    assert dryrun(tmp_path, *programs).status == 0
    lines = programs[-1].read_text().splitlines()
    at = lines.index("M0 (TAPPING BY HAND: TAKE THE TOOL OUT, FIT A CENTRE)")
    assert lines[at - 2] == "M5"
    tap = "TOOL 7 TAP M5, BY HAND UNDER THE CENTRE, 14.0 TURNS, END AT 11.20, GO ON)"
    assert lines[at + 1 :] == [
        *("G0 X12.0 Y12.0", f"M0 (SCREW 1, {tap}", "G0 X48.0 Y28.0", f"M0 (SCREW 2, {tap}", "M30")
    ]


def test_a_tap_forgotten_at_its_hole_is_missed(tmp_path: Path) -> None:
    lines_of(tmp_path, AT_HOLE)
    text = (tmp_path / "out.nc").read_text()
    (tmp_path / "out.nc").write_text(re.sub(r"M0 \(SCREW 2, TOOL 7.*\n", "", text))
    assert stops_of(tmp_path) == ["operation-missing"]


def test_the_tap_of_the_table_has_no_say_in_how_deep_the_hand_goes(tmp_path: Path) -> None:
    """Lengths of the control's table count for what the control drives."""
    text = (
        "G21 G90 G17 G54 G43 H1\nG0 X10. Y10. Z60.\n"
        "M0 (A, TOOL 2 TAP M5, BY HAND UNDER THE CENTRE, END AT 8.0, GO ON)\nM30\n"
    )
    tap = Tap("M5", 5.0, length_mm=70.0, number=2, pitch_mm=0.8)
    control = Control(tapping="by hand at the hole")
    run = read_program(text.encode(), control, file="t.nc", tools=[tap])
    moves = run.moves
    low = (moves.end + moves.shift)[2].min()
    assert low == pytest.approx(-8.0)
    assert moves.end[:, -1].tolist() == [10.0, 10.0, 60.0]
