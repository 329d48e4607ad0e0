"""Rows of motion, gathered one by one or a run at a time, and handed over as `Moves`.

What changes with every motion is kept a row each; what changes seldom (speed, tool, offsets) is
kept once as a `Mode` and referred to by number, so that a long program stays quick and small.
Imports numpy and `reading.moves`.
"""

from __future__ import annotations

import math
from array import array
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from millprep.base.records import frozen
from millprep.reading.moves import Floats, Ints, Moves

Point = tuple[float, float, float]
NOWHERE: Point = (math.nan, math.nan, math.nan)

_FLOATS_A_ROW = 12  # start, end, centre, sweep, seconds, feed
_INTS_A_ROW = 6  # line, kind, mode, plane, cycle, machine only
_ROWS_A_BLOCK = 65_536


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


@frozen
class Run:
    """Motions in one mode and plane: line, kind, feed (N,), ends (3, N), and where the first one
    starts; each of the others starts where the one before it ends. Where there are arcs, their
    centres (3, N) and angles (N,), nan and 0 for the straight ones."""

    mode: int
    plane: int
    line: Ints
    kind: Ints
    start: Point
    end: Floats
    feed: Floats
    centre: Floats | None = None
    sweep_deg: Floats | None = None


@frozen
class _Rows:
    """Motions of any kind, as gathered."""

    floats: Floats
    ints: NDArray[np.int32]


class Columns:
    """Growing columns; `append` a row or `extend` by a run, `moves` at the end."""

    def __init__(self) -> None:
        self._floats = array("d")
        self._ints = array("i")
        self._blocks: list[Run | _Rows] = []
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
        if len(self._ints) >= _ROWS_A_BLOCK * _INTS_A_ROW:
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
        ints = np.frombuffer(self._ints, dtype=np.int32).reshape(-1, _INTS_A_ROW).T
        self._blocks.append(_Rows(floats, ints))
        self._floats, self._ints = array("d"), array("i")

    def moves(self) -> Moves:
        """All rows as arrays; the columns are empty afterwards."""
        self._close_block()
        size = self._size
        floats = {name: np.empty(size) for name in ("sweep", "seconds", "feed")}
        points = {name: np.empty((3, size)) for name in ("start", "end", "centre")}
        names = ("line", "kind", "mode", "plane", "cycle", "machine_only")
        ints = {name: np.empty(size, dtype=np.int32) for name in names}
        first = 0
        self._blocks.reverse()  # taken from the end, so that each is freed once it is copied
        while self._blocks:
            block = self._blocks.pop()
            rows = slice(first, first + _size_of(block))
            if isinstance(block, Run):
                _copy_run(block, rows, floats, points, ints)
            else:
                for i, name in enumerate(points):
                    points[name][:, rows] = block.floats[3 * i : 3 * i + 3]
                for i, name in enumerate(floats):
                    floats[name][rows] = block.floats[9 + i]
                for i, name in enumerate(ints):
                    ints[name][rows] = block.ints[i]
            first = rows.stop
        return self._assembled(floats, points, ints)

    def _assembled(
        self, floats: dict[str, Floats], points: dict[str, Floats], ints: dict[str, Ints]
    ) -> Moves:
        mode = ints["mode"]
        shift = np.array([m.shift for m in self._modes]).reshape(-1, 3).T
        to_machine = np.array([m.to_machine for m in self._modes]).reshape(-1, 3).T
        states = np.array([m[3:] for m in self._modes], dtype=np.int32).reshape(-1, 4).T
        machine_end = np.take(to_machine, mode, axis=1)
        machine_end += points["end"]
        return Moves(
            line=ints["line"],
            kind=ints["kind"],
            start=points["start"],
            end=points["end"],
            shift=np.take(shift, mode, axis=1),
            machine_end=machine_end,
            centre=points["centre"],
            plane=ints["plane"],
            sweep_deg=floats["sweep"],
            feed=floats["feed"],
            rpm=np.array([m.rpm for m in self._modes], dtype=np.float64)[mode],
            spindle=states[0][mode],
            tool=states[1][mode],
            offset=states[2][mode],
            cycle=ints["cycle"],
            seconds=floats["seconds"],
            system=states[3][mode],
            machine_only=ints["machine_only"].astype(np.bool_),
        )


def _size_of(block: Run | _Rows) -> int:
    return int(block.line.size if isinstance(block, Run) else block.ints.shape[1])


def _copy_run(
    run: Run,
    rows: slice,
    floats: dict[str, Floats],
    points: dict[str, Floats],
    ints: dict[str, Ints],
) -> None:
    start, end = points["start"][:, rows], points["end"][:, rows]
    end[:] = run.end
    start[:, 0] = run.start
    start[:, 1:] = run.end[:, :-1]
    points["centre"][:, rows] = math.nan if run.centre is None else run.centre
    floats["sweep"][rows] = 0.0 if run.sweep_deg is None else run.sweep_deg
    floats["feed"][rows], floats["seconds"][rows] = run.feed, 0.0
    ints["line"][rows], ints["kind"][rows] = run.line, run.kind
    ints["mode"][rows], ints["plane"][rows] = run.mode, run.plane
    ints["cycle"][rows], ints["machine_only"][rows] = 0, 0
