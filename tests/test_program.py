"""The drilling program for every control that can be described, and broken writers found out.

Each command below reads back, dry-runs and compares what it wrote: exit status 0 says that the
program gives back the part's holes. Outside readers of positions: pygcode and gcodeparser.
"""

import math
import re
import warnings
from collections.abc import Callable
from pathlib import Path

import pytest
from gcodeparser import parse_gcode_lines
from jobs import RICH, RICH_STOCK, Ran, millprep, part_text, shop_of
from numpy.testing import assert_allclose
from pygcode import Line, Machine

import millprep.writers.program as writer
from millprep.base.marks import is_own_unedited
from millprep.base.records import replace
from millprep.reading.gcode import read_program
from millprep.reading.moves import RAPID

SMALL = """
[[hole]]
name = "screw"
tap = "M5"
depth = 8
circle = { centre = [25, 25], diameter = 30, count = 6, start = 15 }
[[hole]]
name = "pivot"
ream = "6 mm"
at = [25, 25]
depth = "through"
[[hole]]
name = "cap"
clear = "M4"
counterbore = "M4 socket head"
at = [[60, 10], [60, 40]]
depth = "through"
"""


def write(
    folder: Path, control: str = "", holes: str = SMALL, *options: object, **more: str
) -> Ran:
    part, shop = folder / "part.toml", folder / "shop.toml"
    part.write_text(part_text(holes, RICH_STOCK, **more), encoding="utf-8")
    shop.write_text(f"# all else as in the metric shop\n{control}", encoding="utf-8")
    return millprep("program", part, "-o", folder / "out.nc", "--shop", shop, *options)


def text_of(folder: Path, name: str = "out.nc") -> str:
    return (folder / name).read_text(encoding="ascii")


def codes_in(text: str) -> set[str]:
    """G words outside comments."""
    return set(re.findall(r"G\d+", re.sub(r"\(.*?\)|;.*", "", text)))


def written(ran: Ran, folder: Path) -> list[str]:
    assert ran.status == 0, ran.err
    assert "stop:" not in ran.err
    return sorted(path.name for path in folder.glob("*.nc"))


ALL_CYCLES = '["G73", "G81", "G82", "G83", "G84", "G85"]'


@pytest.mark.parametrize(
    ("control", "needed", "banned"),
    [
        ("", {"G82", "G83", "G84", "G85"}, set()),
        ("cycles = true", {"G82", "G83", "G84", "G85"}, set()),
        ("cycles = false", {"G0", "G1", "G4"}, {"G73", "G81", "G82", "G83", "G84", "G85"}),
        ('cycles = ["G81", "G83"]', {"G83", "G4"}, {"G82", "G84", "G85", "G73"}),
        ('cycles = ["G84"]', {"G84", "G1"}, {"G81", "G82", "G83", "G85"}),
        ('tapping = "rigid"', {"G84"}, set()),
        ('tapping = "floating"', {"G84"}, set()),
        ('tapping = "none"', {"G83"}, {"G84"}),
        ('tapping = "reversing head"', {"G85"}, {"G84"}),
        ('tapping = "reversing head"\ncycles = ["G81"]', {"G1"}, {"G84", "G85"}),
        ('tapping = "reversing head"\ncycles = false', {"G1"}, {"G84", "G85"}),
        ("length_offset = true", {"G43"}, set()),
        ("length_offset = false", set(), {"G43"}),
        ('units = "inch"', {"G20"}, {"G21"}),
        ('units = "mm"', {"G21"}, {"G20"}),
        ("offsets = { G54 = [50, 20, -100] }\nstart = [0, 0, 0]", {"G54"}, set()),
    ],
)
def test_every_control_gets_a_program_that_makes_the_part(
    tmp_path: Path, control: str, needed: set[str], banned: set[str]
) -> None:
    assert written(write(tmp_path, f"[control]\n{control}"), tmp_path) == ["out.nc"]
    codes = codes_in(text_of(tmp_path))
    assert needed <= codes
    assert not banned & codes


@pytest.mark.parametrize("change", ["M6", "stop"])
@pytest.mark.parametrize("offset", ["true", "false"])
@pytest.mark.parametrize("comments", ["( )", ";", "none"])
def test_changes_offsets_and_comments_together(
    tmp_path: Path, change: str, offset: str, comments: str
) -> None:
    control = (
        f'[control]\ntool_change = "{change}"\nlength_offset = {offset}\ncomments = "{comments}"'
        "\nzero_in_stop = true"
    )
    if comments == "none":  # without tool lines the control's own table tells the sizes
        control += TABLE
    assert written(write(tmp_path, control), tmp_path) == ["out.nc"]
    text = text_of(tmp_path)
    assert ("M6" in text) is (change == "M6")
    assert ("G43" in text) is (offset == "true")
    assert ("(" in text) is (comments == "( )")
    assert (";" in text) is (comments == ";")
    if change == "stop":
        assert re.search(r"^M0\b", text, re.MULTILINE)


