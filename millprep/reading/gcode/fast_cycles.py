"""Hole after hole of one cycle, as arrays.

Behind the first hole each line that names another place, and else nothing but what is in force,
makes the same motions there. Whatever more is to be said is left to `cycles`. Imports numpy and its
neighbours.
"""

from __future__ import annotations

import numpy as np

from millprep.reading.gcode.columns import Run
from millprep.reading.gcode.fast_lines import axis_ends, place_axes, unsound_lines
from millprep.reading.gcode.fast_words import Floats, Words
from millprep.reading.gcode.hole import Leg
from millprep.reading.gcode.modal import MM_PER_INCH
from millprep.reading.gcode.state import State
from millprep.reading.moves import DWELL, FEED, RAPID, Ints

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
        _carry_out(state, numbers[holes[:many]], x[:many], y[:many], rows)
        place_axes(state, {axis: named[axis] for axis in "XY"}, first_bad)
    return first_bad


def _carry_out(state: State, line: Ints, x: Floats, y: Floats, rows: list[Row]) -> None:
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
