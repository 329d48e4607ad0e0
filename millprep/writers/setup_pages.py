"""A setup of a sheet as blocks of lines: labels, tools, rows with boxes to tick.

Figures are set to be read at arm's length. What is said here is the listing's; the dial sheet says
other things in the same places. Imports sheet, canvas and writers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from millprep.canvas.pages import Lettering, Pages
from millprep.sheets.cautions import AT_THE_MILL
from millprep.sheets.setup_sheet import Block as Steps
from millprep.sheets.setup_sheet import SetupSheet, Sheet, Step
from millprep.writers.listing_text import counted, remarks_of, speed_words
from millprep.writers.paged import (
    BODY_MM,
    BOLD,
    FIGURES,
    LEFT_MM,
    LINE_MM,
    PLAIN,
    RIGHT_MM,
    ROW_MM,
    STEP_MM,
    TAIL_MM,
    Block,
    Group,
    Line,
    Words,
    glued,
    labelled,
    rule,
    set_out,
    squeezed,
    together,
    wrapped,
)

_TITLE, _SUBTITLE, HEADS = Lettering(17, True), Lettering(13, True), Lettering(9.5)
_INDENT_MM = 4.0
_TOOL_MM = 110.0
_APART_MM = 15.0  # what the second blank between the pecks of a line takes
_OPENING_MM = 90.0  # a longer opening of a tool may be torn
_MINUS = "\N{EN DASH}"  # as wide as a figure: a hyphen is overlooked at arm's length


Labels = tuple[tuple[str, Sequence[str]], ...]
"""Label and sentences, in order; empty sentences are left out."""


def document(pages: Pages, setups: Iterable[SetupPages]) -> bytes:
    """The setups one after another, then the cautions; with the blank mark of `outfile`."""
    blocks = [block for setup in setups for block in setup.blocks()]
    foot = blocks[-1].foot if blocks else ""
    blocks.append(Block((_joined([rule(), *labelled(pages, "TAKE CARE", AT_THE_MILL)]),), foot))
    set_out(pages, blocks)
    return pages.document()


def _joined(groups: Sequence[Group]) -> Group:
    return Group(tuple(line for group in groups for line in group.lines))


class SetupPages:
    """One setup of a listing, as blocks of lines.

    What a dial sheet says otherwise are the methods without an underscore.
    """

    ends_mm: tuple[float, ...] = (141.0, 168.0, 195.0)  # X, Y and Z
    figure_room_mm = 26.0  # of the first of them
    stock_prefix = ""

    def __init__(self, pages: Pages, sheet: Sheet, setup: SetupSheet) -> None:
        self.pages, self.sheet, self.setup = pages, sheet, setup
        self.title = f"setup {setup.number} of {sheet.setup_count}: {setup.face.upper()} up"
        self.foot = f"{sheet.part}, {self.title}; part mark {sheet.mark}"

    def blocks(self) -> Iterator[Block]:
        setting = [*self._labels(self.setting())]
        yield Block((self._heading(), glued(rule(), setting[0]), *setting[1:]), self.foot, True)
        for groups in self.further():
            yield self._block(groups)
        if any(not steps.is_tool for steps in self.setup.blocks):
            yield self._block(self._tools())
        count = sum(steps.is_tool for steps in self.setup.blocks)
        for index, steps in enumerate(self.setup.blocks, 1):
            if steps.is_tool:
                yield self._block(self._tool(steps, f"change {index} of {count}"))
            else:
                yield self._block(self._hole(steps))
        yield self._block(self._labels(self.closing()))

    def _block(self, groups: Iterator[Group]) -> Block:
        """A block below a rule, which stays with its first lines."""
        first, *rest = groups
        return Block((glued(rule(), first), *rest), self.foot)

    def _heading(self) -> Group:
        sheet, wide = self.sheet, RIGHT_MM - LEFT_MM
        lettering = squeezed(self.pages, sheet.part, wide, _TITLE)
        titles = (
            Line((Words(LEFT_MM, sheet.part, lettering),), 8.0),
            Line((Words(LEFT_MM, self.title, _SUBTITLE),), 6.6),
        )
        drawing = f"drawing {sheet.drawing}; " if sheet.drawing else ""
        stock = f"{self.stock_prefix}{sheet.stock}"
        sentences = [stock, f"{drawing}part mark {sheet.mark}; figures in {sheet.units}"]
        sentences += [f"mind: {sheet.advice}"] * bool(sheet.advice)
        sentences += [f"note: {sheet.note}"] * bool(sheet.note)
        lines = [
            Line((Words(LEFT_MM + (_INDENT_MM if index else 0.0), line),))
            for sentence in sentences
            for index, line in enumerate(wrapped(self.pages, sentence, wide - _INDENT_MM))
        ]
        return Group((*titles, *lines))

    def setting(self) -> Labels:
        """The labels at the head, each with its sentences."""
        setup = self.setup
        return (
            ("TURN", [setup.turn]),
            ("LIES", [setup.lies]),
            ("HOLD", setup.hold),
            ("ZERO", setup.zero),
            ("SKEW", [setup.skew]),
            ("HEAD", setup.head),
            ("HAND", [setup.hand]),
            ("PLACES", setup.places),
        )

    def closing(self) -> Labels:
        """The labels at the end."""
        setup, sheet = self.setup, self.sheet
        return (
            ("DONE", [setup.done]),
            ("RECOVER", setup.recover),
            ("ASSUMED", ["; ".join(sheet.assumed) + "."]),
            ("REMARKS", remarks_of(sheet.findings, setup)),
        )

    def further(self) -> Iterator[Iterator[Group]]:
        """What stands between the head and the first tool, a block each."""
        yield from ()

    def heads(self) -> tuple[str, ...]:
        """Of the columns of figures."""
        unit = self.unit
        return f"X {unit}", f"Y {unit}", self._depth_head()

    def figures(self, step: Step) -> tuple[str, ...]:
        return tuple(map(str, (step.x, step.y, step.z)))

    def go_to(self, step: Step) -> list[str]:
        """Where a hole is, in a listing by hole."""
        return [f"go to X {step.x}  Y {step.y}"]

    def tails(self, step: Step, *, is_by_hole: bool = False) -> Iterator[str]:
        """What hangs on a row."""
        if step.turns is not None:
            yield f"{step.turns:.1f} turns"
        if step.pecks:
            yield f"pecks to {' '.join(map(str, step.pecks))}"

    @property
    def unit(self) -> str:
        return "mm" if self.sheet.units == "mm" else "in"

    def _labels(self, labels: Labels) -> Iterator[Group]:
        for label, sentences in labels:
            if told := [_signs(sentence) for sentence in sentences if sentence]:
                yield from labelled(self.pages, label, told)

    def _tools(self) -> Iterator[Group]:
        """The tools of a listing by hole, named once."""
        firsts: dict[int, Step] = {}
        for step in self.setup.steps:
            firsts.setdefault(step.tool_number, step)
        for number, step in firsts.items():
            words = [step.tool, speed_words(self.sheet, step)]
            yield _joined(labelled(self.pages, f"TOOL {number}", words))
        face = self.setup.face.upper()
        words = [f"at every change touch the tool off on {face} and set Z to 0"]
        yield from labelled(self.pages, "", words)

    def _tool(self, steps: Steps, change: str) -> Iterator[Group]:
        first = steps.steps[0]
        label = f"TOOL {first.tool_number}"
        holes = counted(len({step.hole for step in steps.steps}), "hole")
        heading = labelled(self.pages, label, [steps.heading], BOLD)
        speed = f"{speed_words(self.sheet, first)}; {holes}; {change}"
        opening = labelled(self.pages, "", [speed, *steps.before])
        again = self._again(label, steps.heading)
        rows: list[Group] = []
        for operation, run in groupby(steps.steps, key=lambda step: step.operation):
            head = _head(f"{operation} at", zip(self.ends_mm, self.heads(), strict=True))
            of_run = [Group(tuple(self._row(step)), (again, head)) for step in run]
            of_run[0] = Group((head, *of_run[0].lines), (again,))
            rows += of_run
        yield from self._body([*heading, *opening], rows, steps.after, again)

    def _hole(self, steps: Steps) -> Iterator[Group]:
        name, first = steps.heading, steps.steps[0]
        lettering = squeezed(self.pages, name, RIGHT_MM - BODY_MM, BOLD)
        heading = Line((Words(LEFT_MM, "HOLE", BOLD), Words(BODY_MM, name, lettering)))
        opening = [
            Line((Words(BODY_MM, _signs(words), FIGURES),), ROW_MM) for words in self.go_to(first)
        ]
        if steps.before:
            said = labelled(self.pages, "", map(_signs, steps.before))
            opening += [line for group in said for line in group.lines]
        again = self._again("HOLE", name)
        head = _head("operation", [(RIGHT_MM, self._depth_head())], "tool")
        rows = []
        for step in steps.steps:
            words = (
                *_step(step, step.operation),
                Words(_TOOL_MM, f"tool {step.tool_number}"),
                Words(RIGHT_MM, figure_shown(step.z), FIGURES, ends=True),
            )
            lines = (
                Line(words, ROW_MM, has_box=True),
                *self._tails(self.tails(step, is_by_hole=True)),
                _faint(),
            )
            rows.append(Group(lines, (again, head)))
        rows[0] = Group((head, *rows[0].lines), (again,))
        yield from self._body([Group((heading,)), *together(opening)], rows, steps.after, again)

    def _body(
        self, opening: Sequence[Group], rows: list[Group], after: Sequence[str], again: Line
    ) -> Iterator[Group]:
        """The opening with the first rows, then row by row, what to look at with the last."""
        if sum(group.height_mm for group in opening) <= _OPENING_MM:
            rows[0] = glued(_joined(opening), rows[0])
        else:
            yield from opening
        if len(rows) > 1:
            rows[:2] = [glued(rows[0], rows[1])]
        looks = [
            Group(_joined(labelled(self.pages, "", [_signs(words)])).lines, (again,))
            for words in after
        ]
        if looks:
            rows[-1] = glued(rows[-1], looks[0])
        yield from rows
        yield from looks[1:]

    def _again(self, label: str, heading: str) -> Line:
        """What stands above rows that go on from the page before."""
        words = f"{heading}, continued"
        lettering = squeezed(self.pages, words, RIGHT_MM - BODY_MM, PLAIN)
        return Line((Words(LEFT_MM, label, BOLD), Words(BODY_MM, words, lettering)))

    def _row(self, step: Step) -> Iterator[Line]:
        """Name and figures; where the name takes their room, they follow below it."""
        figures = tuple(
            Words(end, figure_shown(value), FIGURES, ends=True)
            for end, value in zip(self.ends_mm, self.figures(step), strict=True)
        )
        name_mm = BODY_MM + self.pages.width_mm(step.hole, PLAIN)
        if name_mm <= self.ends_mm[0] - self.figure_room_mm:
            yield Line((*_step(step, step.hole), *figures), ROW_MM, has_box=True)
        else:
            lettering = squeezed(self.pages, step.hole, RIGHT_MM - BODY_MM, PLAIN)
            yield Line(_step(step, step.hole, lettering), ROW_MM, has_box=True)
            yield Line(figures, ROW_MM)
        yield from self._tails(self.tails(step))
        yield _faint()

    def _tails(self, sentences: Iterator[str]) -> Iterator[Line]:
        for words in sentences:
            for line in wrapped(self.pages, _signs(words), RIGHT_MM - TAIL_MM - _APART_MM):
                apart = line.replace(f" {_MINUS}", f"  {_MINUS}")
                yield Line((Words(TAIL_MM, apart, BOLD if words.endswith(" turns") else PLAIN),))

    def _depth_head(self) -> str:
        return "down to Z" if self.sheet.has_z_readout else "quill to Z"


def _head(title: str, columns: Iterable[tuple[float, str]], tool: str = "") -> Line:
    words = [Words(STEP_MM, "step", HEADS, ends=True), Words(BODY_MM, title, HEADS)]
    if tool:
        words.append(Words(_TOOL_MM, tool, HEADS))
    return Line((*words, *(Words(end, name, HEADS, ends=True) for end, name in columns)), LINE_MM)


def _step(step: Step, words: str, lettering: Lettering = PLAIN) -> tuple[Words, Words]:
    return Words(STEP_MM, str(step.step), PLAIN, ends=True), Words(BODY_MM, words, lettering)


def _faint() -> Line:
    return Line((), 0.6, rule="faint")


def figure_shown(value: object) -> str:
    """With a minus that is not overlooked."""
    return str(value).replace("-", _MINUS)


def _signs(words: str) -> str:
    """A sentence with the minus of its figures (and no hyphen of its names) made so."""
    return " ".join(
        _MINUS + word[1:] if word[:1] == "-" and word[1:2].isdigit() else word
        for word in words.split(" ")
    )
