"""Dashes laid out by hand, for formats that draw plain lines only. Imports nothing.

A broken line begins and ends with a whole dash (ISO 128-2), so the pattern is stretched to fit; a
line too short for its pattern has a smaller one, so that it is not taken for a whole line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

_SMALLEST = 0.2  # of the pattern: what is shorter yet is drawn whole, as it would come out anyhow


def stretch_of(length_mm: float, dashes_mm: Sequence[float]) -> float:
    """How much the pattern is stretched along a line of that length; 0 where it is drawn whole."""
    if not dashes_mm:
        return 0.0
    period = sum(dashes_mm)
    count = max(1, round((length_mm - dashes_mm[0]) / period))
    stretch = length_mm / (count * period + dashes_mm[0])
    return stretch if stretch >= _SMALLEST else 0.0


def dashed(
    length_mm: float, dashes_mm: Sequence[float], *, is_ring: bool = False
) -> list[tuple[float, float]]:
    """(from, to) of each dash along a line of that length, or round a ring.

    dashes_mm : dash, gap, dash, gap ...
    """
    period = sum(dashes_mm)
    if is_ring:
        count = round(length_mm / period) if period else 0
        stretch = length_mm / (count * period) if count else 0.0
    else:
        stretch = stretch_of(length_mm, dashes_mm)
        count = round((length_mm / stretch - dashes_mm[0]) / period) if stretch else 0
    if not count:
        return [(0.0, length_mm)]
    pieces = []
    at = 0.0
    for _ in range(count):
        for index, each in enumerate(dashes_mm):
            if index % 2 == 0:
                pieces.append((at, at + each * stretch))
            at += each * stretch
    if not is_ring:
        pieces.append((at, length_mm))
    return pieces


def dashed_arc(
    radius_mm: float, start_deg: float, sweep: float, dashes_mm: Sequence[float]
) -> list[tuple[float, float]]:
    """(from, to) in degrees of each dash of an arc that goes `sweep` degrees round."""
    length_mm = math.radians(sweep) * radius_mm
    pieces = dashed(length_mm, dashes_mm, is_ring=sweep >= 360)
    if len(pieces) == 1:
        return [(start_deg, start_deg + sweep)]
    return [
        (start_deg + sweep * a / length_mm, start_deg + sweep * b / length_mm) for a, b in pieces
    ]
