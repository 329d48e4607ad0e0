"""Sections of a document as lines: labels and sentences, tables, what hangs on their rows.

Every column of a table is as wide as its words and figures ask for; where that is more than there
is, words go on in the line below, in their own column. Imports sheets.document, canvas, writers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from millprep.base.plain_text import NO_BREAK
from millprep.canvas.pages import Lettering, Pages
from millprep.sheets.document import Field, Page, Row, Section, Table, items_of, running_on
from millprep.writers.columns import Place, spread
from millprep.writers.paged import (
    LEFT_MM,
    MINUS,
    TABLE_MM,
    WHOLE,
    Block,
    Frame,
    Group,
    Line,
    Words,
    broken,
    glued,
    rule,
    squeezed,
    together,
)

INDENT_MM, APART_MM = 4.0, 8.0
_LABEL_LETTERS = 8  # a longer label has a line of its own, as in text
_OPENING_MM = 45.0  # what stands above a table, and a row with what hangs on it: longer is torn
_CONTINUED = "continued"


def titles(page: Page) -> list[str]:
    return [cell for cell in page.title.cells if cell]


def signs(words: str) -> str:
    """The words with the minus of their figures (and no hyphen of their names) made so."""
    return " ".join(
        MINUS + word[1:] if word[:1] == "-" and word[1:2].isdigit() else word
        for word in words.split(" ")
    )


class Setter:
    """Makes blocks of lines of one page of the document.

    leading : what lines are apart, over what they are as a rule; mark : of the part, at the foot
    y_mm : how far down it has come
    """

    def __init__(
        self, pages: Pages, page: Page, mark: str = "", leading: float = 1.0, frame: Frame = WHOLE
    ) -> None:
        self.pages, self.page, self.y_mm, self.frame = pages, page, 0.0, frame
        self.line_mm, self.row_mm = leading * frame.line_mm, leading * frame.row_mm
        self.foot = "; ".join([", ".join(titles(page)), *([f"part mark {mark}"] if mark else [])])
        self._again: tuple[Line, ...] = ()
        self._first_said: Words | None = None
        self._shared: tuple[Line, ...] = ()  # what is said of all rows of a table, above it
        self._places: dict[str, tuple[Place, ...]] = {}
        self._table_end_mm = frame.right_mm

    def section(self, section: Section) -> Iterator[Block]:
        """A block below a rule, which stays with its first lines."""
        above = self._above(section)
        self.y_mm += above.height_mm
        first, *rest = self._groups(items_of(section)) or [Group(())]
        yield Block((glued(above, first), *rest), self.foot)

    def _above(self, section: Section) -> Group:
        """What begins a section."""
        return rule(self._right_mm())

    def _right_mm(self, below_mm: float = 0.0) -> float:
        """Where words may end that stand so far below where it has come to."""
        return self.frame.right_mm

    def _set_beside(
        self, words: str, left_mm: float, lettering: Lettering, below_mm: float
    ) -> list[str]:
        """The words in lines, each as long as there is room beside a picture or below it."""
        lines: list[str] = []
        while words or not lines:
            end_mm = self._right_mm(below_mm + len(lines) * self.line_mm)
            line, *more = broken(self.pages, words, end_mm - left_mm, lettering)
            lines.append(line.rstrip())
            words = "".join(more)
        return lines

    def _wrapped(
        self, words: str, width_mm: float, lettering: Lettering | None = None
    ) -> list[str]:
        lettering = lettering or self.frame.said
        return [line.rstrip() for line in broken(self.pages, words, width_mm, lettering)]

    def _groups(self, items: Iterable[Field | Table]) -> list[Group]:
        """What heads a table stays with its first rows, what is said below it with the last."""
        groups: list[Group] = []
        opening = 0  # where in the groups that begins
        self._again = ()
        for item in running_on(items):
            if isinstance(item, Field):
                new = self._field("" if item.is_silent else str(item.label), item)
                if opening == len(groups) > 0 and item.is_silent:
                    groups[-1] = glued(groups[-1], new.pop(0))
                    opening = len(groups)
            else:
                new = self._run(item) if item.runs_on else self._table(item)
                if sum(group.height_mm for group in groups[opening:]) > _OPENING_MM:
                    opening = len(groups) - 1
                for group in reversed(groups[opening:]):
                    new[0] = glued(group, new[0])
                del groups[opening:]
                opening = len(groups) + len(new)
            groups += new
        return groups

    def _field(self, label: str, field: Field) -> list[Group]:
        """A label in the margin and its sentences beside it; words of warning in bold."""
        is_above = bool(label) and (len(label) >= _LABEL_LETTERS or not field.sentences)
        texts: list[Words] = []
        for said, is_warning in self._told(field):
            lettering = self.frame.bold if is_warning else self.frame.said
            below_mm = (len(texts) + is_above) * self.line_mm
            lines = self._set_beside(said, self.frame.body_mm, lettering, below_mm)
            texts += [Words(self.frame.body_mm, line, lettering) for line in lines]
        rows: list[tuple[Words, ...]] = [(words,) for words in texts]
        if label:
            room = self._right_mm() if is_above else self.frame.body_mm - 1
            name = Words(
                LEFT_MM, label, squeezed(self.pages, label, room - LEFT_MM, self.frame.bold)
            )
            rows[: 0 if is_above else 1] = [(name, *(() if is_above else rows[0]))]
            self._again = (self._goes_on(label, texts[0].words if texts else ""),)
            self._first_said = texts[0] if texts else None
            self._shared = tuple(Line((words,), self.line_mm) for words in texts[1:])
        else:
            self._shared += tuple(Line(row, self.line_mm) for row in rows)
        self.y_mm += len(rows) * self.line_mm
        first, *rest = together([Line(row, self.line_mm) for row in rows])
        return [first, *(Group(group.lines, self._again) for group in rest)]

    def _told(self, field: Field) -> Iterator[tuple[str, bool]]:
        """The sentences, and whether they warn: those that run on one behind the other, where they
        have room on a line or end in full stops."""
        held, room_mm = "", self._right_mm() - self.frame.body_mm
        for sentence in field.sentences:
            words = signs(str(sentence))
            is_prose = held.endswith(".") and words.endswith(".")
            both = f"{held}{NO_BREAK if is_prose else ' '} {words}"
            has_room = is_prose or self.pages.width_mm(both, self.frame.said) <= room_mm
            if held and field.runs_on and has_room and not sentence.is_warning:
                held = both
                continue
            if held:
                yield held, False
            held = "" if sentence.is_warning else words
            if sentence.is_warning:
                yield words, True
        if held:
            yield held, False

    def _shared_again(self) -> tuple[Line, ...]:
        """What is repeated above rows that go on: all that is said of them, or the first alone."""
        first = self._first_said
        is_whole = any(first in line.words for line in self._again)
        return self._shared if first and is_whole else ()

    def _goes_on(self, label: str, words: str) -> Line:
        """What stands above what goes on from the page before."""
        ends = Words(self.frame.right_mm, _CONTINUED, self.frame.heads, ends=True)
        room = (
            self.frame.right_mm
            - self.frame.body_mm
            - self.pages.width_mm(_CONTINUED, self.frame.heads)
            - self.frame.gap_mm
        )
        lettering = squeezed(self.pages, label, self.frame.body_mm - LEFT_MM - 1, self.frame.bold)
        if lettering.size_pt < self.frame.heads.size_pt:
            lettering, words = squeezed(self.pages, label, room, self.frame.bold), ""
        name = Words(LEFT_MM, label, lettering)
        said = (
            [Words(self.frame.body_mm, self._wrapped(words, room)[0], self.frame.said)]
            if words
            else []
        )
        return Line((name, *said, ends), self.line_mm)

    def _table(self, table: Table) -> list[Group]:
        space = [*self._space_above()]
        places = self._places_of(table, self._table_end_mm)
        head = []
        if table.head is not None:
            cells = zip(places[table.folds :], table.heads, strict=False)
            heads = (_set(place, cell, place.heads) for place, cell in cells if cell)
            head = [Line(tuple(heads), self.line_mm)]
        again = (*self._again, *self._shared_again(), *head)
        groups = [
            group for row in table.rows for group in _torn(self._row(table, row, places), again)
        ]
        if not groups:
            return [Group((*space, *head))]
        groups[0] = Group((*space, *head, *groups[0].lines), self._again)
        self.y_mm += sum(group.height_mm for group in groups)
        if len(groups) > 1:
            groups[:2] = [glued(groups[0], groups[1])]
        return groups

    def _space_above(self) -> Iterator[Line]:
        """What a table keeps clear of."""
        yield from ()

    def _run(self, table: Table) -> list[Group]:
        """The head as a sentence, then the rows one after the other, as many as a line holds."""
        heads = self._wrapped(
            str(table.head or ""),
            self.frame.right_mm - self.frame.body_mm - INDENT_MM,
            self.frame.heads,
        )
        lines = [
            Line(
                (
                    Words(
                        self.frame.body_mm + (INDENT_MM if index else 0.0), head, self.frame.heads
                    ),
                ),
                self.line_mm,
            )
            for index, head in enumerate(heads)
            if head
        ]
        shown = [signs(" ".join(filter(None, row.cells.cells))) for row in table.rows]
        room = self.frame.right_mm - TABLE_MM
        wide = (
            max((self.pages.width_mm(one, self.frame.plain) for one in shown), default=0.0)
            + APART_MM
        )
        count = max(int((room + APART_MM) / wide), 1)
        for start in range(0, len(shown), count):
            words = (
                Words(
                    TABLE_MM + index * wide, one, squeezed(self.pages, one, room, self.frame.plain)
                )
                for index, one in enumerate(shown[start : start + count])
            )
            lines.append(Line(tuple(words), self.row_mm))
        self.y_mm += sum(line.height_mm for line in lines)
        return [Group(group.lines, self._again) for group in together(lines)]

    def _row(self, table: Table, row: Row, places: Sequence[Place]) -> Iterator[Line]:
        """The cells, each in its column; what hangs on them; a faint rule below all."""
        cells = [
            self._cell(place, signs(cell))
            for place, cell in zip(places, table.cells(row.cells), strict=False)
        ]
        for index in range(max(map(len, cells))):
            words = tuple(cell[index] for cell in cells if index < len(cell))
            first = index == 0
            height_mm = self.line_mm if index else self.row_mm
            yield Line(words, height_mm, has_box=table.boxes and first)
        end_mm = self._table_end_mm
        for sentence in row.below:
            hanging = signs(str(sentence)).replace(f" {MINUS}", f"  {MINUS}")
            for line in self._wrapped(hanging, end_mm - self.frame.tail_mm, self.frame.plain):
                yield Line((Words(self.frame.tail_mm, line, self.frame.plain),), self.line_mm)
        yield Line((), self.frame.row_end_mm, rule="faint", right_mm=end_mm)

    def _cell(self, place: Place, cell: str) -> list[Words]:
        """Lines that end in a blank where they were broken at one."""
        if not cell:
            return []
        lettering = place.lettering(cell)
        lines = [cell]
        if not place.ends:
            lines = broken(self.pages, cell, place.right_mm - place.left_mm + 0.01, lettering)
        return [_set(place, line, lettering) for line in lines]

    def _places_of(self, table: Table, end_mm: float) -> tuple[Place, ...]:
        """Where its columns lie: all tables of a name on the page have them at the same places."""
        if table.name not in self._places:
            items = [item for section in self.page.sections for item in items_of(section)]
            tables = [one for one in items if isinstance(one, Table) and one.name == table.name]
            self._places[table.name] = spread(self.pages, tables or [table], end_mm, self.frame)
        return self._places[table.name]


def _set(place: Place, words: str, lettering: Lettering) -> Words:
    return Words(place.right_mm if place.ends else place.left_mm, words, lettering, ends=place.ends)


def _torn(lines: Iterator[Line], again: tuple[Line, ...]) -> Iterator[Group]:
    """A row in one piece; one that is too long for that in several."""
    row = Group(tuple(lines), again)
    if row.height_mm <= _OPENING_MM:
        yield row
    else:
        yield from (Group(group.lines, again) for group in together(row.lines))
