"""Figures for docs/: the part's faces and turns, the edge finder, depths, backlash. No tests here.

Where the package knows a place, a depth or a direction, the figure asks it. They are kept as SVG in
docs/pictures and made anew by `MILLPREP_UPDATE_DOCS=1 pytest tests/test_pictures.py`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from itertools import pairwise

import numpy as np
import pattern_figures
from jobs import named, plan_of, shop_of
from numpy.typing import NDArray
from sketching import WORDS_MM, arrow, between, distance, label

from millprep.canvas.lettering import width_mm
from millprep.canvas.pen import Anchor, Pen, Place, Style, circle
from millprep.canvas.svg import SvgPen
from millprep.infiles.points import AXIS_LETTERS, VIEW
from millprep.model.part import AXIS_FACES, Face
from millprep.planning import Plan
from millprep.planning.dials import Handle
from millprep.setting.setups import face_along, lay_rotation
from millprep.setting.turning import Move, rotation_of

Floats = NDArray[np.float64]
_SIDEWAYS, _DOWN = math.radians(33), math.radians(27)  # from where a block is looked at


def seen(point: Floats) -> Place:
    """A point in machine axes (X right, Y away, Z up), as seen from above and from the right."""
    x, y, z = point
    deep = y * math.cos(_SIDEWAYS) - x * math.sin(_SIDEWAYS)
    return (
        x * math.cos(_SIDEWAYS) + y * math.sin(_SIDEWAYS),
        z * math.cos(_DOWN) + deep * math.sin(_DOWN),
    )


def lettered_block(pen: Pen, at: Place, size: Floats, rotation: Floats) -> list[Face]:
    """A block that lies so: the three sides that are seen, each with its name; gives those names.

    at : of its lower near left corner on the paper; size : of the part, along its own axes
    rotation : (3, 3) rows are the machine's axes in the part's
    """
    lying = np.abs(rotation @ size)
    named_faces = []
    for axis, side in ((2, 1), (1, 0), (0, 1)):  # up, towards you, right: what is seen
        across = [one for one in range(3) if one != axis]
        corners = []
        for one, other in ((0, 0), (1, 0), (1, 1), (0, 1)):
            corner = np.zeros(3)
            corner[[axis, *across]] = side, one, other
            x, y = seen(corner * lying)
            corners.append((at[0] + x, at[1] + y))
        pen.outline(corners, "edge")
        outward = rotation.T @ (np.eye(3)[axis] * (1 if side else -1))
        named_faces.append(face_along(outward))
        x, y = between(corners[0], corners[2])
        words = named_faces[-1].upper()
        room = 0.9 * (corners[1][0] - corners[0][0]) if axis < 2 else lying[0]
        height = min(WORDS_MM, WORDS_MM * room / width_mm(words, WORDS_MM))
        label(pen, (x, y - height / 2), words, height, anchor="middle")
    return named_faces


# The faces

_BLOCK = np.array([38.0, 25.0, 16.0])
_VIEWS: tuple[Face, ...] = ("top", "front", "right", "bottom", "back", "left")


def faces() -> SvgPen:
    """The block with its axes; each face as one looks square at it, with what is right and up."""
    pen = SvgPen(180, 78, "The six faces and their axes")
    corner = np.array([6.0, 32.0])
    lettered_block(pen, (corner[0], corner[1]), _BLOCK, np.eye(3))
    starts = ((_BLOCK[0], 0, 0), (0, _BLOCK[1], _BLOCK[2]), (0, 0, _BLOCK[2]))
    for axis, start in enumerate(starts):
        begin = corner + seen(np.array(start))
        tip = begin + seen(np.eye(3)[axis] * 10)
        arrow(pen, (begin[0], begin[1]), (tip[0], tip[1]))
        label(pen, (tip[0] + 1, tip[1] - 0.5), AXIS_LETTERS[axis], 2.5)
    circle(pen, (corner[0], corner[1]), 1.0, "thin")
    label(pen, (5, 12), "x from left to right\ny from front to back\nz from bottom to top")
    for index, face in enumerate(_VIEWS):
        _view(pen, (86 + 38 * (index % 3), 46 - 37 * (index // 3)), face)
    return pen


def _view(pen: Pen, at: Place, face: Face) -> None:
    """A face as one looks square at it, its neighbours named, arrows to the right and up.

    at : the middle of its lower edge
    """
    (right, right_sign), (up, up_sign) = VIEW[face]
    width, height = (0.62 * _BLOCK[axis] for axis in (right, up))
    x, y = at[0] - width / 2, at[1]
    pen.outline([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], "edge")
    label(pen, (at[0], y + 23), face.upper(), 2.5, anchor="middle")
    middle = y + height / 2
    for place, axis, side, turn in (
        ((at[0], y + height + 1.3), up, up_sign, 0),
        ((at[0], y - 2.8), up, -up_sign, 0),
        ((x + width + 2.6, middle), right, right_sign, 90),
        ((x - 1.2, middle), right, -right_sign, 90),
    ):
        neighbour = AXIS_FACES[axis][(1 + side) // 2].upper()
        label(pen, place, neighbour, 1.5, anchor="middle", turn_deg=turn)
    start = x + 1.5, y + 1.5
    for tip, sign, axis in (
        ((start[0] + 6.5, start[1]), right_sign, right),
        ((start[0], start[1] + 5.0), up_sign, up),
    ):
        arrow(pen, start, tip)
        words = ("+" if sign > 0 else "-") + AXIS_LETTERS[axis]
        label(pen, (tip[0] + 0.7, tip[1] - 0.7), words, 1.8)


# The turns

TURNS: dict[str, tuple[Move, str]] = {
    "over front to back": (("x", 180), "same end to the stop,\nthe other face to the fixed jaw"),
    "over end for end": (("y", 180), "same face to the fixed jaw,\nthe stop to the other end"),
    "a quarter turn away from you": (("x", -90), "same end to the stop,\nTOP to the fixed jaw"),
}
"""What is said of a turn from TOP up, FRONT towards you, and what it is."""

_ROUND = {("x", 180): (200, -25), ("y", 180): (115, -115), ("x", -90): (150, 25)}
"""From where to where the arrow goes round the axis [deg], by the turn."""


def after_turn(name: str) -> Floats:
    """(3, 3) how the part lies after that turn."""
    return rotation_of(TURNS[name][0]) @ lay_rotation("top", "front")


def turns() -> SvgPen:
    """The block before, and after each of the turns."""
    pen = SvgPen(180, 65, "Three turns from the same lay")
    size = 0.72 * _BLOCK
    lettered_block(pen, (3, 20), size, lay_rotation("top", "front"))
    label(pen, (2, 8), "before: TOP up,\nFRONT towards you")
    for index, name in enumerate(TURNS):
        at = 46.0 + 46 * index, 20.0
        lettered_block(pen, at, size, after_turn(name))
        label(pen, (at[0] - 1, 8), TURNS[name][1])
        label(pen, (at[0] - 1, 60), name, 2.2)
        _turning(pen, (at[0] + 16, 50), TURNS[name][0])
    return pen


def _turning(pen: Pen, at: Place, move: Move) -> None:
    """The axis of a turn, and an arrow round it."""
    about = "xyz".index(move[0])
    axis, first, second = (np.eye(3)[(about + step) % 3] for step in range(3))
    start, end = _ROUND[move]
    round_it = [
        5.0 * (first * math.cos(turn) + second * math.sin(turn))
        for turn in np.radians(np.linspace(start, end, 25))
    ]
    low, high, *way = (
        (at[0] + x, at[1] + y) for x, y in map(seen, (-12 * axis, 12 * axis, *round_it))
    )
    pen.line(low, high, "centre")
    for one, two in pairwise(way):
        pen.line(one, two, "thin")
    arrow(pen, way[-3], way[-1])


# The edge finder


def finder() -> SvgPen:
    """The finder against LEFT: where its axis is, and what the readout is set to."""
    plan = plan_of('[[hole]]\nname = "a"\ndrill = 5\nat = [30, 20]\ndepth = 5\n')
    touch = plan.setups[0].zeros[0].touch
    assert touch is not None
    radius, scale = abs(touch.beyond_mm), 1.8
    pen = SvgPen(180, 60, "The edge finder and its radius")
    for index, x_mm in enumerate((touch.at_mm, 0.0)):
        edge = 34.0 + 60 * index
        axis, half, bottom = edge + scale * x_mm, scale * radius, 15.0 + 9 * index
        _work(pen, edge)
        low, high = (axis - half, bottom), (axis + half, 40.0)
        pen.outline([low, (high[0], low[1]), high, (low[0], high[1])], "edge")
        pen.line((axis, bottom - 4), (axis, 45), "centre")
        words = ("pick up LEFT,\nset X", "raised, and moved over LEFT:\nX")[index]
        label(pen, (axis, 54), f"{words} = {x_mm:.3f}", 2.2, anchor="middle")
        if not index:
            distance(pen, (axis, 10), (edge, 10), f"{radius:g}")
            label(pen, (axis - half - 1, 30), f"finder\n{2 * radius:g} dia", anchor="right")
    edge = 154.0
    _work(pen, edge)
    for x_mm, words in ((touch.at_mm, "X set to 0 here"), (0.0, "should be here")):
        pen.line((edge + scale * x_mm, 6 if x_mm else 16), (edge + scale * x_mm, 40), "centre")
        anchor: Anchor = "right" if x_mm else "left"
        label(pen, (edge + scale * x_mm + (0.8 if x_mm else -0.8), 42), words, anchor=anchor)
    label(
        pen, (edge - 3, 54), f"radius left out:\nevery hole is {radius:g} out", 2.2, anchor="middle"
    )
    distance(pen, (edge + scale * touch.at_mm, 10), (edge, 10), f"{radius:g}")
    return pen


def _work(pen: Pen, edge: float) -> None:
    """The corner of a block in section, LEFT at `edge`."""
    top = 20.0
    pen.line((edge, 3), (edge, top), "edge")
    pen.line((edge, top), (edge + 22, top), "edge")
    for step in range(4):
        pen.line((edge + 0.5 + 5 * step, 3.5), (edge + 6.5 + 5 * step, 9.5), "thin")
    label(pen, (edge + 11, 13), "work", anchor="middle")


# Depths in section

DEEP = {
    "blind": "drill = 8\nat = [10, 20]\ndepth = 12",
    "through": 'drill = 8\nat = [25, 20]\ndepth = "through"',
    "tapped": 'tap = "M8"\nat = [40, 20]\ndepth = 10',
    "head": 'clear = "M5"\ncounterbore = "M5 socket head"\nat = [52, 20]\ndepth = "through"',
}
"""The holes of the sections, in a block 20 thick."""
_THICK_MM, _SCALE, _TOP = 20.0, 1.7, 48.0


def planned() -> Plan:
    """What the package makes of them."""
    return plan_of("".join(f'[[hole]]\nname = "{name}"\n{text}\n' for name, text in DEEP.items()))


def depths() -> SvgPen:
    """Four holes in section, with the depths that a sheet and a drawing give."""
    plan = planned()
    pen = SvgPen(180, 61, "Depths in section")
    blind, through = (named(plan, "drill", name) for name in ("blind", "through"))
    core, tap = named(plan, "drill", "tapped"), named(plan, "tap", "tapped")
    sunk, clear = named(plan, "counterbore", "head"), named(plan, "drill", "head")

    hole = _Section(pen, 20, "drill, blind")
    hole.profile([(4, 0), (4, blind.full_mm), (0, -blind.z_mm)])
    hole.deep(-1, 4, blind.full_mm, f"depth {blind.full_mm:g}")
    hole.deep(1, 0, -blind.z_mm, f"tip {blind.z_mm:.3f}")

    hole = _Section(pen, 66, "drill, through")
    hole.profile([(4, 0), (4, _THICK_MM)])
    hole.profile([(4, _THICK_MM), (4, through.full_mm), (0, -through.z_mm)], "hidden")
    hole.deep(-1, 4, _THICK_MM, f"part {_THICK_MM:g}")
    hole.deep(1, 4, through.full_mm, f"full dia {-through.full_mm:.3f}")
    hole.deep(2, 0, -through.z_mm, f"tip {through.z_mm:.3f}")

    hole = _Section(pen, 115, "tapped")
    half = core.tool.diameter_mm / 2
    hole.profile([(half, 0), (half, core.full_mm), (0, -core.z_mm)])
    hole.profile([(4, 0), (4, tap.full_mm), (half, -tap.z_mm)], "thin")
    hole.deep(-1, 4, tap.full_mm, f"thread {tap.full_mm:g}")
    hole.deep(1, half, -tap.z_mm, f"tap {tap.z_mm:.3f}")
    hole.deep(2, 0, -core.z_mm, f"tip {core.z_mm:.3f}")

    hole = _Section(pen, 163, "counterbore")
    wide, narrow = sunk.tool.diameter_mm / 2, clear.tool.diameter_mm / 2
    hole.profile([(wide, 0), (wide, sunk.full_mm), (narrow, sunk.full_mm), (narrow, _THICK_MM)])
    hole.deep(-1, wide, sunk.full_mm, f"{sunk.full_mm:g}")
    return pen


class _Section:
    """A hole in section about its axis at `x` on the paper."""

    def __init__(self, pen: Pen, x: float, words: str) -> None:
        self.pen, self.x = pen, x
        bottom = _TOP - _SCALE * _THICK_MM
        for y in (_TOP, bottom):
            for side in (-1, 1):
                pen.line((x + side * 15, y), (x + side * 9, y), "edge")
        pen.line((x, _TOP + 3), (x, 3), "centre")
        label(pen, (x, 55), words, 2.2, anchor="middle")
        self.is_first = True

    def _at(self, side: int, place: Place) -> Place:
        return self.x + side * _SCALE * place[0], _TOP - _SCALE * place[1]

    def profile(self, places: list[Place], style: Style = "edge") -> None:
        """Radius and depth [mm] of its corners, from the top down; drawn on both sides."""
        for side in (-1, 1):
            for one, two in pairwise(places):
                self.pen.line(self._at(side, one), self._at(side, two), style)
            if style == "edge":
                ends = [places[0], places[-1]] if places[-1][0] else [places[0]]
                for radius, deep in ends:
                    out = self.x + side * 9, _TOP - _SCALE * deep
                    self.pen.line(self._at(side, (radius, deep)), out, style)
        if style == "edge" and not places[-1][0]:
            y = _TOP - _SCALE * _THICK_MM
            self.pen.line((self.x - 9, y), (self.x + 9, y), "edge")
        for one in places[1:-1]:
            self.pen.line(self._at(-1, one), self._at(1, one), "thin")

    def deep(self, column: int, radius_mm: float, depth_mm: float, words: str) -> None:
        """A depth from the top, in a column to the left (-1) or right (1, 2) of the hole."""
        side = -1 if column < 0 else 1
        x = self.x + side * (7.5 + 3.5 * abs(column))
        y = _TOP - _SCALE * depth_mm
        self.pen.line(self._at(side, (radius_mm, depth_mm)), (x + side, y), "thin")
        distance(self.pen, (x, _TOP), (x, y), "")
        if side > 0:
            label(self.pen, (self.x + 16, y - 0.7), words, 1.8)
        else:
            label(self.pen, (x + 2, y - 3), words, 1.8, anchor="right")


# Backlash

_PITCH, _TALL, _PLAY = 15.0, 7.0, 2.0


def backlash() -> SvgPen:
    """Screw and nut with their play, and a place that is come up to from one side."""
    pen = SvgPen(180, 74, "Backlash: coming up from one side")
    for index, words in enumerate(
        (
            "coming up: screw and nut touch on one flank,\nthe table is where the dial says",
            "turned back: the dial has moved by the play,\nthe table has not moved",
        )
    ):
        x = 8 + 92 * index
        _screw_and_nut(pen, x, 60, -_PLAY * index)
        ends = ((x + 24, 56), (x + 36, 56))
        arrow(pen, *(reversed(ends) if index else ends), "edge")
        label(pen, (x, 50), words)
    handle = Handle("x", shop_of().dials["x"], 1)
    far, near = 15.0, 7.5
    (first, second) = handle.wind([far, near])
    assert first.back_off is None and second.back_off is not None
    past = near - handle.back_off_mm
    begin, scale, y = 20.0, 7.0, 22.0

    def at(x_mm: float, level: float) -> Place:
        return begin + scale * x_mm, y - 5 * level

    for x_mm, words in ((0.0, "zero"), (near, "second hole"), (far, "first hole")):
        pen.line((at(x_mm, 0)[0], 6), (at(x_mm, 0)[0], 27), "centre")
        label(pen, (at(x_mm, 0)[0], 34), words, anchor="middle")
    for x_mm, wound in ((near, second), (far, first)):
        words = f"{wound.setting.turns} turns, figure {wound.setting.reading}"
        label(pen, (at(x_mm, 0)[0], 30), words, anchor="middle")
    arrow(pen, at(0, 0), at(far, 0), "edge")
    arrow(pen, at(far, 1), at(past, 1))
    pen.line(at(past, 1), at(past, 2), "thin")
    arrow(pen, at(past, 2), at(near, 2), "edge")
    back = second.back_off
    label(
        pen,
        (at(past, 2)[0] - 2, y - 11),
        f"back past it to {back.turns} turns, figure {back.reading},\nthen come up to it",
        anchor="right",
    )
    return pen


def _screw_and_nut(pen: Pen, x: float, y: float, shift: float) -> None:
    """The flanks of a screw, moved by `shift`, and of the nut above it."""
    slope, foot_wide = 0.25, 9.5
    screw: list[Place] = []
    nut: list[Place] = []
    for tooth in range(4):
        foot = x + tooth * _PITCH
        rise = slope * _TALL
        screw += [(foot + shift, y), (foot + rise + shift, y + _TALL)]
        screw += [(foot + foot_wide - rise + shift, y + _TALL), (foot + foot_wide + shift, y)]
        high, low = _TALL + 0.8, 0.8
        nut += [
            (foot + foot_wide - slope * high, y + high),
            (foot + foot_wide - slope * low, y + low),
        ]
        nut += [(foot + _PITCH + slope * at - _PLAY, y + at) for at in (low, high)]
    for places, style in ((screw, "edge"), (nut[:-2], "edge")):
        for one, two in pairwise(places):
            pen.line(one, two, style)
    label(pen, (x + 58, y + 6.5), "nut (table)")
    label(pen, (x + 58, y), "screw (dial)")


FIGURES: dict[str, Callable[[], SvgPen]] = {
    **{f"key-{key}": partial(pattern_figures.figure_of, key) for key in pattern_figures.LINES},
    "faces": faces,
    "turns": turns,
    "finder": finder,
    "depths": depths,
    "backlash": backlash,
}
