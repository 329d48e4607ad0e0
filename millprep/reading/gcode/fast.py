"""Runs of plain motion words, read a stretch at a time as arrays.

A plain line holds N, G0 to G3, X, Y, Z, I, J, K, F and numbers, and nothing else. Such lines are
most of a long program. They are recognised by one pattern, their numbers converted together, each
column filled forward to the lines that do not name it. Whatever asks for a word to the person, a
refusal included, is left to the slow way line by line: a run ends before it. Both ways give the
same moves. Imports numpy and its neighbours.
"""

from __future__ import annotations

import re

import numpy as np

from millprep.base.bounds import LARGEST_NUMBER, LONGEST_LINE
from millprep.reading.gcode.arcs import OFFSETS
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.columns import Run
from millprep.reading.gcode.fast_arcs import Arcs, arcs_of
from millprep.reading.gcode.fast_words import Floats, Numbers, Words, words_of
from millprep.reading.gcode.shifts import is_origin_settled
from millprep.reading.gcode.state import MM_PER_INCH, State
from millprep.reading.moves import ARC_CW, RAPID, Ints

STRETCH = 1 << 17  # bytes read at a time: more, and the arrays no longer fit a cache
SHORTEST = 512  # bytes: shorter runs are quicker line by line
WORTH_IT = 8  # a stretch of which less than 1/8 could be read is read line by line

# No possessive quantifiers: Python 3.11.0 to 3.11.4 match some wrongly, and no piece of the pattern
# could give back anything that what follows it would take. Words are taken by their characters
# here; `words_of` tells which are misspelt. A few hundred lines at a time: the way back through
# them is kept until they are matched.
_WORDS = rb"(?:[XYZFIJKxyzfijk][XYZFIJKxyzfijk\d.+\- \t]*)?"
_MOTION = rb"(?:[Gg](?:0[0-3]?|[1-3])(?![\d.])(?=[^XYZxyz\r\n]*[XYZxyz])[ \t]*)?"
_LINE = rb"(?:[ \t]*(?:[Nn]%s[ \t]*)?" + _MOTION + _WORDS + rb"(?:\r\n|\n|\r))"
_LINES = _LINE + rb"{1,512}"
_PLAIN = re.compile(_LINES % rb"\d+")
_STRICTLY_PLAIN = re.compile(_LINES % rb"\d{1,5}(?!\d)")


_PLAIN_CODES = frozenset({"G0", "G1", "G2", "G3"})


def may_run(state: State) -> bool:
    """Whether plain lines now mean motion and nothing else."""
    return (
        state.motion in (0, 10, 20, 30)
        and state.units is not None
        and state.feed_mode == "per minute"
        and not state.has_absolute_centres
        and state.control.arcs != "radius"
        and state.control.axes == "xyz"
        and not state.doubts_length()
        and not state.unstated_axes
        and state.has_stated_all()
        and state.blind_moves is not None
        and is_origin_settled(state)
        and not state.unknown_axes
        and (state.control.codes is None or state.control.codes >= _PLAIN_CODES)
    )


def plain_until(data: bytes, position: int, end: int, *, is_strict: bool) -> int:
    """Where the run of lines that begins at the place and looks plain ends, a stretch at most."""
    pattern = _STRICTLY_PLAIN if is_strict else _PLAIN
    until, last = position, min(end, position + STRETCH)
    while (match := pattern.match(data, until, last)) is not None:
        until = match.end()
    is_split = data[until - 1 : until + 1] == b"\r\n" and until > position
    return until + 1 if is_split else until


def read_run(state: State, text: bytes) -> tuple[int, int]:
    """Carries out plain lines, up to the first that the slow way has to see.

    text : whole lines that look plain, behind the line that `state.line` names
    Gives (lines, bytes) carried out.
    """
    words = words_of(text)
    first = state.line + 1
    numbers = np.arange(first, first + words.line_ends.size, dtype=np.int32)
    done = read_words(state, words, numbers)
    state.line += done
    return done, int(words.line_ends[done - 1]) + 1 if done else 0


