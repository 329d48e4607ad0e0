"""The second reader: silent when both agree, a stop with its line when they do not."""

import numpy as np
import pytest

import millprep.witness.second_reader as second_reader
from millprep.base.records import replace
from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.moves import ProgramRun
from millprep.witness.second_reader import second_reading

CONTROL = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})
PROGRAM = b"""(TRIAL)
G17 G21 G40 G49 G80 G90 G94
G54
T1 M6
G43 H1
G0 Z10.0
S1250 M3
G98 G83 X10.0 Y20.5 Z-12.0 R2.0 Q4.0 F120.0 (A, DRILL)
X30.0 Y20.5 (B, DRILL)
G80
G98 G82 X10.0 Y20.5 Z-1.0 R2.0 P0.5 F60.0
G80
G0 X5.0 Y5.0
G1 Z-1.25 F100.0
G0 Z10.0
M5
M30
"""


def read(data: bytes = PROGRAM) -> ProgramRun:
    run = read_program(data, CONTROL, file="a.nc")
    assert run.is_complete
    return run


def moved(run: ProgramRun, line: int, axis: int, by_mm: float) -> ProgramRun:
    """The run with the ends of one line's moves shifted, as a slip in the reader would."""
    end = run.moves.end.copy()
    end[axis, run.moves.line == line] += by_mm
    return replace(run, moves=replace(run.moves, end=end))


def test_agreement_says_nothing() -> None:
    assert second_reading(PROGRAM, read(), "a.nc") == []


def test_inches_agree_too() -> None:
    data = PROGRAM.replace(b"G21", b"G20")
    assert second_reading(data, read(data), "a.nc") == []


@pytest.mark.parametrize(
    ("line", "axis", "letter"),
    [(8, 0, "X"), (8, 1, "Y"), (9, 0, "X"), (11, 1, "Y"), (13, 0, "X"), (14, 2, "Z"), (15, 2, "Z")],
)
def test_another_end_point_is_a_stop_on_its_line(line: int, axis: int, letter: str) -> None:
    (finding,) = second_reading(PROGRAM, moved(read(), line, axis, 0.001), "a.nc")
    assert (finding.severity, finding.kind) == ("stop", "readers-disagree")
    assert (finding.file, finding.line) == ("a.nc", line)
    assert finding.message.startswith(f"{letter} ends at ")


def test_the_sentence() -> None:
    (finding,) = second_reading(PROGRAM, moved(read(), 13, 0, 1.0), "a.nc")
    assert finding.message == "X ends at 6.0000 mm, by the second reader at 5.0000 mm"


def test_less_than_the_last_figure_is_no_disagreement() -> None:
    assert second_reading(PROGRAM, moved(read(), 13, 0, 0.0004), "a.nc") == []


def test_other_words_are_a_stop(monkeypatch: pytest.MonkeyPatch) -> None:
    sound = second_reader.recognise

    def deaf(text: str, number: int) -> object:
        """A recogniser that does not hear the Q of a peck."""
        return sound(text.replace(" Q4.0", ""), number)

    monkeypatch.setattr(second_reader, "recognise", deaf)
    (finding,) = second_reading(PROGRAM, read(), "a.nc")
    assert finding.line == 8
    assert "finds other words on the line" in finding.message


def test_long_programs_are_capped_and_it_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(second_reader, "MOST_COMPARED_LINES", 13)
    tampered = moved(read(), 14, 2, 1.0)
    (note,) = second_reading(PROGRAM, tampered, "a.nc")
    assert (note.severity, note.kind) == ("note", "second-reader-capped")
    assert note.message == "the second reader compared the first 13 of 17 lines"


def test_the_cap_is_twenty_thousand_lines() -> None:
    assert second_reader.MOST_COMPARED_LINES == 20_000
    lines = PROGRAM.splitlines(keepends=True)
    data = b"".join([*lines[:9], b"X30.0 Y20.5\n" * 20_000, *lines[9:]])
    run = read(data)
    assert [f.kind for f in second_reading(data, run, "a.nc")] == ["second-reader-capped"]


def test_what_is_beyond_it_is_passed_over() -> None:
    data = PROGRAM.replace(b"G0 X5.0 Y5.0\n", b"G53 G0 Z0.0\nG0 X5.0 Y5.0\n")
    assert second_reading(data, read(data), "a.nc") == []


def test_the_lines_that_continue_a_cycle_beyond_it_are_passed_over_too() -> None:
    """And it finds its way again behind them: a slip there is still a stop."""
    taps = b"G98 G84 X1.0 Y2.0 Z-5.0 R5.0 F625.0\nX7.0\nG80\n"
    data = PROGRAM.replace(b"G0 X5.0 Y5.0\n", taps + taps + b"G0 X5.0 Y5.0\n")
    assert second_reading(data, read(data), "a.nc") == []
    (finding,) = second_reading(data, moved(read(data), 19, 0, 0.5), "a.nc")
    assert (finding.severity, finding.line) == ("stop", 19)


def test_a_line_that_it_cannot_follow_ends_the_comparison_and_is_said(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def throws(self: object, block: object) -> None:
        raise KeyError("whatever it may be")

    monkeypatch.setattr("pygcode.Machine.process_block", throws)
    (note,) = second_reading(PROGRAM, read(), "a.nc")
    assert (note.severity, note.kind, note.line) == ("note", "second-reader-lost", 2)
    assert note.message.endswith("lines 2 to 17 are not compared with what it makes of them")


def test_no_moves() -> None:
    data = b"G21\nM30\n"
    run = read_program(data, CONTROL, file="a.nc")
    assert not len(run.moves)
    assert np.isfinite(run.lines)
    assert second_reading(data, run, "a.nc") == []
