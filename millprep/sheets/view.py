"""The face that is up as it is drawn: outline, holes by kind, a letter for each pattern.

Setup axes, millimetres; figures beside the marks are rounded as everywhere. Imports layers 0 to 4
and `figures`.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal, Protocol

import numpy as np

from millprep.base.records import frozen
from millprep.base.units import DIAMETER
from millprep.model.kinds import CLEAR
from millprep.model.part import OPPOSITE, Face, Hole, Mouth, Part
from millprep.planning import Operation
from millprep.setting.setups import Setup
from millprep.sheets.figures import Figures
from millprep.sheets.hand_words import short_hand

RingStyle = Literal["edge", "thin", "hidden", "thread"]


@frozen
class Ring:
    """A circle round a hole's centre; "thread" is the three quarters of ISO 6410-1."""

    radius_mm: float
    style: RingStyle


@frozen
class Mark:
    """One hole on the view: `letter` of its pattern and number in it, what it is, where it is."""

    letter: str
    hole: str
    words: str
    x: Decimal
    y: Decimal
    x_mm: float
    y_mm: float
    rings: tuple[Ring, ...]


@frozen
class View:
    """Outline of the face in setup X and Y, and what lies in it.

    marks : holes worked in this setup, by letter; through : holes of other setups that show here
    sides : the faces at the left hand, towards you, at the right hand and away
    hand : which way three of the holes go round, by their letters; may be empty
    edges : where these lie, as the readout shows it (left hand X, towards you Y, and so on)
    """

    low_mm: tuple[float, float]
    high_mm: tuple[float, float]
    is_round: bool
    bore_mm: float | None
    marks: tuple[Mark, ...]
    through: tuple[tuple[float, float, float], ...]
    sides: tuple[str, str, str, str] = ("", "", "", "")
    edges: tuple[Decimal, ...] = ()
    hand: str = ""


class Placed(Protocol):
    """A hole, and where it lies in the setup [mm]."""

    @property
    def hole(self) -> Hole: ...
    @property
    def x_mm(self) -> float: ...
    @property
    def y_mm(self) -> float: ...


def letter_of(index: int) -> str:
    """A, B, ... Z, AA, AB ...; without I and O, which are read as figures."""
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, len(letters))
        out = letters[rest] + out
    return out


def hole_words(hole: Hole, figures: Figures, general_tolerance_mm: float | None = None) -> str:
    """What a hole is, as a drawing's table says it: size, depth, mouths, how good, and its note."""
    unit = figures.unit
    parts = [_size_words(hole, figures), _depth_words(hole, figures)]
    if hole.drill_depth_mm is not None and not hole.is_through:
        parts.append(f"drilled {figures.size(hole.drill_depth_mm)} {unit} deep")
    parts += [
        f"opened {opened.words}, {figures.size(opened.depth_mm)} {unit} deep"
        for opened in hole.opened
    ]
    parts += _mouth_words(hole.mouth, figures)
    parts += [f"far end {words}" for words in _mouth_words(hole.far, figures)]
    if hole.position_mm is not None:
        parts.append(f"position within {DIAMETER}{figures.size(hole.position_mm)} {unit}")
    elif hole.tolerance_mm is not None and hole.tolerance_mm != general_tolerance_mm:
        parts.append(f"position +/- {figures.size(hole.tolerance_mm)} {unit}")
    return ", ".join([*parts, *([hole.note] if hole.note else [])])


def _size_words(hole: Hole, figures: Figures) -> str:
    """The size that the hand fetches first, then what it is for."""
    if hole.kind is CLEAR:
        drill = hole.words if hole.words[0].isdigit() else f"drill {hole.words}"
        return f"{drill}, {hole.screw} clearance"
    words = f"{hole.kind} {hole.words}" + (f" {hole.fit}" if hole.fit else "")
    if hole.limits_um is not None:
        low, high = (hole.diameter_mm + limit / 1000 for limit in hole.limits_um)
        words += f" ({figures.limit(low)} to {figures.limit(high)} {figures.unit})"
    return words


def _depth_words(hole: Hole, figures: Figures) -> str:
    if hole.from_both_ends:
        return "through, half from each end"
    if hole.is_through:
        return "through"
    if hole.goes_into is not None:
        return f"into {hole.goes_into}"
    thread = "thread " if hole.thread is not None else ""
    return f"{thread}{figures.size(hole.depth_mm)} {figures.unit} deep"


