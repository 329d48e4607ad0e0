"""A template larger than its paper: tiles that overlap, with marks that meet when they are joined.

The whole is drawn once and kept; each tile shows what of it lies in its window. A mark stands at
one place of the whole, so it is the same place on both tiles.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Any

from millprep.base.records import frozen, replace
from millprep.canvas.clipped import ClippedPen, Window
from millprep.canvas.paper import FULL_SIZE, Paper
from millprep.canvas.pen import Pen, Place, circle
from millprep.canvas.recording import RecordingPen
from millprep.sheets.drawing import Drawing, DrawnSetup
from millprep.writers.drawing.face import box_of
from millprep.writers.drawing.foot import BAR_ROOM_MM, Foot, Title, draw_upright_bars, foot_of
from millprep.writers.drawing.frame import GAP_MM, Frame, Purpose, model_frame, name_below
from millprep.writers.drawing.notes import notes_of
from millprep.writers.drawing.page import draw_face, draw_round
from millprep.writers.drawing.table import TEXT_MM, Table, drill_pages

OVERLAP_MM = 10.0
MOST_TILES = 30
_ROUND_MM = 9.0  # outside the outline, for the names of the faces
_MARK_MM = 3.0
_RING_MM = 1.5
_CLEAR_MM = 7.0  # from a mark to a hole
_MARKS_AT = (
    (0.2, 0.15, 0.25, 0.1, 0.3, 0.35, 0.4, 0.45),
    (0.8, 0.85, 0.75, 0.9, 0.7, 0.65, 0.6, 0.55),
)  # shares of the length that two tiles have in common


@frozen
class TileSheet:
    """One tile: what it shows of the whole, and where that stands on its paper.

    column, row : counted from 0, from the left and from below; of : how many there are
    table : of drills over the first tile, where there is room
    """

    setup: DrawnSetup
    paper: Paper
    foot: Foot
    whole: RecordingPen
    frame: Frame
    notes: tuple[str, ...]
    window: Window
    shift: Place
    column: int
    row: int
    of: tuple[int, int]
    table: Table | None = None

    def draw(self, sheet: Drawing, pen: Pen, number: str) -> None:
        clipped = ClippedPen(pen, self.window, self.shift)
        self.whole.replay(clipped)
        for seam in self.seams():
            seam.draw(clipped, self.marks_of(seam))
        for at, words, turn_deg in self._sides():
            clipped.text(at, words, TEXT_MM, "middle", turn_deg)
        corner = self.paper.side_mm, self.paper.foot_mm
        if self.table is not None:
            self.table.draw(pen, (self.window[0] + self.shift[0], self.paper.top_mm - GAP_MM))
        title = Title("template, scale 1:1", number, None)
        draw_round(sheet, title, self.paper, self.foot, self.notes, pen)
        draw_upright_bars(self.foot, corner, pen)

    def seams(self) -> Iterator[_Seam]:
        """Where it is joined to the tile at its right, at its left, over and under it."""
        x1, y1, x2, y2 = self.window
        half = OVERLAP_MM / 2
        columns, rows = self.of
        if self.column + 1 < columns:
            yield _Seam(0, x2 - half, y1, y2, f"{self.column + 1}")
        if self.column:
            yield _Seam(0, x1 + half, y1, y2, f"{self.column}")
        if self.row + 1 < rows:
            yield _Seam(1, y2 - half, x1, x2, f"{columns + self.row}")
        if self.row:
            yield _Seam(1, y1 + half, x1, x2, f"{columns + self.row - 1}")

    def marks_of(self, seam: _Seam) -> list[Place]:
        """The middles of its joining marks, in the whole: two, clear of holes and words."""
        taken = [place for place in map(_middle_of, self.whole.strokes) if place is not None]
        return [
            max(places, key=lambda place: min([_CLEAR_MM, *(_apart(place, one) for one in taken)]))
            for places in seam.choices()
        ]

    def _sides(self) -> Iterator[tuple[Place, str, float]]:
        """The names of the faces whose edge is on this tile, in the middle of what it shows."""
        (low_x, low_y), (high_x, high_y) = self.frame.low, self.frame.high
        left, _, right, away = (name.upper() for name in self.frame.view.sides)
        x1, y1, x2, y2 = self.window
        x = (max(x1, low_x) + min(x2, high_x)) / 2
        y = (max(y1, low_y) + min(y2, high_y)) / 2
        yield (low_x - 4.0, y), left, 90.0
        yield (high_x + 4.0 + TEXT_MM, y), right, 90.0
        yield (x, low_y - 4.0 - TEXT_MM), name_below(self.frame.view), 0.0
        yield (x, high_y + 4.0), away, 0.0


@frozen
class _Seam:
    """Where two tiles meet: a line across axis 0 or 1 at a place, along the window, its number."""

    axis: int
    at_mm: float
    low_mm: float
    high_mm: float
    number: str

    def draw(self, pen: Pen, marks: Iterable[Place]) -> None:
        pen.line(self._on(self.low_mm), self._on(self.high_mm), "hidden")
        for x, y in marks:
            pen.line((x - _MARK_MM, y), (x + _MARK_MM, y), "thin")
            pen.line((x, y - _MARK_MM), (x, y + _MARK_MM), "thin")
            circle(pen, (x, y), _RING_MM, "thin")
            pen.text((x + 1.4, y + 1.4), self.number, TEXT_MM)

    def _on(self, along: float) -> Place:
        return (self.at_mm, along) if self.axis == 0 else (along, self.at_mm)

    def choices(self) -> list[list[Place]]:
        """Where its two marks could be, the best first."""
        length = self.high_mm - self.low_mm
        return [
            [self._on(self.low_mm + share * length) for share in shares] for shares in _MARKS_AT
        ]


def _middle_of(stroke: tuple[str, tuple[Any, ...]]) -> tuple[Place, float] | None:
    """The middle of a circle or of words, and how far these reach from it."""
    verb, arguments = stroke
    if verb == "arc":
        return arguments[0], arguments[1]
    if verb == "text":
        x1, y1, x2, y2 = box_of(*arguments)
        return ((x1 + x2) / 2, (y1 + y2) / 2), math.dist((x1, y1), (x2, y2)) / 2
    return None


def _apart(place: Place, other: tuple[Place, float]) -> float:
    return math.dist(place, other[0]) - other[1]


def tiles_of(
    sheet: Drawing, setup: DrawnSetup, purpose: Purpose, paper: Paper
) -> list[TileSheet] | None:
    """The tiles of a template, row by row from the lower left; None where they are too many."""
    is_corrected = purpose.measured_mm is not None
    foot = foot_of(sheet, setup, paper.across_mm, is_template=True, is_corrected=is_corrected)
    foot = replace(foot, lines=("", *foot.lines, *_HOW))
    frame = model_frame(sheet, setup, purpose)
    frame = replace(frame, is_model=False, table=None, scale=FULL_SIZE)
    (x1, y1), (x2, y2) = frame.low, frame.high
    box = x1 - _ROUND_MM, y1 - _ROUND_MM, x2 + _ROUND_MM, y2 + _ROUND_MM
    left = paper.side_mm + BAR_ROOM_MM * len(foot.bars) + GAP_MM
    low = paper.foot_mm + foot.height_mm + GAP_MM
    columns, width = _divided(box[2] - box[0], paper.right_mm - GAP_MM - left)
    rows, height = _divided(box[3] - box[1], paper.top_mm - GAP_MM - low)
    if columns * rows > MOST_TILES:
        return None
    whole = RecordingPen()
    left_out = draw_face(setup, whole, frame)
    notes = tuple(notes_of(setup, frame, left_out))
    (first,) = drill_pages(setup, width, math.inf)
    spare = paper.top_mm - 3 * GAP_MM - low - height
    table = first if first.height_mm <= spare else None
    out: list[TileSheet] = []
    for row in range(rows):
        for column in range(columns):
            x = box[0] + column * (width - OVERLAP_MM)
            y = box[1] + row * (height - OVERLAP_MM)
            window = x, y, x + width, y + height
            where = f"tile {column + 1} of {columns} from the left, {row + 1} of {rows} from below"
            own = replace(foot, lines=(where, *foot.lines[1:]))
            place = (left - x, low - y), column, row, (columns, rows)
            listed = None if out else table
            out.append(TileSheet(setup, paper, own, whole, frame, notes, window, *place, listed))
    return out


_HOW = (
    "cut one of two tiles along the dashed line, lay it over the other,",
    "marks of the same number on each other",
)


def _divided(whole_mm: float, room_mm: float) -> tuple[int, float]:
    """How many tiles, and how long each is: all alike, each overlapping the next."""
    count = max(1, math.ceil((whole_mm - OVERLAP_MM) / (room_mm - OVERLAP_MM)))
    return count, (whole_mm + (count - 1) * OVERLAP_MM) / count
