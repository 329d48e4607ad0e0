"""Whatever bytes come: findings and a run, never an exception."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millprep.model.shop import Control, Mill
from millprep.reading.gcode import read_program
from millprep.reading.gcode.codes import G_CODES
from millprep.reading.moves import ProgramRun, extent_mm, moves_csv
from millprep.reading.simulate.timing import seconds_each

PROGRAMS_KEPT = Path(__file__).parent / "programs"
MILL = Mill(((-400.0, 0.0),) * 3)
START = b"G21 G90 G17 G54 G98 F100.\nS500 M3\nT1 M6\nG0 G43 H1 Z20.\n"
LANGUAGE = st.text("GGGMXYZIJKRQPLHFSTNO0123456789.-+*<> \t\n\r()/;%#[]=gx\x00é", max_size=200)
CODES = [f"{code // 10}.{code % 10}".removesuffix(".0") for code in G_CODES] + ["68", "41.1"]
VALUES = st.floats(-999, 999).map(lambda value: f"{value:.3f}") | st.sampled_from(
    ["0", "1", "2", "-5.", "#1", "#5221", "[#1*2]", "-#2", "SIN[#1]", "ATAN[1]/[#2]", "[1/#3]"]
)
WORDS = st.one_of(
    st.sampled_from(CODES).map(lambda code: "G" + code),
    st.sampled_from(
        [
            "M0",
            "M3",
            "M5",
            "M6",
            "M8",
            "M9",
            "M60",
            "T2",
            "M98 P7",
            "M99",
            "#1=2",
            "M88",
            "(a (b) c)",
            "A0",
        ]
    ),
    st.tuples(st.sampled_from("XYZIJKRQPLHFSDA"), VALUES).map("".join),
)
PROGRAMS = st.lists(st.lists(WORDS, max_size=6).map(" ".join), max_size=30).map("\n".join)


def judge(data: bytes, control: Control) -> ProgramRun:
    run = read_program(data, control, file="a.nc")
    moves = run.moves
    assert 0 <= run.read_lines <= run.lines
    stops = [finding for finding in run.findings if finding.severity == "stop"]
    assert run.is_complete or stops
    for values in (moves.start, moves.end, moves.shift, moves.machine_end):
        assert values.shape == (3, len(moves))
        assert np.isfinite(values).all()
    assert np.isfinite(seconds_each(moves, MILL)).all()
    assert b"98" in data or (np.diff(moves.line) >= 0).all()
    assert moves_csv(moves).count("\n") == len(moves) + 1
    for span in extent_mm(moves).values():
        assert span is None or span[0] <= span[1]
    return run


@settings(max_examples=400)
@given(st.binary(max_size=300), st.booleans())
def test_any_bytes(data: bytes, is_strict: bool) -> None:
    judge(data, Control(strict=is_strict))
    judge(START + data, Control(strict=is_strict))


@settings(max_examples=400)
@given(LANGUAGE, st.booleans())
def test_any_text_in_the_letters_of_the_language(text: str, is_strict: bool) -> None:
    judge(START + text.encode(), Control(strict=is_strict))


@settings(max_examples=600)
@given(
    PROGRAMS,
    st.builds(
        Control,
        strict=st.booleans(),
        block_delete=st.booleans(),
        length_offset=st.booleans(),
        units=st.sampled_from([None, "mm", "inch"]),
        tool_change=st.sampled_from(["M6", "stop", "files"]),
        axes=st.sampled_from(["xyz", "xy"]),
    ),
)
def test_any_words_of_the_language(text: str, control: Control) -> None:
    judge(text.encode(), control)
    judge(START + text.encode(), Control())
    judge(START + b"M98 P7 L2\nM30\nO7\n" + text.encode() + b"\nM99\n", control)


REAL = [path.read_bytes() for path in sorted(PROGRAMS_KEPT.rglob("*.nc"))]


@settings(max_examples=500)
@given(st.data(), st.booleans())
def test_programs_with_bytes_changed(data: st.DataObject, is_strict: bool) -> None:
    program = bytearray(data.draw(st.sampled_from(REAL)))
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, len(program) - 1))
        length = data.draw(st.integers(0, 3))
        program[place : place + length] = data.draw(
            st.binary(max_size=2)
            | st.sampled_from([b"G9", b"-", b".", b"\n", b"[", b"#", b"M98P1"])
        )
    judge(bytes(program), Control(strict=is_strict, home_2_mm=(0.0, 0.0, 9.0)))


@pytest.mark.parametrize(
    "data",
    [
        b"G0 X" + b"1" * 5_000_000,
        b"(" * 5_000_000,
        b"[" * 20_000,
        b"X" + b"[" * 120,
        b"X" + b"#" * 200 + b"1",
        b"G0 X1. " * 15_000_000,
        b"\xff\xfeG\x000\x00",
        b"\x00" * 100_000,
        b"\x7fELF" + bytes(range(256)) * 100,
    ],
    ids=[
        "long number",
        "brackets of a comment",
        "nesting",
        "brackets",
        "parameters of parameters",
        "a line of 100 MB",
        "UTF-16",
        "zeros",
        "binary",
    ],
)
def test_what_is_no_program_is_refused_on_its_first_line(data: bytes) -> None:
    run = judge(data, Control())
    assert [(f.severity, f.line) for f in run.findings] == [("stop", 1)]
    assert len(run.moves) == 0


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_line_ends_of_any_kind(end: bytes) -> None:
    data = end.join([b"G21 G90 G17 G54", b"", b"G0 X1.", b"M2", b""])
    run = read_program(data, Control(), file="a.nc")
    assert (run.lines, run.read_lines, run.moves.line.tolist()) == (4, 4, [3])
    assert read_program(b"\xef\xbb\xbf" + data, Control(), file="a.nc").moves.line.tolist() == [3]
