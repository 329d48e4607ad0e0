"""The face that is up as it is drawn: outline, holes by kind, a letter for each pattern.

Setup axes, millimetres; figures beside the marks are rounded as everywhere. Imports layers 0 to 4
and `figures`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

import numpy as np

from millprep.figures import Figures
from millprep.part import OPPOSITE, Face, Hole, Mouth, Part
from millprep.planning import Operation
from millprep.setups import Setup

RingStyle = Literal["edge", "thin", "hidden", "thread"]


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle round a hole's centre; "thread" is the three quarters of ISO 6410-1."""

    radius_mm: float
    style: RingStyle


@dataclass(frozen=True, slots=True)
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


@dataclass(frozen=True, slots=True)
class View:
    """Outline of the face in setup X and Y, and what lies in it.

    marks : holes worked in this setup, by letter; through : holes of other setups that show here
    """

    low_mm: tuple[float, float]
    high_mm: tuple[float, float]
    is_round: bool
    bore_mm: float | None
    marks: tuple[Mark, ...]
    through: tuple[tuple[float, float, float], ...]


def letter_of(index: int) -> str:
    """A, B, ... Z, AA, AB ...; without I and O, which are read as figures."""
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    out = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, len(letters))
        out = letters[rest] + out
    return out


def hole_words(hole: Hole, figures: Figures) -> str:
    """What a hole is, as a drawing's table says it."""
    unit = figures.unit
    depth = "through" if hole.is_through else f"{figures.size(hole.depth_mm)} {unit} deep"
    parts = [f"{hole.kind} {hole.words}" + (f" {hole.fit}" if hole.fit else ""), depth]
    parts += [
        f"opened {opened.words}, {figures.size(opened.depth_mm)} {unit} deep"
        for opened in hole.opened
    ]
    parts += _mouth_words(hole.mouth, figures)
    parts += [f"far end {words}" for words in _mouth_words(hole.far, figures)]
    return ", ".join(parts)


def _mouth_words(mouth: Mouth, figures: Figures) -> list[str]:
    out = []
    for name, recess in (("counterbore", mouth.counterbore), ("spotface", mouth.spotface)):
        if recess is not None:
            size = f"{figures.size(recess.diameter_mm)} x {figures.size(recess.depth_mm)}"
            out.append(f"{name} {size} {figures.unit}")
    if mouth.countersink is not None:
        sink = mouth.countersink
        out.append(
            f"countersink {figures.size(sink.diameter_mm)} {figures.unit} x {sink.angle_deg:g} deg"
        )
    return out


def _rings(hole: Hole, is_own_face: bool) -> tuple[Ring, ...]:
    mouth = hole.mouth if is_own_face else hole.far
    rings = []
    if hole.thread is not None:
        rings += [Ring(hole.thread.tap_drill_mm / 2, "edge"), Ring(hole.diameter_mm / 2, "thread")]
    else:
        rings.append(Ring(hole.diameter_mm / 2, "edge"))
    if is_own_face:
        rings += [Ring(opened.diameter_mm / 2, "edge") for opened in hole.opened]
    for recess in (mouth.counterbore, mouth.spotface):
        if recess is not None:
            rings.append(Ring(recess.diameter_mm / 2, "thin"))
    if mouth.countersink is not None:
        rings.append(Ring(mouth.countersink.diameter_mm / 2, "thin"))
    return tuple(rings)


def view_of(part: Part, setup: Setup, operations: Sequence[Operation], figures: Figures) -> View:
    """The view of one setup, as it lies: X to the right, Y up the paper."""
    placed: dict[str, Operation] = {}
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
                letters[hole.group] + member, hole.name, hole_words(hole, figures),
                figures.shown(found.x_mm, "x"), figures.shown(found.y_mm, "y"),
                found.x_mm, found.y_mm, _rings(hole, hole.face == setup.face),
            )
        )  # fmt: skip
    along = setup.rotation[2, part.stock.axis] if part.stock.axis is not None else 0.0
    is_round = bool(abs(along) > 0.5)
    return View(
        (setup.low_mm[0], setup.low_mm[1]), (setup.high_mm[0], setup.high_mm[1]), is_round,
        part.stock.bore_mm if is_round else None, tuple(marks), _through(part, setup, set(placed)),
    )  # fmt: skip


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
