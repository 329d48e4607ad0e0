"""How a hole of each kind is made, a row a kind: what drills it first, what finishes it, what room.

A bore is made by passes of a boring head, from the drilled hole to size:

    drilled |--- first ---|--- most ---|--- most ---| last | last | bore      (on the diameter)

The first cut takes what does not go evenly into the others, so that the head is set to round
figures; the last two are alike, so that the bar springs alike in both (common practice).

What the finished hole is stands in `model/kinds`. Nothing that reads or proves imports this: the
witness has figures of its own. Imports layers 0 to 3.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise

from millprep.base.records import frozen
from millprep.model.kinds import BORE, CLEAR, DRILL, REAM, SPOT, TAP, HoleKind
from millprep.model.part import Hole, Mouth
from millprep.model.shop import Cabinet, Shop
from millprep.model.tools import BoringHead
from millprep.planning import drawer
from millprep.planning.drawer import Choice
from millprep.reference.cutters import boring_cuts_mm
from millprep.reference.materials import Material
from millprep.reference.shared_rules import HoleBefore, before_reamer
from millprep.sums import cutting

Speed = tuple[float, float]
SPOT_OVER_SIZE_MM = 0.3  # edge left by the spot: 0.2 to 0.4 over the hole (common practice)
SPOT_START_SHARE = 0.8  # of the hole, where the spot is a start only (common practice)


def _as_drilled(cabinet: Cabinet, hole: Hole, material: Material | None = None) -> Choice:
    return drawer.drill_asked(cabinet, hole.diameter_mm, hole.words)


def _under_bore(cabinet: Cabinet, hole: Hole, material: Material | None) -> Choice:
    most_mm = hole.diameter_mm - 2 * making_of(hole).stock_mm
    return drawer.largest_drill_under(cabinet, most_mm) or drawer.drill_to_buy(cabinet, most_mm)


def _boring_head(cabinet: Cabinet, hole: Hole) -> Sequence[Choice]:
    owned = cabinet.boring_head
    if owned is None or not owned.reaches(hole.diameter_mm):
        return [Choice(BoringHead(hole.words, hole.diameter_mm), False)]
    head = BoringHead(hole.words, hole.diameter_mm, dial=owned.dial, stops=owned.stops)
    return [Choice(head, True)]


def _tapping(diameter_mm: float, hole: Hole, material: Material, shop: Shop) -> Speed:
    assert hole.thread is not None  # only its row leads here
    most_rpm, pitch_mm = shop.control.tap_speed_rpm, hole.thread.pitch_mm
    return cutting.tapping_speed(diameter_mm, pitch_mm, material, shop.mill, most_rpm)


def _reaming(diameter_mm: float, hole: Hole, material: Material, shop: Shop) -> Speed:
    return cutting.reaming_speed(diameter_mm, material, shop.mill)


def _boring(diameter_mm: float, hole: Hole, material: Material, shop: Shop) -> Speed:
    return cutting.recessing_speed(diameter_mm, material, shop.mill)


def _before_tap(cabinet: Cabinet, hole: Hole, material: Material | None) -> HoleBefore:
    return drawer.hole_before_tap(hole)


def _before_reamer(cabinet: Cabinet, hole: Hole, material: Material | None) -> HoleBefore:
    is_hand = drawer.is_reamed_by_hand(cabinet, hole)
    return before_reamer(hole.diameter_mm, material, is_hand)


@frozen
class Making:
    """How a kind of hole is made.

    operation : that gives the hole its size
    drill     : the drill before it, or the one that makes the hole
    before    : sizes that the drill may have where a tool that follows it asks for some
    finishers : the tools that may finish it, longest lead first; none where the drill does
    speed     : (rev/min, mm/min) of the finishing tool
    room_mm, room_pitches : how far the finishing tool's lead goes beyond a through hole
    is_room_below : a blind hole is drilled by as much deeper than the finishing tool's end
    stock_mm  : left on diameter and floor for a tool that cuts both; the spot is then a start
                only, and recesses are cut round the finished hole
    """

    operation: str
    drill: Callable[[Cabinet, Hole, Material | None], Choice] = _as_drilled
    before: Callable[[Cabinet, Hole, Material | None], HoleBefore] | None = None
    finishers: Callable[[Cabinet, Hole], Sequence[Choice]] = lambda cabinet, hole: ()
    speed: Callable[[float, Hole, Material, Shop], Speed] = _boring
    room_mm: float = 0.0
    room_pitches: float = 0.0
    is_room_below: bool = False
    stock_mm: float = 0.0


MAKING: dict[HoleKind, Making] = {
    DRILL: Making("drill"),
    CLEAR: Making("drill"),
    TAP: Making(
        "tap",
        drawer.tap_drill,
        _before_tap,
        drawer.taps,
        _tapping,
        room_pitches=1.0,
        is_room_below=True,  # below the lead in a blind hole (common practice)
    ),
    REAM: Making(
        "ream",
        drawer.ream_drill,
        _before_reamer,
        drawer.reamers,
        _reaming,
        room_mm=1.0,
        is_room_below=True,  # past the lead (common practice)
    ),
    BORE: Making(
        "bore",
        _under_bore,
        finishers=_boring_head,
        speed=_boring,
        room_mm=cutting.LEAST_BREAKTHROUGH_MM,
        stock_mm=0.5,  # least left for the boring head, on diameter (common practice)
    ),
    SPOT: Making("spot drill"),
}


def making_of(hole: Hole) -> Making:
    """The row of the hole's kind."""
    return MAKING[hole.kind]


