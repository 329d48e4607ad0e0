"""Where the columns of a printed table lie. Imports sheets.document, canvas and paged."""

from __future__ import annotations

import re
from collections.abc import Sequence

from millprep.base.records import frozen
from millprep.canvas.pages import Lettering, Pages
from millprep.sheets.document import Column, Table
from millprep.writers.paged import TABLE_MM, WHOLE, Frame

_NARROW_GAP_MM = 3.2  # beside pictures
_WIDEST_GAP_MM = 14.0
_FIGURE = re.compile(r"[-+\d./ \N{EN DASH}]+", re.ASCII)


@frozen
class Place:
    """Where a column lies across the page [mm], and how its head and its cells are set.

    ends : the cells end together
    """

    left_mm: float
    right_mm: float
    ends: bool
    heads: Lettering
    words: Lettering
    figures: Lettering

    def lettering(self, cell: str) -> Lettering:
        """Of a cell: figures that end together are large."""
        return self.figures if self.ends and _FIGURE.fullmatch(cell) else self.words


def spread(
    pages: Pages, tables: Sequence[Table], right_mm: float, frame: Frame = WHOLE
) -> tuple[Place, ...]:
    """The columns of tables that share them, as wide as they ask for or as there is room.

    right_mm : where the room ends, no farther than the frame does

    Raises ValueError where figures and heads alone are wider than the page.
    """
    columns = max((table.columns for table in tables), key=len)
    styles = [_style(tables, index, column, frame) for index, column in enumerate(columns)]
    asked = [_asked_mm(pages, tables, index, style, frame) for index, style in enumerate(styles)]
    gap = frame.gap_mm if right_mm >= frame.right_mm else _NARROW_GAP_MM
    gaps = max(sum(one > 0 for one, _ in asked) - 1, 0)  # an empty column takes no room
    left_mm = TABLE_MM if any(table.boxes for table in tables) else frame.bare_mm
    room = right_mm - left_mm - gap * gaps
    wide, scale = _fitted([one for one, _ in asked], [least for _, least in asked], room, frame)
    if gaps:
        gap += min((room - sum(wide)) / gaps, _WIDEST_GAP_MM - frame.gap_mm)
    places, left = [], left_mm
    for style, width in zip(styles, wide, strict=True):
        places.append(_placed(style, left, width, scale))
        left += width + gap if width else 0.0
    return tuple(places)


def _placed(style: Place, left_mm: float, width_mm: float, scale: float) -> Place:
    letterings = (
        Lettering(one.size_pt * scale, one.is_bold)
        for one in (style.heads, style.words, style.figures)
    )
    return Place(left_mm, left_mm + width_mm, style.ends, *letterings)


def _style(tables: Sequence[Table], index: int, column: Column, frame: Frame) -> Place:
    """The letterings of a column; a count that begins the rows only numbers them."""
    is_number = index == 0 and any(table.is_numbered for table in tables)
    figures = frame.plain if is_number else frame.figures
    return Place(0.0, 0.0, column.right, frame.heads, frame.plain, figures)


def _asked_mm(
    pages: Pages, tables: Sequence[Table], index: int, style: Place, frame: Frame
) -> tuple[float, float]:
    """How wide a column would be, and how narrow it can be made."""
    asked = least = 0.0
    for table in tables:
        if table.head is not None:
            least = max(
                least,
                pages.width_mm(_cell(table.cells(table.head), index - table.folds), style.heads),
            )
        for row in table.rows:
            words = _cell(table.cells(row.cells), index)
            asked = max(asked, pages.width_mm(words, style.lettering(words)))
    return max(asked, least), max(asked if style.ends else min(asked, frame.narrowest_mm), least)


def _cell(cells: Sequence[str], index: int) -> str:
    return cells[index] if 0 <= index < len(cells) else ""


def _fitted(
    asked: Sequence[float], least: Sequence[float], room_mm: float, frame: Frame
) -> tuple[list[float], float]:
    """The widths, the widest columns of words made narrower first; what they are scaled by."""
    narrowest = frame.narrowest_mm
    for cap in range(max(int(max(asked)) + 1, narrowest), narrowest - 1, -1):
        wide = [max(low, min(one, cap)) for one, low in zip(asked, least, strict=True)]
        if sum(wide) <= room_mm:
            return wide, 1.0
    scale = room_mm / sum(least)
    if scale < frame.least:
        raise ValueError(f"a table of {len(asked)} columns has no room on the page")
    return [one * scale for one in least], scale
