"""The quick way and the slow way of reading give the same moves and the same findings."""

import ast
import importlib
import itertools
import pkgutil
import re
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

import millprep
from millprep.base.records import field_names, replace
from millprep.model.shop import Control
from millprep.reading.gcode import fast, fast_words, read_program
from millprep.reading.gcode.flow.sources import Source
from millprep.reading.gcode.state import State
from millprep.reading.moves import Moves, ProgramRun

START = "G21 G90 G17 G54 G98 F100.\nG0 Z5.\n"
CONTROL = Control(offsets_mm={"G54": (1.0, 2.0, 3.0), "G55": (0.1, 0.2, 0.3)}, length_offset=False)
LONG = "G1 X1.5 Y2.25\nX2.\nG0 Y-7.125 Z+3.\nN40 Z.5 F75.\n"


@pytest.fixture(autouse=True)
def short_runs_go_the_quick_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fast, "SHORTEST", 1)


def assert_same(quick: ProgramRun, slow: ProgramRun) -> None:
    for name in field_names(Moves):
        one, other = getattr(quick.moves, name), getattr(slow.moves, name)
        assert_array_equal(one, other, err_msg=name)
        assert one.dtype == other.dtype
    assert replace(quick, moves=slow.moves) == slow


def both(text: str, control: Control = CONTROL) -> ProgramRun:
    data = text.encode()
    quick = read_program(data, control, file="a.nc")
    assert_same(quick, read_program(data, control, file="a.nc", line_by_line=True))
    return quick


figures = st.one_of(
    st.integers(-300_000, 300_000).map(lambda counts: f"{counts / 1000:.3f}"),
    st.sampled_from(
        ["0", "1.", "+.5", "-0.", "007.250", "12", "1234567.", "0.1234567890123456789"]
    ),
)
plain_words = st.tuples(st.sampled_from("XYZXYZF"), figures).map("".join)
blanks = st.sampled_from(["", "", " ", "\t"])


@st.composite
def plain_lines(draw: st.DrawFn) -> str:
    number = draw(st.sampled_from(["", "", "N10", "n000123"]))
    motion = draw(st.sampled_from(["", "", "G0", "G1", "g01", "G00"]))
    words = draw(st.lists(plain_words, min_size=0, max_size=4, unique_by=lambda word: word[0]))
    return draw(blanks).join([number, motion, *words])


other_lines = st.sampled_from([
    "G20", "G21 F50.", "G90", "G91", "G55", "G54 X1.", "G18", "G17", "M5", "S500 M3", "T1 M6",
    "(a comment)", "", "  ", "/X1.", "G2 X5. Y5. R10.", "G3 X0. Y1. I.5", "G81 X1. Y1. Z-2. R1.",
    "G80", "X1. X2.", "F-5.", "F0.", "G1", "G43 H1", "G49", "G92 X1.", "G93", "G94 F20.", "#1=3",
    "X#1", "X1 .5", "G0 1 X1.", "G53 G0 Z0.", "M98 P7", "%", "N12", "G10 L2 P1 X1.", "N1.5 X1.",
    "X" + "0" * 250 + "1.", "X1. (over there)", "G0.0 X2.", "G010 X1.", "X1.2.3", "O12",
    "X 1. Y 2.", "X1. 5", "X+-1.", "X1-2", "X", "Y.", "XY1.", "Z1.2.34567890123456789", "F5. X",
    "G41 D1", "G42 X1.", "G40", "D2", "G28", "G30", "G0 X1. Y1. Z1.", "G80 G0 Z9.", "G80", "Z9.",
    "G0 X1. A0.", "G0 G91 G28 Z0", "G2 X5. Y5. R10. K0", "G2 X2. I1. K0.", "M45", "(a (b) c)",
])  # fmt: skip
PLANES = {"G17": "XYIJZK", "G18": "ZXKIYJ", "G19": "YZJKXI"}
counts = st.integers(-9000, 9000)


