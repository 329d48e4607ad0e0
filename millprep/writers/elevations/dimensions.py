"""The plan's own figures on a view, each a group that a page can light up.

Imports sheets and its neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from millprep.base.records import frozen
from millprep.base.units import DIAMETER
from millprep.canvas.lettering import DESCENT_OVER_CAPITAL, room_mm
from millprep.canvas.pen import Place, on_circle
from millprep.canvas.spread import Labels
from millprep.sheets.elevations import HoleOnView
from millprep.sheets.stated_figures import StatedFigure
from millprep.writers.elevations.ink import TEXT_MM, area, circle, group, line, text
from millprep.writers.elevations.lanes import Lanes, Placed, Side, Wanted, placed_all
from millprep.writers.elevations.paper import Paper

_ARROW_MM = (2.0, 0.55)
_SAME_MM = 0.01
_BEYOND_MM = 2.0
_REACH_MM = 15.0
_MOST_ROUND = 40
_MOST_ALIKE = 100  # groups in each other: browsers take some hundreds
Key = tuple[str, int | None, str]


@frozen
class _Sum:
    """Figures that say the same between the same: drawn once, each findable."""

    figures: tuple[StatedFigure, ...]
    start: Place
    end: Place


def drawn_figures(
    paper: Paper,
    figures: Sequence[StatedFigure],
    lanes: Lanes,
    labels: Labels,
    holes: Sequence[HoleOnView],
) -> tuple[list[str], list[Key]]:
    """Groups of SVG, and the figures that found no room."""
    for hole in holes:
        if hole.seen != "aside":
            (x, y), radius = paper.at(hole.at), _radius(hole) * paper.scale + 0.4
            labels.block_hole((x - radius, y - radius, x + radius, y + radius))
    pieces = [*_centre_lines(paper, figures, labels)]
    along = [one for one in figures if one.kind == "along" and one.start and one.end]
    sums = _sums(paper, along)
    noughts = [one for one in sums if _is_nought(paper, one)]
    pieces += [_grouped(one.figures[:_MOST_ALIKE], _nought(paper, one)) for one in noughts]
    rest = [one for one in sums if one not in noughts]
    placed = placed_all(lanes, [_wanted(paper, one) for one in rest])
    left_out: list[Key] = []
    for one, found in zip(rest, placed, strict=True):
        shown = one.figures[:_MOST_ALIKE] if found is not None else ()
        left_out += map(_key, one.figures[len(shown) :])
        if found is not None:
            pieces.append(_grouped(shown, _arrows(found)))
    for box in lanes.boxes:
        labels.block_words(box)
    (x2, y2) = paper.wide, paper.high
    corners = ((0.0, 0.0), (x2, 0.0), (x2, y2), (0.0, y2), (0.0, 0.0))
    for start, end in pairwise(corners):
        labels.block_line(start, end)
    aslant = [one for one in figures if one.kind in ("straight", "diameter")]
    for stated in aslant[:_MOST_ROUND]:
        inside = _aslant(paper, stated, labels)
        if inside is None:
            left_out.append(_key(stated))
        else:
            pieces.append(_grouped((stated,), inside))
    left_out += map(_key, aslant[_MOST_ROUND:])
    return pieces, left_out


def _key(one: StatedFigure) -> Key:
    return one.table, one.line, one.key


def _radius(hole: HoleOnView) -> float:
    return max([hole.radius_mm, *(radius for radius, _ in hole.shape.rings)])


def _sums(paper: Paper, figures: Iterable[StatedFigure]) -> list[_Sum]:
    found: dict[object, list[StatedFigure]] = {}
    for one in figures:
        assert one.start is not None and one.end is not None and one.along is not None
        ends = round(one.start[one.along], 3), round(one.end[one.along], 3)
        found.setdefault((one.along, ends, one.text, one.table == "stock"), []).append(one)
    sums = []
    for same in found.values():
        first = same[0]
        assert first.start is not None and first.end is not None
        sums.append(_Sum(tuple(same), paper.of(first.start), paper.of(first.end)))
    return sums


def _centre_lines(paper: Paper, figures: Sequence[StatedFigure], labels: Labels) -> Iterator[str]:
    """Of a block, where the file counts from one."""
    if paper.view.is_round:
        for axis in paper.view.axes:
            labels.block_line(*_across(paper, axis, None))
        return
    seen = {one.along for one in figures if one.starts_at == "centre" and one.kind == "along"}
    for axis in sorted(axis for axis in seen if axis is not None):
        start, end = _across(paper, axis, None)
        yield line("centre", start, end)
        labels.block_line(start, end)


def _across(paper: Paper, axis: int, at: Place | None) -> tuple[Place, Place]:
    """A line over the whole view, square to a part axis, through a place or its middle."""
    x, y = at or (paper.wide / 2, paper.high / 2)
    if axis == paper.view.axes[0]:
        return (x, -_BEYOND_MM), (x, paper.high + _BEYOND_MM)
    return (-_BEYOND_MM, y), (paper.wide + _BEYOND_MM, y)


def _is_nought(paper: Paper, one: _Sum) -> bool:
    along = 0 if one.figures[0].along == paper.view.axes[0] else 1
    return abs(one.start[along] - one.end[along]) < _SAME_MM


def _nought(paper: Paper, one: _Sum) -> Iterator[str]:
    """Nothing to measure: the line that the holes lie on."""
    start, end = one.start, one.end
    if math.dist(start, end) < _SAME_MM:
        assert one.figures[0].along is not None
        start, end = _across(paper, one.figures[0].along, end)
    yield line("centre", start, end)


def _wanted(paper: Paper, one: _Sum) -> Wanted:
    """On the side that is nearer to the hole; what the blank measures below and at the left."""
    figure = one.figures[0]
    is_level = figure.along == paper.view.axes[0]
    x, y = one.end
    side: Side
    if figure.table == "stock":
        side = "below" if is_level else "left"
        (x1, y1), (x2, y2) = one.start, one.end
        start = (x1, paper.high) if is_level else (0.0, y1)
        end = (x2, paper.high) if is_level else (0.0, y2)
        return Wanted(side, figure.text, start, end)
    if is_level:
        side = "below" if y >= paper.high / 2 - _SAME_MM else "above"
    else:
        side = "left" if x <= paper.wide / 2 + _SAME_MM else "right"
    start = one.start
    if figure.starts_at in ("left", "right", "front", "back", "bottom", "top"):
        start = _at_outline(paper, side, one.start)
    return Wanted(side, figure.text, start, one.end)


def _at_outline(paper: Paper, side: Side, place: Place) -> Place:
    """The line out of an edge begins at its corner."""
    x, y = place
    return {
        "below": (x, paper.high),
        "above": (x, 0.0),
        "left": (0.0, y),
        "right": (paper.wide, y),
    }[side]


def _grouped(figures: Sequence[StatedFigure], inside: Iterable[str]) -> str:
    """A group for each figure, one in the other."""
    drawn = "".join(inside)
    for one in figures:
        drawn = group("figure", [drawn], table=one.table, line=one.line, key=one.key)
    return drawn


def _arrows(placed: Placed) -> Iterator[str]:
    for start, end in (*placed.out, placed.line):
        yield line("thin", start, end)
    for tip, way in placed.arrows:
        yield _arrow(tip, way)
    yield text(placed.words_at, placed.words, placed.turn_deg)


def _arrow(tip: Place, way: Place) -> str:
    """Its point at the tip; `way` leads from the tip along the line."""
    (x, y), (across, down), (long, half) = tip, way, _ARROW_MM
    back = x + long * across, y + long * down
    aside = -half * down, half * across
    return area(
        "arrow",
        [tip, (back[0] + aside[0], back[1] + aside[1]), (back[0] - aside[0], back[1] - aside[1])],
    )


def _aslant(paper: Paper, one: StatedFigure, labels: Labels) -> list[str] | None:
    """A pitch circle with its figure, or a straight length with its own."""
    if one.start is None:
        return None
    start = paper.of(one.start)
    inside: list[str] = []
    tries: list[Place] = []
    words = one.text
    if one.kind == "diameter":
        words = f"{DIAMETER} {words}"
        end = paper.of(one.end) if one.end is not None else None
        radius = math.dist(start, end) if end else (paper.view.bore_mm or 0) / 2 * paper.scale
        if end is not None:
            inside.append(circle("centre", start, radius))
            labels.block_circle(start, radius)
        tries = [on_circle(start, radius, turn) for turn in (*range(-80, 280, 20), -90, 0, 45)]
    elif one.end is not None:
        end = paper.of(one.end)
        inside.append(line("thin", start, end))
        length = math.dist(start, end) or 1.0
        inside.append(_arrow(end, ((start[0] - end[0]) / length, (start[1] - end[1]) / length)))
        shares = (0.5, 0.35, 0.65, 0.2, 0.8)
        tries = [
            (start[0] + s * (end[0] - start[0]), start[1] + s * (end[1] - start[1])) for s in shares
        ]
    wide, below = room_mm(words, TEXT_MM), DESCENT_OVER_CAPITAL * TEXT_MM
    for place in tries:
        found = labels.near(place, 0.6, wide, TEXT_MM + below, _REACH_MM, leader_from_mm=0.0)
        if found is not None:
            (x, y), tie = found
            inside.append(text((x + wide / 2, y + TEXT_MM), words))
            if tie is not None:
                inside.append(line("thin", place, tie))
            return inside
    return None
