"""The mill's travel: whether every axis stays between its ends.

Where the shop lists the origin of the work system, each position is known in machine coordinates
and is compared with both ends. Where it does not, only the way that the program needs can be
compared with the way that there is. Imports `measure`, `path` and `findings`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from millprep.base.records import frozen
from millprep.model.shop import Control, Mill
from millprep.reading.measure import arc_bulges
from millprep.reading.moves import Moves
from millprep.reading.simulate.cutting import harms_at
from millprep.reading.simulate.findings import Harm
from millprep.reading.simulate.path import Flags, Floats, Ints, Path

_SLACK_MM = 1e-6


@frozen
class Known:
    """What is known of machine positions, (N,) a move each: in X and Y, and in Z."""

    across: Flags
    height: Flags


def known_places(path: Path, control: Control, lengths: dict[int, float]) -> Known:
    """Where the gauge point stands is known: a listed origin, and for Z the tool's length.

    lengths : tool number -> length in the control's table
    """
    moves = path.moves
    listed = [_is_listed(index, control) for index in range(int(moves.system.max(initial=0)) + 1)]
    across = np.array(listed, dtype=bool)[moves.system]
    has_length = np.isin(moves.offset, [number for number, length in lengths.items() if length])
    return Known(across, across & has_length)


def _is_listed(index: int, control: Control) -> bool:
    systems = [f"G{number}" for number in range(54, 60)] + ["G59.1", "G59.2", "G59.3"]
    return systems[index] in control.offsets_mm


def travel_harms(path: Path, mill: Mill, known: Known) -> list[Harm]:
    """Moves beyond the ends of an axis, or a program that needs more way than an axis has."""
    harms: list[Harm] = []
    if not len(path.moves):
        return harms
    low, high = _machine_boxes(path.moves)
    for axis, letter in enumerate("XYZ"):
        least, most = mill.travel_mm[axis]
        has_moved = path.moves.start[axis] != path.moves.end[axis]
        has_moved |= high[axis] - low[axis] > _SLACK_MM
        is_known = known.height if axis == 2 else known.across
        checked = has_moved & (is_known | path.moves.machine_only)
        is_out = checked & ((low[axis] < least - _SLACK_MM) | (high[axis] > most + _SLACK_MM))
        words = _beyond(letter, low[axis], high[axis], least, most)
        harms += harms_at(path, is_out, has_moved, "stop", "outside-travel", words)
        harms += _too_long(path, axis, letter, has_moved & ~checked, most - least)
    return harms


def _machine_boxes(moves: Moves) -> tuple[Floats, Floats]:
    """(3, N) the lowest and highest machine position of each move, its start left out."""
    low = high = moves.machine_end
    if (moves.sweep_deg > 0).any():
        least, most = arc_bulges(moves)
        to_machine = moves.machine_end - moves.end
        low, high = np.minimum(low, least + to_machine), np.maximum(high, most + to_machine)
    return low, high


def _beyond(
    letter: str, low: Floats, high: Floats, least: float, most: float
) -> Callable[[int], tuple[str, str]]:
    def words(row: int) -> tuple[str, str]:
        is_low = low[row] < least
        end, beyond = (least, least - low[row]) if is_low else (most, high[row] - most)
        place = low[row] if is_low else high[row]
        return (
            f"{letter} goes to machine {place:.3f}, {beyond:.3f} mm beyond the end of its travel "
            f"at {end:g}",
            f"the mill's {letter} goes from {least:g} to {most:g}: clamp the work elsewhere, or "
            "change the program",
        )

    return words


def _too_long(path: Path, axis: int, letter: str, among: Flags, length_mm: float) -> list[Harm]:
    """Positions that lie farther apart than the axis is long, wherever the work stands.

    In Z tools of unknown length stand where they were set, so each is looked at by itself.
    """
    harms = []
    rows = np.flatnonzero(among)
    tools = path.moves.tool[rows] if axis == 2 else np.zeros(rows.size, dtype=np.int32)
    for tool in sorted(set(tools.tolist())):
        own = rows[tools == tool]
        low, high = _reach_so_far(path, axis, own)
        with np.errstate(invalid="ignore"):
            over = np.flatnonzero(high - low > length_mm + _SLACK_MM)
        if over.size:
            row = int(own[over[0]])
            harms.append(
                Harm(
                    row,
                    "stop",
                    "outside-travel",
                    int(path.moves.line[row]),
                    f"the program needs {high[-1] - low[-1]:.3f} mm of {letter}; the mill has "
                    f"{length_mm:g} mm",
                    "divide the work, or list the work offset in the shop file to see where",
                )
            )
    return harms


def _reach_so_far(path: Path, axis: int, rows: Ints) -> tuple[Floats, Floats]:
    """Lowest and highest so far; where the machine stood before the first move does not count."""
    end = path.end[axis, rows]
    bulges = path.moves.sweep_deg[rows] > 0
    low = np.where(bulges, path.low[axis, rows], end)
    high = np.where(bulges, path.high[axis, rows], end)
    return np.fmin.accumulate(low), np.fmax.accumulate(high)
