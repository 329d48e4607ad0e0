"""Call-outs as plans print them: the figures that they give, and what is left."""

import random
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, get_args

import pytest

from millprep.base.findings import MillprepError
from millprep.base.units import Units
from millprep.infiles import read_part, read_shop
from millprep.model.part import FACE_AXIS, Face, Hole, plane_axes
from millprep.proven.editing import line_added
from millprep.proven.forms import SizeKind, in_box, in_boxes, read_call_out, sizes_like
from millprep.sizes import read_clear, read_drill, read_thread

Case = tuple[str, Units, Face, dict[str, str], list[str]]
WHAT = {"drill", "tap", "ream", "bore", "clear"}


def _cases() -> Iterator[Case]:
    """(words, units, face, figures, words left) of each line of the list."""
    units: Any = "inch"
    face: Any = "top"
    text = (Path(__file__).parent / "call_outs.txt").read_text(encoding="utf-8")
    for line in text.splitlines():
        if line.startswith("["):
            units, face = line.strip("[]").split()
        elif " => " in line and not line.startswith("#"):
            words, _, wanted = line.partition(" => ")
            pairs = [item.split(": ", 1) for item in wanted.split("; ")]
            values = {key: value for key, value in pairs if key != "?"}
            yield words, units, face, values, [value for key, value in pairs if key == "?"]


CASES = list(_cases())


def test_the_list_is_long_enough() -> None:
    assert len(CASES) >= 140


@pytest.mark.parametrize(
    ("words", "units", "face", "values", "left"), CASES, ids=[case[0] for case in CASES]
)
def test_a_call_out_gives_its_figures(
    words: str, units: Units, face: Face, values: dict[str, str], left: list[str]
) -> None:
    found = read_call_out(words, units, face)
    assert found.values == values
    assert [words[start:end] for start, end in found.left] == left
    assert len(found.why) == len(left) and all(found.why)


def _line(values: Mapping[str, str], face: Face) -> dict[str, str]:
    """The line of a hole of these figures; what a hole needs besides is added."""
    line = {"face": face, **values}
    across = [f"centre_{'xyz'[axis]}" for axis in plane_axes(line["face"])]  # type: ignore[arg-type]
    if not WHAT & line.keys():
        line["drill"] = "1 mm"
    if "depth" not in line and "depth.into" not in line:
        line["depth"] = "through"
    at = [key for key in line if key.startswith("at.")]
    if len(at) == 1:
        name = at[0].removeprefix("at.")
        axis = "xyz".index(name[-1]) if name.startswith("centre") else FACE_AXIS[name]  # type: ignore[index]
        line[f"at.{next(one for one in across if one[-1] != 'xyz'[axis])}"] = "0"
    has_circle = any(key.startswith("circle.") for key in line)
    if has_circle:
        line.setdefault("circle.count", "3")
        if not any(key.startswith("circle.centre") for key in line):
            line["circle.centre"] = f"[{{ {across[0]} = 0 }}, {{ {across[1]} = 0 }}]"
    elif not at and "at" not in line and "corners.inset" not in line:
        line["at"] = f"{{ {across[0]} = 0, {across[1]} = 0 }}"
    return line


def _written(line: Mapping[str, str], units: Units) -> str:
    """A part file with that line, and a shaft hole across it."""
    head = f'part = "Plate"\nunits = "{units}"\nmaterial = "brass"\n'
    size = "[100, 110, 60]" if units == "mm" else "[4, 4.5, 3]"
    other = next(one for one in ("top", "front") if FACE_AXIS[one] != FACE_AXIS[line["face"]])  # type: ignore[index]
    shaft = f'\n[[hole]]\nname = "A"\nface = "{other}"\ndrill = "1/4 in"\n'
    shaft += "at = { centre_x = 0, %s = 0 }\ndepth = 'through'\n" % (
        "centre_y" if other == "top" else "centre_z"
    )
    text = f"{head}\n[stock]\nsize = {size}\n{shaft}"
    return line_added(text, "hole", {"name": "it", **line})


def _read(values: Mapping[str, str], units: Units, face: Face, folder: Path) -> list[Hole]:
    file = folder / "plate.toml"
    file.write_text(_written(_line(values, face), units), encoding="utf-8")
    part, _ = read_part(file)
    return [hole for hole in part.holes if hole.group == "it"]


