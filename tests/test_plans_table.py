"""Tables of holes made into part files: what is read, what is told, what is refused."""

from __future__ import annotations

import contextlib
import sys
from io import BytesIO, TextIOWrapper
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import Ran, millprep

from millprep import from_plan
from millprep.base.findings import MillprepError, WordError
from millprep.infiles import read_part
from millprep.model.part import Part
from millprep.proven.plans import Wishes, part_file

FILLED = (
    ('# material = "mild steel"', 'material = "mild steel"'),
    ('# depth = "through"', 'depth = "through"'),
    ("guessed = true", ""),
)


def made(text: str, *more: str, name: str = "holes.csv") -> Ran:
    """`new plate.toml --from holes.csv` in the folder that the test runs in."""
    Path(name).write_text(text)
    return millprep("new", "plate.toml", "--from", name, *more)


def filled_in(thickness: float = 10) -> Part:
    """The part, once what the plan does not say is filled in."""
    path = Path("plate.toml")
    text = path.read_text()
    for asked, answer in FILLED:
        text = text.replace(asked, answer)
    lines = [
        line.split("]")[0] + f", {thickness}]" if "a third figure" in line else line
        for line in text.split("\n")
    ]
    path.write_text("\n".join(lines))
    return read_part(path)[0]


def holes(part: Part) -> dict[str, tuple[float, float, float]]:
    """x, y, diameter by name, to a micron."""
    return {
        hole.name: (*(round(v, 3) for v in hole.centre_mm[:2]), round(hole.diameter_mm, 3))
        for hole in part.holes
    }


# (text, options): each makes pivot 12.7, 10 diameter 6, and oil 30, 25.4 diameter 3
ALIKE = [
    ("name,x,y,diameter,depth\npivot,12.7,10,6,8\noil,30,25.4,3,through\n", ("--units", "mm")),
    ("diameter;depth;y mm;x mm;name\n6;8;10;12,7;pivot\n3;thro;25,4;30;oil\n", ()),
    ("x\ty\tdia\tname\tunit\n12.7\t10\t6\tpivot\tmm\n30\t25.4\t3\toil\tmm\n", ()),
    ("Hole   X (mm)   Y (mm)   Size\npivot   12.7   10   Ø6\noil   30   25.4   dia 3\n", ()),
    ("hole x y d\npivot 12.7 10 6\noil 30 25.4 3\n", ("--units", "mm")),
    ("name,x,y,dia\npivot,1/2 in,10 mm,6 mm\noil,30 mm,1 in,3 mm\n", ()),
    ("pivot;12.7;10;6\noil;30;25.4;3\n", ("--columns", "name,x mm,y mm,diameter")),
    ("pivot  12.7  10  6\noil  30  25.4  3\n", ("--columns", "name,x mm,y mm,diameter")),
    ("# from the sheet\n\nname;x;y;dia\npivot;12,7;10;6\noil;30;25,4;3\n", ("--units", "mm")),
]


@pytest.mark.parametrize(("text", "options"), ALIKE)
def test_the_same_holes_however_the_table_is_written(
    in_folder: Path, text: str, options: tuple[str, ...]
) -> None:
    ran = made(text, *options)
    assert ran.status == 0, ran.err
    assert "2 of 2 lines read" in ran.err
    assert "warning" not in ran.err
    assert holes(filled_in()) == {"pivot": (12.7, 10, 6), "oil": (30, 25.4, 3)}


def test_figures_stand_in_the_file_as_they_were_written(in_folder: Path) -> None:
    made("name;x;y;dia\na;1/2 in;10,50;#7\nb;40;20;letter F\n", "--units", "mm")
    text = Path("plate.toml").read_text()
    assert 'at    = ["1/2 in", 10.5]' in text
    assert 'drill = "#7"' in text
    assert 'drill = "letter F"' in text


# (what stands in the cell, the hole that it is: kind, diameter and depth [mm], None for through)
SIZES = [
    ("#7 THRU", "drill", 5.105, None),
    ("Ø6 through", "drill", 6, None),
    ("M4 x 8 deep", "tap", 4, 8),
    ("M6x0.75 x 12 DEEP", "tap", 6, 12),
    ("5,5 thru all", "drill", 5.5, None),
    ("dia 6 x 5,5 dp", "drill", 6, 5.5),
]


