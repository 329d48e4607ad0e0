"""The drawing of one face as it lies: view, centre marks, running dimensions, table of holes.

Draws with any pen. Lines after ISO 128-2, running dimensions from the datum after ISO 129-1,
threads after ISO 6410-1, paper after ISO 216. Imports layers 0 to 2, canvas and sheet.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise

from millprep.canvas.paper import Paper, paper_for
from millprep.canvas.pen import Pen, Place, Style, circle
from millprep.sheet import SetupSheet, Sheet
from millprep.sheet_view import Mark, View
from millprep.writers.spread import Labels, spread

MARGIN_MM = 10.0
TABLE_MM = 112.0
DIMENSIONS_MM = 26.0  # room for running dimensions, left of and below the view
TITLE_MM = 24.0
BAR_MM = 100.0
TEXT_MM = 2.5
SMALL_MM = 2.0
_ROW_MM = 4.2
_MOST_LABELS = 300


@dataclass(frozen=True, slots=True)
class Frame:
    """Where the view stands on the paper: its low corner there, and how much it is reduced."""

    paper: Paper
    view: View
    left_mm: float
    bottom_mm: float

    def at(self, x_mm: float, y_mm: float) -> Place:
        """A place of the view on the paper."""
        return (
            self.left_mm + (x_mm - self.view.low_mm[0]) / self.paper.reduction,
            self.bottom_mm + (y_mm - self.view.low_mm[1]) / self.paper.reduction,
        )

    def length(self, value_mm: float) -> float:
        return value_mm / self.paper.reduction


def frame_for(setup: SetupSheet) -> Frame:
    """The paper that the view and its table need, and the view's place on it."""
    view = setup.view
    width, height = view.high_mm[0] - view.low_mm[0], view.high_mm[1] - view.low_mm[1]
    aside = 2 * MARGIN_MM + DIMENSIONS_MM + TABLE_MM + 8
    above = 2 * MARGIN_MM + DIMENSIONS_MM + TITLE_MM + 8
    paper = paper_for(width, height, aside, above)
    room_x = paper.width_mm - aside - width / paper.reduction
    room_y = paper.height_mm - above - height / paper.reduction
    return Frame(
        paper, view,
        MARGIN_MM + DIMENSIONS_MM + 4 + max(room_x, 0) / 2,
        MARGIN_MM + TITLE_MM + DIMENSIONS_MM + 4 + max(room_y, 0) / 2,
    )  # fmt: skip


def draw(sheet: Sheet, setup: SetupSheet, pen: Pen) -> None:
    """The whole page, with the pen given (see `frame_for` for the paper it needs)."""
    frame = frame_for(setup)
    _outline(frame, pen)
    for mark in frame.view.marks:
        _hole(frame, mark, pen)
    for x, y, diameter in frame.view.through:
        circle(pen, frame.at(x, y), frame.length(diameter / 2), "thin")
    _letters(frame, pen)
    _running(frame, setup, pen)
    _table(sheet, frame, pen)
    _title(sheet, setup, frame, pen)
    _bars(frame, pen)


def _outline(frame: Frame, pen: Pen) -> None:
    view = frame.view
    (x1, y1), (x2, y2) = view.low_mm, view.high_mm
    if not view.is_round:
        corners = [frame.at(*corner) for corner in ((x1, y1), (x2, y1), (x2, y2), (x1, y2))]
        pen.outline(corners, "edge")
        return
    centre = frame.at((x1 + x2) / 2, (y1 + y2) / 2)
    radius = frame.length((x2 - x1) / 2)
    circle(pen, centre, radius, "edge")
    _cross(pen, centre, radius + 3)
    if view.bore_mm is not None:
        circle(pen, centre, frame.length(view.bore_mm / 2), "edge")


def _cross(pen: Pen, centre: Place, arm_mm: float, style: Style = "centre") -> None:
    x, y = centre
    pen.line((x - arm_mm, y), (x + arm_mm, y), style)
    pen.line((x, y - arm_mm), (x, y + arm_mm), style)


def _hole(frame: Frame, mark: Mark, pen: Pen) -> None:
    centre = frame.at(mark.x_mm, mark.y_mm)
    widest = 0.0
    for ring in mark.rings:
        radius = frame.length(ring.radius_mm)
        widest = max(widest, radius)
        if ring.style == "thread":  # three quarters of a circle, open at the upper right
            pen.arc(centre, radius, 95.0, 355.0, "thin")
        else:
            circle(pen, centre, radius, ring.style)
    _cross(pen, centre, widest + 1.5, "mark")


