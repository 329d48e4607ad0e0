"""What the words of many lines say: places, values in force, which lines the slow way has to see.

Imports numpy and its neighbours.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from millprep.base.bounds import LARGEST_NUMBER, LONGEST_LINE
from millprep.reading.gcode.codes import AXES
from millprep.reading.gcode.fast_words import Floats, Numbers, Words
from millprep.reading.gcode.state import State

Named = Mapping[str, tuple[Numbers, Floats]]
"""Letter -> (line index, value) of each word with it."""


def unsound_lines(state: State, words: Words, named: Named) -> list[int]:
    """The first line of each kind that the slow way has something to say about; then how many there
    are of which it has nothing to say."""
    doubtful = [
        words.line[np.abs(words.value) > LARGEST_NUMBER],
        named["F"][0][named["F"][1] < 0],
        np.flatnonzero(np.diff(words.line_ends, prepend=-1) > LONGEST_LINE),
        *(lines[1:][lines[1:] == lines[:-1]] for lines, _ in named.values()),
    ]
    if sum(lines.size for lines, _ in named.values()) < words.letter.size:
        doubtful.append(words.line[~words.has_letter("".join(named))])
    if not state.report.has("no-decimal-point"):
        is_length = words.letter != ord("G")
        doubtful.append(words.line[is_length & ~words.has_point & (words.value != 0)])
    if state.control.axes == "xy":
        doubtful.append(named["Z"][0])
    return [*(int(some[0]) for some in doubtful if some.size), words.spelt]


def axis_ends(state: State, named: Named, moving: Numbers, axis: int, factor: float) -> Floats:
    """Where each motion ends on an axis."""
    lines, values = named[AXES[axis]]
    values = values * factor
    if not state.is_incremental:
        return filled(state.position[axis], lines, values, moving)
    steps = np.zeros(moving.size + 1)
    steps[0] = state.position[axis]
    steps[np.searchsorted(moving, lines) + 1] = values
    return np.cumsum(steps)[1:]


def filled(before: float, lines: Numbers, values: Floats, moving: Numbers) -> Floats:
    """At each moving line the last value written on it or above it."""
    if np.array_equal(lines, moving):
        return values
    fresh = np.bincount(np.searchsorted(moving, lines), minlength=moving.size)[: moving.size]
    return np.concatenate([[before], values])[np.cumsum(fresh)]


def place_axes(state: State, named: Named, lines: int) -> None:
    """Notes which axes the first lines have said the place of."""
    for axis in AXES if len(state.placed_axes) < len(AXES) and not state.is_incremental else "":
        if axis in named and (named[axis][0] < lines).any():
            state.placed_axes.add(axis)
