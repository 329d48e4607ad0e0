"""Files that people write, edited as texts: one figure or one line at a time, the rest untouched.

Nothing here reads or writes a file. What stands in a text is `as_written`; what a person types is
put down as the TOML value that its key takes, and the remarks and the layout around it stay to the
letter.
"""

from millprep.infiles.editing.lines import copied as copied
from millprep.infiles.editing.lines import line_added as line_added
from millprep.infiles.editing.lines import line_moved as line_moved
from millprep.infiles.editing.lines import line_removed as line_removed
from millprep.infiles.editing.lines import lines_set_aside as lines_set_aside
from millprep.infiles.editing.lines import new_part as new_part
from millprep.infiles.editing.lines import other_hand as other_hand
from millprep.infiles.editing.putting import Figure as Figure
from millprep.infiles.editing.putting import put_down as put_down
from millprep.infiles.editing.written import Line as Line
from millprep.infiles.editing.written import Written as Written
from millprep.infiles.editing.written import as_written as as_written
from millprep.infiles.editing.written import same_lines as same_lines
