"""What the making of a hole may leave, a row a kind: the figures of the making, typed once more.

The witness looks here and never where the making looks. Imports the part and the tables.
"""

from __future__ import annotations

from collections.abc import Callable

from millprep.base.records import frozen
from millprep.model.part import Hole
from millprep.reference.shared_rules import before_reamer, before_tap

DIAMETER_TOLERANCE_MM = 0.003  # tool lines give three decimals; listed drills lie farther apart
SPOT_OVER_SIZE_MM = 0.3  # 0.2 to 0.4 over the hole breaks its edge (common practice)
SPOT_SHARE = 0.8  # of the hole, for a spot that is a start only (common practice)
LEAST_BREAKTHROUGH_MM = 1.0  # max(1.0, 0.1 d) (common practice)
BREAKTHROUGH_SHARE = 0.1
PAST_MIDDLE_MM = 0.5  # of a hole from both ends, from each, so that they meet (common practice)
LEAST_START_MM = 0.1  # of full diameter before a boring head, however shallow the bore

Before = tuple[float, float, str]


def _tapping(hole: Hole) -> Before:
    assert hole.thread is not None  # only its row leads here
    before = before_tap(hole.thread.major_mm, hole.thread.pitch_mm, hole.thread)
    what = f"tapping {hole.thread.designation}"
    if hole.drills_words:  # where the part file names the drill
        return before.least_mm, before.most_mm, what
    return before.usual_least_mm, before.usual_most_mm, what


def _reaming(hole: Hole) -> Before:
    before = before_reamer(hole.diameter_mm)
    return before.least_mm, before.most_mm, f"reaming {hole.diameter_mm:.3f} mm"


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
}


def leavings_of(hole: Hole) -> Leavings:
    """The row of the hole's kind."""
    return _LEAVINGS[hole.kind.word]


def beyond_mm(hole: Hole) -> float:
    """How far the full size of a reamer, tap or boring head goes beyond the far face."""
    row = leavings_of(hole)
    return row.beyond_mm + (row.beyond_pitches * hole.thread.pitch_mm if hole.thread else 0.0)
