"""What is shown can be seen, and CSV cells are words to a spreadsheet, not sums."""

import csv
import io
import json
import os
import re
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jobs import BLOCK, millprep, part_text

from millprep.base.findings import Finding
from millprep.base.plain_text import cell_text, clean, clean_lines, csv_text, json_clean

HOLE = '[[hole]]\nname = "pin"\ndrill = 5\nat = [20, 20]\ndepth = "through"\n'


@given(st.text(st.characters()))
def test_what_is_cleaned_is_printable(text: str) -> None:
    assert clean(text).isprintable()
    assert not {unicodedata.category(c) for c in clean_lines(text) if c not in "\n\t"} & {
        "Cc",
        "Cs",
    }
    assert clean(clean(text)) == clean(text)
    if text.isprintable():
        assert clean(text) == clean_lines(text) == text


def test_every_mark_of_direction_is_shown_as_its_number() -> None:
    """Unicode Standard Annex 9, section 2: the explicit and implicit directional characters."""
    marks = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
    assert clean(marks) == clean_lines(marks) == "".join(f"\\u{ord(mark):04x}" for mark in marks)
    assert clean("a\x1b[2J\x9b\udcff") == "a\\x1b[2J\\x9b\\xff"
    assert clean_lines("½\u00a0mm\n\tØ5") == "½\u00a0mm\n\tØ5"


@given(st.text(st.characters()))
def test_json_says_the_same(text: str) -> None:
    shown = json_clean(json.dumps(text, ensure_ascii=False))
    assert json.loads(shown) == text or "\\ud" in shown  # halves of pairs join to the pair
    shown.encode()


def test_a_finding_carries_nothing_unseen() -> None:
    found = Finding("stop", "bad-value", "a\x1b[2J", "b\u202e", file="c\udcff", key="d\x07")
    assert (found.message, found.remedy) == ("a\\x1b[2J", "b\\u202e")
    assert (found.file, found.key) == ("c\\xff", "d\\x07")


@given(st.lists(st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1), min_size=1))
def test_cells_are_read_back_as_they_were(cells: list[str]) -> None:
    (row,) = csv.reader(io.StringIO(csv_text([cells]), newline=""), strict=True)
    assert [cell_text(cell) for cell in row] == cells


@pytest.mark.parametrize(
    "cell", ["=HYPERLINK(1)", "+1+cmd", "-1+cmd", "@SUM(1)", "\tx", "'=1", " =1", "-a", "＝1", "+x"]
)
def test_what_a_spreadsheet_would_run_is_text(cell: str) -> None:
    (row,) = csv.reader(io.StringIO(csv_text([[cell]])))
    assert row == [f"'{cell}"]


@pytest.mark.parametrize("cell", ["-5.000", "+5", "-1.2e-05", "-2.3 -4.6", "a=b", "M6", "-", ""])
def test_figures_stay_figures(cell: str) -> None:
    (row,) = csv.reader(io.StringIO(csv_text([[cell, -5.0]])))
    assert row == [cell, "-5.0"]


NAMES = ("=HYPERLINK(1)", "+1 a", "-pin", "@SUM(1+1)", "'=pin", "- 5")


