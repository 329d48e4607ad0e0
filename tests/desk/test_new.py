"""A new part from its form: the file, the picture that grows, and what does not read."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest
from asking import Asking

from millprep.infiles import read_part

BLOCK = {
    "part": "Bearing block",
    "units": "inch",
    "size.0": "2 1/2",
    "size.1": "1 1/4",
    "size.2": "1 1/2",
    "material": "mild steel",
    "x": "right",
    "y": "front",
}
COVER = {
    "part": "Cover",
    "units": "inch",
    "diameter": "1 3/4",
    "length": "3/8",
    "bore": "1/2",
    "material": "brass",
}


@pytest.fixture
def asking(tmp_path: Path) -> Iterator[Asking]:
    (tmp_path / "sheets").mkdir()
    with Asking(tmp_path / "sheets") as one:
        yield one


def test_a_block_is_made_as_typed(asking: Asking) -> None:
    made = asking.post("/new/block", {"typed": BLOCK}).json
    path = asking.desk.folder / "bearing-block.toml"
    assert asking.get(made["go"]).status == 200
    assert tomllib.loads(path.read_text())["datum"] == {"x": "right", "y": "front"}
    part, _ = read_part(path)
    assert part.stock.size_mm == pytest.approx([63.5, 31.75, 38.1])
    again = asking.post("/new/block", {"typed": BLOCK}).json
    assert "is there already" in again["why"]["part"], "never written over"


def test_a_round_piece_counts_from_its_centre_lines(asking: Asking) -> None:
    asking.post("/new/round", {"typed": COVER})
    data = tomllib.loads((asking.desk.folder / "cover.toml").read_text())
    assert data["datum"] == {"x": "centre", "y": "centre"}
    assert data["stock"] == {"diameter": "1 3/4", "length": "3/8", "bore": "1/2"}
    assert "edge" not in asking.get("/new/round").text.partition("measures from")[2][:400]


@pytest.mark.parametrize(
    ("kind", "typed", "box", "words"),
    [
        ("block", {**BLOCK, "size.1": "1/"}, "size.1", "1/"),
        ("block", {**BLOCK, "size.1": "0,375"}, "size.1", "0.375"),
        ("block", {**BLOCK, "size.0": "-2"}, "size.0", "nothing is left"),
        ("block", {**BLOCK, "size.2": " "}, "size.2", "still wanted"),
        ("block", {**BLOCK, "part": ""}, "part", "still wanted"),
        ("block", {**BLOCK, "part": "con"}, "part", "name"),
        ("round", {**COVER, "material": ""}, "material", "still wanted"),
        ("round", {**COVER, "bore": "2"}, "bore", ""),
    ],
)
def test_what_does_not_read_is_said_at_its_box(
    asking: Asking, kind: str, typed: dict[str, str], box: str, words: str
) -> None:
    answer = asking.post(f"/new/{kind}", {"typed": typed}).json
    assert words in answer["why"][box], answer
    assert not list(asking.desk.folder.iterdir())


def test_the_picture_carries_the_figures_typed_so_far(asking: Asking) -> None:
    def shown(**typed: str) -> dict[str, str]:
        return asking.get(f"/new/block/picture?{urlencode(typed)}").json

    empty, begun = shown(), shown(**{"size.0": "2 1/2", "units": "inch"})
    assert "2 1/2" in begun["picture"] and "2 1/2" not in empty["picture"]
    taller = shown(**{"size.0": "2 1/2", "size.2": "5", "units": "inch"})
    assert taller["picture"] != begun["picture"]
    half = shown(**{"size.0": "2 1/", "part": "Bearing block 1/2"})
    assert "size.0" in half["why"] and half["picture"]
    assert half["file"] == "in the file bearing-block-1-2.toml"


def test_a_new_piece_is_in_the_units_of_the_shop(asking: Asking) -> None:
    assert 'value="mm" selected' in asking.get("/new/block").text
    asking.post("/shop/answers", {"typed": {"units": "inch"}})
    page = asking.get("/new/block").text
    assert 'value="inch" selected' in page and 'type="number"' not in page
    assert asking.get("/new/cube").status == 404
