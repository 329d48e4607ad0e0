"""How deep the tools of millprep's own programs go where the part leaves it open.

A program by another hand may break through by 3 mm where millprep's rule says 1; a finished sheet
of ours that does is a slip. Rules of the part-file reference, by figures of this side's own.
Imports the part and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from millprep.reading.made import MadeOperation
from millprep.witness import leavings
from millprep.witness.boring import faults_of_cuts
from millprep.witness.expected import Expected
from millprep.witness.judge import full_reach_mm

Difference = tuple[str, str, MadeOperation]


def rule_differences(
    expected: Expected, operations: Sequence[MadeOperation], tolerance_mm: float
) -> Iterator[Difference]:
    """(kind, words, operation) of each that goes deeper or less deep than its rule."""
    row = leavings.leavings_of(expected.hole)
    made = [one for one in operations if row.before and one.name == row.finish]
    finish = made[-1] if made else None
    if finish is not None and expected.hole.is_through:
        depth = expected.hole.depth_mm + leavings.beyond_mm(expected.hole)
        yield from _off(finish, full_reach_mm(finish), depth, depth, tolerance_mm)
    yield from _milled_differences(expected, operations, tolerance_mm)
    drills = _drills(expected, operations)
    for spot in operations if expected.is_spot else ():
        yield from _spot_difference(expected, spot, math.inf, tolerance_mm, is_milled=False)
    if finish is not None and finish.tool_kind == "boring head" and len(made) > 1:
        before = [*drills, *(one for one in operations if one.milling == "circle")]
        sizes_mm = [one.diameter_mm or 0.0 for one in before]
        drilled_mm = max((o for o in sizes_mm if o < (finish.diameter_mm or 0.0)), default=None)
        for words in faults_of_cuts([one.diameter_mm or 0.0 for one in made], drilled_mm):
            yield "wrong-diameter", words, finish
    if not expected.is_drilled or not drills:
        return
    last = max(drills, key=lambda drill: drill.known_mm)
    yield from _short_of_wall(expected, operations, tolerance_mm)
    is_milled = any(one.milling == "circle" for one in operations)
    by_hand = None if finish is None else finish.by_hand
    if not leavings.is_well_left(expected.hole, last.known_mm, expected.material, by_hand):
        words = f"drilled {last.known_mm:.3f} mm before the {expected.hole.kind}"
        yield "wrong-diameter", f"{words}: too much or too little is left for it", last
    for operation in operations:
        if operation.name == "spot drill":
            drill_mm = -(full_reach_mm(last) or 0.0)
            yield from _spot_difference(
                expected, operation, drill_mm, tolerance_mm, is_milled=is_milled
            )
    span = _drill_span(expected, last, finish)
    if span is not None:
        yield from _off(last, full_reach_mm(last), *span, tolerance_mm)
    pilots = [drill for drill in drills if drill is not last]
    for pilot in pilots:
        yield from _pilot_differences(expected, pilot, last, tolerance_mm)
    if len(pilots) > 1 and not expected.hole.drills_words:
        yield "operation-extra", "one pilot is the rule", pilots[-1]


def _milled_differences(
    expected: Expected, operations: Sequence[MadeOperation], tolerance_mm: float
) -> Iterator[Difference]:
    """An end mill that goes round in a through hole comes out as a boring head does."""
    hole = expected.hole
    for one in operations:
        is_its = abs((one.diameter_mm or 0.0) - hole.diameter_mm) < leavings.MOST_LEFT_MM
        if one.milling == "circle" and is_its and hole.is_through:
            depth = hole.depth_mm + leavings.MILLED_BEYOND_MM
            yield from _off(one, one.full_mm, depth, depth, tolerance_mm)


def _pilot_differences(
    expected: Expected, pilot: MadeOperation, last: MadeOperation, tolerance_mm: float
) -> Iterator[Difference]:
    """Just through, or half a millimetre above the drill; thin, and none in thin sheet."""
    hole = expected.hole
    if hole.is_through and not hole.from_both_ends:
        depth = hole.depth_mm
        yield from _off(pilot, full_reach_mm(pilot), depth, depth, tolerance_mm)
    else:
        tip = -last.tip_mm - leavings.PILOT_ABOVE_TIP_MM
        yield from _off(pilot, pilot.tip_mm, tip, tip, tolerance_mm)
    if hole.drills_words or not last.diameter_mm or not pilot.diameter_mm:
        return
    if (
        pilot.diameter_mm
        > leavings.MOST_PILOT_SHARE * last.diameter_mm + leavings.DIAMETER_TOLERANCE_MM
    ):
        words = f"a pilot of {pilot.diameter_mm:.3f} mm before {last.diameter_mm:.3f}"
        yield "wrong-diameter", f"{words}: no more than its web is the rule", pilot
    if (
        hole.is_through
        and hole.depth_mm < leavings.THIN_SHEET_SHARE * last.diameter_mm - tolerance_mm
    ):
        yield "operation-extra", "no pilot in thin sheet is the rule", pilot


def _short_of_wall(
    expected: Expected, operations: Sequence[MadeOperation], tolerance_mm: float
) -> Iterator[Difference]:
    """Points and leads that come out into a bore keep off its far wall."""
    if expected.run_out is None:
        return
    most = expected.run_out.far_mm - leavings.SHORT_OF_WALL_MM
    for operation in operations:
        if -operation.tip_mm > most + tolerance_mm and expected.hole.drill_depth_mm is None:
            words = f"{operation.name} goes to Z{operation.tip_mm:.3f}"
            yield (
                "too-deep",
                f"{words}; {most:.3f} mm, short of the far wall, is the rule",
                operation,
            )


def _drills(expected: Expected, operations: Sequence[MadeOperation]) -> list[MadeOperation]:
    """Pilots and the last drill; those that only open the mouth are left out, and end mills that go
    round."""
    opened = [need.diameter_mm for need in expected.needs if need.name == "drill"]
    return [
        operation
        for operation in operations
        if operation.name == "drill"
        and operation.milling != "circle"
        and not any(
            abs(operation.known_mm - size) <= leavings.DIAMETER_TOLERANCE_MM for size in opened
        )
    ]


def _off(
    operation: MadeOperation, height_mm: float | None, least: float, most: float, tolerance: float
) -> Iterator[Difference]:
    if height_mm is None or least - tolerance <= -height_mm <= most + tolerance:
        return
    kind = "too-shallow" if -height_mm < least else "too-deep"
    words = f"{operation.name} goes {-height_mm:.3f} mm deep (its end at Z{operation.tip_mm:.3f})"
    yield kind, f"{words}; {_span(least, most)} is the rule", operation


def _span(least: float, most: float) -> str:
    return f"{least:.3f}" if least == most else f"{least:.3f} to {most:.3f}"


def _drill_span(
    expected: Expected, last: MadeOperation, finish: MadeOperation | None
) -> tuple[float, float] | None:
    """Least and most depth of the last drill's full diameter; None where no rule gives one."""
    hole = expected.hole
    if hole.from_both_ends:
        return (hole.depth_mm / 2 + leavings.PAST_MIDDLE_MM,) * 2
    if hole.is_through:
        beyond = hole.breakthrough_mm
        if beyond is None:
            beyond = max(
                leavings.LEAST_BREAKTHROUGH_MM, leavings.BREAKTHROUGH_SHARE * last.known_mm
            )
        return (hole.depth_mm + beyond,) * 2
    row = leavings.leavings_of(hole)
    if hole.drill_depth_mm is not None or row.before is None:
        return None  # judged already, as the part gives it
    if row.stock_mm is not None:  # the tip stays inside the flat floor
        point_mm = (full_reach_mm(last) or 0.0) - last.tip_mm
        return (max(hole.depth_mm - row.stock_mm - point_mm, leavings.LEAST_START_MM),) * 2
    end = hole.depth_mm if finish is None else -finish.tip_mm
    return end, end + leavings.beyond_mm(hole) if finish is not None else float("inf")