FIRST_STOP = {
    "M6": "M0 (WITH TOOL {n} {words} IN, TOUCH OFF ON TOP, SET Z0 OF G54)",
    "stop": "M0 (FIT TOOL {n} {words}, TOUCH OFF ON TOP, SET Z0 OF G54)",
}
MODES = ["G17 G21 G40 G49 G80 G90 G94", "G54"]
TOOLS = [
    "SPOT DRILL 10 MM", "DRILL 4.2 MM", "DRILL 4.5 MM", "DRILL 5.8 MM", "COUNTERBORE 8 MM",
    "REAMER 6 MM", "TAP M5",
]  # fmt: skip


@pytest.mark.parametrize("change", ["M6", "stop"])
@pytest.mark.parametrize("place", [None, (-30, 70)])
def test_what_comes_between_any_two_tools_without_lengths(
    tmp_path: Path, change: str, place: tuple[int, int] | None
) -> None:
    """Line by line. Up to 60 over TOP, which is the highest thing described; then the place, M5,
    the stop; then every mode, straight up, spindle on, three seconds, and only then X and Y."""
    control = f'[control]\ntool_change = "{change}"\nlength_offset = false\nzero_in_stop = true\n'
    where = "" if place is None else f"[mill]\nchange_place = [{place[0]}, {place[1]}]\n"
    ran = write(tmp_path, where + control)
    assert written(ran, tmp_path) == ["out.nc"]
    assert "changed" not in ran.err
    lines = text_of(tmp_path).splitlines()
    away = ["G0 Z60.0", *([] if place is None else ["G0 X-30.0 Y70.0"]), "M5"]
    assert lines[-len(away) - 1 :] == [*away, "M30"]
    starts = [n for n, line in enumerate(lines) if re.match(r"T\d", line)]
    assert len(starts) == len(TOOLS)
    for number, (start, words) in enumerate(zip(starts, TOOLS, strict=True), 1):
        assert lines[start] == f"T{number} M6" if change == "M6" else f"T{number}"
        after = [FIRST_STOP[change].format(n=number, words=words), *MODES, "G0 Z10.0"]
        assert lines[start + 1 : start + 5] == after
        assert re.fullmatch(r"S\d+ M3", lines[start + 5])
        assert lines[start + 6] == "G4 P3.0"
        assert re.match(r"G98 G8\d X\S+ Y\S+ Z-", lines[start + 7])
        before = lines[start - 1 - len(away) : start - 1]  # a comment names what comes
        assert before == (away if number > 1 else before)
    assert not {"G28", "G30", "G53"} & codes_in("\n".join(lines))


@pytest.mark.parametrize("change", ["M6", "stop", "files"])
def test_where_no_tool_can_be_zeroed_in_a_stop_each_has_a_file(tmp_path: Path, change: str) -> None:
    control = f'[control]\ntool_change = "{change}"\nlength_offset = false\nzero_in_stop = false\n'
    names = written(write(tmp_path, control), tmp_path)
    assert names == [f"out-setup1-tool{n:02d}.nc" for n in range(1, 8)]
    for number, (name, words) in enumerate(zip(names, TOOLS, strict=True), 1):
        lines = text_of(tmp_path, name).splitlines()
        assert "(BEFORE THIS FILE TOUCH THE TOOL OFF ON TOP, SET Z0 OF G54)" in lines
        stop = f"T{number} M0 (SEE THAT TOOL {number} {words} IS IN, Z0 OF G54 SET ON TOP)"
        start = lines.index(stop)
        assert lines[start + 1 : start + 4] == [*MODES, "G0 Z10.0"]
        assert lines[-3:] == ["G0 Z60.0", "M5", "M30"]
        assert sum(" M0 " in line for line in lines) == 1


def test_whoever_has_not_tried_to_zero_in_a_stop_is_told_how(tmp_path: Path) -> None:
    """Exit status 2; `check` has said so before, as a note."""
    control = '[control]\ntool_change = "stop"\nlength_offset = false\n'
    ran = write(tmp_path, control)
    assert ran.status == 2
    assert "nobody has said whether a tool can be jogged and zeroed during a stop (M0)" in ran.err
    assert "try it with no tool in: M0, jog, set Z0, go on; then write [control] " in ran.err
    checked = millprep("check", tmp_path / "part.toml", "--shop", tmp_path / "shop.toml")
    assert checked.status == 0
    assert "note: no program: nobody has said" in checked.out + checked.err