@st.composite
def arc_lines(draw: st.DrawFn, plane: str = "G17") -> str:
    """An arc that closes in incremental distance: half, quarter, three quarters, full; a slip."""
    i, j = draw(counts), draw(counts)
    half, quarter, late = (2 * i, 2 * j), (i + j, j - i), (i - j, j + i)
    off = draw(st.sampled_from([2, 4, 6, 12, 25]))
    dx, dy = draw(st.sampled_from([half, quarter, late, (0, 0), (0, 1), (2 * i + off, 2 * j)]))
    first, second, to_first, to_second, third, to_third = PLANES[plane]
    words = [f"{to_first}{i / 1000:.3f}", f"{to_second}{j / 1000:.3f}"]
    words += [f"{first}{dx / 1000:.3f}", f"{second}{dy / 1000:.3f}"]
    words += draw(st.sampled_from([[], [], [], [f"{third}-1.5"], ["F30."]]))
    words += draw(
        st.sampled_from([[], [], [], [f"{to_third}0."], [f"{to_third}-0"], [f"{to_third}.5"]])
    )
    keep = draw(st.sampled_from([len(words)] * 5 + [len(words) - 1]))
    motion = draw(st.sampled_from(["G2", "G3", "g02", ""]))
    return draw(blanks).join([motion, *draw(st.permutations(words))[:keep]])


bodies = st.lists(
    st.one_of(plain_lines(), plain_lines(), plain_lines(), arc_lines(), other_lines), max_size=40
)


@settings(max_examples=300)
@given(
    bodies,
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.booleans(),
    st.sampled_from(["xyz", "xyz", "xy"]),
    st.sampled_from(["G0 Z5. F60.", "G1 X1. F60.", ""]),
    st.sampled_from([None, None, frozenset({"G0", "G1", "G21", "G90", "M30"})]),
)
def test_both_ways_agree_on_any_program(
    body: list[str], end: str, is_strict: bool, axes: str, begin: str, codes: frozenset[str] | None
) -> None:
    begin = begin.replace("Z", "X") if axes == "xy" else begin
    tail = ["M30", "O7", *body[:5], "M99"]
    text = end.join(["G21 G90 G17 G54 G98", begin, *body, *tail])
    control = replace(CONTROL, strict=is_strict, axes=axes, codes=codes)  # type: ignore[arg-type]
    both(text, replace(control, length_offset=True, m_codes={45: "air"}))
    both(text, control)


@settings(max_examples=150)
@given(
    st.lists(plain_lines(), min_size=5, max_size=60),
    st.integers(40, 200),
    st.sampled_from(["\n", "\r\n", "\r"]),
)
def test_stretches_that_end_anywhere_agree(body: list[str], stretch: int, end: str) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(fast, "STRETCH", stretch)
        both(end.join(["G21 G90 G17 G54 G98 F9.", "G0 X0.", *body, "M30"]))


@settings(max_examples=300)
@given(st.data(), st.sampled_from(list(PLANES)), st.sampled_from(["G20", "G21"]))
def test_both_ways_agree_on_arcs(data: st.DataObject, plane: str, units: str) -> None:
    lines = st.one_of(arc_lines(plane), arc_lines(plane), plain_lines())
    body = data.draw(st.lists(lines, min_size=3, max_size=30))
    both("\n".join([f"G91 {units} {plane} G54 F60.", "G1 X0.", *body, "M30"]))


heads = st.tuples(
    st.sampled_from(["G98 ", "G99 ", ""]),
    st.sampled_from(
        ["G81", "G82 P.5", "G83 Q.7", "G83 Q9.", "G73 Q1.", "G85", "G86", "G89 P1", "G84"]
    ),
    st.sampled_from([" X1. Y1. Z-2. R1.", " X0 Y0 Z-2.25 R5.", " Z-2. R-1.", " X1. Y2. Z-1. R9."]),
).map("".join)
places = st.tuples(
    st.sampled_from(["", "", "", "", "N10 ", "G81 ", "G83", "G82", "G98", "G1 "]),
    st.sampled_from(
        ["X1.", "X2. Y1.", "X2.5Y-3.", "Y7", "x-.5", "Y1.25", "", "Z-2.", "X3. Y3. Z-2. R1."]
    ),
    st.sampled_from(
        ["", "", "", "", " F100.", " F50.", " R1.", " Z-2.", " Q.7", " I1.", " L2", " P1", " K0"]
    ),
).map("".join)
between = st.sampled_from(
    ["G80", "G0 Z5.", "G0 Z9. X3.", "G99", "G98", "F30.", "S800", "G91", "G90", "G20", "G55",
     "(a)", "G94", "X2. X3.", "G41 D1"]
)  # fmt: skip