def _spot_difference(
    expected: Expected,
    spot: MadeOperation,
    drill_mm: float,
    tolerance_mm: float,
    *,
    is_milled: bool,
) -> Iterator[Difference]:
    """Wide enough to break the edge; only a start where a recess or cone takes the mouth away.

    drill_mm : depth of the last drill's full diameter, below which no spot goes
    is_milled : an end mill goes round there and takes its mouth away
    """
    hole = expected.hole
    if spot.cone_mm is None or spot.diameter_mm is None or spot.point_angle_deg is None:
        return
    widening = 2 * math.tan(math.radians(spot.point_angle_deg / 2))
    flat = spot.cone_mm + spot.tip_mm * widening
    room = flat + min(expected.thickness_mm / 2, drill_mm) * widening
    is_start_only = (
        leavings.leavings_of(hole).stock_mm
        or is_milled
        or any(need.name != "drill" for need in expected.needs)
    )
    wide = (
        leavings.SPOT_SHARE * hole.diameter_mm
        if is_start_only
        else hole.diameter_mm + leavings.SPOT_OVER_SIZE_MM
    )
    wide = min(wide, spot.diameter_mm, room)
    if abs(spot.cone_mm - wide) > widening * tolerance_mm + leavings.DIAMETER_TOLERANCE_MM:
        kind = "too-shallow" if spot.cone_mm < wide else "too-deep"
        yield kind, f"the spot is {spot.cone_mm:.3f} mm wide; {wide:.3f} is the rule", spot
