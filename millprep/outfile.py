"""Writing files: whole or not at all, and never over somebody else's work.

A file that millprep wrote carries a mark: the words `millprep mark` and a hash of everything else
in the file. A file whose mark still fits may be replaced; any other only with force. Formats that
cannot carry a comment have no mark. Imports the standard library and `errors`.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import zlib
from collections.abc import Mapping
from pathlib import Path

from millprep.errors import Finding, MillprepError

BLANK_MARK = "millprep mark 0000000000000000"
"""What a writer puts into its text, in whatever comment its format has; `sealed` fills it in."""
_MARK = re.compile(rb"(millprep mark )([0-9a-f]{16})", re.IGNORECASE)
_PNG_START = b"\x89PNG\r\n\x1a\n"
_PNG_TEXT = b"tEXt"  # a chunk: length, these letters, keyword, 0, text, checksum


def _digest(data: bytes) -> bytes:
    return hashlib.sha256(data).hexdigest()[:16].encode()


def sealed(content: str | bytes) -> bytes:
    """The content as bytes with its blank mark filled in (unchanged when it holds none)."""
    # file names may hold bytes that are no text
    data = content.encode(errors="backslashreplace") if isinstance(content, str) else content
    found = _MARK.search(data)
    if found is None or found[2] != b"0" * 16:
        return data
    return _with_mark(data, found, _digest(_with_mark(data, found, b"0" * 16)))


def is_own_unedited(data: bytes) -> bool:
    """Whether these bytes carry millprep's mark and have not changed since it was set."""
    found = _MARK.search(data)
    if found is None:
        return False
    digest = _digest(_with_mark(data, found, b"0" * 16))
    return digest == found[2].lower() and data == _with_mark(data, found, found[2])


def _with_mark(data: bytes, found: re.Match[bytes], digits: bytes) -> bytes:
    """The data with other digits in its mark.

    A PNG keeps the mark in a text chunk, at its end, and the chunk's checksum comes right after:
    it goes with the digits.
    """
    marked = data[: found.start(2)] + digits + data[found.end(2) :]
    start = marked.rfind(_PNG_TEXT, 0, found.start())
    if not data.startswith(_PNG_START) or start < 0:
        return marked
    checksum = zlib.crc32(marked[start : found.end(2)]).to_bytes(4, "big")
    return marked[: found.end(2)] + checksum + marked[found.end(2) + 4 :]


def _refusal(path: Path, message: str, remedy: str) -> Finding:
    return Finding("stop", "output-refused", message, remedy, file=str(path))


def _why_not(path: Path, data: bytes, force: bool) -> Finding | None:
    """The reason that this file may not be written, if there is one."""
    try:
        if not path.parent.is_dir():
            return _refusal(
                path, "the folder does not exist", f"make the folder {path.parent} first"
            )
        if path.is_dir():
            return _refusal(path, "is a folder", "name a file in it")
        if path.exists() and not path.is_file():
            return _refusal(path, "is not a plain file", "name a plain file")
        if not path.exists() or force:
            return None
        old = path.read_bytes()
    except OSError as error:
        return _refusal(path, f"cannot be read: {error.strerror}", "name another file")
    if old == data or is_own_unedited(old):
        return None
    why = "was edited since millprep wrote it" if _MARK.search(old) else "exists already"
    return _refusal(
        path, why, "nothing was written; name another file, or add --force to replace it"
    )


def write_files(contents: Mapping[Path, bytes], *, force: bool = False) -> list[Path]:
    """Write every file whole, or none; gives the paths that changed.

    A link stays a link: the file that it points to is the one replaced.
    Raises MillprepError naming each file that may not be written, before any is touched.
    """
    refusals = [why for path, data in contents.items() if (why := _why_not(path, data, force))]
    if refusals:
        raise MillprepError(*refusals)
    waiting: list[tuple[Path, Path]] = []
    try:
        for path, data in contents.items():
            if path.exists() and path.read_bytes() == data:
                continue
            waiting.append((_temporary(path.resolve(), data), path))
        for temporary, path in waiting:
            temporary.replace(path.resolve())
    except OSError as error:
        raise MillprepError(
            _refusal(
                path, f"cannot be written: {error.strerror}", "name a file that may be written"
            )
        ) from error
    finally:
        for temporary, _ in waiting:
            with contextlib.suppress(OSError):
                temporary.unlink()
    return [path for _, path in waiting]


def _temporary(path: Path, data: bytes) -> Path:
    """A temporary file beside `path` with the contents, on the disk; none is left on a failure."""
    import tempfile  # here, for most commands write to the screen

    handle, name = tempfile.mkstemp(prefix=".millprep-", dir=path.parent)
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask()
        temporary.chmod(mode)
    except OSError:
        temporary.unlink()
        raise
    return temporary


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
