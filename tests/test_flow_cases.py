"""Every construct of both styles of flow, against ends worked out by hand and run otherwise."""

import math
import re
from pathlib import Path

import pytest
from flow.oracle import run_letters, run_o_words
from numpy.testing import assert_allclose

from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.moves import ProgramRun

START = "G21 G90 G17 G54 F100.\n"
CONTROL = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})
FIGURE_MM = 1e-9
_CASE = re.compile(r"^== (.*)\n((?:.*\n)*?)-> (.*)\n", re.M)


def cases(name: str) -> list[tuple[str, str, str]]:
    """(what it shows, program, ends) of each case of a file."""
    return _CASE.findall((Path(__file__).parent / "flow" / f"{name}.txt").read_text("utf-8"))


O_WORDS, LETTERS = cases("o_words"), cases("letters")


def run(text: str, control: Control = CONTROL) -> ProgramRun:
    """Read quickly, and again line by line: the same."""
    quick = read_program((START + text).encode(), control, file="a.nc")
    slow = read_program((START + text).encode(), control, file="a.nc", line_by_line=True)
    assert quick.findings == slow.findings
    assert_allclose(quick.moves.end, slow.moves.end, atol=0)
    assert quick.moves.line.tolist() == slow.moves.line.tolist()
    return quick


def ends(words: str) -> list[list[float]]:
    places = ([float(figure) for figure in word.split(",")] for word in words.split())
    return [[*place, 0.0, 0.0][:3] for place in places]


def test_there_are_cases_enough() -> None:
    assert len(O_WORDS) + len(LETTERS) >= 80
    names = [name for name, *_ in (*O_WORDS, *LETTERS)]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize(("name", "text", "expected"), [*O_WORDS, *LETTERS])
def test_moves_are_those_worked_out_by_hand(name: str, text: str, expected: str) -> None:
    found = run(text)
    assert found.is_complete, found.findings
    assert_allclose(found.moves.end.T, ends(expected), atol=FIGURE_MM)


@pytest.mark.parametrize(("name", "text", "expected"), [*O_WORDS, *LETTERS])
def test_strict_refuses_all_of_it_at_its_line(name: str, text: str, expected: str) -> None:
    found = run(text, Control(strict=True))
    stops = [one for one in found.findings if one.severity == "stop"]
    assert [one.line is not None for one in stops] == [True]
    assert not found.is_complete


BOLT_CIRCLE = """#<n>=6
#<r>=20
#<i>=0
o<hole> sub
G0 X#1 Y#2
G1 Z[0-#3]
G0 Z2.
o<hole> endsub
G0 Z2.
o1 while [#<i> lt #<n>]
o<hole> call [#<r>*cos[60*#<i>]] [#<r>*sin[60*#<i>]] [5]
#<i>=[#<i>+1]
o1 endwhile
M2
"""
GRID_WITH_SKIPS = """#100=0
WHILE[#100LT4]DO1
#101=0
WHILE[#101LT3]DO2
IF[[#100EQ1]AND[#101EQ1]]GOTO50
IF[#100+#101EQ5]GOTO50
G65P9010X[#100*10.]Y[#101*7.5]Z-3.
N50 #101=#101+1
END2
#100=#100+1
END1
M30
O9010
G0X#24Y#25
G1Z#26
G0Z1.
M99
"""
SHRINKING_PECKS = """#1=0.
#2=10.
#3=4.
WHILE[#1GT-#2]DO1
#1=#1-#3
IF[#1LT-#2]THEN#1=-#2
G1Z#1
G0Z1.
#3=#3*0.75
IF[#3LT1.]THEN#3=1.
END1
M30
"""
TABLE = """#101=3.5
#102=12.25
#103=-4.
#104=#0
#1=101
N10 IF[#[#1]EQ#0]GOTO90
G0X#[#1]
#1=#1+1
GOTO10
N90 M30
"""


def test_a_bolt_circle() -> None:
    found = run(BOLT_CIRCLE)
    expected = [[0.0, 0.0, 2.0]]
    for nth in range(6):
        x, y = (20 * f(math.radians(60 * nth)) for f in (math.cos, math.sin))
        expected += [[x, y, 2.0], [x, y, -5.0], [x, y, 2.0]]
    assert found.is_complete
    assert_allclose(found.moves.end.T, expected, atol=FIGURE_MM)


def test_a_grid_with_skips() -> None:
    found = run(GRID_WITH_SKIPS)
    holes = [
        (i * 10.0, j * 7.5) for i in range(4) for j in range(3) if (i, j) != (1, 1) and i + j != 5
    ]
    expected = [[x, y, z] for x, y in holes for z in (1.0, -3.0, 1.0)]
    expected[0][2] = 0.0
    assert found.is_complete
    assert_allclose(found.moves.end.T, expected, atol=FIGURE_MM)


def test_shrinking_pecks() -> None:
    """4, 3, 2.25, and of the rest of 0.75 what is left."""
    found = run(SHRINKING_PECKS)
    depths = [0.0, -4.0, -7.0, -9.25, -10.0]
    assert found.is_complete
    assert_allclose(found.moves.end[2], [z for depth in depths[1:] for z in (depth, 1.0)])


def test_a_table_in_parameters() -> None:
    found = run(TABLE)
    assert found.is_complete
    assert found.moves.end[0].tolist() == [3.5, 12.25, -4.0]


WHOLE_O_WORDS = {"bolt circle": BOLT_CIRCLE}
WHOLE_LETTERS = {"grid": GRID_WITH_SKIPS, "pecks": SHRINKING_PECKS}
BEYOND = (
    *("position", "exists", "nothing", "IF THEN IF", "several pieces", "M99", "#50", "M97", "line"),
    *("work", "machine", "a word with", "0 is not", "sets", "G65 three times", "parameters by"),
    *(
        "DO without",
        "a call by",
        "return out",
        "outer loop",
        "continue in do",
        "division",
        "capitals",
    ),
    *(
        "a sub within",
        "nearer",
        "before a jump",
        "by a number",
        "comparisons are",
        "a setting before",
    ),
)
"""Words in the names of cases that the other interpreter is too simple for."""


def _not_beyond(cases: list[tuple[str, str, str]], more: dict[str, str]) -> list[str]:
    known = [text for name, text, _ in cases if not any(word in name for word in BEYOND)]
    return [*known, *more.values()]


@pytest.mark.parametrize("text", _not_beyond(O_WORDS, WHOLE_O_WORDS))
def test_o_words_end_where_the_program_made_into_python_ends(text: str) -> None:
    found = run(text)
    assert found.is_complete
    assert_allclose(found.moves.end.T, run_o_words(text), atol=FIGURE_MM)


@pytest.mark.parametrize("text", _not_beyond(LETTERS, WHOLE_LETTERS))
def test_letters_end_where_a_list_of_lines_and_a_counter_end(text: str) -> None:
    found = run(text)
    assert found.is_complete
    assert_allclose(found.moves.end.T, run_letters(text), atol=FIGURE_MM)
