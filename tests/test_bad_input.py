"""Bad input of every kind: a clear message a fault, exit status 2, existing files untouched."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from jobs import Ran, millprep, part_text

HOLE = '[[hole]]\nname = "a"\ndrill = 4\nat = [20, 20]\ndepth = 5\n'
GOOD = part_text(HOLE)
SAID = {"mark.txt": "somebody's own words\n"}


@pytest.fixture(autouse=True)
def folder(in_folder: Path) -> Iterator[Path]:
    """A folder with a good part, a good program and a file of somebody else's, kept as they are."""
    Path("good.toml").write_text(GOOD)
    Path("mark.txt").write_text(SAID["mark.txt"])
    before = {path: path.read_bytes() for path in in_folder.iterdir()}
    yield in_folder
    for path, data in before.items():
        assert path.read_bytes() == data
    assert not [path for path in in_folder.iterdir() if path.name.startswith(".")]


def refused(ran: Ran, *words: str) -> None:
    assert ran.status == 2, (ran.status, ran.out, ran.err)
    assert ran.out == ""
    assert "stop: " in ran.err
    for word in words:
        assert word in ran.err
    assert max(map(len, ran.err.splitlines())) < 500


def check(text: str | bytes) -> Ran:
    path = Path("part.toml")
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return millprep("check", path)


# Files that are no part file at all: (name, bytes, words of the message).
FILES: list[tuple[str, bytes, str]] = [
    ("empty", b"", "is empty"),
    ("blank", b" \n\t\n", "is empty"),
    ("binary", bytes(range(256)) * 20, "is not"),
    ("zero bytes", GOOD.encode() + b"\0", "zero bytes"),
    ("latin-1", GOOD.replace("Trial", "Stück").encode("latin-1"), "is not UTF-8 text"),
    ("utf-16", GOOD.encode("utf-16"), "is not"),
    ("no TOML", b"this is a letter, not a part\n", "part.toml:1:"),
    ("unclosed string", GOOD.replace('"Trial"', '"Trial').encode(), "part.toml:1:"),
    ("a point without its nought", GOOD.replace("= 4", "= .4").encode(), "0.4"),
    ("deep brackets", b"a = " + b"[" * 20_000 + b"]" * 20_000, "nested"),
    ("deep braces", b"a = " + b"{a=" * 20_000 + b"1" + b"}" * 20_000, "part.toml"),
    ("deep keys", b".".join([b"a"] * 4_000) + b" = 1", "part.toml"),
    ("a long line", b"# ok\na = '" + b"x" * 5_000_000 + b"'\n", "part.toml"),
    ("a long line of rubbish", b"x" * 5_000_000, "part.toml:1:"),
    ("a huge number", b"a = " + b"9" * 6000, "part.toml"),
    ("a twice", b'part = "a"\npart = "b"\n', "part.toml:2:"),
]


@pytest.mark.parametrize(("name", "data", "said"), FILES, ids=[case[0] for case in FILES])
def test_no_part_file(name: str, data: bytes, said: str) -> None:
    refused(check(data), "part.toml", said)


@pytest.mark.parametrize(("name", "data", "said"), FILES, ids=[case[0] for case in FILES])
def test_no_shop_file(name: str, data: bytes, said: str) -> None:
    Path("shop.toml").write_bytes(data)
    refused(millprep("check", "good.toml", "--shop", "shop.toml"), "shop.toml")


@pytest.mark.parametrize(("name", "data", "said"), FILES[:6], ids=[case[0] for case in FILES[:6]])
def test_no_program(name: str, data: bytes, said: str) -> None:
    """A program's text is judged, not only refused: 1 or 2, and never a traceback."""
    Path("a.nc").write_bytes(data)
    ran = millprep("dryrun", "a.nc", "--part", "good.toml")
    assert ran.status in (1, 2)
    assert "a.nc" in ran.err + ran.out


@pytest.mark.parametrize("kind", ["missing", "folder", "under a file", "too long", "device"])
def test_no_file_of_that_name(kind: str) -> None:
    Path("folder").mkdir()
    name, said = {
        "missing": ("none.toml", "does not exist"),
        "folder": ("folder", "is a folder"),
        "under a file": ("good.toml/part.toml", ""),
        "too long": ("a" * 300, ""),
        "device": (os.devnull, "not a plain file"),
    }[kind]
    refused(millprep("check", name), said)
    refused(millprep("check", "good.toml", "--shop", name if kind != "missing" else "./none.toml"))
    refused(millprep("dryrun", name))


def test_missing_file_names_its_neighbours() -> None:
    refused(
        millprep("check", "goood.toml"), "goood.toml: stop: the file does not exist", "good.toml"
    )


def test_too_large() -> None:
    with Path("part.toml").open("wb") as stream:
        stream.truncate(8_000_001)
    refused(millprep("check", "part.toml"), "larger than 8 MB")


CIRCLE = "circle = {{ centre = [20, 20], diameter = 9, count = {} }}"
GRID = "grid = {{ start = [1, 1], step = [1, 1], columns = {0}, rows = {0} }}"
SETUP = '[[setup]]\nface = "top"\n'

