"""Files that cannot be read, lines of keys, and text that is no part at all."""

import os
import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from millprep.base.findings import Finding, MillprepError
from millprep.base.kinds import KINDS
from millprep.infiles import read_part, read_shop, starter
from millprep.infiles.positions import Layout


def refusal(path):
    with pytest.raises(MillprepError) as caught:
        read_part(path)
    (finding,) = caught.value.findings
    return finding


def test_missing_file_names_its_neighbours(tmp_path):
    (tmp_path / "left-cheek.toml").write_text("")
    finding = refusal(tmp_path / "left-check.toml")
    assert finding.kind == "unreadable-file"
    assert finding.message == "the file does not exist"
    assert finding.remedy == f"did you mean {tmp_path}/left-cheek.toml?"


def test_folder(tmp_path):
    assert refusal(tmp_path).message == "the file is a folder"


def test_empty_file(tmp_path):
    path = tmp_path / "part.toml"
    path.write_text("\n \n")
    assert refusal(path).message == "the file is empty"


def test_binary_file(tmp_path):
    path = tmp_path / "part.toml"
    path.write_bytes(b"\x7fELF\0\0\1\2")
    assert refusal(path).message == "the file is not text (it holds zero bytes)"


def test_not_utf_8(tmp_path):
    path = tmp_path / "part.toml"
    path.write_bytes('part = "x"\ndrawing = "Ø6"\n'.encode("latin-1"))
    finding = refusal(path)
    assert finding.line == 2
    assert finding.message == "the file is not UTF-8 text (byte 23)"


def test_over_8_mb(tmp_path):
    path = tmp_path / "part.toml"
    with path.open("wb") as file:
        file.truncate(8_000_001)
    assert refusal(path).message == "the file is larger than 8 MB"


def test_name_with_a_zero_byte():
    assert refusal("part\0.toml").kind == "unreadable-file"


def test_a_device_is_no_file():
    assert refusal(os.devnull).message == "the file is not a plain file"


def test_line_of_5_mb(tmp_path):
    path = tmp_path / "part.toml"
    path.write_text('part = ["' + "x" * 5_000_000 + "\n")
    assert refusal(path).kind == "bad-toml"


def test_whole_number_of_thousands_of_figures(tmp_path):
    path = tmp_path / "part.toml"
    path.write_text("general_tolerance = " + "9" * 5000)
    assert refusal(path).message == "a whole number has thousands of figures"
    path.write_text("general_tolerance = 0x" + "f" * 50000)
    assert refusal(path).message.startswith("a whole number of over 19 figures")


def test_byte_order_mark_and_carriage_returns_are_read(tmp_path):
    path = tmp_path / "part.toml"
    path.write_bytes(b"\xef\xbb\xbf" + starter("part", "mm").replace("\n", "\r\n").encode())
    part, _ = read_part(path)
    assert part.holes[0].line == 32


def test_mark_is_of_the_bytes(tmp_path):
    path = tmp_path / "part.toml"
    path.write_text(starter("part", "mm"))
    first, _ = read_part(path)
    path.write_text(starter("part", "mm") + "# changed\n")
    second, _ = read_part(path)
    assert first.mark != second.mark
    assert len(first.mark) == 6


