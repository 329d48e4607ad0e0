"""Recognising lines, the tables of codes, and the tools of a program."""

import re
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from millprep.base.findings import Finding
from millprep.model.shop import Control
from millprep.model.tools import BoringHead, Drill, EndMill, Reamer, SpotDrill, Tap, Tool
from millprep.reading.gcode import read_program
from millprep.reading.gcode.acting import VERBS
from millprep.reading.gcode.codes import (
    BY_HABIT,
    G_CODES,
    G_MEANINGS,
    LETTERS,
    M_CODES,
    M_MEANINGS,
    ORDER,
)
from millprep.reading.gcode.recognise import recognise
from millprep.reading.gcode.toolbook import read_tool_line
from millprep.reading.moves import ProgramRun

LISTED = {"G54": (0.0, 0.0, 0.0)}
START = "G21 G90 G17 G54 G98 F100.\n"


def run(text: str, *, tools: tuple[Tool, ...] = (), **control: object) -> ProgramRun:
    described = Control(**{"offsets_mm": LISTED, **control})  # type: ignore[arg-type]
    return read_program(text.encode(), described, file="a.nc", tools=tools)


def kinds(found: ProgramRun) -> list[str]:
    return [finding.kind for finding in found.findings]


def test_words_of_a_line() -> None:
    line = recognise("/n0120 g1x-1.5y+.25(over, here)Z 2 m8 ; later", 7)
    assert line.is_deleted
    assert (line.g, line.m, line.number) == ([10], [8], 7)
    assert {letter: word.value for letter, word in line.words.items()} == {
        "X": -1.5,
        "Y": 0.25,
        "Z": 2.0,
    }
    assert line.comments == ("over, here", " later")


def test_blanks_inside_numbers_mean_nothing() -> None:
    """NISTIR 6556, section 3.3: g0x +0. 12 34y 7 is g0 x0.1234 y7."""
    spaced, plain = recognise("g0x +0. 12 34y 7", 1), recognise("g0 x+0.1234 y7", 1)
    assert spaced.words == plain.words
    assert spaced.g == plain.g


def test_order_of_words_changes_nothing() -> None:
    """NISTIR 6556, section 3.3.6."""
    ends = [
        run(START + line + "\nM2").moves.end.tolist()
        for line in ("G91 G1 X1. Y2. F50.", "Y2. F50. X1. G1 G91", "X1. G91 F50. Y2. G1")
    ]
    assert ends[0] == ends[1] == ends[2] == [[1.0], [2.0], [0.0]]


def test_every_code_has_its_verb_and_place_in_the_order() -> None:
    codes = [*G_CODES.values(), *M_CODES.values(), *LETTERS.values(), *BY_HABIT.values()]
    for code in codes:
        assert code.verb in VERBS
        assert (code.turn or code.group) in ORDER
    assert {code.verb for code in codes} == set(VERBS)
    assert not set(G_CODES) & set(G_MEANINGS)
    assert not set(M_CODES) & set(M_MEANINGS)
    assert all(meaning for meaning, _ in G_MEANINGS.values())


def test_every_code_is_in_the_documentation() -> None:
    page = (Path(__file__).parents[1] / "docs" / "what-is-read.md").read_text(encoding="utf-8")
    words = set(re.findall(r"\b[GM]\d+\b", page))
    assert {f"G{code // 10}" for code in G_CODES} <= words
    assert {f"M{code}" for code in M_CODES} <= words


def test_code_of_another_number_is_offered() -> None:
    found = run("G21\nG545 X1.\n")
    stop: Finding = found.findings[0]
    assert stop.message.startswith("G545 is not read")
    assert "G54" in stop.remedy


