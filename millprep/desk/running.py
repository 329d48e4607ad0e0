"""One desk a folder: which runs, where, and how a browser gets in. Imports `places`.

Who serves a folder holds a lock, which the system lets go of however the process ends. Beside it
stands where it serves; of a desk that was put away the port is left, so that the same folder comes
to the same address, and a page that is still open finds it again.
"""

from __future__ import annotations

import hashlib
import hmac
import os
import secrets
import sys
import time
from pathlib import Path
from typing import Any

from millprep.desk.places import own_file, read_privately, write_privately

TICKET_SECONDS = 120
_FIRST_PORT, _PORTS = 20_000, 10_000


class Running:
    """The desk of one folder, of this process or of another."""

    def __init__(self, folder: Path) -> None:
        """Raises OSError where nothing can be kept for this user."""
        self._folder = folder.resolve()
        self._file = own_file(self._folder, ".desk.json")
        self._lock: int | None = None

    def is_mine(self) -> bool:
        """Whether this process serves the folder from now on, until `done`."""
        handle = os.open(own_file(self._folder, ".lock"), os.O_RDWR)
        if not _locked(handle):
            os.close(handle)
            return False
        self._lock = handle
        return True

    def note(self, port: int, secret: str) -> None:
        """Let a second start find this one."""
        write_privately(self._file, {"port": port, "secret": secret, "process": os.getpid()})

    def known(self) -> dict[str, Any]:
        """Where it serves: port, secret, process; of one that has ended the port, or nothing."""
        return read_privately(self._file)

    def port(self) -> int:
        """Where this folder was served before, else one of its own."""
        digest = hashlib.sha256(os.fsencode(self._folder)).hexdigest()
        own = _FIRST_PORT + int(digest, 16) % _PORTS
        before = self.known().get("port", own)
        return before if isinstance(before, int) and 1024 <= before < 65_536 else own

    def done(self) -> None:
        """The desk is put away."""
        if self._lock is None:
            return
        if "port" in (known := self.known()):
            write_privately(self._file, {"port": known["port"]})
        os.close(self._lock)
        self._lock = None


def ticket(secret: str) -> str:
    """What lets one browser in, once and soon: others here see its command."""
    said = f"{int(time.time())}-{secrets.token_urlsafe(12)}"
    return f"{said}.{_seal(said, secret)}"


class Tickets:
    """Tickets that were taken."""

    def __init__(self, secret: str) -> None:
        self._secret = secret
        self._taken: dict[str, int] = {}

    def take(self, word: str) -> bool:
        """Whether this is a ticket, of this desk, not too old and not taken before."""
        said, _, seal = word.partition(".")
        when, now = said.partition("-")[0], int(time.time())
        if not hmac.compare_digest(seal.encode(), _seal(said, self._secret).encode()):
            return False
        if abs(now - int(when)) > TICKET_SECONDS or said in self._taken:
            return False
        young = {one: at for one, at in self._taken.items() if now - at <= 2 * TICKET_SECONDS}
        self._taken = {**young, said: now}
        return True


def _seal(said: str, secret: str) -> str:
    return hmac.new(secret.encode(), said.encode(), "sha256").hexdigest()


def _locked(handle: int) -> bool:
    """Whether the file is now locked by this process, and by none before."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:  # of a disk that knows no locks: two desks are better than none
        return sys.platform != "win32"
    return True
