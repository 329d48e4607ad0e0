"""Holes that a program lets an end mill go round in: which, with which mill, in what turns.

    from above      _____        D the hole, d the mill: its axis goes round on D - d across
                  .'  _  '.
                 /  .' '.  \\     from the side   | \\     |   a helix: down by so much a turn,
                |  | mill|  |                    |   \\   |   one level turn on the floor,
                 \\  '._.'  /                     |     \\ |   then, with the last cut, one whole
                  '._____.'                      |_______|   turn to size

The mill goes down outside the work or where a helix leads it, never straight into it. It is half to
nine tenths of the hole: less leaves a core, more has no way for its chips. Imports layers 0 to 3
and planning's data.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from millprep.base.records import frozen
from millprep.base.units import Units
from millprep.model.kinds import BORE, CLEAR, DRILL
from millprep.model.part import Countersink, Hole, Recess
from millprep.model.shop import Cabinet, Control, Shop
from millprep.model.tools import Countersink as CountersinkCutter
from millprep.model.tools import EndMill
from millprep.planning import drawer
from millprep.planning.making import MAKING
from millprep.planning.plan import Helix
from millprep.sums.cutting import point_length_mm
from millprep.sums.reaming import NEAR_MM as SAME_SIZE_MM

# All of it common practice on a light mill, high speed steel.
LEAST_SHARE, MOST_SHARE, BEST_SHARE = 0.5, 0.9, 0.65  # of the hole
RAMP_DEG, RAMP_OFF_CENTRE_DEG = 3.0, 1.0  # down; of a mill that does not cut on centre
DEAD_SHARE = 0.3  # of such a mill's diameter, in the middle of its end, cuts nothing
MOST_WIDTH_SHARE = 0.5  # of the mill, that a pass beside a drilled hole takes off the radius
MOST_TURN_SHARE, MOST_TURN_MM = 0.1, 1.5  # depth a turn, of the mill
MOST_TURNS = 250
LAST_MM = 0.2  # that the last turn takes off the radius
LEAST_DRILLED_SHARE = 0.5  # of a blind hole's depth: less of a drilled hole helps nobody
START_MM = 1.0  # above the face, where the helix begins

MOST_CHAMFER_MM = 1.0  # off the radius in one turn of a countersink
CLEAR_OF_NOSE_MM, OVER_FLOOR_MM = 0.1, 0.5
SAME_ANGLE_DEG = 0.5

STRICT_MM = 0.1  # limits closer than +/- 0.05 mm
PLAY_SHARE = 0.25  # of the tolerance, that backlash may take
MOST_PLAY_MM = 0.1  # backlash that a hole without limits may have in its shape
UNDER_MM = 0.4  # left for the boring head, 0.3 to 0.5
LEAST_ROUGH_MM = 2.0  # off the diameter before it; less the boring head takes by itself
SIZE_MM = 0.003  # to which the figures of a program have to tell a size


@frozen
class Round:
    """How a program makes a hole by going round: the mill, its turns, and what is there before.

    drilled_mm : 0 where the mill goes into the solid
    is_left    : it is left under its size for the boring head
    """

    mill: EndMill
    helix: Helix
    drilled_mm: float
    is_left: bool = False


@frozen
class Cone:
    """How a countersink goes round in a mouth, its tip so deep."""

    tool: CountersinkCutter
    helix: Helix
    deep_mm: float


def why_no_helix(control: Control) -> str | None:
    """What keeps this control from going round a hole; None where nothing does."""
    if control.axes == "xy":
        return "the quill is worked by hand"
    if arc_code(control) is not None:
        return None
    if is_taken_up(control):
        return "the control is listed without G2 or G3"
    return (
        "the control is listed without G2, and with its backlash an end mill goes round a hole "
        "against the cut only"
    )


def is_taken_up(control: Control) -> bool:
    """Whether the table cannot be pulled through its backlash: somebody has measured it, and the
    control takes it up or there is none to feel."""
    is_measured = any(control.backlash_mm[:2])
    return control.backlash_compensated or (is_measured and not any(control.loose_mm))


def arc_code(control: Control) -> str | None:
    """With the cut (G3, the spindle turning clockwise) only where no backlash is left: there the
    cutter pulls the table along with it. Else against it."""
    for code in ("G3", "G2") if is_taken_up(control) else ("G2",):
        if control.has(code):
            return code
    return None


def tolerance_mm(hole: Hole) -> float | None:
    """The closest of its limits, least to most: of size, or of place; None where none is given."""
    given = [
        *(() if hole.limits_um is None else [(hole.limits_um[1] - hole.limits_um[0]) / 1000]),
        *(() if hole.tolerance_mm is None else [2 * hole.tolerance_mm]),
        *(() if hole.position_mm is None else [hole.position_mm]),
    ]
    return min(given, default=None)


def is_too_fine(hole: Hole, control: Control) -> bool:
    """Whether arcs with the backlash that there is would not keep the hole's limits: they carry it
    at each quadrant, so that the hole is narrower by it and beside its place by half of it."""
    wanted, play = tolerance_mm(hole), max(control.backlash_mm[:2])
    if hole.fit is None and (wanted is None or wanted >= STRICT_MM):
        return max(control.loose_mm) > MOST_PLAY_MM
    return wanted is None or not 0 < play < PLAY_SHARE * wanted


def is_for_drill(hole: Hole, cabinet: Cabinet) -> bool:
    """Whether it would be drilled, and is too large for every drill of the drawer."""
    given = (hole.drills_words, hole.breakthrough_mm, hole.drill_depth_mm)
    if hole.kind not in (DRILL, CLEAR) or hole.opened or any(one is not None for one in given):
        return False  # the drawing, or the file, says how the drill goes
    largest = max((tool.diameter_mm for tool in cabinet.drills), default=0.0)
    return hole.diameter_mm > largest + SAME_SIZE_MM


def round_of(hole: Hole, shop: Shop, units: Units) -> Round | None:
    """How a program goes round in a hole; None where it is made otherwise.

    units : of the part, for a control that takes either
    """
    control, cabinet = shop.control, shop.cabinet
    is_bored = hole.kind is BORE
    if hole.from_both_ends or why_no_helix(control) is not None:
        return None
    if not is_bored and not is_for_drill(hole, cabinet):
        return None
    is_left = is_too_fine(hole, control)
    if is_left and not is_bored:
        return None
    to_mm = hole.diameter_mm - (UNDER_MM if is_left else 0.0)
    deep_mm = hole.depth_mm + (MAKING[BORE].room_mm if hole.is_through else 0.0)
    drilled_mm = _drilled_mm(hole, cabinet)
    if is_left and to_mm - drilled_mm < LEAST_ROUGH_MM:
        return None
    step_mm = control.step_mm(control.units or units)
    for mill in _fitting(cabinet, to_mm, deep_mm, step_mm):
        helix = helix_of(mill, to_mm, drilled_mm, deep_mm, is_open=hole.is_through)
        if helix is not None:
            return Round(mill, helix, drilled_mm, is_left)
    return None


def round_of_recess(recess: Recess, drilled_mm: float, shop: Shop, units: Units) -> Round | None:
    """How a program goes round in a counterbore or spotface that no cutter of the drawer fits.

    drilled_mm : of the hole that it is cut round, deeper than the recess
    """
    control = shop.control
    if why_no_helix(control) is not None or max(control.loose_mm) > MOST_PLAY_MM:
        return None
    size_mm, step_mm = recess.diameter_mm, control.step_mm(control.units or units)
    for mill in _fitting(shop.cabinet, size_mm, recess.depth_mm, step_mm):
        helix = helix_of(mill, size_mm, drilled_mm, recess.depth_mm, is_open=True)
        if helix is not None:
            return Round(mill, helix, drilled_mm)
    return None


def cone_of(
    asked: Countersink, rim_mm: float, room_mm: float, shop: Shop, units: Units
) -> Cone | None:
    """How a countersink of the drawer that is too small goes round in a mouth.

    At a height at which it stands free in the middle of the hole, and its flank, clear of the nose,
    reaches from the rim to the mouth's edge. rim_mm, room_mm : of the hole, how wide and how deep
    """
    control = shop.control
    if why_no_helix(control) is not None or max(control.loose_mm) > MOST_PLAY_MM:
        return None
    width_mm, step_mm = (asked.diameter_mm - rim_mm) / 2, control.step_mm(control.units or units)
    for tool in shop.cabinet.countersinks:
        flank_mm = width_mm + 2 * CLEAR_OF_NOSE_MM
        wide_mm = tool.tip_flat_mm + 2 * flank_mm
        radius_mm = (asked.diameter_mm - wide_mm) / 2
        off_mm = 2 * abs(radius_mm - round(radius_mm / step_mm) * step_mm)
        is_room = wide_mm <= min(tool.diameter_mm, rim_mm) - 2 * CLEAR_OF_NOSE_MM
        is_its = abs(tool.angle_deg - asked.angle_deg) < SAME_ANGLE_DEG and tool.is_nose_known
        if width_mm > 0 and is_its and is_room and off_mm <= SIZE_MM:
            count = math.ceil(width_mm / MOST_CHAMFER_MM - 1e-9)
            rings = tuple(rim_mm + 2 * width_mm * n / count for n in range(1, count))
            deep_mm = flank_mm / math.tan(math.radians(tool.angle_deg / 2))
            if deep_mm > room_mm - OVER_FLOOR_MM:
                continue
            return Cone(tool, Helix(wide_mm, rim_mm, rings, asked.diameter_mm), deep_mm)
    return None


def _drilled_mm(hole: Hole, cabinet: Cabinet) -> float:
    """The largest drill of the drawer that leaves something; 0 where it would hardly go in."""
    choice = drawer.largest_drill_under(cabinet, hole.diameter_mm - 2 * MAKING[BORE].stock_mm)
    if choice is None:
        return 0.0
    drill = choice.tool
    if hole.is_through or hole.drill_depth_mm is not None:
        return drill.diameter_mm
    angle = getattr(drill, "angle_deg", 180.0)
    full_mm = hole.depth_mm - MAKING[BORE].stock_mm - point_length_mm(drill.diameter_mm, angle)
    return drill.diameter_mm if full_mm >= LEAST_DRILLED_SHARE * hole.depth_mm else 0.0


def _fitting(cabinet: Cabinet, size_mm: float, deep_mm: float, step_mm: float) -> Iterator[EndMill]:
    """The end mills for a hole, the best first: long enough by what is said of their flutes, and
    the size told by the figures that the control takes."""
    for mill in sorted(
        cabinet.end_mills, key=lambda one: abs(one.diameter_mm / size_mm - BEST_SHARE)
    ):
        share, radius_mm = mill.diameter_mm / size_mm, (size_mm - mill.diameter_mm) / 2
        off_mm = 2 * abs(radius_mm - round(radius_mm / step_mm) * step_mm)
        is_long = mill.flute_mm is not None and mill.flute_mm >= deep_mm
        if LEAST_SHARE <= share <= MOST_SHARE and is_long and off_mm <= SIZE_MM:
            yield mill


def helix_of(
    mill: EndMill, to_mm: float, drilled_mm: float, deep_mm: float, *, is_open: bool
) -> Helix | None:
    """The turns of a mill; None where it does not suit.

    is_open : what is drilled goes deeper than the mill
    """
    size_mm = mill.diameter_mm
    last_mm = min(LAST_MM, (to_mm - size_mm) / 8, (to_mm - drilled_mm) / 4)
    rough_mm = to_mm - 2 * last_mm
    widest_mm = 2 * MOST_WIDTH_SHARE * size_mm
    most = math.ceil((rough_mm - drilled_mm) / widest_mm - 1e-9) if drilled_mm else 1
    for count in range(max(most, 1), 0, -1):
        step_mm = (rough_mm - drilled_mm) / count
        passes = tuple(drilled_mm + number * step_mm for number in range(1, count + 1))
        if drilled_mm == 0:
            passes = (rough_mm,)
        open_mm = drilled_mm if is_open else 0.0
        if _suits(mill, passes[0], open_mm):
            turns = tuple(
                _turn_mm(mill, each, deep_mm, is_clear=_is_clear(mill, each, before))
                for before, each in pairwise((open_mm, *passes))
            )
            if max((deep_mm + START_MM) / each for each in turns) > MOST_TURNS:
                return None
            return Helix(size_mm, drilled_mm, passes, to_mm, turns)
    return None


def _suits(mill: EndMill, pass_mm: float, open_mm: float) -> bool:
    """Whether teeth come to all that the first pass takes: a mill that does not cut on centre goes
    round wider than its dead middle, or has that in the open all the way round."""
    radius_mm = (pass_mm - mill.diameter_mm) / 2
    is_wide = radius_mm >= DEAD_SHARE * mill.diameter_mm / 2
    return radius_mm > 0 and (is_wide or _is_clear(mill, pass_mm, open_mm))


def _is_clear(mill: EndMill, pass_mm: float, open_mm: float) -> bool:
    """Whether the middle of the mill's end cuts, or meets nothing in the hole that is open."""
    dead_mm = DEAD_SHARE * mill.diameter_mm
    return mill.is_centre_cutting or pass_mm - mill.diameter_mm + dead_mm <= open_mm


def _turn_mm(mill: EndMill, pass_mm: float, deep_mm: float, *, is_clear: bool) -> float:
    """Depth a turn, so that whole turns come to the floor."""
    steep = math.tan(math.radians(RAMP_DEG if is_clear else RAMP_OFF_CENTRE_DEG))
    round_mm = math.pi * (pass_mm - mill.diameter_mm)
    most_mm = min(round_mm * steep, MOST_TURN_SHARE * mill.diameter_mm, MOST_TURN_MM)
    way_mm = deep_mm + START_MM
    return way_mm / math.ceil(way_mm / most_mm - 1e-9)