# One change to the good part: (what, from, to, words of the message).
CHANGES: list[tuple[str, str, str, tuple[str, ...]]] = [
    ("unknown key", "depth = 5", "dept = 5", ("dept", "depth")),
    ("unknown key at the top", "units =", 'colour = "red"\nunits =', ("colour",)),
    ("unknown thread", "drill = 4", 'tap = "M7.3"', ("M7.3",)),
    ("nearest thread", "drill = 4", 'tap = "M6x2"', ("M6",)),
    ("unknown drill", "drill = 4", 'drill = "#99"', ("#99",)),
    ("unknown material", "mild steel", "unobtainium", ("unobtainium",)),
    ("unknown face", "drill = 4", 'face = "side"\ndrill = 4', ("side", "top")),
    ("hole outside the stock", "[20, 20]", "[200, 20]", ("140 mm beyond the right edge",)),
    ("hole before the stock", "[20, 20]", "[-1, 20]", ("left",)),
    ("negative depth", "depth = 5", "depth = -5", ("-5",)),
    ("no depth", "depth = 5", "", ("depth",)),
    ("depth of nought", "depth = 5", "depth = 0", ("0",)),
    ("two positions", "at = [20", "polar = { radius = 3, angle = 4 }\nat = [20", ("polar",)),
    ("no position", "at = [20, 20]", "", ("where the hole is",)),
    ("two kinds", "drill = 4", 'drill = 4\nream = "5 mm"', ("drill", "ream")),
    ("no kind", "drill = 4", "", ("drill", "tap")),
    ("nan", "[20, 20]", "[nan, 20]", ("nan",)),
    ("inf", "depth = 5", "depth = inf", ("inf",)),
    ("a number as huge as can be", "[20, 20]", "[1e308, 20]", ("a",)),
    ("a truth as a length", "depth = 5", "depth = true", ("true",)),
    ("a date as a length", "depth = 5", "depth = 2024-01-01", ("depth",)),
    ("three coordinates", "[20, 20]", "[20, 20, 20]", ("20",)),
    ("no unit", 'units = "mm"', "", ("units",)),
    ("unknown unit", 'units = "mm"', 'units = "furlong"', ("furlong", "inch")),
    ("bare fraction in mm", "depth = 5", 'depth = "3/8"', ("3/8 in",)),
    ("rubbish for a length", "depth = 5", 'depth = "deep"', ("deep",)),
    ("no stock", "[stock]\nsize = [60, 40, 20]", "", ("stock",)),
    ("stock of no size", "[60, 40, 20]", "[60, 40, 0]", ("0",)),
    ("stock twice", "size = [60, 40, 20]", "size = [60, 40, 20]\ndiameter = 20", ("diameter",)),
    ("a circle of no holes", "at = [20, 20]", CIRCLE.format(0), ("0",)),
    ("a circle of too many", "at = [20, 20]", CIRCLE.format(10**10), ("count",)),
    ("a grid of too many", "at = [20, 20]", GRID.format(99999), ("99999", "50000")),
    ("from nowhere", "at = [20, 20]", 'from = "b"\nat = [1, 1]', ('"b"',)),
    ("from itself", "at = [20, 20]", 'from = "a"\nat = [1, 1]', ('"a"',)),
    ("spot not true or false", "drill = 4", 'drill = 4\nspot = "no"', ("spot",)),
    ("unknown kind in allow", "drill = 4", 'drill = 4\nallow = ["thick wall"]', ("thick wall",)),
    ("datum on no face", 'x = "left"', 'x = "top"', ("top",)),
    ("a hole as one table", "[[hole]]", "[hole]", ("[[hole]]",)),
    ("its opposite too", 'part = "Trial"', 'opposite_hand_of = "good.toml"', ("units",)),
    ("up and towards you", HOLE, HOLE + SETUP + 'towards_you = "bottom"\n', ("bottom", "top")),
    ("one face twice", HOLE, HOLE + SETUP + SETUP, ("top",)),
]  # fmt: skip


@pytest.mark.parametrize(("what", "old", "new", "said"), CHANGES, ids=[case[0] for case in CHANGES])
def test_one_fault(what: str, old: str, new: str, said: tuple[str, ...]) -> None:
    assert old in GOOD
    refused(check(GOOD.replace(old, new, 1)), "part.toml", *said)


def test_the_good_part_is_good() -> None:
    assert check(GOOD).status == 0


def test_one_message_a_fault_and_all_at_once() -> None:
    text = part_text(
        '[[hole]]\nname = "a"\ndrill = 4\nat = [20, 20]\ndepth = -5\n'
        '[[hole]]\nname = "b"\ntap = "M77"\nat = [30, 20]\ndepth = 5\n'
        '[[hole]]\nname = "c"\ndrill = 4\nat = [300, 20]\ndepth = 5\n'
        '[[hole]]\nname = "d"\ndrill = 4\nat = [40, 20]\ndepht = 5\n'
    )
    ran = check(text)
    refused(ran)
    stops = [line for line in ran.err.splitlines() if ": stop: " in line]
    assert [next(n for n in "abcd" if f'"{n}"' in line) for line in stops] in (
        ["a", "b", "c", "d"],
        ["a", "b", "c", "d", "d"],
    )
    lines = [int(line.split(":")[1]) for line in stops]
    assert lines == sorted(lines)


