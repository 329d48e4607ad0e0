"""From a hole to its operations: spot, pilot, drill, recess, countersink, then ream or tap.

The order at one hole never changes; which tools and how deep is decided by `drawer.py` and
`depths.py`. Imports layers 0 to 3.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from millprep.base.records import frozen
from millprep.model.part import (
    FACE_AXIS,
    OPPOSITE,
    Countersink,
    Face,
    Hole,
    Mouth,
    Part,
    Recess,
    widened_mm,
)
from millprep.model.shop import Shop, Tool
from millprep.planning import drawer
from millprep.planning.depths import (
    Reach,
    choose_tap,
    drill_reach,
    finishing_reach,
    last_drill_reach,
)
from millprep.planning.drawer import Choice
from millprep.planning.plan import Operation
from millprep.reference.materials import Material
from millprep.reference.shared_rules import LEAST_PECK_MM
from millprep.setting.setups import Setup
from millprep.sizes import read_drill
from millprep.sums import cutting


@dataclass
class HolePlanner:
    """Makes the operations of the holes of one part on one shop's tools.

    setup_numbers : face -> number of its setup; decides which end a through hole is finished from
    """

    part: Part
    shop: Shop
    material: Material
    setup_numbers: dict[Face, int]
    _sequences: dict[tuple[object, ...], tuple[list[Choice], Choice | None]] = field(
        default_factory=dict
    )

    def operations(self, hole: Hole, setup: Setup) -> Iterator[Operation]:
        """The operations at this hole in this setup, in order; none when it has none there."""
        is_own_face = setup.face == hole.face
        if not is_own_face and setup.face != OPPOSITE[hole.face]:
            return
        x, y = self._place(hole, setup)
        make = _Maker(hole, x, y, self.shop, self.material)
        mouth = hole.mouth if is_own_face else hole.far
        if is_own_face or hole.from_both_ends:
            yield from self._drilling(hole, make, mouth, is_own_face)
        clear_mm = widened_mm(mouth, hole.opened if is_own_face else ())
        is_finished_here = self._is_finished_here(hole, setup.face)
        finishing = self._finishing(hole, make, clear_mm) if is_finished_here else ()
        if hole.kind.has_flat_floor:  # its recess is cut round the finished bore
            yield from (*finishing, *self._mouth(make, mouth))
        else:
            yield from (*self._mouth(make, mouth), *finishing)

    def _place(self, hole: Hole, setup: Setup) -> tuple[float, float]:
        placed = setup.from_part(np.array(hole.centre_mm)[:, None])
        return float(placed[0, 0]), float(placed[1, 0])

    @cached_property
    def widest_spot_mm(self) -> float:
        """One spot drill serves the whole part: the one for its widest cone."""
        return max((spot_cone_mm(hole, hole.mouth) for hole in self.part.holes), default=0.0)

    def thickness_mm(self, hole: Hole) -> float:
        """Of the blank along the hole."""
        return self.part.stock.size_mm[FACE_AXIS[hole.face]]

    def _is_finished_here(self, hole: Hole, face: Face) -> bool:
        """A hole from both ends is reamed or tapped in the later of its two setups."""
        if not hole.from_both_ends:
            return face == hole.face
        other = self.setup_numbers.get(OPPOSITE[face], 0)
        return self.setup_numbers[face] > other

    def tools_for(self, hole: Hole) -> tuple[list[Choice], Choice | None]:
        """The drills in order, and the tool that finishes the hole (None: the last drill does)."""
        key = (hole.kind, hole.words, hole.diameter_mm, hole.drills_words, hole.depth_mm,
               hole.is_through, hole.drill_depth_mm, hole.face)  # fmt: skip
        if key not in self._sequences:
            self._sequences[key] = self._choose_tools(hole)
        return self._sequences[key]

    def _choose_tools(self, hole: Hole) -> tuple[list[Choice], Choice | None]:
        cabinet = self.shop.cabinet
        last = self._last_drill(hole)
        finish: Choice | None = None
        if hole.thread is not None:
            finish = choose_tap(
                hole, drawer.taps(cabinet, hole.thread), last.tool, self.thickness_mm(hole)
            )
        elif hole.kind.is_reamed:
            finish = drawer.reamer(cabinet, hole)
        elif hole.kind.has_flat_floor:
            finish = Choice(Tool("boring head", hole.words, hole.diameter_mm), True)
        if hole.drills_words is not None:
            return self._drills_given(hole, last, finish is None), finish
        tap = finish.tool if finish is not None and finish.tool.kind == "tap" else None
        tip = last_drill_reach(hole, last.tool, tap).tip_mm
        pilot = drawer.pilot_drill(cabinet, last.tool.diameter_mm or 0.0, tip)
        return ([pilot] if pilot else []) + [last], finish

    def _last_drill(self, hole: Hole) -> Choice:
        cabinet = self.shop.cabinet
        if hole.drills_words:
            given = read_drill(hole.drills_words[-1], self.part.units)
            return drawer.drill_asked(cabinet, given.diameter_mm, given.designation)
        if hole.thread is not None:
            return drawer.tap_drill(cabinet, hole.thread)
        if hole.kind.is_reamed:
            return drawer.ream_drill(cabinet, hole.diameter_mm)
        if hole.kind.has_flat_floor:
            under = drawer.largest_drill_under(
                cabinet, hole.diameter_mm - 2 * drawer.BORING_STOCK_MM
            )
            if under is not None:
                return under
        return drawer.drill_asked(cabinet, hole.diameter_mm, hole.words)

    def _drills_given(self, hole: Hole, last: Choice, drill_finishes: bool) -> list[Choice]:
        sizes = [read_drill(words, self.part.units) for words in hole.drills_words or ()]
        choices = [
            drawer.drill_asked(self.shop.cabinet, size.diameter_mm, size.designation)
            for size in sizes
        ] or [last]
        short_of_size = (choices[-1].tool.diameter_mm or 0.0) < hole.diameter_mm - 1e-6
        if drill_finishes and short_of_size:
            choices.append(drawer.drill_asked(self.shop.cabinet, hole.diameter_mm, hole.words))
        return choices

    def _drilling(
        self, hole: Hole, make: _Maker, mouth: Mouth, is_own_face: bool
    ) -> Iterator[Operation]:
        drills, finish = self.tools_for(hole)
        tap = finish.tool if finish is not None and finish.tool.kind == "tap" else None
        last = drills[-1].tool
        reach = last_drill_reach(hole, last, tap)
        if hole.spot:
            yield self._spot(hole, make, mouth, reach)
        for choice in drills[:-1]:
            yield make.drilling("pilot drill", choice, _pilot_reach(choice.tool, reach))
        yield make.drilling("drill", drills[-1], reach)
        if is_own_face:
            for opened in hole.opened:
                choice = drawer.drill_asked(self.shop.cabinet, opened.diameter_mm, opened.words)
                yield make.drilling("drill", choice, drill_reach(choice.tool, opened.depth_mm))

    def _spot(self, hole: Hole, make: _Maker, mouth: Mouth, reach: Reach) -> Operation:
        """A cone a little over size; inside a recess or countersink only as wide as they leave."""
        cone = spot_cone_mm(hole, mouth)
        choice = drawer.spot_drill(self.shop.cabinet, self.widest_spot_mm)
        room = min(self.thickness_mm(hole) / 2, reach.full_mm)
        cone = min(cone, drawer.widest_cone_mm(choice.tool, room))
        return make.spot(choice, cone)

    def _mouth(self, make: _Maker, mouth: Mouth) -> Iterator[Operation]:
        cabinet = self.shop.cabinet
        if mouth.spotface is not None:
            yield make.recess(
                "spotface", drawer.recess_cutter(cabinet, mouth.spotface), mouth.spotface
            )
        if mouth.counterbore is not None:
            choice = drawer.recess_cutter(cabinet, mouth.counterbore)
            yield make.recess("counterbore", choice, mouth.counterbore)
        if mouth.countersink is not None:
            yield make.countersink(
                drawer.countersink(cabinet, mouth.countersink), mouth.countersink
            )

    def _finishing(self, hole: Hole, make: _Maker, clear_mm: float) -> Iterator[Operation]:
        finish = self.tools_for(hole)[1]
        if finish is None:
            return
        reach = finishing_reach(hole, finish.tool)
        name = {"tap": "tap", "reamer": "ream", "boring head": "bore"}[finish.tool.kind]
        yield make.finishing(name, finish, reach, clear_mm)


def spot_cone_mm(hole: Hole, mouth: Mouth) -> float:
    """Wanted at the face: a little over the hole, less where a recess or boring follows."""
    if hole.kind.has_flat_floor or mouth != Mouth():
        return 0.8 * hole.diameter_mm
    return hole.diameter_mm + cutting.SPOT_OVER_SIZE_MM


def _pilot_reach(tool: Tool, last: Reach) -> Reach:
    """A pilot's tip goes as far as the last drill's: inside its cone nothing shows."""
    point = drill_reach(tool, 0.0).tip_mm
    return Reach(last.tip_mm - point, last.tip_mm)


@frozen
class _Maker:
    """Puts speed and place to the operations of one hole."""

    hole: Hole
    x_mm: float
    y_mm: float
    shop: Shop
    material: Material

    def _make(
        self, name: str, choice: Choice, reach: Reach, speed: tuple[float, float],
        cone_mm: float | None = None, pecks: tuple[float, ...] = (), clear_mm: float = 0.0,
    ) -> Operation:  # fmt: skip
        tool = choice.tool
        turns = None
        if tool.kind == "tap" and tool.pitch_mm:
            turns = (reach.tip_mm - clear_mm) / tool.pitch_mm
        return Operation(
            self.hole, name, tool, choice.in_drawer, self.x_mm, self.y_mm, -reach.tip_mm,
            reach.full_mm, speed[0], speed[1], cone_mm=cone_mm, pecks_mm=pecks,
            by_hand=tool.kind == "tap", turns=turns,
        )  # fmt: skip

    def spot(self, choice: Choice, cone_mm: float) -> Operation:
        tool = choice.tool
        depth = cutting.cone_depth_mm(cone_mm, tool.point_angle_deg or 90.0, tool.tip_flat_mm)
        speed = cutting.spotting_speed(cone_mm, self.material, self.shop.mill)
        return self._make("spot drill", choice, Reach(0.0, depth), speed, cone_mm)

    def drilling(self, name: str, choice: Choice, reach: Reach) -> Operation:
        diameter = choice.tool.diameter_mm or 0.0
        speed = cutting.drilling_speed(diameter, reach.full_mm, self.material, self.shop.mill)
        return self._make(name, choice, reach, speed, pecks=self._pecks(diameter, reach))

    def _pecks(self, diameter_mm: float, reach: Reach) -> tuple[float, ...]:
        """Z of the tip after each peck: depths count from the face to the tip."""
        given = self.hole.peck_mm
        if given is None:
            first = self.material.first_peck_diameters
            depths = cutting.peck_depths_mm(reach.tip_mm, diameter_mm, first)
        else:
            depths = _pecks_given(given, reach.tip_mm)
        return tuple(-depth for depth in depths)

    def recess(self, name: str, choice: Choice, asked: Recess) -> Operation:
        speed = cutting.recessing_speed(asked.diameter_mm, self.material, self.shop.mill)
        return self._make(name, choice, Reach(asked.depth_mm, asked.depth_mm), speed)

    def countersink(self, choice: Choice, asked: Countersink) -> Operation:
        tool = choice.tool
        angle = tool.point_angle_deg or asked.angle_deg
        depth = cutting.cone_depth_mm(asked.diameter_mm, angle, tool.tip_flat_mm)
        speed = cutting.recessing_speed(asked.diameter_mm, self.material, self.shop.mill)
        return self._make("countersink", choice, Reach(0.0, depth), speed, asked.diameter_mm)

    def finishing(self, name: str, choice: Choice, reach: Reach, clear_mm: float) -> Operation:
        tool, mill = choice.tool, self.shop.mill
        diameter = tool.diameter_mm or self.hole.diameter_mm
        if name == "tap":
            most_rpm, pitch_mm = self.shop.control.tap_speed_rpm, tool.pitch_mm or 1.0
            speed = cutting.tapping_speed(diameter, pitch_mm, self.material, mill, most_rpm)
        elif name == "ream":
            speed = cutting.reaming_speed(diameter, self.material, mill)
        else:
            speed = cutting.recessing_speed(diameter, self.material, mill)
        return self._make(name, choice, reach, speed, clear_mm=clear_mm)


def _pecks_given(pecks_mm: tuple[float, ...], tip_mm: float) -> tuple[float, ...]:
    """Pecks as the file gives them: the last is repeated until the depth is reached."""
    if not pecks_mm:
        return ()
    depths: list[float] = []
    depth = 0.0
    while depth < tip_mm - 1e-6:
        depth += pecks_mm[min(len(depths), len(pecks_mm) - 1)]
        depth = tip_mm if tip_mm - depth < LEAST_PECK_MM else depth  # no bite is left
        depths.append(depth)
    return tuple(depths) if len(depths) > 1 else ()
