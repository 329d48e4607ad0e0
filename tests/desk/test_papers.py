"""The sheets at the desk: the bytes of the command line, or the stop in their place."""

from __future__ import annotations

import base64
import hashlib
import html
import os
import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from asking import Asking

from millprep.cli.entry import main

PARTS = Path(__file__).parents[2] / "parts"
STOP = """
[[hole]]
name = "off it"
drill = 3
depth = "through"
at = [5000, 5]
"""


class Sheets:
    """A folder with some of the example parts, its sheets asked for as the page asks."""

    def __init__(self, asking: Asking) -> None:
        self.asking, self.folder = asking, asking.desk.folder

    def address(self, part: str, rest: str) -> str:
        return f"/sheet/{self.asking.desk.files.of(self.folder / part)}/{rest}"

    def get(self, part: str, rest: str) -> bytes:
        answer = self.asking.get(self.address(part, rest))
        assert answer.status == 200, answer.text
        return answer.body

    def page(self, part: str, rest: str) -> str:
        return self.get(part, f"paper/{rest}").decode()

    def framed(self, page: str) -> list[bytes]:
        """What the frames and pictures of a page show."""
        return [self.asking.get(a).body for a in re.findall(r'src="(/shown/[^"]+)"', page)]

    def names(self) -> set[str]:
        return {str(one.relative_to(self.folder)) for one in self.folder.rglob("*")}


@pytest.fixture
def sheets(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Sheets]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    folder = tmp_path / "sheets"
    shutil.copytree(PARTS, folder)
    monkeypatch.chdir(folder)  # as the desk works
    with Asking(folder) as asking:
        yield Sheets(asking)


def _by_command(folder: Path, words: list[str]) -> int:
    """The command line in this folder: its exit status."""
    before = Path.cwd()
    os.chdir(folder)
    try:
        main(words)
    except SystemExit as ended:
        return int(ended.code or 0)
    finally:
        os.chdir(before)
    return 0


