"""The command line: what goes where, exit status 0, 1 and 2, and never a traceback."""

import csv
import io
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from jobs import RICH, RICH_STOCK, millprep, part_text

GOOD = """
[[hole]]
name = "screw"
tap = "M5"
depth = 8
at = [[10, 10], [70, 10], [70, 40]]
[[hole]]
name = "pivot"
face = "front"
ream = "6 mm"
at = [40, 12]
depth = "through"
"""
OVER_EDGE = '[[hole]]\nname = "a"\ndrill = 6\nat = [2, 20]\ndepth = 5\n'
WARNED = '[[hole]]\nname = "a"\ndrill = 6\nat = [4, 20]\ndepth = 5\n'


@pytest.fixture
def part(in_folder: Path) -> Path:
    return save(in_folder, GOOD)


def save(folder: Path, holes: str, name: str = "part.toml", **more: str) -> Path:
    path = folder / name
    path.write_text(part_text(holes, "size = [80, 50, 50]", **more), encoding="utf-8")
    return path


COMMANDS = (
    ["listing", "part.toml"],
    ["program", "part.toml", "-o", "out.nc"],
    ["check", "part.toml"],
    ["tools", "part.toml"],
    ["lookup", "M6"],
)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: command[0])
def test_status_0_sheets_to_stdout_findings_to_stderr(part: Path, command: list[str]) -> None:
    ran = millprep(*command)
    assert ran.status == 0
    assert ran.out.strip()
    assert "stop:" not in ran.out + ran.err


@pytest.mark.parametrize("command", COMMANDS[:4], ids=lambda command: command[0])
def test_status_2_for_a_file_that_is_not_there(in_folder: Path, command: list[str]) -> None:
    ran = millprep(*command)
    assert ran.status == 2
    assert ran.out == ""
    assert "part.toml: stop: the file does not exist" in ran.err


def test_status_1_where_the_check_finds_a_stop(in_folder: Path) -> None:
    save(in_folder, OVER_EDGE)
    for command in (["listing", "part.toml"], ["program", "part.toml", "-o", "out.nc"]):
        ran = millprep(*command)
        assert (ran.status, ran.out) == (1, "")
        assert "breaks out through LEFT by 1.00 mm" in ran.err
    assert millprep("check", "part.toml").status == 1
    assert millprep("tools", "part.toml").status == 0  # shopping comes first
    assert [path.name for path in in_folder.iterdir()] == ["part.toml"]


def test_a_warning_is_told_and_the_sheet_is_given(in_folder: Path) -> None:
    save(in_folder, WARNED)
    ran = millprep("listing", "part.toml")
    assert ran.status == 0
    assert "warning:" in ran.err
    assert "[ ]" in ran.out
    assert "REMARKS" in ran.out


@pytest.mark.parametrize("command", COMMANDS[:4], ids=lambda command: command[0])
@pytest.mark.parametrize("holes", [GOOD, OVER_EDGE, '[[hole]]\ndrill = "M99"\n', "x = \n"])
def test_json_is_one_object_with_findings_for_every_status(
    in_folder: Path, command: list[str], holes: str
) -> None:
    save(in_folder, holes)
    ran = millprep(*command, "--format", "json")
    assert ran.status in (0, 1, 2)
    findings = ran.json["findings"]
    stops = [finding for finding in findings if finding["severity"] == "stop"]
    assert bool(stops) is (ran.status > 0)
    for finding in findings:
        assert {"severity", "kind", "file", "line", "holes", "message", "remedy"} <= set(finding)


