"""The files of the folder: what lies in it, and how a page names one.

A page knows a file by an id that the server gave, never by its name. What a file holds is read
through the handle of the folder, links not followed.
"""

from __future__ import annotations

import hashlib
import re
from contextlib import suppress
from itertools import islice
from pathlib import Path, PurePosixPath

from millprep.base.bounds import MOST_FILES
from millprep.base.plain_text import clean
from millprep.base.records import frozen
from millprep.desk.held_folder import PROGRAM_ENDINGS, HeldFolder
from millprep.desk.refusals import RefusedError

SHOP_FILE = "shop.toml"
_FIRST_KEY = re.compile(rb"^\s*(part|opposite_hand_of|assembly)\s*=", re.MULTILINE)
_State = tuple[int, int, int]


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
        return shown(self.name)


class Files:
    """The files of one folder."""

    def __init__(self, folder: HeldFolder) -> None:
        self._folder = folder
        self._names: dict[str, str] = {}
        self._kinds: dict[str, tuple[_State, str]] = {}

    def listing(self) -> list[Filed]:
        """Every file that the desk shows, by name, those of subfolders last."""
        found = []
        for name in islice(self._folder.names(), MOST_FILES):
            with suppress(OSError):
                state = (self._folder.path / name).lstat()
                as_saved = state.st_mtime_ns, state.st_size, state.st_ino
                if self._kinds.get(name, (None, ""))[0] != as_saved:
                    self._kinds[name] = as_saved, self._kind(name)
                found.append(Filed(self._id(name), name, self._kinds[name][1]))
        return sorted(found, key=lambda one: (one.name.count("/"), one.name.casefold()))

    def kind_of(self, id: str) -> str:
        """What the file holds, as in `Filed`; "" where it is not listed."""
        return next((one.kind for one in self.listing() if one.id == id), "")

    def paths(self) -> list[Path]:
        """Where the plain files of the folder lie, sheets too."""
        found = (one for one in self._folder.path.rglob("*") if not one.is_symlink())
        try:
            return list(islice((one for one in found if one.is_file()), MOST_FILES))
        except OSError:
            return []

    def name_of(self, id: str) -> str:
        """The name of a file, as in `Filed`. Raises RefusedError where no file has this id."""
        if id not in self._names:
            self.listing()
        if id not in self._names:
            raise RefusedError(404, "that file is not in the folder any more")
        return self._names[id]

    def path_of(self, id: str) -> Path:
        """Where a file lies, or lay. Raises RefusedError where no file has this id, or where it is
        a link, or lies behind one."""
        path = self._folder.path / self.name_of(id)
        try:
            if path.resolve() == path:
                return path
        except (OSError, RuntimeError):
            pass
        raise RefusedError(404, "that file is a link to elsewhere: the desk does not open it")

    def of(self, path: Path) -> str:
        """The id of a file that lies in the folder, or is to be made there.

        Raises MillprepError for one outside.
        """
        return self._id(self._folder.name_of(path))

    def read(self, id: str) -> bytes:
        """The bytes of a file. Raises RefusedError where it cannot be had."""
        try:
            return self._folder.read(self.name_of(id))
        except (OSError, ValueError):
            said = "that file cannot be opened: it is a link, too large, or not there any more"
            raise RefusedError(404, said) from None

    def _id(self, name: str) -> str:
        self._names[id_of(name)] = name
        return id_of(name)

    def _kind(self, name: str) -> str:
        if (self._folder.path / name).is_symlink():
            return "link"
        if PurePosixPath(name).suffix.lower() in PROGRAM_ENDINGS:
            return "program"
        try:
            first = _FIRST_KEY.search(self._folder.read(name))
        except (OSError, ValueError):
            return "unread"
        if first is not None:
            return "assembly" if first[1] == b"assembly" else "part"
        return "shop" if name == SHOP_FILE else "other"


def id_of(name: str) -> str:
    """The id of a file: the same in each run, and nothing of its name in it."""
    return hashlib.sha256(name.encode("utf-8", "surrogateescape")).hexdigest()[:16]


def shown(name: str) -> str:
    """A name from the disk as a page shows it, whatever its letters are."""
    return clean(name.encode("utf-8", "surrogateescape").decode("utf-8", "replace"))
