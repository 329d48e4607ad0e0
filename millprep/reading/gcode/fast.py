"""Runs of plain motion words, read a stretch at a time as arrays.

A plain line holds N, G0 to G3, X, Y, Z, I, J, K, F and numbers, and nothing else. Such lines are
most of a long program. They are recognised by one pattern, their numbers converted together, each
column filled forward to the lines that do not name it. Whatever asks for a word to the person, a
refusal included, is left to the slow way line by line: a run ends before it. Both ways give the
same moves. Imports numpy and its neighbours.
"""

from __future__ import annotations

import numpy as np

from millprep.reading.gcode.arcs import OFFSETS
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Run
from millprep.reading.gcode.fast_arcs import Arcs, arcs_of
from millprep.reading.gcode.fast_cycles import may_drill, read_holes
from millprep.reading.gcode.fast_lines import Named, axis_ends, filled, place_axes, unsound_lines
from millprep.reading.gcode.fast_words import Flags, Floats, Numbers, Words, words_of
from millprep.reading.gcode.modal import MM_PER_INCH
from millprep.reading.gcode.shifts import is_origin_settled
from millprep.reading.gcode.state import State
from millprep.reading.moves import ARC_CCW, ARC_CW, RAPID, Ints

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
        and is_origin_settled(state)
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
