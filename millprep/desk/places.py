"""Where a person's own things lie on this system: documents, desktop, what the desk remembers.

The last never lies in the folder that is served, which may be shared or synchronised, and is
readable by this person alone.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import sys
import tempfile
from pathlib import Path
from typing import Any

NEW_FOLDER = "Mill sheets"


def remember(folder: Path) -> None:
    """The folder that is served where none is named."""
    write_privately(own_folder() / "folder.json", {"folder": str(folder)})


def remembered() -> Path | None:
    """What `remember` was told, where it is still there."""
    known = read_privately(own_folder() / "folder.json").get("folder")
    return Path(known) if isinstance(known, str) and Path(known).is_dir() else None


def write_privately(path: Path, content: dict[str, Any] | bytes) -> None:
    """A small file of the desk's own, whole, for this person alone; as JSON, but for bytes."""
    data = content if isinstance(content, bytes) else json.dumps(content).encode()
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}-")  # 0600
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def read_privately(path: Path) -> dict[str, Any]:
    """What `write_privately` wrote; nothing where it is not there or broken."""
    with contextlib.suppress(OSError, ValueError):
        content = json.loads(path.read_text(encoding="utf-8"))
        if isinstance(content, dict):
            return content
    return {}


def documents() -> Path:
    """The person's documents, there or not."""
    return _of_person("DOCUMENTS", "Personal", "Documents")


def desktop() -> Path:
    """The person's desktop, there or not."""
    return _of_person("DESKTOP", "Desktop", "Desktop")


def menu() -> Path:
    """Where a desktop of Linux looks for what can be started."""
    data = _absolute("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return data / "applications"


def is_too_wide(folder: Path) -> bool:
    """Whether a folder is the home folder as a whole, or holds it."""
    return Path.home().resolve().is_relative_to(folder.resolve())


def _of_person(xdg: str, shell_folder: str, usual: str) -> Path:
    """A folder that the system lets a person lay elsewhere."""
    found = None
    if sys.platform == "win32":
        found = _shell_folder(shell_folder)
    elif sys.platform != "darwin":
        found = _user_dir(xdg)
    return found or Path.home() / usual


def _user_dir(name: str) -> Path | None:
    """What user-dirs.dirs says (xdg-user-dirs 0.18: a value is "$HOME/..." or absolute)."""
    config = _absolute("XDG_CONFIG_HOME") or Path.home() / ".config"
    try:
        text = (config / "user-dirs.dirs").read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError):
        return None
    found = re.search(rf'^\s*XDG_{name}_DIR="(.*)"\s*$', text, re.MULTILINE)
    if found is None:
        return None
    path = Path(re.sub(r"\\(.)", r"\1", found[1].replace("$HOME", str(Path.home()))))
    return path if path.is_absolute() else None


def _shell_folder(name: str) -> Path | None:
    if sys.platform != "win32":
        return None
    import winreg

    key = r"Software\Microsoft\Windows\CurrentVersion\Explorer\User Shell Folders"
    try:
        with winreg.OpenKey(winreg.HKEY_CURRENT_USER, key) as folders:
            return Path(os.path.expandvars(winreg.QueryValueEx(folders, name)[0]))
    except OSError:
        return None


def _absolute(variable: str) -> Path | None:
    """The folder that a variable names; a relative one does not count (XDG base directories)."""
    path = Path(os.environ.get(variable, ""))
    return path if path.is_absolute() else None


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
