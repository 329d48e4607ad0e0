"""The face itself: outline, holes, what lies below, letters; and the faces round it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from millprep.base.units import DIAMETER
from millprep.canvas.lettering import DESCENT_OVER_CAPITAL, corners_of, room_mm
from millprep.canvas.pen import Anchor, Pen, Place, Style, circle, on_circle
from millprep.canvas.recording import RecordingPen
from millprep.canvas.spread import Box, Labels
from millprep.sheets.drawing import DrawnSetup
from millprep.sheets.drawn_patterns import patterns_of
from millprep.sheets.view import Mark
from millprep.writers.drawing.frame import Frame, name_below, overhang_mm
from millprep.writers.drawing.sight import draw_ring, draw_seen, ends_of
from millprep.writers.drawing.table import TEXT_MM

_ARM_MM = 1.5  # centre marks reach so far beyond the hole
_SMALL_MM = 1.8
_MOST_LETTERS = 300
_TEMPLATE_ARM_MM = 2.0
_DATUM_MM = 2.2
_LOW_VIEW_MM = 12.0
_APART_MM = 3.0  # from the name of a face: a letter nearer than that reads as part of it


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
    """Of the widest ring on the paper; on a template of the drill's, or of the cross."""
    radii = [frame.length(ring.radius_mm) for ring in mark.rings]
    if frame.purpose.is_template:
        return max(0.7 * _TEMPLATE_ARM_MM, *radii[:1])
    return max(radii, default=0.0)


def draw_holes(frame: Frame, pen: Pen, labels: Labels) -> None:
    for mark in frame.view.marks:
        centre = frame.at(mark.x_mm, mark.y_mm)
        if frame.purpose.is_template:
            _cross(pen, labels, centre, _TEMPLATE_ARM_MM, "thin")
            if mark.rings:
                circle(pen, centre, frame.length(mark.rings[0].radius_mm), "thin")
            _block_disc(labels, centre, radius_of(frame, mark) + 0.4)
            continue
        for ring in mark.rings:
            draw_ring(pen, centre, frame.length(ring.radius_mm), ring.style)
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


def draw_others(frame: Frame, setup: DrawnSetup, pen: Pen, labels: Labels) -> None:
    """Holes of other setups: thin where they show, dashed where they lie below."""
    for x, y, diameter in frame.view.through:
        centre, radius = frame.at(x, y), frame.length(diameter / 2)
        circle(pen, centre, radius, "thin")
        labels.block_circle(centre, radius)

    def at(place: Place) -> Place:
        return frame.at(*place)

    draw_seen(at, frame.scale.factor, setup.hidden, setup.hidden_rings, pen)
    for line in setup.hidden:
        labels.block_line(*ends_of(at, line))
    for ring in setup.hidden_rings:
        labels.block_circle(at(ring.centre), frame.length(ring.radius_mm))


def draw_pitch_circles(frame: Frame, setup: DrawnSetup, pen: Pen, labels: Labels) -> None:
    for one in setup.pitch_circles:
        centre, radius = frame.at(*one.centre_mm), frame.length(one.radius_mm)
        circle(pen, centre, radius, "centre")
        labels.block_circle(centre, radius)


def draw_pitch_diameters(frame: Frame, setup: DrawnSetup, pen: Pen, labels: Labels) -> None:
    """Its diameter beside each pitch circle, half way between two holes where there is room."""
    for one in setup.pitch_circles:
        centre, radius = frame.at(*one.centre_mm), frame.length(one.radius_mm)
        words = f"{DIAMETER}{one.diameter}"
        width, below = room_mm(words, TEXT_MM), DESCENT_OVER_CAPITAL * TEXT_MM
        half = 180.0 / len(one.angles_deg)
        for angle in [*(each + half for each in one.angles_deg), *range(10, 360, 20)]:
            place = on_circle(centre, radius, angle)
            found = labels.near(place, 0.4, width, TEXT_MM + below, 12.0, leader_from_mm=0.0)
            if found is not None:
                (x, y), end = found
                pen.text((x, y + below), words, TEXT_MM)
                if end is not None:
                    pen.line(place, end, "thin")
                break


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
        x1_, y1_, x2_, y2_ = box_of(at, words, TEXT_MM, "middle", turn_deg)
        labels.block_words((x1_ - _APART_MM, y1_ - 0.4, x2_ + _APART_MM, y2_ + 0.4))


def draw_letters(
    frame: Frame, setup: DrawnSetup, pen: Pen, labels: Labels
) -> tuple[list[str], Labels]:
    """A letter beside each hole, clear of lines and words: all large, or all small.

    In a grid also beside the first of a row, where there is room: a line of the table tells them.
    Gives those that found no room, and the room that is left.
    """
    wanted = list(_lettered(setup, frame.view.marks))
    for height in (TEXT_MM, _SMALL_MM):
        room, drawn = labels.copy(), RecordingPen()
        left_out = [
            mark.letter
            for mark, is_end in wanted
            if not _draw_letter(frame, mark, height, is_end, drawn, room)
        ]
        if not left_out:
            break
    named = {letter for grid in setup.grids for letter in grid.named}
    for mark in frame.view.marks:
        if mark.letter in named and all(mark is not one for one, _ in wanted):
            _draw_letter(frame, mark, height, False, drawn, room)
    drawn.replay(pen)
    return left_out, room


def _draw_letter(
    frame: Frame, mark: Mark, height: float, is_end: bool, pen: Pen, labels: Labels
) -> bool:
    centre = frame.at(mark.x_mm, mark.y_mm)
    radius = radius_of(frame, mark)
    rivals = [frame.at(one.x_mm, one.y_mm) for one in frame.view.marks]
    rivals += [frame.at(x, y) for x, y, _ in frame.view.through]
    width, below = room_mm(mark.letter, height), DESCENT_OVER_CAPITAL * height
    for must in (False, True) if is_end else (False,):
        found = labels.near(
            centre,
            radius + 0.8,
            width,
            height + below,
            15.0 if is_end else 9.0,
            must=must,
            rivals=rivals,
        )
        if found is None:
            continue
        (x, y), end = found
        pen.text((x, y + below), mark.letter, height)
        if end is not None:
            pen.line(_rim(centre, end, radius), end, "thin")
        return True
    return False


def _rim(centre: Place, end: Place, radius: float) -> Place:
    across, up = end[0] - centre[0], end[1] - centre[1]
    share = radius / (across**2 + up**2) ** 0.5
    return centre[0] + share * across, centre[1] + share * up


def _lettered(setup: DrawnSetup, marks: Sequence[Mark]) -> Iterator[tuple[Mark, bool]]:
    """Those with a letter of their own: first and last of each pattern, which must be found, then
    the others; of a grid its first and last only."""
    grids = {grid.letter for grid in setup.grids}
    patterns = dict(patterns_of(marks))
    ends = [m for group in patterns.values() for m in dict.fromkeys((group[0], group[-1]))]
    yield from ((mark, True) for mark in ends)
    if len(marks) <= _MOST_LETTERS:
        done = set(ends)
        others = (group for letter, group in patterns.items() if letter not in grids)
        yield from ((mark, False) for group in others for mark in group if mark not in done)