def test_every_figure_is_taken_by_the_reader_of_part_files(tmp_path: Path) -> None:
    for words, units, face, values, _ in CASES:
        found = read_call_out(words, units, face)
        given = {"tap": "M12", **found.values} if not WHAT & values.keys() else found.values
        if "spotface.diameter" in given and not WHAT & values.keys():
            given = found.values
        try:
            holes = _read(given, units, face, tmp_path)
        except MillprepError as error:
            pytest.fail(f"{words}: {error}")
        count = int(given.get("circle.count", len(holes)))
        assert len(holes) == count, words
        assert holes[0].is_through == (given.get("depth", "through") == "through"
                                       and "depth.into" not in given), words  # fmt: skip


def test_the_cover_as_printed_lies_where_it_was_worked_out(tmp_path: Path) -> None:
    words = "4 holes No. 27, c'bore 5/16 x 3/16 deep, on 1 1/4 P.C.D., at 45 deg to centre lines"
    holes = _read(read_call_out(words, "inch").values, "inch", "top", tmp_path)
    inches = [(round(x / 25.4 - 2, 4), round(y / 25.4 - 2.25, 4)) for x, y, _ in
              (hole.centre_mm for hole in holes)]  # fmt: skip
    assert inches == [(0.4419, 0.4419), (-0.4419, 0.4419), (-0.4419, -0.4419), (0.4419, -0.4419)]
    recess = holes[0].mouth.counterbore
    assert recess is not None
    assert (recess.diameter_mm, recess.depth_mm) == (7.9375, 4.7625)


def test_what_is_said_is_what_was_understood() -> None:
    words = "4 holes No. 27 thro', c'bore 5/16 x 3/16 deep, on 1 1/4 P.C.D., at 45 deg"
    assert [*read_call_out(words, "inch").said] == [
        ("how many", "4 holes"),
        ("what", "drill No. 27"),
        ("deep", "right through"),
        ("mouth", "counterbore 5/16 dia 3/16 deep"),
        ("placed", "on a 1 1/4 pitch circle"),
        ("placed", "first at 45 deg"),
    ]


def test_what_was_not_said_is_told() -> None:
    without_angle = read_call_out("6 holes 6BA clear on 1 1/2 PCD, csk 1/4", "inch").said
    texts = [text for _, text in without_angle]
    assert "first at the right, 0 deg (no angle given)" in texts
    assert "countersink 1/4 dia, 90 deg (no angle given)" in texts
    placed = [text for _, text in read_call_out("2 holes tap 4BA x 3/8 deep", "inch").said]
    assert "2 holes, each still to be placed" in placed


@pytest.mark.parametrize(
    ("words", "units", "why"),
    [
        ("1/2 H7 thro'", "inch", 'reamed or bored? write "ream 1/2 H7", or bore'),
        ("4BA thro'", "inch", 'write "tap 4BA" or "clear 4BA"'),
        ("drill 5", "inch", 'write "No. 5" for the number drill, "5 in" for inches'),
        ("drill 1/8, csk", "inch", "how wide is the countersink at the top?"),
        ("drill 3/8", "mm", '"3/8" is a bare fraction in a mm file: write "3/8 in"'),
        ("drill 0,375", "inch", 'write the decimal with a point: "0.375"'),
        ("drill 1/8 thro', 1/4 deep", "inch", "said before as through: which of the two?"),
        ("bore 22 h7", "mm", "is the fit of a shaft"),
        ("4 holes 1/8 on 1 PCD, 60 deg apart", "inch", "4 holes are 90 deg apart"),
    ],
)
def test_what_has_two_readings_is_left_with_a_sentence(words: str, units: Units, why: str) -> None:
    found = read_call_out(words, units)
    assert any(why in one for one in found.why), found.why


