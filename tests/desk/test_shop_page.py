"""The shop of a folder at its page: answers, ticks, figures, each kept at once."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from asking import Asking

from millprep.desk.shop_page import _groups
from millprep.infiles import read_shop
from millprep.proven.editing import as_written
from millprep.proven.files import packaged_shop

NEEDS_BA = """part = "Block"
units = "inch"
material = "mild steel"
[stock]
size = [2, 1, 1]
[[hole]]
name = "screw"
tap = "2BA"
depth = "1/2"
at = [1, 0.5]
"""


@pytest.fixture
def asking(tmp_path: Path) -> Iterator[Asking]:
    (tmp_path / "sheets").mkdir()
    with Asking(tmp_path / "sheets") as one:
        yield one


def shop(asking: Asking) -> Any:
    return read_shop(str(asking.desk.folder / "shop.toml"))


def tick(asking: Asking, kind: str, *names: str, has: bool = True) -> Any:
    return asking.post("/shop/drawer", {"kind": kind, "names": names, "has": has})


def figure(asking: Asking, key: str, words: str) -> Any:
    return asking.post("/shop/figure", {"typed": {key: words}}).json


def ticked(asking: Asking) -> set[str]:
    """The boxes that are ticked on the page: their values."""
    page = asking.get("/shop").text
    return set(re.findall(r'<input type="checkbox"[^>]*value="([^"]*)" checked', page))


def test_a_shop_is_begun_over_the_packaged_one_at_the_first_tick(asking: Asking) -> None:
    page = asking.get("/shop").text
    assert "has not been ticked yet" in page and not list(asking.desk.folder.iterdir())
    before = ticked(asking)
    answer = tick(asking, "taps", "2BA")
    assert answer.json["kept"]
    taps = {one.words for one in shop(asking).cabinet.taps}
    assert taps == {"2BA", *(one.words for one in read_shop("metric").cabinet.taps)}
    assert ticked(asking) == before | {"2BA"}
    tick(asking, "taps", "M2", "M3", has=False)
    assert "taps: 2 no more there" in asking.get("/shop").text
    assert {one.words for one in shop(asking).cabinet.taps} == taps - {"M2", "M3"}
    asking.post("/shop/step/back")
    assert {one.words for one in shop(asking).cabinet.taps} == taps


def test_until_the_drawer_is_ticked_what_it_lacks_is_one_line(asking: Asking) -> None:
    path = asking.desk.folder / "block.toml"
    path.write_text(NEEDS_BA)
    margin = f"/sheet/{asking.desk.files.of(path)}/red-pencil"
    page = asking.get(margin).text
    assert "your drawer has not been ticked yet" in page and 'href="/shop#drawer"' in page
    assert "2BA" not in page
    tick(asking, "drills", "6.3500")
    page = asking.get(margin).text
    assert "not been ticked" not in page and "2BA" in page
    tick(asking, "taps", "2BA")
    assert "2BA" not in asking.get(margin).text


def test_a_figure_is_put_down_or_said_no_to_at_its_box(asking: Asking) -> None:
    assert figure(asking, "vice.jaw.width", "3 in")["kept"]
    assert shop(asking).vice.jaw_width_mm == pytest.approx(76.2)
    figure(asking, "mill.travel.x", "0, 300")
    figure(asking, "parallels.heights", "10, 1/2 in")
    assert [one.height_mm for one in shop(asking).parallels] == pytest.approx([10, 12.7])
    text = (asking.desk.folder / "shop.toml").read_text()
    answer = figure(asking, "vice.jaw.width", "7x")
    assert answer["why"]["vice.jaw.width"] and "vice.jaw" not in answer["why"]["vice.jaw.width"]
    assert (asking.desk.folder / "shop.toml").read_text() == text
    page = asking.get("/shop").text
    assert 'value="3 in"' in page and 'value="0, 300"' in page and 'type="number"' not in page
    figure(asking, "vice.jaw.width", "")
    assert shop(asking).vice.jaw_width_mm == read_shop("metric").vice.jaw_width_mm
    refused = asking.post("/shop/figure", {"typed": {"drawer.taps": "M3"}})
    assert refused.status == 400


def test_every_box_stands_in_the_packaged_shops() -> None:
    """So that an empty box can show what is usual."""
    keys = [row["key"].format(0) for group in _groups() for row in group["boxes"]]
    for name in ("metric", "inch"):
        assert set(keys) <= as_written(packaged_shop(name)).values.keys()


def test_remarks_of_a_shop_stay_to_the_letter(asking: Asking) -> None:
    text = '# mine\nunits = "inch" # as ever\n\n[vice] # 4 in\nopening=4\n'
    (asking.desk.folder / "shop.toml").write_text(text)
    tick(asking, "reamers", "6.3500", has=False)
    figure(asking, "vice.opening", "5")
    now = (asking.desk.folder / "shop.toml").read_text()
    assert now.startswith('# mine\nunits = "inch" # as ever\n')
    assert "[vice] # 4 in\nopening=5" in now


def test_a_shop_that_does_not_read_is_mended_in_its_text(asking: Asking) -> None:
    (asking.desk.folder / "shop.toml").write_text("units = \n")
    page = asking.get("/shop").text
    assert "does not read" in page and "/text" in page
    assert asking.get("/").status == 200


def test_the_text_of_the_shop_is_put_into_its_file(asking: Asking) -> None:
    text = asking.post("/shop/begin").json["go"]
    assert "metric" in asking.get(text).text
    now = asking.desk.kept.of(asking.desk.folder / "shop.toml").now.mark
    wanted = 'units = "inch"\n[vice]\nopening = 5\n'
    answer = asking.put(text, {"text": wanted, "based_on": now}).json
    assert answer["kept"] and not answer["faults"]
    assert (asking.desk.folder / "shop.toml").read_text() == wanted
    assert 'value="5"' in asking.get("/shop").text
    assert asking.get(text.removesuffix("/text")).headers["location"] == "/shop"


def test_a_shop_named_at_the_start_is_altered_where_it_lies(tmp_path: Path) -> None:
    (tmp_path / "sheets").mkdir()
    (tmp_path / "mine.toml").write_text('units = "inch"\n')
    with Asking(tmp_path / "sheets", str(tmp_path / "mine.toml")) as one:
        assert "mine.toml" in one.get("/shop").text
        assert tick(one, "taps", "2BA").status == 409
    with Asking(tmp_path / "sheets", "inch") as one:
        tick(one, "taps", "2BA")
        assert (
            shop(one).cabinet.taps
            and 'units = "inch"' in (one.desk.folder / "shop.toml").read_text()
        )
        assert one.desk.shop == str(one.desk.folder / "shop.toml")
