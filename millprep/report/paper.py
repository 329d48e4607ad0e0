"""The sheets that a dry run is drawn on: their size, their head, the scales. Imports the canvas."""

from __future__ import annotations

from millprep.canvas.lettering import room_mm
from millprep.canvas.pen import Pen

PAGE_MM = (297.0, 210.0)  # A4 on its long side (ISO 216)
SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)  # ISO 5455
EDGE_MM, HEAD_MM, GAP_MM = 10.0, 12.0, 8.0
LETTERS_MM = 2.5  # ISO 3098-1


def fitting(*sizes_and_rooms: tuple[float, float]) -> float:
    """The largest scale at which each size goes into its room."""
    most = min(room / size for size, room in sizes_and_rooms)
    return next((scale for scale in SCALES if scale <= most), most)


def draw_head(pen: Pen, title: str, words: str) -> None:
    """What the sheet shows, and how large."""
    low = PAGE_MM[1] - EDGE_MM - LETTERS_MM
    title = shortened(title, PAGE_MM[0] - 2 * EDGE_MM - 40, LETTERS_MM)
    pen.text((EDGE_MM, low), title, LETTERS_MM)
    pen.text((PAGE_MM[0] - EDGE_MM, low), words, LETTERS_MM, "right")


def shortened(words: str, room: float, height_mm: float) -> str:
    """The words, cut to the room there is."""
    while len(words) > 1 and room_mm(words, height_mm) > room:
        words = words[:-4].rstrip() + "..." if not words.endswith("...") else words[:-5] + "..."
    return words
