"""Hatching: thin lines at 45 degrees over what is cut (ISO 128-3, from memory). Imports pen."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise

from millprep.canvas.pen import Place


def hatched(outline: Sequence[Place], apart_mm: float) -> Iterator[tuple[Place, Place]]:
    """Lines within an outline, by where they cross its sides.

    apart_mm : up the paper; lines of outlines beside each other meet
    """
    sides = [*pairwise([*outline, outline[0]])]
    offsets = [y - x for x, y in outline]
    for number in range(math.floor(min(offsets) / apart_mm), math.ceil(max(offsets) / apart_mm)):
        at = (number + 0.5) * apart_mm
        crossings = []
        for (x0, y0), (x1, y1) in sides:
            a, b = y0 - x0 - at, y1 - x1 - at
            if (a < 0) != (b < 0):
                t = a / (a - b)
                crossings.append((x0 + t * (x1 - x0), y0 + t * (y1 - y0)))
        crossings.sort()
        yield from zip(crossings[::2], crossings[1::2], strict=True)
