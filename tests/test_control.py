"""The keys of [control] one by one, and descriptions at random: each accepted one is written, read
back under the same description and gives the same holes, or is told as not to be had."""

import os
import re
from pathlib import Path

import pytest
from control_descriptions import NAMED, TRIAL, description, judged, mill
from jobs import EXAMPLE_PARTS, RICH, RICH_STOCK, Ran, millprep, part_text

from millprep.base.marks import is_own_unedited
from millprep.infiles import read_shop
from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.moves import DWELL, FEED, RAPID, ProgramRun

COUNT = int(os.environ.get("MILLPREP_CONTROLS", "20"))


def write(folder: Path, control: str, holes: str = TRIAL, *options: object, **more: str) -> Ran:
    part, shop = folder / "part.toml", folder / "shop.toml"
    part.write_text(part_text(holes, RICH_STOCK, **more), encoding="utf-8")
    whole = control if control.startswith("[") else f"[control]\n{control}\n"
    shop.write_text(whole, encoding="utf-8")
    return millprep("program", part, "-o", folder / "out.nc", "--shop", shop, *options)


def lines_of(folder: Path, control: str, *more: object, **given: str) -> list[str]:
    """Of the program that is written; dry-run under the same description there is nothing amiss."""
    ran = write(folder, control, *more, **given)  # type: ignore[arg-type]
    assert ran.status == 0, ran.err
    again = dryrun(folder, folder / "out.nc")
    assert again.status == 0, again.out
    assert "0 stops, 0 warnings" in " ".join(again.out.split())
    return (folder / "out.nc").read_bytes().decode("ascii").splitlines()


def dryrun(folder: Path, *programs: Path) -> Ran:
    shop, part = folder / "shop.toml", folder / "part.toml"
    return millprep("dryrun", *programs, "--part", part, "--shop", shop)


def read(text: str, **control: object) -> ProgramRun:
    return read_program(text.encode(), Control(**control), file="t.nc")  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", range(COUNT))
def test_a_description_at_random_gives_the_part_or_is_told(tmp_path: Path, seed: int) -> None:
    part = tmp_path / "part.toml"
    part.write_text(part_text(TRIAL, RICH_STOCK), encoding="utf-8")
    assert judged(part, description(seed), tmp_path, mill(seed)) in (
        "made",
        "refused",
        "not to be had",
    )


NAMES = list(NAMED)
SHARE = {
    (path.stem, name): path
    for n, path in enumerate(EXAMPLE_PARTS)
    for name in (NAMES if len(EXAMPLE_PARTS) * len(NAMES) < COUNT else [NAMES[n % len(NAMES)]])
}


@pytest.mark.parametrize(("part", "name"), SHARE)
def test_the_example_parts_under_controls_as_there_are(
    tmp_path: Path, part: str, name: str
) -> None:
    """One each; all under all where many are asked for (`MILLPREP_CONTROLS=1000`)."""
    said = judged(SHARE[part, name], NAMED[name], tmp_path)
    assert said == "made" or (part, name) == ("base-plate", "few codes")  # which has no G55


def test_line_numbers_and_program_numbers(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, "line_numbers = true\nprogram_number = 120")
    assert lines[0] == "O0120"
    numbered = [line for line in lines[1:] if line[0] != "("]
    assert [line.split()[0] for line in numbered[:3]] == ["N10", "N20", "N30"]
    assert all(re.match(r"N\d+ ", line) for line in numbered)


def test_programs_of_a_part_are_numbered_in_order(tmp_path: Path) -> None:
    ran = write(tmp_path, "program_number = 7", RICH)
    assert ran.status == 0, ran.err
    first = [(tmp_path / f"out-setup{n}.nc").read_text().split("\n")[0] for n in range(1, 7)]
    assert first == [f"O{n:04d}" for n in range(7, 13)]
    assert write(tmp_path, "program_number = 7", RICH, "--setup", 3, "--force").status == 0
    assert (tmp_path / "out.nc").read_text().startswith("O0009\n")


