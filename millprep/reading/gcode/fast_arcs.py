"""Arcs by centre among many plain lines, as arrays.

Only arcs of which nothing is to be said: those that are refused or doubted, or come near to that,
are left to `arcs`, which has the last word on every limit. Imports numpy and its neighbours.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from millprep.reading.gcode.arcs import OFFSETS, most_off_mm, radius_tolerance_mm
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.fast_words import Flags, Floats, Numbers, Words
from millprep.reading.gcode.state import State
from millprep.reading.moves import ARC_CCW, PLANE_AXES, Ints

_SURELY_WITHIN = 0.999  # of a tolerance
_SURELY_BEYOND = 1.001
_FEWEST_RAD = 1e-6


class Arcs(NamedTuple):
    """Of a run of motions: centres (3, N) and angles (N,) of the arcs in it, nan and 0 elsewhere;
    `doubtful` (N,) marks those that the slow way has to see."""

    centre: Floats
    sweep_deg: Floats
    doubtful: Flags


def arcs_of(
    state: State, words: Words, moving: Numbers, kind: Ints, end: Floats, factor: float
) -> Arcs:
    """The arcs among motions that end there.

    moving : (N,) index of the line of each motion; end : (3, N) readings [mm]
    factor : millimetres in a unit
    """
    first, second, third = PLANE_AXES[state.plane]
    arcs = np.flatnonzero(kind > 1)
    start = np.concatenate([np.array(state.position)[:, None], end[:, :-1]], axis=1)
    begin, finish = start[:, arcs], end[:, arcs]
    has_centre, offset = _offsets(words, moving[arcs], OFFSETS[first] + OFFSETS[second], factor)
    centre = begin.copy()
    centre[first] += offset[0]
    centre[second] += offset[1]
    sense = np.where(kind[arcs] == ARC_CCW, 1, -1)
    turned, is_whole = _turned(begin, finish, centre, sense, (first, second))

    radius = np.hypot(centre[first] - begin[first], centre[second] - begin[second])
    far = np.hypot(finish[first] - centre[first], finish[second] - centre[second])
    chord = np.hypot(finish[first] - begin[first], finish[second] - begin[second])
    off, closest = np.abs(radius - far), radius_tolerance_mm(state.units)
    # What is to be said once has to be said first: until then it is left to the slow way.
    tells = not state.report.has("arc-centre-off")
    most = most_off_mm(radius, state.units, is_strict=tells)
    is_sound = has_centre & (radius > 0) & _names(words, moving[arcs], AXES[first] + AXES[second])
    has_told = state.report.has("read-by-habit", "zero outside the plane")
    is_sound &= ~_names(words, moving[arcs], OFFSETS[third], is_zero_passed=has_told)
    is_sound &= off < most * _SURELY_WITHIN
    is_clear = chord > np.maximum(closest, 2 * off) * _SURELY_BEYOND
    is_clear &= turned > _FEWEST_RAD
    is_sound &= is_whole | (is_clear & (turned < math.tau - _FEWEST_RAD))

    whole_run = Arcs(np.full(end.shape, np.nan), np.zeros(kind.size), np.zeros(kind.size, np.bool_))
    whole_run.centre[:, arcs] = centre
    whole_run.sweep_deg[arcs] = np.where(is_whole, 360.0, np.degrees(turned))
    whole_run.doubtful[arcs] = ~is_sound
    return whole_run


def _turned(
    begin: Floats, finish: Floats, centre: Floats, sense: Numbers, axes: tuple[int, int]
) -> tuple[Floats, Flags]:
    """(angle turned through [rad], whether the end is the start). By `math`, as for single arcs:
    the last digit of an arctangent differs between libraries."""
    first, second = axes
    angles = []
    for point in (begin, finish):
        rise, run = point[second] - centre[second], point[first] - centre[first]
        angles.append(np.array(list(map(math.atan2, rise.tolist(), run.tolist()))))
    is_whole = (begin[first] == finish[first]) & (begin[second] == finish[second])
    return sense * (angles[1] - angles[0]) % math.tau, is_whole


def _offsets(
    words: Words, lines: Numbers, letters: str, factor: float
) -> tuple[Flags, tuple[Floats, Floats]]:
    """(whether there is any, the values [mm], 0 where missing) of the offsets on these lines."""
    has_any = np.zeros(lines.size, dtype=np.bool_)
    values = []
    for letter in letters:
        named, value = words.of(letter)
        place = np.searchsorted(lines, named)
        place[place == lines.size] = 0  # on a line that is no arc: the run ends before it
        offset = np.zeros(lines.size)
        if lines.size:
            is_here = lines[place] == named
            offset[place[is_here]] = value[is_here] * factor
            has_any[place[is_here]] = True
        values.append(offset)
    return has_any, (values[0], values[1])


def _names(words: Words, lines: Numbers, letters: str, *, is_zero_passed: bool = False) -> Flags:
    """Whether each of the lines has a word with one of these letters, other than 0 if so asked."""
    named = words.has_letter(letters)
    if is_zero_passed:
        named &= words.value != 0
    return np.isin(lines, words.line[named])
