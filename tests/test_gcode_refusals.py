"""The errors that a reader of programs must signal, each by a small program that makes it.

The rules are those of NISTIR 6556 at the section named, or common practice where none is.
"""

import pytest

from millprep.base.findings import Finding
from millprep.base.records import replace
from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.moves import ProgramRun

LISTED = {"G54": (0.0, 0.0, 0.0)}
START = "G21 G90 G17 G54 G98 F100.\n"
CYCLE = START + "G81 X1. Y1. Z-5. R2.\n"


def run(text: str, **control: object) -> ProgramRun:
    described = Control(**{"offsets_mm": LISTED, **control})  # type: ignore[arg-type]
    return read_program(text.encode(), described, file="a.nc")


def stops(found: ProgramRun) -> list[Finding]:
    return [finding for finding in found.findings if finding.severity == "stop"]


REFUSED = [
    # lines and words: sections 3.1 to 3.3
    ("3.3 line over 256 characters", START + "(" + "a" * 260 + ")", 2, "line-too-long"),
    ("3.3 illegal character", START + "G0 X1. !", 2, "bad-character"),
    ("3.3 other than ASCII outside a comment", START + "G0 X1. é", 2, "bad-character"),
    ("3.3 control character", START + "G0 X1.\x00", 2, "bad-character"),
    ("3.3 slash inside the line", START + "G0 X1. /Y1.", 2, "bad-character"),
    ("3.1 percent inside the program", START + "%\nM2", 2, "bad-character"),
    ("leading colon of tape code", START + ":12\nM2", 2, "bad-character"),
    ("3.3.1 signed line number", START + "N-5 G0 X1.", 2, "bad-number"),
    ("3.3.1 line number with a point", START + "N5.5 G0 X1.", 2, "bad-number"),
    ("3.3.1 line number inside the line", START + "G0 N5 X1.", 2, "bad-number"),
    ("3.3.4 comment not closed", START + "G0 (X1.", 2, "bad-comment"),
    ("3.3.4 what may be words behind a comment in one", START + "(a (b) x1)", 2, "bad-comment"),
    ("3.3.4 comment never opened", START + "G0 X1.)", 2, "bad-comment"),
    ("3.3.2.1 no digit", START + "G0 X.", 2, "bad-number"),
    ("3.3.2.1 two points", START + "G0 X1.2.3", 2, "bad-number"),
    ("3.3.2.1 two signs", START + "G0 X--1.", 2, "bad-number"),
    ("3.3.2.1 letter without number", START + "G0 X Y1.", 2, "refused-word"),
    ("3.3.2.1 last letter without number", START + "G0 X", 2, "bad-number"),
    ("3.3.2.1 number without letter", START + "12. G0 X1.", 2, "bad-number"),
    ("3.3.2.1 no exponents", START + "G0 X1E3", 2, "refused-word"),
    ("number beyond any machine", START + "G0 X10000000.", 2, "bad-number"),
    ("3.3.2.2 parameter 0", START + "G0 X#0", 2, "bad-parameter"),
    ("3.3.2.2 parameter 5400", START + "G0 X#5400", 2, "bad-parameter"),
    ("3.3.2.2 parameter not whole", START + "G0 X#1.5", 2, "bad-parameter"),
    ("3.3.2.2 parameter below 0", START + "G0 X#-1", 2, "bad-parameter"),
    ("3.3.2.2 nothing behind #", START + "G0 X#", 2, "bad-expression"),
    ("3.3.3 parameter setting without =", START + "#3", 2, "bad-parameter"),
    ("3.3.3 parameter setting without value", START + "#3=", 2, "bad-expression"),
    ("3.2.1 parameter 5220 set to 10", START + "#5220=10", 2, "bad-parameter"),
    ("3.2.1 origin set behind the back", START + "#5221=10", 2, "bad-parameter"),
    ("3.2.1 probe result that nobody has", START + "G0 X#5061", 2, "bad-parameter"),
    ("named parameter", START + "G0 X#<depth>", 2, "bad-parameter"),
    ("name without its >", START + "#<depth = 2", 2, "bad-parameter"),
    ("3.3.2.3 bracket not closed", START + "G0 X[1+2", 2, "bad-expression"),
    ("3.3.2.3 bracket closed twice", START + "G0 X[1+2]]", 2, "bad-character"),
    ("3.3.2.3 empty brackets", START + "G0 X[]", 2, "bad-expression"),
    ("3.3.2.3 operator without value", START + "G0 X[1+]", 2, "bad-expression"),
    ("3.3.2.3 unknown operator", START + "G0 X[1 AS 2]", 2, "bad-expression"),
    ("3.3.2.3 operator outside brackets", START + "G0 X1+2", 2, "bad-number"),
    ("3.3.2.3 brackets too deep", START + "G0 X" + "[" * 100 + "1" + "]" * 100, 2,
     "bad-expression"),
    ("3.3.2.2 # too deep", START + "G0 X" + "#" * 100 + "1", 2, "bad-expression"),
    ("3.3.2.4 unknown function", START + "G0 X SINH[30]", 2, "bad-expression"),
    ("3.3.2.4 function without brackets", START + "G0 X SIN 30", 2, "refused-word"),
    ("3.3.2.4 ATAN with one part", START + "G0 X ATAN[1]", 2, "bad-expression"),
    ("division by zero", START + "G0 X[1/0]", 2, "bad-expression"),
    ("MOD zero", START + "G0 X[1 MOD 0]", 2, "bad-expression"),
    ("SQRT below 0", START + "G0 X SQRT[-1]", 2, "bad-expression"),
    ("LN of 0", START + "G0 X LN[0]", 2, "bad-expression"),
    ("ASIN over 1", START + "G0 X ASIN[1.01]", 2, "bad-expression"),
    ("ACOS under -1", START + "G0 X ACOS[-1.01]", 2, "bad-expression"),
    ("negative base, broken exponent", START + "G0 X[-8**[1/3]]", 2, "bad-expression"),
    ("overflow", START + "G0 X[1/EXP[999]]", 2, "bad-expression"),
    ("overflow of a product", START + "G0 X[10**300*10**300]", 2, "bad-expression"),
    ("result beyond any machine", START + "G0 X[10**7]", 2, "bad-number"),
    ("a signed value to a power", START + "G0 X[-#1**2]", 2, "bad-expression"),
    ("condition without its end", START + "O100 IF [1]", 2, "bad-loop"),
    ("condition that leads nowhere", START + "IF [#1 EQ 2]", 2, "bad-expression"),
    ("jump to nowhere", START + "GOTO 10", 2, "bad-jump"),
    ("loop without its end", START + "WHILE [#1 LT 10] DO1", 2, "bad-loop"),
    ("end of a loop alone", START + "END1", 2, "bad-loop"),
    ("comment inside a word", START + "G0 X(a)1.", 2, "bad-number"),
    ("comment inside a number", START + "G0 X1.(a)5", 2, "bad-number"),
    ("program number with company", START + "O100 G0 X1.", 2, "refused-word"),
    ("3.3.5 letter twice", START + "G0 X1. X2.", 2, "repeated-word"),
    ("3.3.5 five M words", START + "M3 M6 M8 M0 M5", 2, "repeated-word"),
    ("table 3 rotary axis", START + "G0 A90.", 2, "refused-word"),
    ("table 3 no such letter", START + "G0 U1.", 2, "refused-word"),
    # codes and groups: section 3.4, table 4
    ("unknown G", START + "G12.3 X1.", 2, "refused-word"),
    ("unknown M", START + "M77", 2, "refused-word"),
    ("negative G", START + "G-1 X1.", 2, "refused-word"),
    ("G with two decimals", START + "G0.15 X1.", 2, "refused-word"),
    *[
        (f"G{code}", START + f"G{code} X1. Z-1. R1. Q1. I1. J1. K1.", 2, "refused-word")
        for code in ("41.1 D1", "42.1 D1", "16", "44", "43.1", "51", "66 P1", "68",
                     "76", "87", "88", "38.2", "28.1", "7", "5")
    ],
    ("G65 with a G", START + "G65 P1 G81 X1.", 2, "bad-subprogram"),
    ("G65 to nowhere", START + "G65 P1 X1. Z-1.", 2, "bad-subprogram"),
    ("G96, surface speed", START + "G96 S100", 2, "refused-word"),
    ("G50 with S, highest speed", START + "G50 S2000", 2, "refused-word"),
    ("two motions", START + "G0 G1 X1.", 2, "same-group"),
    ("two distances", START + "G90 G91", 2, "same-group"),
    ("cycle and its end", START + "G80 G81 X1. Z-1. R1.", 2, "same-group"),
    ("two spindle words", START + "M3 M4", 2, "same-group"),
    ("3.4 home and motion", START + "G28 G0 X1.", 2, "axis-words-twice"),
    ("3.4 origin and motion", START + "G10 L2 P1 G1 X1.", 2, "axis-words-twice"),
    ("3.4 shift and motion", START + "G92 G1 X1.", 2, "axis-words-twice"),
    ("table 4 two non-modal codes", START + "G4 P1. G53 G0 X1.", 2, "same-group"),
    ("table 4 home and shift", START + "G28 G92 X1.", 2, "same-group"),
    ("table 4 two feed modes", START + "G93 G94", 2, "same-group"),
    ("table 4 two paths", START + "G61 G64", 2, "same-group"),
    ("table 4 two work systems", START + "G54 G59.1", 2, "same-group"),
    ("table 4 two planes", START + "G17 G18", 2, "same-group"),
    ("table 4 two units", START + "G20 G21", 2, "same-group"),
    ("table 4 length offset and its end", START + "G43 H0 G49", 2, "same-group"),
    ("table 4 both return levels", START + "G98 G99", 2, "same-group"),
    ("table 4 the same code twice", START + "G1 G1 X1.", 2, "same-group"),
    ("table 4 two coolants", START + "M7 M8", 2, "same-group"),
    ("table 4 two stops", START + "M0 M30", 2, "same-group"),
    ("table 4 both overrides", START + "M48 M49", 2, "same-group"),
    ("one P for two codes", START + "G4 M98 P1", 2, "word-wanted-twice"),
    ("one L for two codes", START + "G81 X1. Z-1. R1. L2 M98 P100", 2, "word-wanted-twice"),
    ("3.5.15 axis words after G80", START + "G80\nX1.", 3, "no-motion"),
    ("axis words before any motion", START + "X1.", 2, "no-motion"),
    # words that nothing uses
    *[
        (f"{letter} that nothing uses", START + f"G0 X1. {letter}1.", 2, "unused-word")
        for letter in "HIJKLPQR"
    ],
    ("H without G43", START + "G49 H1", 2, "unused-word"),
    ("peck in a boring cycle", START + "S9 M3 G86 X1. Z-5. R1. Q1.", 2, "unused-word"),
    ("I and J in a peck cycle", START + "G83 X1. Z-5. R1. Q1. I1.", 2, "unused-word"),
    ("K for repeats", START + "G81 X1. Z-5. R1. K3", 2, "unused-word"),
    ("peck tapping", START + "S100 M3\nG84 X1. Z-5. R1. Q1.", 3, "unused-word"),
    ("cycle in force, R alone", CYCLE + "R3.", 3, "unused-word"),
    ("cycle in force, L alone", CYCLE + "L3", 3, "unused-word"),
    # motion: sections 3.5.1 to 3.5.3
    ("feed move without F", "G21 G90 G17 G54\nG1 X1.", 2, "no-feed"),
    ("feed move with F0", START + "G1 X1. F0.", 2, "no-feed"),
    ("negative feed", START + "F-1.", 2, "bad-value"),
    ("feed not given again after inches", START + "G20\nG1 X1.", 3, "no-feed"),
    ("feed before the inches on the line", START + "G20 F5. G1 X1.", 2, "no-feed"),
    ("negative speed", START + "S-1", 2, "bad-value"),
    ("arc without a centre", START + "G2 X1. Y1.", 2, "bad-arc"),
    ("arc with radius and centre", START + "G2 X1. Y1. R1. I1.", 2, "bad-arc"),
    ("arc with radius, no end", START + "G2 R1. Z-1.", 2, "bad-arc"),
    ("arc with radius, end is start", START + "G2 X0. Y0. R1.", 2, "bad-arc"),
    ("arc with radius too small", START + "G2 X10. R4.", 2, "bad-arc"),
    ("arc off its centre by 0.02 mm", START + "G2 X10. Y10.02 I10.", 2, "bad-arc"),
    ("arc with the other plane's offset", START + "G2 X1. Y1. I1. K1.", 2, "bad-arc"),
    ("arc of no radius", START + "G2 X0. Y0. I0. J0.", 2, "bad-arc"),
    ("arc, full circle or nothing", START + "G0 X10.\nG3 X10.001 I-10.", 3, "bad-arc"),
    ("3.5.17 absolute centre, one word", START + "G90.1\nG2 X1. Y1. I1.", 3, "missing-word"),
    ("turns of an arc", START + "G2 X1. Y1. I.5 P2", 2, "unused-word"),
    # feed modes: 3.5.19
    ("G93 without F on the line", START + "G93 F2.\nG1 X1.\nF2.\nX2.", 3, "no-feed"),
    ("arc in G93 without F", START + "G93\nG2 X2. I1.", 3, "no-feed"),
    ("cycle in G93", START + "G93\nG81 X1. Z-1. R1. F2.", 3, "bad-cycle"),
    ("old F after G93", START + "G93 G1 X1. F2.\nG94 X2.", 3, "no-feed"),
    ("old F after G95", START + "G95 F.1 S100 G1 X1.\nG94 X2.", 3, "no-feed"),
    ("feed per turn without speed", START + "G95 F.1 G1 X1.", 2, "no-feed"),
    # origins and shifts: 3.5.5, 3.5.18
    ("G10 without P", START + "G10 L2 X1.", 2, "missing-word"),
    ("G10 without L", START + "G10 P1 X1.", 2, "missing-word"),
    ("G10 P10", START + "G10 L2 P10 X1.", 2, "bad-offset"),
    ("G10 P negative", START + "G10 L2 P-1 X1.", 2, "bad-value"),
    ("G10 P not whole", START + "G10 L2 P1.5 X1.", 2, "bad-value"),
    ("G10 L1", START + "G10 L1 P1 Z1.", 2, "bad-offset"),
    ("G10 L11", START + "G10 L11 P1 Z1.", 2, "bad-offset"),
    ("G10 with a rotation", START + "G10 L2 P1 X1. R45.", 2, "bad-offset"),
    ("G10 in G91", START + "G91\nG10 L2 P1 X1.", 3, "bad-offset"),
    ("G92 without axis words", START + "G92", 2, "missing-word"),
    ("G92 with S", START + "G92 X1. S2000", 2, "bad-offset"),
    ("G52 without axis words", START + "G52", 2, "missing-word"),
    # dwell: 3.5.4
    ("G4 without P", START + "G4", 2, "missing-word"),
    ("G4 with negative P", START + "G4 P-1.", 2, "bad-value"),
    ("G4 with X", START + "G0 X0.\nG4 X1.", 3, "bad-dwell"),
    # offsets, home, machine coordinates: 3.5.8, 3.5.11, 3.5.12
    ("H negative", START + "G43 H-1", 2, "bad-value"),
    ("H not whole", START + "G43 H1.5", 2, "bad-value"),
    ("G43 without H and tool", START + "G43", 2, "missing-word"),
    ("G53 without G0 or G1", START + "G53 X1.", 2, "bad-machine-move"),
    ("G53 in a cycle", CYCLE + "G53 X1.", 3, "bad-machine-move"),
    ("G53 in G91", START + "G91\nG53 G0 X1.", 3, "bad-machine-move"),
    ("G53 without axis words", START + "G53 G0", 2, "missing-word"),
    ("G30 that nobody describes", START + "G91 G30 Z0.", 2, "refused-word"),
    ("G90 G28 down first", START + "G0 Z20.\nG28 Z0.", 3, "home-through-work"),
    # tools: 3.6.3, 3.7.3
    ("T negative", START + "T-1", 2, "bad-value"),
    ("T not whole", START + "T1.5", 2, "bad-value"),
    ("M6 before any T", START + "M6", 2, "missing-word"),
    # cycles: 3.5.16
    ("cycle without axis words", START + "G81 R2.", 2, "missing-word"),
    ("cycle without R", START + "G81 X1. Z-5.", 2, "missing-word"),
    ("cycle without Z", START + "G81 X1. R5.", 2, "missing-word"),
    ("other cycle without its words", CYCLE + "G82 X2. P1.", 3, "missing-word"),
    ("cycle words lost after G0", CYCLE + "G0 Z20.\nG81 X2.", 4, "missing-word"),
    ("R below Z", START + "G81 X1. Z-5. R-6.", 2, "bad-cycle"),
    ("G82 without P", START + "G82 X1. Z-5. R2.", 2, "missing-word"),
    ("G82 with negative P", START + "G82 X1. Z-5. R2. P-1.", 2, "bad-value"),
    ("G83 without Q", START + "G83 X1. Z-5. R2.", 2, "missing-word"),
    ("G83 with Q0", START + "G83 X1. Z-5. R2. Q0.", 2, "bad-value"),
    ("G73 with negative Q", START + "G73 X1. Z-5. R2. Q-1.", 2, "bad-value"),
    ("L0", START + "G81 X1. Z-5. R2. L0", 2, "bad-value"),
    ("L not whole", START + "G81 X1. Z-5. R2. L1.5", 2, "bad-value"),
    ("G84, spindle stopped", START + "G84 X1. Z-5. R2.", 2, "bad-cycle"),
    ("G84, spindle anticlockwise", START + "S100 M4\nG84 X1. Z-5. R2.", 3, "bad-cycle"),
    ("G86, spindle stopped", START + "G86 X1. Z-5. R2. P1.", 2, "bad-cycle"),
    ("G89 without P", START + "G89 X1. Z-5. R2.", 2, "missing-word"),
    ("G89 with negative P", START + "G89 X1. Z-5. R2. P-1.", 2, "bad-value"),
    ("cycle in another plane", START + "G18\nG81 X1. Z-5. R2.", 3, "bad-cycle"),
    ("incremental line without R and Z", CYCLE + "G91 X1.", 3, "bad-cycle"),
    ("cycle without feed", "G21 G90 G17 G54 G98\nG81 X1. Z-5. R2.", 2, "no-feed"),
    ("pecks without number", START + "G83 X1. Z-100000. R2. Q0.001", 2, "bad-cycle"),
    # subprograms: common practice
    ("M98 without P", START + "M98", 2, "missing-word"),
    ("M98 to nowhere", START + "M98 P100", 2, "bad-subprogram"),
    ("M98 with a packed count", START + "M98 P30100", 2, "bad-subprogram"),
    ("M98 with a packed count of noughts", START + "M98 P00100", 2, "bad-subprogram"),
    ("M98 P not whole", START + "M98 P1.5", 2, "bad-value"),
    ("M98 L0", START + "M98 P100 L0", 2, "bad-value"),
    ("M98 with K", START + "M98 P100 K2", 2, "unused-word"),
    ("M99 in the main program", START + "G0 X1.\nM99", 3, "bad-subprogram"),
    ("M99 to a line", START + "M99 P10", 2, "bad-jump"),
    ("M97 to nowhere", START + "M97 P10", 2, "bad-jump"),
    ("motions without number", START + "G91 G83 X1. Z-9. R1. Q.001 L10000", 2, "program-too-long"),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "text", "line", "kind"), REFUSED, ids=[r[0] for r in REFUSED])