def _letters(frame: Frame, pen: Pen) -> None:
    """A letter beside each hole, clear of holes and of other letters."""
    marks = frame.view.marks
    labels = Labels()
    for mark in marks:
        x, y = frame.at(mark.x_mm, mark.y_mm)
        radius = max(frame.length(ring.radius_mm) for ring in mark.rings) + 0.4
        labels.block(x - radius, y - radius, x + radius, y + radius)
    for mark in marks if len(marks) <= _MOST_LABELS else _ends_of_patterns(marks):
        centre = frame.at(mark.x_mm, mark.y_mm)
        radius = max(frame.length(ring.radius_mm) for ring in mark.rings)
        width = 0.75 * TEXT_MM * len(mark.letter)
        place = labels.near(centre, radius + 1.0, width, TEXT_MM)
        if place is not None:
            pen.text(place, mark.letter, TEXT_MM)


def _ends_of_patterns(marks: Sequence[Mark]) -> list[Mark]:
    groups = [
        list(run) for _, run in groupby(marks, key=lambda mark: mark.letter.rstrip("0123456789"))
    ]
    return [mark for group in groups for mark in dict.fromkeys((group[0], group[-1]))]


def _running(frame: Frame, setup: SetupSheet, pen: Pen) -> None:
    """Running dimensions from zero: X below the view, Y at its left."""
    low, high = frame.view.low_mm, frame.view.high_mm
    for axis, fixed in ((0, frame.at(*low)[1]), (1, frame.at(*low)[0])):
        figures: dict[str, float] = {"0": 0.0}
        for mark in frame.view.marks:
            shown, exact = ((mark.x, mark.x_mm), (mark.y, mark.y_mm))[axis]
            if shown:
                figures.setdefault(str(shown), exact)
        placed = sorted((frame.at(*(2 * [at]))[axis], words) for words, at in figures.items())
        room = frame.length(high[axis] - low[axis]) + 24
        if len(placed) * 3.6 > room:
            _say_see_table(frame, axis, fixed, pen)
            continue
        labels = spread([at for at, _ in placed], 3.6)
        for (at, words), label in zip(placed, labels, strict=True):
            _running_line(pen, axis, at, fixed, label, words)


def _running_line(
    pen: Pen, axis: int, at_mm: float, fixed_mm: float, label_mm: float, words: str
) -> None:
    """The line runs straight out of the view, bends to its label, and carries the figure."""
    steps = [(at_mm, fixed_mm - 1.5), (at_mm, fixed_mm - 5), (label_mm, fixed_mm - 9),
             (label_mm, fixed_mm - 11)]  # fmt: skip
    places = [step if axis == 0 else (step[1], step[0]) for step in steps]
    for start, end in pairwise(places):
        pen.line(start, end, "thin")
    x, y = places[-1]
    if axis == 0:
        pen.text((x + SMALL_MM / 2, y - 0.8), words, SMALL_MM, "right", 90.0)
    else:
        pen.text((x - 0.8, y - SMALL_MM / 2), words, SMALL_MM, "right")


def _say_see_table(frame: Frame, axis: int, fixed_mm: float, pen: Pen) -> None:
    x, y = frame.at(*frame.view.low_mm)
    place = (x, fixed_mm - 8) if axis == 0 else (fixed_mm - 8, y)
    turn = 0.0 if axis == 0 else 90.0
    pen.text(place, f"{'XY'[axis]}: see the table", SMALL_MM, "left", turn)


def _rows(sheet: Sheet, marks: Sequence[Mark]) -> Iterator[tuple[str, str, str, str]]:
    """(letter, X, Y, words): a row for each pattern's words, then one for each member."""
    for _, run in groupby(marks, key=lambda mark: mark.letter.rstrip("0123456789")):
        group = list(run)
        first = group[0]
        name = first.hole if len(group) == 1 else first.hole.rsplit(" ", 1)[0]
        count = f"{len(group)} x " if len(group) > 1 else ""
        letter = first.letter if len(group) == 1 else first.letter.rstrip("0123456789")
        place = (str(first.x), str(first.y)) if len(group) == 1 else ("", "")
        yield letter, *place, f"{name}: {count}{first.words}"
        if len(group) > 1:
            for mark in group:
                yield mark.letter, str(mark.x), str(mark.y), ""


