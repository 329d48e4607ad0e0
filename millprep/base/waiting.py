"""Work that is given up when nobody waits for it any more.

Whoever wants it says so for a stretch of the work; what takes long asks many times a second.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from contextvars import ContextVar

_is_dropped: ContextVar[Callable[[], bool] | None] = ContextVar("is_dropped", default=None)


class Dropped(Exception):  # noqa: N818  # no error
    """Nobody waits any more for what was being worked out."""


@contextlib.contextmanager
def unless(is_dropped: Callable[[], bool] | None) -> Iterator[None]:
    """Within it the work goes on until `is_dropped` says so: then `Dropped` is raised."""
    token = _is_dropped.set(is_dropped)
    try:
        yield
    finally:
        _is_dropped.reset(token)


def go_on() -> None:
    """Asks whether the work is still wanted, between one piece of it and the next."""
    is_dropped = _is_dropped.get()
    if is_dropped is not None and is_dropped():
        raise Dropped
