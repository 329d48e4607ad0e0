"""Arcs and helices by centre or by radius, in all three planes (NISTIR 6556, section 3.5.3).

Centre from the radius, with travel direction d = (dx, dy) from start to end, chord L:

              centre
                o            h = sqrt(R^2 - L^2 / 4)
              / |  h
        R   /   |            left of the travel for G3 with R > 0 and G2 with R < 0,
          /     |            right of it otherwise
  start  *------+------*  end
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from millprep.base.findings import words
from millprep.base.units import Units
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Point
from millprep.reading.gcode.fast_words import Floats
from millprep.reading.gcode.habits import doubt_once
from millprep.reading.gcode.modal import MM_PER_INCH
from millprep.reading.gcode.motion import set_motion
from millprep.reading.gcode.order import g_word
from millprep.reading.gcode.recognise import Line
from millprep.reading.gcode.report import bad_arc, missing_word
from millprep.reading.gcode.state import State
from millprep.reading.moves import ARC_CCW, ARC_CW, PLANE_AXES

RADIUS_TOLERANCE_MM = 0.002  # NISTIR 6556, section 3.5.3.2, millimetres
RADIUS_TOLERANCE_INCH = 0.0002  # the same, inches
# By the newer published rule: whatever the radius; up to which always; share of the radius between.
WIDEST_MM, ALWAYS_MM, OF_THE_RADIUS = 0.5, 0.005, 0.001
OFFSETS = "IJK"
SAME_POINT_MM = 1e-9
_SAME_ANGLE_RAD = 1e-9

Pair = tuple[float, float]


class Arc(NamedTuple):
    """An arc in its plane: ends, centre, sense (1 anticlockwise), as readings [mm]."""

    start: Pair
    end: Pair
    centre: Pair
    sense: int


def arc(state: State, line: Line, value: str | int) -> None:
    motion = int(value)
    set_motion(state, motion)
    first, second, third = PLANE_AXES[state.plane]
    target = state.target(line)
    state.needed_feed()
    state.begin_motion()
    start = (state.position[first], state.position[second])
    end = (target[first], target[second])
    sense = 1 if motion == 30 else -1
    has_ends = line.has(AXES[first] + AXES[second])
    name = g_word(motion)
    _pass_zero_over(state, line, OFFSETS[third], name)
    if "R" in line.words:
        arc = _by_radius(state, line, Arc(start, end, start, sense), has_ends, name)
    else:
        arc = _by_centre(state, line, Arc(start, end, start, sense), has_ends, name)
    centre = [0.0, 0.0, 0.0]
    centre[first], centre[second] = arc.centre
    centre[third] = state.position[third]
    middle: Point = (centre[0], centre[1], centre[2])
    kind = ARC_CCW if sense == 1 else ARC_CW
    state.emit(kind, target, centre=middle, sweep_deg=_sweep_deg(state, arc, name, line))


def radius_tolerance_mm(units: Units | None) -> float:
    """By how much start and end of an arc may differ in their distance from the centre [mm]."""
    return RADIUS_TOLERANCE_INCH * MM_PER_INCH if units == "inch" else RADIUS_TOLERANCE_MM


def most_off_mm(radius: Floats, units: Units | None, *, is_strict: bool) -> Floats:
    """The same by the newer rule, of arcs of those radii; strictly that of NISTIR 6556 [mm]."""
    strictly = radius_tolerance_mm(units)
    if is_strict:
        return np.full(radius.shape, strictly)
    return np.clip(OF_THE_RADIUS * radius, max(ALWAYS_MM, strictly), WIDEST_MM)


def _by_centre(state: State, line: Line, arc: Arc, has_ends: bool, name: str) -> Arc:
    first, second, _ = PLANE_AXES[state.plane]
    letters = OFFSETS[first] + OFFSETS[second]
    if state.control.arcs == "radius":
        state.report.lacks(
            f"{name} with a centre",
            "the control is described as taking arcs by R alone",
            "write R and the end point, or set arcs in the shop file",
        )
    if not line.has(letters):
        raise bad_arc(f"{name} without a centre or a radius", "give I and J, or R")
    if not has_ends:
        if state.control.strict:
            raise bad_arc(f"{name} without an end point", "give X and Y")
        state.report.warn(
            "full-circle-without-end",
            f"{name} without an end point: read as a full circle",
            "write the end point, even if it is the start",
        )
    centre = _centre(state, line, arc.start, letters)
    radius = math.dist(centre, arc.start)
    far = math.dist(centre, arc.end)
    if radius == 0:
        raise bad_arc(f"{name}: the centre is the start point", "the radius is above 0")
    _check_centre(state, name, radius, far)
    return arc._replace(centre=centre)


def _pass_zero_over(state: State, line: Line, letter: str, name: str) -> None:
    """A word for the centre that the plane has no use for may only be 0."""
    word = line.words.get(letter)
    if word is None:
        return
    if word.value or state.control.strict:
        raise bad_arc(
            f"{name}: {word} is outside plane G{state.plane}",
            f"the centre is given by {' and '.join(OFFSETS.replace(letter, ''))}",
        )
    doubt_once(state.report, "zero outside the plane", word)


_OFF_CENTRE = "the centre is {radius_mm:4} from the start and {far_mm:4} from the end"


def _check_centre(state: State, name: str, radius: float, far: float) -> None:
    """radius, far : from the centre to the start and to the end [mm]"""
    off, least = abs(radius - far), radius_tolerance_mm(state.units)
    if off <= least:
        return
    most = float(most_off_mm(np.array(radius), state.units, is_strict=state.control.strict))
    if off > most:
        raise bad_arc(
            words(f"{name}: {_OFF_CENTRE}", radius_mm=radius, far_mm=far),
            words(
                "they may differ by {most_mm:4}; is the centre measured from the start point?",
                most_mm=most,
            ),
        )
    if not state.report.has("arc-centre-off"):
        state.report.warn(
            "arc-centre-off",
            words(
                f"{name}: {_OFF_CENTRE}: read with its end where it is written",
                radius_mm=radius,
                far_mm=far,
            ),
            words(
                "some controls refuse more than {least_mm:4} (NISTIR 6556, section 3.5.3.2): write "
                "one more decimal",
                least_mm=least,
            ),
        )


def _centre(state: State, line: Line, start: Pair, letters: str) -> Pair:
    """Counted from the start of the arc, or under G90.1 from the zero of the work system."""
    if not state.has_absolute_centres:
        a, b = (state.length_mm(line, letter) or 0.0 for letter in letters)
        return start[0] + a, start[1] + b
    if not all(letter in line.words for letter in letters):
        raise missing_word(
            f"an arc under G90.1 without {' and '.join(letters)}",
            "absolute centres need both words, or write G91.1",
        )
    a, b = (state.mm(line.words[letter].value) for letter in letters)
    return a, b


def _by_radius(state: State, line: Line, arc: Arc, has_ends: bool, name: str) -> Arc:
    first, second, _ = PLANE_AXES[state.plane]
    if line.has(OFFSETS[first] + OFFSETS[second]):
        raise bad_arc(f"{name} with both a radius and a centre", "give one of them")
    radius = state.length_mm(line, "R") or 0.0
    chord = math.dist(arc.start, arc.end)
    if not has_ends or chord <= SAME_POINT_MM:
        raise bad_arc(
            f"{name} with R ends where it starts: no circle follows from that",
            "give the end point, or the centre by I and J",
        )
    if chord / 2 - abs(radius) > radius_tolerance_mm(state.units):
        raise bad_arc(
            words(
                f"{name}: R {{radius_mm:exact}} is less than half the {{chord_mm:4}} from start to "
                "end",
                radius_mm=abs(radius),
                chord_mm=chord,
            ),
            words("R is {half_mm:4} or more", half_mm=chord / 2),
        )
    height = math.sqrt(max(0.0, (abs(radius) - chord / 2) * (abs(radius) + chord / 2)))
    side = arc.sense * (1 if radius > 0 else -1)
    (x0, y0), (x1, y1) = arc.start, arc.end
    left = (-(y1 - y0) / chord, (x1 - x0) / chord)
    centre = ((x0 + x1) / 2 + side * height * left[0], (y0 + y1) / 2 + side * height * left[1])
    return arc._replace(centre=centre)


def _sweep_deg(state: State, arc: Arc, name: str, line: Line) -> float:
    """The angle turned through, above 0 and up to 360.

    A full turn is told by the end points: an angle of almost 0 may be either by rounding.
    """
    chord = math.dist(arc.start, arc.end)
    if chord <= SAME_POINT_MM:
        return 360.0
    from_angle, to_angle = (
        math.atan2(point[1] - arc.centre[1], point[0] - arc.centre[0])
        for point in (arc.start, arc.end)
    )
    turned = arc.sense * (to_angle - from_angle) % math.tau
    if min(turned, math.tau - turned) < _SAME_ANGLE_RAD:
        raise bad_arc(
            words(
                f"{name}: start and end are {{chord_mm:4}} apart in one direction from the centre: "
                "a full circle or nothing",
                chord_mm=chord,
            ),
            "make the end point equal to the start, or move it along the arc",
        )
    sweep = math.degrees(turned)
    if "R" in line.words and (165 <= sweep <= 195 or sweep > 345):
        state.report.warn(
            "arc-doubtful",
            f"{name} with R turns through {sweep:.0f} degrees: a little rounding moves its centre "
            "a lot (NISTIR 6556, section 3.5.3.1)",
            "give the centre by I and J",
        )
    elif "R" not in line.words and chord <= _doubtful_chord_mm(state, arc):
        state.report.warn(
            "arc-doubtful",
            words(
                f"{name} ends {{chord_mm:4}} from its start: read as {sweep:.2f} degrees",
                chord_mm=chord,
            ),
            "for a full circle make the end point equal to the start",
        )
    return sweep


def _doubtful_chord_mm(state: State, arc: Arc) -> float:
    """From start to end so little that rounding may have opened a full circle, or closed an arc."""
    off = math.dist(arc.centre, arc.start) - math.dist(arc.centre, arc.end)
    return max(radius_tolerance_mm(state.units), 2 * abs(off))
