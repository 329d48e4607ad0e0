"""What is written over what: marks, inputs, the last moment, failing disks, killed processes."""

import itertools
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from jobs import BLOCK, millprep, part_text

from millprep.base import outfile, workplace
from millprep.base.findings import MillprepError
from millprep.base.inputs import inputs_noted, note_input
from millprep.base.marks import BLANK_MARK, said_of, sealed, sheet_mark
from millprep.base.outfile import write_files

HOLE = '[[hole]]\nname = "pin"\ndrill = 5\nat = [20, 20]\ndepth = "through"\n'
WHAT = sheet_mark("program", "nc", "Port block", 1)


def sheet(number: int, size: int = 0) -> bytes:
    return sealed(f"{BLANK_MARK}\n{number}\n" + "x" * size, WHAT)


def refusal(contents: dict[Path, bytes], **options: bool) -> str:
    with pytest.raises(MillprepError) as caught:
        write_files(contents, **options)
    return str(caught.value.findings[0].message)


def left(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


@pytest.fixture
def part(in_folder: Path) -> Path:
    path = in_folder / "part.toml"
    path.write_text(part_text(HOLE, BLOCK))
    return path


# --- what a mark says ---------------------------------------------------------------------------

SHEETS = {
    "listing": ("txt", "json", "html", "pdf"), "dials": ("txt", "json", "html", "pdf"),
    "markout": ("txt", "json"), "tools": ("txt", "json"), "inspect": ("txt", "json", "html"),
    "program": ("nc",), "bench": ("html",), "drawing": ("svg", "pdf", "dxf", "png"),
}  # fmt: skip
EVERY_SHEET = [(command, ending) for command, endings in SHEETS.items() for ending in endings]


@pytest.mark.parametrize(("command", "ending"), EVERY_SHEET)
def test_every_sheet_says_what_it_is_and_is_replaced_by_no_other(
    part: Path, command: str, ending: str
) -> None:
    out = f"sheet.{ending}"
    assert millprep(command, part, "-o", out).status == 0
    form = "text" if ending == "txt" else ending
    said = said_of(Path(out).read_bytes())
    assert said is not None
    assert said.startswith(f"{command} {form}, trial")
    # a revision of the same part, in other units where it has any
    part.write_text(part_text(HOLE.replace("20, 20", "21, 20"), BLOCK))
    units = [] if command in ("program", "tools") else ["--units", "inch"]
    assert millprep(command, part, "-o", out, *units).status == 0
    was = Path(out).read_bytes()
    # another part; another sheet
    part.write_text(part_text(HOLE, BLOCK).replace("Trial", "Other"))
    ran = millprep(command, part, "-o", out)
    assert ran.status == 2
    assert f'is another sheet: its mark is "{said}"' in ran.err
    assert Path(out).read_bytes() == was


def test_another_sheet_or_setup_of_the_same_part_is_kept(part: Path) -> None:
    assert millprep("program", part, "-o", "job.nc").status == 0
    was = Path("job.nc").read_bytes()
    assert millprep("listing", part, "-o", "job.nc", "--format", "text").status == 2
    assert (
        millprep("dryrun", "job.nc", "--part", part, "-o", "job.nc", "--format", "text").status == 2
    )
    assert Path("job.nc").read_bytes() == was
    assert millprep("listing", part, "-o", "one.txt", "--setup", 1).status == 0
    assert millprep("listing", part, "-o", "one.txt").status == 2


def test_a_dry_run_says_the_part_or_the_programs(part: Path) -> None:
    millprep("program", part, "-o", "job.nc")
    millprep("dryrun", "job.nc", "--part", part, "--html", "a.html", "--picture", "a.svg")
    assert said_of(Path("a.html").read_bytes()) == "dryrun html, trial, setup 1"
    assert said_of(Path("a.svg").read_bytes()) == "dryrun svg, trial, setup 1"
    millprep("dryrun", "job.nc", "--html", "b.html")
    assert said_of(Path("b.html").read_bytes()) == "dryrun html, job.nc"


@pytest.mark.parametrize(
    "name",
    [
        "millprep mark 1234567890abcdef",
        f"{BLANK_MARK}",
        "millprep mark 0000000000000000",
        "part mark abcdef",
        "millprep x y, mark 1234567890abcdef",
    ],
)
@pytest.mark.parametrize("where", ["part", "hole", "note"])
def test_names_like_a_mark_spoil_none(part: Path, name: str, where: str) -> None:
    text = part_text(HOLE, BLOCK)
    if where == "note":
        text = text.replace("[stock]", f'note = "{name}"\n[stock]', 1)
    else:
        text = text.replace({"part": '"Trial"', "hole": '"pin"'}[where], f'"{name}"')
    assert name in text
    part.write_text(text)
    for command, ending in (
        ("listing", "txt"),
        ("listing", "json"),
        ("listing", "html"),
        ("program", "nc"),
        ("drawing", "svg"),
        ("drawing", "pdf"),
        ("drawing", "png"),
    ):
        out = f"{command}.{ending}"
        assert millprep(command, part, "-o", out).status == 0
        assert said_of(Path(out).read_bytes()), out
        assert millprep(command, part, "-o", out).status == 0
    ran = millprep("dryrun", "program.nc", "--part", part)
    assert "was written for part mark" not in ran.err
    assert ran.status == 0


def test_a_name_is_cut_and_cleaned_and_stays_told_apart() -> None:
    assert sheet_mark("listing", "text", "Port block", 2) == "listing text, Port block, setup 2"
    said = [
        sheet_mark("listing", "text", name)
        for name in (
            "Плита",
            "Крышка",
            "Ø5 plate",
            "5 plate",
            "a" * 50,
            "a" * 51,
            "a--b",
            "a)(;%,b",
        )
    ]
    assert len({*said}) == len(said)
    for each in said:
        mark = f"millprep {each}, setup 12, mark 0123456789abcdef"
        assert mark.isascii()
        assert len(mark) < 80  # a line of a sheet
        assert not set("()<>&;%\"'\\\n") & set(mark)
        assert "--" not in mark  # which ends a comment of HTML


FIRST_EDITION = {
    "listing text": "TRIAL                   setup 1 of 2: TOP up\nmild steel\n",
    "dials text": "TRIAL                   setup 1 of 2: TOP up\nby dial; mild steel\n",
    "tools text": "TRIAL: tools in order of use; part mark 0912b0\n",
    "markout text": "TRIAL                   marking out, 3 standings\n",
    "program nc": "(TRIAL, SETUP 1 OF 2)\n(TOP UP)\n",
    "listing html": "<!DOCTYPE html>\n<html>\n<title>Trial: listing</title>\n",
    "listing json": '{\n  "part": "Trial",\n',
    "drawing dxf": "999\n",
}


def test_the_first_edition_s_files_are_known_by_their_first_lines(tmp_path: Path) -> None:
    """Those of data and drawings name no sheet there: they are kept."""
    path = tmp_path / "file"
    known = [kind for kind in FIRST_EDITION if kind not in ("listing json", "drawing dxf")]
    for old, new in itertools.product(FIRST_EDITION, FIRST_EDITION):
        setup = 1 if new == "program nc" else None
        data = sealed(f"new\n{BLANK_MARK}\n", sheet_mark(*new.split(), "Trial", setup))
        path.write_bytes(sealed(f"{FIRST_EDITION[old]}{BLANK_MARK}\n"))
        if old == new and old in known:
            write_files({path: data})
            assert path.read_bytes() == data
        else:
            assert "mark is of the first edition" in refusal({path: data})
    path.write_bytes(sealed(f"{FIRST_EDITION['listing text']}{BLANK_MARK}\n"))
    other = sealed(f"new\n{BLANK_MARK}\n", sheet_mark("listing", "text", "Trial 2"))
    assert "mark is of the first edition" in refusal({path: other})


# --- an output that is an input -----------------------------------------------------------------


def test_an_input_is_refused_by_every_name_and_with_force(tmp_path: Path) -> None:
    source, hard, soft = (tmp_path / name for name in ("a.nc", "hard.nc", "soft.nc"))
    source.write_bytes(sheet(1))
    os.link(source, hard)
    soft.symlink_to(source)
    with inputs_noted():
        note_input(source)
        for path in (source, hard, soft, tmp_path / "." / "a.nc"):
            assert refusal({path: sheet(2)}, force=True).startswith("is also read by this command")
        write_files({tmp_path / "b.nc": sheet(2)})
    assert source.read_bytes() == sheet(1)
    write_files({source: sheet(2)})  # another run, which has not read it


def test_every_file_that_is_read_is_an_input(part: Path) -> None:
    shutil.copy(part, "right.toml")
    Path("left.toml").write_text('opposite_hand_of = "right.toml"\npart = "Left"\n')
    Path("shop.toml").write_text("[mill]\nmax_feed = 1000\n")
    Path("m.csv").write_text("hole,x,y\npin,20,20\n")
    Path("a.toml").write_text(
        'assembly = "Pair"\n[members]\nbase = { part = "right.toml" }\n'
        'other = { part = "part.toml", on = "base: top" }\n'
    )
    assert millprep("program", part, "-o", "job.nc").status == 0
    for name, *command in (
        ("right.toml", "listing", "left.toml", "--format", "text"),
        ("left.toml", "listing", "left.toml", "--format", "text"),
        ("shop.toml", "tools", part, "--shop", "shop.toml", "--format", "text"),
        ("m.csv", "inspect", part, "m.csv", "--no-keep"),
        ("part.toml", "check", part, "--format", "text"),
        ("right.toml", "assembly", "a.toml", "--format", "json"),
        ("job.nc", "dryrun", "job.nc", "--format", "text"),
        ("job.nc", "dryrun", part.with_name("job.nc"), "--part", part, "--format", "json"),
    ):
        before = Path(name).read_bytes()
        ran = millprep(*command, "-o", name, "--force")
        assert ran.status == 2, (command, ran.err)
        assert f"{name}: stop: is also read by this command, and was left alone" in ran.err
        assert Path(name).read_bytes() == before


def test_moves_and_older_programs_are_no_outputs_of_a_dry_run(part: Path) -> None:
    millprep("program", part, "-o", "job.nc")
    shutil.copy("job.nc", "old.nc")
    for name in ("job.nc", "old.nc"):
        ran = millprep("dryrun", "job.nc", "--against", "old.nc", "--moves", name, "--force")
        assert ran.status == 2
        assert f"{name}: stop: is also read by this command" in ran.err


def test_results_are_added_to_no_input_and_no_output(part: Path) -> None:
    Path("m.csv").write_text("hole,x,y\npin,20,20\n")
    ran = millprep("inspect", part, "m.csv", "--keep", "m.csv")
    assert ran.status == 1
    assert "stop: the results were not kept: it is also read by this command" in ran.err
    assert Path("m.csv").read_text() == "hole,x,y\npin,20,20\n"
    ran = millprep("inspect", part, "m.csv", "--keep", "r.csv", "-o", "r.csv")
    assert ran.status == 2
    assert "r.csv is the file that results are added to" in ran.err


def test_a_loop_of_links_is_refused_in_a_sentence(part: Path) -> None:
    Path("one.txt").symlink_to("two.txt")
    Path("two.txt").symlink_to("one.txt")
    ran = millprep("listing", part, "-o", "one.txt")
    assert ran.status == 2
    assert "one.txt: stop: is a link that leads back to itself" in ran.err


# --- the last moment ----------------------------------------------------------------------------


def in_place(path: Path) -> None:
    path.write_bytes(b"saved by a person\n")


def by_rename(path: Path) -> None:
    beside = path.with_name("beside")
    beside.write_bytes(b"saved by a person\n")
    beside.replace(path)


@pytest.mark.parametrize("has_swap", [True, False], ids=["swap", "no swap"])
@pytest.mark.parametrize("saved", [in_place, by_rename])
@pytest.mark.parametrize("force", [True, False])
def test_what_somebody_saves_at_the_last_moment_is_kept(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    saved: Callable[[Path], None],
    has_swap: bool,
    force: bool,
) -> None:
    """Between the look and the change of places, by either way that editors save."""
    first, second, third = (tmp_path / f"{number}.nc" for number in (1, 2, 3))
    first.write_bytes(sheet(1))
    second.write_bytes(sheet(2))
    real = workplace.exchange

    def late(waiting: Path, target: Path) -> None:
        if target == second:
            saved(second)
        real(waiting, target)

    monkeypatch.setattr(outfile, "exchange", late)
    if not has_swap:
        monkeypatch.setattr(workplace, "swapped", lambda *_: False)
    new = {path: sheet(9) for path in (third, first, second)}
    assert refusal(new, force=force).startswith("was changed by somebody else while")
    assert second.read_bytes() == b"saved by a person\n"
    assert first.read_bytes() == sheet(1)
    assert left(tmp_path) == ["1.nc", "2.nc"]


def test_a_handle_that_was_open_before_is_looked_at_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, other = tmp_path / "1.nc", tmp_path / "2.nc"
    for each in (path, other):
        each.write_bytes(sheet(1))
    with path.open("r+b") as editor:
        real = workplace.exchange

        def late(waiting: Path, target: Path) -> None:
            real(waiting, target)
            if target == other:
                editor.write(b"SAVED")
                editor.flush()

        monkeypatch.setattr(outfile, "exchange", late)
        assert refusal({path: sheet(9), other: sheet(9)}).startswith("was changed by somebody")
    assert path.read_bytes().startswith(b"SAVED")
    assert other.read_bytes() == sheet(1)


@pytest.mark.parametrize("has_links", [True, False])
def test_a_name_that_somebody_took_meanwhile_is_theirs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, has_links: bool
) -> None:
    path = tmp_path / "new.nc"
    real = workplace.put_new

    def late(waiting: Path, target: Path) -> None:
        target.write_bytes(b"theirs\n")
        real(waiting, target)

    def no_links(*_: object) -> None:
        raise OSError(1, "Operation not permitted")  # as FAT has it

    monkeypatch.setattr(outfile, "put_new", late)
    if not has_links:
        monkeypatch.setattr(os, "link", no_links)
    assert refusal({path: sheet(1)}).startswith("was changed by somebody else")
    assert path.read_bytes() == b"theirs\n"
    assert left(tmp_path) == ["new.nc"]


