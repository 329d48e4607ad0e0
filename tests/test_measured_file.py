"""Files of measured holes: what is read, and every fault with its line, all at once."""

from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millprep.base.findings import Finding, MillprepError
from millprep.infiles import read_part
from millprep.infiles.measured_file import read_measured
from millprep.matching.measured_places import nominal_readings, placed_holes, setup_measured
from millprep.model.measured import Measured, MeasuredHole
from millprep.model.part import Part

PLATE = """
part = "Plate"
units = "{units}"
material = "mild steel"
[stock]
size = [80, 50, 10]
[datum]
x = "left"
y = "front"
[[hole]]
name = "corner"
clear = "M5"
depth = "through"
at = [[10, 8], [50, 8], [50, 40]]
[[hole]]
name = "1/2, pivot"
ream = "6 mm"
depth = "through"
at = [30, 25]
[[hole]]
name = "side"
face = "front"
tap = "M4"
depth = 8
at = [20, 5]
"""


def plate(folder: Path, units: str = "mm") -> Part:
    (folder / "plate.toml").write_text(PLATE.replace("{units}", units))
    part, _ = read_part(folder / "plate.toml")
    return part


def read(folder: Path, text: str | bytes, units: str = "mm") -> Measured:
    part = plate(folder, units)
    path = folder / "measured.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_measured(path, part, nominal_readings(part))


def faults(folder: Path, text: str | bytes) -> list[Finding]:
    with pytest.raises(MillprepError) as caught:
        read(folder, text)
    assert all(one.severity == "stop" for one in caught.value.findings)
    assert all(one.file == str(folder / "measured.csv") for one in caught.value.findings)
    return list(caught.value.findings)


def test_a_file_as_a_person_writes_it(tmp_path: Path) -> None:
    measured = read(
        tmp_path,
        "\n# plate 1, calliper\n Hole , X , y, Diameter, unit, note\n"
        'CORNER  1, 10.02,7.98 ,5.5,,ok\n,,,,,\n"1/2, pivot", 1.18 in, 25 mm, , ,\n'
        "corner 2, 1.97, 0.31, , inch, in inches\ncorner 3,,,5.6,,\n",
    )
    assert measured.holes == (
        MeasuredHole("corner 1", 10.02, 7.98, 5.5, 4),
        MeasuredHole("1/2, pivot", pytest.approx(29.972), 25.0, None, 6),
        MeasuredHole("corner 2", pytest.approx(50.038), pytest.approx(7.874), None, 7, True),
        MeasuredHole("corner 3", None, None, 5.6, 8),
    )
    assert [one.has_place for one in measured.holes] == [True, True, True, False]
    assert measured.named("corner 3") == measured.holes[3]
    assert measured.named("side") is None


@pytest.mark.parametrize(
    "text",
    [
        b"\xef\xbb\xbfhole,x,y\r\ncorner 1,10.05,8.5\r\n",
        b"hole;x;y\ncorner 1;10,05;8,5\n",
        b"hole;x;y\ncorner 1;10.05;8.5\n",
        b"hole\tx\ty\ncorner 1\t10,05\t8,5\n",
        b"y,hole,x\n8.5,corner 1,10.05\n",
        b"hole,x,y,,\ncorner 1,10.05,8.5,,\n",
        b"hole,x,y\rcorner 1,10.05,8.5\r",
        b'"hole","x","y"\n"corner 1","10.05","8.5"',
        b"hole,x,y\ncorner 1,1.005e1,+8.5\n",
        b"hole,x,y,unit\ncorner 1,10.05 mm,8.5 mm,inch\n",
    ],
)
def test_however_it_is_stored_it_is_the_same(tmp_path: Path, text: bytes) -> None:
    (one,) = read(tmp_path, text).holes
    assert (one.hole, one.x_mm, one.y_mm) == ("corner 1", 10.05, 8.5)


