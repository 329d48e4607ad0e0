"""Paper: sizes of ISO 216 laid on their long side, and the scales of ISO 5455. Imports nothing."""

from __future__ import annotations

from dataclasses import dataclass

SIZES_MM: tuple[tuple[str, float, float], ...] = (
    ("A4", 297, 210), ("A3", 420, 297), ("A2", 594, 420), ("A1", 841, 594), ("A0", 1189, 841),
)  # fmt: skip
REDUCTIONS = (1, 2, 5, 10, 20, 50, 100)


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet: name, size [mm] and the reduction of what is drawn on it (2 for 1:2)."""

    name: str
    width_mm: float
    height_mm: float
    reduction: int


def paper_for(width_mm: float, height_mm: float, aside_mm: float, above_mm: float) -> Paper:
    """The smallest sheet that takes a view at full size with room aside and above, else reduced."""
    for reduction in REDUCTIONS:
        for name, wide, high in SIZES_MM:
            fits_across = width_mm / reduction + aside_mm <= wide
            if fits_across and height_mm / reduction + above_mm <= high:
                return Paper(name, wide, high, reduction)
    name, wide, high = SIZES_MM[-1]
    return Paper(name, wide, high, REDUCTIONS[-1])