def test_broken_rule_is_a_stop_at_its_line(rule: str, text: str, line: int, kind: str) -> None:
    found = run(text + "\nM2\n")
    assert [(f.kind, f.line) for f in stops(found)] == [(kind, line)]
    assert not found.is_complete
    assert found.read_lines == line - 1
    assert (found.moves.line < line).all()


STRICTLY_REFUSED = [
    ("3.3.1 six digits", "N123456 G0 X1.", "bad-number"),
    ("semicolon comment", "G0 X1. ; home", "bad-comment"),
    ("O label", "O100", "refused-word"),
    ("3.5.1 G0 without axis words", "G0", "missing-word"),
    ("3.5.3.2 arc off its centre by 0.003 mm", "G2 X10. Y10.003 I10.", "bad-arc"),
    ("3.5.3.2 full circle without end", "G2 I-10.", "bad-arc"),
    ("G73 is not defined", "G73 X1. Z-5. R2. Q1.", "refused-word"),
    ("G52 is not defined", "G52 X1.", "refused-word"),
    ("G95 is not defined", "G95", "refused-word"),
    ("G97 is not defined", "G97", "refused-word"),
    ("G90.1 is not defined", "G90.1", "refused-word"),
    ("G69 is not defined", "G69", "refused-word"),
    ("G50 is not defined", "G50", "refused-word"),
    ("G15 is not defined", "G15", "refused-word"),
    ("G10 L20 is not defined", "G10 L20 P1 X0.", "bad-offset"),
    ("G10 P0 is not defined", "G10 L2 P0 X0.", "bad-offset"),
    ("G64 P is not defined", "G64 P.01", "unused-word"),
    ("appendix E, a sign before #", "#1=2 G0 X-#1", "bad-expression"),
    ("appendix E, a sign before [", "G0 X-[2]", "bad-expression"),
    ("3.5.16.7 G86 without P", "S100 M3 G86 X1. Z-5. R2.", "missing-word"),
    ("3.5.11 H without a tool table entry", "G43 H1", "bad-value"),
]


