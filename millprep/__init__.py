"""millprep: one description of a part, every sheet for the mill."""

import sys

__version__ = "0.1.0"

# pip refuses an older Python, one that runs a clone does not. Any Python must be able to read this.
if sys.version_info < (3, 11):  # noqa: UP036  # so that it is told, not met as a fault further on
    found = sys.version.split()[0]
    sys.stderr.write("stop: millprep needs Python 3.11 or later, and this is " + found + "\n")
    sys.exit(2)
