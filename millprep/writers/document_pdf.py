"""Any document as pages to print, read at arm's length. Imports sheets, canvas and writers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from millprep.base.records import replace
from millprep.canvas.pages import Lettering, Pages
from millprep.sheets.document import Document, Field, Page, Section, Table, items_of
from millprep.sheets.picture import Pictures
from millprep.writers.paged import (
    BODY_MM,
    BOTTOM_MM,
    LEFT_MM,
    NARROW_MM,
    RIGHT_MM,
    TOP_MM,
    Beside,
    Block,
    Group,
    Laid,
    Line,
    Words,
    broken,
    glued,
    set_out,
    squeezed,
)
from millprep.writers.pictures import Figure, figures_of
from millprep.writers.setter import APART_MM, INDENT_MM, Setter, signs, titles
from millprep.writers.two_columns import LEADINGS, in_columns

_TITLE, _LONG_TITLE, _SUBTITLE = (Lettering(size, True) for size in (17, 15, 14))
_TITLE_MM = 8.0
_LEADINGS = (1.0, 0.95, 0.9, 0.85, 0.8)  # lines may be so much nearer, for a setup to be one page
_IN_A_BAND_MM = 66.0
_PICTURE_LEFT_MM, _PICTURE_GAP_MM, _BELOW_PICTURE_MM = 134.5, 2.5, 1.5


def document_pdf(document: Document) -> bytes:
    """The whole sheet as a file, with the blank mark of `outfile`."""
    first = document.pages[0]
    pages = Pages(", ".join(titles(first)))
    mark = next((one.slots["part_mark"] for one in first.heading if "part_mark" in one.slots), "")
    blocks: list[Block | Laid] = []
    for page in document.pages:
        foot = document.foot if page is document.pages[-1] else ()
        headings = {one: _PageSetter(pages, page, mark, one).heading() for one in LEADINGS}
        laid, below = in_columns(pages, page, headings, foot, mark), list[Block]()
        if laid is None and _has_remarks(foot):  # they are worth a page
            laid = in_columns(pages, page, headings, (), mark)
            setter = _PageSetter(pages, page, mark)
            below = [block for section in foot for block in setter.section(section)]
        blocks += _flowing(pages, page, foot, mark) if laid is None else [laid, *below]
    set_out(pages, blocks)
    return pages.document()


def _has_remarks(foot: Sequence[Section]) -> bool:
    fields = (one for section in foot for one in items_of(section) if isinstance(one, Field))
    return any(one.label.slug == "REMARKS" for one in fields)


def _flowing(pages: Pages, page: Page, foot: Sequence[Section], mark: str) -> list[Block]:
    """The blocks of a page of the sheet: closer together where they then go on one of paper. What
    stands at the foot of the sheet has something of the page with it."""
    setter, blocks = _PageSetter(pages, page, mark), list[Block]()
    room_mm = BOTTOM_MM - TOP_MM
    for leading in _LEADINGS:
        setter = _PageSetter(pages, page, mark, leading)
        its = [*setter.blocks()]
        blocks = blocks or its
        if not room_mm < _height_mm(blocks) <= room_mm / _LEADINGS[-1]:
            break
        if _height_mm(its) <= room_mm:
            blocks = its
            break
    below = [group for section in foot for one in setter.section(section) for group in one.groups]
    if not below:
        return blocks
    *others, last = blocks
    if sum(group.height_mm for group in below) > room_mm / 2:
        return [*blocks, Block(tuple(below), last.foot)]
    again, first = last.groups[-1].again, len(last.groups) - 1
    while first and again and last.groups[first].again == again:
        first -= 1
    lines = tuple(line for group in (*last.groups[first:], *below) for line in group.lines)
    end = Group(lines, last.groups[first].again)
    return [*others, replace(last, groups=(*last.groups[:first], end))]


def _height_mm(blocks: Iterable[Block]) -> float:
    return sum(block.height_mm for block in blocks)


class _PageSetter(Setter):
    """Makes the blocks of a whole page of the document, its pictures beside them."""

    def __init__(self, pages: Pages, page: Page, mark: str, leading: float = 1.0) -> None:
        super().__init__(pages, page, mark, leading)
        self._beside: tuple[Beside, ...] = ()
        self._left: Sequence[Figure] = ()

    def blocks(self) -> Iterator[Block]:
        heading = self.heading()
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

    def _is_narrow(self) -> bool:
        """Whether all tables go beside pictures."""
        try:
            for section in self.page.sections:
                for one in items_of(section):
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

    def heading(self) -> Group:
        wide = RIGHT_MM - LEFT_MM - INDENT_MM
        lines = [
            Line(
                (Words(LEFT_MM + (INDENT_MM if index else 0.0), line, self.frame.said),),
                self.line_mm,
            )
            for sentence in self.page.heading
            for index, line in enumerate(self._wrapped(signs(str(sentence)), wide))
        ]
        return Group((*self._title(), *lines))

    def _title(self) -> Iterator[Line]:
        """What is done stands beside the name, or below it where that is long."""
        name, *more = map(signs, titles(self.page))
        room = RIGHT_MM - LEFT_MM
        beside = room - sum(self.pages.width_mm(one, _SUBTITLE) + APART_MM for one in more)
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

    def _above(self, section: Section) -> Group:
        """A rule, and pictures side by side below it."""
        above = super()._above(section)
        if section.pictures is not None and section.pictures.is_band:
            return glued(above, _band(section.pictures))
        return above

    def _space_above(self) -> Iterator[Line]:
        """Of a table that is too wide for what is left beside pictures."""
        if self._table_end_mm > self._right_mm():
            yield Line((), self._pictures_end_mm() - self.y_mm)


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
