"""Several of a part made in one go: each step once at each piece, what is close in one clamping."""

from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from jobs import BLOCK, EXAMPLE_PARTS, millprep, part_text

from millprep.infiles import read_shop
from millprep.planning import table
from millprep.proven.preparation import prepare

HOLES = """
[[hole]]
name = "screw"
tap = "M5"
depth = 8
at = [[12, 12], [48, 28]]
[[hole]]
name = "pivot"
ream = "6 mm"
at = [30, 20]
depth = "through"
[[hole]]
name = "dowel"
drill = 4
tolerance = 0.04
at = [12, 28]
depth = 6
"""


def listed(folder: Path, holes: str = HOLES, *options: object, shop: str = "") -> Any:
    part, file = folder / "part.toml", folder / "shop.toml"
    part.write_text(part_text(holes, BLOCK), encoding="utf-8")
    file.write_text(shop or "[mill]\n")
    ran = millprep("listing", part, "--shop", file, "--format", "json", *options)
    assert ran.status == 0, ran.err
    return ran.json


def kept_of(sheet: Any) -> set[str]:
    """The holes that are made while the first piece is in for the first time."""
    setup = sheet["setups"][0]
    batch = setup["batch"]
    return {*batch.get("kept", [])}


@pytest.mark.parametrize("path", EXAMPLE_PARTS, ids=lambda path: path.stem)
def test_each_step_is_made_once_at_each_piece(path: Path) -> None:
    """The union of the clampings is so many times the steps of the part, no step twice."""
    prepared = prepare(path, cures=False)
    for pieces, alone in ((n, one) for n in (2, 5) for one in prepared.plan.setups):
        plan = table.batched(prepared.plan, pieces)
        setup = next(one for one in plan.setups if one.setup.number == alone.setup.number)
        visits = table.visits_of(setup, pieces)
        made = Counter((visit.piece, step) for visit in visits for step in visit.steps)
        assert set(made.values()) == {1}
        assert Counter(setup.operations) == Counter(alone.operations)
        assert {piece for piece, _ in made} == set(range(1, pieces + 1))
        assert len(made) == pieces * len(alone.operations)
        by_piece = [[s for v in visits if v.piece == n for s in v.steps] for n in (1, pieces)]
        assert all(steps == sorted(steps) for steps in by_piece)  # in the order of the sheet


def test_what_is_closer_than_the_stop_repeats_stays_in(tmp_path: Path) -> None:
    sheet = listed(tmp_path, HOLES, "--pieces", 3)
    assert kept_of(sheet) == {"pivot", "dowel"}
    visits = sheet["setups"][0]["visits"]
    holes = {one["step"]: one["hole"] for one in sheet["setups"][0]["steps"]}
    for number in (1, 2):  # the third stays in for the next tool
        assert {holes[step] for step in visits[number - 1]["steps"]} == {"pivot", "dowel"}
        assert visits[number - 1]["piece"] == number
    assert visits[2]["piece"] == 3 and "screw 1" in {holes[step] for step in visits[2]["steps"]}


def test_a_stop_that_repeats_better_keeps_less(tmp_path: Path) -> None:
    shop = "[vice]\nreseating = 0.03\n"
    assert kept_of(listed(tmp_path, HOLES, "--pieces", 2, shop=shop)) == {"pivot"}
    general = "general_tolerance = 0.02\n"
    part = tmp_path / "part.toml"
    part.write_text(general + part_text(HOLES, BLOCK), encoding="utf-8")
    ran = millprep("listing", part, "--pieces", 2, "--format", "json")
    assert kept_of(ran.json) == {"pivot", "dowel", "screw"}
    assert read_shop("metric").vice.reseating_mm == 0.05
    assert read_shop("inch").vice.reseating_mm == pytest.approx(0.002 * 25.4)


def test_loadings_and_changes_by_hand(tmp_path: Path) -> None:
    """Kept: spot, drill 4, 5.7 and reamer, at each of three pieces; then spot, 4.2 and the tap:
    each over the two pieces that are not in. Piece by piece: six tools, each three times. A change
    takes a minute in the packaged shop, a loading half: 3 saved less 6 halves."""
    told = listed(tmp_path, HOLES, "--pieces", 3)["setups"][0]["batch"]
    assert (told["loadings"], told["changes"]) == (3 + 3 * 2, 3 * 4 + 3)
    assert (told["loadings_each"], told["changes_each"]) == (3, 6 * 3)
    assert (told["minutes"], told["saved"]) == (0, "saved")


def test_a_box_a_piece_and_not_a_step(tmp_path: Path) -> None:
    part = tmp_path / "part.toml"
    part.write_text(part_text(HOLES, BLOCK), encoding="utf-8")
    text = millprep("listing", part, "--pieces", 3).out
    tools = text.count("\nTOOL ")
    assert tools and text.count("        pieces [ ] 1 [ ] 2 [ ] 3\n") == tools
    assert "\n[ ]" not in text
    assert millprep("listing", part, "--pieces", 1).out == millprep("listing", part).out
    assert "\n[ ]" in millprep("listing", part).out


