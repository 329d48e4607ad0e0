"""A bore of a stack: the bodies that it passes, its pecks, and how a program feeds through them.

      ____      pecks of the first body
     |_1__|
               an open gap: the drill comes out as through any plate, then goes to the next body
      ____
     |_2__|    or straight on where bodies touch, or a scrap block fills the gap

Pecks begin anew in each body; a program is eased in and out, and rapid over gaps. Imports layers 0
to 3 and planning's data.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

from millprep.base.records import frozen
from millprep.model.part import Hole, Layer, Part
from millprep.planning.plan import Operation
from millprep.sums.cutting import breakthrough_mm

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


EASED = 0.7  # of the feed where the point goes into a body, and comes out (common practice)
_SAME_MM = 1e-6


@frozen
class Bite:
    """One way down between two withdrawals: the Z that a rapid may go to, then Z and share of the
    feed, one after the other."""

    from_mm: float
    feeds: tuple[tuple[float, float], ...]


def bites_of(
    operation: Operation,
    layers: Sequence[Layer],
    retract_mm: float,
    clearance_mm: float,
    *,
    is_eased: bool,
) -> Iterator[Bite]:
    """The bites of a tool, from above the face down; is_eased : where it goes in and comes out."""
    done_mm = 0.0
    eased = list(_eased(operation, layers)) if is_eased else []
    for z_mm in operation.pecks_mm or (operation.z_mm,):
        deep_mm = -z_mm
        over = next((one.from_mm for one in layers if _is_over(one, layers, done_mm)), done_mm)
        from_mm = retract_mm if not done_mm else min(clearance_mm - max(done_mm, over), retract_mm)
        begin = max(done_mm, over)
        ends = sorted({end for span in eased for end in span if begin < end < deep_mm} | {deep_mm})
        feeds: list[tuple[float, float]] = []
        for one, other in zip([begin, *ends], ends, strict=False):
            middle = (one + other) / 2
            share = EASED if any(low < middle < high for low, high in eased) else 1.0
            if feeds and feeds[-1][1] == share:
                feeds.pop()
            feeds.append((z_mm if other == deep_mm else -other, share))
        yield Bite(from_mm, tuple(feeds))
        done_mm = deep_mm


def _is_over(layer: Layer, layers: Sequence[Layer], done_mm: float) -> bool:
    """Whether the tip has come out above this body and into nothing."""
    above = [one.to_mm for one in layers if one.to_mm <= layer.from_mm + _SAME_MM]
    is_gap = bool(above) and layer.from_mm - max(above) > _SAME_MM
    return is_gap and max(above) - _SAME_MM <= done_mm < layer.from_mm


def _eased(operation: Operation, layers: Sequence[Layer]) -> Iterator[tuple[float, float]]:
    """How deep the tip is while its point goes into a body, and while it comes out."""
    point_mm = -operation.z_mm - operation.full_mm
    for layer in layers:
        yield layer.from_mm, layer.from_mm + point_mm
        beyond_mm = breakthrough_mm(operation.tool.diameter_mm)
        yield layer.to_mm - beyond_mm, layer.to_mm + point_mm + beyond_mm
