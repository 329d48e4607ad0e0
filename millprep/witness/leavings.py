"""What the making of a hole may leave, a row a kind: the figures of the making, typed once more.

The witness looks here and never where the making looks. Imports the part and the tables.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.reference.drills import oversize_mm
from millprep.reference.materials import material_named
from millprep.reference.shared_rules import before_tap
from millprep.reference.threads import Thread

DIAMETER_TOLERANCE_MM = 0.003  # tool lines give three decimals; listed drills lie farther apart
SPOT_OVER_SIZE_MM = 0.3  # 0.2 to 0.4 over the hole breaks its edge (common practice)
SPOT_SHARE = 0.8  # of the hole, for a spot that is a start only (common practice)
LEAST_BREAKTHROUGH_MM = 1.0  # max(1.0, 0.1 d) (common practice)
BREAKTHROUGH_SHARE = 0.1
PAST_MIDDLE_MM = 0.5  # of a hole from both ends, from each, so that they meet (common practice)
PILOT_ABOVE_TIP_MM = 0.5  # in a blind hole, of the last drill's (common practice)
THIN_SHEET_SHARE = 0.5  # of a drill: no pilot in a thinner sheet (common practice)
MOST_PILOT_SHARE = 0.6  # of the drill that follows (common practice)
SHORT_OF_WALL_MM = 0.5  # of a bore that a thread opens into, its far wall (common practice)
BROKEN_EDGE_MM = 1.0  # an edge is broken by less than this (common practice)
MILLED_BEYOND_MM = 1.0  # an end mill that goes round, like a boring head (common practice)
MOST_LEFT_MM = 0.5  # of what it goes round in, for the boring head
LEAST_START_MM = 0.1  # of full diameter before a boring head, however shallow the bore

# Reamer less drill: a training note's least and most, up to a diameter, which light metals and
# plastics take half as much again of; half over that the reamer labours. Never over 1/32 in, and
# what the drill's usual oversize leaves is a floor. A hand reamer takes what is left in the hole as
# it is drilled (common practice).
_REAM_STOCK_MM = ((5.0, 0.1, 0.2), (20.0, 0.2, 0.3), (math.inf, 0.3, 0.5))
_HAND_STOCK_MM = (0.05, 0.1)
_REAM_SHARES = {"light metal": 1.5, "plastic": 1.5}
REAM_LABOURS_TIMES = 1.5
_REAM_NEVER_MM = 25.4 / 32
_REAM_NOTHING_MM = 0.02
_REAM_FLOOR_MM = ((5.0, 0.02), (math.inf, 0.05))
_SAME_STOCK_MM = 0.002  # to which diameters are told

# Before a tap, of the external thread's depth on diameter (ISO 68-1): home practice (common
# practice). A table's own drill will do, whatever it leaves.
_THREAD_PITCHES = 1.2269
_THREAD_SHARES = (0.5, 0.85)
_SHORT_THREAD_SHARE = 0.6  # where less of it than its diameter holds, or for a class

Before = tuple[float, float, str]


def _tapping(hole: Hole) -> Before:
    thread = hole.thread
    assert thread is not None  # only its row leads here
    before = before_tap(thread.major_mm, thread.pitch_mm, thread)
    return before.least_mm, before.most_mm, f"tapping {thread.designation}"


def _reaming(hole: Hole) -> Before:
    size = hole.diameter_mm
    return size - _REAM_NEVER_MM, size - _REAM_NOTHING_MM, f"reaming {size:.3f} mm"


def ream_stock_mm(hole: Hole, material: str, by_hand: bool) -> tuple[float, float]:
    """Least and most of reamer less drill."""
    if by_hand:
        least, most = (stock + oversize_mm(hole.diameter_mm) for stock in _HAND_STOCK_MM)
        return least, most
    of = material_named(material)
    share = 1.0 if of is None else _REAM_SHARES.get(of.group, 1.0)
    return next(
        (share * least, share * most)
        for upto, least, most in _REAM_STOCK_MM
        if hole.diameter_mm <= upto + _SAME_STOCK_MM
    )


def least_left_mm(hole: Hole) -> float:
    """What a reamer needs after the drill has cut over its size."""
    return next(left for upto, left in _REAM_FLOOR_MM if hole.diameter_mm <= upto + _SAME_STOCK_MM)


def is_well_left(hole: Hole, drill_mm: float, material: str, by_hand: bool | None) -> bool:
    """Whether a drill that nobody named leaves a reamer or tap what is good for it.

    by_hand : of a reamer; None where nothing tells
    """
    if hole.drills_words:
        return True
    if hole.thread is not None:
        return _is_well_threaded(hole, hole.thread, drill_mm)
    if not hole.kind.is_reamed:
        return True
    left, digit = hole.diameter_mm - drill_mm, 2 * _SAME_STOCK_MM
    mosts = [
        ream_stock_mm(hole, material, hand)[1] for hand in (True, False) if by_hand in (None, hand)
    ]
    is_enough = left - oversize_mm(drill_mm) >= least_left_mm(hole) - digit
    return is_enough and left <= max(mosts) * REAM_LABOURS_TIMES + digit


def _is_well_threaded(hole: Hole, thread: Thread, drill_mm: float) -> bool:
    share = (thread.major_mm - drill_mm) / (_THREAD_PITCHES * thread.pitch_mm)
    wide = (hole.mouth, hole.far)
    cut = [one.depth_mm for end in wide for one in (end.counterbore, end.spotface) if one]
    opened = max([0.0, *(one.depth_mm for one in hole.opened)])
    is_short = hole.depth_mm - max([opened, *cut]) < thread.major_mm - _SAME_STOCK_MM
    low, high = _THREAD_SHARES
    low = _SHORT_THREAD_SHARE if is_short or thread.is_classed else low
    digit = _SAME_STOCK_MM / thread.pitch_mm
    is_listed = abs(drill_mm - thread.tap_drill_mm) <= DIAMETER_TOLERANCE_MM
    return is_listed or low - digit <= share <= high + digit


def _boring(hole: Hole) -> Before:
    return 0.0, hole.diameter_mm - DIAMETER_TOLERANCE_MM, f"boring {hole.diameter_mm:.3f} mm"


@frozen
class Leavings:
    """What is to be found at a hole of one kind.

    finish : the operation that gives it its size
    before : (least, most, words) of the drill that the finish follows; None where it is the drill
    beyond_mm, beyond_pitches : how far past the far face the full size of the finish goes, and how
             much deeper than a blind finish's end its drill goes at the most
    stock_mm : left on diameter and floor, of which the drill's tip stays clear; None: the drill
             goes as deep as the finish's end
    """

    finish: str
    before: Callable[[Hole], Before] | None = None
    beyond_mm: float = 0.0
    beyond_pitches: float = 0.0
    stock_mm: float | None = None


_LEAVINGS = {
    "drill": Leavings("drill"),
    "clear": Leavings("drill"),
    "tap": Leavings("tap", _tapping, beyond_pitches=1.0),  # common practice
    "ream": Leavings("ream", _reaming, beyond_mm=1.0),  # common practice
    "bore": Leavings("bore", _boring, beyond_mm=1.0, stock_mm=0.5),  # common practice
    "spot": Leavings("spot drill"),
}


def leavings_of(hole: Hole) -> Leavings:
    """The row of the hole's kind."""
    return _LEAVINGS[hole.kind.word]


def beyond_mm(hole: Hole) -> float:
    """How far the full size of a reamer, tap or boring head goes beyond the far face."""
    row = leavings_of(hole)
    return row.beyond_mm + (row.beyond_pitches * hole.thread.pitch_mm if hole.thread else 0.0)