def test_opposite_of_nothing() -> None:
    refused(check('opposite_hand_of = "none.toml"'), "part.toml", "none.toml")
    refused(check('opposite_hand_of = "part.toml"'), "part.toml")
    refused(check('opposite_hand_of = "."'), "is a folder")


def test_same_name_twice() -> None:
    refused(check(part_text(HOLE + HOLE.replace("[20, 20]", "[40, 20]"))), '"a"')


SHOP_CHANGES = [
    ("[mill]\ntavel = { x = [0, 1] }", ("tavel", "travel")),
    ("[mil]\nmax_feed = 3", ("mil", "mill")),
    ("[mill]\nmax_feed = -3", ("-3",)),
    ("[mill]\nspindle = { speeds = [] }", ("speeds",)),
    ("[mill]\nspindle = { speeds = [nan] }", ("nan",)),
    ("[readout]\nresolution = 0", ("0",)),
    ('[readout]\naxes = "xz"', ("xz", "xyz")),
    ('[drawer]\ntaps = ["M99"]', ("M99",)),
    ("[drawer]\ndrills = [{ from = 5, to = 1, step = 1 }]", ("drills",)),
    ("[drawer]\ndrills = [{ from = 1, to = 9, step = 1e-9 }]", ("drills",)),
    ('[control]\ncycles = ["G99"]', ("G99",)),
    ('[control]\ntool_change = "T6"', ("T6", "M6")),
    ('[control]\ncomments = "#"', ("#",)),
    ("[[tool]]\nnumber = 1\nkind = 'drill'\n", ("diameter",)),
    ("[[tool]]\nnumber = 1\nkind = 'drll'\ndiameter = 3\n", ("drll", "drill")),
    ("[[tool]]\nnumber = 1\nkind = 'drill'\ndiameter = 3\n" * 2, ("1",)),
    ('base = "imperial"', ("imperial",)),
]  # fmt: skip


@pytest.mark.parametrize(("text", "said"), SHOP_CHANGES)
def test_faults_of_a_shop(text: str, said: tuple[str, ...]) -> None:
    Path("shop.toml").write_text(text)
    refused(millprep("check", "good.toml", "--shop", "shop.toml"), "shop.toml", *said)


def test_two_bad_figures_of_a_shop_are_two_messages() -> None:
    Path("shop.toml").write_text("[mill]\nquill_travel = nan\nmax_feed = inf\n")
    ran = millprep("check", "good.toml", "--shop", "shop.toml")
    refused(ran, "shop.toml:2: stop: nan", "shop.toml:3: stop: inf")


OUTPUTS = [
    ("none/out.txt", "the folder does not exist"),
    ("mark.txt", "exists already"),
    ("mark.txt/out.txt", "the folder does not exist"),
    ("folder.txt", "is a folder"),
    ("a" * 400 + ".txt", "cannot be"),
]


@pytest.mark.parametrize(("name", "said"), OUTPUTS, ids=[case[0][:12] for case in OUTPUTS])
@pytest.mark.parametrize("command", ["listing", "program", "check", "tools"])
def test_outputs_that_may_not_be_written(command: str, name: str, said: str) -> None:
    Path("folder.txt").mkdir()
    ran = millprep(command, "good.toml", "-o", name)
    assert ran.status == 2
    assert said in ran.err
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("command", ["listing", "program", "check", "tools"])
def test_the_part_itself_is_never_written_over(command: str) -> None:
    assert millprep(command, "good.toml", "-o", "good.toml").status == 2


def test_new_where_it_may_not() -> None:
    assert millprep("new", "mark.txt").status == 2
    assert millprep("new", "none/part.toml").status == 2
    assert millprep("new", ".").status == 2


@pytest.mark.parametrize(
    "words", [[""], ["M99"], ["xyzzy"], ["clearance"], ["a" * 10_000], ["\0"], ["-1 mm"]]
)
def test_lookup_of_nothing(words: list[str]) -> None:
    ran = millprep("lookup", *words)
    assert ran.status == 2
    assert "Traceback" not in ran.err


@pytest.mark.parametrize("command", ["listing", "dials", "markout", "tools", "bench", "drawing"])
def test_a_part_without_holes_has_no_sheet_and_is_told_so(command: str, tmp_path: Path) -> None:
    path = tmp_path / "bare.toml"
    path.write_text(
        'part = "bare"\nunits = "mm"\nmaterial = "brass"\n[stock]\nsize = [60, 40, 20]\n'
        '[datum]\nx = "left"\ny = "front"\n'
    )
    out = {"bench": ["-o", tmp_path / "a.html"], "drawing": ["-o", tmp_path / "a.pdf"]}
    ran = millprep(command, path, *out.get(command, []))
    assert ran.status == 1
    assert "stop: the part has no holes: there is nothing to put on a sheet" in ran.err