@pytest.mark.parametrize(
    ("rule", "line", "kind"), STRICTLY_REFUSED, ids=[r[0] for r in STRICTLY_REFUSED]
)
def test_strict_refuses_what_is_otherwise_accepted(rule: str, line: str, kind: str) -> None:
    text = START + line + "\nM2\n"
    assert [(f.kind, f.line) for f in stops(run(text, strict=True))] == [(kind, 2)]
    assert not stops(run(text))


CONTROLS = [
    ("no units", {"units": None}, "G90 G17 G54\nG0 X1.", 2, "units-unstated"),
    ("no cycles", {"cycles": frozenset({"G81"})}, START + "G83 X1. Z-5. R1. Q1.", 2,
     "unknown-cycle"),
    ("G74, strict", {"cycles": {"G74"}, "strict": True}, START + "G74 X1. Z-5. R1.", 2,
     "refused-word"),
    ("G74 that nobody lists", {}, START + "S90 M4\nG74 X1. Z-5. R1.", 3, "unknown-cycle"),
    ("G74, clockwise", {"cycles": {"G74"}}, START + "S90 M3\nG74 X1. Z-5. R1.", 3, "bad-cycle"),
    ("no tapping", {"tapping": "none"}, START + "S90 M3\nG84 X1. Z-5. R1.", 3, "unknown-cycle"),
    ("no Z", {"axes": "xy"}, START + "G0 Z1.", 2, "refused-word"),
    ("no Z in G53", {"axes": "xy"}, START + "G53 G0 Z0.", 2, "refused-word"),
    ("no cycles without Z", {"axes": "xy"}, START + "G81 X1. Z-1. R1.", 2, "unknown-cycle"),
    ("no M6", {"tool_change": "stop"}, START + "T1 M6", 2, "control-lacks"),
    ("no G43", {"length_offset": False}, START + "T1 M6\nG43 H1", 3, "control-lacks"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("lacks", "control", "text", "line", "kind"), CONTROLS, ids=[c[0] for c in CONTROLS]
)
def test_what_the_control_lacks_is_refused(
    lacks: str, control: dict[str, object], text: str, line: int, kind: str
) -> None:
    assert [(f.kind, f.line) for f in stops(run(text, **control))] == [(kind, line)]


DOUBTED = [
    ("no decimal point", START + "G0 X10", "warning", "no-decimal-point", 2),
    ("units assumed", "G90 G17 G54\nG0 X1.", "warning", "unstated-mode", 2),
    ("distance assumed", "G21 G17 G54\nG0 X1.", "warning", "unstated-mode", 2),
    ("plane assumed", "G21 G90 G54\nG0 X1.", "note", "unstated-mode", 2),
    ("system assumed", "G21 G90 G17\nG0 X1.", "note", "unstated-mode", 2),
    ("return level assumed", "G21 G90 G17 G54 F9.\nG81 X1. Z-1. R1.", "warning",
     "unstated-return-level", 2),
    ("G98 after G99", CYCLE + "G99 X2.\nG98 X3.", "warning", "return-level-doubtful", 4),
    ("M5 with a feed move", START + "G1 X1. M5", "warning", "stop-with-feed", 2),
    ("M9 with a cycle", CYCLE + "X2. M9", "warning", "stop-with-feed", 3),
    ("units switched on the way", START + "G0 X1.\nG20", "warning", "units-switched", 3),
    ("circle without end", START + "G2 I1.", "warning", "full-circle-without-end", 2),
    ("3.5.3.1 half circle by radius", START + "G2 X10. R5.", "warning", "arc-doubtful", 2),
    ("3.5.3.1 nearly full circle by radius", START + "G2 X1. R-10.", "warning", "arc-doubtful", 2),
    ("nearly closed circle", START + "G0 X10.\nG3 Y-.001 I-10.", "warning", "arc-doubtful", 3),
    ("H without a tool", START + "G43 H1", "warning", "unchecked-length-offset", 2),
    ("a long dwell", START + "G4 P500.", "warning", "long-dwell", 2),
    ("the same hole again", CYCLE + "X2. L3", "warning", "same-hole-again", 3),
    ("bare motion", START + "G1", "note", "bare-motion", 2),
    ("G92", START + "G0 X1.\nG92 X0.", "warning", "work-shift", 3),
    ("G92.3 before any G92", START + "G92.3", "warning", "work-shift", 2),
    ("G10 after the program has moved", START + "G0 X1.\nG10 L2 P1 X5.", "warning",
     "work-offset-changed", 3),
    ("G10 on a listed system", START + "G10 L2 P1 X5.", "warning", "work-offset-changed", 2),
    ("parameter before it is set", START + "G0 X#3", "warning", "parameter-doubtful", 2),
    ("parameter of the control", START + "G0 X#5221", "warning", "parameter-doubtful", 2),
    ("parameter of many a control", START + "#3000=1", "warning", "parameter-doubtful", 2),
    ("a sign before a parameter", START + "#1=2\nG0 X-#1", "note", "signed-expression", 3),
    ("G52", START + "G52 X1.", "note", "temporary-shift", 2),
    ("G64", START + "G64", "note", "path-may-round", 2),
    ("G64 with a tolerance", START + "G64 P.01", "note", "path-may-round", 2),
    ("M60", START + "M60", "note", "pallet-change", 2),
    ("cycle where it stands", START + "G81 Z-5. R2.", "note", "cycle-at-place", 2),
    ("a single peck", START + "G83 X1. Z-5. R2. Q9.", "note", "single-peck", 2),
    ("system not listed", START + "G55", "note", "work-offset-unlisted", 2),
    ("comment like a tool line", START + "(TOOL 3 BRADAWL 5 MM)", "note", "tool-line-not-read", 2),
]  # fmt: skip


@pytest.mark.parametrize(
    ("doubt", "text", "severity", "kind", "line"), DOUBTED, ids=[d[0] for d in DOUBTED]
)
def test_doubtful_is_said_and_read_on(
    doubt: str, text: str, severity: str, kind: str, line: int
) -> None:
    found = run(text + "\nM2\n")
    assert found.is_complete
    assert (severity, kind, line) in [(f.severity, f.kind, f.line) for f in found.findings]
    assert not stops(found)


def test_nothing_is_said_of_a_careful_program() -> None:
    text = START + "G40 G49 G80 G94\nS900 M3\nG0 Z5.\nG99 G81 X1. Y1. Z-5. R2.\nX2.\nG80\nM5\nM30"
    assert run(text).findings == ()


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("T1 M6\nG0 G43 H2 Z5.", "wrong-length-offset"),
        ("G0 Z50.\nT1 M6\nG0 X1.\nZ5.", "no-length-offset"),
        ("T1 M6\nG0 G43 H1 Z50.\nT2 M6\nG0 Z5.", "no-length-offset"),
        ("T1 M6\nG0 Z50.\nG43 H0 Z5.", "no-length-offset"),
        ("T1 M6\nG0 G43 H1 Z50.\nG49\nG0 Z5.", "no-length-offset"),
    ],
)
def test_a_wrong_length_is_a_stop_and_reading_goes_on(text: str, kind: str) -> None:
    found = run(START + text + "\nG0 X9.\nM2\n")
    assert [f.kind for f in stops(found)] == [kind]
    assert found.is_complete
    assert found.moves.end[0, -1] == 9.0


