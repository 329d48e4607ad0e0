"""Moves as the tool's tip goes: columns in stock axes, unknown places as nan, strokes numbered.

A *stroke* is a run of upright moves of one tool at one place: down a hole with all its pecks, and
out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.model.tools import Tool
from millprep.reading.moves import (
    ARC_CCW,
    ARC_CW,
    DWELL,
    FEED,
    PLANE_AXES,
    RAPID,
    Moves,
    ProgramRun,
    arc_bulges,
)
from millprep.reading.simulate.form import UNKNOWN, Form, Use, form_of
from millprep.reference.shared_rules import TOUCH_MM

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]
UPRIGHT_MM = 1e-6  # sideways travel that still counts as straight down
ARC_ERROR_MM = 0.0005  # an arc in straight pieces: half of what the dry run can see
LEAST_STEP_DEG, MOST_STEP_DEG = 0.01, 30.0
MOST_PIECES = 200_000  # of arcs, held at a time
_OUT_OF_PLANE = np.array([2, 1, 0])  # axis that planes 17, 18 and 19 leave out


@frozen
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

    @cached_property
    def low(self) -> Floats:
        """(3, N) lowest corner of the box around each move, bulges of arcs included."""
        low = np.minimum(self.start, self.end)
        return low if self._bulges is None else np.minimum(low, self._bulges[0])

    @cached_property
    def high(self) -> Floats:
        """(3, N) its highest corner."""
        high = np.maximum(self.start, self.end)
        return high if self._bulges is None else np.maximum(high, self._bulges[1])

    @cached_property
    def _bulges(self) -> tuple[Floats, Floats] | None:
        """(3, N) how far arcs reach either way; None where there is no arc."""
        if not (self.moves.sweep_deg > 0).any():
            return None
        least, most = arc_bulges(self.moves)
        return least + self.moves.shift, most + self.moves.shift

    def each(self, of: Callable[[Form], float | None]) -> Floats:
        """(N,) a figure of the tool in the spindle; nan where it has none."""
        return np.array([of(form) for form in self.forms], dtype=np.float64)[self.form]

    def uses(self, of: Callable[[Use], bool]) -> Flags:
        """(N,) whether the tool in the spindle is for that."""
        return np.array([of(form.use) for form in self.forms], dtype=np.bool_)[self.form]

    @property
    def is_unknown(self) -> Flags:
        """(N,) whether nothing says what is in the spindle."""
        return self.uses(lambda use: use.kind is None)

    def tool(self, row: int) -> Tool:
        """In the spindle at a move."""
        return self.forms[int(self.form[row])].tool

    @property
    def changes_height(self) -> Flags:
        """(N,) whether a move does; a way to where nobody knows does."""
        return np.asarray(~(np.abs(self.end[2] - self.start[2]) < TOUCH_MM))

    def with_strokes(self, rows: Flags) -> Flags:
        """(N,) every move of a stroke that holds one of `rows`."""
        has_one = np.zeros(self.first.size + 1, dtype=bool)
        has_one[self.stroke[rows]] = True
        has_one[-1] = False  # moves of no stroke
        return has_one[self.stroke]

    def of_stroke(self, figures: Floats) -> Floats:
        """(N,) of figures (S,) that of each move's stroke; nan where a move has none."""
        return np.append(figures, np.nan)[self.stroke]


def path_of(run: ProgramRun, machine_place_known: bool) -> Path:
    """The tip's way. Without the origin of the work system in machine coordinates, nothing says
    where a move to a machine position leads: it is nan until the program gives a reading again."""
    moves = run.moves
    start, end = moves.start, moves.end
    if moves.shift.any():
        start, end = start + moves.shift, end + moves.shift
    if not machine_place_known:
        start, end = _with_unknown(moves, start, end)
    if run.lost:
        start, end = _with_lost(run, start.copy(), end.copy())
    numbers = distinct(moves.tool)
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
        moves,
        start,
        end,
        forms,
        form,
        radius,
        stroke,
        first,
        last,
        is_feed,
        moves.kind == RAPID,
        is_down,
    )


