"""What is done with a sheet as a whole: other hand, copy, another name, off the board, gone."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from asking import Answer, Asking

from millprep.desk.piece_ways import other_name
from millprep.infiles import read_part

LEFT = """# Mine.
part = "Bracket left"
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
ASSEMBLY = """assembly = "Pair"
[members]
left = "bracket-left.toml"
right = { part = "bracket-right.toml" }
"""


class Board:
    """A folder with one bracket, asked as its pages ask."""

    def __init__(self, asking: Asking) -> None:
        self.asking, self.folder = asking, asking.desk.folder
        self.put("bracket-left.toml", LEFT)

    def put(self, name: str, text: str) -> None:
        (self.folder / name).write_text(text)

    def address(self, name: str = "bracket-left.toml") -> str:
        return f"/sheet/{self.asking.desk.files.of(self.folder / name)}"

    def do(self, what: str, given: dict[str, Any], name: str = "bracket-left.toml") -> Answer:
        return self.asking.post(f"{self.address(name)}/{what}", given)

    def typed(self, what: str, name: str = "bracket-left.toml", **typed: str) -> Any:
        return self.do(what, {"typed": typed}, name).json

    def page(self, address: str) -> str:
        answer = self.asking.get(address, accept="text/html")
        return answer.text

    @property
    def names(self) -> set[str]:
        return {one.name for one in self.folder.iterdir()}


@pytest.fixture
def board(tmp_path: Path) -> Iterator[Board]:
    (tmp_path / "sheets").mkdir()
    with Asking(tmp_path / "sheets") as one:
        yield Board(one)


@pytest.mark.parametrize(
    ("name", "other"),
    [
        ("Bracket left", "Bracket right"),
        ("Frame, R.H.", "Frame, L.H."),
        ("RH arm", "LH arm"),
        ("Cleft pin", "Cleft pin, other hand"),
    ],
)
def test_the_other_hand_is_named_after_the_first(name: str, other: str) -> None:
    assert other_name(name) == other


def test_the_other_hand_follows_and_refuses_typing(board: Board) -> None:
    made = board.typed("other-hand", part="Bracket right", mirror="x")
    assert board.names == {"bracket-left.toml", "bracket-right.toml"}
    right = board.folder / "bracket-right.toml"
    assert read_part(right)[0].holes[0].name == "pivot"
    page = board.page(made["go"])
    assert f'href="{board.address()}"' in page and "Bracket left" in page
    assert f"changed-{board.address()[7:]} from:body" in page, "shown anew with the first"
    for table in ("hole", "setup"):
        refused = board.asking.post(f"{made['go']}/add", {"table": table, "typed": {}})
        assert refused.status == 409 and "Bracket left" in refused.json["said"]
    assert "already" in board.do("other-hand", {"typed": {}}, "bracket-right.toml").json["said"]
    board.put("bracket-left.toml", LEFT.replace('"3/8"', '"7/16"'))
    assert read_part(right)[0].holes[0].centre_mm[0] == pytest.approx((2 - 7 / 16) * 25.4)


def test_a_copy_goes_its_own_way(board: Board) -> None:
    assert board.typed("copy", part="")["why"]["part"]
    assert "is there already" in board.typed("copy", part="Bracket left")["why"]["part"]
    board.typed("copy", part="Strip")
    assert (board.folder / "strip.toml").read_text() == LEFT.replace("Bracket left", "Strip")


def test_of_two_figures_mine_is_kept_in_a_copy(board: Board) -> None:
    given = {"line": "h1", "typed": {"size": "1/4"}, "before": {"size": "1/8"}}
    assert board.do("figure", given).json["clash"]["theirs"] == "3/16"
    moved = board.do("copy", given).json["moved_to"]
    (copy,) = board.names - {"bracket-left.toml"}
    assert moved == board.address(copy)
    data = tomllib.loads((board.folder / copy).read_text())
    assert data["hole"][0]["ream"] == "1/4" and data["part"] == "Bracket left, mine"
    assert (board.folder / "bracket-left.toml").read_text() == LEFT