def test_line_ends(tmp_path: Path) -> None:
    lines_of(tmp_path, 'line_end = "crlf"')
    data = (tmp_path / "out.nc").read_bytes()
    assert data.count(b"\n") == data.count(b"\r\n") > 50
    assert is_own_unedited(data)
    assert write(tmp_path, 'line_end = "crlf"').status == 0  # its own, and replaced


@pytest.mark.parametrize(
    ("where", "stop"),
    [
        ("same line", ["T2", "M0 (FIT TOOL 2 DRILL 4.2 MM)"]),
        ("line before", ["T2", "(FIT TOOL 2 DRILL 4.2 MM)", "M0"]),
        ("(MSG, )", ["T2", "(MSG, FIT TOOL 2 DRILL 4.2 MM)", "M0"]),
    ],
)
def test_where_the_words_of_a_stop_stand(tmp_path: Path, where: str, stop: list[str]) -> None:
    lines = lines_of(tmp_path, f'tool_change = "stop"\nstop_message = "{where}"')
    start = lines.index("T2")
    assert lines[start : start + len(stop)] == stop


def test_coolant_runs_while_the_spindle_does(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, 'coolant = "M8"')
    for start, line in enumerate(lines):
        if re.match(r"S\d+ M3", line):
            assert lines[start + 1 : start + 3] == ["G4 P3.0", "M8"]
        if line == "M5":
            assert lines[start - 1] == "M9"
    assert lines.count("M8") == lines.count("M9") == 7


def test_no_coolant_on_what_is_cut_dry(tmp_path: Path) -> None:
    assert not {"M7", "M9"} & set(lines_of(tmp_path, 'coolant = "M7"', material="brass"))


def test_a_dwell_in_milliseconds(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, 'dwell = "ms"')
    assert "G4 P3000" in lines
    assert any(" P500 " in line for line in lines)
    start = "G21 G90 G17 G54 G98 F60 S900 M3\n"
    run = read(start + "G4 P1500\nG82 X1. Y1. Z-1. R2. P250\nX2.\nM30\n", dwell="ms")
    seconds = run.moves.seconds[run.moves.kind == DWELL]
    assert seconds.tolist() == [1.5, 0.25, 0.25]


@pytest.mark.parametrize(
    ("word", "unit", "kind"),
    [("P500", "s", "long-dwell"), ("P500", "ms", None), ("P2", "ms", "short-dwell"),
     ("P40000", "ms", "long-dwell"), ("P2", "s", None)],
)  # fmt: skip
def test_a_dwell_that_looks_like_the_other_unit(word: str, unit: str, kind: str | None) -> None:
    run = read(f"G21 G90 G17 G54\nG4 {word}\nM30\n", dwell=unit)
    kinds = [one.kind for one in run.findings if "dwell" in one.kind]
    assert kinds == ([] if kind is None else [kind])


@pytest.mark.parametrize(("where", "height"), [("r", 2.0), ("clear", 10.0)])
def test_where_pecks_go_up_to(where: str, height: float) -> None:
    """NISTIR 6556, 3.5.16.3, has the clear height; R is common practice."""
    text = "G21 G90 G17 G54 G98 F60 S900 M3\nG0 Z10.\nG83 X1. Y1. Z-6. R2. Q4.\nM30\n"
    moves = read(text, peck_retract=where).moves
    ups = moves.end[2][(moves.kind == RAPID) & (moves.end[2] > moves.start[2])]
    assert ups.tolist() == [10.0, height, 10.0]


def test_arcs_by_their_description() -> None:
    start = "G21 G90 G17 G54 G0 X5. Y5. Z1.\n"
    whole = {
        "centre": start + "G2 X5. Y5. I10. J0. F60\nM30\n",
        "absolute centre": start + "G2 X5. Y5. I15. J5. F60\nM30\n",
    }
    for arcs, text in whole.items():
        moves = read(text, arcs=arcs).moves
        assert moves.centre[:2, -1].tolist() == [15.0, 5.0]
    run = read(whole["centre"], arcs="radius")
    assert run.findings[-1].kind == "control-lacks"
    assert read(start + "G2 X15. Y15. R10. F60\nM30\n", arcs="radius").is_complete


