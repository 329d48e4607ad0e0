"""How the desk starts, is found again, and ends; the picture on the desktop."""

import json
import os
import plistlib
import re
import shlex
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from millprep.base.findings import MillprepError
from millprep.desk import shortcut
from millprep.desk import start as starting
from millprep.desk.places import desktop, documents, is_too_wide, remember
from millprep.desk.running import Running
from millprep.desk.shortcut import link_script, make_shortcut

ROOT = Path(__file__).parent.parent.parent
NOTING = """
import os, sys
def note(event, args):
    if event in ("open", "os.listdir", "os.scandir") and args and isinstance(args[0], (str, bytes)):
        with_ = os.fsdecode(args[0])
        if not hasattr(note, "busy"):
            note.busy = 1
            os.write(LOG, (os.path.abspath(with_) + "\\n").encode("utf-8", "surrogateescape"))
            del note.busy
LOG = os.open(os.environ["READ_LOG"], os.O_WRONLY | os.O_CREAT | os.O_APPEND)
sys.addaudithook(note)
"""
"""What a process opens and lists, a line each."""


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home folder of its own, with a browser that only writes down what it was to open."""
    folder = tmp_path / "home"
    (folder / ".config").mkdir(parents=True)
    (folder / "Private").mkdir()
    (folder / ".config" / "user-dirs.dirs").write_text(
        '# as written by the system\nXDG_DESKTOP_DIR="$HOME/My desk"\n'
        'XDG_DOCUMENTS_DIR="$HOME/Papers"\n'
    )
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\necho "$1" >> {shlex.quote(str(tmp_path / "opened"))}\n')
    browser.chmod(0o755)
    for name in ("XDG_STATE_HOME", "XDG_CONFIG_HOME", "XDG_DATA_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(folder))
    monkeypatch.setenv("BROWSER", str(browser))
    monkeypatch.setenv("PYTHONPATH", str(ROOT))
    return folder


def soon(told: Callable[[], Any], seconds: float = 20) -> Any:
    """What comes to be true before long."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if found := told():
            return found
        time.sleep(0.05)
    raise AssertionError(told)


def opened(home: Path, count: int) -> str:
    """The address that the browser was given the last time, of so many."""
    file = home.parent / "opened"
    lines: list[str] = soon(
        lambda: file.exists() and len(one := file.read_text().split()) >= count and one
    )
    assert len(lines) == count
    return lines[-1]


def asked(address: str, cookie: str = "", method: str = "GET") -> tuple[int, str, str]:
    """Status, text and cookie."""
    origin = re.match(r"http://[^/]*", address)
    assert origin is not None
    headers = {"Cookie": cookie, "Origin": origin[0], "X-Millprep": "desk"}
    request = urllib.request.Request(address, headers=headers, method=method)
    try:
        with urllib.request.urlopen(request, timeout=10) as answer:
            given = answer.headers.get("Set-Cookie", "").partition(";")[0]
            return answer.status, answer.read().decode(), given
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read().decode(), ""


def without_terminal(command: list[str], home: Path, **more: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        command,
        cwd=home,
        env={**os.environ, **more},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        start_new_session=True,
    )


def exec_line(entry: str) -> list[str]:
    """The words of Exec as the specification of desktop entries has them read."""
    found = re.search(r"^Exec=(.*)$", entry, re.MULTILINE)
    assert found is not None
    words = re.findall(r'"((?:\\.|[^"\\])*)"|(\S+)', found[1].replace("\\\\", "\\"))
    return [re.sub(r"\\(.)", r"\1", one or other).replace("%%", "%") for one, other in words]


