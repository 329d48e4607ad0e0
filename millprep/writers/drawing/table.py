"""The table of holes: what each letter is, then where each hole is, in as many columns as fit."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import groupby

from millprep.base.records import frozen
from millprep.canvas.lettering import room_mm
from millprep.canvas.pen import Anchor, Pen, Place
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.sheets.view import Mark

HEIGHTS_MM = (2.5, 1.8)  # of ISO 3098-1
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
    """Rows from the top, the height of their words, and whether holes were left out."""

    rows: tuple[Row, ...]
    width_mm: float
    text_mm: float
    is_cut: bool

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


def laid_table(sheet: Drawing, setup: DrawnSetup, width_mm: float, height_mm: float) -> Table:
    """The table in that room: in smaller words when it must, cut with a remark when it cannot."""
    for text_mm in HEIGHTS_MM:
        most = int(height_mm // (text_mm * _LINE_OVER_HEIGHT)) if height_mm < math.inf else 10**9
        table = _Layout(sheet, setup, width_mm, text_mm, max(most, 3)).table()
        if not table.is_cut:
            return table
    return table


@frozen
class _Layout:
    sheet: Drawing
    setup: DrawnSetup
    width_mm: float
    text_mm: float
    most_rows: int

    def table(self) -> Table:
        marks = self.setup.view.marks
        unit = "mm" if self.sheet.units == "mm" else "in"
        head: list[Row] = [(Cell(0, "hole"), Cell(self._letters_mm, "what")), RULE]
        what = [*head, *self._what(marks), *self._notes(), RULE]
        columns = max(1, int((self.width_mm + self._gap) // (self._column_mm + self._gap)))
        left_for_places = max(0, self.most_rows - len(what) - 1)
        if math.ceil(len(marks) / columns) <= left_for_places:
            rows = [*what, self._titles(columns, marks, unit), *self._places(marks, columns)]
            return Table(tuple(rows), self.width_mm, self.text_mm, is_cut=False)
        fitting = columns * max(0, left_for_places - 1)
        rows = [*what, self._titles(columns, marks, unit), *self._places(marks[:fitting], columns)]
        remark = f"{len(marks) - fitting} more places: see the listing"
        if len(rows) >= self.most_rows:
            rows, remark = rows[: self.most_rows - 1], "and more: see the listing"
        rows.append((Cell(0, remark),))
        return Table(tuple(rows), self.width_mm, self.text_mm, is_cut=True)

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
        marks = self.setup.view.marks
        return self._room(word for mark in marks for word in (str(mark.x), str(mark.y), "X mm"))

    @cached_property
    def _column_mm(self) -> float:
        return self._letters_mm + 2 * self._figure_mm

    def _titles(self, columns: int, marks: Sequence[Mark], unit: str) -> Row:
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

    def _what(self, marks: Sequence[Mark]) -> Iterator[Row]:
        """A row, or some, for each pattern."""
        room = self.width_mm - self._letters_mm
        for letter, run in groupby(marks, key=pattern_letter):
            group = list(run)
            first = group[0]
            name = first.hole if len(group) == 1 else pattern_name(first)
            count = f"{len(group)} x " if len(group) > 1 else ""
            lines = wrapped(f"{name}: {count}{first.words}", room, self.text_mm)
            own = first.letter if len(group) == 1 else letter
            for index, line in enumerate(lines):
                yield Cell(0, own if index == 0 else ""), Cell(self._letters_mm, line)

    def _notes(self) -> Iterator[Row]:
        view = self.setup.view
        if view.through:
            yield (Cell(0, "thin circles without a letter: holes of other setups"),)
        if view.crossings:
            yield (Cell(0, "dashed: holes of the upright faces"),)


def pattern_letter(mark: Mark) -> str:
    """The letter without the member's number."""
    return mark.letter.rstrip("0123456789")


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
