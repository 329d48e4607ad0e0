"""All views in one scale, with room round each so that they stand in line with each other.

Imports sheets and its neighbours.
"""

from __future__ import annotations

from collections.abc import Sequence

from millprep.base.records import frozen
from millprep.model.part import Face
from millprep.sheets.elevations import Elevation, Seen
from millprep.sheets.stated_figures import StatedFigure
from millprep.writers.elevations.ink import figure
from millprep.writers.elevations.view import ViewDrawing, drawn_view

_WIDE_MM, _HIGH_MM = 150.0, 150.0  # what all faces take side by side and one over the other
_MOST_SCALE = 6.0
_ROUND_MM = 2.0  # round everything


@frozen
class DrawnHole:
    """Where a hole came on a view [user units of the piece], and how it is seen there."""

    name: str
    line: int
    is_own: bool
    x: float
    y: float
    radius: float
    seen: Seen


@frozen
class DrawnView:
    """A view as a piece of SVG.

    row, column : where it stands on the sheet, from 1
    width, height : of the piece, in its user units, which are millimetres of paper
    scale      : user units to a millimetre of the part
    left, foot : where the lower left corner of the face is, in user units
    edges      : the faces at the left, below, at the right and above; size_mm : of the face
    left_out   : keys of figures that found no room, as (table, line, key)
    """

    face: Face
    title: str
    row: int
    column: int
    width: float
    height: float
    scale: float
    left: float
    foot: float
    edges: tuple[Face, Face, Face, Face]
    size_mm: tuple[float, float]
    svg: str
    holes: tuple[DrawnHole, ...]
    left_out: tuple[tuple[str, int | None, str], ...]


@frozen
class Board:
    """The drawing sheet of a part: its views by rows; projection is "first" or "third"."""

    projection: str
    views: tuple[DrawnView, ...]


def drawn_board(
    elevations: Sequence[Elevation], figures: Sequence[StatedFigure], projection: str
) -> Board:
    """The views drawn, each with the figures that belong to it."""
    scale = _scale(elevations)
    drawings = [drawn_view(one, _of_view(one, elevations, figures), scale) for one in elevations]
    return Board(
        projection,
        tuple(
            _piece(view, drawing, scale, _margins(view, elevations, drawings))
            for view, drawing in zip(elevations, drawings, strict=True)
        ),
    )


def _scale(elevations: Sequence[Elevation]) -> float:
    """So that all find room; a step finer than the scales of drawings, for nobody measures here."""
    wide = {view.column: view.size_mm[0] for view in elevations}
    high = {view.row: view.size_mm[1] for view in elevations}
    scale = min(_WIDE_MM / sum(wide.values()), _HIGH_MM / sum(high.values()), _MOST_SCALE)
    return round(scale, 2) if scale > 0.1 else scale


def _of_view(
    view: Elevation, elevations: Sequence[Elevation], figures: Sequence[StatedFigure]
) -> list[StatedFigure]:
    return [one for one in figures if one.kind != "size" and one.face == view.face]


def _margins(
    view: Elevation, elevations: Sequence[Elevation], drawings: Sequence[ViewDrawing]
) -> tuple[float, float, float, float]:
    """Left, above, right and below: as much as any view of the same column or row needs."""
    pairs = [*zip(elevations, drawings, strict=True)]
    aside = [d.margins for v, d in pairs if v.column == view.column]
    level = [d.margins for v, d in pairs if v.row == view.row]
    left, right = (max(one[side] for one in aside) + _ROUND_MM for side in (0, 2))
    above, below = (max(one[side] for one in level) + _ROUND_MM for side in (1, 3))
    return left, above, right, below


def _piece(
    view: Elevation, drawing: ViewDrawing, scale: float, margins: tuple[float, float, float, float]
) -> DrawnView:
    left, above, right, below = margins
    wide, high = view.size_mm[0] * scale, view.size_mm[1] * scale
    width, height = left + wide + right, above + high + below
    edges = dict(zip(("at-left", "at-foot", "at-right", "at-head"), view.edges, strict=True))
    data = {
        "face": view.face,
        "scale": f"{scale:.6g}",
        "wide-mm": f"{view.size_mm[0]:.6g}",
        "high-mm": f"{view.size_mm[1]:.6g}",
        "left": "0",
        "foot": f"{high:.6g}",
        **edges,
    }
    holes = tuple(
        DrawnHole(
            one.name,
            one.line,
            one.is_own,
            one.at[0] * scale,
            high - one.at[1] * scale,
            one.radius_mm * scale,
            one.seen,
        )
        for one in view.holes
    )
    return DrawnView(
        view.face,
        view.title,
        view.row,
        view.column,
        width,
        height,
        scale,
        0.0,
        high,
        view.edges,
        view.size_mm,
        figure(view.title, (-left, -above, width, height), drawing.pieces, data),
        holes,
        drawing.left_out,
    )