def _table(sheet: Sheet, frame: Frame, pen: Pen) -> None:
    left = frame.paper.width_mm - MARGIN_MM - TABLE_MM
    right = frame.paper.width_mm - MARGIN_MM
    y = frame.paper.height_mm - MARGIN_MM - TEXT_MM
    lowest = MARGIN_MM + TITLE_MM + 6
    columns = (left, left + 26, left + 44, left + 48)
    unit = "mm" if sheet.units == "mm" else "in"
    for place, words, anchor in (
        (columns[0], "hole", "left"), (columns[1], f"X {unit}", "right"),
        (columns[2], f"Y {unit}", "right"), (columns[3], "what", "left"),
    ):  # fmt: skip
        pen.text((place, y), words, TEXT_MM, anchor)  # type: ignore[arg-type]  # the words above
    pen.line((left, y - 1.6), (right, y - 1.6), "edge")
    rows = list(_table_lines(sheet, frame.view.marks))
    room = int((y - 4 - lowest) // _ROW_MM)
    for row in rows[:room] if len(rows) <= room else rows[: room - 1]:
        y -= _ROW_MM
        letter, x_words, y_words, words = row
        pen.text((columns[0], y), letter, SMALL_MM)
        pen.text((columns[1], y), x_words, SMALL_MM, "right")
        pen.text((columns[2], y), y_words, SMALL_MM, "right")
        pen.text((columns[3], y), words, SMALL_MM)
    if len(rows) > room:
        pen.text(
            (left, y - _ROW_MM), f"{len(rows) - room + 1} more rows: see the listing", SMALL_MM
        )


def _table_lines(sheet: Sheet, marks: Sequence[Mark]) -> Iterator[tuple[str, str, str, str]]:
    """The rows with their words wrapped to the column."""
    for letter, x, y, words in _rows(sheet, marks):
        lines = _wrapped(words, 40)
        yield letter, x, y, lines[0]
        for line in lines[1:]:
            yield "", "", "", line


def _wrapped(words: str, width: int) -> list[str]:
    lines = [""]
    for word in words.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) > width:
            lines.append(word)
        else:
            lines[-1] = f"{lines[-1]} {word}".strip()
    return lines


def _title(sheet: Sheet, setup: SetupSheet, frame: Frame, pen: Pen) -> None:
    paper = frame.paper
    low, high = MARGIN_MM, MARGIN_MM + TITLE_MM
    left, right = MARGIN_MM, paper.width_mm - MARGIN_MM
    pen.outline([(left, low), (right, low), (right, high), (left, high)], "edge")
    scale = "1:1" if paper.reduction == 1 else f"1:{paper.reduction}"
    drawing = f"drawing {sheet.drawing}, " if sheet.drawing else ""
    zero = f"zero: X on {setup.zero_x.upper()}, Y on {setup.zero_y.upper()}"
    pen.text((left + 3, high - 6), sheet.part, 4.0)
    pen.text(
        (left + 3, high - 11.5),
        f"setup {setup.number} of {sheet.setup_count}: {setup.lies}",
        TEXT_MM,
    )
    pen.text((left + 3, high - 16), f"{zero}; {sheet.stock}", TEXT_MM)
    pen.text(
        (left + 3, high - 20.5),
        f"{drawing}part mark {sheet.mark}, figures in {sheet.units}",
        TEXT_MM,
    )
    pen.text((right - 3, high - 6), f"scale {scale} on {paper.name}", 3.5, "right")
    pen.text(
        (right - 3, high - 11.5), "measure both bars before you trust the paper", TEXT_MM, "right"
    )


def _bars(frame: Frame, pen: Pen) -> None:
    """A bar of 100 mm along each axis, with end strokes: what the printer really did."""
    paper = frame.paper
    right = paper.width_mm - MARGIN_MM - 4
    y = MARGIN_MM + 4.5
    for start, end in (((right - BAR_MM, y), (right, y)),):
        pen.line(start, end, "edge")
        for x in (start[0], start[0] + BAR_MM / 2, end[0]):
            pen.line((x, y - 1.5), (x, y + 1.5), "thin")
    pen.text((right - BAR_MM / 2 + 2, y + 1.2), "100 mm along X", SMALL_MM)
    x = MARGIN_MM - 3
    low = MARGIN_MM + TITLE_MM + 6
    pen.line((x, low), (x, low + BAR_MM), "edge")
    for y in (low, low + BAR_MM / 2, low + BAR_MM):
        pen.line((x - 1.5, y), (x + 1.5, y), "thin")
    pen.text((x + 3.2, low + BAR_MM / 2 + 2), "100 mm along Y", SMALL_MM, "left", 90.0)
