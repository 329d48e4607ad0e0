"""The table of holes: what each letter is, then where each hole is, in as many columns as fit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from functools import cached_property

from millprep.base.records import frozen
from millprep.canvas.lettering import room_mm
from millprep.canvas.pen import Anchor, Pen, Place
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.sheets.drawn_patterns import pattern_letter, patterns_of
from millprep.sheets.view import Mark

TEXT_MM = 2.5  # of ISO 3098-1
_LEAST_ROWS = 5
_TALLEST_MM = 1e6  # of a model, whose table may be as long as it likes
_LINE_OVER_HEIGHT = 1.7
_GAP_OVER_HEIGHT = 0.6
_COLUMN_GAP_OVER_HEIGHT = 1.4


@frozen
class Cell:
    """Words in a row, `x_mm` from the table's left edge."""

    x_mm: float
    words: str
    anchor: Anchor = "left"


Row = tuple[Cell, ...]
RULE: Row = ()
"""A row that is a line across."""


@frozen
class Table:
    """Rows from the top, and the height of their words."""

    rows: tuple[Row, ...]
    width_mm: float
    text_mm: float = TEXT_MM

    @property
    def row_mm(self) -> float:
        return self.text_mm * _LINE_OVER_HEIGHT

    @property
    def height_mm(self) -> float:
        return len(self.rows) * self.row_mm

    def draw(self, pen: Pen, at: Place) -> None:
        """With its upper left corner there."""
        left, top = at
        for index, row in enumerate(self.rows, 1):
            y = top - index * self.row_mm
            if row is RULE:
                middle = y + 0.5 * self.text_mm
                pen.line((left, middle), (left + self.width_mm, middle), "edge")
            for cell in row:
                pen.text((left + cell.x_mm, y), cell.words, self.text_mm, cell.anchor)


def laid_table(
    sheet: Drawing, setup: DrawnSetup, width_mm: float, height_mm: float
) -> Table | None:
    """The table in that room, or None where it finds none."""
    first, *more = table_pages(sheet, setup, width_mm, height_mm)
    return None if more else first


def table_pages(
    sheet: Drawing, setup: DrawnSetup, width_mm: float, height_mm: float
) -> list[Table]:
    """The table in rooms of that size, as many as it takes."""
    return list(_Layout(sheet, setup, width_mm, _rows_in(height_mm)).pages())


def drill_pages(setup: DrawnSetup, width_mm: float, height_mm: float) -> list[Table]:
    """Of a template: which drill goes in at each letter, in rooms of that size."""
    rows: list[Row] = [(Cell(0, "drill"),), RULE]
    rows += [
        (Cell(0, line),) for words in setup.drills for line in wrapped(words, width_mm, TEXT_MM)
    ]
    most = _rows_in(height_mm)
    pages = (rows[at : at + most] for at in range(0, len(rows), most))
    return [Table(tuple(page), width_mm) for page in pages]