@pytest.mark.parametrize(("cell", "kind", "diameter", "depth"), SIZES)
def test_a_size_with_its_depth_behind_it(
    in_folder: Path, cell: str, kind: str, diameter: float, depth: float | None
) -> None:
    """#7 is 0.201 in (Machinery's Handbook, number drills)."""
    ran = made(f"x mm;y mm;size\n20;20;{cell}\n")
    assert ran.status == 0, ran.err
    (hole,) = filled_in(20).holes
    assert (hole.kind.word, round(hole.diameter_mm, 3)) == (kind, diameter)
    assert (hole.is_through, None if depth is None else hole.depth_mm) == (depth is None, depth)


NUMBER_FIRST = [
    "size;x mm;y mm\n#7;20;20\n",
    "size  x mm  y mm\n#7  20  20\n",
    "size,x mm,y mm\n# a note\n#7 thru,20,20\n#\n",
]


@pytest.mark.parametrize("table", NUMBER_FIRST)
def test_a_number_drill_that_begins_its_line_is_no_comment(in_folder: Path, table: str) -> None:
    ran = made(table)
    assert "1 of 1 lines read" in ran.err
    assert holes(filled_in(20)).popitem()[1] == (20, 20, 5.105)


def test_two_depths_are_not_chosen_from(in_folder: Path) -> None:
    ran = made("x mm;y mm;size;depth\n20;20;M4 x 8 deep;9\n20;30;4;9\n")
    assert "its depth stands in two cells" in ran.err


def test_an_inch_table(in_folder: Path) -> None:
    ran = made("name,x in,y in,dia,thread\na,1 1/8,.5,1/4,\nb,2.5,3/8,,1/4-20 UNC\n")
    assert ran.status == 0, ran.err
    part = filled_in(0.5)
    assert part.units == "inch"
    assert holes(part) == {"a": (28.575, 12.7, 6.35), "b": (63.5, 9.525, 6.35)}


def test_the_first_check_asks_for_all_that_the_plan_does_not_say(in_folder: Path) -> None:
    made("name,x mm,y mm\na,10,10\nb,40,20\n")
    ran = millprep("check", "plate.toml")
    assert ran.status == 2
    for asked in ("material is missing", "is not three lengths", "its depth is missing"):
        assert asked in ran.err
    assert ran.err.count("hole 1") >= 1 and ran.err.count("hole 2") >= 1


def test_check_stops_at_a_guessed_blank_until_somebody_has_looked(in_folder: Path) -> None:
    made("name,x mm,y mm,dia\na,10,10,5\nb,40.2,20,5\n")
    text = Path("plate.toml").read_text()
    assert "size = [53, 33]" in text  # 40.2 + 2.5 + 10, 20 + 2.5 + 10, to a whole mm
    text = text.replace("[53, 33]", "[53, 33, 10]")
    text = text.replace('# material = "mild', 'material = "mild').replace("# depth =", "depth =")
    Path("plate.toml").write_text(text)
    ran = millprep("check", "plate.toml")
    assert ran.status == 1
    assert "nobody has said how large the blank is" in ran.out
    assert millprep("listing", "plate.toml").status == 1
    Path("plate.toml").write_text(text.replace("guessed = true", ""))
    assert millprep("check", "plate.toml").status == 0


def test_a_blank_that_is_said_is_not_guessed(in_folder: Path) -> None:
    made("x mm,y mm,dia\n10,10,5\n-10,-10,5\n", "--stock", "60,40,8")
    text = Path("plate.toml").read_text()
    assert "size = [60, 40, 8]" in text
    assert "guessed" not in text.split("[datum]")[0]
    assert 'x = "centre"' in text
    assert {hole[:2] for hole in holes(filled_in(8)).values()} == {(40, 30), (20, 10)}