# --- a rename that fails ------------------------------------------------------------------------


@pytest.mark.parametrize("failing", [1, 2, 3])
def test_all_go_back_when_one_cannot_be_put(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: int
) -> None:
    paths = [tmp_path / f"{number}.nc" for number in (1, 2, 3)]
    for path in paths:
        path.write_bytes(sheet(1))
    before = [path.stat().st_ino for path in paths]
    calls = itertools.count(1)
    real = workplace.exchange

    def fails(waiting: Path, target: Path) -> None:
        if next(calls) == failing:
            raise OSError(16, "Device or resource busy")
        real(waiting, target)

    monkeypatch.setattr(outfile, "exchange", fails)
    new = tmp_path / "0.nc"
    contents = {path: sheet(2) for path in (new, *paths)}
    assert refusal(contents) == "cannot be written: Device or resource busy"
    assert [path.read_bytes() for path in paths] == [sheet(1)] * 3
    assert [path.stat().st_ino for path in paths] == before  # the very files
    assert left(tmp_path) == ["1.nc", "2.nc", "3.nc"]


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Callable[..., Path]]:
    """Mounts something in the folder of the test; skips where that is not allowed."""
    done: list[Path] = []

    def mount(name: str, *words: str) -> Path:
        place = tmp_path / name
        if not place.exists():
            place.mkdir()
        program = shutil.which("mount")
        if program is None or os.getuid() != 0:
            pytest.skip("mounting needs root")
        ran = subprocess.run([program, *words, str(place)], capture_output=True, check=False)
        if ran.returncode:
            pytest.skip(f"mounting is refused here: {ran.stderr.decode().strip()}")
        done.append(place)
        return place

    yield mount
    for place in reversed(done):
        subprocess.run(["umount", str(place)], check=True)


