"""`watch`: the sheets of a part written again when a file that it reads is saved."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from threading import Timer

import pytest
from jobs import millprep

PLATE = """part     = "Port block"
units    = "mm"
material = "aluminium 6082"
[stock]
size = [60, 40, 12]
[datum]
x = "left"
y = "front"
[[hole]]
tap = "M4"
depth = "through"
at = [[20, 15], [40, 25]]
"""
AT_MOST_S = 120
"""After which a watch that says nothing is ended, and the test fails for the missing line."""


class Watched:
    """A running `watch` and the lines that it prints."""

    def __init__(self, *options: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "millprep", "watch", "plate.toml", *options],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self._guard = Timer(AT_MOST_S, self._process.kill)
        self._guard.start()

    def line(self) -> str:
        """The next one, without the time of day."""
        assert self._process.stdout is not None
        return self._process.stdout.readline().rstrip("\n").partition(" ")[2]

    def ended(self) -> tuple[int, str]:
        """Exit status after Ctrl-C, and what was printed last."""
        self._process.send_signal(signal.SIGINT)
        assert self._process.stdout is not None
        out = self._process.stdout.read()
        return self._process.wait(), out

    def killed(self) -> None:
        assert self._process.stdout is not None
        self._guard.cancel()
        self._process.kill()
        self._process.wait()
        self._process.stdout.close()


@pytest.fixture
def watching(in_folder: Path) -> Iterator[list[Watched]]:
    """Those that a test begins; they end with it."""
    Path("plate.toml").write_text(PLATE)
    begun: list[Watched] = []
    yield begun
    for one in begun:
        one.killed()


def save(old: str, new: str, file: str = "plate.toml") -> None:
    """As editors do: the new file whole, in the place of the old one."""
    text = Path(file).read_text()
    assert old in text
    Path("saved~").write_text(text.replace(old, new))
    Path("saved~").replace(file)


@pytest.mark.parametrize("options", [(), ("--poll",)])
def test_each_save_is_a_line_and_the_sheet_as_the_command_makes_it(
    watching: list[Watched], options: tuple[str, ...]
) -> None:
    watch = Watched("--listing", "sheet.txt", *options)
    watching.append(watch)
    assert watch.line().endswith("sheet.txt: written")
    save('"Port block"', '"Port plate"')
    # another part is another sheet: somebody's listing of it is not written over
    assert "is another sheet" in watch.line()
    save('"Port plate"', '"Port block"')
    assert watch.line().endswith("sheet.txt: unchanged")
    save("aluminium 6082", "mild steel")
    assert watch.line().endswith("sheet.txt: written")
    assert millprep("listing", "plate.toml", "-o", "by-command.txt").status == 0
    assert Path("sheet.txt").read_text() == Path("by-command.txt").read_text()
    assert watch.ended() == (0, "watching ended\n")


def test_it_goes_on_while_the_file_is_broken_or_gone(watching: list[Watched]) -> None:
    watch = Watched("--tools", "tools.txt")
    watching.append(watch)
    watch.line()
    kept = Path("tools.txt").read_bytes()
    save('units    = "mm"', "units    = mm")
    assert "mm has no quotes" in watch.line()
    Path("plate.toml").rename("aside")
    assert "does not exist" in watch.line()
    Path("aside").rename("plate.toml")
    assert "mm has no quotes" in watch.line()
    save("units    = mm", 'units    = "mm"')
    assert watch.line().endswith("tools.txt: unchanged")
    assert Path("tools.txt").read_bytes() == kept
    assert watch.ended()[0] == 0


def test_a_stop_leaves_the_sheets_alone(watching: list[Watched]) -> None:
    watch = Watched("--listing", "sheet.txt")
    watching.append(watch)
    watch.line()
    kept = Path("sheet.txt").read_bytes()
    save("[datum]", "guessed = true\n[datum]")
    line = watch.line()
    assert "1 stop" in line and "; nothing written; first plate.toml: nobody has said" in line
    assert Path("sheet.txt").read_bytes() == kept


def test_somebody_else_s_file_is_never_written_over(watching: list[Watched]) -> None:
    Path("sheet.txt").write_text("my own notes\n")
    watch = Watched("--listing", "sheet.txt")
    watching.append(watch)
    assert "exists already" in watch.line()
    Path("sheet.txt").unlink()
    save("aluminium 6082", "mild steel")
    assert watch.line().endswith("written")
    with Path("sheet.txt").open("a") as stream:
        stream.write("mind the clamp\n")
    save("mild steel", "brass")
    assert "was edited since" in watch.line()
    assert Path("sheet.txt").read_text().endswith("mind the clamp\n")


def test_a_shop_that_it_uses_is_watched_too(watching: list[Watched]) -> None:
    Path("shops").mkdir()
    shop = Path("shops/mine.toml")
    shop.write_text("[readout]\nresolution = 0.005\n")
    watch = Watched("--shop", "shops/mine.toml", "--listing", "sheet.txt")
    watching.append(watch)
    assert watch.line().endswith("written")
    shop.write_text("[readout]\nresolution = 0.01\n")
    assert watch.line().endswith("written")
    shop.write_text("[readout]\nresolutoin = 0.01\n")
    assert "resolutoin" in watch.line()


def test_all_sheets_at_once_as_their_commands_make_them(watching: list[Watched]) -> None:
    options = (
        "--listing", "a.pdf", "--dials", "b.txt", "--markout", "c.html", "--tools", "d.json",
        "--bench", "e.html", "--drawing", "f.svg", "--program", "g.nc",
    )  # fmt: skip
    watch = Watched(*options)
    watching.append(watch)
    line = watch.line()
    assert line.count(": written") >= 7, line
    for command, file in (("dials", "b.txt"), ("markout", "c.html"), ("program", "g.nc")):
        for path in Path.cwd().glob(f"{file[0]}*.{file[2:]}"):
            path.rename(f"kept-{path.name}")
        assert millprep(command, "plate.toml", "-o", file).status == 0
        made = sorted(Path.cwd().glob(f"{file[0]}*.{file[2:]}"))
        assert made
        for path in made:
            assert path.read_bytes() == Path(f"kept-{path.name}").read_bytes(), path


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--listing", "a.csv"), 'the ending ".csv" names no format'),  # it has no mark
        (("--drawing", "a.txt"), "a drawing is not written"),
        (("--bench", "nowhere/a.html"), "the folder does not exist"),
    ],
)
def test_what_cannot_be_written_again_and_again(
    in_folder: Path, options: tuple[str, ...], words: str
) -> None:
    ran = millprep("watch", "plate.toml", *options)
    assert (ran.status, words in ran.err) == (2, True), ran.err


@pytest.mark.needs("bash")
def test_bash_completes_commands_and_options(in_folder: Path) -> None:
    """Names of files bash completes itself, where nothing is offered."""
    command = in_folder / "millprep"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m millprep "$@"\n')
    command.chmod(0o755)
    typed = {"lis": "listing", "ma": "markout match", "listing --ord": "--order", "listing pa": ""}
    script = "source <(./millprep --show-completion bash)\n"
    for words in typed:
        script += f"COMP_WORDS=(millprep {words}); COMP_CWORD={len(words.split())}\n"
        script += '_millprep_completion ./millprep; echo "${COMPREPLY[*]}"\n'
    ran = subprocess.run(["bash", "-c", script], capture_output=True, text=True, check=False)
    assert ran.stdout.splitlines() == list(typed.values()), ran.stderr