@pytest.mark.parametrize(
    ("decimals", "units", "step"),
    [("mm = 2", "mm", 0.01), ("mm = 4", "mm", 0.0001), ("inch = 4", "inch", 0.00254),
     ("inch = 3", "inch", 0.0254)],
)  # fmt: skip
def test_decimals(tmp_path: Path, decimals: str, units: str, step: float) -> None:
    """1/3 in from the edge, and the rest, within half of the last figure."""
    holes = TRIAL + '[[hole]]\nname = "third"\ndrill = 3\nat = ["1/3 in", "2/3 in"]\ndepth = 5\n'
    lines = lines_of(tmp_path, f'units = "{units}"\ndecimals = {{ {decimals} }}', holes)
    (x,) = {m[1] for line in lines if "THIRD" in line and (m := re.search(r"X([\d.]+)", line))}
    in_mm = 25.4 if units == "inch" else 1.0
    assert len(x.split(".")[1]) <= int(decimals[-1])
    assert float(x) * in_mm == pytest.approx(25.4 / 3, abs=step / 2)


def test_decimals_too_few_for_a_tolerance(tmp_path: Path) -> None:
    holes = TRIAL.replace('name = "pivot"', 'name = "pivot"\ntolerance = 0.02')
    control = 'units = "inch"\ndecimals = { inch = 3 }'
    ran = write(tmp_path, control, holes)
    assert ran.status == 2
    assert "no program: with the decimals that the control takes pivot may lie outside" in ran.err
    checked = millprep("check", tmp_path / "part.toml", "--shop", tmp_path / "shop.toml")
    assert "note: no program:" in checked.out


@pytest.mark.parametrize(
    ("home", "severity"), [('home = "none"', "warning"), ("", "note"), ("home = [0, 0, 0]", None)]
)
@pytest.mark.parametrize("line", ["G91 G28 Z0", "G53 G0 Z-1."])
def test_homes(tmp_path: Path, home: str, severity: str | None, line: str) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text(f"[control]\n{home}\n")
    text = f"G21 G90 G17 G54\n{line}\nM30\n"
    run = read_program(text.encode(), read_shop(str(shop)).control, file="t.nc")
    told = [one.severity for one in run.findings if one.kind == "home-unknown"]
    assert told == ([] if severity is None else [severity])


def test_no_home_is_never_written(tmp_path: Path) -> None:
    control = 'home = "none"\noffsets = { G54 = [200, 50, -150] }'
    assert not [line for line in lines_of(tmp_path, control) if re.search("G28|G30|G53", line)]


@pytest.mark.parametrize(
    "keys",
    [
        "program_number = 5\nstrict = true",
        'dwell = "ms"\nstrict = true',
        'comments = ";"\nstrict = true',
        'comments = ";"\nstop_message = "(MSG, )"',
        'comments = "none"\nstop_message = "line before"',
        'tool_numbers = false\ntool_change = "M6"',
        "tool_numbers = false\nlength_offset = true",
        'units = "none"\ncodes = ["G0"]',
        'length_offset = true\ncodes = ["G0"]',
        'tool_change = "M6"\ncodes = ["G0"]',
        'tool_change = "stop"\ncodes = ["G0"]',
        'coolant = "M8"\ncodes = ["M8"]',
        'spindle = "switched"\ncodes = ["M0"]',
        'spindle = "by hand"\ncodes = ["G0"]',
        'spindle = "by hand"\ntapping = "floating"',
        'spindle = "by hand"\ntapping = "reversing head"',
        'spindle = "switched"\ntapping = "rigid"',
        'spindle = "switched"\nstrict = true',
    ],
)
def test_contradictions_name_both_keys(tmp_path: Path, keys: str) -> None:
    ran = write(tmp_path, keys)
    assert ran.status == 2
    one, other = keys.split("\n")
    assert f"{one} and {other} exclude" in ran.err or f"{other} and {one} exclude" in ran.err
    for line in keys.split("\n"):
        if not line.startswith("tool_numbers"):  # which what is left out contradicts too
            assert "exclude" not in write(tmp_path, line).err