def room_mm(hole: Hole) -> float:
    """How far the lead of the tool that finishes the hole goes beyond it."""
    making = making_of(hole)
    pitch_mm = hole.thread.pitch_mm if hole.thread is not None else 0.0
    return making.room_mm + making.room_pitches * pitch_mm


def spot_cone_mm(hole: Hole, mouth: Mouth) -> float:
    """Wanted at the face: a little over the hole, less where a recess or boring follows."""
    if making_of(hole).stock_mm or mouth != Mouth():
        return SPOT_START_SHARE * hole.diameter_mm
    return widest_spot_mm(hole)


def widest_spot_mm(hole: Hole) -> float:
    """A little over the finished hole, or its thread: its chamfer takes it away."""
    return hole.diameter_mm + SPOT_OVER_SIZE_MM


_SAME_MM = 1e-6
_LEAST_SHARE = 0.3  # of a full cut: a thinner first one would rub in a hole that runs out


@frozen
class BoringPass:
    """One pass of several: its number, how many there are, the bore before and after it."""

    number: int
    count: int
    from_mm: float
    to_mm: float

    @property
    def is_last(self) -> bool:
        return self.number == self.count


def passes_of(drilled_mm: float, bore_mm: float, material: Material) -> list[BoringPass]:
    """The passes that open a drilled hole to a bore, in order."""
    most_mm, last_mm = boring_cuts_mm(material)
    last_mm = min(last_mm, (bore_mm - drilled_mm) / 2)
    rough_mm = bore_mm - 2 * last_mm - drilled_mm
    full = math.floor(rough_mm / most_mm + _SAME_MM)
    rest_mm = rough_mm - full * most_mm
    cuts = [rest_mm] if rest_mm > _SAME_MM else []
    cuts += [most_mm] * full
    if full and _SAME_MM < rest_mm < _LEAST_SHARE * most_mm:
        cuts[:2] = [(rest_mm + most_mm) / 2] * 2
    cuts += [last_mm, last_mm]
    bores = [bore_mm - sum(cuts[number:]) for number in range(len(cuts))] + [bore_mm]
    return [
        BoringPass(number, len(cuts), before, after)
        for number, (before, after) in enumerate(pairwise(bores), 1)
    ]


def dial_on_mm(head: BoringHead, one: BoringPass) -> float:
    """By how much the head's dial moves for a pass."""
    return (one.to_mm - one.from_mm) / (2 if head.dial == "radius" else 1)