def test_touching_off_needs_no_length_offset() -> None:
    found = run(START + "G0 Z50.\nT1 M6\nG0 Z5.\nM2\n", length_offset=False)
    assert not stops(found)


def test_a_move_after_cancelling_the_offset_is_doubted() -> None:
    begin = START + "T1 M6\nG0 G43 H1 Z50.\nG49\n"
    assert "move-after-length-cancel" in {f.kind for f in run(begin + "G0 Z60.\nM2").findings}
    assert "move-after-length-cancel" not in {
        f.kind for f in run(begin + "G53 G0 Z90.\nG0 X1.\nM2").findings
    }


def test_messages_name_what_was_given_and_what_to_do() -> None:
    found = run(START + "G2 X10. R4.\nM2\n")
    assert str(stops(found)[0]) == (
        "a.nc:2: stop: G2: R 4 mm is less than half the 10.0000 mm from start to end\n"
        "    R is 5.0000 mm or more"
    )
    inch = replace(stops(run(START + "G2 X10. R4.\nM2\n"))[0], units="inch")
    assert inch.message == "G2: R 0.1575 in is less than half the 0.39370 in from start to end"
    found = run(START + "G89 X1. Z-5. R1. P1. Q1.\nM2\n")
    assert str(stops(found)[0]) == (
        "a.nc:2: stop: no code on the line uses Q1.\n    it belongs with G73 or G83"
    )
    found = run("G21 G90\nG68 R45.\n")
    assert str(stops(found)[0]) == (
        "a.nc:2: stop: G68 (rotation of coordinates) is not read; what follows it cannot be "
        "judged\n    write the rotated figures"
    )


