"""Subprograms that lie in a file of their own beside the program that calls them.

Only files of the program's own folder are looked at, never one that a link leads to elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from millprep.base.bounds import LARGEST_SUBPROGRAM_BYTES
from millprep.base.inputs import note_input

_ENDINGS = (".nc", ".ngc")


def beside(folder: Path) -> Callable[[str], tuple[str, bytes] | str | None]:
    """Finds a subprogram by its name or number in a folder.

    What it gives takes a name and gives (path, bytes), why the file cannot be read, or None where
    there is none. Of "100" the file is O100.nc or 100.nc, of "hole" it is hole.ngc or hole.nc, in
    capitals or not.
    """

    def find(name: str) -> tuple[str, bytes] | str | None:
        named = rf"o?0*{name}" if name.isdecimal() else re.escape(name)
        wanted = re.compile(named, re.IGNORECASE)
        try:
            there = [
                path
                for path in sorted(folder.iterdir())
                if path.suffix.lower() in _ENDINGS and wanted.fullmatch(path.stem)
            ]
            found = [path for path in there if _is_in(folder, path)]
            return _content(found, name)
        except OSError as error:
            return f"the file of {name} cannot be read: {error.strerror}"

    return find


def _is_in(folder: Path, path: Path) -> bool:
    return path.is_file() and path.resolve().parent == folder.resolve()


def _content(found: list[Path], name: str) -> tuple[str, bytes] | str | None:
    if not found:
        return None
    if len(found) > 1:
        return f"{name} could be {' or '.join(path.name for path in found)}"
    (path,) = found
    if path.stat().st_size > LARGEST_SUBPROGRAM_BYTES:
        most = LARGEST_SUBPROGRAM_BYTES // 1_000_000
        return f"{path.name} is too large for a subprogram: at most {most} MB"
    data = path.read_bytes()
    note_input(path)
    return str(path), data