def test_a_mount_point_among_them_holds_all_back(
    tmp_path: Path, mounted: Callable[..., Path]
) -> None:
    first, second, third, other = (tmp_path / name for name in ("1.nc", "2.nc", "3.nc", "o.nc"))
    for path in (first, second, third, other):
        path.write_bytes(sheet(1))
    mounted("2.nc", "--bind", str(other))
    message = refusal({path: sheet(2) for path in (first, second, third)})
    assert message == "cannot be written: Device or resource busy"
    assert {path.read_bytes() for path in (first, second, third)} == {sheet(1)}
    assert left(tmp_path) == ["1.nc", "2.nc", "3.nc", "o.nc"]


def test_a_full_disk_keeps_what_was_there(mounted: Callable[..., Path]) -> None:
    disk = mounted("disk", "-t", "tmpfs", "-o", "size=1m", "none")
    first, second = disk / "1.nc", disk / "2.nc"
    old = sheet(1, 300_000)
    write_files({first: old})
    message = refusal({first: sheet(2, 300_000), second: sheet(2, 600_000)})
    assert message == "cannot be written: No space left on device"
    assert first.read_bytes() == old
    assert left(disk) == ["1.nc"]
    write_files({first: sheet(2, 300_000)})  # and there is room again


def test_results_on_a_full_disk_are_a_stop(part: Path, mounted: Callable[..., Path]) -> None:
    disk = mounted("disk", "-t", "tmpfs", "-o", "size=1m", "none")
    Path("m.csv").write_text("hole,x,y\npin,20,20\n")
    keep = disk / "kept.csv"
    assert millprep("inspect", part, "m.csv", "--keep", keep).status == 0
    before = keep.read_bytes()
    with (disk / "rest").open("wb", 0) as rest, pytest.raises(OSError, match="No space"):
        while True:
            rest.write(b"x" * 4096)
    keep.write_bytes(before + b"," * (4096 - len(before) % 4096 - 1) + b"\n")
    before = keep.read_bytes()
    ran = millprep("inspect", part, "m.csv", "--keep", keep)
    assert ran.status == 1
    assert "stop: the results were not kept: it cannot be added to: No space left" in ran.err
    assert "VERDICT" in ran.out
    assert keep.read_bytes() == before


