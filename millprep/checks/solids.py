"""A finished hole as round solids: its diameter, thread, drill point, recesses and cones.

How deep the tools really go comes from the plan: the drill runs deeper than a blind thread, and its
point deeper still. Layers 0 to 3, planning.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator

from millprep.base.records import frozen, replace
from millprep.checks.gaps import Point, Solid
from millprep.model.part import FACE_AXIS, HIGH_FACES, OPPOSITE, Face, Hole, Mouth, Part, Stock
from millprep.model.shop import Shop
from millprep.planning import make_plan
from millprep.planning.plan import Operation, Plan

POINTED = ("drill point", "lead")
"""Solids beyond the full diameter of a blind hole."""


@frozen
class Placed:
    """A hole of the part and the solids that it takes from the blank."""

    hole: Hole
    solids: tuple[Solid, ...]

    def moved(self, by_mm: Point) -> Placed:
        """The same elsewhere on its face."""
        x, y, z = (at + step for at, step in zip(self.hole.centre_mm, by_mm, strict=True))
        return Placed(
            replace(self.hole, centre_mm=(x, y, z)),
            tuple(solid.moved(by_mm) for solid in self.solids),
        )

    @property
    def axis(self) -> int:
        return FACE_AXIS[self.hole.face]

    @property
    def full(self) -> tuple[Solid, ...]:
        """The solids of full diameter: what a screw, a pin or air can use."""
        return tuple(solid for solid in self.solids if solid.what not in POINTED)

    def deepest_mm(self, stock: Stock) -> tuple[float, Solid]:
        """How deep below its own face the hole goes, and the solid that goes there."""
        at = stock.face_at_mm(self.hole.face)
        if self.hole.face in HIGH_FACES:
            lowest = min(self.solids, key=lambda solid: solid.low_mm)
            return at - lowest.low_mm, lowest
        highest = max(self.solids, key=lambda solid: solid.high_mm)
        return highest.high_mm - at, highest


def placed_holes(plan: Plan) -> list[Placed]:
    """Every hole of a plan with its solids."""
    by_hole: dict[str, list[Operation]] = defaultdict(list)
    for setup_plan in plan.setups:
        for operation in setup_plan.operations:
            if setup_plan.setup.face == operation.hole.face:
                by_hole[operation.hole.name].append(operation)
    return [placed(plan.part.stock, hole, by_hole[hole.name]) for hole in plan.part.holes]


def placed_anew(part: Part, shop: Shop, hole: Hole) -> Placed:
    """A hole that was changed, its depths planned afresh."""
    return placed_holes(make_plan(replace(part, holes=(hole,)), shop))[0]


def placed(stock: Stock, hole: Hole, operations: Iterable[Operation]) -> Placed:
    """A hole with its solids, from the operations on its own face."""
    lengths = [*_lengths(stock, hole, operations), *_mouth(hole, hole.mouth)]
    solids = [*_solids(stock, hole, hole.face, lengths)]
    if hole.far != Mouth():
        solids += _solids(stock, hole, OPPOSITE[hole.face], _mouth(hole, hole.far))
    return Placed(hole, tuple(solids))


Length = tuple[str, float, float, float, float]
"""(what, from depth, to depth, radius there, radius here) from a face down."""


def _lengths(stock: Stock, hole: Hole, operations: Iterable[Operation]) -> Iterator[Length]:
    radius = hole.diameter_mm / 2
    if hole.is_through:
        thickness = stock.size_mm[FACE_AXIS[hole.face]]
        yield "thread" if hole.thread is not None else "hole", 0.0, thickness, radius, radius
    drill_radius = radius
    for operation in operations:
        full, end = operation.full_mm, -operation.z_mm
        if operation.name == "drill":
            drill_radius = operation.tool.diameter_mm / 2
            if hole.is_through and drill_radius <= radius:
                continue
            yield "hole", 0.0, full, drill_radius, drill_radius
            yield "drill point", full, end, drill_radius, 0.0
        elif hole.is_through:
            continue
        elif operation.is_finish and hole.thread is None:
            yield "hole", 0.0, full, radius, radius
        elif operation.is_finish:
            yield "thread", 0.0, full, radius, radius
            yield "lead", full, end, radius, min(drill_radius, radius)


def _mouth(hole: Hole, mouth: Mouth) -> Iterator[Length]:
    for what, recess in (("counterbore", mouth.counterbore), ("spotface", mouth.spotface)):
        if recess is not None:
            wide = recess.diameter_mm / 2
            yield what, 0.0, recess.depth_mm, wide, wide
    if mouth.countersink is not None:
        wide, narrow = mouth.countersink.diameter_mm / 2, hole.diameter_mm / 2
        deep = (wide - narrow) / math.tan(math.radians(mouth.countersink.angle_deg / 2))
        if deep > 0:
            yield "countersink", 0.0, deep, wide, narrow


def _solids(stock: Stock, hole: Hole, face: Face, lengths: Iterable[Length]) -> Iterator[Solid]:
    """Lengths from a face down as solids along a part axis; full diameters end at the far face."""
    axis, at = FACE_AXIS[face], stock.face_at_mm(face)
    thickness = stock.size_mm[axis]
    for what, start, end, wide, narrow in lengths:
        stop = min(end, thickness) if wide == narrow else end
        if stop <= start:  # a point beyond stays: how deep the drill goes is told by it
            continue
        if face in HIGH_FACES:
            yield Solid(axis, hole.centre_mm, at - stop, at - start, narrow, wide, what)
        else:
            yield Solid(axis, hole.centre_mm, at + start, at + stop, wide, narrow, what)
