"""Dashes laid out by hand, for formats that draw plain lines only. Imports nothing.

A broken line begins and ends with a whole dash (ISO 128-2), so the pattern is stretched to fit.
"""

from __future__ import annotations

import math
from collections.abc import Sequence


def dashed(
    length_mm: float, dashes_mm: Sequence[float], *, is_ring: bool = False
) -> list[tuple[float, float]]:
    """(from, to) of each dash along a line of that length, or round a ring.

    dashes_mm : dash, gap, dash, gap ...
    """
    first, period = (dashes_mm[0], sum(dashes_mm)) if dashes_mm else (0.0, 0.0)
    end = 0.0 if is_ring else first
    count = round((length_mm - end) / period) if period else 0
    if count < 1:
        return [(0.0, length_mm)]
    stretch = length_mm / (count * period + end)
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
