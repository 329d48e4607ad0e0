"""Paper: the sheets a home printer takes, laid on their long side, and the scales of ISO 5455.

Sizes of ISO 216 (A4, A3) and of ANSI Y14.1 (Letter), from memory. Imports layer 0.
"""

from __future__ import annotations

from collections.abc import Mapping

from millprep.base.records import frozen


@frozen
class Scale:
    """So many millimetres on the paper for so many of the part."""

    paper: int
    part: int

    @property
    def factor(self) -> float:
        return self.paper / self.part

    def __str__(self) -> str:
        return f"{self.paper}:{self.part}"


FULL_SIZE = Scale(1, 1)
SCALES = (
    Scale(5, 1),
    Scale(2, 1),
    FULL_SIZE,
    *(Scale(1, n * ten) for ten in (1, 10, 100, 1000) for n in (2, 5, 10)),
)
"""The largest first; what does not fit at 1:10 is a part that no mill at home takes."""


@frozen
class Paper:
    """A sheet: size [mm], and how far inside its edges the frame of a drawing stands."""

    name: str
    width_mm: float
    height_mm: float
    side_mm: float = 10.0
    foot_mm: float = 10.0

    @property
    def right_mm(self) -> float:
        """Where the frame ends."""
        return self.width_mm - self.side_mm

    @property
    def top_mm(self) -> float:
        return self.height_mm - self.foot_mm

    @property
    def across_mm(self) -> float:
        """Width of the frame."""
        return self.width_mm - 2 * self.side_mm


EITHER = Paper("A4 or Letter", 297, 210, side_mm=16)
"""A sheet of A4 whose frame a printer puts on Letter too, 279.4 mm wide, at full size."""
PAPERS: Mapping[str, Paper] = {
    "a4": Paper("A4", 297, 210),
    "a3": Paper("A3", 420, 297),
    "letter": Paper("Letter", 279.4, 215.9),
}
"""By the word on the command line."""
