"""The drawing of one face as it lies: view, running dimensions, letters, table of holes, bars.

Draws with any pen. Lines after ISO 128-2, running dimensions after ISO 129-1, threads after
ISO 6410-1, paper after ISO 216. Imports layers 0 to 2, canvas and sheet.
"""

from millprep.writers.drawing.frame import BAR_MM, Frame, Purpose, frame_for, model_frame
from millprep.writers.drawing.page import draw

__all__ = ["BAR_MM", "Frame", "Purpose", "draw", "frame_for", "model_frame"]
