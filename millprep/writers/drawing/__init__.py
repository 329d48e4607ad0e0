"""The drawing of one face as it lies: views, running dimensions, letters, table of holes, bars.

Draws with any pen. Lines after ISO 128-2, running dimensions after ISO 129-1, threads after
ISO 6410-1, scales after ISO 5455, the title after ISO 7200 (all from memory). Imports layers 0 to
2, canvas and sheets.
"""

from millprep.writers.drawing.foot import BARS_MM
from millprep.writers.drawing.frame import Frame, Purpose, frame_for, model_frame, usable_paper
from millprep.writers.drawing.page import draw
from millprep.writers.drawing.sheets import Sheet, sheets_of

__all__ = [
    "BARS_MM",
    "Frame",
    "Purpose",
    "Sheet",
    "draw",
    "frame_for",
    "model_frame",
    "sheets_of",
    "usable_paper",
]