def _mouth_words(mouth: Mouth, figures: Figures) -> list[str]:
    out = []
    for name, recess in (("counterbore", mouth.counterbore), ("spotface", mouth.spotface)):
        if recess is not None:
            size = f"{figures.size(recess.diameter_mm)} x {figures.size(recess.depth_mm)}"
            out.append(f"{name} {DIAMETER}{size} {figures.unit}")
    if mouth.countersink is not None:
        sink = mouth.countersink
        size = f"{DIAMETER}{figures.size(sink.diameter_mm)} {figures.unit}"
        out.append(f"countersink {size} x {sink.angle_deg:g} deg")
    return out


def rings_of(hole: Hole, is_own_face: bool) -> tuple[Ring, ...]:
    mouth = hole.mouth if is_own_face else hole.far
    rings: list[Ring] = []
    if hole.thread is not None:
        rings += [Ring(hole.thread.tap_drill_mm / 2, "edge"), Ring(hole.diameter_mm / 2, "thread")]
    else:
        rings.append(Ring(hole.diameter_mm / 2, "edge"))
    if is_own_face:
        rings += [Ring(opened.diameter_mm / 2, "edge") for opened in hole.opened]
    below = hole.far if is_own_face else hole.mouth
    ends: tuple[tuple[Mouth, RingStyle], ...] = ((mouth, "thin"), (below, "hidden"))
    for end, style in ends:
        for recess in (end.counterbore, end.spotface, end.countersink):
            if recess is not None:
                rings.append(Ring(recess.diameter_mm / 2, style))
    return tuple(rings)


def steps_by_hole(operations: Sequence[Operation]) -> dict[str, tuple[int, ...]]:
    """The numbers of the steps at each hole, by its name."""
    steps: dict[str, tuple[int, ...]] = {}
    for number, one in enumerate(operations, 1):
        steps[one.hole.name] = (*steps.get(one.hole.name, ()), number)
    return steps


def view_of(part: Part, setup: Setup, operations: Sequence[Placed], figures: Figures) -> View:
    """The view of one setup, as it lies: X to the right, Y up the paper."""
    placed: dict[str, Placed] = {}
    for operation in operations:
        placed.setdefault(operation.hole.name, operation)
    groups = {o.hole.group: None for o in placed.values()}
    order = [hole.group for hole in part.holes if hole.group in groups]
    letters = {group: letter_of(i) for i, group in enumerate(dict.fromkeys(order))}
    marks = []
    for hole in part.holes:
        found = placed.get(hole.name)
        if found is None:
            continue
        member = "" if hole.member is None else str(hole.member)
        marks.append(
            Mark(
                letters[hole.group] + member,
                hole.name,
                hole_words(hole, figures, part.general_tolerance_mm),
                figures.shown(found.x_mm, "x"),
                figures.shown(found.y_mm, "y"),
                found.x_mm,
                found.y_mm,
                rings_of(hole, hole.face == setup.face),
            )
        )
    along = setup.rotation[2, part.stock.axis] if part.stock.axis is not None else 0.0
    is_round = bool(abs(along) > 0.5)
    return View(
        (setup.low_mm[0], setup.low_mm[1]),
        (setup.high_mm[0], setup.high_mm[1]),
        is_round,
        part.stock.bore_mm if is_round else None,
        tuple(marks),
        _through(part, setup, set(placed)),
        (setup.left_hand, setup.towards_you, setup.right_hand, setup.away),
        tuple(
            figures.shown(corner[axis], "xy"[axis])
            for corner in (setup.low_mm, setup.high_mm)
            for axis in (0, 1)
        ),
        short_hand(part, setup.face, {mark.hole: mark.letter for mark in marks}),
    )


def _through(part: Part, setup: Setup, worked: set[str]) -> tuple[tuple[float, float, float], ...]:
    """(x, y, diameter) of through holes of the opposite face, which show on this one too."""
    opposite: Face = OPPOSITE[setup.face]
    holes = [
        hole
        for hole in part.holes
        if hole.face == opposite and hole.is_through and hole.name not in worked
    ]
    if not holes:
        return ()
    places = setup.from_part(np.array([hole.centre_mm for hole in holes]).T)
    return tuple(
        (float(x), float(y), hole.diameter_mm)
        for hole, x, y in zip(holes, places[0], places[1], strict=True)
    )
