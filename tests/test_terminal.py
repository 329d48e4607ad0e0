"""What a person sees: findings on a pseudo terminal, in a pipe and in a file."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import shutil
import struct
import subprocess
import sys
import termios
from pathlib import Path

import pytest
from jobs import millprep

PARTS = Path(__file__).parent.parent / "parts"
ESCAPES = re.compile(r"\x1b\[[\d;]*m")
RED, YELLOW, CYAN = "\x1b[1;31mstop\x1b[0m", "\x1b[1;33mwarning\x1b[0m", "\x1b[1;36mnote\x1b[0m"
FAULTY = """part = "Faulty plate"
units = "mm"
material = "mild steel"
stock = { size = [60, 40, 12] }
datum = { x = "left", y = "front" }
[[hole]]
name = "long name of a fixing screw"
tap = "M6"
depth = 11.5
at = [[4.1, 10], [30, 20], [33, 22]]
[[hole]]
name = "odd size that no drawer has"
drill = 7.77
depth = "through"
at = [20, 20]
"""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("port-block", "flywheel"):
        shutil.copy(PARTS / f"{name}.toml", tmp_path)
    (tmp_path / "faulty.toml").write_text(FAULTY)
    return tmp_path


def on_terminal(columns: int, *arguments: str, **environment: str) -> str:
    """What a command shows on a terminal of so many columns, stdout and stderr together."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    kept = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "NO_COLOR")}
    process = subprocess.Popen(
        [sys.executable, "-m", "millprep", *arguments],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**kept, "TERM": "xterm", **environment},
    )
    os.close(theirs)
    shown = b""
    while True:
        try:
            more = os.read(ours, 65536)
        except OSError:  # so a pseudo terminal says that the other end has gone
            break
        if not more:
            break
        shown += more
    process.wait()
    os.close(ours)
    return shown.decode().replace("\r\n", "\n")


@pytest.mark.parametrize("columns", [60, 80])
@pytest.mark.parametrize(
    "part", ["port-block.toml", "flywheel.toml", "faulty.toml", "missing.toml"]
)
def test_no_line_is_wider_than_the_terminal_and_no_word_broken(
    folder: Path, part: str, columns: int
) -> None:
    shown = ESCAPES.sub("", on_terminal(columns, "check", part, "--shop", "inch"))
    assert max(map(len, shown.splitlines())) <= columns
    ran = millprep("check", part, "--shop", "inch")
    assert shown.split() == (ran.out + ran.err).split()


@pytest.mark.parametrize("columns", [60, 80])
@pytest.mark.parametrize(
    "command", ["", "listing", "dryrun", "check", "assembly", "lookup", "program", "inspect", "new"]
)
def test_help_fits_the_terminal(columns: int, command: str) -> None:
    shown = ESCAPES.sub("", on_terminal(columns, *command.split(), "--help"))
    assert "--help" in shown
    assert max(map(len, shown.splitlines())) <= columns


@pytest.mark.parametrize(("columns", "is_told"), [(60, True), (79, True), (80, False)])
def test_a_window_too_narrow_for_a_sheet_is_told(folder: Path, columns: int, is_told: bool) -> None:
    shown = on_terminal(columns, "listing", "flywheel.toml")
    told = f"the sheet is 80 columns wide, this window {columns}:\nwiden it, or add -o sheet.html\n"
    assert (told in shown) is is_told
    assert "columns wide" not in millprep("listing", "flywheel.toml").err


def test_what_is_said_of_a_program_is_folded(folder: Path) -> None:
    shown = on_terminal(60, "program", "flywheel.toml", "-o", "fly.nc")
    told = shown[shown.index("fly.nc: written") :]
    assert max(map(len, told.splitlines())) <= 60
    assert "nothing found in what was checked." in " ".join(told.split())


def test_findings_stand_apart_the_worst_first_each_in_its_colour(folder: Path) -> None:
    shown = on_terminal(80, "check", "faulty.toml")
    found = [block for block in shown.split("\n\n") if "faulty.toml" in block]
    words = [ESCAPES.sub("", block).split(": ")[1] for block in found]
    assert {"stop", "warning"} <= {*words}
    assert words == sorted(words, key=["stop", "warning", "note"].index)
    for word, block in zip(words, found, strict=True):
        assert {"stop": RED, "warning": YELLOW, "note": CYAN}[word] in block
        assert all(line.startswith("  ") for line in block.splitlines()[1:])


@pytest.mark.parametrize("environment", [{"NO_COLOR": "1"}, {"TERM": "dumb"}])
def test_colours_can_be_refused(folder: Path, environment: dict[str, str]) -> None:
    assert "\x1b" not in on_terminal(80, "check", "faulty.toml", **environment)