def test_a_folder_that_is_read_only(tmp_path: Path, mounted: Callable[..., Path]) -> None:
    if os.getuid() == 0:
        folder = mounted("disk", "-t", "tmpfs", "-o", "ro,size=1m", "none")
    else:
        folder = tmp_path / "disk"
        folder.mkdir()
        folder.chmod(0o555)
    message = refusal({folder / "a.nc": sheet(1)})
    assert message.startswith("cannot be written: ")
    assert left(folder) == []


# --- killed, and several at once ----------------------------------------------------------------

WRITER = """
import sys
from pathlib import Path
from millprep.base.outfile import write_files
from millprep.base.marks import BLANK_MARK, sealed
folder, first, rounds = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
print("begun", flush=True)
for number in range(first, first + rounds):
    data = sealed(f"{BLANK_MARK}\\n{number}\\n" + "x" * 50_000, "program nc, Port block, setup 1")
    write_files({folder / f"{name}.nc": data for name in "abc"})
"""


def writer(folder: Path, first: int, rounds: int) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(folder), str(first), str(rounds)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def finished(process: subprocess.Popen[bytes]) -> bytes:
    out, err = process.communicate(timeout=120)
    return out + err


def test_a_kill_at_any_moment_leaves_whole_files_and_the_next_run_clears_up(tmp_path: Path) -> None:
    chance = random.Random(7)
    turn = remains = 0
    assert finished(writer(tmp_path, 1, 1)) == b"begun\n"
    while turn < 25 or (not remains and turn < 250):  # on a loaded machine kills come too early
        turn += 1
        process = writer(tmp_path, 1000 * turn, 1000)
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.05))
        process.kill()
        finished(process)
        remains += any(name.startswith(".millprep-") for name in left(tmp_path))
        for path in tmp_path.glob("*.nc"):
            assert said_of(path.read_bytes()) == "program nc, port block, setup 1"
        write_files({tmp_path / "d.nc": sheet(turn)})
        assert not [name for name in left(tmp_path) if name.startswith(".millprep-")]
    assert remains  # else no kill came while files were written
    assert {"a.nc", "b.nc", "c.nc"} <= {*left(tmp_path)}


