"""Any document as pages to print, read at arm's length. Imports sheets.document, canvas, writers.

Every column of a table is as wide as its words and figures ask for; where that is more than the
page has, words go on in the line below, in their own column.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from millprep.base.records import replace
from millprep.canvas.pages import Lettering, Pages
from millprep.sheets.document import Document, Field, Page, Row, Section, Sentence, Table
from millprep.sheets.picture import Pictures
from millprep.writers.columns import GAP_MM, HEADS, PLAIN, Place, spread
from millprep.writers.paged import (
    BODY_MM,
    BOTTOM_MM,
    LEFT_MM,
    MINUS,
    NARROW_MM,
    RIGHT_MM,
    TABLE_MM,
    TOP_MM,
    Beside,
    Block,
    Group,
    Line,
    Words,
    broken,
    glued,
    rule,
    set_out,
    squeezed,
    together,
)
from millprep.writers.pictures import Figure, figures_of

_TITLE, _LONG_TITLE, _SUBTITLE = (Lettering(size, True) for size in (17, 15, 14))
_SAID, _BOLD = Lettering(10.5), Lettering(10.5, True)
_TITLE_MM, _LINE_MM, _ROW_MM, _ROW_END_MM = 8.0, 4.9, 5.6, 0.6
_LEADINGS = (0.95, 0.9, 0.85, 0.8)  # lines may be so much nearer, for a setup to be one page
_IN_A_BAND_MM = 66.0
_PICTURE_LEFT_MM, _PICTURE_GAP_MM, _BELOW_PICTURE_MM = 134.5, 2.5, 1.5
_INDENT_MM, _TAIL_MM = 4.0, 40.0
_LABEL_LETTERS = 8  # a longer label has a line of its own, as in text
_APART_MM = 8.0
_OPENING_MM = 45.0  # what stands above a table, and a row with what hangs on it: longer is torn
_CONTINUED = "continued"


def document_pdf(document: Document) -> bytes:
    """The whole sheet as a file, with the blank mark of `outfile`."""
    pages = Pages(", ".join(_titles(document.pages[0])))
    blocks: list[Block] = []
    for page in document.pages:
        setter, its = _on_one_page(pages, page)
        blocks += its
    blocks += [block for section in document.foot for block in setter.section(section)]
    set_out(pages, blocks)
    return pages.document()


def _on_one_page(pages: Pages, page: Page) -> tuple[_Setter, list[Block]]:
    """The blocks of a page of the sheet: closer together where they then go on one of paper."""
    whole = _Setter(pages, page)
    room_mm, blocks = BOTTOM_MM - TOP_MM, [*whole.blocks()]
    if room_mm < _height_mm(blocks) <= room_mm / _LEADINGS[-1]:
        for leading in _LEADINGS:
            closer = _Setter(pages, page, leading)
            its = [*closer.blocks()]
            if _height_mm(its) <= room_mm:
                return closer, its
    return whole, blocks


def _height_mm(blocks: Iterable[Block]) -> float:
    return sum(block.height_mm for block in blocks)


def _titles(page: Page) -> list[str]:
    return [cell for cell in page.title.cells if cell]


def _signs(words: str) -> str:
    """The words with the minus of their figures (and no hyphen of their names) made so."""
    return " ".join(
        MINUS + word[1:] if word[:1] == "-" and word[1:2].isdigit() else word
        for word in words.split(" ")
    )


class _Setter:
    """Makes blocks of lines of one page of the document.

    leading : what lines are apart, over what they are as a rule; y_mm : how far down it has come
    """

    def __init__(self, pages: Pages, page: Page, leading: float = 1.0) -> None:
        self.pages, self.page, self.y_mm = pages, page, 0.0
        self.line_mm, self.row_mm = leading * _LINE_MM, leading * _ROW_MM
        marks = [one.slots["part_mark"] for one in page.heading if "part_mark" in one.slots]
        self.foot = "; ".join([", ".join(_titles(page)), *(f"part mark {one}" for one in marks)])
        self._again: tuple[Line, ...] = ()
        self._first_said: Words | None = None
        self._shared: tuple[Line, ...] = ()  # what is said of all rows of a table, above it
        self._places: dict[str, tuple[Place, ...]] = {}
        self._beside: tuple[Beside, ...] = ()
        self._left: Sequence[Figure] = ()
        self._table_end_mm = RIGHT_MM

    def blocks(self) -> Iterator[Block]:
        heading = self._heading()
        self.y_mm = TOP_MM + heading.height_mm
        self._begin_column(heading)
        first, *others = [[*self.section(one)] for one in self._beside_the_steps()] or [[]]
        title, *lines = heading.lines
        heading = Group((replace(title, beside=self._beside), *lines))
        opening = first[0].groups if first else ()
        yield Block((heading, *opening), self.foot, True)
        yield from first[1:]
        for blocks in others:
            yield from blocks

    def _begin_column(self, heading: Group) -> None:
        """Pictures beside setting up; those that are left stand beside the steps, if tables do."""
        wide_mm = RIGHT_MM - _PICTURE_LEFT_MM
        pictures = (one.pictures for one in self.page.sections if one.pictures is not None)
        figures = [
            one for each in pictures if not each.is_band for one in figures_of(each, wide_mm)
        ]
        count = len(figures)
        if figures and self._is_narrow():
            self._table_end_mm = NARROW_MM
            count = sum(one.kind in ("held", "turn") for one in figures)
        self._beside = tuple(_in_a_column(figures[:count], heading.height_mm + _PICTURE_GAP_MM))
        self._left = figures[count:]

    def _beside_the_steps(self) -> Iterator[Section]:
        """The sections of the page; at the second the pictures that are left begin."""
        for index, one in enumerate(self.page.sections):
            if index == 1 and self._left:
                top_mm = max(self.y_mm, self._pictures_end_mm()) - TOP_MM + _PICTURE_GAP_MM
                self._beside += tuple(_in_a_column(self._left, top_mm))
            yield one

    def section(self, section: Section) -> Iterator[Block]:
        """A block below a rule, which stays with its first lines."""
        above = rule(self._right_mm())
        if section.pictures is not None and section.pictures.is_band:
            above = glued(above, _band(section.pictures))
        self.y_mm += above.height_mm
        first, *rest = self._groups(_items(section)) or [Group(())]
        yield Block((glued(above, first), *rest), self.foot)

    def _is_narrow(self) -> bool:
        """Whether all tables go beside pictures."""
        try:
            for section in self.page.sections:
                for one in _items(section):
                    if isinstance(one, Table):
                        self._places_of(one, NARROW_MM)
        except ValueError:
            self._places = {}
            return False
        return True

    def _right_mm(self, below_mm: float = 0.0) -> float:
        """Where words may end that stand so far below where it has come to."""
        return NARROW_MM if self.y_mm + below_mm < self._pictures_end_mm() else RIGHT_MM

    def _pictures_end_mm(self) -> float:
        """How far down there are pictures beside the words."""
        ends = (TOP_MM + one.top_mm + one.height_mm + _BELOW_PICTURE_MM for one in self._beside)
        return max(ends, default=0.0)

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

    def _wrapped(self, words: str, width_mm: float, lettering: Lettering = _SAID) -> list[str]:
        return [line.rstrip() for line in broken(self.pages, words, width_mm, lettering)]

    def _heading(self) -> Group:
        wide = RIGHT_MM - LEFT_MM - _INDENT_MM
        lines = [
            Line((Words(LEFT_MM + (_INDENT_MM if index else 0.0), line, _SAID),), self.line_mm)
            for sentence in self.page.heading
            for index, line in enumerate(self._wrapped(_signs(str(sentence)), wide))
        ]
        return Group((*self._title(), *lines))

    def _title(self) -> Iterator[Line]:
        """What is done stands beside the name, or below it where that is long."""
        name, *more = map(_signs, _titles(self.page))
        room = RIGHT_MM - LEFT_MM
        beside = room - sum(self.pages.width_mm(one, _SUBTITLE) + _APART_MM for one in more)
        lettering = squeezed(self.pages, name, max(beside, 1.0), _TITLE)
        if lettering.size_pt >= _LONG_TITLE.size_pt:
            ends = (Words(RIGHT_MM, one, _SUBTITLE, ends=True) for one in more)
            yield Line((Words(LEFT_MM, name, lettering), *ends), _TITLE_MM)
            return
        for line in broken(self.pages, name, room, _LONG_TITLE):
            yield Line((Words(LEFT_MM, line, _LONG_TITLE),), _TITLE_MM)
        for one in more:
            yield Line(
                (Words(LEFT_MM, one, squeezed(self.pages, one, room, _SUBTITLE)),), _TITLE_MM
            )

    def _groups(self, items: Iterable[Field | Table]) -> list[Group]:
        """What heads a table stays with its first rows, what is said below it with the last."""
        groups: list[Group] = []
        opening = 0  # where in the groups that begins
        self._again = ()
        for item in items:
            if isinstance(item, Field):
                new = self._field("" if item.is_silent else str(item.label), item.sentences)
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

    def _field(self, label: str, sentences: Iterable[Sentence]) -> list[Group]:
        """A label in the margin and its sentences beside it; words of warning in bold."""
        sentences = [*sentences]
        is_above = bool(label) and (len(label) >= _LABEL_LETTERS or not sentences)
        texts: list[Words] = []
        for sentence in sentences:
            lettering = _BOLD if sentence.is_warning else _SAID
            below_mm = (len(texts) + is_above) * self.line_mm
            lines = self._set_beside(_signs(str(sentence)), BODY_MM, lettering, below_mm)
            texts += [Words(BODY_MM, line, lettering) for line in lines]
        rows: list[tuple[Words, ...]] = [(words,) for words in texts]
        if label:
            room = self._right_mm() if is_above else BODY_MM - 1
            name = Words(LEFT_MM, label, squeezed(self.pages, label, room - LEFT_MM, _BOLD))
            rows[: 0 if is_above else 1] = [(name, *(() if is_above else rows[0]))]
            self._again = (self._goes_on(label, texts[0].words if texts else ""),)
            self._first_said = texts[0] if texts else None
            self._shared = tuple(Line((words,), self.line_mm) for words in texts[1:])
        else:
            self._shared += tuple(Line(row, self.line_mm) for row in rows)
        self.y_mm += len(rows) * self.line_mm
        first, *rest = together([Line(row, self.line_mm) for row in rows])
        return [first, *(Group(group.lines, self._again) for group in rest)]

    def _shared_again(self) -> tuple[Line, ...]:
        """What is repeated above rows that go on: all that is said of them, or the first alone."""
        first = self._first_said
        is_whole = any(first in line.words for line in self._again)
        return self._shared if first and is_whole else ()

    def _goes_on(self, label: str, words: str) -> Line:
        """What stands above what goes on from the page before."""
        ends = Words(RIGHT_MM, _CONTINUED, HEADS, ends=True)
        room = RIGHT_MM - BODY_MM - self.pages.width_mm(_CONTINUED, HEADS) - GAP_MM
        lettering = squeezed(self.pages, label, BODY_MM - LEFT_MM - 1, _BOLD)
        if lettering.size_pt < HEADS.size_pt:
            lettering, words = squeezed(self.pages, label, room, _BOLD), ""
        name = Words(LEFT_MM, label, lettering)
        said = [Words(BODY_MM, self._wrapped(words, room)[0], _SAID)] if words else []
        return Line((name, *said, ends), self.line_mm)

    def _table(self, table: Table) -> list[Group]:
        space = []
        if self._table_end_mm > self._right_mm():  # it is too wide for what is left beside them
            space = [Line((), self._pictures_end_mm() - self.y_mm)]
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

    def _run(self, table: Table) -> list[Group]:
        """The head as a sentence, then the rows one after the other, as many as a line holds."""
        heads = self._wrapped(str(table.head or ""), RIGHT_MM - BODY_MM - _INDENT_MM, HEADS)
        lines = [
            Line((Words(BODY_MM + (_INDENT_MM if index else 0.0), head, HEADS),), self.line_mm)
            for index, head in enumerate(heads)
            if head
        ]
        shown = [_signs(" ".join(filter(None, row.cells.cells))) for row in table.rows]
        room = RIGHT_MM - TABLE_MM
        wide = max((self.pages.width_mm(one, PLAIN) for one in shown), default=0.0) + _APART_MM
        count = max(int((room + _APART_MM) / wide), 1)
        for start in range(0, len(shown), count):
            words = (
                Words(TABLE_MM + index * wide, one, squeezed(self.pages, one, room, PLAIN))
                for index, one in enumerate(shown[start : start + count])
            )
            lines.append(Line(tuple(words), self.row_mm))
        self.y_mm += sum(line.height_mm for line in lines)
        return [Group(group.lines, self._again) for group in together(lines)]

    def _row(self, table: Table, row: Row, places: Sequence[Place]) -> Iterator[Line]:
        """The cells, each in its column; what hangs on them; a faint rule below all."""
        cells = [
            self._cell(place, _signs(cell))
            for place, cell in zip(places, table.cells(row.cells), strict=False)
        ]
        for index in range(max(map(len, cells))):
            words = tuple(cell[index] for cell in cells if index < len(cell))
            first = index == 0
            height_mm = self.line_mm if index else self.row_mm
            yield Line(words, height_mm, has_box=table.boxes and first)
        end_mm = self._table_end_mm
        for sentence in row.below:
            hanging = _signs(str(sentence)).replace(f" {MINUS}", f"  {MINUS}")
            for line in self._wrapped(hanging, end_mm - _TAIL_MM, PLAIN):
                yield Line((Words(_TAIL_MM, line, PLAIN),), self.line_mm)
        yield Line((), _ROW_END_MM, rule="faint", right_mm=end_mm)

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
            items = [item for section in self.page.sections for item in _items(section)]
            tables = [one for one in items if isinstance(one, Table) and one.name == table.name]
            self._places[table.name] = spread(self.pages, tables or [table], end_mm)
        return self._places[table.name]


def _in_a_column(figures: Iterable[Figure], top_mm: float) -> Iterator[Beside]:
    """Pictures below each other at the right, from there below the page's top, while they fit."""
    wide_mm = RIGHT_MM - _PICTURE_LEFT_MM
    for figure in figures:
        if TOP_MM + top_mm + figure.height_mm > BOTTOM_MM:
            return
        yield Beside(_PICTURE_LEFT_MM, top_mm, wide_mm, figure.height_mm, figure.draw)
        top_mm += figure.height_mm + _PICTURE_GAP_MM


