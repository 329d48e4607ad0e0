"""The files of one folder, read and written through a handle of it, so that no link leads outside.

A path is resolved once; what it leads to is then opened step by step below the handle without
following links, so that a link which somebody puts in the way meanwhile leads nowhere. Where the
system opens nothing by a handle (Windows), the resolved path is used.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import re
import secrets
import stat
import unicodedata
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

from millprep.base.bounds import LARGEST_FILE_BYTES, LONGEST_FILE_NAME
from millprep.base.findings import MillprepError, stopped
from millprep.base.records import frozen
from millprep.base.workplace import swapped

_HAS_HANDLES = os.open in os.supports_dir_fd and hasattr(os, "O_NOFOLLOW")
_NO_LINK = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)  # a pipe is not waited for
_READ = os.O_RDONLY | _NO_LINK | getattr(os, "O_BINARY", 0)
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _NO_LINK | getattr(os, "O_BINARY", 0)
_FOLDER = os.O_RDONLY | getattr(os, "O_DIRECTORY", 0) | getattr(os, "O_NOFOLLOW", 0)
PROGRAM_ENDINGS = (".nc", ".ngc", ".tap", ".gcode")
_SHOWN = (".toml", *PROGRAM_ENDINGS)
_MOST_LEVELS = 3  # of folders below
_NOT_THERE = {errno.ENOENT, errno.ENOTDIR, errno.ELOOP, errno.EMLINK}
"""Of a name that is gone, or is another thing's now."""


class DisturbedError(Exception):
    """The file was changed, removed or made between the look and the rename: it is as it was."""


