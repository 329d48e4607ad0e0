"""One view: hidden detail, outline, holes, figures, balloons. Imports sheets and its neighbours."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from millprep.base.records import frozen
from millprep.canvas.pen import Place
from millprep.canvas.spread import Box, Labels
from millprep.sheets.elevations import Elevation, HoleOnView, Shape
from millprep.sheets.elevations import Line as HoleLine
from millprep.sheets.stated_figures import StatedFigure
from millprep.writers.elevations.balloons import drawn_balloons
from millprep.writers.elevations.dimensions import drawn_figures
from millprep.writers.elevations.ink import Steps, area, circle, group, line, path
from millprep.writers.elevations.lanes import Lanes
from millprep.writers.elevations.paper import Paper

_CROSS_MM = 1.5  # centre lines reach so far beyond what they go through
_ORDER = {"aside": 0, "ghost": 1, "through": 2, "open": 3}


@frozen
class ViewDrawing:
    """Pieces of SVG, and how much room they take beside the face: left, above, right, below."""

    pieces: tuple[str, ...]
    margins: tuple[float, float, float, float]
    left_out: tuple[tuple[str, int | None, str], ...]


def drawn_view(view: Elevation, figures: Sequence[StatedFigure], scale: float) -> ViewDrawing:
    """The view in user units; the upper left corner of its face is their zero."""
    paper = Paper(view, scale)
    lanes, labels = Lanes((0.0, 0.0, paper.wide, paper.high)), Labels()
    holes = sorted(view.holes, key=lambda hole: _ORDER[hole.seen])
    drawn, left_out = drawn_figures(paper, figures, lanes, labels, view.holes)
    balloons, boxes = drawn_balloons(paper, view.holes, labels)
    pieces = (
        *_outline(paper, view),
        *_bore_lines(paper, view.bore_lines),
        *_drawn_holes(paper, holes),
        *drawn,
        *balloons,
    )
    return ViewDrawing(pieces, _margins(paper, [*lanes.boxes, *boxes]), tuple(left_out))


def _margins(paper: Paper, boxes: Sequence[Box]) -> tuple[float, float, float, float]:
    left = max([_CROSS_MM, *(-box[0] for box in boxes)])
    above = max([_CROSS_MM, *(-box[1] for box in boxes)])
    right = max([_CROSS_MM, *(box[2] - paper.wide for box in boxes)])
    below = max([_CROSS_MM, *(box[3] - paper.high for box in boxes)])
    return left, above, right, below


def _outline(paper: Paper, view: Elevation) -> Iterator[str]:
    wide, high = paper.wide, paper.high
    if not view.is_round:
        yield area("edge face", [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)])
        return
    middle = wide / 2, high / 2
    yield circle("edge face", middle, wide / 2)
    if view.bore_mm is not None:
        yield circle("edge", middle, view.bore_mm / 2 * paper.scale)
    yield line("centre", (-_CROSS_MM, high / 2), (wide + _CROSS_MM, high / 2))
    yield line("centre", (wide / 2, -_CROSS_MM), (wide / 2, high + _CROSS_MM))


def _bore_lines(paper: Paper, lines: Sequence[HoleLine]) -> Iterator[str]:
    for one in lines:
        yield line(one.ink, paper.at(one.start), paper.at(one.end))


def _drawn_holes(paper: Paper, holes: Sequence[HoleOnView]) -> Iterator[str]:
    """Each in a group of its own; members of a pattern are alike, and so are their steps."""
    steps: dict[int, dict[str, Steps]] = {}
    for hole in holes:
        shape = hole.shape
        found = steps.get(id(shape))
        if found is None:
            found = steps[id(shape)] = _steps(shape, paper.scale)
        if not found:
            continue
        centre = paper.at(hole.at)
        inside = [path(kind, one.from_centre(centre)) for kind, one in found.items()]
        own = "" if hole.is_own else None
        yield group(f"hole {hole.seen}", inside, line=hole.line, hole=hole.name, own=own)


def _steps(shape: Shape, scale: float) -> dict[str, Steps]:
    """By class, what is drawn round a hole's centre."""
    found: dict[str, Steps] = {}
    for radius_mm, ink in shape.rings:
        kind = "thin" if ink == "thread" else ink
        steps = found.setdefault(kind, Steps())
        (steps.open_ring if ink == "thread" else steps.ring)(radius_mm * scale)
    if shape.rings:
        reach = max(radius_mm for radius_mm, _ in shape.rings) * scale + _CROSS_MM
        cross = found.setdefault("centre", Steps())
        cross.line((-reach, 0.0), (reach, 0.0))
        cross.line((0.0, -reach), (0.0, reach))
    for one in shape.lines:
        start, end = _down(one.start, scale), _down(one.end, scale)
        found.setdefault(one.ink, Steps()).line(start, end)
    return found


def _down(place: Place, scale: float) -> Place:
    return place[0] * scale, -place[1] * scale