@pytest.mark.parametrize("is_strict", [False, True])
@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("G41.1 D5. X2.", "write the path of the tool's centre"),
        ("G68 R45.", "write the rotated figures"),
        ("G51 P2", "write the scaled figures"),
    ],
)
def test_what_changes_geometry_is_refused_in_either_mode(
    line: str, words: str, is_strict: bool
) -> None:
    """With what to do; the moves up to there are reported."""
    found = run(START + "G0 X1.\nX2.\n" + line + "\nX3.\nM2\n", strict=is_strict)
    (stop,) = stops(found)
    assert (stop.kind, stop.line, found.read_lines) == ("refused-word", 4, 3)
    assert words in stop.remedy
    assert found.moves.end[0].tolist() == [1.0, 2.0]


ACCEPTED = [
    "G15", "G50", "G69", "G97", "G40", "G61", "G61.1", "G94", "M48", "M49", "M7", "M9", "G91.1",
    "G90.1", "O100", "G59.1", "G59.2", "G59.3", "N1234567", "G92.1", "G92.2", "M1",
]  # fmt: skip


@pytest.mark.parametrize("line", ACCEPTED)
def test_harmless_codes_are_read(line: str) -> None:
    found = run(START + line + "\nG0 X1.\nM2\n")
    assert found.is_complete
    assert found.moves.end[:, -1].tolist() == [1.0, 0.0, 0.0]


