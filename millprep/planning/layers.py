"""A bore of a stack: the bodies that it passes, and pecks that begin anew in each of them.

      ____      pecks of the first body
     |_1__|
               an open gap: the drill comes out as through any plate, then goes to the next body
      ____
     |_2__|    or straight on where bodies touch, or a scrap block fills the gap

Imports layers 0 to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from millprep.model.part import Hole, Layer, Part

TOUCHING_MM = 0.001


def passed(part: Part, hole: Hole) -> tuple[Layer, ...]:
    """The bodies that a bore is cut in, top first, scrap blocks among them; () for one blank."""
    return tuple(
        layer
        for layer in part.layers
        if (layer.is_scrap or layer.name in hole.layers) and layer.from_mm < hole.depth_mm
    )


def ends_mm(layers: Sequence[Layer], tip_mm: float, beyond_mm: float) -> list[float]:
    """How deep the tip goes before the next body is begun: where they touch to the end of the
    body, else so far beyond as comes through; in the last to the tip's own depth."""
    ends = []
    for one, other in pairwise(layers):
        gap_mm = other.from_mm - one.to_mm
        ends.append(one.to_mm + (0.0 if gap_mm < TOUCHING_MM else min(beyond_mm, gap_mm)))
    return [*ends, tip_mm]


def pecks_anew(
    layers: Sequence[Layer],
    tip_mm: float,
    beyond_mm: float,
    depths_of: Callable[[float], Sequence[float]],
) -> tuple[float, ...]:
    """Depths of the tip after each peck, counted anew in each body; the last of each is its end.

    depths_of : of the pecks of a hole so deep, () where one go will do
    """
    pecks: list[float] = []
    for layer, end_mm in zip(layers, ends_mm(layers, tip_mm, beyond_mm), strict=True):
        deep_mm = end_mm - layer.from_mm
        pecks += [layer.from_mm + depth for depth in depths_of(deep_mm) or (deep_mm,)]
    return tuple(pecks)
