"""What of flow is refused or doubted, and where: where controls differ, and what has no end."""

from pathlib import Path

import pytest

from millprep.base.findings import Finding
from millprep.cli.dryrun import _Telling
from millprep.model.shop import Control
from millprep.proven.dryrun import dry_run
from millprep.proven.program_files import beside
from millprep.reading.gcode import read_program
from millprep.reading.gcode.flow.running import Limits
from millprep.reading.moves import ProgramRun

START = "G21 G90 G17 G54 F100.\n"
SHOP: dict[str, object] = {"offsets_mm": {"G54": (0.0, 0.0, 0.0)}}


def run(text: str, limits: Limits | None = None, **control: object) -> ProgramRun:
    described = Control(**{**SHOP, **control})  # type: ignore[arg-type]
    return read_program((START + text).encode(), described, file="a.nc", limits=limits)


def of(found: ProgramRun, severity: str) -> list[Finding]:
    return [finding for finding in found.findings if finding.severity == severity]


REFUSED = [
    # lines that do not belong together
    ("endif alone", "o1 endif", 2, "bad-loop"),
    ("endwhile with another number", "o1 while [0]\no2 endwhile", 2, "bad-loop"),
    ("endwhile alone, reached", "G0 X1.\no2 endwhile", 3, "bad-loop"),
    ("ends crossed", "o1 if [1]\no2 repeat [1]\no1 endif\no2 endrepeat", 2, "bad-loop"),
    ("a number within itself", "o1 repeat [1]\no1 while [1]\no1 endwhile\no1 endrepeat", 3,
     "bad-loop"),
    ("elseif behind else", "o1 if [1]\no1 else\no1 elseif [1]\no1 endif", 2, "bad-loop"),
    ("else alone", "o1 else", 2, "bad-loop"),
    ("break outside", "o1 break", 2, "bad-loop"),
    ("break of a loop outside the sub",
     "o1 repeat [1]\no2 sub\no1 break\no2 endsub\no2 call\no1 endrepeat", 4, "bad-loop"),
    ("endsub alone", "o1 endsub", 2, "bad-loop"),
    ("sub without end", "o1 sub\nG0 X1.", 2, "bad-loop"),
    ("return outside", "o1 return", 2, "bad-loop"),
    ("/ before an O word", "/o1 if [1]\no1 endif", 2, "bad-loop"),
    ("DO without END", "#1=1\nDO1", 3, "bad-loop"),
    ("END without DO", "END2", 2, "bad-loop"),
    ("loops crossed", "DO1\nDO2\nEND1\nEND2", 2, "bad-loop"),
    ("DO1 within DO1", "DO1\nDO1\nEND1\nEND1", 3, "bad-loop"),
    ("DO4", "WHILE [1 EQ 1] DO4\nEND4", 2, "bad-loop"),
    ("words before WHILE", "#1=1 WHILE [1 EQ 2] DO1\nEND1", 2, "bad-loop"),
    ("a loop behind THEN", "IF [1 EQ 1] THEN DO1\nEND1", 2, "bad-loop"),
    # jumps
    ("GOTO nowhere", "GOTO 7", 2, "bad-jump"),
    ("GOTO two places", "GOTO 7\nN7\nN07", 2, "bad-jump"),
    ("GOTO into a loop", "GOTO 7\nWHILE [1 EQ 1] DO1\nN7\nEND1", 2, "bad-jump"),
    ("GOTO into another program", "GOTO 7\nM30\nO1\nN7\nM99", 2, "bad-jump"),
    ("GOTO a fraction", "GOTO [7.5]\nN7", 2, "bad-value"),
    ("GOTO nothing", "GOTO #0\nN7", 2, "bad-value"),
    ("words behind GOTO", "GOTO 7 G0 X1.\nN7", 2, "bad-jump"),
    ("a move before IF", "G0 X1. IF [1 EQ 1] GOTO 7\nN7", 2, "bad-jump"),
    ("M97 nowhere", "M97 P7", 2, "bad-jump"),
    ("M97 into a loop", "M97 P7\nM30\nDO1\nN7\nEND1\nM99", 2, "bad-jump"),
    ("M99 P nowhere", "M98 P1\nM30\nO1\nM99 P7", 5, "bad-jump"),
    ("M99 P and L", "M98 P1 L2\nN7\nM30\nO1\nM99 P7", 6, "bad-subprogram"),
    # calls
    ("call of nothing", "o<a> call", 2, "bad-subprogram"),
    ("a sub twice", "o1 sub\no1 endsub\no1 sub\no1 endsub\no1 call", 6, "bad-subprogram"),
    ("endless recursion", "o1 sub\no1 call\no1 endsub\no1 call", 3, "bad-subprogram"),
    ("31 arguments", "o1 sub\no1 endsub\no1 call" + "[1]" * 31, 4, "bad-expression"),
    ("an argument not given, the caller's not 0",
     "o1 sub\nG0 X#2\no1 endsub\n#2=5\no1 call [1]", 3, "bad-parameter"),
    ("a name not set", "G0 X#<a>", 2, "bad-parameter"),
    ("a name of the caller", "o1 sub\nG0 X#<a>\no1 endsub\n#<a>=1\no1 call", 3, "bad-parameter"),
    ("a computed number before while", "#1=1\no#1 while [1]\no1 endwhile", 3, "bad-subprogram"),
    ("G65 nowhere", "G65 P7", 2, "bad-subprogram"),
    ("G65 without P", "G65 A1.", 2, "missing-word"),
    ("G65 behind words", "G0 X1. G65 P7", 2, "bad-subprogram"),
    ("G65 with N among its letters", "G65 P7 G1", 2, "bad-subprogram"),
    ("G65, a letter twice", "G65 P7 A1. A2.", 2, "repeated-word"),
    ("G65, I J K out of order", "G65 P7 K1. I2.", 2, "bad-subprogram"),
    ("G65, sets of I beside D", "G65 P7 I1. I2. D3.", 2, "bad-subprogram"),
    ("G65 again, its own changed", "G65 P1 A1. L2\nM30\nO1\n#1=#1+1\nM99", 6, "bad-subprogram"),
    ("G65 L0", "G65 P1 L0\nM30\nO1\nM99", 2, "bad-value"),
    ("M98 by itself", "M98 P1\nM30\nO1\nIF[1EQ1]GOTO5\nN5 M98 P1\nM99", 6, "bad-subprogram"),
    # both styles
    ("GOTO in a file of O words", "o1 if [0]\no1 endif\nGOTO 5\nN5", 2, "mixed-flow"),
    ("M98 in a file of O words", "o1 sub\no1 endsub\nM98 P1\nM30\nO7\nM99", 4, "mixed-flow"),
    ("a sum without brackets in O words", "o1 if [0]\no1 endif\n#1=#2+1", 4, "bad-number"),
    ("#0 in O words", "o1 if [0]\no1 endif\nG0 X#0", 4, "bad-parameter"),
    # values that controls take unlike
    ("AND beside a comparison, letters", "#1=1\nIF[#1EQ1AND#1EQ1]GOTO5\nN5", 3, "bad-expression"),
    ("AND of figures, letters", "#1=6\nIF[#1AND3]GOTO5\nN5", 3, "bad-expression"),
    ("AND beside +, O words", "#1=[0 AND 1 + 5]\no1 if [0]\no1 endif", 2, "bad-expression"),
    ("nearly equal, letters", "#1=0.1+0.2\nIF[#1LE0.3]GOTO5\nN5", 3, "bad-expression"),
    ("FIX below 0, letters", "#1=FIX[-2.5]\nGOTO5\nN5", 2, "bad-expression"),
    ("ROUND of a word, letters", "G0 XROUND[2.4]\nGOTO5\nN5", 2, "bad-expression"),
    ("MOD below 0, letters", "#1=-7\n#2=[#1MOD3]\nGOTO5\nN5", 3, "bad-expression"),
    ("a word not set, letters", "G0 X#1\nGOTO5\nN5", 2, "bad-parameter"),
    ("not set, compared with 0, letters", "IF[#1EQ0]GOTO5\nN5", 2, "bad-parameter"),
    ("set and used on one line, letters", "#1=5 G0 X#1\nGOTO5\nN5", 2, "bad-parameter"),
    ("a sign before what is not set", "G0 X-#1\nGOTO5\nN5", 2, "bad-parameter"),
    ("ROUND with a sign", "#1=2.4\nG0 X-ROUND[#1]\nGOTO5\nN5", 3, "bad-expression"),
    ("ROUND in brackets", "#1=2.4\nG0 X[ROUND[#1]+1]\nGOTO5\nN5", 3, "bad-expression"),
    ("set, and used by a computed number", "#2=1\n#1=5 G0 X##2\nGOTO5\nN5", 3, "bad-parameter"),
    ("set by a computed number, and used", "#2=1\n#[#2]=5 G0 X#1\nGOTO5\nN5", 3, "bad-parameter"),
    ("FIX of nearly 3", "#1=0.3\n#1=FIX[#1/0.1]\nGOTO5\nN5", 3, "bad-expression"),
    ("MOD of nearly a multiple", "#1=0.3\n#1=[#1MOD0.1]\nGOTO5\nN5", 3, "bad-expression"),
    ("a condition nearly 0", "#1=0.3-0.1-0.2\nIF[#1]GOTO5\nN5", 3, "bad-expression"),
    ("blanks in N", "GOTO 1\nN1 0 G0 X1.", 2, "bad-jump"),
    ("N twice, once behind a comment", "GOTO 7\nN7\n(A) N7 IF[1EQ2]GOTO 7", 2, "bad-jump"),
    ("GOTO past a label behind a comment", "M98 P1\nM30\nO1\nGOTO 7\n(A) O2\nN7\nM99", 5,
     "bad-jump"),
    ("a sign before nothing", "G65 P1\nM30\nO1\nG0 X-#1\nM99", 5, "bad-parameter"),
    ("#0 set", "#0=1\nGOTO5\nN5", 2, "bad-parameter"),
    # the control's own
    ("an alarm, #3000", "#3000=1\nGOTO5\nN5", 2, "bad-parameter"),
    ("the time, #3001", "#1=#3001\nGOTO5\nN5", 2, "bad-parameter"),
    ("modes, #4003", "#1=#4003\nGOTO5\nN5", 2, "bad-parameter"),
    ("a probe, #5061", "#1=#5061\nGOTO5\nN5", 2, "bad-parameter"),
    ("the position before it is known", "#1=#5001\nGOTO5\nN5", 2, "bad-parameter"),
    ("the position of an axis not named", "G0 X1.\n#1=#5003\nGOTO5\nN5", 3, "bad-parameter"),
    ("the position after G10", "G10 L2 P1 X1.\n#1=#5001\nGOTO5\nN5", 3, "bad-parameter"),
    ("an origin set", "#5221=1.\nGOTO5\nN5", 2, "bad-parameter"),
    # spelling
    ("IF without GOTO or THEN", "IF [1 EQ 1] G0 X1.", 2, "bad-expression"),
    ("THEN alone", "THEN #1=2", 2, "bad-expression"),
    ("ELSE in letter style", "IF [1 EQ 1] THEN #1=2 ELSE #1=3", 2, "refused-word"),
    ("GOTO without a number", "GOTO", 2, "bad-jump"),
    ("WHILE without DO", "WHILE [1 EQ 1]", 2, "bad-loop"),
    ("if without a value", "o1 if\no1 endif", 2, "bad-expression"),
    ("while with two values", "o1 while [1] [2]\no1 endwhile", 2, "bad-expression"),
    ("words behind an O word", "o1 repeat [1] G0 X1.\no1 endrepeat", 2, "bad-expression"),
    ("an O word unknown", "o1 unless [1]", 2, "refused-word"),
    ("EXISTS of a number", "o1 if [exists[#1]]\no1 endif", 2, "bad-expression"),
    ("EXISTS of the control's own", "o1 if [exists[#<_x>]]\no1 endif", 2, "bad-expression"),
    ("a repeat by half", "o1 repeat [1.5]\no1 endrepeat", 2, "bad-value"),
]  # fmt: skip