def test_two_at_once_leave_the_set_of_one_of_them(tmp_path: Path) -> None:
    both = [writer(tmp_path, 1000 * which, 40) for which in (1, 2)]
    assert [(finished(one), one.returncode) for one in both] == [(b"begun\n", 0)] * 2
    assert left(tmp_path) == ["a.nc", "b.nc", "c.nc"]
    assert len({path.read_bytes() for path in tmp_path.iterdir()}) == 1


def test_a_ctrl_c_waits_until_all_are_written(tmp_path: Path) -> None:
    for turn in range(6):
        process = writer(tmp_path, 1000 * turn, 1000)
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(0.01 + 0.01 * turn)
        process.send_signal(signal.SIGINT)
        finished(process)
        assert len({path.read_bytes() for path in tmp_path.glob("*.nc")}) <= 1
        assert not [name for name in left(tmp_path) if name.startswith(".millprep-")]


def test_what_is_not_ours_is_not_cleared(tmp_path: Path) -> None:
    theirs = tmp_path / ".millprep-a1b2c3d4.new"
    theirs.mkdir()
    (theirs / "letter.txt").write_text("mine")
    for name in (".millprep-projects", ".millprep.toml", ".millprep-x"):
        (tmp_path / name).write_text("mine")
    old, young = tmp_path / ".millprep-k3_9xq0z", tmp_path / ".millprep-k3_9xq0y"
    for path in (old, young):
        path.write_text("half a program")
    os.utime(old, (1, 1))
    write_files({tmp_path / "a.nc": sheet(1)})
    assert (theirs / "letter.txt").read_text() == "mine"
    assert left(tmp_path) == sorted(
        [theirs.name, ".millprep-projects", ".millprep.toml", ".millprep-x", young.name, "a.nc"]
    )


