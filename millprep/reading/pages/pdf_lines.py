"""A sheet to print as the lines that a person sees, read back from its finished PDF.

What stands on one base line is one line; its size and its place across the page tell what it is:

    15       22  39 40                            195 mm
    TITLE                                    of the page      larger than all else
    LABEL           words in running text                     bold in the margin
             heads of a table                                 smaller than all else
    [ ]      cell      cell      cell                         each begins or ends as its head does
                 what hangs on the row
             _____________________________________            ends the row
    ______________________________________________            begins a section

Words that a page repeats from the one before (whose it is, the heads of its table) are held against
those and taken out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

from millprep.base.units import shown
from millprep.reading.pages.ink import (
    EDGE_MM,
    LEFT_MM,
    NEAR_MM,
    BaseLine,
    Ink,
    Mark,
    Words,
    pages_of,
)
from millprep.reading.pages.lines import Line
from millprep.reading.pages.printed import UnreadableSheet

_INDENT_MM, _FOOT_MM = 4.0, 18.0
_TITLE_PT = 13.5  # titles are larger
_WHOLE, _COLUMN = (39.0, 40.0, 10.05), (31.0, 32.0, 8.05)
"""Of a page, and of a column of one: where sentences begin, and what hangs on a row [mm]; heads
are no larger [pt]."""
_LABEL_WIDTH = 8
_BELOW = " " * 10
_RULE = "-" * 20
_ENDS = 30  # letters at least of a long name
_CONTINUED = "continued"
_MINUS = "\N{EN DASH}"
_SIGNED = re.compile(rf"(?<![^ ]){_MINUS}(?=\d)", re.ASCII)
_APART = re.compile(r"  (?=-\d)", re.ASCII)  # figures in a row of them
_MARKED = re.compile(r"part mark [0-9a-f]+", re.ASCII)


def pdf_lines(data: bytes) -> list[Line]:
    """The lines of all pages, counted through. Raises UnreadableSheet."""
    reader = _Reader()
    pages = list(pages_of(data))
    for number, ink in enumerate(pages, 1):
        reader.take_page(ink, f"page {number} of {len(pages)}")
    reader.end_of_table()
    return list(enumerate(reader.lines, 1))


def _signed(words: str) -> str:
    return _SIGNED.sub("-", words)


def _is_at(words: Words, x_mm: float) -> bool:
    return abs(words.x_mm - x_mm) < NEAR_MM


def _is_short_for(words: str, whole: str) -> bool:
    """Whether they are the same letters, or both ends of them."""
    first, *rest = (re.sub("[, ]+", "", one) for one in words.split("..."))
    letters = re.sub("[, ]+", "", whole)
    if not rest:
        return first == letters
    return len(first) >= _ENDS and letters.startswith(first) and letters.endswith("".join(rest))


class _Row:
    """Its cells, base line by base line, and what hangs on it."""

    def __init__(self, has_box: bool) -> None:
        self.has_box = has_box
        self.cells: list[tuple[Words, ...]] = []
        self.below: list[str] = []


class _Reader:
    """Takes page after page; `lines` are those of the text form."""

    def __init__(self) -> None:
        self.lines: list[str] = []
        self._title: list[str] = []
        self._heading = self._mark_told = ""
        self.body_mm, self.tail_mm, self.head_pt = _WHOLE
        self._label, self._said = "", ""  # in force
        self._head: tuple[Words, ...] = ()
        self._rows: list[_Row] = []
        self._row: _Row | None = None  # that is not ended yet
        self._is_heading = self._is_table = self._is_run = False

    def take_page(self, ink: Sequence[Ink], count: str) -> None:
        """Raises UnreadableSheet."""
        body = [one for one in ink if one.y_mm > _FOOT_MM]
        self.body_mm, self.tail_mm, self.head_pt = _WHOLE
        titles = 0
        while titles < len(body) and _is_title(body[titles]):
            titles += 1
        if titles:
            self._begin(body[:titles])
        elif not self.lines:
            raise UnreadableSheet("the first page has no title")
        else:
            titles = self._taken_up(body)
        for one in body[titles:]:
            if isinstance(one, Mark):
                self._mark(one)
            else:
                self._line(one)
        self._check_foot([one for one in ink if one.y_mm <= _FOOT_MM], count)

    def _begin(self, titles: Sequence[Ink]) -> None:
        """A page of the sheet."""
        self.end_of_table()
        words = [one for line in titles if isinstance(line, BaseLine) for one in line.words]
        lines = groupby(words, key=lambda one: (round(one.x_mm), one.size_pt))
        self._title = ["".join(one.words for one in line) for _, line in lines]
        self.lines += ["", _signed("  ".join(self._title))]
        self._heading, self._is_heading = "", True

    def _taken_up(self, body: Sequence[Ink]) -> int:
        """How many lines the page repeats; they say what those before it say."""
        count = 0
        first = body[0] if body else None
        if isinstance(first, BaseLine) and first.words[-1].words == _CONTINUED:
            label, *said, ends = first.words
            words = _signed(said[0].words) if said else ""
            is_so = abs(ends.end_mm - EDGE_MM) < NEAR_MM and len(said) < 2
            is_so = (
                is_so and _is_at(label, LEFT_MM) and all(_is_at(one, self.body_mm) for one in said)
            )
            if not is_so or label.words != self._label or not self._said.startswith(words):
                raise UnreadableSheet(f"the page goes on with {shown(label.words)} {shown(words)}")
            count = 1 + (self._told_again(body[1:], words) if self._is_table else 0)
        again = body[count] if len(body) > count else None
        if isinstance(again, BaseLine) and self._is_table:
            count += _shows(again.words) == _shows(self._head)
        return count

    def _told_again(self, body: Sequence[Ink], told: str) -> int:
        """How many lines more the page repeats of what is said of all rows of its table."""
        count = 0
        for line in body:
            if not isinstance(line, BaseLine) or len(line.words) != 1:
                break
            told = f"{told} {_signed(line.words[0].words)}"
            if not (_is_at(line.words[0], self.body_mm) and self._said.startswith(told)):
                break
            count += 1
        return count

    def _mark(self, mark: Mark) -> None:
        if mark.kind == "columns":
            self.body_mm, self.tail_mm, self.head_pt = _COLUMN
            return
        if mark.kind == "end":
            if self._row is None:
                raise UnreadableSheet("the end of a row that does not begin")
            self._row = None
            return
        self.end_of_table()
        self._is_heading = False
        self.lines.append(_RULE)

    def _line(self, line: BaseLine) -> None:
        first = line.words[0]
        if self._row is not None:
            self._further(self._row, line)
        elif line.has_box:
            self._begin_row(line)
        elif self._is_heading:
            self._said_in_heading(line)
        elif _is_label(line, self.body_mm):
            self.end_of_table()
            self._labelled(first.words, line.words[1:])
        elif all(one.size_pt < self.head_pt and not one.is_bold for one in line.words):
            self._headed_table(line.words)
        elif len(line.words) == 1 and _is_at(first, self.body_mm):
            self.end_of_table()
            self._tell(" " * _LABEL_WIDTH, first)
        elif self._is_run:
            self.lines += ["    " + _signed(one.words) for one in line.words]
        else:
            self._begin_row(line)

    def _headed_table(self, words: tuple[Words, ...]) -> None:
        """Heads side by side, or as a sentence: rows then stand one after the other."""
        told = _signed("  ".join(one.words for one in words))
        if self._is_run and len(words) == 1 and _is_at(words[0], self.body_mm + _INDENT_MM):
            self.lines[-1] += f" {told}"
            return
        self.end_of_table()
        self._is_run = len(words) == 1 and _is_at(words[0], self.body_mm)
        if not self._is_run:
            self._head, self._is_table = words, True
        self.lines.append("    " + told)

    def _begin_row(self, line: BaseLine) -> None:
        self._is_table = True
        self._row = _Row(line.has_box)
        self._row.cells.append(line.words)
        self._rows.append(self._row)

    def _further(self, row: _Row, line: BaseLine) -> None:
        """A cell goes on, or something hangs on the row."""
        first = line.words[0]
        if line.has_box:
            raise UnreadableSheet(f"a second box to tick beside {shown(first.words)}")
        if len(line.words) == 1 and _is_at(first, self.tail_mm):
            row.below.append(_APART.sub(" ", _signed(first.words)))
        elif row.below:
            raise UnreadableSheet(f"{shown(first.words)} stands at no place of its row")
        else:
            row.cells.append(line.words)

    def _said_in_heading(self, line: BaseLine) -> None:
        """Title and heading: a sentence goes on further in."""
        first, *more = line.words
        begins = {LEFT_MM: "", LEFT_MM + _INDENT_MM: "    "}
        found = [begin for at, begin in begins.items() if _is_at(first, at)]
        if more or not found:
            raise UnreadableSheet(f"{shown(first.words)} stands at no place of a heading")
        self._heading += f" {first.words}"
        self.lines.append(found[0] + _signed(first.words))

    def _labelled(self, label: str, words: Sequence[Words]) -> None:
        """A label that fills its column has a line of its own."""
        self._label, self._said = label, ""
        if len(label) >= _LABEL_WIDTH or not words:
            self.lines.append(label)
            label = ""
        for one in words:
            self._tell(f"{label:<{_LABEL_WIDTH}}", one)

    def _tell(self, begins: str, words: Words) -> None:
        told = _signed(words.words)
        self._said = f"{self._said} {told}".strip(" ")
        self.lines.append(begins + told)

    def end_of_table(self) -> None:
        """The rows, each cell below its head. Raises UnreadableSheet."""
        if self._row is not None:
            raise UnreadableSheet(f"the row {shown(self._row.cells[0][0].words)} does not end")
        columns = [[place] for place in self._places()]
        if len({row.has_box for row in self._rows}) > 1:
            raise UnreadableSheet("a row of a table has no box to tick")
        for row in self._rows:
            begins = "[ ] " if row.has_box else "    "
            self.lines.append(begins + "  ".join(_in_columns(row.cells, columns)))
            self.lines += [_BELOW + words for words in row.below]
        for column in columns:
            if not (_is_even(column, "x_mm") or _is_even(column, "end_mm")):
                raise UnreadableSheet(f"not all below {shown(column[0].words)} stands in a column")
        self._head, self._rows = (), []
        self._is_table = self._is_run = False

    def _places(self) -> tuple[Words, ...]:
        """What the cells stand under: the heads, and of the fullest row what has no head."""
        fullest = max((cells for row in self._rows for cells in row.cells), key=len, default=())
        headless = [one for one in fullest if not any(_is_under(one, head) for head in self._head)]
        if len(headless) > max(len(fullest) - len(self._head), 0):
            raise UnreadableSheet(f"{shown(headless[0].words)} stands under no head")
        return tuple(sorted((*self._head, *headless), key=lambda one: one.x_mm))

    def _check_foot(self, ink: Sequence[Ink], count: str) -> None:
        """Every page is there, and says which page of which part it belongs to."""
        words = [one.words for line in ink if isinstance(line, BaseLine) for one in line.words]
        if marked := _MARKED.search(self._heading):  # later pages do not say it again
            self._mark_told = f"; {marked[0]}"
        told = _signed("".join([*self._title, self._mark_told]))
        is_own = len(words) == 2 and words[1] == count
        if not is_own or not _is_short_for(_signed(words[0]), told):
            raise UnreadableSheet(f"{count} says at its foot {shown(' '.join(words))}")


def _is_title(one: Ink) -> bool:
    return isinstance(one, BaseLine) and all(
        words.is_bold and words.size_pt > _TITLE_PT for words in one.words
    )


def _is_label(line: BaseLine, body_mm: float) -> bool:
    """Bold in the margin, with words beside it or alone."""
    label, *words = line.words
    is_beside = all(_is_at(one, body_mm) for one in words)
    return label.is_bold and _is_at(label, LEFT_MM) and len(words) < 2 and is_beside


def _shows(words: Sequence[Words]) -> list[tuple[str, float]]:
    return [(one.words, round(one.x_mm)) for one in words]


def _in_columns(lines: Sequence[Sequence[Words]], columns: Sequence[list[Words]]) -> Iterator[str]:
    """The cells of a row, each put to its column; those that go on in the line below are one."""
    cells = [""] * len(columns)
    for line in lines:
        last = -1
        for words in line:
            column = next(
                (index for index, held in enumerate(columns) if _is_under(words, held[0])), -1
            )
            if column <= last:
                raise UnreadableSheet(f"{shown(words.words)} stands in no column of its table")
            cells[column] += words.words
            columns[column].append(words)
            last = column
    return (_signed(cell.rstrip(" ")) for cell in cells if cell)


def _is_even(column: Sequence[Words], edge: str) -> bool:
    """Whether all of a column has one edge."""
    edges_mm: list[float] = [getattr(words, edge) for words in column]
    return max(edges_mm) - min(edges_mm) < NEAR_MM


def _is_under(words: Words, place: Words) -> bool:
    is_beginning = abs(words.x_mm - place.x_mm) < NEAR_MM
    return is_beginning or abs(words.end_mm - place.end_mm) < NEAR_MM
