"""Rows of motion, gathered one by one and handed over as `Moves`.

What changes with every motion is kept a row each; what changes seldom (feed, speed, tool, offsets)
is kept once as a `Mode` and referred to by number, so that a long program stays quick and small.
Imports numpy and `reading.moves`.
"""

from __future__ import annotations

import math
from array import array
from typing import NamedTuple

import numpy as np

from millprep.reading.moves import Moves

Point = tuple[float, float, float]
NOWHERE: Point = (math.nan, math.nan, math.nan)

_FLOATS_A_ROW = 11  # start, end, centre, sweep, seconds
_INTS_A_ROW = 7  # line, kind, mode, plane, cycle, cycle hole, machine only


class Mode(NamedTuple):
    """What is in force over a run of motions: see the columns of `Moves`.

    to_machine : add to a reading to get the gauge point in machine coordinates [mm]
    """

    shift: Point
    to_machine: Point
    feed_mm_per_min: float
    rpm: float
    spindle: int
    tool: int
    offset: int
    system: int


class Columns:
    """Growing columns; `append` a row at a time, `moves` at the end."""

    def __init__(self) -> None:
        self._floats = array("d")
        self._ints = array("i")
        self._modes: list[Mode] = []

    def __len__(self) -> int:
        return len(self._ints) // _INTS_A_ROW

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
        cycle: int = 0,
        cycle_hole: int = -1,
        is_machine_only: bool = False,
    ) -> None:
        """Adds one motion; positions are readings [mm]."""
        self._floats.extend((*start, *end, *centre, sweep_deg, seconds))
        self._ints.extend((line, kind, mode, plane, cycle, cycle_hole, is_machine_only))

    def moves(self) -> Moves:
        """All rows as arrays."""
        floats = np.frombuffer(self._floats, dtype=np.float64).reshape(-1, _FLOATS_A_ROW).T
        ints = np.frombuffer(self._ints, dtype=np.int32).reshape(-1, _INTS_A_ROW).T
        line, kind, mode, plane, cycle, cycle_hole, machine_only = (row.copy() for row in ints)
        start, end, centre = (floats[i : i + 3].copy() for i in (0, 3, 6))
        vectors = np.array([m.shift + m.to_machine for m in self._modes]).reshape(-1, 6)
        numbers = np.array([m[2:4] for m in self._modes], dtype=np.float64).reshape(-1, 2)
        states = np.array([m[4:] for m in self._modes], dtype=np.int32).reshape(-1, 4)
        feed, rpm = (numbers[mode, i] for i in range(2))
        spindle, tool, offset, system = (states[mode, i] for i in range(4))
        return Moves(
            line=line,
            kind=kind,
            start=start,
            end=end,
            shift=np.ascontiguousarray(vectors[mode, :3].T),
            machine_end=end + vectors[mode, 3:].T,
            centre=centre,
            plane=plane,
            sweep_deg=floats[9].copy(),
            feed=np.where(np.isin(kind, (1, 2, 3)), feed, np.nan),
            rpm=rpm,
            spindle=spindle,
            tool=tool,
            offset=offset,
            cycle=cycle,
            cycle_hole=cycle_hole,
            seconds=floats[10].copy(),
            system=system,
            machine_only=machine_only.astype(np.bool_),
        )