TEXT = '''a = 1
"b c" = { d = 2 }
[t]
e = """
f = 3
"""
g.h = [ # ]
  { i = 4 },
  "]",
]
j = 5
[[u]]
k = 6
[[u.v]]
l = 7
[[u]]
k = 8
[[u.v]]
l = 9
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 1),
        (("b c", "d"), 2),
        (("t",), 3),
        (("t", "e"), 4),
        (("t", "f"), 3),
        (("t", "g", "h"), 7),
        (("t", "g", "h", 0, "i"), 8),
        (("t", "g", "h", 1), 9),
        (("t", "j"), 11),
        (("u", 0), 12),
        (("u", 0, "k"), 13),
        (("u", 0, "v", 0, "l"), 15),
        (("u", 1), 16),
        (("u", 1, "k"), 17),
        (("u", 1, "v", 0, "l"), 19),
        (("u", 1, "missing"), 16),
        ((), None),
        (("none",), None),
    ],
)
def test_positions(path, line):
    assert Layout(TEXT).line(path) == line


SPREAD = """at = [
  [1, 2], [3, 4],  # , [ ] {
  { left = 3,
    back = "x, ]" },
  '''
  several, lines
  ''', [
  7, 8],
]
b = { c = [1,
 2], "d e" = 3 }
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("at",), 1),
        (("at", 0), 2),
        (("at", 1, 1), 2),
        (("at", 2), 3),
        (("at", 2, "left"), 3),
        (("at", 2, "back"), 4),
        (("at", 3), 5),
        (("at", 4), 7),
        (("at", 4, 0), 8),
        (("at", 4, 1), 8),
        (("at", 5), 1),
        (("b", "c", 0), 10),
        (("b", "c", 1), 11),
        (("b", "d e"), 11),
        (("b", "none"), 10),
    ],
)
def test_positions_inside_a_value_over_several_lines(path, line):
    assert Layout(SPREAD, {}).line(path) == line


LIST = """part = "p"
units = "mm"
material = "mild steel"
stock = { size = [60, 40, 20] }
[[hole]]
name = "a"
drill = 4
depth = 5
KEY = [
    [10, 10],
    BAD,
    [30, 10],
]
"""


@pytest.mark.parametrize("key", ["at", "chain"])
@pytest.mark.parametrize(
    "bad",
    [
        "[61, 10]",
        "[10, 10, 10]",
        '["x", 10]',
        "{ lft = 10, front = 10 }",
        "{ top = 1, left = 2 }",
        "[{ left = 4, back = 5 }, 7]",
        "[-10000000, 3]",
        "[nan, 3]",
    ],
)
def test_a_fault_in_a_list_names_its_own_line(tmp_path, key, bad):
    path = tmp_path / "part.toml"
    path.write_text(LIST.replace("KEY", key).replace("BAD", bad))
    with pytest.raises(MillprepError) as raised:
        read_part(path)
    (stop,) = [each for each in raised.value.findings if each.severity == "stop"]
    assert stop.line == 11, stop


def test_a_fault_in_a_list_of_the_drawer_names_its_own_line(tmp_path):
    path = tmp_path / "shop.toml"
    path.write_text(
        '[drawer]\ndrills = [\n  "3 mm",\n  "3,5 mm",\n  { from = 5, to = 4, step = 1 },\n]\n'
    )
    with pytest.raises(MillprepError) as raised:
        read_shop(str(path))
    assert [each.line for each in raised.value.findings] == [4]
    path.write_text(path.read_text().replace('"3,5 mm"', '"3.5 mm"'))
    with pytest.raises(MillprepError) as raised:
        read_shop(str(path))
    assert [each.line for each in raised.value.findings] == [5]


def one_of_words(text):
    return st.sampled_from(text.split())


WORDS = one_of_words(
    "part units material stock size diameter length axis bore measured datum x y z defaults hole "
    "setup name face drill tap ream clear depth at circle arc row grid corners chain polar from "
    "skip centre radius count start end step columns rows inset angle limits fit pin tolerance "
    "counterbore countersink spotface opened far zero vice parallels obstacle to mill cabinet "
    'drills taps reamers tool number kind control offsets readout dials "mm" "inch" "M4" "1/4 in" '
    '"through" "top" "#7" "M4 socket head" "brass" "left" "centre" "none" true false nan inf -1 0 '
    '3 12.5 60 1e9 0x10 1979-05-27 [ ] { } [[ ]] = , . # """ [stock] [datum] [[hole]] [[setup]] '
    "[[tool]] [mill] [drawer] '"
)
KEYS = one_of_words(
    "drill tap ream clear bore depth at circle arc row grid corners chain polar from skip opened "
    "far fit pin limits drills peck meets allow counterbore countersink spotface name face note "
    "size diameter length axis measured x y z travel spindle resolution jaw offsets cycles"
)
VALUES = st.recursive(
    st.integers(-5, 70).map(str)
    | st.floats(-5, 70, allow_nan=False).map(repr)
    | st.sampled_from(
        re.split(
            r"\|", "M4|1/4 in|through|top|left|H7|press|h|h 1|#7|none|12 mm|½ in|M4 countersunk"
        )
    ).map(lambda words: f'"{words}"')
    | st.just("true"),
    lambda inner: (
        st.lists(inner, max_size=4).map(lambda items: f"[{', '.join(items)}]")
        | st.dictionaries(
            one_of_words(
                "centre diameter radius count start end step columns rows inset angle depth clear "
                "into left right front back top bottom centre_x centre_y x y z from to"
            ),
            inner,
            max_size=4,
        ).map(lambda table: "{ " + ", ".join(f"{k} = {v}" for k, v in table.items()) + " }")
    ),
    max_leaves=8,
)
HEAD = 'part = "p"\nunits = "mm"\nmaterial = "brass"\n[stock]\nsize = [60, 40, 12]\n[datum]\n'


GOOD = [starter(kind, units) for kind in ("part", "shop") for units in ("mm", "inch")]
GOOD += [
    path.read_text() for path in sorted((Path(__file__).parent / "parts/valid").glob("*.toml"))
]


def ends_in_findings(path):
    """Reads the file as a part and as a shop; whatever is wrong with it is a finding."""
    for read in (read_part, read_shop):
        try:
            read(str(path))
        except MillprepError as error:
            assert error.findings
            for finding in error.findings:
                assert isinstance(finding, Finding)
                assert finding.kind in KINDS
                assert finding.message and str(finding)


RELAXED = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)


@RELAXED
@given(content=st.binary(max_size=200))
def test_any_bytes_end_in_findings(tmp_path, content):
    path = tmp_path / "any.toml"
    path.write_bytes(content)
    ends_in_findings(path)


@RELAXED
@given(words=st.lists(st.lists(WORDS, max_size=8).map(" ".join), max_size=12).map("\n".join))
def test_any_words_end_in_findings(tmp_path, words):
    path = tmp_path / "any.toml"
    path.write_text(words)
    ends_in_findings(path)


@RELAXED
@given(data=st.data())
def test_any_slip_of_the_pen_ends_in_findings(tmp_path, data):
    """A good file with a few characters lost, or something else in their place."""
    text = data.draw(st.sampled_from(GOOD))
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, min(len(text), start + 30)))
    put_in = data.draw(WORDS | KEYS | VALUES | st.text(max_size=3))
    path = tmp_path / "any.toml"
    path.write_text(text[:start] + put_in + text[end:])
    ends_in_findings(path)


@RELAXED
@given(holes=st.lists(st.dictionaries(KEYS, VALUES, max_size=6), max_size=4))
def test_any_holes_end_in_findings(tmp_path, holes):
    tables = [
        "[[hole]]\n" + "".join(f"{key} = {value}\n" for key, value in hole.items())
        for hole in holes
    ]
    path = tmp_path / "any.toml"
    path.write_text(HEAD + "".join(tables))
    ends_in_findings(path)


@RELAXED
@given(
    tables=st.dictionaries(
        one_of_words("mill readout dials vice finder cabinet control stock datum"),
        st.dictionaries(KEYS, VALUES, max_size=4),
        max_size=4,
    )
)
def test_any_tables_end_in_findings(tmp_path, tables):
    lines = [
        f"[{name}]\n" + "".join(f"{key} = {value}\n" for key, value in table.items())
        for name, table in tables.items()
    ]
    path = tmp_path / "any.toml"
    path.write_text("".join(lines))
    ends_in_findings(path)