@pytest.mark.parametrize(
    ("part", "sheet"),
    [
        ("port-block.toml", "listing?units=inch&setup=5&pieces=3"),
        ("column-right.toml", "dials"),
        ("port-block.toml", "markout"),
        ("port-block.toml", "tools"),
        ("trunnion-plate.toml", "drawing"),
        ("trunnion-plate.toml", "template?paper=letter"),
        ("column-left.toml", "inspect?pieces=2"),
        ("port-block.toml", "program"),
        ("trunnion-plate.toml", "bench"),
        ("winch/winch.toml", "listing?stack=bearings&short=1"),
        ("winch/winch.toml", "assembly"),
        ("twin-engine-assembly.toml", "route"),
    ],
)
def test_what_is_kept_and_saved_is_what_the_command_line_writes(
    part: str, sheet: str, sheets: Sheets, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = html.unescape(sheets.page(part, sheet))
    command = re.search(r"<code[^>]*>(.*?)</code>", page)[1]
    program, *words = shlex.split(command)
    assert program == "millprep"
    before = sheets.names()
    answer = sheets.asking.post(re.search(r'data-send="POST (/sheet/[^"]+)"', page)[1])
    assert answer.status == 200, answer.text
    kept = sorted(sheets.names() - before)
    assert kept
    by_command = tmp_path / "by command"
    shutil.copytree(PARTS, by_command)
    assert _by_command(by_command, words) == 0, capsys.readouterr().err
    for one in kept:
        assert (sheets.folder / one).read_bytes() == (by_command / one).read_bytes(), one
    copies = re.findall(r'href="([^"]+/copy[^"]*)"', page)
    saved = [sheets.asking.get(one).body for one in copies if "form=" not in one]
    assert sorted(saved) == sorted((sheets.folder / one).read_bytes() for one in kept)
    assert "Kept in the folder" in sheets.asking.get(answer.json["go"]).text


def test_a_sheet_is_shown_as_it_will_be_printed_and_printed_as_a_pdf(sheets: Sheets) -> None:
    page = sheets.page("port-block.toml", "listing")
    (framed,) = sheets.framed(page)
    assert framed == sheets.get("port-block.toml", "paper/listing/copy?form=html")
    (address,) = re.findall(r'<iframe src="([^"]+)" sandbox ', page)
    policy = sheets.asking.get(address).headers["content-security-policy"]
    assert "sandbox;" in policy
    assert "script-src" not in policy
    assert "frame-ancestors 'self'" in policy
    printed = sheets.asking.get(sheets.address("port-block.toml", "paper/listing/print"))
    assert printed.body.startswith(b"%PDF")
    assert printed.headers["content-disposition"].startswith("inline; ")
    assert sheets.asking.desk.secret not in page
    several = sheets.asking.get(sheets.address("port-block.toml", "paper/drawing/copy?form=dxf"))
    assert "choose one holding first" in several.json["said"]
    drawn = sheets.page("trunnion-plate.toml", "drawing")
    assert all(b"<svg" in one for one in sheets.framed(drawn))
    assert sheets.framed(drawn)


def test_the_page_that_keeps_ticks_runs_its_own_script_and_no_other(sheets: Sheets) -> None:
    address = sheets.address("twin-engine-assembly.toml", "paper/route/page")
    answer = sheets.asking.get(address)
    script = re.findall(rb"<script>(.*?)</script>", answer.body, re.DOTALL)
    assert len(script) == 1
    digest = base64.b64encode(hashlib.sha256(script[0]).digest()).decode()
    policy = answer.headers["content-security-policy"]
    assert f"script-src 'sha256-{digest}';" in policy
    assert "connect-src" not in policy
    assert "default-src 'none'" in policy
    assert sheets.asking.get(address.replace("route", "assembly")).status == 404


def test_a_stop_stands_in_place_of_the_sheet(sheets: Sheets) -> None:
    part = sheets.folder / "trunnion-plate.toml"
    part.write_text(part.read_text().replace("[stock]", "[stock]\n", 1) + STOP)
    before = sheets.names()
    for name in ("listing", "drawing", "program", "bench"):
        page = sheets.page(part.name, name)
        assert "Will spoil the work" in page
        assert "beyond" in page
        assert "<iframe" not in page
        assert "/shown/" not in page
        assert 'data-send="POST /sheet' not in page
        answer = sheets.asking.post(sheets.address(part.name, f"paper/{name}/keep"))
        assert answer.status == 409
        assert sheets.asking.get(sheets.address(part.name, f"paper/{name}/copy")).status == 409
    part.write_text("part = [")
    assert "Will spoil the work" in sheets.page(part.name, "listing")
    assert sheets.names() == before


def test_no_sheet_while_a_line_is_in_pencil(sheets: Sheets) -> None:
    left = sheets.address("column-left.toml", "letters")
    sheets.asking.put(left, {"line": "h1", "key": "size", "value": "tap 2B"})
    for part, sheet in (
        ("column-left.toml", "listing"),
        ("column-right.toml", "program"),
        ("twin-engine-assembly.toml", "route"),
    ):
        page = sheets.page(part, sheet)
        assert "1 line in pencil: finish it or strike it out" in page
        assert "Will spoil" not in page
        assert "/shown/" not in page
        answer = sheets.asking.post(sheets.address(part, f"paper/{sheet}/keep"))
        assert "1 line in pencil" in answer.json["said"]
    assert "in pencil" in sheets.get("column-left.toml", "papers").decode()
    assert "in pencil" not in sheets.get("port-block.toml", "papers").decode()


def test_nobodys_file_is_written_over_and_nothing_outside_the_folder(
    sheets: Sheets, tmp_path: Path
) -> None:
    own = sheets.folder / "port-block-tools.pdf"
    own.write_text("my own notes")
    elsewhere = tmp_path / "elsewhere.pdf"
    (sheets.folder / "port-block-markout.pdf").symlink_to(elsewhere)
    for name in ("tools", "markout"):
        answer = sheets.asking.post(sheets.address("port-block.toml", f"paper/{name}/keep"))
        assert answer.status == 409
        assert f"port-block-{name}.pdf" in answer.json["said"]
        assert str(sheets.folder) not in answer.json["said"]
        assert "--force" not in answer.json["said"]
    assert own.read_text() == "my own notes"
    assert not elsewhere.exists()


def test_a_sheet_of_an_earlier_issue_is_told(sheets: Sheets) -> None:
    address = sheets.address("trunnion-plate.toml", "paper/listing/keep")
    assert sheets.asking.post(address).status == 200
    assert sheets.asking.post(address, {"form": "html"}).status == 200
    assert sheets.asking.post(sheets.address("port-block.toml", "paper/tools/keep")).status == 200
    assert "of an earlier issue" not in sheets.get("trunnion-plate.toml", "papers").decode()
    part = sheets.folder / "trunnion-plate.toml"
    part.write_text(part.read_text() + "\n# looked at again\n")
    told = sheets.get("trunnion-plate.toml", "papers").decode()
    stamp = re.search(r'class="stamp">.*>(\w{6})<', told)[1]
    assert f"part mark {stamp}" in sheets.get(part.name, "paper/listing/copy?form=text").decode()
    assert told.count("of an earlier issue</strong>") == 2
    assert sheets.asking.post(address).status == 200  # the same sheet may be written again


def test_hostile_names_stay_words(sheets: Sheets) -> None:
    hostile = '<img src=x onerror=alert(1)>"; rm -r ~.toml'
    shutil.copy(sheets.folder / "trunnion-plate.toml", sheets.folder / hostile)
    text = (sheets.folder / hostile).read_text()
    (sheets.folder / hostile).write_text(re.sub('part = ".*"', "part = '<b>x</b>'", text, count=1))
    for rest in ("papers", "paper/listing", "paper/drawing", "paper/program?setup=<b>x"):
        page = sheets.get(hostile, rest).decode()
        assert "<img src=x" not in page
        assert "<b>x" not in page
    copied = sheets.asking.get(sheets.address(hostile, "paper/listing/copy"))
    assert "\n" not in copied.headers["content-disposition"]
    assert "<" not in copied.headers["content-disposition"]
    assert sheets.asking.get(sheets.address(hostile, "paper/../../x")).status == 404
    for amiss in ("setup=x", "pieces=-1", "pieces=1e9", "paper=a9", "measured_bars=1"):
        sheet = "template" if amiss[0] == "m" or amiss[:2] == "pa" else "listing"
        assert "Will spoil the work" in sheets.page(hostile, f"{sheet}?{amiss}")