@pytest.mark.parametrize(
    ("mill", "height"),
    [
        ("change_height = 35", "G0 Z35.0"),
        ("travel = { x = [0, 400], y = [0, 145], z = [-40, 0] }", "G0 Z36.95"),
        ("change_height = 35\nchange_place = 'over the work'", "G0 Z35.0"),
    ],
)
def test_the_change_height_of_the_shop_and_what_the_travel_leaves(
    tmp_path: Path, mill: str, height: str
) -> None:
    """Z is 40 long, and the spot drill has gone 3.05 down: a cone of 6.3 (the reamed 6 and 0.3) at
    90 degrees, its flat of 0.2 taken off: (6.3 - 0.2) / 2. So 36.95 is left."""
    assert write(tmp_path, f"[mill]\n{mill}\n").status == 0
    lines = text_of(tmp_path).splitlines()
    change = next(n for n, line in enumerate(lines) if line.startswith("T2"))
    up = [line for line in lines[:change] if line.startswith("G0 Z")][-1]
    assert up == height


TABLE = """
[[tool]]
number = 1
kind = "spot drill"
diameter = 10
tip_flat = 0.2
[[tool]]
number = 2
kind = "drill"
diameter = 4.2
[[tool]]
number = 3
kind = "drill"
diameter = 4.5
[[tool]]
number = 4
kind = "drill"
diameter = 5.8
[[tool]]
number = 5
kind = "counterbore"
diameter = 8
[[tool]]
number = 6
kind = "reamer"
diameter = 6
[[tool]]
number = 7
kind = "tap"
thread = "M5"
"""


def test_files_by_tool_sort_into_running_order(tmp_path: Path) -> None:
    names = written(write(tmp_path, '[control]\ntool_change = "files"'), tmp_path)
    assert names[0] == "out-setup1-tool01.nc"
    assert len(names) == 7
    first = [re.search(r"TOOL \d+ ([A-Z ]+?) \d", text_of(tmp_path, name)) for name in names]
    assert [found[1] for found in first if found] == [
        "SPOT DRILL",
        "DRILL",
        "DRILL",
        "DRILL",
        "COUNTERBORE",
        "REAMER",
        "TAP",
    ]


def test_several_setups_get_a_file_each(tmp_path: Path) -> None:
    names = written(write(tmp_path, "", RICH), tmp_path)
    assert names == [f"out-setup{n}.nc" for n in range(1, 7)]
    assert all(is_own_unedited((tmp_path / name).read_bytes()) for name in names)


@pytest.mark.parametrize("control", ["cycles = false", 'units = "inch"', 'tool_change = "files"'])
def test_every_kind_of_hole_on_every_face(tmp_path: Path, control: str) -> None:
    assert len(written(write(tmp_path, f"[control]\n{control}", RICH), tmp_path)) >= 6


def test_one_setup_only(tmp_path: Path) -> None:
    assert written(write(tmp_path, "", RICH, "--setup", 3), tmp_path) == ["out.nc"]
    assert "SETUP 3 OF 6" in text_of(tmp_path)


@pytest.mark.parametrize("material", ["stainless steel 304", "brass", "acetal", "silver steel"])
def test_materials(tmp_path: Path, material: str) -> None:
    assert written(write(tmp_path, "", material=material), tmp_path) == ["out.nc"]
    dwells = re.findall(r" P0.5|G4 P0.5", text_of(tmp_path))
    assert bool(dwells) is (material != "stainless steel 304")  # it hardens where it is rubbed


def test_every_length_and_feed_has_a_decimal_point(tmp_path: Path) -> None:
    for control in ("", '[control]\nunits = "inch"', "[control]\ncycles = false"):
        write(tmp_path, control, RICH, "--force")
        for path in tmp_path.glob("*.nc"):
            bare = re.sub(r"\(.*?\)", "", path.read_text())
            words = re.findall(r"[XYZIJKRQF]([-+\d.]+)", bare)
            assert words
            assert all(re.fullmatch(r"-?\d+\.\d+", word) for word in words)


def test_start_line_names_every_mode_and_the_end_is_an_end(tmp_path: Path) -> None:
    write(tmp_path)
    code = [line for line in text_of(tmp_path).splitlines() if not line.startswith("(")]
    assert code[0] == "G17 G21 G40 G49 G80 G90 G94"
    assert code[1] == "G54"
    assert code[-1] == "M30"
    assert code[-3].startswith("G0 Z")


