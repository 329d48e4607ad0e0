"""Figures that look like the other unit, and those that must be left alone."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import checked, part_text, shop_of

from millprep.base.findings import Finding
from millprep.checks.other_unit import SecondReading, other_unit, second_reading
from millprep.checks.registry import Job
from millprep.infiles import read_part
from millprep.infiles.part_schema import HoleTable, StockTable
from millprep.infiles.stated import _kinds
from millprep.model.part import StatedLength
from millprep.planning import make_plan

ROOT = Path(__file__).parent.parent
EXAMPLES = [
    *sorted((ROOT / "parts").glob("*.toml")),
    *sorted((ROOT / "tests" / "parts" / "valid").glob("*.toml")),
    *sorted((ROOT / "millprep" / "infiles" / "starters").glob("part-*.toml")),
]
EXAMPLES = [path for path in EXAMPLES if "assembly" not in tomllib.loads(path.read_text())]
LONGEST_MM = 100.0


def reading(text: str, units: str, key: str = "at") -> SecondReading | None:
    length_mm = float(text) * (25.4 if units == "inch" else 1.0)
    figure = StatedLength(("hole", 0, key), 1, text, units, False, length_mm)  # type: ignore[arg-type]
    return second_reading(figure, LONGEST_MM)


def said(holes: str, folder: Path, **more: str) -> list[Finding]:
    path = folder / "trial.toml"
    path.write_text(part_text(holes, **more))
    return list(other_unit(Job(make_plan(read_part(path)[0], shop_of(), "tool"))))


# ------------------------------------------------------------------ single figures


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.397", "1/64 in"),
        ("0.794", "1/32 in"),
        ("1.588", "1/16 in"),
        ("3.175", "1/8 in"),
        ("5.556", "7/32 in"),
        ("7.938", "5/16 in"),
        ("9.525", "3/8 in"),
        ("11.112", "7/16 in"),
        ("11.1125", "7/16 in"),
        ("14.684", "37/64 in"),
        ("20.638", "13/16 in"),
        ("25.003", "63/64 in"),
        ("25.4", "1 in"),
        ("28.575", "1 1/8 in"),
    ],
)
def test_decimal_equivalents_in_mm(text, words):
    """Fractions of an inch in mm, from memory of the usual decimal equivalent table, to 0.001."""
    found = reading(text, "mm")
    assert found is not None
    assert (found.words, found.is_misread, found.is_likely) == (words, False, True)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0.0394", "1 mm"),
        ("0.0787", "2 mm"),
        ("0.1378", "3.5 mm"),
        ("0.2362", "6 mm"),
        ("0.3937", "10 mm"),
        ("0.4724", "12 mm"),
        ("0.6299", "16 mm"),
        ("0.9843", "25 mm"),
        ("1.9685", "50 mm"),
    ],
)
def test_millimetres_in_inches(text, words):
    """Whole and half millimetres in inches, from memory of the usual table, to 0.0001."""
    found = reading(text, "inch")
    assert found is not None
    assert (found.words, found.is_misread, found.is_likely) == (words, False, True)


@pytest.mark.parametrize(
    ("text", "units", "key", "words"),
    [
        ("0.375", "mm", "depth", "3/8 in (9.525 mm)"),
        ("0.8125", "mm", "at", "13/16 in (20.6375 mm)"),
        ("1.125", "mm", "at", "1 1/8 in (28.575 mm)"),
        ("0.5", "mm", "ream", "1/2 in (12.7 mm)"),
        ("0.25", "mm", "drill", "1/4 in (6.35 mm)"),
        ("8", "inch", "depth", "8 mm (0.314961 in)"),
        ("12.5", "inch", "depth", "12.5 mm (0.492126 in)"),
    ],
)
def test_the_figure_itself_is_of_the_other_unit(text, units, key, words):
    found = reading(text, units, key)
    assert found is not None
    assert (found.words, found.is_misread) == (words, True)


@pytest.mark.parametrize(
    ("text", "units", "key"),
    [
        ("0", "mm", "at"),
        ("6", "mm", "ream"),
        ("6.0", "mm", "ream"),
        ("12.5", "mm", "at"),
        ("63.5", "mm", "at"),  # 2 1/2 in as well, and a common metric figure
        ("4.8", "mm", "at"),
        ("19.1", "mm", "at"),
        ("31.4", "mm", "at"),
        ("14.283", "mm", "at"),
        ("0.5", "mm", "depth"),
        ("0.25", "mm", "at"),
        ("2.5", "mm", "drill"),
        ("7.125", "mm", "at"),  # 7 1/8 in would be longer than the part
        ("0.5", "inch", "at"),
        ("0.25", "inch", "drill"),
        ("0.201", "inch", "drill"),  # a #7
        ("0.172", "inch", "at"),
        ("0.1719", "inch", "at"),
        ("0.59375", "inch", "at"),
        ("0.315", "inch", "at"),
        ("1.3", "inch", "at"),
        ("3", "inch", "at"),
    ],
)
def test_figures_of_their_own_unit(text, units, key):
    assert reading(text, units, key) is None


@given(st.integers(1, 2000))
def test_tenths_of_a_millimetre_are_metric(tenths):
    """Unless they are half inches to the last figure: 12.7, 25.4 and so on."""
    found = reading(f"{tenths / 10:.1f}", "mm")
    assert (found is None) == (tenths % 127 != 0 or tenths % 5 == 0)


@given(st.integers(1, 400))
def test_hundredths_of_an_inch_are_inches(hundredths):
    found = reading(f"{hundredths / 100:.2f}", "inch")
    assert found is None or found.is_misread


@given(st.integers(1, 64 * 6), st.integers(3, 5))
@settings(max_examples=60)
def test_every_64th_is_known_again(parts, decimals):
    """Rounded to three decimals or more, unless it is a round metric size too."""
    text = f"{parts * 25.4 / 64:.{decimals}f}"
    found = reading(text, "mm")
    is_round = float(text) * 2 == int(float(text) * 2)
    assert is_round or (found is not None and not found.is_misread), text


# ------------------------------------------------------------------ whole files


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_examples_are_not_doubted(path):
    assert not list(other_unit(Job(make_plan(read_part(path)[0], shop_of(), "tool"))))


PIVOT = '[[hole]]\nname = "pivot"\nream = {}\nat = [{}, {}]\ndepth = "through"\n'


def test_sentences(tmp_path):
    exact, near, harm = said(PIVOT.format("6.35", "9.53", "1.375"), tmp_path)
    assert str(exact) == (
        f'{tmp_path}/trial.toml:12: note: hole 1 "pivot": ream = 6.35 is 1/4 in exactly\n'
        '    write "1/4 in" if the drawing says so, and "6.35 mm" if it says that'
    )
    assert near.message == 'hole 1 "pivot": at[1] = 9.53 is read as 9.53 mm; 3/8 in is 9.525 mm'
    assert (near.key, near.holes) == ("hole[1].at[1]", ("pivot",))
    assert str(harm) == (
        f'{tmp_path}/trial.toml:13: warning: hole 1 "pivot": at[2] = 1.375 is read as 1.375 mm; '
        "as inches it is 1 3/8 in (34.925 mm)\n"
        '    write "1 3/8 in" if the drawing says so, and "1.375 mm" if it says that'
    )


def test_an_inch_file(tmp_path):
    stock = "size = [2, 1.5, 0.75]"
    (note,) = said(PIVOT.format('"1/4"', "0.7874", "0.75"), tmp_path, stock=stock, units="inch")
    assert note.message == (
        'hole 1 "pivot": at[1] = 0.7874 is read as 0.7874 in; 20 mm is 0.787402 in'
    )
    assert note.remedy == 'write "20 mm" if the drawing says so, and "0.7874 in" if it says that'


@pytest.mark.parametrize("answer", ['"6.35 mm"', '"1/4 in"', '"0.25 in"'])
def test_a_length_with_its_unit_is_the_answer(answer, tmp_path):
    assert not said(PIVOT.format(answer, '"9.53 mm"', '"1.375 mm"'), tmp_path)


def test_meant(tmp_path):
    path = tmp_path / "trial.toml"
    path.write_text(part_text(PIVOT.format("6", "20", "1.375") + 'allow = ["other unit"]\n'))
    found = checked(make_plan(read_part(path)[0], shop_of(), "tool"))
    meant = [each for each in found if each.kind == "other-unit"]
    assert [(each.severity, each.remedy) for each in meant] == [("note", "")]


def test_figures_that_are_no_dimensions_are_left_alone(tmp_path):
    more = "tolerance = 0.125\npeck = [6.35, 3.175]\nbreakthrough = 1.588\nlimits = [0, 0.0625]\n"
    stock = "size = [60, 40, 20]\nmeasured = { y = 39.688 }"
    vice = "[[setup]]\nvice = { grip = 6.35 }\n"
    assert not said(PIVOT.format("6", "20", "15") + more + vice, tmp_path, stock=stock)


def test_weak_likenesses_count_where_there_are_many(tmp_path):
    """2 decimals near an odd 32nd or 64th: 5.56 is 7/32 in, 17.07 is 43/64 in."""
    points = "[[hole]]\ndrill = 3\ndepth = 5\nat = [{}]\n"
    assert not said(points.format("[10.11, 5.56], [20.13, 11.37], [30.23, 8.41]"), tmp_path)
    found = said(points.format("[17.07, 5.56], [26.59, 5.56]"), tmp_path)
    assert [each.message.split(" = ")[1].split()[0] for each in found] == ["17.07", "5.56", "26.59"]
    assert [each.count for each in found] == [1, 2, 1]


def test_a_drawing_converted_as_a_whole_is_told_in_a_few_notes(tmp_path):
    holes = PIVOT.format("6.35", "12.7", "9.525") + (
        "[[hole]]\ndrill = 4.7625\ndepth = 11.1125\nat = [25.4, 15.875]\n"
        "[[hole]]\ndrill = 3\ndepth = 0.375\nat = [50.8, 20]\n"
    )
    found = said(holes, tmp_path)
    assert [each.severity for each in found] == ["note"] * 4 + ["warning", "note"]
    assert (found[-1].message, found[-1].remedy) == (
        "4 more figures look like inches, converted",
        'if the drawing is in inches, write units = "inch" and the figures as it has them',
    )


# ------------------------------------------------------------------ the file's own text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: f"{path.parent.name}-{path.stem}")
def test_stated_lengths_stand_in_the_file_where_they_say(path):
    part, _ = read_part(path)
    source = Path(part.original_path or path)
    lines, data = source.read_text().split("\n"), tomllib.loads(source.read_text())
    assert part.stated
    for stated in part.stated:
        value = data
        for key in stated.path:
            value = value[key]
        assert str(value).strip() == stated.text or float(value) == float(stated.text)
        assert stated.line is not None
        below = "\n".join(lines[stated.line - 1 :])
        assert stated.text in below


def test_text_is_kept_as_written(tmp_path):
    path = tmp_path / "trial.toml"
    path.write_text(part_text(PIVOT.format("6.350", '"12.70"', '"1 1/8 in"')))
    texts = {each.path[2:]: each for each in read_part(path)[0].stated if each.path[0] == "hole"}
    assert texts["ream",].text == "6.350"
    assert (texts["at", 0].text, texts["at", 0].says_unit) == ("12.70", False)
    fraction = texts["at", 1]
    assert (fraction.text, fraction.units, fraction.says_unit) == ("1 1/8 in", "inch", True)
    assert fraction.length_mm == 28.575


def test_every_key_that_holds_lengths_is_among_them():
    """By hand from the reference, so that a reader left out is seen."""
    lengths = {key for key, kind in _kinds(HoleTable).items() if kind == "length"}
    assert lengths == {
        "drill",
        "ream",
        "bore",
        "diameter",
        "pitch",
        "limits",
        "depth",
        "drill_depth",
        "at",
        "chain",
        "tolerance",
        "position",
        "drills",
        "peck",
        "breakthrough",
    }
    tables = {key for key, kind in _kinds(HoleTable).items() if isinstance(kind, type)}
    assert tables >= {
        "counterbore",
        "countersink",
        "spotface",
        "opened",
        "far",
        "circle",
        "arc",
        "row",
        "grid",
        "corners",
        "polar",
    }
    stock = {key for key, kind in _kinds(StockTable).items() if kind == "length"}
    assert stock == {"size", "diameter", "length", "bore"}
