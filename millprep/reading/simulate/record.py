"""What has been removed so far, hole by hole: every tool's end as it stood at its deepest.

A hole is a list of cuts about one upright axis. The surface left at a radius is the lowest of the
cuts that are wide enough; what a tool may enter freely follows from it:

        top ___      ___ top       S(r): surface left at radius r from the axis
              \\    /              h(r): the tool's own end, above its tip
               |  |  drill         free: tip at or above the highest S(r) - h(r), r up to R
                \\/

Places are kept in a grid of squares, so that ten thousand holes cost ten times a thousand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from millprep.base.records import frozen
from millprep.model.scene import Disc, Drilled, Scene, blanks_of
from millprep.reading.made import MadeHole, MadeOperation, made_hole
from millprep.reading.simulate.form import Form
from millprep.reading.simulate.milled import Milled

CELL_MM = 4.0
SAME_AXIS_MM = 0.05  # holes nearer than this are one hole, whatever their size
SAME_AXIS_SHARE = 0.3  # and so are those nearer than this share of the smaller radius
REACH_MM = 0.3
LARGE_MM = 60.0  # wider holes are few, and would fill the grid
_HAIR = 1e-9
_JUST_INSIDE_MM = 1e-3


@frozen
class Cut:
    """A tool's end at its deepest: `flat_mm`, `slope` as in `Form`; room up to `upper_mm`.

    is_across : a piece of a hole that lies across the axis
    """

    radius_mm: float
    tip_mm: float
    flat_mm: float
    slope: float
    upper_mm: float = math.inf
    is_spot: bool = False
    is_across: bool = False

    def surface(self, radius_mm: float) -> float:
        return self.tip_mm + max(0.0, radius_mm - self.flat_mm) * self.slope

    def radius_at(self, z_mm: float) -> float:
        """How wide the room is at that height."""
        if not self.tip_mm - _HAIR <= z_mm <= self.upper_mm + _HAIR:
            return 0.0
        if self.slope == 0:
            return self.radius_mm
        return min(self.radius_mm, self.flat_mm + (z_mm - self.tip_mm) / self.slope)


@dataclass(slots=True)
class Place:
    """One axis with all that was done on it."""

    x_mm: float
    y_mm: float
    cuts: list[Cut] = field(default_factory=list)
    operations: list[MadeOperation] = field(default_factory=list)
    radius_mm: float = 0.0

    @property
    def is_from_below(self) -> bool:
        """Whether it is the end of a blind hole made from the other side."""
        return not self.operations and all(cut.upper_mm < math.inf for cut in self.cuts)


@dataclass(slots=True)
class Record:
    """All places, in the order in which they were first touched.

    across : holes of earlier setups that lie along X or Y
    milled : what sideways cuts have removed, once there were any
    milled_places : where an end mill went down or round
    """

    places: list[Place] = field(default_factory=list)
    grid: dict[tuple[int, int], list[Place]] = field(default_factory=dict)
    large: list[Place] = field(default_factory=list)
    across: list[Drilled] = field(default_factory=list)
    milled: Milled | None = None
    milled_places: list[Place] = field(default_factory=list)

    def near(self, x_mm: float, y_mm: float) -> list[Place]:
        """The places whose holes may reach this one."""
        cell = (math.floor(x_mm / CELL_MM), math.floor(y_mm / CELL_MM))
        return self.grid.get(cell, []) + self.large

    def same_hole(self, x_mm: float, y_mm: float, radius_mm: float) -> Place | None:
        """The place whose hole a tool of that radius works on, or None."""
        best, least = None, math.inf
        for place in self.near(x_mm, y_mm):
            distance = math.hypot(place.x_mm - x_mm, place.y_mm - y_mm)
            share = 0.0 if place.is_from_below else SAME_AXIS_SHARE
            if (
                distance <= max(SAME_AXIS_MM, share * min(place.radius_mm, radius_mm))
                and distance < least
            ):
                best, least = place, distance
        return best

    def room(self, x_mm: float, y_mm: float) -> list[Cut]:
        """The cuts that surround an axis, each as wide as it is about that axis."""
        found = []
        for place in self.near(x_mm, y_mm):
            distance = math.hypot(place.x_mm - x_mm, place.y_mm - y_mm)
            for cut in place.cuts:
                if distance <= SAME_AXIS_MM:
                    found.append(cut)
                elif cut.radius_mm > distance:
                    found.append(
                        Cut(
                            cut.radius_mm - distance,
                            cut.surface(distance) if cut.slope else cut.tip_mm,
                            max(0.0, cut.flat_mm - distance) if cut.slope else cut.flat_mm,
                            cut.slope,
                            cut.upper_mm,
                            cut.is_spot,
                        )
                    )
        return found

    def crossing(self, x_mm: float, y_mm: float, radius_mm: float) -> list[Cut]:
        """Where a tool on that axis has room in holes that lie across it."""
        found = []
        for room in self.across:
            axis = 0 if abs(room.start_mm[0] - room.end_mm[0]) > SAME_AXIS_MM else 1
            along, aside = ((x_mm, y_mm), (y_mm, x_mm))[axis]
            ends = sorted((room.start_mm[axis], room.end_mm[axis]))
            # the narrowest of the tool's outline that the hole has to hold
            beside = abs(aside - room.start_mm[1 - axis]) + radius_mm
            half = room.diameter_mm / 2
            if beside >= half or not ends[0] <= along - radius_mm <= along + radius_mm <= ends[1]:
                continue
            height = math.sqrt(half**2 - beside**2)
            middle = room.start_mm[2]
            found.append(
                Cut(radius_mm, middle - height, radius_mm, 0.0, middle + height, is_across=True)
            )
        return found

    def add_cut(self, place: Place, cut: Cut) -> None:
        covered = [old for old in place.cuts if not _covers(cut, old)]
        covered.append(cut)
        place.cuts = covered
        if cut.radius_mm > place.radius_mm:
            was_large = place.radius_mm > LARGE_MM
            old = set(self._cells(place))
            place.radius_mm = cut.radius_mm
            if place.radius_mm > LARGE_MM:
                self.large += [] if was_large else [place]
                return
            for cell in self._cells(place):
                if cell not in old:
                    self.grid.setdefault(cell, []).append(place)

    def new_place(self, x_mm: float, y_mm: float) -> Place:
        place = Place(x_mm, y_mm)
        self.places.append(place)
        for cell in self._cells(place):
            self.grid.setdefault(cell, []).append(place)
        return place

    def _cells(self, place: Place) -> Iterator[tuple[int, int]]:
        if place.radius_mm > LARGE_MM:
            return
        reach = place.radius_mm + REACH_MM
        for column in _squares(place.x_mm, reach):
            for row in _squares(place.y_mm, reach):
                yield column, row

    def holes(self) -> tuple[MadeHole, ...]:
        return tuple(
            made_hole(place.x_mm, place.y_mm, tuple(place.operations))
            for place in self.places
            if place.operations
        )


def _squares(middle_mm: float, reach_mm: float) -> range:
    low, high = middle_mm - reach_mm, middle_mm + reach_mm
    return range(math.floor(low / CELL_MM), math.floor(high / CELL_MM) + 1)


def _covers(new: Cut, old: Cut) -> bool:
    """Whether nothing is left of the old cut beside the new one."""
    return (
        new.radius_mm >= old.radius_mm
        and new.upper_mm >= old.upper_mm
        and new.surface(old.radius_mm) <= old.surface(old.radius_mm)
        and new.surface(old.flat_mm) <= old.surface(old.flat_mm)
        and new.is_spot == old.is_spot
    )


def fresh_record(scene: Scene | None) -> Record:
    """The record at the start: a disc's bore and what earlier setups drilled."""
    record = Record()
    if scene is None:
        return record
    top_mm, rooms = scene.stock.high_mm[2], list(scene.drilled)
    for blank in blanks_of(scene.stock):
        if isinstance(blank, Disc) and blank.bore_mm and blank.axis == 2:
            x, y = ((blank.low_mm[i] + blank.high_mm[i]) / 2 for i in (0, 1))
            rooms.append(Drilled((x, y, blank.high_mm[2]), (x, y, blank.low_mm[2]), blank.bore_mm))
    for room in rooms:
        (x, y, z_one), (x_two, y_two, z_two) = room.start_mm, room.end_mm
        if math.hypot(x - x_two, y - y_two) > SAME_AXIS_MM:
            record.across.append(room)
            continue
        place = record.same_hole(x, y, room.diameter_mm / 2) or record.new_place(x, y)
        upper = max(z_one, z_two)
        upper = math.inf if upper >= top_mm - SAME_AXIS_MM else upper
        radius = room.diameter_mm / 2
        record.add_cut(place, Cut(radius, min(z_one, z_two), radius, 0.0, upper))
    return record


