"""Will it go together: the chance for each pattern of screws, and what the drawing's zones allow.

Layers 0 to 3. The simulation is in `chance`, the worst case in `position_tolerance`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from millprep.assembly.coinciding import Over
from millprep.assembly.frames import Floats, seen
from millprep.assembly.matching import SAME_PLACE_MM
from millprep.assembly.saying import Say
from millprep.assembly.screws import clear_mm
from millprep.base.bounds import MOST_SIMULATED
from millprep.base.findings import Finding
from millprep.base.records import frozen, replace
from millprep.model.assembled import Assembly, Member, PinJoint, Place, ScrewJoint
from millprep.model.carrying import CarriedBy
from millprep.model.part import Hole, Part
from millprep.model.shop import FROM_THE_OTHER_PART, PositionMethod, Shop
from millprep.sums.chance import (
    WANTED_SHARE,
    Chance,
    Cure,
    chance_of,
    cheapest_method,
    free_play_mm,
    next_clearance,
    spreads_mm,
    zone_of_square_mm,
)

_TIGHT = ("press", "slide")
_METHODS: dict[CarriedBy, PositionMethod] = {
    "spotted through": "spotted through",
    "jig": "spotted through",
    "transfer punch": "transfer punch",
    "transfer screw": "transfer punch",
}
"""How true a way of carrying holes over is; readings are as true as what is read."""


@frozen
class Likely:
    """How likely all screws of a joint enter two of its members.

    chance  : None for a single screw in free parts, which finds its place by itself; for patterns
              that miss each other or do not let the screw pass; for more than are simulated
    is_held : the members cannot shift: two pins or edges hold them, so `held_share` counts
    method, clearance : what would reach the share wanted, where it is not reached
    zone_mm, allowed_mm : what the drawing allows both holes together, and what the clearance does;
              None where the drawing gives no position
    """

    joint: ScrewJoint
    first: Place
    second: Place
    play_mm: float
    made_by: tuple[PositionMethod, PositionMethod]
    chance: Chance | None
    is_held: bool = False
    method: Cure | None = None
    clearance: Cure | None = None
    zone_mm: float | None = None
    allowed_mm: float | None = None

    @property
    def share(self) -> float:
        """From 0 to 1: of parts that are free, or held."""
        if self.chance is None:
            return 1.0
        return self.chance.held_share if self.is_held else self.chance.share

    @property
    def error(self) -> float:
        """Standard error of the share."""
        if self.chance is None:
            return 0.0
        return self.chance.held_error if self.is_held else self.chance.standard_error

    @property
    def is_likely(self) -> bool:
        return self.share >= WANTED_SHARE


def likely(
    assembly: Assembly, shop: Shop, over: Over, *, are_edges_held: bool = False
) -> Likely | None:
    """The chance of one link of a screw joint; None for what is no screw."""
    link, joint = over.link, over.link.joint
    if not isinstance(joint, ScrewJoint):
        return None
    first, second = assembly.member(link.first.member), assembly.member(link.second.member)
    clear = _clear_holes(joint, link.first, link.second)
    play = free_play_mm(joint.thread.major_mm, *(clear_mm(hole) for hole in clear))
    zone, allowed = _zones(joint, link.first, link.second, first.part, second.part)
    made = Likely(
        joint,
        link.first,
        link.second,
        play,
        (_made_by(joint, first, shop), _made_by(joint, second, shop)),
        None,
        are_edges_held or _pins(assembly, first.name, second.name) > 1,
        zone_mm=zone,
        allowed_mm=allowed,
    )
    places = seen(link.first.holes, link.first_face)
    misses = over.worst_mm > SAME_PLACE_MM  # then the chance of patterns that agree says nothing
    fewest = 1 if made.is_held else 2
    is_shut = any(clear_mm(hole) <= joint.thread.major_mm for hole in clear)
    if misses or is_shut or not fewest <= places.shape[1] <= MOST_SIMULATED:
        return made
    return _simulated(made, shop, places, clear)


def _made_by(joint: ScrewJoint, member: Member, shop: Shop) -> PositionMethod:
    """How the places of its holes are found; of those carried over, from the other part."""
    carried = joint.carried
    if carried is None or carried.source == member.name:
        return member.made_by
    method = _METHODS.get(carried.by, member.made_by)
    return method if method in shop.position_errors_mm else member.made_by


def _simulated(made: Likely, shop: Shop, places: Floats, clear: Sequence[Hole]) -> Likely:
    errors = shop.position_errors_mm
    plays = np.full(places.shape[1], made.play_mm)
    spreads = spreads_mm(errors, *made.made_by)
    chance = chance_of(places, plays, *spreads)
    made = replace(made, chance=chance)
    if made.is_likely or made.is_held:
        return made
    return replace(
        made,
        method=cheapest_method(places, plays, errors),
        clearance=next_clearance(
            places, made.joint.thread, clear_mm(clear[0]), len(clear), *spreads
        ),
    )


def _pins(assembly: Assembly, first: str, second: str) -> int:
    """How many pins hold two members to each other."""
    count = 0
    for joint in assembly.joints:
        if isinstance(joint, PinJoint):
            tight = {place.member: len(place.holes) for how, place in joint.held if how in _TIGHT}
            count += tight[first] if {first, second} <= set(tight) else 0
    return count


def _clear_holes(joint: ScrewJoint, first: Place, second: Place) -> list[Hole]:
    """The holes that the screw is loose in: both, or one where the other holds the thread."""
    return [place.holes[0] for place in (first, second) if place != joint.into]


def _zones(
    joint: ScrewJoint, first: Place, second: Place, one: Part, other: Part
) -> tuple[float | None, float | None]:
    """Zones of both holes together as drawn, and what the screw leaves [mm], diameters.

    Source: ASME Y14.5, floating fasteners T = H - F in each part, fixed ones T1 + T2 = H - F.
    """
    zones = [_zone(place.holes[0], part) for place, part in ((first, one), (second, other))]
    if zones[0] is None or zones[1] is None:
        return None, None
    major = joint.thread.major_mm
    holes = [clear_mm(place.holes[0]) for place in (first, second) if place != joint.into]
    return zones[0] + zones[1], 2 * free_play_mm(major, *holes)


def _zone(hole: Hole, part: Part) -> float | None:
    """Diameter of the zone that the drawing gives a hole."""
    if hole.position_mm is not None:
        return hole.position_mm
    each_way = hole.tolerance_mm if hole.tolerance_mm is not None else part.general_tolerance_mm
    return None if each_way is None else zone_of_square_mm(each_way)


def likely_findings(say: Say, row: Likely) -> Iterator[Finding]:
    """What is doubtful about a pattern of screws going in."""
    joint = row.joint
    if not row.is_likely and row.chance is not None:
        cures = [method_words(row.method.words) if row.method else ""]
        if row.clearance is not None and row.clearance.hole_mm is not None:
            cures.append(f"holes of {say.length(row.clearance.hole_mm)}, {row.clearance.words}")
        cures = [cure for cure in cures if cure]
        yield say.finding(
            "warning",
            "may-not-assemble",
            joint,
            f"all screws enter {row.first.member} and {row.second.member} in "
            f"{share_words(row)} of the cases, made by {' and '.join(dict.fromkeys(row.made_by))}",
            f"95 % with {', or '.join(cures)}"
            if cures
            else "spot one part through the other, held as it will be",
        )
    if row.chance is None and len(row.first.holes) > MOST_SIMULATED:
        yield say.finding(
            "note",
            "may-not-assemble",
            joint,
            f"the chance that all screws enter is not worked out for more than "
            f"{MOST_SIMULATED} of them",
        )
    if row.zone_mm is None or row.allowed_mm is None or row.is_likely:
        return
    if row.zone_mm > row.allowed_mm + 1e-9:
        yield say.finding(
            "warning",
            "zone-too-wide",
            joint,
            f"the drawings allow the holes of {row.first.member} and "
            f"{row.second.member} {say.length(row.zone_mm)} together (diameters of zones), the "
            f"screws {say.length(row.allowed_mm)}",
            f"{row.allowed_mm / row.zone_mm * 100:.0f} % of those tolerances are safe",
        )


def method_words(method: str) -> str:
    """One part follows the other by some methods; else both are made alike."""
    if method in FROM_THE_OTHER_PART:
        return f"one taken from the other by {method}"
    return f"both made by {method}"


def share_words(row: Likely) -> str:
    """ "97.3 % (+/- 0.2)" """
    return f"{row.share * 100:.1f} % (+/- {row.error * 100:.1f})"