def mark_of(data: bytes) -> str:
    """What tells the bytes of a file from all others: their SHA-256, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def waiting_name() -> str:
    """A name for bytes that wait beside their file; the command line clears such names too."""
    return f".millprep-{secrets.randbelow(10)}{secrets.token_hex(4)[1:]}"


@frozen
class _Place:
    """A name in an open folder. handle : None where the system has none, and `name` is a path"""

    handle: int | None
    name: str

    def beside(self, name: str) -> _Place:
        """Another name in the same folder."""
        if self.handle is None:
            return _Place(None, str(Path(self.name).with_name(name)))
        return _Place(self.handle, name)

    def read(self) -> bytes:
        """Raises OSError; FileNotFoundError where the name is none, or none of a plain file."""
        try:
            handle = os.open(self.name, _READ, dir_fd=self.handle)
        except OSError as error:
            if error.errno in _NOT_THERE:
                raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT)) from None
            raise
        with os.fdopen(handle, "rb") as stream:
            if not stat.S_ISREG(os.fstat(handle).st_mode):
                raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))
            data = stream.read(LARGEST_FILE_BYTES + 1)
        if len(data) > LARGEST_FILE_BYTES:
            raise OSError(errno.EFBIG, os.strerror(errno.EFBIG))
        return data

    def mode(self) -> int:
        """Of the file; a file that may not be written is refused. Raises OSError."""
        if not os.access(self.name, os.W_OK, dir_fd=self.handle):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return os.stat(self.name, dir_fd=self.handle, follow_symlinks=False).st_mode & 0o777

    def make(self, data: bytes, mode: int | None) -> None:
        """A new file with these bytes, on the disk. Raises OSError."""
        handle = os.open(self.name, _NEW, 0o666, dir_fd=self.handle)
        with os.fdopen(handle, "wb") as stream:
            if mode is not None and hasattr(os, "fchmod"):
                os.fchmod(handle, mode)
            stream.write(data)
            stream.flush()
            os.fsync(handle)

    def remove(self) -> None:
        """Raises OSError."""
        os.unlink(self.name, dir_fd=self.handle)

    def replace(self, waiting: _Place, old: str) -> None:
        """The waiting file takes the place of this one, whose bytes have the mark `old`.

        Where the system exchanges two names in one step, what came out is looked at: nothing that
        was saved in the last moment is lost, and a name that has gone is not made again.
        Raises DisturbedError, the file then as it was; OSError.
        """
        try:
            if mark_of(self.read()) != old:
                raise DisturbedError
            if not self._exchanged(waiting):
                here = self.handle
                os.replace(waiting.name, self.name, src_dir_fd=here, dst_dir_fd=here)
            elif mark_of(waiting.read()) != old:
                self._exchanged(waiting)
                raise DisturbedError
        except FileNotFoundError:
            raise DisturbedError from None

    def _exchanged(self, other: _Place) -> bool:
        here = {} if self.handle is None else {"folder": self.handle}
        return swapped(Path(other.name), Path(self.name), **here)

    def take_away(self, waiting: _Place, old: str) -> None:
        """Raises DisturbedError where its bytes have another mark: it then stays; OSError."""
        here = self.handle
        os.rename(self.name, waiting.name, src_dir_fd=here, dst_dir_fd=here)
        if mark_of(waiting.read()) != old:
            self.put_new(waiting)
            with contextlib.suppress(FileNotFoundError):  # a disk without links has moved it
                waiting.remove()
            raise DisturbedError

    def put_new(self, waiting: _Place) -> None:
        """The waiting file to this name, which is free. Raises DisturbedError where it is not."""
        here = self.handle
        try:
            os.link(waiting.name, self.name, src_dir_fd=here, dst_dir_fd=here)
        except FileExistsError:
            raise DisturbedError from None
        except OSError:  # a disk without links
            with contextlib.suppress(FileNotFoundError):
                os.stat(self.name, dir_fd=self.handle, follow_symlinks=False)
                raise DisturbedError from None
            os.rename(waiting.name, self.name, src_dir_fd=here, dst_dir_fd=here)

    def settle(self) -> None:
        """The names on the disk too, where the system does that."""
        if self.handle is not None:
            with contextlib.suppress(OSError):
                os.fsync(self.handle)


class HeldFolder:
    """One folder; its files have names with "/" from there, as "sub/left.toml"."""

    def __init__(self, folder: Path) -> None:
        """Raises MillprepError where there is no such folder."""
        self.path = Path(os.path.realpath(folder))
        self._handle: int | None = None
        try:
            if not self.path.is_dir():
                raise NotADirectoryError(errno.ENOTDIR, "is no folder")
            if _HAS_HANDLES:
                self._handle = os.open(self.path, _FOLDER)
        except OSError as error:
            why = f"the folder cannot be opened: {error.strerror}"
            raise stopped("unreadable-file", why, "name a folder", file=str(folder)) from None

    def close(self) -> None:
        if self._handle is not None:
            os.close(self._handle)
            self._handle = None

    def name_of(self, path: Path) -> str:
        """The name of what a path leads to, links followed. Raises MillprepError outside."""
        try:
            found = Path(os.path.realpath(self.path / path))
            if found != self.path:
                return found.relative_to(self.path).as_posix()
            raise ValueError
        except ValueError:
            why = "lies outside the folder of this desk, and is never written"
            raise refused(path, why, "copy it into the folder") from None

    @contextlib.contextmanager
    def _place(self, name: str) -> Iterator[_Place]:
        """Where a file stands. Raises FileNotFoundError where its folder is none any more."""
        *above, last = PurePosixPath(name).parts
        if self._handle is None:
            yield _Place(None, str(self.path / name))
            return
        if not os.path.samestat(os.fstat(self._handle), self.path.lstat()):
            raise FileNotFoundError(errno.ENOENT, "the folder was moved")
        handle = os.dup(self._handle)
        try:
            for step in above:
                try:
                    below = os.open(step, _FOLDER, dir_fd=handle)
                except OSError as error:
                    raise FileNotFoundError(error.errno, error.strerror) from None
                os.close(handle)
                handle = below
            yield _Place(handle, last)
        finally:
            os.close(handle)

    def read(self, name: str) -> bytes:
        """The bytes of a file. Raises OSError; FileNotFoundError where it has gone."""
        with self._place(name) as place:
            return place.read()

    def write(self, name: str, data: bytes, old: str | None, waiting: str) -> None:
        """Put these bytes in the place of those with the mark `old`, whole or not at all.

        old     : None for a new file
        waiting : name of the file beside it, in which they stand until all of them are there
        Raises DisturbedError where the file is another one, OSError; the file then is as it was.
        """
        with self._place(name) as place:
            wait = place.beside(waiting)
            try:
                wait.make(data, None if old is None else place.mode())
                if old is None:
                    place.put_new(wait)
                else:
                    place.replace(wait, old)
                place.settle()
            except FileNotFoundError:
                raise DisturbedError from None
            finally:
                with contextlib.suppress(OSError):
                    wait.remove()

    def take_away(self, name: str, old: str) -> None:
        """Remove the file whose bytes have the mark `old`.

        Raises DisturbedError where it is another one, OSError; it then stays.
        """
        with self._place(name) as place:
            wait = place.beside(waiting_name())
            try:
                place.take_away(wait, old)
                wait.remove()
                place.settle()
            except FileNotFoundError:
                raise DisturbedError from None

    def left_waiting(self, name: str, waiting: str) -> bytes | None:
        """What a killed process left waiting beside a file; it is removed. None where nothing."""
        with contextlib.suppress(OSError), self._place(name) as place:
            wait = place.beside(waiting)
            try:
                return wait.read()
            finally:
                wait.remove()
        return None

    def names(self) -> Iterator[str]:
        """TOML files and programs in it and below; none of hidden folders, none behind links."""
        for above, folders, files in os.walk(self.path):
            folders[:] = sorted(name for name in folders if not name.startswith("."))
            if len(Path(above).relative_to(self.path).parts) >= _MOST_LEVELS:
                folders.clear()
            for name in sorted(files):
                if name.lower().endswith(_SHOWN) and not name.startswith("."):
                    yield (Path(above) / name).relative_to(self.path).as_posix()


def refused(path: Path, why: str, remedy: str) -> MillprepError:
    """What is said to the person where a file cannot be written."""
    return stopped("output-refused", why, remedy, file=path.name)


# Windows takes these for devices, whatever their ending
_DEVICES = {"con", "prn", "aux", "nul"} | {f"{one}{n}" for one in ("com", "lpt") for n in range(10)}
_HIDDEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
"""Unicode categories of what is not seen, or turns the writing round."""
_CONFLICTED = re.compile(r".[ ._(-](conflict(ed|s)?)([ ._)-]|$)", re.IGNORECASE)


def new_name(folder: Path, words: str, ending: str = ".toml") -> Path:
    """Where a new file of this name is to stand: "Bearing block 1/2" in bearing-block-1-2.toml.

    Raises MillprepError for words that make no safe name, and for a name that some system takes
    for that of a file which is there.
    """
    if hidden := [letter for letter in words if unicodedata.category(letter) in _HIDDEN]:
        raise _refused(f"has a letter that is not seen (U+{ord(hidden[0]):04X})", "type it anew")
    stem = _stem(words)
    if not stem:
        raise _refused("has no letter or figure in it", 'type a name, as "Bearing block"')
    if len(stem) > LONGEST_FILE_NAME:
        raise _refused(f"is longer than {LONGEST_FILE_NAME} letters", "shorten it")
    if stem in _DEVICES:
        raise _refused(f'cannot be "{stem}", which some PCs keep for a device', "add a word to it")
    path = folder / f"{stem}{ending}"
    twin = next((one for one in folder.iterdir() if _alike(one.name) == _alike(path.name)), None)
    if twin is not None:
        why = f"makes the file {path.name}, and {twin.name} is there already"
        raise _refused(why, "choose another name")
    return path


def _stem(words: str) -> str:
    """Small letters and figures, anything else between them a dash."""
    plain = unicodedata.normalize("NFKC", words).lower()
    kept = (letter if unicodedata.category(letter)[0] in "LNM" else " " for letter in plain)
    return "-".join("".join(kept).split())


def _alike(name: str) -> str:
    """The same for names that some system takes for one: large and small, accents in two ways."""
    return unicodedata.normalize("NFC", unicodedata.normalize("NFKC", name).casefold())


def is_conflicted_copy(name: str) -> bool:
    """Whether a synchronised folder has made it of two versions of a file: never opened by itself.

    "left (conflicted copy 2026-03-01).toml", "left.conflict.toml"
    """
    return _CONFLICTED.search(Path(name).stem) is not None


def _refused(why: str, remedy: str) -> MillprepError:
    return stopped("output-refused", f"the name {why}", remedy)
