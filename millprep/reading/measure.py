"""Figures of a run of moves: how far it reaches, how long it takes, and the moves as a table.

Works on whole columns. Imports numpy and `reading.moves`.
"""

from __future__ import annotations

import io

import numpy as np

from millprep.reading.moves import ARC_CCW, DWELL, KIND_WORDS, PLANE_AXES, RAPID, Floats, Moves

_QUADRANTS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
_ROUNDING_DEG = 1e-9
_TABLE_DECIMALS = 6


def extent_mm(moves: Moves) -> dict[str, list[float] | None]:
    """The lowest and highest reading of each axis, arcs with their bulges [mm].

    Counts the end of every move; None for an axis that never moves.
    """
    has_arcs = (moves.sweep_deg > 0).any()
    lowest, highest = arc_bulges(moves) if has_arcs else (moves.end, moves.end)
    extent: dict[str, list[float] | None] = {}
    for axis, name in enumerate("xyz"):
        low = np.minimum(moves.end[axis], lowest[axis])
        high = np.maximum(moves.end[axis], highest[axis])
        start = moves.start[axis]
        has_moved = bool(np.any((low != start) | (high != start)))
        extent[name] = [float(low.min()), float(high.max())] if has_moved else None
    return extent


def arc_bulges(moves: Moves) -> tuple[Floats, Floats]:
    """(3, N) least and greatest reading inside each arc's sweep; inf where there is none."""
    lowest = np.full(moves.end.shape, np.inf)
    highest = np.full(moves.end.shape, -np.inf)
    for plane, (first, second, _) in PLANE_AXES.items():
        arcs = np.flatnonzero((moves.sweep_deg > 0) & (moves.plane == plane))
        if not arcs.size:
            continue
        axes = [first, second]
        centre = moves.centre[axes][:, arcs]
        ray = moves.start[axes][:, arcs] - centre
        radius = np.hypot(*ray)
        begins_deg = np.degrees(np.arctan2(ray[1], ray[0]))
        sense = np.where(moves.kind[arcs] == ARC_CCW, 1, -1)
        for quarter, direction in enumerate(_QUADRANTS):
            turned = sense * (90.0 * quarter - begins_deg) % 360
            inside = turned <= moves.sweep_deg[arcs] + _ROUNDING_DEG
            for axis, toward, middle in zip(axes, direction, centre, strict=True):
                if toward:
                    place = middle[inside] + toward * radius[inside]
                    rows = arcs[inside]
                    lowest[axis, rows] = np.minimum(lowest[axis, rows], place)
                    highest[axis, rows] = np.maximum(highest[axis, rows], place)
    return lowest, highest


def path_mm(moves: Moves) -> Floats:
    """(N,) length of each motion; of an arc along the arc or helix."""
    length = np.zeros(len(moves))
    for start, end in zip(moves.start, moves.end, strict=True):
        length += (end - start) ** 2
    np.sqrt(length, out=length)
    for plane, (first, second, third) in PLANE_AXES.items():
        arcs = np.flatnonzero((moves.sweep_deg > 0) & (moves.plane == plane))
        axes = [first, second]
        ray = moves.start[axes][:, arcs] - moves.centre[axes][:, arcs]
        turn = np.hypot(*ray) * np.radians(moves.sweep_deg[arcs])
        length[arcs] = np.hypot(turn, moves.end[third, arcs] - moves.start[third, arcs])
    return length


def seconds_each(moves: Moves, rapid_mm_per_min: float) -> Floats:
    """(N,) time of each motion at full speed; starting and stopping cost nothing."""
    length = path_mm(moves)
    rate = np.where(moves.kind == RAPID, rapid_mm_per_min, moves.feed)
    is_motion = moves.kind != DWELL
    seconds = moves.seconds.copy()
    seconds[is_motion] = 60.0 * length[is_motion] / rate[is_motion]
    return seconds


def time_s(moves: Moves, rapid_mm_per_min: float) -> float:
    """Time of all motions and dwells at full speed; tool changes and pauses not counted."""
    return float(seconds_each(moves, rapid_mm_per_min).sum())


def moves_csv(moves: Moves) -> str:
    """One row a motion: `line,kind,x,y,z,feed`, the reading at its end, mm and mm/min."""
    text = io.StringIO()
    text.write("line,kind,x,y,z,feed\n")
    x, y, z = (_column(values) for values in moves.end)
    feeds = _column(moves.feed)
    rows = zip(moves.line.tolist(), moves.kind.tolist(), x, y, z, feeds, strict=True)
    text.writelines(
        f"{line},{KIND_WORDS[kind]},{a},{b},{c},{feed}\n" for line, kind, a, b, c, feed in rows
    )
    return text.getvalue()


def _column(values: Floats) -> list[str]:
    """Figures in full, without trailing zeros; nothing where there is no figure."""
    rounded = np.round(values, _TABLE_DECIMALS) + 0.0  # -0.0 + 0.0 is 0.0
    return ["" if value != value else f"{value:.15g}" for value in rounded.tolist()]