@pytest.mark.parametrize("text", [LEFT.replace("0.25", "0.5"), "part = \n"])
def test_of_two_texts_mine_is_kept_in_a_copy(board: Board, text: str) -> None:
    given = {"text": text, "based_on": "0" * 64}
    assert "clash" in board.asking.put(f"{board.address()}/text", given).json
    moved = board.do("copy", given).json["moved_to"]
    (copy,) = board.names - {"bracket-left.toml"}
    assert moved == board.address(copy)
    kept = (board.folder / copy).read_text()
    assert kept == text.replace('"Bracket left"', '"Bracket left, mine"')
    assert (board.folder / "bracket-left.toml").read_text() == LEFT


def test_the_text_keeps_the_line_ends_of_its_file(board: Board) -> None:
    path = board.folder / "bracket-left.toml"
    path.write_bytes(b"\r\n" + LEFT.replace("\n", "\r\n").encode())
    page = board.page(f"{board.address()}/text")
    assert 'translate="no">\n\r\n# Mine' in page, (
        "the first end of a line is not the page's to take"
    )
    text = "\n" + LEFT.replace("0.25", "0.5")
    based_on = board.asking.desk.kept.of(path).now.mark
    board.asking.put(f"{board.address()}/text", {"text": text, "based_on": based_on})
    assert path.read_bytes() == text.replace("\n", "\r\n").encode()


def test_a_name_is_changed_wherever_it_is_named(board: Board) -> None:
    board.typed("other-hand", part="Bracket right", mirror="x")
    board.put("pair.toml", ASSEMBLY)
    page = board.page(f"{board.address()}/ways")
    assert "Bracket right follows it" in page and "Pair assembly uses it" in page
    made = board.typed("rename", part="Arm left")
    assert board.names == {"arm-left.toml", "bracket-right.toml", "pair.toml"}
    assert (board.folder / "arm-left.toml").read_text() == LEFT.replace("Bracket", "Arm")
    assert read_part(board.folder / "bracket-right.toml")[0].holes[0].name == "pivot"
    pair = (board.folder / "pair.toml").read_text()
    assert pair == ASSEMBLY.replace("bracket-left", "arm-left")
    assert "takes back" in board.page(made["go"]), "its states go on under the new name"
    assert "Taken off" not in board.page("/")


def test_what_is_taken_off_is_asked_about_and_comes_back(board: Board) -> None:
    board.typed("other-hand", part="Bracket right", mirror="x")
    page = board.page(f"{board.address()}/ways")
    assert "Bracket right follows it" in page and "Take it off all the same" in page
    kept = board.asking.desk.kept.of(board.folder / "bracket-left.toml")
    assert board.do("take-off", {"mark": "0" * 64}).status == 409
    assert board.do("take-off", {"mark": kept.now.mark}).json == {"go": "/"}
    assert board.names == {"bracket-right.toml"}
    assert f"POST {board.address()}/make-again" in board.page("/")
    board.do("make-again", {})
    assert (board.folder / "bracket-left.toml").read_text() == LEFT


def test_a_file_renamed_under_an_open_page_is_asked_about(board: Board) -> None:
    board.page(board.address())
    left = board.folder / "bracket-left.toml"
    left.rename(board.folder / "arm.toml")
    answer = board.do("figure", {"line": "h1", "typed": {"size": "1/4"}, "before": {}})
    assert answer.status == 409 and answer.json["is_gone"] and board.names == {"arm.toml"}
    asked = board.page(f"{board.address()}/gone")
    assert "Go on with arm.toml" in asked and "Make bracket-left.toml again" in asked
    page = board.asking.get(board.address(), accept="text/html")
    assert page.status == 409 and "Go on with arm.toml" in page.text and "<html" in page.text
    known = board.address("arm.toml")
    went = board.do("go-on", {"as": known[7:], "stays": True}).json
    assert went == {"goes_on_at": known} and board.names == {"arm.toml"}
    assert board.do("figure", {"line": "h1", "typed": {"size": "1/4"}, "before": {}}, "arm.toml")
    assert 'ream = "1/4"' in (board.folder / "arm.toml").read_text()


def test_a_file_that_is_gone_is_made_again_when_asked_for_alone(board: Board) -> None:
    board.page(board.address())
    (board.folder / "bracket-left.toml").unlink()
    asked = board.page(f"{board.address()}/gone")
    assert "Go on with" not in asked and "Make bracket-left.toml again" in asked
    assert not board.names
    assert board.do("make-again", {}).json == {"go": board.address()}
    assert (board.folder / "bracket-left.toml").read_text() == LEFT
    assert board.asking.get(f"{board.address()}/gone").status == 204