def test_plain_figures_are_in_the_units_of_the_part(tmp_path: Path) -> None:
    part_in_inches = PLATE.replace("[80, 50, 10]", "[3, 2, 0.5]").replace(
        "[[10, 8], [50, 8], [50, 40]]", "[[0.5, 0.25], [2, 0.25], [2, 1.5]]"
    )
    (tmp_path / "plate.toml").write_text(
        part_in_inches.replace("{units}", "inch")
        .replace("[30, 25]", "[1, 1]")
        .replace("[20, 5]", "[1, 0.25]")
        .replace("depth = 8", "depth = 0.3")
    )
    part, _ = read_part(tmp_path / "plate.toml")
    (tmp_path / "m.csv").write_text('hole,x,y\ncorner 1,1/2,"1/4 in"\ncorner 2,50.8 mm,.25\n')
    measured = read_measured(tmp_path / "m.csv", part, nominal_readings(part))
    assert [(one.x_mm, one.y_mm) for one in measured.holes] == [(12.7, 6.35), (50.8, 6.35)]


def test_every_fault_is_told_at_once_with_its_line(tmp_path: Path) -> None:
    found = faults(
        tmp_path,
        "hole,x,y,diameter,unit\n"
        "corner 1,ten,8,,\n"
        "corner 2,50,8,,\n"
        "corner 2,50,8,,\n"
        "cornr 3,50,40,,\n"
        "corner 3,50,40\n"
        "corner 3,nan,inf,-5,furlong\n"
        ",1,2,,\n"
        '"corner 3,1,2,,\n'
        "corner 3,12,5,8,5,,\n",
    )
    assert [(one.line, one.kind) for one in found] == [
        (2, "bad-value"),
        (4, "duplicate-name"),
        (5, "unknown-word"),
        (6, "bad-row"),
        (7, "unknown-word"),
        (7, "bad-value"),
        (7, "bad-value"),
        (7, "bad-value"),
        (8, "missing-key"),
        (9, "bad-row"),
        (10, "bad-row"),
    ]
    words = [one.message for one in found]
    assert words[0] == 'corner 1: x: "ten" is not a length'
    assert words[1] == "corner 2 is there a second time; line 3 has it already"
    assert words[2] == 'the part has no hole "cornr 3"'
    assert found[2].remedy.startswith('did you mean "corner 3"? its holes: corner 1, ')
    assert words[3] == "3 columns, and the header names 5"


@pytest.mark.parametrize(
    ("text", "message", "remedy"),
    [
        ("", "the file holds no lines", "its first line is hole,x,y"),
        ("\n# only words\n,,,\n", "the file holds no lines", "its first line is hole,x,y"),
        ("hole,x,y\n", "no hole is given", "below the header goes a line a hole"),
        (
            "hole,x\ncorner 1,10\n",
            'the header lacks the column "y"',
            "write hole,x,y, and where wanted diameter, unit, setup, note, piece",
        ),
        (
            "corner 1,10,8\n",
            "the first line should be hole,x,y; found corner 1,10,8",
            "write hole,x,y, and where wanted diameter, unit, setup, note, piece",
        ),
        (
            "a;b\n1;2\n",
            "the first line should be hole;x;y; found a;b",
            "write hole,x,y, and where wanted diameter, unit, setup, note, piece",
        ),
        (
            "hole,x,y,diametr\ncorner 1,10,8,5\n",
            'no column is called "diametr"',
            'did you mean "diameter"? write hole,x,y, and where wanted diameter, unit, setup, '
            "note, piece",
        ),
        ("hole,x,x,y\ncorner 1,10,8,5\n", 'the column "x" is there twice', "leave one of them"),
        (
            "hole,x,y\ncorner 1,10,02,-8,01\n",
            "5 columns, and the header names 3",
            "write decimals with a point, or put semicolons between the columns of all lines",
        ),
        (
            "hole,x,y\ncorner 1,10,02,8,01\n",
            "5 columns, and the header names 3",
            "write decimals with a point, or put semicolons between the columns of all lines",
        ),
        (
            "hole,x,y\ncorner 1;10,02;8\n",
            "2 columns, and the header names 3",
            "this table has its columns between commas: keep to one mark",
        ),
        (
            'hole,x,y\ncorner 1,"10,02",8\n',
            'corner 1: x: "10,02" is not a length',
            'write the decimal with a point: "10.02"',
        ),
        (
            "hole,x,y\ncorner 1,1/2,8\n",
            'corner 1: x: "1/2" is a bare fraction in a mm file',
            'write "1/2 in"',
        ),
        (
            "hole,x,y,\ncorner 1,10,8,7\n",
            '"7" is in a column without a name',
            "name the column, or leave it empty",
        ),
    ],
)
def test_each_fault_says_what_to_do(tmp_path: Path, text: str, message: str, remedy: str) -> None:
    first = faults(tmp_path, text)[0]
    assert (first.message, first.remedy) == (message, remedy)


