"""How often each file has changed while the desk ran, so that pages know what to renew.

The folder is looked at when a page asks, which it does every second: a folder on a network says
nothing of what other machines do in it. Imports `files`.
"""

from __future__ import annotations

import threading
import time

from millprep.desk.files import Files

_FRESH_SECONDS = 0.4  # of several pages that ask, one has the folder looked at
Seen = dict[str, tuple[int, int, int]]


class Changes:
    """Numbers that count up, a file each, by its id; one that came or went has one too."""

    def __init__(self, files: Files) -> None:
        self._files = files
        self._seen: Seen | None = None
        self._numbers: dict[str, int] = {}
        self._looked = 0.0
        self._looking = threading.Lock()

    def now(self) -> dict[str, int]:
        """The numbers, of the files as they lie there now."""
        with self._looking:
            if self._seen is None or time.monotonic() - self._looked > _FRESH_SECONDS:
                seen = self._files.states()
                before = seen if self._seen is None else self._seen
                for id in seen.keys() | before.keys():
                    if seen.get(id) != before.get(id):
                        self._count(id)
                self._seen, self._looked = seen, time.monotonic()
            return dict(self._numbers)

    def count(self, id: str) -> None:
        """Something of this file changed that is not in the folder, its pencil say."""
        with self._looking:
            self._count(id)

    def _count(self, id: str) -> None:
        self._numbers[id] = self._numbers.get(id, 0) + 1