# the spindle

BELTED = "[mill]\nspindle = { speeds = [120, 250, 400, 700, 1250, 2000] }\n[control]\n"


def test_a_switched_spindle_has_its_belt_in_the_stop(tmp_path: Path) -> None:
    control = f'{BELTED}spindle = "switched"\ntool_change = "stop"'
    lines = lines_of(tmp_path, control)
    assert not [line for line in lines if re.match(r"(N\d+ )?S\d", line)]
    start = lines.index("T2")
    assert lines[start + 1] == "M0 (FIT TOOL 2 DRILL 4.2 MM, BELT 1250)"
    after = lines[start + 2 :]
    assert after[: after.index("M3") + 2] == [
        *("G17 G21 G40 G49 G80 G90 G94", "G54", "G43 H2", "G0 Z10.0", "M3", "G4 P3.0")
    ]


def test_a_changer_waits_for_the_belt_too(tmp_path: Path) -> None:
    lines = lines_of(tmp_path, f'{BELTED}spindle = "switched"')
    start = lines.index("T2 M6")
    assert lines[start + 1] == "M0 (WITH TOOL 2 DRILL 4.2 MM IN, BELT 1250)"


def test_a_spindle_by_hand_is_started_and_stopped_in_stops(tmp_path: Path) -> None:
    """Up, start; X and Y only then; and it is stopped up there, before the change and the end."""
    control = f'{BELTED}spindle = "by hand"\ntool_change = "stop"'
    lines = lines_of(tmp_path, control)
    code = [re.sub(r"\(.*", "", line).strip() for line in lines]
    assert not {"M3", "M4", "M5"} & {word for line in code for word in line.split()}
    starts = [n for n, line in enumerate(lines) if "START SPINDLE" in line]
    stops = [n for n, line in enumerate(lines) if line == "M0 (STOP SPINDLE)"]
    assert len(starts) == len(stops) == 6
    for start in starts:
        assert re.fullmatch(r"M0 \(START SPINDLE \d+\)", lines[start])
        assert code[start - 1] == "G0 Z10.0"
        assert re.search(r" X\S+ Y\S+", code[start + 1])
    for stop in stops:
        assert code[stop - 1] == "G0 Z60.0"
    assert lines[-2:] == ["M0 (STOP SPINDLE)", "M30"]
    assert "left to the hand: 2 holes" in write(tmp_path, control).out  # nothing taps under power


HEAD = "G21 G90 G17 G54\n"
CUT = "G0 X10. Y10. Z5.\nG1 Z-3. F60\nG0 Z10.\n"


def simulated(folder: Path, text: str, control: str) -> Ran:
    shop, program = folder / "shop.toml", folder / "t.nc"
    shop.write_text(f"[control]\n{control}\n")
    program.write_text(text)
    stock = ("--stock", "60,40,20", "--zero", "left,front,top")
    return millprep("dryrun", program, "--shop", shop, *stock, "--format", "json")


def stops_of(ran: Ran) -> list[str]:
    return [one["kind"] for one in ran.json["findings"] if one["severity"] == "stop"]


TOOL = "(TOOL 1 DRILL 5.000 MM POINT 118)\n"