@settings(max_examples=300)
@given(
    st.lists(
        st.tuples(heads, st.lists(st.one_of(places, places, places, between), max_size=9)),
        max_size=5,
    ),
    st.sampled_from(
        [CONTROL, replace(CONTROL, strict=True), replace(CONTROL, dwell="ms", peck_retract="clear")]
    ),
    st.sampled_from([frozenset({"G81", "G83"}), CONTROL.cycles]),
    st.sampled_from(["S500 M3", "M4 S9."]),
)
def test_both_ways_agree_on_cycles(
    runs: list[tuple[str, list[str]]], control: Control, cycles: frozenset[str], spindle: str
) -> None:
    lines = [line for head, after in runs for line in (head, *after)]
    both("\n".join([START, spindle, *lines, "G80", "M30"]), replace(control, cycles=cycles))


@settings(max_examples=60)
@given(st.lists(places, min_size=1, max_size=4), heads, st.sampled_from([3, 70]))
def test_a_loop_of_holes_makes_those_that_are_written_out(
    body: list[str], head: str, times: int
) -> None:
    loop = [
        "#1=0",
        f"o1 while [#1 lt {times}]",
        "#1=[#1+1]",
        "X[#1*.5] Y[#1/4]",
        *body,
        "o1 endwhile",
    ]
    written = []
    for n in range(1, times + 1):
        written += [f"X{n * 0.5!r} Y{n / 4!r}", *body]
    runs = [
        read_program(
            "\n".join([START, "S500 M3", head, *some, "M30"]).encode(), CONTROL, file="a.nc"
        )
        for some in (loop, written)
    ]
    moves = [run.moves for run in runs]
    for name in ("kind", "start", "end", "feed", "cycle", "seconds"):
        assert_array_equal(*(getattr(one, name) for one in moves), err_msg=name)
    assert len({run.is_complete for run in runs}) == 1


def test_holes_in_lists_are_quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("millprep.reading.gcode.program.kept_line", _only_few)
    _only_few.left = 6  # type: ignore[attr-defined]
    holes = "".join(f"X{n}. Y{n % 7}.5\n" for n in range(1, 3000))
    text = START + "S500 M3\nG98 G83 X0. Y0. Z-2. R1. Q1.5 F60.\n" + holes + "G80\nM30\n"
    run = read_program(text.encode(), CONTROL, file="a.nc")
    assert run.is_complete
    # across, down to R, Z-0.5, up to R, back to Z-0.25, Z-2, up to where it was
    assert len(run.moves) == 1 + 7 * 3000
    assert run.moves.end[2, -7:].tolist() == [5.0, 1.0, -0.5, 1.0, -0.25, -2.0, 5.0]
    assert set(run.moves.cycle[1:].tolist()) == {83}


def test_arcs_among_plain_lines_are_read_with_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """A square with rounded corners, by hand: quarter circles about (9, 1)."""
    corner = "G1 X9. Y0.\nG3 X10. Y1. I0. J1.\nG1 X10. Y5.\nG2 X10. Y5. I-1. J0.\nG0 X0. Y0.\n"
    monkeypatch.setattr("millprep.reading.gcode.program.kept_line", _only_few)
    _only_few.left = 3  # type: ignore[attr-defined]
    run = read_program((START + corner * 3000 + "M30\n").encode(), CONTROL, file="a.nc")
    assert run.is_complete
    assert len(run.moves) == 15_001
    assert run.moves.kind[1:6].tolist() == [1, 3, 1, 2, 0]
    assert run.moves.sweep_deg[1:6].tolist() == [0.0, 90.0, 0.0, 360.0, 0.0]
    assert run.moves.centre[:, 2].tolist() == [9.0, 1.0, 5.0]
    assert np.isnan(run.moves.centre[:, [1, 3, 5]]).all()


