"""Rules that `check`, the witness of the sheets and the dry run ask alike: one list, a figure once.

What `check` lets pass, no sheet and no program refuses for one of these. Each side works out its
own geometry; only the figures are common. Imports layer 0 and the tables beside it.
"""

from __future__ import annotations

from millprep.base.bounds import LEAST_PECK_MM as LEAST_PECK_MM
from millprep.base.records import frozen
from millprep.reference.drills import SAME_SIZE_MM, oversize_mm
from millprep.reference.materials import Material, ream_stock_mm
from millprep.reference.threads import Thread

TOUCH_MM = 1e-3  # nearer than this a tool lies against a thing and is not in it
SPINDLE_RADIUS_MM = 35.0  # of a light mill's nose, 60 to 80 mm across (common practice)
BELOW_UNDERSIDE_MM = 5.0  # room taken for granted under a part whose packing nobody described
CHUCK_RADIUS_MM = 25.0  # of a keyed drill chuck for 13 mm (common practice)

# A strap clamp on a small mill's table (common practice): the middle of what its toe presses on and
# the end of the strap, inside the edge of the work; the bolt outside it; the heel farther from the
# bolt than the toe is; the square of packing under it; nut and stud over the face that is up.
STRAP_WIDTH_MM = 25.0
TOE_FROM_EDGE_MM, STRAP_ON_WORK_MM = 6.0, 12.0
BOLT_FROM_EDGE_MM, MOST_BOLT_FROM_EDGE_MM = 10.0, 40.0
HEEL_TIMES, STRAP_END_MM = 1.5, 8.0
PACKING_UNDER_STRAP_MM = 25.0
STRAP_HIGH_MM = 30.0
MOST_BESIDE_MIDDLE_MM = 34.0  # of a strap beside the middle of a disc's rim
LINED_UP_MM = 0.02  # over the length of an edge, or in 100 mm of a longer one (common practice)

# Pecks. A schedule is a rule of thumb: a quarter more than it allows is no fault.
PECK_SLACK = 1.25
PECK_SLACK_MM = 0.05
NEXT_PECK_DIAMETERS = 1.0
DEEP_PECK_DIAMETERS, DEEP_FROM_DIAMETERS = 0.5, 5.0
SMALL_PECK_DIAMETERS, SMALL_BELOW_MM = 0.5, 1.0
SOLID_SHARE = 0.3  # a pilot wider than this has taken the chisel edge's work already
MOST_PECKS = 200  # in one hole; the schedule's own stay under 50 (common practice)

# Before a reamer. Reamer less drill: the table of `ream_stock_mm`; over 1/32 in never (Applied
# Science for Metal-Workers, reaming); under 0.02 mm nothing is left to cut (common practice). A
# drill cuts over its size: what is left after that is a floor (common practice).
MOST_REAM_STOCK_MM = 25.4 / 32
LEAST_REAM_STOCK_MM = 0.02
REAM_STOCK_TIMES = 1.5  # of the table's most, from which on the reamer labours (common practice)
LEAST_LEFT_MM, SMALL_LEAST_LEFT_MM, SMALL_REAMER_MM = 0.05, 0.02, 5.0

# Before a tap. The external thread is 1.2269 P deep on diameter (ISO 68-1): 50 to 85 % of that is
# home practice, from 60 % where few threads hold; a third is no thread worth the name, all of it
# the tap's own core, which breaks it (common practice). A table's own drill may leave more.
# Forms that are deeper have their own core: 1.2807 P Whitworth, 1.2 P BA (BS 84, BS 93).
EXTERNAL_THREAD_PITCHES = 1.2269
DEEPEST_THREAD_PITCHES = 1.2807
THREAD_SHARES = (0.5, 0.85)
SHORT_THREAD_SHARE, SHORT_THREAD_DIAMETERS = 0.6, 1.0
SHALLOWEST_THREAD_PITCHES = 0.4
CORE_SLACK_MM = 0.02
FLOATING_START_PITCHES = 3.0  # above the face, so that the tap is in step (common practice)


@frozen
class HoleBefore:
    """Diameters [mm] of the hole that a reamer or tap may follow.

    least_mm, most_mm           : outside them it must not
    usual_least_mm, usual_most_mm : outside them it does, badly (a reamer's most is what leaves it
                                  something after the drill's usual oversize)
    """

    least_mm: float
    usual_least_mm: float
    usual_most_mm: float
    most_mm: float

    def is_usual(self, drill_mm: float) -> bool:
        """Whether a drill of that diameter will do, nothing said."""
        slack_mm = SAME_SIZE_MM
        return self.usual_least_mm - slack_mm <= drill_mm <= self.usual_most_mm + slack_mm


def before_reamer(
    size_mm: float, material: Material | None = None, is_hand: bool = False
) -> HoleBefore:
    """The hole before a reamer of that size."""
    least = size_mm - MOST_REAM_STOCK_MM
    most = size_mm - LEAST_REAM_STOCK_MM
    usual = size_mm - REAM_STOCK_TIMES * ream_stock_mm(size_mm, material, is_hand)[1]
    left = SMALL_LEAST_LEFT_MM if size_mm <= SMALL_REAMER_MM + TOUCH_MM else LEAST_LEFT_MM
    widest = size_mm - left
    for _ in range(3):  # the oversize hardly changes with the size
        widest = size_mm - left - oversize_mm(widest)
    return HoleBefore(least, max(usual, least + TOUCH_MM), widest, most)


def before_tap(
    major_mm: float, pitch_mm: float, thread: Thread | None = None, is_strict: bool = False
) -> HoleBefore:
    """The hole before a tap; where the form of its thread is not known, of any form.

    is_strict : less of the thread holds than its diameter, or the drawing asks for a class
    """
    depth_mm, (low, high) = EXTERNAL_THREAD_PITCHES * pitch_mm, THREAD_SHARES
    most = major_mm - SHALLOWEST_THREAD_PITCHES * pitch_mm
    usual = major_mm - (SHORT_THREAD_SHARE if is_strict else low) * depth_mm
    if thread is None:
        least = usual_least = major_mm - DEEPEST_THREAD_PITCHES * pitch_mm - CORE_SLACK_MM
    else:
        usual_least = min(major_mm - high * depth_mm, thread.tap_drill_mm)
        least = min(usual_least, major_mm - depth_mm)
        usual, most = max(usual, thread.tap_drill_mm), max(most, thread.tap_drill_mm)
    return HoleBefore(least, usual_least, usual, most)