def test_a_blank_is_in_the_units_of_the_plan(in_folder: Path) -> None:
    ran = made("x in,y in,dia\n1,1,1/4\n2,1,1/4\n", "--stock", "3,2,0.5")
    assert ran.status == 0, ran.err
    assert filled_in().stock.size_mm == pytest.approx((76.2, 50.8, 12.7))


@pytest.mark.parametrize(
    ("zero", "table", "expected"),
    [
        ("right,back", "a,10,8,3\nb,30,20,3\n", {"a": (50, 32), "b": (30, 20)}),
        ("right,back", "a,-10,-8,3\nb,-30,-20,3\n", {"a": (50, 32), "b": (30, 20)}),
        ("left,back", "a,10,-8,3\nb,30,-20,3\n", {"a": (10, 32), "b": (30, 20)}),
        ("centre,front", "a,-10,8,3\nb,20,20,3\n", {"a": (20, 8), "b": (50, 20)}),
    ],
)
def test_zero_on_other_faces(
    in_folder: Path, zero: str, table: str, expected: dict[str, tuple[float, float]]
) -> None:
    ran = made(f"name,x mm,y mm,dia\n{table}", "--stock", "60,40,8", "--zero", zero)
    assert ran.status == 0, ran.err
    found = holes(filled_in(8))
    assert {name: place[:2] for name, place in found.items()} == expected


def test_a_circle_counted_from_the_right_turns_as_the_view_does(in_folder: Path) -> None:
    """Distances from RIGHT run against the view, in which angles are counted."""
    table = "".join(
        f"a{i},{x},{y},3\n" for i, (x, y) in enumerate(((40, 20), (20, 20), (30, 30)), 1)
    )
    made(f"name,x mm,y mm,dia\n{table}", "--stock", "60,40,8", "--zero", "right,front")
    found = holes(filled_in(8))
    assert [found[f"a {i}"][:2] for i in (1, 2, 3)] == [(20, 20), (40, 20), (30, 30)]


@pytest.mark.parametrize(
    ("zero", "words"),
    [
        ("left,front", "lies below zero, so LEFT is not there"),
        ("up,front", "does not name the two faces of zero"),
    ],
)
def test_a_zero_that_cannot_be(in_folder: Path, zero: str, words: str) -> None:
    ran = made("x mm,y mm,dia\n-10,8,3\n-30,8,3\n", "--stock", "60,40,8", "--zero", zero)
    assert (ran.status, Path("plate.toml").exists()) == (2, False)
    assert words in ran.err


GOOD = "g1,10,10,5\ng2,30,10,5\ng3,30,40,5\ng4,55,40,5\n"

# (a line among good ones, what is told of it)
FAULTS = [
    ("bad,abc,5,5", 'x: "abc" is not a length'),
    ("bad,1O,5,5", 'x: "1O" is not a length'),
    ("bad,5,5,0", "is not above 0"),
    ("bad,5,5,-3", "is not above 0"),
    ("bad,5,,5", "its place is not given"),
    ("bad,5,5", "3 columns, and the header names 4"),
    ("bad,5,5,5,9", "5 columns, and the header names 4"),
    ("bad,10.004,10,5", "the same hole as in line 2"),
    ("bad,10,10,8", "line 2 has another hole at this place"),
    ("bad,5,5,M6", '"M6" is a thread, and stands under drill'),
    ("bad,5,5,M6 clear", '"M6 clear" is more than a size, and stands under drill'),
    ("bad,5,5,1/4 reamed H7", '"1/4 reamed H7" is more than a size'),
    ("bad,5,5,6 furlongs", "is not a"),
    ('bad,5,5,"5', "quotation marks"),
    ("bad,1e9,5,5", "beyond any workshop"),
    ("bad,nan,5,5", "is not a length"),
    (f"{'n' * 41},5,5,5", "is too long"),
]