@pytest.mark.parametrize(("slip", "text", "line", "kind"), REFUSED, ids=[row[0] for row in REFUSED])
def test_refused_at_its_line(slip: str, text: str, line: int, kind: str) -> None:
    found = run(text + "\nM30\n")
    assert [(one.kind, one.line) for one in of(found, "stop")] == [(kind, line)]
    assert not found.is_complete
    assert found.read_lines < found.lines


DOUBTED = [
    ("FIX of nearly 3, O words", "#1=0.3\nG0 X[FIX[#1/0.1]]\no1 if [0]\no1 endif"),
    ("a condition nearly 0, O words", "#1=[0.3-0.1-0.2]\no1 if [#1]\no1 endif"),
    ("ROUND of nearly a half, O words", "G0 X[ROUND[1.005*100]]\no1 if [0]\no1 endif"),
    ("set and used on one line", "#1=5.\n#1=7. G0 X#1"),
    ("FIX below 0", "G0 X[FIX[-1.5]]"),
    ("MOD below 0", "G0 X[[0-1] MOD 3]"),
    ("AND of figures", "G0 X[6 AND 3]"),
    ("ROUND of a word", "#1=1.6\nG0 X ROUND[#1]"),
]


@pytest.mark.parametrize(("what", "text"), DOUBTED, ids=[row[0] for row in DOUBTED])
def test_doubted_where_letter_style_differs_or_rounding_decides(what: str, text: str) -> None:
    found = run(text + "\nM30\n")
    assert [one.kind for one in of(found, "warning")] == ["parameter-doubtful"]
    assert found.is_complete


