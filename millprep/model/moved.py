"""Holes moved on a part's sheets to fit holes that are drilled and measured."""

from __future__ import annotations

from millprep.base.records import frozen


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
