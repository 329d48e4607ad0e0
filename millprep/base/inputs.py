"""The files that a command reads, which none of its options may write."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from contextvars import ContextVar
from pathlib import Path

Inputs = dict[tuple[int, int], tuple[Path, os.stat_result]]
"""Files by device and number, each with its name and as it stood when it was read first."""
_inputs: ContextVar[Inputs | None] = ContextVar("inputs", default=None)


@contextlib.contextmanager
def inputs_noted() -> Iterator[Inputs]:
    """A command's run: the files noted in it, which none of its options writes."""
    noted: Inputs = {}
    token = _inputs.set(noted)
    try:
        yield noted
    finally:
        _inputs.reset(token)


def note_input(path: Path) -> None:
    """Say that the command has read this file, under whatever name."""
    noted = _inputs.get()
    if noted is not None:
        with contextlib.suppress(OSError, ValueError):
            status = path.stat()
            noted.setdefault((status.st_dev, status.st_ino), (path, status))


def is_input(path: Path) -> bool:
    """Whether the command has read this file: the same one by any name, links of both kinds too."""
    try:
        status = path.stat()
    except (OSError, ValueError):
        return False
    return (status.st_dev, status.st_ino) in (_inputs.get() or ())