def read_words(state: State, words: Words, numbers: Ints) -> int:
    """The same of words as such; numbers : (N,) of their lines. Gives how many were carried out."""
    lines = numbers.size
    moving = _moving_lines(words, lines)
    feed_lines, feeds = words.of("F")
    factor = MM_PER_INCH if state.units == "inch" else 1.0
    kind = _kinds(state, words, moving)
    feed = _feeds(state, feed_lines, feeds, moving) * factor
    end = np.stack([_axis(state, words, moving, axis, factor) for axis in range(3)])
    arcs = None
    if moving.size and kind.max() >= ARC_CW:
        arcs = arcs_of(state, words, moving, kind, end, factor)
    first_bad = min(
        [
            *_unsound_lines(state, words, lines),
            *_unsound_moves(state, words, moving, kind, feed, arcs),
        ]
    )
    rows = int(np.searchsorted(moving, first_bad))
    if rows:
        feed[kind == RAPID] = np.nan
        told = np.full(rows, state.called_line, np.int32) if state.called_line else numbers[moving]
        _carry_out(state, told[:rows], kind[:rows], end[:, :rows], feed[:rows], arcs)
        _place_axes(state, words, first_bad)
    written = int(np.searchsorted(feed_lines, first_bad))
    if written:
        state.feed_number = float(feeds[written - 1])
        state.feed_units = state.units
        state.feed_line = int(numbers[feed_lines[written - 1]])
    return first_bad


def _place_axes(state: State, words: Words, lines: int) -> None:
    """Notes which axes the first lines have said the place of."""
    for axis in AXES if len(state.placed_axes) < len(AXES) and not state.is_incremental else "":
        named, _ = words.of(axis)
        if named.size and named[0] < lines:
            state.placed_axes.add(axis)


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


def _moving_lines(words: Words, lines: int) -> Numbers:
    """Index of each line that names an axis."""
    is_moving = np.zeros(lines, dtype=np.bool_)
    is_moving[words.line[(words.letter >= ord("X")) & (words.letter <= ord("Z"))]] = True
    return np.flatnonzero(is_moving)


def _unsound_lines(state: State, words: Words, lines: int) -> list[int]:
    """The first line of each kind that the slow way has something to say about; `lines` at last."""
    is_number = words.letter == ord("N")
    doubtful = [
        words.line[(np.abs(words.value) > LARGEST_NUMBER) & ~is_number],
        words.line[(words.value < 0) & (words.letter == ord("F"))],
        np.flatnonzero(np.diff(words.line_ends, prepend=-1) > LONGEST_LINE),
        words.line[words.is_misspelt],
    ]
    for letter in AXES + "F" + OFFSETS:
        named, _ = words.of(letter)
        doubtful.append(named[1:][named[1:] == named[:-1]])
    if not state.report.has("no-decimal-point"):
        is_length = ~is_number & (words.letter != ord("G"))
        doubtful.append(words.line[is_length & ~words.has_point & (words.value != 0)])
    if state.control.axes == "xy":
        doubtful.append(words.of("Z")[0])
    return [*(int(some[0]) for some in doubtful if some.size), lines]


def _unsound_moves(
    state: State, words: Words, moving: Numbers, kind: Ints, feed: Floats, arcs: Arcs | None
) -> list[int]:
    """The same of motions: beyond what can be held, without feed, doubtful arcs, stray offsets."""
    bad = [moving[state.room() :], moving[(kind != RAPID) & ~(feed > 0)]]
    offsets = words.line[words.has_letter(OFFSETS)]
    bad.append(offsets[~np.isin(offsets, moving[kind >= ARC_CW])])
    if arcs is not None:
        bad.append(moving[arcs.doubtful])
    return [int(some[0]) for some in bad if some.size]


def _kinds(state: State, words: Words, moving: Numbers) -> Ints:
    """Of each motion: G0 to G3 are numbered as the kinds of moves are."""
    named, values = words.of("G")
    before = (state.motion or 0) // 10
    return _filled(float(before), named, values, moving).astype(np.int32)


def _feeds(state: State, lines: Numbers, values: Floats, moving: Numbers) -> Floats:
    """The F in force at each motion, nan where there is none to rely on."""
    is_good = state.feed_number is not None and state.feed_units in (None, state.units)
    before = state.feed_number if is_good and state.feed_number is not None else np.nan
    return _filled(before, lines, values, moving)


def _axis(state: State, words: Words, moving: Numbers, axis: int, factor: float) -> Floats:
    """Where each motion ends on an axis."""
    named, values = words.of(AXES[axis])
    values = values * factor
    if not state.is_incremental:
        return _filled(state.position[axis], named, values, moving)
    steps = np.zeros(moving.size + 1)
    steps[0] = state.position[axis]
    steps[np.searchsorted(moving, named) + 1] = values
    return np.cumsum(steps)[1:]


def _filled(before: float, lines: Numbers, values: Floats, moving: Numbers) -> Floats:
    """At each moving line the last value written on it or above it."""
    fresh = np.bincount(np.searchsorted(moving, lines), minlength=moving.size)[: moving.size]
    return np.concatenate([[before], values])[np.cumsum(fresh)]