def test_hole_by_hole_a_piece_is_done_in_one_clamping(tmp_path: Path) -> None:
    sheet = listed(tmp_path, HOLES, "--pieces", 2, "--order", "hole")
    visits = sheet["setups"][0]["visits"]
    assert [one["piece"] for one in visits] == [1, 2]
    assert "minutes" not in sheet["setups"][0]["batch"]


@pytest.mark.parametrize("count", ["0", "101"])
def test_so_many_pieces_are_refused(tmp_path: Path, count: str) -> None:
    ran = millprep("dials", Path("parts/port-block.toml"), "--pieces", count)
    assert ran.status == 2 and "1 to 100" in ran.err


@pytest.mark.parametrize("fault", ["a step twice", "taken out too early", "a piece left out"])
def test_clampings_by_name_are_counted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    from millprep.sheets import batch_words

    right = table.visits_of

    def wrong(*given: Any) -> list[table.Visit]:
        visits = right(*given)
        if fault == "a step twice":
            return [*visits[:-1], table.Visit(visits[-1].piece, (*visits[-1].steps, 1))]
        if fault == "a piece left out":
            return [one for one in visits if one.piece != 2]
        first, *others = visits
        parts = table.Visit(1, first.steps[:2]), table.Visit(1, first.steps[2:])
        return [parts[0], *others, parts[1]]

    monkeypatch.setattr(batch_words, "visits_of", wrong)
    part = tmp_path / "part.toml"
    part.write_text(part_text(HOLES, BLOCK), encoding="utf-8")
    ran = millprep("listing", part, "--pieces", 3, "--format", "json")
    assert ran.status == 1 and "please report it" in ran.err


MEASURED = """piece,hole,x,y,diameter
1,dowel,12.01,28.00,
left over,dowel,12.30,28.00,
"""


def test_a_record_a_piece(tmp_path: Path) -> None:
    """One verdict and one row of the results for each piece that the file names."""
    part, file, kept = (tmp_path / name for name in ("part.toml", "m.csv", "kept.csv"))
    lay = '[[setup]]\nface = "top"\ntowards_you = "front"\n'
    part.write_text(part_text(HOLES + lay, BLOCK), encoding="utf-8")
    file.write_text(MEASURED)
    ran = millprep("inspect", part, file, "--keep", kept, "--date", "2026-05-14")
    assert ran.status == 1  # the second is out
    assert ran.out.count("inspection: piece 1, ") == ran.out.count("piece left over, ") == 1
    _, *rows = (line.split(",") for line in kept.read_text().splitlines())
    assert [(row[1], row[5], row[7], row[-4]) for row in rows] == [
        ("1", "dowel", "0.010", "in"),
        ("left over", "dowel", "0.300", "out"),
    ]
    one = millprep("inspect", part, file, "--piece", "1", "--no-keep", "--format", "json")
    assert one.status == 0
    several = millprep("inspect", part, file, "--no-keep", "--format", "json")
    assert several.status == 2 and "--piece 1" in several.err


def test_a_sheet_to_measure_by_for_each_piece(tmp_path: Path) -> None:
    part, sheet = tmp_path / "part.toml", tmp_path / "sheet.csv"
    part.write_text(part_text(HOLES, BLOCK), encoding="utf-8")
    assert millprep("inspect", part, "--pieces", 3, "-o", sheet).status == 0
    head, *rows = sheet.read_text().splitlines()
    alone = millprep("inspect", part, "--format", "csv").out.splitlines()
    assert head == f"piece,{alone[0]}"
    assert rows == [f"{n},{row}" for n in (1, 2, 3) for row in alone[1:]]
    text = millprep("inspect", part, "--pieces", 3).out
    assert "piece ____________ of 3, date" in text


def test_the_pieces_of_a_part_are_its_members_times_the_quantity(tmp_path: Path) -> None:
    """Two winches: two feet, and of three bars six; the opposite hand counts by itself."""
    for one in Path("parts/winch").glob("*.toml"):
        (tmp_path / one.name).write_bytes(one.read_bytes())
    file = tmp_path / "winch.toml"
    file.write_text("quantity = 2\n" + file.read_text())
    steps = millprep("route", file, "--format", "json").json["steps"]
    pieces = {one["part"]: one["pieces"] for one in steps if one.get("part")}
    assert pieces["foot.toml"] == pieces["frame-left.toml"] == pieces["frame-right.toml"] == 2
    assert pieces["bar.toml"] == 6
    commands = [one["command"] for one in steps if one.get("part") == "bar.toml"]
    assert any(command.endswith("bar.toml --pieces 6") for command in commands)
    bar = ("listing", tmp_path / "bar.toml", "--assembly", file)
    assert "\nPIECES  6 pieces" in millprep(*bar).out
    assert "\nPIECES  2 pieces" in millprep(*bar, "--pieces", 2).out
    bought = millprep("assembly", file).out
    assert "M5 x 16 socket head       12" in bought  # three bars, two ends, two winches
    file.write_text(file.read_text().replace("quantity = 2", "quantity = 0"))
    refused = millprep("assembly", file)
    assert refused.status == 2 and "1 to 100" in refused.err
