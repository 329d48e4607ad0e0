"""Moves as the tool's tip goes: columns in stock axes, unknown places as nan, strokes numbered.

A *stroke* is a run of upright moves of one tool at one place: down a hole with all its pecks, and
out. Imports numpy, `moves`, `form` and the scene.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millprep.reading.moves import ARC_CCW, ARC_CW, DWELL, FEED, RAPID, Moves, ProgramRun
from millprep.reading.simulate.form import UNKNOWN, Form, form_of

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
UPRIGHT_MM = 1e-6  # sideways travel that still counts as straight down
ARC_STEP_DEG = 7.5


@dataclass(frozen=True, slots=True)
class Path:
    """One row per move, arrays `(N,)`, positions `(3, N)`.

    start, end : of the tip in stock axes [mm]; nan where nothing says where the tool is
    forms      : of every tool used; form : index into it; radius, kinds from it
    stroke     : number of the stroke a move belongs to, -1 for sideways moves
    first, last : (S,) first and last move of each stroke
    """

    moves: Moves
    start: Floats
    end: Floats
    forms: list[Form]
    form: Ints
    radius: Floats
    stroke: Ints
    first: Ints
    last: Ints
    is_feed: Flags
    is_rapid: Flags
    is_down: Flags

    def has_kind(self, *kinds: str | None) -> Flags:
        """(N,) whether the tool in the spindle is of one of these kinds."""
        table = np.array([form.kind in kinds for form in self.forms], dtype=np.bool_)
        return np.asarray(table[self.form])


def path_of(run: ProgramRun, machine_place_known: bool) -> Path:
    """The tip's way. Without the origin of the work system in machine coordinates, nothing says
    where a move to a machine position leads: it is nan until the program gives a reading again."""
    moves = run.moves
    start, end = moves.start + moves.shift, moves.end + moves.shift
    if not machine_place_known:
        start, end = _with_unknown(moves, start, end)
    numbers = sorted(set(moves.tool.tolist()))  # few: no sorting of the whole column
    form = np.searchsorted(numbers, moves.tool)
    forms = [form_of(run.tools.get(number)) for number in numbers] or [UNKNOWN]
    radius = np.array([one.radius_mm for one in forms])[form]
    upright = np.hypot(end[0] - start[0], end[1] - start[1]) < UPRIGHT_MM
    upright &= (moves.kind == RAPID) | (moves.kind == FEED) | (moves.kind == DWELL)
    stroke, first, last = _strokes(upright, end, form)
    is_feed = (moves.kind == FEED) | (moves.kind == ARC_CW) | (moves.kind == ARC_CCW)
    with np.errstate(invalid="ignore"):
        is_down = end[2] < start[2]
    return Path(
        moves, start, end, forms, form, radius, stroke, first, last,
        is_feed, moves.kind == RAPID, is_down,
    )  # fmt: skip


def _with_unknown(moves: Moves, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    start, end = start.copy(), end.copy()
    row = np.arange(len(moves))
    for axis in range(3):
        moved = moves.start[axis] != moves.end[axis]
        told = moved & ~moves.machine_only
        lost = moved & moves.machine_only
        # X and Y count as known from the first line: a first hole at X0 Y0 moves nothing.
        initially = axis != 2
        last_event = np.maximum.accumulate(np.where(told | lost, row, -1))
        known = np.where(last_event >= 0, told[last_event], initially)
        known_before = np.concatenate([[initially], known])[:-1].astype(bool)
        end[axis][~known] = np.nan
        start[axis][~known_before] = end[axis][~known_before]
        if axis == 2:
            # Wherever it comes from, it comes from above.
            above = float(np.nanmax(end[2], initial=0.0)) + 1.0
            start[2][~known_before & known] = above
    return start, end


def _strokes(upright: Flags, end: Floats, form: Ints) -> tuple[Ints, Ints, Ints]:
    count = upright.size
    begins = upright.copy()
    if count > 1:
        with np.errstate(invalid="ignore"):
            apart = np.hypot(np.diff(end[0]), np.diff(end[1])) >= UPRIGHT_MM
        begins[1:] &= ~upright[:-1] | (form[1:] != form[:-1]) | apart
    number = np.cumsum(begins) - 1
    stroke = np.where(upright, number, -1)
    first = np.flatnonzero(begins)
    rows = np.flatnonzero(upright)
    last = rows[np.searchsorted(number[rows], np.arange(first.size), side="right") - 1]
    return stroke, first, last


def lowest_before(path: Path) -> Floats:
    """(N,) the lowest tip so far in the same stroke, before each move; inf for its first."""
    heights = np.where((path.stroke >= 0) & ~np.isnan(path.end[2]), path.end[2], np.inf)
    finite = heights[np.isfinite(heights)]
    if not finite.size:
        return heights
    high = float(finite.max()) + 1.0
    span = high - float(finite.min()) + 1.0
    lift = path.stroke * span  # each stroke starts a span below the one before: one running minimum
    running = np.minimum.accumulate(np.minimum(heights, high) - lift)
    before = np.full(heights.size, np.inf)
    before[1:] = running[:-1] + lift[1:]
    before[path.first] = np.inf
    before[before >= high - 0.5] = np.inf
    return before


def chords(path: Path, rows: Ints) -> tuple[Ints, Floats, Floats]:
    """Straight pieces of the moves `rows`: (row of each piece, starts (3, M), ends (3, M))."""
    is_arc = np.isin(path.moves.kind[rows], (ARC_CW, ARC_CCW))
    if not is_arc.any():
        return rows, path.start[:, rows], path.end[:, rows]
    owners, starts, ends = [rows[~is_arc]], [path.start[:, rows[~is_arc]]], []
    ends.append(path.end[:, rows[~is_arc]])
    for row in rows[is_arc].tolist():
        points = _arc_points(path, row)
        owners.append(np.full(points.shape[1] - 1, row))
        starts.append(points[:, :-1])
        ends.append(points[:, 1:])
    owner = np.concatenate(owners)
    order = np.argsort(owner, kind="stable")
    return owner[order], np.hstack(starts)[:, order], np.hstack(ends)[:, order]


def _arc_points(path: Path, row: int) -> Floats:
    """(3, K) points along one arc, ends included; a helix rises evenly."""
    moves = path.moves
    across, up, out = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[int(moves.plane[row])]
    centre = moves.centre[:, row] + moves.shift[:, row]
    start, end = path.start[:, row], path.end[:, row]
    sweep = float(moves.sweep_deg[row]) * (1 if moves.kind[row] == ARC_CCW else -1)
    share = np.linspace(0, 1, max(2, int(np.ceil(abs(sweep) / ARC_STEP_DEG)) + 1))
    a, b = start[across] - centre[across], start[up] - centre[up]
    angle = np.radians(sweep) * share
    points = np.empty((3, share.size))
    points[across] = centre[across] + a * np.cos(angle) - b * np.sin(angle)
    points[up] = centre[up] + a * np.sin(angle) + b * np.cos(angle)
    points[out] = start[out] + share * (end[out] - start[out])
    points[:, -1] = end
    return points
