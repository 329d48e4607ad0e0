"""Two programs compared by what the tool does: motions, holes and time.

Line numbers, comments and spacing are no part of that, and neither is the way in which a motion is
written. Motions are compared as rows of figures, so that a long program costs no more than its
length, and a stretch in which two differ is laid out motion by motion. Imports numpy and `reading`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from difflib import SequenceMatcher
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.reading.moves import ARC_CCW, ARC_CW, DWELL, KIND_WORDS, Floats, Ints, ProgramRun
from millprep.reading.simulate import MadeHole

SAME_MM = 1e-4  # an inch program and a millimetre program round differently
SAME_HOLE_MM = 0.5
MOST_ALIGNED = 3000  # motions of a differing stretch that are laid out one against the other
_BLOCK = 1 << 16  # motions compared at a time
_COLUMNS = (
    "x", "y", "z", "feed", "speed", "spindle", "tool", "seconds", "i", "j", "k", "turn",
    "compensation",
)  # fmt: skip


@frozen
class Place:
    """A motion in its file."""

    file: str
    line: int
    words: str


@frozen
class MoveChange:
    """One motion that is new, gone or other than it was; `what` names the words that differ."""

    new: Place | None
    old: Place | None
    what: tuple[str, ...] = ()


@frozen
class HoleChange:
    """One hole that is new, gone or other than it was."""

    new: MadeHole | None
    old: MadeHole | None


@frozen
class Comparison:
    """What a new run does otherwise than an old one.

    moves     : the changes that are laid out; changed, added, removed count them all
    is_read   : both were read to their end
    """

    moves: tuple[MoveChange, ...]
    changed: int
    added: int
    removed: int
    holes: tuple[HoleChange, ...]
    time_s: float
    old_time_s: float
    is_read: bool

    @property
    def is_same(self) -> bool:
        return not (self.changed or self.added or self.removed or self.holes) and self.is_read


Runs = Sequence[tuple[str, ProgramRun]]


@frozen
class _Rows:
    """The motions of all programs of a side, one after another: kind, columns (13,), owner."""

    kind: Ints
    columns: Sequence[NDArray[Any]]
    program: NDArray[np.int64]
    line: Ints
    files: list[str]

    def __len__(self) -> int:
        return int(self.kind.size)

    def figures(self, rows: slice) -> Floats:
        """(M, 13) of some motions."""
        return np.array([column[rows] for column in self.columns], dtype=np.float64).T

    def place(self, row: int) -> Place:
        figures = self.figures(slice(row, row + 1))
        x, y, z, feed, *_, seconds, _, _, _, _, _ = figures[0].tolist()
        kind = int(self.kind[row])
        words = f"{KIND_WORDS[kind]} to {_placed(x, y, z)}"
        if kind == DWELL:
            words = f"dwell {seconds:g} s"
        elif not math.isnan(feed):
            words += f" F{feed:g}"
        return Place(self.files[int(self.program[row])], int(self.line[row]), words)


def _placed(*place: float) -> str:
    """Each axis, with a ? where nobody knows."""
    pairs = zip("XYZ", place, strict=True)
    return " ".join(f"{axis}?" if math.isnan(at) else f"{axis}{at:.3f}" for axis, at in pairs)


def compare_runs(
    new: Runs,
    old: Runs,
    new_holes: Sequence[MadeHole],
    old_holes: Sequence[MadeHole],
    new_time_s: float,
    old_time_s: float,
) -> Comparison:
    """The differences between two runs on the same stock."""
    one, two = _rows(new), _rows(old)
    moves, counts = _move_changes(one, two)
    return Comparison(
        tuple(moves),
        *counts,
        tuple(_hole_changes(new_holes, old_holes)),
        new_time_s,
        old_time_s,
        all(run.is_complete for _, run in (*new, *old)),
    )


def _rows(runs: Runs) -> _Rows:
    every = [run.moves for _, run in runs]
    each = [_columns(run) for _, run in runs]
    columns = [_joined(parts) for parts in zip(*each, strict=True)]
    owner = np.repeat(np.arange(len(every)), [len(moves) for moves in every])
    kind, line = (_joined([getattr(one, name) for one in every]) for name in ("kind", "line"))
    return _Rows(kind, columns, owner, line, [file for file, _ in runs])


def _columns(run: ProgramRun) -> list[NDArray[Any]]:
    """The thirteen of a program, each (N,); a place that nobody knows is nan."""
    moves = run.moves
    end = moves.end + moves.shift
    for lost in run.lost:
        end[lost.axis, lost.first : lost.behind] = math.nan
    side = np.zeros(len(moves), dtype=np.int8)
    for one in run.compensated:
        side[one.first : one.behind] = 1 if one.side == "left" else -1
    is_arc = (moves.kind == ARC_CW) | (moves.kind == ARC_CCW)
    if is_arc.any():
        centre = np.where(is_arc, moves.centre - moves.start, 0.0)
    else:
        centre = np.broadcast_to(0.0, moves.centre.shape)
    figures = moves.feed, moves.rpm, moves.spindle, moves.tool, moves.seconds
    return [*end, *figures, *centre, moves.sweep_deg, side]


def _joined(parts: Sequence[NDArray[Any]]) -> NDArray[Any]:
    return parts[0] if len(parts) == 1 else np.concatenate(parts)


def _differ(one: _Rows, at: slice, two: _Rows, where: slice) -> NDArray[np.bool_]:
    """(M, 13) which figures of as many motions differ."""
    a, b = one.figures(at), two.figures(where)
    with np.errstate(invalid="ignore"):
        apart = np.abs(a - b) > SAME_MM * np.maximum(1.0, np.abs(a) * 1e-3)
    return np.asarray(apart | (np.isnan(a) != np.isnan(b)))


def _agree(one: _Rows, at: slice, two: _Rows, where: slice) -> NDArray[np.bool_]:
    """(M,) whether two motions are the same."""
    is_other = _differ(one, at, two, where).any(axis=1)
    return np.asarray((one.kind[at] == two.kind[where]) & ~is_other)


def _same_ahead(one: _Rows, two: _Rows) -> int:
    """How many motions at the beginning agree."""
    count = min(len(one), len(two))
    for first in range(0, count, _BLOCK):
        some = slice(first, min(first + _BLOCK, count))
        same = _agree(one, some, two, some)
        if not same.all():
            return first + int(np.argmin(same))
    return count


def _same_behind(one: _Rows, two: _Rows, ahead: int) -> int:
    """How many motions at the end agree, none of them among those at the beginning."""
    count = min(len(one), len(two)) - ahead
    for done in range(0, count, _BLOCK):
        more = min(done + _BLOCK, count)
        at, where = (slice(len(each) - more, len(each) - done) for each in (one, two))
        same = _agree(one, at, two, where)[::-1]
        if not same.all():
            return done + int(np.argmin(same))
    return count


def _move_changes(one: _Rows, two: _Rows) -> tuple[list[MoveChange], tuple[int, int, int]]:
    ahead = _same_ahead(one, two)
    behind = _same_behind(one, two, ahead)
    new, old = (ahead, len(one) - behind), (ahead, len(two) - behind)
    sizes = new[1] - new[0], old[1] - old[0]
    if max(sizes) > MOST_ALIGNED:
        changed = min(sizes)
        return [], (changed, sizes[0] - changed, sizes[1] - changed)
    changes: list[MoveChange] = []
    matcher = SequenceMatcher(None, _keys(one, new), _keys(two, old), autojunk=False)
    for tag, a, b, c, d in matcher.get_opcodes():
        if tag != "equal":
            changes += _pairs(
                one, range(new[0] + a, new[0] + b), two, range(old[0] + c, old[0] + d)
            )
    return changes, (
        sum(change.new is not None and change.old is not None for change in changes),
        sum(change.old is None for change in changes),
        sum(change.new is None for change in changes),
    )


def _keys(rows: _Rows, span: tuple[int, int]) -> list[tuple[object, ...]]:
    figures = np.round(np.nan_to_num(rows.figures(slice(*span)), nan=-1.0), 3) + 0.0
    kinds = rows.kind[span[0] : span[1]].tolist()
    return [(kind, *each) for kind, each in zip(kinds, figures.tolist(), strict=True)]


def _pairs(one: _Rows, new: range, two: _Rows, old: range) -> list[MoveChange]:
    """Motions of a stretch against each other; what is left over is new or gone."""
    changes = []
    for a, b in zip(new, old, strict=False):
        differs = _differ(one, slice(a, a + 1), two, slice(b, b + 1))[0]
        what = [name for name, is_other in zip(_COLUMNS, differs, strict=True) if is_other]
        what += ["kind"] if one.kind[a] != two.kind[b] else []
        if what:
            changes.append(MoveChange(one.place(a), two.place(b), tuple(what)))
    both = min(len(new), len(old))
    changes += [MoveChange(one.place(row), None) for row in new[both:]]
    changes += [MoveChange(None, two.place(row)) for row in old[both:]]
    return changes


def _hole_changes(new: Sequence[MadeHole], old: Sequence[MadeHole]) -> list[HoleChange]:
    """Holes matched by their places; a hole that has moved is one gone and one new."""
    waiting: dict[tuple[int, int], list[MadeHole]] = {}
    for hole in old:
        waiting.setdefault(_cell(hole), []).append(hole)
    changes = []
    for hole in new:
        near = [
            (math.hypot(other.x_mm - hole.x_mm, other.y_mm - hole.y_mm), at, other)
            for at in _around(_cell(hole))
            for other in waiting.get(at, ())
        ]
        near = [entry for entry in near if entry[0] <= SAME_HOLE_MM]
        if not near:
            changes.append(HoleChange(hole, None))
            continue
        _, at, match = min(near, key=lambda entry: entry[0])
        waiting[at].remove(match)
        if _describes(hole) != _describes(match):
            changes.append(HoleChange(hole, match))
    changes += [HoleChange(None, hole) for left in waiting.values() for hole in left]
    return changes


def _cell(hole: MadeHole) -> tuple[int, int]:
    return round(hole.x_mm / SAME_HOLE_MM), round(hole.y_mm / SAME_HOLE_MM)


def _around(cell: tuple[int, int]) -> list[tuple[int, int]]:
    x, y = cell
    return [(x + dx, y + dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1)]


def _describes(hole: MadeHole) -> tuple[object, ...]:
    """What must agree: place, size, depth and operations, to what a program can show."""

    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 3) + 0.0

    steps = tuple(
        (one.name, rounded(one.diameter_mm), rounded(one.tip_mm)) for one in hole.operations
    )
    figures = (hole.x_mm, hole.y_mm, hole.diameter_mm, hole.bottom_mm)
    return (*(rounded(figure) for figure in figures), steps)