def surface_at(room: list[Cut], radius_mm: float, top_mm: float) -> float:
    """S(r): height of what is left at a radius from the axis, seen from above.

    Room that does not open upwards counts from when something has been cut down to it.
    """
    left = top_mm
    for cut in sorted(room, key=_upper, reverse=True):
        if cut.radius_mm >= radius_mm - _HAIR and cut.upper_mm >= left - _HAIR:
            left = min(left, cut.surface(radius_mm))
    return left


def _upper(cut: Cut) -> float:
    return cut.upper_mm


def free_tip(room: list[Cut], form: Form, top_mm: float) -> float:
    """How low the tool's tip may go before it touches anything.

    S(r) - h(r) is made of straight pieces: its highest stands at an end of one.
    """
    if not room:
        return top_mm
    radius = form.radius_mm
    radii = {0.0, radius, min(form.flat_mm, radius)}
    for number, cut in enumerate(room):
        edges = [cut.flat_mm, cut.radius_mm, cut.radius_mm + 1e-6]
        if cut.slope:
            edges.append(cut.flat_mm + (top_mm - cut.tip_mm) / cut.slope)
        edges += [_crossing(cut, other) for other in room[:number]]
        radii.update(min(edge, radius) for edge in edges)
    return max(
        surface_at(room, at, top_mm) - max(0.0, at - form.flat_mm) * form.slope for at in radii
    )