def test_arcs_with_a_zero_outside_the_plane_and_centres_a_little_off_are_quick_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Once that has been doubted, which is in the first stretch, and not again."""
    monkeypatch.setattr("millprep.reading.gcode.program.kept_line", _only_few)
    _only_few.left = 5000  # type: ignore[attr-defined]
    body = "G3 X10. Y0. I5.0015 J0. K0.\nG3 X0. Y0. I-5.0015 J0. K0.\n" * 9000
    run = read_program((START + "G1 X0. Y0.\n" + body + "M30\n").encode(), CONTROL, file="a.nc")
    assert run.is_complete
    assert [f.kind for f in run.findings] == ["read-by-habit", "arc-centre-off"]
    assert len(run.moves) == 18_002


@pytest.mark.parametrize(
    "line",
    [
        "G2 X1. I5.",
        "G03 Z1. X2. K-5.",
        "X3. J1.",
        "G1 X1. Y2.",
        "g01x-1.y+.5z7.f3.",
        "N5 X1.",
        " N5\tG0 Y2. ",
        "",
        "F100.",
        "Z0",
        "N7",
        "N1 2",
        "X1 .5",
        "G0 1 X1.",
        "X1. G0",
        "X- 1.",
    ],
)
def test_plain_lines_are_known(line: str) -> None:
    assert is_plain(line, is_strict=True)


@pytest.mark.parametrize(
    "line",
    [
        "G0.1 X1.",
        "G+1 X1.",
        "G X1.",
        "X1.2.3",
        "X1.2.34567890123456789",
        "X",
        "X-",
        "X--1",
        "1",
        ".5",
        "-",
        "X1E3",
        "(a)",
        "X1. M5",
        "N1.5",
        "N-1",
        "%",
        "/X1.",
        "X#1",
        "X[1]",
        "N1 N2",
        "X1. N2",
        "XY1",
        "X1. ;",
        "X1.\v",
        "X\xa01.",
    ],
)
def test_lines_that_are_not_plain_are_known(line: str) -> None:
    assert not is_plain(line, is_strict=False)


@pytest.mark.parametrize(
    "line", ["G1", "G1 F5.", "G2 I1.", "G4 X1.", "G010 X1.", "G1 G0 X1.", "G2 X1. R1."]
)
def test_plain_lines_that_mean_more_are_left_to_the_slow_way(
    line: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    run = fast.read_run
    texts: list[bytes] = []

    def noted(state: State, text: bytes) -> tuple[int, int]:
        lines, length = run(state, text)
        texts.append(text[:length])
        return lines, length

    monkeypatch.setattr(fast, "read_run", noted)
    both(f"{START}{LONG}{line}\n{LONG}M30\n")
    assert b"".join(texts).decode() in (LONG, LONG + LONG)


def is_plain(line: str, *, is_strict: bool) -> bool:
    """Whether the line looks plain and its words are words."""
    text = (line + "\n").encode("latin-1")
    until = fast.plain_until(text, 0)
    assert until in (0, len(text))
    return until > 0 and fast_words.words_of(text, is_strict=is_strict).spelt == 1


PLAIN_LINE = re.compile(r"(?:N(?P<number>\d+))?(?:G\d+|[XYZFIJK][+-]?(?:\d+(?:\.\d*)?|\.\d+))*")


@pytest.mark.parametrize("is_strict", [False, True])
@pytest.mark.parametrize(
    ("begin", "most"), [("", 4), ("G1X", 3), ("N123456X", 3), ("X1", 3), ("G0X2Y", 3)]
)
def test_every_short_line_is_told_apart(begin: str, most: int, is_strict: bool) -> None:
    """Against the same rule written out word by word; all lines of a few characters. Then all of
    them together: the first that is none is found at its place."""
    lines = [
        begin + "".join(characters)
        for length in range(most + 1)
        for characters in itertools.product("XFGN03. -", repeat=length)
    ]
    plain = []
    for line in lines:
        match = PLAIN_LINE.fullmatch(line.replace(" ", ""))
        is_one = match is not None and not (is_strict and len(match["number"] or "") > 5)
        assert is_plain(line, is_strict=is_strict) == is_one, line
        plain += [line] * is_one
    for line in lines[:: len(lines) // 50]:
        text = "".join(f"{one}\n" for one in [*plain, line, *plain]).encode()
        spelt = fast_words.words_of(text, is_strict=is_strict).spelt
        assert spelt == (2 * len(plain) + 1 if line in plain else len(plain)), line


HOSTILE = [
    *("X", "1", "X1", "X1.", "X1 ", " ", "\t", ".", "+-", "N", "N1", "N1 ", "G1", "G1 F1", "GX"),
    *("O", "O1", "O1 ", "\nO", "\nN1 ", "\n \t", "M", "M0", "M00", "M ", "\n", "\r", "\r\n"),
    *("X1.\n", "N1 G1 X1. Y2.\n", "nx\n"),
]


@pytest.mark.parametrize("end", ["", "\n", ";", "X"])
@pytest.mark.parametrize("begin", ["", "N1 ", "G1 X1.", "O1", "M"])
def test_no_line_takes_for_ever(begin: str, end: str) -> None:
    """Each takes a moment; going back over what was matched would take hours."""
    for piece in HOSTILE:
        text = (begin + piece * (fast.STRETCH // len(piece) + 9) + end).encode("latin-1")
        with not_for_ever(10, f"{begin!r}, {piece!r} over and over, {end!r}"):
            fast.plain_until(text, 0)
            source = Source("a.nc", text, is_main=True)
            assert isinstance(source.labels, dict)
            assert isinstance(source.styles, dict)
            assert source.numbered(0) is not None
            assert source.is_body in (True, False)


@contextmanager
def not_for_ever(seconds: int, what: str) -> Iterator[None]:
    def stop(*_: object) -> None:
        raise AssertionError(f"{what}: more than {seconds} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


NOT_GIVING_BACK = re.compile(r"(?<!\\)[*+?}]\+|\(\?>")


def strings_of(module: ModuleType) -> Iterator[str]:
    """The strings of a module's source, bytes too, and the patterns that it has put together."""
    for node in ast.walk(ast.parse(Path(str(module.__file__)).read_text())):
        if isinstance(node, ast.Constant):
            yield as_text(node.value)
    for value in vars(module).values():
        if isinstance(value, re.Pattern):
            yield as_text(value.pattern)


