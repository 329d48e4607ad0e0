"""G-code read: text to `Moves`. `read_program` is the whole of it for those outside."""

from millprep.reading.gcode.program import read_program

__all__ = ["read_program"]
