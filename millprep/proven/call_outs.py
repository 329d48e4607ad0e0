"""Call-outs for the page where parts are written: read, taken in a box, and said as a plan does."""

from millprep.infiles.call_out import (
    CallOut,
    HoleWords,
    as_called_out,
    in_box,
    in_boxes,
    read_call_out,
)

__all__ = ["CallOut", "HoleWords", "as_called_out", "in_box", "in_boxes", "read_call_out"]