# the frame of a file


def test_percent_lines_frame_the_program() -> None:
    """NISTIR 6556, section 3.1: nothing after the second one is read."""
    found = run("\n % \nG21 G90 G17 G54\nG0 X1.\n%\nthis is not read\n")
    assert found.findings == ()
    assert (found.lines, found.read_lines, len(found.moves)) == (6, 6, 1)


@pytest.mark.parametrize(
    ("text", "severity", "kind"),
    [
        ("%\nG21\n", "stop", "no-closing-percent"),
        ("%\nG21\nM30\n", "warning", "no-closing-percent"),
        ("G21\n", "warning", "no-program-end"),
        ("", "warning", "no-program-end"),
        ("G21\nM30\nG0 X1.\n", "note", "text-after-end"),
    ],
)
def test_how_a_file_ends(text: str, severity: str, kind: str) -> None:
    assert [(f.severity, f.kind) for f in run(text).findings] == [(severity, kind)]


def test_the_move_on_the_last_line_is_made() -> None:
    """NISTIR 6556, table 8: M2 comes last on its line."""
    assert run(START + "G0 X50. M2").moves.end[0].tolist() == [50.0]


def test_block_delete_leaves_lines_out() -> None:
    text = START + "G0 Z9.\n/G49 G0 Z5.\n/G80\nX2.\nM2\n"
    on = run(text, block_delete=True)
    assert on.moves.end[:, -1].tolist() == [2.0, 0.0, 9.0]
    assert [(f.severity, f.kind, f.line) for f in on.findings] == [("note", "block-delete", 3)]
    off = run(text)
    assert [(f.severity, f.kind) for f in off.findings if f.kind == "no-motion"] == [
        ("stop", "no-motion")
    ]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("G0 X10000000.", "X10000000. is beyond any machine"),
        ("N5.5 G0 X1.", "N5.5 is no line number"),
        ("G0 X1.2.3", "X1.2.3 is not a word"),
        ("G1.05 X1.", "G1.05 is not a code that is read"),
        ("G0 X1. X2.", "X is twice on the line: X1. and X2."),
    ],
)
def test_what_is_refused_is_told_as_it_is_written(line: str, said: str) -> None:
    (stop,) = stops(run(START + line + "\nM2\n"))
    assert said in stop.message.replace('"', "")


