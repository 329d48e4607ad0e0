"""The drill before a reamer: which of a drawer, and which to buy. Imports layers 0 to 2."""

from __future__ import annotations

from collections.abc import Sequence

from millprep.reference.drills import Drill, DrillSeries, drills
from millprep.reference.materials import Material, ream_stock_mm
from millprep.reference.shared_rules import before_reamer

SIXTY_FOURTH_MM = 25.4 / 64  # under a reamer of 1/4 to 1/2 in for general work (course text)
NEAR_MM = 0.0026  # a size is the size asked for within a tenth of a thousandth of an inch
TENTHS_BELOW_MM = 14.0  # from here on twist drills go by quarters of a millimetre (ISO 235)


def off_stock_mm(
    size_mm: float, drill_mm: float, material: Material | None, is_hand: bool = False
) -> float:
    """How far what a drill leaves for the reamer lies outside the table's stock [mm], or 0.

    Source of the stock: a training note on undersizes for reaming.
    """
    least_mm, most_mm = ream_stock_mm(size_mm, material, is_hand)
    left_mm = size_mm - drill_mm
    is_64th = abs(left_mm - SIXTY_FOURTH_MM) < NEAR_MM and 6.35 <= size_mm <= 12.7
    return 0.0 if is_64th else round(max(least_mm - left_mm, left_mm - most_mm, 0.0), 4)


def best_before_reamer(
    sizes_mm: Sequence[float], size_mm: float, material: Material | None, is_hand: bool = False
) -> float | None:
    """Of those drills the one whose stock comes nearest to the table's, the larger of two."""
    before = before_reamer(size_mm, material, is_hand)
    usual = [each for each in sizes_mm if before.is_usual(each)]
    by_stock = {each: (off_stock_mm(size_mm, each, material, is_hand), -each) for each in usual}
    return min(usual, key=by_stock.__getitem__, default=None)


def bought_before_reamer(
    bought: Sequence[DrillSeries], size_mm: float, material: Material | None, is_hand: bool = False
) -> Drill | None:
    """The drill to buy, of the first series that has as good a one; None where none will do."""
    before = before_reamer(size_mm, material, is_hand)
    made = [
        (off_stock_mm(size_mm, drill.diameter_mm, material, is_hand), rank, -drill.diameter_mm)
        for rank, series in enumerate(bought)
        for drill in drills(series)
        if before.is_usual(drill.diameter_mm) and is_bought(drill)
    ]
    if not made:
        return None
    _, rank, minus_mm = min(made)
    return next(drill for drill in drills(bought[rank]) if drill.diameter_mm == -minus_mm)


def is_bought(drill: Drill) -> bool:
    """Small metric drills between the tenths are made, and in few sets."""
    tenths = 10 * drill.diameter_mm
    is_between = drill.series == "metric" and abs(tenths - round(tenths)) > NEAR_MM
    return not (is_between and drill.diameter_mm < TENTHS_BELOW_MM)