def test_what_o_words_alone_read_is_not_doubted() -> None:
    assert not of(run("#1=5.\n#1=7. G0 X#1\nM30\n", flow="O words"), "warning")


def test_blanks_in_a_line_number_mean_nothing() -> None:
    found = run("GOTO 10\nG0 X1.\nN1 0 G0 X2.\nM30\n")
    assert not of(found, "stop")
    assert [float(x) for x in found.moves.end[0]] == [2.0]


def test_what_is_not_reached_does_no_harm() -> None:
    found = run("G0 X1.\nM30\no1 endif\nEND1\nGOTO 99\n")
    assert found.is_complete


def test_a_subprogram_that_nothing_calls_is_noted() -> None:
    found = run("o<a> sub\nG0 X!\no<a> endsub\nG0 X1.\nM2\n")
    assert found.is_complete
    assert [(one.kind, one.line) for one in of(found, "note")] == [("subprogram-not-called", 2)]
    body = b"O3001 (RING OF HOLES)\nG0 X#24 Y#25\nM99\n"
    found = read_program(body, Control(), file="a.nc")
    assert found.is_complete
    assert len(found.moves) == 0
    assert [(one.kind, one.line) for one in found.findings] == [("subprogram-not-called", 1)]


def test_a_subprogram_below_its_call_is_doubted() -> None:
    found = run("o1 call\nM2\no1 sub\nG0 X1.\no1 endsub\n")
    assert found.is_complete
    assert found.moves.end[0].tolist() == [1.0]
    assert [(one.kind, one.line) for one in of(found, "warning")] == [("subprogram-form", 2)]


