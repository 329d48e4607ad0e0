"""Nothing lost: the files of a folder written whole, their states and what stands in pencil kept.

A change says on which bytes it is based; where the file holds others by now it is not made. It is
written down, then made in one step, then noted as done, so that after a kill at any moment the file
is whole and the change is finished at the next start.
"""

from __future__ import annotations

import contextlib
import errno
import sqlite3
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from millprep.base.findings import Finding, MillprepError, stopped
from millprep.base.plain_text import clean
from millprep.desk.held_folder import (
    DisturbedError,
    HeldFolder,
    is_conflicted_copy,
    mark_of,
    refused,
    waiting_name,
)
from millprep.desk.places import own_file
from millprep.desk.state_store import Begun, State, StateStore

__all__ = ["ChangedMeanwhile", "Gone", "Kept", "KeptFile", "State"]

_FOUND, _ELSEWHERE = "as it was found", "changed elsewhere"
_WHY = {
    errno.ENOSPC: ("there is no room left on the disk", "make room on it, then try again"),
    errno.EDQUOT: ("there is no room left for you on the disk", "make room on it, then try again"),
    errno.EROFS: ("the disk can only be read", "copy the folder to one that can be written"),
    errno.EACCES: ("it may not be written", "allow it to be written, then try again"),
    errno.EPERM: ("it may not be written", "allow it to be written, then try again"),
    errno.EFBIG: ("the file is too large", "the desk takes part files only"),
}


class ChangedMeanwhile(MillprepError):  # noqa: N818  # the interface's word
    """The file holds other bytes than the change was based on. now : the state it is in"""

    def __init__(self, path: Path, now: State) -> None:
        why = f"was changed meanwhile ({now.said}, {now.clock}), and is as it was"
        super().__init__(_said(path, why, "look at both, then keep yours, the file's, or both"))
        self.path, self.now = path, now


class Gone(MillprepError):  # noqa: N818
    """The file is not there any more. same_bytes_in : the file that has its bytes now, or None"""

    def __init__(self, path: Path, same_bytes_in: Path | None = None) -> None:
        why, remedy = "is not there any more", "say whether to make it again"
        if same_bytes_in is not None:
            why += f"; the same text stands in {same_bytes_in.name}"
            remedy = f"go on with {same_bytes_in.name}, or {remedy}"
        super().__init__(_said(path, f"{why}; nothing was written", remedy))
        self.path, self.same_bytes_in = path, same_bytes_in


def _said(path: Path, why: str, remedy: str) -> Finding:
    return refused(path, why, remedy).findings[0]


class Kept:
    """What is kept of the files of one folder.

    told : what was found at the start that the person should know, a sentence each
    """

    def __init__(self, folder: Path, state_home: Path | None = None) -> None:
        """Raises MillprepError where folder or state folder cannot be used."""
        self.folder = HeldFolder(folder)
        self.told: list[str] = []
        self._lock = threading.RLock()
        try:
            self._path = own_file(self.folder.path, ".states", state_home)
            self.store = self._opened()
            with self.alone():
                for begun in self.store.begun():
                    self._settle(begun)
        except OSError as error:
            self.folder.close()
            raise _unkept(error.strerror or str(error)) from None
        except BaseException:
            self.folder.close()
            raise

    def _opened(self) -> StateStore:
        """A database that cannot be read is put aside, not thrown away."""
        try:
            return StateStore(self._path)
        except sqlite3.OperationalError as error:  # no room, no permission
            raise _unkept(str(error)) from None
        except sqlite3.DatabaseError:
            aside = self._path.with_suffix(f".{waiting_name()[-8:]}.damaged")
            self._path.rename(aside)
            self.told.append(
                f"what was kept of earlier states cannot be read and was put aside as {aside};"
                " the files themselves were not touched"
            )
            own_file(self.folder.path, ".states", self._path.parent.parent)
            return StateStore(self._path)

    def of(self, path: Path) -> KeptFile:
        """A text file of the folder; a relative path is one from there, links are followed.

        Raises MillprepError for one outside.
        """
        return KeptFile(self, self.folder.name_of(path))

    def make(self, path: Path, data: bytes, said: str) -> State:
        """A new file with these bytes. Raises MillprepError where the name is taken."""
        return self.of(path)._made(data, said, {})

    def taken_away(self) -> list[KeptFile]:
        """The files that were removed and can be made again; none that has only another name."""
        with self.alone():
            there = set(self.folder.names())
            gone = [one for one in self.store.names() if one not in there]
            marks = set()
            for name in there if gone else ():
                with contextlib.suppress(OSError):
                    marks.add(mark_of(self.folder.read(name)))
            states = [(one, self.store.now(one)) for one in gone]
            return [KeptFile(self, one) for one, was in states if was and was.mark not in marks]

    def close(self) -> None:
        with self._lock:
            self.store.close()
            self.folder.close()

    @contextlib.contextmanager
    def alone(self) -> Iterator[None]:
        """While this lasts no other thread changes a file: look, decide, then keep.

        A fault of the database is said as MillprepError.
        """
        with self._lock:
            try:
                yield
            except sqlite3.Error as error:
                raise _unkept(str(error)) from None

    def _settle(self, begun: Begun) -> None:
        """Finish what a killed process had begun, or say why it is not in the file."""
        name, state = begun.name, begun.state
        ours = {begun.old, state.mark}
        left = self.folder.left_waiting(name, begun.waiting)
        try:
            mark = mark_of(self.folder.read(name))
            if mark == state.mark and left is not None and mark_of(left) not in ours:
                # it came out as ours went in: saved by another program in that very moment
                self.folder.write(name, left, mark, begun.waiting)
                mark = mark_of(left)
            elif mark == begun.old:
                self.folder.write(name, state.data, mark, begun.waiting)
        except (OSError, DisturbedError):
            became = "this was begun and is not in it; a step forward brings it"
            self.store.given_up(begun, stays_ahead=True)
        else:
            became = "finished what was begun"
            if mark not in ours:
                became = "changed elsewhere since this was begun, which is one step back"
            self.store.done(begun)
        self.told.append(clean(f"{name}: {became}: {state.said} ({state.clock})"))


