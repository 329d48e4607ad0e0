"""Lines on pages: what belongs together is not torn, and what is torn says that it goes on.

A page has a margin for labels and a body beside it; tables lie in the body, their boxes and step
numbers in the margin. Imports canvas.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from typing import Literal

from millprep.base.plain_text import NO_BREAK, kept_together
from millprep.base.records import frozen
from millprep.canvas.pages import HEIGHT_MM, Lettering, Pages
from millprep.canvas.pen import Brush
from millprep.writers.pictures.names import Room

LEFT_MM, RIGHT_MM = 15.0, 195.0
BODY_MM = 39.0
TABLE_MM = 22.0  # where tables begin, right of their boxes
STEP_MM = 32.0  # where step numbers end
NARROW_MM = 132.0  # where tables end that pictures stand beside
TOP_MM, BOTTOM_MM, FOOT_MM = 16.0, 275.0, 281.0  # on A4; a printer puts that on Letter too
MINUS = "\N{EN DASH}"  # as wide as a figure: a hyphen is overlooked at arm's length
_SMALLEST_PT = 6.0
_BOX_MM, _BOX_OVER_HEIGHT = 3.4, 0.72
_RULE_BELOW_MM, _RULE_ROOM_MM = 0.9, 2.2
_WORDS = re.compile(rf"[^ ]+(?: {{2,}}(?!{MINUS})[^ ]+)* *| +")
_WORTH_FILLING = 1 / 3  # of a page: less room than that does not begin a table that fits on a page

PLAIN, SMALL = Lettering(10.5), Lettering(9)
LINE_MM = 4.9


@frozen
class Frame:
    """How wide a page is, or a column of one, and how it is set: where sentences begin, and what
    hangs on a row, and where all ends [mm, the left being at LEFT_MM]; letterings of sentences,
    of warnings, of the cells, figures and heads of tables; how far lines and rows are apart, and
    what is below a row.

    bare_mm : where tables without boxes begin
    gap_mm : between the columns of a table; narrowest_mm : a column of words
    least : by how much letters may be made smaller for a table
    """

    body_mm: float = BODY_MM
    tail_mm: float = 40.0
    right_mm: float = RIGHT_MM
    said: Lettering = Lettering(10.5)
    bold: Lettering = Lettering(10.5, True)
    plain: Lettering = Lettering(12)
    figures: Lettering = Lettering(13, True)
    heads: Lettering = Lettering(9.5)
    line_mm: float = LINE_MM
    row_mm: float = 5.6
    bare_mm: float = TABLE_MM
    row_end_mm: float = 0.6
    gap_mm: float = 4.0
    narrowest_mm: int = 24
    least: float = 0.84  # heads are then still smaller than any words


WHOLE = Frame()


@frozen
class Words:
    """Words that begin at a place across the page, or end there."""

    x_mm: float
    words: str
    lettering: Lettering = PLAIN
    ends: bool = False


@frozen
class Beside:
    """A picture: where its room begins from the left and from the top of its line, its size."""

    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    draw: Callable[[Brush, Room], None]


@frozen
class Line:
    """What stands on one base line; a rule stands near the top of its line.

    base : how much of its height lies above the base line
    right_mm : where a rule ends; beside : pictures on the page that this line begins
    """

    words: tuple[Words, ...] = ()
    height_mm: float = LINE_MM
    base: float = 0.74
    has_box: bool = False
    rule: Literal["", "across", "faint"] = ""
    right_mm: float = RIGHT_MM
    beside: tuple[Beside, ...] = ()


@frozen
class Group:
    """Lines that stay together; `again` comes first where the group begins a page."""

    lines: tuple[Line, ...]
    again: tuple[Line, ...] = ()

    @property
    def height_mm(self) -> float:
        return sum(line.height_mm for line in self.lines)


@frozen
class Block:
    """Groups under one heading; `foot` is what the foot of its pages says."""

    groups: tuple[Group, ...]
    foot: str
    is_fresh: bool = False

    @property
    def height_mm(self) -> float:
        return sum(group.height_mm for group in self.groups)


def wrapped(pages: Pages, words: str, width_mm: float, lettering: Lettering = PLAIN) -> list[str]:
    """The words in lines no wider than that, broken at blanks; a word that is wider is cut."""
    blank_mm = pages.width_mm(" ", lettering)
    lines: list[str] = []
    line, long_mm = "", 0.0
    for word in words.split(" "):
        wide_mm = pages.width_mm(word, lettering)
        if line and long_mm + blank_mm + wide_mm <= width_mm:
            line, long_mm = f"{line} {word}", long_mm + blank_mm + wide_mm
            continue
        lines += [line] if line else []
        while wide_mm > width_mm:
            fits = _fitting(pages, word, width_mm, lettering)
            lines.append(word[:fits])
            word = word[fits:]
            wide_mm = pages.width_mm(word, lettering)
        line, long_mm = word, wide_mm
    return [*lines, line] if line or not lines else lines


def _fitting(pages: Pages, word: str, width_mm: float, lettering: Lettering) -> int:
    """How many of its letters fit, one at least."""
    return next(
        (n for n in range(len(word), 1, -1) if pages.width_mm(word[:n], lettering) <= width_mm), 1
    )


def broken(pages: Pages, words: str, width_mm: float, lettering: Lettering = PLAIN) -> list[str]:
    """The words in lines no wider than that, which put together are the words again.

    A line that is broken at a blank ends in it, beyond the width; a word that is wider is cut.
    Words that several blanks keep apart stay together, but for figures in a row of them.
    """
    lines = [""]
    for word in _WORDS.findall(kept_together(words)):
        word = word.replace(NO_BREAK, " ")
        if lines[-1] and pages.width_mm(f"{lines[-1]}{word}".rstrip(), lettering) > width_mm:
            lines.append("")
        lines[-1] += word
        while pages.width_mm(lines[-1].rstrip(), lettering) > width_mm:
            fits = _fitting(pages, lines[-1], width_mm, lettering)
            lines[-1:] = [lines[-1][:fits], lines[-1][fits:]]
    return lines


def squeezed(pages: Pages, words: str, width_mm: float, lettering: Lettering) -> Lettering:
    """A lettering small enough for the words to go on one line."""
    wide = pages.width_mm(words, lettering)
    if wide <= width_mm:
        return lettering
    return Lettering(lettering.size_pt * width_mm / wide * 0.999, lettering.is_bold)


def shortened(pages: Pages, words: str, width_mm: float, lettering: Lettering) -> str:
    """The words, what is too much for one line left out in the middle."""
    shown, out = words, 0
    while pages.width_mm(shown, lettering) > width_mm:
        out += 1
        half = (len(words) - out) // 2
        shown = f"{words[:half]}...{words[half + out :]}"
    return shown


def together(lines: Sequence[Line]) -> list[Group]:
    """Running text in groups of two and three lines, so that no page has one line alone."""
    groups = [tuple(lines[start : start + 2]) for start in range(0, len(lines), 2)]
    if len(groups) > 1 and len(groups[-1]) == 1:
        groups[-2:] = [groups[-2] + groups[-1]]
    return [Group(group) for group in groups]


def rule(right_mm: float = RIGHT_MM) -> Group:
    return Group((Line((), _RULE_ROOM_MM, rule="across", right_mm=right_mm),))


def glued(first: Group, second: Group) -> Group:
    return Group(first.lines + second.lines, first.again)


Placed = tuple[float, float, Line]
"""How far from the top of the page a line begins, how far to the right of its place, and it."""


@frozen
class Laid:
    """A page of its own that is laid out already; gutter_mm : where a line between its two columns
    stands, begins and ends."""

    foot: str
    lines: tuple[Placed, ...]
    gutter_mm: tuple[float, float, float]


def set_out(pages: Pages, blocks: Sequence[Block | Laid]) -> None:
    """Puts the blocks on pages, each with its foot and its number."""
    laid = list(_laid(blocks))
    for number, (foot, lines, gutter_mm) in enumerate(laid, 1):
        pages.add()
        for top_mm, right_mm, line in lines:
            _draw(pages, top_mm, right_mm, line)
        if gutter_mm is not None:
            pages.upright(*gutter_mm)
        count = f"page {number} of {len(laid)}"
        room = RIGHT_MM - LEFT_MM - pages.width_mm(count, SMALL) - 5.0
        lettering = Lettering(max(squeezed(pages, foot, room, SMALL).size_pt, _SMALLEST_PT))
        shown = shortened(pages, foot, room, lettering)
        pages.words(LEFT_MM, FOOT_MM, shown, lettering)
        pages.words(RIGHT_MM, FOOT_MM, count, SMALL, ends=True)


Sheet = tuple[str, Sequence[Placed], tuple[float, float, float] | None]


def _laid(blocks: Sequence[Block | Laid]) -> Iterator[Sheet]:
    """Foot, lines in their places and gutter, page by page."""
    page: list[Placed] = []
    foot, y = "", TOP_MM
    for block in blocks:
        if isinstance(block, Laid):
            if page:
                yield foot, page, None
            yield block.foot, block.lines, block.gutter_mm
            page, y = [], TOP_MM
            continue
        room = BOTTOM_MM - y
        fits_alone = room < block.height_mm <= BOTTOM_MM - TOP_MM
        is_little = room < _WORTH_FILLING * (BOTTOM_MM - TOP_MM)
        if page and (block.is_fresh or (fits_alone and is_little)):
            yield foot, page, None
            page, y = [], TOP_MM
        if not page:
            foot = block.foot
        for index, group in enumerate(block.groups):
            lines = group.lines
            if page and y + group.height_mm > BOTTOM_MM:
                yield foot, page, None
                page, foot, y = [], block.foot, TOP_MM
                lines = group.again + lines if index else lines
            for line in lines:
                page.append((y, 0.0, line))
                y += line.height_mm
    if page:
        yield foot, page, None


def _draw(pages: Pages, top_mm: float, right_mm: float, line: Line) -> None:
    base_mm = top_mm + line.base * line.height_mm
    if line.rule == "across":
        pages.rule(top_mm + _RULE_BELOW_MM, LEFT_MM + right_mm, line.right_mm + right_mm)
    elif line.rule == "faint":
        pages.rule(top_mm, TABLE_MM + right_mm, line.right_mm + right_mm, is_faint=True)
    if line.has_box:
        pages.box(
            LEFT_MM + right_mm, base_mm + 0.3, min(_BOX_MM, _BOX_OVER_HEIGHT * line.height_mm)
        )
    for one in line.beside:
        with pages.picture() as pen:
            low_mm = HEIGHT_MM - top_mm - one.top_mm - one.height_mm
            one.draw(pen, Room(one.left_mm + right_mm, low_mm, one.width_mm, one.height_mm))
    for words in line.words:
        pages.words(words.x_mm + right_mm, base_mm, words.words, words.lettering, ends=words.ends)
