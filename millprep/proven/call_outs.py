"""Call-outs for the page where parts are written: read, and taken in a box."""

from millprep.infiles.call_out.boxes import in_box as in_box
from millprep.infiles.call_out.boxes import in_boxes as in_boxes
from millprep.infiles.call_out.reader import read_call_out as read_call_out
from millprep.model.part import FACES as FACES
from millprep.sizes.likely import SizeKind as SizeKind
from millprep.sizes.likely import sizes_like as sizes_like