def distinct(column: NDArray[Any]) -> list[Any]:
    """Its figures in order, each once; of long runs only the first is looked at."""
    begins = np.flatnonzero(np.diff(column)) + 1
    return sorted({*column[:1].tolist(), *column[begins].tolist()})


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


def _with_lost(run: ProgramRun, start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """An axis that a way home has taken where nobody knows is nan until it is stated again."""
    above = float(np.nanmax(end[2], initial=0.0)) + 1.0
    for lost in run.lost:
        end[lost.axis, lost.first : lost.behind] = np.nan
        start[lost.axis, lost.first + 1 : lost.behind] = np.nan
        if lost.behind < end.shape[1]:
            known = end[lost.axis, lost.behind]
            start[lost.axis, lost.behind] = above if lost.axis == 2 else known
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


def chords(path: Path, rows: Ints, error_mm: float = ARC_ERROR_MM) -> tuple[Ints, Floats, Floats]:
    """Straight pieces of the moves `rows`: (row of each piece, starts (3, M), ends (3, M)).

    An arc leaves its pieces by no more than `error_mm`. `in_blocks` keeps many arcs in bounds.
    """
    counts = _pieces(path, rows, error_mm)
    if counts.max(initial=1) == 1:
        return rows, path.start.take(rows, axis=1), path.end.take(rows, axis=1)
    owner = np.repeat(rows, counts)
    total = np.repeat(counts, counts)
    nth = np.arange(owner.size) - np.repeat(np.cumsum(counts) - counts, counts)
    return owner, places_at(path, owner, nth / total), places_at(path, owner, (nth + 1) / total)


def in_blocks(path: Path, rows: Ints, error_mm: float = ARC_ERROR_MM) -> Iterator[Ints]:
    """The rows in stretches whose pieces fit into memory together."""
    if not rows.size:
        return
    block = (np.cumsum(_pieces(path, rows, error_mm)) - 1) // MOST_PIECES
    ends = np.flatnonzero(np.diff(block)) + 1
    yield from np.split(rows, ends)


def _pieces(path: Path, rows: Ints, error_mm: float) -> Ints:
    """(M,) how many straight pieces each move has; one for all that are no arcs."""
    counts = np.ones(rows.size, dtype=np.int64)
    is_arc = path.moves.sweep_deg[rows] > 0
    arcs = rows[is_arc]
    if arcs.size:
        radius = np.maximum(_radius(path, arcs), error_mm)
        step_deg = np.degrees(2 * np.arccos(np.maximum(1 - error_mm / radius, 0)))
        step_deg = np.clip(step_deg, LEAST_STEP_DEG, MOST_STEP_DEG)
        counts[is_arc] = np.ceil(path.moves.sweep_deg[arcs] / step_deg).astype(np.int64)
    return counts


def _radius(path: Path, arcs: Ints) -> Floats:
    moves = path.moves
    ray = moves.start[:, arcs] - moves.centre[:, arcs]
    ray[_OUT_OF_PLANE[moves.plane[arcs] - 17], np.arange(arcs.size)] = 0
    return np.asarray(np.sqrt((ray**2).sum(axis=0)))


def places_at(path: Path, rows: Ints, share: Floats) -> Floats:
    """(3, M) where the tip stands after a share of each move, rows repeated as wanted."""
    moves = path.moves
    start, end = path.start.take(rows, axis=1), path.end.take(rows, axis=1)
    places = start + share * (end - start)
    is_arc = moves.sweep_deg[rows] > 0
    for plane, (across, up, _) in PLANE_AXES.items():
        at = np.flatnonzero(is_arc & (moves.plane[rows] == plane) & (share > 0) & (share < 1))
        if not at.size:
            continue
        arcs = rows[at]
        axes = [across, up]
        centre = (moves.centre[:, arcs] + moves.shift[:, arcs])[axes]
        a, b = start[axes][:, at] - centre
        sense = np.where(moves.kind[arcs] == ARC_CCW, 1.0, -1.0)
        angle = np.radians(moves.sweep_deg[arcs] * sense) * share[at]
        places[across, at] = centre[0] + a * np.cos(angle) - b * np.sin(angle)
        places[up, at] = centre[1] + a * np.sin(angle) + b * np.cos(angle)
    return np.asarray(np.where(share >= 1, end, places))