def widest_cut_mm(room: list[Cut], form: Form, tip_mm: float, top_mm: float) -> float:
    """Diameter of the widest ring that the tool's end cuts on its way down to a tip; 0 for none.

    It is the tool's own, or where its flank meets the top, a floor or the flank of an older cut.
    """
    radii = {form.radius_mm, form.cone_at(top_mm - tip_mm) / 2}
    own = Cut(form.radius_mm, tip_mm, form.flat_mm, form.slope)
    for cut in room:
        radii |= {form.cone_at(cut.tip_mm - tip_mm) / 2, _crossing(own, cut)}
    for radius in sorted(radii, reverse=True):
        inside = radius - _JUST_INSIDE_MM
        if surface_at(room, inside, top_mm) > own.surface(inside) + _HAIR:
            return 2 * min(radius, form.radius_mm)
    return 0.0


def _crossing(one: Cut, two: Cut) -> float:
    """Radius at which the flanks of two cuts meet; 0 where they are as steep."""
    steep = (one.slope - two.slope) or math.inf
    start_one = one.tip_mm - one.flat_mm * one.slope
    start_two = two.tip_mm - two.flat_mm * two.slope
    return (start_two - start_one) / steep


def width_at(room: list[Cut], z_mm: float) -> float:
    """Diameter of the room at a height, spots and countersinks not counted."""
    return 2 * max((cut.radius_at(z_mm) for cut in room if not cut.is_spot), default=0.0)