def test_cautions_stand_in_the_header(tmp_path: Path) -> None:
    write(tmp_path)
    head = text_of(tmp_path).split("G17")[0]
    assert "A DRY RUN IS NOT AN AIR CUT" in head
    assert "GLASSES ON" in head


def test_comments_name_hole_and_operation(tmp_path: Path) -> None:
    write(tmp_path)
    text = text_of(tmp_path)
    for name in ("SCREW 1", "SCREW 6", "PIVOT", "CAP 2"):
        assert f"({name}, DRILL)" in text
    assert "(PIVOT, REAM)" in text
    assert "(SCREW 3, TAP)" in text


def test_lines_keep_to_what_a_control_takes(tmp_path: Path) -> None:
    """RS274/NGC (NISTIR 6556, 3.3.1): a line has at most 256 characters."""
    long = SMALL.replace('"pivot"', '"a (pivot); 100 % of it is a long name"')
    more = 'drawing = "' + "sheet " * 60 + '"\nnote = "' + "see (there); " * 25 + '"'
    assert written(write(tmp_path, "", long, more=more), tmp_path) == ["out.nc"]
    assert max(map(len, text_of(tmp_path).splitlines())) <= 256


def test_names_in_any_script_become_plain_comments(tmp_path: Path) -> None:
    named = SMALL.replace('"pivot"', '"Führung Ø6 ½"')
    assert written(write(tmp_path, "", named), tmp_path) == ["out.nc"]
    text_of(tmp_path)  # read as ASCII


@pytest.mark.parametrize("change", ["M6", "stop", "files"])
def test_one_tap_at_two_depths(tmp_path: Path, change: str) -> None:
    """G84, lines that continue it, G80, and all of it once more."""
    holes = "".join(
        f'[[hole]]\nname = "{name}"\ntap = "M5"\ndepth = {depth}\n'
        f"at = [[{at}, 20], [{at + 10}, 20]]\n"
        for name, depth, at in (("a", 8, 10), ("b", 12, 40))
    )
    ran = write(tmp_path, f'[control]\ntool_change = "{change}"\n', holes)
    text = "".join(text_of(tmp_path, Path(name).name) for name in written(ran, tmp_path))
    assert text.count("G84") == 2
    assert len(re.findall(r"(?m)^X\S+ Y\S+ \([AB] 2, TAP\)", text)) == 2


def test_left_hand_tap_is_left_to_the_hand_with_the_reason(tmp_path: Path) -> None:
    holes = '[[hole]]\nname = "odd"\ntap = "M6 left hand"\nat = [30, 20]\ndepth = "through"\n'
    ran = write(tmp_path, "", holes)
    assert written(ran, tmp_path) == ["out.nc"]
    text = text_of(tmp_path)
    assert "(BY HAND: ODD TAP M6 LEFT HAND, LEFT HAND THREAD)" in text
    assert "G84" not in codes_in(text)
    assert "left to the hand: 1 hole" in ran.out


@pytest.mark.parametrize(
    ("control", "why"),
    [
        ('tapping = "none"', "THE CONTROL DOES NOT TAP"),
        ("cycles = false", "THE CONTROL HAS NO TAPPING CYCLE G84"),
    ],
)
def test_taps_left_to_the_hand(tmp_path: Path, control: str, why: str) -> None:
    ran = write(tmp_path, f"[control]\n{control}")
    assert "left to the hand: 6 holes" in ran.out
    assert text_of(tmp_path).count("(BY HAND: SCREW ") == text_of(tmp_path).count(why) == 6


@pytest.mark.parametrize("cycles", ["true", "false"])
def test_under_a_reversing_head_the_spindle_runs_on(tmp_path: Path, cycles: str) -> None:
    control = f'[control]\ntapping = "reversing head"\ncycles = {cycles}'
    written(write(tmp_path, control), tmp_path)
    lines = text_of(tmp_path).splitlines()
    tapping = lines[
        next(i for i, line in enumerate(lines) if "SCREW" in line and ", TAP" in line) :
    ]
    tapping = tapping[: tapping.index("M5")]
    assert not [line for line in tapping if re.match(r"M[345]|G4\b|.* P[\d.]", line)]
    feeds = {word for line in tapping for word in re.findall(r"F[\d.]+", line)}
    assert len(feeds) == 1  # in as out
    if cycles == "false":
        assert [line.split()[0] for line in tapping[:5]] == ["G0", "G0", "G1", "G1", "G0"]
    ran = millprep(
        "dryrun",
        tmp_path / "out.nc",
        "--part",
        tmp_path / "part.toml",
        "--shop",
        tmp_path / "shop.toml",
    )
    assert ran.status == 0, ran.err
    assert "warning" not in ran.err


