"""Paper: sizes of ISO 216 laid on their long side, and the scales of ISO 5455. Imports nothing."""

from __future__ import annotations

from collections.abc import Iterator

from millprep.base.records import frozen

SIZES_MM: tuple[tuple[str, float, float], ...] = (
    ("A4", 297, 210),
    ("A3", 420, 297),
    ("A2", 594, 420),
    ("A1", 841, 594),
    ("A0", 1189, 841),
)
REDUCTIONS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000)


@frozen
class Paper:
    """A sheet: name, size [mm] and the reduction of what is drawn on it (2 for 1:2)."""

    name: str
    width_mm: float
    height_mm: float
    reduction: int


_PRINTED_AT_HOME = 2  # once it is reduced, a large sheet has no more to say than A4 or A3


def papers() -> Iterator[Paper]:
    """Every sheet at full size, the smallest first, then the small ones at each reduction."""
    for reduction in REDUCTIONS:
        for name, width_mm, height_mm in SIZES_MM[: None if reduction == 1 else _PRINTED_AT_HOME]:
            yield Paper(name, width_mm, height_mm, reduction)