@pytest.mark.parametrize(("line", "words"), FAULTS)
def test_what_is_not_understood_is_told_with_its_line_and_in_the_file(
    in_folder: Path, line: str, words: str
) -> None:
    ran = made(f"name,x mm,y mm,dia\n{GOOD}{line}\n")
    assert ran.status == 0, ran.err
    assert "4 of 5 lines read" in ran.err
    assert "holes.csv:6: warning: " in ran.err
    assert words in ran.err
    text = Path("plate.toml").read_text()
    assert "# Made from holes.csv: 4 of 5 lines read." in text
    foot = text.split("# Not understood:")[1]
    assert "line 6: " in foot and words in foot
    assert len(filled_in().holes) == 4


# (text, options, words): nothing is written
REFUSED = [
    ("x,y,dia\n10,10,5\n", (), "nothing says whether the figures are mm or inches"),
    ("x,dia\n10,5\n", ("--units", "mm"), "no line names the columns x and y"),
    ("10;10;5\n20;20;5\n", ("--units", "mm"), "--columns name,x,y,diameter,depth"),
    ("x mm,y mm,dia\na,b,c\nd,e,f\n1,2,3\n", (), "1 of 3 lines read: that is too little"),
    ("x mm,y mm,x\n1,2,3\n", (), "two columns of one meaning: x mm, x"),
    ("x mm,y mm,dia\n1,2,3\n", ("--units", "inch"), "the header says mm, and --units inch"),
    ("", ("--units", "mm"), "holds no lines"),
    ("x mm,y mm\n", (), "0 of 0 lines read"),
    ("x mm,y mm,dia\n1,2,3\n", ("--stock", "big"), "--stock"),
    ("x mm,y mm,dia\n1,2,3\n", ("--columns", "a,b"), "names no x and y"),
]


@pytest.mark.parametrize(("text", "options", "words"), REFUSED)
def test_no_file_where_units_or_most_of_it_cannot_be_known(
    in_folder: Path, text: str, options: tuple[str, ...], words: str
) -> None:
    ran = made(text, *options)
    assert (ran.status, Path("plate.toml").exists()) == (2, False), ran.out
    assert words in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--from", "plan.dwg"), 'a plan that ends in ".dwg" is not read'),
        (("--from", "none.csv"), "does not exist"),
        (("--from", "holes.csv", "--kind", "shop"), "a plan makes a part file"),
        (("--stock", "1,2,3"), "--stock without --from"),
    ],
)
def test_what_is_asked_amiss(in_folder: Path, arguments: tuple[str, ...], words: str) -> None:
    ran = millprep("new", "plate.toml", *arguments)
    assert (ran.status, Path("plate.toml").exists()) == (2, False)
    assert words in ran.err


def test_commas_and_points_in_one_table_are_not_mixed(in_folder: Path) -> None:
    """1,250 beside 10.5 may be a thousand and a quarter, or one and a quarter."""
    ran = made("x mm;y mm;dia\n10.5;10;5\n20.5;10;5\n1,250;10;5\n")
    assert "has a comma, and other figures a decimal point" in ran.err
    assert "2 of 3 lines read" in ran.err


def test_a_fraction_torn_by_blanks_is_not_put_together(in_folder: Path) -> None:
    ran = made("name x y dia\na 1 2 1/4\nb 1 1/8 2\nc 3 2 1/4\nd 3 3 0.25\n", "--units", "inch")
    assert ran.err.count("may be one figure") == 3
    assert ran.status == 2


def test_names_number_a_pattern_only_in_its_order(in_folder: Path) -> None:
    """A1, A2 .. become A 1, A 2 .. of one pattern; B2 and B5 keep their names."""
    rows = "A1,10,10,3\nA2,20,10,3\nA3,30,10,3\nB2,10,30,3\nB5,20,30,3\n7,40,40,4\n9,50,40,4\n"
    ran = made(f"name,x mm,y mm,dia\n{rows}")
    assert "A1 to A3: called A 1 to A 3" in ran.err
    found = holes(filled_in())
    assert [found[f"A {i}"][0] for i in (1, 2, 3)] == [10, 20, 30]
    assert {"B2", "B5"} <= found.keys()
    text = Path("plate.toml").read_text()
    assert "row = { start = [10, 10], step = [10, 0], count = 3 }" in text
    assert "# on the plan: 7, 9" in text