@pytest.mark.parametrize(
    ("before", "stops"),
    [
        ("M0 (FIT TOOL 1, BELT 1250)\nM3\n", ["ends-turning"]),
        ("M0 (FIT TOOL 1, BELT 1250)\n", ["spindle-stopped"]),
        (
            "M0 (FIT TOOL 1, SPEED 90)\nM3\n",
            ["speed-outside-spindle", "feed-over-tool", "ends-turning"],
        ),
        ("M0 (FIT TOOL 1)\nS1250 M3\n", ["control-lacks", "ends-turning"]),
    ],
)
def test_what_a_stop_says_of_a_switched_spindle(
    tmp_path: Path, before: str, stops: list[str]
) -> None:
    control = (
        'spindle = "switched"\ntool_change = "stop"\nlength_offset = false\nzero_in_stop = true'
    )
    text = f"{TOOL}{HEAD}G0 Z60.\nT1\n{before}G0 Z10.\n{CUT}M30\n"
    assert stops_of(simulated(tmp_path, text, control))[: len(stops)] == stops


def test_a_speed_that_nobody_says_is_told_once_and_stops_nothing(tmp_path: Path) -> None:
    control = (
        'spindle = "by hand"\ntool_change = "stop"\nlength_offset = false\nzero_in_stop = true'
    )
    text = f"{TOOL}{HEAD}G0 Z60.\nT1\nM0 (FIT TOOL 1)\nG0 Z10.\n{CUT}M30\n"
    ran = simulated(tmp_path, text, control)
    assert stops_of(ran) == []
    spindle = [line for line in ran.json["not_checked"] if "by hand" in line]
    assert len(spindle) == 1
    said = text.replace("G0 Z10.\nG0 X", "G0 Z10.\nM0 (START SPINDLE 1250)\nG0 X")
    said = said.replace("M30", "M0 (STOP SPINDLE)\nM30")
    ran = simulated(tmp_path, said, control)
    assert stops_of(ran) == []
    assert not [line for line in ran.json["not_checked"] if "by hand" in line]
    forgotten = said.replace("M0 (STOP SPINDLE)\n", "")
    assert stops_of(simulated(tmp_path, forgotten, control)) == ["ends-turning"]
    late = said.replace("M0 (START SPINDLE 1250)\n", "").replace(
        "G0 Z10.\nM0 (STOP", "G0 Z10.\nM0 (START SPINDLE 1250)\nM0 (STOP"
    )
    assert stops_of(simulated(tmp_path, late, control)) == ["spindle-stopped"]


@pytest.mark.parametrize("word", ["M3", "M5", "S900"])
def test_a_word_for_a_spindle_that_the_hand_drives_is_a_stop(tmp_path: Path, word: str) -> None:
    text = f"{TOOL}{HEAD}{word}\nM30\n"
    ran = simulated(tmp_path, text, 'spindle = "by hand"')
    (found,) = [one for one in ran.json["findings"] if one["kind"] == "control-lacks"]
    assert found["line"] == 3
    assert ran.json["read_lines"] == 4


# the card

CARD = 'comments = "none"\ntool_change = "stop"\nlength_offset = false\nzero_in_stop = true'


def test_a_program_without_comments_has_a_card(tmp_path: Path) -> None:
    lines_of(tmp_path, CARD)
    assert "(" not in (tmp_path / "out.nc").read_text()
    card = (tmp_path / "out-tools.csv").read_text().splitlines()
    assert card[0] == '"what","number","words"'
    assert '"tool","2","TOOL 2 DRILL 4.200 MM POINT 118"' in card
    stop = '"stop","2","FIT TOOL 2 DRILL 4.2 MM, TOUCH OFF ON TOP, SET Z0 OF G54"'
    assert stop in card
    assert is_own_unedited((tmp_path / "out-tools.csv").read_bytes())
    ran = dryrun(tmp_path, tmp_path / "out.nc")
    assert "taken from" in ran.out
    assert "out-tools.csv" in ran.out


def test_a_card_of_another_state_is_not_taken_unless_asked_for(tmp_path: Path) -> None:
    lines_of(tmp_path, CARD)
    program, card = tmp_path / "out.nc", tmp_path / "out-tools.csv"
    program.write_text(program.read_text().replace("Z-", "Z -", 1))
    told = " ".join(dryrun(tmp_path, program).out.split())
    assert "goes with another state of this program, and was not taken" in told
    given = ("--part", tmp_path / "part.toml", "--shop", tmp_path / "shop.toml", "--tools", card)
    ran = millprep("dryrun", program, *given)
    assert ran.status == 0, ran.out
    assert "0 stops, 1 warning" in " ".join(ran.out.split())
    other = tmp_path / "elsewhere.csv"
    card.rename(other)
    ran = millprep("dryrun", program, *given[:-1], other)
    assert ran.status == 0, ran.out