def test_a_slip_of_the_unit_is_told_with_both_readings(tmp_path: Path) -> None:
    found = faults(tmp_path, "hole,x,y\ncorner 1,10.03,8.0\ncorner 2,1.969,0.315\n")
    assert [(one.line, one.kind, one.holes) for one in found] == [
        (3, "units-suspect", ("corner 2",))
    ]
    assert found[0].message == (
        "corner 2: x 1.969 and y 0.315: x is read as 1.969 mm (0.0775 in), but times 25.4 it is "
        "50.013 mm (1.9690 in), and x as drawn is 50.000 mm (1.9685 in)"
    )


def test_a_whole_file_in_the_other_unit_and_one_figure_and_a_diameter(tmp_path: Path) -> None:
    whole = faults(tmp_path, "hole,x,y\ncorner 1,0.394,0.315\ncorner 2,1.969,0.315\n")
    assert [one.line for one in whole] == [2, 3]
    assert {one.remedy for one in whole} == {
        "write mm or inch into the column unit of every line, or behind each figure"
    }
    one_figure = faults(tmp_path, "hole,x,y\ncorner 1,10,8\ncorner 3,50.1,1.575\n")
    assert one_figure[0].message.startswith("corner 3: y 1.575: y is read as 1.575 mm")
    too_large = faults(tmp_path, "hole,x,y,unit\ncorner 1,10,8,mm\ncorner 3,50.1,40,inch\n")
    assert "divided by 25.4" in too_large[0].message
    wide = faults(tmp_path, "hole,x,y,diameter\ncorner 1,10,8,0.2165\n")
    assert wide[0].message == (
        "corner 1: diameter 0.2165: diameter is read as 0.216 mm (0.0085 in), but times 25.4 it is "
        "5.499 mm (0.2165 in), and diameter as drawn is 5.500 mm (0.2165 in)"
    )


def test_the_finder_s_radius_beside_nought_is_no_slip_of_a_unit(tmp_path: Path) -> None:
    """All along a centre line at X 0, and 2.5 mm is also 25.4 times 0.1."""
    part = plate(tmp_path)
    nominal = {"corner 1": (0.0, 8.0), "corner 2": (0.0, 40.0)}
    path = tmp_path / "measured.csv"
    path.write_text("hole,x,y\ncorner 1,2.5,8\ncorner 2,2.51,40.02\n")
    assert len(read_measured(path, part, nominal).holes) == 2


def test_a_slip_is_told_by_the_figure_that_shows_it_best(tmp_path: Path) -> None:
    part = plate(tmp_path, "inch")
    path = tmp_path / "measured.csv"
    path.write_text("hole,x,y,unit\ncorner 1,0.1,8,inch\n")
    with pytest.raises(MillprepError) as caught:
        read_measured(path, part, {"corner 1": (0.0, 8.0)})
    (found,) = caught.value.findings
    assert "y is read as 203.200 mm" in found.message
    assert found.remedy == "this line says inch: write the other unit, or measure the hole again"


def test_a_part_measured_from_another_zero_is_no_slip_of_a_unit(tmp_path: Path) -> None:
    """Shifted so that one hole happens to lie 25.4 times as far out as it is drawn."""
    text = f"hole,x,y\ncorner 1,254,8\ncorner 2,294,8\ncorner 3,{294},40\n"
    assert len(read(tmp_path, text).holes) == 3


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"hole,x,y\n\xff\xfe,1,2\n", "the file is not UTF-8 text (byte 10)"),
        (b"hole,x,y\ncorner 1,\x00,2\n", "the file is not text (it holds zero bytes)"),
        ("hole,x,y\n".encode("utf-16"), "the file is not UTF-8 text (byte 1)"),
    ],
)
def test_what_is_no_text_is_refused(tmp_path: Path, content: bytes, message: str) -> None:
    assert faults(tmp_path, content)[0].message == message


