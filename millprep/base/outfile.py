"""Writing files: whole or not at all, and never over somebody else's work.

A file whose mark (see `marks`) says that it is the same sheet of the same part, unedited since, may
be replaced; any other only with force; one that the command itself has read, never.

Everything is first written into a folder of its own beside the files. Then each file and the one
that stood there change places; what came out must be what was looked at, else all go back. What
remains: a program that holds the old file open and writes into it after the last look; and of
several files some new and some old where the process is killed, or the power fails, between two.
"""

from __future__ import annotations

import contextlib
import errno
import os
import signal
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.inputs import is_input
from millprep.base.marks import is_marked, is_same_sheet, said_of
from millprep.base.workplace import Workplace, exchange, put_new


@dataclass
class _Output:
    """A file to be written: `path` as given, `target` behind links, `old` as it was looked at."""

    path: Path
    target: Path
    data: bytes
    old: bytes | None = None
    waiting: Path | None = None
    is_placed: bool = False


def _refused(path: Path, message: str, remedy: str = "name another file") -> MillprepError:
    return stopped("output-refused", message, remedy, file=str(path))


def _looked_at(path: Path, data: bytes, force: bool) -> _Output:
    """A file as it stands. Raises MillprepError where it may not be written."""
    try:
        target = Path(os.path.realpath(path))
        if not target.parent.is_dir():
            remedy = f"make the folder {path.parent} first"
            raise _refused(path, "the folder does not exist", remedy)
        if target.is_symlink():  # what is left of links that lead back to themselves
            raise _refused(path, "is a link that leads back to itself")
        if target.is_dir():
            raise _refused(path, "is a folder", "name a file in it")
        if not target.exists():
            return _Output(path, target, data)
        if not target.is_file():
            raise _refused(path, "is not a plain file", "name a plain file")
        if is_input(target):
            remedy = "name another file for what is written; --force does not change that"
            raise _refused(path, "is also read by this command, and was left alone", remedy)
        old = target.read_bytes()
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise _refused(path, f"cannot be read: {reason}") from None
    if not (force or old == data or is_same_sheet(old, data)):
        remedy = "nothing was written; name another file, or add --force to replace it"
        raise _refused(path, _why_kept(old), remedy)
    return _Output(path, target, data, old)


def _why_kept(old: bytes) -> str:
    said = said_of(old)
    if said is not None:
        what = f'"{said}"' if said else "of the first edition, and names no such sheet and part"
        return f"is another sheet: its mark is {what}"
    return "was edited since millprep wrote it" if is_marked(old) else "exists already"


def write_files(contents: Mapping[Path, bytes], *, force: bool = False) -> list[Path]:
    """Write every file whole, or none; gives the paths that changed.

    A link stays a link: the file that it points to is the one replaced.
    Raises MillprepError naming each file that may not be written, before any is touched; and where
    one cannot be written, or was changed meanwhile, after all were put back.
    """
    folders = {Path(os.path.realpath(path)).parent for path in contents}
    with contextlib.ExitStack() as stack:
        places = {
            folder: stack.enter_context(Workplace(folder))
            for folder in sorted(folders)  # of two processes none waits for the other's second
            if folder.is_dir()
        }
        changing = [each for each in _all_looked_at(contents, force) if each.old != each.data]
        with undisturbed():
            try:
                _write(changing, places)
            finally:
                for place in places.values():
                    place.clear()
    return [each.path for each in changing]


def _all_looked_at(contents: Mapping[Path, bytes], force: bool) -> list[_Output]:
    outputs: list[_Output] = []
    refusals: list[Finding] = []
    for path, data in contents.items():
        try:
            outputs.append(_looked_at(path, data, force))
        except MillprepError as error:
            refusals += error.findings
    if refusals:
        raise MillprepError(*refusals)
    return outputs


@contextlib.contextmanager
def undisturbed() -> Iterator[None]:
    """Ctrl-C and a closed terminal wait until the files are written: no set is left half new."""
    try:
        before = signal.pthread_sigmask(
            signal.SIG_BLOCK, {signal.SIGINT, signal.SIGTERM, signal.SIGHUP}
        )
    except AttributeError:  # not on every system
        yield
        return
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _write(outputs: list[_Output], places: Mapping[Path, Workplace]) -> None:
    """Put all in their places, or none. Raises MillprepError for the one that failed."""
    each = None
    try:
        for each in outputs:
            mode = None if each.old is None else each.target.stat().st_mode & 0o777
            each.waiting = places[each.target.parent].keep(each.data, mode)
        for each in outputs:
            _place(each)
        for each in outputs:
            if each.old is not None and not _still(each):
                raise _changed(each)
        for place in places.values():
            place.settle()
    except BaseException as error:
        lost = [one for one in reversed(outputs) if one.is_placed and not _put_back(one)]
        if each is None or not isinstance(error, OSError):
            raise
        remedy = "name a file that may be written"
        if lost:
            names = ", ".join(str(one.path) for one in lost)
            remedy += f"; {names} could not be put back and is the new one"
        why = f"cannot be written: {error.strerror}"
        raise _refused(each.path, why, remedy) from error


def _place(output: _Output) -> None:
    """The new file to its name; what stood there is then the one that waits."""
    assert output.waiting is not None
    if output.old is None:
        try:
            put_new(output.waiting, output.target)
        except FileExistsError:
            raise _changed(output) from None
    else:
        try:
            exchange(output.waiting, output.target)
        except FileNotFoundError:
            raise _changed(output) from None
    output.is_placed = True


def _still(output: _Output) -> bool:
    """Whether what came out of the file's place is what was looked at."""
    assert output.waiting is not None
    return output.waiting.is_file() and output.waiting.read_bytes() == output.old


def _put_back(output: _Output) -> bool:
    """The file as it was before; one that somebody has put there since stays."""
    assert output.waiting is not None
    try:
        if output.target.read_bytes() != output.data:
            return True
        if output.old is None:
            output.target.unlink()
        else:
            output.waiting.replace(output.target)
    except OSError as error:
        return error.errno == errno.ENOENT
    return True


def _changed(output: _Output) -> MillprepError:
    message = "was changed by somebody else while millprep was writing, and is kept"
    remedy = "nothing was written; look at it, then run the command again"
    return _refused(output.path, message, remedy)