def test_what_is_no_card_is_refused(tmp_path: Path) -> None:
    lines_of(tmp_path, CARD)
    other = tmp_path / "holes.csv"
    other.write_text("hole,x,y\na,1,2\n")
    ran = millprep("dryrun", tmp_path / "out.nc", "--tools", other)
    assert ran.status == 2
    assert "is no card of a program's tools" in ran.err
    ran = millprep("dryrun", tmp_path / "out.nc", "--tools", tmp_path / "none.csv")
    assert ran.status == 2


def test_every_kind_of_hole_from_a_card(tmp_path: Path) -> None:
    """Passes of the boring head and the rims of countersinks are asked for on the card."""
    ran = write(tmp_path, f"[drawer]\nend_mills = []\n[control]\n{CARD}", RICH)
    assert ran.status == 0, ran.err
    card = (tmp_path / "out-setup1-tools.csv").read_text()
    assert "PASS 1 OF " in card
    assert "MEASURE THE BORE" in card


def test_where_the_head_moves_the_card_says_so(tmp_path: Path) -> None:
    mill = '[mill]\nhead_moves = "loses"\nquill_travel = 45\n[control]\n'
    assert write(tmp_path, f"{mill}{CARD}").status == 0
    assert (
        "THE HEAD MOVES: PICK UP LEFT AND FRONT AGAIN" in (tmp_path / "out-tools.csv").read_text()
    )


# codes and tool numbers

FEW = '["G0", "G1", "G4", "G20", "G21", "G90", "G91", "M0", "M2", "M3", "M5"]'


def test_nothing_is_written_that_the_control_is_not_listed_with(tmp_path: Path) -> None:
    control = (
        f'codes = {FEW}\ncycles = false\ntool_change = "stop"\nlength_offset = false\n'
        "zero_in_stop = true"
    )
    lines = lines_of(tmp_path, control)
    code = " ".join(re.sub(r"\(.*?\)", "", line) for line in lines)
    assert set(re.findall(r"[GM]\d+", code)) <= set(re.findall(r"[GM]\d+", FEW))
    assert lines[-1] == "M2"
    assert "G21 G90" in lines


def test_the_modes_of_a_control_that_has_no_others_need_not_be_said(tmp_path: Path) -> None:
    text = "G21\nG0 X1.\nM2\n"
    control = read_shop_of(tmp_path, 'codes = ["G0", "G21", "M2"]')
    run = read_program(text.encode(), control, file="t.nc")
    assert [one.kind for one in run.findings if one.severity == "warning"] == []
    control = read_shop_of(tmp_path, 'codes = ["G0", "G21", "G90", "G91", "M2"]')
    run = read_program(text.encode(), control, file="t.nc")
    assert [one.kind for one in run.findings if one.severity == "warning"] == ["unstated-mode"]


def read_shop_of(folder: Path, control: str) -> Control:
    (folder / "shop.toml").write_text(f"[control]\n{control}\n")
    return read_shop(str(folder / "shop.toml")).control


@pytest.mark.parametrize(
    ("left_out", "told"), [("M0", "M0"), ("M3", "M3"), ("M2", "M30"), ("G1", "G1")]
)
def test_no_program_without_what_every_program_needs(
    tmp_path: Path, left_out: str, told: str
) -> None:
    codes = FEW.replace(f'"{left_out}", ', "").replace(f', "{left_out}"', "")
    control = f'codes = {codes}\ncycles = false\ntool_change = "files"\nlength_offset = false'
    ran = write(tmp_path, control)
    assert ran.status == 2
    assert f"no program: the control is listed without {told}\n" in ran.err


