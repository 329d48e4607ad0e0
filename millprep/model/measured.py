"""Holes as measured, what a person read off the finished part; and those moved to fit them."""

from __future__ import annotations

from millprep.base.records import frozen


@frozen
class MeasuredHole:
    """One hole as measured; None for what was not.

    hole        : the part's name of it
    x_mm, y_mm  : readings of the readout, with its own signs, in the setup in which it is made
    diameter_mm : as measured
    line        : of the file
    is_inch     : whether the plain figures of that line are inches
    setup       : number of the one that it was read in, where the file says it was another
    """

    hole: str
    x_mm: float | None
    y_mm: float | None
    diameter_mm: float | None
    line: int
    is_inch: bool = False
    setup: int | None = None

    @property
    def has_place(self) -> bool:
        return self.x_mm is not None and self.y_mm is not None


@frozen
class Measured:
    """A file of measured holes, in the order of its lines; path as the user gave it."""

    path: str
    holes: tuple[MeasuredHole, ...]

    @property
    def is_inch(self) -> bool:
        """Whether most holes were read in inches."""
        return 2 * sum(one.is_inch for one in self.holes) > len(self.holes)

    def named(self, hole: str) -> MeasuredHole | None:
        return next((one for one in self.holes if one.hole == hole), None)


@frozen
class Moved:
    """One hole, and by how much it is moved in the axes of the setup that was measured [mm]."""

    hole: str
    x_mm: float
    y_mm: float


@frozen
class AsMeasured:
    """What a file of readings does to a part.

    file    : as the user gave it; moved : the holes that go elsewhere than the drawing has them
    drilled : those that it names, taken as drilled; none where it is of a mate of the other hand
    turn_deg : by which the readings are turned, where that is told and not corrected
    is_elsewhere : because they were read in another setup, not because one hole shows no turn
    """

    file: str
    moved: tuple[Moved, ...] = ()
    drilled: tuple[str, ...] = ()
    turn_deg: float | None = None
    is_elsewhere: bool = False
