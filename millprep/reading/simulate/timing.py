"""How long the moves take, on a mill that needs its time to start and stop.

Every axis move begins and ends at a stand, unless the next goes on in the same direction: then the
mill keeps what speed both allow. Between, it gains and loses speed at one rate:

        speed   ____
               /    \\       v  <=  sqrt(v0^2 + 2 a s)   from where it came from
              /      \\__    v  <=  sqrt(v1^2 + 2 a s)   to where it must be slower
             /          \\

Squares of speeds are straight lines over the way, so that a whole program is one running minimum
forwards and one backwards.
"""

from __future__ import annotations

import numpy as np

from millprep.base.records import frozen
from millprep.model.shop import Mill
from millprep.reading.moves import (
    ARC_CCW,
    BY_HAND,
    DWELL,
    PLANE_AXES,
    RAPID,
    Floats,
    Moves,
    ProgramRun,
    path_mm,
)

SAME_WAY_DEG = 10.0  # a bend up to this is driven through (common practice of path control)
_SAME_WAY = float(np.cos(np.radians(SAME_WAY_DEG)))
_LEAST_MM = 1e-9
_BLOCK = 1 << 14  # moves at a time: more, and their vectors no longer fit a cache


@frozen
class ToolTime:
    """What one tool takes, from its change to the next.

    number : 0 where nothing has been put in; line : of the change, None before the first
    feed_s, rapid_s, dwell_s : by kind of move
    """

    number: int
    line: int | None
    feed_s: float
    rapid_s: float
    dwell_s: float

    @property
    def seconds(self) -> float:
        return self.feed_s + self.rapid_s + self.dwell_s


def seconds_each(moves: Moves, mill: Mill) -> Floats:
    """(N,) time of each motion and dwell, gaining and losing speed included [s]; the hand's are not
    counted."""
    seconds = moves.seconds.copy()
    length = path_mm(moves)
    is_driven = (moves.kind != DWELL) & (moves.cycle != BY_HAND)
    rows = np.flatnonzero(is_driven & (length > _LEAST_MM))
    if not rows.size:
        return seconds
    way = length[rows]
    rate = np.where(moves.kind == RAPID, mill.rapid_mm_per_min, moves.feed)[rows] / 60.0
    if mill.acceleration_mm_per_s2 is None:
        seconds[rows] = way / rate
        return seconds
    known = np.nan_to_num(rate, nan=0.0)
    gain = mill.acceleration_mm_per_s2
    before, after = _end_speeds(moves, rows, way, known, gain)
    for first in range(0, rows.size, _BLOCK):
        one = slice(first, first + _BLOCK)
        seconds[rows[one]] = _seconds(way[one], known[one], before[one], after[one], gain)
    return seconds


def _seconds(way: Floats, most: Floats, before: Floats, after: Floats, gain: float) -> Floats:
    """Of moves between two speeds at their ends, faster in between if there is room [s]."""
    peak = np.minimum(most, np.sqrt((2 * gain * way + before**2 + after**2) / 2))
    even = way - np.maximum(0.0, (2 * peak**2 - before**2 - after**2) / (2 * gain))
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray((2 * peak - before - after) / gain + np.maximum(0.0, even) / peak)


def _end_speeds(
    moves: Moves, rows: np.ndarray, way: Floats, rate: Floats, gain: float
) -> tuple[Floats, Floats]:
    """Speed at the beginning and at the end of each move [mm/s]."""
    kept = np.where(_bends(moves, rows, way) >= _SAME_WAY, np.minimum(rate[:-1], rate[1:]), 0.0)
    kept[np.diff(rows) > 1] = 0.0  # a dwell between
    most = np.concatenate([[0.0], kept**2, [0.0]])
    ways = np.concatenate([[0.0], np.cumsum(way)]) * 2 * gain
    most -= ways
    np.minimum.accumulate(most, out=most)  # nowhere faster than gained from behind ...
    most += ways
    most += ways
    np.minimum.accumulate(most[::-1], out=most[::-1])  # ... and lost to what comes
    most -= ways
    speed = np.sqrt(np.maximum(0.0, most, out=most), out=most)
    return np.minimum(speed[:-1], rate), np.minimum(speed[1:], rate)


def _bends(moves: Moves, rows: np.ndarray, way: Floats) -> Floats:
    """(M - 1,) cosine of the angle from each move into the next."""
    bend = np.empty(rows.size - 1)
    for first in range(0, bend.size, _BLOCK):
        some = slice(first, first + _BLOCK + 1)
        out, into = _directions(moves, rows[some], way[some])
        bend[some][:_BLOCK] = (into[:, :-1] * out[:, 1:]).sum(axis=0)
    return bend


def _directions(moves: Moves, rows: np.ndarray, way: Floats) -> tuple[Floats, Floats]:
    """(3, M) unit vectors in which each move leaves its start and reaches its end."""
    out = moves.end.take(rows, axis=1) - moves.start.take(rows, axis=1)
    is_arc = moves.sweep_deg[rows] > 0
    if not is_arc.any():
        out /= way
        return out, out
    into = out.copy()
    for plane, (first, second, _) in PLANE_AXES.items():
        arcs = np.flatnonzero(is_arc & (moves.plane[rows] == plane))
        if not arcs.size:
            continue
        own = rows[arcs]
        sense = np.where(moves.kind[own] == ARC_CCW, 1.0, -1.0)
        turn = np.radians(moves.sweep_deg[own])
        for vector, place in ((out, moves.start), (into, moves.end)):
            ray = place[:, own] - moves.centre[:, own]
            vector[first, arcs] = -sense * ray[second] * turn
            vector[second, arcs] = sense * ray[first] * turn
    return _unit(out), _unit(into)


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.maximum(np.sqrt((vectors**2).sum(axis=0)), _LEAST_MM))


def tool_times(run: ProgramRun, seconds: Floats) -> tuple[ToolTime, ...]:
    """The time of each stretch between tool changes that has motions, in order."""
    moves = run.moves
    if not len(moves):
        return ()
    tool = moves.tool
    starts = np.concatenate([[0], np.flatnonzero(np.diff(tool)) + 1]).tolist()
    times = []
    for start, end in zip(starts, [*starts[1:], len(moves)], strict=True):
        kind, spent = moves.kind[start:end], np.nan_to_num(seconds[start:end])
        is_rapid, is_dwell = kind == RAPID, kind == DWELL
        number = int(tool[start])
        changes = [
            line
            for line, put_in in run.tool_changes
            if put_in == number and line <= int(moves.line[start])
        ]
        times.append(
            ToolTime(
                number,
                changes[-1] if changes else None,
                float(spent[~is_rapid & ~is_dwell].sum()),
                float(spent[is_rapid].sum()),
                float(spent[is_dwell].sum()),
            )
        )
    return tuple(times)