def test_csv(part: Path) -> None:
    ran = millprep("listing", part, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert {row["hole"] for row in rows} == {"screw 1", "screw 2", "screw 3", "pivot"}
    tools = list(csv.DictReader(io.StringIO(millprep("tools", part, "--format", "csv").out)))
    assert [row["tool_number"] for row in tools] == [str(n) for n in range(1, len(tools) + 1)]


@pytest.mark.parametrize(("ending", "start"), [("json", "{"), ("csv", "setup,"), ("txt", "TRIAL")])
def test_output_by_its_ending(part: Path, ending: str, start: str) -> None:
    ran = millprep("listing", part, "-o", f"out.{ending}")
    assert (ran.status, ran.out) == (0, "")
    assert Path(f"out.{ending}").read_text().startswith(start)
    assert f"out.{ending}: written" in ran.err


def test_format_goes_before_the_ending(part: Path) -> None:
    millprep("listing", part, "-o", "out.txt", "--format", "json")
    assert json.loads(Path("out.txt").read_text())["part"] == "Trial"


@pytest.mark.parametrize("name", ["out.txt", "out.json", "out.csv"])
def test_a_second_run_leaves_an_identical_file_alone(part: Path, name: str) -> None:
    millprep("listing", part, "-o", name)
    before = Path(name).stat()
    ran = millprep("listing", part, "-o", name)
    assert ran.status == 0
    assert f"{name}: unchanged" in ran.err
    assert Path(name).stat().st_mtime_ns == before.st_mtime_ns


@pytest.mark.parametrize("name", ["out.txt", "out.json"])
def test_an_own_file_is_replaced_until_it_is_edited(part: Path, name: str) -> None:
    millprep("listing", part, "-o", name)
    assert millprep("listing", part, "-o", name, "--units", "inch").status == 0
    edited = Path(name).read_text().replace("Trial", "Trail").replace("TRIAL", "TRAIL")
    Path(name).write_text(edited)
    ran = millprep("listing", part, "-o", name)
    assert ran.status == 2
    assert "was edited since millprep wrote it" in ran.err
    assert Path(name).read_text() == edited
    assert millprep("listing", part, "-o", name, "--force").status == 0
    assert Path(name).read_text() != edited


def test_setup_only_and_from_step(part: Path) -> None:
    second = millprep("listing", part, "--setup", 2).out
    assert "setup 2 of 2: FRONT up" in second
    assert "setup 1 of 2" not in second
    only = millprep("listing", part, "--only", "screw 2").out
    assert "screw 2" in only
    assert not re.search(r"\[ \].*screw 1", only)
    late = millprep("listing", part, "--setup", 1, "--from-step", 7).out
    assert [int(n) for n in re.findall(r"\[ \] +(\d+)", late)] == [7, 8, 9]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--setup", "3"], "there is no setup 3"),
        (["--setup", "0"], "there is no setup 0"),
        (["--only", "scrwe"], 'no hole "scrwe"'),
        (["--from-step", "99"], "no step 99 or later"),
        (["--order", "size"], '--order: no such word "size"'),
        (["--units", "furlong"], '--units: no such word "furlong"'),
        (["--format", "xml"], 'no format "xml"'),
        (["--shop", "meteric"], "meteric"),
        (["--setup", "two"], "two"),
        (["--feed", "3"], "--feed"),
        (["another.toml"], "another.toml"),
    ],
)
def test_unknown_words_are_refused_by_name(part: Path, options: list[str], said: str) -> None:
    ran = millprep("listing", part, *options)
    assert (ran.status, ran.out) == (2, "")
    assert said in ran.err
    assert "Traceback" not in ran.err


def test_accepted_words_are_named(part: Path) -> None:
    err = millprep("listing", part, "--order", "size").err
    assert "tool" in err
    assert "hole" in err
    err = millprep("listing", part, "--only", "scrwe").err
    assert "screw 1" in err


@pytest.mark.parametrize("order", ["tool", "hole"])
@pytest.mark.parametrize("units", ["mm", "inch"])
@pytest.mark.parametrize("shop", ["metric", "inch"])
def test_orders_units_and_shops(part: Path, order: str, units: str, shop: str) -> None:
    ran = millprep("listing", part, "--order", order, "--units", units, "--shop", shop)
    assert ran.status == 0, ran.err
    assert bool(re.search(r"X in|X -?\d+\.\d{4}\b", ran.out)) is (units == "inch")


@pytest.mark.parametrize(
    "name", ["listing", "check", "tools", "program", "lookup", "dryrun", "new"]
)
def test_help_of_every_command(name: str) -> None:
    ran = millprep(name, "--help")
    assert ran.status == 0
    assert name in ran.out


