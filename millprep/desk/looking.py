"""Files of the folder that were changed elsewhere: told by the system, and looked for anyway.

Changes in a folder on a network are often not announced, and none is once a system watches too
much: so all files are looked at every few seconds as well, by their bytes. Imports watchfiles, and
of the desk `held_folder`.
"""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable, Iterator, Mapping

from millprep.desk.held_folder import PROGRAM_ENDINGS, HeldFolder, mark_of

EVERY_S = 3.0


def _nothing(names: frozenset[str]) -> None:
    """Nobody is told."""


class Looking:
    """The marks of the files of a folder, kept up to date.

    changed : called with the names that changed, came or went, from a thread of its own
    number  : grows by one with each look that found a change
    """

    def __init__(
        self,
        folder: HeldFolder,
        changed: Callable[[frozenset[str]], None] = _nothing,
        every_s: float = EVERY_S,
    ) -> None:
        self.number = 0
        self._folder, self._changed, self._every_s = folder, changed, every_s
        self._marks = self._seen()
        self._numbers: dict[str, int] = {}
        self._end, self._news = threading.Event(), threading.Condition()
        self._one_at_a_time = threading.Lock()
        self._thread: threading.Thread | None = None

    def __enter__(self) -> Looking:
        """Looks from now on."""
        self._thread = threading.Thread(target=self._keep_looking, name="looking", daemon=True)
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Looks no more."""
        self._end.set()
        with self._news:
            self._news.notify_all()
        if self._thread is not None:
            self._thread.join()
            self._thread = None

    @property
    def marks(self) -> Mapping[str, str]:
        """The mark of each file by its name, as it was looked at last."""
        return self._marks

    def number_of(self, name: str) -> int:
        """What `number` was when this file was last found changed; 0 where it never was."""
        return self._numbers.get(name, 0)

    def wait(self, after: int, most_s: float) -> int:
        """Wait until the number is greater than `after`, or that long; gives the number."""
        with self._news:
            self._news.wait_for(lambda: self.number > after or self._end.is_set(), most_s)
            return self.number

    def look(self) -> frozenset[str]:
        """Look now; gives the names of what changed, came or went."""
        with self._one_at_a_time:
            before, now = self._marks, self._seen()
            names = frozenset(
                name for name in before.keys() | now.keys() if before.get(name) != now.get(name)
            )
            if names:
                with self._news:
                    self._marks = now
                    self.number += 1
                    self._numbers |= dict.fromkeys(names, self.number)
                    self._news.notify_all()
                self._changed(names)
        return names

    def _seen(self) -> dict[str, str]:
        """Every file that can be read; one that cannot for a moment is as if it had gone.

        Of a program, which may be long and is only read, time and size do.
        """
        marks = {}
        for name in self._folder.names():
            with contextlib.suppress(OSError):
                if name.lower().endswith(PROGRAM_ENDINGS):
                    status = (self._folder.path / name).lstat()
                    marks[name] = f"{status.st_mtime_ns} {status.st_size}"
                else:
                    marks[name] = mark_of(self._folder.read(name))
        return marks

    def _keep_looking(self) -> None:
        last_s = time.monotonic()
        for is_told in self._occasions():
            if self._end.is_set():
                return
            if is_told or time.monotonic() - last_s >= self._every_s:
                self.look()
                last_s = time.monotonic()

    def _occasions(self) -> Iterator[bool]:
        """Each time that the system tells of a change, and every few seconds."""
        from watchfiles import watch

        with contextlib.suppress(OSError, RuntimeError):  # too many folders are watched already
            yield from (
                bool(told)
                for told in watch(
                    self._folder.path,
                    watch_filter=None,
                    stop_event=self._end,
                    rust_timeout=int(self._every_s * 1000),
                    yield_on_timeout=True,
                    raise_interrupt=False,
                )
            )
        while not self._end.wait(self._every_s):
            yield False