def as_text(value: object) -> str:
    return value.decode("latin-1") if isinstance(value, bytes) else str(value)


def test_no_pattern_needs_what_some_pythons_match_wrongly() -> None:
    """Possessive quantifiers and atomic groups came with Python 3.11; up to 3.11.4 they are at
    fault where what they hold goes back on its way (from memory of its list of changes)."""
    modules = [name for _, name, _ in pkgutil.walk_packages(millprep.__path__, "millprep.")]
    found = [
        f"{name}: {text}"
        for name in modules
        if not name.endswith("__main__")
        for text in strings_of(importlib.import_module(name))
        if NOT_GIVING_BACK.search(text)
    ]
    assert found == []
    assert len(modules) > 100


def test_what_some_pythons_match_wrongly_is_known_by_its_look() -> None:
    for pattern in (r"\d++", r"a*+", r"(?:ab)?+", r"(?:a|b){1,3}+", r"(?>ab|a)c"):
        assert NOT_GIVING_BACK.search(pattern)
    for pattern in (r"[+-]?\d+\.?", r"\++", "a + b", r"(?:ab)*\+"):
        assert not NOT_GIVING_BACK.search(pattern)


numbers = st.from_regex(r"[+-]?(?:[0-9]{1,20}\.?[0-9]{0,20}|\.[0-9]{1,20})", fullmatch=True)


