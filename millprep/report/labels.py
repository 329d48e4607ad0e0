"""Room for the letters and numbers in the picture of a dry run, clear of its lines and words.

Imports `views` and the canvas.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from millprep.canvas.lettering import DESCENT_OVER_CAPITAL, corners_of, room_mm
from millprep.canvas.pen import Anchor, Pen, Place, Style
from millprep.canvas.recording import RecordingPen
from millprep.canvas.spread import Box, Labels, nearest_in
from millprep.report.views import Mark, Scaled, Spots, marks_of

SMALL_MM = 1.8  # ISO 3098-1
MARK_MM = 3.0
_SPOT_MM = 0.5
_INSET_MM = 0.6
_DESCENT_MM = DESCENT_OVER_CAPITAL * SMALL_MM
_LETTER_MM = SMALL_MM + _DESCENT_MM
_REACH_MM = 15.0
_MOST_STROKES = 3000  # more leave no room between them
_ROUND_MM = 4.0  # a label may stand so far outside its view
_MERGED = (1.0, 3.0, 10.0, 100.0)  # where there is no room, marks so much farther apart are one


class _RoomPen:
    """Takes the room of what it is told to draw."""

    def __init__(self, labels: Labels) -> None:
        self._labels = labels

    def line(self, start: Place, end: Place, style: Style) -> None:
        self._labels.block_line(start, end)

    def arc(
        self, centre: Place, radius_mm: float, start_deg: float, end_deg: float, style: Style
    ) -> None:
        self._labels.block_circle(centre, radius_mm)

    def outline(self, corners: Sequence[Place], style: Style) -> None:
        for start, end in pairwise((*corners, corners[0])):
            self._labels.block_line(start, end)

    def text(
        self, at: Place, words: str, height_mm: float, anchor: Anchor = "left", turn_deg: float = 0
    ) -> None:
        corners = corners_of(at, words, height_mm, anchor, turn_deg)
        self._labels.block_words((*map(min, *corners), *map(max, *corners)))

    def spot(self, centre: Place, radius_mm: float) -> None:
        (x, y), half = centre, radius_mm
        self._labels.block((x - half, y - half, x + half, y + half))


class Room:
    """What is free round a view: best clear of lines and words, else clear of words alone."""

    def __init__(self, field: Scaled, drawn: RecordingPen) -> None:
        low, high = field.low, field.high
        bounds = (low[0] - _ROUND_MM, low[1] - _ROUND_MM, high[0] + _ROUND_MM, high[1] + _ROUND_MM)
        words = RecordingPen([stroke for stroke in drawn.strokes if stroke[0] == "text"])
        pens = (drawn, words) if len(drawn.strokes) <= _MOST_STROKES else (words,)
        self._best_first = tuple(Labels(bounds) for _ in pens)
        for labels, pen in zip(self._best_first, pens, strict=True):
            pen.replay(_RoomPen(labels))

    def first_free(self, boxes: Iterable[Box]) -> Box | None:
        """The first of the boxes that is free, taken at once."""
        boxes = list(boxes)
        box = next(
            (one for labels in self._best_first for one in boxes if labels.is_free(one)), None
        )
        if box is not None:
            for labels in self._best_first:
                labels.block_words(box)
        return box

    def beside(self, spot: Place, width: float, height: float) -> Box | None:
        """A free box near a spot, taken at once with the line that ties it to the spot."""
        for labels in self._best_first:
            found = labels.near(spot, _SPOT_MM + _INSET_MM / 2, width, height, _REACH_MM)
            if found is None:
                continue
            (x, y), _ = found
            box = (x, y, x + width, y + height)
            for other in self._best_first:
                if other is not labels:
                    other.block_words(box)
                    other.block_line(spot, nearest_in(spot, box), 0.2)
            return box
        return None


def draw_letters(pen: Pen, room: Room, letters: str, low: Place, high: Place) -> None:
    """The letters of fixtures in a corner of their outline, of a thin one beside it."""
    box = room.first_free(_letter_boxes(low, high, room_mm(letters, SMALL_MM)))
    if box is not None:
        pen.text((box[0], box[1] + _DESCENT_MM), letters, SMALL_MM)


def _letter_boxes(low: Place, high: Place, width: float) -> Iterator[Box]:
    """Where letters may stand, best first."""
    inner_x = low[0] + _INSET_MM, high[0] - _INSET_MM - width
    inner_y = low[1] + _INSET_MM - _DESCENT_MM, high[1] - _INSET_MM - _LETTER_MM
    outer_x = high[0] + _INSET_MM, low[0] - _INSET_MM - width
    outer_y = high[1] + _INSET_MM, low[1] - _INSET_MM - _LETTER_MM
    places: list[Place] = []
    if inner_x[0] <= inner_x[1] and inner_y[0] <= inner_y[1]:
        places += [(x, y) for x in inner_x for y in inner_y]
        places += [((inner_x[0] + inner_x[1]) / 2, (inner_y[0] + inner_y[1]) / 2)]
    places += [(x, y) for x in outer_x for y in inner_y]
    places += [(x, y) for x in inner_x for y in outer_y]
    for x, y in places:
        yield x, y, x + width, y + _LETTER_MM


def draw_marks(pen: Pen, field: Scaled, drawn: RecordingPen, spots: Spots) -> None:
    """A dot at each finding, and its number in a frame beside it; those of one place in one.

    `drawn` is what the view holds already. Where there is no room for every frame, neighbours
    share one.
    """
    apart_mm = MARK_MM / field.scale
    marks = marks_of(spots, field.view, field.window, apart_mm)
    for mark in marks:
        drawn.spot(field.at(mark.across_mm, mark.up_mm), _SPOT_MM)
        pen.spot(field.at(mark.across_mm, mark.up_mm), _SPOT_MM)
    framed: list[tuple[Mark, Box | None]] = []
    for merged in _MERGED:
        marks = marks_of(spots, field.view, field.window, merged * apart_mm)
        room = Room(field, drawn)
        framed = [(mark, _frame(room, field, mark)) for mark in marks]
        if all(box is not None for _, box in framed):
            break
    for mark, box in framed:
        if box is not None:
            _draw_frame(pen, field.at(mark.across_mm, mark.up_mm), box, mark.words)


def _frame(room: Room, field: Scaled, mark: Mark) -> Box | None:
    width = room_mm(mark.words, SMALL_MM) + SMALL_MM
    return room.beside(field.at(mark.across_mm, mark.up_mm), width, 2 * SMALL_MM)


def _draw_frame(pen: Pen, spot: Place, box: Box, words: str) -> None:
    left, low, right, high = box
    pen.line(spot, nearest_in(spot, box), "thin")
    pen.outline([(left, low), (right, low), (right, high), (left, high)], "thin")
    pen.text(((left + right) / 2, low + SMALL_MM / 2), words, SMALL_MM, "middle")
