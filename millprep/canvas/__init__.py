"""Pens: what is drawn does not know how it is stored. Millimetres, y up. Imports layer 0."""

from millprep.canvas.pen import STYLES, Pen, Stroke, Style
from millprep.canvas.recording import RecordingPen
from millprep.canvas.svg import SvgPen

__all__ = ["STYLES", "Pen", "RecordingPen", "Stroke", "Style", "SvgPen"]
