"""Running a command: what cannot be judged, and output that cannot be written, end in a status."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import wraps
from typing import Any


def as_command(work: Callable[..., int]) -> Callable[..., int]:
    """A function that gives an exit status, as a command: what cannot be judged gives status 2."""

    @wraps(work)
    def command(**given: Any) -> int:
        from millprep.base.findings import MillprepError, WordError
        from millprep.base.inputs import inputs_noted
        from millprep.cli.common import refused

        try:
            with inputs_noted():
                status = work(**given)
            sys.stdout.flush()
        except (MillprepError, WordError) as error:
            status = refused(error, given.get("format"))
        except OSError as error:
            status = not_printed(error)
        return status

    return command


def not_printed(error: OSError) -> int:
    """The exit status where stdout takes no more: its reader has gone, or the disk is full."""
    from millprep.base.findings import stopped
    from millprep.cli.common import refused

    if error.filename is not None:  # of a file, and not of stdout: a bug
        raise error
    sys.stdout = open(os.devnull, "w")  # noqa: SIM115, PTH123  # so that the exit flushes nothing
    if isinstance(error, BrokenPipeError):
        return 0
    message = f"what was to be printed cannot be written: {error.strerror}"
    return refused(stopped("output-refused", message, "make room"), None)