def _band(pictures: Pictures) -> Group:
    """Pictures side by side across the page."""
    figures = [*figures_of(pictures, _IN_A_BAND_MM)]
    high_mm = max(one.height_mm for one in figures)
    beside = tuple(
        Beside(
            left_mm,
            _BELOW_PICTURE_MM + (high_mm - one.height_mm) / 2,
            _IN_A_BAND_MM,
            one.height_mm,
            one.draw,
        )
        for left_mm, one in zip((BODY_MM, RIGHT_MM - _IN_A_BAND_MM), figures, strict=True)
    )
    return Group((Line((), high_mm + 2 * _BELOW_PICTURE_MM, beside=beside),))


def _set(place: Place, words: str, lettering: Lettering) -> Words:
    return Words(place.right_mm if place.ends else place.left_mm, words, lettering, ends=place.ends)


def _items(section: Section) -> Iterator[Field | Table]:
    """What stands in a section and in its pieces."""
    for item in section.items:
        if isinstance(item, Section):
            yield from _items(item)
        else:
            yield item


def _torn(lines: Iterator[Line], again: tuple[Line, ...]) -> Iterator[Group]:
    """A row in one piece; one that is too long for that in several."""
    row = Group(tuple(lines), again)
    if row.height_mm <= _OPENING_MM:
        yield row
    else:
        yield from (Group(group.lines, again) for group in together(row.lines))
