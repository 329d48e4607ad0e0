"""Several pieces of a part on one table: a program for all, each compared with the part."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from control_descriptions import NAMED, TRIAL, judged
from jobs import BLOCK, Ran, millprep, part_text

from millprep.planning import table
from millprep.planning.plan import SetupPlan

PLACES = "0,0 80,0 0,-90.5"
LAY = '[[setup]]\nface = "top"\ntowards_you = "front"\n'


def write(folder: Path, *options: object, more: str = "", places: str = PLACES) -> Ran:
    part = folder / "part.toml"
    part.write_text(part_text(TRIAL + LAY + more, BLOCK), encoding="utf-8")
    return millprep("program", part, "-o", folder / "out.nc", "--places", places, *options)


def again(folder: Path, text: str, *options: object) -> list[str]:
    """What a dry run says of the program after an edit, stops only."""
    (folder / "edited.nc").write_text(text)
    given = ("--part", folder / "part.toml", "--format", "json", *options)
    found = millprep("dryrun", folder / "edited.nc", *given).json["findings"]
    return [one["message"] for one in found if one["severity"] == "stop"]


@pytest.mark.parametrize(
    "name", ["nothing said", "loose, no cycles", "no comments", "quill by hand"]
)
def test_every_control_gets_a_program_for_all_pieces(tmp_path: Path, name: str) -> None:
    part = tmp_path / "part.toml"
    part.write_text(part_text(TRIAL + LAY, BLOCK), encoding="utf-8")
    assert judged(part, NAMED[name], tmp_path, places=PLACES) == "made"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("sound")
    ran = write(folder)
    assert ran.status == 0, ran.err
    assert "12 holes" in ran.out
    return folder


def test_each_tool_comes_in_once_and_makes_its_holes_piece_by_piece(sound: Path) -> None:
    text = (sound / "out.nc").read_text()
    assert re.findall(r"^T(\d+) M6$", text, re.MULTILINE) == list("1234567")
    assert "(PIECE 3 OF 3: ITS ZERO AT X0.0 Y-90.5 MM)" in text
    # from the part file and PLACES, by hand
    drilled = re.findall(r"X(\S+) Y(\S+) .*\(PIECE (\d) PIVOT, REAM\)", text)
    assert drilled == [("30.0", "20.0", "1"), ("110.0", "20.0", "2"), ("30.0", "-70.5", "3")]
    assert not again(sound, text)


@pytest.mark.parametrize(
    ("pattern", "put", "said"),
    [
        (r".*PIECE 3 PIVOT, REAM.*\n", "", "piece 3 (X0.000 Y-90.500): pivot: ream 6.000"),
        (r".*PIECE 2 CAP,.*\n", "", "piece 2 (X80.000 Y0.000): cap at X48.000 Y12.000 is not made"),
        (r"X128\.0 Y12\.0", "X128.1 Y12.0", "piece 2 (X80.000 Y0.000): cap is off in X by +0.1"),
    ],
)
def test_what_is_wrong_at_one_piece_names_it(
    sound: Path, pattern: str, put: str, said: str
) -> None:
    text, count = re.subn(pattern, put, (sound / "out.nc").read_text())
    assert count
    found = again(sound, text)
    assert any(one.startswith(said) for one in found), found
    assert not any(one.startswith("piece 1") for one in found)


def test_pieces_that_stand_elsewhere_than_the_program_has_them(sound: Path) -> None:
    found = again(sound, (sound / "out.nc").read_text(), "--places", "0,0 80.2,0 0,-90.5")
    said = "piece 2 (X80.200 Y0.000): all 4 holes of this face are off by X -0.200 mm"
    assert len(found) == 1 and found[0].startswith(said)


def test_a_stop_that_names_the_hole_of_another_piece(tmp_path: Path) -> None:
    shop = tmp_path / "shop.toml"
    shop.write_text('[control]\naxes = "xy"\n')
    assert write(tmp_path, "--shop", shop).status == 0
    text = (tmp_path / "out.nc").read_text()
    swapped = text.replace("(PIECE 3, CAP, TOOL 3", "(PIECE 2, CAP, TOOL 3")
    assert swapped != text and not again(tmp_path, text, "--shop", shop)
    assert again(tmp_path, swapped, "--shop", shop) == [
        "piece 3 (X0.000 Y-90.500): the stop over cap names PIECE 2, CAP"
    ]


@pytest.mark.parametrize(
    ("places", "said"),
    [
        ("0,0 59.9,0", "pieces 1 and 2 overlap"),
        ("0,0 0,45", "the moving jaw of piece 2 is where piece 1 goes"),
        ("0,0 500,0", "the mill has 400 mm"),
        ("80,0 0,0", "does not begin with 0,0"),
        ("0,0", "does not begin with 0,0 and another"),
        ("0,0 1,2,3", "is no list of places"),
        ("none.csv", "the file does not exist"),
    ],
)
def test_where_pieces_cannot_stand(tmp_path: Path, places: str, said: str) -> None:
    ran = write(tmp_path, places=places)
    assert ran.status in (1, 2) and said in ran.err
    assert not (tmp_path / "out.nc").exists()


def test_places_of_a_file_are_in_the_units_of_the_part(tmp_path: Path) -> None:
    part, file = tmp_path / "part.toml", tmp_path / "places.csv"
    holes = '[[hole]]\nname = "pin"\ndrill = "1/4 in"\nat = [1, 0.5]\ndepth = 0.5\n'
    part.write_text(part_text(holes + LAY, "size = [2, 1, 1]", units="inch"), encoding="utf-8")
    file.write_text("x;y\n0;0\n2,5;0\n")
    given = ("-o", tmp_path / "out.nc", "--places", file)
    assert millprep("program", part, *given).status == 0
    assert "PIECE 2 OF 2: ITS ZERO AT X63.5 Y0.0 MM" in (tmp_path / "out.nc").read_text()
    assert millprep("dryrun", tmp_path / "out.nc", "--part", part).status == 0
    file.write_text("x,y\n0,0\n80 apples,0\n")
    assert f"{file}:3: stop: " in millprep("program", part, *given, "--force").err


def test_of_several_setups_one_has_to_be_named(tmp_path: Path) -> None:
    cross = '[[hole]]\nname = "cross"\nface = "left"\ndrill = 4\nat = [20, 10]\ndepth = 9\n'
    ran = write(tmp_path, more=cross)
    assert ran.status == 2 and "name the one whose pieces stand there: --setup 1" in ran.err


def test_a_plan_that_mixes_up_two_places_is_caught(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    right: Callable[..., SetupPlan] = table.on_one_table
    monkeypatch.setattr(
        table, "on_one_table", lambda one, places: right(one, [*places[:1], *places[:0:-1]])
    )
    ran = write(tmp_path, places="0,0 80,0 160,30")
    assert ran.status == 1 and "the head has piece 2 at X160.000 Y30.000" in ran.err


@pytest.mark.parametrize("name", ["nothing said", "taps at the hole", "quill by hand, a card"])
def test_one_vice_is_loaded_for_each_piece(tmp_path: Path, name: str) -> None:
    part = tmp_path / "part.toml"
    part.write_text(part_text(TRIAL + LAY, BLOCK), encoding="utf-8")
    assert judged(part, NAMED[name], tmp_path, pieces=2) == "made"


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("loaded")
    part = folder / "part.toml"
    part.write_text(part_text(TRIAL + LAY, BLOCK), encoding="utf-8")
    ran = millprep("program", part, "-o", folder / "out.nc", "--pieces", "2")
    assert ran.status == 0 and "12 holes" not in ran.out and "8 holes" in ran.out
    return folder


def test_what_is_close_is_made_before_a_piece_comes_out(loaded: Path) -> None:
    text = (loaded / "out.nc").read_text()
    assert "(2 PIECES PUT IN ONE AFTER ANOTHER AT THE SAME STOP)" in text
    first, second, *others = text.split("M0 (LOAD PIECE ")[1:]
    made = re.compile(r"\(PIECE (\d) (\w+)")
    assert {*made.findall(first)} == {("1", "PIVOT")} and "REAM" in first
    assert ("2", "PIVOT") in made.findall(second)
    # from then on each tool in both, the piece that is in first
    assert [one[0] for one in others] == ["1", "2", "1", "2", "1"]
    assert not again(loaded, text)


@pytest.mark.parametrize(
    ("pattern", "put", "said"),
    [
        (
            r"LOAD PIECE 2 OF 2",
            "LOAD PIECE 1 OF 2",
            "piece 2: pivot at X30.000 Y20.000 is not made",
        ),
        (r".*PIECE 2 PIVOT, REAM.*\n", "", "piece 2: pivot: ream 6.000 mm is not done"),
        (
            r"M0 \(LOAD PIECE 2 OF 2, WIPE THE STOP\)\n",
            "",
            "piece 2: pivot at X30.000 Y20.000 is not",
        ),
    ],
)
def test_a_piece_that_is_not_put_in_is_missed(
    loaded: Path, pattern: str, put: str, said: str
) -> None:
    text, count = re.subn(pattern, put, (loaded / "out.nc").read_text(), count=1)
    assert count
    found = again(loaded, text)
    assert any(one.startswith(said) for one in found), found


def test_what_is_not_said_of_pieces_together(tmp_path: Path) -> None:
    ran = write(tmp_path, "--pieces", "3")
    assert ran.status == 2 and "--pieces and --places" in ran.err
    part = tmp_path / "part.toml"
    given = ("program", part, "-o", tmp_path / "out.nc", "--pieces")
    assert "1 to 100" in millprep(*given, "101").err
    assert "write it for one piece" in millprep(*given, "2", "--spots-only").err
    dry = millprep("dryrun", part, "--stock", "60,40,20", "--pieces", "2")
    assert dry.status == 2 and "need --part" in dry.err
