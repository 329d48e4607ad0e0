"""A folder beside the files that are written, in which they wait whole until all are there.

The folder of the files is locked meanwhile, so that what another process left there when it was
killed is nobody's any more, and is cleared.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import time
from pathlib import Path
from types import TracebackType

_PREFIX, _SUFFIX = ".millprep-", ".new"
_ROOM = re.compile(r"\.millprep-[a-z0-9_]{8}\.new")  # as `tempfile` makes them
# files of the first edition; a name of letters alone may be a person's own
_FILE = re.compile(r"\.millprep-(?=[a-z]*[0-9_])[a-z0-9_]{8}")
_WITHIN = re.compile(r"\d+\.(new|old)")
_FILE_AGE_S = 60.0  # the first edition locked nothing, and wrote in a moment
_UNLOCKED_AGE_S = 24 * 3600.0  # where nothing can be locked, only age tells
_HERE, _EXCHANGING = -100, 2  # AT_FDCWD, RENAME_EXCHANGE
_NO_SWAP = {errno.ENOSYS, errno.EINVAL, errno.ENOTSUP, errno.EPERM}


class Workplace:
    """Room to write beside the files of a folder, which is this process's alone meanwhile."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._room: Path | None = None
        self._count = 0

    def __enter__(self) -> Workplace:
        self._handle = _locked(self.folder)
        _clear(self.folder, is_alone=self._handle is not None)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.clear()
        if self._handle is not None:
            os.close(self._handle)

    def keep(self, data: bytes, mode: int | None) -> Path:
        """A file with these bytes, on the disk; `mode` that of a new file where None is given.

        Raises OSError.
        """
        if self._room is None:
            import tempfile  # here, for most commands write to the screen

            self._room = Path(tempfile.mkdtemp(prefix=_PREFIX, suffix=_SUFFIX, dir=self.folder))
        self._count += 1
        path = self._room / f"{self._count}.new"
        with path.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if mode is not None:
            path.chmod(mode)
        return path

    def settle(self) -> None:
        """The names on the disk too, before what they named is given up."""
        with contextlib.suppress(OSError):
            handle = os.open(self.folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)

    def clear(self) -> None:
        """Give up what is still here: what was not put in its place, or came out of it."""
        if self._room is not None:
            _empty(self._room)
            self._room = None


def _locked(path: Path) -> int | None:
    """An open handle that holds the lock; None where it cannot be had.

    A process that ends, however it ends, lets go.
    """
    try:
        import fcntl
    except ImportError:  # not on every system
        return None
    handle = None
    try:
        handle = os.open(path, os.O_RDONLY)
        fcntl.flock(handle, fcntl.LOCK_EX)
    except OSError:  # nor on every disk, nor by everybody
        if handle is not None:
            os.close(handle)
        return None
    return handle


def _clear(folder: Path, *, is_alone: bool) -> None:
    """Remove what killed processes left; what cannot be removed stays, and costs nothing."""
    with contextlib.suppress(OSError):
        for path in [path for path in folder.iterdir() if path.name.startswith(_PREFIX)]:
            with contextlib.suppress(OSError):
                age_s = time.time() - path.lstat().st_mtime
                if path.is_symlink():
                    continue
                if _ROOM.fullmatch(path.name) and path.is_dir():
                    if is_alone or age_s > _UNLOCKED_AGE_S:
                        _empty(path)
                elif _FILE.fullmatch(path.name) and path.is_file() and age_s > _FILE_AGE_S:
                    path.unlink()


def _empty(path: Path) -> None:
    """Remove the folder with our own files; with anybody else's in it, it stays."""
    with contextlib.suppress(OSError):
        for inner in path.iterdir():
            if _WITHIN.fullmatch(inner.name):
                inner.unlink()
        path.rmdir()


def put_new(waiting: Path, target: Path) -> None:
    """A file to a name that is free. Raises FileExistsError where it no longer is."""
    try:
        os.link(waiting, target)
    except FileExistsError:
        raise
    except OSError:  # a disk without links
        if os.path.lexists(target):
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST)) from None
        waiting.rename(target)


def exchange(waiting: Path, target: Path) -> None:
    """The two change places: at no moment is the target missing. Raises OSError.

    Linux does it in one step. Elsewhere the old file is first kept under a second name: what is
    saved into it stays in it, and only what takes its name between two calls is lost.
    """
    if swapped(waiting, target):
        return
    kept = waiting.with_suffix(".old")
    try:
        os.link(target, kept)
    except FileNotFoundError:
        raise
    except OSError:  # a disk without links
        kept.write_bytes(target.read_bytes())
        kept.chmod(target.stat().st_mode & 0o777)
    waiting.replace(target)
    kept.replace(waiting)


def swapped(first: Path, second: Path, folder: int = _HERE) -> bool:
    """renameat2(2) with RENAME_EXCHANGE; False where system or disk has none.

    folder : handle of the folder that the names are of. Raises OSError.
    """
    import ctypes

    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError, TypeError):
        return False
    if call(folder, os.fsencode(first), folder, os.fsencode(second), _EXCHANGING) == 0:
        return True
    number = ctypes.get_errno()
    if number in _NO_SWAP:
        return False
    raise OSError(number, os.strerror(number), str(second))
