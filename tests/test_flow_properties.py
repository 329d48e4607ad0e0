"""Flow of any shape: told in both styles and written out by hand it moves alike, and ends.

Programs are drawn as trees, and run as trees by the tests; their text is what millprep reads.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from test_gcode_fuzz import PROGRAMS, REAL

from millprep.model.shop import Control
from millprep.reading.gcode import read_program
from millprep.reading.gcode.flow.running import Limits
from millprep.reading.moves import ProgramRun

START = "G21 G90 G17 G54 G98 F100.\n"
CONTROL = Control(offsets_mm={"G54": (0.0, 0.0, 0.0)})
FEW = Limits(lines=3000)
Tree = list["Node"]


@dataclass
class Node:
    """kind : "move", "set", "repeat", "if" or "call"; its figures and what stands in it

    A move goes to X of #100 and Y of a figure, a set adds to #100, an if asks whether it is less.
    """

    kind: str
    figure: int
    inner: Tree = field(default_factory=list)
    other: Tree = field(default_factory=list)


leaves = st.builds(Node, st.sampled_from(["move", "set"]), st.integers(-9, 9))
trees = st.recursive(
    st.lists(leaves, min_size=1, max_size=3),
    lambda inner: st.lists(
        leaves
        | st.builds(Node, st.just("repeat"), st.integers(0, 4), inner)
        | st.builds(Node, st.just("if"), st.integers(-5, 20), inner, inner)
        | st.builds(Node, st.just("call"), st.integers(0, 9), inner),
        max_size=4,
    ),
    max_leaves=12,
)


class Walk:
    """Runs a tree; its moves are the program written out by hand."""

    def __init__(self, tree: Tree) -> None:
        self.value = 0
        self.moves: list[tuple[int, int]] = []
        self.run(tree)

    def run(self, tree: Tree) -> None:
        for node in tree:
            if node.kind == "move":
                self.moves.append((self.value, node.figure))
            elif node.kind == "set":
                self.value += node.figure
            elif node.kind == "repeat":
                for _ in range(node.figure):
                    self.run(node.inner)
            elif node.kind == "if":
                self.run(node.inner if self.value < node.figure else node.other)
            else:
                self.moves.append((self.value, node.figure))
                self.run(node.inner)


class Written:
    """A tree as text, in one of the styles."""

    def __init__(self, style: str) -> None:
        self.is_o = style == "O words"
        self.numbers = 0
        self.subs: list[str] = []

    def program(self, tree: Tree) -> str:
        main = self.lines(tree, 0)
        text = ["#100=0", *main, "M30"]
        return "\n".join([*self.subs, *text] if self.is_o else [*text, *self.subs]) + "\n"

    def lines(self, tree: Tree, deep: int) -> list[str]:
        return [line for node in tree for line in self.node(node, deep)]

    def node(self, node: Node, deep: int) -> list[str]:
        self.numbers += 1
        n = self.numbers
        if node.kind == "move":
            return [f"G1 X#100 Y{node.figure}."]
        if node.kind == "set":
            return [f"#100=[#100+{node.figure}]"]
        inner, other = self.lines(node.inner, deep + 1), self.lines(node.other, deep + 1)
        if node.kind == "if" and self.is_o:
            begin, middle = f"o{n} if [#100 lt {node.figure}]", f"o{n} else"
            return [begin, *inner, middle, *other, f"o{n} endif"]
        if node.kind == "if":
            begin, skip = f"IF [#100 LT {node.figure}] GOTO {n}", f"GOTO 1{n:05}"
            return [begin, *other, skip, f"N{n}", *inner, f"N1{n:05}"]
        if node.kind == "repeat" and self.is_o:
            return [f"o{n} repeat [{node.figure}]", *inner, f"o{n} endrepeat"]
        if node.kind == "repeat":
            count = f"#{100 + n}"
            begin = [f"{count}=0", f"N{n} IF [{count} GE {node.figure}] GOTO 1{n:05}"]
            return [*begin, *inner, f"{count}={count}+1", f"GOTO{n}", f"N1{n:05}"]
        return self.call(n, node.figure, inner)

    def call(self, n: int, figure: int, inner: list[str]) -> list[str]:
        if self.is_o:
            self.subs += [f"o{n} sub", "G1 X#100 Y#1", *inner, f"o{n} endsub"]
            return [f"o{n} call [{figure}]"]
        self.subs += [f"O{n}", "G1 X#100 Y#1", *inner, "M99"]
        return [f"G65 P{n} A{figure}."]


def read(text: str, *, line_by_line: bool = False, limits: Limits | None = None) -> ProgramRun:
    data = (START + text).encode()
    return read_program(
        data, CONTROL, file="a.nc", line_by_line=line_by_line, limits=limits or Limits()
    )


@settings(max_examples=200)
@given(trees, st.sampled_from(["O words", "letters"]))
def test_both_styles_move_as_the_tree_does(tree: Tree, style: str) -> None:
    text = Written(style).program(tree)
    found = read(text)
    expected = Walk(tree).moves
    assert found.is_complete, (text, found.findings)
    assert list(zip(*found.moves.end[:2].tolist(), strict=True)) == expected
    slow = read(text, line_by_line=True)
    assert found.findings == slow.findings
    assert_allclose(found.moves.end, slow.moves.end, atol=0)
    assert found.moves.line.tolist() == slow.moves.line.tolist()


@settings(max_examples=100)
@given(trees)
def test_a_loop_written_out_by_hand_moves_as_the_loop(tree: Tree) -> None:
    by_hand = "".join(f"G1 X{x}. Y{y}.\n" for x, y in Walk(tree).moves) + "M30\n"
    plain, flowing = read(by_hand), read(Written("O words").program(tree))
    assert_allclose(plain.moves.end, flowing.moves.end, atol=0)
    assert plain.moves.kind.tolist() == flowing.moves.kind.tolist()
    assert_allclose(plain.moves.feed, flowing.moves.feed, atol=0)


NOT_CALLED = {"O words": "o900 sub\nG0 X!\no900 endsub\n", "letters": "O900\nIF[1EQ2]GOTO5\nM99\n"}


@settings(max_examples=150)
@given(PROGRAMS | st.sampled_from([one.decode("latin-1") for one in REAL]))
def test_a_program_without_flow_reads_as_before(text: str) -> None:
    """What stands behind its end, with words of flow or not, changes neither moves nor findings."""
    text = re.sub(r"#|M9[89]|%", "G1", text)
    plain = read(text + "\nM30\n")
    for style, more in NOT_CALLED.items():
        found = read(f"{text}\nM30\n{more}")
        assert_allclose(found.moves.end, plain.moves.end, atol=0), style
        said = [one for one in found.findings if one.kind != "text-after-end"]
        assert said == [one for one in plain.findings if one.kind != "text-after-end"]


LABELS = st.sampled_from(["o1", "o2", "o<a>", "o3", "O0004", "o#1", "o[1+1]"])
VALUES = st.sampled_from(["[#1 lt 3]", "[1]", "[0]", "[#2]", "[2]", "[#<a>]", "[1/0]", "[", "[#1]"])
O_LINES = st.tuples(
    LABELS,
    st.sampled_from(["sub", "endsub", "return", "call", "if", "elseif", "else", "endif", "while",
                     "endwhile", "do", "repeat", "endrepeat", "break", "continue", ""]),
    st.lists(VALUES, max_size=2).map(" ".join),
).map(" ".join)  # fmt: skip
LETTER_LINES = st.sampled_from([
    "IF [#1 LT 3] GOTO 1", "IF [#1 EQ 3] THEN #1=#1+1", "GOTO 2", "GOTO#1", "GOTO[#1+1]", "GOTO",
    "WHILE [#1 LT 3] DO1", "WH[#2LE2]DO2", "DO1", "DO3", "END1", "END2", "END3", "N1", "N2", "N3",
    "N1 G0 X1.", "M98 P1", "M98 P2 L3", "M97 P1", "M97 P2 L2", "M99", "M99 P1", "G65 P1 A1.", "O1",
    "G65 P2 A#1 B#0", "O2", "M30", "IF [#1 EQ #0] THEN M99", "DO2 #1=#1+1 IF[#1GT2]GOTO3", "/GOTO1",
    "WHILE [1 EQ 1] DO1 END1", "THEN", "IF [", "END", "#0=1", "#1=#0", "G0 X#0 Y1.", "#3000=1",
])  # fmt: skip
PLAIN_LINES = st.sampled_from([
    "G0 X1.", "G1 X#1 Y2.", "#1=#1+1", "#1=[#1+1]", "#<a>=1", "X#2", "G81 X1. Z-1. R1.", "G80", "%",
    "#2=#5001", "#1=0", "G91", "(words)", "G2 X1. Y1. I.5", "F#1", "M5", "",
])  # fmt: skip


@settings(max_examples=500)
@given(
    st.lists(st.one_of(O_LINES, PLAIN_LINES) | st.one_of(LETTER_LINES, PLAIN_LINES), max_size=25)
)
def test_any_lines_of_flow_end_with_a_finding_that_has_a_line(lines: list[str]) -> None:
    letters = [line for line in lines if not line.startswith(("o", "O0"))]
    for text in dict.fromkeys(("\n".join(lines), "\n".join(letters))):
        found = read(text, limits=FEW)
        slow = read(text, line_by_line=True, limits=FEW)
        stops = [one for one in found.findings if one.severity == "stop"]
        assert found.is_complete or stops
        assert all(one.line is not None and 1 <= one.line <= found.lines for one in stops)
        assert 0 <= found.read_lines <= found.lines
        assert sorted(map(str, found.findings)) == sorted(map(str, slow.findings))
        assert_allclose(found.moves.end, slow.moves.end, atol=0)
