"""From a hole to its operations: spot, pilot, drill, recess, countersink, then ream or tap.

The order at one hole never changes; which tools and how deep is decided by `drawer.py` and
`depths.py`. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property

from millprep.base.records import anew, frozen, replace
from millprep.base.waiting import go_on
from millprep.model.kinds import BORE, MARK, SPOT
from millprep.model.part import FACE_AXIS, Countersink, Hole, Layer, Mouth, Part, Recess, widened_mm
from millprep.model.shop import Shop
from millprep.model.tools import BoringHead, Drill, PointedTool, Reamer
from millprep.planning import drawer
from millprep.planning.depths import (
    Reach,
    choose_finisher,
    drill_reach,
    finishing_reach,
    last_drill_reach,
)
from millprep.planning.drawer import Choice
from millprep.planning.helical import Cone, Round, cone_of, round_of, round_of_recess
from millprep.planning.layers import passed, pecks_anew
from millprep.planning.making import making_of, passes_of, spot_cone_mm
from millprep.planning.openings import Opening, opening_of
from millprep.planning.pilots import Piloted, pilot_reach, pilots_for, wants_pilot
from millprep.planning.plan import Operation
from millprep.reference.materials import Material
from millprep.reference.shared_rules import LEAST_PECK_MM
from millprep.setting.setups import Setup
from millprep.sizes import read_drill
from millprep.sums import cutting


@frozen
class HolePlanner:
    """Makes the operations of the holes of one part on one shop's tools.

    setups : all of the part; the later one finishes a hole that is worked from both ends
    for_program : whether the control makes the holes, which can go round in them
    """

    part: Part
    shop: Shop
    material: Material
    setups: Sequence[Setup]
    for_program: bool = False
    _sequences: dict[tuple[object, ...], tuple[list[Choice], Choice | None]] = anew(factory=dict)

    def operations(self, hole: Hole, setup: Setup) -> Iterator[Operation]:
        """The operations at this hole in this setup, in order; none when it has none there."""
        go_on()
        if hole.kind is MARK or not setup.works(hole):
            return
        made_as = self._made_as(hole)
        for one in self._operations(made_as, setup):
            named = one.name
            if made_as.kind is not hole.kind:  # the drills only make room, the mill makes the hole
                named = {"drill": "pilot drill", "bore": "drill"}.get(named, named)
            yield replace(one, hole=hole, name=named)

    @cached_property
    def rounds(self) -> Mapping[str, Round]:
        """The holes, by name, that a program has an end mill go round in."""
        if not self.for_program:
            return {}
        found = ((one.name, round_of(one, self.shop, self.part.units)) for one in self.part.holes)
        return {name: each for name, each in found if each is not None}

    def _made_as(self, hole: Hole) -> Hole:
        """What an end mill goes round in is made as a bore is, whatever it is for."""
        return replace(hole, kind=BORE) if hole.name in self.rounds else hole

    def _operations(self, hole: Hole, setup: Setup) -> Iterator[Operation]:
        is_own_face = setup.face == hole.face
        x, y = setup.place_of(hole)
        make = _Maker(hole, x, y, self.shop, self.material, passed(self.part, hole))
        if hole.kind is SPOT:
            yield self._spot(hole, make, hole.mouth, Reach(math.inf, math.inf))
            return
        mouth = hole.mouth if is_own_face else hole.far
        is_solid = hole.name in self.rounds and not self.rounds[hole.name].drilled_mm
        if (is_own_face or hole.from_both_ends) and not is_solid:
            yield from self._drilling(hole, make, mouth, is_own_face)
        clear_mm = widened_mm(mouth, hole.opened if is_own_face else ())
        is_finished_here = self._is_finished_here(hole, setup)
        finishing = self._finishing(hole, make, clear_mm) if is_finished_here else ()
        rim_mm = self._rim_mm(hole, is_own_face=is_own_face)
        if making_of(hole).stock_mm:  # its recess is cut round the finished bore
            yield from (*finishing, *self._mouth(make, mouth, rim_mm))
        else:
            yield from (*self._mouth(make, mouth, rim_mm), *finishing)

    @cached_property
    def widest_spot_mm(self) -> float:
        """One spot drill serves the whole part: the one for its widest cone."""
        return max((spot_cone_mm(hole, hole.mouth) for hole in self.part.holes), default=0.0)

    def thickness_mm(self, hole: Hole) -> float:
        """Of the blank along the hole."""
        return self.part.stock.size_mm[FACE_AXIS[hole.face]]

    def opening_of(self, hole: Hole) -> Opening | None:
        """The bore that a tapped hole runs out into."""
        if hole.goes_into is None and not hole.meets:
            return None
        return opening_of(hole, self.part.holes)

    def _is_finished_here(self, hole: Hole, setup: Setup) -> bool:
        """A hole from both ends is reamed or tapped in the later of its two setups."""
        if not hole.from_both_ends:
            return setup.face == hole.face
        return setup.number == max(one.number for one in self.setups if one.works(hole))

    def tools_for(self, hole: Hole) -> tuple[list[Choice], Choice | None]:
        """The drills in order, and the tool that finishes the hole (None: the last drill does)."""
        key = (
            hole.kind,
            hole.words,
            hole.diameter_mm,
            hole.thread is not None and hole.thread.is_classed,
            hole.drills_words,
            hole.depth_mm,
            hole.is_through,
            hole.drill_depth_mm,
            hole.face,
            self.opening_of(hole),
            self.rounds.get(hole.name),
        )
        if key not in self._sequences:
            self._sequences[key] = self._choose_tools(hole)
        drills, finish = self._sequences[key]
        last_mm = drills[-1].tool.diameter_mm
        is_piloted = hole.drills_words is None and wants_pilot(hole, last_mm, self.shop.cabinet)
        pilot = self._pilots.get(last_mm) if is_piloted else None
        return ([Choice(pilot, True)] if pilot else []) + drills, finish

    def _choose_tools(self, hole: Hole) -> tuple[list[Choice], Choice | None]:
        """Without a pilot."""
        cabinet, last = self.shop.cabinet, self._last_drill(hole)
        choices = making_of(hole).finishers(cabinet, hole)
        if (milled := self.rounds.get(hole.name)) is not None and not milled.is_left:
            choices = [Choice(milled.mill, True)]
        opening, thickness = self.opening_of(hole), self.thickness_mm(hole)
        finish = choose_finisher(hole, choices, last.tool, thickness, opening) if choices else None
        if hole.drills_words is not None:
            return self._drills_given(hole, last, finish is None), finish
        return [last], finish

    @cached_property
    def _pilots(self) -> Mapping[float, Drill]:
        """Chosen for the whole part, so that near-equal ones are one."""
        piloted, used = [], set[float]()
        for hole in map(self._made_as, self.part.holes):
            if not hole.kind.is_hole:
                continue
            drills, finish = self._choose_tools(hole)
            used |= {choice.tool.diameter_mm for choice in drills}
            last, opening = drills[-1].tool, self.opening_of(hole)
            reach = last_drill_reach(hole, last, finish.tool if finish else None, opening)
            if hole.drills_words is None and wants_pilot(hole, last.diameter_mm, self.shop.cabinet):
                piloted.append(Piloted(last.diameter_mm, reach))
        return pilots_for(self.shop.cabinet, piloted, used)

    def _last_drill(self, hole: Hole) -> Choice:
        if hole.drills_words:
            given = read_drill(hole.drills_words[-1], self.part.units)
            return drawer.drill_asked(self.shop.cabinet, given.diameter_mm, given.designation)
        return making_of(hole).drill(self.shop.cabinet, hole, self.material)

    def _drills_given(self, hole: Hole, last: Choice, drill_finishes: bool) -> list[Choice]:
        sizes = [read_drill(words, self.part.units) for words in hole.drills_words or ()]
        choices = [
            drawer.drill_asked(self.shop.cabinet, size.diameter_mm, size.designation)
            for size in sizes
        ] or [last]
        short_of_size = choices[-1].tool.diameter_mm < hole.diameter_mm - 1e-6
        if drill_finishes and short_of_size:
            choices.append(drawer.drill_asked(self.shop.cabinet, hole.diameter_mm, hole.words))
        return choices

    def _drilling(
        self, hole: Hole, make: _Maker, mouth: Mouth, is_own_face: bool
    ) -> Iterator[Operation]:
        drills, finish = self.tools_for(hole)
        last, opening = drills[-1].tool, self.opening_of(hole)
        reach = last_drill_reach(hole, last, finish.tool if finish else None, opening)
        if hole.spot:
            yield self._spot(hole, make, mouth, reach)
        for choice in drills[:-1]:
            yield make.drilling("pilot drill", choice, pilot_reach(hole, choice.tool, reach))
        yield make.drilling("drill", drills[-1], reach, opens_out=len(drills) > 1)
        if is_own_face:
            for opened in hole.opened:
                choice = drawer.drill_asked(self.shop.cabinet, opened.diameter_mm, opened.words)
                reach = drill_reach(choice.tool, opened.depth_mm)
                yield make.drilling("drill", choice, reach, opens_out=True)

    def _spot(self, hole: Hole, make: _Maker, mouth: Mouth, reach: Reach) -> Operation:
        """A cone a little over size; inside a recess or countersink only as wide as they leave."""
        cone = spot_cone_mm(hole, mouth)
        choice = drawer.spot_drill(self.shop.cabinet, self.widest_spot_mm)
        room = min(self.thickness_mm(hole) / 2, reach.full_mm)
        cone = min(cone, drawer.widest_cone_mm(choice.tool, room))
        return make.spot(choice, cone)

    def _rim_mm(self, hole: Hole, *, is_own_face: bool) -> float:
        """How wide the hole is when its countersink comes."""
        if is_own_face and hole.opened:
            return max(one.diameter_mm for one in hole.opened)
        is_as_drilled = is_own_face and not making_of(hole).stock_mm
        if is_as_drilled or hole.thread is not None:
            return self.tools_for(hole)[0][-1].tool.diameter_mm
        return hole.diameter_mm

    def _mouth(self, make: _Maker, mouth: Mouth, rim_mm: float) -> Iterator[Operation]:
        cabinet = self.shop.cabinet
        for name, recess in (("spotface", mouth.spotface), ("counterbore", mouth.counterbore)):
            if recess is not None:
                yield self._recess(make, name, recess, rim_mm)
        if (cone := mouth.countersink) is not None:
            choice = drawer.countersink(cabinet, cone, rim_mm)
            is_alone = mouth.counterbore is None and mouth.spotface is None
            wide = None
            if self.for_program and is_alone and not choice.in_drawer:
                room_mm = make.hole.depth_mm
                wide = cone_of(cone, rim_mm, room_mm, self.shop, self.part.units)
            if wide is not None:
                yield replace(make.chamfering(wide), rim_mm=rim_mm)
            else:
                yield replace(make.countersink(choice, cone), rim_mm=rim_mm)

    def _recess(self, make: _Maker, name: str, asked: Recess, rim_mm: float) -> Operation:
        choice = drawer.recess_cutter(self.shop.cabinet, asked)
        if self.for_program and not choice.in_drawer:
            milled = round_of_recess(asked, rim_mm, self.shop, self.part.units)
            if milled is not None:
                return make.milling(name, milled, Reach(asked.depth_mm, asked.depth_mm))
        return make.recess(name, choice, asked)

    def _finishing(self, hole: Hole, make: _Maker, clear_mm: float) -> Iterator[Operation]:
        drills, finish = self.tools_for(hole)
        if finish is None:
            return
        reach = finishing_reach(hole, finish.tool, drills[-1].tool, self.opening_of(hole))
        milled, before_mm = self.rounds.get(hole.name), drills[-1].tool.diameter_mm
        if milled is not None:
            yield make.milling("drill" if milled.is_left else "bore", milled, reach)
            before_mm = milled.helix.to_mm
        if not isinstance(finish.tool, BoringHead):
            if milled is None:
                yield make.finishing(finish, reach, clear_mm)
            return
        whole = make.finishing(finish, reach, clear_mm)
        for one in passes_of(before_mm, hole.diameter_mm, self.material):
            yield replace(whole, boring=one)


def _cone_depth_mm(choice: Choice, cone_mm: float) -> float:
    tool = choice.tool
    assert isinstance(tool, PointedTool)  # nothing else cuts a cone
    return cutting.cone_depth_mm(cone_mm, tool.angle_deg, tool.tip_flat_mm)


@frozen
class _Maker:
    """Puts speed and place to the operations of one hole."""

    hole: Hole
    x_mm: float
    y_mm: float
    shop: Shop
    material: Material
    layers: tuple[Layer, ...] = ()

    def _make(
        self,
        name: str,
        choice: Choice,
        reach: Reach,
        speed: tuple[float, float],
        cone_mm: float | None = None,
    ) -> Operation:
        tool, z_mm, place = choice.tool, -reach.tip_mm, (self.x_mm, self.y_mm)
        in_drawer, by_hand = choice.in_drawer, isinstance(tool, Reamer) and tool.is_hand
        made = Operation(
            self.hole, name, tool, in_drawer, *place, z_mm, reach.full_mm, *speed, cone_mm
        )
        return replace(made, by_hand=True) if by_hand else made

    def spot(self, choice: Choice, cone_mm: float) -> Operation:
        depth = _cone_depth_mm(choice, cone_mm)
        speed = cutting.spotting_speed(cone_mm, self.material, self.shop.mill)
        return self._make("spot drill", choice, Reach(0.0, depth), speed, cone_mm)

    def drilling(
        self, name: str, choice: Choice, reach: Reach, *, opens_out: bool = False
    ) -> Operation:
        """opens_out : a smaller hole is there already, into which some materials draw a drill"""
        diameter = choice.tool.diameter_mm
        speed = cutting.drilling_speed(diameter, reach.full_mm, self.material, self.shop.mill)
        made, pecks = self._make(name, choice, reach, speed), self._pecks(diameter, reach)
        return replace(made, pecks_mm=pecks, dulled_lips=opens_out and self.material.snatches)

    def _pecks(self, diameter_mm: float, reach: Reach) -> tuple[float, ...]:
        """Z of the tip after each peck: depths count from the face to the tip."""
        given, first = self.hole.peck_mm, self.material.first_peck_diameters

        def depths_of(deep_mm: float) -> tuple[float, ...]:
            if given is not None:
                return _pecks_given(given, deep_mm)
            return cutting.peck_depths_mm(deep_mm, diameter_mm, first)

        if len(self.layers) > 1 and given != ():
            beyond_mm = reach.tip_mm - reach.full_mm + cutting.breakthrough_mm(diameter_mm)
            depths = pecks_anew(self.layers, reach.tip_mm, beyond_mm, depths_of)
        else:
            depths = depths_of(reach.tip_mm)
        return tuple(-depth for depth in depths)

    def recess(self, name: str, choice: Choice, asked: Recess) -> Operation:
        speed = cutting.recessing_speed(asked.diameter_mm, self.material, self.shop.mill)
        return self._make(name, choice, Reach(asked.depth_mm, asked.depth_mm), speed)

    def milling(self, name: str, milled: Round, reach: Reach) -> Operation:
        tool, mill = milled.mill, self.shop.mill
        speed = cutting.milling_speed(tool.diameter_mm, tool.teeth, self.material, mill)
        made = self._make(name, Choice(tool, True), reach, speed)
        return replace(made, helix=milled.helix)

    def chamfering(self, cone: Cone) -> Operation:
        helix, reach = cone.helix, Reach(0.0, cone.deep_mm)
        speed = cutting.recessing_speed(helix.wide_mm, self.material, self.shop.mill)
        made = self._make("countersink", Choice(cone.tool, True), reach, speed, helix.to_mm)
        return replace(made, helix=helix)

    def countersink(self, choice: Choice, asked: Countersink) -> Operation:
        depth = _cone_depth_mm(choice, asked.diameter_mm)
        speed = cutting.recessing_speed(asked.diameter_mm, self.material, self.shop.mill)
        return self._make("countersink", choice, Reach(0.0, depth), speed, asked.diameter_mm)

    def finishing(self, choice: Choice, reach: Reach, clear_mm: float) -> Operation:
        """Turns of a tap count from where the hole is no wider than its thread."""
        hole, making = self.hole, making_of(self.hole)
        speed = making.speed(choice.tool.diameter_mm, hole, self.material, self.shop)
        made = self._make(making.operation, choice, reach, speed)
        if hole.thread is None:
            return made
        turns = (reach.tip_mm - clear_mm) / hole.thread.pitch_mm
        return replace(made, by_hand=True, turns=turns)


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
