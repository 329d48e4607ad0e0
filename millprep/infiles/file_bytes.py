"""The text of a file that a person names, or one clear sentence on why there is none."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from contextvars import ContextVar
from pathlib import Path

from millprep.base.bounds import LARGEST_FILE_BYTES
from millprep.base.findings import MillprepError, stopped
from millprep.base.inputs import note_input
from millprep.base.records import frozen
from millprep.base.units import shown
from millprep.infiles.wording import nearest

_ALIKE = 0.75  # an ending that all share makes any two names half alike
_THE_FILE, _MISSING = "the file", "does not exist"
MISSING = f"{_THE_FILE} {_MISSING}"
"""The message about a file that is not there."""
_texts: ContextVar[Mapping[Path, bytes] | None] = ContextVar("texts", default=None)


@contextlib.contextmanager
def as_if_written(texts: Mapping[Path, bytes]) -> Iterator[None]:
    """Within it these bytes are read where the disk has others, or none, at their paths."""
    token = _texts.set({path.resolve(): data for path, data in texts.items()})
    try:
        yield
    finally:
        _texts.reset(token)


def texts_given() -> Mapping[Path, bytes]:
    """What `as_if_written` has in force."""
    return _texts.get() or {}


@frozen
class Kind:
    """What kind of file is read: its ending, and what to say of a file that is another kind.

    if_large, if_not_utf8, if_not_text : what to do
    """

    ending: str
    if_large: str
    if_not_utf8: str
    if_not_text: str
    largest_bytes: int = LARGEST_FILE_BYTES


def read_bytes(path: Path, name: str, kind: Kind) -> bytes:
    """The bytes of a file. Raises MillprepError for what is none, or too large."""
    try:
        texts = _texts.get()
        if texts and (given := texts.get(path.resolve())) is not None:
            if len(given) > kind.largest_bytes:
                raise _too_large(name, kind)
            return given
        if path.is_dir():
            raise unreadable(name, "is a folder", "name the file in it")
        if not path.exists():
            raise unreadable(name, _MISSING, nearby(path, kind.ending))
        if not path.is_file():
            raise unreadable(name, "is not a plain file", "name a text file")
        if path.stat().st_size > kind.largest_bytes:
            raise _too_large(name, kind)
        content = path.read_bytes()
        note_input(path)
    except (OSError, ValueError) as error:  # ValueError: a name with a zero byte in it
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise unreadable(shown(name).strip('"'), f"cannot be read: {reason}", "") from None
    return content


def _too_large(name: str, kind: Kind) -> MillprepError:
    largest = f"{kind.largest_bytes // 1_000_000} MB"
    return unreadable(name, f"is larger than {largest}", kind.if_large)


def text_of(content: bytes, name: str, kind: Kind) -> str:
    """The text of these bytes. Raises MillprepError for what is none, with the line."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        what = f"is not UTF-8 text (byte {error.start + 1})"
        raise unreadable(name, what, kind.if_not_utf8, line) from None
    if "\0" in text:
        raise unreadable(name, "is not text (it holds zero bytes)", kind.if_not_text)
    return text


def unreadable(name: str, what: str, remedy: str, line: int | None = None) -> MillprepError:
    """That the file is, or cannot be, this."""
    return stopped("unreadable-file", f"{_THE_FILE} {what}", remedy, file=name, line=line)


def nearby(path: Path, *endings: str) -> str:
    """The file of the same kind that was meant instead of a missing one, or those to pick from."""
    if not path.parent.is_dir():
        return f"there is no folder {path.parent}"
    try:
        names = sorted(one.name for ending in endings for one in path.parent.glob(f"*{ending}"))
    except (OSError, ValueError):
        names = []
    if not names:
        return "check the name and the folder"
    known = {word.casefold(): name for name in names for word in (name, Path(name).stem)}
    likely = nearest(path.name.casefold(), known, _ALIKE)
    if likely is not None:
        return f"did you mean {path.parent / known[likely]}?"
    return "in that folder: " + ", ".join(names[:6]) + (", ..." if len(names) > 6 else "")