BOXES: list[tuple[str, str, str]] = [
    ("depth", "thro'", "through"),
    ("depth", "Right through", "through"),
    ("depth", "3/8 deep", "3/8"),
    ("depth", "3/8", "3/8"),
    ("depth", "1/2 full thread", "1/2"),
    ("depth", "to 1/4 dp", "1/4"),
    ("circle.diameter", "1 1/4 P.C.D.", "1 1/4"),
    ("circle.diameter", "PCD 1.125", "1.125"),
    ("circle.diameter", "on a 1 1/4 pitch circle", "1 1/4"),
    ("circle.start", "45 deg", "45"),
    ("circle.start", "first at 22.5°", "22.5"),
    ("circle.start", "45", "45"),
    ("circle.start", "22°30'", "22°30'"),
    ("circle.count", "4 holes", "4"),
    ("circle.count", "four off", "4"),
    ("circle.count", "many", "many"),
    ("row.start", "[8, 8]", "[8, 8]"),
    ("counterbore.diameter", "dia 5/16", "5/16"),
    ("counterbore.diameter", "Ø5/16", "5/16"),
    ("counterbore.diameter", "c'bore 5/16 dia.", "5/16"),
    ("counterbore.depth", "x 3/16 deep", "3/16"),
    ("countersink.angle", "90 deg incl.", "90"),
    ("spotface.diameter", "s'face 1/2 dia", "1/2"),
    ("drill", "No. 27 drill", "No. 27"),
    ("drill", "drill #7", "#7"),
    ("drill", "F", "letter F"),
    ("drill", "5/16 dia", "5/16"),
    ("drill", "0,375", "0,375"),
    ("drill", "1/", "1/"),
    ("ream", "ream 1/2", "1/2"),
    ("bore", "1/2 bore", "1/2"),
    ("tap", "tap 4BA", "4BA"),
    ("tap", "2 B.A.", "2BA"),
    ("tap", "tap 2B", "tap 2B"),
    ("tap", "M3 and", "M3 and"),
    ("drill", "drill 5 x", "drill 5 x"),
    ("clear", "2BA clear", "2BA"),
    ("clear", "clearance for M4", "M4"),
    ("face", "in the front", "front"),
    ("face", "L.H. end", "left"),
    ("face", "underside", "bottom"),
    ("face", "somewhere", "somewhere"),
    ("pin", "press fit", "press"),
    ("pin", "sliding", "slide"),
    ("pin", "running fit", "pivot"),
    ("clearance", "easy", "loose"),
    ("at.left", "3/8 in from left edge", "3/8"),
    ("at.bottom", "5/8 up", "5/8"),
    ("at.left", "1 1/4", "1 1/4"),
    ("at.left", "3/8 in", "3/8 in"),
    ("at.left", "-3/8", "-3/8"),
    ("tolerance", "+/- 0.005", "0.005"),
    ("size.0", "2 1/2 long", "2 1/2"),
    ("diameter", '1 3/4" dia', '1 3/4"'),
    ("note", "drill 3/8 after fitting", "drill 3/8 after fitting"),
    ("name", "1 dia", "1 dia"),
]


@pytest.mark.parametrize(("key", "typed", "wanted"), BOXES)
def test_a_box_takes_the_words_round_its_figure(key: str, typed: str, wanted: str) -> None:
    assert in_box(key, typed, "inch") == wanted
    assert in_box(key, wanted, "inch") == wanted


def test_a_box_leaves_what_may_be_inches_in_a_millimetre_plan() -> None:
    assert in_box("at.left", "10 in from left", "mm") == "10 in from left"
    assert in_box("at.left", "10 from left", "mm") == "10"


@pytest.mark.parametrize(
    ("key", "typed", "wanted"),
    [
        ("counterbore.diameter", "c'bore 5/16 x 3/16 deep",
         {"counterbore.diameter": "5/16", "counterbore.depth": "3/16"}),
        ("counterbore", "5/16 x 3/16 deep",
         {"counterbore.diameter": "5/16", "counterbore.depth": "3/16"}),
        ("counterbore", "for M4 cap head", {"counterbore": "M4 cap head"}),
        ("countersink.diameter", "3/16 x 90 deg",
         {"countersink.diameter": "3/16", "countersink.angle": "90"}),
        ("ream", "1/2 H7", {"ream": "1/2", "fit": "H7"}),
        ("tap", "4BA x 3/8 deep", {"tap": "4BA", "depth": "3/8"}),
        ("drill", "No. 27 thro'", {"drill": "No. 27", "depth": "through"}),
        ("circle.diameter", "4 on 1 1/4 P.C.D. at 45 deg",
         {"circle.count": "4", "circle.diameter": "1 1/4", "circle.start": "45"}),
        ("drill", "No. 27", {"drill": "No. 27"}),
        ("drill", "1/8 and polish", {"drill": "1/8 and polish"}),
        ("far.countersink.diameter", "3/16 x 90 deg",
         {"far.countersink.diameter": "3/16", "far.countersink.angle": "90"}),
    ],
)  # fmt: skip
def test_one_box_may_be_given_what_belongs_in_several(
    key: str, typed: str, wanted: dict[str, str]
) -> None:
    assert in_boxes(key, typed, "inch") == wanted


