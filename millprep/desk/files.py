"""The files of the folder: what lies in it, and how one is opened. Imports `refusals`.

A page knows a file by an id that the server gave, never by its name. A file is opened from the
folder's own handle, step by step and without following a link, so that no name and no exchange of
a folder for a link in the meantime leads out of it.
"""

from __future__ import annotations

import hashlib
import os
import re
import stat
from collections.abc import Iterator
from contextlib import suppress
from itertools import islice
from pathlib import Path, PurePosixPath

from millprep.base.bounds import LARGEST_FILE_BYTES
from millprep.base.plain_text import clean
from millprep.base.records import frozen
from millprep.desk.refusals import RefusedError

SHOP_FILE = "shop.toml"
PROGRAM_ENDINGS = (".nc", ".ngc", ".tap", ".gcode")
MOST_FILES = 2_000
MOST_LEVELS = 4
_HEAD_BYTES = 65_536
_FIRST_KEY = re.compile(rb"^\s*(part|opposite_hand_of|assembly)\s*=", re.MULTILINE)
_NOFOLLOW = getattr(os, "O_NOFOLLOW", 0)


@frozen
class Filed:
    """A file of the folder. name : its path from the folder, with /; kind : what it holds,
    "part", "assembly", "shop", "program", "other" (TOML of another kind), "link" or "unread"
    """

    id: str
    name: str
    kind: str

    @property
    def shown(self) -> str:
        """The name as a page shows it: what would hide or turn the writing is made visible."""
        return clean(self.name.encode("utf-8", "surrogateescape").decode("utf-8", "replace"))


class Files:
    """The files under one folder. folder : as a person named it; it may itself be a link"""

    def __init__(self, folder: Path) -> None:
        self.folder = folder.resolve()
        self._names: dict[str, str] = {}
        self._kinds: dict[str, tuple[tuple[int, int, int], str]] = {}

    def states(self) -> dict[str, tuple[int, int, int]]:
        """What tells that a file was saved: time, size and place on the disk, by id."""
        found = {}
        for name in islice(_names_in(self.folder), MOST_FILES):
            with suppress(OSError):
                state = (self.folder / name).lstat()
                self._names[id_of(name)] = name
                found[id_of(name)] = (state.st_mtime_ns, state.st_size, state.st_ino)
        return found

    def listing(self) -> list[Filed]:
        """Every file that the desk shows, by name; each gets its id."""
        states = self.states()
        found = [
            Filed(id, self._names[id], self._kind_as(id, state)) for id, state in states.items()
        ]
        return sorted(found, key=lambda one: (one.name.count("/"), one.name.casefold()))

    def _kind_as(self, id: str, state: tuple[int, int, int]) -> str:
        """The kind of a file, looked into again only where it was saved since."""
        if self._kinds.get(id, (None, ""))[0] != state:
            self._kinds[id] = state, self._kind(self._names[id])
        return self._kinds[id][1]

    def name_of(self, id: str) -> str:
        """The name of a file, as in `Filed`. Raises RefusedError where no file has this id."""
        if id not in self._names:
            self.listing()
        if id not in self._names:
            raise RefusedError(
                404, "that file is not in the folder any more: go back to the folder"
            )
        return self._names[id]

    def path_of(self, id: str) -> Path:
        """Where a file lies. Raises RefusedError where no file has this id, or it is a link."""
        name = self.name_of(id)
        os.close(self.opened(name))
        return self.folder / name

    def of(self, path: Path) -> str:
        """The id of a file that lies in the folder, there already or to be made."""
        name = path.relative_to(self.folder).as_posix()
        self._names[id_of(name)] = name
        return id_of(name)

    def read(self, id: str, most: int = LARGEST_FILE_BYTES) -> bytes:
        """The bytes of a file. Raises RefusedError where it cannot be had, or is larger."""
        with os.fdopen(self.opened(self.name_of(id)), "rb") as file:
            data = file.read(most + 1)
        if len(data) > most:
            raise RefusedError(413, f"that file is larger than {most // 1_000_000} MB: not opened")
        return data

    def opened(self, name: str) -> int:
        """A handle to read a plain file by its name in the folder, links not followed.

        Raises RefusedError for a link, a folder, a pipe, and what cannot be read.
        """
        parts = PurePosixPath(name).parts
        if not parts or ".." in parts or name.startswith("/"):
            raise RefusedError(404, "that is no file of the folder")
        try:
            handle = _opened_by_steps(self.folder, parts)
        except (OSError, ValueError):
            raise RefusedError(
                404, "that file cannot be opened: it is a link, or not there"
            ) from None
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            os.close(handle)
            raise RefusedError(404, "that is no plain file")
        return handle

    def _kind(self, name: str) -> str:
        if (self.folder / name).is_symlink():
            return "link"
        if PurePosixPath(name).suffix.lower() in PROGRAM_ENDINGS:
            return "program"
        try:
            with os.fdopen(self.opened(name), "rb") as file:
                first = _FIRST_KEY.search(file.read(_HEAD_BYTES))
        except (RefusedError, OSError):
            return "unread"
        if first is not None:
            return "assembly" if first[1] == b"assembly" else "part"
        return "shop" if PurePosixPath(name).name == SHOP_FILE else "other"


def id_of(name: str) -> str:
    """The id of a file: the same in each run, and nothing of its name in it."""
    return hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:16]


def _opened_by_steps(folder: Path, parts: tuple[str, ...]) -> int:
    """A handle of the last of these names, each opened in the one before, links not followed."""
    flags = os.O_RDONLY | _NOFOLLOW | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    if os.open not in os.supports_dir_fd:
        path = folder.joinpath(*parts)
        if path.resolve() != path:
            raise OSError("a link")
        return os.open(path, flags)
    at = os.open(folder, os.O_RDONLY)
    try:
        for name in parts[:-1]:
            below = os.open(name, os.O_RDONLY | os.O_DIRECTORY | _NOFOLLOW, dir_fd=at)
            os.close(at)
            at = below
        return os.open(parts[-1], flags, dir_fd=at)
    finally:
        os.close(at)


def _names_in(folder: Path, above: str = "", levels: int = MOST_LEVELS) -> Iterator[str]:
    """The names of what the desk shows, those of subfolders after a folder's own."""
    below = []
    try:
        with os.scandir(folder / above) as entries:
            for entry in sorted(entries, key=lambda one: one.name):
                if entry.name.startswith("."):
                    continue
                name = f"{above}{entry.name}"
                if entry.is_dir(follow_symlinks=False):
                    below.append(f"{name}/")
                elif entry.name.lower().endswith((".toml", *PROGRAM_ENDINGS)):
                    yield name
    except OSError:
        return
    for one in below if levels > 1 else ():
        yield from _names_in(folder, one, levels - 1)
