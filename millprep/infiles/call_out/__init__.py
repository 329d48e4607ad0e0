"""Call-outs as plans print them: read into a hole's figures, and a hole's figures said as one."""

from millprep.infiles.call_out.boxes import in_box, in_boxes
from millprep.infiles.call_out.reader import CallOut, read_call_out
from millprep.infiles.call_out.saying import HoleWords, as_called_out

__all__ = ["CallOut", "HoleWords", "as_called_out", "in_box", "in_boxes", "read_call_out"]
