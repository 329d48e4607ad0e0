"""A setup on one page in two columns: setting up and pictures at the left, the steps at the right.

So the first place that is gone to stands near the top. Imports sheets.document, canvas, writers.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import product

from millprep.base.records import replace
from millprep.canvas.pages import Lettering, Pages
from millprep.sheets.document import Page, Section
from millprep.writers.paged import (
    BOTTOM_MM,
    LEFT_MM,
    TOP_MM,
    Beside,
    Frame,
    Group,
    Laid,
    Line,
    Placed,
)
from millprep.writers.pictures import Figure, figures_of
from millprep.writers.setter import Setter

GUTTER_MM, RIGHT_COLUMN_MM = 92.0, 80.0  # where it stands; by how much the right column is moved
_BASE = 0.79  # of the height of a line lies above its base line, where lines are close
_GAP_MM, _BELOW_MM, _GUTTER_BELOW_MM = 1.8, 0.7, 0.9  # above a picture, below it, a rule
LEADINGS = (1.0, 0.95, 0.9, 0.85, 0.8, 0.78)  # of lines, over how far they are apart as a rule
_SIZES = ((1.0, 0.9, 0.8), (0.7, 0.6, 0.5))  # of pictures, over the width of their column


def _frame(right_mm: float) -> Frame:
    """Of a column: nothing in it is smaller than 8 points."""
    return Frame(
        body_mm=31.0,
        tail_mm=32.0,
        right_mm=right_mm,
        said=Lettering(9),
        bold=Lettering(9, True),
        plain=Lettering(9.5),
        figures=Lettering(10.5, True),
        heads=Lettering(8),
        line_mm=4.4,
        row_mm=4.7,
        row_end_mm=0.35,
        bare_mm=15.5,
        gap_mm=2.0,
        narrowest_mm=16,
        least=1.0,
    )


_LEFT, _RIGHT = _frame(89.0), _frame(115.0)


def in_columns(
    pages: Pages, page: Page, headings: Mapping[float, Group], foot: Sequence[Section], mark: str
) -> Laid | None:
    """The page as it is laid out; None where it has no pictures beside, or does not go on one.

    headings : title and what stands below it, by how close lines are
    foot : what stands at the end of the sheet, with its last page
    """
    first, *steps = page.sections or (Section(()),)
    if first.pictures is None or first.pictures.is_band or not steps:
        return None
    try:
        for sizes, leading in product(_SIZES, LEADINGS):
            heading = headings[leading]
            room_mm = BOTTOM_MM - TOP_MM - heading.height_mm
            left, right = (Setter(pages, page, mark, leading, one) for one in (_LEFT, _RIGHT))
            columns = [_lines(left, [first])], [_lines(right, steps)]
            ends = _lines(right, foot), _lines(left, foot)
            for size in sizes:
                figures = [*figures_of(first.pictures, size * (_LEFT.right_mm - LEFT_MM))]
                for both in _shared_out(columns, figures, ends):
                    if max(map(_height_mm, both)) <= room_mm:
                        return _laid(heading, both, right.foot)
    except ValueError:  # a table is wider than its column
        return None
    return None


Column = list[Line]


def _lines(setter: Setter, sections: Iterable[Section]) -> Column:
    return [
        line
        for section in sections
        for block in setter.section(section)
        for group in block.groups
        for line in group.lines
    ]


def _shared_out(
    columns: tuple[list[Column], list[Column]],
    figures: Sequence[Figure],
    ends: tuple[Column, Column],
) -> Iterator[tuple[Column, Column]]:
    """The columns with pictures and end: sections through holes stand below the steps, where there
    is room, for their words are long."""
    held = [one for one in figures if one.kind != "cut"]
    cuts = [one for one in figures if one.kind == "cut"]
    (words,), (steps,) = columns
    for is_right, are_left in product((True, False), (False, True)):
        left = [*words, *_drawn(figures if are_left else held), *([] if is_right else ends[1])]
        right = [*steps, *([] if are_left else _drawn(cuts)), *(ends[0] if is_right else [])]
        yield left, right


def _drawn(figures: Iterable[Figure]) -> Iterator[Line]:
    """Pictures below each other."""
    for one in figures:
        wide_mm = one.width_mm
        spare_mm = _LEFT.right_mm - LEFT_MM - wide_mm
        left_mm = LEFT_MM + (0.0 if one.kind == "cut" else spare_mm / 2)  # its words take the rest
        beside = Beside(left_mm, _GAP_MM, wide_mm, one.height_mm, one.draw)
        yield Line((), one.height_mm + _GAP_MM + _BELOW_MM, beside=(beside,))


def _height_mm(lines: Iterable[Line]) -> float:
    return sum(line.height_mm for line in lines)


def _laid(heading: Group, columns: tuple[Column, Column], foot: str) -> Laid:
    placed: list[Placed] = []
    below_mm = TOP_MM + heading.height_mm
    for lines, top_mm, right_mm in (
        (heading.lines, TOP_MM, 0.0),
        (columns[0], below_mm, 0.0),
        (columns[1], below_mm, RIGHT_COLUMN_MM),
    ):
        for line in lines:
            placed.append((top_mm, right_mm, replace(line, base=_BASE)))
            top_mm += line.height_mm
    end_mm = below_mm + max(map(_height_mm, columns))
    return Laid(foot, tuple(placed), (GUTTER_MM, below_mm + _GUTTER_BELOW_MM, end_mm))
