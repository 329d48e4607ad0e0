"""The part by its own faces as pieces of SVG for a page: holes, hidden detail, figures, balloons.

Looks are left to classes (`style.css`): a page may forbid styles inside it. Imports layers 0 to 2,
sheets and canvas.
"""

from pathlib import Path

from millprep.writers.elevations.board import Board, DrawnHole, DrawnView, drawn_board

__all__ = ["Board", "DrawnHole", "DrawnView", "drawn_board", "looks"]


def looks() -> str:
    """The rules for these pieces and for the small pictures."""
    here = Path(__file__).parent
    files = (here.parent / "pictures" / "style.css", here / "style.css")
    return "".join(file.read_text(encoding="utf-8") for file in files)
