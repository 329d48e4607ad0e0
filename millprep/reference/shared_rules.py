"""Rules that `check`, the witness of the sheets and the dry run ask alike: one list, a figure once.

What `check` lets pass, no sheet and no program refuses for one of these. Each side works out its
own geometry; only the figures are common. Imports layer 0 and the tables beside it.
"""

from __future__ import annotations

from millprep.base.bounds import LEAST_PECK_MM as LEAST_PECK_MM
from millprep.base.records import frozen
from millprep.reference.materials import Material, ream_stock_mm
from millprep.reference.threads import Thread

TOUCH_MM = 1e-3  # nearer than this a tool lies against a thing and is not in it
SPINDLE_RADIUS_MM = 35.0  # of a light mill's nose, 60 to 80 mm across (common practice)
BELOW_UNDERSIDE_MM = 5.0  # room taken for granted under a part whose packing nobody described

# Pecks. A schedule is a rule of thumb: a quarter more than it allows is no fault.
PECK_SLACK = 1.25
PECK_SLACK_MM = 0.05
NEXT_PECK_DIAMETERS = 1.0
DEEP_PECK_DIAMETERS, DEEP_FROM_DIAMETERS = 0.5, 5.0
SMALL_PECK_DIAMETERS, SMALL_BELOW_MM = 0.5, 1.0
SOLID_SHARE = 0.3  # a pilot wider than this has taken the chisel edge's work already
MOST_PECKS = 200  # in one hole; the schedule's own stay under 50 (common practice)

# Before a reamer. Stock on diameter: the table of `ream_stock_mm`; over 1/32 in never (Applied
# Science for Metal-Workers, reaming); under 0.02 mm nothing is left to cut (common practice).
MOST_REAM_STOCK_MM = 25.4 / 32
LEAST_REAM_STOCK_MM = 0.02
REAM_STOCK_TIMES = 1.5  # of the table's most, from which on the reamer labours (common practice)

# Before a tap. The external thread is 1.2269 P deep on diameter (ISO 68-1): half of that is home
# practice, a third no thread worth the name, all of it the tap's own core, which breaks it (common
# practice). Forms that are deeper have their own core: 1.2807 P Whitworth, 1.2 P BA (BS 84, BS 93).
EXTERNAL_THREAD_PITCHES = 1.2269
DEEPEST_THREAD_PITCHES = 1.2807
HALF_THREAD_PITCHES = 0.5 * EXTERNAL_THREAD_PITCHES
SHALLOWEST_THREAD_PITCHES = 0.4
CORE_SLACK_MM = 0.02
FLOATING_START_PITCHES = 3.0  # above the face, so that the tap is in step (common practice)


@frozen
class HoleBefore:
    """Diameters [mm] of the hole that a reamer or tap may follow.

    least_mm, most_mm           : outside them it must not
    usual_least_mm, usual_most_mm : outside them it does, badly
    """

    least_mm: float
    usual_least_mm: float
    usual_most_mm: float
    most_mm: float


def before_reamer(size_mm: float, material: Material | None = None) -> HoleBefore:
    """The hole before a reamer of that size."""
    least = size_mm - MOST_REAM_STOCK_MM
    most = size_mm - LEAST_REAM_STOCK_MM
    usual = size_mm - REAM_STOCK_TIMES * ream_stock_mm(size_mm, material)[1]
    return HoleBefore(least, max(usual, least), most, most)


def before_tap(major_mm: float, pitch_mm: float, thread: Thread | None = None) -> HoleBefore:
    """The hole before a tap; where the form of its thread is not known, of any form."""
    most = major_mm - SHALLOWEST_THREAD_PITCHES * pitch_mm
    usual = major_mm - HALF_THREAD_PITCHES * pitch_mm
    core = major_mm - EXTERNAL_THREAD_PITCHES * pitch_mm
    if thread is None:
        least = usual_least = major_mm - DEEPEST_THREAD_PITCHES * pitch_mm
    else:
        usual_least = min(thread.basic_minor_mm, thread.tap_drill_mm)
        least = min(usual_least, core)
        usual, most = max(usual, thread.tap_drill_mm), max(most, thread.tap_drill_mm)
    return HoleBefore(least - CORE_SLACK_MM, usual_least - CORE_SLACK_MM, usual, most)