# --- the streams --------------------------------------------------------------------------------

COMMAND = [sys.executable, "-c", "from millprep.cli import main; main()"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full on this system")
def test_streams_that_take_nothing(part: Path) -> None:
    with Path("/dev/full").open("w") as full:
        for words in (["--help"], ["listing", "--help"], ["listing", str(part)], []):
            ran = subprocess.run(
                [*COMMAND, *words], stdout=full, stderr=subprocess.PIPE, text=True, check=False
            )
            assert ran.returncode == 2
            assert "what was to be printed cannot be written: No space left" in ran.stderr
            assert "Traceback" not in ran.stderr
        ran = subprocess.run(
            [*COMMAND, "listing", str(part)],
            stdout=subprocess.PIPE,
            stderr=full,
            text=True,
            check=False,
        )
    assert ran.returncode == 0
    assert ran.stdout.startswith("TRIAL")


def test_help_whose_reader_has_gone(in_folder: Path) -> None:
    reader, end = os.pipe()
    os.close(reader)
    try:
        ran = subprocess.run(
            [*COMMAND, "--help"], stdout=end, stderr=subprocess.PIPE, text=True, check=False
        )
    finally:
        os.close(end)
    assert (ran.returncode, ran.stderr) == (0, "")


def test_ctrl_c_at_any_moment_is_one_line_and_130(part: Path) -> None:
    chance = random.Random(3)
    code = (
        "import sys; from millprep.cli import main; import os; "
        "import signal; real = signal.signal\n"
        "real(signal.SIGINT, signal.default_int_handler)\n"  # a shell may have it ignored
        "def told(*words):\n    real(*words); print('ready', flush=True)\n"
        "signal.signal = told; main()"
    )
    ends = set()
    for _ in range(20):
        process = subprocess.Popen(
            [sys.executable, "-c", code, "listing", str(part)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.25))
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=120)
        ends.add(process.returncode)
        if process.returncode:
            assert process.returncode == 130
            assert said.endswith(b"interrupted\n")
            assert b"Traceback" not in said
            assert b"ignored" not in said
    assert 130 in ends
