"""The drawing sheet of a part by its own faces, its figures one by one, and small live pictures.

What a page shows while a part grows: pieces of SVG whose looks are classes, and nothing to print.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from millprep.model.part import Part
    from millprep.model.shop import Projection
    from millprep.sheets.stated_figures import StatedFigure
    from millprep.writers.elevations import Board


def elevations(part: Part, projection: Projection = "first") -> Board:
    """The views of a part as a plan has them, with its figures from the edges that they count
    from, and where each stands on the sheet."""
    from millprep.sheets.elevations import elevations_of
    from millprep.sheets.stated_figures import stated_figures
    from millprep.writers.elevations import drawn_board

    return drawn_board(elevations_of(part, projection), stated_figures(part), projection)


def figures_of(part: Part) -> tuple[StatedFigure, ...]:
    """Every figure that the file states, in drawing order, to be compared with the plan."""
    from millprep.sheets.stated_figures import stated_figures

    return stated_figures(part)