def _rows_in(height_mm: float) -> int:
    return max(_LEAST_ROWS, int(min(height_mm, _TALLEST_MM) // (TEXT_MM * _LINE_OVER_HEIGHT)))


@frozen
class _Layout:
    sheet: Drawing
    setup: DrawnSetup
    width_mm: float
    most_rows: int
    text_mm: float = TEXT_MM

    def pages(self) -> Iterator[Table]:
        """What the holes are, then where: on a page that is full already both go on to the next."""
        head: list[Row] = [(Cell(0, "hole"), Cell(self._letters_mm, "what")), RULE]
        what = [*self._what(), *self._notes()]
        room = self.most_rows - len(head)
        full = [what[at : at + room] for at in range(0, len(what), room)]
        for rows in full[:-1]:
            yield Table((*head, *rows), self.width_mm)
        page = [*head, *(full[-1] if full else []), RULE, *self._folded()]
        if len(page) > self.most_rows:
            yield Table(tuple(page[: self.most_rows]), self.width_mm)
            page = page[self.most_rows :]
        marks = self._single
        columns = max(1, int((self.width_mm + self._gap) // (self._column_mm + self._gap)))
        while marks:
            fitting = columns * max(0, self.most_rows - len(page) - 1)
            shown, marks = marks[:fitting], marks[fitting:]
            if shown:
                page += [self._titles(columns, shown), *self._places(shown, columns)]
            if marks:
                yield Table(tuple(page), self.width_mm)
                page = []
        yield Table(tuple(page), self.width_mm)

    @cached_property
    def _single(self) -> list[Mark]:
        """The holes that no line stands for."""
        folded = {grid.letter for grid in self.setup.grids}
        return [mark for mark in self.setup.view.marks if pattern_letter(mark) not in folded]

    def _folded(self) -> Iterator[Row]:
        """A line, or some, for each grid."""
        for grid in self.setup.grids:
            for line in wrapped(grid.words, self.width_mm, self.text_mm):
                yield (Cell(0, line),)

    @property
    def _gap(self) -> float:
        return _COLUMN_GAP_OVER_HEIGHT * self.text_mm

    def _room(self, words: Iterator[str]) -> float:
        longest = max((room_mm(each, self.text_mm) for each in words), default=0.0)
        return longest + _GAP_OVER_HEIGHT * self.text_mm

    @cached_property
    def _letters_mm(self) -> float:
        return self._room(word for mark in self.setup.view.marks for word in (mark.letter, "hole"))

    @cached_property
    def _figure_mm(self) -> float:
        marks = self._single
        return self._room(word for mark in marks for word in (str(mark.x), str(mark.y), "X mm"))

    @cached_property
    def _column_mm(self) -> float:
        return self._letters_mm + 2 * self._figure_mm

    def _titles(self, columns: int, marks: Sequence[Mark]) -> Row:
        unit = "mm" if self.sheet.units == "mm" else "in"
        shown = math.ceil(len(marks) / max(1, math.ceil(len(marks) / columns)))
        return tuple(
            cell
            for column in range(shown)
            for cell in self._cells(column, "hole", f"X {unit}", f"Y {unit}")
        )

    def _places(self, marks: Sequence[Mark], columns: int) -> Iterator[Row]:
        """Down the first column, then down the next."""
        down = math.ceil(len(marks) / columns)
        for index in range(down):
            yield tuple(
                cell
                for column, mark in enumerate(marks[index::down])
                for cell in self._cells(column, mark.letter, str(mark.x), str(mark.y))
            )

    def _cells(self, column: int, letter: str, x: str, y: str) -> Iterator[Cell]:
        left = column * (self._column_mm + self._gap)
        yield Cell(left, letter)
        yield Cell(left + self._letters_mm + self._figure_mm, x, "right")
        yield Cell(left + self._letters_mm + 2 * self._figure_mm, y, "right")

    def _what(self) -> Iterator[Row]:
        """A row, or some, for each pattern."""
        room = self.width_mm - self._letters_mm
        circles = {one.letter: f", {one.words}" for one in self.setup.pitch_circles}
        for letter, group in patterns_of(self.setup.view.marks):
            first = group[0]
            name = first.hole if len(group) == 1 else pattern_name(first)
            count = f"{len(group)} x " if len(group) > 1 else ""
            words = f"{name}: {count}{first.words}{circles.get(letter, '')}"
            own = first.letter if len(group) == 1 else letter
            for index, line in enumerate(wrapped(words, room, self.text_mm)):
                yield Cell(0, own if index == 0 else ""), Cell(self._letters_mm, line)

    def _notes(self) -> Iterator[Row]:
        notes = []
        if self.setup.view.through:
            notes.append("thin circles without a letter: holes of other setups")
        if self.setup.hidden or self.setup.hidden_rings:
            notes.append("dashed: holes of other faces, below")
        for note in notes:
            for line in wrapped(note, self.width_mm, self.text_mm):
                yield (Cell(0, line),)


def pattern_name(mark: Mark) -> str:
    """The name without the member's number."""
    return mark.hole.rsplit(" ", 1)[0] if mark.letter[-1].isdigit() else mark.hole


# a figure and its unit, or the two figures of a recess
_KEPT_TOGETHER = re.compile(r"(?<=\d) (?=(?:x|mm|in|deg)\b)|(?<=\d x) (?=\d)")


def wrapped(words: str, width_mm: float, text_mm: float) -> list[str]:
    """Lines that fit the width; a word that is too long by itself is broken."""
    lines = [""]
    for word in _KEPT_TOGETHER.sub("\N{NO-BREAK SPACE}", words).split(" "):
        for piece in _pieces(word.replace("\N{NO-BREAK SPACE}", " "), width_mm, text_mm):
            longer = f"{lines[-1]} {piece}".strip()
            if lines[-1] and room_mm(longer, text_mm) > width_mm:
                lines.append(piece)
            else:
                lines[-1] = longer
    return lines


def _pieces(word: str, width_mm: float, text_mm: float) -> Iterator[str]:
    while len(word) > 1 and room_mm(word, text_mm) > width_mm:
        count = max(1, int(len(word) * width_mm / room_mm(word, text_mm)))
        while count > 1 and room_mm(word[:count], text_mm) > width_mm:
            count -= 1
        yield word[:count]
        word = word[count:]
    yield word
