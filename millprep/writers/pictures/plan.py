"""The plan of a setup: the face that is up, at each hole the numbers of its steps.

Imports sheets, canvas and what draws faces.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from millprep.canvas.lettering import DESCENT_OVER_CAPITAL, room_mm
from millprep.canvas.paper import EITHER, Scale
from millprep.canvas.pen import Brush, circle
from millprep.canvas.recording import RecordingPen
from millprep.canvas.spread import Labels
from millprep.sheets.view import View
from millprep.writers.drawing.face import box_of, draw_holes, draw_outline, radius_of
from millprep.writers.drawing.foot import Foot
from millprep.writers.drawing.frame import Frame, Purpose
from millprep.writers.pictures.names import Room

_STEPS_MM, _SIDES_MM = 2.0, 1.8
_SIDE_ROOM_MM = 4.8
_ZERO_MM = 1.2
_REACH_MM, _FAR_MM = 9.0, 15.0
_TRIES = 4
_LEAST_MM, _MOST_OVER_WIDTH = 14.0, 0.6
_FINE = 1000  # a scale is a fraction of whole numbers


def plan_height_of(view: View, width_mm: float) -> float:
    """How high the plan is in that width, no higher than it is wide."""
    (x0, y0), (x1, y1) = view.low_mm, view.high_mm
    wide = width_mm - 2 * _SIDE_ROOM_MM
    high = wide * (y1 - y0) / (x1 - x0)
    return min(max(high, _LEAST_MM), _MOST_OVER_WIDTH * width_mm) + 2 * _SIDE_ROOM_MM


def draw_plan(view: View, steps: Mapping[str, tuple[int, ...]], pen: Brush, room: Room) -> None:
    """The face as it lies, as large as goes into the room; without steps with the holes' names."""
    frame = _frame(view, room)
    labels = Labels(
        (room.left_mm, room.low_mm, room.left_mm + room.width_mm, room.low_mm + room.height_mm)
    )
    loose = labels.copy()  # clear of words and holes, not of centre lines and recesses
    for mark in view.marks:
        loose.block_circle(frame.at(mark.x_mm, mark.y_mm), frame.length(mark.rings[0].radius_mm))
    draw_outline(frame, pen, labels)
    for x, y, diameter in view.through:
        centre, radius = frame.at(x, y), frame.length(diameter / 2)
        circle(pen, centre, radius, "thin")
        labels.block_circle(centre, radius)
        labels.block_circle(centre, radius / 2)
    draw_holes(frame, pen, labels)
    for one in (labels, loose):
        _block_zero(frame, one)
    _draw_zero(frame, pen)
    _draw_sides(frame, pen, (labels, loose))
    first: list[str] = []  # those that found no room when others came before them
    for with_names in (True, *_TRIES * [False]):
        tried = RecordingPen()
        left = _number(frame, steps, tried, (labels.copy(), loose.copy()), with_names, first)
        if not left or (with_names and not steps):
            break
        first = [*left, *(one for one in first if one not in left)] if not with_names else []
    tried.replay(pen)


def _frame(view: View, room: Room) -> Frame:
    (x0, y0), (x1, y1) = view.low_mm, view.high_mm
    wide, high = (size - 2 * _SIDE_ROOM_MM for size in (room.width_mm, room.height_mm))
    factor = min(wide / (x1 - x0), high / (y1 - y0))
    left = room.left_mm + (room.width_mm - factor * (x1 - x0)) / 2
    low = room.low_mm + (room.height_mm - factor * (y1 - y0)) / 2
    scale = Scale(round(factor * _FINE), _FINE)
    return Frame(EITHER, scale, view, left, low, Purpose(), (), Foot((), ()), None)


def _draw_zero(frame: Frame, pen: Brush) -> None:
    circle(pen, frame.at(0.0, 0.0), _ZERO_MM, "thin")
    pen.spot(frame.at(0.0, 0.0), 0.5)


def _block_zero(frame: Frame, labels: Labels) -> None:
    x, y = frame.at(0.0, 0.0)
    labels.block((x - _ZERO_MM, y - _ZERO_MM, x + _ZERO_MM, y + _ZERO_MM))


def _draw_sides(frame: Frame, pen: Brush, rooms: Sequence[Labels]) -> None:
    """The names of the faces that stand upright."""
    left, near, right, away = (name.upper() for name in frame.view.sides)
    (x1, y1), (x2, y2) = frame.low, frame.high
    x, y, gap = (x1 + x2) / 2, (y1 + y2) / 2, _ZERO_MM + 0.5
    for at, words, turn_deg in (
        ((x1 - gap, y), left, 90.0),
        ((x, y1 - gap - _SIDES_MM), near, 0.0),
        ((x2 + gap + _SIDES_MM, y), right, 90.0),
        ((x, y2 + gap), away, 0.0),
    ):
        pen.text(at, words, _SIDES_MM, "middle", turn_deg)
        for labels in rooms:
            labels.block_words(box_of(at, words, _SIDES_MM, "middle", turn_deg))


def _number(
    frame: Frame,
    steps: Mapping[str, tuple[int, ...]],
    pen: RecordingPen,
    rooms: tuple[Labels, Labels],
    with_names: bool,
    first: Sequence[str],
) -> list[str]:
    """The holes that found no room for their steps beside them, with their names where that is
    asked; first : those that choose before the others.

    A number that is nearer to another hole is tied to its own; without names farther off too.
    """
    left: list[str] = []
    strict, loose = rooms
    centres = {mark.hole: frame.at(mark.x_mm, mark.y_mm) for mark in frame.view.marks}
    order = {hole: at for at, hole in enumerate(first)}
    tries = [(strict, _REACH_MM, False)]
    tries += [] if with_names else [(strict, _FAR_MM, True), (loose, _FAR_MM, True)]
    for mark in sorted(frame.view.marks, key=lambda one: order.get(one.hole, len(order))):
        words = ", ".join(map(str, steps.get(mark.hole, ())))
        words = (f"{mark.hole}: {words}" if words else mark.hole) if with_names else words
        centre, radius = centres[mark.hole], radius_of(frame, mark) + 0.4
        below = DESCENT_OVER_CAPITAL * _STEPS_MM
        wide, high = room_mm(words, _STEPS_MM), _STEPS_MM + below
        rivals = [*centres.values()]
        for labels, reach, must in tries:
            found = labels.near(centre, radius, wide, high, reach, rivals=rivals, must=must)
            if found is not None:
                break
        else:
            left.append(mark.hole)
            continue
        (x, y), end = found
        if labels is loose:
            pen.cover([(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)])
        for other in rooms:
            other.block_words((x, y, x + wide, y + high))
        pen.text((x, y + below), words, _STEPS_MM)
        if end is not None:
            pen.line(centre, end, "thin")
    return left