@pytest.mark.parametrize(
    ("form", "is_strict", "is_read"),
    [
        ("L2", True, True),
        ("L2", False, True),
        ("L20", True, False),
        ("L20", False, True),
        ("L3", True, False),
        ("L3", False, False),
    ],
)
def test_the_forms_of_g10(form: str, is_strict: bool, is_read: bool) -> None:
    found = run(START + f"G10 {form} P1 X1.\nG0 X0.\nM2\n", strict=is_strict)
    assert found.is_complete == is_read


def test_a_peck_as_deep_as_the_hole_is_none_too_many() -> None:
    kinds = [
        {one.kind for one in run(CYCLE + f"G83 X2. Z-2. R1. Q{q}\nM2\n").findings} for q in (3, 3.1)
    ]
    assert ["single-peck" in each for each in kinds] == [False, True]


@pytest.mark.parametrize(
    ("line", "blind"), [("G0 Z5.", 0), ("G10 L2 P1 Z5.", 1), ("G28", 0), ("G28 X0.", 1)]
)
def test_what_says_how_high_the_tool_stands(line: str, blind: int) -> None:
    """Moves before any Z, but that of G10; all axes home say it too."""
    assert run(START + line + "\nG0 X7.\nZ9.\nM2\n").blind_moves == blind


@pytest.mark.parametrize(("motion", "is_read"), [("G0", True), ("G1", True), ("G2", False)])
def test_machine_coordinates_are_driven_to_straight(motion: str, is_read: bool) -> None:
    found = run(START + f"G53 {motion} Z-3.\nM2\n")
    assert found.is_complete == is_read
    assert [int(kind) for kind in found.moves.kind] == (
        [0 if motion == "G0" else 1] if is_read else []
    )