@pytest.mark.parametrize(("missing", "x"), [("as before", 5.0), ("zero", 0.0)])
def test_the_shop_file_says_what_is_not_given(missing: str, x: float) -> None:
    found = run("o1 sub\nG0 X#2\no1 endsub\n#2=5\no1 call [1]\nM2\n", missing_arguments=missing)
    assert found.is_complete
    assert found.moves.end[0].tolist() == [x]


@pytest.mark.parametrize(
    ("flow", "text", "reads"),
    [
        ("O words", "o1 if [0]\no1 endif", True),
        ("O words", "GOTO 5\nN5", False),
        ("letters", "GOTO 5\nN5", True),
        ("letters", "o1 if [0]\no1 endif", False),
        ("none", "GOTO 5\nN5", False),
        ("none", "o1 if [0]\no1 endif", False),
        ("none", "M98 P1\nM30\nO1\nM99", True),
    ],
)
def test_the_shop_file_says_which_style(flow: str, text: str, reads: bool) -> None:
    found = run(text + "\nM30\n", flow=flow)
    assert found.is_complete == reads
    assert [(one.kind, one.line) for one in of(found, "stop")] == [("refused-word", 2)] * (
        not reads
    )


ENDLESS = [
    ("while", "o1 while [1]\n#1=1\no1 endwhile"),
    ("do", "o1 do\no1 while [1]"),
    ("GOTO", "N1 GOTO 1"),
    ("WHILE", "#1=1\nWHILE [#1 EQ 1] DO1\nEND1"),
    ("DO alone", "GOTO 2\nN2\nDO1\nEND1"),
    ("moves", "N1 G0 X1.\nX2.\nGOTO 1"),
    ("M99 P", "N1 G0 X1.\nM99 P1"),
    ("repeat", "o1 repeat [999999]\no2 repeat [999999]\no2 endrepeat\no1 endrepeat"),
    (
        "repeats of calls",
        "M98 P1 L9999\nM30\nO1\nM98 P2 L9999\nM99\nO2\nM98 P3 L9999\nM99\nO3\nM99",
    ),
]