def test_no_arguments_and_help() -> None:
    assert "listing" in millprep("--help").out
    alone = millprep()
    assert alone.status in (0, 2)
    assert "listing" in alone.out + alone.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ("lsiting", 'there is no command "lsiting"\n    did you mean listing?'),
        (
            "a.toml",
            'there is no command "a.toml"\n    the command comes first: millprep check a.toml',
        ),
        ("help me", 'there is no command "me"\n    there are: '),
        ("--verson", "there is no option --verson\n    did you mean --version?"),
        ("--zzz", "there is no option --zzz\n    see millprep --help"),
        ("listing", "which part?\n    millprep listing bracket.toml"),
        ("dryrun", "which program?\n    millprep dryrun bracket.nc --part bracket.toml"),
        ("match a.toml", "which measurements?\n    millprep match a.toml measured.csv"),
        ("lookup", "look up what?\n    millprep lookup M6; what has a # goes in quotes: '#7'"),
        ("assembly", "which file?\n    millprep assembly engine.toml"),
        ("program a.toml", "program writes a file\n    name the file: -o a.nc"),
        (
            "drawing a.toml",
            "drawing writes a file\n    name the file: -o a.pdf (or .svg, .png, .dxf)",
        ),
        ("listing a.toml b c", "too many words: b c\n    a name with blanks goes in quotes; see "),
        ("listing a.toml --setup", "--setup has no value\n    see millprep listing --"),
        ("listing a.toml --force=1", "--force takes no value\n    write --force alone"),
        ("listing a.toml --unit mm", "there is no option --unit\n    did you mean --units?"),
        (
            "listing a.toml --setup two",
            '--setup: "two" is not a whole number\n    see millprep listing --help',
        ),
    ],
)
def test_unknown_or_missing_words(arguments: str, said: str) -> None:
    ran = millprep(*arguments.split())
    assert (ran.status, ran.out) == (2, "")
    assert ran.err.startswith(f"stop: {said}")
    assert ran.err.count("\n") == 2


def test_a_part_file_is_no_program(in_folder: Path) -> None:
    save(in_folder, GOOD)
    ran = millprep("dryrun", "part.toml")
    assert ran.err == (
        "part.toml: stop: this is a part file\n"
        "    give the program: millprep dryrun part.nc --part part.toml\n"
    )


def test_a_missing_file_is_found_by_its_nearest_name(in_folder: Path) -> None:
    save(in_folder, GOOD)
    for name in ("part", "Part.toml", "prat.toml"):
        ran = millprep("listing", name)
        assert ran.err == f"{name}: stop: the file does not exist\n    did you mean part.toml?\n"
    assert "there is no folder nowhere" in millprep("listing", "nowhere/part.toml").err


def test_help_and_version_are_words_too() -> None:
    assert millprep("version") == millprep("--version")
    assert millprep("help") == millprep("--help")
    assert millprep("help", "listing") == millprep("listing", "--help")


def test_usage_errors_in_json() -> None:
    ran = millprep("listing", "a.toml", "--format", "json", "--wrong")
    assert ran.status == 2
    assert ran.json["findings"][0]["kind"] == "unknown-word"


def test_every_fault_of_part_and_shop_at_once(in_folder: Path) -> None:
    save(in_folder, '[[hole]]\ndrill = "M99"\nat = [1, 1]\ndepth = -1\n')
    Path("shop.toml").write_text("[mill]\ntavel = 3\n")
    ran = millprep("check", "part.toml", "--shop", "shop.toml")
    assert ran.status == 2
    assert "part.toml:" in ran.err
    assert "shop.toml:" in ran.err
    assert "travel" in ran.err  # the nearest known key


@pytest.mark.parametrize("kind", ["part", "shop"])
@pytest.mark.parametrize("units", ["mm", "inch"])
def test_new_makes_a_file_that_is_accepted_as_it_is(in_folder: Path, kind: str, units: str) -> None:
    assert millprep("new", "fresh.toml", "--kind", kind, "--units", units).status == 0
    if kind == "part":
        assert millprep("check", "fresh.toml").status == 0
    else:
        save(in_folder, GOOD)
        assert millprep("check", "part.toml", "--shop", "fresh.toml").status == 0
    again = millprep("new", "fresh.toml", "--kind", kind, "--units", units)
    assert again.status == 0  # identical: left alone


def test_new_never_goes_over_a_file_of_somebody_else(in_folder: Path) -> None:
    Path("mine.toml").write_text("mine\n")
    assert millprep("new", "mine.toml").status == 2
    assert Path("mine.toml").read_text() == "mine\n"


def test_the_same_listing_every_time(part: Path) -> None:
    assert millprep("listing", part).out == millprep("listing", part).out