def test_tools_without_numbers(tmp_path: Path) -> None:
    control = (
        'tool_numbers = false\ntool_change = "stop"\nlength_offset = false\nzero_in_stop = true'
    )
    lines = lines_of(tmp_path, control)
    assert not [line for line in lines if re.match(r"T\d", line)]
    assert "M0 (FIT TOOL 2 DRILL 4.2 MM, TOUCH OFF ON TOP, SET Z0 OF G54)" in lines
    run = read("G21 G90 G17 G54\nT3\nM30\n", tool_numbers=False, length_offset=False)
    assert [one.kind for one in run.findings if one.severity == "stop"] == ["control-lacks"]


# backlash

LOOSE = "backlash = { x = 0.05, y = 0.04 }"


@pytest.mark.parametrize("cycles", ["true", "false"])
def test_every_hole_is_come_up_to_from_the_minus_side(tmp_path: Path, cycles: str) -> None:
    holes = TRIAL.replace('name = "pivot"', 'name = "pivot"\ntolerance = 0.02')
    lines = lines_of(tmp_path, f"{LOOSE}\ncycles = {cycles}", holes)
    assert "(FIND ZERO COMING FROM MINUS X AND FROM MINUS Y, AS EVERY HOLE IS COME UP TO)" in lines
    moves = read_program((tmp_path / "out.nc").read_bytes(), Control(), file="out.nc").moves
    down = (moves.kind == FEED) & (moves.end[2] < 0) & (moves.start[2] >= 0)
    assert down.sum() >= 10
    for row in down.nonzero()[0].tolist():
        for axis in (0, 1):
            steps = (moves.end - moves.start)[axis, :row]
            assert steps[steps != 0][-1] == pytest.approx(1.0)
    shorts = [n for n, line in enumerate(lines) if re.fullmatch(r"G0 X\S+ Y\S+", line)]
    assert all(moves.start[2][moves.line == n + 1].min() >= 10 for n in shorts)


@pytest.mark.parametrize(
    ("control", "words"),
    [
        ("backlash = { y = 0.5 }", "FROM MINUS Y,"),
        ("backlash = { x = 0.019 }", ""),
        (f"{LOOSE}\nbacklash_compensated = true", ""),
    ],
)
def test_only_backlash_that_tells(tmp_path: Path, control: str, words: str) -> None:
    lines = lines_of(tmp_path, control)
    (told,) = [line for line in lines if "FIND ZERO" in line] or [""]
    assert (words in told) if words else not told
    if words:  # three times the backlash is more than a millimetre
        assert "G0 X12.0 Y10.5" in lines


def test_a_toleranced_hole_come_up_to_from_two_sides_is_told_once(tmp_path: Path) -> None:
    holes = TRIAL.replace('name = "pivot"', 'name = "pivot"\ntolerance = 0.05')
    assert write(tmp_path, "", holes).status == 0
    (tmp_path / "shop.toml").write_text(f"[control]\n{LOOSE}\n")
    ran = millprep(
        *("dryrun", tmp_path / "out.nc", "--part", tmp_path / "part.toml"),
        *("--shop", tmp_path / "shop.toml", "--format", "json"),
    )
    (found,) = [one for one in ran.json["findings"] if one["kind"] == "two-sided"]
    assert (found["severity"], found["holes"]) == ("warning", ["pivot"])
    assert "0.05 mm" in found["message"]


def test_short_of_a_hole_the_mill_has_to_reach(tmp_path: Path) -> None:
    """A hole at X 12, G54 at machine 3: 15; a hole at X 1 short of the end, -1 is beyond."""
    offsets = "offsets = { G54 = [-11.5, 50, -150] }"
    assert write(tmp_path, offsets).status == 0
    ran = write(tmp_path, f"{offsets}\n{LOOSE}")
    assert ran.status == 2
    assert "X of setup 1 goes 0.5 mm beyond its travel" in ran.err