@pytest.mark.parametrize(("name", "text"), ENDLESS)
def test_what_has_no_end_is_refused_after_so_many_lines(name: str, text: str) -> None:
    found = run(text + "\nM30\n", Limits(lines=90_000))
    (stop,) = of(found, "stop")
    assert stop.kind == "program-too-long"
    assert stop.line is not None
    assert 2 <= stop.line <= found.lines
    does_count = "repeat" in name
    assert ("90,000" if does_count else "no end: all is again as it was") in stop.message


def test_a_loop_that_comes_back_to_where_it_was_is_not_endless_if_it_counts() -> None:
    text = "#1=0\nN1 G0 X1.\nX0.\n#1=#1+1\nIF [#1 LT 6000] GOTO 1\nM30\n"
    assert run(text).is_complete
    assert run("o1 repeat [9000]\nG0 X1.\nX0.\no1 endrepeat\nM2\n").is_complete


def test_what_moves_nothing_is_refused_sooner() -> None:
    limits = Limits(lines=100_000, still_lines=5_000)
    still = run("N1 #1=1 (WAITING)\nGOTO 1\nM30\n", limits)
    (stop,) = of(still, "stop")
    assert "5,000 lines without a motion" in stop.message
    moving = run("#1=0\nN1 #1=#1+1\nG0 X#1\nIF [#1 LT 9000] GOTO 1\nM30\n", limits)
    assert moving.is_complete, moving.findings


def test_what_takes_too_long_is_refused_too() -> None:
    """A clock that stands at one more each time it is looked at."""
    times = iter(range(10_000))
    limits = Limits(seconds=50, clock=lambda: float(next(times)))
    found = run("N1 #1=#1+1\nGOTO 1\nM30\n", limits)
    (stop,) = of(found, "stop")
    assert (stop.kind, stop.line) == ("program-too-long", 2) or stop.line == 3
    assert "50 s" in stop.message


def test_progress_is_told_in_a_loop() -> None:
    told: list[tuple[int, int, int]] = []
    text = START + "#1=0\no1 while [#1 lt 50000]\n#1=[#1+1]\no1 endwhile\nM2\n"
    read_program(
        text.encode(), Control(), file="a.nc", progress=lambda *how_far: told.append(how_far)
    )
    assert len(told) > 3
    assert all(0 < done <= lines for done, lines, _ in told)
    assert told[0][2] < told[1][2] < told[-1][2]


@pytest.mark.parametrize("style", ["", "GOTO5\nN5"])
def test_a_position_is_asked_for_alike_with_and_without_flow_words(style: str) -> None:
    unknown = run(style + "G1 X#5041\nM2\n")
    assert [one.kind for one in of(unknown, "stop")] == ["bad-parameter"]
    known = run("G0 X5.\n" + style + "G1 X[#5041+1]\nM2\n")
    assert known.moves.end[0].tolist() == [5.0, 6.0]


def test_a_subprogram_within_another_is_above_its_call() -> None:
    inner = "o<b> sub\nG0 X2.\no<b> endsub\n"
    found = run(f"o<a> sub\n{inner}o<b> call\no<a> endsub\no<a> call\nM2\n")
    assert (found.is_complete, of(found, "warning")) == (True, [])


def test_an_end_in_a_subprogram_says_what_is_not_run() -> None:
    found = run("M98 P1\nG0 X9.\nM30\nO1\nG0 X2.\nM30\n")
    assert found.moves.end[0].tolist() == [2.0]
    (doubt,) = of(found, "warning")
    assert (doubt.line, "call on line 2 is not run" in doubt.message) == (7, True)


def test_what_follows_the_progress_begins_on_its_own_line(
    capsys: pytest.CaptureFixture[str],
) -> None:
    telling = _Telling()
    telling("a.nc", 20_000, 50_000, 0)
    telling("b.nc", 7, 9, 40_000)
    telling.end()
    telling.end()
    lines = [line.split("\r")[-1] for line in capsys.readouterr().err.split("\n")]
    assert lines == [
        "a.nc: 20000 of 50000 lines",
        "b.nc: 7 of 9 lines, 40,000 in loops and calls",
        "",
    ]


