"""The user's own folder for what the desk keeps: never in the folder that it serves.

That one may be shared or synchronised; this one is readable by the user alone. Imports the
standard library.
"""

from __future__ import annotations

import hashlib
import os
import sys
from pathlib import Path

_MINE, _MINE_FILE = 0o700, 0o600


def state_home() -> Path:
    """Where programs of this user keep what outlasts a run, by the custom of the system."""
    if sys.platform == "win32":
        return _given("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support"
    # XDG Base Directory Specification 0.8: a path that is not absolute is passed over
    return _given("XDG_STATE_HOME") or Path.home() / ".local" / "state"


def _given(variable: str) -> Path | None:
    path = Path(os.environ.get(variable, ""))
    return path if path.is_absolute() else None


def own_folder(home: Path | None = None) -> Path:
    """The desk's folder there, made where it is missing; nobody else looks into it.

    Raises OSError.
    """
    folder = (home or state_home()) / "millprep"
    folder.mkdir(_MINE, parents=True, exist_ok=True)
    folder.chmod(_MINE)
    return folder


def own_file(folder: Path, ending: str, home: Path | None = None) -> Path:
    """The file that the desk keeps about a folder, made empty where it is missing.

    folder : resolved; a folder has the same file in every run. Raises OSError.
    """
    name = hashlib.sha256(os.fsencode(folder)).hexdigest()[:24]
    path = own_folder(home) / f"{name}{ending}"
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, _MINE_FILE))
    path.chmod(_MINE_FILE)
    return path