@pytest.mark.parametrize("name", NAMES)
def test_sheets_as_csv_are_witnessed_and_measured_files_come_back(
    in_folder: Path, name: str
) -> None:
    path = in_folder / "part.toml"
    path.write_text(part_text(HOLE.replace('"pin"', f'"{name}"'), BLOCK))
    for command in ("listing", "dials", "markout"):
        ran = millprep(command, path, "--format", "csv")
        assert ran.status == 0, ran.err
        for row in csv.reader(io.StringIO(ran.out)):
            for cell in row:
                assert cell[:1] not in {*"=+-@"} or re.fullmatch(r"[-+\d. ]*", cell)
    millprep("inspect", path, "-o", "sheet.csv")
    with Path("sheet.csv").open(newline="") as stream:
        rows = list(csv.DictReader(stream))
    for row in rows:
        row["reading"] = row["expected"]
    with Path("filled.csv").open("w", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    ran = millprep("inspect", path, "filled.csv", "--format", "json")
    assert ran.status == 0, ran.err
    kept = (in_folder / "part-measured.csv").read_text()
    assert not re.search(r"(^|,)[=@+]", kept)


def test_the_match_s_table_is_read_as_measured_again(in_folder: Path) -> None:
    path = in_folder / "part.toml"
    holes = HOLE.replace('"pin"', '"=a"') + HOLE.replace('"pin"', '"@b"').replace(
        "20, 20", "40, 20"
    )
    path.write_text(part_text(holes, BLOCK))
    Path("m.csv").write_text("hole,x,y\n=a,20.01,20\n'@b,40.01,20\n")
    first = millprep("match", path, "m.csv", "-o", "again.csv")
    assert first.status == 0, first.err
    assert "'=a," in Path("again.csv").read_text()
    assert millprep("match", path, "again.csv").status == 0


# --- names and options that would move the cursor -----------------------------------------------


def unseen(text: str) -> list[str]:
    return [c for c in text if c not in "\n" and unicodedata.category(c) in ("Cc", "Cf", "Cs")]


def test_no_message_moves_the_cursor(in_folder: Path) -> None:
    path = in_folder / "part.toml"
    bad = 'name = "a\\u001b]0;evil\\u0007\\u202e"\n"k\\u001b\\u202e" = 5\n'
    path.write_text(part_text(f"[[hole]]\n{bad}", BLOCK))
    Path("good.toml").write_text(part_text(HOLE, BLOCK))
    sign = "\x1b[2J\u202e\x9b"
    for command in (
        ["check", "part.toml"],
        ["listing", "good.toml", "--only", sign],
        ["listing", "good.toml", "--units", sign],
        ["listing", f"no{sign}.toml"],
        ["listing", "good.toml", "--shop", f"shop{sign}"],
        ["lookup", sign],
        ["listing", "good.toml", "-o", f"folder{sign}/x.txt"],
        [sign],
        ["check", f"--{sign}"],
        ["dryrun", f"no{sign}.nc"],
        ["markout", "good.toml", "--stand", sign],
        ["drawing", "good.toml", "-o", f"x.{sign}"],
        ["dryrun", "good.nc", "--stock", sign],
        ["inspect", "good.toml", "--piece", sign],
        ["new", f"a{sign}.toml"],
        ["program", "good.toml", "-o", f"a{sign}.nc"],
        ["dryrun", f"a{sign}.nc"],
        ["drawing", "good.toml", "-o", f"a{sign}.svg"],
    ):
        for more in ([], ["--format", "json"]):
            if more and command[0] in ("new", "drawing", sign):
                continue
            ran = millprep(*command, *more)
            assert not unseen(ran.out + ran.err), (command, ran)


@pytest.mark.parametrize("wanted", ["text", "json", "html", "csv"])
def test_a_file_name_that_is_no_text_is_shown(in_folder: Path, wanted: str) -> None:
    name = os.fsdecode(b"ok\xff.toml")
    try:
        Path(name).write_text(part_text(HOLE.replace("drill = 5", "drill = 12.3"), BLOCK))
    except OSError:
        pytest.skip("this disk has names of UTF-8 only")
    ran = millprep("listing", name, "--format", wanted)
    assert ran.status == 0
    assert "ok\\xff.toml" in ran.err
    ran.out.encode()


def test_a_character_that_cannot_be_seen_in_a_key_is_named(in_folder: Path) -> None:
    path = in_folder / "part.toml"
    for sign in "\x0b\x0c\r\x1b\x85\u00a0\u202e":
        text = part_text(HOLE.replace("drill = 5", f"dr{sign}ill = 5"), BLOCK)
        path.write_bytes(text.encode())
        ran = millprep("check", path)
        assert ran.status == 2
        assert f"a character that cannot be seen, U+{ord(sign):04X}, stands in" in ran.err
        assert "dr_ill" not in ran.err


def test_the_page_of_a_dry_run_loads_nothing(in_folder: Path) -> None:
    Path("a.nc").write_bytes(b"G21 G90\n(<script>alert(1)</script> \x1b[2J \xe2\x80\xae)\nM30\n")
    millprep("dryrun", "a.nc", "--html", "a.html")
    page = Path("a.html").read_text()
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy.startswith("default-src 'none'; ")
    assert not unseen(page)


# --- the first word of a comment ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("MSG, x", "NAMED MSG, X, DRILL"),
        ("msg x", "NAMED MSG X, DRILL"),
        ("m s g, x", "NAMED M S G, X, DRILL"),
        ("Print, x", "NAMED PRINT, X, DRILL"),
        ("debug", "NAMED DEBUG, DRILL"),
        ("log open, x", "NAMED LOG OPEN, X, DRILL"),
        ("probe 1", "NAMED PROBE 1, DRILL"),
        ("(MSG, x", "NAMED MSG, X, DRILL"),
        ("message port", "NAMED MESSAGE PORT, DRILL"),
        ("logo", "LOGO, DRILL"),
        ("printer pin", "PRINTER PIN, DRILL"),
        ("x, MSG", "X, MSG, DRILL"),
    ],
)
def test_no_comment_begins_with_an_order(in_folder: Path, name: str, shown: str) -> None:
    """NIST RS274/NGC (NISTIR 6556) 3.3.4: MSG after the bracket, blanks or not, is a message."""
    path = in_folder / "part.toml"
    path.write_text(part_text(HOLE.replace('"pin"', f'"{name}"'), BLOCK).replace("Trial", name))
    assert millprep("program", path, "-o", "a.nc").status == 0
    program = Path("a.nc").read_text()
    assert f"({shown})" in program
    first = shown.removesuffix(", DRILL")
    assert program.startswith(f"({first}, SETUP 1 OF 1)\n")
    assert millprep("dryrun", "a.nc", "--part", path).status == 0