def test_a_floating_tap_begins_three_pitches_above_the_face(tmp_path: Path) -> None:
    planes = {}
    for tapping in ("floating", "rigid"):
        folder = tmp_path / tapping
        folder.mkdir()
        written(write(folder, f'[control]\ntapping = "{tapping}"'), folder)
        (planes[tapping],) = re.findall(r"G84 .*R([\d.]+)", text_of(folder))
    assert planes == {"floating": "2.4", "rigid": "2.0"}  # M5: 0.8 mm


def test_the_shop_says_how_fast_a_tap_may_turn(tmp_path: Path) -> None:
    spindle = "[mill]\nspindle = { min = 100, max = 2000 }\n"
    written(write(tmp_path, f"{spindle}[control]\ntap_speed = 250"), tmp_path)
    tap = text_of(tmp_path).split("G84")[0].splitlines()
    assert [line for line in tap if line.startswith("S")][-1] == "S250 M3"


def test_a_spindle_too_fast_for_taps_leaves_them_to_the_hand(tmp_path: Path) -> None:
    spindle = "[mill]\nspindle = { min = 1000, max = 8000 }\n[finder]\nspeed = 1000"
    ran = write(tmp_path, spindle)
    written(ran, tmp_path)
    assert "left to the hand: 6 holes" in ran.out
    assert "THE SPINDLE DOES NOT TURN SLOWLY ENOUGH" in text_of(tmp_path)
    ran = millprep(
        "dryrun",
        tmp_path / "out.nc",
        "--part",
        tmp_path / "part.toml",
        "--shop",
        tmp_path / "shop.toml",
    )
    assert "stop" not in ran.err


def test_tap_feed_is_pitch_times_speed(tmp_path: Path) -> None:
    write(tmp_path)
    text = text_of(tmp_path)
    (line,) = re.findall(r"G84 .*", text)
    speed = float(re.findall(r"S([\d.]+)", text[: text.index("G84")])[-1])
    feed = float(re.search(r"F([\d.]+)", line)[1])  # type: ignore[index]
    assert feed == pytest.approx(speed * 0.8)


def test_matching_tools_keep_the_numbers_of_the_control(tmp_path: Path) -> None:
    shop = '[[tool]]\nnumber = 12\nkind = "drill"\ndiameter = 4.2\n'
    assert written(write(tmp_path, shop), tmp_path) == ["out.nc"]
    assert "T12 M6\nG43 H12" in text_of(tmp_path)


# The bolt circle by trigonometry: 30 mm about 25, 25, first hole at 15 degrees.
CIRCLE = [
    (25 + 15 * math.cos(math.radians(15 + 60 * n)), 25 + 15 * math.sin(math.radians(15 + 60 * n)))
    for n in range(6)
]
PLACES = sorted([*CIRCLE, (25, 25), (60, 10), (60, 40)])