def test_no_file_a_folder_and_a_huge_file(tmp_path: Path) -> None:
    part = plate(tmp_path)
    (tmp_path / "first-plate.csv").write_text("hole,x,y\n")
    with pytest.raises(
        MillprepError, match=r"does not exist\n    did you mean .*/first-plate\.csv"
    ):
        read_measured(tmp_path / "plate.csv", part)
    with pytest.raises(MillprepError, match="the file is a folder"):
        read_measured(tmp_path, part)
    with (tmp_path / "huge.csv").open("wb") as stream:
        stream.truncate(8_000_001)
    with pytest.raises(MillprepError, match="larger than 8 MB"):
        read_measured(tmp_path / "huge.csv", part)


def test_of_very_many_faults_the_rest_are_counted(tmp_path: Path) -> None:
    found = faults(tmp_path, "hole,x,y\n" + "nobody,1,2\n" * 5000)
    assert len(found) == 201
    assert (found[-1].kind, found[-1].message) == (
        "many-findings",
        "4800 more faults of this file are not told",
    )


def test_the_setup_is_that_of_the_face(tmp_path: Path) -> None:
    part = plate(tmp_path)
    top = read(tmp_path, "hole,x,y\ncorner 1,10,8\n")
    assert setup_measured(part, top, None).face == "top"
    both = read(tmp_path, "hole,x,y\ncorner 1,10,8\nside,20,5\n")
    with pytest.raises(MillprepError) as caught:
        setup_measured(part, both, None)
    assert str(caught.value).splitlines() == [
        f"{tmp_path / 'measured.csv'}: stop: the holes lie in 2 faces, and readings count from one "
        "zero: TOP (setup 1: corner 1), FRONT (setup 2: side)",
        "    measure and match one face at a time, or name the setup: --setup 1 or --setup 2",
    ]
    setup = setup_measured(part, both, 2)
    places, (note,) = placed_holes(part, both, setup, ())
    assert list(places) == ["side"]
    assert note.message == "not of setup 2, FRONT up, and left out: corner 1"
    with pytest.raises(MillprepError, match="there is no setup 3"):
        setup_measured(part, both, 3)
    with pytest.raises(MillprepError, match="none of the holes can be read in setup 2"):
        setup_measured(part, top, 2)


def test_readings_of_a_reversed_axis_are_turned_back(tmp_path: Path) -> None:
    part = plate(tmp_path)
    assert nominal_readings(part, ("y",))["corner 3"] == (50.0, -40.0)
    measured = read_measured_of(tmp_path, part, "corner 3,50.1,-39.9\n")
    places, notes = placed_holes(part, measured, setup_measured(part, measured, None), ("y",))
    assert (places, notes) == ({"corner 3": (50.1, 39.9)}, [])


def read_measured_of(folder: Path, part: Part, rows: str) -> Measured:
    (folder / "m.csv").write_text("hole,x,y\n" + rows)
    return read_measured(folder / "m.csv", part)


def test_half_a_place_and_no_place_are_refused(tmp_path: Path) -> None:
    part = plate(tmp_path)
    half = read_measured_of(tmp_path, part, "corner 1,10,8\ncorner 2,,8\n")
    setup = setup_measured(part, half, None)
    with pytest.raises(MillprepError, match=r"m\.csv:3: stop: corner 2: x is not given"):
        placed_holes(part, half, setup, ())
    none = read_measured_of(tmp_path, part, "corner 1,,\n")
    with pytest.raises(MillprepError, match="no hole has its place"):
        placed_holes(part, none, setup, ())


_PIECES = st.sampled_from([
    "hole", "x", "y", "diameter", "unit", "corner 1", "corner 2", "side", "1/2, pivot", ",", ";",
    "\t", "\n", "\r\n", '"', "#", "10", "8,5", "1e5", "1e99", "-", ".", "½ in", "mm", "nan", " ",
    "\x0b", "\u2028", "٣", "−3", "1/0", "9" * 50,
])  # fmt: skip


@settings(max_examples=120)
@given(st.lists(_PIECES, max_size=40).map("".join), st.booleans())
def test_whatever_is_in_the_file_is_read_or_told(text: str, has_header: bool) -> None:
    with TemporaryDirectory() as folder:
        part = plate(Path(folder))
        path = Path(folder) / "m.csv"
        path.write_text(f"hole,x,y,diameter,unit\n{text}" if has_header else text, encoding="utf-8")
        try:
            measured = read_measured(path, part, nominal_readings(part))
        except MillprepError as error:
            assert error.findings
        else:
            assert measured.holes
