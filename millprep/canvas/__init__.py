"""Pens: what is drawn does not know how it is stored. Millimetres, y up. Imports layer 0."""

from millprep.canvas.pen import STYLES, Pen, Stroke, Style
from millprep.canvas.recording import Bounds, RecordingPen, TeePen
from millprep.canvas.svg import SvgPen

__all__ = ["STYLES", "Bounds", "Pen", "RecordingPen", "Stroke", "Style", "SvgPen", "TeePen"]