def test_from_the_picture_on_the_desktop_to_put_away(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a terminal, and without a look into anything else that lies in the home folder."""
    monkeypatch.setattr(shortcut, "_is_installed", lambda: False)
    assert make_shortcut(system="linux")[2].startswith("it starts nothing yet: install millprep")
    entry = home / "My desk" / "mill-sheets.desktop"
    assert os.access(entry, os.X_OK)
    menu = home / ".local" / "share" / "applications" / entry.name
    assert menu.read_text() == entry.read_text()
    assert "\nTerminal=false\n" in entry.read_text()
    command = exec_line(entry.read_text())
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "sitecustomize.py").write_text(NOTING)
    noting = {"PYTHONPATH": f"{tmp_path / 'site'}:{ROOT}", "READ_LOG": str(tmp_path / "read")}
    first = without_terminal(command, home, **noting)
    try:
        address = opened(home, 1)
        sheets = home / "Papers" / "Mill sheets"
        assert sheets.is_dir()
        status, _, cookie = asked(address)
        assert (status, asked(address)[0]) == (200, 410)  # a ticket, taken
        base = re.sub(r"/in/.*", "", address)
        page = asked(f"{base}/", cookie)[1]
        assert "There is nothing on the board yet" in page
        assert "Your sheets are kept in <b>Papers / Mill sheets</b>" in page
        second = without_terminal(command, home)
        said = second.communicate(timeout=20)[0]
        assert (second.returncode, "runs on this folder already" in said) == (0, True)
        assert asked(opened(home, 2))[0] == 200
        (state,) = (home / ".local" / "state" / "millprep").glob("*.desk.json")
        assert state.stat().st_mode & 0o777 == 0o600
        assert state.parent.stat().st_mode & 0o777 == 0o700
        known = json.loads(state.read_text())
        assert asked(f"{base}/put-away", f"{cookie.partition('=')[0]}=x", "POST")[0] == 410
        assert asked(f"{base}/put-away", cookie, "POST")[0] == 200
        assert first.wait(2) == 0
        assert json.loads(state.read_text()) == {"port": known["port"]}
        assert [*sheets.iterdir()] == []
        own = (state.parent, sheets, home / ".config")
        for line in (tmp_path / "read").read_text().splitlines():
            read = Path(line)
            if read.is_relative_to(home):
                assert any(read.is_relative_to(one) for one in own), read
    finally:
        first.kill()
        told = first.communicate()[0]
    assert known["secret"] not in address + said + told  # no log has it
    assert told.splitlines()[-1] == "The desk is put away."


def test_killed_found_again_interrupted_and_taken_ports(
    home: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A desk that was killed keeps nobody out; the next one has its port; Ctrl-C gives 0."""
    folder = tmp_path / "sheets"
    folder.mkdir()
    command = [sys.executable, "-m", "millprep", "desk", str(folder), "--no-browser"]

    def address_of(process: subprocess.Popen[str]) -> str:
        assert process.stdout is not None
        found = re.search(r"http://127\.0\.0\.1:\d+/in/\S+", process.stdout.readline())
        assert found is not None
        return found[0]

    first = without_terminal(command, home)
    address = address_of(first)
    first.kill()
    first.communicate()
    second = without_terminal(command, home)
    again = address_of(second)
    try:
        assert again.rpartition("/")[0] == address.rpartition("/")[0]
        assert again != address
        assert (asked(again)[0], asked(address)[0]) == (200, 410)
        port = int(again.split("/")[2].partition(":")[2])
        other = tmp_path / "other"
        other.mkdir()
        with pytest.raises(MillprepError, match=rf"port {port} cannot be had: .*in use"):
            starting.start(other, None, port, opens=False)
        with pytest.raises(MillprepError, match="port 99999 cannot be had"):
            starting.start(other, None, 99_999, opens=False)
        assert starting.start(folder, "inch", None, opens=False) == 0
        said = capsys.readouterr().out
        assert again in said
        assert "--shop and --port count for a new one" in said
    finally:
        second.send_signal(signal.SIGINT)
        told = second.communicate(timeout=10)[0]
    assert (second.returncode, told.splitlines()[-1]) == (0, "The desk is put away.")
    assert not (tmp_path / "opened").exists()


def test_a_start_without_a_terminal_that_fails_is_said_in_the_browser(home: Path) -> None:
    """Nobody reads stderr who pressed a picture on the desktop."""
    gone = home / "Gone <b>"
    ran = without_terminal([sys.executable, "-m", "millprep", "desk", str(gone)], home)
    told = ran.communicate(timeout=20)[0]
    assert (ran.returncode, "there is no such folder" in told) == (2, True)
    page = Path(urllib.request.url2pathname(opened(home, 1).removeprefix("file://")))
    assert "<p>there is no such folder</p><p>make it first</p>" in page.read_text()
    assert "Gone &lt;b&gt;" in page.read_text()
    # and where nothing can be kept for this user
    (home / ".local" / "state" / "millprep").rename(home / "aside")
    (home / ".local" / "state" / "millprep").write_text("a file in the way")
    ran = without_terminal([sys.executable, "-m", "millprep", "desk", str(home / "Private")], home)
    told = ran.communicate(timeout=20)[0]
    assert (ran.returncode, "what the desk remembers cannot be written" in told) == (2, True)


def test_which_folder(home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    for wide in (home, home.parent, Path("/"), home / "Private" / ".."):
        with pytest.raises(MillprepError, match="the home folder as a whole"):
            starting._folder(wide)
        assert is_too_wide(wide)
        with pytest.raises(MillprepError, match="the home folder as a whole"):
            make_shortcut(wide)
    with pytest.raises(MillprepError, match="no such folder"):
        starting._folder(home / "nothing")
    assert starting._folder(home / "Private") == (home / "Private", False)
    monkeypatch.chdir(sheets)
    assert starting._folder(None) == (sheets, False)
    monkeypatch.chdir(home)
    assert starting._folder(None) == (home / "Papers" / "Mill sheets", True)
    remember(sheets)
    assert starting._folder(None) == (sheets, False)
    sheets.rmdir()
    assert starting._folder(None) == (home / "Papers" / "Mill sheets", True)
    (home / ".config" / "user-dirs.dirs").unlink()
    assert (documents(), desktop()) == (home / "Documents", home / "Desktop")


def test_a_port_that_something_else_has_and_a_desk_that_is_stuck(
    home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The folder's own port is taken: another is. A desk that is stuck: said, with what to do."""
    sheets = tmp_path / "sheets"
    sheets.mkdir()
    running = Running(sheets)
    with socket.create_server(("127.0.0.1", running.port())):
        serving = starting._serving(sheets, None, None, "secret", running)
        assert serving.desk.port != running.port()
        serving.socket.close()
        serving.desk.close()
        assert running.is_mine()
        running.note(1, "secret")
        monkeypatch.setattr(starting, "_ANSWER_SECONDS", 0.3)
        with pytest.raises(MillprepError, match="does not answer"):
            starting.start(sheets, None, None, opens=False)
        running.done()
    for name in ("BROWSER", "DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    starting._open("http://127.0.0.1:1", "secret", waits=True)
    assert "copy the address above into" in capsys.readouterr().out


def test_pictures_of_other_systems(home: Path, tmp_path: Path) -> None:
    """By their form alone: an application bundle, and what writes a link."""
    sheets = tmp_path / "my 'sheets' $HOME"
    sheets.mkdir()
    make_shortcut(sheets, system="darwin")
    bundle = home / "Desktop" / "Mill sheets.app" / "Contents"
    bundle = bundle if bundle.exists() else home / "My desk" / "Mill sheets.app" / "Contents"
    about = plistlib.loads((bundle / "Info.plist").read_bytes())
    script = bundle / "MacOS" / about["CFBundleExecutable"]
    assert os.access(script, os.X_OK)
    assert shlex.split(script.read_text().splitlines()[-1])[-1] == str(sheets)
    told = link_script(Path("C:/it's.lnk"), Path("C:/pythonw.exe"), '-m millprep desk "C:/a b"')
    assert "CreateShortcut('" in told
    assert "it''s.lnk')" in told
    entry, *_ = make_shortcut(sheets, system="linux")
    assert exec_line(Path(entry.removesuffix(": written")).read_text())[-1] == str(sheets)


def test_no_other_command_reads_what_the_desk_is_made_of() -> None:
    code = (
        "import sys; from millprep.cli.app import MODULES, app; from millprep.cli import main\n"
        "app(MODULES)\n"
        "for words in (['lookup', 'M6'], ['check', 'parts/port-block.toml'],"
        " ['tools', 'parts/port-block.toml', '--format', 'pdf']):\n"
        "    try: main(words)\n"
        "    except SystemExit: pass\n"
        "desk = ('starlette', 'uvicorn', 'tomlkit', 'segno', 'millprep.desk', 'watchfiles')\n"
        "print([one for one in desk if one in sys.modules], file=sys.stderr)\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=False, check=True
    )
    assert ran.stderr.decode().splitlines()[-1] == "[]"
