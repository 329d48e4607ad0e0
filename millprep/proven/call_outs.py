"""Call-outs for the page where parts are written: read, taken in a box, and said as a plan does."""

from millprep.infiles.call_out import (
    CallOut,
    HoleWords,
    as_called_out,
    in_box,
    in_boxes,
    read_call_out,
)
from millprep.model.part import FACES
from millprep.sizes.likely import SizeKind, sizes_like

__all__ = [
    "FACES", "CallOut", "HoleWords", "SizeKind", "as_called_out", "in_box", "in_boxes",
    "read_call_out", "sizes_like",
]  # fmt: skip