# files beside the program


def write(folder: Path, **files: str) -> None:
    for name, text in files.items():
        (folder / name.replace("__", ".")).write_text(text)


def test_a_subprogram_in_a_file_beside_it(tmp_path: Path) -> None:
    write(tmp_path, hole__ngc="o<hole> sub\nG0 X#1\no<hole> endsub [#1+1]\nM2\n")
    main = START + "G0 Z5.\no<HOLE> call [3]\nG0 Y#<_value>\nM2\n"
    found = read_program(main.encode(), Control(**SHOP), file="a.nc", beside=beside(tmp_path))  # type: ignore[arg-type]
    assert found.is_complete, found.findings
    assert found.moves.end[:, -1].tolist() == [3.0, 4.0, 5.0]
    assert found.moves.line.tolist() == [2, 3, 4]


def test_a_macro_in_a_file_beside_it(tmp_path: Path) -> None:
    write(
        tmp_path,
        O3001__nc="%\nO3001\nG0 X#24\nM98 P7\nM99\n%\n",
        O0007__NC="O7\nG0 Y1.\nG0 Y!\nM99\n",
    )
    main = START + "G65 P3001 X3.\nM30\n"
    found = read_program(main.encode(), Control(**SHOP), file="a.nc", beside=beside(tmp_path))  # type: ignore[arg-type]
    (stop,) = of(found, "stop")
    assert (stop.file, stop.line) == (str(tmp_path / "O0007.NC"), 3)
    assert stop.message.endswith(f"(in O7, called on line 4 of {tmp_path / 'O3001.nc'})")
    assert found.moves.line.tolist() == [2, 2]
    assert found.read_lines == 1


def test_moves_of_a_file_beside_it_are_told_at_the_line_of_the_call(tmp_path: Path) -> None:
    write(tmp_path, hole__ngc="o<hole> sub\nG0 X#1\nG0 Z-1.\no<hole> endsub\n")
    main = START + "o1 repeat [5]\no<hole> call [#2]\n#2=[#2+1]\no1 endrepeat\nM2\n"
    found = read_program(main.encode(), Control(**SHOP), file="a.nc", beside=beside(tmp_path))  # type: ignore[arg-type]
    assert set(found.moves.line.tolist()) == {3}


def test_a_file_in_the_other_style_is_refused(tmp_path: Path) -> None:
    write(tmp_path, O7__nc="O7\no1 repeat [2]\nG0 X1.\no1 endrepeat\nM99\n")
    main = START + "GOTO 5\nN5 M98 P7\nM30\n"
    found = read_program(main.encode(), Control(**SHOP), file="a.nc", beside=beside(tmp_path))  # type: ignore[arg-type]
    assert [(one.kind, one.file, one.line) for one in of(found, "stop")] == [
        ("mixed-flow", "a.nc", 3)
    ]


def test_only_one_file_of_the_folder_will_do(tmp_path: Path) -> None:
    (tmp_path / "in").mkdir()
    write(tmp_path, a__nc="o<a> sub\no<a> endsub\n")
    find = beside(tmp_path / "in")
    assert find("a") is None
    assert find("../a") is None
    (tmp_path / "in" / "a.nc").symlink_to(tmp_path / "a.nc")
    assert find("a") is None
    write(tmp_path / "in", b__nc="x", B__ngc="y")
    assert isinstance(find("b"), str)


def test_the_dry_run_finds_them(tmp_path: Path) -> None:
    write(tmp_path, hole__nc="o<hole> sub\nG0 X#1\no<hole> endsub\n")
    write(tmp_path, main__nc=START + "G0 Z5.\no<hole> call [3]\nM2\n")
    done = dry_run([tmp_path / "main.nc"])
    assert done.report.as_read[0].moves.end[0].tolist() == [0.0, 3.0]
    write(tmp_path, hole__nc="o<hole> sub\nG0 X!\no<hole> endsub\n")
    words = "".join(dry_run([tmp_path / "main.nc"]).text().split())
    assert f"stop{tmp_path / 'hole.nc'}line2:" in words
    assert f"(ino<hole>,calledonline3of{tmp_path / 'main.nc'})" in words
    unknown = dry_run([("main.nc", (tmp_path / "main.nc").read_bytes())])
    assert "bad-subprogram" in [one.kind for one in unknown.findings]
