"""The part by its own faces as pieces of SVG for a page: holes, hidden detail, figures, balloons.

Looks are left to classes (`style.css`): a page may forbid styles inside it. Imports layers 0 to 2,
sheets and canvas.
"""

from millprep.writers.elevations.board import Board, DrawnHole, DrawnView, drawn_board

__all__ = ["Board", "DrawnHole", "DrawnView", "drawn_board"]