def test_names_out_of_the_pattern_s_order_keep_their_places(in_folder: Path) -> None:
    made("name,x mm,y mm,dia\nA1,10,10,3\nA2,30,10,3\nA3,20,10,3\n")
    found = holes(filled_in())
    assert [found[f"A {i}"][0] for i in (1, 2, 3)] == [10, 30, 20]


def test_what_is_pasted(in_folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pasted = TextIOWrapper(BytesIO(b"name\tx mm\ty mm\tdia\na\t10\t10\t5\n"))
    monkeypatch.setattr(sys, "stdin", pasted)
    ran = millprep("new", "plate.toml", "--from", "-")
    assert ran.status == 0, ran.err
    assert "# Made from pasted: 1 of 1 lines read." in Path("plate.toml").read_text()


def test_a_plan_is_never_written_over(in_folder: Path) -> None:
    ran = made("x mm,y mm,dia\n10,10,5\n")
    ran = millprep("new", "holes.csv", "--from", "holes.csv", "--force")
    assert (ran.status, Path("holes.csv").read_text()[:4]) == (2, "x mm")


def test_words_of_a_table_cannot_leave_their_comment(in_folder: Path) -> None:
    """Nor a string: what is typed in a cell is data."""
    nasty = 'n"] \\n[[hole]]'
    made(f"name;x mm;y mm;dia;note\n'{nasty}';10;10;5;a \"b\" \\ c\nok;20;20;5;\nok2;40;20;5;\n")
    assert len(filled_in().holes) in (2, 3)


def test_python_has_the_same(in_folder: Path) -> None:
    made("name,x mm,y mm,dia\na,10,10,5\nb,abc,1,1\n", "--stock", "60,40,8")
    found = from_plan("holes.csv", "plate", stock="60,40,8")
    assert found.text == Path("plate.toml").read_text()
    assert [one.line for one in found.findings if one.severity == "warning"] == [3]
    with pytest.raises(MillprepError, match="--units mm or --units inch"):
        Path("bare.csv").write_text("x,y\n1,2\n")
        from_plan("bare.csv")


def test_a_hole_beside_the_blank_is_named(in_folder: Path) -> None:
    ran = made("name,x mm,y mm,dia\na,10,10,5\nfar,70,20,5\n", "--stock", "60,40,8")
    assert (ran.status, Path("plate.toml").exists()) == (2, False)
    assert 'holes.csv: stop: hole 2 "far"' in ran.err


def test_a_long_name_of_the_file_still_makes_a_part(in_folder: Path) -> None:
    Path("holes.csv").write_text("x mm,y mm,dia\n10,10,5\n")
    name = f"{'plate ' * 12}.toml"
    assert millprep("new", name, "--from", "holes.csv").status == 0
    assert 'part     = "plate plate' in Path(name).read_text()


@given(
    st.text(st.characters(codec="utf-8"), max_size=300), st.sampled_from(["", "x mm,y mm,dia\n"])
)
@settings(max_examples=150)
def test_no_text_ends_in_a_traceback(text: str, header: str) -> None:
    with contextlib.suppress(MillprepError, WordError):
        part_file("-", "plate", Wishes(), (header + text).encode())


CELLS = st.sampled_from(
    ["10", "10,5", "-3", "1/2", "1/2 in", "M6", "M6x0.75", "#7", "Ø6", "letter F", "", "0", "nan",
     "1e400", "through", '"', "\x1b[31m", "a b", "12.7 mm", "A1", "A2", "1/4-20", "٣", "½", "=1+1"]
)  # fmt: skip


@given(st.lists(st.lists(CELLS, min_size=6, max_size=6), min_size=1, max_size=12))
@settings(max_examples=150)
def test_no_cells_end_in_a_traceback_and_what_is_read_is_read_back(rows: list[list[str]]) -> None:
    lines = ["name;x mm;y mm;size;depth;note", *(";".join(row) for row in rows)]
    with contextlib.suppress(MillprepError, WordError):
        made = part_file("-", "plate", Wishes(), "\n".join(lines).encode())
        assert made.read <= made.total == len([row for row in rows if any(row)])
