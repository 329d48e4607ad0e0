"""What is over a bound is refused: one message that says what is allowed, soon and in little room.

Each runs within the processor's time and the memory that `mutants.bounded` gives, which is some ten
times what they take.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from jobs import Ran, millprep, part_text
from mutants import bounded

from millprep.base import bounds

BEFORE_PARSING, AFTER_PARSING = 300_000_000, 600_000_000  # bytes more than the process has
HOLE = '[[hole]]\nname = "a"\ndrill = 4\ndepth = 5\nat = [20, 20]\n'
DIMENSION = '[[dimension]]\nbetween = ["left", "a"]\nalong = "x"\nis = 20\n'


def hole(where: str, more: str = "") -> str:
    return part_text(f'[[hole]]\nname = "a"\ndrill = 4\ndepth = 5\n{where}\n{more}')


def circles(count: int, each: int) -> str:
    circle = f"circle = {{ centre = [30, 20], diameter = 30, count = {each} }}"
    return part_text(f"[[hole]]\ndrill = 4\ndepth = 5\n{circle}\n" * count)


def refused(ran: Ran, *words: str) -> None:
    """Exit status 2, nothing printed, and one stop with these words."""
    assert (ran.status, ran.out) == (2, ""), ran.err
    assert ran.err.count("stop: ") == 1
    assert len(ran.err) < 500
    for word in words:
        assert word in ran.err


# (what, text of the file, words of the message)
BEFORE = [
    ("bytes", "# " + "x" * 8_000_000, ("larger than 8 MB",)),
    ("tables", part_text(HOLE * 20_001), ("tables", "at most 20,000")),
    ("points", hole("at = [" + "[1,2]," * 1_000_000 + "]"), ("values", "at most 300,000")),
    ("keys", part_text("") + "".join(f"a{i}=1\n" for i in range(400_000)), ("at most 300,000",)),
    ("braces", part_text("a = [" + "{b=1}," * 600_000 + "]"), ("at most 300,000",)),
    ("figures that are none", part_text("a = [" + "nan," * 400_000 + "]"), ("at most 300,000",)),
]
AFTER = [
    ("points in one list", hole("at = [" + "[1,2]," * 50_001 + "]"), ("50,001", "at most 50,000")),
    ("dimensions", hole("at = [20, 20]", DIMENSION * 5001), ("5,001", "at most 5,000")),
    ("setups", part_text(HOLE + '[[setup]]\nface = "top"\n' * 201), ("201", "at most 200")),
    ("obstacles", part_text(HOLE + '[[setup]]\nface = "top"\n' + "[[setup.obstacle]]\n" * 201),
     ("201", "at most 200")),
    ("a list", hole("at = [20, 20]\nmeets = [" + '"b",' * 2001 + "]"), ("2,001", "at most 2,000")),
    ("holes", circles(3, 20_000), ("holes", "at most 50,000")),
    ("holes of many tables", circles(5_000, 50_000), ("holes", "at most 50,000")),
    ("holes in one place", circles(1, 20_000), ("within a millimetre", "at most 100")),
    ("peck", hole("at = [20, 20]\npeck = 0.001"), ("0.001", "give 0.05 mm or more")),
    ("pecks", part_text(HOLE.replace("depth = 5", "depth = 19\npeck = [3, 0.05]"),
                        "size = [60, 40, 200]").replace("depth = 19", "depth = 190"),
     ("pecks", "at most 500")),
    ("stock", part_text(HOLE, "size = [60, 40, 10001]"), ("at most 10,000 mm",)),
    ("disc", part_text(HOLE, "diameter = 90000\nlength = 10"), ("at most 10,000 mm",)),
    ("name", part_text(HOLE.replace('"a"', f'"{"a" * 41}"')), ("at most 40",)),
    ("brackets", hole("at = " + "[" * 30 + "]" * 30), ("nested",)),
]  # fmt: skip


@pytest.mark.parametrize(("what", "text", "words"), BEFORE, ids=[case[0] for case in BEFORE])
@pytest.mark.parametrize("kind", ["part", "shop", "assembly"])
def test_counted_before_it_is_parsed(
    in_folder: Path, kind: str, what: str, text: str, words: tuple[str, ...]
) -> None:
    Path("good.toml").write_text(part_text(HOLE))
    Path("file.toml").write_text(text)
    commands = {
        "part": ("check", "file.toml"),
        "assembly": ("assembly", "file.toml"),
        "shop": ("check", "good.toml", "--shop", "file.toml"),
    }
    with bounded(BEFORE_PARSING):
        refused(millprep(*commands[kind]), "file.toml", *words)


@pytest.mark.parametrize(("what", "text", "words"), AFTER, ids=[case[0] for case in AFTER])
def test_counted_after_parsing(
    in_folder: Path, what: str, text: str, words: tuple[str, ...]
) -> None:
    Path("part.toml").write_text(text)
    with bounded(AFTER_PARSING):
        refused(millprep("check", "part.toml"), "part.toml", *words)


SHOPS = [
    ("[[tool]]\nnumber = 1\nkind = 'drill'\ndiameter = 900000\n", ("500 mm",)),
    (
        "[[tool]]\nnumber = 1\nkind = 'drill'\ndiameter = 5\nlength = 900000\n",
        ("at most 1,000 mm",),
    ),
    ("[drawer]\ndrills = ['900000 mm']\n", ("500 mm",)),
    ("[drawer]\ndrills = [{ diameter = 5, flute = 900000 }]\n", ("at most 1,000 mm",)),
    (
        "[drawer]\ndrills = [" + "{ from = 1, to = 20, step = 0.01 }," * 2 + "]\n",
        ("at most 2,000",),
    ),
    ("[drawer]\ndrills = [{ from = 1, to = 20, step = 0.001 }]\n", ("at most 2000",)),
    ("[[tool]]\n" * 2001, ("at most 2,000",)),
]


@pytest.mark.parametrize(("text", "words"), SHOPS, ids=range(len(SHOPS)))
def test_shops(in_folder: Path, text: str, words: tuple[str, ...]) -> None:
    Path("good.toml").write_text(part_text(HOLE))
    Path("shop.toml").write_text(text)
    with bounded(AFTER_PARSING):
        refused(millprep("check", "good.toml", "--shop", "shop.toml"), "shop.toml", *words)


TABLES = [
    ("columns", "hole,x,y" + ",z" * 300_000 + "\na,1,2\n", ("300,003 columns", "at most 1,000")),
    ("lines", "hole,x,y\n" + "a,1,2\n" * 100_000, ("100,001 lines", "at most 100,000")),
    ("bytes", "#" + "x" * 8_000_000, ("larger than 8 MB",)),
]


@pytest.mark.parametrize(("what", "text", "words"), TABLES, ids=[case[0] for case in TABLES])
@pytest.mark.parametrize("command", ["match", "inspect"])
def test_measured_files(
    in_folder: Path, command: str, what: str, text: str, words: tuple[str, ...]
) -> None:
    Path("good.toml").write_text(part_text(HOLE))
    Path("m.csv").write_text(text)
    with bounded(BEFORE_PARSING):
        refused(millprep(command, "good.toml", "m.csv"), "m.csv", *words)


def test_a_line_of_many_cells_is_one_fault(in_folder: Path) -> None:
    Path("good.toml").write_text(part_text(HOLE))
    Path("m.csv").write_text("hole,x,y\na,20,20\n" + "," * 7_000_000 + "a\n")
    with bounded(BEFORE_PARSING):
        refused(millprep("match", "good.toml", "m.csv"), "m.csv:3", "at most 1,000")


def test_members_and_their_holes(in_folder: Path) -> None:
    many = '[[hole]]\nname = "a"\ndrill = 0.3\ndepth = 1\n'
    grid = "grid = { start = [1, 1], step = [0.3, 0.3], columns = 150, rows = 120 }\n"
    for name in "abcd":
        Path(f"{name}.toml").write_text(part_text(many + grid))
    Path("file.toml").write_text(
        'assembly = "x"\n[members]\n' + "".join(f'm{number} = "a.toml"\n' for number in range(501))
    )
    with bounded(AFTER_PARSING):
        refused(millprep("assembly", "file.toml"), "file.toml", "501", "at most 500")
    Path("file.toml").write_text(
        'assembly = "x"\n[members]\n' + "".join(f'{name} = "{name}.toml"\n' for name in "abcd")
    )
    with bounded(AFTER_PARSING):
        refused(millprep("assembly", "file.toml"), "file.toml:5", "at most 50,000 in all")


@pytest.mark.parametrize(
    "line",
    [
        "TOOL 1 TAP 1000001 MM PITCH 1",
        "TOOL 1 DRILL 501 MM",
        "TOOL 1 TAP 6 MM PITCH 900000",
        "TOOL 1 SPOT DRILL 6 MM POINT 90 FLAT 900000",
        "TOOL 1 REAMER 6 MM LEAD 99999",
    ],
)
def test_a_tool_line_beyond_any_tool(in_folder: Path, line: str) -> None:
    """It is a stop, and the tool counts as one of unknown size: no picture of a kilometre."""
    Path("a.nc").write_text(
        f"({line})\nG21 G90 G17 G54\nT1 M6\nS200 M3\nG0 X20. Y20.\nG0 Z5.\n"
        "G98 G81 Z-10. R5. F20.\nG80\nG0 Z25.\nM5\nM30\n"
    )
    with bounded(AFTER_PARSING):
        ran = millprep(
            "dryrun", "a.nc", "--stock", "60,40,20", "--picture", "a.svg", "--format", "json"
        )
    assert ran.status == 1
    (stop,) = [one for one in ran.json["findings"] if one["kind"] == "tool-line-not-read"]
    assert (stop["severity"], stop["line"]) == ("stop", 1)
    assert "at most 500 mm" in stop["remedy"]
    assert Path("a.svg").stat().st_size < 100_000


@pytest.mark.parametrize("stock", ["60,40,20000", "dia 90000 x 6"])
def test_stock_in_words(in_folder: Path, stock: str) -> None:
    Path("a.nc").write_text("G21 G90\nM30\n")
    refused(millprep("dryrun", "a.nc", "--stock", stock), "at most 10,000 mm")


@pytest.mark.parametrize("off_mm", [0.0, 0.3])
def test_three_thousand_dimensions_are_checked(in_folder: Path, off_mm: float) -> None:
    """All that do not agree are told, and no more than those."""
    grid = "grid = { start = [1, 1], step = [1.5, 1.5], columns = 38, rows = 24 }"
    told = "".join(
        f'[[dimension]]\nbetween = ["left", "a {i % 912 + 1}"]\nalong = "x"\n'
        f"is = {i % 912 % 38 * 1.5 + 1 + (off_mm if i % 2 else 0):g}\n"
        for i in range(3000)
    )
    text = hole(grid, told).replace("drill = 4", "drill = 0.5")
    Path("part.toml").write_text(text)
    with bounded(AFTER_PARSING):
        ran = millprep("check", "part.toml", "--format", "json")
    kinds = [finding["kind"] for finding in ran.json["findings"]]
    assert kinds.count("dimension-off") == (1500 if off_mm else 0)
    assert kinds.count("dimensions-close") == (0 if off_mm else 1)


def test_faults_of_a_file_are_counted_past_those_that_are_told(in_folder: Path) -> None:
    Path("part.toml").write_text(part_text("".join(f"k{i} = 1\n" for i in range(1900)) + HOLE))
    with bounded(AFTER_PARSING):
        ran = millprep("check", "part.toml")
    assert ran.status == 2
    assert ran.err.count(": stop: ") == bounds.MOST_FAULTS + 1
    assert "more faults of this file are not told" in ran.err


def test_holes_that_lie_over_each_other_by_the_thousand_have_an_end(in_folder: Path) -> None:
    Path("part.toml").write_text(
        hole("grid = { start = [1, 1], step = [0.5, 0.5], columns = 60, rows = 60 }")
    )
    with bounded(AFTER_PARSING):
        ran = millprep("check", "part.toml")
    assert ran.status == 1
    assert "the rest of them is not looked at" in ran.err + ran.out
