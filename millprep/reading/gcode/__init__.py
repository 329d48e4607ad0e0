"""G-code read: text to `Moves`. `read_program` is the whole of it for those outside.

`JsonTrace`, or any function of an `Event`, listens to each act as it is carried out.
"""

from millprep.reading.gcode.acting import Event, JsonTrace, Trace
from millprep.reading.gcode.program import Progress, read_program

__all__ = ["Event", "JsonTrace", "Progress", "Trace", "read_program"]
