"""A CSV that is added to and never rewritten: lines go to its end, whole or not at all."""

from __future__ import annotations

import contextlib
import csv
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from millprep.base.findings import MillprepError, stopped
from millprep.base.inputs import is_input
from millprep.base.outfile import undisturbed
from millprep.base.plain_text import clean_lines, csv_text

_BOM = b"\xef\xbb\xbf"
_LONGEST_HEADER = 4096


def add_rows(path: Path, header: Sequence[str], rows: Iterable[Sequence[object]]) -> int:
    """Add rows to the end of a file, which is made with its header where there is none.

    What stands in it is never touched: a file with another header is refused, and a last line
    without an end is given one. Gives the count of rows.
    Raises MillprepError where nothing was added.
    """
    rows = list(rows)
    try:
        if path.exists() and not path.is_file():  # opening a pipe would wait for ever
            raise _refused(path, "is not a plain file")
        if is_input(path):
            raise _refused(path, "is also read by this command, and was left alone")
        with undisturbed():
            _added(path, header, _text(rows))
    except OSError as error:
        raise _refused(path, f"cannot be added to: {error.strerror}") from error
    return len(rows)


def _text(rows: Iterable[Sequence[object]]) -> bytes:
    return clean_lines(csv_text(rows)).encode()


def _refused(path: Path, message: str, remedy: str = "name another file") -> MillprepError:
    return stopped("output-refused", message, remedy, file=str(path))


def _added(path: Path, header: Sequence[str], data: bytes) -> None:
    plain = getattr(os, "O_BINARY", 0)  # some systems would change line ends on the way
    handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_APPEND | plain, 0o666)
    try:
        _wait_for_others(handle)
        start = _read(handle, _LONGEST_HEADER, 0)
        size = os.fstat(handle).st_size
        if not size:
            data = _text([header]) + data
        elif _first_line(start) != list(header):
            remedy = f"its first line would be {','.join(header)}; name another file with --keep"
            raise _refused(path, "has other columns than these results, and was left alone", remedy)
        elif _read(handle, 1, size - 1) != b"\n":
            data = b"\n" + data
        _write(handle, data)
    finally:
        os.close(handle)


def _read(handle: int, count: int, at: int) -> bytes:
    """Bytes from a place on; what is written goes to the end all the same."""
    os.lseek(handle, at, os.SEEK_SET)
    return os.read(handle, count)


def _wait_for_others(handle: int) -> None:
    """Until the file is closed: of two that find it empty, one alone writes the header."""
    try:
        import fcntl
    except ImportError:  # not on every system: there each line is whole all the same
        return
    with contextlib.suppress(OSError):  # nor on every disk
        fcntl.flock(handle, fcntl.LOCK_EX)


def _first_line(start: bytes) -> list[str]:
    line = start.removeprefix(_BOM).split(b"\n", 1)[0].decode(errors="replace").rstrip("\r")
    return next(csv.reader([line]), [])


def _write(handle: int, data: bytes) -> None:
    """One write at the end of the file; of what does not go in whole, nothing stays."""
    before = os.fstat(handle).st_size
    written = os.write(handle, data)
    if written != len(data):
        if os.fstat(handle).st_size == before + written:  # and nobody else has added since
            os.ftruncate(handle, before)
        raise OSError(28, "No space left on device")
    os.fsync(handle)