PIECES = [
    *sorted({piece for words, *_ in CASES for piece in words.split()}),
    *("(1/2, 1/4)", "into A", "1/0", "-1", "1e9", "9" * 20, "é", "ß", "İ", "\n", "\x00", "\x01"),
    *("'", '"', "[", "{", "clockwise", "0", "#", "1 1/4 1 1/4"),
]


def test_nothing_raises_and_nothing_is_lost() -> None:
    """Words by chance: what is left lies in the words, in order, each with its sentence; and every
    letter and figure is either left or taken."""
    chance = random.Random(7)
    for _ in range(1500):
        glue = chance.choice([" ", " ", ""])
        words = glue.join(chance.choice(PIECES) for _ in range(chance.randint(0, 12)))
        units: Units = chance.choice(["mm", "inch"])
        found = read_call_out(words, units, chance.choice(["top", "left", "front"]))
        ends = [0, *(place for span in found.left for place in span), len(words)]
        assert ends == sorted(ends), (words, found.left)
        assert len(found.why) == len(found.left) and all(found.why)
        if not found.values and not found.count and not found.left:
            assert not any(letter.isdigit() for letter in words), words
        key = chance.choice(BOXES)[0]
        in_box(key, words, units)
        in_boxes(key, words, units)


LIKELY: list[tuple[str, Units, SizeKind, list[str]]] = [
    ("No. 2", "inch", "drill", ["No. 2", "No. 20", "No. 21"]),
    ("27", "inch", "drill", ["No. 27"]),
    ("5/1", "inch", "drill", ["5/16"]),
    (".31", "inch", "drill", ["5/16", "letter O", "letter N"]),  # 0.3125, 0.316, 0.302 in
    ("f", "inch", "drill", ["letter F"]),
    ("5.13", "mm", "drill", ["5.15", "5.1", "5.2"]),
    ("1/4", "mm", "drill", ["1/4 in"]),
    ("3/16", "inch", "ream", ["3/16"]),
    ("4b", "inch", "tap", ["4BA"]),
    ("2", "inch", "tap", ["2BA", "#2-56 UNC"]),
    ("m4", "mm", "tap", ["M4"]),
    ("8", "inch", "clear", ["8BA"]),
    ("", "inch", "drill", []),
    ("?", "inch", "drill", []),
    ("9" * 99, "mm", "tap", []),
]


@pytest.mark.parametrize(("typed", "units", "kind", "first"), LIKELY)
def test_sizes_that_are_about_to_be_typed(
    typed: str, units: Units, kind: SizeKind, first: list[str]
) -> None:
    found = sizes_like(typed, units, kind=kind)
    assert found[: len(first)] == first
    assert bool(found) == bool(first) and len(found) <= 8


def test_the_drawer_comes_first() -> None:
    shop = read_shop("inch")
    assert sizes_like("", "inch", shop, "ream")[0] == "3/32"
    owned = {tap.words for tap in shop.cabinet.taps}
    assert set(sizes_like("#", "inch", shop, "tap")[:4]) <= owned
    assert sizes_like("1/", "inch", shop)[:2] == ["1/16", "1/8"]


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_each_size_offered_reads_back_to_itself(units: Units) -> None:
    offered = {
        kind: {size for typed in "1234567890fm#./" for size in sizes_like(typed, units, None, kind)}
        for kind in get_args(SizeKind)
    }
    assert min(map(len, offered.values())) > 8
    for size in offered["drill"] | offered["ream"]:
        assert read_drill(size, units).diameter_mm > 0.1
    for size in offered["tap"]:
        assert read_thread(size).designation == size
    for size in offered["clear"]:
        assert read_clear(size, units)


def test_a_long_call_out_is_left_whole() -> None:
    words = "drill 1/8, " * 1000
    assert read_call_out(words, "inch").left == ((0, len(words)),)