def test_neither_pipe_nor_file_has_escape_codes_or_folded_lines(folder: Path) -> None:
    piped = subprocess.run(
        [sys.executable, "-m", "millprep", "check", "faulty.toml"],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "TERM": "xterm", "COLUMNS": "40"},
    )
    assert "\x1b" not in piped.stdout + piped.stderr
    assert "\n\n" not in piped.stdout
    on_terminal(40, "check", "faulty.toml", "-o", "found.txt")
    assert piped.stdout in (folder / "found.txt").read_text()


def test_like_findings_of_several_setups_are_one(folder: Path) -> None:
    text = FAULTY.replace("at = [[4.1, 10]", "face = 'back'\nat = [[4.1, 4]")
    Path("turned.toml").write_text(text)
    shown = millprep("check", "turned.toml").out
    said = [line.split(": ", 2)[2] for line in shown.splitlines() if line.startswith("turned")]
    assert len(said) == len({*said})


@pytest.mark.parametrize(
    ("arguments", "lead"),
    [
        ("listing port-block.toml", "made; "),
        ("dials port-block.toml", "made; "),
        ("markout port-block.toml", "made; "),
        ("listing port-block.toml -o p.txt", ""),
        ("bench port-block.toml -o p.html", ""),
        ("drawing port-block.toml -o p.svg", ""),
        ("program port-block.toml -o p.nc", ""),
    ],
)
def test_notes_beside_a_sheet_are_counted_and_check_reads_them_out(
    folder: Path, arguments: str, lead: str
) -> None:
    checked = millprep("check", "port-block.toml").out.splitlines()
    notes = [line for line in checked if ": note: " in line]
    assert len(notes) > 1
    ran = millprep(*arguments.split())
    assert ran.status == 0
    assert f"{lead}{len(notes)} notes (millprep check port-block.toml)\n" in ran.err
    assert not {*notes}.intersection(ran.err.splitlines())


def test_warnings_and_stops_are_always_told_in_full(folder: Path) -> None:
    warned = millprep("listing", "flywheel.toml", "--shop", "inch")
    assert warned.status == 0
    assert "warning: 7 mm drill is not in the drawer\n    needed for lightening 1" in warned.err
    told = [
        line for line in millprep("check", "faulty.toml").out.splitlines() if ": stop: " in line
    ]
    stopped = millprep("listing", "faulty.toml")
    assert stopped.status == 1
    assert told
    assert all(line in stopped.err.splitlines() for line in told)


@pytest.mark.parametrize(
    "arguments",
    [
        "listing port-block.toml -o nowhere/x.txt",
        "drawing port-block.toml -o nowhere/x.svg",
        "bench port-block.toml -o nowhere/x.html",
        "program port-block.toml -o nowhere/x.nc",
        "check missing.toml -o nowhere/x.txt",
        "dryrun missing.nc --html nowhere/x.html",
    ],
)
def test_a_folder_that_is_not_there_is_told_first_and_alone(folder: Path, arguments: str) -> None:
    ran = millprep(*arguments.split())
    (name,) = re.findall(r"nowhere/\S+", arguments)
    said = f"{name}: stop: the folder does not exist\n    make the folder nowhere first\n"
    assert (ran.status, ran.out, ran.err) == (2, "", said)


def test_a_dry_run_says_its_verdict_first_and_each_finding_once(folder: Path) -> None:
    millprep("program", "port-block.toml", "-o", "p.nc", "--setup", "1")
    (program,) = folder.glob("p*.nc")
    program.write_text(program.read_text().replace("-16.6", "-26.6"))
    ran = millprep("dryrun", program.name, "--part", "port-block.toml")
    lines = ran.out.splitlines()
    assert ran.status == 1
    assert ran.err == ""
    verdict = next(n for n, line in enumerate(lines) if line.startswith("VERDICT"))
    assert verdict < 4
    assert lines[verdict].startswith("VERDICT  do not run it as it is: 1 stop")
    assert ran.out.count("1 stop line 29: oil hole: ") == 1
    assert "go less deep" in ran.out
    assert "the origin of G54 is not listed" in ran.out
    kept = millprep("dryrun", program.name, "--part", "port-block.toml", "-o", "report.txt")
    assert kept.err.splitlines()[0].startswith("report.txt: written")
    assert ": stop: oil hole: " in kept.err


def test_notes_of_the_dry_run_of_a_program_are_counted(in_folder: Path) -> None:
    """As beside a sheet; the command that is named reads them out."""
    part = Path(__file__).parent.parent / "parts" / "guard-panel.toml"
    ran = millprep("program", part, "-o", "panel.nc")
    assert ran.status == 0
    assert "note:" not in ran.err
    found = re.search(r"(\d+) notes? of the dry run \(millprep (.+?)\)", ran.err)
    assert found is not None
    again = millprep(*found[2].split())
    assert f"{found[1]} note" in again.out
