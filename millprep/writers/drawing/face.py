"""The face itself: outline, holes, what lies below, letters; and the faces round it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise

from millprep.canvas.lettering import DESCENT_OVER_CAPITAL, corners_of, room_mm
from millprep.canvas.pen import Anchor, Pen, Place, Style, circle
from millprep.canvas.spread import Box, Labels
from millprep.sheets.drawing import DrawnSetup
from millprep.sheets.view import Mark
from millprep.writers.drawing.frame import TEXT_MM, Frame, name_below, overhang_mm
from millprep.writers.drawing.table import pattern_letter

_ARM_MM = 1.5  # centre marks reach so far beyond the hole
_SMALL_MM = 1.8
_MOST_LETTERS = 300
_TEMPLATE_ARM_MM = 2.0
_DATUM_MM = 2.2
_LOW_VIEW_MM = 12.0


def box_of(at: Place, words: str, height_mm: float, anchor: Anchor, turn_deg: float = 0.0) -> Box:
    """The box that words take."""
    corners = corners_of(at, words, height_mm, anchor, turn_deg)
    return (
        min(x for x, _ in corners),
        min(y for _, y in corners),
        max(x for x, _ in corners),
        max(y for _, y in corners),
    )


def draw_outline(frame: Frame, pen: Pen, labels: Labels) -> None:
    view = frame.view
    (x1, y1), (x2, y2) = frame.low, frame.high
    if not view.is_round:
        corners = [(x1, y1), (x2, y1), (x2, y2), (x1, y2)]
        pen.outline(corners, "edge")
        for start, end in zip(corners, [*corners[1:], corners[0]], strict=True):
            labels.block_line(start, end, 0.8)
        return
    centre, radius = ((x1 + x2) / 2, (y1 + y2) / 2), (x2 - x1) / 2
    bore = [frame.length(view.bore_mm / 2)] if view.bore_mm is not None else []
    for each in (radius, *bore):
        circle(pen, centre, each, "edge")
        labels.block_circle(centre, each)
    if not frame.purpose.is_template:
        _cross(pen, labels, centre, radius + 1.5, "centre")


def draw_zero_lines(frame: Frame, setup: DrawnSetup, pen: Pen, labels: Labels) -> None:
    """Where zero is on a centre line, the line; where it is on a face, the mark of a datum."""
    (x1, y1), (x2, y2) = frame.low, frame.high
    zero = frame.at(0.0, 0.0)
    for axis, name in enumerate((setup.zero_x, setup.zero_y)):
        if name == "centre":
            if not frame.view.is_round:
                ends = (
                    ((zero[0], y1 - 1), (zero[0], y2 + 1.5))
                    if axis == 0
                    else ((x1 - 1, zero[1]), (x2 + 1.5, zero[1]))
                )
                pen.line(*ends, "centre")
                labels.block_line(*ends)
            continue
        is_low = abs(frame.view.low_mm[axis]) < 1e-9
        _draw_datum(frame, axis, is_low, pen, labels)


def _draw_datum(frame: Frame, axis: int, is_low: bool, pen: Pen, labels: Labels) -> None:
    """The triangle of ISO 5459 on the edge that zero lies on, where no line runs out of it."""
    edge = (frame.low if is_low else frame.high)[axis]
    other = 1 - axis
    low, high = frame.low[other], frame.high[other]
    lines = [low, (low + high) / 2, high]  # the face's name stands over the middle
    if is_low and frame.running:  # or the lines of the other axis run out of this edge
        lines += [frame.at(f.at_mm, f.at_mm)[other] for f in frame.running[other].figures]
    lines.sort()
    gaps = [(b - a, (a + b) / 2) for a, b in pairwise(lines)]
    middle = max(gaps)[1]
    out = -_DATUM_MM if is_low else _DATUM_MM
    half = _DATUM_MM / 2
    points = [(edge, middle), (edge + out, middle - half), (edge + out, middle + half)]
    corners = [(x, y) if axis == 0 else (y, x) for x, y in points]
    pen.outline(corners, "thin")
    labels.block(
        (
            min(x for x, _ in corners),
            min(y for _, y in corners),
            max(x for x, _ in corners),
            max(y for _, y in corners),
        )
    )


def _cross(pen: Pen, labels: Labels, centre: Place, arm_mm: float, style: Style) -> None:
    x, y = centre
    for ends in (((x - arm_mm, y), (x + arm_mm, y)), ((x, y - arm_mm), (x, y + arm_mm))):
        pen.line(*ends, style)
        labels.block_line(*ends)


def radius_of(frame: Frame, mark: Mark) -> float:
    """Of the widest ring, on the paper."""
    return max((frame.length(ring.radius_mm) for ring in mark.rings), default=0.0)


def draw_holes(frame: Frame, pen: Pen, labels: Labels) -> None:
    for mark in frame.view.marks:
        centre = frame.at(mark.x_mm, mark.y_mm)
        if frame.purpose.is_template:
            _cross(pen, labels, centre, _TEMPLATE_ARM_MM, "thin")
            continue
        for ring in mark.rings:
            radius = frame.length(ring.radius_mm)
            if ring.style == "thread":  # three quarters of a circle, open at the upper right
                pen.arc(centre, radius, 95.0, 355.0, "thin")
            else:
                circle(pen, centre, radius, ring.style)
        widest = radius_of(frame, mark)
        _block_disc(labels, centre, widest + 0.4)
        _cross(pen, labels, centre, widest + _ARM_MM, "mark")


def _block_disc(labels: Labels, centre: Place, radius: float) -> None:
    """A stair of boxes that covers a disc and little more."""
    x, y = centre
    for across, up in ((1.0, 0.39), (0.93, 0.71), (0.71, 0.93), (0.39, 1.0)):
        labels.block_hole(
            (x - across * radius, y - up * radius, x + across * radius, y + up * radius)
        )


def draw_others(frame: Frame, pen: Pen, labels: Labels) -> None:
    """Holes of other setups: thin where they show, dashed where they lie below."""
    for x, y, diameter in frame.view.through:
        centre, radius = frame.at(x, y), frame.length(diameter / 2)
        circle(pen, centre, radius, "thin")
        labels.block_circle(centre, radius)
    for crossing in frame.view.crossings:
        (x1, y1), (x2, y2) = frame.at(*crossing.low_mm), frame.at(*crossing.high_mm)
        sides = (
            (((x1, y1), (x2, y1)), ((x1, y2), (x2, y2)))
            if crossing.axis == 0
            else (((x1, y1), (x1, y2)), ((x2, y1), (x2, y2)))
        )
        for start, end in sides:
            pen.line(start, end, "hidden")
            labels.block_line(start, end)


def draw_sides(frame: Frame, pen: Pen, labels: Labels) -> None:
    """The names of the faces that stand upright, beyond the running dimensions."""
    left, _, right, away = (name.upper() for name in frame.view.sides)
    (x1, y1), (x2, y2) = frame.low, frame.high
    middle_x, middle_y = (x1 + x2) / 2, (y1 + y2) / 2
    down, aside = frame.band_mm(0), frame.band_mm(1)
    # beside a low view a name could meet the longer one below it
    free = overhang_mm(frame.view, x2 - x1) if y2 - y1 < _LOW_VIEW_MM else 0.0
    for at, words, turn_deg in (
        ((x1 - max(aside, free) - 1.0, middle_y), left, 90.0),
        ((middle_x, y1 - down - 1.0 - TEXT_MM), name_below(frame.view), 0.0),
        ((x2 + max(3.0, free) + TEXT_MM, middle_y), right, 90.0),
        ((middle_x, y2 + 3.0), away, 0.0),
    ):
        pen.text(at, words, TEXT_MM, "middle", turn_deg)
        labels.block_words(box_of(at, words, TEXT_MM, "middle", turn_deg))


def draw_letters(frame: Frame, pen: Pen, labels: Labels) -> list[str]:
    """A letter beside each hole, clear of lines and words; those that found no room are given."""
    left_out = []
    for mark, is_end in _ends_first(frame.view.marks):
        centre = frame.at(mark.x_mm, mark.y_mm)
        radius = _TEMPLATE_ARM_MM * 0.7 if frame.purpose.is_template else radius_of(frame, mark)
        if not _draw_letter(mark.letter, centre, radius, is_end, pen, labels):
            left_out.append(mark.letter)
    return left_out


def _draw_letter(
    letter: str, centre: Place, radius: float, is_end: bool, pen: Pen, labels: Labels
) -> bool:
    reach = 15.0 if is_end else 9.0
    tries = [(TEXT_MM, False), (_SMALL_MM, False), *([(_SMALL_MM, True)] if is_end else [])]
    for height, must in tries:
        width, below = room_mm(letter, height), DESCENT_OVER_CAPITAL * height
        found = labels.near(centre, radius + 0.8, width, height + below, reach, must=must)
        if found is None:
            continue
        (x, y), end = found
        pen.text((x, y + below), letter, height)
        if end is not None:
            pen.line(_rim(centre, end, radius), end, "thin")
        return True
    return False


def _rim(centre: Place, end: Place, radius: float) -> Place:
    across, up = end[0] - centre[0], end[1] - centre[1]
    share = radius / (across**2 + up**2) ** 0.5
    return centre[0] + share * across, centre[1] + share * up


def _ends_first(marks: Sequence[Mark]) -> Iterator[tuple[Mark, bool]]:
    """First and last of each pattern, which must be found, then the others."""
    groups = [list(run) for _, run in groupby(marks, key=pattern_letter)]
    ends = [mark for group in groups for mark in dict.fromkeys((group[0], group[-1]))]
    yield from ((mark, True) for mark in ends)
    if len(marks) <= _MOST_LETTERS:
        first = set(ends)
        yield from ((mark, False) for mark in marks if mark not in first)