def test_file_names_with_blanks_and_in_any_script(in_folder: Path) -> None:
    path = save(in_folder, GOOD, "mein Stück ½.toml")
    assert millprep("listing", path).status == 0
    assert millprep("program", path, "-o", "Ü 1.nc").status == 0
    assert sorted(p.name for p in in_folder.glob("*.nc")) == ["Ü 1-setup1.nc", "Ü 1-setup2.nc"]


# In a process of its own ----------------------------------------------------------------------


def run_apart(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-c", "from millprep.cli import main; main()", *arguments],
        capture_output=True,
        env={**os.environ, **environment},
        check=False,
    )


@pytest.mark.parametrize(
    "environment", [{"LANG": "C", "LC_ALL": "C"}, {"PYTHONIOENCODING": "ascii"}, {"COLUMNS": "40"}]
)
def test_any_surroundings(in_folder: Path, environment: dict[str, str]) -> None:
    save(in_folder, GOOD.replace('"pivot"', '"Führung Ø6"'))
    for arguments in (
        ["listing", "part.toml"],
        ["check", "part.toml"],
        ["listing", "--help"],
        ["check", "missing Ø.toml", "--format", "json"],
    ):
        done = run_apart(*arguments, **environment)
        assert b"Traceback" not in done.stderr, done.stderr.decode()
        assert done.returncode in (0, 2)


def test_a_listing_has_the_same_bytes_in_any_surroundings(in_folder: Path) -> None:
    save(in_folder, GOOD)
    plain = run_apart("listing", "part.toml")
    assert plain.returncode == 0
    for environment in ({"COLUMNS": "40"}, {"LC_ALL": "C", "PYTHONIOENCODING": "ascii"}):
        assert run_apart("listing", "part.toml", **environment).stdout == plain.stdout


def test_a_reader_that_goes_away(in_folder: Path) -> None:
    """As `millprep listing part.toml | head -1` does."""
    rows = "".join(f"[{6 + 3 * (n % 100)}, {6 + 3 * (n // 100)}]," for n in range(2400))
    text = part_text(
        f"[[hole]]\ndrill = 1\nspot = false\ndepth = 2\nat = [{rows}]\n", "size = [320, 90, 10]"
    )
    Path("part.toml").write_text(text)
    with subprocess.Popen(
        [sys.executable, "-c", "from millprep.cli import main; main()", "listing", "part.toml"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout
        assert process.stderr
        assert process.stdout.readline().startswith(b"TRIAL")
        process.stdout.close()
        err = process.stderr.read()
        process.wait()
    assert b"Traceback" not in err
    assert b"BrokenPipe" not in err


@pytest.mark.parametrize(("redirection", "status"), [(">&-", 0), ("2>&-", 0), (">/dev/full", 2)])
def test_streams_that_take_nothing(in_folder: Path, redirection: str, status: int) -> None:
    save(in_folder, GOOD)
    for command in ("check part.toml", "listing part.toml", "tools part.toml --format csv"):
        code = "'from millprep.cli import main; main()'"
        done = subprocess.run(
            f"exec {sys.executable} -c {code} {command} {redirection}",
            shell=True,
            capture_output=True,
            check=False,
        )
        assert b"Traceback" not in done.stderr, done.stderr.decode()
        assert done.returncode == status


def test_a_file_name_that_is_no_text(in_folder: Path) -> None:
    path = Path(os.fsdecode(b"part\xff.toml"))
    path.write_text(part_text(WARNED, "size = [80, 50, 50]"))
    for form in ("text", "json"):
        done = subprocess.run(
            [
                sys.executable,
                "-c",
                "from millprep.cli import main; main()",
                "check",
                path,
                "--format",
                form,
            ],
            capture_output=True,
            check=False,
        )
        assert b"Traceback" not in done.stderr, done.stderr.decode()
        assert done.returncode == 0
    assert json.loads(done.stdout)["findings"]


def test_rich_part_in_every_form(in_folder: Path) -> None:
    Path("rich.toml").write_text(part_text(RICH, RICH_STOCK, material="aluminium 6082"))
    for form in ("text", "json", "csv"):
        for order in ("tool", "hole"):
            assert millprep("listing", "rich.toml", "--format", form, "--order", order).status == 0
