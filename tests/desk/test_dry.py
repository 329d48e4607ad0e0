"""Programs tried dry at the desk, and the page of an assembly."""

from __future__ import annotations

import base64
import hashlib
import html
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from asking import Asking

from millprep.desk import dry
from millprep.desk.shown import Few
from millprep.proven.dryrun import dry_run
from millprep.proven.program import programs

PARTS = Path(__file__).parents[2] / "parts"
NO_SPINDLE = b"G21 G90 G54\nG0 X10 Y10\nG0 Z-3\nM2\n"


@pytest.fixture
def asking(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Asking]:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    folder = tmp_path / "sheets"
    shutil.copytree(PARTS, folder)
    monkeypatch.chdir(folder)  # as the desk works
    with Asking(folder) as one:
        yield one


def _dropped(asking: Asking, name: str, data: bytes) -> str:
    answer = asking.put(f"/dry-run?name={name}", data, content_type="application/octet-stream")
    assert answer.status == 200, answer.text
    return str(answer.json["go"])


def _report(asking: Asking, address: str) -> str:
    """What the page brings in once it stands."""
    page = asking.get(address)
    assert page.status == 200, page.text
    (rest,) = re.findall(r'hx-get="(/(?:dry-run|program)/[^"]+)"', page.text)
    return asking.get(rest.replace("&amp;", "&")).text


def _framed(asking: Asking, report: str) -> tuple[bytes, str]:
    """The page in the frame, and its policy."""
    (address,) = re.findall(r'<iframe src="([^"]+)" sandbox="allow-scripts"', report)
    answer = asking.get(address)
    return answer.body, answer.headers["content-security-policy"]


def test_a_program_of_the_folder_is_tried_on_the_part_that_it_is_named_after(
    asking: Asking,
) -> None:
    folder = asking.desk.folder
    for one in programs(Path("port-block.toml"), file="port-block.nc", setup=5).files:
        (folder / "port-block-setup5.nc").write_bytes(one.data)
    address = f"/program/{asking.desk.files.of(folder / 'port-block-setup5.nc')}"
    report = _report(asking, address)
    assert "Nothing found in what was checked" in report
    framed, policy = _framed(asking, report)
    by_command = dry_run([Path("port-block-setup5.nc")], Path("port-block.toml"), setup=5)
    assert framed == by_command.page()
    (script,) = re.findall(rb"<script>(.*?)</script>", framed, re.DOTALL)
    digest = base64.b64encode(hashlib.sha256(script).digest()).decode()
    assert f"script-src 'sha256-{digest}';" in policy
    assert "sandbox allow-scripts;" in policy
    assert address in asking.get("/").text
    amiss = _report(
        asking, f"{address}?part={asking.desk.files.of(folder / 'port-block.toml')}&setup=4"
    )
    assert "Do not run it as it is.</strong>" in amiss
    assert "Will spoil the work" in amiss


def test_a_dropped_program_is_run_on_what_is_chosen_worst_finding_first(asking: Asking) -> None:
    before = {*asking.desk.folder.rglob("*")}
    address = _dropped(asking, "mine.nc", NO_SPINDLE)
    report = _report(asking, f"{address}?stock=60+x+40+x+10&zero=left,front,top")
    assert "Will spoil the work" in report
    labels = re.findall(r"<strong>(Will spoil the work|Look at this|For your information)", report)
    assert labels == sorted(labels, key=lambda one: "WLF".index(one[0]))
    amiss = _report(asking, f"{address}?stock=60+by+40")
    assert "the blank 60 by 40 is not a size" in html.unescape(amiss).replace('"', "")
    assert "--stock" not in amiss
    assert "<iframe" not in amiss
    assert "<iframe" in _report(asking, address)  # on nothing at all
    assert {*asking.desk.folder.rglob("*")} == before


def test_what_is_no_program_is_refused_in_words(
    asking: Asking, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, data, why in (
        ("x.nc", b"", "it is empty"),
        ("x.nc", b"G0\0", "it is not text"),
        ("bracket.toml", b"part = 1", "is a part file"),
    ):
        answer = asking.put(f"/dry-run?name={name}", data, content_type="text/plain")
        assert answer.status == 409
        assert why in answer.json["said"]
    monkeypatch.setattr(dry, "MOST_BYTES", 10)
    assert asking.put("/dry-run?name=x.nc", b"G0 X1\n" * 9).status == 413
    monkeypatch.setattr(dry, "MOST_BYTES", 1000)
    monkeypatch.setattr(dry, "_DROPPED", Few(2, 1_000_000))
    addresses = [_dropped(asking, "x.nc", b"G0 X%d\n" % at) for at in range(3)]
    assert [asking.get(one).status for one in addresses] == [404, 200, 200]


def test_hostile_names_and_programs_stay_words(asking: Asking) -> None:
    hostile = "%3Cimg%20src=x%20onerror=alert(1)%3E.nc"
    data = b"(</ol><script>alert(1)</script><img src=x>)\nG0 X1\n"
    address = _dropped(asking, hostile, data)
    report = _report(asking, address)
    framed, policy = _framed(asking, report)
    for page in (asking.get(address).text, report, framed.decode()):
        assert "<img src=x" not in page
        assert "<script>alert" not in page
    assert "unsafe-inline" not in re.search("script-src [^;]*", policy)[0]
    for outside in ("../../etc/passwd", "C:\\x\\y.nc"):
        assert outside not in asking.get(_dropped(asking, outside, b"G0 X1\n")).text


def test_an_assembly_has_its_parts_what_is_to_be_bought_and_its_sheets(asking: Asking) -> None:
    address = f"/assembly/{asking.desk.files.of(asking.desk.folder / 'winch' / 'winch.toml')}"
    page = asking.get(address).text
    assert "<h1>Bench winch</h1>" in page
    wheel = asking.desk.files.of(asking.desk.folder / "winch" / "wheel.toml")
    assert f'href="/sheet/{wheel}"' in page
    assert "6 × M5 x 16 socket head" in page
    assert b"<svg" in asking.get(re.search(r'src="(/shown/[^"]+)"', page)[1]).body
    links = re.findall(r'hx-get="(/sheet/[^"]+/papers[^"]*)"', page)
    assert len(links) == 3
    assert "paper/route" in asking.get(links[0]).text
    assert "stack=drum+shaft+bearings" in asking.get(links[1]).text
    assert address in asking.get("/").text
    (asking.desk.folder / "winch" / "wheel.toml").write_text("part = [")
    page = asking.get(address).text
    assert "Will spoil the work" in page
    assert "wheel.toml</span>: line 1 of the text" in page


def test_the_text_of_an_assembly_is_written_at_the_desk(asking: Asking) -> None:
    path = asking.desk.folder / "winch" / "winch.toml"
    address, text = f"/sheet/{asking.desk.files.of(path)}", path.read_text()
    assert asking.get(address).headers["location"].startswith("/assembly/")
    mark = re.search(r'data-based-on="(\w+)"', asking.get(f"{address}/text").text)[1]
    given = {"text": f"{text}# looked at\n", "based_on": mark}
    answer = asking.put(f"{address}/text", given)
    assert answer.json["faults"] == []
    assert path.read_text() == f"{text}# looked at\n"
    broken = {"text": "assembly = [", "based_on": answer.json["mark"]}
    assert asking.put(f"{address}/text", broken).json["faults"]
    assert path.read_text() == f"{text}# looked at\n"
    assert "1 line in pencil" in asking.get(f"{address}/paper/route").text