class KeptFile:
    """One text file of the folder, part, assembly or shop."""

    def __init__(self, kept: Kept, name: str) -> None:
        self._kept, self._name = kept, name
        self.path = kept.folder.path / name

    @property
    def now(self) -> State:
        """The file as it stands on the disk; changed elsewhere, that is a state of its own.

        Raises Gone; MillprepError where it cannot be read.
        """
        with self._kept.alone():
            return self._looked_at()

    def keep(self, based_on: str, data: bytes, pencil: dict[str, Any], said: str) -> State:
        """Put these bytes into the file, whole. Sent a second time it changes nothing.

        based_on : mark of the bytes that were changed; pencil, said : as in `State`
        Raises ChangedMeanwhile, Gone; MillprepError where it cannot be written. The file is then
        as it was, and so are its states.
        """
        with self._kept.alone():
            now = self._looked_at()
            if now.mark == mark_of(data):
                return self.pencil(pencil, said)
            if now.mark != based_on:
                raise ChangedMeanwhile(self.path, now)
            waiting, store = waiting_name(), self._kept.store
            return self._write(store.begin(self._name, now.mark, waiting, data, pencil, said))

    def pencil(self, pencil: dict[str, Any], said: str, is_typing: bool = False) -> State:
        """What stands in pencil, kept outside the file; nothing is written there.

        is_typing : letters of a box that has not been left: kept like the rest, but no step of its
        own, for it gives way to the next change
        Raises Gone.
        """
        with self._kept.alone():
            store, name, now = self._kept.store, self._name, self._looked_at()
            if now.pencil == pencil:
                return now
            before = store.before(name, now.number) if now.by == "typing" else None
            if before is not None and (before.mark, before.pencil) == (now.mark, pencil):
                return self._step(now, before)  # it says again what it said
            return store.add(name, now.data, pencil, said, "typing" if is_typing else "desk")

    def would_take_back(self) -> str | None:
        """What a step back takes back, in the words of the change; None where there is none."""
        with self._kept.alone():
            now = self._looked_at()
            return now.said if self._kept.store.before(self._name, now.number) else None

    def would_bring_back(self) -> str | None:
        """What a step forward brings back."""
        with self._kept.alone():
            ahead = self._kept.store.after(self._name, self._looked_at().number)
            return None if ahead is None else ahead.said

    def step_back(self, seen: int | None = None) -> State:
        """Bytes and pencil as they were before the last change; no change where there is none.

        seen : number of the state that the person looks at, where another window may be ahead
        Raises as `keep`.
        """
        with self._kept.alone():
            now = self._as_seen(seen)
            return self._step(now, self._kept.store.before(self._name, now.number))

    def step_forward(self, seen: int | None = None) -> State:
        """What was taken back last, again; as `step_back`."""
        with self._kept.alone():
            now = self._as_seen(seen)
            return self._step(now, self._kept.store.after(self._name, now.number))

    def take_away(self, based_on: str) -> None:
        """Remove the file from the folder; its states are kept. Raises as `keep`."""
        with self._kept.alone():
            now = self._looked_at()
            if now.mark != based_on:
                raise ChangedMeanwhile(self.path, now)
            try:
                self._kept.folder.take_away(self._name, now.mark)
            except DisturbedError:
                raise ChangedMeanwhile(self.path, self._looked_at()) from None
            except OSError as error:
                raise _unwritten(self.path, error, "cannot be removed") from None

    def make_again(self) -> State:
        """A file that is gone once more, as it was last, when the person asks for it.

        Raises MillprepError where the name is taken, or nothing is known of it.
        """
        with self._kept.alone():
            known = self._kept.store.now(self._name)
            if known is None:
                raise refused(self.path, "is not there, and nothing is kept of it", "begin it anew")
            return self._made(known.data, "made again", known.pencil)

    def goes_on_as(self, path: Path) -> KeptFile:
        """The states of a file that was renamed elsewhere go on under its new name."""
        with self._kept.alone():
            other = self._kept.of(path)
            if other._name != self._name:
                self._kept.store.renamed(self._name, other._name)
            return other

    def _as_seen(self, seen: int | None) -> State:
        """The state that is stepped from. Raises ChangedMeanwhile where the person saw another."""
        known = self._kept.store.now(self._name)
        now = self._looked_at()
        if (known is not None and known.number != now.number) or seen not in (None, now.number):
            raise ChangedMeanwhile(self.path, now)
        return now

    def _step(self, now: State, to: State | None) -> State:
        if to is None:
            return now
        if to.mark == now.mark:
            self._kept.store.step(self._name, to)
            return to
        return self._write(self._kept.store.begin_step(self._name, now.mark, waiting_name(), to))

    def _made(self, data: bytes, said: str, pencil: dict[str, Any]) -> State:
        with self._kept.alone():
            waiting, store = waiting_name(), self._kept.store
            return self._write(store.begin(self._name, None, waiting, data, pencil, said))

    def _write(self, begun: Begun) -> State:
        """Make the change that was begun, or give it up and say why."""
        folder, store = self._kept.folder, self._kept.store
        try:
            folder.write(self._name, begun.state.data, begun.old, begun.waiting)
        except (DisturbedError, OSError) as error:
            store.given_up(begun)
            if isinstance(error, OSError):
                raise _unwritten(self.path, error) from None
            if begun.old is None:
                remedy = "choose another name"
                raise refused(self.path, "is there already, and was left alone", remedy) from None
            raise ChangedMeanwhile(self.path, self._looked_at()) from None
        store.done(begun)
        return begun.state

    def _looked_at(self) -> State:
        """The state of the file on the disk, made where the desk does not know it yet."""
        store, name = self._kept.store, self._name
        known = store.now(name)
        try:
            data = self._kept.folder.read(name)
        except FileNotFoundError:
            raise Gone(self.path, self._renamed(known)) from None
        except OSError as error:
            raise _unwritten(self.path, error, "cannot be read") from None
        for begun in store.begun():  # written, but the database had no room to note it
            if begun.name == name:
                at_last = store.given_up if begun.old == mark_of(data) else store.done
                at_last(begun)
                known = store.now(name)
        if known is not None and known.mark == mark_of(data):
            return known
        pencil = {} if known is None else known.pencil
        said = _FOUND if known is None else _ELSEWHERE
        return store.add(name, data, pencil, said, "elsewhere")

    def _renamed(self, known: State | None) -> Path | None:
        """The file that has the bytes of this one now, and was not there beside it before."""
        folder, store = self._kept.folder, self._kept.store
        if known is not None:
            for name in folder.names():
                if is_conflicted_copy(name) or store.before(name, known.number) is not None:
                    continue
                with contextlib.suppress(OSError):
                    if mark_of(folder.read(name)) == known.mark:
                        return folder.path / name
        return None


def _unwritten(path: Path, error: OSError, what: str = "cannot be written") -> MillprepError:
    why, remedy = _WHY.get(error.errno or 0, (error.strerror or "no reason given", "try again"))
    return refused(path, f"{what}: {why}; it is as it was", remedy)


def _unkept(why: str) -> MillprepError:
    """The user's own state folder cannot be used."""
    return stopped(
        "output-refused",
        f"what is kept for you cannot be written: {why}",
        "make room on the disk of your own folder, or allow it to be written, then try again",
    )
