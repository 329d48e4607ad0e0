"""The part seen square to one of its sides, with what is hidden: lines and circles in setup axes.

Blind holes have their bottoms: a flat one is a line across, a drill's a point of 120 degrees
(ISO 6410-1, from memory). Imports layers 0 to 4.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

import numpy as np

from millprep.base.records import frozen
from millprep.model.part import OPPOSITE, Face, Hole, Part
from millprep.model.shop import Projection
from millprep.setting.setups import Setup, outward
from millprep.sheets.view import RingStyle, rings_of

Place = tuple[float, float]
LineStyle = Literal["edge", "thin", "hidden", "centre"]
_POINT_DEG = 120.0  # what drawings give the bottom of every drilled hole
_SAME_DECIMALS = 3  # lines of a row of holes fall on one another


@frozen
class SeenLine:
    """A line of a view, right and up on the paper [mm of the part]."""

    start: Place
    end: Place
    style: LineStyle


@frozen
class SeenRing:
    """A circle of a view [mm of the part]."""

    centre: Place
    radius_mm: float
    style: RingStyle


@frozen
class Sight:
    """A view square to a face: its box on the paper [mm of the part], and what is in it."""

    face: str
    low_mm: Place
    high_mm: Place
    is_round: bool
    lines: tuple[SeenLine, ...]
    rings: tuple[SeenRing, ...]


@frozen
class _Eye:
    """From where it is seen: setup axes that run right and up on the paper, with their sign.

    deep : the axis looked along
    """

    right: tuple[int, float]
    up: tuple[int, float]

    @property
    def deep(self) -> int:
        return 3 - self.right[0] - self.up[0]

    def seen(self, place: np.ndarray) -> Place:
        (right, right_sign), (up, up_sign) = self.right, self.up
        return right_sign * float(place[right]) + 0.0, up_sign * float(place[up]) + 0.0


_PLAN = _Eye((0, 1.0), (1, 1.0))
_FRONT = _Eye((0, 1.0), (2, 1.0))
# unfolded beside the plan: what lies on the table is next to it in first angle, the top in third
_BESIDE: dict[Projection, _Eye] = {
    "first": _Eye((2, 1.0), (1, 1.0)),
    "third": _Eye((2, -1.0), (1, 1.0)),
}


@frozen
class Section:
    """Part of a hole along its axis: from one depth to the next [mm], radius at either end."""

    top_mm: float
    bottom_mm: float
    top_radius_mm: float
    bottom_radius_mm: float
    is_thread: bool = False
    has_end: bool = True


def front_sight(part: Part, setup: Setup) -> Sight:
    """The side towards you, Z upright."""
    return _sight(part, setup, setup.towards_you, _FRONT)


def side_sight(part: Part, setup: Setup, projection: Projection) -> Sight:
    """The side that stands at the right of the plan: from the left hand in first angle."""
    face = setup.left_hand if projection == "first" else setup.right_hand
    return _sight(part, setup, face, _BESIDE[projection])


def hidden_in_plan(part: Part, setup: Setup) -> tuple[tuple[SeenLine, ...], tuple[SeenRing, ...]]:
    """What lies below the face that is up: holes of the upright faces, and blind ones below."""
    lines: dict[object, SeenLine] = {}
    rings: list[SeenRing] = []
    for hole in part.holes:
        if hole.face == setup.face or setup.works(hole):
            continue
        if hole.face == OPPOSITE[setup.face]:
            if not hole.is_through:
                rings += _below(hole, setup, _PLAN)
        else:
            lines |= {_key(line): line for line in _lengthwise(hole, setup, _PLAN)}
    return tuple(lines.values()), tuple(dict.fromkeys(rings))


def _sight(part: Part, setup: Setup, face: Face, eye: _Eye) -> Sight:
    corners = [eye.seen(np.array(corner)) for corner in (setup.low_mm, setup.high_mm)]
    low = min(c[0] for c in corners), min(c[1] for c in corners)
    high = max(c[0] for c in corners), max(c[1] for c in corners)
    lines: dict[object, SeenLine] = {}
    rings: dict[SeenRing, None] = {}
    for hole in part.holes:
        if hole.face in (face, OPPOSITE[face]):
            seen = list(_end_on(hole, setup, face, eye))
            rings |= dict.fromkeys(seen)
            lines |= {_key(line): line for line in _cross(seen)}
        else:
            lines |= {_key(line): line for line in _lengthwise(hole, setup, eye)}
    along = part.stock.axis
    is_round = along is not None and abs(setup.rotation[eye.deep, along]) > 0.5
    if part.stock.bore_mm is not None:
        centre = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
        if is_round:
            rings[SeenRing(centre, part.stock.bore_mm / 2, "edge")] = None
        else:
            is_level = along is not None and abs(setup.rotation[eye.right[0], along]) > 0.5
            for line in _bored(low, high, centre, part.stock.bore_mm / 2, is_level):
                lines[_key(line)] = line
    return Sight(face, low, high, is_round, tuple(lines.values()), tuple(rings))


def _bored(
    low: Place, high: Place, centre: Place, radius: float, is_level: bool
) -> Iterator[SeenLine]:
    """The bore of a disc that is seen from its side."""
    for aside in (-radius, radius):
        if is_level:
            yield SeenLine((low[0], centre[1] + aside), (high[0], centre[1] + aside), "hidden")
        else:
            yield SeenLine((centre[0] + aside, low[1]), (centre[0] + aside, high[1]), "hidden")


def _key(line: SeenLine) -> object:
    """The same for two lines that fall on each other."""
    ends = sorted(
        (round(x, _SAME_DECIMALS), round(y, _SAME_DECIMALS)) for x, y in (line.start, line.end)
    )
    return (*ends, line.style)


def _end_on(hole: Hole, setup: Setup, face: Face, eye: _Eye) -> Iterator[SeenRing]:
    """A hole that opens on the face looked at, or one that is blind from the other side."""
    if hole.face != face and not hole.is_through:
        yield from _below(hole, setup, eye)
        return
    centre = eye.seen(_placed(hole, setup))
    for ring in rings_of(hole, is_own_face=hole.face == face):
        yield SeenRing(centre, ring.radius_mm, ring.style)


def _cross(rings: Sequence[SeenRing]) -> Iterator[SeenLine]:
    """The centre lines of a round hole seen from its end."""
    (x, y), reach = rings[0].centre, max(ring.radius_mm for ring in rings)
    yield SeenLine((x - reach, y), (x + reach, y), "centre")
    yield SeenLine((x, y - reach), (x, y + reach), "centre")


def _below(hole: Hole, setup: Setup, eye: _Eye) -> Iterator[SeenRing]:
    """A blind hole from behind: its widths, all hidden."""
    centre = eye.seen(_placed(hole, setup))
    for radius in sorted({round(ring.radius_mm, 6) for ring in rings_of(hole, is_own_face=True)}):
        yield SeenRing(centre, radius, "hidden")


def _placed(hole: Hole, setup: Setup) -> np.ndarray:
    return np.asarray(setup.from_part(np.array([hole.centre_mm]).T)[:, 0])


def _lengthwise(hole: Hole, setup: Setup, eye: _Eye) -> Iterator[SeenLine]:
    """The outline of a hole along its axis, all hidden, and its centre line."""
    mouth = _placed(hole, setup)
    inward = np.asarray(setup.rotation @ -outward(hole.face))
    aside = np.zeros(3)
    aside[3 - eye.deep - int(np.argmax(np.abs(inward)))] = 1.0

    def at(depth: float, radius: float) -> Place:
        return eye.seen(mouth + depth * inward + radius * aside)

    deepest = 0.0
    for section in sections_of(hole):
        deepest = max(deepest, section.bottom_mm)
        for side in (-1.0, 1.0):
            yield SeenLine(
                at(section.top_mm, side * section.top_radius_mm),
                at(section.bottom_mm, side * section.bottom_radius_mm),
                "hidden",
            )
        if section.has_end:
            radius = section.bottom_radius_mm
            yield SeenLine(at(section.bottom_mm, -radius), at(section.bottom_mm, radius), "hidden")
    yield SeenLine(at(0.0, 0.0), at(deepest, 0.0), "centre")


def sections_of(hole: Hole) -> Iterator[Section]:
    """From its face down; what ends in the open or in another hole has no line across."""
    radius = hole.diameter_mm / 2 if hole.thread is None else hole.thread.tap_drill_mm / 2
    is_open = hole.is_through or hole.goes_into is not None
    end = hole.depth_mm if is_open else max(hole.depth_mm, hole.drill_depth_mm or 0.0)
    top = 0.0
    mouth = hole.mouth
    recesses = [one for one in (mouth.spotface, mouth.counterbore, *hole.opened) if one is not None]
    for recess in sorted(recesses, key=lambda one: one.depth_mm):
        yield Section(top, recess.depth_mm, recess.diameter_mm / 2, recess.diameter_mm / 2)
        top = recess.depth_mm
    if mouth.countersink is not None:
        sink = mouth.countersink
        deep = (sink.diameter_mm / 2 - radius) / math.tan(math.radians(sink.angle_deg / 2))
        yield Section(top, top + deep, sink.diameter_mm / 2, radius)
        top += deep
    yield from _far_sections(hole, radius)
    yield Section(top, end, radius, radius, has_end=not is_open)
    if hole.thread is not None:
        major, bottom = hole.diameter_mm / 2, min(hole.depth_mm, end)
        yield Section(top, bottom, major, major, is_thread=True, has_end=not is_open)
    if not is_open and not hole.kind.has_flat_floor:
        point = radius / math.tan(math.radians(_POINT_DEG / 2))
        yield Section(end, end + point, radius, 0.0, has_end=False)


def _far_sections(hole: Hole, radius: float) -> Iterator[Section]:
    """What is cut round the other end."""
    for recess in (hole.far.spotface, hole.far.counterbore):
        if recess is not None:
            wide, floor = recess.diameter_mm / 2, hole.depth_mm - recess.depth_mm
            yield Section(hole.depth_mm, floor, wide, wide)
    if hole.far.countersink is not None:
        sink = hole.far.countersink
        deep = (sink.diameter_mm / 2 - radius) / math.tan(math.radians(sink.angle_deg / 2))
        floor = hole.depth_mm - deep
        yield Section(hole.depth_mm, floor, sink.diameter_mm / 2, radius)
