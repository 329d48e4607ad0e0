"""Subprograms by M98 and M99: common practice, the plainest form; whatever loops is refused."""

import pytest
from numpy.testing import assert_allclose

from millprep.base.findings import Finding
from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.gcode.flow.running import Limits
from millprep.reading.moves import ProgramRun

START = "G21 G90 G17 G54 G98 F100.\n"
CONTROL = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})


def run(text: str, **control: object) -> ProgramRun:
    described = Control(**{"offsets_mm": {"G54": (0.0, 0.0, 0.0)}, **control})  # type: ignore[arg-type]
    return read_program(text.encode(), described, file="a.nc")


def stops(found: ProgramRun) -> list[Finding]:
    return [finding for finding in found.findings if finding.severity == "stop"]


@pytest.mark.parametrize("label", ["O100", "o 0100", "N3 O100", "O100 (one hole)", "\tO100;one"])
@pytest.mark.parametrize("call", ["M98 P100", "M98 P0100 L1", "M98 P#1"])
def test_labels_and_calls_in_their_forms(label: str, call: str) -> None:
    found = run(f"#1=100\n{START}{call}\nM30\n{label}\nG0 X1.\nM99\n")
    assert found.is_complete
    assert found.moves.line.tolist() == [6]
    assert found.read_lines == found.lines == 7


def test_calls_nest_and_come_back() -> None:
    subs = "".join(f"O{n}\nG91 G0 X1.\nM98 P{n + 1}\nG0 Y1.\nM99\n" for n in range(1, 10))
    found = run(START + "M98 P1 L2\nM30\n" + subs + "O10\nG0 Z1.\nM99\n")
    assert found.is_complete
    assert_allclose(found.moves.end[:, -1], [18.0, 18.0, 2.0])


def test_an_end_word_in_a_subprogram_ends_the_program() -> None:
    found = run(START + "M98 P1\nG0 X9.\nM30\nO1\nG0 X1.\nM2\nM99\n")
    assert found.is_complete
    assert found.moves.end[0].tolist() == [1.0]


def test_the_moves_of_the_calling_line_come_first() -> None:
    found = run(START + "G0 X1. M98 P1\nM30\nO1\nX2. M99\n")
    assert found.moves.end[0].tolist() == [1.0, 2.0]


FEW = Limits(lines=5_000)
LOOPS = [
    ("calls itself", "M98 P1\nM30\nO1\nM98 P1\nM99\n", 5, "bad-subprogram"),
    ("call each other", "M98 P1\nM30\nO1\nM98 P2\nM99\nO2\nM98 P1\nM99\n", 8, "bad-subprogram"),
    ("nested too deep",
     "M98 P1\nM30\n" + "".join(f"O{n}\nM98 P{n + 1}\nM99\n" for n in range(1, 13)), 32,
     "bad-subprogram"),
    ("runs on into the next", "M98 P1\nM30\nO1\nG0 X1.\nO2\nG0 X2.\nM99\n", 6, "bad-subprogram"),
    ("runs on into the end", "M98 P1\nM30\nO1\nG0 X1.\n", 5, "bad-subprogram"),
    ("stands before the end of the main program", "O1\nM98 P1\nM30\n", 3, "bad-subprogram"),
    ("stands twice", "M98 P1\nM30\nO1\nM99\nO1\nM99\n", 2, "bad-subprogram"),
    ("only in a comment", "M98 P1\nM30\n(O1)\nM99\n", 2, "bad-subprogram"),
    ("the end word is a comment", "(M30)\nM98 P1\nO1\nM99\n", 3, "bad-subprogram"),
    ("M99 P to nowhere", "M98 P1\nM30\nO1\nM99 P2\n", 5, "bad-jump"),
    ("strict", "M98 P1\nM30\nO1\nM99\n", 2, "refused-word"),
]  # fmt: skip


@pytest.mark.parametrize(("slip", "text", "line", "kind"), LOOPS, ids=[row[0] for row in LOOPS])
def test_what_has_no_way_back_is_refused(slip: str, text: str, line: int, kind: str) -> None:
    found = run(START + text, strict=slip == "strict")
    assert [(f.kind, f.line) for f in stops(found)] == [(kind, line)]
    assert not found.is_complete


def test_the_message_says_who_called() -> None:
    found = run(START + "G0 X0.\nM98 P7\nM30\nO7\nG0 X!\nM99\n")
    (stop,) = stops(found)
    assert stop.message.endswith("(in O7, called on line 3)")
    assert (stop.line, found.read_lines) == (6, 2)


def test_a_loop_of_repeats_is_refused() -> None:
    subs = "".join(f"O{n}\nM98 P{n + 1} L9999\nM99\n" for n in range(1, 5)) + "O5\nM99\n"
    text = START + "M98 P1 L9999\nM30\n" + subs
    found = read_program(text.encode(), CONTROL, file="a.nc", limits=FEW)
    assert [f.kind for f in stops(found)] == ["program-too-long"]


def test_plain_lines_in_a_subprogram_count_too() -> None:
    text = START + "G0 X0.\nM98 P1 L9999\nM30\nO1\n" + "X1.\nX2.\n" * 200 + "M99\n"
    found = read_program(text.encode(), CONTROL, file="a.nc", limits=FEW)
    slow = read_program(text.encode(), CONTROL, file="a.nc", line_by_line=True, limits=FEW)
    assert [f.kind for f in stops(found)] == ["program-too-long"]
    assert found.findings == slow.findings
    assert len(found.moves) == len(slow.moves) > 4900


def test_nothing_behind_the_closing_percent_is_called() -> None:
    inside = "%\n" + START + "M98 P1\nM30\nO1\nG0 X1.\nM99\n%\n"
    assert run(inside).is_complete
    outside = "%\n" + START + "M98 P1\nM30\n%\nO1\nG0 X1.\nM99\n"
    assert [f.kind for f in stops(run(outside))] == ["bad-subprogram"]


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
def test_labels_are_found_with_any_line_end(end: str) -> None:
    text = ("\ufeff" + START + "M98 P1\nM30\nO1\nG0 X1.\nM99\n").replace("\n", end)
    found = run(text)
    assert found.is_complete
    assert found.moves.line.tolist() == [5]
