"""An end mill that goes round in a hole, move by move, by figures of this side's own.

What a program of ours mills is asked here for how it is milled: never straight down into the work,
no steeper and no deeper a turn than the mill bears, the way round that backlash allows, a last turn
to size that is run in and out on an arc, and up in the middle. What hole comes of it is asked by
`compare`. Imports the part, the shop and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from millprep.base.findings import Finding
from millprep.base.records import frozen
from millprep.model.part import Hole, Part
from millprep.model.shop import Control, Shop
from millprep.model.tools import EndMill, PointedTool
from millprep.reading.made import MadeHole, MadeOperation
from millprep.reading.moves import ARC_CCW, ARC_CW, DWELL, FEED, RAPID, Floats, Moves, ProgramRun
from millprep.reference.materials import drill_feed_mm_per_rev, material_named
from millprep.witness import Lay, matched, wanted_of

# Common practice on a light mill, high speed steel.
MILL_SHARES = (0.5, 0.9)  # of the hole
RAMP_DEG, RAMP_OFF_CENTRE_DEG = 3.0, 1.0
DEAD_SHARE = 0.3  # of a mill that does not cut on centre, across
MOST_TURN_SHARE, MOST_TURN_MM = 0.1, 1.5
MOST_LAST_MM, MOST_CHAMFER_MM = 0.25, 1.0  # off the radius
TOOTH_SHARES = (0.1, 0.3)  # of a drill's feed a turn, least and most for each tooth
CONE_SHARES = (0.1, 1.0)  # of a countersink, of all its teeth together
LEFT_MM = (0.3, 0.5)  # for the boring head
FINE_MM, PLAY_SHARE, LEAST_PLAY_MM, MOST_PLAY_MM = 0.1, 0.25, 0.02, 0.1

_HERE_MM = 0.02  # centres this near are the hole's
_DIGIT_MM = 0.03  # what a coarse last digit may put a place off
_LEVEL_MM = 1e-6
_REMEDY = "the program does not keep to what an end mill bears; please report it"

Fault = tuple[str, int]
"""Words, and the row of the move."""


def helical_faults(
    shop: Shop, part: Part, lay: Lay, runs: Mapping[str, ProgramRun], holes: Sequence[MadeHole]
) -> Iterator[Finding]:
    """What is wrong with how the holes of a setup's programs are milled.

    runs  : file -> program, its part lying square, in the order in which they were run
    holes : that they made, with all their operations
    """
    wanted, places = wanted_of(part, lay)
    pairs, _, _ = matched(places, holes)
    for index, made in pairs:
        hole = wanted[index].hole
        for file, number in dict.fromkeys(_round(made)):
            run = runs.get(file)
            if run is None:
                continue
            one = _Milled(shop, part, hole, made, run, number)
            for words, row in one.faults():
                said, line, name = f"{hole.name}: {words}", int(run.moves.line[row]), hole.name
                yield Finding("stop", "milled-amiss", said, _REMEDY, file, line, holes=(name,))


def _round(made: MadeHole) -> Iterator[tuple[str, int]]:
    for one in made.operations:
        if one.milling == "circle" and one.tool_number is not None:
            yield one.file or "", one.tool_number


def pulls_through(control: Control) -> bool:
    """Whether a cutter could pull the table through backlash that nothing takes up, or that nobody
    has measured."""
    play = max(control.backlash_mm[:2])
    return not (control.backlash_compensated or 0 < play < LEAST_PLAY_MM)


@frozen
class _Milled:
    """The moves of one end mill at one hole."""

    shop: Shop
    part: Part
    hole: Hole
    made: MadeHole
    run: ProgramRun
    number: int

    def faults(self) -> Iterator[Fault]:
        moves, mill = self.run.moves, self.run.tools.get(self.number)
        if mill is None or mill.diameter_mm is None:
            return
        x, y = moves.end[:2] + moves.shift[:2]
        reach = max(one.diameter_mm or 0.0 for one in self.made.operations) / 2
        near = np.hypot(x - self.made.x_mm, y - self.made.y_mm) <= reach
        rows = np.flatnonzero(near & (moves.tool == self.number) & (moves.kind != DWELL))
        own, wide_mm = _owned(self.shop, mill.diameter_mm), mill.diameter_mm
        if isinstance(mill, PointedTool):  # as wide as it is at the face
            deep_mm = max(-one.tip_mm for one in self._circles())
            wide_mm = mill.tip_flat_mm + 2 * deep_mm * math.tan(math.radians(mill.angle_deg / 2))
        is_cone, opened = isinstance(mill, PointedTool), _before(self.made, self.number)
        walk = _Walk(self, moves, wide_mm, own, opened, is_cone)
        yield from walk.faults(rows.tolist())
        if is_cone:
            return
        yield from self._limits(int(rows[-1]))

    def _limits(self, last: int) -> Iterator[Fault]:
        """A hole closer than the backlash lets it be is left for the boring head."""
        sizes = [(o.diameter_mm or 0.0) for o in self._circles()]
        fine, control = _is_fine(self.hole), self.shop.control
        play = max(control.backlash_mm[:2])
        loose = 0.0 if control.backlash_compensated or play < LEAST_PLAY_MM else play
        kept = fine is not None and 0 < play < PLAY_SHARE * fine
        is_rough = (loose > MOST_PLAY_MM) if fine is None else not kept
        size_mm = self.hole.diameter_mm
        at_size = [one for one in sizes if abs(one - size_mm) < LEFT_MM[0] - _DIGIT_MM]
        is_finish = self.hole.thread is None and not self.hole.kind.is_reamed
        if is_rough and at_size and is_finish:
            yield "milled to its size, which the backlash does not let it keep", last
        is_bored = any(one.tool_kind == "boring head" for one in self.made.operations)
        left = [size_mm - one for one in sizes if one < size_mm]
        if is_bored and left and not LEFT_MM[0] <= min(left) <= LEFT_MM[1]:
            yield f"left {min(left):.3f} mm under for the boring head", last

    def _circles(self) -> list[MadeOperation]:
        own = [one for one in self.made.operations if one.tool_number == self.number]
        return [one for one in own if one.milling == "circle"]


def _is_fine(hole: Hole) -> float | None:
    """The closest limits, least to most, of a hole with a fit or under +/- 0.05 mm."""
    zones = [2 * hole.tolerance_mm] if hole.tolerance_mm is not None else []
    zones += [hole.position_mm] if hole.position_mm is not None else []
    if hole.limits_um is not None:
        zones.append((hole.limits_um[1] - hole.limits_um[0]) / 1000)
    least = min(zones, default=math.inf)
    if hole.fit is None and least >= FINE_MM:
        return None
    return least if zones else 0.0


def _owned(shop: Shop, diameter_mm: float) -> list[EndMill]:
    """The end mills of that diameter, for their name tells no more; of one that the drawer has not,
    the least."""
    alike = [o for o in shop.cabinet.end_mills if abs(o.diameter_mm - diameter_mm) < 0.002]
    return alike or [EndMill("", diameter_mm)]


def _before(made: MadeHole, number: int) -> list[tuple[float, float]]:
    """(radius, height of the full size) of what other tools have opened before."""
    opened = []
    for one in made.operations:
        if one.tool_number == number:
            if one.milling == "circle":
                break
        elif one.full_mm is not None and one.diameter_mm is not None and one.cone_mm is None:
            opened.append((one.diameter_mm / 2, one.full_mm))
    return opened


@frozen
class _Walk:
    """Move after move: what is open by then, and whether the next one may be.

    mill_mm : how wide the tool is where it cuts
    opened  : (radius, floor) of round rooms about the hole's axis
    is_cone : it is a countersink
    """

    of: _Milled
    moves: Moves
    mill_mm: float
    own: Sequence[EndMill]
    opened: list[tuple[float, float]]
    is_cone: bool

    def faults(self, rows: Sequence[int]) -> Iterator[Fault]:
        level = 0.0  # of a level turn, degrees so far
        for place, row in enumerate(rows):
            moves = self.moves
            kind = int(moves.kind[row])
            if kind in (RAPID, FEED):
                level = 0.0
                yield from self._straight(row)
                continue
            if kind == ARC_CCW and pulls_through(self.of.shop.control):
                yield "with the cut, where backlash is not taken up: the table is snatched", row
            if not self._is_about(row):
                level = 0.0
                continue
            yield from self._round(row)
            drop = float(moves.start[2, row] - moves.end[2, row])
            level = level + float(moves.sweep_deg[row]) if abs(drop) < _LEVEL_MM else 0.0
            if level >= 359.9:
                wide = self._radius(row) + self.mill_mm / 2
                before = self._free(self._z(row))
                if self.is_cone and wide - before > MOST_CHAMFER_MM + _DIGIT_MM:
                    yield f"{wide - before:.3f} mm off the radius in one turn", row
                yield from self._last(rows, place)
                self.opened.append((wide, self._z(row)))
                level = 0.0

    def _z(self, row: int) -> float:
        return float(self.moves.end[2, row] + self.moves.shift[2, row])

    def _xy(self, points: Floats, row: int) -> tuple[float, float]:
        at = points[:2, row] + self.moves.shift[:2, row]
        return float(at[0]) - self.of.made.x_mm, float(at[1]) - self.of.made.y_mm

    def _is_about(self, row: int) -> bool:
        return math.hypot(*self._xy(self.moves.centre, row)) <= _HERE_MM

    def _radius(self, row: int) -> float:
        return math.hypot(*self._xy(self.moves.end, row))

    def _free(self, z_mm: float) -> float:
        """Radius of the room about the axis that is open down to there."""
        return max((r for r, floor in self.opened if floor <= z_mm + _DIGIT_MM), default=0.0)

    def _straight(self, row: int) -> Iterator[Fault]:
        """Straight moves cut nothing: down, aside, or up."""
        z = min(self._z(row), float(self.moves.start[2, row] + self.moves.shift[2, row]))
        if z >= -_LEVEL_MM:
            return
        start, end = self._xy(self.moves.start, row), self._xy(self.moves.end, row)
        out = max(math.hypot(*start), math.hypot(*end)) + self.mill_mm / 2
        if out > self._free(z) + _DIGIT_MM:
            is_down = self.moves.end[2, row] < self.moves.start[2, row]
            what = "straight down into the work" if is_down else "straight into the work"
            yield f"the end mill goes {what}", row
        is_up = self.moves.end[2, row] > self.moves.start[2, row] and z < 0
        if is_up and math.hypot(*end) > _HERE_MM:
            yield "the end mill goes up beside the middle of the hole", row

    def _round(self, row: int) -> Iterator[Fault]:
        moves, radius = self.moves, self._radius(row)
        sweep = float(moves.sweep_deg[row])
        drop = float(moves.start[2, row] - moves.end[2, row])
        turn = drop * 360 / sweep
        dead, free = DEAD_SHARE * self.mill_mm / 2, self._free(self._z(row)) + _DIGIT_MM
        is_clear = any(one.is_centre_cutting for one in self.own) or free >= radius + dead
        steepest = RAMP_DEG if is_clear else RAMP_OFF_CENTRE_DEG
        if drop < -_LEVEL_MM:
            yield "the helix goes up", row
        slack = _DIGIT_MM * 360 / sweep if sweep < 359 else 0.01
        most = 2 * math.pi * radius * math.tan(math.radians(steepest))
        if turn > most + slack:
            angle = math.degrees(math.atan2(turn, 2 * math.pi * radius))
            yield f"the helix is {angle:.2f} deg steep; {steepest:g} is the most", row
        if turn > min(MOST_TURN_SHARE * self.mill_mm, MOST_TURN_MM) + slack:
            yield f"{turn:.3f} mm down a turn is too much for the mill", row
        if drop > _LEVEL_MM and not is_clear and radius < dead - _DIGIT_MM:
            yield "the mill does not cut on centre, and leaves a core standing", row
        yield from self._fed(row, radius)

    def _fed(self, row: int, radius: float) -> Iterator[Fault]:
        material = material_named(self.of.part.material)
        rpm, feed = float(self.moves.rpm[row]), float(self.moves.feed[row])
        if material is None or not math.isfinite(rpm) or radius <= 0:
            return
        edge = feed * (radius + self.mill_mm / 2) / radius
        drill = drill_feed_mm_per_rev(self.mill_mm) * material.feed_factor * rpm
        shares = CONE_SHARES if self.is_cone else TOOTH_SHARES
        teeth = [1] if self.is_cone else [one.teeth for one in self.own]
        least, most = shares[0] * drill * min(teeth), shares[1] * drill * max(teeth)
        cap = self.of.shop.mill.max_feed_mm_per_min
        if edge > most + 1 or (edge < least - 1 and edge < cap - 1 and feed > 1.01):
            yield f"its edge is fed {edge:.0f} mm/min; {least:.0f} to {most:.0f} are right", row

    def _last(self, rows: Sequence[int], place: int) -> Iterator[Fault]:
        """The turn that gives the hole its size: little to cut, in and out on an arc."""
        row, moves = rows[place], self.moves
        wide, before = self._radius(row) + self.mill_mm / 2, self._free(self._z(row))
        low, high = (0.0, 1.0) if self.is_cone else MILL_SHARES
        most_mm = MOST_CHAMFER_MM if self.is_cone else MOST_LAST_MM
        if not self._is_last(rows, place):
            return
        if not low - 1e-3 <= self.mill_mm / 2 / wide <= high + 1e-3:
            yield f"a mill of {self.mill_mm:g} mm for {2 * wide:.3f}", row
        if wide - before > most_mm + _DIGIT_MM:
            yield f"the last turn takes {wide - before:.3f} mm off the radius", row
        first = place
        while first > 0 and self._is_level_about(rows[first - 1]):
            first -= 1
        for other, point in ((first - 1, moves.end), (place + 1, moves.start)):
            if not 0 <= other < len(rows) or not self._touches(rows[other], point):
                yield "the last turn is not run in and out on an arc", row
                return

    def _is_last(self, rows: Sequence[int], place: int) -> bool:
        """Whether no wider turn follows at this hole."""
        wide = self._radius(rows[place])
        return not any(
            self.moves.kind[row] in (ARC_CW, ARC_CCW)
            and self._is_about(row)
            and self._radius(row) > wide + _DIGIT_MM
            for row in rows[place + 1 :]
        )

    def _is_level_about(self, row: int) -> bool:
        is_arc = self.moves.kind[row] in (ARC_CW, ARC_CCW)
        return bool(
            is_arc and self._is_about(row) and self.moves.start[2, row] == self.moves.end[2, row]
        )

    def _touches(self, row: int, points: Floats) -> bool:
        """Whether it is an arc that runs along the wall where it meets it: its centre lies between
        that place and the hole's."""
        if self.moves.kind[row] not in (ARC_CW, ARC_CCW) or self._is_about(row):
            return False
        at, centre = self._xy(points, row), self._xy(self.moves.centre, row)
        across = abs(at[0] * centre[1] - at[1] * centre[0]) / max(math.hypot(*at), 1e-9)
        return across <= _HERE_MM and math.hypot(*centre) < math.hypot(*at)
