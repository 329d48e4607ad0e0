"""Runs of plain motion words, read a stretch at a time as arrays.

A plain line holds N, G0 to G3, X, Y, Z, I, J, K, F and numbers, and nothing else. Such lines are
most of a long program. They are recognised by one pattern, their numbers converted together, each
column filled forward to the lines that do not name it. Whatever asks for a word to the person, a
refusal included, is left to the slow way line by line: a run ends before it. Both ways give the
same moves.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from millprep.reading.gcode.arcs import OFFSETS, most_off_mm, radius_tolerance_mm
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Run
from millprep.reading.gcode.fast_words import (
    Flags,
    Floats,
    Named,
    Numbers,
    Words,
    axis_ends,
    filled,
    place_axes,
    unsound_lines,
    words_of,
)
from millprep.reading.gcode.modal import MM_PER_INCH, Leg
from millprep.reading.gcode.state import State
from millprep.reading.moves import ARC_CCW, ARC_CW, DWELL, FEED, PLANE_AXES, RAPID, Ints

STRETCH = 1 << 17  # bytes read at a time: more, and the arrays no longer fit a cache
LEAST_STRETCH = 1 << 11  # to begin with, and after a run that ended early
SHORTEST = 256  # bytes: shorter runs are quicker line by line

_PLAIN = b"GNXYZFIJKRQgnxyzfijkrq0123456789.+- \t\r\n"
_MOTIONS = (0, 10, 20, 30)
_PLAIN_CODES = frozenset({"G0", "G1", "G2", "G3"})


def may_run(state: State) -> bool:
    """Whether plain lines now mean motion, or holes of a cycle, and nothing else."""
    return (
        (_may_move(state) if state.motion in _MOTIONS else may_drill(state))
        and state.units is not None
        and state.feed_mode == "per minute"
        and state.control.axes == "xyz"
        and not state.doubts_length()
        and not state.unstated_axes
        and state.has_stated_all()
        and state.blind_moves is not None
        and state.is_origin_settled()
        and not state.unknown_axes
    )


def _may_move(state: State) -> bool:
    control = state.control
    is_able = control.codes is None or control.codes >= _PLAIN_CODES
    return is_able and not state.has_absolute_centres and control.arcs != "radius"


def plain_until(data: bytes, position: int, most: int = STRETCH) -> int:
    """Where the run of whole lines that begins at the place and looks plain ends; of bytes so many
    at most. A look at the first few saves one at all where lines are seldom plain."""
    for many in (SHORTEST, most):
        some = data[position : position + many]
        other = some.translate(None, _PLAIN)
        if other:
            some = some[: some.index(other[:1])]
            break
    until = position + max(some.rfind(b"\n"), some.rfind(b"\r")) + 1
    is_split = data[until - 1 : until + 1] == b"\r\n" and until > position
    return until + 1 if is_split else until


def read_run(state: State, text: bytes) -> tuple[int, int]:
    """Carries out plain lines, up to the first that the slow way has to see.

    text : whole lines that look plain, behind the line that `state.line` names
    Gives (lines, bytes) carried out.
    """
    words = words_of(text, is_strict=state.control.strict)
    first = state.line + 1
    numbers = np.arange(first, first + words.line_ends.size, dtype=np.int32)
    done = read_words(state, words, numbers)
    state.line += done
    return done, int(words.line_ends[done - 1]) + 1 if done else 0


def read_words(state: State, words: Words, numbers: Ints) -> int:
    """The same of words as such; numbers : (N,) of their lines. Gives how many were carried out."""
    if state.motion not in _MOTIONS:
        return read_holes(state, words, numbers)
    named = {letter: words.of(letter) for letter in "GF" + AXES + OFFSETS}
    is_moving = np.zeros(numbers.size, dtype=np.bool_)
    for axis in AXES:
        is_moving[named[axis][0]] = True
    moving = np.flatnonzero(is_moving)
    feed_lines, feeds = named["F"]
    factor = MM_PER_INCH if state.units == "inch" else 1.0
    kind = _kinds(state, named, moving)
    feed = _feeds(state, feed_lines, feeds, moving) * factor
    end = np.stack([axis_ends(state, named, moving, axis, factor) for axis in range(3)])
    arcs = None
    if moving.size and kind.max() >= ARC_CW:
        arcs = arcs_of(state, words, moving, kind, end, factor)
    first_bad = min(
        [
            *unsound_lines(state, words, named),
            *_unsound_moves(state, named, is_moving, kind, feed, arcs),
        ]
    )
    rows = int(np.searchsorted(moving, first_bad))
    if rows:
        feed[kind == RAPID] = np.nan
        told = np.full(rows, state.called_line, np.int32) if state.called_line else numbers[moving]
        _carry_out(state, told[:rows], kind[:rows], end[:, :rows], feed[:rows], arcs)
        place_axes(state, named, first_bad)
    written = int(np.searchsorted(feed_lines, first_bad))
    if written:
        state.feed_number = float(feeds[written - 1])
        state.feed_units = state.units
        state.feed_line = int(numbers[feed_lines[written - 1]])
    return first_bad


def _carry_out(
    state: State, line: Ints, kind: Ints, end: Floats, feed: Floats, arcs: Arcs | None
) -> None:
    rows = line.size
    run = Run(
        state.mode_number(),
        state.plane,
        line,
        kind,
        state.position,
        end,
        feed,
        np.nan if arcs is None else arcs.centre[:, :rows],
        0.0 if arcs is None else arcs.sweep_deg[:rows],
    )
    state.columns.extend(run)
    x, y, z = end[:, -1].tolist()
    state.position = (x, y, z)
    state.motion = 10 * int(kind[-1])


def _unsound_moves(
    state: State, named: Named, is_moving: Flags, kind: Ints, feed: Floats, arcs: Arcs | None
) -> list[int]:
    """The same of motions: beyond what can be held, without feed, doubtful arcs, stray offsets; and
    of G without motion."""
    moving = np.flatnonzero(is_moving)
    bad = [moving[state.room() :], moving[(kind != RAPID) & ~(feed > 0)]]
    is_turning = np.zeros_like(is_moving)
    is_turning[moving[kind >= ARC_CW]] = True
    for letter, is_fit in (("G", is_moving), *((offset, is_turning) for offset in OFFSETS)):
        lines, _ = named[letter]
        bad.append(lines[~is_fit[lines]])
    if arcs is not None:
        bad.append(moving[arcs.doubtful])
    bad.append(named["G"][0][named["G"][1] > ARC_CCW])
    return [int(some[0]) for some in bad if some.size]


def _kinds(state: State, named: Named, moving: Numbers) -> Ints:
    """Of each motion: G0 to G3 are numbered as the kinds of moves are; any other ends the run."""
    lines, values = named["G"]
    before = (state.motion or 0) // 10
    kinds = np.where(values > ARC_CCW, RAPID, values)
    return filled(float(before), lines, kinds, moving).astype(np.int32)


def _feeds(state: State, lines: Numbers, values: Floats, moving: Numbers) -> Floats:
    """The F in force at each motion, nan where there is none to rely on."""
    is_good = state.feed_number is not None and state.feed_units in (None, state.units)
    before = state.feed_number if is_good and state.feed_number is not None else np.nan
    return filled(before, lines, values, moving)


# Arcs by centre: only those of which nothing is to be said. Those that are refused or doubted, or
# come near to that, are left to `arcs`, which has the last word on every limit.

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


# Hole after hole of one cycle. Behind the first hole each line that names another place, and else
# nothing but what is in force, makes the same motions there; anything more is left to `cycles`.

_LETTERS = "XYGFZRQ"
Row = tuple[int, float, float]
"""Kind, z [mm], seconds of a motion."""


def may_drill(state: State) -> bool:
    """Whether a line that names a place makes the hole that was made last once more."""
    if state.hole_made is None:
        return False
    hole, legs = state.hole_made
    control, name = state.control, f"G{hole.cycle}"
    return (
        state.motion == 10 * hole.cycle
        and state.position[2] == hole.clear_mm
        and not state.is_incremental
        and (state.returns_to == "retract plane" or not state.has_returned_to_plane)
        and hole.peck_mm <= hole.retract_mm - hole.bottom_mm
        and all(leg.spindle == 1 for leg in legs)
        and name in control.cycles
        and (control.codes is None or name in control.codes)
    )


def read_holes(state: State, words: Words, numbers: Ints) -> int:
    """Drills at each place, up to the first line that the slow way has to see.

    numbers : (N,) of the lines. Gives how many lines were carried out
    """
    named = {letter: words.of(letter) for letter in _LETTERS}
    is_hole = np.zeros(numbers.size, dtype=np.bool_)
    for axis in "XY":
        is_hole[named[axis][0]] = True
    holes = np.flatnonzero(is_hole)
    factor = MM_PER_INCH if state.units == "inch" else 1.0
    x, y = (axis_ends(state, named, holes, axis, factor) for axis in (0, 1))
    is_same = np.diff(x, prepend=state.position[0]) == 0
    is_same &= np.diff(y, prepend=state.position[1]) == 0
    rows = _rows(state)
    bad = [holes[state.room() // len(rows) :], holes[is_same]]
    in_force = {"G": (state.motion or 0) / 10, "F": state.feed_number, **state.sticky}
    for letter in "GFZRQ":
        lines, values = named[letter]
        bad.append(lines[~is_hole[lines] | (values != in_force.get(letter))])
    first_bad = min([*unsound_lines(state, words, named), *(int(at[0]) for at in bad if at.size)])
    many = int(np.searchsorted(holes, first_bad))
    if many:
        _drill(state, numbers[holes[:many]], x[:many], y[:many], rows)
        place_axes(state, {axis: named[axis] for axis in "XY"}, first_bad)
    return first_bad


def _drill(state: State, line: Ints, x: Floats, y: Floats, rows: list[Row]) -> None:
    if state.called_line:
        line = np.full(line.size, state.called_line, np.int32)
    kind, z, seconds = (np.tile(column, x.size) for column in np.array(rows).T)
    run = Run(
        state.mode_number(),
        state.plane,
        np.repeat(line, len(rows)),
        kind.astype(np.int32),
        state.position,
        np.stack([np.repeat(x, len(rows)), np.repeat(y, len(rows)), z]),
        np.where(kind == FEED, state.feed_mm_per_min(), np.nan),
        seconds=seconds if seconds.any() else 0.0,
        cycle=(state.motion or 0) // 10,
    )
    state.columns.extend(run)
    state.position = float(x[-1]), float(y[-1]), state.position[2]


def _rows(state: State) -> list[Row]:
    """The motions of a hole, from the clear level to it."""
    assert state.hole_made is not None  # `may_drill` has seen it
    hole, legs = state.hole_made
    rows: list[Row] = [(RAPID, hole.clear_mm, 0.0)]
    for leg in (Leg(RAPID, hole.retract_mm), *legs):
        here = rows[-1][1]
        if leg.kind == DWELL:
            rows.append((DWELL, here, leg.seconds))
        elif leg.z_mm != here:
            rows.append((leg.kind, leg.z_mm, 0.0))
    return rows