def places_drilled(pairs: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Each place once, whatever number of operations it saw."""
    return sorted({(round(x, 3), round(y, 3)) for x, y in pairs})


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_places_by_gcodeparser(tmp_path: Path, units: str) -> None:
    write(tmp_path, f'[control]\nunits = "{units}"')
    scale = 25.4 if units == "inch" else 1.0
    found: list[tuple[float, float]] = []
    for line in text_of(tmp_path).splitlines():
        bare = re.sub(r"\(.*?\)", "", line).strip()
        if bare.startswith("X"):
            bare = f"G81 {bare}"
        found += [
            (block.params["X"] * scale, block.params["Y"] * scale)
            for block in parse_gcode_lines(bare)
            if {"X", "Y"} <= set(block.params)
        ]
    assert_allclose(places_drilled(found), PLACES, atol=0.0006)


def test_places_by_pygcode(tmp_path: Path) -> None:
    write(tmp_path, "[control]\ncycles = false")
    found: list[tuple[float, float]] = []
    deepest = 0.0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its own regular expressions
        machine = Machine()
        for text in text_of(tmp_path).splitlines():
            line = Line(text)
            machine.process_block(line.block)
            if any(word.letter == "X" for word in line.block.words):
                found.append((machine.pos.X, machine.pos.Y))
            deepest = min(deepest, machine.pos.Z)
    assert_allclose(places_drilled(found), PLACES, atol=0.0006)
    # The deepest tool is the 5.7 or 5.8 mm drill before the reamer, 1 mm beyond 25.
    assert -26 - 5.8 * 0.301 <= deepest <= -26 - 5.7 * 0.3


def test_rapids_never_go_into_the_work_and_pecks_follow_the_schedule(tmp_path: Path) -> None:
    for control in ("", "[control]\ncycles = false"):
        ran = write(tmp_path, control, SMALL, "--force")
        assert "deep-peck" not in ran.err
        assert "a bite of" not in ran.err
        shop = shop_of(control)
        moves = read_program((tmp_path / "out.nc").read_bytes(), shop.control, file="out.nc").moves
        sideways = (moves.kind == RAPID) & (moves.start[:2] != moves.end[:2]).any(axis=0)
        assert sideways.any()
        assert (moves.end[2][sideways] >= 2.0).all()


def test_nothing_is_written_when_one_of_several_may_not_be(tmp_path: Path) -> None:
    (tmp_path / "out-setup4.nc").write_text("somebody's own program\n")
    ran = write(tmp_path, "", RICH)
    assert ran.status == 2
    assert "out-setup4.nc" in ran.err
    assert [path.name for path in tmp_path.glob("*.nc")] == ["out-setup4.nc"]
    assert (tmp_path / "out-setup4.nc").read_text() == "somebody's own program\n"


def test_a_stop_of_the_check_keeps_it_back(tmp_path: Path) -> None:
    ran = write(tmp_path, "", "[[hole]]\ndrill = 6\nat = [2, 20]\ndepth = 5\n")
    assert ran.status == 1
    assert not list(tmp_path.glob("*.nc"))


# Broken writers -------------------------------------------------------------------------------

Break = Callable[[str], str]


def swap(pattern: str, replacement: str) -> Break:
    def broken(text: str) -> str:
        changed, count = re.subn(pattern, replacement, text, count=1, flags=re.MULTILINE)
        assert count == 1, pattern
        return changed

    return broken


def without(pattern: str) -> Break:
    def broken(text: str) -> str:
        kept = [line for line in text.splitlines() if not re.search(pattern, line)]
        assert len(kept) < len(text.splitlines())
        return "\n".join(kept) + "\n"

    return broken


BROKEN: dict[str, tuple[Break, str]] = {
    "one coordinate, a thousandth": (swap(r"X60\.0 Y40\.0", "X60.001 Y40.0"), "hole-off"),
    "one coordinate, a millimetre": (swap(r"X60\.0 Y40\.0", "X61.0 Y40.0"), "hole-extra"),
    "one coordinate, everywhere": (lambda text: text.replace("Y40.0", "Y39.95"), "hole-off"),
    "one sign": (lambda text: text.replace("X60.0 Y40.0", "X-60.0 Y40.0"), "outside-stock"),
    "one depth, deeper": (swap(r"Z-4\.4 ", "Z-4.42 "), "too-deep"),
    "one depth, shallower": (swap(r"Z-4\.4 ", "Z-4.38 "), "too-shallow"),
    "a tap too deep": (swap(r"(G84 .*)Z-[\d.]+", r"\1Z-11.5"), "too-deep"),
    "a through hole not through": (swap(r"(G83 X25.*)Z-[\d.]+", r"\1Z-24.0"), "too-shallow"),
    "one hole left out": (without(r"SCREW 5,"), "hole-missing"),
    "one operation left out": (without(r"SCREW 5, TAP"), "operation-missing"),
    "one operation with two tools": (
        swap(r"^(T7 M6\nG43 H7(?s:.*?)\nM5\n)", r"\1T2 M6\nG43 H2\n\1"),
        "operation-extra",
    ),
    "a hole more": (swap(r"^(X\S+ Y\S+ \(.*SPOT DRILL\))$", r"\1\nX70.0 Y25.0"), "hole-extra"),
    "millimetres as inches": (swap("G21", "G20"), "outside-stock"),
    "another drill": (swap(r"DRILL 4\.200 MM", "DRILL 4.600 MM"), "wrong-diameter"),
    "spindle the wrong way": (swap(r"^(S\d+) M3", r"\1 M4"), "spindle-backwards"),
    "no spindle": (swap(r"^S\d+ M3\n", ""), "spindle-stopped"),
    "incremental": (swap(r" G90 ", " G91 "), "hole-missing"),
    "no retract": (swap(r"R2\.0", "R-1.0"), "rapid-into-stock"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_writer_is_caught_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    broken, kind = BROKEN[name]
    sound = writer.programs_of

    def programs_of(*given: object) -> list[writer.Program]:
        return [replace(one, text=broken(one.text)) for one in sound(*given)]  # type: ignore[arg-type]

    monkeypatch.setattr(writer, "programs_of", programs_of)
    ran = write(tmp_path, "", SMALL, "--format", "json")
    assert ran.status == 1
    kinds = [finding["kind"] for finding in ran.json["findings"] if finding["severity"] == "stop"]
    assert kind in kinds
    assert not list(tmp_path.glob("*.nc"))


def test_the_message_of_a_shifted_hole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sound = writer.programs_of
    shift = swap(r"X60\.0 Y40\.0", "X60.001 Y40.0")
    monkeypatch.setattr(
        writer,
        "programs_of",
        lambda *given: [replace(one, text=shift(one.text)) for one in sound(*given)],
    )
    ran = write(tmp_path)
    assert "cap 2 is off in X by +0.0010 mm; it belongs at X60.0000 Y40.0000" in ran.err
    assert "nothing was written: see the stops above" in ran.err


LONG_DRILL = '[[tool]]\nnumber = 7\nkind = "drill"\ndiameter = "4.2 mm"\nlength = 80\n'


def test_before_a_longer_tool_comes_the_spindle_goes_up_by_as_much(tmp_path: Path) -> None:
    """The longest, 80, can come in with 20 under it: a spot drill of 50 goes up to 20 + 80 - 50."""
    lengths = {1: 50, 2: 80, 3: 61, 4: 66, 5: 40, 6: 60, 7: 45}
    table = re.sub(
        r"number = (\d)", lambda found: f"{found[0]}\nlength = {lengths[int(found[1])]}", TABLE
    )
    ran = write(tmp_path, f"[control]\n{table}")
    assert ran.status == 0, ran.err
    heights = re.findall(r"^G0 Z(\S+)\n(?=M5)", text_of(tmp_path), re.MULTILINE)
    assert heights == ["50.0", "20.0", "39.0", "34.0", "60.0", "40.0", "55.0"]


def test_one_length_that_is_not_known_is_none(tmp_path: Path) -> None:
    assert write(tmp_path, f"[control]\n{LONG_DRILL}").status == 0
    heights = re.findall(r"^G0 Z(\S+)\n(?=M5)", text_of(tmp_path), re.MULTILINE)
    assert set(heights) == {"60.0"}


@pytest.mark.parametrize(
    "control",
    [
        "offsets = { G54 = [200, 50, -150] }\n",  # nobody says where home is
        "home = 'unknown'\noffsets = { G54 = [200, 50, -150] }\n",
        "home = [0, 0, -5]\n",  # nor where the work lies under it
        "home = [0, 0, -5]\noffsets = { G54 = [200, 50, -150] }\nlength_offset = false\n",
        "home = [0, 0, -5]\noffsets = { G54 = [200, 50, -150] }\n[mill]\nchange_height = 40\n",
    ],
)
def test_no_machine_position_where_it_would_be_a_guess(tmp_path: Path, control: str) -> None:
    ran = write(tmp_path, f"[control]\n{control}")
    assert ran.status == 0, ran.err
    assert not {"G28", "G30", "G53"} & codes_in(text_of(tmp_path))


def test_each_setup_of_one_work_offset_says_zero_again(tmp_path: Path) -> None:
    assert write(tmp_path, "", RICH).status == 0
    heads = [text_of(tmp_path, f"out-setup{n}.nc") for n in range(1, 7)]
    assert "ZERO AGAIN" not in heads[0]
    for number, text in enumerate(heads[1:], 2):
        assert f"(ZERO AGAIN FOR SETUP {number}: G54)" in text


HEAD = """[mill]
head_moves = "loses"
quill_travel = 45
[control]
"""


def test_where_the_head_moves_a_stop_says_what_to_pick_up(tmp_path: Path) -> None:
    """The reamer and drills of a jobber's length do not go with the spot drill of 89 in 45 mm."""
    ran = write(tmp_path, f'{HEAD}tool_change = "stop"\nlength_offset = false\nzero_in_stop = true')
    assert ran.status == 0, ran.err
    lines = text_of(tmp_path).splitlines()
    moves = [n for n, line in enumerate(lines) if "THE HEAD MOVES" in line]
    assert moves
    for move in moves:
        assert lines[move] == (
            "M0 (THE HEAD MOVES: PICK UP LEFT AND FRONT AGAIN, SET X AND Y OF G54)"
        )
        assert lines[move - 2] == "M5"
        assert re.fullmatch(r"T\d", lines[move + 1])
        assert "TOUCH OFF ON TOP" in lines[move + 2]


def test_with_tool_lengths_z_is_lost_with_the_head_too(tmp_path: Path) -> None:
    assert write(tmp_path, HEAD).status == 0
    assert "PICK UP LEFT AND FRONT AGAIN, SET X, Y AND Z OF G54)" in text_of(tmp_path)


def test_no_program_for_a_place_of_changing_beyond_the_travel(tmp_path: Path) -> None:
    """40 is the farthest hole in Y: to -110 that is 150, and the mill has 145."""
    ran = write(tmp_path, "[mill]\nchange_place = [0, -110]\n")
    assert ran.status == 2
    assert "change_place lies beyond the travel of Y in setup 1" in ran.err
    assert write(tmp_path, "[mill]\nchange_place = [0, -100]\n").status == 0


def test_where_the_work_lies_under_home_the_spindle_goes_home_for_a_change(tmp_path: Path) -> None:
    offsets = "[control]\nhome = [0, 0, -5]\noffsets = { G54 = [200, 50, -150] }\n"
    ran = write(tmp_path, f"{offsets}{LONG_DRILL}")
    assert ran.status == 0, ran.err
    lines = text_of(tmp_path).splitlines()
    changes = [number for number, line in enumerate(lines) if " M6" in line]
    assert len(changes) > 3
    for number in [*changes, len(lines)]:
        before = [line for line in lines[:number] if " Z" in line]
        assert before[-1] == "G53 G0 Z-5.0"


@pytest.mark.parametrize(
    ("thread", "flanks"), [("1/4 BSW", " FLANKS 55"), ("2BA", " FLANKS 47.5"), ("1/4-20 UNC", "")]
)
def test_the_tool_line_of_a_tap_says_its_flanks(tmp_path: Path, thread: str, flanks: str) -> None:
    """BS 84 and BS 93; 60 degrees go without saying. The pitch alone does not tell them apart."""
    holes = f'[[hole]]\nname = "screw"\ntap = "{thread}"\ndepth = 8\nat = [25, 25]\n'
    assert write(tmp_path, "", holes).status == 0
    assert re.search(rf"TAP [\d.]+ MM PITCH [\d.]+{flanks} LEAD", text_of(tmp_path))


def test_a_tool_that_comes_again_has_a_file_again(tmp_path: Path) -> None:
    """One height of 44 mm serves spot drill (89 long), drill and reamer of 6 mm (93), another those
    of 3 mm (61): the spot drill comes back to the hole that is reamed to 3 mm."""
    holes = (
        '[[hole]]\nname = "pivot"\nream = 6\nat = [20, 20]\ndepth = 8\n'
        '[[hole]]\nname = "small"\ndrill = 3\nat = [45, 20]\ndepth = 8\n'
        "countersink = { diameter = 6, angle = 90 }\n"
        '[[hole]]\nname = "axle"\nream = 3\nat = [35, 35]\ndepth = 8\n'
    )
    shop = HEAD.replace("45", "44") + 'tool_change = "files"\nlength_offset = false\n'
    names = written(write(tmp_path, shop, holes), tmp_path)
    assert names == [
        f"out-setup1-{place:02d}-tool{tool:02d}.nc"
        for place, tool in enumerate([1, 2, 3, 4, 5, 1, 6, 7], 1)
    ]
    again = text_of(tmp_path, names[5])
    assert "(BEFORE THIS FILE THE HEAD MOVES: PICK UP LEFT AND FRONT AGAIN, SET X AND Y" in again
    assert "M0 (SEE THAT TOOL 1 SPOT DRILL 10 MM IS IN, Z0 OF G54 SET ON TOP)" in again


def test_no_program_where_z_is_too_short_between_hole_and_safe_height(tmp_path: Path) -> None:
    """Up to 10, and down through 25 with 1 beyond and the point of a 5.8 mm drill, 1.74: 37.7."""
    ran = write(tmp_path, "[mill]\ntravel = { x = [0, 400], y = [0, 145], z = [-30, 0] }\n")
    assert ran.status == 2
    assert "no program: between the clear height and pivot in setup 1 Z would have to" in ran.err
    assert "7.7 mm more than it can" in ran.err


@pytest.mark.parametrize(
    ("offset", "words"),
    [
        ("[345, 50, -150]", "X of setup 1 goes 5.0 mm beyond its travel"),  # a hole at X 60: 405
        ("[340, 50, -150]", ""),
        ("[100, -11, -150]", "Y of setup 1 goes 1.0 mm beyond its travel"),  # a hole at Y 10: -1
        ("[100, -10, -150]", ""),
    ],
)
def test_no_program_where_the_listed_origin_puts_a_hole_beyond_the_travel(
    tmp_path: Path, offset: str, words: str
) -> None:
    ran = write(tmp_path, f"[control]\noffsets = {{ G54 = {offset} }}\n")
    assert ran.status == (2 if words else 0)
    assert words in ran.err
