"""Rows of motion, gathered one by one or a run at a time, and handed over as `Moves`.

What changes with every motion is kept a row each; what changes seldom (speed, tool, offsets) is
kept once as a `Mode` and referred to by number, so that a long program stays quick and small.
"""

from __future__ import annotations

import math
from array import array
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import as_dict, frozen
from millprep.reading.moves import Floats, Ints, Moves

Point = tuple[float, float, float]
NOWHERE: Point = (math.nan, math.nan, math.nan)

_FLOATS = {"start": 3, "end": 3, "centre": 3, "sweep_deg": 1, "seconds": 1, "feed": 1}
_INTS = ("line", "kind", "mode", "plane", "cycle", "machine_only")
_SELDOM = ("centre", "sweep_deg", "seconds", "plane", "cycle", "machine_only")
_FLOATS_A_ROW = sum(_FLOATS.values())
_ROWS_A_BLOCK = 65_536

Block = dict[str, NDArray[Any] | float]
"""Motions by column; of the seldom ones a number where they all agree."""


class Mode(NamedTuple):
    """What is in force over a run of motions: see the columns of `Moves`.

    to_machine : add to a reading to get the gauge point in machine coordinates [mm]
    """

    shift: Point
    to_machine: Point
    rpm: float
    spindle: int
    tool: int
    offset: int
    system: int


_STATES = Mode._fields[3:]
_NO_MODE = Mode(NOWHERE, NOWHERE, 0.0, 0, 0, 0, 0)


@frozen
class Run:
    """Motions in one mode and plane: line, kind, feed (N,), ends (3, N), and where the first one
    starts; each of the others starts where the one before it ends. Where there are arcs, their
    centres (3, N) and angles (N,), nan and 0 for the straight ones; of dwells, the seconds (N,)."""

    mode: int
    plane: int
    line: Ints
    kind: Ints
    start: Point
    end: Floats
    feed: Floats
    centre: Floats | float = math.nan
    sweep_deg: Floats | float = 0.0
    seconds: Floats | float = 0.0
    cycle: int = 0

    def block(self) -> Block:
        """By column."""
        start = np.hstack([np.array(self.start)[:, None], self.end[:, :-1]])
        return {**as_dict(self), "start": start, "machine_only": 0}


class Columns:
    """Growing columns; `append` a row or `extend` by a run, `moves` at the end."""

    def __init__(self) -> None:
        self._floats = array("d")
        self._ints = array("i")
        self._blocks: list[Block | Run] = []
        self._modes: list[Mode] = []
        self._size = 0

    def __len__(self) -> int:
        return self._size

    @property
    def first_tool(self) -> int:
        """The tool in the spindle at the first motion, 0 for none."""
        return self._modes[0].tool if self._modes else 0

    def mode_number(self, mode: Mode) -> int:
        """The number by which rows refer to the mode."""
        if not self._modes or self._modes[-1] != mode:
            self._modes.append(mode)
        return len(self._modes) - 1

    def append(
        self,
        line: int,
        kind: int,
        mode: int,
        start: Point,
        end: Point,
        *,
        plane: int = 17,
        centre: Point = NOWHERE,
        sweep_deg: float = 0.0,
        seconds: float = 0.0,
        feed: float = math.nan,
        cycle: int = 0,
        is_machine_only: bool = False,
    ) -> None:
        """Adds one motion; positions are readings [mm]."""
        self._floats.extend((*start, *end, *centre, sweep_deg, seconds, feed))
        self._ints.extend((line, kind, mode, plane, cycle, is_machine_only))
        self._size += 1
        if len(self._ints) >= _ROWS_A_BLOCK * len(_INTS):
            self._close_block()

    def extend(self, run: Run) -> None:
        """Adds a run of motions."""
        self._close_block()
        self._blocks.append(run)
        self._size += run.line.size

    def _close_block(self) -> None:
        if not self._ints:
            return
        floats = np.frombuffer(self._floats, dtype=np.float64).reshape(-1, _FLOATS_A_ROW).T
        ints = np.frombuffer(self._ints, dtype=np.int32).reshape(-1, len(_INTS)).T
        block: Block = dict(zip(_INTS, ints, strict=True))
        first = 0
        for name, width in _FLOATS.items():
            block[name] = floats[first : first + width] if width > 1 else floats[first]
            first += width
        for name in _SELDOM:
            figure = _figure_of(block[name])
            block[name] = block[name] if figure is None else figure
        self._blocks.append(block)
        self._floats, self._ints = array("d"), array("i")

    def moves(self) -> Moves:
        """All rows as arrays; the columns are empty afterwards."""
        self._close_block()
        made = {name: self._column(name) for name in (*_FLOATS, *_INTS)}
        to_fill = {name: column for name, column in made.items() if column.flags.writeable}
        first = 0
        self._blocks.reverse()  # taken from the end, so that each is freed once it is copied
        while self._blocks:
            one = self._blocks.pop()
            block = one.block() if isinstance(one, Run) else one
            rows = slice(first, first + np.size(block["line"]))
            for name, column in to_fill.items():
                column[..., rows] = block[name]
            first = rows.stop
        mode = made.pop("mode")
        made["machine_only"] = made["machine_only"].astype(np.bool_)
        made |= {name: _in_force(self._modes, name, mode) for name in Mode._fields}
        return Moves(**made)

    def _column(self, name: str) -> NDArray[Any]:
        """Room for all rows; one that is the same in each of them is filled already."""
        width, kind = _FLOATS.get(name, 1), np.float64 if name in _FLOATS else np.int32
        shape = (width, self._size) if width > 1 else (self._size,)
        if name in _SELDOM and self._blocks:
            figures = [
                getattr(one, name, 0) if isinstance(one, Run) else one[name] for one in self._blocks
            ]
            if not any(np.ndim(figure) for figure in figures):
                figure = _figure_of(np.array(figures, dtype=kind))
                if figure is not None:
                    return np.broadcast_to(np.array(figure, dtype=kind), shape)
        return np.empty(shape, dtype=kind)


def _figure_of(column: NDArray[Any] | float) -> float | None:
    """The one that all of a column are, None where they differ."""
    values = np.ravel(column)
    is_same = (values == values[0]).all() or np.isnan(values).all()
    return values[0].item() if is_same else None


def _in_force(modes: list[Mode], name: str, mode: Ints) -> NDArray[Any]:
    """What the mode of each row has: (N,), or (3, N) of points."""
    values = [getattr(each, name) for each in modes or [_NO_MODE]]
    table = np.array(values, dtype=np.int32 if name in _STATES else np.float64).T
    if len(set(values)) == 1:
        return np.broadcast_to(table[..., :1], (*table.shape[:-1], mode.size))
    return np.take(table, mode, axis=-1)
