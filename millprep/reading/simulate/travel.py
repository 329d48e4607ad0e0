"""The mill's travel: whether every axis stays between its ends.

Where the shop lists the origin of the work system, each position is known in machine coordinates
and is compared with both ends. Where it does not, only the way that the program needs can be
compared with the way that there is.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millprep.base.records import frozen
from millprep.reading.moves import BY_HAND, WORK_SYSTEMS, Moves, arc_bulges
from millprep.reading.simulate import slips
from millprep.reading.simulate.dry_run import DryRun
from millprep.reading.simulate.findings import Found, found_at, runs_of
from millprep.reading.simulate.path import Flags, Floats, Ints, Path, distinct

_SLACK_MM = 1e-6


@frozen
class Known:
    """What is known of machine positions, (N,) a move each: in X and Y, and in Z."""

    across: Flags
    height: Flags


def known_places(dry: DryRun) -> Known:
    """Where the gauge point stands is known: a listed origin, and for Z the tool's length."""
    moves, tools = dry.path.moves, dry.run.tools
    across = np.array([name in dry.control.offsets_mm for name in WORK_SYSTEMS])[moves.system]
    has_length = np.isin(moves.offset, [number for number in tools if tools[number].length_mm])
    return Known(across, across & has_length)


def travel_faults(dry: DryRun) -> Iterator[Found]:
    """Moves beyond the ends of an axis, or a program that needs more way than an axis has."""
    path, moves, known = dry.path, dry.path.moves, known_places(dry)
    if not len(moves):
        return
    boxes = _machine_boxes(moves)
    for axis, letter in enumerate("XYZ"):
        (least, most), (low, high) = dry.mill.travel_mm[axis], next(boxes)
        has_moved = (moves.start[axis] != moves.end[axis]) | (high - low > _SLACK_MM)
        has_moved &= moves.cycle != BY_HAND
        checked = has_moved & ((known.height if axis == 2 else known.across) | moves.machine_only)
        yield from _too_long(path, axis, has_moved & ~checked, most - least)
        is_out = checked & ((low < least - _SLACK_MM) | (high > most + _SLACK_MM))
        if not is_out.any():
            continue
        is_low = low < least
        yield from runs_of(
            path,
            slips.BEYOND_TRAVEL,
            is_out,
            has_moved,
            axis=letter,
            place_mm=np.where(is_low, low, high),
            beyond_mm=np.where(is_low, least - low, high - most),
            end_mm=np.where(is_low, least, most),
            least_mm=least,
            most_mm=most,
        )


def not_compared(dry: DryRun) -> Iterator[str]:
    """Where the mill's travel could be compared by its length only; of work systems that are not
    listed a note says it."""
    known, in_work = known_places(dry), ~dry.path.moves.machine_only
    is_driven = dry.control.axes == "xyz"
    if is_driven and not (in_work & ~known.across).any() and (in_work & ~known.height).any():
        yield "travel in Z, but for its length: the lengths of some tools are not listed"


def _machine_boxes(moves: Moves) -> Iterator[tuple[Floats, Floats]]:
    """X, Y, Z: (N,) the lowest and highest machine position of each move, its start left out."""
    bulges = arc_bulges(moves) if (moves.sweep_deg > 0).any() else None
    for axis, to_machine in enumerate(moves.to_machine):
        low = high = moves.end[axis] + to_machine
        if bulges is not None:
            least, most = (places[axis] + to_machine for places in bulges)
            low, high = np.minimum(low, least), np.maximum(high, most)
        yield low, high


def _too_long(path: Path, axis: int, among: Flags, length_mm: float) -> Iterator[Found]:
    """Positions that lie farther apart than the axis is long, wherever the work stands.

    In Z tools of unknown length stand where they were set, so each is looked at by itself.
    """
    rows, most_mm = np.flatnonzero(among), length_mm + _SLACK_MM
    tools = path.moves.tool[rows]
    for own in [rows[tools == one] for one in distinct(tools)] if axis == 2 else [rows]:
        low, high = _reach(path, axis, own)
        if not own.size or not np.fmax.reduce(high) - np.fmin.reduce(low) > most_mm:
            continue
        low, high = np.fmin.accumulate(low), np.fmax.accumulate(high)  # so far
        over = np.flatnonzero(high - low > most_mm)
        if over.size:
            needed = float(high[-1] - low[-1])
            figures = {"needed_mm": needed, "length_mm": length_mm}
            row, letter = int(own[over[0]]), "XYZ"[axis]
            yield found_at(path, slips.TRAVEL_TOO_SHORT, row, axis=letter, **figures)


def _reach(path: Path, axis: int, rows: Ints) -> tuple[Floats, Floats]:
    """Lowest and highest of each; where the machine stood before the first move does not count."""
    low = high = path.end[axis, rows]
    bulges = path.moves.sweep_deg[rows] > 0
    if bulges.any():
        low = np.where(bulges, path.low[axis, rows], low)
        high = np.where(bulges, path.high[axis, rows], high)
    aside = path.moves.shift[axis] - path.moves.to_machine[axis]
    if axis != 2 and np.ptp(aside) > 0:  # pieces put in one after another only seem to stand apart
        low, high = low - aside[rows], high - aside[rows]
    return low, high
