"""The folder's page: a card each, hands side by side, and what is said of an empty one."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from asking import Asking

from millprep.proven.editing import read_text
from millprep.proven.preparation import prepare
from millprep.proven.sheets import prove

PARTS = Path(__file__).parents[2] / "parts"
LEFT = """part = "Bracket left"
units = "inch"
material = "mild steel"
[stock]
size = [2, 1, 0.25]
[[hole]]
name = "pivot"
ream = "3/16"
depth = "through"
at = ["3/8", "5/8"]
"""
RIGHT = 'part = "Bracket right"\nopposite_hand_of = "bracket-left.toml"\nmirror = "x"\n'


@pytest.fixture
def asking(tmp_path: Path) -> Iterator[Asking]:
    (tmp_path / "sheets").mkdir()
    with Asking(tmp_path / "sheets") as one:
        yield one


def put(asking: Asking, name: str, text: str) -> str:
    path = asking.desk.folder / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(text)
    return asking.desk.files.of(path)


def card(asking: Asking, known: str) -> str:
    """As the page asks for it; without tags."""
    page = asking.get("/").text
    (address,) = re.findall(rf'hx-get="(/card/{known}[^"]*)"', page)
    answer = asking.get(address)
    assert answer.status == 200, answer.text
    return " ".join(re.sub("<[^>]+>", "", answer.text).split())


def test_an_empty_folder_says_what_the_desk_is_and_asks_once(asking: Asking) -> None:
    page = asking.get("/").text
    for words in (
        "There is nothing on the board yet",
        "Nothing leaves this PC",
        'href="/new/block"',
        'href="/new/round"',
        "POST /new/example",
        "Inches or millimetres?",
    ):
        assert words in page
    given = {"units": "inch", "measures": "dials", "paper": "a4"}
    assert asking.post("/shop/answers", {"typed": given}).status == 200
    assert 'units = "inch"' in (asking.desk.folder / "shop.toml").read_text()
    page = asking.get("/").text
    assert "There is nothing on the board yet" in page and "Before the first sheet" not in page
    made = asking.post("/new/example").json
    assert asking.get(made["go"]).status == 200
    assert "Example bracket" in (asking.desk.folder / "example-bracket.toml").read_text()
    assert asking.post("/new/example").json["go"] != made["go"]


def test_a_card_says_how_its_piece_stands(asking: Asking) -> None:
    known = put(asking, "bracket-left.toml", LEFT)
    said = card(asking, known)
    assert "Bracket left" in said and "2 x 1 x 0.25 in, mild steel" in said
    assert "Nothing found in what was checked" in said and "Sheets" not in said
    path = asking.desk.folder / "bracket-left.toml"
    sheet = asking.desk.folder / "bracket-left.txt"
    sheet.write_bytes(prove("listing", prepare(path, "metric")).data)
    assert "Sheets in the folder: 1" in card(asking, known)
    assert "earlier issue" not in card(asking, known)
    path.write_text(LEFT.replace('"3/8"', '"1/16"'))
    said = card(asking, known)
    assert "1 of an earlier issue" in said
    judged = read_text(path.read_bytes(), path, "metric")
    stops = sum(one.severity == "stop" for one in judged.findings)
    assert stops and f"Will spoil the work: {stops}" in said
    asking.put(f"/sheet/{known}/letters", {"line": "h1", "key": "size", "value": "1/"})
    assert "In pencil: 1 line" in card(asking, known)
    path.write_text("# Bracket.\npart = \n")
    said = card(asking, known)
    assert "Does not read yet: 1, first at line 2 of its text" in said
    assert f'href="/sheet/{known}/text#line-2"' in asking.get(f"/card/{known}").text


def test_hands_stand_side_by_side_and_follow(asking: Asking) -> None:
    left, right = put(asking, "bracket-left.toml", LEFT), put(asking, "bracket-right.toml", RIGHT)
    put(asking, "a-plate.toml", LEFT.replace("Bracket left", "Plate"))
    page = asking.get("/").text
    (hands,) = re.findall(r'<li class="stand hands">(.*?)</li>', page, re.DOTALL)
    assert re.findall(r'id="file-(\w+)"', hands) == [left, right]
    assert hands.count(f"changed-{left} from:body") == 2, "each is shown anew with the other"
    said = card(asking, right)
    assert "Other hand of Bracket left, and follows it" in said
    assert "2 x 1 x 0.25 in, mild steel" in said, "the blank is that of the first"
    path = asking.desk.folder / "bracket-right.toml"
    listing = prove("listing", prepare(path, "metric")).data
    (asking.desk.folder / "bracket-right.txt").write_bytes(listing)
    assert "earlier issue" not in card(asking, right)
    (asking.desk.folder / "bracket-left.toml").write_text(LEFT.replace('"3/8"', '"7/16"'))
    asking.desk.count(left)  # as the desk that looks at its folder does
    assert "1 of an earlier issue" in card(asking, right)


def test_every_example_and_what_lies_beside_has_its_place(asking: Asking) -> None:
    shutil.copytree(PARTS, asking.desk.folder, dirs_exist_ok=True)
    put(asking, "notes.toml", "a = 1\n")
    put(asking, "left (conflicted copy 2026-03-01).toml", LEFT)
    (asking.desk.folder / "a.nc").write_text("G0 X0\n")
    page = asking.get("/").text
    assert page.count('<article class="card"') == page.count('hx-get="/card/') == 22
    assert "winch</h2>" in page and "a drilling program" in page and "no part" in page
    known = asking.desk.files.of(asking.desk.folder / "winch" / "winch.toml")
    assert "Bench winch" in card(asking, known) and "members" in card(asking, known)
    for one in asking.desk.files.listing():
        if one.kind == "part":
            assert "Nothing found" in card(asking, one.id) or "Look at" in card(asking, one.id)


def test_a_name_with_markup_is_text(asking: Asking) -> None:
    known = put(asking, "<img src=x>.toml", LEFT.replace("Bracket left", "<img onerror=x>"))
    answer = asking.get(f"/card/{known}").text + asking.get("/").text
    assert "<img src=x" not in answer and "<img onerror" not in answer