@settings(max_examples=300)
@given(st.lists(numbers, min_size=1, max_size=30), st.sampled_from(["", " ", "\n", "\r\n", "\r"]))
def test_numbers_are_those_that_python_reads(written: list[str], between: str) -> None:
    text = between.join(f"X{number}" for number in written) + "\n"
    words = fast_words.words_of(text.encode(), is_strict=True)
    expected = [float(number) for number in written]
    assert words.value.tolist() == expected
    assert np.signbit(words.value).tolist() == [number[0] == "-" for number in written]
    assert words.has_point.tolist() == ["." in number for number in written]
    assert words.line.tolist() == [n if between.strip(" ") else 0 for n in range(len(written))]


def test_a_run_leaves_what_the_next_lines_need() -> None:
    run = both(START + LONG * 50 + "Y9.\nG91\n" + LONG * 50 + "Z1.\nG2 X1. Y1. R5.\nM30\n")
    assert run.is_complete
    assert len(run.moves) == 404
    assert run.moves.line[[1, -1]].tolist() == [3, 406]


@pytest.mark.parametrize(
    ("slip", "kind"),
    [
        ("X1. X2.", "repeated-word"),
        ("G1 X1. F-1.", "bad-value"),
        ("X9999999.", "bad-number"),
        ("G1 X1. F0.", "no-feed"),
        ("X" + "0" * 260 + ".", "line-too-long"),
        ("X1.", None),
        ("X12", None),
        ("N123456 X1.", None),
    ],
)
def test_a_slip_among_plain_lines_is_found_at_its_line(slip: str, kind: str | None) -> None:
    run = both(START + LONG * 50 + slip + "\n" + LONG * 50 + "M30\n")
    stops = [(f.kind, f.line) for f in run.findings if f.severity == "stop"]
    assert stops == ([] if kind is None else [(kind, 203)])


def test_no_feed_is_found_at_the_first_feed_move() -> None:
    lines = ["G21 G90 G17 G54", *["G0 X1.", "Y2."] * 50, "G1 X5.", *["Y2."] * 50]
    run = both("\n".join(lines))
    assert [(f.kind, f.line) for f in run.findings] == [("no-feed", 102)]
    assert len(run.moves) == 100


def test_a_long_program_is_bounded() -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("millprep.reading.gcode.state.MOST_MOVES", 1000)
        run = both(START + LONG * 500 + "M30\n")
    assert len(run.moves) == 1000
    assert [f.kind for f in run.findings] == ["program-too-long"]


def test_a_program_that_just_fits_is_read_to_its_end() -> None:
    """Room for one more is kept: for what the last line might ask for."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("millprep.reading.gcode.state.MOST_MOVES", 402)
        run = both(START + LONG * 100 + "M30\n")
    assert (len(run.moves), run.is_complete) == (401, True)


def test_quick_reading_is_really_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("millprep.reading.gcode.program.kept_line", _only_few)
    _only_few.left = 4  # type: ignore[attr-defined]
    run = read_program((START + "G1 X1.\n" + LONG * 5000 + "M30\n").encode(), CONTROL, file="a.nc")
    assert len(run.moves) == 20_002


def _only_few(*args: object, **named: object) -> object:
    from millprep.reading.gcode.flow.kept import kept_line

    _only_few.left -= 1  # type: ignore[attr-defined]
    assert _only_few.left >= 0, "a plain line went the slow way"  # type: ignore[attr-defined]
    return kept_line(*args, **named)  # type: ignore[arg-type]


def test_progress_is_told() -> None:
    told: list[tuple[int, int]] = []
    data = (START + LONG * 20_000 + "M30\n").encode()
    read_program(
        data, CONTROL, file="a.nc", progress=lambda done, lines, _: told.append((done, lines))
    )
    assert len(told) > 2
    assert all(lines == 80_003 for _, lines in told)
    assert np.diff([done for done, _ in told]).min() > 0
    assert np.isclose(told[-1][0], 80_003, rtol=0.3)
