"""Where a place of a view comes on the page. Imports sheets and canvas."""

from __future__ import annotations

from millprep.base.records import frozen
from millprep.canvas.pen import Place
from millprep.model.part import Point
from millprep.sheets.elevations import Elevation, on_view


@frozen
class Paper:
    """A view in a scale: zero at the upper left corner of its face, y down."""

    view: Elevation
    scale: float

    @property
    def wide(self) -> float:
        return self.view.size_mm[0] * self.scale

    @property
    def high(self) -> float:
        return self.view.size_mm[1] * self.scale

    def at(self, place: Place) -> Place:
        """Of a place on the view [mm right, mm up]."""
        return place[0] * self.scale, self.high - place[1] * self.scale

    def of(self, point: Point) -> Place:
        """Of a point in part axes."""
        return self.at(on_view(self.view.face, self.view.stock, point))