@pytest.mark.parametrize(
    ("comment", "tool"),
    [
        ("TOOL 3 DRILL 5.000 MM POINT 118", Drill("5 mm", 5.0, point_angle_deg=118.0, number=3)),
        (
            "TOOL 3 DRILL 0.250 IN POINT 118",
            Drill("0.25 in", 6.35, point_angle_deg=118.0, number=3),
        ),
        ("TOOL 3 DRILL 1/4 inch", Drill("0.25 in", 6.35, number=3)),
        ("TOOL 3 DRILL 1/0 IN", None),
        ("TOOL 3 DRILL 1/4 MM", None),
        (
            " tool 12 spot drill 10 mm point 90 flat 0.2 ",
            SpotDrill("10 mm", 10.0, point_angle_deg=90.0, tip_flat_mm=0.2, number=12),
        ),
        (
            "TOOL 4 TAP 6.000 MM PITCH 1.000 LEAD 4 LEFT HAND",
            Tap("6 mm", 6.0, pitch_mm=1.0, lead_threads=4.0, is_left_hand=True, number=4),
        ),
        ("TOOL 5 REAMER 6.350 MM LEAD 1.5", Reamer("6.35 mm", 6.35, lead_mm=1.5, number=5)),
        ("TOOL 6 END MILL 8 MM", EndMill("8 mm", 8.0, number=6)),
        ("TOOL 7 BORING HEAD 20.5 MM", BoringHead("20.5 mm", 20.5, number=7)),
        ("TOOL 3 DRILL 5.0 CM", None),
        ("TOOL 3 AUGER 5.0 MM", None),
        ("TOOL CHANGE", None),
        ("USE TOOL 3 DRILL 5 MM", None),
        ("TOOL 3 DRILL 5 MM AND CARE", None),
    ],
)
def test_tool_lines(comment: str, tool: Tool | None) -> None:
    assert read_tool_line(comment) == tool


def test_where_a_tools_size_comes_from() -> None:
    text = (
        "(TOOL 1 DRILL 4.0 MM)\n(TOOL 2 DRILL 5.0 MM)\n" + START + "T1 M6\nT2 M6\nT3 M6\nT0 M6\nM2"
    )
    table = (SpotDrill("10 mm", 10.0, length_mm=70.0, number=1),)
    plan = {n: Reamer("6 mm", 6.0, number=n) for n in (1, 2, 3)}

    found = run(text, tools=table)
    assert {n: (t.kind, t.diameter_mm) for n, t in found.tools.items()} == {
        1: ("spot drill", 10.0),
        2: ("drill", 5.0),
        3: ("drill", None),
    }
    assert found.tool_changes == ((4, 1), (5, 2), (6, 3), (7, 0))
    assert "unknown-tool" in kinds(found)

    control = Control(offsets_mm=LISTED)
    found = read_program(text.encode(), control, file="a.nc", tools=table, plan_tools=plan)
    assert found.tools[2].kind == "drill"
    assert found.tools[3].kind == "reamer"
    assert "tools-from-plan" in kinds(found)
    del plan[2]
    found = read_program(text.encode(), control, file="a.nc", tools=table, plan_tools=plan)
    assert found.tools[3].diameter_mm is None


def test_length_offset_and_real_length_make_the_shift() -> None:
    """Tip = gauge point - real length; gauge point = reading + origin + offset in force."""
    table = (
        Drill("5 mm", 5.0, length_mm=75.0, number=1),
        Drill("6 mm", 6.0, length_mm=90.0, number=2),
    )
    text = START + "G0 Z200.\nT1 M6\nG43 H1 Z10.\nT2 M6\nG43 H1 Z20.\nG55 X0. Y0. Z20.\nM2"
    offsets = {"G54": (100.0, 50.0, -150.0), "G55": (130.0, 50.0, -140.0)}
    found = run(text, tools=table, offsets_mm=offsets)
    assert [f.kind for f in found.findings if f.severity == "stop"] == ["wrong-length-offset"]
    moves = found.moves
    assert moves.tool.tolist() == [0, 1, 2, 2]
    assert moves.offset.tolist() == [0, 1, 1, 1]
    assert moves.system.tolist() == [0, 0, 0, 1]
    assert_allclose(moves.shift[2], [0.0, 0.0, -15.0, -5.0])
    assert_allclose(moves.shift[0], [0.0, 0.0, 0.0, 30.0])
    assert_allclose(moves.machine_end[2], [50.0, -65.0, -55.0, -45.0])
    real = {0: 0.0, 1: 75.0, 2: 90.0}
    lengths = [real[number] for number in moves.tool.tolist()]
    tip = moves.machine_end[2] - lengths - offsets["G54"][2]
    assert_allclose(moves.end[2] + moves.shift[2], tip)


def test_shift_counts_from_the_stocks_work_system() -> None:
    offsets = {"G54": (0.0, 0.0, 0.0), "G56": (10.0, 20.0, 5.0)}
    control = Control(offsets_mm=offsets)
    moves = read_program(
        (START + "G0 X1.\nG56 X1.\nM2").encode(), control, file="a.nc", stock_system="G56"
    ).moves
    assert_allclose(moves.shift.T, [[-10.0, -20.0, -5.0], [0.0, 0.0, 0.0]])


