"""The reading of plain programs against two readers of programs that are not ours."""

import pytest
from gcodeparser import parse_gcode_lines
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from pygcode import Line, Machine

from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.gcode.recognise import recognise

CONTROL = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})
START = "G21 G90 G17 G54 F100.0"
FIGURE_MM = 1e-6

figures = st.integers(-300_000, 300_000).map(lambda counts: f"{counts / 1000:.3f}")
words = st.dictionaries(st.sampled_from("XYZ"), figures, min_size=1)


@st.composite
def plain_lines(draw: st.DrawFn) -> list[str]:
    """Straight moves, absolute and incremental, with axes and motions left out at will."""
    lines = [START, "G0 X0.0"]
    for _ in range(draw(st.integers(1, 12))):
        distance = draw(st.sampled_from(["", "", "", "G90 ", "G91 "]))
        motion = draw(st.sampled_from(["", "", "G0 ", "G1 "]))
        number = draw(st.sampled_from(["", "N10 "]))
        axes = " ".join(letter + figure for letter, figure in draw(words).items())
        lines.append(number + distance + motion + axes)
    return lines


@settings(max_examples=150)
@given(plain_lines())
def test_end_points_agree_with_pygcode(lines: list[str]) -> None:
    machine = Machine()
    places = []
    for text in lines:
        line = Line(text)
        if text == START:
            text = START.replace(" F100.0", "")  # a feed alone moves nothing
            line = Line(text)
        machine.process_block(line.block)
        places.append([machine.pos.values[axis] for axis in "XYZ"])
    run = read_program("\n".join(lines).encode(), CONTROL, file="a.nc")
    assert run.moves.line.tolist() == list(range(2, len(lines) + 1))
    assert_allclose(run.moves.end.T, places[1:], atol=FIGURE_MM)


@settings(max_examples=150)
@given(st.lists(st.tuples(st.sampled_from(["G0", "G1"]), words), min_size=1, max_size=12))
def test_absolute_end_points_agree_with_gcodeparser(
    moves: list[tuple[str, dict[str, str]]],
) -> None:
    text = "\n".join(
        " ".join([motion, *(letter + figure for letter, figure in axes.items())])
        for motion, axes in moves
    )
    place = {"X": 0.0, "Y": 0.0, "Z": 0.0}
    places = []
    for line in parse_gcode_lines(text):
        place.update({axis: float(line.params[axis]) for axis in "XYZ" if axis in line.params})
        places.append([place[axis] for axis in "XYZ"])
    run = read_program(f"{START}\n{text}".encode(), CONTROL, file="a.nc")
    assert_allclose(run.moves.end.T, places, atol=FIGURE_MM)
    assert [f"G{kind}" for kind in run.moves.kind] == [motion for motion, _ in moves]


@pytest.mark.parametrize("cycle", ["G81 X{x} Y{y} Z-5.0 R2.0", "G83 X{x} Y{y} Z-5.0 R2.0 Q2.0"])
def test_places_of_cycles_agree_with_pygcode(cycle: str) -> None:
    machine = Machine()
    lines = ["G21 G90 G17 G54 G98", "G0 Z10.0"]
    lines += [cycle.format(x=x, y=x * 2) for x in (1.0, 2.5, -7.125)]
    for text in lines:
        machine.process_block(Line(text).block)
    run = read_program("\n".join(["F100.0", *lines]).encode(), CONTROL, file="a.nc")
    assert_allclose(run.moves.end[:2, -1], [machine.pos.X, machine.pos.Y], atol=FIGURE_MM)


line_words = st.dictionaries(st.sampled_from("XYZIJKFS"), figures, min_size=1, max_size=6)
line_codes = st.lists(st.sampled_from(["G0", "G17", "G90", "G54", "M3", "M8"]), unique=True)


@settings(max_examples=150)
@given(line_codes, line_words, st.sampled_from(["", " (a comment)", " ; a comment"]))
def test_words_agree_with_both(codes: list[str], values: dict[str, str], comment: str) -> None:
    values = {
        letter: figure.lstrip("-") if letter in "FS" else figure
        for letter, figure in values.items()
    }
    text = " ".join([*codes, *(letter + figure for letter, figure in values.items())]) + comment
    own = recognise(text, 1)
    words = {("G", tenths / 10) for tenths in own.g} | {("M", float(code)) for code in own.m}
    words |= {(word.letter, word.value) for word in own.words.values()}
    theirs = {(word.letter, float(word.value)) for word in Line(text).block.words}
    assert words == theirs
    parsed = parse_gcode_lines(" ".join(["G0", *text.split(" ")[len(codes) :]]))
    params = {letter: float(value) for line in parsed for letter, value in line.params.items()}
    assert {letter: word.value for letter, word in own.words.items()} == params


HALF_ARCS = st.lists(
    st.tuples(st.sampled_from(["G2", "G3"]), *[st.integers(-9000, 9000)] * 2).filter(
        lambda arc: arc[1] or arc[2]
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=100)
@given(HALF_ARCS)
def test_ends_of_arcs_agree_with_pygcode(arcs: list[tuple[str, int, int]]) -> None:
    machine = Machine()
    lines = ["G21 G90 G17 G54", "G91 G0 X0.0"]
    lines += [
        f"{code} X{i / 500:.3f} Y{j / 500:.3f} I{i / 1000:.3f} J{j / 1000:.3f}"
        for code, i, j in arcs
    ]
    places = []
    for text in lines:
        machine.process_block(Line(text).block)
        places.append([machine.pos.values[axis] for axis in "XYZ"])
    run = read_program("\n".join(["F100.0", *lines]).encode(), CONTROL, file="a.nc")
    assert_allclose(run.moves.end.T, places[1:], atol=FIGURE_MM)
    assert_allclose(run.moves.sweep_deg[1:], 180.0, atol=0.1)