def test_length_offset_taken_and_cancelled_moves_nothing() -> None:
    table = (Drill("5 mm", 5.0, length_mm=75.0, number=1),)
    text = START + "G0 Z200.\nT1 M6\nG43 H1\nG0 X1.\nG49\nG53 G0 X2.\nM2"
    moves = run(text, tools=table).moves
    assert_allclose(moves.machine_end[2], 200.0)
    assert_allclose(moves.start[2], [0.0, 125.0, 200.0])


def test_tool_changes_without_m6() -> None:
    stop = START + "T1\nM0\nG0 X1.\nM0\nT2\nM0\nX2.\nM2"
    found = run(stop, tool_change="stop", length_offset=False)
    assert found.tool_changes == ((3, 1), (7, 2))
    assert found.moves.tool.tolist() == [1, 2]
    files = "(TOOL 4 DRILL 3.3 MM)\n" + START + "G0 X1.\nM2"
    found = run(files, tool_change="files", length_offset=False)
    assert found.moves.tool.tolist() == [4]
    assert found.tools[4].diameter_mm == 3.3


def test_a_tool_change_stops_the_spindle() -> None:
    """NISTIR 6556, section 3.6.3."""
    found = run(START + "S500 M3\nG0 X1.\nT1 M6\nX2.\nM2")
    assert found.moves.spindle.tolist() == [1, 0]
    assert found.moves.rpm.tolist() == [500.0, 500.0]


def test_spindle_left_on_shows_at_the_end() -> None:
    """NISTIR 6556, section 3.6.1, stops it at M2; not every control does."""
    text = START + "S500 M3 M8\nG0 X1.\nM30"
    assert run(text).spindle_at_end == 1
    assert run(text, strict=True).spindle_at_end == 0


def test_repeated_findings_are_counted() -> None:
    found = run(START + "G1 X1. M5\nG1 X2. M5\nG1 X3. M5\nM2")
    (finding,) = found.findings
    assert (finding.line, finding.last_line, finding.count) == (2, 4, 3)


def test_a_program_may_place_its_stock_before_it_moves() -> None:
    """Where the shop file does not; afterwards, or against the shop file, the stock stays."""
    set_first = run("G21 G90 G17 G54\nG10 L2 P1 X10. Y20. Z-5.\nG0 X1.\nM2", offsets_mm={})
    assert kinds(set_first) == ["work-offset-unlisted", "work-offset-set"]
    assert_allclose(set_first.moves.shift[:, 0], 0.0)
    assert_allclose(set_first.moves.machine_end[:, 0], [11.0, 0.0, 0.0])

    set_late = run(START + "G0 X1.\nG10 L2 P1 X10.\nG0 X1.\nM2")
    assert [f.kind for f in set_late.findings] == ["work-offset-changed"]
    assert_allclose(set_late.moves.shift[0], [0.0, 10.0])

    touched = run("G21 G90 G17 G54\nG10 L20 P1 X5. Y0. Z1.\nG0 X0.\nM2", offsets_mm={})
    assert_allclose(touched.moves.start[:, 0], [5.0, 0.0, 1.0])
    assert_allclose(touched.moves.shift[:, 0], 0.0)


def test_shifts_move_the_tip_over_the_stock() -> None:
    moves = run(START + "G0 X4.\nG92 X7.\nG0 X7.\nG52 Y2.\nG0 Y0.\nM2").moves
    assert_allclose(moves.shift.T, [[0, 0, 0], [-3, 0, 0], [-3, 2, 0]])
    tip = moves.end + moves.shift
    assert_allclose(tip[:2].T, [[4, 0], [4, 0], [4, 2]])


def test_like_stops_on_lines_that_follow_are_one() -> None:
    text = START + "T1 M6\n" + "G43 H2\n" * 3 + "G43 H1\nG0 X1.\nG43 H2\nM2"
    stops = [f for f in run(text).findings if f.severity == "stop"]
    assert [(f.line, f.last_line, f.count) for f in stops] == [(3, 5, 3), (8, None, 1)]


def test_a_report_has_a_length() -> None:
    """1,000 warnings and notes, 2,000 with stops; the refusal is always told."""
    loads = "".join(f"T{n} M6\nG43 H9999\nG0 Z5.\n" for n in range(1, 4000))
    found = run(START + loads + "G68\n")
    rest = [f for f in found.findings if f.kind == "many-findings"]
    assert len(found.findings) - len(rest) <= 2001
    assert "2000 more of wrong-length-offset" in [f.message for f in rest]
    assert "refused-word" in kinds(found)
